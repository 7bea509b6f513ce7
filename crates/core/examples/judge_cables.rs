//! Which cables of a list carry 10 Gb/s.
#![allow(clippy::print_stdout)] // a program that prints

use narrows_core::cable::Carried;
use narrows_core::front::{AskFault, Narrows};
use narrows_core::quantity::LinkRate;
use narrows_core::quantity::units::ratio::percent;

fn main() -> Result<(), AskFault> {
    let narrows = Narrows::new()?;
    let ten = LinkRate::from_megabits(10_000);
    for words in [
        "cat5e 31 m",
        "cat6 40 m loose",
        "cat6a 80 m tight",
        "unknown 25 m",
    ] {
        let report = narrows.cable(words)?;
        if let Carried::Copper(rows) = &report.carried
            && let Some(row) = rows.iter().find(|row| row.rate == ten)
        {
            println!(
                "{words:20} {:3.0} of 100",
                row.today.p_hold.get::<percent>()
            );
        }
    }
    Ok(())
}
