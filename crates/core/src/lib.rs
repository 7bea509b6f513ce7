//! Models of a small studio's data path: workstation disk, port, cable, switch, NAS, array.

#[macro_use]
extern crate uom;

pub mod catalogue;
pub mod change;
mod nearest;
pub mod quantity;
pub mod site;
pub mod spread;
