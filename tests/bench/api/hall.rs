//! An event of 60 robots whose order of bouts stands, and one where it is not drawn yet, which takes
//! lines without a plan to be made after each.

use super::harness::client::Client;
use super::harness::data_folder::DataFolder;
use super::harness::service::Service;
use chrono::Utc;
use linkout::store::cluster::{APP, socket_url};
use serde_json::{Value, json};
use std::fs;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};
use uuid::Uuid;

const TEAMS: u128 = 20;
/// Whoever planned and entered nothing for so long has no more to plan at the moment.
const QUIET: Duration = Duration::from_secs(3);
const ROBOTS: u128 = 60;

fn id(of: u128, n: u128) -> Uuid {
    Uuid::from_u128(0x0197_a3c2_0000_7000_8000_0000_0000_0000 + of * 4096 + n)
}

/// The event, and who is there.
pub struct Hall {
    pub service: Service,
    pub event: String,
    pub organiser: String,
    pub robots: Vec<Uuid>,
    undrawn: String,
    marshal: String,
    next: Arc<AtomicU64>,
    folder: DataFolder,
}

impl Hall {
    /// Opens the doors.
    pub async fn open() -> Self {
        let folder = DataFolder::new("bench-api");
        Service::add_organiser(folder.path());
        let service = Service::start(folder.path());
        let organiser = service.sign_in().await;
        let account = Client::new(service.address(), Some(organiser.clone()));
        let robots = (0..ROBOTS).map(|n| id(2, n)).collect();
        let event = found(&account, true).await;
        let undrawn = found(&account, false).await;
        let marshal = let_in(&account, &undrawn).await;
        Self {
            service,
            event,
            organiser,
            robots,
            undrawn,
            marshal,
            next: Arc::new(AtomicU64::new(1)),
            folder,
        }
    }

    /// Waits until every team has its plan: making them takes a core.
    pub async fn settled(&self) {
        let account = Client::new(self.service.address(), Some(self.organiser.clone()));
        let path = format!("/api/v1/events/{}/board", self.event);
        let mut last = (0, Instant::now());
        while last.1.elapsed() < QUIET {
            let board = account.get(&path).await.expect(200).json();
            let seq = board["last_seq"].as_i64().expect("a place");
            if seq != last.0 {
                last = (seq, Instant::now());
            }
            tokio::time::sleep(QUIET / 20).await;
        }
    }

    /// What the service holds in memory.
    pub fn memory_mib(&self) -> f64 {
        let about = format!("/proc/{}/status", self.service.pid());
        let about = fs::read_to_string(about).expect("the service");
        let held = about.split("VmRSS:").nth(1);
        let kib = held.and_then(|rest| rest.split_whitespace().next());
        kib.and_then(|kib| kib.parse::<f64>().ok()).expect("a size") / 1024.0
    }

    /// The address of the service's own database.
    pub fn database(&self) -> String {
        let file = self.folder.path().join("postgres/data/postmaster.pid");
        let text = fs::read_to_string(file).expect("a running server");
        // Line 5 is the folder of its socket, by PostgreSQL's own `pidfile.h`.
        let sockets = Path::new(text.lines().nth(4).expect("a socket"));
        socket_url(sockets, APP, "linkout")
    }

    /// How many lines the two events have.
    pub fn lines(&self) -> u64 {
        self.next.load(Ordering::Relaxed)
    }

    /// What a marshal writes with.
    pub fn pen(&self) -> Pen {
        Pen {
            path: format!("/api/v1/events/{}/lines", self.undrawn),
            token: self.marshal.clone(),
            robots: self.robots.clone(),
            next: self.next.clone(),
        }
    }
}

/// Writes lines of one robot after the other.
pub struct Pen {
    path: String,
    token: String,
    robots: Vec<Uuid>,
    next: Arc<AtomicU64>,
}

impl Pen {
    /// A request with a line that nobody handed in yet.
    pub fn line(&self) -> Vec<u8> {
        let n = self.next.fetch_add(1, Ordering::Relaxed);
        let line = id(9, 0).as_u128() + u128::from(n) * 0x1_0000;
        let robot = self.robots[usize::try_from(n).unwrap_or(0) % self.robots.len()];
        let body = json!({"lines": [{
            "id": Uuid::from_u128(line), "kind": "link", "subject": format!("robot:{robot}"),
            "how": "saw", "at": Utc::now(), "body": {"state": "out"}
        }]});
        let body = body.to_string();
        format!(
            "POST {} HTTP/1.1\r\nHost: hall\r\nAuthorization: Bearer {}\r\n\
             Content-Type: application/json\r\nContent-Length: {}\r\n\r\n{body}",
            self.path,
            self.token,
            body.len()
        )
        .into_bytes()
    }
}

/// An event with its teams and robots and, if it is drawn, bouts.
async fn found(account: &Client, drawn: bool) -> String {
    let event = json!({"name": "Long Meet", "time_zone": "Europe/London",
        "first_day": "2027-01-15", "last_day": "2027-01-17"});
    let event = account.send("POST", "/api/v1/events", &event).await;
    let event = event.expect(201).json()["id"]
        .as_str()
        .expect("an id")
        .to_owned();
    let path = format!("/api/v1/events/{event}");
    let now = Utc::now();
    let mut lines: Vec<Value> = Vec::new();
    let mut add = |noun: &str, thing: Uuid, body: Value| {
        let line = 0x0197_a3c2_0001_7000_8000_0000_0000_0000 + lines.len() as u128;
        lines.push(
            json!({"id": Uuid::from_u128(line), "kind": format!("register_{noun}"),
            "subject": format!("{noun}:{thing}"), "at": now, "body": body}),
        );
    };
    for n in 0..TEAMS {
        add("team", id(1, n), json!({"name": format!("Team {n}")}));
    }
    for n in 0..ROBOTS {
        let body = json!({"team": id(1, n % TEAMS), "name": format!("Robot {n}"), "bench": n + 1,
            "machine": "flipper_heavyweight", "links": 1});
        add("robot", id(2, n), body);
    }
    for n in (0..ROBOTS / 2).filter(|_| drawn) {
        let call_at = now + chrono::TimeDelta::minutes(20 + 8 * n as i64);
        let slots = json!([{"robot": id(2, 2 * n)}, {"robot": id(2, 2 * n + 1)}]);
        add(
            "bout",
            id(3, n),
            json!({"number": n + 1, "slots": slots, "call_at": call_at}),
        );
    }
    for part in lines.chunks(50) {
        let sent = account
            .send("POST", &format!("{path}/lines"), &json!({"lines": part}))
            .await;
        sent.expect(201);
    }
    event
}

/// A marshal's token.
async fn let_in(account: &Client, event: &str) -> String {
    let path = format!("/api/v1/events/{event}/join-codes");
    let code = account
        .send("POST", &path, &json!({"role": "marshal"}))
        .await
        .expect(201);
    let who = json!({"code": code.json()["code"], "name": "Ada"});
    let joined = account
        .send("POST", "/api/v1/sessions/join", &who)
        .await
        .expect(201);
    joined.json()["token"].as_str().expect("a token").to_owned()
}
