use super::commands::Command;
use super::table::{Head, table};
use super::{Report, Said, Section, fills, said};
use crate::number::Number;
use crate::pictures::{front, letter, numbers};
use crate::text::named;
use maud::{Markup, html};
use narrows_core::array::Bytes;
use narrows_core::plan::{Answer as Layouts, Row};
use narrows_core::quantity::{three_digits, units};

/// More layouts are left to the command.
const MOST_ROWS: usize = 14;

/// Terabytes at three digits.
fn terabytes(size: Bytes, at: String) -> Number {
    let size = size.information().get::<units::information::terabyte>();
    Number::new(three_digits(size), at)
}

/// Space, and what else the same bays could hold.
pub(super) fn section(report: &Report<'_>) -> Option<Section> {
    let space = report.space.as_ref()?;
    let heads = [
        Head::Words("drives"),
        Head::Words("layout"),
        Head::Numbers("all drives TB"),
        Head::Numbers("for files TB"),
        Head::Numbers("comfortable TB"),
        Head::Numbers("may fail"),
    ];
    let rows: Vec<Vec<Markup>> = space
        .answer
        .iter()
        .enumerate()
        .map(|(i, counted)| {
            let key = format!("capacity/layouts/{i}");
            vec![
                html! { (named(counted.array.as_deref().unwrap_or(""))) },
                html! { (counted.layout.to_string()) },
                html! { (terabytes(counted.space.raw, format!("{key}/raw_bytes"))) },
                html! { strong { (terabytes(counted.space.usable, format!("{key}/usable_bytes"))) } },
                html! { (terabytes(counted.space.comfortable, format!("{key}/comfortable_bytes"))) },
                html! { "any " (Number::new(counted.layout.survives_any().to_string(), format!("{key}/survives_any"))) },
            ]
        })
        .collect();
    let mut by = vec![Command::capacity(report)];
    for (array, _) in &report.layouts {
        by.push(Command::layouts(report, array));
    }
    let body = html! {
        (said(&space.lines))
        (table("Space, decimal TB", &heads, &rows))
        p.quiet { "Comfortable: as full as it may be without becoming slow. Where a drive's size is not known it is counted small, likely and large." }
        @for (i, (array, layouts)) in report.layouts.iter().enumerate() { (others(report, i, array, layouts)) }
    };
    Some(Section::new("space", "Space and layout", by, body))
}

fn others(report: &Report<'_>, position: usize, array: &str, layouts: &Said<Layouts>) -> Markup {
    let found = report.site.arrays.iter().find(|a| a.name == array);
    let bays = found.map_or(0, |a| a.drives.count + a.spares);
    let now = found
        .and_then(narrows_core::site::Array::layout)
        .map(|layout| layout.to_string());
    let all: Vec<(usize, &Row)> = layouts
        .answer
        .rows
        .iter()
        .enumerate()
        .filter(|(_, row)| !row.beaten || now.as_deref() == Some(row.layout.to_string().as_str()))
        .filter(|(_, row)| fills(row, bays))
        .take(MOST_ROWS)
        .collect();
    let rows: Vec<&Row> = all.iter().map(|(_, row)| *row).collect();
    let heads = [
        Head::Words("point"),
        Head::Words("layout"),
        Head::Numbers("for files TB"),
        Head::Numbers("may fail"),
        Head::Numbers("reads MB/s"),
        Head::Numbers("writes MB/s"),
        Head::Numbers("lost a year %"),
    ];
    let cells: Vec<Vec<Markup>> = all
        .iter()
        .enumerate()
        .map(|(i, (_, row))| {
            let here = now.as_deref() == Some(row.layout.to_string().as_str());
            let key = format!("layouts-{array}/by-name/{}", row.layout);
            let [_, read, _] = numbers(row.rates.read, &format!("{key}/read_megabytes_per_s"));
            let [_, write, _] = numbers(row.rates.write, &format!("{key}/write_megabytes_per_s"));
            let lost = row.loss.array.typical.get::<units::ratio::percent>();
            vec![
                html! { (letter(i)) },
                html! { (row.layout.to_string()) @if here { " (now)" } },
                html! { (terabytes(row.usable, format!("{key}/usable_bytes"))) },
                html! { "any " (Number::new(row.survives_any.to_string(), format!("{key}/survives_any"))) },
                html! { (read) },
                html! { (write) },
                html! { (Number::new(three_digits(lost), format!("{key}/array_lost_a_year/typical"))) },
            ]
        })
        .collect();
    html! {
        h3 { "What else the bays of " (named(array)) " could hold" }
        div.pair {
            div.one { figure { (front(&layouts.answer, &rows, now.as_deref()).inside(&format!("front-{position}"))) } }
            div.one { (said(&layouts.lines))
                p.quiet { "Reads and writes: one stream at the drives, as full as stated, in MB/s; not what a desk gets. \
                    Lost a year: the whole array, to drives and to what reaches all drives at once." } }
        }
        (table("Layouts that fill the bays and that no other beats", &heads, &cells))
    }
}
