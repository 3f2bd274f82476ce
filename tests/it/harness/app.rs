//! The service as it is in production, on a port of its own, with a clock that stands still.

use super::client::Client;
use super::database::TestDatabase;
use chrono::{DateTime, TimeDelta, Utc};
use linkout::app::id_source::RandomIds;
use linkout::app::{App, Clock};
use linkout::auth::{Key, Tokens};
use linkout::http::server;
use linkout::store::pool::Pool;
use rand::SeedableRng as _;
use std::net::TcpListener;
use std::num::NonZeroUsize;
use std::sync::{Arc, Mutex};

/// A clock that goes only when it is told to.
pub struct ManualClock(Mutex<DateTime<Utc>>);

impl Clock for ManualClock {
    fn now(&self) -> DateTime<Utc> {
        *self.0.lock().unwrap()
    }
}

impl ManualClock {
    /// One that stands on the morning of an event.
    pub fn standing() -> Arc<Self> {
        Arc::new(Self(Mutex::new(super::build::moment(0))))
    }

    /// Lets time pass.
    pub fn advance(&self, by: TimeDelta) {
        *self.0.lock().unwrap() += by;
    }
}

/// A running service.
pub struct TestApp {
    /// What its use cases stand on.
    pub app: Arc<App>,
    /// Its clock.
    pub clock: Arc<ManualClock>,
    /// Where it is.
    pub address: String,
    handle: actix_web::dev::ServerHandle,
    end: linkout::http::api::stream::End,
    key: Arc<Key>,
    database: Arc<TestDatabase>,
}

/// What use cases stand on, over a database, for the process with this number.
pub fn over(pool: Pool, key: &Key, clock: Arc<ManualClock>, process: u64) -> Arc<App> {
    let ids = RandomIds::new(rand_chacha::ChaCha12Rng::seed_from_u64(2027 + process));
    Arc::new(App::new(pool, Tokens::new(key), clock, Arc::new(ids)))
}

impl TestApp {
    /// Starts one over an empty database, on the morning of an event.
    pub async fn start() -> Self {
        let database = Arc::new(TestDatabase::new().await);
        Self::on(database, Arc::new(Key::new()), ManualClock::standing(), 0).await
    }

    /// Starts another one beside this, over the same database.
    pub async fn another(&self) -> Self {
        Self::on(
            self.database.clone(),
            self.key.clone(),
            self.clock.clone(),
            1,
        )
        .await
    }

    async fn on(
        database: Arc<TestDatabase>,
        key: Arc<Key>,
        clock: Arc<ManualClock>,
        process: u64,
    ) -> Self {
        let app = over(database.pool().await, &key, clock.clone(), process);
        let listener = TcpListener::bind(("127.0.0.1", 0)).unwrap();
        let address = format!("http://{}", listener.local_addr().unwrap());
        let running = server::build(app.clone(), listener, NonZeroUsize::MIN).unwrap();
        let handle = running.server.handle();
        tokio::spawn(running.server);
        Self {
            app,
            clock,
            address,
            handle,
            end: running.end,
            key,
            database,
        }
    }

    /// Its database.
    pub fn database(&self) -> &TestDatabase {
        &self.database
    }

    /// Somebody without a token.
    pub fn nobody(&self) -> Client {
        Client::new(self.address.clone(), None)
    }

    /// Somebody with this token.
    pub fn with_token(&self, token: String) -> Client {
        Client::new(self.address.clone(), Some(token))
    }

    /// Ends every stream, as a service that stops does.
    pub fn end_streams(&self) {
        self.end.now();
    }
}

impl Drop for TestApp {
    fn drop(&mut self) {
        self.end.now();
        // The request is on its way when this returns; nobody has to wait for the answer.
        drop(self.handle.stop(false));
    }
}
