//! What is run beside the service.

use super::harness::cluster::connect_when_ready;
use super::harness::data_folder::DataFolder;
use super::load;
use actix_web::{App, HttpResponse, HttpServer, middleware::from_fn, web};
use bytes::Bytes;
use linkout::app::{clock::SystemClock, id_source::RandomIds};
use linkout::http::{edge, known, server};
use linkout::store::cluster::Binaries;
use std::net::TcpListener;
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

/// A server that says the same bytes to everybody, with the service's outermost layer around it: the
/// same headers, and the same event in the log, which nobody reads.
pub struct Bare {
    pub address: String,
    pub request: Vec<u8>,
}

/// Starts one with as many workers as the service has; it lasts as long as this program.
pub fn serve(bytes: usize) -> Bare {
    // Nothing of a 304 follows, so it is set beside an answer of a word.
    let said = Bytes::from(vec![b'x'; bytes.max(2)]);
    let listener = TcpListener::bind(("127.0.0.1", 0)).expect("a port");
    let address = listener.local_addr().expect("an address").to_string();
    let published = server::openapi();
    let outermost = web::Data::new(edge::Edge {
        clock: Arc::new(SystemClock),
        ids: Arc::new(RandomIds::new(rand::make_rng::<rand::rngs::StdRng>())),
        known: known::Known::new(&published, &[]),
    });
    let workers = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::spawn(move || {
        actix_web::rt::System::new().block_on(async move {
            let server = HttpServer::new(move || {
                let (said, outermost) = (said.clone(), outermost.clone());
                let say = move || {
                    let said = said.clone();
                    async move {
                        HttpResponse::Ok()
                            .content_type("application/json")
                            .body(said)
                    }
                };
                App::new()
                    .app_data(outermost)
                    .wrap(from_fn(edge::edge))
                    .route("/", web::get().to(say))
            });
            let server = server.workers(workers).disable_signals();
            let server = server.listen(listener).expect("a listener");
            server.run().await.expect("a server");
        });
    });
    Bare {
        address,
        request: load::request("/", "none", &[]),
    }
}

/// The statement by which the service records a batch (`src/store/logbook/insert.rs`), with a batch of
/// one line.
const STATEMENT: &str = r#"WITH event AS (UPDATE events SET last_seq = last_seq + 1 WHERE id = '00000000-0000-7000-8000-0000000000bb' RETURNING id, last_seq), added AS (INSERT INTO lines (event_id, seq, id, kind, version, at, claimed_at, recorded_at, clock_doubtful, seen_by, entered_by, entered_as, subject, how, corrects, body) SELECT event.id, event.last_seq - 1 + line.place, line.id, line.kind, 1, line.at, line.claimed_at, line.recorded_at, line.clock_doubtful, line.seen_by, line.entered_by, line.entered_as, line.subject, line.how, line.corrects, line.body FROM event, unnest(ARRAY[gen_random_uuid()], ARRAY['link'], ARRAY[now()], ARRAY[now()], ARRAY[now()], ARRAY[false], ARRAY[gen_random_uuid()], ARRAY[gen_random_uuid()], ARRAY['crew'], ARRAY['robot:00000000-0000-7000-8000-0000000000cc'], ARRAY['did'], ARRAY[NULL::uuid], ARRAY['{"state": "out"}'::jsonb]) WITH ORDINALITY AS line (id, kind, at, claimed_at, recorded_at, clock_doubtful, seen_by, entered_by, entered_as, subject, how, corrects, body, place)) SELECT last_seq FROM event;
"#;

const SCRIPT: &str = "line.sql";

/// `pgbench` on the service's own server, writing to a logbook that the service does not follow.
pub struct Pgbench {
    binaries: Binaries,
    database: String,
    folder: DataFolder,
}

/// What it said.
pub struct Said {
    pub per_s: f64,
    pub mean_ms: f64,
}

impl Pgbench {
    /// On the database at this address.
    pub async fn over(database: &str) -> Self {
        let client = connect_when_ready(database).await;
        let syncs = client
            .query_one("SHOW fsync", &[])
            .await
            .expect("a setting");
        assert_eq!(syncs.get::<_, &str>(0), "on", "durable or nothing");
        let add = "INSERT INTO events (id, last_seq, created_at) \
             VALUES ('00000000-0000-7000-8000-0000000000bb', 0, now())";
        client.batch_execute(add).await.expect("an event");
        let folder = DataFolder::new("bench-pgbench");
        std::fs::write(folder.path().join(SCRIPT), STATEMENT).expect("a script");
        Self {
            binaries: Binaries::find(Path::new("/"), None).expect("a server's programs"),
            database: database.to_owned(),
            folder,
        }
    }

    /// Runs it with so many clients.
    pub fn run(&self, clients: usize, spell: Duration) -> Said {
        let threads = clients.min(2);
        let answer = self
            .binaries
            .command("pgbench")
            .args(["--no-vacuum", "--protocol=prepared", "--file"])
            .arg(self.folder.path().join(SCRIPT))
            .arg(format!("--client={clients}"))
            .arg(format!("--jobs={threads}"))
            .arg(format!("--time={}", spell.as_secs()))
            .arg(&self.database)
            .output()
            .expect("pgbench beside initdb");
        let said = String::from_utf8_lossy(&answer.stdout);
        let number = |before: &str| -> f64 {
            let after = said.split(before).nth(1);
            let number = after.and_then(|rest| rest.split_whitespace().next());
            let number = number.and_then(|number| number.parse().ok());
            number.unwrap_or_else(|| panic!("{said}{}", String::from_utf8_lossy(&answer.stderr)))
        };
        Said {
            per_s: number("tps = "),
            mean_ms: number("latency average = "),
        }
    }
}
