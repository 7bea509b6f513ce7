//! What keeps the pictures: backup supplies, copies, and the work that is done.

use super::model::{Chosen, Machine, Value};
use crate::power::AmpereHours;
use crate::quantity::{DataRate, Energy, Information, Power, Ratio, Time};
use crate::spread::Spread;
use crate::work::Material;

/// How a backup supply joins mains and battery (IEC 62040-3).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum SupplyKind {
    /// Mains pass straight through; a relay changes over.
    Standby,
    /// Voltage is stepped; a relay changes over.
    LineInteractive,
    /// The load never sees the mains.
    DoubleConversion,
}

impl SupplyKind {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Standby, Self::LineInteractive, Self::DoubleConversion];

    /// As written in a site file.
    pub fn word(self) -> &'static str {
        match self {
            Self::Standby => "standby",
            Self::LineInteractive => "line-interactive",
            Self::DoubleConversion => "double-conversion",
        }
    }
}

/// What is in a backup supply.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Battery {
    /// Sealed lead blocks of 12 V.
    Lead {
        /// How many.
        blocks: usize,
        /// Of what charge each.
        charge: AmpereHours,
        /// Watts a cell over 15 min, where they are sold by that.
        watts_a_cell: Option<Power>,
    },
    /// A pack of lithium iron phosphate.
    Lithium {
        /// Nominal voltage times Ah.
        energy: Energy,
        /// What its protection lets through, where that is known.
        most: Option<Power>,
    },
}

/// A machine that hangs on a supply.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fed {
    /// What kind.
    pub machine: Machine,
    /// Whether it is an access point.
    pub air: bool,
    /// Its name.
    pub name: String,
}

/// A backup supply.
#[derive(Clone, Debug, PartialEq)]
pub struct Supply {
    /// Name in the site.
    pub name: String,
    /// How it changes over.
    pub kind: Chosen<SupplyKind>,
    /// Real power that it gives at most.
    pub rating: Power,
    /// Apparent power that it gives at most, in VA, where that is told.
    pub apparent: Option<f64>,
    /// Its battery, where that is told; a table of minutes is the other way.
    pub battery: Option<Battery>,
    /// Its maker's table: load and minutes, the lightest load last.
    pub minutes: Vec<(Power, Time)>,
    /// How old its battery is.
    pub age: Value<Time>,
    /// Temperature of the room in degrees Celsius.
    pub temperature: Value<f64>,
    /// Whether it tests its battery by itself and somebody reads the result.
    pub tested: Chosen<bool>,
    /// What a plug meter showed for all that hangs on it.
    pub measured: Option<Value<Power>>,
    /// What hangs on it that the site does not know.
    pub others: Option<Value<Power>>,
    /// What hangs on it.
    pub feeds: Vec<Fed>,
}

/// Where a copy is and how it gets there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum CopyKind {
    /// Earlier states on the array itself: against mistakes only.
    Snapshots,
    /// A second box in the same room.
    BoxHere,
    /// A second box in another building, always joined.
    BoxElsewhere,
    /// Drives that are carried away and rotated.
    Carried,
    /// An internet store.
    Upload,
}

impl CopyKind {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Snapshots,
        Self::BoxHere,
        Self::BoxElsewhere,
        Self::Carried,
        Self::Upload,
    ];

    /// As written in a site file.
    pub fn word(self) -> &'static str {
        match self {
            Self::Snapshots => "snapshots",
            Self::BoxHere => "box-here",
            Self::BoxElsewhere => "box-elsewhere",
            Self::Carried => "carried",
            Self::Upload => "upload",
        }
    }

    /// Whether it passes an access line.
    pub fn has_line(self) -> bool {
        matches!(self, Self::BoxElsewhere | Self::Upload)
    }
}

/// When a copy was last tried.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Tried {
    /// Nobody ever got something back from it.
    Never,
    /// Once a year.
    Yearly,
    /// Read back every month.
    Monthly,
}

impl Tried {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Never, Self::Yearly, Self::Monthly];

    /// As written in a site file.
    pub fn word(self) -> &'static str {
        match self {
            Self::Never => "never",
            Self::Yearly => "yearly",
            Self::Monthly => "monthly",
        }
    }
}

/// A copy of what an array holds.
#[derive(Clone, Debug, PartialEq)]
pub struct CopyPlan {
    /// Name in the site.
    pub name: String,
    /// Where it is.
    pub kind: CopyKind,
    /// The array that is copied.
    pub array: String,
    /// From one run to the next.
    pub every: Time,
    /// When a run begins, from midnight.
    pub begins: Time,
    /// Share of what is held that is copied.
    pub part: Ratio,
    /// What a run brings, where somebody looked.
    pub changes: Option<Value<Information>>,
    /// What the box or one drive takes.
    pub rate: Option<Value<DataRate>>,
    /// Contract rate of the line upwards.
    pub contract: Option<Value<DataRate>>,
    /// Contract rate of the line downwards.
    pub down: Option<Value<DataRate>>,
    /// Hours a day in which the line may be used.
    pub window: Option<Time>,
    /// Drives that are rotated.
    pub drives: u32,
    /// The desk that carried drives are plugged into; else the NAS.
    pub desk: Option<String>,
    /// When it was last tried.
    pub tried: Chosen<Tried>,
    /// Whether nothing can change or delete it before its time.
    pub immutable: Chosen<bool>,
    /// Whether somebody reads its reports.
    pub watched: Chosen<bool>,
}

/// The work that is done: what comes in, and what it is worth in hours.
#[derive(Clone, Debug, PartialEq)]
pub struct Project {
    /// Cameras that record on a shooting day.
    pub cameras: u32,
    /// What they record.
    pub material: Option<Material>,
    /// The rate that they record at, material or not; none where nobody said.
    pub rate: Option<Value<DataRate>>,
    /// Hours recorded by each camera on a shooting day.
    pub recorded: Value<Time>,
    /// Tracks of sound.
    pub tracks: u32,
    /// Shooting days a month.
    pub shooting_days: Value<f64>,
    /// Renders, caches and versions over the source.
    pub renders: Value<Ratio>,
    /// Share that is deleted again within the year.
    pub deleted: Value<Ratio>,
    /// Proxies over the picture.
    pub proxies: Spread<Ratio>,
    /// People who work on it.
    pub people: Option<u32>,
    /// Hours of one person's work in what is kept.
    pub kept: Option<Time>,
    /// Share of what is held that is one project.
    pub share: Value<Ratio>,
    /// Months until the next project ends.
    pub next: Value<f64>,
}
