//! What texts of the system say: pure parsers, nothing is read here.
//!
//! Any text may come in. What it does not say is [`NotThere`], with the reason; it is never 0 and never an
//! error of the program.

mod cores;
mod counters;
mod drive;
mod elsewhere;
mod link;
mod memory;
mod mounts;
mod radio;
mod raid;
mod slot;
mod way;

pub use cores::{Busy, Processor, Ticks, busy, others, own_ticks, processor, ticks};
pub use counters::{Errors, Resent, Tcp, TcpMore, more_of_tcp, resent, tcp};
pub use drive::{Drive, DriveTexts, Turning, drive};
pub use elsewhere::{
    foreign_adapter, foreign_link, foreign_memory, foreign_mounts, foreign_sharing, foreign_tcp,
};
pub use link::{
    Duplex, Joined, Kind, KindTexts, State, Tagged, carrier, duplex, joined, kind, largest_packet,
    rate, state, tagged, uevent,
};
pub use memory::{Memory, memory};
pub use mounts::{Mount, Service, holding, mounts};
pub use radio::{Radio, RadioRate, radio_rate, radios};
pub use raid::{Activity, Raid, Running, arrays};
pub use slot::{Slot, after_coding, narrowest, slot, usb_bus};
pub use way::{way_to, way_to_v6};

/// Why a fact is not there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotThere(pub String);

/// A fact, or why it is not there.
pub type Said<T> = Result<T, NotThere>;

impl NotThere {
    fn because(why: impl Into<String>) -> Self {
        Self(why.into())
    }
}

impl std::fmt::Display for NotThere {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

/// A text of the system that can be shown: no control characters, at most 60 letters.
pub(crate) fn shown(text: &str) -> String {
    text.trim()
        .chars()
        .map(|c| if c.is_control() { '?' } else { c })
        .take(60)
        .collect()
}

/// The number behind `name:` at the beginning of a line.
fn numbered(text: &str, name: &str) -> Option<u64> {
    let line = text.lines().find_map(|line| line.strip_prefix(name))?;
    let line = line.trim_start().strip_prefix(':')?;
    line.split_whitespace().next()?.parse().ok()
}

#[cfg(test)]
mod tests;
