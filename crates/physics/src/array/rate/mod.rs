//! Rates of drives and arrays as pure functions: what one stream gets, what many get, what random
//! requests get, whole or with drives missing.
//!
//! Rates of a layout are a number of drives' worth times the rate of the slowest drive; what a
//! drive gives is told by its zones, its heads and its flash. Numbers hold for large requests unless
//! a function says otherwise.

mod ahead;
pub mod cache;
mod flash;
mod heads;
mod parity;
mod random;
mod sequential;
#[cfg(test)]
mod simulation;
mod streams;
mod stripe;
mod zone;

pub use ahead::{BufferedWrite, Slowdown, Slows};
pub use flash::{FlashWrite, fast_cache, folding_point};
pub use heads::Heads;
pub use parity::{parity_ceiling, slowest_of};
pub use random::{
    IN_FLIGHT, piece_of_a_request, random_reads, random_writes, single_requests, turning_requests,
};
pub use sequential::{
    Medium, Place, Worth, far_write, read_one_stream, rotating_read, write_one_stream,
};
pub use streams::{
    Pieces, flash_streams, interleaved, many_streams, pieces, scattered_stream, streams_carried,
    turn_for_share,
};
pub use stripe::{mixed, stripe_operations, write_amplification};
pub use zone::Zones;

use narrows_units::quantity::UnitFault;

/// A value outside the range in which a model holds.
pub fn outside(found: String, help: &str) -> UnitFault {
    UnitFault::new(0..0, found, help)
}
