//! Measures the service over HTTP, as the program itself, each time beside something that runs in
//! the same run: lines beside `pgbench` with the same statement on the same server, which syncs every
//! commit, and answers beside a server that has the service's outermost layer,
//! says as many bytes, and knows nothing.
//!
//! `deploy/bench api [lines|answers]`.

#[path = "api/hall.rs"]
mod hall;
#[allow(dead_code, unused_imports)]
#[path = "../it/harness/mod.rs"]
mod harness;
#[path = "api/load.rs"]
mod load;
#[path = "api/yardstick.rs"]
mod yardstick;

use hall::Hall;
use load::{Asked, mean};
use std::time::Duration;

/// How long each thing is asked at a time.
const SPELL: Duration = Duration::from_secs(2);
/// How often, the two sides of a ratio taking turns.
const TURNS: usize = 3;
/// Requests in flight for answers.
const IN_FLIGHT: usize = 64;

#[tokio::main]
async fn main() {
    // `cargo bench` adds a word of its own.
    let wanted = std::env::args()
        .skip(1)
        .find(|word| !word.starts_with("--"));
    let wants = |part: &str| wanted.as_deref().is_none_or(|wanted| wanted == part);
    // As much is logged of an answer beside it as of one of the service.
    tracing_subscriber::fmt()
        .with_max_level(tracing::Level::INFO)
        .with_writer(std::io::sink)
        .init();
    let hall = Hall::open().await;
    hall.settled().await;
    println!(
        "{:<52} {:>12} {:>12} {:>7}  goal",
        "measured", "linkout", "beside it", "ratio"
    );
    row(
        "memory with 60 robots, MiB",
        hall.memory_mib(),
        None,
        "none",
    );
    if wants("answers") {
        answers(&hall).await;
    }
    if wants("lines") {
        lines(&hall).await;
    }
    let told = format!("memory after {} lines, MiB", hall.lines());
    row(&told, hall.memory_mib(), None, "<= 150 at 20,000");
}

fn row(name: &str, value: f64, beside: Option<f64>, goal: &str) {
    match beside {
        Some(beside) => println!(
            "{name:<52} {value:>12.2} {beside:>12.2} {:>7.2}  {goal}",
            value / beside
        ),
        None => println!("{name:<52} {value:>12.1} {:>12} {:>7}  {goal}", "", ""),
    }
}

/// What is read, beside as many bytes of nothing.
async fn answers(hall: &Hall) {
    let board = hall.get("/board", &[]).await;
    let unchanged = hall.get("/board", &[("If-None-Match", &board.etag)]).await;
    assert_eq!((board.status, unchanged.status), (200, 304));
    let list = hall.get("/robots?limit=100", &[]).await;
    let detail = hall.get(&format!("/robots/{}", hall.robots[7]), &[]).await;
    for (name, asked, goal) in [
        ("board kept", board, ">= 0.95"),
        ("board not modified", unchanged, ">= 0.95"),
        ("list of 60 robots", list, "none"),
        ("one robot", detail, "none"),
    ] {
        let bare = yardstick::serve(asked.bytes);
        let (mut ours, mut theirs) = (Vec::new(), Vec::new());
        for _ in 0..TURNS {
            ours.push(load::rate(&asked.address, &asked.request, IN_FLIGHT, SPELL).await);
            theirs.push(load::rate(&bare.address, &bare.request, IN_FLIGHT, SPELL).await);
        }
        let name = format!("{name}, {} bytes, answers/s", asked.bytes);
        row(&name, mean(&ours), Some(mean(&theirs)), goal);
    }
}

/// What is written.
async fn lines(hall: &Hall) {
    let bench = yardstick::Pgbench::over(&hall.database()).await;
    // First, as the lines of a robot are few in the morning of a day.
    let (mut ours, mut theirs) = (Vec::new(), Vec::new());
    for _ in 0..TURNS {
        theirs.push(bench.run(1, SPELL).mean_ms);
        ours.push(load::posts(hall, 1, SPELL).await.p50_ms);
    }
    row(
        "one writer, p50 beside mean, ms",
        mean(&ours),
        Some(mean(&theirs)),
        "<= 1.2",
    );
    for (in_flight, goal) in [(64, ">= 1.5"), (256, ">= 3")] {
        let (mut ours, mut theirs) = (Vec::new(), Vec::new());
        for _ in 0..TURNS {
            theirs.push(bench.run(64, SPELL).per_s);
            ours.push(load::posts(hall, in_flight, SPELL).await.per_s);
        }
        let name = format!("lines, {in_flight} in flight, lines/s");
        row(&name, mean(&ours), Some(mean(&theirs)), goal);
    }
}

/// A request and how long its answer is.
impl Hall {
    async fn get(&self, rest: &str, headers: &[(&str, &str)]) -> Asked {
        let path = format!("/api/v1/events/{}{rest}", self.event);
        load::ask(&self.service.address(), &path, &self.organiser, headers).await
    }
}
