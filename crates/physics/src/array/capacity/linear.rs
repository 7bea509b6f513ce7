//! The kernel's multiple-device driver: members with a label, whole chunks, fixed parity.

use super::{Device, SpaceFault};
use crate::array::size::{GIBIBYTE, MEBIBYTE, SECTOR};
use crate::array::{Bytes, Group, Layout, Level, Placement};

/// The label with the largest bitmap, in sectors.
const LABEL_AND_BITMAP: u64 = 24 + 256;
const MEBIBYTE_SECTORS: u64 = MEBIBYTE / SECTOR;

/// Sectors before the data on a member with a version 1.2 label.
///
/// `round up to 1 MiB (24 + bitmap + headroom)`: 24 sectors up to the end of the label, 256, 128
/// or 8 for the write-intent bitmap (from 200 GiB, from 8 GiB, below), and room to grow of
/// 128 MiB, halved while it is more than a thousandth of the device. 129 MiB from 128 GiB on. Room to grow is a power of
/// two, so that label and bitmap, 280 sectors at most, round up to the same MiB whichever bitmap it is.
///
/// Valid for arrays made with the default options. Source: label code of the driver's tool
/// (super1), confirmed by public dumps of labels. Checked by `validate_linear_arrays`.
pub fn data_offset(device_sectors: u64) -> u64 {
    let mut headroom = 128 * MEBIBYTE_SECTORS;
    while headroom > 0 && headroom << 10 > device_sectors {
        headroom >>= 1;
    }
    (LABEL_AND_BITMAP + headroom).next_multiple_of(MEBIBYTE_SECTORS)
}

/// All groups together: stripes over groups use all of each and are taken to keep no label.
pub(super) fn device(layout: &Layout, chunk: Bytes) -> Result<Device, SpaceFault> {
    let chunk_sectors = chunk.get() / SECTOR;
    if chunk.get() < 4096 || !chunk.get().is_power_of_two() || chunk.get() > GIBIBYTE {
        return Err(SpaceFault::Nonsense {
            what: "the chunk is no power of two from 4 KiB",
            allowed: "write for example 512 KiB",
        });
    }
    let mut all = Device::default();
    for group in layout.groups() {
        let mut device = one(group, chunk_sectors)?;
        if layout.is_striped_over_groups() {
            // a mirror is no whole number of chunks, stripes over mirrors are
            let left = device.capacity % chunk.get();
            device.capacity -= left;
            device.rounding += left;
        }
        all.add(&device);
    }
    Ok(all)
}

fn one(group: &Group, chunk: u64) -> Result<Device, SpaceFault> {
    let n = group.width() as u64;
    if group.level() == Level::Single {
        let capacity = group.drives().iter().map(|d| d.bytes().get()).sum();
        return Ok(Device {
            capacity,
            ..Device::default()
        });
    }
    let mut rooms = Vec::new();
    let mut labels = 0;
    for drive in group.drives() {
        let (sectors, offset) = (drive.sectors(), data_offset(drive.sectors()));
        match sectors.checked_sub(offset) {
            Some(room) if room >= chunk => rooms.push(room),
            _ => {
                return Err(SpaceFault::TooSmall {
                    what: "the array's label",
                    size: drive.bytes(),
                });
            }
        }
        labels += offset;
    }
    let least = rooms.iter().copied().min().unwrap_or(0);
    let all: u64 = rooms.iter().sum();
    let whole = least / chunk * chunk;
    let (capacity, redundancy, unequal) = match group.level() {
        // unequal members are striped in zones: all of each is used
        Level::Raid0 => (rooms.iter().map(|r| r / chunk * chunk).sum(), 0, 0),
        // no chunks; the driver counts mirrors in KiB
        Level::Raid1 => {
            let size = least / 2 * 2;
            (size, (n - 1) * size, all - n * least)
        }
        Level::Raid10(placement) => {
            let chunks = least / chunk;
            let capacity = match placement {
                Placement::Near => chunks * n / 2,
                Placement::Far | Placement::Offset => chunks / 2 * n,
            } * chunk;
            (capacity, capacity, all - n * least)
        }
        level => {
            let parity = level.parity() as u64;
            (whole * (n - parity), whole * parity, all - n * least)
        }
    };
    Ok(Device {
        capacity: capacity * SECTOR,
        redundancy: redundancy * SECTOR,
        metadata: labels * SECTOR,
        unequal: unequal * SECTOR,
        rounding: (all - unequal - capacity - redundancy) * SECTOR,
        unpaired: 0,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::array::capacity::{DEFAULT_CHUNK, FileSystem, Terms, Why, space};

    fn bare(text: &str) -> crate::array::capacity::Space {
        let layout = Layout::parse(text).unwrap();
        let terms = Terms::usual(&layout).with(FileSystem::Bare);
        space(&layout, &terms).unwrap()
    }

    #[test]
    fn validate_linear_arrays() {
        // label offsets as public dumps of members from 0.2 to 10 TB show them: 264192 sectors
        for drive in [390625000, 7814037168, 19532873728] {
            assert_eq!(data_offset(drive), 264192);
        }
        // a public dump: five members of 3906760847 sectors, RAID 6, 5860141056 KiB
        let chunk = DEFAULT_CHUNK.get() / SECTOR;
        assert_eq!(3906760847 / chunk * chunk * 3 / 2, 5860141056);
        for (text, usable) in [
            ("raid5 4 x 4 TB", 12001954234368),
            ("raid6 8 x 12 TB", 72000020152320),
            ("raid6 8 x 20 TB", 120002722136064),
        ] {
            assert_eq!(bare(text).usable.get(), usable, "{text}");
        }
    }

    #[test]
    fn validate_small_devices_have_a_small_label() {
        // 20 GiB: headroom halves until its thousandfold fits, 128 sectors of bitmap
        let sectors = 20 * GIBIBYTE / SECTOR;
        assert_eq!(
            data_offset(sectors),
            (24 + 128 + 32768_u64).next_multiple_of(2048)
        );
        assert_eq!(
            data_offset(4 * GIBIBYTE / SECTOR),
            (24 + 8 + 8192_u64).next_multiple_of(2048)
        );
    }

    #[test]
    fn validate_unequal_drives() {
        // levels with redundancy take the smallest of each drive; level 0 takes all of each
        let terabyte = 1e12;
        for (text, terabytes) in [
            ("raid5 2 x 4 TB, 1 x 8 TB, 1 x 12 TB", 12.0),
            ("raid6 2 x 4 TB, 1 x 8 TB, 1 x 12 TB", 8.0),
            ("raid0 2 x 4 TB, 1 x 8 TB, 1 x 12 TB", 28.0),
            ("raid1 4 TB, 8 TB", 4.0),
            ("raid50 1 x 3 x 4 TB, 1 x 3 x 8 TB", 24.0),
            ("raid10 far 5 x 4 TB", 10.0),
            ("raid1 2 x 4 TB + raid1 2 x 8 TB", 12.0),
        ] {
            let made = bare(text);
            let found = made.usable.get() as f64 / terabyte;
            assert!((found / terabytes - 1.0).abs() < 1e-3, "{text}: {found}");
            let unequal = made.unused.iter().any(|u| u.why == Why::UnequalDrives);
            assert_eq!(
                unequal,
                text.contains(',') && !text.contains("0 "),
                "{text}"
            );
        }
    }

    #[test]
    fn verify_stripes_over_mirrors_hold_whole_chunks_of_each() {
        // 4 TB less the label are 7813772976 sectors, 688 over whole chunks of 1024
        let alone = bare("raid1 3 x 4 TB").usable.get();
        assert_eq!(alone, 7_813_772_976 * SECTOR);
        let striped = bare("4 x raid1 3 x 4 TB");
        assert_eq!(
            striped.usable.get(),
            4 * (7_813_772_976 / 1024 * 1024) * SECTOR
        );
        // what RAID 10 of couples holds, stripes over couples hold too
        let (couples, raid10) = (bare("4 x raid1 2 x 4 TB"), bare("raid10 8 x 4 TB"));
        assert_eq!(couples.usable, raid10.usable);
    }

    #[test]
    fn a_chunk_that_is_none_is_refused() {
        let layout = Layout::parse("raid5 3 x 4 TB").unwrap();
        for bytes in [0, 512, 5000, 1 << 40] {
            let mut terms = Terms::usual(&layout);
            terms.chunk = Bytes::new(bytes);
            assert!(space(&layout, &terms).is_err(), "{bytes}");
        }
    }
}
