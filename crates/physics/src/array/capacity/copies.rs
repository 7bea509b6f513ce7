//! Copies of chunks on any drives that have room, and parity in layers over unequal drives.

use super::{Device, SpaceFault};
use crate::array::size::MEBIBYTE;
use crate::array::{Bytes, Layout, Level};

/// Space for data when every chunk is kept `copies` times on different drives.
///
/// The largest U with `sum min(size, U) >= copies * U`: a drive cannot hold two copies of a chunk,
/// so a drive much larger than the others is partly idle. For two copies this is
/// `min(sum / 2, sum - largest)`. Valid for an allocator that fills the emptiest drives first;
/// whole chunks of 1 GiB are not counted. Zero where there are fewer drives than copies.
///
/// Source: Btrfs manual, mkfs.btrfs, profiles; derivation by layers. Checked by
/// `validate_copies_on_unequal_drives`.
pub fn allocated_copies(sizes: &[Bytes], copies: usize) -> Bytes {
    let mut sizes: Vec<u64> = sizes.iter().map(|s| s.get()).collect();
    sizes.sort_unstable_by(|a, b| b.cmp(a));
    if copies == 0 || sizes.len() < copies {
        return Bytes::new(0);
    }
    // with the j largest drives holding one copy each, the others share the remaining copies
    let best = (0..copies)
        .map(|j| sizes.iter().skip(j).sum::<u64>() / (copies - j) as u64)
        .min();
    Bytes::new(best.unwrap_or(0))
}

/// What stripes of varying width come to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Layered {
    /// For data.
    pub data: Bytes,
    /// For parity.
    pub parity: Bytes,
}

/// Space for data when stripes with `parity` are as wide as there are drives with room.
///
/// Sizes ascending, layer by layer: `sum (size_j - size_(j-1)) * (drives with room - parity)`
/// while at least `least_width` drives have room; parity takes `parity` times every layer. Such profiles
/// of Btrfs can lose data after a power cut (write hole), so that no search proposes them.
///
/// Checked by `validate_copies_on_unequal_drives`.
pub fn layered_parity(sizes: &[Bytes], parity: usize, least_width: usize) -> Layered {
    let mut sizes: Vec<u64> = sizes.iter().map(|s| s.get()).collect();
    sizes.sort_unstable();
    let (mut below, mut made) = (0, Layered::default());
    for (i, &size) in sizes.iter().enumerate() {
        let width = sizes.len() - i;
        if width < least_width.max(parity + 1) {
            break;
        }
        let layer = size - below;
        made.data = Bytes::new(made.data.get() + layer * (width - parity) as u64);
        made.parity = Bytes::new(made.parity.get() + layer * parity as u64);
        below = size;
    }
    made
}

/// Left alone at the start of every drive.
const DRIVE_LABEL: u64 = MEBIBYTE;

pub(super) fn device(layout: &Layout) -> Result<Device, SpaceFault> {
    let mut all = Device::default();
    for group in layout.groups() {
        let mut rooms = Vec::new();
        for drive in group.drives() {
            let room = drive.bytes().get().saturating_sub(DRIVE_LABEL);
            if room == 0 {
                return Err(SpaceFault::TooSmall {
                    what: "the drive's label",
                    size: drive.bytes(),
                });
            }
            rooms.push(Bytes::new(room));
        }
        let copied = |copies: usize| {
            let data = allocated_copies(&rooms, copies);
            (data.get(), data.get() * (copies as u64 - 1))
        };
        let (capacity, redundancy) = match group.level() {
            Level::ThreeCopy => copied(3),
            level if level.parity() > 0 => {
                let made = layered_parity(&rooms, level.parity(), level.parity() + 1);
                (made.data.get(), made.parity.get())
            }
            _ => copied(2),
        };
        let room: u64 = rooms.iter().map(|r| r.get()).sum();
        all.add(&Device {
            capacity,
            redundancy,
            metadata: DRIVE_LABEL * group.width() as u64,
            unpaired: room - capacity - redundancy,
            ..Device::default()
        });
    }
    Ok(all)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn validate_copies_on_unequal_drives() {
        let sizes = |list: &[u64]| -> Vec<Bytes> { list.iter().map(|&b| Bytes::new(b)).collect() };
        // by hand: the two large drives of the first set share their tops
        let first = sizes(&[4, 4, 8, 12]);
        assert_eq!(allocated_copies(&first, 2).get(), 14);
        assert_eq!(allocated_copies(&first, 3).get(), 8);
        assert_eq!(layered_parity(&first, 1, 2).data.get(), 16);
        assert_eq!(layered_parity(&first, 2, 3).data.get(), 8);
        let unequal = |word: &str| {
            let layout = Layout::parse(&format!("{word} 4 TB, 4 TB, 8 TB, 12 TB")).unwrap();
            device(&layout).unwrap().capacity as f64 / 1e12
        };
        // as layouts: a drive has a little more sectors than its name says (SFF-8447), and a label of 1 MiB
        for (word, terabytes) in [
            ("one-parity", 16.0),
            ("two-parity", 8.0),
            ("two-copy", 14.0),
        ] {
            assert!((unequal(word) / terabytes - 1.0).abs() < 1e-3, "{word}");
        }
        assert_eq!(allocated_copies(&sizes(&[4, 4, 20]), 2).get(), 8);
        assert_eq!(allocated_copies(&sizes(&[4]), 2).get(), 0);
        assert_eq!(allocated_copies(&sizes(&[4]), 0).get(), 0);
    }

    proptest! {
        #[test]
        fn property_copies_fit_and_could_not_be_larger(
            sizes in prop::collection::vec(1..1000_u64, 2..8), copies in 2..4_usize,
        ) {
            let list: Vec<Bytes> = sizes.iter().map(|&b| Bytes::new(b)).collect();
            let found = allocated_copies(&list, copies).get();
            let room = |u: u64| sizes.iter().map(|&s| s.min(u)).sum::<u64>();
            if sizes.len() >= copies {
                prop_assert!(room(found) >= copies as u64 * found);
                prop_assert!(room(found + 1) < copies as u64 * (found + 1));
            }
        }
    }
}
