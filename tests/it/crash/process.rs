//! The recording process itself is killed, with its database or without, and started again.

use std::collections::BTreeMap;
use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use linkout::app::Events;
use linkout::pit::ids::LineId;
use linkout::store::cluster::Cluster;
use linkout::store::migrate::migrate;
use linkout::store::pool::{Access, Pool};

use super::{kill, nothing_lost_nothing_twice};
use crate::harness::build::{EVENT, danger, founding, moment};
use crate::harness::data_folder::DataFolder;

/// How often the process is killed.
const ROUNDS: u64 = 30;
/// Tells the killed process its data folder; the test that kills it has none.
const DATA: &str = "LINKOUT_TEST_CRASH_DATA";
/// Tells it the first line to hand in.
const FROM: &str = "LINKOUT_TEST_CRASH_FROM";

/// Starts the database of a data folder and opens it.
async fn open(data: &Path) -> (Cluster, Pool) {
    let cluster = Cluster::start(data).await.unwrap();
    let access = migrate(Access::embedded(&cluster)).await.unwrap();
    let pool = Pool::open(access, 3).await.unwrap();
    (cluster, pool)
}

/// Hands in line after line and says where each stands, until it is killed.
async fn record_for_ever(data: &Path, from: u64) {
    let (_cluster, pool) = open(data).await;
    let events = Events::new(pool);
    events
        .found(EVENT, moment(0), None, founding())
        .await
        .unwrap();
    let event = events.open(EVENT).await.unwrap();
    let next = Arc::new(AtomicU64::new(from));
    let mut senders = tokio::task::JoinSet::new();
    for _ in 0..4 {
        let (event, next) = (event.clone(), next.clone());
        senders.spawn(async move {
            loop {
                let number = next.fetch_add(1, Ordering::Relaxed);
                let recorded = event.record(vec![danger(number)]).await.unwrap();
                let mut out = std::io::stdout().lock();
                writeln!(out, "\nstands {number} {}", recorded[0].seq).unwrap();
                out.flush().unwrap();
            }
        });
    }
    senders.join_all().await;
}

fn start(data: &Path, from: u64) -> Child {
    Command::new(std::env::current_exe().unwrap())
        .args([
            "--exact",
            "crash::process::a_killed_process_loses_no_acknowledged_line",
            "--nocapture",
        ])
        .env(DATA, data)
        .env(FROM, from.to_string())
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// The number and the place in what the recording process says.
fn standing(said: &str) -> Option<(u64, i64)> {
    let (number, seq) = said.strip_prefix("stands ")?.split_once(' ')?;
    Some((number.parse().ok()?, seq.parse().ok()?))
}

fn database_of(data: &Path) -> Option<u32> {
    let text = fs::read_to_string(data.join("postgres/data/postmaster.pid")).ok()?;
    text.lines().next()?.parse().ok()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_killed_process_loses_no_acknowledged_line() {
    if let Some(data) = std::env::var_os(DATA).map(PathBuf::from) {
        let from = std::env::var(FROM).unwrap().parse().unwrap();
        return record_for_ever(&data, from).await;
    }
    let folder = DataFolder::new("process");
    let mut acknowledged: BTreeMap<u64, i64> = BTreeMap::new();
    for round in 0..ROUNDS {
        // From the first that was not acknowledged: some of what follows was, and is sent again.
        let from = (1..).find(|n| !acknowledged.contains_key(n)).unwrap();
        let mut recorder = start(folder.path(), from);
        let mut said = BufReader::new(recorder.stdout.take().unwrap()).lines();
        let enough = 1 + (round * 7) % 40;
        let mut heard = 0;
        while heard < enough {
            let line = said.next().expect("a recorder that goes on").unwrap();
            if let Some((number, seq)) = standing(&line) {
                heard += 1;
                let before = acknowledged.insert(number, seq);
                assert!(
                    before.is_none_or(|before| before == seq),
                    "line {number} moved"
                );
            }
        }
        let database = database_of(folder.path());
        if round % 3 == 1 {
            kill(database.expect("a running database"));
        }
        kill(recorder.id());
        recorder.wait().unwrap();
        // What it had said before it died was acknowledged as well.
        for line in said.map_while(Result::ok) {
            acknowledged.extend(standing(&line));
        }
    }
    let (cluster, pool) = open(folder.path()).await;
    let recorded = nothing_lost_nothing_twice(&pool).await;
    for (number, seq) in &acknowledged {
        let id: LineId = danger(*number).draft.id;
        assert_eq!(recorded.get(&id), Some(seq), "line {number}");
    }
    assert!(acknowledged.len() > 100, "{}", acknowledged.len());
    drop(pool);
    cluster.stop().await;
}
