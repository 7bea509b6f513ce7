//! What a machine says of itself, and what it measures of its files and its network.
//!
//! Beside the command line this is the only room that touches a system. A reading is bytes that arrived, over a
//! time that the receiver's own clock saw, with an error bar. What is not known is not there: never 0, never a
//! guess. Nothing is overwritten, nothing of anybody's files is read or sent, nothing listens unless told
//! where, and every test has caps in bytes and seconds.

mod clocked;
pub mod files;
pub mod machine;
pub mod network;
pub mod readings;
mod ring;
pub mod says;
pub mod series;

/// Whether this runs with the rights of the system's administrator.
pub fn is_administrator() -> bool {
    #[cfg(unix)]
    {
        rustix::process::geteuid().is_root()
    }
    #[cfg(not(unix))]
    {
        false
    }
}
