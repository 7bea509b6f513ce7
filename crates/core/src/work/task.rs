use super::{Direction, FrameRate, Raster};
use crate::quantity::{DataRate, Information, Ratio, Time};
use crate::site::Value;

/// What a desk does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Does {
    /// Plays a stream in time.
    Play,
    /// Plays several angles in time.
    Multicam,
    /// Moves through material by hand.
    Scrub,
    /// Plays pictures that are one file each.
    Sequence,
    /// Reads material and writes it in another codec, as fast as it goes.
    Export,
    /// Brings a card in.
    Ingest,
    /// Copies the array elsewhere.
    Backup,
    /// Sends from the array to the world.
    Upload,
    /// Copies between the array and the desk's own disk.
    Copy,
}

impl Does {
    /// All of them, those with a deadline first.
    pub const ALL: [Self; 9] = [
        Self::Play,
        Self::Multicam,
        Self::Scrub,
        Self::Sequence,
        Self::Export,
        Self::Ingest,
        Self::Backup,
        Self::Upload,
        Self::Copy,
    ];

    /// As written in a site file.
    pub fn word(self) -> &'static str {
        match self {
            Self::Play => "play",
            Self::Multicam => "multicam",
            Self::Scrub => "scrub",
            Self::Sequence => "sequence",
            Self::Export => "export",
            Self::Ingest => "ingest",
            Self::Backup => "backup",
            Self::Upload => "upload",
            Self::Copy => "copy",
        }
    }

    /// From its word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|d| d.word() == word)
    }

    /// Whether pictures have to be there in time, so that it has a demand; what has none takes what
    /// is left, or is held to a stated rate.
    pub fn has_deadline(self) -> bool {
        matches!(
            self,
            Self::Play | Self::Multicam | Self::Scrub | Self::Sequence
        )
    }

    /// Which way it goes where nobody says.
    pub fn usual_direction(self) -> Direction {
        match self {
            Self::Ingest => Direction::Write,
            _ => Direction::Read,
        }
    }

    /// Whether it may go the other way.
    pub fn may_turn(self) -> bool {
        matches!(self, Self::Backup | Self::Upload | Self::Copy)
    }
}

/// Material: a codec at a raster and a frame rate.
#[derive(Clone, Debug, PartialEq)]
pub struct Material {
    /// Name of the codec, as shown.
    pub codec: String,
    /// Its raster.
    pub raster: Raster,
    /// Its frame rate.
    pub frames: FrameRate,
    /// What one stream of it takes.
    pub rate: Value<DataRate>,
    /// Where that rate comes from, in words.
    pub because: String,
    /// How steady it is.
    pub steadiness: super::codecs::Steadiness,
}

/// What an export turns material into, and how fast.
#[derive(Clone, Debug, PartialEq)]
pub struct Export {
    /// What is written.
    pub into: Option<Material>,
    /// How fast the desk works, over real time; nothing where nobody said.
    pub speed: Option<Value<f64>>,
}

/// A task: what one desk does with one array.
#[derive(Clone, Debug, PartialEq)]
pub struct Task {
    /// Place in the file, from 1.
    pub number: usize,
    /// Name of the desk.
    pub desk: String,
    /// Name of the array.
    pub array: String,
    /// What it does.
    pub does: Does,
    /// Which way.
    pub direction: Direction,
    /// What it plays or exports, where it is told by codec.
    pub material: Option<Material>,
    /// Layers or angles at once; one unless told.
    pub layers: u32,
    /// What has to be there in time, all layers together; for deadlines only, and always there.
    pub demand: Option<Value<DataRate>>,
    /// The most that it takes, where it is held to something.
    pub held_to: Option<Value<DataRate>>,
    /// Of an export.
    pub export: Option<Export>,
    /// What the bus of the card it brings in carries.
    pub card: Option<Value<DataRate>>,
    /// Its share against the others; one unless told.
    pub weight: u32,
    /// Share of the time in which it goes on.
    pub active: Option<Value<Ratio>>,
    /// How long it goes on in one go, in the mean.
    pub spell: Option<Value<Time>>,
    /// Data that somebody waits for, a day.
    pub per_day: Option<Value<Information>>,
}

impl Task {
    /// Its id: `task.2`.
    pub fn id(&self) -> String {
        format!("task.{}", self.number)
    }

    /// In a few words: `cut-1 play`.
    pub fn label(&self) -> String {
        format!("{} {}", self.desk, self.does.word())
    }

    /// Its material in words, where it is told by codec.
    pub fn material_text(&self) -> Option<String> {
        let m = self.material.as_ref()?;
        let times = if self.layers > 1 {
            format!("{} x ", self.layers)
        } else {
            String::new()
        };
        Some(format!("{times}{}, {}, {}", m.codec, m.raster, m.frames))
    }
}
