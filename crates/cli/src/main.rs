//! narrows
fn main() {}
