//! Files of the system below a root.

use crate::says::{NotThere, Said, shown};
use std::io::Read;
use std::path::{Path, PathBuf};

/// More than any file of the system that is looked at holds.
const MOST_BYTES: u64 = 1 << 20;
/// More names than any folder of the system that is looked at holds.
const MOST_NAMES: usize = 4096;

/// Where `/proc` and `/sys` stand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Root {
    at: PathBuf,
}

impl Root {
    /// Of the machine that this runs on.
    pub fn own() -> Self {
        Self::at(Path::new("/"))
    }

    /// Of another tree of files.
    pub fn at(path: &Path) -> Self {
        Self {
            at: path.to_path_buf(),
        }
    }

    /// Whether it is that of this machine.
    pub fn is_own(&self) -> bool {
        self.at == Path::new("/")
    }

    fn path(&self, path: &str) -> PathBuf {
        self.at.join(path.trim_start_matches('/'))
    }

    /// The text of a file, at most a MiB. What cannot be read is not there, with the reason of the system: many files of
    /// links that are down refuse to be read.
    pub fn text(&self, path: &str) -> Said<String> {
        let not_there = |error: &std::io::Error| NotThere(format!("{path}: {}", reason(error)));
        let full = self.path(path);
        let about = std::fs::metadata(&full).map_err(|error| not_there(&error))?;
        if !about.is_file() {
            return Err(NotThere(format!("{path}: no file")));
        }
        let file = std::fs::File::open(&full).map_err(|error| not_there(&error))?;
        let mut bytes = Vec::new();
        file.take(MOST_BYTES)
            .read_to_end(&mut bytes)
            .map_err(|error| not_there(&error))?;
        Ok(String::from_utf8_lossy(&bytes).into_owned())
    }

    /// Names in a folder, sorted; none where there is no such folder.
    pub fn names(&self, path: &str) -> Vec<String> {
        let Ok(entries) = std::fs::read_dir(self.path(path)) else {
            return Vec::new();
        };
        let mut names: Vec<String> = entries
            .take(MOST_NAMES)
            .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
            .collect();
        names.sort();
        names
    }

    /// Whether something is there.
    pub fn has(&self, path: &str) -> bool {
        self.path(path).symlink_metadata().is_ok()
    }

    /// The path without links, from this root on; not there where it leads out of it.
    pub fn real(&self, path: &str) -> Option<String> {
        let top = self.at.canonicalize().ok()?;
        let full = self.path(path).canonicalize().ok()?;
        let inside = full.strip_prefix(&top).ok()?.to_str()?;
        Some(format!("/{inside}"))
    }
}

/// The reason of a failure without the number.
pub(crate) fn reason(error: &std::io::Error) -> String {
    let text = error.to_string();
    let text = text.split(" (os error").next().unwrap_or_default();
    shown(text).to_lowercase()
}
