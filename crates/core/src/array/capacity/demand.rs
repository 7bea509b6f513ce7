//! Space turned round: how many drives a need takes, and what narrowly misses it.

use super::{FileSystem, Space, SpaceFault, Terms, space};
use crate::array::size::share;
use crate::array::{Bytes, DriveSize, Layout, Level};

/// What is needed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Need {
    /// So much room for files.
    Usable(Bytes),
    /// So much that is still comfortable to fill.
    Comfortable(Bytes),
}

impl Need {
    fn asked(self) -> Bytes {
        match self {
            Self::Usable(bytes) | Self::Comfortable(bytes) => bytes,
        }
    }

    fn met(self, space: &Space) -> Bytes {
        match self {
            Self::Usable(_) => space.usable,
            Self::Comfortable(_) => space.comfortable,
        }
    }
}

/// Which number grows until the need is met.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Growth {
    /// The drives of each of so many groups.
    Width {
        /// How many groups.
        groups: usize,
    },
    /// The number of groups of so many drives.
    Groups {
        /// How wide.
        width: usize,
    },
}

/// What to look for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Demand {
    /// The level.
    pub level: Level,
    /// What grows.
    pub growth: Growth,
    /// Size of all drives.
    pub size: DriveSize,
    /// Hot spares on top.
    pub spares: usize,
    /// What is needed.
    pub need: Need,
    /// Chunk and file system.
    pub file_system: Option<FileSystem>,
    /// Share to fill, in place of the usual.
    pub fill_to: Option<crate::quantity::Ratio>,
    /// The most drives that there is room for.
    pub most_drives: usize,
}

/// A layout that would do if a little less were needed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NearMiss {
    /// Which.
    pub layout: Layout,
    /// By how much it misses.
    pub short_by: Bytes,
}

/// The answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Smallest {
    /// The smallest layout that meets the need, with its space; none within the most drives.
    pub meets: Option<(Layout, Space)>,
    /// The largest smaller layout, where it misses by no more than [`NEAR_MISS`].
    pub near_miss: Option<NearMiss>,
}

/// A miss worth telling: 2 % of what is needed. Below that, deleting old material or filling a
/// little further is cheaper than a drive.
pub const NEAR_MISS: (u64, u64) = (2, 100);

/// The fewest drives that meet a need.
///
/// Counts up from the fewest drives of the level; padding can make a larger pool no better than a
/// smaller one, so every count is tried, and the first that meets the need is taken.
///
/// # Errors
/// Where a term makes no sense. Checked by `verify_smallest_is_smallest`.
pub fn smallest(demand: &Demand) -> Result<Smallest, SpaceFault> {
    let level = demand.level;
    let mut found = Smallest {
        meets: None,
        near_miss: None,
    };
    let first = match demand.growth {
        Growth::Width { .. } => level.least_drives(),
        Growth::Groups { .. } => level.least_groups(),
    };
    for count in first..=demand.most_drives {
        let (groups, width) = match demand.growth {
            Growth::Width { groups } => (groups, count),
            Growth::Groups { width } => (count, width),
        };
        let Ok(layout) = Layout::uniform(level, groups, width, demand.size, demand.spares) else {
            break;
        };
        if layout.all_drives() > demand.most_drives {
            break;
        }
        let usual = Terms::usual(&layout);
        let terms = Terms {
            file_system: demand.file_system.unwrap_or(usual.file_system),
            fill_to: demand.fill_to,
            ..usual
        };
        let space = space(&layout, &terms)?;
        let (asked, met) = (demand.need.asked(), demand.need.met(&space));
        if met >= asked {
            found.meets = Some((layout, space));
            break;
        }
        let short = asked.get() - met.get();
        if short <= share(asked.get(), NEAR_MISS.0, NEAR_MISS.1) {
            found.near_miss = Some(NearMiss {
                layout,
                short_by: Bytes::new(short),
            });
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::terabytes;

    fn demand(level: Level, growth: Growth, need: Need) -> Demand {
        Demand {
            level,
            growth,
            size: DriveSize::new(terabytes(12.0)).unwrap(),
            spares: 0,
            need,
            file_system: None,
            fill_to: None,
            most_drives: 24,
        }
    }

    #[test]
    fn verify_smallest_is_smallest() {
        let need = Need::Usable(Bytes::new(60_000_000_000_000));
        for (level, growth) in [
            (Level::Raid5, Growth::Width { groups: 1 }),
            (Level::Raid60, Growth::Width { groups: 2 }),
            (Level::RaidZ2, Growth::Width { groups: 1 }),
            (Level::Mirror, Growth::Groups { width: 2 }),
            (Level::TwoCopy, Growth::Width { groups: 1 }),
        ] {
            let (layout, made) = smallest(&demand(level, growth, need))
                .unwrap()
                .meets
                .unwrap();
            assert!(made.usable >= need.asked(), "{layout}");
            let (groups, width) = (layout.groups().len(), layout.groups()[0].width());
            let smaller = match growth {
                Growth::Width { .. } => Layout::uniform(
                    level,
                    groups,
                    width - 1,
                    demand(level, growth, need).size,
                    0,
                ),
                Growth::Groups { .. } => Layout::uniform(
                    level,
                    groups - 1,
                    width,
                    demand(level, growth, need).size,
                    0,
                ),
            }
            .unwrap();
            let less = space(&smaller, &Terms::usual(&smaller)).unwrap();
            assert!(less.usable < need.asked(), "{smaller}");
        }
    }

    #[test]
    fn a_near_miss_is_told_with_what_is_missing() {
        // raid6 of eight drives of 12 TB holds 68.1 TB on ext4: 68.5 TB misses by less than 2 %
        let need = Need::Usable(Bytes::new(68_500_000_000_000));
        let found = smallest(&demand(Level::Raid6, Growth::Width { groups: 1 }, need)).unwrap();
        let (layout, _) = found.meets.unwrap();
        assert_eq!(layout.working_drives(), 9);
        let miss = found.near_miss.unwrap();
        assert_eq!(miss.layout.working_drives(), 8);
        let made = space(&miss.layout, &Terms::usual(&miss.layout)).unwrap();
        assert_eq!(made.usable.get() + miss.short_by.get(), need.asked().get());
        // far off: none
        let need = Need::Usable(Bytes::new(75_000_000_000_000));
        let found = smallest(&demand(Level::Raid6, Growth::Width { groups: 1 }, need)).unwrap();
        assert!(found.near_miss.is_none());
    }

    #[test]
    fn comfort_takes_more_drives_and_no_room_is_no_answer() {
        let bytes = Bytes::new(65_000_000_000_000);
        let count = |need| {
            let found = smallest(&demand(Level::Raid6, Growth::Width { groups: 1 }, need)).unwrap();
            found.meets.map(|(layout, _)| layout.working_drives())
        };
        assert_eq!(count(Need::Usable(bytes)), Some(8));
        assert_eq!(count(Need::Comfortable(bytes)), Some(9));
        assert_eq!(count(Need::Usable(Bytes::new(1 << 50))), None);
    }
}
