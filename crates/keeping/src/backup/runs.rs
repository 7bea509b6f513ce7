//! A run of a copy as a job of a day.

use crate::growth::daily;
use crate::samples::{KeepingFault, Range, Samples};
use narrows_core::catalogue::Catalogue;
use narrows_core::day::{self, Job, Spot};
use narrows_core::quantity::{DataRate, Information, Measure, Ratio, Time, seconds};
use narrows_core::site::{CopyKind, CopyPlan, Site};
use narrows_core::spread::{Bounds, Draws, Spread};

/// The runs of all copies of a site, as jobs of a day, with the names of their copies.
///
/// Snapshots move nothing. A carried drive with a desk is a job to that desk that does not touch its
/// disk; every other copy leaves the NAS and is held to what its target or its line takes.
///
/// # Errors
/// Where nothing says what comes in and a copy does not say what it moves.
pub fn jobs(
    site: &Site,
    catalogue: &Catalogue,
    draws: &mut Draws,
) -> Result<Vec<(String, Job)>, KeepingFault> {
    let mut samples = Samples { catalogue, draws };
    let mut found = Vec::new();
    for plan in &site.copies {
        if let Some(job) = run(site, plan, &mut samples)? {
            found.push((plan.name.clone(), job));
        }
    }
    Ok(found)
}

/// One run; none of a copy that moves nothing.
pub(crate) fn run(
    site: &Site,
    plan: &CopyPlan,
    samples: &mut Samples<'_>,
) -> Result<Option<Job>, KeepingFault> {
    if plan.kind == CopyKind::Snapshots {
        return Ok(None);
    }
    let size = brings(site, plan, samples)?;
    Ok(Some(out(plan, size, samples)?))
}

/// A job from the array to where a copy is.
pub(crate) fn out(
    plan: &CopyPlan,
    size: Spread<Information>,
    samples: &mut Samples<'_>,
) -> Result<Job, KeepingFault> {
    Ok(Job {
        what: format!("copy {}", plan.name),
        from: Spot::Array(plan.array.clone()),
        to: end(plan),
        size,
        earliest: plan.begins,
        due: None,
        held_to: Some(takes(plan, true, samples)?),
        plays: true,
        one_luck: false,
        read_back: false,
    })
}

/// A job from where a copy is to the array.
pub(crate) fn back(
    plan: &CopyPlan,
    size: Spread<Information>,
    samples: &mut Samples<'_>,
) -> Result<Job, KeepingFault> {
    Ok(Job {
        what: format!("back from {}", plan.name),
        from: end(plan),
        to: Spot::Array(plan.array.clone()),
        size,
        earliest: seconds(0.0),
        due: None,
        held_to: Some(takes(plan, false, samples)?),
        plays: true,
        one_luck: false,
        read_back: false,
    })
}

fn end(plan: &CopyPlan) -> Spot {
    match &plan.desk {
        Some(desk) => Spot::Desk(desk.clone()),
        None => Spot::Outside,
    }
}

/// A spread through the percentiles of a column.
pub(crate) fn through<Q: Measure>(values: &[Q]) -> Spread<Q> {
    let range = Range::of(values);
    Spread::percentiles(range.p05, range.p50, range.p95, Bounds::POSITIVE)
        .unwrap_or_else(|_| Spread::exact(range.p50))
}

/// What a copy's target takes, or gives back: its own rate, and its line's.
fn takes(
    plan: &CopyPlan,
    up: bool,
    samples: &mut Samples<'_>,
) -> Result<Spread<DataRate>, KeepingFault> {
    let count = samples.count();
    let own: Option<Vec<DataRate>> = match (&plan.rate, plan.kind) {
        (Some(rate), _) => Some(samples.value(rate)),
        (None, CopyKind::Upload | CopyKind::Snapshots) => None,
        (None, kind) => Some(samples.row(&format!("copy.rate.{}", kind.word()))?),
    };
    let contract = if up {
        plan.contract.as_ref()
    } else {
        plan.down.as_ref().or(plan.contract.as_ref())
    };
    let line: Option<Vec<DataRate>> = match contract {
        Some(contract) => {
            let efficiency: Vec<Ratio> = samples.row("copy.efficiency.line")?;
            let contract = samples.value(contract);
            Some((0..count).map(|i| contract[i] * efficiency[i]).collect())
        }
        None => None,
    };
    let share: Vec<Ratio> = if up {
        vec![narrows_core::quantity::ratio(1.0); count]
    } else {
        samples.row("copy.restore.share")?
    };
    let each: Vec<DataRate> = (0..count)
        .map(|i| {
            let rates = [own.as_ref().map(|o| o[i]), line.as_ref().map(|l| l[i])];
            let least = rates.into_iter().flatten().map(Measure::base);
            DataRate::from_base(least.fold(f64::INFINITY, f64::min)) * share[i]
        })
        .collect();
    Ok(through(&each))
}

/// What comes in between two runs.
fn brings(
    site: &Site,
    plan: &CopyPlan,
    samples: &mut Samples<'_>,
) -> Result<Spread<Information>, KeepingFault> {
    if let Some(changes) = &plan.changes {
        return Ok(changes.value.clone());
    }
    let daily = daily(site, samples)?;
    let days = plan.every.base() / 86_400.0;
    let each: Vec<Information> = daily.iter().map(|d| *d * days * plan.part).collect();
    Ok(through(&each))
}

/// How long jobs take that run beside others, from their start; none where one never ends.
///
/// # Errors
/// Where the site has no way for a job.
pub(crate) fn played(
    site: &Site,
    jobs: &[Job],
    catalogue: &Catalogue,
    draws: &mut Draws,
) -> Result<Vec<Option<Range<Time>>>, KeepingFault> {
    if jobs.is_empty() {
        return Ok(Vec::new());
    }
    let ways = day::paths(site, jobs, catalogue, draws)?;
    let found = day::day(jobs, &ways, draws).map_err(|fault| {
        KeepingFault::Budget(narrows_core::budget::BudgetFault::Model {
            place: "copy".to_owned(),
            problem: fault.to_string(),
        })
    })?;
    let lasts = |job: &day::Played| {
        let start = job.job.earliest;
        job.ends.map(|ends| Range {
            p05: ends.p05 - start,
            p50: ends.p50 - start,
            p95: ends.p95 - start,
        })
    };
    Ok(found.jobs.iter().map(lasts).collect())
}

/// A column with the percentiles of a range.
pub(crate) fn column(name: &str, range: &Range<Time>, samples: &mut Samples<'_>) -> Vec<Time> {
    let spread = Spread::percentiles(range.p05, range.p50, range.p95, Bounds::POSITIVE)
        .unwrap_or_else(|_| Spread::exact(range.p50));
    samples.spread(name, &spread)
}
