use super::level::Family;
use super::{Bytes, DriveSize, Level, Placement, survival};
use narrows_units::quantity::Ratio;

/// Drives that keep their redundancy among themselves.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Group {
    level: Level,
    drives: Vec<DriveSize>,
}

impl Group {
    /// How it keeps its data.
    pub fn level(&self) -> Level {
        self.level
    }

    /// Its drives.
    pub fn drives(&self) -> &[DriveSize] {
        &self.drives
    }

    /// Its width.
    pub fn width(&self) -> usize {
        self.drives.len()
    }

    /// How many of its drives may fail, whichever they are.
    pub fn survives_any(&self) -> usize {
        self.level.survives_any(self.width())
    }
}

/// Why groups do not make an array.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LayoutFault {
    /// A group has fewer drives than its level needs, or more than one drive where one is meant.
    Drives {
        /// The level.
        level: Level,
        /// How many drives the group has.
        found: usize,
        /// How many it needs.
        least: usize,
    },
    /// Fewer groups than the level needs.
    Groups {
        /// The level.
        level: Level,
        /// How many groups there are.
        found: usize,
        /// How many it needs.
        least: usize,
    },
    /// Groups that do not go together.
    Mixed {
        /// The level of the first group.
        first: Level,
        /// The level that does not go with it.
        other: Level,
    },
    /// More drives than an array is described with.
    TooMany {
        /// How many there are.
        found: usize,
    },
}

impl std::fmt::Display for LayoutFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Drives {
                level: Level::Single,
                found,
                ..
            } => write!(f, "single is one drive, not {found}"),
            Self::Drives {
                level,
                found,
                least,
            } => write!(f, "{level} needs {least} drives or more, not {found}"),
            Self::Groups {
                level,
                found,
                least,
            } => write!(f, "{level} needs {least} groups or more, not {found}"),
            Self::Mixed {
                first: Level::Single,
                other: Level::Single,
            } => write!(f, "single is one drive, not several"),
            Self::Mixed { first, other } if first == other => {
                write!(
                    f,
                    "{first} is allocated over all drives, not over groups of them"
                )
            }
            Self::Mixed { first, other } => {
                write!(f, "{first} and {other} do not make one array")
            }
            Self::TooMany { found } => {
                write!(f, "{found} drives are more than {}", Layout::MOST_DRIVES)
            }
        }
    }
}

impl std::error::Error for LayoutFault {}

/// What an array is made of: groups of drives, and hot spares that wait for one to fail.
///
/// Groups of a pool may differ. Several groups of a level of the kernel's driver are stripes over
/// them, and all of one level: two groups of RAID 5 are RAID 50. One drive, and copies that a file
/// system allocates, have one group. Spares add neither space nor speed.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Layout {
    groups: Vec<Group>,
    spares: Vec<DriveSize>,
}

impl Layout {
    /// The most drives an array is described with.
    pub const MOST_DRIVES: usize = 1024;

    /// From its groups, each a level and its drives, and its spares.
    ///
    /// # Errors
    /// Where a group is too small for its level, or groups do not go together.
    pub fn new(
        groups: Vec<(Level, Vec<DriveSize>)>,
        spares: Vec<DriveSize>,
    ) -> Result<Self, LayoutFault> {
        let several = groups.len() > 1;
        let groups: Vec<Group> = groups
            .into_iter()
            .map(|(level, drives)| Group {
                level: if several { level.striped() } else { level },
                drives,
            })
            .collect();
        let first = groups.first().map_or(Level::Single, Group::level);
        for group in &groups {
            check_width(group)?;
        }
        for other in groups.iter().skip(1).map(Group::level) {
            let together = match first.family() {
                Family::Pool => other.family() == Family::Pool,
                Family::One | Family::Striped => other == first && first != Level::Single,
                Family::Allocated => false,
            };
            if !together {
                return Err(LayoutFault::Mixed { first, other });
            }
        }
        if groups.len() < first.least_groups() {
            return Err(LayoutFault::Groups {
                level: first,
                found: groups.len(),
                least: first.least_groups(),
            });
        }
        let found = groups.iter().map(Group::width).sum::<usize>() + spares.len();
        if found > Self::MOST_DRIVES {
            return Err(LayoutFault::TooMany { found });
        }
        Ok(Self { groups, spares })
    }

    /// Equal groups of equal drives, with spares of the same size.
    ///
    /// # Errors
    /// As [`Layout::new`].
    pub fn uniform(
        level: Level,
        groups: usize,
        width: usize,
        size: DriveSize,
        spares: usize,
    ) -> Result<Self, LayoutFault> {
        let found = groups.saturating_mul(width).saturating_add(spares);
        if found > Self::MOST_DRIVES {
            return Err(LayoutFault::TooMany { found });
        }
        Self::new(vec![(level, vec![size; width]); groups], vec![size; spares])
    }

    /// Its groups; at least one.
    pub fn groups(&self) -> &[Group] {
        &self.groups
    }

    /// The level of its first group.
    pub fn level(&self) -> Level {
        self.groups.first().map_or(Level::Single, Group::level)
    }

    /// Whether it is made of stripes over several groups, which run at the pace of the slowest.
    pub fn is_striped_over_groups(&self) -> bool {
        self.groups.len() > 1 && matches!(self.level().family(), Family::One | Family::Striped)
    }

    /// Over how many drives one large request of data falls.
    ///
    /// Stripes: all drives but parity and further copies, in every group; RAID 10 far reads stripes
    /// over all. A pool spreads what it reads ahead over its groups. Copies on whole drives, and
    /// allocated ones, keep a request on one drive.
    pub fn data_drives(&self) -> usize {
        let of = |group: &Group| match group.level {
            Level::Raid0 | Level::Raid10(Placement::Far) => group.width(),
            Level::Raid10(_) => group.width() / 2,
            Level::Single | Level::Raid1 | Level::TwoCopy | Level::ThreeCopy | Level::Mirror => 1,
            parity => group.width() - parity.parity(),
        };
        self.groups.iter().map(of).sum()
    }

    /// Its hot spares.
    pub fn spares(&self) -> &[DriveSize] {
        &self.spares
    }

    /// Drives that hold data or redundancy; spares are not among them.
    pub fn working_drives(&self) -> usize {
        self.groups.iter().map(Group::width).sum()
    }

    /// All drives, spares included.
    pub fn all_drives(&self) -> usize {
        self.working_drives() + self.spares.len()
    }

    /// The bytes of all drives, spares included.
    pub fn raw(&self) -> Bytes {
        let drives = self.groups.iter().flat_map(Group::drives);
        Bytes::new(drives.chain(&self.spares).map(|d| d.bytes().get()).sum())
    }

    /// Whether drives of one group differ in size.
    pub fn is_unequal(&self) -> bool {
        let differ = |g: &Group| g.drives().windows(2).any(|pair| pair[0] != pair[1]);
        self.groups.iter().any(differ)
    }

    /// Whether it is a pool, which is its own file system.
    pub fn is_pooled(&self) -> bool {
        self.level().is_pooled()
    }

    /// How many drives may fail, whichever they are, without loss. Spares do not count: they
    /// help only when there is time to rebuild.
    pub fn survives_any(&self) -> usize {
        self.groups
            .iter()
            .map(Group::survives_any)
            .min()
            .unwrap_or(0)
    }

    /// The share of all sets of `failed` working drives that the array survives.
    ///
    /// Valid for failures at the same moment, every set equally likely. Exact by counting:
    /// parity groups survive up to their parity; near copies on an even number of drives survive
    /// one of each pair; far, offset and odd near copies survive any set without two neighbours
    /// on the ring of drives; allocated copies survive any set smaller than the number of copies.
    ///
    /// Checked by `validate_survival_of_simultaneous_failures`.
    pub fn survival(&self, failed: usize) -> Ratio {
        survival::survival(&self.groups, failed)
    }
}

fn check_width(group: &Group) -> Result<(), LayoutFault> {
    let (level, found) = (group.level, group.width());
    let least = level.least_drives();
    if found < least || (level == Level::Single && found != 1) {
        return Err(LayoutFault::Drives {
            level,
            found,
            least,
        });
    }
    Ok(())
}

/// As it would be written; reads back to the same layout.
impl std::fmt::Display for Layout {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if self.level().family() == Family::Striped {
            write!(f, "{} ", self.level())?;
            for (i, (count, group)) in runs(&self.groups).into_iter().enumerate() {
                let comma = if i > 0 { ", " } else { "" };
                let members: Vec<String> = runs(group.drives())
                    .into_iter()
                    .map(|(width, size)| format!("{width} x {size}"))
                    .collect();
                // groups of unequal drives are written apart, in brackets
                match &members[..] {
                    [one] => write!(f, "{comma}{count} x {one}")?,
                    several => write!(f, "{comma}{count} x ({})", several.join(", "))?,
                }
            }
        } else {
            for (i, (count, group)) in runs(&self.groups).into_iter().enumerate() {
                if i > 0 {
                    f.write_str(" + ")?;
                }
                if count > 1 {
                    write!(f, "{count} x ")?;
                }
                let members: Vec<String> = runs(group.drives())
                    .into_iter()
                    .map(|(width, size)| format!("{width} x {size}"))
                    .collect();
                write!(f, "{} {}", group.level, members.join(", "))?;
            }
        }
        for (count, size) in runs(&self.spares) {
            let plural = if count > 1 { "s" } else { "" };
            write!(f, " + {count} spare{plural} {size}")?;
        }
        Ok(())
    }
}

/// Equal neighbours, counted.
fn runs<T: PartialEq>(items: &[T]) -> Vec<(usize, &T)> {
    let mut found: Vec<(usize, &T)> = Vec::new();
    for item in items {
        match found.last_mut() {
            Some((count, last)) if *last == item => *count += 1,
            _ => found.push((1, item)),
        }
    }
    found
}
