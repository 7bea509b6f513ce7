//! The layout of the fewest drives that holds what is needed in eight bays and survives one of them.
#![allow(clippy::print_stdout)] // a program that prints

use narrows_core::front::Narrows;
use narrows_core::plan::{DriveChoice, Need, Question, USUAL_PLAN_DRAWS};
use narrows_core::quantity::units::information::terabyte;
use narrows_core::quantity::units::ratio::percent;
use narrows_core::site::Known;
use narrows_core::spread::{Bounds, Spread};
use std::error::Error;

fn main() -> Result<(), Box<dyn Error>> {
    let narrows = Narrows::new()?;
    let drive = DriveChoice::parse("10 TB hdd-7200", narrows.catalogue());
    let need = Need::parse("40 TB");
    let fill = Spread::parse("70 %", Bounds::FRACTION);
    let (Ok(drive), Ok(need), Ok(fill)) = (drive, need, fill) else {
        return Err("a text that cannot be read".into());
    };
    let answer = narrows.layouts(&Question {
        bays: 8,
        choices: vec![drive],
        needs: vec![need],
        survive: 1,
        streams: 4,
        fill: Known::stated("fill".to_owned(), fill),
        nas: None,
        attached: None,
        record: None,
        chunk: None,
        draws: USUAL_PLAN_DRAWS,
        workers: 1,
    })?;
    // the fewest drives come first
    match answer.rows.first() {
        Some(row) => println!(
            "{}: {:.1} TB, lost by its drives alone in {:.4} of 100 years, at worst in {:.2}",
            row.layout,
            row.usable.information().get::<terabyte>(),
            row.loss.by_drives.get::<percent>(),
            row.loss.by_drives_at_worst.get::<percent>()
        ),
        None => println!("nothing in eight bays holds it"),
    }
    println!("An array is not a backup.");
    Ok(())
}
