//! The folders of the private database, and how they come to be.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::os::fd::AsRawFd;
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::{DirBuilderExt, MetadataExt, OpenOptionsExt, PermissionsExt};
use std::path::{Path, PathBuf};
use std::time::Duration;

use sha2::{Digest, Sha256};

use super::{Account, Binaries, ClusterError};

/// The longest path of a Unix socket, without its closing NUL.
///
/// **Source** `sun_path` in unix(7): 108 bytes.
const SOCKET_PATH_MAX: usize = 107;

/// The name PostgreSQL gives its socket for port 5432.
const SOCKET_NAME: &str = ".s.PGSQL.5432";

/// The folders of one private database; holds the lock on them.
#[derive(Debug)]
pub(super) struct Layout {
    /// What `initdb` makes.
    pub data: PathBuf,
    /// Where the socket is.
    pub sockets: PathBuf,
    /// What the server prints.
    pub log: PathBuf,
    /// Held for as long as this value lives; the system lets go of it if the process dies.
    _lock: File,
}

impl Layout {
    /// Makes the folders below `base` and locks them for this process.
    pub fn claim(base: &Path, account: Option<&Account>) -> Result<Self, ClusterError> {
        fs::create_dir_all(base).map_err(ClusterError::io("creating", base))?;
        let base = base
            .canonicalize()
            .map_err(ClusterError::io("finding", base))?;
        let lock = lock(&base)?;
        let own = base.join("postgres");
        make_private(&own, account)?;
        if let Some(account) = account {
            account.can_reach(&own)?;
        }
        let sockets = socket_folder(&own);
        make_private(&sockets, account)?;
        Ok(Self {
            data: own.join("data"),
            log: own.join("server.log"),
            sockets,
            _lock: lock,
        })
    }

    /// The major version that wrote the database, `None` if there is none yet.
    pub fn version(&self) -> Option<u32> {
        let text = fs::read_to_string(self.data.join("PG_VERSION")).ok()?;
        text.trim().parse().ok()
    }

    /// Creates the database files: beside their place first, so that a half-made one is never
    /// taken for a whole one.
    pub fn initialise(
        &self,
        binaries: &Binaries,
        account: Option<&Account>,
    ) -> Result<(), ClusterError> {
        let new = self.data.with_extension("new");
        if new.exists() {
            fs::remove_dir_all(&new).map_err(ClusterError::io("removing", &new))?;
        }
        let mut initdb = binaries.command("initdb");
        initdb
            .args(["--username=postgres", "--encoding=UTF8", "--locale=C"])
            .args(["--auth-local=trust", "--auth-host=reject"])
            .args(["--no-sync", "--no-instructions", "--pgdata"])
            .arg(&new)
            .current_dir("/");
        if let Some(account) = account {
            account.apply(&mut initdb);
        }
        let answer = initdb
            .output()
            .map_err(ClusterError::io("running initdb for", &new))?;
        if !answer.status.success() {
            return Err(ClusterError::Initdb {
                said: String::from_utf8_lossy(&answer.stderr).trim().to_owned(),
            });
        }
        // One call for the whole file system replaces an fsync of each of a thousand files.
        sync_file_system(&new)?;
        fs::rename(&new, &self.data).map_err(ClusterError::io("renaming", &new))?;
        let parent = self.data.parent().unwrap_or(&self.data);
        File::open(parent)
            .and_then(|folder| folder.sync_all())
            .map_err(ClusterError::io("writing", parent))
    }

    /// The socket and the lock beside it.
    pub fn socket_files(&self) -> [PathBuf; 2] {
        [
            self.sockets.join(SOCKET_NAME),
            self.sockets.join(format!("{SOCKET_NAME}.lock")),
        ]
    }

    /// Opens the log for appending; a long one is set aside first.
    pub fn open_log(&self) -> Result<File, ClusterError> {
        const LONG: u64 = 10 * 1024 * 1024;
        if fs::metadata(&self.log).is_ok_and(|about| about.len() > LONG) {
            let aside = self.log.with_extension("log.1");
            fs::rename(&self.log, aside).map_err(ClusterError::io("renaming", &self.log))?;
        }
        OpenOptions::new()
            .append(true)
            .create(true)
            .mode(0o640)
            .open(&self.log)
            .map_err(ClusterError::io("opening", &self.log))
    }
}

impl Drop for Layout {
    fn drop(&mut self) {
        // Away from the data folder, nobody would know whose it is.
        if self.sockets.parent() != self.data.parent()
            && let Err(cause) = fs::remove_dir(&self.sockets)
        {
            tracing::warn!(%cause, "a socket folder could not be removed");
        }
    }
}

/// How often a lock that is held is tried again, and after how long.
///
/// A process that is just being started holds whatever was open, until it becomes another program:
/// for a moment a folder looks in use that was let go.
const LOCK_TRIES: (u32, Duration) = (20, Duration::from_millis(50));

fn lock(base: &Path) -> Result<File, ClusterError> {
    let path = base.join("linkout.lock");
    let file = OpenOptions::new()
        .write(true)
        .create(true)
        .truncate(false)
        .open(&path)
        .map_err(ClusterError::io("opening", &path))?;
    let (tries, pause) = LOCK_TRIES;
    let mut held = file.try_lock();
    for _ in 1..tries {
        if !matches!(held, Err(TryLockError::WouldBlock)) {
            break;
        }
        std::thread::sleep(pause);
        held = file.try_lock();
    }
    match held {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => Err(ClusterError::InUse {
            folder: base.to_path_buf(),
        }),
        Err(TryLockError::Error(cause)) => Err(ClusterError::io("locking", path)(cause)),
    }
}

/// Makes `folder` for the server's account alone, and checks that nobody else owns it: the one
/// for sockets may be in a place where anybody can create names.
fn make_private(folder: &Path, account: Option<&Account>) -> Result<(), ClusterError> {
    let mut builder = fs::DirBuilder::new();
    match builder.mode(0o700).create(folder) {
        Ok(()) => {
            if let Some(account) = account {
                std::os::unix::fs::chown(folder, Some(account.uid), Some(account.gid))
                    .map_err(ClusterError::io("changing the owner of", folder))?;
            }
        }
        Err(cause) if cause.kind() == std::io::ErrorKind::AlreadyExists => {}
        Err(cause) => return Err(ClusterError::io("creating", folder)(cause)),
    }
    let about = fs::symlink_metadata(folder).map_err(ClusterError::io("looking at", folder))?;
    // SAFETY: geteuid has no preconditions and cannot fail.
    let owner = account.map_or_else(|| unsafe { libc::geteuid() }, |account| account.uid);
    let private = about.is_dir() && about.permissions().mode() & 0o077 == 0;
    if !private || about.uid() != owner {
        let cause = std::io::Error::other(format!(
            "it must be a folder that user {owner} owns and nobody else may enter"
        ));
        return Err(ClusterError::io("using", folder)(cause));
    }
    Ok(())
}

/// `run` beside the data, or a short folder where that would make too long a path.
fn socket_folder(own: &Path) -> PathBuf {
    let beside = own.join("run");
    if beside.join(SOCKET_NAME).as_os_str().len() <= SOCKET_PATH_MAX {
        return beside;
    }
    let digest = Sha256::digest(own.as_os_str().as_bytes());
    let name: String = digest.iter().take(8).map(|b| format!("{b:02x}")).collect();
    std::env::temp_dir().join(format!("linkout-{name}"))
}

fn sync_file_system(folder: &Path) -> Result<(), ClusterError> {
    let open = File::open(folder).map_err(ClusterError::io("opening", folder))?;
    // SAFETY: the descriptor is open for the whole call.
    if unsafe { libc::syncfs(open.as_raw_fd()) } != 0 {
        let cause = std::io::Error::last_os_error();
        return Err(ClusterError::io("writing", folder)(cause));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_socket_path_is_never_too_long() {
        // 107 bytes is what unix(7) leaves for the path.
        for length in [1, 60, 88, 89, 90, 91, 92, 120, 400] {
            let own = PathBuf::from(format!("/{}", "d".repeat(length)));
            let socket = socket_folder(&own).join(".s.PGSQL.5432");
            assert!(socket.as_os_str().len() <= 107, "{length}");
        }
        let short = Path::new("/srv/linkout/postgres");
        assert_eq!(socket_folder(short), short.join("run"));
    }

    #[test]
    fn a_folder_that_others_may_enter_is_not_used() {
        let open = std::env::temp_dir().join(format!("linkout-open-{}", std::process::id()));
        fs::create_dir(&open).unwrap();
        fs::set_permissions(&open, fs::Permissions::from_mode(0o755)).unwrap();
        let refused = make_private(&open, None);
        fs::set_permissions(&open, fs::Permissions::from_mode(0o700)).unwrap();
        let taken = make_private(&open, None);
        fs::remove_dir(&open).unwrap();
        assert!(matches!(refused, Err(ClusterError::Io { .. })));
        taken.unwrap();
    }
}
