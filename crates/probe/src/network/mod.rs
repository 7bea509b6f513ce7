//! Memory to memory between two of our programs: one waits, one asks.
//!
//! The waiting side is started by a person and listens only where it is told. Both prove that they know the token
//! before anything else is answered. What passes is random bytes and counts: nothing is interpreted, kept or read from
//! files, and bytes, seconds, streams and plans have limits that cannot be passed.

mod asking;
pub mod control;
mod meanwhile;
mod streams;
mod token;
mod waiting;
mod wire;

pub use asking::{Asking, OneWay, Run};
pub use control::{Plan, Way};
pub use meanwhile::Meanwhile;
pub use streams::BLOCK;
pub use token::Token;
pub use waiting::{Event, Limits, Waited, Waiting};

use crate::machine::reason;
use std::net::{Ipv4Addr, SocketAddr};
use std::sync::atomic::AtomicBool;
use std::time::Duration;

/// The port where nothing else is told; none that a standard gives to anything.
pub const PORT: u16 = 47_113;

/// Why a session ended early.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Broken {
    /// The system refused: what was done, and its reason.
    System(&'static str, String),
    /// The other side closed the connection.
    Closed,
    /// The other side speaks another version.
    Version(u32),
    /// The tokens differ.
    WrongToken,
    /// What came is no line of ours.
    Junk,
    /// A line took too long.
    TooSlow,
    /// The other side says no, and why.
    Refused(String),
    /// What was asked for is over a limit.
    Limit(&'static str),
    /// Counts that cannot be.
    Lies(&'static str),
    /// Nobody came in time.
    NobodyCame,
    /// Somebody stopped it.
    Stopped,
}

impl Broken {
    fn of(doing: &'static str, error: &std::io::Error) -> Self {
        Self::System(doing, reason(error))
    }
}

impl std::fmt::Display for Broken {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::System(doing, why) => write!(f, "{doing} failed: {why}"),
            Self::Closed => f.write_str("the other side closed the connection"),
            Self::Version(theirs) => write!(
                f,
                "the other side speaks version {theirs} of the probe, this one speaks {}",
                control::VERSION
            ),
            Self::WrongToken => f.write_str("the token is not that of the other side"),
            Self::Junk => f.write_str("what the other side says is no line of the probe"),
            Self::TooSlow => f.write_str("the other side takes too long for a line"),
            Self::Refused(why) => write!(f, "the other side says no: {why}"),
            Self::Limit(what) => write!(f, "more was asked for than is allowed: {what}"),
            Self::Lies(what) => write!(f, "the counts of the other side cannot be: {what}"),
            Self::NobodyCame => f.write_str("nobody came in time"),
            Self::Stopped => f.write_str("stopped"),
        }
    }
}

/// What this program reaches over loopback, one stream, so that nobody takes its limit for that of a link.
///
/// # Errors
/// Where loopback cannot be used, or `stop` is set.
pub fn own_limit(seconds: u32, stop: &AtomicBool) -> Result<Run, Broken> {
    let token = Token::new().map_err(|error| Broken::of("asking for chance", &error))?;
    let waiting = Waiting::at(SocketAddr::from((Ipv4Addr::LOCALHOST, 0)))?;
    let address = waiting.address()?;
    let limits = Limits {
        time: Duration::from_secs(u64::from(seconds) + 10),
        ..Limits::default()
    };
    std::thread::scope(|scope| {
        scope.spawn(|| waiting.serve(&token, &limits, stop, &mut |_| {}));
        let mut asking = Asking::connect(address, &token, stop)?;
        let run = asking.run(Plan {
            way: Way::Receive,
            streams: 1,
            seconds,
            bytes: limits.bytes,
            echo: false,
            held_to: None,
        });
        asking.end()?;
        run
    })
}

#[cfg(test)]
mod tests;
