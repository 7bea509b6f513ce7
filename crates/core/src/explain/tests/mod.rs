#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

mod desks;
mod drawn;
mod edits;
mod inside;
mod meant;
mod one_model;
mod pieces;
mod planted_desks;
pub(super) mod reasoning;
mod said;
mod simulated;
mod statement;
