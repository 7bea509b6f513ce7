//! What somebody measured or noticed, as a person would say it.

use crate::quantity::{DataRate, Information, LinkRate, Measure, Ratio, Time};
use crate::work::Direction;

/// What a reading is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum What {
    /// Copying or reading a large file over the share.
    Copy,
    /// Copying many files over the share.
    ManyFiles,
    /// Memory to memory between the same two machines.
    RawTcp,
    /// The desk's own disk.
    LocalDisk,
    /// The array, on its NAS.
    LocalArray,
    /// The rate that a port shows.
    LinkRate,
    /// Time for a small packet there and back.
    Ping,
    /// How busy the busiest core is.
    CoreBusy,
    /// Errors or retransmissions that were counted.
    Errors,
    /// A film that plays from the share, or does not.
    Playback,
}

impl What {
    /// All of them.
    pub const ALL: [Self; 10] = [
        Self::Copy,
        Self::ManyFiles,
        Self::RawTcp,
        Self::LocalDisk,
        Self::LocalArray,
        Self::LinkRate,
        Self::Ping,
        Self::CoreBusy,
        Self::Errors,
        Self::Playback,
    ];

    /// As written in a reading and in a list of readings.
    pub fn word(self) -> &'static str {
        match self {
            Self::Copy => "copy",
            Self::ManyFiles => "many-files",
            Self::RawTcp => "raw-tcp",
            Self::LocalDisk => "local-disk",
            Self::LocalArray => "local-array",
            Self::LinkRate => "link-rate",
            Self::Ping => "ping",
            Self::CoreBusy => "core-busy",
            Self::Errors => "errors",
            Self::Playback => "playback",
        }
    }
}

/// The unit that a number was meant in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum RateUnit {
    /// Decimal megabytes a second.
    Megabytes,
    /// Binary megabytes a second, shown under the decimal name by some programs.
    Mebibytes,
    /// Megabits a second.
    Megabits,
}

/// One way to understand a number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Meaning {
    /// The unit.
    pub unit: RateUnit,
    /// The lowest rate it stands for; equal to the middle one where a single number was given.
    pub low: DataRate,
    /// The rate.
    pub middle: DataRate,
    /// The highest.
    pub high: DataRate,
    /// How likely this meaning is before anything else is known; all meanings add up to one.
    pub weight: f64,
    /// Whether the text says another unit than this.
    pub slip: bool,
}

/// How a number was given.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Exactness {
    /// One number.
    Point,
    /// "about".
    About,
    /// From one number to another.
    Range,
    /// The best moment.
    Peak,
    /// "less than".
    AtMost,
    /// "more than".
    AtLeast,
    /// It starts and then nothing moves.
    Stalled,
}

/// A rate with what it may mean.
#[derive(Clone, Debug, PartialEq)]
pub struct RateReading {
    /// At least one, the likeliest first.
    pub meanings: Vec<Meaning>,
    /// How it was given.
    pub exactness: Exactness,
}

/// What was read off.
#[derive(Clone, Debug, PartialEq)]
pub enum Amount {
    /// A rate of payload.
    Rate(RateReading),
    /// The rate a port shows.
    Link(LinkRate),
    /// A time.
    Time(Time),
    /// A share.
    Share(Ratio),
    /// A number of events.
    Count(u64),
    /// Layers or streams that play at once, and a number at which they do not; their material makes a rate of it.
    Layers {
        /// So many play.
        low: Option<f64>,
        /// So many do not.
        high: Option<f64>,
    },
    /// What no model predicts: files a second, frames that are dropped.
    Other,
}

/// One reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// As it was written.
    pub text: String,
    /// Whose, where that is told.
    pub desk: Option<String>,
    /// What it is of.
    pub what: What,
    /// Which way, where that is told.
    pub direction: Option<Direction>,
    /// The number.
    pub amount: Amount,
    /// How much was moved, where that is told.
    pub size: Option<Information>,
    /// How many at once.
    pub streams: u32,
    /// Whether it was the second time of the same file, which may sit in memory by then.
    pub again: bool,
    /// The size of pieces at random places, where it was of those.
    pub random: Option<Information>,
}

/// Something noticed that is not a reading of its own.
#[derive(Clone, Debug, PartialEq)]
pub struct Remark {
    /// As it was written.
    pub text: String,
    /// Which; an id of `data/remarks.csv`.
    pub id: String,
    /// Of whose, where that is told.
    pub desk: Option<String>,
    /// The rate that belongs to it, where one is told.
    pub rate: Option<RateReading>,
    /// The size that belongs to it, where one is told.
    pub size: Option<Information>,
    /// The time that belongs to it, where one is told.
    pub time: Option<Time>,
}

impl Reading {
    /// Whether it says anything of the network: all but what is measured on one machine.
    pub(crate) fn is_over_the_network(&self) -> bool {
        !matches!(self.what, What::LocalArray | What::LocalDisk)
    }

    /// Whether it was measured at a desk, or between a desk and the NAS.
    pub fn is_of_a_desk(&self) -> bool {
        matches!(
            self.what,
            What::Copy
                | What::ManyFiles
                | What::RawTcp
                | What::LocalDisk
                | What::Ping
                | What::Playback
        )
    }
}

impl RateReading {
    /// A rate that is known to be in decimal megabytes.
    pub fn plain(rate: DataRate) -> Self {
        Self {
            meanings: vec![Meaning {
                unit: RateUnit::Megabytes,
                low: rate,
                middle: rate,
                high: rate,
                weight: 1.0,
                slip: false,
            }],
            exactness: Exactness::Point,
        }
    }

    /// The likeliest rate.
    pub fn likeliest(&self) -> DataRate {
        self.meanings
            .first()
            .map_or_else(|| DataRate::from_base(0.0), |m| m.middle)
    }
}
