//! Files that commands write: whole or not at all, and over another file only where somebody said so.

use std::fs::{File, OpenOptions};
use std::io::{Error, ErrorKind, Result, Write};
use std::path::{Path, PathBuf};

/// What may happen to a file that is there already.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Over {
    /// It stays, unless there is nothing in it.
    Nothing,
    /// It is replaced.
    Anything,
}

/// Whether a file is in the way: one that is there and has something in it. Pipes and devices take what is
/// written to them.
pub(crate) fn is_in_the_way(path: &Path) -> bool {
    std::fs::metadata(path).is_ok_and(|about| about.is_file() && about.len() > 0)
}

/// Writes a file at once: until all of it is on the disk nothing stands under its name but what stood there
/// before. Whoever is killed in between leaves at most a file with `.new` behind its name.
///
/// # Errors
/// Where it cannot be written, or where a file is in the way.
pub(crate) fn whole(path: &Path, bytes: &[u8], over: Over) -> Result<()> {
    if std::fs::metadata(path).is_ok_and(|about| !about.is_file() && !about.is_dir()) {
        return OpenOptions::new().write(true).open(path)?.write_all(bytes);
    }
    if over == Over::Nothing && is_in_the_way(path) {
        return Err(Error::from(ErrorKind::AlreadyExists));
    }
    // a link is followed, so that it stays one
    let target = std::fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let (beside, mut file) = beside(&target)?;
    let written = file
        .write_all(bytes)
        .and_then(|()| file.sync_all())
        .and_then(|()| std::fs::rename(&beside, &target));
    drop(file);
    if written.is_err() {
        let _ = std::fs::remove_file(&beside);
    }
    written
}

/// A new file beside another.
fn beside(target: &Path) -> Result<(PathBuf, File)> {
    let mut last = Error::from(ErrorKind::AlreadyExists);
    // one that was left by somebody who was killed is not taken over
    for number in 0..100 {
        let mut name = target.as_os_str().to_owned();
        if number > 0 {
            name.push(format!(".{number}"));
        }
        name.push(".new");
        let path = PathBuf::from(name);
        match OpenOptions::new().write(true).create_new(true).open(&path) {
            Ok(file) => return Ok((path, file)),
            Err(error) if error.kind() == ErrorKind::AlreadyExists => last = error,
            Err(error) => return Err(error),
        }
    }
    Err(last)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_whole_or_as_it_was() {
        let folder = std::env::temp_dir().join(format!("narrows-output-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        let file = folder.join("a.svg");
        let text = || std::fs::read_to_string(&file).unwrap();
        whole(&file, b"one", Over::Nothing).unwrap();
        let refused = whole(&file, b"two", Over::Nothing).unwrap_err();
        assert_eq!(refused.kind(), ErrorKind::AlreadyExists);
        assert_eq!(text(), "one");
        // what somebody who was killed left behind is in nobody's way
        std::fs::write(folder.join("a.svg.new"), "half").unwrap();
        whole(&file, b"three", Over::Anything).unwrap();
        assert_eq!(text(), "three");
        assert_eq!(
            std::fs::read_to_string(folder.join("a.svg.new")).unwrap(),
            "half"
        );
        // nothing is lost with an empty file
        std::fs::write(&file, "").unwrap();
        whole(&file, b"four", Over::Nothing).unwrap();
        assert_eq!(text(), "four");
        assert!(whole(&folder.join("no/such/a.svg"), b"", Over::Anything).is_err());
        assert_eq!(std::fs::read_dir(&folder).unwrap().count(), 2);
        std::fs::remove_dir_all(&folder).unwrap();
    }
}
