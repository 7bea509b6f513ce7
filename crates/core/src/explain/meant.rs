//! Which unit a number was in: of those that it may be in, the one in which what is likeliest gives it.

use super::inference::{Hypothesis, Inference, Posterior};
use super::observed::{Observed, Unit};
use super::say::{predicted, touched_by};
use super::scenarios::Scenarios;
use crate::quantity::Measure;

/// A cause below this says nothing about a unit.
const LEAST: f64 = 0.02;

/// Meanings that are no further apart than this are one number; the likelier before anything is known stays.
const ALIKE: f64 = 1.1;

/// A range from the 5th to the 95th percentile has so many widths of a bell.
const WIDTHS: f64 = 2.0 * 1.645;

/// Readings whose first meaning is the one that is likeliest given everything told, so that the number that is spoken of is the
/// number that was weighed.
///
/// With `P(h)` the probability of an explanation, `w_m` the weight of a meaning before anything is known and `f(m | h)` the density of
/// its rate in what `h` predicts, a meaning has `sum_h P(h) w_m f(m | h) / sum_m' w_m' f(m' | h)`. Predictions are taken as
/// log-normal between their percentiles. A meaning that the text denies is the cause "the unit is mistaken" and is never taken here.
/// Checked by `a_number_is_spoken_of_in_the_unit_that_its_cause_gives_it`.
pub(crate) fn taken(
    inference: &Inference<'_>,
    posteriors: &[Posterior],
    scenarios: &Scenarios<'_>,
) -> Vec<Observed> {
    let one = |observed: &Observed| {
        let rates = observed.meanings();
        let (mut least, mut most) = (f64::INFINITY, 0.0f64);
        for (rate, _) in &rates {
            least = least.min(*rate);
            most = most.max(*rate);
        }
        if most <= least * ALIKE {
            return observed.clone();
        }
        let mut scores = vec![0.0; rates.len()];
        for posterior in posteriors.iter().filter(|p| p.probability >= LEAST) {
            let each = under(observed, &rates, posterior, inference, scenarios);
            let sum: f64 = each.iter().sum();
            if sum > 0.0 {
                for (score, part) in scores.iter_mut().zip(&each) {
                    *score += posterior.probability * part / sum;
                }
            }
        }
        // meanings that are alike count together
        let alike = |a: f64, b: f64| a.max(b) <= a.min(b) * ALIKE;
        let total = |at: usize| -> f64 {
            let own = rates.get(at).map_or(0.0, |(rate, _)| *rate);
            let all = rates.iter().zip(&scores);
            all.filter(|((rate, _), _)| alike(*rate, own))
                .map(|(_, score)| score)
                .sum()
        };
        let mut best = 0;
        for at in 1..rates.len() {
            if total(at) > total(best) {
                best = at;
            }
        }
        observed.meaning(best)
    };
    inference.observed.iter().map(one).collect()
}

/// How well each meaning fits what an explanation predicts, times its weight.
fn under(
    observed: &Observed,
    rates: &[(f64, f64)],
    posterior: &Posterior,
    inference: &Inference<'_>,
    scenarios: &Scenarios<'_>,
) -> Vec<f64> {
    let slips = |h: &Hypothesis| {
        let slip = |e: &&super::effect::Effect| e.change == super::cause::Change::Slip;
        inference.effects(h).iter().any(slip)
    };
    if posterior.what == Hypothesis::Other || slips(&posterior.what) {
        return vec![0.0; rates.len()];
    }
    let effects = if touched_by(inference, &posterior.what, observed) {
        inference.effects(&posterior.what)
    } else {
        Vec::new()
    };
    let ways = predicted(observed, &effects, scenarios);
    let scatter = inference.scatter;
    let density = |rate: f64| {
        let each = ways.iter().map(|way| {
            let [low, middle, high] = way.rates.map(|r| libm::log(r.base().max(1.0)));
            let spread = (high - low) / WIDTHS;
            let own = scatter.about;
            let width = libm::sqrt(spread * spread + own * own);
            let off = (libm::log(rate.max(1.0)) - middle) / width;
            libm::exp(-0.5 * off * off) / width
        });
        each.fold(0.0, f64::max)
    };
    rates
        .iter()
        .map(|(rate, weight)| weight * density(*rate))
        .collect()
}

impl Observed {
    /// The rates that the text may mean with their weights, the likeliest before anything is known first.
    fn meanings(&self) -> Vec<(f64, f64)> {
        self.numbers_of(Unit::Written)
    }
}
