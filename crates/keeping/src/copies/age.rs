use narrows_core::quantity::{Measure, Ratio, Time, seconds};

/// Runs of a copy.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Runs {
    /// From one start to the next, as planned.
    pub every: Time,
    /// How long one takes.
    pub lasts: Time,
    /// The chance that one fails, each by itself.
    pub fails: Ratio,
}

impl Runs {
    /// The interval that is really kept: a run that lasts longer than the plan makes the next wait,
    /// `ceil(D / I) I`.
    pub fn interval(&self) -> Time {
        let times = libm::ceil(self.lasts.base() / self.every.base() - 1e-9).max(1.0);
        self.every * times
    }

    /// Mean age of the newest whole copy: `I / 2 + I f / (1 - f) + D`.
    ///
    /// A copy holds the state at its start and counts from its end. Checked by `validate_ages` and
    /// `verify_ages_by_simulation`.
    pub fn mean_age(&self) -> Time {
        let (i, f) = (self.interval(), self.fails.base());
        i / 2.0 + i * (f / (1.0 - f)) + self.lasts
    }

    /// Age that is exceeded at a share p of moments: with j the largest with `f^j > p`,
    /// `D + j I + I (1 - p / f^j) / (1 - f)`.
    pub fn age_exceeded(&self, share: Ratio) -> Time {
        let (i, f, p) = (self.interval(), self.fails.base(), share.base());
        let (mut j, mut power) = (0.0, 1.0);
        while f > 0.0 && power * f > p && j < 1e4 {
            power *= f;
            j += 1.0;
        }
        self.lasts + i * j + i * ((1.0 - p / power) / (1.0 - f))
    }

    /// Largest age where every run is good: `I + D`.
    pub fn worst_age(&self) -> Time {
        self.interval() + self.lasts
    }
}

/// Days of a mean year.
const DAYS: f64 = 365.25;

/// Mean age that silent stops add: `rate T^2 / 2`, T until somebody notices.
///
/// `a_year` is the chance a year that a copy stops and nobody is told: full target, expired password,
/// drive not plugged in. Checked by `validate_silent_stops`.
pub fn silent_stop(a_year: Ratio, noticed: Time) -> Time {
    let year = DAYS * 86_400.0;
    seconds(a_year.base() * noticed.base() * noticed.base() / 2.0 / year)
}

/// Ages of drives that are rotated: the newest copy away at worst, in the mean, and the oldest
/// version: `I + t + D`, `I / 2 + t + D`, `(k - 1) I + t + D`.
///
/// `drives` k, rotated `every` I, carried t, copied in D. With two both are in the building during
/// each swap; three avoid it. Checked by `validate_rotation`.
pub fn rotated(drives: u32, every: Time, carried: Time, copied: Time) -> [Time; 3] {
    let away = carried + copied;
    [
        every + away,
        every / 2.0 + away,
        every * f64::from(drives.saturating_sub(1)) + away,
    ]
}
