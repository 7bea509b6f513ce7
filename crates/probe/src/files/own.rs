//! A file and a folder of our own, which go away on every way out.

use super::Trouble;
use crate::ring::seed;
use std::fs::{File, OpenOptions};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How names of ours begin and end; sixteen hexadecimal digits stand between.
const FRONT: &str = "narrows-test-";
const BACK: &str = ".tmp";
/// A file that was written to within this time may belong to a run that goes on.
const IN_USE: Duration = Duration::from_secs(120);

fn own_name() -> String {
    format!("{FRONT}{:016x}{BACK}", seed())
}

fn is_own_name(name: &str) -> bool {
    name.strip_prefix(FRONT)
        .and_then(|rest| rest.strip_suffix(BACK))
        .is_some_and(|middle| {
            middle.len() == 16
                && middle
                    .bytes()
                    .all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b))
        })
}

/// The folder without links, if anything may be written there.
///
/// # Errors
/// Where it is no folder, or belongs to the system.
pub fn fit(folder: &Path) -> Result<PathBuf, Trouble> {
    let real = folder
        .canonicalize()
        .map_err(|error| Trouble::of("opening the folder", &error))?;
    if !real.is_dir() {
        return Err(Trouble::NoFolder(real));
    }
    if ["/proc", "/sys", "/dev"]
        .iter()
        .any(|of_system| real.starts_with(of_system) && !real.starts_with("/dev/shm"))
    {
        return Err(Trouble::OfTheSystem(real));
    }
    Ok(real)
}

/// A new file; removed when dropped.
#[derive(Debug)]
pub(super) struct OwnFile {
    pub(super) path: PathBuf,
    pub(super) file: File,
}

impl OwnFile {
    pub(super) fn create(folder: &Path) -> Result<Self, Trouble> {
        let path = folder.join(own_name());
        let mut options = OpenOptions::new();
        // new only: no file is opened that was there, and no link followed
        options.read(true).write(true).create_new(true);
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
        let file = options
            .open(&path)
            .map_err(|error| Trouble::of("creating a file", &error))?;
        Ok(Self { path, file })
    }
}

impl Drop for OwnFile {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.path);
    }
}

/// A new folder with files of our own; all removed when dropped.
#[derive(Debug)]
pub(super) struct OwnFolder {
    path: PathBuf,
    made: u64,
}

impl OwnFolder {
    pub(super) fn create(folder: &Path) -> Result<Self, Trouble> {
        let path = folder.join(own_name());
        std::fs::create_dir(&path).map_err(|error| Trouble::of("creating a folder", &error))?;
        Ok(Self { path, made: 0 })
    }

    fn file(&self, number: u64) -> PathBuf {
        self.path.join(format!("{number}"))
    }

    pub(super) fn write(&mut self, bytes: &[u8]) -> std::io::Result<()> {
        let path = self.file(self.made);
        // counted first: a file that is half written is removed as well
        self.made += 1;
        let mut file = OpenOptions::new().write(true).create_new(true).open(path)?;
        std::io::Write::write_all(&mut file, bytes)
    }

    pub(super) fn read(&self, number: u64, into: &mut Vec<u8>) -> std::io::Result<usize> {
        into.clear();
        let mut file = File::open(self.file(number))?;
        std::io::Read::read_to_end(&mut file, into)
    }

    pub(super) fn made(&self) -> u64 {
        self.made
    }

    /// Asks the system to forget what it keeps of a file in memory.
    pub(super) fn forget(&self, number: u64) {
        if let Ok(file) = File::open(self.file(number)) {
            let _ = super::pieces::forget(&file);
        }
    }

    /// Removes all files, the last one first; how many.
    pub(super) fn remove(&mut self) -> u64 {
        let mut removed = 0;
        while self.made > 0 {
            self.made -= 1;
            removed += u64::from(std::fs::remove_file(self.file(self.made)).is_ok());
        }
        removed
    }
}

impl Drop for OwnFolder {
    fn drop(&mut self) {
        self.remove();
        let _ = std::fs::remove_dir(&self.path);
    }
}

/// What an earlier run that was killed left in a folder: files and folders with a name of ours that nobody has written to
/// for two minutes.
pub fn left_over(folder: &Path) -> Vec<PathBuf> {
    left_over_for(folder, IN_USE)
}

pub(super) fn left_over_for(folder: &Path, quiet: Duration) -> Vec<PathBuf> {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return Vec::new();
    };
    let mut found: Vec<PathBuf> = entries
        .take(100_000)
        .filter_map(Result::ok)
        .filter(|entry| entry.file_name().to_str().is_some_and(is_own_name))
        .filter(|entry| {
            // of the entry itself: links are not followed
            entry.metadata().is_ok_and(|about| {
                let still = about
                    .modified()
                    .ok()
                    .and_then(|at| at.elapsed().ok())
                    .is_some_and(|since| since >= quiet);
                (about.is_file() || about.is_dir()) && still
            })
        })
        .map(|entry| entry.path())
        .collect();
    found.sort();
    found
}

/// Removes what [`left_over`] found. In a folder only files whose names are numbers are removed, so that nothing of
/// anybody's goes with it.
///
/// # Errors
/// Where it is not one of ours, or the system refuses.
pub fn remove_left_over(path: &Path) -> std::io::Result<()> {
    let own = path
        .file_name()
        .and_then(|name| name.to_str())
        .is_some_and(is_own_name);
    if !own {
        return Err(std::io::Error::other("not a file of a test"));
    }
    if !path.symlink_metadata()?.is_dir() {
        return std::fs::remove_file(path);
    }
    for entry in std::fs::read_dir(path)?.take(1_000_000) {
        let entry = entry?;
        let numbered = entry
            .file_name()
            .to_str()
            .is_some_and(|name| name.parse::<u64>().is_ok());
        if numbered && entry.metadata()?.is_file() {
            std::fs::remove_file(entry.path())?;
        }
    }
    std::fs::remove_dir(path)
}
