use super::evaluate::rates;
use super::flow::{RateRange, TimeRange};
use super::hop::{Chain, HopKind};
use crate::array::rate::{BufferedWrite, FlashWrite, Slowdown, Slows};
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
    /// The rate at which the drives take the end of it.
    pub later_megabytes_per_s: RateRange,
    /// The mean rate until all is safe.
    pub mean_megabytes_per_s: RateRange,
    /// The share of draws in which there is room for it; all else holds where there is.
    #[serde(serialize_with = "super::flow::six_digits")]
    pub fits_probability: f64,
    /// The share of draws in which the rate drops before the end.
    #[serde(serialize_with = "super::flow::six_digits")]
    pub drops_probability: f64,
    /// Bytes copied before it first drops, in the middle of the draws in which it does.
    pub drops_after: Option<String>,
    /// What fills up most often when it first drops.
    pub because: Option<String>,
    /// The share of draws in which flash begins to fold before the end, and the rate drops for it.
    #[serde(serialize_with = "super::flow::six_digits")]
    pub folds_probability: f64,
    /// Each place at which it drops in some draws, in order.
    pub slowdowns: Vec<Slowing>,
    /// Until the dialog closes.
    pub dialog_closes_s: TimeRange,
    /// Until the data are on the array's drives, or on the desk's.
    pub data_safe_s: TimeRange,
}

/// One place at which a copy slows down; percentiles are those of the draws in which it does.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Slowing {
    /// What it runs into: a word of a closed set.
    #[serde(rename = "what", serialize_with = "word")]
    pub why: Slows,
    /// The same as a sentence.
    pub because: &'static str,
    /// The share of draws in which it does.
    #[serde(serialize_with = "super::flow::six_digits")]
    pub probability: f64,
    /// Bytes copied until then, in the middle.
    pub after: String,
    /// When.
    pub after_s: TimeRange,
    /// The rate from there.
    pub megabytes_per_s: RateRange,
}

#[allow(clippy::trivially_copy_pass_by_ref)] // the signature that serde calls
fn word<S: serde::Serializer>(value: &Slows, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(match value {
        Slows::MemoryFull => "memory-full",
        Slows::CacheFull => "cache-full",
        Slows::Folding => "folding",
    })
}

fn because(why: Slows) -> &'static str {
    match why {
        Slows::MemoryFull => "the NAS's memory is full and its drives decide",
        Slows::CacheFull => "the fast cache of the drives is full",
        Slows::Folding => "the flash folds what its fast cache holds",
    }
}

/// Follows a copy of a given size.
///
/// Writing: the NAS takes data into memory as fast as everything but the array lets them come,
/// until that memory is full; then the array decides. Flash at the receiving end takes a part into
/// its fast cache, a part directly, and folds behind that ([`FlashWrite`]). Both together are a
/// [`BufferedWrite`].
pub(super) fn follow(
    chain: &Chain,
    count: usize,
    size: Information,
    direction: Direction,
) -> Transfer {
    let position = receiver(chain, direction);
    let steady = rates(chain, count);
    let behind = behind_memory(chain, position);
    let arriving = if behind.is_empty() {
        steady.values.clone()
    } else {
        steady.without(chain, &behind)
    };
    let phases = match (&chain.tiring, position) {
        (Some(tiring), Some(p)) => {
            let of = |ceiling: &Column<DataRate>| {
                let mut tired = chain.clone();
                if let Some(hop) = tired.hops.get_mut(p) {
                    hop.ceiling = ceiling.clone();
                }
                rates(&tired, count).values
            };
            Some((tiring, of(&tiring.later), of(&tiring.folding)))
        }
        _ => None,
    };
    let none = Column::same(Information::default());
    let memory = chain.write_cache.as_ref().unwrap_or(&none);
    let mut columns: [Vec<f64>; 5] = Default::default();
    let mut firsts: Vec<Slowdown> = Vec::new();
    let mut all: Vec<Slowdown> = Vec::new();
    for d in 0..count {
        let fresh = DataRate::from_base(at(&steady.values, d));
        let flash = phases.as_ref().and_then(|(tiring, later, folding)| {
            let later = DataRate::from_base(at(later, d));
            let folding = DataRate::from_base(at(folding, d));
            let (cache, until_fold) = (tiring.cache.at(d), tiring.until_fold.at(d));
            FlashWrite::new(cache, until_fold, [fresh, later, folding]).ok()
        });
        let one = BufferedWrite {
            drives: flash.unwrap_or_else(|| FlashWrite::steady(fresh)),
            memory: memory.at(d),
            arriving: DataRate::from_base(at(&arriving, d)),
        };
        let before = all.len();
        all.extend(one.slowdowns(size));
        firsts.extend(all.get(before));
        let safe = one.safe(size);
        let mean: DataRate = size / safe;
        let values = [
            one.first().base(),
            one.drives.rate_at(size).base(),
            mean.base(),
            one.accepted(size).base(),
            safe.base(),
        ];
        for (column, value) in columns.iter_mut().zip(values) {
            column.push(value);
        }
    }
    let share = |n: usize| n as f64 / count.max(1) as f64;
    let slowdowns: Vec<Slowing> = Slows::ALL
        .into_iter()
        .filter_map(|why| slowing(why, &all, share))
        .collect();
    let commonest = Slows::ALL
        .into_iter()
        .rev()
        .max_by_key(|why| firsts.iter().filter(|f| f.why == *why).count())
        .filter(|_| !firsts.is_empty());
    let fits = chain.room.as_ref().map_or(count, |room| {
        (0..count).filter(|&d| size <= room.at(d)).count()
    });
    let [first, later, mean, closes, safe] = &columns;
    Transfer {
        size: show(size),
        first_megabytes_per_s: percentiles(first).into(),
        later_megabytes_per_s: percentiles(later).into(),
        mean_megabytes_per_s: percentiles(mean).into(),
        fits_probability: share(fits),
        drops_probability: share(firsts.len()),
        drops_after: commonest.map(|_| middle_of(&firsts)),
        because: commonest.map(|why| because(why).to_owned()),
        folds_probability: slowdowns
            .iter()
            .find(|s| s.why == Slows::Folding)
            .map_or(0.0, |s| s.probability),
        slowdowns,
        dialog_closes_s: percentiles::<Time>(closes).into(),
        data_safe_s: percentiles::<Time>(safe).into(),
    }
}

/// The hop of the receiving drives: the array when writing, the desk's disk when reading.
pub(super) fn receiver(chain: &Chain, direction: Direction) -> Option<usize> {
    let kind = match direction {
        Direction::Write => HopKind::Array,
        Direction::Read => HopKind::Disk,
    };
    chain.hops.iter().position(|h| h.kind == kind)
}

/// Hops that data pass when they leave memory: the array and, where memory is in front of it, the bus
/// that its drives hang on and the NAS's own work on stripes and checksums.
fn behind_memory(chain: &Chain, receiver: Option<usize>) -> Vec<usize> {
    let buffered = chain.write_cache.is_some();
    let behind = |id: &str| id.starts_with("array.") || id.ends_with(".array-work");
    let hops = chain.hops.iter().enumerate();
    hops.filter(|(at, hop)| Some(*at) == receiver || buffered && behind(&hop.id))
        .map(|(at, _)| at)
        .collect()
}

/// What is said of one place; none where it is met in no draw.
fn slowing(why: Slows, all: &[Slowdown], share: impl Fn(usize) -> f64) -> Option<Slowing> {
    let met: Vec<Slowdown> = all.iter().filter(|s| s.why == why).copied().collect();
    if met.is_empty() {
        return None;
    }
    let at: Vec<f64> = met.iter().map(|s| s.at.base()).collect();
    let rate: Vec<f64> = met.iter().map(|s| s.rate.base()).collect();
    Some(Slowing {
        why,
        because: because(why),
        probability: share(met.len()),
        after: middle_of(&met),
        after_s: percentiles::<Time>(&at).into(),
        megabytes_per_s: percentiles(&rate).into(),
    })
}

fn middle_of(met: &[Slowdown]) -> String {
    let after: Vec<f64> = met.iter().map(|s| s.after.base()).collect();
    show(percentiles::<Information>(&after).p50)
}

fn at(values: &[f64], draw: usize) -> f64 {
    values.get(draw).copied().unwrap_or(f64::NAN)
}
