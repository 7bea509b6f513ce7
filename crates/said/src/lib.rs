//! What people say of an installation, understood by what it means: words of the lists, and the short
//! descriptions of drives, processors, slots, links and runs.

mod cable;
mod cpu;
mod drives;
pub mod interview;
mod link;
mod meaning;

pub use cable::{SaidCable, cable};
pub use cpu::cpu;
pub use drives::{SaidDrives, drives};
pub use link::{link_rate, slot};
pub use meaning::{Meaning, is_unknown, level, meaning, plain, pointed, word};

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;
