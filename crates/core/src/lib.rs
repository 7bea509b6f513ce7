//! Models of a small studio's data path: workstation disk, port, cable, switch, NAS, array.

pub use narrows_physics::{air, array, copper, hop, power};
use narrows_units::nearest;
pub use narrows_units::{catalogue, letters, quantity, spread, working};

pub mod allocate;
pub mod budget;
pub mod cable;
pub mod change;
pub mod day;
pub mod explain;
pub mod plan;
pub mod room;
pub mod route;
pub use narrows_said as said;
pub mod sheet;
pub mod site;
pub mod together;
pub mod volume;
pub mod work;
mod workers;
