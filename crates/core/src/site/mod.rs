//! The described installation: reading it and checking it.

mod model;

pub use model::*;
