use narrows_core::quantity::{DataRate, Information, Measure, Time};

/// What getting data back consists of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Restore {
    /// Noticing, deciding, new hardware, fetching: all that comes before the first byte.
    pub before: Time,
    /// How much comes back.
    pub size: Information,
    /// The slowest of reading, link and writing.
    pub rate: DataRate,
    /// Files, and what each costs beside its bytes.
    pub files: f64,
    /// Time a file.
    pub each: Time,
    /// Rate at which it is read back and checked afterwards; none where it is not.
    pub checked_at: Option<DataRate>,
}

impl Restore {
    /// Time until work goes on: all parts one after the other.
    ///
    /// `T = before + files x t_file + bytes / rate + bytes / check rate`. Never below bytes over
    /// rate. Checked by `validate_restores` and `property_restoring_takes_at_least_its_bytes`.
    pub fn takes(&self) -> Time {
        let check = self
            .checked_at
            .map_or_else(|| Time::from_base(0.0), |rate| self.size / rate);
        self.before + self.each * self.files + self.size / self.rate + check
    }
}
