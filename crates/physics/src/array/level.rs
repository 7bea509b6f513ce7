/// Where RAID 10 puts the second copy of a chunk.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Placement {
    /// On the next drive at the same place.
    #[default]
    Near,
    /// On the next drive, half a drive further in; reads use the outer halves like stripes.
    Far,
    /// On the next drive, one chunk further in.
    Offset,
}

impl Placement {
    /// All placements.
    pub const ALL: [Self; 3] = [Self::Near, Self::Far, Self::Offset];

    /// As written in a layout.
    pub fn word(self) -> &'static str {
        match self {
            Self::Near => "near",
            Self::Far => "far",
            Self::Offset => "offset",
        }
    }
}

/// How a group of drives keeps its data.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Level {
    /// One drive.
    Single,
    /// Stripes without redundancy.
    Raid0,
    /// Every drive holds the same.
    Raid1,
    /// Stripes with one rotating parity.
    Raid5,
    /// Stripes with two rotating parities.
    Raid6,
    /// Stripes of which every chunk is on two drives.
    Raid10(Placement),
    /// Stripes over groups that are each RAID 5.
    Raid50,
    /// Stripes over groups that are each RAID 6.
    Raid60,
    /// Two copies of every chunk on any two drives, as a file system allocates them.
    TwoCopy,
    /// Three copies of every chunk on any three drives, as a file system allocates them.
    ThreeCopy,
    /// Stripes with one parity over every drive that still has room, as a file system allocates them.
    OneParity,
    /// Stripes with two parities over every drive that still has room, as a file system allocates them.
    TwoParity,
    /// A group of a pool in which every drive holds the same.
    Mirror,
    /// A group of a pool with one parity in stripes of varying width.
    RaidZ1,
    /// A group of a pool with two parities in stripes of varying width.
    RaidZ2,
    /// A group of a pool with three parities in stripes of varying width.
    RaidZ3,
}

/// How groups of a level come together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Family {
    /// Groups of the kernel's multiple-device driver; several are striped over.
    One,
    /// Names for stripes over several such groups.
    Striped,
    /// Chunks that the file system allocates over all drives, as copies or as stripes with parity.
    Allocated,
    /// Groups of a pool.
    Pool,
}

impl Level {
    /// All levels; RAID 10 once a placement.
    pub const ALL: [Self; 18] = [
        Self::Single,
        Self::Raid0,
        Self::Raid1,
        Self::Raid5,
        Self::Raid6,
        Self::Raid10(Placement::Near),
        Self::Raid10(Placement::Far),
        Self::Raid10(Placement::Offset),
        Self::Raid50,
        Self::Raid60,
        Self::TwoCopy,
        Self::ThreeCopy,
        Self::OneParity,
        Self::TwoParity,
        Self::Mirror,
        Self::RaidZ1,
        Self::RaidZ2,
        Self::RaidZ3,
    ];

    /// As written in a layout, without the placement of RAID 10.
    pub fn word(self) -> &'static str {
        match self {
            Self::Single => "single",
            Self::Raid0 => "raid0",
            Self::Raid1 => "raid1",
            Self::Raid5 => "raid5",
            Self::Raid6 => "raid6",
            Self::Raid10(_) => "raid10",
            Self::Raid50 => "raid50",
            Self::Raid60 => "raid60",
            Self::TwoCopy => "two-copy",
            Self::ThreeCopy => "three-copy",
            Self::OneParity => "one-parity",
            Self::TwoParity => "two-parity",
            Self::Mirror => "mirror",
            Self::RaidZ1 => "raidz1",
            Self::RaidZ2 => "raidz2",
            Self::RaidZ3 => "raidz3",
        }
    }

    /// The level that a word names, case aside; RAID 10 in its near form.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|level| level.word().eq_ignore_ascii_case(word))
    }

    /// The fewest drives that one group can be made of.
    ///
    /// RAID 10 near needs two pairs; the far and offset forms also work on two drives. The pool
    /// code would take parity + 1 drives, which no one should build: a mirror does the same.
    pub fn least_drives(self) -> usize {
        match self {
            Self::Single => 1,
            Self::Raid0
            | Self::Raid1
            | Self::Raid10(Placement::Far | Placement::Offset)
            | Self::TwoCopy
            | Self::Mirror => 2,
            Self::Raid5 | Self::Raid50 | Self::ThreeCopy | Self::OneParity | Self::RaidZ1 => 3,
            Self::Raid6
            | Self::Raid60
            | Self::TwoParity
            | Self::RaidZ2
            | Self::Raid10(Placement::Near) => 4,
            Self::RaidZ3 => 5,
        }
    }

    /// The fewest groups that a layout of this level has.
    pub fn least_groups(self) -> usize {
        match self.family() {
            Family::Striped => 2,
            _ => 1,
        }
    }

    /// The level that several groups of this one, striped over, are called by: RAID 5 and 6 become
    /// RAID 50 and 60, others keep their name.
    #[must_use]
    pub fn striped(self) -> Self {
        match self {
            Self::Raid5 => Self::Raid50,
            Self::Raid6 => Self::Raid60,
            other => other,
        }
    }

    /// Whether there may be several groups of it: stripes over groups of the kernel's driver, or
    /// groups of a pool.
    pub fn comes_in_groups(self) -> bool {
        self != Self::Single && self.family() != Family::Allocated
    }

    /// Drives' worth of parity in a group; none for levels that keep copies.
    pub fn parity(self) -> usize {
        match self {
            Self::Raid5 | Self::Raid50 | Self::OneParity | Self::RaidZ1 => 1,
            Self::Raid6 | Self::Raid60 | Self::TwoParity | Self::RaidZ2 => 2,
            Self::RaidZ3 => 3,
            _ => 0,
        }
    }

    /// How many drives of a group of `drives` may fail, whichever they are.
    pub fn survives_any(self, drives: usize) -> usize {
        match self {
            Self::Single | Self::Raid0 => 0,
            Self::Raid1 | Self::Mirror => drives.saturating_sub(1),
            Self::Raid10(_) | Self::TwoCopy => 1,
            Self::ThreeCopy => 2,
            parity => parity.parity(),
        }
    }

    /// Which rules of reckoning the level follows.
    pub fn family(self) -> Family {
        match self {
            Self::Raid50 | Self::Raid60 => Family::Striped,
            Self::TwoCopy | Self::ThreeCopy | Self::OneParity | Self::TwoParity => {
                Family::Allocated
            }
            Self::Mirror | Self::RaidZ1 | Self::RaidZ2 | Self::RaidZ3 => Family::Pool,
            _ => Family::One,
        }
    }

    /// Whether the file system keeps sums of all that it holds and works on several files side by side: pools, and
    /// what a file system allocates.
    pub fn is_summed(self) -> bool {
        matches!(self.family(), Family::Pool | Family::Allocated)
    }

    /// Whether the kernel's driver makes its parity, on one thread an array.
    pub fn has_driver_parity(self) -> bool {
        self.parity() > 0 && matches!(self.family(), Family::One | Family::Striped)
    }

    /// Whether a power cut in the middle of a write can leave a stripe whose parity does not fit and that nothing
    /// puts right, by the file system's own documentation. Such levels are counted and never proposed.
    pub fn has_write_hole(self) -> bool {
        matches!(self, Self::OneParity | Self::TwoParity)
    }

    /// Whether groups of this level make up a pool that is its own file system.
    pub fn is_pooled(self) -> bool {
        self.family() == Family::Pool
    }
}

impl std::fmt::Display for Level {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.word())?;
        match self {
            Self::Raid10(placement) if *placement != Placement::Near => {
                write!(f, " {}", placement.word())
            }
            _ => Ok(()),
        }
    }
}
