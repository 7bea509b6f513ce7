//! A set of drives that works as one: what it is made of, what it holds, how safe that is and how
//! fast it is.
//!
//! An array is not a backup: deletion, fire, theft and a mistaken command reach all its drives.

pub mod capacity;
pub mod durability;
mod layout;
mod layout_text;
mod level;
pub mod rate;
mod size;
mod survival;

pub use layout::{Group, Layout, LayoutFault};
pub use level::{Level, Placement};
pub use size::{Bytes, DriveSize};
