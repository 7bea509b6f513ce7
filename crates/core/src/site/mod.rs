//! The described installation: reading it from text with located faults, and the checked result.

mod air;
mod arrays;
mod copies;
mod drive_text;
mod drives;
mod ducts;
mod duplex;
mod edits;
mod fault;
mod fields;
mod flash;
mod installation;
mod joints;
mod json_schema;
mod keeping;
mod layouts;
mod machines;
mod media;
mod model;
mod names;
pub mod parts;
mod path;
mod ports;
mod range;
mod read;
mod reader;
mod runs;
pub mod schema;
mod supplies;
pub(crate) mod syntax;
mod tasks;
mod tidy;
pub(crate) mod tree;
mod values;
mod whereabouts;

pub(crate) use air::retie;
pub(crate) use drive_text::pieces as drive_pieces;
pub(crate) use drives::one_drive;
pub(crate) use ducts::lay_in_ducts;
pub use fault::{Also, Fault, FaultSource, Faults, Near, Place, Replacement};
pub(crate) use flash::StatedFlash;
pub use keeping::{Battery, CopyKind, CopyPlan, Fed, Project, Supply, SupplyKind, Tried};
pub use layouts::{Counted, counted_argument, counted_array};
pub use model::{
    Array, Assumption, Attachment, Cell, Chosen, Client, Cpu, Desk, Drive, DriveSet, Duct, Duplex,
    End, House, Jack, Known, Machine, Medium, Nas, Network, Origin, Port, Powers, Radio, Room, Run,
    Service, Site, Socket, Switch, System, Value, Wall,
};
pub use path::SitePath;
pub use read::{Tidy, read, read_bytes, read_bytes_with_tasks, tidied, understood};
pub use tidy::Understood;
pub use whereabouts::{Line, line_of};

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;
