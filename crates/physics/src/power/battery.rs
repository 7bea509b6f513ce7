use super::{in_watts, minutes, watts};
use narrows_units::quantity::{Energy, Measure, Power, Ratio, Time, seconds};
use narrows_units::spread::Spread;

/// Charge that a block is rated for, over 20 hours.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct AmpereHours(pub f64);

/// What a supply takes from its battery for what it gives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conversion {
    /// What the supply may give.
    pub rating: Power,
    /// `a`: losses that grow with the load, as a share of it.
    pub growing: Ratio,
    /// `b`: losses that are always there, as a share of the rating.
    pub standing: Ratio,
}

impl Conversion {
    /// Power drawn from the battery: `P (1 + a) + b R`.
    ///
    /// One efficiency would be wrong at both ends: a large unit empties a small battery by itself.
    /// Form: losses of a switch and a fixed part, by judgement. Checked by `validate_direct_power`.
    pub fn direct(&self, load: Power) -> Power {
        load + load * self.growing + self.rating * self.standing
    }
}

/// How long a battery lasts at a load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Lasts {
    /// So long.
    For(Time),
    /// Less than the first entry of the table; nothing is known of how much less.
    Under(Time),
    /// More than the last entry of the table.
    Over(Time),
    /// Not at all: more than the pack's protection lets through.
    Refused,
}

impl Lasts {
    /// A time that it lasts for sure, as far as the table knows.
    pub fn at_least(self) -> Time {
        match self {
            Self::For(time) | Self::Over(time) => time,
            Self::Under(_) | Self::Refused => seconds(0.0),
        }
    }
}

/// One entry of a row: a time, and the power that a battery gives over it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PointOfRow {
    /// Time to the end voltage.
    pub lasts: Time,
    /// Power: watts a rated Ah of a 12 V block, or watts of load in a maker's table.
    pub power: f64,
}

/// Constant-power discharge: what a battery gives against time, longer times last.
#[derive(Clone, Debug, PartialEq)]
pub struct DischargeRow {
    points: Vec<PointOfRow>,
}

impl DischargeRow {
    /// A row; none unless times rise and powers fall.
    pub fn new(points: Vec<PointOfRow>) -> Option<Self> {
        let falls = points
            .windows(2)
            .all(|pair| matches!(pair, [a, b] if a.lasts < b.lasts && a.power > b.power));
        let sound = points
            .iter()
            .all(|p| p.lasts.base() > 0.0 && p.power > 0.0 && p.power.is_finite());
        (!points.is_empty() && falls && sound).then_some(Self { points })
    }

    /// The row of a block that is as good as a share of all blocks: one share for all times, so
    /// that rows never cross.
    pub fn of_quality(row: &[(Time, Spread<f64>)], share: f64) -> Option<Self> {
        let point = |(lasts, power): &(Time, Spread<f64>)| PointOfRow {
            lasts: *lasts,
            power: power.quantile(share),
        };
        Self::new(row.iter().map(point).collect())
    }

    /// The same row with all powers multiplied, as for blocks that are sold for high rates.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        let point = |p: &PointOfRow| PointOfRow {
            power: p.power * factor,
            ..*p
        };
        Self {
            points: self.points.iter().map(point).collect(),
        }
    }

    /// How long a power is held; straight in the logarithms between neighbours, never beyond the
    /// ends.
    ///
    /// `power` in the unit of the row. Checked by `validate_minutes_of_lead`.
    pub fn lasts(&self, power: f64) -> Lasts {
        let (Some(first), Some(last)) = (self.points.first(), self.points.last()) else {
            return Lasts::Refused;
        };
        if power > first.power {
            return Lasts::Under(first.lasts);
        }
        if power < last.power {
            return Lasts::Over(last.lasts);
        }
        for pair in self.points.windows(2) {
            if let [a, b] = pair
                && power >= b.power
            {
                let share = libm::log(power / a.power) / libm::log(b.power / a.power);
                let times = libm::log(b.lasts.base() / a.lasts.base());
                return Lasts::For(a.lasts * libm::exp(share * times));
            }
        }
        Lasts::For(last.lasts)
    }

    /// How long lead blocks last at a direct power.
    ///
    /// `blocks` N of 12 V, in series or side by side, of `charge` Ah each; `health` f shrinks the Ah
    /// and not the minutes, since a tired block behaves as a smaller one:
    /// `p = P_dc / (N Ah f)`. Row in watts a rated Ah. Checked by `validate_minutes_of_lead` and
    /// `property_a_battery_is_monotone`.
    pub fn of_blocks(
        &self,
        direct: Power,
        blocks: usize,
        charge: AmpereHours,
        health: Ratio,
    ) -> Lasts {
        self.lasts(in_watts(direct) / (blocks as f64 * charge.0 * health.base()))
    }

    /// How long a unit lasts by its maker's own table of loads; `health` makes the load heavier.
    pub fn of_load(&self, load: Power, health: Ratio) -> Lasts {
        self.lasts(in_watts(load) / health.base())
    }

    /// The power that is held for a time, in the unit of the row; none outside the row.
    pub fn power_for(&self, time: Time) -> Option<f64> {
        self.points.windows(2).find_map(|pair| match pair {
            [a, b] if time >= a.lasts && time <= b.lasts => {
                let share = libm::log(time.base() / a.lasts.base())
                    / libm::log(b.lasts.base() / a.lasts.base());
                Some(a.power * libm::exp(share * libm::log(b.power / a.power)))
            }
            _ => None,
        })
    }
}

/// A pack of lithium iron phosphate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LithiumPack {
    /// Nominal voltage times Ah.
    pub energy: Energy,
    /// Share of it that can be used.
    pub usable: Ratio,
    /// The most that its protection lets through.
    pub most: Power,
}

/// How long a lithium iron phosphate pack lasts: `t = E s f / P_dc`, without an effect of the rate,
/// and not at all above what its protection allows: the protection is a cliff, not a slope.
///
/// Exponents of 1.02 to 1.05 are neglected by judgement. Checked by `validate_lithium`.
pub fn lithium_lasts(pack: &LithiumPack, health: Ratio, direct: Power) -> Lasts {
    if direct > pack.most {
        return Lasts::Refused;
    }
    if direct <= watts(0.0) {
        return Lasts::Over(minutes(1200.0));
    }
    Lasts::For(pack.energy * pack.usable * health / direct)
}
