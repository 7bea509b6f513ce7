//! What a number is, known or not: quantities with units, what is known of them, columns of draws,
//! and the catalogue of constants with their sources.

#[macro_use]
extern crate uom;

pub mod catalogue;
pub mod known;
pub mod letters;
pub mod nearest;
pub mod piece;
pub mod quantity;
pub mod spread;
pub mod working;
