use super::in_watts;
use narrows_units::quantity::{Measure, Power, Ratio, Time, ratio, seconds};
use narrows_units::spread::normal_share;

/// How long a supply holds its output when the mains stop.
///
/// `capacitance` C of the bulk capacitor in farads, `from` and `to` its voltage at the start and at
/// the end in volts, `efficiency` of what follows it, `load` P drawn:
/// `t = C (V1^2 - V2^2) eta / (2 P)`. With the mean voltage as `from` the trough of the ripple is not
/// in it; take about 3 % less. Holds for any load above zero. Checked by `validate_hold_up`.
pub fn hold_up(capacitance: f64, from: f64, to: f64, efficiency: Ratio, load: Power) -> Time {
    let energy = capacitance * (from * from - to * to) * efficiency.base() / 2.0;
    seconds(energy / in_watts(load))
}

/// The chance that a hold-up outlasts a change-over, both normal: mean and deviation of each.
///
/// `Phi((m_h - m_t) / sqrt(s_h^2 + s_t^2))`. Answers count draws instead; this is what they are
/// checked against. Checked by `validate_change_over`.
pub fn passes_normal(hold: (Time, Time), transfer: (Time, Time)) -> Ratio {
    let spread = libm::hypot(hold.1.base(), transfer.1.base());
    ratio(normal_share((hold.0 - transfer.0).base() / spread))
}

/// Share of the nominal voltage, and how long equipment should bear it, from the deepest dip up.
const CURVE: [(f64, f64); 4] = [(0.0, 0.02), (0.7, 0.5), (0.8, 10.0), (0.9, f64::INFINITY)];

/// Whether a dip to a share of the nominal voltage lies inside the tolerance curve of information
/// technology equipment.
///
/// A design aim for 120 V single phase, not a promise. Source: information technology industry's
/// voltage tolerance curve, 2000. Checked by `validate_tolerance_curve`.
pub fn within_tolerance_curve(share: Ratio, lasting: Time) -> bool {
    let bears = CURVE
        .iter()
        .rev()
        .find(|(depth, _)| share.base() >= *depth)
        .map_or(0.0, |(_, time)| *time);
    lasting.base() <= bears
}
