//! The one file that a page or a picture is written into.

use crate::Screen;
use crate::input::{Stop, refuse};
use narrows_draw::Picture;
use std::io::Write;
use std::path::{Path, PathBuf};

/// What every page of ours carries near its beginning.
pub(crate) const MARK: &str = "<meta name=\"generator\" content=\"narrows report\">";

/// How far into a file the mark is looked for.
const BEGINNING: usize = 4096;

/// Whether a path means the standard output.
pub(crate) fn is_output(path: &Path) -> bool {
    path.as_os_str() == "-"
}

/// Writes the page. A file that is there already is replaced only if it is such a page, so that a
/// slip of the hand costs no other file.
pub(super) fn write_page(path: &Path, page: &str, screen: &mut Screen<'_>) -> Result<(), Stop> {
    if is_output(path) {
        screen.out.write_all(page.as_bytes())?;
        return Ok(());
    }
    if path.exists() && !is_a_page(path) {
        let what = format!("{} is there, and no page of this program", path.display());
        return Err(refuse(
            screen,
            &what,
            "give another name with -o, or move that file away",
        ));
    }
    replace(path, page).map_err(|error| unwritten(path, &error, screen))
}

/// Draws into the file that was asked for, if any; says whether that was the standard output, where
/// nothing else may stand then.
pub(crate) fn draw(
    path: Option<&PathBuf>,
    picture: impl FnOnce() -> Picture,
    screen: &mut Screen<'_>,
) -> Result<bool, Stop> {
    let Some(path) = path else {
        return Ok(false);
    };
    let drawn = picture().file();
    if is_output(path) {
        screen.out.write_all(drawn.as_bytes())?;
        return Ok(true);
    }
    std::fs::write(path, drawn)
        .map(|()| false)
        .map_err(|error| unwritten(path, &error, screen))
}

fn unwritten(path: &Path, error: &std::io::Error, screen: &mut Screen<'_>) -> Stop {
    let what = format!("cannot write {}: {error}", path.display());
    refuse(
        screen,
        &what,
        "give a path in a folder that may be written to",
    )
}

fn is_a_page(path: &Path) -> bool {
    std::fs::read(path).is_ok_and(|bytes| {
        let beginning = bytes.get(..BEGINNING.min(bytes.len())).unwrap_or_default();
        String::from_utf8_lossy(beginning).contains(MARK)
    })
}

/// Puts the new page in place of the old one at once, so that a browser never reads half of it.
fn replace(path: &Path, page: &str) -> std::io::Result<()> {
    let mut beside = path.as_os_str().to_owned();
    beside.push(".new");
    let beside = Path::new(&beside);
    let mut file = std::fs::OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(beside)?;
    let written = file.write_all(page.as_bytes()).and_then(|()| file.flush());
    drop(file);
    let moved = written.and_then(|()| std::fs::rename(beside, path));
    if moved.is_err() {
        let _ = std::fs::remove_file(beside);
    }
    moved
}
