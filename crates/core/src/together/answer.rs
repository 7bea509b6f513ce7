//! What is reported of all draws.

use super::draw::Drawn;
use super::tally::REACHED;
use super::{Network, Question};
use crate::budget::{BudgetFault, HopKind, Need, RateRange, Towards, Warning, six_digits};
use crate::catalogue::Catalogue;
use crate::quantity::{DataRate, Measure, Ratio};
use crate::site::{Assumption, Site};
use crate::spread::Draws;
use crate::work::Direction;
use crate::working::{middle, percentiles};
use serde::{Serialize, Serializer};
use std::sync::Arc;

/// A place with less free counts as full.
const FULL: f64 = 1e-6;

/// What all tasks get at once.
#[derive(Clone, Debug)]
pub struct Together {
    /// Name of the site.
    pub site: String,
    /// Whether the tasks were told; without them every desk is at work at once.
    pub from_tasks: bool,
    /// One for each task.
    pub tasks: Vec<TaskShare>,
    /// Places that tasks pass, the fullest first.
    pub hops: Vec<SharedHop>,
    /// What all tasks move together, by array.
    pub totals: Vec<Total>,
    /// What to look at.
    pub warnings: Vec<Warning>,
    /// What nobody said.
    pub assumptions: Vec<Assumption>,
    /// The usual cautions.
    pub cautions: Vec<String>,
}

/// What one task gets while the others go on.
#[derive(Clone, Debug, Serialize)]
pub struct TaskShare {
    /// `task.1`, or the desk's where there are no tasks.
    pub id: String,
    /// The desk.
    pub desk: String,
    /// What it does, in a word.
    pub does: &'static str,
    /// The array.
    pub array: String,
    /// The desk's port; empty where no link comes up.
    pub port: String,
    /// Which way.
    #[serde(serialize_with = "direction")]
    pub direction: Direction,
    /// Codec, raster and frame rate, where they were told.
    pub material: Option<String>,
    /// Where the rate of the codec comes from.
    pub because: Option<String>,
    /// What has to be there in time.
    pub demand_megabytes_per_s: Option<RateRange>,
    /// The most that it takes, where it is held to something of its own.
    pub held_to_megabytes_per_s: Option<RateRange>,
    /// What it gets.
    pub megabytes_per_s: RateRange,
    /// What it would get alone.
    pub alone_megabytes_per_s: RateRange,
    /// How likely it gets less than it has to; for deadlines only.
    #[serde(serialize_with = "maybe_six_digits")]
    pub short_probability: Option<f64>,
    /// What is missing then, in the middle.
    #[serde(serialize_with = "megabytes")]
    pub short_by_megabytes_per_s: Option<DataRate>,
    /// What stops it, the likeliest first; what it gets whole has none.
    pub limits: Vec<ShareLimit>,
    /// Whether a stated need is met.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub need: Option<Need>,
    /// The share of draws in which some cable of its way gives no link at all; its rates are those of a
    /// way that has one.
    #[serde(serialize_with = "six_digits")]
    pub no_link_probability: f64,
    /// The rate in each draw, without the scatter of a share.
    #[serde(skip)]
    pub(crate) rates: Vec<f64>,
}

impl TaskShare {
    /// Whether pictures come too late more often than not.
    pub fn is_short(&self) -> bool {
        self.short_probability.is_some_and(|p| p >= 0.5)
    }
}

/// What stops a task, and in what share of the draws.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ShareLimit {
    /// Site paths; several where they are full together.
    pub hops: Vec<String>,
    /// Whether it would stop there alone too.
    pub alone: bool,
    /// Share of the draws.
    #[serde(serialize_with = "six_digits")]
    pub share: f64,
    /// What the task would get in the middle if that were no limit, where it was worth trying.
    #[serde(serialize_with = "megabytes")]
    pub if_lifted_megabytes_per_s: Option<DataRate>,
}

/// Percentiles of a share of one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShareRange {
    /// 5th percentile.
    pub p05: Ratio,
    /// Median.
    pub p50: Ratio,
    /// 95th percentile.
    pub p95: Ratio,
}

impl ShareRange {
    fn of(values: &[f64]) -> Self {
        let p = percentiles::<Ratio>(values);
        Self {
            p05: p.p05,
            p50: p.p50,
            p95: p.p95,
        }
    }
}

impl Serialize for ShareRange {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        #[derive(Serialize)]
        struct Range {
            #[serde(serialize_with = "six_digits")]
            p05: f64,
            #[serde(serialize_with = "six_digits")]
            p50: f64,
            #[serde(serialize_with = "six_digits")]
            p95: f64,
        }
        Range {
            p05: self.p05.base(),
            p50: self.p50.base(),
            p95: self.p95.base(),
        }
        .serialize(serializer)
    }
}

/// A place that tasks pass.
#[derive(Clone, Debug, Serialize)]
pub struct SharedHop {
    /// Site path.
    pub id: String,
    /// What kind of place.
    pub kind: HopKind,
    /// What it is, in words.
    pub label: String,
    /// What makes it what it is.
    pub note: String,
    /// Which way data pass; nothing where both ways share it.
    pub towards: Option<Towards>,
    /// How many tasks pass it.
    pub tasks: usize,
    /// How much of its second is taken.
    pub busy: ShareRange,
    /// How likely nothing is left of it.
    #[serde(serialize_with = "six_digits")]
    pub full_probability: f64,
    /// The part of its second that heads spend moving between streams, in the middle; nothing where
    /// there are no heads.
    #[serde(serialize_with = "maybe_six_digits")]
    pub moving: Option<f64>,
}

/// What all tasks move together.
#[derive(Clone, Debug, Serialize)]
pub struct Total {
    /// The array.
    pub array: String,
    /// Which way.
    #[serde(serialize_with = "direction")]
    pub direction: Direction,
    /// All of it.
    pub megabytes_per_s: RateRange,
}

#[allow(clippy::trivially_copy_pass_by_ref)] // the signature that serde calls
fn direction<S: Serializer>(value: &Direction, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(value.word())
}

#[allow(clippy::ref_option)] // the signature that serde calls
fn megabytes<S: Serializer>(rate: &Option<DataRate>, serializer: S) -> Result<S::Ok, S::Error> {
    match rate {
        Some(rate) => six_digits(&crate::quantity::in_megabytes_per_second(*rate), serializer),
        None => serializer.serialize_none(),
    }
}

#[allow(clippy::ref_option)] // the signature that serde calls
fn maybe_six_digits<S: Serializer>(value: &Option<f64>, serializer: S) -> Result<S::Ok, S::Error> {
    match value {
        Some(value) => six_digits(value, serializer),
        None => serializer.serialize_none(),
    }
}

/// How far single shares lie from their fair ones over seconds.
pub(super) struct Scatter {
    /// For each flow a factor a draw; nothing where no shared place ever stops it.
    factors: Vec<Option<Vec<f64>>>,
}

impl Scatter {
    /// Flows that share a full place scatter over seconds; totals do not.
    pub(super) fn drawn(
        network: &Network,
        found: &Drawn,
        catalogue: &Catalogue,
        draws: &mut Draws,
    ) -> Result<Self, BudgetFault> {
        let row = "task.share-scatter";
        let spread = catalogue.spread::<Ratio>(row)?;
        let width = draws.values(row, spread.law());
        let scores = draws.scores();
        let factors = network
            .flows
            .iter()
            .zip(&found.held)
            .map(|(flow, held)| {
                if !held.contains(&true) {
                    return None;
                }
                let luck = draws.strata(&format!("{}.share", flow.id));
                let factors = held.iter().zip(luck.iter()).zip(width.iter());
                Some(
                    factors
                        .map(|((held, slice), width)| {
                            let score = scores.get(*slice as usize).copied().unwrap_or(0.0);
                            // the width is a standard deviation
                            let factor = 1.0 + width * score;
                            if *held { factor.max(0.0) } else { 1.0 }
                        })
                        .collect(),
                )
            })
            .collect();
        Ok(Self { factors })
    }
}

/// Puts the answer together.
pub(super) fn made(
    site: &Site,
    question: &Question,
    network: &Network,
    (found, lifted, scatter): (Drawn, &[(usize, Drawn)], &Scatter),
    warnings: Vec<Warning>,
) -> Together {
    let mut tasks: Vec<TaskShare> = (0..network.flows.len())
        .map(|flow| share(network, flow, (&found, lifted, scatter), question))
        .collect();
    let mut hops: Vec<SharedHop> = network
        .places
        .iter()
        .enumerate()
        .map(|(i, place)| {
            let alone = network.busy_alone(i, &found.rates);
            let busy = alone.as_ref().unwrap_or(&found.busy[i]);
            let full = busy.iter().filter(|b| **b >= 1.0 - FULL).count();
            SharedHop {
                id: place.id.clone(),
                kind: place.kind,
                label: place.label.clone(),
                note: place.note.clone(),
                towards: place.towards,
                tasks: place.flows,
                busy: ShareRange::of(busy),
                full_probability: full as f64 / busy.len().max(1) as f64,
                moving: place.move_heads.is_some().then(|| middle(&found.moving[i])),
            }
        })
        .collect();
    // the fullest first; equally full ones by likelihood of being full, then as they were met
    hops.sort_by(|a, b| {
        let key = |h: &SharedHop| (h.busy.p50.base(), h.full_probability);
        let (a, b) = (key(a), key(b));
        b.0.total_cmp(&a.0).then(b.1.total_cmp(&a.1))
    });
    let totals = totals(site, network, &found);
    // a thousand desks have them only once
    for (task, rates) in tasks.iter_mut().zip(found.rates) {
        task.rates = rates;
    }
    Together {
        site: site.name.clone(),
        from_tasks: network.from_tasks,
        tasks,
        hops,
        totals,
        warnings,
        assumptions: site.assumptions.clone(),
        cautions: vec![
            "An array is not a backup: keep a second copy elsewhere before you rely on any layout."
                .to_owned(),
        ],
    }
}

fn share(
    network: &Network,
    flow: usize,
    (found, lifted, scatter): (&Drawn, &[(usize, Drawn)], &Scatter),
    question: &Question,
) -> TaskShare {
    let about = &network.flows[flow];
    let rates = &found.rates[flow];
    let range = |values: &[f64]| RateRange::from(percentiles::<DataRate>(values));
    let shown: RateRange = match &scatter.factors[flow] {
        None => range(rates),
        Some(factors) => {
            let scattered: Vec<f64> = rates
                .iter()
                .zip(factors)
                .enumerate()
                .map(|(draw, (rate, factor))| {
                    let asked = [&about.demand, &about.held_to].into_iter().flatten();
                    asked.fold((rate * factor).min(about.alone[draw]), |least, cap| {
                        least.min(cap[draw])
                    })
                })
                .collect();
            range(&scattered)
        }
    };
    let (mut short_probability, mut short_by) = (None, None);
    if let Some(demand) = &about.demand {
        let missing: Vec<f64> = rates
            .iter()
            .zip(demand.iter())
            .filter(|(rate, demand)| **rate < **demand * (1.0 - REACHED))
            .map(|(rate, demand)| demand - rate)
            .collect();
        short_probability = Some(missing.len() as f64 / rates.len().max(1) as f64);
        short_by = (!missing.is_empty()).then(|| DataRate::from_base(middle(&missing)));
    }
    TaskShare {
        id: about.id.clone(),
        desk: about.desk.clone(),
        does: about.does,
        array: about.array.clone(),
        port: about.port.clone(),
        direction: about.direction,
        material: about.material.clone(),
        because: about.because.clone(),
        demand_megabytes_per_s: about.demand.as_deref().map(range),
        held_to_megabytes_per_s: about.held_to.as_deref().map(range),
        megabytes_per_s: shown,
        alone_megabytes_per_s: range(&about.alone),
        short_probability,
        short_by_megabytes_per_s: short_by,
        limits: limits(network, flow, found, lifted),
        need: question.need.map(|need| Need::of(need, rates, &about.dead)),
        no_link_probability: about.dead.iter().filter(|dead| **dead).count() as f64
            / network.count.max(1) as f64,
        rates: Vec::new(),
    }
}

/// What stops a flow, the likeliest first.
fn limits(
    network: &Network,
    flow: usize,
    found: &Drawn,
    lifted: &[(usize, Drawn)],
) -> Vec<ShareLimit> {
    let about = &network.flows[flow];
    let share = |count: u32| f64::from(count) / network.count as f64;
    let id = |place: u32| {
        network
            .places
            .get(place as usize)
            .map_or_else(String::new, |p| p.id.clone())
    };
    let mut all: Vec<ShareLimit> = Vec::new();
    for (set, &count) in found.tally.alone[flow].iter().enumerate() {
        if count > 0 {
            all.push(ShareLimit {
                hops: about.sets[set].clone(),
                alone: true,
                share: share(count),
                if_lifted_megabytes_per_s: None,
            });
        }
    }
    for place in 0..network.places.len() {
        let count = found.tally.by_place(flow, place);
        if count > 0 {
            let without = lifted.iter().find(|(p, _)| *p == place);
            all.push(ShareLimit {
                hops: vec![id(place as u32)],
                alone: false,
                share: share(count),
                if_lifted_megabytes_per_s: without
                    .and_then(|(_, drawn)| lifted_middle(&found.rates[flow], &drawn.rates[flow]))
                    .map(|rate| no_more_than_asked(rate, [&about.demand, &about.held_to])),
            });
        }
    }
    for ((_, places), &count) in found
        .tally
        .several
        .iter()
        .filter(|((f, _), _)| *f as usize == flow)
    {
        all.push(ShareLimit {
            hops: places.iter().map(|&p| id(p)).collect(),
            alone: false,
            share: share(count),
            if_lifted_megabytes_per_s: None,
        });
    }
    all.sort_by(|a, b| b.share.total_cmp(&a.share));
    all
}

/// A median held to the medians of what was asked for. Draws are held to it one by one; a median that is set right by other draws is not.
fn no_more_than_asked(rate: DataRate, asked: [&Option<Arc<[f64]>>; 2]) -> DataRate {
    asked.into_iter().flatten().fold(rate, |least, cap| {
        let cap = DataRate::from_base(middle(cap));
        if cap < least { cap } else { least }
    })
}

/// The median if a place were no limit: that of the draws in which it was lifted, set right by how far
/// the median of those same draws lies from that of all. What lifting does not change keeps its median.
fn lifted_middle(rates: &[f64], lifted: &[f64]) -> Option<DataRate> {
    let same = middle(rates.get(..lifted.len())?);
    (same > 0.0).then(|| DataRate::from_base(middle(lifted) * (middle(rates) / same)))
}

fn totals(site: &Site, network: &Network, found: &Drawn) -> Vec<Total> {
    let mut all = Vec::new();
    for array in &site.arrays {
        for way in Direction::BOTH {
            let mut sum = vec![0.0; network.count];
            let mut any = false;
            for (flow, rates) in network.flows.iter().zip(&found.rates) {
                if flow.array != array.name {
                    continue;
                }
                let more = match (&flow.writes, way) {
                    (Some(more), Direction::Write) => Some(more),
                    _ if flow.direction == way => None,
                    _ => continue,
                };
                any = true;
                for (draw, (sum, rate)) in sum.iter_mut().zip(rates).enumerate() {
                    *sum += rate * more.map_or(1.0, |m| m[draw]);
                }
            }
            if any {
                all.push(Total {
                    array: array.name.clone(),
                    direction: way,
                    megabytes_per_s: percentiles::<DataRate>(&sum).into(),
                });
            }
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rate_without_a_limit_is_no_more_than_was_asked() {
        let rate = DataRate::from_base;
        let asked: Option<Arc<[f64]>> = Some(Arc::from([90.0, 100.0, 130.0]));
        let held: Option<Arc<[f64]>> = Some(Arc::from([80.0]));
        for (found, demand, held_to, told) in [
            (120.0, &asked, &None, 100.0),
            (120.0, &None, &held, 80.0),
            (120.0, &asked, &held, 80.0),
            (70.0, &asked, &held, 70.0),
            (120.0, &None, &None, 120.0),
        ] {
            assert_eq!(
                no_more_than_asked(rate(found), [demand, held_to]),
                rate(told)
            );
        }
    }
}
