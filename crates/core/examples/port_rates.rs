//! What each desk reads by the rate of its port and of the switch before it: a table.
#![allow(clippy::print_stdout)] // a program that prints

use narrows_core::front::{AskFault, Narrows};
use narrows_core::quantity::in_megabytes_per_second;
use narrows_core::work::Direction;
use std::fmt::Write;

fn main() -> Result<(), AskFault> {
    let narrows = Narrows::new()?;
    let (_, text) = narrows_data::SITES[0];
    let place = narrows.place(text)?;
    let rates = ["1 Gb/s", "2.5 Gb/s", "10 Gb/s"];
    println!(
        "{:8} {}",
        "desk",
        rates.map(|rate| format!("{rate:>10}")).concat()
    );
    for desk in ["cut-1", "colour"] {
        let mut row = format!("{desk:8} ");
        for rate in rates {
            let port = format!("desk.{desk}.port.a.rate=\"{rate}\"");
            let switch = format!("switch.attic.port.slow.rate=\"{rate}\"");
            let answer = place.with(&[&port, &switch])?.budget()?;
            let reads = answer
                .flows
                .iter()
                .find(|flow| flow.desk == desk && flow.direction == Direction::Read);
            let middle = reads.map_or(0.0, |f| in_megabytes_per_second(f.megabytes_per_s.p50));
            let _ = write!(row, "{middle:10.0}");
        }
        println!("{row}");
    }
    println!("MB/s of a copy, in the middle");
    Ok(())
}
