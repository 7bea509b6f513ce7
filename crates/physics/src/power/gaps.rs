use super::in_watts;
use narrows_units::quantity::{Energy, Measure, Power, Ratio, Time, ratio};
use narrows_units::spread::normal_share;

/// How long gaps of a kind are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum GapLengths {
    /// Log-normal: the median, and the deviation of the logarithm.
    LogNormal {
        /// Median.
        median: Time,
        /// Deviation of the logarithm.
        sigma: f64,
    },
    /// Evenly spread over the logarithm between two lengths.
    LogUniform {
        /// Shortest.
        from: Time,
        /// Longest.
        to: Time,
    },
}

impl GapLengths {
    /// The share of gaps that are no longer than a time.
    ///
    /// `Phi(ln(t / median) / sigma)`, or `ln(t / from) / ln(to / from)` between the ends. Checked by
    /// `validate_lengths_of_gaps`.
    pub fn share_up_to(&self, time: Time) -> Ratio {
        if time.base() <= 0.0 {
            return ratio(0.0);
        }
        match *self {
            Self::LogNormal { median, sigma } => {
                ratio(normal_share(libm::log(time.base() / median.base()) / sigma))
            }
            Self::LogUniform { from, to } => {
                if to <= from {
                    return ratio(if time >= to { 1.0 } else { 0.0 });
                }
                let whole = libm::log(to.base() / from.base());
                let part = libm::log(time.base() / from.base());
                ratio((part / whole).clamp(0.0, 1.0))
            }
        }
    }
}

/// A year of gaps with a battery.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct YearOfGaps {
    /// Gaps that come through in spite of the battery.
    pub not_ridden: f64,
    /// Those of them in which power just goes, since the battery is dead.
    pub unprepared: f64,
}

/// Gaps of a year that are not ridden.
///
/// `n_s` long gaps of lengths `long`, `n_m` short ones; `wait` is how long the unit waits before
/// it stops everything in order, `lasts` its minutes, `dead` q:
/// `n_s [1 - (1 - q) F_s(wait)] + n_m [1 - (1 - q) F_m(lasts)]`. Unprepared are `q (n_s + n_m)`;
/// where stopping does not finish, more are. Checked by `validate_a_year_of_gaps` and
/// `verify_a_year_by_simulation`.
pub fn year_of_gaps(
    (long_count, long): (f64, &GapLengths),
    (short_count, short): (f64, &GapLengths),
    (wait, lasts): (Time, Time),
    dead: Ratio,
) -> YearOfGaps {
    let alive = 1.0 - dead.base();
    let missed = |count: f64, share: Ratio| count * (1.0 - alive * share.base());
    YearOfGaps {
        not_ridden: missed(long_count, long.share_up_to(wait))
            + missed(short_count, short.share_up_to(lasts)),
        unprepared: dead.base() * (long_count + short_count),
    }
}

/// Share of the charge that is left after a gap: `c - G / t`; below zero the unit stopped.
pub fn charge_after_gap(charge: Ratio, gap: Time, lasts: Time) -> Ratio {
    ratio(charge.base() - gap.base() / lasts.base())
}

/// Share of a full charge that comes back in the time a recharge is quoted for.
const RECHARGED: f64 = 0.9;

/// Share of the charge after a pause with mains: `c + .9 pause / t_recharge`, at most full.
///
/// Checked by `validate_gaps_in_a_row`.
pub fn charge_after_pause(charge: Ratio, pause: Time, recharge: Time) -> Ratio {
    ratio((charge.base() + RECHARGED * pause.base() / recharge.base()).min(1.0))
}

/// Energy that a gap takes from the battery at a direct power.
pub fn energy_of_gap(direct: Power, gap: Time) -> Energy {
    Energy::from_base(in_watts(direct) * gap.base())
}
