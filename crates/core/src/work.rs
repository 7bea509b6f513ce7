//! What is done on an installation.

pub mod codecs;
pub(crate) mod footage;
mod media;
pub mod sizes;
mod task;

pub use footage::{Footage, footage};
pub use media::{FrameRate, Raster};
pub use task::{Does, Export, Material, Task};

use crate::quantity::{Information, UnitFault, parse, show};

/// Which way data go.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Direction {
    /// From the array to the desk.
    Read,
    /// From the desk to the array.
    Write,
}

impl Direction {
    /// Both, reading first.
    pub const BOTH: [Self; 2] = [Self::Read, Self::Write];

    /// In one word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Write => "write",
        }
    }
}

/// What a desk does with the array.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Activity {
    /// Reads or writes a stream as fast as it goes; the desk's own disk is not involved.
    Play,
    /// Copies a file between the array and the desk's disk.
    Copy,
    /// Sends from memory to memory, without files.
    Wire,
    /// A program on the machine that holds the array; no network.
    AtTheArray,
}

impl Activity {
    /// In one word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Play => "play",
            Self::Copy => "copy",
            Self::Wire => "wire",
            Self::AtTheArray => "at-the-array",
        }
    }

    /// From its word.
    pub fn from_word(word: &str) -> Option<Self> {
        [Self::Play, Self::Copy, Self::Wire, Self::AtTheArray]
            .into_iter()
            .find(|a| a.word() == word)
    }
}

/// Many files of one size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Files {
    /// How many.
    pub count: f64,
    /// How large each is.
    pub size: Information,
}

impl Files {
    /// Reads `10000 x 50 kB`.
    ///
    /// # Errors
    /// Where there is no whole number above zero, no `x`, or no size above zero.
    pub fn parse(text: &str) -> Result<Self, UnitFault> {
        let fault = |span: std::ops::Range<usize>, found: String| UnitFault {
            span,
            found,
            help: "write how many and how large, for example 10000 x 50 kB".to_owned(),
            instead: None,
        };
        let Some(at) = text.find(['x', '×', '*']) else {
            return Err(fault(0..text.len(), format!("'{text}' has no 'x'")));
        };
        let count = text[..at].trim();
        let count = count
            .parse::<u64>()
            .ok()
            .filter(|&n| n > 0)
            .ok_or_else(|| fault(0..at, format!("'{count}' is not a number of files")))?;
        let sign = text[at..].chars().next().map_or(1, char::len_utf8);
        let size = parse::<Information>(&text[at + sign..]).map_err(|mut e| {
            e.span = e.span.start + at + sign..e.span.end + at + sign;
            e
        })?;
        if size <= Information::default() {
            return Err(fault(at..text.len(), "files of no size".to_owned()));
        }
        Ok(Self {
            count: count as f64,
            size,
        })
    }
}

impl std::fmt::Display for Files {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} files of {}", self.count, show(self.size))
    }
}

/// All of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Work {
    /// What a desk does.
    pub activity: Activity,
    /// With many files instead of one big one.
    pub files: Option<Files>,
    /// In pieces of so many bytes at random places.
    pub random: Option<Information>,
    /// How much is copied in one go, where caches matter.
    pub size: Option<Information>,
}

impl Work {
    /// One big file, or a stream.
    pub fn plain(activity: Activity) -> Self {
        Self {
            activity,
            files: None,
            random: None,
            size: None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_are_read_as_people_write_them() {
        let files = Files::parse("10000 x 50 kB").unwrap();
        assert!((files.count - 1e4).abs() < 0.5);
        assert_eq!(files.to_string(), "10000 files of 50.0 kB");
        for (text, word) in [
            ("50 kB", "no 'x'"),
            ("0 x 50 kB", "number of files"),
            ("-1 x 50 kB", "number of files"),
            ("3 x 50", "no unit"),
            ("3 x 0 kB", "no size"),
        ] {
            let fault = Files::parse(text).unwrap_err();
            assert!(fault.found.contains(word), "{text}: {fault}");
            assert!(fault.span.end <= text.len());
        }
    }
}
