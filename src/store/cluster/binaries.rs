//! Where the PostgreSQL server programs are.

use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::process::Command;

use super::ClusterError;

/// The folder of one PostgreSQL installation's programs, and its major version.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Binaries {
    folder: PathBuf,
    major: u32,
    libraries: Option<OsString>,
}

impl Binaries {
    /// Finds `postgres` and `initdb`: the folder `pg_config` names, then every folder of `PATH`,
    /// then Debian's `/usr/lib/postgresql/*/bin`, then packages unpacked into `<data>/pgsql`.
    ///
    /// `wanted` is the major version that wrote an existing database; only that one can open it.
    ///
    /// # Errors
    /// [`ClusterError::NoServer`] with every folder looked at, or [`ClusterError::OtherVersion`]
    /// if servers were found but none of the wanted version.
    pub fn find(data: &Path, wanted: Option<u32>) -> Result<Self, ClusterError> {
        let mut looked_at = Vec::new();
        let mut others = Vec::new();
        for place in places(data) {
            if looked_at.contains(&place.folder) {
                continue;
            }
            looked_at.push(place.folder.clone());
            let Some(found) = Self::in_folder(place) else {
                continue;
            };
            if wanted.is_none_or(|major| major == found.major) {
                return Ok(found);
            }
            others.push(found.major);
        }
        match wanted {
            Some(wanted) if !others.is_empty() => {
                Err(ClusterError::OtherVersion { wanted, others })
            }
            _ => Err(ClusterError::NoServer { looked_at }),
        }
    }

    /// A command that runs `program` of this installation.
    #[must_use]
    pub fn command(&self, program: &str) -> Command {
        let mut command = Command::new(self.folder.join(program));
        if let Some(libraries) = &self.libraries {
            command.env("LD_LIBRARY_PATH", libraries);
        }
        // The server's own messages are read by this program and by whoever reads its log.
        command.env("LC_ALL", "C");
        command
    }

    /// The folder the programs are in.
    #[must_use]
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    fn in_folder(place: Place) -> Option<Self> {
        if !place.folder.join("initdb").is_file() {
            return None;
        }
        // A link in PATH leads to the installation, whose other programs are beside the target.
        let server = place.folder.join("postgres").canonicalize().ok()?;
        let mut found = Self {
            folder: server.parent()?.to_path_buf(),
            major: 0,
            libraries: place.libraries,
        };
        let answer = found.command("postgres").arg("--version").output().ok()?;
        found.major = major_version(&String::from_utf8_lossy(&answer.stdout))?;
        Some(found)
    }
}

struct Place {
    folder: PathBuf,
    libraries: Option<OsString>,
}

fn places(data: &Path) -> Vec<Place> {
    let installed = |folder| Place {
        folder,
        libraries: None,
    };
    let mut places = Vec::new();
    if let Ok(answer) = Command::new("pg_config").arg("--bindir").output() {
        let folder = String::from_utf8_lossy(&answer.stdout).trim().to_owned();
        if !folder.is_empty() {
            places.push(installed(PathBuf::from(folder)));
        }
    }
    if let Some(path) = std::env::var_os("PATH") {
        places.extend(std::env::split_paths(&path).map(installed));
    }
    places.extend(debian_folders(Path::new("/")).into_iter().map(installed));
    let unpacked = data.join("pgsql");
    let libraries = library_path(&unpacked);
    places.extend(debian_folders(&unpacked).into_iter().map(|folder| Place {
        folder,
        libraries: libraries.clone(),
    }));
    places
}

/// `<root>/usr/lib/postgresql/*/bin`, newest version first.
fn debian_folders(root: &Path) -> Vec<PathBuf> {
    let mut versions: Vec<u32> = folders_in(&root.join("usr/lib/postgresql"))
        .filter_map(|name| name.to_str()?.parse().ok())
        .collect();
    versions.sort_unstable_by(|a, b| b.cmp(a));
    versions
        .into_iter()
        .map(|major| root.join(format!("usr/lib/postgresql/{major}/bin")))
        .collect()
}

/// Unpacked packages bring their libraries along, which the loader finds only if told.
fn library_path(root: &Path) -> Option<OsString> {
    let lib = root.join("usr/lib");
    let mut folders: Vec<PathBuf> = folders_in(&lib)
        .filter(|name| name.to_string_lossy().contains("-linux-"))
        .map(|name| lib.join(name))
        .collect();
    folders.push(lib);
    std::env::join_paths(folders).ok()
}

fn folders_in(folder: &Path) -> impl Iterator<Item = OsString> {
    std::fs::read_dir(folder)
        .into_iter()
        .flatten()
        .flatten()
        .map(|entry| entry.file_name())
}

/// The major version in `postgres (PostgreSQL) 15.18 (Debian ..)`.
fn major_version(answer: &str) -> Option<u32> {
    let after = answer.split("(PostgreSQL)").nth(1)?.trim_start();
    let digits: String = after.chars().take_while(char::is_ascii_digit).collect();
    digits.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_major_version_is_read_from_what_the_server_says() {
        // The forms the servers print: release, Debian build, development version.
        for (said, major) in [
            ("postgres (PostgreSQL) 16.2\n", Some(16)),
            (
                "postgres (PostgreSQL) 15.18 (Debian 15.18-0+deb12u1)\n",
                Some(15),
            ),
            ("postgres (PostgreSQL) 18devel\n", Some(18)),
            ("bash: postgres: not found", None),
        ] {
            assert_eq!(major_version(said), major, "{said}");
        }
    }

    #[test]
    fn the_newest_unpacked_version_comes_first() {
        let root = std::env::temp_dir().join(format!("linkout-places-{}", std::process::id()));
        for major in ["9", "15", "17"] {
            std::fs::create_dir_all(root.join("usr/lib/postgresql").join(major)).unwrap();
        }
        let found = debian_folders(&root);
        std::fs::remove_dir_all(&root).unwrap();
        let expected: Vec<PathBuf> = ["17", "15", "9"]
            .iter()
            .map(|major| root.join(format!("usr/lib/postgresql/{major}/bin")))
            .collect();
        assert_eq!(found, expected);
    }

    #[test]
    fn a_missing_version_is_named_with_what_is_there() {
        let data = std::env::temp_dir();
        let here = Binaries::find(&data, None).unwrap();
        let wanted = here.major + 1000;
        match Binaries::find(&data, Some(wanted)) {
            Err(ClusterError::OtherVersion { others, .. }) => {
                assert!(others.contains(&here.major));
            }
            other => panic!("{other:?}"),
        }
    }
}
