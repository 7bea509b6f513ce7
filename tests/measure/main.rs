//! What a machine says of itself and what it measures, end to end: a made-up root, a folder of its own, loopback.
#![cfg(unix)]
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

mod files;
mod machine;
mod network;

use narrows_tests::{Ran, flat, narrows};
use serde_json::Value;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

const EXAMPLE: &str = "data/sites/granary-lane.toml";

fn fine(arguments: &[&str]) -> Ran {
    let ran = narrows(arguments);
    assert_eq!(ran.code, 0, "{arguments:?}: {}{}", ran.err, ran.out);
    ran
}

fn answer(arguments: &[&str]) -> Value {
    let ran = fine(&[arguments, &["--format", "json"]].concat());
    let top: Value = serde_json::from_str(&ran.out).unwrap();
    top["answer"].clone()
}

fn tree(files: &[(&str, &str)]) -> TempDir {
    let root = TempDir::new().unwrap();
    for (path, text) in files {
        let at = root.path().join(path);
        std::fs::create_dir_all(at.parent().unwrap()).unwrap();
        std::fs::write(at, text).unwrap();
    }
    root
}

/// A folder with room, in memory where the system has such a place.
fn roomy() -> TempDir {
    TempDir::new_in("/dev/shm")
        .or_else(|_| TempDir::new())
        .unwrap()
}

fn names(folder: &Path) -> Vec<PathBuf> {
    std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect()
}
