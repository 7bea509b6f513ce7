//! Runs the program in process, as a shell would.

pub mod told;

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
