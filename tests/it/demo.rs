//! A demo goes on where it ended.

use crate::harness::database::TestDatabase;
use crate::harness::wait_until;
use chrono::{DateTime, TimeDelta, Utc};
use linkout::app::demo::play::{Demo, FastClock};
use linkout::app::id_source::RandomIds;
use linkout::app::{App, Clock};
use linkout::auth::{Key, Tokens};
use std::collections::BTreeSet;
use std::sync::Arc;

/// How fast the demo goes here: several minutes in each second.
const SPEED: f64 = 600.0;

/// One life of the service: its app, its clock, and the demo it shows.
async fn serve(database: &TestDatabase, from: DateTime<Utc>) -> (Arc<App>, Arc<FastClock>, Demo) {
    let clock = Arc::new(FastClock::new(from, SPEED));
    let ids = Arc::new(RandomIds::new(rand::make_rng::<rand::rngs::StdRng>()));
    let app = Arc::new(App::new(
        database.pool().await,
        Tokens::new(&Key::new()),
        clock.clone(),
        ids,
    ));
    let demo = Demo::open(&app, &clock).await.unwrap();
    (app, clock, demo)
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_demo_is_taken_up_where_it_ended() {
    let database = TestDatabase::new().await;
    let morning = crate::harness::build::moment(0);

    let (app, _, demo) = serve(&database, morning).await;
    let event = demo.event.clone();
    let founded = event.pit().last_seq;
    let playing = tokio::spawn(demo.go_on(app.clone(), SPEED));
    wait_until("the demo goes on", || event.pit().last_seq > founded + 40).await;
    playing.abort();
    // Whatever was handed in when it ended is recorded, or not.
    let _ = playing.await;
    drop(app);

    // Two days later.
    let (app, clock, demo) = serve(&database, morning + TimeDelta::days(2)).await;
    assert_eq!(app.events.all().await.unwrap(), [event.id()], "one event");
    assert!(
        clock.now() < morning + TimeDelta::days(1),
        "time stood still"
    );
    let taken_up = demo.event.clone();
    let before = taken_up.pit();
    assert!(before.last_seq >= event.pit().last_seq, "no line is lost");
    let playing = tokio::spawn(demo.go_on(app.clone(), SPEED));
    wait_until("it goes on again", || {
        taken_up.pit().last_seq > before.last_seq + 40
    })
    .await;
    playing.abort();

    let connection = database.client().await;
    let rows = connection
        .query("SELECT subject, kind, at::text, body::text FROM lines", &[])
        .await
        .unwrap();
    let mut told: BTreeSet<[String; 4]> = BTreeSet::new();
    let twice: Vec<[String; 4]> = rows
        .iter()
        .map(|row| [0, 1, 2, 3].map(|n| row.get(n)))
        .filter(|line| !told.insert(line.clone()))
        .collect();
    assert!(
        twice.is_empty(),
        "{} are said twice: {:#?}",
        twice.len(),
        twice.first()
    );
}
