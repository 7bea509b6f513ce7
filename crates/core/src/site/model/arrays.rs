//! Drives, and arrays of them, as a site file describes them.

use super::{Chosen, Value};
use crate::array::{Bytes, DriveSize, Layout, LayoutFault, Level};
use crate::quantity::{DataRate, Information, Ratio};

/// What a drive does, as far as the rates of large sequential work go.
#[derive(Clone, Debug, PartialEq)]
#[allow(clippy::large_enum_variant)] // a handful of drives a site
pub enum Drive {
    /// Spinning: the rate falls from the outer edge inwards.
    Spinning {
        /// Class word, for example `hdd-7200`.
        class: String,
        /// Rate at the outer edge.
        outer: Value<DataRate>,
        /// Inner rate over outer rate.
        inner_ratio: Value<Ratio>,
    },
    /// Flash: writes go through a fast cache, then slower, then slowest.
    Flash {
        /// Class word, for example `nvme-gen3`.
        class: String,
        /// Reading.
        read: Value<DataRate>,
        /// Writing while the fast cache lasts.
        burst_write: Value<DataRate>,
        /// Writing after it; of the same id where it is the same.
        later_write: Value<DataRate>,
        /// Writing when folding as well; of the same id where it is the same.
        fold_write: Value<DataRate>,
        /// How much of an empty drive the fast cache takes.
        cache_share: Value<Ratio>,
        /// Bits that a cell holds when it is no cache; none where the cache itself is stated.
        bits_a_cell: Option<Value<f64>>,
        /// Share of the free space that is written when folding begins.
        fold_share: Value<Ratio>,
    },
}

impl Drive {
    /// Its class word in the catalogue.
    pub fn class(&self) -> &str {
        match self {
            Self::Spinning { class, .. } | Self::Flash { class, .. } => class,
        }
    }

    /// Whether its tracks overlap, so that what is written over is put together anew.
    pub fn is_shingled(&self) -> bool {
        matches!(self, Self::Spinning { class, .. } if class == "hdd-smr")
    }
}

/// What an array's drives are.
#[derive(Clone, Debug, PartialEq)]
pub struct DriveSet {
    /// How many drives.
    pub count: usize,
    /// Capacity of one, if stated or assumed.
    pub capacity: Value<Information>,
    /// Drive classes that it may be, one in most sites.
    pub drive: Chosen<Drive>,
    /// Ceiling of the interface of one drive.
    pub interface: Value<DataRate>,
}

/// A set of drives that works as one.
#[derive(Clone, Debug, PartialEq)]
pub struct Array {
    /// Name in the site.
    pub name: String,
    /// Name of the machine that holds it.
    pub nas: String,
    /// How redundant: the level and how many groups of drives.
    pub level: Level,
    /// Groups that work side by side; one, but in pools and nested levels.
    pub groups: usize,
    /// Of what drives; all groups together, spares not among them.
    pub drives: DriveSet,
    /// Drives that wait for one to fail.
    pub spares: usize,
    /// Drives that have failed and are not replaced.
    pub failed: usize,
    /// Whether it is putting a drive together again.
    pub rebuilding: Chosen<bool>,
    /// Whether all its drives are being read through to find damage.
    pub scrubbing: Chosen<bool>,
    /// How full.
    pub fill: Value<Ratio>,
    /// Full record of a pool, where somebody chose one.
    pub record: Option<Bytes>,
    /// What goes on one drive before the next, where somebody chose it.
    pub chunk: Option<Bytes>,
    /// Whether its writes go in full stripes, where somebody said so.
    pub full_stripes: Option<Chosen<bool>>,
    /// Share of its time that others use, where somebody looked.
    pub others: Option<Value<Ratio>>,
    /// What its slowest drive reaches of the others, where one is slow.
    pub slowest: Option<Value<Ratio>>,
    /// Ceiling of what all drives hang on together, where stated (an enclosure on USB).
    pub attached: Option<Value<DataRate>>,
    /// Share of what is read that comes from memory, where somebody looked.
    pub hits: Option<Value<Ratio>>,
    /// What is read over and over, as an editor plays a timeline.
    pub working_set: Option<Value<Information>>,
    /// Measured on the machine itself, in place of the model.
    pub local_read: Option<Value<DataRate>>,
    /// Measured on the machine itself, in place of the model.
    pub local_write: Option<Value<DataRate>>,
}

impl Array {
    /// The layout as the array room counts with it, with drives of the middle capacity.
    ///
    /// `None` where the drives do not divide into the groups, which the reader refuses.
    pub fn layout(&self) -> Option<Layout> {
        let size = DriveSize::new(self.drives.capacity.value.median()).ok()?;
        self.layout_of(size).ok()
    }

    /// The layout with drives of a size.
    ///
    /// # Errors
    /// Where the drives do not make such groups, which the reader refuses.
    pub fn layout_of(&self, size: DriveSize) -> Result<Layout, LayoutFault> {
        let width = self.drives.count / self.groups.max(1);
        Layout::uniform(self.level, self.groups, width, size, self.spares)
    }
}
