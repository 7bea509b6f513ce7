use super::evaluate::rates;
use super::flow::{RateRange, TimeRange};
use super::hop::{Chain, HopKind};
use crate::hop::copying::{accepted_time, burst, drained_time};
use crate::quantity::{DataRate, Information, Measure, Time, show};
use crate::work::Direction;
use crate::working::{Column, percentiles};
use serde::Serialize;

/// What becomes of one long copy when caches fill and flash tires.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Transfer {
    /// How much is copied.
    pub size: String,
    /// The rate at first.
    pub first_megabytes_per_s: RateRange,
    /// The rate later.
    pub later_megabytes_per_s: RateRange,
    /// The share of draws in which the rate drops before the end.
    #[serde(serialize_with = "super::flow::six_digits")]
    pub drops_probability: f64,
    /// Bytes copied before it drops, in the middle of the draws in which it does.
    pub drops_after: Option<String>,
    /// What fills up.
    pub because: Option<String>,
    /// Until the dialog closes.
    pub dialog_closes_s: TimeRange,
    /// Until the data are on the array's drives, or on the desk's.
    pub data_safe_s: TimeRange,
}

/// Follows a copy of a given size.
///
/// Writing: the NAS takes data into memory as fast as everything but the array lets them come,
/// until that memory is full; then the array decides. Flash at the receiving end does the same
/// with its fast cache. Both are a burst ([`burst`]); the one that ends first is named.
pub(super) fn follow(
    chain: &Chain,
    count: usize,
    size: Information,
    direction: Direction,
) -> Transfer {
    // the receiving drives: the array when writing, the desk's disk when reading
    let receiver = match direction {
        Direction::Write => HopKind::Array,
        Direction::Read => HopKind::Disk,
    };
    let position = chain.hops.iter().position(|h| h.kind == receiver);
    let steady = rates(chain, count);
    let arriving = position.map_or_else(|| steady.values.clone(), |p| steady.without(chain, &[p]));
    let steady = steady.values;
    let tired = match (&chain.tiring, position) {
        (Some(tiring), Some(p)) => {
            let mut later = chain.clone();
            if let Some(hop) = later.hops.get_mut(p) {
                hop.ceiling = tiring.later.clone();
            }
            Some(rates(&later, count).values)
        }
        _ => None,
    };
    let none = Column::same(Information::default());
    let memory = chain.write_cache.as_ref().unwrap_or(&none);
    let mut first = Vec::with_capacity(count);
    let mut later = Vec::with_capacity(count);
    let mut closes = Vec::with_capacity(count);
    let mut safe = Vec::with_capacity(count);
    let mut drops: Vec<f64> = Vec::new();
    let (mut by_memory, mut by_flash) = (0usize, 0usize);
    for d in 0..count {
        let flash = match (&tired, &chain.tiring) {
            (Some(tired), Some(tiring)) => {
                Some((tiring.cache.at(d), DataRate::from_base(at(tired, d))))
            }
            _ => None,
        };
        let one = Caches {
            size,
            incoming: DataRate::from_base(at(&arriving, d)),
            drives: DataRate::from_base(at(&steady, d)),
            memory: memory.at(d),
            flash,
        }
        .follow();
        if let Some(drop) = one.drops_at {
            drops.push(drop.base());
            if one.by_memory {
                by_memory += 1;
            } else {
                by_flash += 1;
            }
        }
        first.push(one.first.base());
        later.push(one.later.base());
        closes.push(one.closes.base());
        safe.push(one.safe.base());
    }
    let probability = drops.len() as f64 / count.max(1) as f64;
    let because = (!drops.is_empty()).then(|| {
        if by_memory >= by_flash {
            "the NAS's memory is full and its drives decide".to_owned()
        } else {
            "the fast cache of the flash is full".to_owned()
        }
    });
    let drops_after = (!drops.is_empty()).then(|| show(percentiles::<Information>(&drops).p50));
    Transfer {
        size: show(size),
        first_megabytes_per_s: percentiles(&first).into(),
        later_megabytes_per_s: percentiles(&later).into(),
        drops_probability: probability,
        drops_after,
        because,
        dialog_closes_s: percentiles::<Time>(&closes).into(),
        data_safe_s: percentiles::<Time>(&safe).into(),
    }
}

/// One draw of a long copy.
struct Caches {
    size: Information,
    /// Rate at which data come while memory takes them.
    incoming: DataRate,
    /// Rate of the receiving drives while they are fresh.
    drives: DataRate,
    memory: Information,
    /// Bytes of fast cache in the flash, and its rate after them.
    flash: Option<(Information, DataRate)>,
}

struct Followed {
    first: DataRate,
    later: DataRate,
    closes: Time,
    safe: Time,
    drops_at: Option<Information>,
    by_memory: bool,
}

impl Caches {
    fn follow(&self) -> Followed {
        let buffered = self.memory > Information::default() && self.incoming > self.drives;
        let start = if buffered { self.incoming } else { self.drives };
        // memory in front of the flash is small beside its fast cache
        let tires_at = self
            .flash
            .and_then(|(cache, tired)| burst(cache, self.drives, tired))
            .map(|b| b.absorbed)
            .filter(|at| *at < self.size);
        let end = match (tires_at, self.flash) {
            (Some(_), Some((_, tired))) => tired,
            _ => self.drives,
        };
        let fills_at = if buffered {
            burst(self.memory, self.incoming, self.drives)
                .map(|b| b.absorbed)
                .filter(|at| *at < self.size)
        } else {
            None
        };
        let drops_at = match (fills_at, tires_at) {
            (Some(a), Some(b)) => Some(if a < b { a } else { b }),
            (a, b) => a.or(b),
        };
        let drained = match tires_at {
            Some(at) => self.size / (at / self.drives + (self.size - at) / end),
            None => self.drives,
        };
        let closes = if buffered {
            accepted_time(self.size, self.memory, self.incoming, drained)
        } else {
            self.size / drained
        };
        let done = drained_time(self.size, start, drained);
        Followed {
            first: start,
            later: end,
            closes,
            safe: if done > closes { done } else { closes },
            drops_at,
            by_memory: drops_at.is_some() && drops_at == fills_at,
        }
    }
}

fn at(values: &[f64], draw: usize) -> f64 {
    values.get(draw).copied().unwrap_or(f64::NAN)
}
