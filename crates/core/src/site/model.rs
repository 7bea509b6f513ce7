//! The described installation, checked: every name resolves and every value has its type.

mod arrays;
mod ports;
mod runs;

pub use arrays::{Array, Drive, DriveSet};
pub use ports::{Attachment, End, Machine, Port, Socket};
pub use runs::{Duct, Duplex, Medium, Radio, Run};

use super::keeping::{CopyPlan, Project, Supply};
use crate::air::{Obstacle, Spoken};
use crate::quantity::{Information, Length, LinkRate, Power, Ratio, Time};
use crate::work::Task;
pub use narrows_units::known::{Chosen, Known, Origin, Value};

/// A whole installation.
#[derive(Clone, Debug, PartialEq)]
pub struct Site {
    /// What it is called.
    pub name: String,
    /// What holds for the whole network.
    pub network: Network,
    /// Arrays by name.
    pub arrays: Vec<Array>,
    /// Machines that hold arrays.
    pub nas: Vec<Nas>,
    /// Switches.
    pub switches: Vec<Switch>,
    /// Desks.
    pub desks: Vec<Desk>,
    /// Cables and radio links.
    pub runs: Vec<Run>,
    /// What the desks do, where it is told.
    pub tasks: Vec<Task>,
    /// Rooms, walls and jacks, where they are told.
    pub house: House,
    /// Backup supplies.
    pub supplies: Vec<Supply>,
    /// Copies of what the arrays hold.
    pub copies: Vec<CopyPlan>,
    /// The work that is done, where it is told.
    pub project: Option<Project>,
    /// What the catalogue stood in for, in the order of the file.
    pub assumptions: Vec<Assumption>,
}

/// One value that nobody gave.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Assumption {
    /// Site path and field.
    pub id: String,
    /// What was assumed, as it would be written in the file.
    pub value: String,
    /// Why that.
    pub because: String,
    /// How a person finds the real value.
    pub find_out: String,
}

/// What holds for the whole network.
#[derive(Clone, Debug, PartialEq)]
pub struct Network {
    /// Time for a small packet there and back, wire and both hosts' stacks.
    pub round_trip: Value<Time>,
    /// Whether frames carry a VLAN tag.
    pub tagged: Chosen<bool>,
}

/// A file service.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Service {
    /// SMB 2 or 3.
    Smb,
    /// NFS 3 or 4.
    Nfs,
    /// AFP.
    Afp,
    /// FTP.
    Ftp,
    /// SFTP over SSH.
    Sftp,
    /// iSCSI.
    Iscsi,
    /// HTTP or `WebDAV`.
    Http,
}

impl Service {
    /// All services.
    pub const ALL: [Self; 7] = [
        Self::Smb,
        Self::Nfs,
        Self::Afp,
        Self::Ftp,
        Self::Sftp,
        Self::Iscsi,
        Self::Http,
    ];

    /// As written in a site file.
    pub fn word(self) -> &'static str {
        match self {
            Self::Smb => "smb",
            Self::Nfs => "nfs",
            Self::Afp => "afp",
            Self::Ftp => "ftp",
            Self::Sftp => "sftp",
            Self::Iscsi => "iscsi",
            Self::Http => "http",
        }
    }
}

/// How a desk reaches the files of a NAS.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Client {
    /// Through the kernel of its system.
    Kernel,
    /// Through a program of its own: what some file managers and most portable mounts do.
    UserSpace,
    /// By an old version of the service, with small requests one after another.
    Old,
}

impl Client {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Kernel, Self::UserSpace, Self::Old];

    /// As written in a site file.
    pub fn word(self) -> &'static str {
        match self {
            Self::Kernel => "kernel",
            Self::UserSpace => "user-space",
            Self::Old => "old",
        }
    }
}

/// What a processor does on one of its cores; see `cpu` rows of the catalogue.
#[derive(Clone, Debug, PartialEq)]
pub struct Cpu {
    /// Class word, or the classes it may be.
    pub class: Chosen<String>,
    /// Cores.
    pub cores: Value<f64>,
}

/// A machine that holds arrays.
#[derive(Clone, Debug, PartialEq)]
pub struct Nas {
    /// Name in the site.
    pub name: String,
    /// Processor.
    pub cpu: Cpu,
    /// Memory.
    pub memory: Value<Information>,
    /// File service.
    pub service: Chosen<Service>,
    /// Whether packets carry a signature.
    pub signed: Chosen<bool>,
    /// Whether data are encrypted on the way.
    pub encrypted: Chosen<bool>,
    /// Whether every write waits until it is safe on the drives, where somebody said so.
    pub sync: Option<Chosen<bool>>,
    /// Ports by name.
    pub ports: Vec<Port>,
}

/// A switch, or anything that passes frames on at full rate.
#[derive(Clone, Debug, PartialEq)]
pub struct Switch {
    /// Name in the site.
    pub name: String,
    /// Whether it obeys and sends pause frames, where somebody said so.
    pub pause: Option<Chosen<bool>>,
    /// Ports by name.
    pub ports: Vec<Port>,
    /// Its radio, where it is an access point.
    pub cell: Option<Cell>,
    /// The power that it gives over its cables; nothing where none was told of.
    pub powers: Option<Powers>,
}

/// Power that a switch gives over its cables.
#[derive(Clone, Debug, PartialEq)]
pub struct Powers {
    /// Over all of them together.
    pub budget: Value<Power>,
    /// The highest class of a port, 1 to 8 of IEEE 802.3.
    pub class: u8,
}

/// The radio of an access point.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// What it speaks, as far as it is told.
    pub speaks: Spoken,
    /// The room it hangs in.
    pub room: Option<String>,
    /// The channel it is set to.
    pub channel: Option<u32>,
    /// Share of the time that neighbours take.
    pub busy: Option<Value<Ratio>>,
    /// Share of the time that neighbours take on each 20 MHz of its channel.
    pub crowd: Option<Value<Ratio>>,
    /// Whether it takes its power over its cable.
    pub power: bool,
    /// Whether it gives each desk equal time, and not equal packets.
    pub equal_time: bool,
}

/// Rooms, what stands between them, and jacks.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct House {
    /// Rooms by name.
    pub rooms: Vec<Room>,
    /// Walls and floors that differ from the rest.
    pub walls: Vec<Wall>,
    /// What walls are made of.
    pub wall: Option<Vec<Obstacle>>,
    /// What floors are made of.
    pub floor: Option<Vec<Obstacle>>,
    /// From floor to floor.
    pub storey: Option<Value<Length>>,
    /// Whether an open stairwell joins the storeys.
    pub stairs: bool,
    /// Wired jacks for access points.
    pub jacks: Vec<Jack>,
}

/// A room, seen from above.
#[derive(Clone, Debug, PartialEq)]
pub struct Room {
    /// Name in the site.
    pub name: String,
    /// The storey, from the lowest.
    pub floor: u32,
    /// Its left, front, width and depth.
    pub plan: [Length; 4],
}

/// What stands between two rooms.
#[derive(Clone, Debug, PartialEq)]
pub struct Wall {
    /// The rooms.
    pub rooms: [String; 2],
    /// What it is made of.
    pub made: Vec<Obstacle>,
}

/// A wired jack on which an access point could hang.
#[derive(Clone, Debug, PartialEq)]
pub struct Jack {
    /// Name in the site.
    pub name: String,
    /// The room it is in.
    pub room: String,
    /// What an access point on it gets.
    pub rate: LinkRate,
    /// Whether power comes over its cable.
    pub power: bool,
    /// The switch that its cable ends at, where that is told.
    pub switch: Option<String>,
}

/// The system of a desk, by whether it asks for signatures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum System {
    /// Of 2024 or later.
    Recent,
    /// Older.
    Older,
}

impl System {
    /// As site files have it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Recent => "recent",
            Self::Older => "older",
        }
    }

    /// The system of a word.
    pub(crate) fn from_word(word: &str) -> Option<Self> {
        [Self::Recent, Self::Older]
            .into_iter()
            .find(|system| system.word() == word)
    }
}

/// A workstation.
#[derive(Clone, Debug, PartialEq)]
pub struct Desk {
    /// Name in the site.
    pub name: String,
    /// Processor.
    pub cpu: Cpu,
    /// Its own disk, or the disks it may be.
    pub disk: Chosen<Drive>,
    /// Capacity of that disk.
    pub disk_capacity: Value<Information>,
    /// How full that disk is.
    pub disk_fill: Value<Ratio>,
    /// Whether its copy tool reads and writes at the same time.
    pub overlap: Chosen<bool>,
    /// How it reaches the files.
    pub client: Chosen<Client>,
    /// How old its system is, where that is told.
    pub system: Option<Chosen<System>>,
    /// Round trip to the NAS, where it is another than the network's.
    pub round_trip: Option<Value<Time>>,
    /// The most that one of its streams keeps in flight, where stated.
    pub window: Option<Value<Information>>,
    /// Requests that it keeps under way, where stated.
    pub requests: Option<u64>,
    /// Bytes that one of its requests asks for, where stated.
    pub request_size: Option<Value<Information>>,
    /// Small files that its copy has under way at once, where stated.
    pub files_at_once: Option<u64>,
    /// Ports by name.
    pub ports: Vec<Port>,
    /// The room it stands in, where that is told.
    pub room: Option<String>,
    /// What its radio speaks, where it has one.
    pub radio: Option<Spoken>,
}

impl Site {
    /// The port at an end of a run.
    pub fn port(&self, end: &End) -> Option<&Port> {
        let ports = match end.machine {
            Machine::Desk => &self.desks.iter().find(|d| d.name == end.name)?.ports,
            Machine::Switch => &self.switches.iter().find(|d| d.name == end.name)?.ports,
            Machine::Nas => &self.nas.iter().find(|d| d.name == end.name)?.ports,
        };
        ports.iter().find(|p| p.name == end.port)
    }

    /// The air that a radio link takes its time from: that of its access point, or of all access
    /// points set to one channel; nothing of a link whose payload is told, which has its own. An access
    /// point that passes on through the air has one radio, unless its channel is told: what it passes
    /// on takes the air of the one that it hangs on.
    pub fn air_of(&self, run: &Run) -> Option<String> {
        let Medium::Wireless {
            carries: Radio::Link(link),
        } = &run.medium
        else {
            return None;
        };
        let cells = || {
            [&run.from, &run.to]
                .into_iter()
                .filter_map(|end| self.cell_at(end))
        };
        let wired = |point: &&Switch| point.ports.iter().any(|port| !port.knows.is_empty());
        // between two access points, that of the one with a cable
        let mut point = cells().find(wired).or_else(|| cells().next())?;
        // access points in a row, none of them twice
        for _ in 0..self.switches.len() {
            match self.hangs_on(point) {
                Some(other) => point = other,
                None => break,
            }
        }
        let cell = point.cell.as_ref()?;
        // another band of the box is another radio
        if let (Some(seen), Some(told)) = (link.speaks.band, cell.speaks.band)
            && seen != told
        {
            return Some(format!("access-point.{}.air.{}", point.name, seen.row()));
        }
        Some(match (cell.channel, cell.speaks.band) {
            (Some(channel), Some(band)) => format!("air.{}.{channel}", band.row()),
            (Some(channel), None) => format!("air.{channel}"),
            (None, _) => format!("access-point.{}.air", point.name),
        })
    }

    /// Whether the access point of a radio link gives each desk equal time.
    pub(crate) fn gives_equal_time(&self, run: &Run) -> bool {
        let cells = [&run.from, &run.to]
            .into_iter()
            .filter_map(|end| self.cell_at(end));
        let mut cells = cells.filter_map(|point| point.cell.as_ref());
        cells.any(|cell| cell.equal_time)
    }

    /// The access point at an end.
    fn cell_at(&self, end: &End) -> Option<&Switch> {
        let point = self.switches.iter().find(|s| s.name == end.name)?;
        (end.machine == Machine::Switch && point.cell.is_some()).then_some(point)
    }

    /// The access point that one without a cable and a channel of its own hangs on.
    fn hangs_on(&self, point: &Switch) -> Option<&Switch> {
        let own_channel = point.cell.as_ref().is_some_and(|c| c.channel.is_some());
        if own_channel || point.ports.iter().any(|port| !port.knows.is_empty()) {
            return None;
        }
        let radio = |run: &&Run| matches!(run.medium, Medium::Wireless { .. });
        self.runs.iter().filter(radio).find_map(|run| {
            let ends = [self.cell_at(&run.from)?, self.cell_at(&run.to)?];
            match ends.map(|end| end.name == point.name) {
                [true, false] => Some(ends[1]),
                [false, true] => Some(ends[0]),
                _ => None,
            }
        })
    }

    /// The same place with desks that reach their files as most do, where nobody said how: what slows
    /// down without that is a cause to look for.
    pub(crate) fn with_usual_clients(&self) -> Self {
        let mut site = self.clone();
        for desk in &mut site.desks {
            if desk.client.is_assumed() {
                desk.client.value = crate::spread::Choice::certain(*desk.client.value.likeliest());
            }
        }
        site
    }

    /// A machine that holds arrays.
    pub fn nas(&self, name: &str) -> Option<&Nas> {
        self.nas.iter().find(|n| n.name == name)
    }
}
