//! Models of a small studio's data path: workstation disk, port, cable, switch, NAS, array.

#[macro_use]
extern crate uom;

pub mod allocate;
pub mod array;
pub mod budget;
pub mod cable;
pub mod catalogue;
pub mod change;
pub mod copper;
pub mod day;
pub mod explain;
pub mod hop;
mod nearest;
pub mod plan;
pub mod quantity;
pub mod room;
pub mod route;
pub mod said;
mod sheet;
pub mod site;
pub mod spread;
pub mod together;
pub mod volume;
pub mod work;
pub mod working;
