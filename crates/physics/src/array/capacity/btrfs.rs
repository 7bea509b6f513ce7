//! Btrfs: checksums and trees in metadata that are kept twice, and a global reserve.

use super::{Filed, SpaceFault};
use crate::array::Bytes;
use crate::array::size::{MEBIBYTE, share};

const BLOCK: u64 = 4096;
const CHUNK: u64 = 1024 * MEBIBYTE;
/// Trees of a file system of large files in millionths of the data (`array.btrfs-trees`).
pub(super) const TREES: u64 = 3000;

/// `copies` of metadata for one of data. Checksums take `c` bytes in 4096 (0.0976563 % for 4
/// bytes), the trees about 0.3 % (0.1 to 0.5 %) and the global reserve 512 MiB, less on small devices.
///
/// The checksum share is the format's own; the trees are an estimate, so that the result is good
/// to 0.4 % of the device. Source: Btrfs on-disk format and manual; mkfs.btrfs 6.2: one copy of data,
/// two of metadata on one device. Checked by `validate_btrfs_checksums`.
pub(super) fn filed(device: u64, checksum_bytes: u8, copies: u64) -> Result<Filed, SpaceFault> {
    if !matches!(checksum_bytes, 4 | 8 | 32) {
        return Err(SpaceFault::Nonsense {
            what: "Btrfs has no such checksum",
            allowed: "checksums of 4, 8 or 32 bytes",
        });
    }
    if device < 16 * CHUNK {
        return Err(SpaceFault::TooSmall {
            what: "Btrfs with its first chunks",
            size: Bytes::new(device),
        });
    }
    // data + metadata a byte of data = device
    let millionths = (u64::from(checksum_bytes) * 1_000_000 / BLOCK + TREES) * copies;
    let data = share(device, 1_000_000, 1_000_000 + millionths);
    let reserve = (512 * MEBIBYTE).min(device / 100) * copies;
    let usable = data.saturating_sub(reserve) / BLOCK * BLOCK;
    let rounding = device % BLOCK;
    Ok(Filed {
        metadata: device - usable - reserve - rounding,
        reserve,
        rounding,
        usable,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn validate_btrfs_checksums() {
        // 4 bytes in 4096: 0.0976563 %, twice 0.195313 %; 32 bytes: 0.78125 %, twice 1.5625 %
        let device = 12000000000000;
        for (bytes, copies, percent) in [
            (4, 1, 0.0976563),
            (4, 2, 0.195313),
            (32, 1, 0.78125),
            (32, 2, 1.5625),
        ] {
            let made = filed(device, bytes, copies).unwrap();
            let data = made.usable + made.reserve;
            let trees = 0.3 * copies as f64;
            let found = made.metadata as f64 / data as f64 * 100.0 - trees;
            // whole millionths are counted
            assert!((found - percent).abs() < 2e-4, "{bytes} {copies}: {found}");
        }
    }

    #[test]
    fn verify_the_reserve_is_a_hundredth_of_a_small_device_and_512_mib_of_others() {
        let reserve = |device: u64, copies: u64| filed(device, 4, copies).map(|made| made.reserve);
        assert_eq!(reserve(20_000_000_000, 1), Ok(200_000_000));
        assert_eq!(reserve(20_000_000_000, 2), Ok(400_000_000));
        assert_eq!(reserve(12_000_000_000_000, 1), Ok(512 << 20));
    }

    #[test]
    fn a_device_with_no_room_and_an_unknown_checksum_are_refused() {
        assert!(filed(1 << 30, 4, 2).is_err());
        assert!(filed(1 << 40, 5, 2).is_err());
    }
}
