//! A budget as JSON, for a page or a script of one's own.
#![allow(clippy::print_stdout)] // a program that prints

use narrows_core::front::Narrows;
use narrows_core::quantity::in_megabytes_per_second;
use serde::Serialize;
use std::error::Error;

#[derive(Serialize)]
struct Row<'a> {
    desk: &'a str,
    direction: &'static str,
    megabytes_per_s: [f64; 3],
}

fn main() -> Result<(), Box<dyn Error>> {
    let narrows = Narrows::new()?;
    let (_, text) = narrows_data::SITES[0];
    let answer = narrows.place(text)?.budget()?;
    let rows: Vec<Row<'_>> = answer
        .flows
        .iter()
        .map(|flow| Row {
            desk: &flow.desk,
            direction: flow.direction.word(),
            megabytes_per_s: [
                flow.megabytes_per_s.p05,
                flow.megabytes_per_s.p50,
                flow.megabytes_per_s.p95,
            ]
            .map(in_megabytes_per_second),
        })
        .collect();
    println!("{}", serde_json::to_string_pretty(&rows)?);
    Ok(())
}
