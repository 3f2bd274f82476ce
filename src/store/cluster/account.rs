//! The operating-system account the server runs as: PostgreSQL refuses to run as root.

use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::os::unix::process::CommandExt;
use std::path::Path;
use std::process::Command;

use super::ClusterError;

/// An account of this machine that a child process can be run as.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Account {
    /// Its name, for messages.
    pub name: String,
    /// Its user number.
    pub uid: u32,
    /// Its group number.
    pub gid: u32,
}

impl Account {
    /// The account the server has to be run as, `None` if it can run as the present one.
    ///
    /// # Errors
    /// [`ClusterError::NoAccount`] for root on a machine with neither `postgres` nor `nobody`.
    pub fn for_server() -> Result<Option<Self>, ClusterError> {
        // SAFETY: geteuid has no preconditions and cannot fail.
        if unsafe { libc::geteuid() } != 0 {
            return Ok(None);
        }
        let accounts = std::fs::read_to_string("/etc/passwd").unwrap_or_default();
        ["postgres", "nobody"]
            .iter()
            .find_map(|name| Self::named(&accounts, name))
            .map(Some)
            .ok_or(ClusterError::NoAccount)
    }

    /// Makes `command` run as this account.
    pub fn apply(&self, command: &mut Command) {
        command.uid(self.uid).gid(self.gid);
    }

    /// Checks that this account may pass through every folder above `folder`.
    ///
    /// # Errors
    /// [`ClusterError::NotSearchable`] with the first folder that bars the way.
    pub fn can_reach(&self, folder: &Path) -> Result<(), ClusterError> {
        let mut above: Vec<&Path> = folder.ancestors().skip(1).collect();
        above.reverse();
        for barrier in above {
            let Ok(about) = std::fs::metadata(barrier) else {
                continue;
            };
            let needed = if about.uid() == self.uid {
                0o100
            } else if about.gid() == self.gid {
                0o010
            } else {
                0o001
            };
            if about.permissions().mode() & needed == 0 {
                return Err(ClusterError::NotSearchable {
                    folder: barrier.to_path_buf(),
                    account: self.name.clone(),
                });
            }
        }
        Ok(())
    }

    fn named(accounts: &str, name: &str) -> Option<Self> {
        accounts.lines().find_map(|line| {
            let mut fields = line.split(':');
            if fields.next()? != name {
                return None;
            }
            let mut numbers = fields.skip(1);
            Some(Self {
                name: name.to_owned(),
                uid: numbers.next()?.parse().ok()?,
                gid: numbers.next()?.parse().ok()?,
            })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_account_is_read_from_the_passwd_file() {
        // The seven fields of passwd(5): name, password, uid, gid, gecos, home, shell.
        let accounts = "root:x:0:0:root:/root:/bin/sh\npostgres2:x:9:9::/:/bin/sh\n\
                        postgres:x:101:104:,,,:/var/lib/postgresql:/bin/bash\n";
        let account = Account::named(accounts, "postgres").unwrap();
        assert_eq!((account.uid, account.gid), (101, 104));
        assert_eq!(Account::named(accounts, "nobody"), None);
    }

    #[test]
    fn a_closed_folder_above_is_named() {
        let top = std::env::temp_dir().join(format!("linkout-closed-{}", std::process::id()));
        let inner = top.join("inner").join("data");
        std::fs::create_dir_all(&inner).unwrap();
        std::fs::set_permissions(&top, std::fs::Permissions::from_mode(0o700)).unwrap();
        let stranger = Account {
            name: "stranger".into(),
            uid: 4_000_000,
            gid: 4_000_000,
        };
        let closed = stranger.can_reach(&inner);
        std::fs::set_permissions(&top, std::fs::Permissions::from_mode(0o711)).unwrap();
        let open = stranger.can_reach(&inner);
        std::fs::remove_dir_all(&top).unwrap();
        match closed {
            Err(ClusterError::NotSearchable { folder, .. }) => assert_eq!(folder, top),
            other => panic!("{other:?}"),
        }
        open.unwrap();
    }
}
