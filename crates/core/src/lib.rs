//! Models of a small studio's data path: workstation disk, port, cable, switch, NAS, array.
//!
//! Begin with [`front::Narrows`]: it reads a place and answers every question in one call. The modules behind it
//! are for who needs more of one of them: [`budget`] is the model of a flow, [`together`] that of several,
//! [`explain`] weighs readings against both, [`plan`] searches with them, [`cable`] and [`mod@array`] are what runs
//! and layouts do by themselves.

pub use narrows_physics::{air, array, copper, hop, power};
pub use narrows_units::{catalogue, letters, quantity, spread, working};
use narrows_units::{nearest, piece};

pub mod allocate;
pub mod budget;
pub mod cable;
pub mod change;
pub mod day;
pub mod explain;
pub mod front;
pub mod plan;
pub mod room;
pub mod route;
pub use narrows_said as said;
pub mod sheet;
pub mod site;
pub mod together;
pub mod volume;
pub mod work;
pub mod workers;
