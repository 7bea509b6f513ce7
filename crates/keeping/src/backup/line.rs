//! Copies that go over a line.

use super::answer::{BacklogAnswer, Moving, NEVER, SPELL};
use super::restores::Holds;
use super::runs::column;
use crate::copies::{Line, backlog, first_copy};
use crate::growth::daily;
use crate::samples::{KeepingFault, Range, Samples};
use narrows_core::quantity::{DataRate, Information, Measure, Ratio, Time, seconds};
use narrows_core::site::CopyPlan;

/// A copy over an access line.
pub(super) struct OverLine {
    pub keeps_up: Vec<bool>,
    pub backlog: BacklogAnswer,
    pub cap: Information,
    pub daily: Information,
}

pub(super) const DAY: f64 = 86_400.0;

pub(super) fn over_line(
    plan: &CopyPlan,
    holds: &Holds<'_>,
    samples: &mut Samples<'_>,
) -> Result<Option<OverLine>, KeepingFault> {
    let Some(contract) = plan.contract.as_ref().filter(|_| plan.kind.has_line()) else {
        return Ok(None);
    };
    let rate: Vec<DataRate> = samples.value(contract);
    let efficiency: Vec<Ratio> = samples.row("copy.efficiency.line")?;
    let window = plan.window.unwrap_or(seconds(DAY));
    let (caps, daily) = {
        let caps: Vec<Information> = (0..samples.count())
            .map(|i| {
                let line = Line {
                    contract: rate[i],
                    efficiency: efficiency[i],
                };
                line.passes(window)
            })
            .collect();
        let daily: Vec<Information> = match &plan.changes {
            Some(changes) => {
                let per_day = DAY / plan.every.base();
                samples
                    .value(changes)
                    .iter()
                    .map(|c| *c * per_day)
                    .collect()
            }
            None => daily(holds.site, samples)?
                .iter()
                .map(|d| *d * plan.part)
                .collect(),
        };
        (caps, daily)
    };
    let cap = Range::of(&caps).p50;
    let usual = Range::of(&daily).p50;
    let shooting = match &holds.site.project {
        Some(project) => {
            let month = 365.25 / 12.0;
            usual * (month / project.shooting_days.value.median()).max(1.0)
        }
        None => usual,
    };
    let waits = backlog(SPELL, shooting, cap);
    Ok(Some(OverLine {
        keeps_up: (0..samples.count()).map(|i| daily[i] < caps[i]).collect(),
        backlog: BacklogAnswer {
            largest_bytes: waits.largest,
            clear_day: waits.clear,
        },
        cap,
        daily: usual,
    }))
}

pub(super) fn first_copy_of(
    plan: &CopyPlan,
    holds: &Holds<'_>,
    line: Option<&OverLine>,
) -> Option<f64> {
    let line = line?;
    let held = Range::of(holds.held).p50 * plan.part;
    first_copy(held, line.daily, line.cap)
}

/// How long a run takes: looking for changes, then its bytes as the day plays them.
pub(super) fn lasts(
    plan: &CopyPlan,
    moving: &Moving,
    holds: &Holds<'_>,
    samples: &mut Samples<'_>,
) -> Result<Vec<Time>, KeepingFault> {
    let count = samples.count();
    if moving.job.is_none() {
        return Ok(vec![seconds(0.0); count]);
    }
    let never = Range {
        p05: seconds(NEVER),
        p50: seconds(NEVER),
        p95: seconds(NEVER),
    };
    let range = moving.range.unwrap_or(never);
    let bytes = column(&format!("copy.{}/run", plan.name), &range, samples);
    let files: Vec<Information> = samples.row("copy.file-size")?;
    let looking: Vec<Time> = samples.row("copy.looking")?;
    // a window stretches a run over the days that it needs
    let stretch = plan.window.map_or(1.0, |w| (86_400.0 / w.base()).max(1.0));
    Ok((0..count)
        .map(|i| {
            let looks = looking[i] * (holds.held[i] * plan.part / files[i]).base();
            let moves = bytes[i];
            let window = plan.window.unwrap_or(moves);
            looks
                + if moves > window {
                    moves * stretch
                } else {
                    moves
                }
        })
        .collect())
}

pub(super) fn noticed(
    plan: &CopyPlan,
    samples: &mut Samples<'_>,
) -> Result<Vec<Time>, KeepingFault> {
    let watched = samples.choice(&plan.watched);
    let soon: Vec<Time> = samples.row("copy.noticed.watched")?;
    let late: Vec<Time> = samples.row("copy.noticed.not-watched")?;
    Ok((0..samples.count())
        .map(|i| if watched[i] { soon[i] } else { late[i] })
        .collect())
}
