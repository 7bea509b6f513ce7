//! What a byte costs at each kind of hop. Pure functions over quantities, one file a kind.

pub mod bus;
pub mod copper;
pub mod copying;
pub mod drives;
pub mod ethernet;
pub mod frames;
pub mod half_duplex;
pub mod host;
pub mod joined;
pub mod pause;
pub mod requests;
pub mod transport;
