//! Whether a number that somebody read off is right, and what to look at next.
#![allow(clippy::print_stdout)] // a program that prints

use narrows_core::front::{AskFault, Narrows};

fn main() -> Result<(), AskFault> {
    let narrows = Narrows::new()?;
    let (_, text) = narrows_data::SITES[0];
    let found = narrows
        .place(text)?
        .explain(&["colour copy read 11 MB/s", "another cable is no better"])?;
    println!("{}\n{}\n{}", found.in_words, found.why, found.next_step);
    Ok(())
}
