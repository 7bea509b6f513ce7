use super::in_years;
use crate::copper::{Celsius, Kelvins};
use narrows_units::quantity::{Measure, Ratio, Time, ratio};

/// Temperature and the share of the rated charge there.
const BY_TEMPERATURE: [(f64, f64); 5] = [
    (-15.0, 0.65),
    (0.0, 0.85),
    (10.0, 0.9),
    (25.0, 1.0),
    (40.0, 1.02),
];

/// Share of its life after which a block begins to lose charge.
const FULL_UNTIL: f64 = 0.6;

/// Share of its charge that a block has at the end of its life.
const AT_THE_END: f64 = 0.8;

/// Share of its rated charge that a lead block has at a temperature.
///
/// Straight lines between -15, 0, 10, 25 and 40 C, and level beyond. For the 20 hour rate; at 5 to
/// 15 min the loss below 25 C is 1.3 to 1.5 times as large. Source: two makers' sheets of sealed
/// blocks. Checked by `validate_temperature_and_age`.
pub fn temperature_factor(at: Celsius) -> Ratio {
    let mut before = (f64::NEG_INFINITY, 0.0);
    for (degrees, share) in BY_TEMPERATURE {
        if at.0 <= degrees {
            let (from, start) = before;
            return ratio(if from.is_finite() {
                start + (share - start) * (at.0 - from) / (degrees - from)
            } else {
                share
            });
        }
        before = (degrees, share);
    }
    ratio(before.1)
}

/// How fast a battery ages.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ageing {
    /// Life at 25 C.
    pub life: Time,
    /// Warming that halves it.
    pub halving: Kelvins,
}

/// Life at a temperature: `L25 2^(-(T - 25) / h)`.
///
/// Source: sheets that halve life every 8.3 K, others every 10 K. Checked by
/// `validate_temperature_and_age`.
pub fn life(ageing: &Ageing, at: Celsius) -> Time {
    ageing.life * libm::exp2(-(at.0 - 25.0) / ageing.halving.0)
}

/// Share of its charge that a battery of an age still has.
///
/// Full up to .6 of its life, then straight to .8 at its end, and on with the same slope; never
/// below zero. Source: a guideline that ends service at 80 %, and judgement for the flat part.
/// Checked by `validate_temperature_and_age`.
pub fn age_factor(age: Time, life: Time) -> Ratio {
    let spent = age.base() / life.base();
    let lost = (1.0 - AT_THE_END) * (spent - FULL_UNTIL) / (1.0 - FULL_UNTIL);
    ratio((1.0 - lost.max(0.0)).max(0.0))
}

/// How a battery is looked after, and how blocks die.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BatteryChecks {
    /// `s`: age at which 63 % of blocks are dead.
    pub scale: Time,
    /// `k`: shape of the law.
    pub shape: f64,
    /// `c`: share of faults that the unit's own test sees.
    pub seen: Ratio,
    /// `tau`: time between two tests.
    pub between: Time,
    /// `r`: until a dead battery is replaced.
    pub replaced: Time,
}

/// The chance that a string of blocks is dead when it is asked and nobody knows.
///
/// `F(x) = 1 - exp(-(x / s)^k)`, nothing below zero; one block
/// `q1 = (1 - c) F(a) + c [F(a) - F(a - tau / 2 - r)]`; a string of m in series, which one open cell
/// stops, `1 - (1 - q1)^m`. Form and numbers by judgement: no public figure for small units exists.
/// Checked by `validate_dead_when_asked` and `verify_dead_batteries_by_simulation`.
pub fn dead_when_asked(checks: &BatteryChecks, age: Time, in_series: usize) -> Ratio {
    let dead = |years: f64| {
        if years <= 0.0 {
            return 0.0;
        }
        -libm::expm1(-libm::pow(years / in_years(checks.scale), checks.shape))
    };
    let (now, seen) = (dead(in_years(age)), checks.seen.base());
    let known = dead(in_years(age - checks.between / 2.0 - checks.replaced));
    let one = (1.0 - seen) * now + seen * (now - known);
    ratio(1.0 - libm::pow(1.0 - one, in_series as f64))
}
