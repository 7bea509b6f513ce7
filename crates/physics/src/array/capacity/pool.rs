//! Groups of a pool: stripes of varying width with padding, slabs, and a reserve.

use super::{Space, SpaceFault, Why, reasons};
use crate::array::size::{GIBIBYTE, MEBIBYTE, SECTOR, share};
use crate::array::{Bytes, Group, Layout, Level};

/// Records unless somebody chose larger ones.
pub const DEFAULT_RECORD: Bytes = Bytes::kibibytes(128);
/// Sectors of current drives, also those that pretend otherwise.
pub(super) const DEFAULT_SECTOR: Bytes = Bytes::kibibytes(4);

/// Sectors that a block takes on a group: its own, parity for every row, and padding.
///
/// `s = ceil(size / sector)`, `round up (s + p ceil(s / (w - p)), p + 1)`, with w drives and p
/// parities. Rounding up to a multiple of p + 1 keeps holes usable. Valid for `w > p`, returns
/// zero otherwise. Exact. Source: `OpenZFS`, `vdev_raidz_asize`. Checked by
/// `validate_record_sectors`.
pub fn record_sectors(size: Bytes, sector: Bytes, width: usize, parity: usize) -> u64 {
    let Some(data_width) = width.checked_sub(parity).filter(|d| *d > 0) else {
        return 0;
    };
    let own = size.get().div_ceil(sector.get().max(1));
    let parity = parity as u64;
    (own + parity * own.div_ceil(data_width as u64)).next_multiple_of(parity + 1)
}

/// Whether a pool can write so little at a time.
pub(super) fn is_sector(sector: Bytes) -> bool {
    sector.get().is_power_of_two() && (512..=16384).contains(&sector.get())
}

/// Whether a pool can have such records.
pub(super) fn is_record(record: Bytes, sector: Bytes) -> bool {
    record.get().is_power_of_two() && (sector.get()..=16 * MEBIBYTE).contains(&record.get())
}

/// What a drive of a pool has besides data: the partition's borders and the labels.
fn leaf(sectors: u64) -> Option<u64> {
    // a first MiB, and the last 8 MiB for a second partition; whole MiB between
    let partition = sectors.checked_sub(2048 + 16384)? * SECTOR / MEBIBYTE * MEBIBYTE;
    // two labels of 256 KiB and a boot block in front, two labels behind
    partition.checked_sub(4 * MEBIBYTE + MEBIBYTE / 2)
}

/// What one group adds.
struct Part {
    /// Bytes in whole slabs, redundancy included.
    slabs: u64,
    /// What the pool counts as space: with records of 128 KiB.
    counted: u64,
    /// What records of the stated size really get.
    fits: u64,
    redundancy: u64,
    metadata: u64,
    unequal: u64,
    left: u64,
}

fn part(group: &Group, record: Bytes, sector: Bytes) -> Result<Part, SpaceFault> {
    let width = group.width() as u64;
    let mut leaves = Vec::new();
    let mut metadata = 0;
    for drive in group.drives() {
        // smaller drives have smaller slabs, by a rule that is not modelled
        let room = leaf(drive.sectors()).filter(|room| *room >= 16 * GIBIBYTE);
        let Some(room) = room else {
            return Err(SpaceFault::TooSmall {
                what: "a pool of whole slabs",
                size: drive.bytes(),
            });
        };
        leaves.push(room);
        metadata += drive.bytes().get() - room;
    }
    let least = leaves.iter().copied().min().unwrap_or(0);
    let unequal = leaves.iter().sum::<u64>() - least * width;
    let parity = group.level().parity();
    let mirror = group.level() == Level::Mirror;
    let size = if mirror { least } else { least * width };
    let slabs = size >> slab_shift(size) << slab_shift(size);
    let copies = if mirror { width } else { 1 };
    let (counted, fits, redundancy) = if mirror {
        (slabs, slabs, slabs * (width - 1))
    } else {
        let standard =
            record_sectors(DEFAULT_RECORD, sector, group.width(), parity) * (sector.get() / SECTOR);
        let deflated = DEFAULT_RECORD.get() / standard;
        let counted = slabs / SECTOR * deflated;
        let fits = if record == DEFAULT_RECORD {
            counted
        } else {
            let taken = record_sectors(record, sector, group.width(), parity) * sector.get();
            share(slabs, record.get(), taken)
        };
        (counted, fits, share(slabs, parity as u64, width))
    };
    Ok(Part {
        slabs: slabs * copies,
        counted,
        fits,
        redundancy,
        metadata,
        unequal,
        left: (size - slabs) * copies,
    })
}

/// Slabs of 2^29 bytes, larger when there would be more than 200, at most 2^34.
fn slab_shift(size: u64) -> u32 {
    if size >> 29 <= 200 {
        29
    } else {
        (u64::BITS - (size / 200).leading_zeros()).min(34)
    }
}

/// Space of a pool.
///
/// By group: partition, labels, the smallest drive, whole slabs. The pool counts space as if
/// every record had 128 KiB, in 512ths (`floor(131072 / sectors taken)` for every sector), and
/// keeps back `max(min(space / 32, 128 GiB), min(space / 2, 128 MiB))`. `listed` is that count,
/// `usable` is what records of the stated size really get.
///
/// Valid for drives from 18 GB used whole. `listed` is exact for releases from 2.1 on (before,
/// the reserve had no upper bound) with 4 KiB sectors. Source: `OpenZFS`, `vdev.c`, `vdev_label.c`,
/// `spa_misc.c`. Checked by `validate_pool_space`.
pub(super) fn space(layout: &Layout, record: Bytes, sector: Bytes) -> Result<Space, SpaceFault> {
    if !is_sector(sector) {
        return Err(SpaceFault::Nonsense {
            what: "the sector is no power of two from 512 B to 16 KiB",
            allowed: "write for example 4 KiB",
        });
    }
    if !is_record(record, sector) {
        return Err(SpaceFault::Nonsense {
            what: "the record is no power of two from a sector to 16 MiB",
            allowed: "write for example 1 MiB",
        });
    }
    let parts = layout
        .groups()
        .iter()
        .map(|group| part(group, record, sector))
        .collect::<Result<Vec<_>, _>>()?;
    let sum = |of: fn(&Part) -> u64| parts.iter().map(of).sum::<u64>();
    let counted = sum(|p| p.counted);
    let kept_back = (counted / 32)
        .min(128 * GIBIBYTE)
        .max((counted / 2).min(128 * MEBIBYTE));
    let listed = counted - kept_back;
    let (fits, redundancy) = (sum(|p| p.fits), sum(|p| p.redundancy));
    // the reserve is counted like the space: what it takes from real records is in proportion
    let usable = share(fits, listed, counted);
    Ok(Space {
        raw: Bytes::default(),
        redundancy: Bytes::new(redundancy),
        padding: Bytes::new(sum(|p| p.slabs) - redundancy - fits),
        spares: Bytes::default(),
        unused: reasons(&[
            (sum(|p| p.unequal), Why::UnequalDrives),
            (sum(|p| p.left), Why::WholeSlabs),
        ]),
        metadata: Bytes::new(sum(|p| p.metadata)),
        reserve: Bytes::new(fits - usable),
        usable: Bytes::new(usable),
        comfortable: Bytes::default(),
        listed: Some(Bytes::new(listed)),
    })
}

#[cfg(test)]
mod tests;
