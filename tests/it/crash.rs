//! Whatever is killed, and whenever: no acknowledged line is lost, and none is recorded twice.

mod service;

use std::collections::BTreeMap;
use std::fs;
use std::sync::atomic::{AtomicBool, AtomicU64, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use linkout::app::{AppError, Event, Events};
use linkout::pit::ids::{EventId, LineId};
use linkout::store::cluster::Cluster;
use linkout::store::logbook;
use linkout::store::migrate::migrate;
use linkout::store::pool::{Access, Pool};

use crate::harness::build::{EVENT, danger, founding, moment};
use crate::harness::data_folder::DataFolder;
use crate::harness::wait_until;

/// How often the server is killed.
const ROUNDS: usize = 30;

fn kill(pid: u32) {
    // SAFETY: the number is that of a server process of this test's own data folder.
    unsafe { libc::kill(pid.cast_signed(), libc::SIGKILL) };
}

/// A process that serves one connection of the server `head`.
fn backend_of(head: u32) -> Option<u32> {
    let children = fs::read_to_string(format!("/proc/{head}/task/{head}/children")).ok()?;
    children
        .split_whitespace()
        .filter_map(|pid| pid.parse().ok())
        .find(|pid: &u32| {
            fs::read_to_string(format!("/proc/{pid}/cmdline"))
                .is_ok_and(|line| line.contains("linkout_app"))
        })
}

/// Where every line after the founding one stands, once the logbook has been found whole.
async fn nothing_lost_nothing_twice(pool: &Pool, event: EventId) -> BTreeMap<LineId, i64> {
    let mut connection = pool.get().await.unwrap();
    let lines = logbook::read_after(&mut connection, event, 0, 1_000_000)
        .await
        .unwrap();
    let places: Vec<i64> = lines.iter().map(|line| line.seq).collect();
    let count = i64::try_from(lines.len()).unwrap();
    assert_eq!(places, (1..=count).collect::<Vec<_>>(), "no gap");
    let standing: BTreeMap<LineId, i64> =
        lines[1..].iter().map(|line| (line.id, line.seq)).collect();
    assert_eq!(standing.len(), lines.len() - 1, "no line twice");
    standing
}

/// What the senders of a test share.
#[derive(Default)]
struct Tally {
    next: AtomicU64,
    stop: AtomicBool,
    acknowledged: Mutex<BTreeMap<LineId, i64>>,
    refused: AtomicUsize,
}

/// Hands in line after line, each again and again until it is acknowledged, as a phone does.
async fn send(event: Arc<Event>, tally: Arc<Tally>) {
    while !tally.stop.load(Ordering::Relaxed) {
        let line = danger(100 + tally.next.fetch_add(1, Ordering::Relaxed));
        let id = line.draft.id;
        let seq = loop {
            match event.record(vec![line.clone()]).await {
                Ok(recorded) => break recorded[0].seq,
                Err(AppError::Unavailable { .. }) => {
                    tally.refused.fetch_add(1, Ordering::Relaxed);
                    tokio::time::sleep(Duration::from_millis(20)).await;
                }
                Err(other) => panic!("{other:?}"),
            }
        };
        tally.acknowledged.lock().unwrap().insert(id, seq);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_killed_database_loses_no_acknowledged_line() {
    let folder = DataFolder::new("crash");
    let cluster = Cluster::start(folder.path()).await.unwrap();
    let access = migrate(Access::embedded(&cluster)).await.unwrap();
    let pool = Pool::open(access, 3).await.unwrap();
    let events = Events::new(pool.clone());
    events
        .found(EVENT, moment(0), None, founding())
        .await
        .unwrap();
    let event = events.open(EVENT).await.unwrap();
    let tally = Arc::new(Tally::default());
    let mut senders = tokio::task::JoinSet::new();
    for _ in 0..6 {
        senders.spawn(send(event.clone(), tally.clone()));
    }
    let count = || tally.acknowledged.lock().unwrap().len();
    for round in 0..ROUNDS {
        let before = count();
        wait_until("lines are acknowledged", || count() >= before + 20).await;
        let head = cluster.server_pid().expect("a server that acknowledges");
        match backend_of(head).filter(|_| round % 2 == 1) {
            // The head ends every other connection and recovers by itself.
            Some(backend) => kill(backend),
            None => {
                kill(head);
                wait_until("another server runs", || {
                    cluster.server_pid().is_some_and(|pid| pid != head)
                })
                .await;
            }
        }
    }
    let before = count();
    wait_until("lines are acknowledged again", || count() >= before + 20).await;
    tally.stop.store(true, Ordering::Relaxed);
    senders.join_all().await;

    let event_knows = event.pit();
    let recorded = nothing_lost_nothing_twice(&pool, EVENT).await;
    let acknowledged = std::mem::take(&mut *tally.acknowledged.lock().unwrap());
    let differ: Vec<_> = acknowledged
        .iter()
        .filter(|(id, seq)| recorded.get(id) != Some(seq))
        .map(|(id, seq)| (id, seq, recorded.get(id)))
        .collect();
    assert!(
        differ.is_empty(),
        "acknowledged elsewhere than they stand: {differ:?}"
    );
    assert_eq!(acknowledged.len(), recorded.len());
    assert_eq!(
        event_knows.last_seq,
        1 + i64::try_from(recorded.len()).unwrap()
    );
    // Otherwise nothing was interrupted, and this test would show nothing.
    assert!(tally.refused.load(Ordering::Relaxed) > 0);
    drop((pool, event, events));
    cluster.stop().await;
}
