//! What gaps of the mains come to.

use super::answer::{Gap, GapAnswer, InReserve, Question, USUAL_GAPS, YearAnswer};
use super::lasting::Unit;
use super::loads::Load;
use super::stop::Stopping;
use crate::samples::{KeepingFault, Range, Samples, mean};
use narrows_core::power::{GapLengths, charge_after_gap, charge_after_pause, year_of_gaps};
use narrows_core::quantity::{Measure, Time, ratio, seconds};
use narrows_core::site::{Supply, SupplyKind};

/// Chances of riding through gaps: those that were asked about, or the usual ones.
pub(super) fn chances(
    question: &Question,
    up: &[bool],
    dead: &[f64],
    lasts: &[Time],
) -> Vec<GapAnswer> {
    let rides = |gap: &Gap| {
        let lengths = GapLengths::LogUniform {
            from: gap.from,
            to: gap.to,
        };
        let each: Vec<f64> = up
            .iter()
            .zip(dead)
            .zip(lasts)
            .map(|((up, dead), lasts)| {
                let share = lengths.share_up_to(*lasts).base();
                if *up { (1.0 - dead) * share } else { 0.0 }
            })
            .collect();
        GapAnswer {
            from_s: gap.from,
            to_s: gap.to,
            ridden_probability: mean(&each),
        }
    };
    let usual = USUAL_GAPS.map(|(from, to)| Gap {
        from: seconds(from),
        to: seconds(to),
    });
    match &question.gap {
        Some(gap) => vec![rides(gap)],
        None => usual.iter().map(rides).collect(),
    }
}

pub(super) fn in_a_row(
    question: &Question,
    lasts: &[Time],
    unit: &Unit,
    count: usize,
) -> Vec<InReserve> {
    let (Some(gap), Some(pause)) = (&question.gap, question.pause) else {
        return Vec::new();
    };
    let mut charge = vec![ratio(1.0); count];
    let mut alive = vec![true; count];
    let mut found = Vec::new();
    for number in 1..=question.times.max(1) {
        for i in 0..count {
            charge[i] = charge_after_gap(charge[i], gap.to, lasts[i]);
            alive[i] = alive[i] && charge[i] >= ratio(0.0);
        }
        let left: Vec<f64> = charge.iter().map(|c| c.base().max(0.0)).collect();
        found.push(InReserve {
            gap: number,
            charge: Range::of(&left),
            carried_probability: mean(
                &(0..count)
                    .map(|i| {
                        if alive[i] {
                            1.0 - unit.dead[i].base()
                        } else {
                            0.0
                        }
                    })
                    .collect::<Vec<_>>(),
            ),
        });
        for (left, recharge) in charge.iter_mut().zip(&unit.recharge) {
            *left = charge_after_pause(left.max(ratio(0.0)), pause, *recharge);
        }
    }
    found
}

pub(super) fn year(
    lasts: &[Time],
    stop: Option<&Stopping>,
    dead: &[f64],
    samples: &mut Samples<'_>,
) -> Result<YearAnswer, KeepingFault> {
    let long_count: Vec<f64> = samples.row("gap.long.a-year")?;
    let median: Vec<Time> = samples.row("gap.long.median")?;
    let sigma: Vec<f64> = samples.row("gap.long.sigma")?;
    let short_count: Vec<f64> = samples.row("gap.short.a-year")?;
    let ends = samples.catalogue.number("gap.short.length")?;
    let short = GapLengths::LogUniform {
        from: seconds(ends.low),
        to: seconds(ends.high),
    };
    let (mut missed, mut bare, mut gaps) = (vec![], vec![], vec![]);
    for i in 0..lasts.len() {
        let long = GapLengths::LogNormal {
            median: median[i],
            sigma: sigma[i],
        };
        let wait = stop.map_or(lasts[i], |s| s.wait[i]);
        let found = year_of_gaps(
            (long_count[i], &long),
            (short_count[i], &short),
            (wait, lasts[i]),
            ratio(dead[i]),
        );
        // where stopping does not finish, every long gap that is not ridden is a cut
        let cut = stop.is_some_and(|s| s.takes[i] > lasts[i]);
        missed.push(found.not_ridden);
        bare.push(if cut {
            found.not_ridden
        } else {
            found.unprepared
        });
        gaps.push(long_count[i] + short_count[i]);
    }
    Ok(YearAnswer {
        gaps_a_year: mean(&gaps),
        not_ridden_a_year: mean(&missed),
        unprepared_a_year: mean(&bare),
    })
}

/// Whether everything holds through a change-over, draw by draw, and what most often does not.
pub(super) fn change_over(
    supply: &Supply,
    loads: &[Load],
    samples: &mut Samples<'_>,
) -> Result<(Vec<bool>, Option<String>), KeepingFault> {
    let kinds = samples.choice(&supply.kind);
    let mut columns: Vec<(SupplyKind, Vec<Time>)> = Vec::new();
    for kind in SupplyKind::ALL {
        let row = format!("supply.change-over.{}", kind.word());
        columns.push((kind, samples.row(&row)?));
    }
    let gap = |i: usize| {
        let of = columns.iter().find(|(kind, _)| Some(kind) == kinds.get(i));
        of.map_or(seconds(0.0), |(_, column)| column[i])
    };
    let mut holds = vec![true; samples.count()];
    let mut missed: Vec<(usize, &str)> = Vec::new();
    for load in loads {
        let Some(own) = &load.drawn.holds else {
            continue;
        };
        let mut misses = 0;
        for (i, all) in holds.iter_mut().enumerate() {
            if own[i] <= gap(i) {
                *all = false;
                misses += 1;
            }
        }
        missed.push((misses, &load.id));
    }
    let weakest = missed.iter().max_by_key(|(misses, _)| *misses);
    let weakest = weakest.filter(|(misses, _)| *misses > 0);
    Ok((holds, weakest.map(|(_, id)| (*id).to_owned())))
}
