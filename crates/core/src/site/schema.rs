//! The one table of what a site file may say: sections, fields, what each holds, what stands in
//! for it and how a person finds it out. Reading, nearest names, the JSON Schema and the
//! reference all come from here.

use crate::catalogue::Catalogue;
use crate::copper::{COLDEST, HOTTEST};
use crate::quantity::Kind;

/// A part of a site file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Section {
    /// The top of the file.
    Site,
    /// `[network]`.
    Network,
    /// `[array.NAME]`.
    Array,
    /// `[nas.NAME]`.
    Nas,
    /// `[switch.NAME]`.
    Switch,
    /// `[desk.NAME]`.
    Desk,
    /// `port.NAME = { ... }` of a NAS, switch or desk.
    Port,
    /// `[[run]]`.
    Run,
    /// `[[task]]`.
    Task,
    /// `[access-point.NAME]`.
    AccessPoint,
    /// `[building]`.
    Building,
    /// `[room.NAME]`.
    Room,
    /// `[[wall]]`.
    Wall,
    /// `[jack.NAME]`.
    Jack,
    /// `[supply.NAME]`.
    Supply,
    /// `[copy.NAME]`.
    Copy,
    /// `[project]`.
    Project,
}

impl Section {
    /// All parts, in the order of the reference.
    pub const ALL: [Self; 17] = [
        Self::Site,
        Self::Network,
        Self::Array,
        Self::Nas,
        Self::Switch,
        Self::Desk,
        Self::Port,
        Self::Run,
        Self::Task,
        Self::AccessPoint,
        Self::Building,
        Self::Room,
        Self::Wall,
        Self::Jack,
        Self::Supply,
        Self::Copy,
        Self::Project,
    ];

    /// How it begins in a file; empty for the top of the file.
    pub fn header(self) -> &'static str {
        match self {
            Self::Site => "",
            Self::Network => "[network]",
            Self::Array => "[array.NAME]",
            Self::Nas => "[nas.NAME]",
            Self::Switch => "[switch.NAME]",
            Self::Desk => "[desk.NAME]",
            Self::Port => "port.NAME = { ... }",
            Self::Run => "[[run]]",
            Self::Task => "[[task]]",
            Self::AccessPoint => "[access-point.NAME]",
            Self::Building => "[building]",
            Self::Room => "[room.NAME]",
            Self::Wall => "[[wall]]",
            Self::Jack => "[jack.NAME]",
            Self::Supply => "[supply.NAME]",
            Self::Copy => "[copy.NAME]",
            Self::Project => "[project]",
        }
    }

    /// The path of one of it, with `NAME` and `NUMBER` where those stand.
    pub fn path(self) -> &'static str {
        match self {
            Self::Site => "",
            Self::Network => "network",
            Self::Array => "array.NAME",
            Self::Nas => "nas.NAME",
            Self::Switch => "switch.NAME",
            Self::Desk => "desk.NAME",
            Self::Port => "port.NAME",
            Self::Run => "run.NUMBER",
            Self::Task => "task.NUMBER",
            Self::AccessPoint => "access-point.NAME",
            Self::Building => "building",
            Self::Room => "room.NAME",
            Self::Wall => "wall.NUMBER",
            Self::Jack => "jack.NAME",
            Self::Supply => "supply.NAME",
            Self::Copy => "copy.NAME",
            Self::Project => "project",
        }
    }

    /// With its article, for messages.
    pub fn noun(self) -> &'static str {
        match self {
            Self::Site => "the site",
            Self::Network => "the network",
            Self::Array => "an array",
            Self::Nas => "a NAS",
            Self::Switch => "a switch",
            Self::Desk => "a desk",
            Self::Port => "a port",
            Self::Run => "a run",
            Self::Task => "a task",
            Self::AccessPoint => "an access point",
            Self::Building => "the building",
            Self::Room => "a room",
            Self::Wall => "a wall",
            Self::Jack => "a jack",
            Self::Supply => "a supply",
            Self::Copy => "a copy",
            Self::Project => "the project",
        }
    }

    /// Its fields, in the order of the table.
    pub fn fields(self) -> impl Iterator<Item = &'static Field> {
        super::fields::FIELDS
            .iter()
            .filter(move |f| f.section == self)
    }

    /// One of its fields.
    pub fn field(self, key: &str) -> Option<&'static Field> {
        self.fields().find(|f| f.key == key)
    }
}

/// What a field holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// Any text.
    Text,
    /// A number with a unit, a range, or a number with a tolerance.
    Quantity {
        /// Of what kind.
        kind: Kind,
        /// Whether zero makes sense.
        zero: bool,
    },
    /// One rate of a link.
    LinkRate,
    /// Rates of a link, with commas.
    LinkRates,
    /// A whole number without a unit.
    Whole {
        /// The least that is allowed.
        least: u32,
        /// The most that is allowed.
        most: u32,
    },
    /// One word of a list of the catalogue.
    Word(&'static str),
    /// One word of a list of the catalogue, or several with percentages.
    Choice(&'static str),
    /// `yes`, `no`, `true` or `false`.
    YesNo,
    /// A drive layout.
    Layout,
    /// `6 x 10 TB hdd-7200`.
    Drives,
    /// `1 TB nvme-gen3`.
    Disk,
    /// `small, 4 cores`.
    Cpu,
    /// `pcie 3 x4`.
    Slot,
    /// `measured 300 Mb/s` or `rated 866 Mb/s`.
    Wireless,
    /// `ax, 2 streams`: what a desk's radio speaks.
    Spoken,
    /// `brick, 2 x stud`: what stands in the way.
    Obstacles,
    /// `6 at 1 Gb/s, 2 at 10 Gb/s`: cables beside a cable.
    Neighbours,
    /// One temperature.
    Celsius,
    /// The name of a room, or of two.
    Rooms,
    /// The name of a NAS.
    NasName,
    /// The name of a desk.
    DeskName,
    /// The name of an array.
    ArrayName,
    /// The name of a switch.
    SwitchName,
    /// What a task holds.
    Kept(Kept),
    /// `nas.store` or `nas.store.a`.
    End,
    /// One part of a kind.
    One(Section),
    /// Named parts of a kind.
    Named(Section),
    /// Numbered parts of a kind.
    Numbered(Section),
}

/// A value that has a rule of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kept {
    /// The name of a codec.
    Codec,
    /// `3840x2160` or `UHD`.
    Raster,
    /// `25 fps`.
    Frames,
    /// `1.5 x`.
    Speed,
    /// `1500 VA`.
    Apparent,
    /// `2 x 9 Ah`.
    Battery,
    /// `100 W 54 min, 450 W 8 min`.
    LoadTable,
    /// `22 C`.
    Degrees,
    /// `nas.store, switch.attic`.
    Fed,
    /// `20:00`.
    Hour,
    /// `2..8`.
    Number,
    /// `1 MiB`: a record of a pool.
    Record,
    /// `64 KiB`: a chunk of an array.
    Chunk,
    /// `12 dB`.
    Decibels,
}

/// What happens where a field is not there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Need {
    /// It has to be there.
    Required,
    /// This stands in.
    Optional(&'static str),
}

/// One field of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Field {
    /// The part.
    pub section: Section,
    /// The key in the file.
    pub key: &'static str,
    /// What it holds.
    pub form: Form,
    /// What stands in for it.
    pub need: Need,
    /// An example of its value, as written in the file.
    pub example: &'static str,
    /// What it is.
    pub doc: &'static str,
    /// How a person finds it out.
    pub find_out: &'static str,
}

impl Field {
    /// Whether it has to be there.
    pub fn is_required(&self) -> bool {
        self.need == Need::Required
    }

    /// Its path, with `NAME` and `NUMBER` where those stand.
    pub fn path(&self) -> String {
        match self.section {
            Section::Site => self.key.to_owned(),
            section => format!("{}.{}", section.path(), self.key),
        }
    }

    /// What is allowed, in words.
    pub fn allowed(&self, catalogue: &Catalogue) -> String {
        let words = |list: &str| {
            catalogue
                .words(list)
                .map(|w| w.word.as_str())
                .collect::<Vec<_>>()
                .join(", ")
        };
        match self.form {
            Form::Text => "any text".to_owned(),
            Form::Quantity { kind, zero } => format!(
                "{}{}, for example {}; ranges such as low..high and tolerances such as +- 10 % are allowed",
                kind.noun(),
                if zero { "" } else { " above zero" },
                kind.examples()
            ),
            Form::LinkRate => format!("{}: {}", Kind::LinkRate.noun(), Kind::LinkRate.examples()),
            Form::LinkRates => "rates of a link, with commas between them".to_owned(),
            Form::Whole { least, most } => format!("a whole number from {least} to {most}"),
            Form::Word(list) => format!("one of {}", words(list)),
            Form::Choice(list) => format!(
                "one of {}, unknown; or several with percentages",
                words(list)
            ),
            Form::YesNo => "yes or no".to_owned(),
            Form::Layout => format!("one of {}", super::arrays::layout_words()),
            Form::Drives => format!(
                "how many, then what one holds, then its class: {}, unknown",
                words("drive")
            ),
            Form::Disk => format!("what it holds, then its class: {}, unknown", words("drive")),
            Form::Cpu => format!("a class, then cores: {}, unknown", words("cpu")),
            Form::Slot => "pcie, the generation from 1 to 5, and x1, x2, x4, x8 or x16".to_owned(),
            Form::Wireless => "measured, rated or shown, then a rate; signal, then dBm; or unknown".to_owned(),
            Form::Spoken => "n, ac, ax or be, streams, a width, a band, in any order; or unknown".to_owned(),
            Form::Obstacles => format!("nothing, or with commas between them, how many and which: {}", super::air::kinds(catalogue).join(", ")),
            Form::Neighbours => "none, how many, or how many at which rate, with commas between them".to_owned(),
            Form::Celsius => format!("degrees Celsius from {COLDEST:.0} to {HOTTEST:.0}"),
            Form::Rooms => "names of rooms of this file".to_owned(),
            Form::NasName => "the name of a NAS of this file".to_owned(),
            Form::DeskName => "the name of a desk of this site".to_owned(),
            Form::ArrayName => "the name of an array of this site".to_owned(),
            Form::SwitchName => "the name of a switch of this file".to_owned(),
            Form::Kept(kept) => super::tasks::allowed(kept),
            Form::End => "nas.NAME, switch.NAME, access-point.NAME or desk.NAME, with .PORT behind it where there are several ports".to_owned(),
            Form::One(section) | Form::Numbered(section) => format!("a part {}", section.header()),
            Form::Named(Section::Port) => {
                "named ports: port.NAME = { rate = \"10 Gb/s\" }".to_owned()
            }
            Form::Named(section) => format!("named parts {}", section.header()),
        }
    }
}

/// One line of the reference.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Row {
    /// Path of the field, with `NAME` and `NUMBER` where those stand.
    pub path: String,
    /// What is allowed.
    pub allowed: String,
    /// What stands in where it is not there; nothing where it has to be there.
    pub default: Option<&'static str>,
    /// An example of its value, as written in the file.
    pub example: &'static str,
    /// What it is.
    pub doc: &'static str,
    /// How a person finds it out.
    pub find_out: &'static str,
}

/// The reference of all fields that hold a value, in the order of the table.
pub fn reference(catalogue: &Catalogue) -> Vec<Row> {
    super::fields::FIELDS
        .iter()
        .filter(|f| !matches!(f.form, Form::One(_) | Form::Named(_) | Form::Numbered(_)))
        .map(|f| Row {
            path: f.path(),
            allowed: f.allowed(catalogue),
            default: match f.need {
                Need::Required => None,
                Need::Optional(words) => Some(words),
            },
            example: f.example,
            doc: f.doc,
            find_out: f.find_out,
        })
        .collect()
}

pub use super::json_schema::json_schema;
