#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

mod desks;
mod edits;
mod meant;
mod one_model;
mod planted_desks;
pub(super) mod reasoning;
mod simulated;
mod statement;
