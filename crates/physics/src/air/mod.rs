//! The air: what a radio link loses, what its signal allows, what a byte costs in time, and who
//! shares it.
//!
//! Chain: power sent and antennas less body, distance, walls and floors make a signal; signal
//! over noise allows streams and a scheme; those make a rate on the air; waits, preambles and
//! acknowledgements make that a payload; what the field leaves and how busy the air is make it
//! MB/s. All of it is pure: what is not known is drawn by whoever asks.

mod airtime;
mod band;
mod cells;
mod equipment;
mod link;
mod path;
mod phy;
mod slab;
mod snr;

pub use airtime::{Clean, LONGEST, SEGMENT, Sender, announcing, clean, of_burst, round_trip};
pub use band::{Band, Generation, Width};
pub use cells::{busy_twice_as_wide, channels, heard_from, in_turn, parts_them, plan};
pub use equipment::{Equipment, Spoken, equipment};
pub use link::{
    Between, Carried, Link, LinkFault, Obstacle, Reading, Sends, WayRound, carried, conditioned,
};
pub use path::{
    Building, Setting, floors, free_space, many_walls, of_setting, slope, straight, together,
    with_its_walls,
};
pub use phy::{AirRate, Guard, Mcs, Phy, SCHEMES, candidates, highest};
pub use slab::{Layer, Material, Polarisation, layers, material, slab, thickness};
pub use snr::{Ladder, Needed, noise, of_a_stream, sensitivity};

#[cfg(test)]
mod tests;
