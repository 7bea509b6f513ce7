//! Mains gaps: what is drawn, whether a change-over passes, how long a battery lasts, how gaps are
//! distributed, and what stopping in order takes.
//!
//! Real power is in watts and a battery knows nothing else; apparent power ([`VoltAmperes`]) counts
//! against the rating of a supply only. Batteries hold a lethal current and mains kill: whoever
//! wires, earths or joins a generator follows the local code and is licensed to do so.

mod ageing;
mod battery;
mod draw;
mod gaps;
mod holding;
mod stopping;
mod supply;

pub use ageing::{Ageing, BatteryChecks, age_factor, dead_when_asked, life, temperature_factor};
pub use battery::{
    AmpereHours, Conversion, DischargeRow, Lasts, LithiumPack, PointOfRow, lithium_lasts,
};
pub use draw::{Start, fed_over_cable, switch_draw};
pub use gaps::{
    GapLengths, YearOfGaps, charge_after_gap, charge_after_pause, energy_of_gap, year_of_gaps,
};
pub use holding::{hold_up, passes_normal, within_tolerance_curve};
pub use stopping::{DirtyMemory, Stop, lost_in_memory, wait_before_stop};
pub use supply::{EfficiencyCurve, VoltAmperes, capacitor_draw};

use narrows_units::quantity::{Power, Time, units};

/// A number of watts.
pub fn watts(count: f64) -> Power {
    Power::new::<units::power::watt>(count)
}

/// The number of watts in a power.
pub fn in_watts(power: Power) -> f64 {
    power.get::<units::power::watt>()
}

/// A number of minutes.
pub fn minutes(count: f64) -> Time {
    Time::new::<units::time::minute>(count)
}

/// The number of minutes in a duration.
pub fn in_minutes(time: Time) -> f64 {
    time.get::<units::time::minute>()
}

/// The number of years in a duration.
fn in_years(time: Time) -> f64 {
    time.get::<units::time::year>()
}

/// A number of years.
pub fn years(count: f64) -> Time {
    Time::new::<units::time::year>(count)
}

#[cfg(test)]
mod tests;
