use narrows_units::quantity::{Information, UnitFault, bytes, exact};

/// A whole number of bytes. Space is counted in integers, so that its parts add up exactly.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Bytes(u64);

/// Bytes in the sector that drives and kernels count in.
pub(crate) const SECTOR: u64 = 512;
/// 2^20 bytes.
pub(crate) const MEBIBYTE: u64 = 1 << 20;
/// 2^30 bytes.
pub(crate) const GIBIBYTE: u64 = 1 << 30;

impl Bytes {
    /// A number of bytes.
    pub const fn new(count: u64) -> Self {
        Self(count)
    }

    /// A number of binary kilobytes.
    pub const fn kibibytes(count: u32) -> Self {
        Self(count as u64 * 1024)
    }

    /// How many.
    pub const fn get(self) -> u64 {
        self.0
    }

    /// As a quantity; exact up to 9 PB.
    pub fn information(self) -> Information {
        bytes(self.0 as f64)
    }
}

/// `whole * numerator / denominator`, rounded down, without overflow on the way.
pub(crate) fn share(whole: u64, numerator: u64, denominator: u64) -> u64 {
    let product = u128::from(whole) * u128::from(numerator);
    u64::try_from(product / u128::from(denominator.max(1))).unwrap_or(u64::MAX)
}

/// The size that a drive is sold under.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DriveSize {
    labelled: u64,
}

/// Gigabytes from which the sector counts of the trade begin.
const RULE_FROM: u64 = 50;
/// Gigabytes up to which they grow by a fixed number of sectors a gigabyte.
const RULE_TO: u64 = 8000;
/// The largest size that is believed.
const LARGEST: u64 = 1_000_000_000_000_000;

impl DriveSize {
    /// A size as printed on the drive; between 1 GB and 1 PB.
    ///
    /// # Errors
    /// Where it is smaller or larger.
    pub fn new(labelled: Information) -> Result<Self, UnitFault> {
        let value =
            libm::round(labelled.get::<narrows_units::quantity::units::information::byte>());
        if (1e9..=LARGEST as f64).contains(&value) {
            Ok(Self {
                labelled: value as u64,
            })
        } else {
            Err(UnitFault::new(
                0..0,
                format!("a drive of {} is not sold", exact(labelled)),
                "write a size from 1 GB to 1000 TB, for example 12 TB",
            ))
        }
    }

    /// As printed on the drive.
    pub fn labelled(self) -> Bytes {
        Bytes(self.labelled)
    }

    /// Sectors of 512 bytes that a drive of this size has.
    ///
    /// The trade fixes the count by size, so that drives of two makers replace each other. For a
    /// whole number G of gigabytes from 50 to 8000: `97696368 + 1953504 (G - 50)` (LBA count
    /// document LBA1-02/03). Above 8 TB: the fewest whole GiB that hold G decimal gigabytes
    /// (SFF-8447). A size that is no whole number of gigabytes is taken as it stands, in whole
    /// sectors. Flash drives above 8 TB may follow the older formula, at most 0.02 % apart.
    ///
    /// Checked by `validate_drive_sectors`.
    pub fn sectors(self) -> u64 {
        let gigabytes = self.labelled / 1_000_000_000;
        if !self.labelled.is_multiple_of(1_000_000_000) || gigabytes < RULE_FROM {
            self.labelled / SECTOR
        } else if gigabytes <= RULE_TO {
            97_696_368 + 1_953_504 * (gigabytes - RULE_FROM)
        } else {
            let per_gibibyte = GIBIBYTE / SECTOR;
            self.labelled.div_ceil(GIBIBYTE) * per_gibibyte
        }
    }

    /// Bytes that a drive of this size has; see [`DriveSize::sectors`].
    pub fn bytes(self) -> Bytes {
        Bytes(self.sectors() * SECTOR)
    }
}

impl std::fmt::Display for DriveSize {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&exact(self.labelled().information()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use narrows_units::quantity::parse;

    fn size(text: &str) -> DriveSize {
        DriveSize::new(parse(text).unwrap()).unwrap()
    }

    #[test]
    fn validate_drive_sectors() {
        // 80 GB: the example printed in LBA1-02. 1 TB: any such drive. Above 8 TB: whole GiB
        // (SFF-8447), sector counts as drives of these sizes report them.
        for (text, sectors) in [
            ("80 GB", 156301488),
            ("1 TB", 1953525168),
            ("4 TB", 7814037168),
            ("8 TB", 15628053168),
            ("10 TB", 19532873728),
            ("12 TB", 23437770752),
            ("16 TB", 31251759104),
            ("18 TB", 35156656128),
            ("20 TB", 39063650304),
            ("22 TB", 42970644480),
            ("24 TB", 46875541504),
        ] {
            assert_eq!(size(text).sectors(), sectors, "{text}");
        }
        assert_eq!(size("12 TB").bytes(), Bytes::new(12000138625024));
    }

    #[test]
    fn a_size_off_the_rule_is_taken_as_it_stands() {
        assert_eq!(size("12.7 TiB").sectors(), 27273042329);
        assert_eq!(size("32 GB").sectors(), 62500000);
    }

    #[test]
    fn a_size_nobody_sells_is_refused() {
        assert!(DriveSize::new(parse("12 MB").unwrap()).is_err());
        assert!(DriveSize::new(parse("2000 TB").unwrap()).is_err());
    }
}
