//! How safe each layout is over a year.

use crate::commands::layouts::tables::{hours, percents};
use crate::render::table::{Side, Table};
use narrows_core::plan::Row;
use narrows_core::quantity::Ratio;
use narrows_core::quantity::units::ratio::percent;

pub(crate) fn table(rows: &[&Row]) -> Table {
    let mut table = Table::new(&[
        ("row", Side::Right),
        ("survives", Side::Right),
        ("rebuild h", Side::Right),
        ("lost %", Side::Right),
        ("at worst %", Side::Right),
        ("a file %", Side::Right),
    ]);
    for (i, row) in rows.iter().enumerate() {
        table.row(vec![
            (i + 1).to_string(),
            row.survives_any.to_string(),
            row.rebuild.map_or("-".to_owned(), |r| hours(r.typical)),
            chance(row.loss.by_drives),
            chance(row.loss.by_drives_at_worst),
            chance(row.loss.file_damaged),
        ]);
    }
    table
}

/// Percent of a year, of which nobody needs what is rarer than once in a hundred thousand.
fn chance(value: Ratio) -> String {
    const RARE: f64 = 0.001;
    if value.get::<percent>() < RARE {
        format!("<{RARE}")
    } else {
        percents(value)
    }
}

pub(crate) fn legend(rows: &[&Row]) -> String {
    let common = rows
        .first()
        .map_or(Ratio::default(), |row| row.loss.by_common_causes);
    format!(
        "rebuild: hours from a failure to full redundancy, a new drive by post unless there is a spare. Chances in a \
         year: lost, the whole array by its drives alone; at worst, with worse drives of one batch and scrubs \
         forgotten; a file, that at least one is damaged or lost. What reaches all drives at once comes on top of \
         every row, {} % a year: power, controller, theft, water, a mistaken command.",
        percents(common)
    )
}
