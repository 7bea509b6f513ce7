use super::Observations;
use super::found::Verdict;
use super::inference::{Hypothesis, Inference, Posterior};
use super::observed::Observed;
use super::say::{expected, main_reading};
use super::scenarios::Scenarios;
use super::statement::{Standing, standing};
use crate::quantity::Measure;

/// A verdict needs so much of the probability behind it.
const MAJORITY: f64 = 0.5;

/// Normal or not.
pub(crate) fn verdict(
    told: &Observations,
    inference: &Inference<'_>,
    posteriors: &[Posterior],
    scenarios: &Scenarios<'_>,
) -> Verdict {
    let main = main_reading(inference).map(|h| (h.likeliest(), expected(h, scenarios)));
    // nothing known makes it: whether it is too little or too much is known all the same
    let other = match main {
        Some((measured, ways)) if !ways.is_empty() => {
            let most = ways.iter().map(|way| way.rates[2].base());
            if measured > most.fold(0.0, f64::max) {
                Verdict::TooFast
            } else {
                Verdict::Slow
            }
        }
        _ => Verdict::Unclear,
    };
    let below = |o: &Observed| standing(o, scenarios) == Some(Standing::Below);
    let better = inference
        .remarks
        .iter()
        .any(|r| inference.evidence.is_better(&r.id));
    let mut of = Verdict::ALL.map(|verdict| (verdict, 0.0));
    for posterior in posteriors {
        let verdict = match posterior.what {
            Hypothesis::Healthy { row, .. } => inference.causes[row].weighs,
            Hypothesis::One(s) => inference.causes[inference.candidates[s].cause].weighs,
            Hypothesis::Two(a, b) => {
                let weighs = [a, b].map(|s| inference.causes[inference.candidates[s].cause].weighs);
                if weighs.contains(&Verdict::Slow) {
                    Verdict::Slow
                } else {
                    weighs[0]
                }
            }
            Hypothesis::Other => other,
        };
        let verdict = match verdict {
            Verdict::Unclear if better => Verdict::Slow,
            verdict => verdict,
        };
        for (v, sum) in &mut of {
            if *v == verdict {
                *sum += posterior.probability;
            }
        }
    }
    let best = of.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1));
    let verdict = match best {
        Some((verdict, sum)) if sum >= MAJORITY => verdict,
        _ => Verdict::Unclear,
    };
    let no_remark = inference.remarks.is_empty();
    match verdict {
        Verdict::Slow if no_remark && as_expected(inference, scenarios) => Verdict::Normal,
        Verdict::Unclear | Verdict::TooFast if no_remark && as_expected(inference, scenarios) => {
            if inference.observed.iter().any(|o| is_wide(o, scenarios)) {
                Verdict::Unclear
            } else {
                Verdict::Normal
            }
        }
        // what no place gives is too much for a fault and for a link; drives in order scatter more than one place
        Verdict::Slow | Verdict::Unclear if !better && is_beyond(inference, scenarios) => {
            Verdict::TooFast
        }
        // it can be better, so what it is now is not as it should be
        Verdict::Normal if can_be_better(told, inference, scenarios) => Verdict::Slow,
        Verdict::Normal
            if no_remark && is_a_link(inference, posteriors) && is_beyond(inference, scenarios) =>
        {
            Verdict::TooFast
        }
        // less than one place in twenty gives is too little, whichever cause it is
        Verdict::Unclear if main_reading(inference).is_some_and(below) => Verdict::Slow,
        verdict => verdict,
    }
}

/// By wire it is better than through the air, as it should be.
const WIRED: &str = "wired-better";

/// Whether a better figure was told that this place could give: one that no way of it gives is of another place.
///
/// Checked by `a_better_figure_that_the_place_can_give_is_no_good_news`.
fn can_be_better(
    told: &Observations,
    inference: &Inference<'_>,
    scenarios: &Scenarios<'_>,
) -> bool {
    let Some(observed) = main_reading(inference) else {
        return false;
    };
    let most = most_of(observed, scenarios);
    // what is as good as the best places give cannot be much better
    let room = observed.likeliest() * BEYOND <= most;
    told.remarks.iter().any(|remark| {
        let rate = remark.rate.as_ref().map(|rate| rate.likeliest().base());
        let can = rate.map_or(room, |rate| rate <= most * BEYOND);
        can && inference.evidence.is_better(&remark.id) && remark.id != WIRED
    })
}

/// What one place in twenty gives or more, the way in which it is most.
fn most_of(observed: &Observed, scenarios: &Scenarios<'_>) -> f64 {
    let ways = expected(observed, scenarios);
    let each = ways.iter().map(|way| way.rates[2].base());
    each.fold(0.0, f64::max)
}

/// Whether it is a link that is at its limit, most likely.
fn is_a_link(inference: &Inference<'_>, posteriors: &[Posterior]) -> bool {
    let likeliest = posteriors
        .iter()
        .max_by(|a, b| a.probability.total_cmp(&b.probability));
    likeliest.is_some_and(|posterior| match posterior.what {
        Hypothesis::Healthy { row, .. } => inference.causes[row].family == "wire-limit",
        _ => false,
    })
}

/// So much more than one place in twenty gives is more than scatter.
const BEYOND: f64 = 1.2;

/// Whether the number that is spoken of is more than any way of it gives.
fn is_beyond(inference: &Inference<'_>, scenarios: &Scenarios<'_>) -> bool {
    main_reading(inference).is_some_and(|observed| {
        let most = most_of(observed, scenarios);
        most > 0.0 && observed.likeliest() > most * BEYOND
    })
}

/// A range of such a factor says little of a number that lies in it.
const WIDE: f64 = 10.0;

fn is_wide(observed: &Observed, scenarios: &Scenarios<'_>) -> bool {
    expected(observed, scenarios).iter().any(|way| {
        let [low, _, high] = way.rates.map(Measure::base);
        high > low * WIDE
    })
}

/// Whether every number lies within the range that is expected of it where nothing is at fault: what one place in twenty or
/// more reads is no fault by itself, however well a cause would give it.
///
/// Checked by `property_a_number_that_is_expected_is_not_called_a_fault`.
fn as_expected(inference: &Inference<'_>, scenarios: &Scenarios<'_>) -> bool {
    let inside = |observed: &Observed| {
        matches!(
            standing(observed, scenarios),
            Some(Standing::Low(_) | Standing::Within)
        )
    };
    !inference.observed.is_empty() && inference.observed.iter().all(inside)
}
