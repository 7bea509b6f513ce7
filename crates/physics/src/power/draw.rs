use super::{in_watts, watts};
use narrows_units::quantity::{Measure, Power, Ratio, Time, seconds};

/// Drives that are started in groups.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Start {
    /// How many drives.
    pub drives: usize,
    /// Drives that start together; all of them where the start is not staggered.
    pub group: usize,
    /// Time from one group to the next.
    pub pause: Time,
    /// What everything else draws.
    pub base: Power,
    /// What one drive draws while it turns and does nothing.
    pub idle: Power,
    /// What one drive draws while it starts.
    pub surge: Power,
    /// How long it does so.
    pub surge_time: Time,
}

impl Start {
    /// The largest draw of the start, and when all drives are ready.
    ///
    /// After the k-th group has started the draw is base + sum over the started groups of surge
    /// (younger than the time of a surge) or idle; the largest follows a start. All are ready after
    /// `(ceil(n / g) - 1) d + t`.
    ///
    /// Direct current as the drives take it, or at the plug, as `base`, `idle` and `surge` are
    /// given. A group of nothing counts as one drive. Source: arithmetic of a staggered start;
    /// checked by `validate_staggered_starts` and `property_a_staggered_start_lies_between`.
    pub fn peak(&self) -> (Power, Time) {
        let group = self.group.max(1);
        let groups = self.drives.div_ceil(group);
        let (pause, surge_time) = (self.pause.base(), self.surge_time.base());
        let size = |k: usize| group.min(self.drives - k * group) as f64;
        let at_start = |now: usize| -> f64 {
            (0..=now)
                .map(|k| {
                    let young = (now - k) as f64 * pause < surge_time;
                    let one = if young { self.surge } else { self.idle };
                    size(k) * in_watts(one)
                })
                .sum()
        };
        let most = (0..groups).map(at_start).fold(0.0, f64::max);
        let ready = groups.saturating_sub(1) as f64 * pause + surge_time;
        let ready = if groups == 0 { 0.0 } else { ready };
        (self.base + watts(most), seconds(ready))
    }
}

/// What a switch draws: a fixed part, and a part for each linked port at its rate.
///
/// Traffic itself changes little. Valid for what is linked, not for what is built in. Source:
/// Mahadevan et al. 2009, a linear model over hubs, edge and core switches; checked by
/// `validate_switch_and_closet`.
pub fn switch_draw(base: Power, ports: impl IntoIterator<Item = (usize, Power)>) -> Power {
    ports
        .into_iter()
        .fold(base, |sum, (count, each)| sum + each * count as f64)
}

/// What a load fed over the cable takes at the plug of the switch.
///
/// `load` P at the far end, `voltage` V of the source in volts, `loop_ohms` R, `efficiency` e of the
/// second supply of the switch: `I = (V - sqrt(V^2 - 4 R P)) / (2 R)`, source `V I`, plug `V I / e`.
/// Returns the current in amperes, the power of the source and that at the plug; none where the loop
/// cannot carry the load. Source: IEEE 802.3 clause 145 for the circuit; checked by
/// `validate_power_passed_on`.
pub fn fed_over_cable(
    load: Power,
    voltage: f64,
    loop_ohms: f64,
    efficiency: Ratio,
) -> Option<(f64, Power, Power)> {
    let p = in_watts(load);
    let under_root = voltage * voltage - 4.0 * loop_ohms * p;
    let sound = voltage > 0.0 && loop_ohms >= 0.0 && p >= 0.0 && efficiency.base() > 0.0;
    if !sound || under_root < 0.0 {
        return None;
    }
    let current = if loop_ohms > 0.0 {
        (voltage - libm::sqrt(under_root)) / (2.0 * loop_ohms)
    } else {
        p / voltage
    };
    let source = watts(voltage * current);
    Some((current, source, source / efficiency))
}
