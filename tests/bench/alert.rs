//! Measures how long a stop now takes from the phone that tells of it to the others: 300 phones
//! listen, and those of the crew and the marshals read the robot's hazards as soon as they hear.
//!
//! Beside it, the same number of bare sockets is told the same bytes by a program that does nothing
//! else: what this machine needs for the telling alone.

#[allow(dead_code, unused_imports)]
#[path = "../it/harness/mod.rs"]
mod harness;

use futures_util::StreamExt as _;
use harness::client::Client;
use harness::hall::Hall;
use serde_json::json;
use std::time::{Duration, Instant};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::mpsc;

/// Phones that listen.
const PHONES: usize = 300;
/// Phones of them that read the hazards: crew and marshals of one robot.
const CLOSE: usize = 12;
/// Lines that tell of danger.
const ROUNDS: usize = 40;

#[tokio::main]
async fn main() {
    let hall = Hall::open().await;
    let hazards = hall.path(&format!("/robots/{}/hazards", hall.own.robot));
    let (heard, mut hears) = mpsc::unbounded_channel();
    for n in 0..PHONES {
        let reads = (n < CLOSE).then(|| (hall.who("crew").clone(), hazards.clone()));
        let stream = hall.who("crew").request("GET", &hall.path("/stream"));
        tokio::spawn(listen(stream, reads, heard.clone()));
    }
    // Every stream begins by saying where it is.
    for _ in 0..PHONES {
        hears.recv().await.expect("a phone");
    }
    let (mut told, mut shown) = (Vec::new(), Vec::new());
    for round in 0..ROUNDS {
        let robot = format!("robot:{}", hall.own.robot);
        let body = json!({"what": if round % 2 == 0 { "fire" } else { "gas" }});
        let line = hall.line("danger", &robot, None, &body);
        let lines = json!({"lines": [line]});
        let began = Instant::now();
        hall.who("marshal")
            .send("POST", &hall.path("/lines"), &lines)
            .await
            .expect(201);
        for _ in 0..PHONES + CLOSE {
            let (at, banner) = hears.recv().await.expect("a phone");
            let took = at - began;
            if banner { &mut shown } else { &mut told }.push(took);
        }
    }
    let bare = bare_sockets().await;
    println!(
        "{:<44} {:>9} {:>9} {:>8}  goal",
        "measured", "p50 ms", "p99 ms", "p99 ratio"
    );
    let beside = quantile(&bare, 99);
    for (name, all, goal) in [
        ("the same bytes to 300 bare sockets, beside it", &bare, ""),
        ("told on 300 phones", &told, ""),
        ("hazard shown on the robot's phones", &shown, "p99 < 250 ms"),
    ] {
        let ms = |took: Duration| took.as_secs_f64() * 1e3;
        let p99 = quantile(all, 99);
        println!(
            "{name:<44} {:>9.2} {:>9.2} {:>8.1}  {goal}",
            ms(quantile(all, 50)),
            ms(p99),
            p99.as_secs_f64() / beside.as_secs_f64()
        );
    }
    hall.service.end_streams();
}

fn quantile(all: &[Duration], percent: usize) -> Duration {
    let mut sorted = all.to_vec();
    sorted.sort_unstable();
    sorted[(sorted.len() * percent / 100).min(sorted.len() - 1)]
}

/// Hears of every change, and reads the hazards where it is close.
async fn listen(
    stream: reqwest::RequestBuilder,
    reads: Option<(Client, String)>,
    heard: mpsc::UnboundedSender<(Instant, bool)>,
) {
    let mut parts = stream.send().await.expect("a stream").bytes_stream();
    let mut begun = false;
    while let Some(Ok(part)) = parts.next().await {
        let text = String::from_utf8_lossy(&part).into_owned();
        let changed = text.contains("event: change");
        if begun && !changed {
            continue;
        }
        if heard.send((Instant::now(), false)).is_err() {
            return;
        }
        if let Some((client, path)) = reads.as_ref().filter(|_| begun) {
            let shown = client.get(path).await.expect(200);
            assert!(shown.text.contains("stop_now"), "{}", shown.text);
            let _ = heard.send((Instant::now(), true));
        }
        begun = true;
    }
}

/// As many sockets are told as many bytes, and nothing else is done.
async fn bare_sockets() -> Vec<Duration> {
    let listener = TcpListener::bind(("127.0.0.1", 0)).await.expect("a port");
    let address = listener.local_addr().expect("an address");
    let (heard, mut hears) = mpsc::unbounded_channel();
    let mut sockets = Vec::new();
    for _ in 0..PHONES {
        let heard = heard.clone();
        let mut phone = TcpStream::connect(address).await.expect("a socket");
        sockets.push(listener.accept().await.expect("a phone").0);
        tokio::spawn(async move {
            let mut bytes = [0; 256];
            while phone.read(&mut bytes).await.is_ok_and(|read| read > 0) {
                let _ = heard.send(Instant::now());
            }
        });
    }
    let message = [b'x'; 160];
    let mut took = Vec::new();
    for _ in 0..ROUNDS {
        let began = Instant::now();
        for socket in &mut sockets {
            socket.write_all(&message).await.expect("told");
        }
        for _ in 0..PHONES {
            took.push(hears.recv().await.expect("a phone") - began);
        }
    }
    took
}
