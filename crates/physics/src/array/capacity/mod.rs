//! Space, counted in whole bytes: what the drives have, what redundancy, labels, tables and
//! reserves take, what stays unused and why, and what is left for files.
//!
//! Assumed: drives of the sizes that the trade sells ([`super::DriveSize::sectors`]), the kernel's
//! multiple-device driver with version 1.2 labels for RAID levels, file systems on the whole
//! device with the defaults of their tools. Contents are not counted: a file system's first
//! directories (28 KiB) and the block pointers of a pool (0.02 to 0.3 %) come out of the usable part.

mod btrfs;
mod choices;
mod copies;
mod demand;
mod ext4;
mod kinds;
mod linear;
mod pool;
mod rounded;
mod xfs;

pub use choices::{Choices, FileSystemKind};
pub use copies::{allocated_copies, layered_parity};
pub use demand::{Demand, Growth, Met, Miss, NEAR_MISS, Need, Smallest, smallest};
pub use ext4::{Ext4, ext4};
pub use kinds::{LayoutKind, LayoutSearch, Wanted, smallest_of_each};
pub use linear::data_offset;
pub use pool::{DEFAULT_RECORD, record_sectors};
pub use rounded::Rounded;
pub use xfs::{Xfs, xfs};

use super::level::Family;
use super::{Bytes, Layout, Level};
use narrows_units::quantity::{Ratio, units};

/// A chunk unless somebody chose another: 512 KiB, the kernel driver's default.
pub const DEFAULT_CHUNK: Bytes = Bytes::kibibytes(512);

/// What keeps the files, with the choices that change its size.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FileSystem {
    /// None: the bare device.
    Bare,
    /// ext4.
    Ext4 {
        /// Percent of all blocks kept for the system; 5 unless somebody changed it.
        reserve_percent: u8,
    },
    /// XFS.
    Xfs {
        /// Whether files may share blocks; the default of its tool.
        reflink: bool,
        /// Whether it keeps a map from blocks to files.
        reverse_map: bool,
    },
    /// Btrfs.
    Btrfs {
        /// Bytes of checksum for 4 KiB of data: 4, or 32 for a cryptographic hash.
        checksum_bytes: u8,
    },
    /// A pool, which is its own file system.
    Pool {
        /// Bytes in a full record of a large file.
        record: Bytes,
        /// Bytes in the smallest write to a drive.
        sector: Bytes,
    },
}

impl FileSystem {
    /// What is usual on a layout: a pool on a pool's levels with records of 128 KiB, Btrfs on
    /// allocated copies, otherwise ext4 with its 5 % reserve.
    pub fn usual(level: Level) -> Self {
        match level.family() {
            Family::Pool => Self::Pool {
                record: DEFAULT_RECORD,
                sector: pool::DEFAULT_SECTOR,
            },
            Family::Allocated => Self::Btrfs { checksum_bytes: 4 },
            Family::One | Family::Striped => Self::Ext4 { reserve_percent: 5 },
        }
    }

    /// As the trade names it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Bare => "bare device",
            Self::Ext4 { .. } => "ext4",
            Self::Xfs { .. } => "XFS",
            Self::Btrfs { .. } => "Btrfs",
            Self::Pool { .. } => "ZFS",
        }
    }

    /// Percent of the usable space up to which it is comfortable to fill.
    ///
    /// File systems that never overwrite in place slow down earlier: 80 for a pool and Btrfs, 90
    /// for others. A rule of practice, not a standard.
    pub fn comfortable_percent(self) -> u64 {
        match self {
            Self::Pool { .. } | Self::Btrfs { .. } => 80,
            Self::Bare | Self::Ext4 { .. } | Self::Xfs { .. } => 90,
        }
    }
}

/// How space is counted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Terms {
    /// Chunk of striped levels; ignored by mirrors, pools and allocated copies.
    pub chunk: Bytes,
    /// What keeps the files.
    pub file_system: FileSystem,
    /// Up to which share of the usable space files may grow, in place of the file system's usual.
    pub fill_to: Option<Ratio>,
}

impl Terms {
    /// What is usual for a layout.
    pub fn usual(layout: &Layout) -> Self {
        Self {
            chunk: DEFAULT_CHUNK,
            file_system: FileSystem::usual(layout.level()),
            fill_to: None,
        }
    }

    /// With another file system.
    #[must_use]
    pub fn with(mut self, file_system: FileSystem) -> Self {
        self.file_system = file_system;
        self
    }
}

/// Why space stays unused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Why {
    /// A drive is larger than the smallest of its group.
    UnequalDrives,
    /// What is left after whole chunks, blocks or rows.
    Rounding,
    /// What is left after the whole slabs in which a pool allocates.
    WholeSlabs,
    /// No other drive has room for the copies.
    NoPartner,
}

impl Why {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::UnequalDrives => "drives larger than the smallest of their group",
            Self::Rounding => "left after whole chunks and blocks",
            Self::WholeSlabs => "left after whole slabs of the pool",
            Self::NoPartner => "no other drive has room for the copies",
        }
    }
}

/// Space that stays unused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Unused {
    /// How much.
    pub bytes: Bytes,
    /// Why.
    pub why: Why,
}

/// Where the bytes of an array go. All parts but `comfortable` and `listed` add up to `raw`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Space {
    /// All drives, spares included.
    pub raw: Bytes,
    /// Parity and further copies.
    pub redundancy: Bytes,
    /// Sectors that fill up the stripes of a pool's records.
    pub padding: Bytes,
    /// Hot spares.
    pub spares: Bytes,
    /// What stays unused, by reason; nothing is listed twice.
    pub unused: Vec<Unused>,
    /// Labels of the array and tables of the file system.
    pub metadata: Bytes,
    /// What the file system keeps back.
    pub reserve: Bytes,
    /// What is left for files.
    pub usable: Bytes,
    /// The part of the usable space that is comfortable to fill.
    pub comfortable: Bytes,
    /// What a pool's own listing calls available: it counts with records of 128 KiB for ever.
    pub listed: Option<Bytes>,
}

impl Space {
    /// All that stays unused.
    pub fn unused_bytes(&self) -> Bytes {
        Bytes::new(self.unused.iter().map(|u| u.bytes.get()).sum())
    }

    /// All parts together.
    pub fn sum_of_parts(&self) -> Bytes {
        Bytes::new(
            self.redundancy.get()
                + self.padding.get()
                + self.spares.get()
                + self.unused_bytes().get()
                + self.metadata.get()
                + self.reserve.get()
                + self.usable.get(),
        )
    }
}

/// Why space cannot be counted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SpaceFault {
    /// A drive or device has no room for its labels and tables.
    TooSmall {
        /// What does not fit.
        what: &'static str,
        /// Where it should.
        size: Bytes,
    },
    /// A file system that does not go on the layout.
    Mismatch {
        /// The layout's level.
        level: Level,
        /// The file system's name.
        file_system: &'static str,
    },
    /// A chunk, record, sector or share that makes no sense.
    Nonsense {
        /// What is wrong.
        what: &'static str,
        /// What is allowed.
        allowed: &'static str,
    },
}

impl std::fmt::Display for SpaceFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::TooSmall { what, size } => {
                write!(f, "{what} does not fit into {} bytes", size.get())
            }
            Self::Mismatch { level, file_system } => {
                write!(f, "{file_system} does not go on {level}")
            }
            Self::Nonsense { what, allowed } => write!(f, "{what}; {allowed}"),
        }
    }
}

impl std::error::Error for SpaceFault {}

/// What a device offers after redundancy, before a file system.
#[derive(Clone, Debug, Default)]
struct Device {
    capacity: u64,
    redundancy: u64,
    metadata: u64,
    unequal: u64,
    rounding: u64,
    unpaired: u64,
}

impl Device {
    fn add(&mut self, other: &Self) {
        self.capacity += other.capacity;
        self.redundancy += other.redundancy;
        self.metadata += other.metadata;
        self.unequal += other.unequal;
        self.rounding += other.rounding;
        self.unpaired += other.unpaired;
    }
}

/// What a file system makes of a device: the four add up to its capacity.
#[derive(Clone, Copy, Debug, Default)]
struct Filed {
    metadata: u64,
    reserve: u64,
    rounding: u64,
    usable: u64,
}

/// Where the bytes of an array go.
///
/// Exact for the kernel's RAID levels, for a pool's listing and for ext4; XFS reserves follow the
/// bounds that its code reserves, Btrfs tables are estimated (see their files).
///
/// # Errors
/// Where drives are too small, the file system does not go on the layout, or a term makes no
/// sense.
///
/// Checked by `validate_linear_arrays`, `validate_pool_space`, `property_parts_add_up`.
pub fn space(layout: &Layout, terms: &Terms) -> Result<Space, SpaceFault> {
    let level = layout.level();
    let fill_to = parts_per_million(terms)?;
    let mismatch = SpaceFault::Mismatch {
        level,
        file_system: terms.file_system.name(),
    };
    let mut made = match (level.family(), terms.file_system) {
        (Family::Pool, FileSystem::Pool { record, sector }) => pool::space(layout, record, sector)?,
        (Family::Allocated, FileSystem::Btrfs { checksum_bytes }) => {
            let device = copies::device(layout)?;
            // the allocator writes tables as often as data, which the device has counted
            filed(&device, btrfs::filed(device.capacity, checksum_bytes, 1)?)
        }
        (Family::One | Family::Striped, file_system) => {
            let device = linear::device(layout, terms.chunk)?;
            let system = match file_system {
                FileSystem::Bare => Filed {
                    usable: device.capacity,
                    ..Filed::default()
                },
                FileSystem::Ext4 { reserve_percent } => {
                    ext4::filed(device.capacity, reserve_percent)?
                }
                FileSystem::Xfs {
                    reflink,
                    reverse_map,
                } => xfs::filed(device.capacity, reflink, reverse_map)?,
                FileSystem::Btrfs { checksum_bytes } => {
                    btrfs::filed(device.capacity, checksum_bytes, 2)?
                }
                FileSystem::Pool { .. } => return Err(mismatch),
            };
            filed(&device, system)
        }
        _ => return Err(mismatch),
    };
    made.raw = layout.raw();
    made.spares = Bytes::new(layout.spares().iter().map(|d| d.bytes().get()).sum());
    made.comfortable = Bytes::new(super::size::share(made.usable.get(), fill_to, 1_000_000));
    Ok(made)
}

fn parts_per_million(terms: &Terms) -> Result<u64, SpaceFault> {
    let Some(fill_to) = terms.fill_to else {
        return Ok(terms.file_system.comfortable_percent() * 10_000);
    };
    let share = fill_to.get::<units::ratio::one>();
    if share > 0.0 && share <= 1.0 {
        Ok(libm::round(share * 1e6) as u64)
    } else {
        Err(SpaceFault::Nonsense {
            what: "the share to fill is not between 0 and 100 %",
            allowed: "write for example 80 %",
        })
    }
}

fn filed(device: &Device, system: Filed) -> Space {
    Space {
        raw: Bytes::default(),
        redundancy: Bytes::new(device.redundancy),
        padding: Bytes::default(),
        spares: Bytes::default(),
        unused: reasons(&[
            (device.unequal, Why::UnequalDrives),
            (device.rounding + system.rounding, Why::Rounding),
            (device.unpaired, Why::NoPartner),
        ]),
        metadata: Bytes::new(device.metadata + system.metadata),
        reserve: Bytes::new(system.reserve),
        usable: Bytes::new(system.usable),
        comfortable: Bytes::default(),
        listed: None,
    }
}

fn reasons(found: &[(u64, Why)]) -> Vec<Unused> {
    found
        .iter()
        .filter(|(bytes, _)| *bytes > 0)
        .map(|&(bytes, why)| Unused {
            bytes: Bytes::new(bytes),
            why,
        })
        .collect()
}

#[cfg(test)]
mod tests;
