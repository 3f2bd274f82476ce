//! The connections to the database.

use std::time::Duration;

use diesel::ConnectionError;
use diesel_async::pooled_connection::deadpool::{self, Object};
use diesel_async::pooled_connection::{
    AsyncDieselConnectionManager, ManagerConfig, RecyclingMethod,
};
use diesel_async::{AsyncConnection, AsyncPgConnection, SimpleAsyncConnection};
use futures_util::FutureExt;
use futures_util::future::try_join_all;

use super::StoreError;
use super::cluster::{APP, Cluster};

/// How long a caller waits for a free connection before the database counts as unavailable.
const WAIT: Duration = Duration::from_secs(3);

/// A connection lent from the pool; it goes back when it is dropped.
pub type Connection = Object<AsyncPgConnection>;

/// How to reach the database: the address of the role that owns the tables, and how the service
/// becomes the role that may not change the logbook.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Access {
    /// The address for migrating.
    pub owner_url: String,
    /// The address for serving.
    pub app_url: String,
    /// The role to take on after connecting to serve, if it differs from the one in the address.
    pub role: Option<&'static str>,
}

impl Access {
    /// The private database, which has an address for each role.
    #[must_use]
    pub fn embedded(cluster: &Cluster) -> Self {
        Self {
            owner_url: cluster.owner_url(),
            app_url: cluster.app_url(),
            role: None,
        }
    }

    /// A database somebody else runs: its one address migrates, and serves as a lesser role.
    #[must_use]
    pub fn given(url: impl Into<String>) -> Self {
        let url = url.into();
        Self {
            owner_url: url.clone(),
            app_url: url,
            role: Some(APP),
        }
    }
}

/// The connections of one process to the database.
#[derive(Clone)]
pub struct Pool {
    connections: deadpool::Pool<AsyncPgConnection>,
    access: Access,
}

impl Pool {
    /// Opens `size` connections, so that the first requests find them open.
    ///
    /// # Errors
    /// [`StoreError::Unavailable`] if the database cannot be reached, [`StoreError::Bug`] if the
    /// address makes no sense.
    pub async fn open(access: Access, size: usize) -> Result<Self, StoreError> {
        let role = access.role;
        let mut config = ManagerConfig::<AsyncPgConnection>::default();
        // The default asks the server whether a connection is alive each time it is lent; a closed
        // one is noticed without that.
        config.recycling_method = RecyclingMethod::Fast;
        config.custom_setup = Box::new(move |url| establish(url.to_owned(), role).boxed());
        let manager = AsyncDieselConnectionManager::new_with_config(&access.app_url, config);
        let connections = deadpool::Pool::builder(manager)
            .max_size(size)
            .build()
            .map_err(|cause| StoreError::Bug(Box::new(cause)))?;
        let pool = Self {
            connections,
            access,
        };
        try_join_all((0..size).map(|_| pool.get())).await?;
        Ok(pool)
    }

    /// Lends a connection.
    ///
    /// # Errors
    /// [`StoreError::Unavailable`] if none can be had in time.
    pub async fn get(&self) -> Result<Connection, StoreError> {
        match tokio::time::timeout(WAIT, self.connections.get()).await {
            Ok(lent) => lent.map_err(|cause| StoreError::Unavailable(Box::new(cause))),
            Err(late) => Err(StoreError::Unavailable(Box::new(late))),
        }
    }

    /// How this pool reaches the database, for a connection outside it (one that listens).
    #[must_use]
    pub fn access(&self) -> &Access {
        &self.access
    }
}

async fn establish(
    url: String,
    role: Option<&'static str>,
) -> Result<AsyncPgConnection, ConnectionError> {
    let mut connection = AsyncPgConnection::establish(&url).await?;
    // A statement that hangs must not hold an event's row for ever.
    let mut settings = String::from(
        "SET application_name = 'linkout'; SET statement_timeout = '30s'; \
         SET idle_in_transaction_session_timeout = '60s';",
    );
    if let Some(role) = role {
        settings.push_str(&format!("SET ROLE {role};"));
    }
    connection
        .batch_execute(&settings)
        .await
        .map_err(ConnectionError::CouldntSetupConfiguration)?;
    Ok(connection)
}
