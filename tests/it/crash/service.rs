//! The service is killed, with its database or without, and started again.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;

use linkout::pit::ids::{EventId, LineId};
use linkout::store::cluster::Cluster;
use linkout::store::migrate::migrate;
use linkout::store::pool::{Access, Pool};
use reqwest::StatusCode;
use serde_json::{Value, json};
use uuid::Uuid;

use super::{kill, nothing_lost_nothing_twice};
use crate::harness::data_folder::DataFolder;
use crate::harness::service::Service;
use crate::harness::wait_until;

/// How often the service is killed.
const ROUNDS: usize = 30;

/// The `n`th line that is handed in.
fn line(number: u128) -> Value {
    json!({
        "id": Uuid::from_u128(number), "kind": "everyone_stop", "subject": "event",
        "at": "2027-01-15T10:00:00Z", "body": {"stop": number % 2 == 1},
    })
}

/// Hands in lines from `from` on, each once, until the service is gone. A line that is refused for
/// now is handed in by the next round, like one whose answer was lost.
async fn send(
    service: Arc<Service>,
    token: String,
    event: EventId,
    from: u128,
    acknowledged: Arc<std::sync::Mutex<BTreeMap<LineId, i64>>>,
) {
    let path = format!("/api/v1/events/{event}/lines");
    for number in from.. {
        let report = json!({"lines": [line(number)]});
        let Ok(answer) = service.post(&token, &path, &report).await else {
            return;
        };
        match answer.status() {
            StatusCode::CREATED | StatusCode::OK => {}
            StatusCode::SERVICE_UNAVAILABLE => {
                assert!(answer.headers().contains_key("retry-after"));
                tokio::time::sleep(Duration::from_millis(20)).await;
                continue;
            }
            other => panic!("{other}: {}", answer.text().await.unwrap()),
        }
        let Ok(receipts) = answer.json::<Value>().await else {
            return;
        };
        let seq = receipts["receipts"][0]["seq"].as_i64().unwrap();
        let id = LineId(Uuid::from_u128(number));
        let before = acknowledged.lock().unwrap().insert(id, seq);
        assert!(
            before.is_none_or(|before| before == seq),
            "line {number} moved"
        );
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_killed_service_loses_no_acknowledged_line() {
    let folder = DataFolder::new("service");
    Service::add_organiser(folder.path());
    let first = Service::start(folder.path());
    let token = first.sign_in().await;
    let body = json!({"name": "Autumn Meet", "time_zone": "Europe/London",
        "first_day": "2027-01-15", "last_day": "2027-01-16"});
    let created = first.post(&token, "/api/v1/events", &body).await.unwrap();
    assert_eq!(created.status(), StatusCode::CREATED);
    let created: Value = created.json().await.unwrap();
    let event: EventId = created["id"].as_str().unwrap().parse().unwrap();

    let acknowledged = Arc::new(std::sync::Mutex::new(BTreeMap::new()));
    let count = || acknowledged.lock().unwrap().len();
    let mut service = Arc::new(first);
    for round in 0..ROUNDS {
        let before = count();
        let mut senders = tokio::task::JoinSet::new();
        for sender in 0..4 {
            // Each has a stretch of its own, and begins with the last lines of the round before.
            let stretch = 1_000_000 * (1 + sender);
            let known = |n: &u128| {
                let id = LineId(Uuid::from_u128(stretch + n));
                acknowledged.lock().unwrap().contains_key(&id)
            };
            let next = (0..).find(|n| !known(n)).unwrap().saturating_sub(2);
            senders.spawn(send(
                service.clone(),
                token.clone(),
                event,
                stretch + next,
                acknowledged.clone(),
            ));
        }
        let enough = before + 1 + (round * 7) % 40;
        wait_until("lines are acknowledged", || count() >= enough).await;
        match round % 3 {
            0 => {}
            1 => kill(service.database_pid().expect("a running database")),
            _ => {
                kill(service.database_pid().expect("a running database"));
                // The service goes on and starts its database again.
                let enough = count() + 10;
                wait_until("lines are acknowledged again", || count() >= enough).await;
            }
        }
        kill(service.pid());
        senders.join_all().await;
        let dead = Arc::into_inner(service).expect("no sender is left");
        dead.kill();
        service = Arc::new(Service::start(folder.path()));
        // A token outlives the service that gave it; this waits until the next one answers.
        service.sign_in().await;
    }
    Arc::into_inner(service).expect("no sender is left").kill();

    let cluster = Cluster::start(folder.path()).await.unwrap();
    let access = migrate(Access::embedded(&cluster)).await.unwrap();
    let pool = Pool::open(access, 1).await.unwrap();
    let standing = nothing_lost_nothing_twice(&pool, event).await;
    for (id, seq) in acknowledged.lock().unwrap().iter() {
        assert_eq!(standing.get(id), Some(seq), "line {id}");
    }
    assert!(count() > ROUNDS * 10, "{}", count());
    drop(pool);
    cluster.stop().await;
}
