//! Predictions beside rates that were measured in the field.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

use narrows_core::budget::{Flow, Question, answer};
use narrows_core::catalogue::Catalogue;
use narrows_core::quantity::{in_megabytes_per_second, three_digits};
use narrows_core::site::read;
use narrows_core::spread::{Draws, USUAL_DRAWS};
use narrows_core::work::{Activity, Work};
use narrows_tests::{kept, root};
use std::fmt::Write;

struct Row {
    case: String,
    kind: String,
    work: String,
    direction: String,
    measured: f64,
    predicted: (f64, f64, f64),
    limit: String,
}

impl Row {
    fn inside(&self) -> bool {
        // people's figures and ours both have three digits
        self.predicted.0 <= self.measured && self.measured <= self.predicted.2
    }
}

fn rates(flow: &Flow) -> (f64, f64, f64) {
    let r = flow.megabytes_per_s;
    (
        in_megabytes_per_second(r.p05),
        in_megabytes_per_second(r.p50),
        in_megabytes_per_second(r.p95),
    )
}

fn rows() -> Vec<Row> {
    let catalogue = Catalogue::embedded().unwrap();
    let folder = root().join("tests/field");
    let mut reader = csv::Reader::from_path(folder.join("measured.csv")).unwrap();
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.unwrap();
        let (case, work, direction) = (&record[0], &record[3], &record[4]);
        let path = folder.join(format!("sites/{case}.toml"));
        let text = std::fs::read_to_string(&path).unwrap();
        let site = read(&text, &[], &catalogue).unwrap_or_else(|f| panic!("{case}: {f}"));
        let question = Question {
            work: Work::plain(Activity::from_word(work).unwrap()),
            desk: None,
            working: false,
            need: None,
        };
        let found = answer(&site, &question, &catalogue, &mut Draws::new(USUAL_DRAWS)).unwrap();
        let measured: f64 = record[5].parse().unwrap();
        // a source that does not say the direction is held against the nearer one
        let flow = found
            .flows
            .iter()
            .filter(|f| direction == "unknown" || f.direction.word() == direction)
            .min_by(|a, b| {
                let far = |f: &Flow| (rates(f).1 / measured).ln().abs();
                far(a).total_cmp(&far(b))
            })
            .unwrap();
        rows.push(Row {
            case: case.to_owned(),
            kind: record[1].to_owned(),
            work: work.to_owned(),
            direction: direction.to_owned(),
            measured,
            predicted: rates(flow),
            limit: flow.limits[0].hops.join(" with "),
        });
    }
    rows
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

fn table(rows: &[&Row]) -> (String, f64, f64) {
    let mut out = String::from(
        "| case | work | direction | measured MB/s | 5 % | median | 95 % | inside | limited by |\n\
         | --- | --- | --- | ---: | ---: | ---: | ---: | --- | --- |\n",
    );
    for row in rows {
        let (low, middle, high) = row.predicted;
        let _ = writeln!(
            out,
            "| {} | {} | {} | {} | {} | {} | {} | {} | {} |",
            row.case,
            row.work,
            row.direction,
            three_digits(row.measured),
            three_digits(low),
            three_digits(middle),
            three_digits(high),
            if row.inside() { "yes" } else { "no" },
            row.limit
        );
    }
    let inside = rows.iter().filter(|r| r.inside()).count() as f64 / rows.len() as f64;
    let width = median(rows.iter().map(|r| r.predicted.2 / r.predicted.0).collect());
    let _ = writeln!(
        out,
        "\nInside 5 to 95 %: {:.0} % of {}; median width (95 % over 5 %): {width:.2}.",
        inside * 100.0,
        rows.len()
    );
    (out, inside, width)
}

/// The words around the tables are written by hand; the tables by the model.
const BEGIN: &str = "<!-- tables begin -->\n";
const END: &str = "<!-- tables end -->\n";

#[test]
fn measured_rates_stand_beside_predictions_in_the_documents() {
    let rows = rows();
    let of = |kind: &str| rows.iter().filter(|r| r.kind == kind).collect::<Vec<_>>();
    let (field, inside, width) = table(&of("field"));
    let (published, _, _) = table(&of("table"));
    let tables =
        format!("## Field cases\n\n{field}\n## One published table of arrays\n\n{published}");
    let path = root().join("docs/field-cases.md");
    let text = std::fs::read_to_string(&path).unwrap();
    let (head, rest) = text.split_once(BEGIN).unwrap();
    let (_, tail) = rest.split_once(END).unwrap();
    kept(&path, &format!("{head}{BEGIN}{tables}{END}{tail}")).unwrap();
    // a change for the worse must be looked at; the goal is 85 % and is not reached
    assert!(inside >= FIELD_INSIDE, "{inside}");
    assert!(width <= 2.5, "{width}");
}

/// Share of the field cases inside the interval that is kept: see docs/field-cases.md for the
/// goal and what is missing.
const FIELD_INSIDE: f64 = 0.7;
