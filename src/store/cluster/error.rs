//! Why the private database could not be started.

use std::io;
use std::path::PathBuf;

/// Why the private database could not be started.
#[derive(Debug, thiserror::Error)]
pub enum ClusterError {
    /// No PostgreSQL server is installed.
    #[error(
        "no PostgreSQL server was found; install one (Debian: apt install postgresql), or set DATABASE_URL; looked at {}",
        list(.looked_at)
    )]
    NoServer {
        /// The folders looked at, in order.
        looked_at: Vec<PathBuf>,
    },
    /// The database was written by a version that is not installed.
    #[error("the database needs PostgreSQL {wanted}, but only {others:?} are installed")]
    OtherVersion {
        /// The major version that wrote the database.
        wanted: u32,
        /// The major versions found.
        others: Vec<u32>,
    },
    /// Run as root, without an account to run the server as.
    #[error(
        "PostgreSQL does not run as root, and there is neither a postgres nor a nobody account"
    )]
    NoAccount,
    /// The server's account may not pass through a folder.
    #[error(
        "the account {account}, which runs the database, may not enter {folder}; move the data folder or run chmod o+x on it",
        folder = .folder.display()
    )]
    NotSearchable {
        /// The folder that bars the way.
        folder: PathBuf,
        /// The account that has to pass.
        account: String,
    },
    /// Another process uses the data folder.
    #[error("another linkout already uses {}", .folder.display())]
    InUse {
        /// The data folder.
        folder: PathBuf,
    },
    /// A step on the file system or with a process failed.
    #[error("{doing} {}", .path.display())]
    Io {
        /// What was being done.
        doing: &'static str,
        /// To what.
        path: PathBuf,
        /// What the system said.
        #[source]
        cause: io::Error,
    },
    /// `initdb` failed.
    #[error("creating the database failed: {said}")]
    Initdb {
        /// What it said.
        said: String,
    },
    /// The server ended, or never became ready.
    #[error("the database server did not start: {said}")]
    NotStarted {
        /// The last lines of its log.
        said: String,
    },
    /// An earlier server did not end.
    #[error("earlier database processes {pids:?} did not end")]
    LeftOver {
        /// Their process numbers.
        pids: Vec<i32>,
    },
    /// Roles and database could not be prepared.
    #[error("preparing the new database")]
    Sql(#[from] tokio_postgres::Error),
}

impl ClusterError {
    /// An I/O error with what was being done to which path.
    pub(super) fn io(
        doing: &'static str,
        path: impl Into<PathBuf>,
    ) -> impl FnOnce(io::Error) -> Self {
        let path = path.into();
        move |cause| Self::Io { doing, path, cause }
    }
}

fn list(folders: &[PathBuf]) -> String {
    let names: Vec<String> = folders.iter().map(|f| f.display().to_string()).collect();
    names.join(", ")
}
