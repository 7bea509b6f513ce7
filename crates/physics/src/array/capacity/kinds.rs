//! Every kind of layout that a need could be met with.

use super::demand::{Demand, Growth, Met, Need, Smallest, smallest};
use super::{Choices, SpaceFault};
use crate::array::{DriveSize, Level, Placement};

/// A kind of layout that grows by drives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LayoutKind {
    /// Its level.
    pub level: Level,
    /// What grows.
    pub growth: Growth,
}

const fn wide(level: Level, groups: usize) -> LayoutKind {
    LayoutKind {
        level,
        growth: Growth::Width { groups },
    }
}

/// The kinds that are tried. RAID 10 stands in its near form: far and offset hold as much to a
/// chunk, and stripes over couples are the same; over mirrors of three they survive any two. RAID 50 and 60 have two groups: more of them take more drives for the same space, since
/// each has parity of its own.
const KINDS: [LayoutKind; 18] = [
    wide(Level::Single, 1),
    wide(Level::Raid0, 1),
    wide(Level::Raid1, 1),
    wide(Level::Raid5, 1),
    wide(Level::Raid6, 1),
    wide(Level::Raid10(Placement::Near), 1),
    LayoutKind {
        level: Level::Raid1,
        growth: Growth::Groups { width: 3 },
    },
    wide(Level::Raid50, 2),
    wide(Level::Raid60, 2),
    wide(Level::TwoCopy, 1),
    wide(Level::ThreeCopy, 1),
    LayoutKind {
        level: Level::Mirror,
        growth: Growth::Groups { width: 2 },
    },
    LayoutKind {
        level: Level::Mirror,
        growth: Growth::Groups { width: 3 },
    },
    wide(Level::RaidZ1, 1),
    wide(Level::RaidZ2, 1),
    wide(Level::RaidZ3, 1),
    wide(Level::RaidZ1, 2),
    wide(Level::RaidZ2, 2),
];

impl std::fmt::Display for LayoutKind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.growth {
            Growth::Width { groups: 1 } => write!(f, "{}", self.level),
            Growth::Width { groups } => write!(f, "{} in {groups} groups", self.level),
            Growth::Groups { width } => write!(f, "{} in groups of {width}", self.level),
        }
    }
}

/// What is wanted, whatever the layout.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// How much space.
    pub need: Need,
    /// Size of every drive.
    pub size: DriveSize,
    /// Hot spares on top.
    pub spares: usize,
    /// The most drives that there is room for, spares included.
    pub most_drives: usize,
    /// File system, record and headroom.
    pub choices: Choices,
}

/// The smallest layout of each kind.
#[derive(Clone, Debug, PartialEq)]
pub struct LayoutSearch {
    /// Kinds with a layout within the most drives, and what was found.
    pub found: Vec<(LayoutKind, Smallest)>,
}

impl LayoutSearch {
    /// Whether any layout meets the need.
    pub fn is_met(&self) -> bool {
        self.met().next().is_some()
    }

    /// Layouts that meet the need.
    pub fn met(&self) -> impl Iterator<Item = &Met> {
        self.found.iter().filter_map(|(_, s)| s.meets.as_ref())
    }

    /// The layout with the fewest drives of those that survive any so many failures; of equals
    /// the one with the most space.
    pub fn fewest(&self, survives: usize) -> Option<&Met> {
        self.met()
            .filter(|met| met.layout.survives_any() >= survives)
            .min_by_key(|met| (met.layout.all_drives(), std::cmp::Reverse(met.space.usable)))
    }

    /// The miss that is nearest to the need; of equals the one that survives more.
    pub fn nearest(&self) -> Option<&super::Miss> {
        self.found
            .iter()
            .filter_map(|(_, s)| s.nearest.as_ref())
            .min_by_key(|miss| (miss.short_by, std::cmp::Reverse(miss.layout.survives_any())))
    }
}

/// The smallest layout of each kind that meets a need, and what narrowly misses it.
///
/// Kinds on which the chosen file system does not go are left out, and so are kinds that need
/// more drives than there is room for. Assumes drives of one size, and groups of one width.
///
/// # Errors
/// Where a choice makes no sense, or the drives are too small for every kind.
///
/// Checked by `validate_smallest_of_each`.
pub fn smallest_of_each(wanted: &Wanted) -> Result<LayoutSearch, SpaceFault> {
    let mut found = Vec::new();
    let mut broken = None;
    for kind in KINDS {
        if !wanted.choices.goes_on(kind.level) {
            continue;
        }
        let demand = Demand {
            level: kind.level,
            growth: kind.growth,
            size: wanted.size,
            spares: wanted.spares,
            need: wanted.need,
            file_system: Some(wanted.choices.file_system_on(kind.level)),
            fill_to: wanted.choices.fill_to,
            most_drives: wanted.most_drives,
        };
        match smallest(&demand) {
            Ok(one) if one.meets.is_some() || one.nearest.is_some() => found.push((kind, one)),
            Ok(_) => {}
            Err(fault @ SpaceFault::TooSmall { .. }) => broken = Some(fault),
            Err(fault) => return Err(fault),
        }
    }
    match broken {
        Some(fault) if found.is_empty() => Err(fault),
        _ => Ok(LayoutSearch { found }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::array::{Bytes, capacity::FileSystemKind};
    use narrows_units::quantity::{percent, terabytes};

    fn wanted(terabytes_: u64, most_drives: usize) -> Wanted {
        Wanted {
            need: Need::Usable(Bytes::new(terabytes_ * 1_000_000_000_000)),
            size: DriveSize::new(terabytes(10.0)).unwrap(),
            spares: 0,
            most_drives,
            choices: Choices {
                file_system: Some(FileSystemKind::Bare),
                ..Choices::default()
            },
        }
    }

    #[test]
    fn validate_smallest_of_each() {
        // by hand: 60 TB on bare devices of 10 TB (10.0008 TB less 0.0001 TB of label) are six
        // drives' worth, and redundancy on top
        let search = smallest_of_each(&wanted(60, 24)).unwrap();
        let met: Vec<String> = search.met().map(|met| met.layout.to_string()).collect();
        assert_eq!(
            met,
            [
                "raid0 6 x 10 TB",
                "raid5 7 x 10 TB",
                "raid6 8 x 10 TB",
                "raid10 12 x 10 TB",
                "6 x raid1 3 x 10 TB",
                "raid50 2 x 4 x 10 TB",
                "raid60 2 x 5 x 10 TB",
            ]
        );
        let fewest = |survives| search.fewest(survives).map(|met| met.layout.all_drives());
        assert_eq!(
            [fewest(0), fewest(1), fewest(2), fewest(3)],
            [Some(6), Some(7), Some(8), None]
        );
        // one drive and a mirror of two hold one drive's worth, however many there is room for
        let short: Vec<String> = search
            .found
            .iter()
            .filter_map(|(_, s)| s.nearest.as_ref())
            .map(|miss| miss.layout.to_string())
            .collect();
        assert_eq!(short, ["single 1 x 10 TB", "raid1 2 x 10 TB"]);
    }

    #[test]
    fn pools_and_copies_are_tried_where_no_file_system_is_chosen() {
        let mut all = wanted(60, 24);
        all.choices.file_system = None;
        let search = smallest_of_each(&all).unwrap();
        assert_eq!(search.found.len(), KINDS.len());
        all.choices.file_system = Some(FileSystemKind::Zfs);
        let pools = smallest_of_each(&all).unwrap();
        assert_eq!(pools.found.len(), 7);
        assert!(pools.met().all(|met| met.layout.is_pooled()));
    }

    #[test]
    fn spares_and_room_count() {
        let mut one = wanted(60, 8);
        one.spares = 1;
        let search = smallest_of_each(&one).unwrap();
        let drives = |level| {
            let (_, s) = search.found.iter().find(|(f, _)| f.level == level).unwrap();
            s.meets.as_ref().map(|met| met.layout.all_drives())
        };
        assert_eq!(drives(Level::Raid5), Some(8));
        assert_eq!(drives(Level::Raid6), None);
        // too few drives for any but the smallest layouts: what there is room for is the nearest
        let search = smallest_of_each(&wanted(60, 2)).unwrap();
        assert!(!search.is_met());
        let nearest = search.nearest().unwrap();
        assert_eq!(nearest.layout.to_string(), "raid0 2 x 10 TB");
        assert!(
            smallest_of_each(&wanted(60, 0))
                .unwrap()
                .nearest()
                .is_none()
        );
    }

    #[test]
    fn nonsense_and_small_drives_are_refused() {
        let mut bad = wanted(60, 24);
        bad.choices.fill_to = Some(percent(150.0));
        assert!(smallest_of_each(&bad).is_err());
        let mut small = wanted(60, 24);
        small.size = DriveSize::new(terabytes(0.008)).unwrap();
        small.choices.file_system = Some(FileSystemKind::Zfs);
        assert!(smallest_of_each(&small).is_err());
        // too small for a pool, not for the others
        small.choices.file_system = None;
        assert!(!smallest_of_each(&small).unwrap().found.is_empty());
    }
}
