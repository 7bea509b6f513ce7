//! One layout with all that is told of it.

use super::front::{CRITERIA, Criterion, Merits, rank, rank_of_less};
use super::rates::{Model, State};
use super::{Loss, Need, PlanFault, Shape, Views};
use crate::array::{Bytes, Layout};
use crate::budget::RateRange;
use crate::budget::RequestRange;
use crate::quantity::units::ratio::one;
use crate::quantity::{DataRate, Measure, Money, OperationRate, Ratio, Time, ratio};
use crate::work::Direction;
use crate::working::percentiles;

/// Rates of large files at the array itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rates {
    /// One stream reads an empty array.
    pub read_empty: RateRange,
    /// One stream reads it as full as stated.
    pub read: RateRange,
    /// One stream writes to an empty array.
    pub write_empty: RateRange,
    /// One stream writes to it as full as stated; flash after its fast cache.
    pub write: RateRange,
    /// The streams together read.
    pub read_together: RateRange,
    /// The streams together write.
    pub write_together: RateRange,
    /// One stream reads with a drive missing; none where that loses the array.
    pub read_degraded: Option<RateRange>,
    /// One stream reads with two drives of a group missing; none where that loses the array.
    pub read_degraded_two: Option<RateRange>,
    /// One stream reads while a missing drive is put together again.
    pub read_rebuilding: Option<RateRange>,
    /// One stream reads while all drives are read through; none where nothing is kept twice.
    pub read_scrubbing: Option<RateRange>,
    /// Small reads a second at random places.
    pub random_read: RequestRange,
    /// Small writes a second at random places.
    pub random_write: RequestRange,
    /// Small reads a second with a drive missing; none where that loses the array.
    pub random_read_degraded: Option<RequestRange>,
}

/// What a layout has of what is needed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Got {
    /// Room.
    Space(Bytes),
    /// The median of a rate.
    Rate(DataRate),
    /// The median of small requests a second.
    Requests(OperationRate),
}

/// A need beside what there is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Met {
    /// What is needed.
    pub need: Need,
    /// What there is.
    pub got: Got,
    /// The share of cases in which the need is met; space is certain.
    pub chance: Ratio,
    /// The 5th percentile of a rate, or of requests a second.
    pub low: Option<Got>,
    /// Whether space, or the median of the rate, reaches the need.
    pub met: bool,
    /// What is missing over what is needed.
    pub short: Ratio,
}

/// One layout with all that is told of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The layout.
    pub layout: Layout,
    /// Its groups.
    pub shape: Shape,
    /// Which of the choices its drives are.
    pub choice: usize,
    /// Class of its drives.
    pub class: String,
    /// Room for files.
    pub usable: Bytes,
    /// The part that is comfortable to fill.
    pub comfortable: Bytes,
    /// How fast it is.
    pub rates: Rates,
    /// Time without redundancy after one failure; none where nothing can be rebuilt.
    pub rebuild: Option<Views<Time>>,
    /// How likely it is lost in a year.
    pub loss: Loss,
    /// What all its drives cost, spares included.
    pub price: Option<Money>,
    /// The price of 1 TB of usable space, rounded.
    pub price_per_terabyte: Option<Money>,
    /// Each need in the order asked.
    pub needs: Vec<Met>,
    /// How many drives may fail, whichever they are.
    pub survives_any: usize,
    /// Whether another row is at least as good in everything and better in something.
    pub beaten: bool,
    /// Rows with the same figures, as the models can tell; the first of them is kept.
    pub same: Vec<String>,
    /// What it buys, in a sentence; empty where it is beaten.
    pub buys: String,
}

/// Bytes in the terabyte that prices are divided by.
const TERABYTE: i128 = 1_000_000_000_000;

impl Row {
    /// How it is called: the layout, and the class of its drives.
    pub fn name(&self) -> String {
        format!("{} {}", self.layout, self.class)
    }

    /// The largest share that is missing of any need, surviving included; zero where all are met.
    pub fn worst_miss(&self, survive: usize) -> f64 {
        self.misses(survive).fold(0.0, f64::max)
    }

    /// All that is missing, as shares added up.
    pub(super) fn all_misses(&self, survive: usize) -> f64 {
        self.misses(survive).sum()
    }

    fn misses(&self, survive: usize) -> impl Iterator<Item = f64> {
        let drives = survive.saturating_sub(self.survives_any) as f64 / survive.max(1) as f64;
        let needs = self.needs.iter().map(|need| need.short.get::<one>());
        needs.chain([drives])
    }

    /// The number behind a criterion, in base units; for price, risk and rebuild less is better.
    pub fn value(&self, criterion: Criterion) -> f64 {
        let median = |range: &RateRange| range.p50.base();
        match criterion {
            Criterion::Price => match &self.price {
                Some(price) => price.hundredths as f64,
                None => self.layout.all_drives() as f64,
            },
            Criterion::Usable => self.usable.get() as f64,
            Criterion::Loss => self.loss.array.typical.get::<one>(),
            Criterion::Read => median(&self.rates.read),
            Criterion::Write => median(&self.rates.write),
            Criterion::ReadTogether => median(&self.rates.read_together),
            Criterion::WriteTogether => median(&self.rates.write_together),
            Criterion::Degraded => self.rates.read_degraded.as_ref().map_or(0.0, median),
            Criterion::Rebuild => self
                .rebuild
                .map_or(f64::INFINITY, |rebuild| rebuild.typical.base()),
            // who does not ask for small requests does not want to choose by them
            Criterion::RandomRead | Criterion::RandomWrite if !self.asks_for_requests() => 1.0,
            Criterion::RandomRead => self.rates.random_read.p50.base(),
            Criterion::RandomWrite => self.rates.random_write.p50.base(),
        }
    }

    fn asks_for_requests(&self) -> bool {
        let small = |met: &Met| matches!(met.need, Need::Requests { .. });
        self.needs.iter().any(small)
    }

    /// One rank a criterion: price to the cent, space to three digits, all else to two.
    pub(super) fn merits(&self) -> Merits {
        let mut merits = [0; CRITERIA];
        for (merit, criterion) in merits.iter_mut().zip(Criterion::ALL) {
            let value = self.value(criterion);
            *merit = match criterion {
                // integers, and far below 2^53
                Criterion::Price => -(value as i64),
                Criterion::Usable => rank(value, 3),
                Criterion::Loss | Criterion::Rebuild => rank_of_less(value, 2),
                _ => rank(value, 2),
            };
        }
        merits
    }
}

/// What so many drives cost.
pub(super) fn price_of(price: &Money, drives: usize) -> Option<Money> {
    let drives = i64::try_from(drives).ok()?;
    Some(Money {
        hundredths: price.hundredths.checked_mul(drives)?,
        currency: price.currency.clone(),
    })
}

/// The price of 1 TB, to the nearest hundredth.
pub(super) fn per_terabyte(price: &Money, usable: Bytes) -> Option<Money> {
    let usable = i128::from(usable.get());
    if usable == 0 {
        return None;
    }
    let hundredths = (i128::from(price.hundredths) * TERABYTE + usable / 2) / usable;
    Some(Money {
        hundredths: i64::try_from(hundredths).ok()?,
        currency: price.currency.clone(),
    })
}

/// Percentiles of a column, and the share of it that reaches a rate.
fn range(values: &[f64]) -> RateRange {
    percentiles::<DataRate>(values).into()
}

/// Rates of a layout, and its rate needs.
pub(super) fn rates(
    model: &Model<'_>,
    streams: usize,
    needs: &[Need],
) -> Result<(Rates, Vec<Option<Met>>), PlanFault> {
    let lost = || PlanFault::Model("a healthy layout has no rate".to_owned());
    let drives = |direction| {
        let filled = model.of_drives(direction, State::Filled);
        filled.ok_or_else(lost)
    };
    let (read, write) = (drives(Direction::Read)?, drives(Direction::Write)?);
    let together = |direction, streams| {
        let alone = match direction {
            Direction::Read => &read,
            Direction::Write => &write,
        };
        model.together(direction, streams, alone)
    };
    let empty = |direction| model.alone(direction, State::Empty).ok_or_else(lost);
    let reading = |state| {
        let drawn = model.alone(Direction::Read, state);
        drawn.map(|drawn| range(&drawn))
    };
    let random = |direction, missing| model.requests(direction, missing);
    let (reads, writes) = (
        random(Direction::Read, 0).ok_or_else(lost)?,
        random(Direction::Write, 0).ok_or_else(lost)?,
    );
    let rates = Rates {
        read_empty: range(&empty(Direction::Read)?),
        read: range(&together(Direction::Read, 1)),
        write_empty: range(&empty(Direction::Write)?),
        write: range(&together(Direction::Write, 1)),
        read_together: range(&together(Direction::Read, streams)),
        write_together: range(&together(Direction::Write, streams)),
        read_degraded: reading(State::Missing(1)),
        read_degraded_two: reading(State::Missing(2)),
        read_rebuilding: reading(State::Rebuilding),
        read_scrubbing: reading(State::Scrubbing),
        random_read: percentiles::<OperationRate>(&reads).into(),
        random_write: percentiles::<OperationRate>(&writes).into(),
        random_read_degraded: random(Direction::Read, 1)
            .map(|drawn| percentiles::<OperationRate>(&drawn).into()),
    };
    let mut met = Vec::with_capacity(needs.len());
    for need in needs {
        met.push(match *need {
            Need::Rate {
                rate,
                direction,
                streams,
            } => Some(drawn_met(
                *need,
                &together(direction, streams),
                rate.base(),
                |base| Got::Rate(DataRate::from_base(base)),
            )),
            Need::Requests { rate, direction } => {
                let drawn = match direction {
                    Direction::Read => &reads,
                    Direction::Write => &writes,
                };
                Some(drawn_met(*need, drawn, rate.base(), |base| {
                    Got::Requests(OperationRate::from_base(base))
                }))
            }
            Need::Usable(_) | Need::Comfortable(_) => None,
        });
    }
    Ok((rates, met))
}

/// A need beside what was drawn: met where the median meets it.
fn drawn_met(need: Need, drawn: &[f64], asked: f64, got: impl Fn(f64) -> Got) -> Met {
    let reached = drawn.iter().filter(|&&x| x >= asked).count();
    let found = percentiles::<f64>(drawn);
    Met {
        need,
        got: got(found.p50),
        chance: ratio(reached as f64 / drawn.len().max(1) as f64),
        low: Some(got(found.p05)),
        met: found.p50 >= asked,
        short: missing(asked, found.p50),
    }
}

/// A need of space beside what there is.
pub(super) fn space_met(need: Need, usable: Bytes, comfortable: Bytes) -> Option<Met> {
    let (asked, has) = match need {
        Need::Usable(asked) => (asked, usable),
        Need::Comfortable(asked) => (asked, comfortable),
        Need::Rate { .. } | Need::Requests { .. } => return None,
    };
    let met = has >= asked;
    Some(Met {
        need,
        got: Got::Space(has),
        chance: ratio(if met { 1.0 } else { 0.0 }),
        low: None,
        met,
        short: missing(asked.get() as f64, has.get() as f64),
    })
}

fn missing(asked: f64, has: f64) -> Ratio {
    ratio(((asked - has) / asked).max(0.0))
}
