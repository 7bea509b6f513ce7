//! What the same place gave at another time: it says of the draws which of them this place can be.

use super::Observations;
use super::observed::{Observed, Scatter, Unit, log_of};
use super::reading::RateReading;
use super::scenarios::Scenarios;
use crate::quantity::Measure;

/// Remarks whose rate was read at the same place before something changed.
const EARLIER: [&str; 2] = ["better-before", "after-update"];

/// Weighs draws by rates that were read at the same place before, with nothing at fault: what is slow now was not so then,
/// so that no limit of the place explains it.
///
/// Checked by `a_better_figure_from_before_speaks_for_a_change`.
pub(crate) fn weigh(
    told: &Observations,
    observed: &[Observed],
    scenarios: &mut Scenarios<'_>,
    scatter: &Scatter,
) {
    for remark in &told.remarks {
        let Some(rate) = &remark.rate else { continue };
        if !EARLIER.contains(&remark.id.as_str()) {
            continue;
        }
        let Some(then) = of(rate, remark.desk.as_deref(), observed) else {
            continue;
        };
        let mut densities = vec![0.0; scenarios.count()];
        let law = then.law(Unit::Written, scatter);
        for (ask, weight) in &then.asks {
            let Some(made) = scenarios.made(ask) else {
                continue;
            };
            for (sum, rate) in densities.iter_mut().zip(&made.healthy) {
                *sum += weight * law.at(log_of(*rate));
            }
        }
        scenarios.weigh_by(&densities);
    }
}

/// The rate as a reading like the slowest of the same desk that it is better than.
fn of(rate: &RateReading, desk: Option<&str>, observed: &[Observed]) -> Option<Observed> {
    let better = rate.likeliest().base();
    let own = observed.iter().filter(|o| {
        desk.is_none_or(|desk| o.desk == desk) && o.is_over_the_network() && o.likeliest() < better
    });
    let slowest = own.min_by(|a, b| a.likeliest().total_cmp(&b.likeliest()))?;
    Some(slowest.with(rate))
}
