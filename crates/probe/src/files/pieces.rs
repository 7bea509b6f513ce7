//! Pieces of a file of our own, written and read back by one thread.

use super::own::OwnFile;
use super::{Caps, Trouble};
use crate::ring::Ring;
use std::fs::File;
use std::io::{ErrorKind, Read, Seek, SeekFrom, Write};
use std::time::Instant;

/// Bytes of one write, and of one read through memory.
const PIECE: usize = 1 << 20;
/// Bytes of one direct read: so many that the system splits it into requests that lie side by side, as reading ahead does.
const DIRECT: usize = 8 << 20;
/// Blocks that have a number of their own; direct reads begin and end at one.
const BLOCK: usize = 4096;

/// Asks the system to forget what it keeps of a file in memory; what is not yet safe it keeps.
#[cfg(any(target_os = "linux", target_os = "android", target_os = "freebsd"))]
pub(super) fn forget(file: &File) -> bool {
    rustix::fs::fadvise(file, 0, None, rustix::fs::Advice::DontNeed).is_ok()
}

/// This system has no such call.
#[cfg(not(any(target_os = "linux", target_os = "android", target_os = "freebsd")))]
pub(super) fn forget(_: &File) -> bool {
    false
}

/// The same file once more, for reading past this machine's memory; none where the file system refuses that.
#[cfg(any(target_os = "linux", target_os = "android", target_os = "freebsd"))]
fn direct(own: &OwnFile) -> Option<File> {
    use std::os::unix::fs::{MetadataExt, OpenOptionsExt};
    let flags = rustix::fs::OFlags::DIRECT | rustix::fs::OFlags::NOFOLLOW;
    let file = std::fs::OpenOptions::new()
        .read(true)
        .custom_flags(i32::try_from(flags.bits()).ok()?)
        .open(&own.path)
        .ok()?;
    let (one, other) = (own.file.metadata().ok()?, file.metadata().ok()?);
    ((one.dev(), one.ino()) == (other.dev(), other.ino())).then_some(file)
}

/// This system is not asked for it.
#[cfg(not(any(target_os = "linux", target_os = "android", target_os = "freebsd")))]
fn direct(_: &OwnFile) -> Option<File> {
    None
}

/// Writes until the caps are reached; each piece is counted when its write came back.
pub(super) fn write(
    own: &mut OwnFile,
    ring: &mut Ring,
    caps: &Caps<'_>,
    count: &mut dyn FnMut(u64),
) -> Result<(), Trouble> {
    let (start, mut all) = (Instant::now(), 0);
    while all < caps.bytes && start.elapsed() < caps.time {
        caps.go_on()?;
        let left = usize::try_from(caps.bytes - all).unwrap_or(PIECE);
        let piece = ring.piece(PIECE.min(left));
        own.file
            .write_all(piece)
            .map_err(|error| Trouble::of("writing", &error))?;
        all += piece.len() as u64;
        count(piece.len() as u64);
    }
    Ok(())
}

/// Whether what was read can have come out of this machine's memory.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Past {
    /// The system was asked to forget it before.
    pub(super) forgotten: bool,
    /// It was read past memory.
    pub(super) direct: bool,
}

/// A file from its beginning on, past memory as far as that goes.
struct Source<'o> {
    own: &'o mut OwnFile,
    direct: Option<File>,
    buffer: Vec<u8>,
    /// Where the aligned part of the buffer begins.
    start: usize,
}

impl Source<'_> {
    /// The next piece from a place on; nothing at the end.
    fn next(&mut self, at: u64) -> std::io::Result<&[u8]> {
        if let Some(file) = &mut self.direct {
            let room = self.buffer.get_mut(self.start..self.start + DIRECT);
            match file.read(room.unwrap_or_default()) {
                // what does not end at a block is the end of the file: that is read without it
                Ok(count) if count >= BLOCK => {
                    let whole = count - count % BLOCK;
                    if whole < count {
                        self.leave_direct(at + whole as u64)?;
                    }
                    return Ok(self
                        .buffer
                        .get(self.start..self.start + whole)
                        .unwrap_or_default());
                }
                Err(error) if error.kind() != ErrorKind::InvalidInput => return Err(error),
                _ => self.leave_direct(at)?,
            }
        }
        let mut filled = 0;
        while let Some(rest) = self.buffer.get_mut(filled..PIECE).filter(|r| !r.is_empty()) {
            match self.own.file.read(rest) {
                Ok(0) => break,
                Ok(count) => filled += count,
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
        Ok(self.buffer.get(..filled).unwrap_or_default())
    }

    fn leave_direct(&mut self, at: u64) -> std::io::Result<()> {
        self.direct = None;
        self.own.file.seek(SeekFrom::Start(at)).map(drop)
    }
}

/// Reads the file back from its beginning and holds it against what was written.
pub(super) fn read(
    own: &mut OwnFile,
    ring: &Ring,
    caps: &Caps<'_>,
    count: &mut dyn FnMut(u64),
) -> Result<Past, Trouble> {
    let failed = |error: std::io::Error| Trouble::of("reading", &error);
    let mut past = Past {
        forgotten: forget(&own.file),
        direct: false,
    };
    own.file.seek(SeekFrom::Start(0)).map_err(failed)?;
    let buffer = vec![0; DIRECT + BLOCK];
    let mut source = Source {
        direct: direct(own),
        own,
        start: buffer.as_ptr().align_offset(BLOCK).min(BLOCK),
        buffer,
    };
    let (start, mut all) = (Instant::now(), 0);
    while all < caps.bytes && start.elapsed() < caps.time {
        caps.go_on()?;
        let was_direct = source.direct.is_some();
        let piece = source.next(all).map_err(failed)?;
        let length = piece.len() as u64;
        if length == 0 {
            break;
        }
        if !ring.is_right(piece, all / BLOCK as u64) {
            return Err(Trouble::Differs(all));
        }
        past.direct |= was_direct && length >= BLOCK as u64;
        all += length;
        count(length);
    }
    Ok(past)
}
