//! A database for one test.

use std::sync::atomic::{AtomicU32, Ordering};

use linkout::store::pool::{Access, Pool};

use super::cluster::{SharedCluster, connect_when_ready};

static NEXT: AtomicU32 = AtomicU32::new(0);

/// A migrated, empty database that goes when this value goes.
pub struct TestDatabase {
    name: String,
}

impl TestDatabase {
    /// A copy of the migrated database.
    pub async fn new() -> Self {
        let cluster = SharedCluster::get();
        Self::make(&format!(
            "TEMPLATE {} STRATEGY file_copy",
            cluster.template()
        ))
        .await
    }

    /// A database without any table.
    pub async fn bare() -> Self {
        Self::make("STRATEGY file_copy").await
    }

    async fn make(how: &str) -> Self {
        let cluster = SharedCluster::get();
        let number = NEXT.fetch_add(1, Ordering::Relaxed);
        let name = format!("t_{}_{number}", std::process::id());
        let admin = connect_when_ready(&cluster.url("postgres")).await;
        let create = format!("CREATE DATABASE {name} {how}");
        admin.batch_execute(&create).await.unwrap();
        Self { name }
    }

    /// Its address, for the superuser.
    pub fn url(&self) -> String {
        SharedCluster::get().url(&self.name)
    }

    /// How the service reaches it.
    pub fn access(&self) -> Access {
        Access::given(self.url())
    }

    /// Connections as the service has them.
    pub async fn pool(&self) -> Pool {
        Pool::open(self.access(), 4).await.unwrap()
    }

    /// A connection past the service, as the superuser.
    pub async fn client(&self) -> tokio_postgres::Client {
        connect_when_ready(&self.url()).await
    }
}

impl Drop for TestDatabase {
    fn drop(&mut self) {
        let drop = format!("DROP DATABASE {} WITH (FORCE)", self.name);
        let url = SharedCluster::get().url("postgres");
        // A thread of its own, because the test's runtime is busy with this very call.
        let dropping = std::thread::spawn(move || {
            let runtime = tokio::runtime::Builder::new_current_thread()
                .enable_all()
                .build()
                .expect("a runtime");
            runtime.block_on(async {
                let admin = connect_when_ready(&url).await;
                if let Err(cause) = admin.batch_execute(&drop).await {
                    eprintln!("{drop}: {cause}");
                }
            });
        });
        if dropping.join().is_err() {
            eprintln!("a test database could not be dropped");
        }
    }
}
