//! Counters of TCP and of interfaces; only differences mean anything.

use super::{NotThere, Said};

/// Counters of TCP of the whole machine.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tcp {
    /// Segments sent.
    pub sent: u64,
    /// Of them, sent again.
    pub resent: u64,
    /// Segments received in error.
    pub errors: u64,
    /// Segments with a wrong checksum.
    pub checksums: u64,
}

/// More counters of TCP.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct TcpMore {
    /// Times that nothing came for so long that all was sent again.
    pub timeouts: u64,
    /// Segments sent again because later ones arrived.
    pub fast: u64,
    /// Segments that were lost twice.
    pub lost_again: u64,
    /// Connections that nobody took.
    pub not_taken: u64,
}

/// Names and values that stand on two lines with the same beginning.
fn paired<'t>(text: &'t str, beginning: &str) -> Option<Vec<(&'t str, i64)>> {
    let mut lines = text
        .lines()
        .filter_map(|line| line.strip_prefix(beginning)?.strip_prefix(':'));
    let (names, values) = (lines.next()?, lines.next()?);
    let pairs = names.split_whitespace().zip(values.split_whitespace());
    Some(
        pairs
            .take(1000)
            // values may be below zero: MaxConn is -1 where nothing bounds it
            .filter_map(|(name, value)| Some((name, value.parse().ok()?)))
            .collect(),
    )
}

fn of(pairs: &[(&str, i64)], name: &str) -> Option<u64> {
    let (_, value) = pairs.iter().find(|(known, _)| *known == name)?;
    u64::try_from(*value).ok()
}

/// `/proc/net/snmp`, by the names of its columns. Source: RFC 4022. Test: `validate_resent_segments`.
pub fn tcp(text: &str) -> Said<Tcp> {
    let pairs = paired(text, "Tcp").ok_or_else(|| NotThere::because("no counters of TCP"))?;
    let named = |name: &str| {
        of(&pairs, name).ok_or_else(|| NotThere::because(format!("no counter {name}")))
    };
    Ok(Tcp {
        sent: named("OutSegs")?,
        resent: named("RetransSegs")?,
        errors: named("InErrs").unwrap_or(0),
        checksums: named("InCsumErrors").unwrap_or(0),
    })
}

/// `/proc/net/netstat`, by the names of its columns, whose order changes with kernels.
pub fn more_of_tcp(text: &str) -> Said<TcpMore> {
    let pairs = paired(text, "TcpExt").ok_or_else(|| NotThere::because("no counters of TCP"))?;
    let named = |name: &str| of(&pairs, name).unwrap_or(0);
    if of(&pairs, "TCPTimeouts").is_none() {
        return Err(NotThere::because("no counter TCPTimeouts"));
    }
    Ok(TcpMore {
        timeouts: named("TCPTimeouts"),
        fast: named("TCPFastRetrans"),
        lost_again: named("TCPLostRetransmit"),
        not_taken: named("ListenDrops"),
    })
}

/// What was sent again between two looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Resent {
    /// Segments sent meanwhile.
    pub sent: u64,
    /// Of them, sent again.
    pub resent: u64,
}

impl Resent {
    /// Share that was sent again; 0 where nothing was sent.
    pub fn share(self) -> f64 {
        if self.sent == 0 {
            0.0
        } else {
            self.resent as f64 / self.sent as f64
        }
    }
}

/// The difference of two looks; not there where a counter went backwards.
///
/// It is of the whole machine, so it means something only while nothing else runs. Test: `validate_resent_segments`.
pub fn resent(before: Tcp, after: Tcp) -> Said<Resent> {
    let down = || NotThere::because("a counter went backwards");
    Ok(Resent {
        sent: after.sent.checked_sub(before.sent).ok_or_else(down)?,
        resent: after.resent.checked_sub(before.resent).ok_or_else(down)?,
    })
}

/// Error counters of one interface.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Errors {
    /// Frames with a wrong check sequence.
    pub checks: u64,
    /// All errors of receiving.
    pub receive: u64,
    /// All errors of sending.
    pub send: u64,
    /// Frames that were dropped though they came in whole.
    pub dropped: u64,
    /// Frames for which there was no room.
    pub missed: u64,
    /// Times that two sent at once.
    pub collisions: u64,
}

impl Errors {
    /// Frames that were spoilt on the wire or found no room.
    pub fn spoilt(self) -> u64 {
        self.receive
            .max(self.checks)
            .saturating_add(self.send)
            .saturating_add(self.missed)
    }
}
