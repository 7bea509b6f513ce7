//! Ports of machines, and what joins them to the machine.

use crate::quantity::LinkRate;

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
