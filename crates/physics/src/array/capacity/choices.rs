//! What a person chose for the space of layouts: file system, record, sector, headroom, need.

use super::{DEFAULT_CHUNK, DEFAULT_RECORD, FileSystem, Need, Terms, pool};
use crate::array::level::Family;
use crate::array::{Bytes, DriveSize, Layout, Level};
use narrows_units::nearest::nearest;
use narrows_units::quantity::{Information, Ratio, UnitFault, parse, units};

/// A file system by name, without its own choices.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum FileSystemKind {
    /// ext4 with its usual reserve.
    Ext4,
    /// XFS with the defaults of its tool.
    Xfs,
    /// Btrfs with checksums of 4 bytes.
    Btrfs,
    /// ZFS: the pool itself.
    Zfs,
    /// None: the bare device.
    Bare,
}

impl FileSystemKind {
    /// Whether it can be made on a level. A pool is its own file system, copies that a file
    /// system allocates are Btrfs, and every other level carries any but ZFS: a pool on top of
    /// such an array is not modelled.
    pub fn goes_on(self, level: Level) -> bool {
        match level.family() {
            Family::Pool => self == Self::Zfs,
            Family::Allocated => self == Self::Btrfs,
            Family::One | Family::Striped => self != Self::Zfs,
        }
    }
}

/// What was chosen; the rest is as usual.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Choices {
    /// File system, on the layouts that can carry it.
    pub file_system: Option<FileSystemKind>,
    /// Full record of a pool.
    pub record: Option<Bytes>,
    /// Smallest write to a drive of a pool.
    pub sector: Option<Bytes>,
    /// What the kernel's driver puts on one drive before the next.
    pub chunk: Option<Bytes>,
    /// Share of the usable space that is comfortable to fill.
    pub fill_to: Option<Ratio>,
}

impl Choices {
    /// The file system on a level: the chosen one where it goes, otherwise the usual one.
    pub fn file_system_on(&self, level: Level) -> FileSystem {
        let chosen = self.file_system.filter(|kind| kind.goes_on(level));
        match (chosen, FileSystem::usual(level)) {
            (_, FileSystem::Pool { record, sector }) => FileSystem::Pool {
                record: self.record.unwrap_or(record),
                sector: self.sector.unwrap_or(sector),
            },
            (None | Some(FileSystemKind::Zfs), usual) => usual,
            (Some(FileSystemKind::Bare), _) => FileSystem::Bare,
            (Some(FileSystemKind::Ext4), _) => FileSystem::Ext4 { reserve_percent: 5 },
            (Some(FileSystemKind::Xfs), _) => FileSystem::Xfs {
                reflink: true,
                reverse_map: false,
            },
            (Some(FileSystemKind::Btrfs), _) => FileSystem::Btrfs { checksum_bytes: 4 },
        }
    }

    /// How the space of a layout is counted.
    pub fn terms(&self, layout: &Layout) -> Terms {
        Terms {
            file_system: self.file_system_on(layout.level()),
            fill_to: self.fill_to,
            chunk: self.chunk.unwrap_or(DEFAULT_CHUNK),
        }
    }

    /// Whether the chosen file system can be made on a level; true where none was chosen.
    pub fn goes_on(&self, level: Level) -> bool {
        self.file_system.is_none_or(|kind| kind.goes_on(level))
    }

    /// Reads the share to fill: above 0 and up to 100 %.
    ///
    /// # Errors
    /// With what is wrong.
    pub fn parse_fill(text: &str) -> Result<Ratio, UnitFault> {
        let share: Ratio = parse(text)?;
        let value = share.get::<units::ratio::one>();
        if value > 0.0 && value <= 1.0 {
            Ok(share)
        } else {
            Err(whole(
                text,
                format!("'{}' is not above 0 and up to 100 %", text.trim()),
                "write for example '85 %'",
            ))
        }
    }

    /// Reads the sector of a pool: a power of two from 512 B to 16 KiB.
    ///
    /// # Errors
    /// With what is wrong.
    pub fn parse_sector(text: &str) -> Result<Bytes, UnitFault> {
        let sector = whole_bytes(text)?;
        if pool::is_sector(sector) {
            Ok(sector)
        } else {
            Err(whole(
                text,
                format!("'{}' is no power of two from 512 B to 16 KiB", text.trim()),
                "write for example '4096 B', what drives of today have",
            ))
        }
    }

    /// Reads a chunk: a power of two from 4 KiB to 16 MiB.
    ///
    /// # Errors
    /// With what is wrong.
    pub fn parse_chunk(text: &str) -> Result<Bytes, UnitFault> {
        let chunk = whole_bytes(text)?;
        if (4096..=16 << 20).contains(&chunk.get()) && chunk.get().is_power_of_two() {
            Ok(chunk)
        } else {
            Err(whole(
                text,
                format!("'{}' is no power of two from 4 KiB to 16 MiB", text.trim()),
                "write for example '64 KiB'; unless somebody chose another it is 512 KiB",
            ))
        }
    }

    /// Reads the record of a pool: a power of two from a sector to 16 MiB.
    ///
    /// # Errors
    /// With what is wrong.
    pub fn parse_record(text: &str, sector: Option<Bytes>) -> Result<Bytes, UnitFault> {
        let record = whole_bytes(text)?;
        let sector = sector.unwrap_or(pool::DEFAULT_SECTOR);
        if pool::is_record(record, sector) {
            Ok(record)
        } else {
            Err(whole(
                text,
                format!(
                    "'{}' is no power of two from a sector ({} B) to 16 MiB",
                    text.trim(),
                    sector.get()
                ),
                format!(
                    "write for example '1 MiB'; unless somebody chose another it is {} KiB",
                    DEFAULT_RECORD.get() / 1024
                ),
            ))
        }
    }
}

impl Need {
    /// Reads `60 TB`, which means usable space, or `60 TB comfortable`.
    ///
    /// # Errors
    /// With the part that is wrong.
    ///
    /// Checked by `needs_are_read`.
    pub fn parse(text: &str) -> Result<Self, UnitFault> {
        const WORDS: [&str; 2] = ["usable", "comfortable"];
        let trimmed = text.trim_end();
        let (size, word) = match trimmed.rsplit_once(char::is_whitespace) {
            Some((size, word)) if WORDS.iter().any(|w| w.eq_ignore_ascii_case(word)) => {
                (size, Some(word))
            }
            Some((size, word)) if parse::<Information>(size).is_ok() => {
                let near = nearest(word, WORDS.into_iter()).map_or_else(
                    || "write 'usable' or 'comfortable', or nothing".to_owned(),
                    |near| format!("write '{near}'"),
                );
                return Err(UnitFault::new(
                    trimmed.len() - word.len()..trimmed.len(),
                    format!("'{word}' is no kind of space"),
                    near,
                ));
            }
            _ => (trimmed, None),
        };
        let bytes = whole_bytes(size)?;
        if bytes.get() == 0 {
            return Err(whole(
                text,
                "nothing is needed",
                "write a size above zero, for example '60 TB'",
            ));
        }
        Ok(match word {
            Some(word) if word.eq_ignore_ascii_case("comfortable") => Self::Comfortable(bytes),
            _ => Self::Usable(bytes),
        })
    }
}

impl DriveSize {
    /// Reads the size of one drive.
    ///
    /// # Errors
    /// With the part that is wrong.
    pub fn parse(text: &str) -> Result<Self, UnitFault> {
        let size: Information = parse(text).map_err(|fault| UnitFault {
            help: format!("{}; it is the size of one drive", fault.help),
            ..fault
        })?;
        Self::new(size).map_err(|fault| whole(text, fault.found, fault.help))
    }
}

fn whole(text: &str, found: impl Into<String>, help: impl Into<String>) -> UnitFault {
    UnitFault::new(0..text.len(), found, help)
}

/// The most bytes that are counted. Beyond 9 PB an integer is exact as a quantity to some hundred bytes
/// only, which no need is stated to.
const MOST_BYTES: f64 = 9e17;

fn whole_bytes(text: &str) -> Result<Bytes, UnitFault> {
    let bytes = parse::<Information>(text)?.get::<units::information::byte>();
    let rounded = libm::round(bytes);
    if rounded > MOST_BYTES {
        return Err(whole(
            text,
            format!("'{}' is more than is counted here", text.trim()),
            "write a size up to 900 PB",
        ));
    }
    Ok(Bytes::new(rounded as u64))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::array::capacity::space;

    #[test]
    fn needs_are_read() {
        let terabytes = |count: u64| Bytes::new(count * 1_000_000_000_000);
        for (text, need) in [
            ("60 TB", Need::Usable(terabytes(60))),
            ("60TB usable", Need::Usable(terabytes(60))),
            (" 60 TB  Comfortable ", Need::Comfortable(terabytes(60))),
            ("1 TiB", Need::Usable(Bytes::new(1 << 40))),
        ] {
            assert_eq!(Need::parse(text).unwrap(), need, "{text}");
        }
        for (text, part, help) in [
            ("60 TB comfortabel", "comfortabel", "'comfortable'"),
            ("60 TB spare", "spare", "or nothing"),
            ("60", "60", "unit"),
            ("0 TB", "0 TB", "above zero"),
            ("60 MB/s", "MB/s", "TB"),
            ("1000 PB", "1000 PB", "900 PB"),
            ("lots", "lots", "TB"),
            ("", "", "TB"),
        ] {
            let fault = Need::parse(text).unwrap_err();
            assert_eq!(&text[fault.span.clone()], part, "{text}: {fault}");
            assert!(fault.help.contains(help), "{text}: {fault}");
        }
    }

    #[test]
    fn choices_outside_their_range_are_refused() {
        for text in ["0 %", "101 %", "85", "-5 %"] {
            assert!(Choices::parse_fill(text).is_err(), "{text}");
        }
        for text in ["256 B", "5000 B", "32 KiB", "4096"] {
            assert!(Choices::parse_sector(text).is_err(), "{text}");
        }
        for text in ["2 KiB", "1 MB", "32 MiB"] {
            assert!(Choices::parse_record(text, None).is_err(), "{text}");
        }
        assert!(Choices::parse_record("8 KiB", Some(Bytes::kibibytes(16))).is_err());
        assert!(Choices::parse_record("16 KiB", Some(Bytes::kibibytes(16))).is_ok());
        assert_eq!(
            Choices::parse_chunk("64 KiB").unwrap(),
            Bytes::kibibytes(64)
        );
        for text in ["2 KiB", "96 KiB", "32 MiB", "64", "large"] {
            assert!(Choices::parse_chunk(text).is_err(), "{text}");
        }
        let fault = DriveSize::parse("6 x 10 TB").unwrap_err();
        assert!(fault.help.contains("one drive"), "{fault}");
        let fault = DriveSize::parse("10 MB").unwrap_err();
        assert_eq!(fault.span, 0..5);
    }

    #[test]
    fn a_file_system_goes_where_it_can_and_the_usual_one_elsewhere() {
        let kinds = [
            FileSystemKind::Ext4,
            FileSystemKind::Xfs,
            FileSystemKind::Btrfs,
            FileSystemKind::Zfs,
            FileSystemKind::Bare,
        ];
        for (text, takes) in [
            ("raid6 4 x 8 TB", [true, true, true, false, true]),
            ("raid50 2 x 3 x 8 TB", [true, true, true, false, true]),
            ("raidz1 3 x 8 TB", [false, false, false, true, false]),
            ("two-copy 3 x 8 TB", [false, false, true, false, false]),
        ] {
            let layout = Layout::parse(text).unwrap();
            for (kind, takes) in kinds.into_iter().zip(takes) {
                let choices = Choices {
                    file_system: Some(kind),
                    ..Choices::default()
                };
                assert_eq!(choices.goes_on(layout.level()), takes, "{text} {kind:?}");
                let terms = choices.terms(&layout);
                assert!(space(&layout, &terms).is_ok(), "{text} {kind:?}");
                if !takes {
                    assert_eq!(terms.file_system, FileSystem::usual(layout.level()));
                }
            }
        }
    }
}
