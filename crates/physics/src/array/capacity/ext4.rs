//! ext4 as its tool makes it: block groups with inode tables, copies of the group table, a
//! journal, and a reserve for the system.

use super::{Filed, SpaceFault};
use crate::array::Bytes;
use crate::array::size::{MEBIBYTE, share};

const BLOCK: u64 = 4096;
const BLOCKS_A_GROUP: u64 = 32768;
const INODE: u64 = 256;
const DESCRIPTOR: u64 = 64;

/// Below this the tool makes a file system of another kind, with blocks of 1 KiB.
const SMALLEST: u64 = 512 * MEBIBYTE;

/// What ext4 makes of a device, in blocks of 4 KiB.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ext4 {
    /// Blocks of the file system; a last group with no room for files is left away.
    pub blocks: u64,
    /// Blocks of tables, bitmaps, copies of the group table and journal.
    pub overhead: u64,
    /// Blocks kept for the system.
    pub reserve: u64,
}

/// Sizes of ext4 with the defaults of its tool.
///
/// N blocks in groups of 32768. One inode of 256 B for 16 KiB of device below 4 TiB, for 32 KiB
/// below 16 TiB, for 64 KiB from there on, spread over the groups that are kept; rounded up to whole blocks of inodes a group. Each group has
/// its table and two bitmaps; groups 0, 1 and the powers of 3, 5 and 7 also a copy of the super
/// block and of the group table, which below 16 TiB has room to grow a thousandfold (at most 1024
/// blocks). The journal is 1 GiB from 128 GiB on, and falls with the size below.
///
/// Valid for devices from 512 MiB, below which the tool takes smaller blocks. Exact. Source: mke2fs 1.47 with its configuration, read and
/// measured on sparse images. Checked by `validate_ext4_overhead`,
/// `validate_ext4_at_its_edges`.
///
/// # Errors
/// Where the device is too small, or the reserve is above 50 %.
pub fn ext4(device: Bytes, reserve_percent: u8) -> Result<Ext4, SpaceFault> {
    if reserve_percent > 50 {
        return Err(SpaceFault::Nonsense {
            what: "the reserve of ext4 is above 50 %",
            allowed: "its tool allows 0 to 50 %",
        });
    }
    let too_small = SpaceFault::TooSmall {
        what: "ext4",
        size: device,
    };
    if device.get() < SMALLEST {
        return Err(too_small);
    }
    let all = device.get() / BLOCK;
    let mut blocks = all;
    let overhead = loop {
        let made = Groups::of(blocks, all, device.get());
        let rest = blocks % BLOCKS_A_GROUP;
        let last = 2
            + made.table
            + if Groups::has_copy(made.count - 1) {
                made.copy
            } else {
                0
            };
        if rest > 0 && rest < last + 50 {
            blocks -= rest;
            continue;
        }
        break made.overhead() + journal(blocks);
    };
    // its share of what was asked for, cut down with the last group
    let reserve = share(share(all, u64::from(reserve_percent), 100), blocks, all);
    if overhead + reserve >= blocks {
        return Err(too_small);
    }
    Ok(Ext4 {
        blocks,
        overhead,
        reserve,
    })
}

struct Groups {
    count: u64,
    /// Blocks of one inode table.
    table: u64,
    /// Blocks of one copy of super block and group table.
    copy: u64,
}

impl Groups {
    /// Groups of so many blocks, out of all that the device has.
    fn of(blocks: u64, all: u64, device: u64) -> Self {
        let count = blocks.div_ceil(BLOCKS_A_GROUP);
        let (bytes_an_inode, may_grow) = match device {
            size if size < 1 << 42 => (16384, true),
            size if size < 1 << 44 => (32768, true),
            _ => (65536, false),
        };
        let inodes = (all * BLOCK / bytes_an_inode).min(u64::from(u32::MAX));
        let table = inodes.div_ceil(count).div_ceil(BLOCK / INODE);
        let descriptors = (count * DESCRIPTOR).div_ceil(BLOCK);
        let room = if may_grow {
            let most = (blocks * 1024).min(u64::from(u32::MAX));
            let grown = most.div_ceil(BLOCKS_A_GROUP).div_ceil(BLOCK / DESCRIPTOR);
            grown.saturating_sub(descriptors).min(1024)
        } else {
            0
        };
        Self {
            count,
            table,
            copy: 1 + descriptors + room,
        }
    }

    fn has_copy(group: u64) -> bool {
        let power_of = |base: u64| {
            let mut power = base;
            while power < group {
                power *= base;
            }
            power == group
        };
        group <= 1 || power_of(3) || power_of(5) || power_of(7)
    }

    fn overhead(&self) -> u64 {
        let mut copies = self.count.min(2);
        for base in [3, 5, 7] {
            let mut power = base;
            while power < self.count {
                copies += 1;
                power *= base;
            }
        }
        self.count * (self.table + 2) + copies * self.copy
    }
}

/// Blocks of the journal by blocks of the file system.
fn journal(blocks: u64) -> u64 {
    match blocks {
        0..262_144 => 4096,
        262_144..524_288 => 8192,
        524_288..4_194_304 => 16384,
        4_194_304..8_388_608 => 32768,
        8_388_608..16_777_216 => 65536,
        16_777_216..33_554_432 => 131_072,
        _ => 262_144,
    }
}

pub(super) fn filed(device: u64, reserve_percent: u8) -> Result<Filed, SpaceFault> {
    let made = ext4(Bytes::new(device), reserve_percent)?;
    Ok(Filed {
        metadata: made.overhead * BLOCK,
        reserve: made.reserve * BLOCK,
        rounding: device - made.blocks * BLOCK,
        usable: (made.blocks - made.overhead - made.reserve) * BLOCK,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn validate_ext4_overhead() {
        // "Overhead clusters" and "Reserved block count" of dumpe2fs 1.47 after mke2fs 1.47 with
        // default options on sparse files of these sizes
        for (device, blocks, overhead) in [
            (240057409536, 58607766, 1197485),
            (600000000000, 146484375, 2579948),
            (2000398934016, 488378646, 7947216),
            (3999999950000, 976562487, 15613688),
            (4000000000000, 976562500, 15613688),
            (5000134000640, 1220735840, 9909052),
            (7999999999999, 1953124999, 15685245),
            (8796093022208, 2147483648, 17217559),
            (9000000000000, 2197265625, 17609719),
            (12000000000000, 2929687500, 23378326),
            (15000000000000, 3662109375, 29145142),
            (20000000000000, 4882812500, 19691954),
            (48000000000000, 11718750000, 46899098),
            (72000000000000, 17578125000, 70234328),
        ] {
            let made = ext4(Bytes::new(device), 5).unwrap();
            assert_eq!(made.blocks, blocks, "{device}");
            assert_eq!(made.overhead, overhead, "{device}");
            assert_eq!(made.reserve, blocks / 20, "{device}");
        }
    }

    #[test]
    fn validate_ext4_at_its_edges() {
        // as above, with dumpe2fs and mke2fs 1.47.0: a block below and at each step of the journal, of the inodes and of
        // the smallest device; and the sizes below and at which a last group is left away
        for (device, blocks, overhead, reserve) in [
            (536_870_912, 131_072, 6347, 6553),
            (1_073_737_728, 262_143, 8853, 13107),
            (1_073_741_824, 262_144, 12949, 13107),
            (2_147_479_552, 524_287, 17958, 26214),
            (2_147_483_648, 524_288, 26150, 26214),
            (17_179_865_088, 4_194_303, 93473, 209_715),
            (17_179_869_184, 4_194_304, 109_857, 209_715),
            (34_359_734_272, 8_388_607, 176_700, 419_430),
            (34_359_738_368, 8_388_608, 209_468, 419_430),
            (68_719_472_640, 16_777_215, 342_133, 838_860),
            (68_719_476_736, 16_777_216, 407_669, 838_860),
            (137_438_949_376, 33_554_431, 673_023, 1_677_721),
            (137_438_953_472, 33_554_432, 804_095, 1_677_721),
            (4_398_046_507_008, 1_073_741_823, 17_138_710, 53_687_091),
            (4_398_046_511_104, 1_073_741_824, 8_750_102, 53_687_091),
            (17_592_186_040_320, 4_294_967_295, 34_129_945, 214_748_364),
            (17_592_186_044_416, 4_294_967_296, 17_352_729, 214_748_364),
            // group 9 has a copy of the group table, group 10 has none
            (1_210_658_816, 294_912, 13561, 14745),
            (1_210_662_912, 295_572, 13708, 14778),
            (1_344_299_008, 327_680, 14308, 16383),
            (1_344_303_104, 328_199, 14323, 16409),
            (3_359_318_016, 819_200, 31665, 40959),
            (3_359_322_112, 820_147, 32068, 41007),
            (3_627_892_736, 884_736, 33320, 44236),
            (3_627_896_832, 885_717, 33772, 44285),
            (6_582_157_312, 1_605_632, 47899, 80281),
            (6_582_161_408, 1_606_973, 48708, 80348),
            (10_878_128_128, 2_654_208, 67342, 132_709),
            (10_878_132_224, 2_655_794, 68392, 132_789),
        ] {
            let made = ext4(Bytes::new(device), 5).unwrap();
            let measured = Ext4 {
                blocks,
                overhead,
                reserve,
            };
            assert_eq!(made, measured, "{device}");
        }
        assert!(ext4(Bytes::new(536_870_911), 5).is_err());
    }

    #[test]
    fn validate_ext4_shares() {
        // 12 TB: 0.797980 % overhead, 10.2811 TiB with the 5 % reserve, 10.8268 TiB without
        let tebibyte = (1_u64 << 40) as f64;
        for (reserve, expected) in [(5, 10.2811), (0, 10.8268)] {
            let usable = filed(12000000000000, reserve).unwrap().usable as f64 / tebibyte;
            assert!((usable - expected).abs() < 5e-5, "{usable}");
        }
        for (device, percent) in [
            (4000000000000, 1.59884),
            (12000000000000, 0.797980),
            (20000000000000, 0.403291),
            (48000000000000, 0.400206),
        ] {
            let made = ext4(Bytes::new(device), 5).unwrap();
            let found = made.overhead as f64 / made.blocks as f64 * 100.0;
            assert!((found - percent).abs() < 5e-6, "{found}");
        }
    }

    #[test]
    fn a_device_with_no_room_and_a_reserve_above_half_are_refused() {
        assert!(ext4(Bytes::new(1 << 20), 5).is_err());
        assert!(ext4(Bytes::new(1 << 40), 51).is_err());
        assert!(ext4(Bytes::new(1 << 40), 50).is_ok());
    }
}
