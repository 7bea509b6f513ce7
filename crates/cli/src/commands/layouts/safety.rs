//! How safe each layout is over a year.

use crate::commands::layouts::text::{hours, percents};
use crate::render::table::{Side, Table};
use narrows_core::plan::Row;
use narrows_core::quantity::Ratio;

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
            percents(row.loss.by_drives),
            percents(row.loss.by_drives_at_worst),
            percents(row.loss.file_damaged),
        ]);
    }
    table
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
