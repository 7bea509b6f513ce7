use super::Warning;
use super::better::Better;
use super::branches::{Branch, branches};
use super::evaluate::rates;
use super::hop::{Chain, HopKind};
use super::random::RequestRange;
use super::transfer::{Transfer, follow, receiver};
use super::unknowns::{UnknownShare, shares};
use crate::quantity::{
    self, DataRate, LinkRate, Measure, Time, in_megabytes_per_second, terabytes, units,
};
use crate::site::Assumption;
use crate::work::{Activity, Direction, Work};
use crate::working::{Column, Percentiles, Sheet, Step, Unknown, middle, percentiles};
use serde::{Serialize, Serializer};

/// Everything that was asked.
#[derive(Clone, Debug)]
pub struct Answer {
    /// Name of the site.
    pub site: String,
    /// One for each desk, array, port and direction.
    pub flows: Vec<Flow>,
    /// What to look at.
    pub warnings: Vec<Warning>,
    /// What nobody said; where one desk was asked for, without other desks and runs.
    pub assumptions: Vec<Assumption>,
    /// The usual cautions.
    pub cautions: Vec<String>,
}

/// A flow with what was noticed while it was put together.
pub(super) struct Built {
    pub flow: Option<Flow>,
    pub warnings: Vec<Warning>,
}

impl Answer {
    /// The unknown that would narrow the answers most, and the flow that it widens: its share of the
    /// scatter times the width of the interval, on a logarithmic scale. `None` where nothing is worth
    /// asking for.
    pub fn worth_asking_for(&self) -> Option<(&Flow, &UnknownShare)> {
        let mut best = None;
        let mut most = WORTH_ASKING;
        for flow in &self.flows {
            let Some(unknown) = flow.worth_finding_out() else {
                continue;
            };
            let range = flow.megabytes_per_s;
            let width = libm::log((range.p95 / range.p05).get::<units::ratio::one>());
            if unknown.share * width > most {
                most = unknown.share * width;
                best = Some((flow, unknown));
            }
        }
        best
    }

    pub(super) fn add(&mut self, built: Built) {
        self.flows.extend(built.flow);
        self.warnings.extend(built.warnings);
    }
}

/// Rounds to six significant digits, so that the same answer prints the same everywhere.
#[allow(clippy::trivially_copy_pass_by_ref)] // the signature that serde calls
pub(crate) fn six_digits<S: Serializer>(value: &f64, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_f64(quantity::six_digits(*value))
}

/// Percentiles of a rate; written in megabytes a second.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RateRange {
    /// 5th percentile.
    pub p05: DataRate,
    /// Median.
    pub p50: DataRate,
    /// 95th percentile.
    pub p95: DataRate,
}

impl From<Percentiles<DataRate>> for RateRange {
    fn from(p: Percentiles<DataRate>) -> Self {
        Self {
            p05: p.p05,
            p50: p.p50,
            p95: p.p95,
        }
    }
}

impl Serialize for RateRange {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        range(
            serializer,
            [self.p05, self.p50, self.p95].map(in_megabytes_per_second),
        )
    }
}

/// Percentiles of a duration; written in seconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TimeRange {
    /// 5th percentile.
    pub p05: Time,
    /// Median.
    pub p50: Time,
    /// 95th percentile.
    pub p95: Time,
}

impl From<Percentiles<Time>> for TimeRange {
    fn from(p: Percentiles<Time>) -> Self {
        Self {
            p05: p.p05,
            p50: p.p50,
            p95: p.p95,
        }
    }
}

impl Serialize for TimeRange {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        range(
            serializer,
            [self.p05, self.p50, self.p95].map(|t| t.get::<units::time::second>()),
        )
    }
}

impl Serialize for RequestRange {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        range(serializer, self.a_second())
    }
}

fn range<S: Serializer>(serializer: S, values: [f64; 3]) -> Result<S::Ok, S::Error> {
    use serde::ser::SerializeStruct;
    let mut out = serializer.serialize_struct("Range", 3)?;
    for (key, value) in ["p05", "p50", "p95"].into_iter().zip(values) {
        out.serialize_field(key, &quantity::six_digits(value))?;
    }
    out.end()
}

/// Percentiles of a hop's ceiling.
pub type Ceiling = RateRange;

/// One hop as reported.
#[derive(Clone, Debug, Serialize)]
pub struct FlowHop {
    /// Site path.
    pub id: String,
    /// What kind of place.
    pub kind: HopKind,
    /// What it is, in words.
    pub label: String,
    /// What makes it what it is.
    pub note: String,
    /// What it carries at most.
    pub ceiling_megabytes_per_s: Ceiling,
    /// The likeliest rate of a link, in megabits.
    #[serde(serialize_with = "megabits")]
    pub link_megabits_per_s: Option<LinkRate>,
    /// Whether the link's rate is the same from the 5th to the 95th percentile.
    #[serde(skip)]
    pub link_is_certain: bool,
    /// The middle rate of the flow if this hop were lifted.
    #[serde(serialize_with = "megabytes")]
    pub if_lifted_megabytes_per_s: Option<DataRate>,
    /// What the next better part of it would give, where that was asked.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub next_better: Option<Better>,
    /// What it would carry with nothing on its drives.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub when_empty_megabytes_per_s: Option<Ceiling>,
    /// The step of the working that gave the ceiling.
    #[serde(skip)]
    pub step: Option<usize>,
    /// Symbols and steps of how it slows down in a long write.
    #[serde(skip)]
    pub tiring_steps: Vec<(&'static str, usize)>,
}

#[allow(clippy::ref_option)] // the signature that serde calls
fn megabits<S: Serializer>(rate: &Option<LinkRate>, serializer: S) -> Result<S::Ok, S::Error> {
    rate.map(|r| quantity::six_digits(r.megabits()))
        .serialize(serializer)
}

#[allow(clippy::ref_option)] // the signature that serde calls
fn megabytes<S: Serializer>(rate: &Option<DataRate>, serializer: S) -> Result<S::Ok, S::Error> {
    rate.map(|r| quantity::six_digits(in_megabytes_per_second(r)))
        .serialize(serializer)
}

/// Hops that limit together, and in what share of the draws.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Limit {
    /// Their ids, in the order of the way.
    pub hops: Vec<String>,
    /// Share of the draws; all shares of a flow add up to one.
    #[serde(serialize_with = "six_digits")]
    pub share: f64,
    /// The middle rate if all of them were lifted.
    #[serde(serialize_with = "megabytes")]
    pub if_lifted_megabytes_per_s: Option<DataRate>,
}

/// One desk, one array, one port, one direction.
#[derive(Clone, Debug, Serialize)]
pub struct Flow {
    /// Name of the desk; empty at the array itself.
    pub desk: String,
    /// Name of the array.
    pub array: String,
    /// The desk's port.
    pub port: String,
    /// What the desk does.
    #[serde(serialize_with = "activity")]
    pub work: Activity,
    /// Which way.
    #[serde(serialize_with = "direction")]
    pub direction: Direction,
    /// What it gets.
    pub megabytes_per_s: RateRange,
    /// The share of draws in which some cable of the way gives no link at all; its rates are those of
    /// a link that comes up.
    #[serde(serialize_with = "six_digits")]
    pub no_link_probability: f64,
    /// The humps, where there is more than one.
    pub branches: Vec<Branch>,
    /// What limits, the likeliest first.
    pub limits: Vec<Limit>,
    /// The way, from desk to array.
    pub hops: Vec<FlowHop>,
    /// What explains the scatter, the largest first.
    pub unknowns: Vec<UnknownShare>,
    /// Small pieces a second, where pieces at random places were asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub requests_per_s: Option<RequestRange>,
    /// Time for 100 GB at that rate.
    pub hundred_gigabytes_s: TimeRange,
    /// What becomes of a copy of a given size.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub transfer: Option<Transfer>,
    /// Whether a stated need is met.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub need: Option<Need>,
    /// What a real copy reaches of the ceiling, in the middle.
    #[serde(serialize_with = "six_digits")]
    pub real_copy_share: f64,
    /// The rate in each draw.
    #[serde(skip)]
    pub(crate) rates: Vec<f64>,
    /// The working, where it was kept.
    #[serde(skip)]
    pub steps: Vec<Step>,
}

#[allow(clippy::trivially_copy_pass_by_ref)] // the signature that serde calls
fn activity<S: Serializer>(value: &Activity, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(value.word())
}

#[allow(clippy::trivially_copy_pass_by_ref)] // the signature that serde calls
fn direction<S: Serializer>(value: &Direction, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(value.word())
}

/// How a flow stands to a stated need.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Need {
    /// What is needed.
    #[serde(rename = "megabytes_per_s", serialize_with = "rate")]
    pub rate: DataRate,
    /// Share of the draws that reach it.
    #[serde(serialize_with = "six_digits")]
    pub probability: f64,
    /// Whether nineteen in twenty do.
    pub met: bool,
}

/// A need counts as met where so many draws reach it: one copy in twenty may fall short, as the
/// interval says.
const MET: f64 = 0.95;

impl Need {
    /// Draws in which a cable of the way gives no link do not meet it.
    pub(crate) fn of(rate: DataRate, rates: &[f64], dead: &[bool]) -> Self {
        let links = |draw: usize| !dead.get(draw).copied().unwrap_or(false);
        let reached = rates
            .iter()
            .enumerate()
            .filter(|(draw, r)| **r >= rate.base() && links(*draw))
            .count();
        let probability = reached as f64 / rates.len().max(1) as f64;
        Self {
            rate,
            probability,
            met: probability >= MET,
        }
    }
}

#[allow(clippy::trivially_copy_pass_by_ref)] // the signature that serde calls
fn rate<S: Serializer>(value: &DataRate, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_f64(quantity::six_digits(in_megabytes_per_second(*value)))
}

/// Data until the caches are full and until flash folds, and the rates from there.
fn tiring_steps(chain: &Chain) -> Vec<(&'static str, usize)> {
    let Some(tiring) = &chain.tiring else {
        return Vec::new();
    };
    let steps = [
        ("B", Sheet::step_of(&tiring.cache)),
        ("F", Sheet::step_of(&tiring.until_fold)),
        ("X2", Sheet::step_of(&tiring.later)),
        ("X3", Sheet::step_of(&tiring.folding)),
    ];
    steps
        .into_iter()
        .filter_map(|(s, step)| Some((s, step?)))
        .collect()
}

/// An unknown that widens an interval by less than a twentieth is not worth a question.
const WORTH_ASKING: f64 = 0.05;

/// Limits and hops below this share of the draws are not lifted to see what would happen.
const WORTH_LIFTING: f64 = 0.02;

impl Flow {
    /// The rate in each draw, in the order of the draws.
    pub fn drawn(&self) -> impl Iterator<Item = DataRate> {
        self.rates.iter().copied().map(DataRate::from_base)
    }

    pub(super) fn new(
        (desk, array, port): (String, String, String),
        (work, direction): (Work, Direction),
        chain: &Chain,
        unknowns: &[Unknown],
        count: usize,
        (steps, need): (Vec<Step>, Option<DataRate>),
    ) -> Self {
        let found = rates(chain, count);
        let mut tally = vec![0usize; found.sets.len()];
        for &limit in &found.limit {
            if let Some(t) = tally.get_mut(limit as usize) {
                *t += 1;
            }
        }
        let lifted = |set: &[usize]| DataRate::from_base(middle(&found.without(chain, set)));
        let mut limits: Vec<(usize, Limit)> = tally
            .iter()
            .enumerate()
            .filter(|(_, n)| **n > 0)
            .filter_map(|(set, n)| {
                let hops = found.sets.get(set)?;
                let share = *n as f64 / count as f64;
                Some((
                    set,
                    Limit {
                        hops: hops
                            .iter()
                            .filter_map(|&i| chain.hops.get(i))
                            .map(|h| h.id.clone())
                            .collect(),
                        share,
                        if_lifted_megabytes_per_s: (share >= WORTH_LIFTING).then(|| lifted(hops)),
                    },
                ))
            })
            .collect();
        limits.sort_by(|(a, x), (b, y)| y.share.total_cmp(&x.share).then(a.cmp(b)));
        let receiver = receiver(chain, direction);
        let hops = chain
            .hops
            .iter()
            .enumerate()
            .map(|(i, hop)| FlowHop {
                id: hop.id.clone(),
                kind: hop.kind,
                label: hop.label.clone(),
                note: hop.note.clone(),
                ceiling_megabytes_per_s: hop.ceiling.percentiles().into(),
                link_megabits_per_s: hop.signalled.as_ref().map(Column::median),
                link_is_certain: hop.signalled.as_ref().is_some_and(|speed| {
                    let range = speed.percentiles();
                    range.p05 == range.p95
                }),
                if_lifted_megabytes_per_s: limits
                    .iter()
                    .find(|(_, l)| l.hops.len() == 1 && l.hops.first() == Some(&hop.id))
                    .and_then(|(_, l)| l.if_lifted_megabytes_per_s)
                    .filter(|_| i < chain.hops.len()),
                next_better: None,
                when_empty_megabytes_per_s: hop.empty.as_ref().map(|c| c.percentiles().into()),
                step: Sheet::step_of(&hop.ceiling),
                tiring_steps: if Some(i) == receiver {
                    tiring_steps(chain)
                } else {
                    Vec::new()
                },
            })
            .collect();
        let rate: RateRange = percentiles::<DataRate>(&found.values).into();
        let size = terabytes(0.1);
        Self {
            desk,
            array,
            port,
            work: work.activity,
            direction,
            megabytes_per_s: rate,
            branches: branches(&found.values, &chain.forks),
            limits: limits.into_iter().map(|(_, l)| l).collect(),
            hops,
            unknowns: shares(&found.values, unknowns),
            requests_per_s: work.random.map(|piece| RequestRange::of(rate, piece)),
            hundred_gigabytes_s: TimeRange {
                p05: size / rate.p95,
                p50: size / rate.p50,
                p95: size / rate.p05,
            },
            transfer: work.size.map(|size| follow(chain, count, size, direction)),
            need: need.map(|need| Need::of(need, &found.values, &chain.dead)),
            no_link_probability: chain.dead.iter().filter(|d| **d).count() as f64
                / count.max(1) as f64,
            real_copy_share: found.share_of_lowest(),
            rates: found.values,
            steps,
        }
    }

    /// A hop by its id.
    pub fn hop(&self, id: &str) -> Option<&FlowHop> {
        self.hops.iter().find(|h| h.id == id)
    }

    /// The unknown of the site that is worth finding out first.
    pub fn worth_finding_out(&self) -> Option<&UnknownShare> {
        self.unknowns
            .iter()
            .find(|u| u.can_be_found_out && u.share >= 0.05)
    }
}
