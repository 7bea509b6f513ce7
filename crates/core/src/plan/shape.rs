//! Which layouts fit a number of bays.

use crate::array::{DriveSize, Layout, LayoutFault, Level};

/// A layout of equal groups, without the drives that it is made of and without spares.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Shape {
    /// How each group keeps its data.
    pub level: Level,
    /// How many groups.
    pub groups: usize,
    /// Drives in each.
    pub width: usize,
}

/// More hot spares than one are kept by nobody with so few bays; two are looked at.
pub const MOST_SPARES: usize = 2;

impl Shape {
    /// Drives at work.
    pub fn drives(self) -> usize {
        self.groups * self.width
    }

    /// Made of drives of a size, with spares.
    ///
    /// # Errors
    /// Where the level cannot be made of so many drives.
    pub fn of(self, size: DriveSize, spares: usize) -> Result<Layout, LayoutFault> {
        Layout::uniform(self.level, self.groups, self.width, size, spares)
    }

    /// How many spares are worth looking at: none where nothing can be rebuilt.
    pub(super) fn spares(self, bays: usize) -> std::ops::RangeInclusive<usize> {
        let room = bays.saturating_sub(self.drives()).min(MOST_SPARES);
        if self.level.survives_any(self.width) == 0 {
            0..=0
        } else {
            0..=room
        }
    }
}

/// Whether it is what a layout with another name is too: stripes over RAID 0 and over RAID 10 are one
/// wider RAID 0 or RAID 10, those over couples are RAID 10, and several groups of RAID 5 and 6 are RAID
/// 50 and 60.
fn is_another(level: Level, groups: usize, width: usize) -> bool {
    groups > 1
        && match level {
            Level::Raid0 | Level::Raid10(_) => true,
            Level::Raid1 => width < 3,
            level => level.striped() != level,
        }
}

/// All layouts of equal groups that fit: every level, every number of groups that it may have,
/// every width; none under two names, and none that a power cut may spoil.
pub fn shapes(bays: usize) -> Vec<Shape> {
    let mut found = Vec::new();
    for level in Level::ALL
        .into_iter()
        .filter(|level| !level.has_write_hole())
    {
        let most_groups = if level.comes_in_groups() { bays } else { 1 };
        for groups in level.least_groups()..=most_groups {
            let most = if level == Level::Single {
                1
            } else {
                bays / groups
            };
            for width in level.least_drives()..=most {
                if !is_another(level, groups, width) {
                    found.push(Shape {
                        level,
                        groups,
                        width,
                    });
                }
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::terabytes;

    #[test]
    fn verify_no_shape_is_missing() {
        let size = DriveSize::new(terabytes(4.0)).unwrap();
        // what has another name already
        let twice = ["raid0", "raid5", "raid6", "raid10"];
        for bays in 1..=9 {
            let found = shapes(bays);
            let mut expected = 0;
            for level in Level::ALL {
                for groups in 1..=bays {
                    for width in 1..=bays {
                        let shape = Shape {
                            level,
                            groups,
                            width,
                        };
                        let made = shape.of(size, 0).is_ok()
                            && shape.drives() <= bays
                            && !(groups > 1 && twice.contains(&level.word()))
                            && !(level == Level::Raid1 && groups > 1 && width == 2)
                            && !level.has_write_hole();
                        assert_eq!(found.contains(&shape), made, "{shape:?} in {bays}");
                        expected += usize::from(made);
                    }
                }
            }
            assert_eq!(found.len(), expected, "{bays}");
        }
    }

    #[test]
    fn spares_fill_what_is_left_but_only_where_something_is_rebuilt() {
        let shape = |level, width| Shape {
            level,
            groups: 1,
            width,
        };
        assert_eq!(shape(Level::Raid6, 6).spares(8), 0..=2);
        assert_eq!(shape(Level::Raid6, 7).spares(8), 0..=1);
        assert_eq!(shape(Level::Raid6, 8).spares(8), 0..=0);
        assert_eq!(shape(Level::Raid0, 4).spares(8), 0..=0);
    }
}
