#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

mod edits;
mod reasoning;
mod simulated;
