use crate::quantity::{DataRate, Ratio, Time, units};

/// Rounding of a rate that is a whole number of steps, relative.
const ROUNDING: f64 = 1e-9;

/// The largest number of steps that a grid may have: 1 Tb/s.
const MOST_STEPS: f64 = 1e6;

/// A desk that plays now and then.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stream {
    /// What it needs while it plays.
    pub rate: DataRate,
    /// Share of the time in which it plays.
    pub active: Ratio,
    /// How long it plays at a time, in the mean.
    pub spell: Time,
}

/// What is wrong with a stream or a path.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StreamFault {
    /// A rate that is not above zero, or beyond 1 Tb/s.
    Rate,
    /// A share that is not above zero and at most one.
    Active,
    /// A mean time that is not above zero.
    Spell,
}

impl std::fmt::Display for StreamFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Rate => "a rate has to be above zero and at most 1 Tb/s",
            Self::Active => {
                "the share of time that a desk plays has to be above 0 % and at most 100 %"
            }
            Self::Spell => "the time that a desk plays at once has to be above zero",
        })
    }
}

impl std::error::Error for StreamFault {}

/// A stream on the grid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct OnGrid {
    /// Steps that it needs, rounded up.
    pub steps: usize,
    /// Share of the time.
    pub active: f64,
    /// Seconds at a time.
    pub spell: f64,
}

impl Stream {
    pub(super) fn on_grid(&self) -> Result<OnGrid, StreamFault> {
        let active = self.active.get::<units::ratio::one>();
        if !(active > 0.0 && active <= 1.0) {
            return Err(StreamFault::Active);
        }
        let spell = self.spell.get::<units::time::second>();
        if !(spell > 0.0 && spell.is_finite()) {
            return Err(StreamFault::Spell);
        }
        let steps = steps(self.rate)?;
        if steps <= 0.0 {
            return Err(StreamFault::Rate);
        }
        Ok(OnGrid {
            steps: (steps * (1.0 - ROUNDING)).ceil() as usize,
            active,
            spell,
        })
    }
}

/// What a path carries, in steps, rounded down.
pub(super) fn capacity_on_grid(capacity: DataRate) -> Result<usize, StreamFault> {
    Ok((steps(capacity)? * (1.0 + ROUNDING)).floor() as usize)
}

fn steps(rate: DataRate) -> Result<f64, StreamFault> {
    let steps = rate.get::<units::data_rate::megabit_per_second>();
    if (0.0..=MOST_STEPS).contains(&steps) {
        Ok(steps)
    } else {
        Err(StreamFault::Rate)
    }
}

/// A number of steps as a rate.
pub(super) fn rate_of(steps: f64) -> DataRate {
    DataRate::new::<units::data_rate::megabit_per_second>(steps)
}
