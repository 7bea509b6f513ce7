//! What a byte costs in time on the air: waits, preambles, symbols and acknowledgements.
//!
//! Times are in microseconds inside this file, as the standard gives them.

use super::band::Generation;
use super::phy::Phy;
use narrows_units::quantity::{DataRate, Time, megabytes_per_second, seconds};

/// Short interframe space; in 2.4 GHz 10 us and the signal extension of 6 (IEEE 802.11-2020
/// tables 17-21, 19-25 and 21-28).
const SIFS: f64 = 16.0;

/// Arbitration of best effort: SIFS and three slots of 9 us (clause 10.23.2.4).
const AIFS: f64 = SIFS + 27.0;

/// Mean wait: half of the least contention window of 15 slots.
const WAIT: f64 = 67.5;

/// The longest that one transmission may last (clause 9.2.4.7.1: aPPDUMaxTime).
pub const LONGEST: f64 = 5484.0;

/// Payload of a TCP segment with timestamps in a packet of 1500 bytes (RFC 9293, 7323).
pub const SEGMENT: f64 = 1448.0;

/// A packet that carries data, and one that acknowledges, in bytes of IP.
const PACKET: usize = 1500;
const ACKNOWLEDGES: usize = 52;

/// What a sender allows itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sender {
    /// How long one transmission lasts at most.
    pub longest: Time,
    /// IP packets that share a frame (A-MSDU), 1 to 3.
    pub packets: usize,
}

impl Sender {
    /// The usual one of an amendment: 2.5 ms, and two packets a frame from ac, whose block
    /// acknowledgement would else stop it at 64 packets. Judgement.
    pub fn usual(generation: Generation) -> Self {
        Self {
            longest: seconds(2.5e-3),
            packets: if generation == Generation::Ac { 2 } else { 1 },
        }
    }
}

/// A frame of control of so many bytes at 24 Mb/s (IEEE 802.11-2020 clause 17.4.3).
fn control(bytes: usize) -> f64 {
    20.0 + 4.0 * (22 + 8 * bytes).div_ceil(96) as f64
}

/// The block acknowledgement of so many frames.
fn acknowledged(frames: usize) -> f64 {
    control(match frames {
        0..=64 => 32,
        65..=256 => 56,
        _ => 152,
    })
}

/// Training and signalling before the data (clauses 19.3.2, 21.3.2 and 27.3.2).
fn preamble(phy: Phy) -> f64 {
    let trained = if phy.streams > 2 {
        4.0
    } else {
        phy.streams as f64
    };
    match phy.generation {
        Generation::N => 32.0 + 4.0 * phy.streams as f64,
        Generation::Ac => 36.0 + 4.0 * trained,
        Generation::Ax => 44.0 + 7.2 * trained,
        Generation::Be => 48.0 + 7.2 * trained,
    }
}

/// Bytes of a frame with so many IP packets of a length inside an aggregate (clauses 9.3.2.2 and
/// 9.7): delimiter, header and check, and a subheader a packet where there are several.
fn subframe(packets: usize, length: usize) -> usize {
    let inside = if packets <= 1 {
        46 + 8 + length
    } else {
        46 + (packets - 1) * 4 * (22 + length).div_ceil(4) + 22 + length
    };
    4 + 4 * inside.div_ceil(4)
}

/// Frames that one block acknowledgement covers, and bytes that one aggregate holds.
fn limits(generation: Generation) -> (usize, usize) {
    match generation {
        Generation::N => (64, 65_535),
        Generation::Ac => (64, 1_048_575),
        Generation::Ax => (256, 6_500_631),
        Generation::Be => (1024, 6_500_631),
    }
}

/// Preamble and data of so many frames.
fn sent(phy: Phy, frames: usize, bytes: usize) -> f64 {
    let bits = (16 + 8 * frames * bytes + 6) as f64;
    preamble(phy) + phy.symbol() * libm::ceil(bits / phy.bits_a_symbol() - 1e-9)
}

/// Wait, data and acknowledgement of one burst.
fn burst(phy: Phy, frames: usize, bytes: usize, asks: bool) -> f64 {
    let asking = if asks {
        control(20) + SIFS + control(14) + SIFS
    } else {
        0.0
    };
    AIFS + WAIT + asking + sent(phy, frames, bytes) + SIFS + acknowledged(frames)
}

/// The most frames of a size that the limits leave for a burst; at least one.
fn most(phy: Phy, bytes: usize, longest: f64) -> usize {
    let (window, aggregate) = limits(phy.generation);
    let most = window.min(aggregate / bytes).max(1);
    let (mut low, mut high) = (1, most);
    while low < high {
        let middle = (low + high).div_ceil(2);
        if sent(phy, middle, bytes) <= longest.min(LONGEST) {
            low = middle;
        } else {
            high = middle - 1;
        }
    }
    low
}

/// One stream of TCP on clean air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clean {
    /// Payload a second.
    pub rate: DataRate,
    /// Frames in a burst.
    pub frames: usize,
    /// From one burst to the next, the acknowledgements of TCP counted.
    pub cycle: Time,
}

/// What one stream of TCP gets where nobody else is on the air and nothing is lost.
///
/// `T = burst(N k packets) + bursts(ceil(N k / 2) acknowledgements)`, `x = 8 N k 1448 / T` Mb/s
/// with `T` in us: `N` frames a burst, `k` packets a frame. `back` is how the other side sends
/// its acknowledgements. The same for reading and writing. Assumes long bursts, best-effort
/// waits and no collision; what the field leaves of it is a factor of its own. Error: none
/// against the formula; the field reaches half to 0.95 of it.
/// Source: IEEE 802.11-2020 clauses 9, 10.23 and 10.24; RFC 9293 and 7323.
/// `validate_what_clean_air_carries` checks it.
pub fn clean(phy: Phy, back: Phy, sender: Sender) -> Clean {
    let bytes = subframe(sender.packets, PACKET);
    let longest = sender
        .longest
        .get::<narrows_units::quantity::units::time::microsecond>();
    let frames = most(phy, bytes, longest);
    of_burst(phy, back, sender.packets, frames)
}

/// As [`clean`], with so many frames in a burst.
pub fn of_burst(phy: Phy, back: Phy, packets: usize, frames: usize) -> Clean {
    let bytes = subframe(packets, PACKET);
    let small = subframe(1, ACKNOWLEDGES);
    let mut left = (frames * packets).div_ceil(2);
    let mut acknowledging = 0.0;
    let at_once = most(back, small, LONGEST);
    while left > 0 {
        let now = left.min(at_once);
        acknowledging += burst(back, now, small, false);
        left -= now;
    }
    let cycle = burst(phy, frames, bytes, true) + acknowledging;
    Clean {
        rate: megabytes_per_second((frames * packets) as f64 * SEGMENT / cycle),
        frames,
        cycle: seconds(cycle * 1e-6),
    }
}

/// A small request and its reply in idle air, each with its wait and acknowledgement.
///
/// Packets of 200 and 300 bytes, not aggregated; the floor of every round trip, drivers not counted. Source: as
/// [`clean`]. `validate_round_trips_in_idle_air` checks it.
pub fn round_trip(phy: Phy) -> Time {
    let one = |length| AIFS + WAIT + sent(phy, 1, subframe(1, length)) + SIFS + control(14);
    seconds((one(200) + one(300)) * 1e-6)
}

/// The share of the air that announcing one network takes: a frame of 300 bytes every 102.4 ms
/// at one of the old rates, in Mb/s. Source: IEEE 802.11-2020 clauses 9.3.3.2, 15 to 17.
/// `validate_what_announcing_takes` checks it.
pub fn announcing(old_rate: f64) -> f64 {
    // the oldest rates have a long preamble
    let before = if old_rate < 6.0 { 192.0 } else { 20.0 };
    (AIFS + WAIT + before + 8.0 * 300.0 / old_rate) / 102_400.0
}

#[cfg(test)]
pub(super) mod pieces {
    //! What tests of published pieces reach for.
    use super::Phy;

    pub(crate) fn bare(phy: Phy, frames: usize, payload: f64) -> f64 {
        let bytes = super::subframe(1, super::PACKET);
        8.0 * payload * frames as f64 / super::burst(phy, frames, bytes, false)
    }

    pub(crate) fn subframe(packets: usize, length: usize) -> usize {
        super::subframe(packets, length)
    }
}
