//! The files of a description in the making: the answers so far, and the site in the end.

use crate::output::{Over, whole};
use std::path::{Path, PathBuf};

/// The answers so far, in a file beside what is to be written, so that whoever stops goes on from there.
pub(super) struct Kept {
    path: Option<PathBuf>,
}

impl Kept {
    pub(super) fn new(target: Option<&Path>) -> Self {
        let beside = target.map_or_else(|| PathBuf::from("narrows"), |t| t.with_extension(""));
        let mut name = beside.into_os_string();
        name.push(".answers");
        Self {
            path: Some(PathBuf::from(name)),
        }
    }

    pub(super) fn path(&self) -> Option<&Path> {
        self.path.as_deref().filter(|p| p.exists())
    }

    /// A folder that cannot be written to costs the convenience, not the description.
    pub(super) fn keep(&self, answers: &str) {
        if let Some(path) = &self.path {
            let _ = whole(path, answers.as_bytes(), Over::Anything);
        }
    }

    pub(super) fn forget(&self) {
        if let Some(path) = self.path() {
            let _ = std::fs::remove_file(path);
        }
    }
}

/// Writes the site, never over another file; says where.
pub(super) fn write(target: Option<&Path>, name: &str, text: &str) -> std::io::Result<PathBuf> {
    let candidates: Vec<PathBuf> = if let Some(path) = target {
        vec![path.to_owned()]
    } else {
        let bare = slug(name);
        std::iter::once(format!("{bare}.toml"))
            .chain((2..100).map(|n| format!("{bare}-{n}.toml")))
            .map(PathBuf::from)
            .collect()
    };
    let mut last = std::io::Error::from(std::io::ErrorKind::AlreadyExists);
    for path in candidates {
        match whole(&path, text.as_bytes(), Over::Nothing) {
            Ok(()) => return Ok(path),
            Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => last = error,
            Err(error) => return Err(error),
        }
    }
    Err(last)
}

/// A name that a file may have.
fn slug(name: &str) -> String {
    let words: Vec<String> = name
        .to_lowercase()
        .split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty())
        .map(str::to_owned)
        .collect();
    if words.is_empty() {
        "site".to_owned()
    } else {
        words.join("-")
    }
}

#[cfg(test)]
mod tests {
    use super::slug;

    #[test]
    fn a_place_makes_a_file_name() {
        assert_eq!(slug("Granary Lane"), "granary-lane");
        assert_eq!(slug("../x/.."), "x");
        assert_eq!(slug("!!"), "site");
    }
}
