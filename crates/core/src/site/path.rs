//! Places of a site by the paths that its file, edits and answers name them with: `desk.cut-1`,
//! `nas.store.port.a`, `run.2.length`. Written and read here only.

use super::model::{End, Machine, Run, Site};
use std::fmt;

/// A place of a site, and which part of it is meant where one is.
///
/// ```
/// use narrows_core::site::SitePath;
/// assert_eq!(SitePath::of("run.2.length"), SitePath::Run(2, Some("length")));
/// assert_eq!(SitePath::desk("cut-1", "disk").to_string(), "desk.cut-1.disk");
/// // what is no place stays what it is
/// assert_eq!(SitePath::of("smb.pipelined").to_string(), "smb.pipelined");
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum SitePath<'a> {
    /// A workstation.
    Desk(&'a str, Option<&'a str>),
    /// A machine that holds arrays.
    Nas(&'a str, Option<&'a str>),
    /// A switch.
    Switch(&'a str, Option<&'a str>),
    /// A switch with a radio.
    AccessPoint(&'a str, Option<&'a str>),
    /// An array.
    Array(&'a str, Option<&'a str>),
    /// A run by its number in the file, from 1.
    Run(usize, Option<&'a str>),
    /// A row of the catalogue, or a part that is no place of a path that data take.
    Other(&'a str),
}

impl<'a> SitePath<'a> {
    /// The place that a path names. A dot within a name ends it, as in an edit without quotes.
    pub fn of(path: &'a str) -> Self {
        let named = path.split_once('.').and_then(|(section, rest)| {
            let (name, part) = match rest.split_once('.') {
                Some((name, part)) => (name, Some(part)),
                None => (rest, None),
            };
            Some(match section {
                "desk" => Self::Desk(name, part),
                "nas" => Self::Nas(name, part),
                "switch" => Self::Switch(name, part),
                "access-point" => Self::AccessPoint(name, part),
                "array" => Self::Array(name, part),
                "run" => Self::Run(name.parse().ok()?, part),
                _ => return None,
            })
        });
        named.unwrap_or(Self::Other(path))
    }

    /// A machine as a whole.
    pub fn machine(machine: Machine, name: &'a str) -> Self {
        match machine {
            Machine::Desk => Self::Desk(name, None),
            Machine::Switch => Self::Switch(name, None),
            Machine::Nas => Self::Nas(name, None),
        }
    }

    /// A part of a workstation.
    pub fn desk(name: &'a str, part: &'a str) -> Self {
        Self::Desk(name, Some(part))
    }

    /// A part of a machine that holds arrays.
    pub fn nas(name: &'a str, part: &'a str) -> Self {
        Self::Nas(name, Some(part))
    }

    /// A part of an array.
    pub fn array(name: &'a str, part: &'a str) -> Self {
        Self::Array(name, Some(part))
    }

    /// A run as a whole.
    pub fn run(run: &Run) -> Self {
        Self::Run(run.number, None)
    }

    /// The edit that sets it to a text.
    pub fn set(self, text: impl fmt::Display) -> String {
        format!("{self}=\"{text}\"")
    }

    /// What is meant of the place, if not all of it.
    pub fn part(self) -> Option<&'a str> {
        match self {
            Self::Desk(_, part)
            | Self::Nas(_, part)
            | Self::Switch(_, part)
            | Self::AccessPoint(_, part)
            | Self::Array(_, part)
            | Self::Run(_, part) => part,
            Self::Other(_) => None,
        }
    }

    /// The last name of a path: the field that it ends in.
    pub fn field(path: &str) -> &str {
        path.rsplit('.').next().unwrap_or(path)
    }

    /// Whether it is the processor of a machine that holds arrays.
    pub fn is_cores_of_nas(self) -> bool {
        matches!(self, Self::Nas(_, Some("cpu")))
    }
}

impl fmt::Display for SitePath<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Desk(name, _) => write!(f, "desk.{name}")?,
            Self::Nas(name, _) => write!(f, "nas.{name}")?,
            Self::Switch(name, _) => write!(f, "switch.{name}")?,
            Self::AccessPoint(name, _) => write!(f, "access-point.{name}")?,
            Self::Array(name, _) => write!(f, "array.{name}")?,
            Self::Run(number, _) => write!(f, "run.{number}")?,
            Self::Other(path) => f.write_str(path)?,
        }
        match self.part() {
            Some(part) => write!(f, ".{part}"),
            None => Ok(()),
        }
    }
}

impl fmt::Display for End {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}.{}",
            SitePath::machine(self.machine, &self.name),
            self.port
        )
    }
}

impl Site {
    /// The run that a path names, or that a part of belongs to.
    pub fn run_at(&self, path: &str) -> Option<&Run> {
        let SitePath::Run(number, _) = SitePath::of(path) else {
            return None;
        };
        self.runs.iter().find(|run| run.number == number)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn paths_are_read_and_written() {
        for (path, expected) in [
            ("desk.cut-1", SitePath::Desk("cut-1", None)),
            (
                "nas.store.port.a.rate",
                SitePath::nas("store", "port.a.rate"),
            ),
            ("switch.attic", SitePath::Switch("attic", None)),
            (
                "access-point.hall.air",
                SitePath::AccessPoint("hall", Some("air")),
            ),
            ("array.vault.fill", SitePath::array("vault", "fill")),
            ("run.12", SitePath::Run(12, None)),
            ("run.one", SitePath::Other("run.one")),
            ("network.mtu", SitePath::Other("network.mtu")),
            ("desk", SitePath::Other("desk")),
        ] {
            assert_eq!(SitePath::of(path), expected, "{path}");
            assert_eq!(expected.to_string(), path);
        }
        assert!(SitePath::of("nas.store.cpu").is_cores_of_nas());
        assert!(!SitePath::of("nas.store.cpu.cores").is_cores_of_nas());
        assert_eq!(SitePath::field("desk.colour.port.a"), "a");
    }

    proptest! {
        #[test]
        fn property_a_path_is_written_as_it_was_read(path in "(desk|nas|run|array|switch|smb)(\\.[a-z1-9]{1,3}){0,4}") {
            prop_assert_eq!(SitePath::of(&path).to_string(), path);
        }
    }
}
