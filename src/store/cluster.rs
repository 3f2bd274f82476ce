//! The embedded default: a private PostgreSQL on a Unix socket in the data folder.
//!
//! **Assumptions** Linux: the server is told of its parent's death by `PR_SET_PDEATHSIG`, and
//! what an earlier one left behind is found through `/proc`.

mod account;
mod binaries;
mod error;
mod keeper;
mod layout;
mod leftovers;

use std::os::unix::ffi::OsStrExt;
use std::path::{Path, PathBuf};
use std::time::Instant;

use keeper::{Keeper, Recipe};
use layout::Layout;

pub use account::Account;
pub use binaries::Binaries;
pub use error::ClusterError;

/// The role that owns and changes the tables.
pub const OWNER: &str = "linkout_owner";
/// The role the service works as.
pub const APP: &str = "linkout_app";
/// The name of the database.
const DATABASE: &str = "linkout";

/// A private database server that lives as long as this value, and is started again if it dies.
#[derive(Debug)]
pub struct Cluster {
    keeper: Keeper,
    sockets: PathBuf,
}

impl Cluster {
    /// Starts the private server of a data folder, creating it on the first start, and returns
    /// when it answers.
    ///
    /// # Errors
    /// [`ClusterError`], each with what to do about it where there is something to do.
    pub async fn start(data: &Path) -> Result<Self, ClusterError> {
        let begun = Instant::now();
        let data = data.to_path_buf();
        let starting = tokio::task::spawn_blocking(move || start_server(&data)).await;
        let cluster = starting.map_err(|cause| ClusterError::NotStarted {
            said: cause.to_string(),
        })??;
        prepare(&cluster.url_for("postgres", "template1")).await?;
        tracing::info!(
            duration_ms = begun.elapsed().as_millis(),
            "the private database is ready"
        );
        Ok(cluster)
    }

    /// The address for the role that owns and changes the tables.
    #[must_use]
    pub fn owner_url(&self) -> String {
        self.url_for(OWNER, DATABASE)
    }

    /// The address for the role the service works as.
    #[must_use]
    pub fn app_url(&self) -> String {
        self.url_for(APP, DATABASE)
    }

    /// The server's process number, `None` while it is being started again.
    #[must_use]
    pub fn server_pid(&self) -> Option<u32> {
        self.keeper.pid()
    }

    /// Ends the server in order and waits for it.
    pub async fn stop(mut self) {
        let stopping = tokio::task::spawn_blocking(move || self.keeper.stop());
        if stopping.await.is_err() {
            tracing::error!("stopping the private database failed");
        }
    }

    fn url_for(&self, role: &str, database: &str) -> String {
        socket_url(&self.sockets, role, database)
    }
}

/// The address of a database behind a Unix socket: `postgres://role@%2Ffolder/database`.
#[must_use]
pub fn socket_url(sockets: &Path, role: &str, database: &str) -> String {
    let mut host = String::new();
    for &byte in sockets.as_os_str().as_bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            host.push(char::from(byte));
        } else {
            host.push_str(&format!("%{byte:02X}"));
        }
    }
    format!("postgres://{role}@{host}/{database}")
}

fn start_server(data: &Path) -> Result<Cluster, ClusterError> {
    let account = Account::for_server()?;
    let layout = Layout::claim(data, account.as_ref())?;
    let version = layout.version();
    let binaries = Binaries::find(data, version)?;
    if version.is_none() {
        layout.initialise(&binaries, account.as_ref())?;
    }
    let sockets = layout.sockets.clone();
    let keeper = Keeper::start(Recipe {
        layout,
        binaries,
        account,
    })?;
    Ok(Cluster { keeper, sockets })
}

/// Creates the roles and the database if they are not there yet: one transaction, so that a crash
/// leaves all or nothing.
async fn prepare(url: &str) -> Result<(), tokio_postgres::Error> {
    let (client, connection) = tokio_postgres::connect(url, tokio_postgres::NoTls).await?;
    let driver = tokio::spawn(connection);
    let known = client
        .query_opt("SELECT 1 FROM pg_database WHERE datname = $1", &[&DATABASE])
        .await?;
    if known.is_none() {
        // Renaming the empty database that initdb made is much cheaper than copying another.
        client
            .batch_execute(&format!(
                "BEGIN;
                 CREATE ROLE {OWNER} LOGIN;
                 CREATE ROLE {APP} LOGIN;
                 ALTER DATABASE postgres RENAME TO {DATABASE};
                 ALTER DATABASE {DATABASE} OWNER TO {OWNER};
                 COMMIT;"
            ))
            .await?;
    }
    drop(client);
    // The connection ends with its client; what it then says is of no use to anybody.
    let _ = driver.await;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_socket_folder_survives_the_way_through_an_address() {
        let folder = Path::new("/srv/pit data/50%/é");
        let url = socket_url(folder, "linkout_app", "linkout");
        let read: tokio_postgres::Config = url.parse().unwrap();
        assert_eq!(
            read.get_hosts(),
            [tokio_postgres::config::Host::Unix(folder.to_path_buf())]
        );
        assert_eq!(read.get_user(), Some("linkout_app"));
        assert_eq!(read.get_dbname(), Some("linkout"));
    }
}
