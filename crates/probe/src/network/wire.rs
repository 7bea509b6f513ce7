//! One connection with its bounds: lines in and out, bytes in and out.

use super::Broken;
use super::control::{LONGEST_LINE, Line, parse};
use std::io::{ErrorKind, Read, Write};
use std::net::TcpStream;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// How long a system call may wait before clocks and stops are looked at.
pub(super) const LOOK: Duration = Duration::from_millis(100);
/// How long a whole line may take.
pub(super) const LINE: Duration = Duration::from_secs(10);
/// How long the first words of a data connection may take.
pub(super) const FIRST_WORDS: Duration = Duration::from_secs(2);

/// Sets the time-outs that every connection of ours has.
pub(super) fn bounded(stream: &TcpStream) -> Result<(), Broken> {
    let set = stream
        .set_nonblocking(false)
        .and_then(|()| stream.set_nodelay(true))
        .and_then(|()| stream.set_read_timeout(Some(LOOK)))
        .and_then(|()| stream.set_write_timeout(Some(LOOK)));
    set.map_err(|error| Broken::of("setting up a connection", &error))
}

/// Whether a call only took too long and may be made again.
pub(super) fn again(error: &std::io::Error) -> bool {
    matches!(
        error.kind(),
        ErrorKind::WouldBlock | ErrorKind::TimedOut | ErrorKind::Interrupted
    )
}

/// The control connection.
pub(super) struct Control<'s> {
    stream: TcpStream,
    stop: &'s AtomicBool,
    /// Bytes behind the last line.
    rest: Vec<u8>,
}

impl<'s> Control<'s> {
    pub(super) fn new(stream: TcpStream, stop: &'s AtomicBool) -> Result<Self, Broken> {
        bounded(&stream)?;
        Ok(Self {
            stream,
            stop,
            rest: Vec::new(),
        })
    }

    pub(super) fn say(&mut self, line: &Line) -> Result<(), Broken> {
        let mut text = line.to_string();
        text.push('\n');
        let mut left = text.as_bytes();
        let until = Instant::now() + LINE;
        while !left.is_empty() {
            if self.stop.load(Ordering::Relaxed) {
                return Err(Broken::Stopped);
            }
            if Instant::now() >= until {
                return Err(Broken::TooSlow);
            }
            match self.stream.write(left) {
                Ok(0) => return Err(Broken::Closed),
                Ok(count) => left = left.get(count..).unwrap_or_default(),
                Err(error) if again(&error) => {}
                Err(error) => return Err(Broken::of("sending", &error)),
            }
        }
        Ok(())
    }

    /// The next line, within a time; at most 512 bytes are ever kept.
    pub(super) fn hear(&mut self, within: Duration) -> Result<Line, Broken> {
        let until = Instant::now() + within;
        let mut buffer = [0; LONGEST_LINE];
        loop {
            if let Some(end) = self.rest.iter().position(|byte| *byte == b'\n') {
                let line = parse(self.rest.get(..end).unwrap_or_default());
                self.rest.drain(..=end);
                return line.map_err(|_| Broken::Junk);
            }
            if self.rest.len() >= LONGEST_LINE {
                return Err(Broken::Junk);
            }
            if self.stop.load(Ordering::Relaxed) {
                return Err(Broken::Stopped);
            }
            if Instant::now() >= until {
                return Err(Broken::TooSlow);
            }
            let room = LONGEST_LINE - self.rest.len();
            let into = buffer.get_mut(..room).unwrap_or_default();
            match self.stream.read(into) {
                Ok(0) => return Err(Broken::Closed),
                Ok(count) => self.rest.extend(buffer.get(..count).unwrap_or_default()),
                Err(error) if again(&error) => {}
                Err(error) => return Err(Broken::of("listening", &error)),
            }
        }
    }

    /// The next line of a kind that is expected.
    pub(super) fn expect<T>(
        &mut self,
        within: Duration,
        want: impl FnOnce(Line) -> Option<T>,
    ) -> Result<T, Broken> {
        match self.hear(within)? {
            Line::No(why) => Err(Broken::Refused(why)),
            Line::Only(version) | Line::Version(version) => Err(Broken::Version(version)),
            line => want(line).ok_or(Broken::Junk),
        }
    }
}
