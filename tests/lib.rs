//! Runs the program in process, as a shell would.

#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

pub mod told;

use serde_json::Value;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// What a run left behind.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ran {
    /// Exit code, as its debug text tells it.
    pub code: u8,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

impl Ran {
    /// The document that was printed, of a run that had an answer.
    ///
    /// # Panics
    /// Where it had none, or where what was printed is no JSON.
    pub fn json(&self) -> Value {
        assert!(self.code < 2, "{}", self.err);
        serde_json::from_str(&self.out).unwrap()
    }

    /// Rows of the table that was printed, each with its cells by head.
    ///
    /// # Panics
    /// Where there was no answer, or no table.
    pub fn rows(&self) -> Vec<BTreeMap<String, String>> {
        assert!(self.code < 2, "{}", self.err);
        let mut reader = csv::Reader::from_reader(self.out.as_bytes());
        reader.deserialize().map(|row| row.unwrap()).collect()
    }
}

/// A text in one line, so that breaks do not matter.
pub fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A file in a folder of its own, gone when it is dropped.
#[derive(Debug)]
pub struct Scratch {
    /// Holds the folder.
    _folder: tempfile::TempDir,
    path: PathBuf,
}

impl Scratch {
    /// With a name and what stands in it.
    ///
    /// # Panics
    /// Where there is no room for it.
    pub fn new(name: &str, text: impl AsRef<[u8]>) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        Self {
            _folder: folder,
            path,
        }
    }

    /// Where it is.
    ///
    /// # Panics
    /// Where the system's folder for such files has no name in letters.
    pub fn path(&self) -> &str {
        self.path.to_str().unwrap()
    }

    /// What stands in it now.
    ///
    /// # Panics
    /// Where it is gone.
    pub fn text(&self) -> String {
        std::fs::read_to_string(&self.path).unwrap()
    }
}

/// Root of the workspace.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .map_or_else(PathBuf::new, Path::to_path_buf)
}

/// Runs `narrows` with arguments; paths are relative to the root of the workspace.
pub fn narrows(arguments: &[&str]) -> Ran {
    narrows_reading(arguments, b"")
}

/// As [`narrows()`], on a screen of so many columns.
pub fn narrows_at(width: usize, arguments: &[&str]) -> Ran {
    run(arguments, b"", Some(width))
}

/// As [`narrows()`], with a text on the standard input.
pub fn narrows_reading(arguments: &[&str], input: &[u8]) -> Ran {
    run(arguments, input, None)
}

fn run(arguments: &[&str], mut input: &[u8], width: Option<usize>) -> Ran {
    // paths in messages must not depend on where the checkout lies
    let root = root();
    let _ = std::env::set_current_dir(&root);
    let mut out = Vec::new();
    let mut err = Vec::new();
    let all = std::iter::once("narrows").chain(arguments.iter().copied());
    let code = match width {
        Some(width) => narrows::run_at_width(all, &mut input, &mut out, &mut err, width),
        None => narrows::run_reading(all, &mut input, &mut out, &mut err, false),
    };
    Ran {
        code: [0, 1, 2, 3]
            .into_iter()
            .find(|c| std::process::ExitCode::from(*c) == code)
            .unwrap_or(u8::MAX),
        out: String::from_utf8_lossy(&out).into_owned(),
        err: String::from_utf8_lossy(&err).into_owned(),
    }
}

/// The program beside the test that runs, where it is built.
pub fn built() -> Option<PathBuf> {
    let at = std::env::current_exe().ok()?;
    let program = at.parent()?.parent()?.join("narrows");
    program.is_file().then_some(program)
}

/// Whether kept texts are to be written anew instead of compared.
pub fn rewriting() -> bool {
    std::env::var_os("NARROWS_REWRITE").is_some()
}

/// Compares a text with the one kept in a file.
///
/// # Errors
/// With both texts where they differ, or the file's name where it cannot be read.
pub fn kept(path: &Path, text: &str) -> Result<(), String> {
    if rewriting() {
        return std::fs::write(path, text).map_err(|e| format!("{}: {e}", path.display()));
    }
    let kept = std::fs::read_to_string(path).map_err(|e| format!("{}: {e}", path.display()))?;
    if kept == text {
        Ok(())
    } else {
        Err(format!(
            "{} differs\n--- kept\n{kept}\n--- now\n{text}\n(write anew with NARROWS_REWRITE=1, and read the difference)",
            path.display()
        ))
    }
}
