//! Pipes and devices: what comes out of them while somebody writes, without waiting for nobody.

use std::io::{Error, ErrorKind, Read, Result};
use std::path::Path;
use std::time::{Duration, Instant};

/// So long somebody may take to begin writing; who has begun may take any time.
const PATIENCE: Duration = Duration::from_secs(2);

/// Between two looks.
const PAUSE: Duration = Duration::from_millis(10);

/// Reads what comes, up to so many bytes.
///
/// # Errors
/// Where it cannot be read.
pub(super) fn read(path: &Path, most: u64, bytes: &mut Vec<u8>) -> Result<usize> {
    let mut file = open(path)?.take(most);
    let begun = Instant::now();
    let mut block = [0; 4096];
    loop {
        match file.read(&mut block) {
            // a pipe that nobody has opened for writing yet looks like one that has ended
            Ok(0) if bytes.is_empty() && file.limit() > 0 && begun.elapsed() < PATIENCE => {}
            Ok(0) => return Ok(bytes.len()),
            Ok(n) => {
                bytes.extend(block.iter().take(n));
                continue;
            }
            Err(error) if waits(&error) => {}
            Err(error) => return Err(error),
        }
        std::thread::sleep(PAUSE);
    }
}

fn waits(error: &Error) -> bool {
    matches!(error.kind(), ErrorKind::WouldBlock | ErrorKind::Interrupted)
}

/// Opened so that neither opening nor reading waits for a writer.
fn open(path: &Path) -> Result<std::fs::File> {
    let mut options = std::fs::OpenOptions::new();
    options.read(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::custom_flags(
        &mut options,
        rustix::fs::OFlags::NONBLOCK.bits().cast_signed(),
    );
    options.open(path)
}
