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
    let steady = rates(chain, count).values;
    let arriving = position.map_or_else(
        || steady.clone(),
        |p| super::evaluate::rates_without(chain, count, &[p]),
    );
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
    let flash = chain.tiring.as_ref().map(|t| &t.cache);
    let mut first = Vec::with_capacity(count);
    let mut later = Vec::with_capacity(count);
    let mut closes = Vec::with_capacity(count);
    let mut safe = Vec::with_capacity(count);
    let mut drops: Vec<f64> = Vec::new();
    let (mut by_memory, mut by_flash) = (0usize, 0usize);
    for d in 0..count {
        let (incoming, drives) = (
            DataRate::from_base(at(&arriving, d)),
            DataRate::from_base(at(&steady, d)),
        );
        let memory = memory.at(d);
        let buffered = memory > Information::default() && incoming > drives;
        let start = if buffered { incoming } else { drives };
        // flash after its fast cache; memory in front of it is small beside that
        let (end, flash_at) = match (&tired, flash) {
            (Some(tired), Some(cache)) => {
                let tired = DataRate::from_base(at(tired, d));
                let at = burst(cache.at(d), drives, tired).map(|b| b.absorbed);
                (
                    if at.is_some_and(|a| a < size) {
                        tired
                    } else {
                        drives
                    },
                    at,
                )
            }
            _ => (drives, None),
        };
        let memory_at = if buffered {
            burst(memory, incoming, drives).map(|b| b.absorbed)
        } else {
            None
        };
        let drop = [memory_at, flash_at]
            .into_iter()
            .flatten()
            .filter(|a| *a < size);
        if let Some(at) = drop.min_by(|a, b| a.base().total_cmp(&b.base())) {
            drops.push(at.base());
            if memory_at == Some(at) {
                by_memory += 1;
            } else {
                by_flash += 1;
            }
        }
        let drained = mean_drain(size, drives, end, flash_at);
        let closed = if buffered {
            accepted_time(size, memory, incoming, drained)
        } else {
            size / drained
        };
        let done = drained_time(size, start, drained);
        first.push(start.base());
        later.push(if flash_at.is_some_and(|a| a < size) {
            end.base()
        } else {
            drives.base()
        });
        closes.push(closed.base());
        safe.push(if done > closed {
            done.base()
        } else {
            closed.base()
        });
    }
    let probability = drops.len() as f64 / count.max(1) as f64;
    let because = (!drops.is_empty()).then(|| {
        if by_memory >= by_flash {
            "the NAS's memory is full and its drives decide".to_owned()
        } else {
            "the fast cache of the flash is full".to_owned()
        }
    });
    let drops_after = (!drops.is_empty()).then(|| show(percentiles::<Information>(&mut drops).p50));
    Transfer {
        size: show(size),
        first_megabytes_per_s: percentiles(&mut first).into(),
        later_megabytes_per_s: percentiles(&mut later).into(),
        drops_probability: probability,
        drops_after,
        because,
        dialog_closes_s: percentiles::<Time>(&mut closes).into(),
        data_safe_s: percentiles::<Time>(&mut safe).into(),
    }
}

/// Mean rate of the receiving drives over the whole copy.
fn mean_drain(
    size: Information,
    fast: DataRate,
    tired: DataRate,
    at: Option<Information>,
) -> DataRate {
    match at {
        Some(at) if at < size => size / (at / fast + (size - at) / tired),
        _ => fast,
    }
}

fn at(values: &[f64], draw: usize) -> f64 {
    values.get(draw).copied().unwrap_or(f64::NAN)
}
