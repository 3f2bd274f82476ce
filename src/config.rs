//! What linkout is started with: one typed value, read once.

use crate::store::pool::Access;
use std::{net::SocketAddr, num::NonZeroUsize, path::PathBuf};

/// Where the lines are kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Database {
    /// A private server in this data folder.
    Embedded(PathBuf),
    /// A server that somebody else runs.
    Given(Access),
}

impl Database {
    /// The database at `url`, or the private one of `data` where none is given.
    pub fn from(url: Option<String>, data: PathBuf) -> Self {
        match url {
            Some(url) => Self::Given(Access::given(url)),
            None => Self::Embedded(data),
        }
    }
}

/// What `linkout serve` is started with.
#[derive(Debug, Clone)]
pub struct Config {
    /// Where to listen.
    pub listen: SocketAddr,
    /// Folder for the private database, the token key and the local certificate authority.
    pub data: PathBuf,
    /// Where the lines are kept.
    pub database: Database,
    /// Connections to the database.
    pub connections: NonZeroUsize,
    /// Threads that answer requests.
    pub workers: NonZeroUsize,
}
