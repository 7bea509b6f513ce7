//! What equipment speaks: the band, how wide its channel is, which amendment of the standard.

use crate::copper::megahertz;
use narrows_units::quantity::Frequency;

/// A range of frequencies that a cell may use.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Band {
    /// 2.40 to 2.48 GHz.
    Two,
    /// 5.15 to 5.85 GHz.
    Five,
    /// 5.945 to 7.125 GHz.
    Six,
}

impl Band {
    /// All of them, from the lowest.
    pub const ALL: [Self; 3] = [Self::Two, Self::Five, Self::Six];

    /// As people write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Two => "2.4 GHz",
            Self::Five => "5 GHz",
            Self::Six => "6 GHz",
        }
    }

    /// A frequency in its middle.
    pub fn middle(self) -> Frequency {
        megahertz(match self {
            Self::Two => 2440.0,
            Self::Five => 5500.0,
            Self::Six => 6500.0,
        })
    }

    /// In the names of catalogue rows.
    pub fn row(self) -> &'static str {
        match self {
            Self::Two => "2",
            Self::Five => "5",
            Self::Six => "6",
        }
    }

    /// The widest channel that there is room for.
    pub fn widest(self) -> Width {
        match self {
            Self::Two => Width::Forty,
            Self::Five => Width::OneSixty,
            Self::Six => Width::ThreeTwenty,
        }
    }
}

/// How wide a channel is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Width {
    /// 20 MHz.
    Twenty,
    /// 40 MHz.
    Forty,
    /// 80 MHz.
    Eighty,
    /// 160 MHz.
    OneSixty,
    /// 320 MHz.
    ThreeTwenty,
}

impl Width {
    /// All of them, from the narrowest.
    pub const ALL: [Self; 5] = [
        Self::Twenty,
        Self::Forty,
        Self::Eighty,
        Self::OneSixty,
        Self::ThreeTwenty,
    ];

    /// As people write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Twenty => "20 MHz",
            Self::Forty => "40 MHz",
            Self::Eighty => "80 MHz",
            Self::OneSixty => "160 MHz",
            Self::ThreeTwenty => "320 MHz",
        }
    }

    /// How often it has been doubled from 20 MHz.
    pub fn doublings(self) -> usize {
        self as usize
    }

    /// How many channels of 20 MHz it is made of.
    pub fn twenties(self) -> usize {
        1 << self.doublings()
    }

    /// As a frequency.
    pub fn bandwidth(self) -> Frequency {
        megahertz(20.0 * self.twenties() as f64)
    }
}

/// An amendment of IEEE 802.11, by its letters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Generation {
    /// 802.11n.
    N,
    /// 802.11ac.
    Ac,
    /// 802.11ax.
    Ax,
    /// 802.11be.
    Be,
}

impl Generation {
    /// All of them, the oldest first.
    pub const ALL: [Self; 4] = [Self::N, Self::Ac, Self::Ax, Self::Be];

    /// The letters.
    pub fn word(self) -> &'static str {
        match self {
            Self::N => "n",
            Self::Ac => "ac",
            Self::Ax => "ax",
            Self::Be => "be",
        }
    }

    /// The widest channel that it knows.
    pub fn widest(self) -> Width {
        match self {
            Self::N => Width::Forty,
            Self::Ac | Self::Ax => Width::OneSixty,
            Self::Be => Width::ThreeTwenty,
        }
    }

    /// Whether it has a place in a band.
    pub fn knows(self, band: Band) -> bool {
        match band {
            Band::Two => self != Self::Ac,
            Band::Five => true,
            Band::Six => matches!(self, Self::Ax | Self::Be),
        }
    }
}
