//! Space turned round: how many drives a need takes, and what narrowly misses it.

use super::{FileSystem, Space, SpaceFault, Terms, space};
use crate::array::size::share;
use crate::array::{Bytes, DriveSize, Layout, Level};
use narrows_units::quantity::{Ratio, ratio};

/// What is needed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Need {
    /// So much room for files.
    Usable(Bytes),
    /// So much that is still comfortable to fill.
    Comfortable(Bytes),
}

impl Need {
    /// How much.
    pub fn asked(self) -> Bytes {
        match self {
            Self::Usable(bytes) | Self::Comfortable(bytes) => bytes,
        }
    }

    /// How much of it a layout has.
    pub fn met(self, space: &Space) -> Bytes {
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
    pub fill_to: Option<Ratio>,
    /// The most drives that there is room for.
    pub most_drives: usize,
}

/// A layout that meets the need.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Met {
    /// Which.
    pub layout: Layout,
    /// Where its bytes go.
    pub space: Space,
    /// How much more it has than is needed.
    pub over_by: Bytes,
}

/// A layout that would do if a little less were needed.
#[derive(Clone, Debug, PartialEq)]
pub struct Miss {
    /// Which.
    pub layout: Layout,
    /// Where its bytes go.
    pub space: Space,
    /// By how much it misses.
    pub short_by: Bytes,
    /// The same as a share of what is needed.
    pub short_share: Ratio,
}

/// The answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Smallest {
    /// The smallest layout that meets the need; none within the most drives.
    pub meets: Option<Met>,
    /// The largest smaller layout, where it misses by no more than [`NEAR_MISS`].
    pub near_miss: Option<Miss>,
    /// Where none meets the need: what misses it by least, with the fewest drives.
    pub nearest: Option<Miss>,
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
/// Where a term makes no sense, or the drives are too small in every number. Checked by
/// `verify_smallest_is_smallest` and `property_no_smaller_count_meets_the_need`.
pub fn smallest(demand: &Demand) -> Result<Smallest, SpaceFault> {
    let level = demand.level;
    let mut found = Smallest {
        meets: None,
        near_miss: None,
        nearest: None,
    };
    let mut too_small = None;
    let first = match demand.growth {
        Growth::Width { .. } => level.least_drives(),
        // one group of a kernel's level is not called a layout of groups
        Growth::Groups { .. } if level.is_pooled() => 1,
        Growth::Groups { .. } => 2,
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
        let space = match space(&layout, &terms) {
            Ok(space) => space,
            // more drives may make a device that is large enough
            Err(fault @ SpaceFault::TooSmall { .. }) => {
                too_small = Some(fault);
                continue;
            }
            Err(fault) => return Err(fault),
        };
        let (asked, met) = (demand.need.asked(), demand.need.met(&space));
        if met >= asked {
            found.meets = Some(Met {
                layout,
                space,
                over_by: Bytes::new(met.get() - asked.get()),
            });
            found.nearest = None;
            break;
        }
        let short = asked.get() - met.get();
        let miss = Miss {
            layout,
            space,
            short_by: Bytes::new(short),
            short_share: ratio(short as f64 / asked.get() as f64),
        };
        if short <= share(asked.get(), NEAR_MISS.0, NEAR_MISS.1) {
            found.near_miss = Some(miss.clone());
        }
        if found
            .nearest
            .as_ref()
            .is_none_or(|n| miss.short_by < n.short_by)
        {
            found.nearest = Some(miss);
        }
    }
    match too_small {
        Some(fault) if found.meets.is_none() && found.nearest.is_none() => Err(fault),
        _ => Ok(found),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use narrows_units::quantity::terabytes;
    use proptest::prelude::*;

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
            let met = smallest(&demand(level, growth, need))
                .unwrap()
                .meets
                .unwrap();
            let layout = met.layout;
            assert!(met.space.usable >= need.asked(), "{layout}");
            assert_eq!(
                met.over_by.get() + need.asked().get(),
                met.space.usable.get()
            );
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
        assert_eq!(found.meets.unwrap().layout.working_drives(), 9);
        assert!(found.nearest.is_none());
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
            found.meets.map(|met| met.layout.working_drives())
        };
        assert_eq!(count(Need::Usable(bytes)), Some(8));
        assert_eq!(count(Need::Comfortable(bytes)), Some(9));
        assert_eq!(count(Need::Usable(Bytes::new(1 << 50))), None);
    }

    #[test]
    fn the_nearest_is_told_where_nothing_meets_the_need() {
        let need = Need::Usable(Bytes::new(60_000_000_000_000));
        let mut asked = demand(Level::Raid6, Growth::Width { groups: 1 }, need);
        asked.most_drives = 5;
        let found = smallest(&asked).unwrap();
        assert!(found.meets.is_none() && found.near_miss.is_none());
        let miss = found.nearest.unwrap();
        assert_eq!(miss.layout.working_drives(), 5);
        assert_eq!(
            miss.space.usable.get() + miss.short_by.get(),
            need.asked().get()
        );
        // a mirror does not grow: two drives are as near as twenty
        let asked = demand(Level::Raid1, Growth::Width { groups: 1 }, need);
        let miss = smallest(&asked).unwrap().nearest.unwrap();
        assert_eq!(miss.layout.working_drives(), 2);
    }

    proptest! {
        #[test]
        fn property_no_smaller_count_meets_the_need(
            level in 0..Level::ALL.len(), need in 1..200_u64, terabytes_ in 1..25_u32,
            spares in 0..3_usize, comfortable in any::<bool>(),
        ) {
            let level = Level::ALL[level];
            let groups = level.least_groups();
            let bytes = Bytes::new(need * 1_000_000_000_000);
            let need = if comfortable { Need::Comfortable(bytes) } else { Need::Usable(bytes) };
            let mut asked = demand(level, Growth::Width { groups }, need);
            asked.size = DriveSize::new(terabytes(f64::from(terabytes_))).unwrap();
            asked.spares = spares;
            let found = smallest(&asked).unwrap();
            // every count there is, without a rule for stopping
            let all: Vec<(usize, u64)> = (1..=24)
                .filter_map(|width| Layout::uniform(level, groups, width, asked.size, spares).ok())
                .filter(|layout| layout.all_drives() <= 24)
                .map(|layout| {
                    let made = space(&layout, &Terms::usual(&layout)).unwrap();
                    (layout.all_drives(), need.met(&made).get())
                })
                .collect();
            let first = all.iter().find(|(_, met)| *met >= bytes.get()).map(|(n, _)| *n);
            prop_assert_eq!(found.meets.as_ref().map(|m| m.layout.all_drives()), first);
            let near = all.iter().rev()
                .filter(|(n, _)| first.is_none_or(|f| *n < f))
                .find(|(_, met)| *met < bytes.get() && (bytes.get() - met) * 50 <= bytes.get())
                .map(|(n, _)| *n);
            prop_assert_eq!(found.near_miss.map(|m| m.layout.all_drives()), near);
            prop_assert_eq!(found.nearest.is_some(), first.is_none() && !all.is_empty());
        }
    }
}
