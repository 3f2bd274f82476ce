//! A data folder for one test.

use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};

/// A data folder that goes when this value goes.
pub struct DataFolder(PathBuf);

impl DataFolder {
    /// An empty folder in the system's temporary folder.
    pub fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("linkout-{name}-{}", std::process::id()));
        fs::create_dir(&path).unwrap();
        // The server runs as another account when the tests run as root.
        fs::set_permissions(&path, fs::Permissions::from_mode(0o711)).unwrap();
        Self(path)
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.0
    }
}

impl Drop for DataFolder {
    fn drop(&mut self) {
        if let Err(cause) = fs::remove_dir_all(&self.0) {
            eprintln!("{}: {cause}", self.0.display());
        }
    }
}
