use super::course::{Course, Leg, LegVisit, Load, play};
use super::jobs::Job;
use super::ways::{Way, ways};
use crate::allocate::{Demand, ProblemFault, Resource};
use crate::budget::TimeRange;
use crate::quantity::{DataRate, Information, Measure, Ratio, Time, ratio, seconds};
use crate::spread::Draws;
use crate::working::{Percentiles, middle, percentiles};
use std::collections::HashMap;

/// Jobs times cases that are played; beyond ten jobs fewer cases are.
const PLAYED: usize = 40_000;

/// The fewest cases that are played.
const FEWEST: usize = 64;

/// A wait below this share of a job's time is not told.
const WORTH_TELLING: f64 = 0.05;

/// What the ways of a day cost, case by case.
///
/// What several jobs may need at once are resources; what each job has for itself (its window, its
/// requests, its copy tool) is a ceiling of its way.
pub trait Network: Sync {
    /// How many cases there are.
    fn cases(&self) -> usize;
    /// A resource in words.
    fn name(&self, resource: usize) -> String;
    /// What everything costs in a case.
    fn at(&self, case: usize) -> Costs;
}

/// What everything costs in a case.
#[derive(Clone, Debug, PartialEq)]
pub struct Costs {
    /// All resources, in the same order in each case.
    pub resources: Vec<Resource>,
    /// The ways of [`all_ways`] in their order.
    pub ways: Vec<Needs>,
}

/// What a way needs.
#[derive(Clone, Debug, PartialEq)]
pub struct Needs {
    /// Of what may be shared.
    pub visits: Vec<LegVisit>,
    /// What it carries at most if nothing that may be shared were in its way.
    pub alone: Option<DataRate>,
    /// What that limit is, in words.
    pub alone_by: String,
}

/// What becomes of a day.
#[derive(Clone, Debug)]
pub struct Day {
    /// In the order of the list.
    pub jobs: Vec<Played>,
    /// How many cases were played.
    pub cases: usize,
    /// How many cases there are.
    pub of_cases: usize,
}

/// What becomes of a job.
#[derive(Clone, Debug)]
pub struct Played {
    /// The job.
    pub job: Job,
    /// How much it is, in the middle.
    pub size: Information,
    /// When it ends; none where that is never in more than one case of twenty.
    pub ends: Option<TimeRange>,
    /// The share of cases in which it is done when it is due; none without an hour.
    pub in_time: Option<Ratio>,
    /// The share of its bytes that is moved when it is due, in the middle; none without an hour.
    pub done_when_due: Option<Ratio>,
    /// How much later than due it ends in the middle; none where it does not.
    pub late_by: Option<Time>,
    /// The rate from start to end, in the middle, what is read back included.
    pub rate: DataRate,
    /// The rate that it would have needed, the same way; none without an hour.
    pub needs: Option<DataRate>,
    /// What it waits for, with the share of its time, the longest first.
    pub waits: Vec<(String, Ratio)>,
}

impl Day {
    /// Whether all that is due is done in time in the middle of the cases.
    pub fn in_time(&self) -> bool {
        self.jobs.iter().all(Played::is_in_time)
    }
}

impl Played {
    /// Whether it is done in time in most cases; what has no hour has to end some time.
    pub fn is_in_time(&self) -> bool {
        match self.in_time {
            Some(share) => share >= ratio(0.5),
            None => self.ends.is_some(),
        }
    }
}

/// Every way of every job, once.
pub fn all_ways(jobs: &[Job]) -> Vec<Way> {
    let mut found: Vec<Way> = Vec::new();
    for way in jobs.iter().flat_map(ways) {
        if !found.contains(&way) {
            found.push(way);
        }
    }
    found
}

/// One case of a job.
struct Case {
    size: f64,
    course: Course,
    in_time: bool,
    /// Names of waits and their seconds.
    waits: Vec<(String, f64)>,
}

/// Plays a day in many cases: the same jobs with the numbers of each draw.
///
/// `paths` knows the ways of [`all_ways`] in their order. Cases are independent of each other and
/// played on as many threads as there are; the answer does not depend on how many. With more than
/// ten jobs fewer cases are played, the first ones of the draws, 64 at least.
///
/// # Errors
/// As [`crate::allocate::fill`].
///
/// Checked by `verify_a_day_in_one_case_is_the_fluid` and
/// `a_day_does_not_depend_on_the_number_of_threads`.
pub fn day(jobs: &[Job], paths: &dyn Network, draws: &mut Draws) -> Result<Day, ProblemFault> {
    day_on(jobs, paths, draws, crate::workers::processors())
}

pub(super) fn day_on(
    jobs: &[Job],
    paths: &dyn Network,
    draws: &mut Draws,
    threads: usize,
) -> Result<Day, ProblemFault> {
    let all = all_ways(jobs);
    let cases = (PLAYED / jobs.len().max(1)).clamp(FEWEST, paths.cases().max(FEWEST));
    let cases = cases.min(paths.cases().max(1));
    let amounts = Amounts::of(jobs, draws);
    let played = |(): &mut (), case| Some(one_case(jobs, &all, &amounts, paths, case));
    let found = crate::workers::each(cases, threads, || (), played);
    let mut by_job: Vec<Vec<Case>> = jobs.iter().map(|_| Vec::with_capacity(cases)).collect();
    for case in found {
        for (job, case) in by_job.iter_mut().zip(case?) {
            job.push(case);
        }
    }
    Ok(Day {
        jobs: jobs
            .iter()
            .zip(&by_job)
            .map(|(job, cases)| Played::of(job, cases))
            .collect(),
        cases,
        of_cases: paths.cases(),
    })
}

/// Sizes and holds of jobs, drawn.
struct Amounts {
    sizes: Vec<std::sync::Arc<[f64]>>,
    holds: Vec<Option<std::sync::Arc<[f64]>>>,
}

impl Amounts {
    fn of(jobs: &[Job], draws: &mut Draws) -> Self {
        let mut sizes = Vec::with_capacity(jobs.len());
        let mut holds = Vec::with_capacity(jobs.len());
        for (number, job) in jobs.iter().enumerate() {
            let size = format!("job.{}.size", number + 1);
            let hold = format!("job.{}.hold", number + 1);
            let of_hold = if job.one_luck { &size } else { &hold };
            let rate = job.held_to.as_ref();
            holds.push(rate.map(|rate| draws.values(of_hold, rate.law())));
            sizes.push(draws.values(&size, job.size.law()));
        }
        Self { sizes, holds }
    }

    fn at(&self, job: usize, case: usize) -> (f64, Option<f64>) {
        let of = |column: &std::sync::Arc<[f64]>| column.get(case).copied().unwrap_or(f64::NAN);
        let size = self.sizes.get(job).map_or(f64::NAN, of);
        let hold = self.holds.get(job).and_then(Option::as_ref).map(of);
        (size, hold)
    }
}

const HELD: &str = "the rate it is held to";

fn one_case(
    jobs: &[Job],
    all: &[Way],
    amounts: &Amounts,
    paths: &dyn Network,
    case: usize,
) -> Result<Vec<Case>, ProblemFault> {
    let costs = paths.at(case);
    let mut loads = Vec::with_capacity(jobs.len());
    // what stops each job where no full resource does
    let mut stops = Vec::with_capacity(jobs.len());
    for (number, job) in jobs.iter().enumerate() {
        let (size, held) = amounts.at(number, case);
        let mut stop = HELD;
        let mut legs = Vec::new();
        for way in ways(job) {
            let found = all.iter().position(|w| *w == way);
            let Some(needs) = found.and_then(|way| costs.ways.get(way)) else {
                continue;
            };
            let alone = needs.alone.map(Measure::base);
            let most = match (held, alone) {
                (Some(held), Some(alone)) => Some(held.min(alone)),
                (one, other) => one.or(other),
            };
            if alone.is_some_and(|alone| held.is_none_or(|held| alone < held)) {
                stop = &needs.alone_by;
            }
            legs.push(Leg {
                size: Information::from_base(size),
                demand: Demand {
                    weight: 1.0,
                    most: most.map(DataRate::from_base),
                },
                visits: needs.visits.clone(),
            });
        }
        loads.push(Load {
            earliest: job.earliest,
            due: job.due,
            legs,
        });
        stops.push(stop);
    }
    let courses = play(&costs.resources, &loads, &mut |_| {})?;
    let named = |(number, course): (usize, Course)| {
        let stop = stops.get(number).copied().unwrap_or(HELD);
        let name = |wait: &super::Wait| match wait.resource {
            Some(resource) => paths.name(resource),
            None => stop.to_owned(),
        };
        let waits = course.waits.iter().map(|w| (name(w), w.time.base()));
        Case {
            size: amounts.at(number, case).0,
            in_time: course.in_time(jobs.get(number).and_then(|job| job.due)),
            waits: waits.collect(),
            course,
        }
    };
    Ok(courses.into_iter().enumerate().map(named).collect())
}

impl Played {
    fn of(job: &Job, cases: &[Case]) -> Self {
        let count = cases.len().max(1) as f64;
        let ends: Vec<f64> = cases
            .iter()
            .map(|case| case.course.ends.map_or(f64::INFINITY, Measure::base))
            .collect();
        let sizes: Vec<f64> = cases.iter().map(|case| case.size).collect();
        let start = job.earliest.base();
        let times = if job.read_back { 2.0 } else { 1.0 };
        let rates: Vec<f64> = cases
            .iter()
            .zip(&ends)
            .map(|(case, ends)| times * case.size / (ends - start))
            .collect();
        let range: Percentiles<Time> = percentiles(&ends);
        let shares: Vec<f64> = cases
            .iter()
            .filter_map(|case| case.course.done_when_due)
            .map(Measure::base)
            .collect();
        let in_time = cases.iter().filter(|case| case.in_time).count() as f64 / count;
        let size = Information::from_base(middle(&sizes));
        Self {
            size,
            ends: range.p95.base().is_finite().then(|| range.into()),
            in_time: job.due.map(|_| ratio(in_time)),
            done_when_due: job.due.map(|_| ratio(middle(&shares))),
            late_by: job.due.and_then(|due| {
                let late = range.p50 - due;
                (in_time < 0.5 && late > seconds(0.0)).then_some(late)
            }),
            rate: DataRate::from_base(middle(&rates)),
            needs: job
                .due
                .map(|due| crate::volume::backup_rate(size * times, due - job.earliest)),
            waits: waits(cases),
            job: job.clone(),
        }
    }
}

/// Waits of all cases by name, as shares of the time of all.
fn waits(cases: &[Case]) -> Vec<(String, Ratio)> {
    let mut sums: HashMap<&str, f64> = HashMap::new();
    let mut all = 0.0;
    for (name, time) in cases.iter().flat_map(|case| &case.waits) {
        *sums.entry(name).or_default() += time;
        all += time;
    }
    let mut found: Vec<(String, f64)> = sums
        .into_iter()
        .map(|(name, time)| (name.to_owned(), time / all))
        .filter(|(_, share)| *share >= WORTH_TELLING)
        .collect();
    found.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    let of = |(name, share): (String, f64)| (name, ratio(share));
    found.into_iter().map(of).collect()
}
