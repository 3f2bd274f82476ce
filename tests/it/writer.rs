//! The writer of an event, and two processes that follow the same logbook.

use std::sync::Arc;
use std::time::Duration;

use linkout::app::{AppError, Events, tail};
use linkout::auth::Key;
use linkout::pit::ids::LineId;
use linkout::pit::logbook::Line;
use linkout::pit::state::Pit;
use linkout::store::logbook;
use linkout::store::pool::Pool;
use uuid::Uuid;

use crate::harness::app::{self, ManualClock};
use crate::harness::build::{
    EVENT, ROBOT, TEAM, based_on, danger, founding, moment, one_of_everything, robot, team,
};
use crate::harness::database::TestDatabase;
use crate::harness::wait_until;

async fn with_event() -> (TestDatabase, Pool, Arc<Events>) {
    let database = TestDatabase::new().await;
    let pool = database.pool().await;
    let events = Arc::new(Events::new(pool.clone()));
    events
        .found(EVENT, moment(0), None, founding())
        .await
        .unwrap();
    (database, pool, events)
}

async fn recorded(pool: &Pool) -> Vec<Line> {
    let mut connection = pool.get().await.unwrap();
    logbook::read_after(&mut connection, EVENT, 0, 100_000)
        .await
        .unwrap()
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_acknowledged_is_recorded_and_known() {
    let (_database, pool, events) = with_event().await;
    let event = events.open(EVENT).await.unwrap();
    let mut senders = tokio::task::JoinSet::new();
    for n in 0..200 {
        let event = event.clone();
        senders.spawn(async move {
            let places = event.record(vec![danger(100 + n)]).await.unwrap();
            // Known at the moment of the answer, not some time later.
            assert!(event.pit().last_seq >= places[0].seq);
            places[0].seq
        });
    }
    let mut places = senders.join_all().await;
    places.sort_unstable();
    assert_eq!(places, (2..202).collect::<Vec<i64>>());
    let lines = recorded(&pool).await;
    assert_eq!(lines.len(), 201);
    assert_eq!(*event.pit(), Pit::fold(&lines));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_strangers_bad_line_hurts_nobody() {
    let (_database, pool, events) = with_event().await;
    let event = events.open(EVENT).await.unwrap();
    let mut senders = tokio::task::JoinSet::new();
    for n in 0..40 {
        let event = event.clone();
        senders.spawn(async move {
            let mut line = danger(100 + n);
            if n % 8 == 3 {
                line.draft.corrects = Some(LineId(Uuid::from_u128(404)));
            }
            (n % 8 == 3, event.record(vec![line]).await)
        });
    }
    for (is_bad, outcome) in senders.join_all().await {
        match outcome {
            Ok(_) => assert!(!is_bad),
            Err(AppError::Refused(faults)) => {
                assert!(is_bad);
                assert_eq!(faults[0].pointer, "/corrects");
            }
            Err(other) => panic!("{other:?}"),
        }
    }
    assert_eq!(recorded(&pool).await.len(), 1 + 35);
}

#[tokio::test(flavor = "multi_thread")]
async fn refusals_say_what_is_wrong() {
    let (_database, _pool, events) = with_event().await;
    let event = events.open(EVENT).await.unwrap();
    event.record(one_of_everything(10)).await.unwrap();
    let taken = event
        .record(vec![robot(40, Uuid::from_u128(0x99), "Pewter Finch")])
        .await;
    assert!(matches!(taken, Err(AppError::Conflict { .. })), "{taken:?}");
    let stale = event
        .record(vec![based_on(1, team(41, TEAM, "Tin Kettle"))])
        .await;
    assert!(
        matches!(
            stale,
            Err(AppError::Stale {
                current: Some(2),
                ..
            })
        ),
        "{stale:?}"
    );
    let mut used = danger(42);
    used.draft.id = robot(13, ROBOT, "Pewter Finch").draft.id;
    let used = event.record(vec![used]).await;
    assert!(matches!(used, Err(AppError::Conflict { .. })), "{used:?}");
    let nowhere = linkout::pit::ids::EventId(Uuid::from_u128(404));
    assert!(matches!(events.open(nowhere).await, Err(AppError::Unknown)));
}

#[tokio::test(flavor = "multi_thread")]
async fn who_hangs_up_changes_nothing() {
    let (_database, _pool, events) = with_event().await;
    let event = events.open(EVENT).await.unwrap();
    for n in 0..20 {
        let mut asking = Box::pin(event.record(vec![danger(100 + n)]));
        // Polled once, the report is with the writer; then whoever asked goes away.
        assert!(futures_util::poll!(asking.as_mut()).is_pending());
        drop(asking);
    }
    wait_until("every report is known", || event.pit().last_seq == 21).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn listeners_are_told_after_it_is_known() {
    let (_database, _pool, events) = with_event().await;
    let event = events.open(EVENT).await.unwrap();
    let mut listening = event.hub().listen();
    let telling = event.record(vec![danger(100), danger(101)]);
    let hearing = async {
        let change = listening.recv().await.unwrap();
        assert!(event.pit().last_seq >= change.last_seq);
        change
    };
    let (told, change) = tokio::join!(telling, hearing);
    assert_eq!(told.unwrap()[1].seq, change.last_seq);
    assert_eq!(change.subjects[..], [linkout::pit::ids::Subject::Event]);
}

/// A process of its own, as far as the database can tell: its own connections and its own events.
async fn process(database: &TestDatabase) -> (Arc<Events>, tokio::task::JoinHandle<()>) {
    let pool = database.pool().await;
    let app = app::over(pool, &Key::new(), ManualClock::standing(), 0);
    let following = tokio::spawn(tail::follow(app.clone()));
    (app.events.clone(), following)
}

#[tokio::test(flavor = "multi_thread")]
async fn processes_that_write_at_the_same_time_know_the_same() {
    let (database, pool, _events) = with_event().await;
    let (here, here_tail) = process(&database).await;
    let (there, there_tail) = process(&database).await;
    let ends = [
        here.open(EVENT).await.unwrap(),
        there.open(EVENT).await.unwrap(),
    ];
    let everything = one_of_everything(10);
    let registered = i64::try_from(everything.len()).unwrap();
    ends[0].record(everything).await.unwrap();
    let mut senders = tokio::task::JoinSet::new();
    for n in 0..200_u64 {
        let event = ends[usize::from(n % 2 == 0)].clone();
        senders.spawn(async move {
            // A bad line in a batch has each of its reports recorded alone, between the other
            // process's.
            let mut line = danger(100 + n);
            let is_bad = n % 10 == 9;
            if is_bad {
                line.draft.corrects = Some(LineId(Uuid::from_u128(404)));
            }
            assert_eq!(event.record(vec![line]).await.is_err(), is_bad);
        });
    }
    senders.join_all().await;
    let lines = recorded(&pool).await;
    let last = lines.last().unwrap().seq;
    assert_eq!(last, 1 + registered + 180);
    for event in &ends {
        wait_until("both know all", || event.pit().last_seq == last).await;
        assert_eq!(*event.pit(), Pit::fold(&lines));
    }
    here_tail.abort();
    there_tail.abort();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_word_that_is_lost_costs_a_second_and_not_a_line() {
    let (database, pool, _events) = with_event().await;
    let (there, tail) = process(&database).await;
    let event = there.open(EVENT).await.unwrap();
    // Written past every writer, so that nobody is told.
    let mut connection = pool.get().await.unwrap();
    for outcome in logbook::append(&mut connection, EVENT, &[vec![danger(7)]])
        .await
        .unwrap()
    {
        outcome.unwrap();
    }
    wait_until("it has looked", || event.pit().last_seq == 2).await;
    tail.abort();
}

#[tokio::test(flavor = "multi_thread")]
async fn the_same_report_through_two_processes_is_recorded_once() {
    let (database, pool, events) = with_event().await;
    let (there, tail) = process(&database).await;
    let one = events.open(EVENT).await.unwrap();
    let other = there.open(EVENT).await.unwrap();
    let first = one.record(vec![danger(7)]).await.unwrap();
    let second = other.record(vec![danger(7)]).await.unwrap();
    assert_eq!((first[0].seq, first[0].is_new), (2, true));
    assert_eq!((second[0].seq, second[0].is_new), (2, false));
    // The other process has it by the time it answers, though it did not write it.
    assert_eq!(other.pit().last_seq, 2);
    assert_eq!(recorded(&pool).await.len(), 2);
    tail.abort();
}

#[tokio::test(flavor = "multi_thread")]
async fn without_a_database_nothing_is_acknowledged() {
    let (database, _pool, events) = with_event().await;
    let event = events.open(EVENT).await.unwrap();
    drop(database);
    let refused = tokio::time::timeout(Duration::from_secs(20), event.record(vec![danger(7)]))
        .await
        .unwrap();
    assert!(
        matches!(refused, Err(AppError::Unavailable { .. })),
        "{refused:?}"
    );
    assert_eq!(event.pit().last_seq, 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn work_that_is_done_once_is_one_processs_turn() {
    use linkout::pit::ids::EventId;
    use linkout::store::turn::Turn;

    let database = TestDatabase::new().await;
    let access = database.access();
    let other_event = EventId(Uuid::from_u128(0xee));
    let mut turn = Turn::take(&access, EVENT).await.unwrap().unwrap();
    assert!(turn.lasts().await);
    assert!(Turn::take(&access, EVENT).await.unwrap().is_none());
    assert!(Turn::take(&access, other_event).await.unwrap().is_some());
    drop(turn);
    // The server notices the end of a connection when it next looks at it.
    let begun = std::time::Instant::now();
    let mut next = loop {
        match Turn::take(&access, EVENT).await.unwrap() {
            Some(turn) => break turn,
            None => assert!(begun.elapsed() < Duration::from_secs(30)),
        }
    };
    let client = database.client().await;
    client
        .batch_execute(
            "SELECT pg_terminate_backend(pid) FROM pg_locks
             WHERE locktype = 'advisory' AND database = (
                 SELECT oid FROM pg_database WHERE datname = current_database())",
        )
        .await
        .unwrap();
    assert!(!next.lasts().await);
}
