//! How long until one project, and everything, is back.

use super::runs::{back, column, played};
use crate::copies::Restore;
use crate::growth::read_rate;
use crate::samples::{KeepingFault, Range, Samples};
use narrows_core::quantity::{DataRate, Information, Measure, Time, seconds};
use narrows_core::site::{CopyKind, CopyPlan, Site};
use narrows_core::spread::Spread;
use narrows_core::work::{Activity, Direction};
use serde::Serialize;

/// Until work goes on.
#[derive(Clone, Debug, Serialize)]
pub struct RestoreAnswer {
    /// Until one project is back on the array that is still there.
    pub project: Back,
    /// Until everything is back on new hardware; none where it lies on the array itself.
    pub everything: Option<Back>,
}

/// A restore, part by part.
#[derive(Clone, Debug, Serialize)]
#[allow(clippy::struct_field_names)] // keys of the contract
pub struct Back {
    /// How much it is.
    pub size_bytes: Range<Information>,
    /// Noticing, deciding, hardware, fetching.
    pub before_s: Range<Time>,
    /// Moving the data.
    pub moving_s: Range<Time>,
    /// All of it, read back and checked, failed attempts included.
    pub takes_s: Range<Time>,
}

/// A restore that never ends is told as a century.
const NEVER: f64 = 100.0 * 31_536_000.0;

/// What a restore needs to know of an array.
pub(crate) struct Holds<'a> {
    pub site: &'a Site,
    /// What one project is, and everything.
    pub project: &'a [Information],
    pub held: &'a [Information],
}

pub(crate) fn restores(
    of: &Holds<'_>,
    plan: &CopyPlan,
    samples: &mut Samples<'_>,
) -> Result<RestoreAnswer, KeepingFault> {
    let part = |sizes: &[Information]| -> Vec<Information> {
        sizes.iter().map(|s| *s * plan.part).collect()
    };
    let project = one(of.site, plan, &part(of.project), false, samples)?;
    let everything = if plan.kind == CopyKind::Snapshots {
        None
    } else {
        Some(one(of.site, plan, &part(of.held), true, samples)?)
    };
    Ok(RestoreAnswer {
        project,
        everything,
    })
}

fn one(
    site: &Site,
    plan: &CopyPlan,
    sizes: &[Information],
    new_hardware: bool,
    samples: &mut Samples<'_>,
) -> Result<Back, KeepingFault> {
    let count = samples.count();
    let decide: Vec<Time> = samples.row("copy.restore.decide")?;
    let hardware: Vec<Time> = samples.row("copy.restore.hardware")?;
    let fetch: Vec<Time> = samples.row("copy.restore.fetch")?;
    let wake: Vec<Time> = samples.row("copy.restore.wake")?;
    let nothing = seconds(0.0);
    let before: Vec<Time> = (0..count)
        .map(|i| {
            let hardware = if new_hardware { hardware[i] } else { nothing };
            let fetch = match plan.kind {
                CopyKind::Carried => fetch[i],
                CopyKind::Upload => wake[i],
                _ => nothing,
            };
            // the drive is fetched while the hardware is on its way
            let longer = if hardware > fetch { hardware } else { fetch };
            decide[i] + longer
        })
        .collect();
    let moving = moving(site, plan, sizes, new_hardware, samples)?;
    let each: Vec<Time> = {
        let files: Vec<Information> = samples.row("copy.file-size")?;
        let looking: Vec<Time> = samples.row("copy.looking")?;
        (0..count)
            .map(|i| looking[i] * (sizes[i] / files[i]).base())
            .collect()
    };
    let check = read_rate(
        site,
        &plan.array,
        (Activity::AtTheArray, Direction::Read),
        samples,
    )?;
    let attempts = attempts(plan, samples)?;
    let mut all = Vec::with_capacity(count);
    for i in 0..count {
        let restore = Restore {
            before: before[i],
            size: sizes[i],
            rate: sizes[i] / moving[i],
            files: 1.0,
            each: each[i],
            checked_at: Some(check[i]),
        };
        let once = restore.takes();
        // hardware and fetching are done once, moving as often as it fails
        all.push(once + (once - before[i]) * (attempts[i] - 1.0));
    }
    Ok(Back {
        size_bytes: Range::of(sizes),
        before_s: Range::of(&before),
        moving_s: Range::of(&moving),
        takes_s: Range::of(&all),
    })
}

/// The bytes' own time: a job of a day alone, or the array's own writing for snapshots.
fn moving(
    site: &Site,
    plan: &CopyPlan,
    sizes: &[Information],
    everything: bool,
    samples: &mut Samples<'_>,
) -> Result<Vec<Time>, KeepingFault> {
    let count = samples.count();
    if plan.kind == CopyKind::Snapshots {
        let rate = read_rate(
            site,
            &plan.array,
            (Activity::AtTheArray, Direction::Write),
            samples,
        )?;
        let rate: Vec<DataRate> = rate;
        return Ok((0..count).map(|i| sizes[i] / rate[i]).collect());
    }
    // alone its time is in proportion to its size, whose luck is not that of the rate
    let middle = Range::of(sizes).p50;
    let job = back(plan, Spread::exact(middle), samples)?;
    let found = played(site, &[job], samples.catalogue, samples.draws)?;
    let never = Range {
        p05: seconds(NEVER),
        p50: seconds(NEVER),
        p95: seconds(NEVER),
    };
    let range = found.into_iter().next().flatten().unwrap_or(never);
    let what = if everything { "everything" } else { "project" };
    let times = column(&format!("copy.{}/back/{what}", plan.name), &range, samples);
    let scaled = times.iter().zip(sizes);
    Ok(scaled
        .map(|(time, size)| *time * (*size / middle))
        .collect())
}

fn attempts(plan: &CopyPlan, samples: &mut Samples<'_>) -> Result<Vec<f64>, KeepingFault> {
    // snapshots are not fetched from anywhere
    if plan.kind == CopyKind::Snapshots {
        return Ok(vec![1.0; samples.count()]);
    }
    let tried = samples.choice(&plan.tried);
    let mut columns = Vec::new();
    for word in narrows_core::site::Tried::ALL {
        let column: Vec<f64> = samples.row(&format!("copy.attempts.{}", word.word()))?;
        columns.push((word, column));
    }
    let of = |i: usize| {
        let found = columns.iter().find(|(word, _)| *word == tried[i]);
        found.map_or(1.0, |(_, column)| column[i])
    };
    Ok((0..samples.count()).map(of).collect())
}
