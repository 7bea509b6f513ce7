use super::in_watts;
use narrows_units::quantity::{Measure, Power, Ratio, ratio};
use std::f64::consts::PI;

/// Apparent power: what a supply's rating in VA is about.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct VoltAmperes(pub f64);

/// Loads in the order of the label levels.
const LABEL_LOADS: [f64; 3] = [0.2, 0.5, 1.0];

/// Below this share of its rating a supply's floor counts.
const FLOOR_LOAD: f64 = 0.1;

/// Losses of a supply as shares of its rating: `l0 + l1 x + l2 x^2`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EfficiencyCurve {
    /// `l0`, `l1`, `l2`.
    pub losses: [f64; 3],
}

impl EfficiencyCurve {
    /// The curve through the efficiencies at 20, 50 and 100 % of the rating.
    ///
    /// `L(x) = x (1 / eta - 1)` at the three points, and the parabola through them. Where it is a
    /// straight line through nothing (80 % everywhere) only the floor says anything of light loads.
    /// Checked by `validate_supply_efficiency`.
    pub fn through(at_20_50_100: [Ratio; 3]) -> Self {
        let [x1, x2, x3] = LABEL_LOADS;
        let mut loss = [0.0; 3];
        for ((l, x), eta) in loss.iter_mut().zip(LABEL_LOADS).zip(at_20_50_100) {
            *l = x * (1.0 / eta.base() - 1.0);
        }
        let [y1, y2, y3] = loss;
        let (d12, d23) = ((y2 - y1) / (x2 - x1), (y3 - y2) / (x3 - x2));
        let l2 = (d23 - d12) / (x3 - x1);
        let l1 = d12 - l2 * (x1 + x2);
        let l0 = y1 - l1 * x1 - l2 * x1 * x1;
        Self {
            losses: [l0, l1, l2],
        }
    }

    /// The efficiency at a share of the rating; `floor` is the least `l0` below 10 % load, where
    /// real supplies have a floor that the label does not ask about.
    ///
    /// `eta = x / (x + L(x))` for `0 < x`, else nothing.
    pub fn at(&self, load: Ratio, floor: f64) -> Ratio {
        let x = load.base();
        if x <= 0.0 {
            return ratio(0.0);
        }
        let [l0, l1, l2] = self.losses;
        let l0 = if x < FLOOR_LOAD { l0.max(floor) } else { l0 };
        ratio(x / (x + l0 + l1 * x + l2 * x * x))
    }
}

/// Reactive draw of the filter capacitor, power factor and apparent power of a supply with active
/// correction at light load.
///
/// `capacitance` C in farads, `frequency` f in hertz, `volts` V: `Q = 2 pi f C V^2` whatever the
/// load, `PF = P / sqrt(P^2 + Q^2)`. Checked by `validate_power_factor`.
pub fn capacitor_draw(
    load: Power,
    capacitance: f64,
    frequency: f64,
    volts: f64,
) -> (VoltAmperes, Ratio, VoltAmperes) {
    let p = in_watts(load);
    let q = 2.0 * PI * frequency * capacitance * volts * volts;
    let s = libm::hypot(p, q);
    let factor = if s > 0.0 { p / s } else { 1.0 };
    (VoltAmperes(q), ratio(factor), VoltAmperes(s))
}
