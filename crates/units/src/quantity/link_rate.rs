use super::{DataRate, Kind, Measure, megabytes_per_second, show};

/// The rate at which a link signals, as its standard names it, in whole kilobits a second.
///
/// Payload is less: the physics of Ethernet says by how much.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LinkRate {
    kilobits_per_second: u64,
}

impl LinkRate {
    /// From the number of megabits a second in the standard's name.
    pub const fn from_megabits(megabits_per_second: u64) -> Self {
        Self {
            kilobits_per_second: megabits_per_second * 1000,
        }
    }

    /// The number of megabits a second.
    pub fn megabits(self) -> f64 {
        self.kilobits_per_second as f64 / 1e3
    }

    /// The signalled rate in bytes: all bits, framing included.
    pub fn signalled(self) -> DataRate {
        megabytes_per_second(self.kilobits_per_second as f64 / 8e3)
    }
}

impl Measure for LinkRate {
    const KIND: Kind = Kind::LinkRate;
    fn base(self) -> f64 {
        self.kilobits_per_second as f64 * 125.0
    }
    fn from_base(value: f64) -> Self {
        Self {
            // to the nearest, for values that are never negative
            kilobits_per_second: (value / 125.0 + 0.5) as u64,
        }
    }
}

impl std::fmt::Display for LinkRate {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&show::exact(*self))
    }
}
