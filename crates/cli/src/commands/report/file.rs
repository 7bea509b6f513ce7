//! The one file that a page or a picture is written into.

use crate::Screen;
use crate::input::{Stop, refuse};
use crate::output::{Over, is_in_the_way, whole};
use narrows_draw::Picture;
use std::io::Read;
use std::path::{Path, PathBuf};

/// What every page of ours carries near its beginning.
pub(crate) const MARK: &str = "<meta name=\"generator\" content=\"narrows report\">";

/// How far into a file the mark is looked for.
const BEGINNING: u64 = 4096;

/// Whether a path means the standard output.
pub(crate) fn is_output(path: &Path) -> bool {
    path.as_os_str() == "-"
}

/// Writes the page. A file that is there already is replaced only if it is such a page, so that a
/// slip of the hand costs no other file.
pub(super) fn write_page(
    path: &Path,
    page: &str,
    force: bool,
    screen: &mut Screen<'_>,
) -> Result<(), Stop> {
    if is_output(path) {
        screen.out.write_all(page.as_bytes())?;
        return Ok(());
    }
    if !force && is_in_the_way(path) && !is_a_page(path) {
        let what = format!("{} is there, and no page of this program", path.display());
        return Err(refuse(
            screen,
            &what,
            "give another name with -o, or write over it with --force",
        ));
    }
    let written = whole(path, page.as_bytes(), Over::Anything);
    written.map_err(|error| unwritten(path, &error, screen))
}

/// Draws into the file that was asked for, if any, and over another only by force; says whether that was the standard output, where
/// nothing else may stand then.
pub(crate) fn draw(
    (path, force): (Option<&PathBuf>, bool),
    picture: impl FnOnce() -> Picture,
    screen: &mut Screen<'_>,
) -> Result<bool, Stop> {
    let Some(path) = path else {
        return Ok(false);
    };
    draw_text((path, force), &picture().file(), screen)
}

/// As [`draw`], of a picture that is text already.
pub(crate) fn draw_text(
    (path, force): (&Path, bool),
    drawn: &str,
    screen: &mut Screen<'_>,
) -> Result<bool, Stop> {
    if is_output(path) {
        screen.out.write_all(drawn.as_bytes())?;
        screen.understood = None;
        return Ok(true);
    }
    if !force && is_in_the_way(path) {
        let what = format!("{} is there already", path.display());
        let help = "give another name, or write over it with --force";
        return Err(refuse(screen, &what, help));
    }
    let over = if force { Over::Anything } else { Over::Nothing };
    whole(path, drawn.as_bytes(), over)
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
    let mut beginning = Vec::new();
    let read =
        std::fs::File::open(path).and_then(|file| file.take(BEGINNING).read_to_end(&mut beginning));
    read.is_ok() && String::from_utf8_lossy(&beginning).contains(MARK)
}
