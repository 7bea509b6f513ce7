//! The described installation, checked: every name resolves and every value has its type.

use super::keeping::{CopyPlan, Project, Supply};
use crate::air::{Link, Obstacle, Spoken};
use crate::array::{DriveSize, Layout, LayoutFault, Level};
use crate::copper::{FibreGrade, Installation};
use crate::quantity::{DataRate, Information, Length, LinkRate, Ratio, Time};
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

/// What a drive does, as far as the rates of large sequential work go.
#[derive(Clone, Debug, PartialEq)]
#[allow(clippy::large_enum_variant)] // a handful of drives a site
pub enum Drive {
    /// Spinning: the rate falls from the outer edge inwards.
    Spinning {
        /// Class word, for example `hdd-7200`.
        class: String,
        /// Rate at the outer edge.
        outer: Value<DataRate>,
        /// Inner rate over outer rate.
        inner_ratio: Value<Ratio>,
    },
    /// Flash: writes go through a fast cache, then slower, then slowest.
    Flash {
        /// Class word, for example `nvme-gen3`.
        class: String,
        /// Reading.
        read: Value<DataRate>,
        /// Writing while the fast cache lasts.
        burst_write: Value<DataRate>,
        /// Writing after it; of the same id where it is the same.
        later_write: Value<DataRate>,
        /// Writing when folding as well; of the same id where it is the same.
        fold_write: Value<DataRate>,
        /// How much of an empty drive the fast cache takes.
        cache_share: Value<Ratio>,
        /// Bits that a cell holds when it is no cache; none where the cache itself is stated.
        bits_a_cell: Option<Value<f64>>,
        /// Share of the free space that is written when folding begins.
        fold_share: Value<Ratio>,
    },
}

impl Drive {
    /// Its class word in the catalogue.
    pub fn class(&self) -> &str {
        match self {
            Self::Spinning { class, .. } | Self::Flash { class, .. } => class,
        }
    }

    /// Whether its tracks overlap, so that what is written over is put together anew.
    pub fn is_shingled(&self) -> bool {
        matches!(self, Self::Spinning { class, .. } if class == "hdd-smr")
    }
}

/// What an array's drives are.
#[derive(Clone, Debug, PartialEq)]
pub struct DriveSet {
    /// How many drives.
    pub count: usize,
    /// Capacity of one, if stated or assumed.
    pub capacity: Value<Information>,
    /// Drive classes that it may be, one in most sites.
    pub drive: Chosen<Drive>,
    /// Ceiling of the interface of one drive.
    pub interface: Value<DataRate>,
}

/// A set of drives that works as one.
#[derive(Clone, Debug, PartialEq)]
pub struct Array {
    /// Name in the site.
    pub name: String,
    /// Name of the machine that holds it.
    pub nas: String,
    /// How redundant: the level and how many groups of drives.
    pub level: Level,
    /// Groups that work side by side; one, but in pools and nested levels.
    pub groups: usize,
    /// Of what drives; all groups together, spares not among them.
    pub drives: DriveSet,
    /// Drives that wait for one to fail.
    pub spares: usize,
    /// Drives that have failed and are not replaced.
    pub failed: usize,
    /// Whether it is putting a drive together again.
    pub rebuilding: Chosen<bool>,
    /// Whether all its drives are being read through to find damage.
    pub scrubbing: Chosen<bool>,
    /// How full.
    pub fill: Value<Ratio>,
    /// Whether its writes go in full stripes, where somebody said so.
    pub full_stripes: Option<Chosen<bool>>,
    /// Share of its time that others use, where somebody looked.
    pub others: Option<Value<Ratio>>,
    /// What its slowest drive reaches of the others, where one is slow.
    pub slowest: Option<Value<Ratio>>,
    /// Ceiling of what all drives hang on together, where stated (an enclosure on USB).
    pub attached: Option<Value<DataRate>>,
    /// Share of what is read that comes from memory, where somebody looked.
    pub hits: Option<Value<Ratio>>,
    /// What is read over and over, as an editor plays a timeline.
    pub working_set: Option<Value<Information>>,
    /// Measured on the machine itself, in place of the model.
    pub local_read: Option<Value<DataRate>>,
    /// Measured on the machine itself, in place of the model.
    pub local_write: Option<Value<DataRate>>,
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
    /// Whether it takes its power over its cable.
    pub power: bool,
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
    /// Ports by name.
    pub ports: Vec<Port>,
    /// The room it stands in, where that is told.
    pub room: Option<String>,
    /// What its radio speaks, where it has one.
    pub radio: Option<Spoken>,
}

/// What kind of plug a port takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Socket {
    /// Twisted pair.
    Copper,
    /// A cage for a module or a twinax cable.
    Cage,
}

impl Socket {
    /// As written in a site file.
    pub fn word(self) -> &'static str {
        match self {
            Self::Copper => "copper",
            Self::Cage => "cage",
        }
    }
}

/// How a port is joined to its machine.
#[derive(Clone, Debug, PartialEq)]
pub enum Attachment {
    /// A slot: generation and lanes.
    Slot {
        /// PCIe generation, 1 to 5.
        generation: u8,
        /// Lanes.
        lanes: u8,
    },
    /// An adapter on a serial bus, by its word in the catalogue.
    Adapter(String),
}

/// A port, or a group of equal ports.
#[derive(Clone, Debug, PartialEq)]
pub struct Port {
    /// Name on its machine.
    pub name: String,
    /// The rate it is sold as.
    pub rate: LinkRate,
    /// All rates it knows, the highest last.
    pub knows: Vec<LinkRate>,
    /// What plugs in.
    pub socket: Socket,
    /// How many of them.
    pub count: usize,
    /// How it is joined to its machine, where that is told.
    pub attachment: Option<Attachment>,
    /// Largest IP packet in bytes.
    pub mtu: u32,
    /// Links that are joined into it (IEEE 802.1AX); the rate is that of one.
    pub members: usize,
}

/// One end of a run.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct End {
    /// What kind of machine.
    pub machine: Machine,
    /// Its name.
    pub name: String,
    /// Name of its port.
    pub port: String,
}

/// What a port can sit on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Machine {
    /// A workstation.
    Desk,
    /// A switch.
    Switch,
    /// A machine that holds arrays.
    Nas,
}

impl Machine {
    /// As written in a site file.
    pub fn word(self) -> &'static str {
        match self {
            Self::Desk => "desk",
            Self::Switch => "switch",
            Self::Nas => "nas",
        }
    }
}

impl std::fmt::Display for End {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}.{}.{}", self.machine.word(), self.name, self.port)
    }
}

/// What joins two ports.
#[derive(Clone, Debug, PartialEq)]
pub enum Medium {
    /// Twisted pair.
    Copper {
        /// Category word, or the categories it may be.
        category: Chosen<String>,
        /// How far.
        length: Value<Length>,
        /// How it lies among its neighbours.
        bundle: Chosen<String>,
        /// What lies beside it, how often it is plugged, how warm it is.
        installed: Installation,
    },
    /// Fibre or passive twinax: carries what its ports know, as far as its optics or its make
    /// reach.
    Clear {
        /// The word: `fibre` or `twinax`.
        word: String,
        /// How far, where that is known.
        length: Option<Value<Length>>,
        /// Which fibre it is, where that is known.
        grade: Option<FibreGrade>,
        /// Which fibre its cords are, where that is known; else as the cable.
        cords: Option<FibreGrade>,
    },
    /// Radio: half duplex, shared, and never what the box says.
    Wireless {
        /// What is known of it.
        carries: Radio,
    },
}

impl Medium {
    /// Whether it is a radio link whose payload is worked out.
    pub fn is_worked_out(&self) -> bool {
        matches!(
            self,
            Self::Wireless {
                carries: Radio::Link(_)
            }
        )
    }
}

/// What is known of a radio link.
#[derive(Clone, Debug, PartialEq)]
pub enum Radio {
    /// The payload that it carries.
    Payload(Value<DataRate>),
    /// What it is made of and what was read off; the payload is worked out.
    Link(Box<Link>),
}

/// Whether both ends of a cable send at the same time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Duplex {
    /// Both at once.
    Full,
    /// One at a time.
    Half,
    /// One end sends whenever it likes, and the other takes that for collisions.
    Mismatched,
}

impl Duplex {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Full, Self::Half, Self::Mismatched];

    /// As written in a site file.
    pub fn word(self) -> &'static str {
        match self {
            Self::Full => "full",
            Self::Half => "half",
            Self::Mismatched => "mismatched",
        }
    }
}

/// A cable or a radio link between two ports.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Place in the file, from 1.
    pub number: usize,
    /// One end.
    pub from: End,
    /// The other end.
    pub to: End,
    /// What joins them.
    pub medium: Medium,
    /// The rate that both ends agreed on, where somebody looked.
    pub negotiated: Option<LinkRate>,
    /// Whether both ends send at the same time, where somebody looked.
    pub duplex: Option<Duplex>,
    /// Share of its frames that are lost, where somebody counted.
    pub lost: Option<Value<Ratio>>,
    /// Whether it links and then makes errors, where somebody looked.
    pub errors: Option<Chosen<bool>>,
    /// Share of the frames that a switch drops before this run, because they come faster than it takes
    /// them, where somebody counted.
    pub drops: Option<Value<Ratio>>,
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
    /// points set to one channel; nothing of a link whose payload is told, which has its own.
    pub fn air_of(&self, run: &Run) -> Option<String> {
        let Medium::Wireless {
            carries: Radio::Link(_),
        } = &run.medium
        else {
            return None;
        };
        [&run.from, &run.to].into_iter().find_map(|end| {
            let point = self.switches.iter().find(|s| s.name == end.name)?;
            let cell = point
                .cell
                .as_ref()
                .filter(|_| end.machine == Machine::Switch)?;
            Some(match (cell.channel, cell.speaks.band) {
                (Some(channel), Some(band)) => format!("air.{}.{channel}", band.row()),
                (Some(channel), None) => format!("air.{channel}"),
                (None, _) => format!("access-point.{}.air", point.name),
            })
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

impl Array {
    /// The layout as the array room counts with it, with drives of the middle capacity.
    ///
    /// `None` where the drives do not divide into the groups, which the reader refuses.
    pub fn layout(&self) -> Option<Layout> {
        let size = DriveSize::new(self.drives.capacity.value.median()).ok()?;
        self.layout_of(size).ok()
    }

    /// The layout with drives of a size.
    ///
    /// # Errors
    /// Where the drives do not make such groups, which the reader refuses.
    pub fn layout_of(&self, size: DriveSize) -> Result<Layout, LayoutFault> {
        let width = self.drives.count / self.groups.max(1);
        Layout::uniform(self.level, self.groups, width, size, self.spares)
    }
}
