//! Pure models over quantities, with their published vectors as tests: what a byte costs at a hop, what a cable
//! carries, what an array gives, holds and survives, how long a battery lasts.

pub mod air;
pub mod array;
pub mod copper;
pub mod hop;
pub mod power;
