//! Cells beside each other: who hears whom, how many channels there are, and which to use.

use super::band::{Band, Width};
use crate::copper::{DecibelMilliwatts, Decibels};
use narrows_units::quantity::Ratio;

/// The signal from which a cell waits for another one's frames: -82 dBm in 20 MHz and 3 dB more a
/// doubling, IEEE 802.11-2020 clauses 17.3.10.6, 19.3.19.5 and 21.3.18.5.
pub fn heard_from(width: Width) -> DecibelMilliwatts {
    DecibelMilliwatts(-82.0 + 3.0 * width.doublings().min(3) as f64)
}

/// The loss up to which two cells hear each other and so share one second.
pub fn parts_them(sent: DecibelMilliwatts, width: Width) -> Decibels {
    sent - heard_from(width)
}

/// How busy a channel of twice the width is: `1 - (1 - u)^2`, parts independent; busy where any
/// part is. `validate_busy_air_of_wide_channels` checks it.
pub fn busy_twice_as_wide(busy: Ratio) -> Ratio {
    let free = 1.0 - narrows_units::quantity::Measure::base(busy);
    narrows_units::quantity::ratio(1.0 - free * free)
}

/// How many channels do not overlap, of the order of: countries differ, and the user looks it
/// up. `radar` counts those on which equipment has to listen for radar.
pub fn channels(band: Band, width: Width, radar: bool) -> usize {
    let by_width = match (band, radar) {
        (Band::Two, _) => [3, 1, 0, 0, 0],
        (Band::Five, true) => [19, 9, 4, 2, 0],
        (Band::Five, false) => [4, 2, 1, 0, 0],
        (Band::Six, _) => [24, 12, 6, 3, 1],
    };
    by_width.get(width.doublings()).copied().unwrap_or(0)
}

/// A channel for each cell, from 1, so that as few pairs that hear each other share one as can
/// be; ties by the least channels in order. Exact: every assignment that differs by more than
/// the names of channels is looked at, for the dozen cells that a house has, with the first
/// found bound.
///
/// `hears[i][j]` is how much cells `i` and `j` would disturb each other. `verify_channel_plans`
/// checks it against brute force.
pub fn plan(hears: &[Vec<f64>], channels: usize) -> Vec<usize> {
    let cells = hears.len();
    let mut search = Search {
        hears,
        channels: channels.max(1),
        best: (f64::INFINITY, vec![1; cells]),
        left: 200_000,
    };
    let mut now = Vec::with_capacity(cells);
    search.go(&mut now, 0.0, 0);
    search.best.1
}

struct Search<'a> {
    hears: &'a [Vec<f64>],
    channels: usize,
    best: (f64, Vec<usize>),
    /// Nodes that may still be looked at, so that a hall of cells ends in time.
    left: usize,
}

impl Search<'_> {
    fn go(&mut self, now: &mut Vec<usize>, cost: f64, used: usize) {
        if cost >= self.best.0 - 1e-12 || self.left == 0 {
            return;
        }
        self.left -= 1;
        let at = now.len();
        if at == self.hears.len() {
            self.best = (cost, now.clone());
            return;
        }
        for channel in 1..=(used + 1).min(self.channels) {
            let more: f64 = now
                .iter()
                .enumerate()
                .filter(|(_, c)| **c == channel)
                .map(|(other, _)| self.hears[at].get(other).copied().unwrap_or(0.0))
                .sum();
            now.push(channel);
            self.go(now, cost + more, used.max(channel));
            now.pop();
        }
    }
}

/// The rate over several radio hops in a row: on one channel each takes the air in turn,
/// `1/R = sum 1/R_hop`; nothing for no hop. `validate_relays` checks it.
pub fn in_turn(
    hops: &[narrows_units::quantity::DataRate],
) -> Option<narrows_units::quantity::DataRate> {
    use narrows_units::quantity::Measure;
    let costs: f64 = hops.iter().map(|hop| 1.0 / hop.base()).sum();
    (costs > 0.0).then(|| narrows_units::quantity::DataRate::from_base(1.0 / costs))
}
