//! XFS: a log, and blocks that each allocation group keeps back so that its trees can grow.

use super::{Filed, SpaceFault};
use crate::array::Bytes;

const BLOCK: u64 = 4096;

/// What XFS makes of a device, in blocks of 4 KiB.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Xfs {
    /// Blocks of the file system.
    pub blocks: u64,
    /// Blocks of the log.
    pub log: u64,
    /// Blocks kept back for the trees of free inodes, shared blocks and owners.
    pub trees: u64,
    /// Blocks kept back so that deleting works on a full file system.
    pub reserve: u64,
}

/// Sizes of XFS with the defaults of its tool (free-inode tree on).
///
/// Log: one block in 2048, from 64 MiB to 521728 blocks (measured with xfsprogs 6.1). A mounted
/// file system keeps back, for N blocks, the largest size of its trees with half-full leaves:
/// N / 1008 for free inodes, N / 168 when files may share blocks, N / 84 with a map from blocks to
/// owners, each with its upper levels. The reserve is `min(5 %, 8192 blocks)`; there is no share
/// for the system.
///
/// Valid from 300 MB. The log is exact; the trees are the bound that the mount code reserves,
/// good to 0.05 % of the device. Source: XFS `xfs_ag_resv` and btree geometry, mkfs.xfs.
/// Checked by `validate_xfs_sizes`.
///
/// # Errors
/// Where the device is too small.
pub fn xfs(device: Bytes, reflink: bool, reverse_map: bool) -> Result<Xfs, SpaceFault> {
    let too_small = SpaceFault::TooSmall {
        what: "XFS",
        size: device,
    };
    if device.get() < 300_000_000 {
        return Err(too_small);
    }
    let blocks = device.get() / BLOCK;
    // records of 16, 12 and 24 bytes, leaves half full
    let mut trees = tree(blocks / 8, 126, 250);
    if reflink {
        trees += tree(blocks, 168, 252);
    }
    if reverse_map {
        trees += tree(blocks, 84, 45);
    }
    let made = Xfs {
        blocks,
        log: (blocks / 2048).clamp(16384, 521_728),
        trees,
        reserve: (blocks / 20).min(8192),
    };
    if made.log + made.trees + made.reserve >= blocks {
        return Err(too_small);
    }
    Ok(made)
}

/// Blocks of a tree of `records` with so many in a leaf and so many leaves under a node.
fn tree(records: u64, in_leaf: u64, in_node: u64) -> u64 {
    let mut level = records.div_ceil(in_leaf);
    let mut all = level;
    while level > 1 {
        level = level.div_ceil(in_node);
        all += level;
    }
    all
}

pub(super) fn filed(device: u64, reflink: bool, reverse_map: bool) -> Result<Filed, SpaceFault> {
    let made = xfs(Bytes::new(device), reflink, reverse_map)?;
    let metadata = made.log + made.trees;
    Ok(Filed {
        metadata: metadata * BLOCK,
        reserve: made.reserve * BLOCK,
        rounding: device - made.blocks * BLOCK,
        usable: (made.blocks - metadata - made.reserve) * BLOCK,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// GiB: printed to 1, and the trees are a bound good to 0.02 % of 12 TB.
    const TOLERANCE: f64 = 2.2;

    #[test]
    fn validate_xfs_sizes() {
        // log of mkfs.xfs 6.1 on 4 and 12 TB
        for (device, log) in [(4000000000000, 476837), (12000000000000, 521728)] {
            let made = xfs(Bytes::new(device), true, false).unwrap();
            assert_eq!(made.log, log);
        }
        // what empty mounted file systems of 12 TB show as used: 12 GiB without shared blocks,
        // 78 GiB with them, about 2 % with all trees
        let gibibytes = |reflink, reverse_map| {
            let made = xfs(Bytes::new(12000000000000), reflink, reverse_map).unwrap();
            (made.log + made.trees) as f64 * 4096.0 / (1_u64 << 30) as f64
        };
        assert!((gibibytes(false, false) - 12.0).abs() < TOLERANCE);
        assert!((gibibytes(true, false) - 78.0).abs() < TOLERANCE);
        let all = gibibytes(true, true) / (12e12 / (1_u64 << 30) as f64);
        assert!((all - 0.02).abs() < 0.002, "{all}");
    }

    #[test]
    fn verify_a_tree_counts_the_blocks_of_all_its_levels() {
        // by hand: 1000 records ten to a leaf, ten leaves to a node, one root above ten nodes
        assert_eq!(tree(1000, 10, 10), 100 + 10 + 1);
        assert_eq!(tree(1001, 10, 10), 101 + 11 + 2 + 1);
        assert_eq!(tree(7, 10, 10), 1);
    }

    #[test]
    fn validate_the_reserve_is_a_twentieth_and_never_more_than_8192_blocks() {
        // the rule of the mount code: min(5 %, 8192 blocks)
        let reserve = |device: u64| xfs(Bytes::new(device), false, false).map(|made| made.reserve);
        assert_eq!(reserve(12_000_000_000_000), Ok(8192));
        assert_eq!(reserve(100_000 * BLOCK), Ok(5000));
    }

    #[test]
    fn a_device_with_no_room_is_refused() {
        assert!(xfs(Bytes::new(1 << 20), true, true).is_err());
    }
}
