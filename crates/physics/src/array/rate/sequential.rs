use super::{Heads, Zones};
use crate::array::capacity::record_sectors;
use crate::array::{Bytes, Group, Layout, Level, Placement};
use narrows_units::quantity::units::ratio::one;
use narrows_units::quantity::{DataRate, Information, Ratio, Time, ratio};

/// What the drives are, as far as passing over data costs time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Medium {
    /// A head must let pass what it does not read.
    Spinning,
    /// Passing over costs nothing.
    Flash,
}

/// Where on the drives a stream runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Place {
    /// As deep as the array is filled.
    AsFilled,
    /// Half as deep: the other half of the drive holds second copies.
    OuterHalf,
}

/// A rate in drives' worth, between two ends that depend on chunk, read-ahead and driver.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Worth {
    /// The low end.
    pub low: Ratio,
    /// The high end.
    pub high: Ratio,
    /// At which place of the drives.
    pub place: Place,
}

impl Worth {
    fn of(low: f64, high: f64) -> Self {
        Self {
            low: ratio(low),
            high: ratio(high.max(low)),
            place: Place::AsFilled,
        }
    }

    /// The share of the capacity, from the outer edge, at which the stream runs.
    pub fn depth(&self, filled: Ratio) -> Ratio {
        match self.place {
            Place::AsFilled => filled,
            Place::OuterHalf => filled / 2.0,
        }
    }
}

/// One long read, in drives' worth, with `failed` drives of the first group missing; none where
/// that loses the array.
///
/// - Stripes: all n. Rotating parity: a head must let the parity pass, n - p on spinning drives, up
///   to n with large chunks ([`rotating_read`]); n on flash. With drives missing n - p: the kernel's
///   driver fetches the rest of a stripe, second parity too.
/// - Mirrors of the kernel's driver (`raid1`): one stream stays on one copy. Mirrors of a pool (`mirror`): records are spread over the copies, between one and all.
/// - RAID 10 near: half the drives, on flash all, as each of several requests under way goes to the idler copy; far: all, over the outer halves; offset: between.
/// - Pool with parity: the share of a record's sectors that are its own, `w psize / asize`; on flash
///   up to all.
/// - Allocated copies: one drive, since a chunk of 1 GiB is on one.
///
/// Valid for requests that fill several stripes ahead; several groups add, equal stripes over groups
/// run at the slowest. Source: drivers' read balancing (md raid1, raid10; pool mirrors), Lee and
/// Katz on parity placement. Checked by `validate_one_stream`.
pub fn read_one_stream(
    layout: &Layout,
    medium: Medium,
    failed: usize,
    record: (Bytes, Bytes),
) -> Option<Worth> {
    combined(layout, failed, |group, missing| {
        let n = group.width() as f64;
        let left = n - missing as f64;
        let data = n - group.level().parity() as f64;
        let flash = medium == Medium::Flash;
        match group.level() {
            Level::Single | Level::TwoCopy | Level::ThreeCopy | Level::Raid1 => Worth::of(1.0, 1.0),
            Level::Raid0 => Worth::of(n, n),
            Level::Mirror => Worth::of(if flash { left } else { 1.0 }, left),
            // a stream striped over couples waits for the one that is alone
            Level::Raid10(_) if missing > 0 => Worth::of(n / 2.0, n / 2.0),
            // the idlest copy serves the next request
            Level::Raid10(Placement::Near) if flash => Worth::of(n, n),
            Level::Raid10(Placement::Near) => Worth::of(n / 2.0, n / 2.0),
            Level::Raid10(Placement::Offset) => Worth::of(n / 2.0, n),
            Level::Raid10(Placement::Far) => Worth {
                place: Place::OuterHalf,
                ..Worth::of(n, n)
            },
            Level::Raid5
            | Level::Raid6
            | Level::Raid50
            | Level::Raid60
            | Level::OneParity
            | Level::TwoParity => {
                // the rest of a stripe is fetched to make what is missing, second parity too
                if missing > 0 {
                    Worth::of(data, data)
                } else {
                    Worth::of(if flash { left } else { data }, left)
                }
            }
            Level::RaidZ1 | Level::RaidZ2 | Level::RaidZ3 => {
                let own = own_share(group, record);
                // what is missing is made of what was passed over
                let low = (n * own).min(left);
                Worth::of(low, if flash { left } else { low })
            }
        }
    })
}

/// One long write in full stripes, in drives' worth, with `failed` drives of the first group
/// missing; none where that loses the array.
///
/// Parity `n - p`, near and offset copies half, mirrors and allocated copies one drive, pools the own
/// share of a record. RAID 10 far writes two places half a stroke apart: at most half the drives,
/// and on spinning drives as little as [`far_write`] says. Missing drives need not be written, which
/// makes writes no faster than healthy ones here. Checked by `validate_one_stream`.
pub fn write_one_stream(layout: &Layout, failed: usize, record: (Bytes, Bytes)) -> Option<Worth> {
    combined(layout, failed, |group, _| {
        let n = group.width() as f64;
        let worth = match group.level() {
            Level::Raid0 => n,
            Level::Raid10(_) => n / 2.0,
            Level::Raid5
            | Level::Raid6
            | Level::Raid50
            | Level::Raid60
            | Level::OneParity
            | Level::TwoParity => n - group.level().parity() as f64,
            Level::RaidZ1 | Level::RaidZ2 | Level::RaidZ3 => n * own_share(group, record),
            _ => 1.0,
        };
        Worth::of(worth, worth)
    })
}

fn combined(layout: &Layout, failed: usize, of: impl Fn(&Group, usize) -> Worth) -> Option<Worth> {
    let mut parts = Vec::new();
    for (i, group) in layout.groups().iter().enumerate() {
        let missing = if i == 0 { failed } else { 0 };
        if missing > group.survives_any() {
            return None;
        }
        parts.push(of(group, missing));
    }
    let striped = layout.is_striped_over_groups();
    let join = |end: fn(&Worth) -> f64| {
        let least = parts.iter().map(end).fold(f64::INFINITY, f64::min);
        if striped {
            least * parts.len() as f64
        } else {
            parts.iter().map(end).sum()
        }
    };
    let first = parts.first()?;
    Some(Worth {
        place: first.place,
        ..Worth::of(join(|w| w.low.get::<one>()), join(|w| w.high.get::<one>()))
    })
}

/// Share of a record's sectors that are its own.
fn own_share(group: &Group, (record, sector): (Bytes, Bytes)) -> f64 {
    let taken = record_sectors(record, sector, group.width(), group.level().parity());
    let own = record.get().div_ceil(sector.get().max(1));
    own as f64 / taken.max(own).max(1) as f64
}

/// One long read of rotating parity by what it costs to pass the parity over.
///
/// Every drive holds d chunks of data, then p of parity, in n rows: `R = n d c / (d c / r + p t)`
/// with the skip `t = min(c / r, t_tt + frac(c / track) T)`, where a track holds `r T`: a small
/// chunk passes under the head, a large one is jumped over. Valid for left-symmetric rotation,
/// one request stream. Source: derived from md's placement. Checked by `validate_rotating_read`.
pub fn rotating_read(
    drives: usize,
    parity: usize,
    chunk: Information,
    rate: DataRate,
    heads: &Heads,
) -> DataRate {
    let data = drives.saturating_sub(parity) as f64;
    let passing: Time = chunk / rate;
    let tracks = (passing / heads.turn).get::<one>();
    let jump = heads.next_track + heads.turn * (tracks - libm::floor(tracks));
    let skip = if jump < passing { jump } else { passing };
    chunk * (drives as f64 * data) / (passing * data + skip * parity as f64)
}

/// One long write to RAID 10 far on spinning drives.
///
/// Every chunk goes to two bands half a drive apart: with B bytes gathered for a band before the
/// heads move, a drive writes `2 B / (B / r(x / 2) + B / r(1/2 + x / 2) + 2 t)`, half of which is
/// new data; t is a seek over half the stroke and half a turn. Valid for two copies. Checked by
/// `validate_far_copies`.
pub fn far_write(
    drives: usize,
    zones: &Zones,
    filled: Ratio,
    gathered: Information,
    heads: &Heads,
) -> DataRate {
    let outer = zones.rate(filled / 2.0);
    let inner = zones.rate(ratio(0.5) + filled / 2.0);
    let position = heads.seek(ratio(0.5)) + heads.turn / 2.0;
    let of_one: DataRate = gathered * 2.0 / (gathered / outer + gathered / inner + position * 2.0);
    of_one * (drives as f64 / 2.0)
}

#[cfg(test)]
mod tests;
