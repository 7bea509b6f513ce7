use narrows_core::quantity::{DataRate, Information, Measure, Ratio, Time};

/// Moving finished work from one fill to another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Archive {
    /// What the array holds when full.
    pub capacity: Information,
    /// Fill at which it is done.
    pub from: Ratio,
    /// Fill that it leaves.
    pub to: Ratio,
}

impl Archive {
    /// Space that comes free, once the copies are read back and snapshots have expired.
    pub fn frees(&self) -> Information {
        self.capacity * (self.from - self.to)
    }

    /// Months from one time to the next at a mean growth.
    pub fn every(&self, growth: Information) -> f64 {
        (self.frees() / growth).base()
    }

    /// How long it takes at the slowest of reading, link and writing.
    pub fn takes(&self, rate: DataRate) -> Time {
        self.frees() / rate
    }
}

/// What an array holds in the long run: growth a month times the months that work stays, whatever
/// the order of projects (Little's law). Checked by `validate_an_archive`.
pub fn held_in_the_long_run(growth: Information, months: f64) -> Information {
    growth * months
}
