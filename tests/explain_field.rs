//! Explanations beside diagnoses that people reached in the field.
//!
//! `NARROWS_CASES=FILE` takes other cases of the same form, prints their table and holds nothing.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

use narrows_core::catalogue::Catalogue;
use narrows_core::explain::{Explanation, explain};
use narrows_tests::{kept, root, told::told};
use serde_json::Value;
use std::collections::BTreeMap;
use std::fmt::Write;

/// Share of cases whose cause can be told from what was said that are to be named first, and
/// among the first three; share of verdicts that are to be right; share of plain measurements in which
/// a fault may be named first.
const FIRST: f64 = 0.70;
const AMONG_THREE: f64 = 0.90;
// what holds today, heard as people are heard; the goal is 80 %, and docs/field-explanations.md says that it is missed
const VERDICTS: f64 = 0.73;
const FALSE_ALARMS: f64 = 0.10;

fn text<'a>(v: &'a Value, path: &str) -> &'a str {
    v.pointer(path).and_then(Value::as_str).unwrap_or("")
}

fn list(v: &Value, path: &str) -> Vec<String> {
    v.pointer(path)
        .and_then(Value::as_array)
        .into_iter()
        .flatten()
        .filter_map(Value::as_str)
        .map(str::to_owned)
        .collect()
}

#[allow(clippy::struct_excessive_bools)] // one answer a column of the table
/// One case and how it was explained.
struct Row {
    id: String,
    family: String,
    wanted: String,
    said: String,
    ranked: Vec<(String, f64)>,
    explained: bool,
    /// The cause is in what was said, and is not in doubt.
    counts: bool,
    first: bool,
    three: bool,
    violation: bool,
    alarm: bool,
    narrowest: bool,
}

fn row(case: &Value, catalogue: &Catalogue) -> Row {
    // what cannot be said or explained is a miss
    let found: Option<Explanation> = told(case, catalogue)
        .ok()
        .and_then(|told| explain(&told, catalogue).ok());
    let family = text(case, "/truth/family").to_owned();
    let mut right = list(case, "/truth/alt_families");
    right.push(family.clone());
    // what is at the limit of a link or of drives is as it should be
    let fits = |f: &str| {
        right
            .iter()
            .any(|r| r == f || (r == "normal" && matches!(f, "wire-limit" | "array-media")))
    };
    let families = found.as_ref().map(|f| f.families.as_slice());
    let ranked: Vec<(String, f64)> = families
        .unwrap_or_default()
        .iter()
        .map(|f| (f.family.clone(), f.probability))
        .collect();
    let ruled = list(case, "/truth/ruled_out");
    let first_is = |families: &[String]| ranked.first().is_some_and(|(f, _)| families.contains(f));
    // always blaming the narrowest stage: what limits where nothing is at fault
    let narrowest = found.as_ref().and_then(|f| f.narrowest.as_deref());
    let narrowest = narrowest.is_some_and(&fits);
    let alarm = found.as_ref().is_none_or(|found| {
        let first = found.causes.first();
        first.is_none_or(|c| !c.id.starts_with("limit-") || c.probability < found.none_of_these)
    });
    Row {
        id: text(case, "/id").to_lowercase(),
        wanted: text(case, "/truth/expected_verdict").to_owned(),
        said: found
            .as_ref()
            .map_or("cannot be built", |f| f.verdict.word())
            .to_owned(),
        explained: list(case, "/use").iter().any(|u| u == "E"),
        counts: matches!(text(case, "/truth/cause_visible"), "input" | "measured")
            && matches!(text(case, "/truth/status"), "confirmed" | "likely"),
        first: ranked.first().is_some_and(|(f, _)| fits(f)),
        three: ranked.iter().take(3).any(|(f, _)| fits(f)),
        violation: first_is(&ruled),
        alarm,
        narrowest,
        family,
        ranked,
    }
}

fn share(n: usize, of: usize) -> f64 {
    n as f64 / of.max(1) as f64
}

#[derive(Default)]
struct Sums {
    rows: usize,
    verdicts: usize,
    counted: usize,
    first: usize,
    three: usize,
    narrowest: usize,
    violations: usize,
}

impl Sums {
    fn add(&mut self, row: &Row) {
        self.rows += 1;
        self.verdicts += usize::from(row.said == row.wanted);
        self.violations += usize::from(row.violation);
        if row.counts {
            self.counted += 1;
            self.first += usize::from(row.first);
            self.three += usize::from(row.three);
            self.narrowest += usize::from(row.narrowest);
        }
    }

    fn line(&self, name: &str) -> String {
        format!(
            "| {name} | {} | {} | {} | {} | {} | {} | {} |\n",
            self.rows,
            self.verdicts,
            self.counted,
            self.first,
            self.three,
            self.narrowest,
            self.violations
        )
    }
}

const HEAD: &str = "| family | cases | verdict right | can be told | named first | among three | \
                    narrowest stage | named though ruled out |\n\
                    | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |\n";

/// Both tables, with the sums of all explained cases and the share of false alarms.
fn tables(rows: &[Row]) -> (String, Sums, f64) {
    let mut families: BTreeMap<&str, Sums> = BTreeMap::new();
    let mut all = Sums::default();
    for row in rows.iter().filter(|r| r.explained) {
        families.entry(&row.family).or_default().add(row);
        all.add(row);
    }
    let mut out = String::from(HEAD);
    for (family, sums) in &families {
        out.push_str(&sums.line(family));
    }
    out.push_str(&all.line("all"));
    let plain: Vec<&Row> = rows.iter().filter(|r| !r.explained).collect();
    let alarms = plain.iter().filter(|r| r.alarm).count();
    let _ = write!(
        out,
        "\nPlain measurements: a fault is named first in {alarms} of {}.\n\n\
         | case | diagnosis | verdict wanted | verdict | named, with percent |\n\
         | --- | --- | --- | --- | --- |\n",
        plain.len()
    );
    for row in rows {
        let named: Vec<String> = row
            .ranked
            .iter()
            .take(3)
            .map(|(f, p)| format!("{f} {:.0}", p * 100.0))
            .collect();
        let mark = if row.counts { "" } else { " (cannot be told)" };
        let diagnosis = if row.explained {
            format!("{}{mark}", row.family)
        } else {
            "plain".to_owned()
        };
        let _ = writeln!(
            out,
            "| {} | {diagnosis} | {} | {} | {} |",
            row.id,
            row.wanted,
            row.said,
            named.join(", ")
        );
    }
    (out, all, share(alarms, plain.len()))
}

fn rows_of(path: &std::path::Path) -> Vec<Row> {
    let catalogue = Catalogue::embedded().unwrap();
    let cases: Vec<Value> = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    cases.iter().map(|case| row(case, &catalogue)).collect()
}

const BEGIN: &str = "<!-- table begin -->\n";

/// What stands above the table of cases that nobody looked at while weights were set.
const FURTHER: &str = "## Cases that came later\n\nThe same form and the same rules (`tests/field/told-more.json`). No weight was set by them, but \
                       their notes had been read when figures of\nother things and a number beyond every way got their rules; before \
                       that 23 of 41 were named first, 32 among three, and 37 of 48 verdicts were\nright. About a third are far \
                       links or tunnels, which a site of one building says badly. A case that cannot be built counts as missed.\n\n";

#[test]
fn validate_diagnoses_from_the_field() {
    if let Some(path) = std::env::var_os("NARROWS_CASES") {
        let (table, ..) = tables(&rows_of(std::path::Path::new(&path)));
        #[allow(clippy::print_stdout)] // it is what was asked for
        {
            println!("{table}");
        }
        return;
    }
    let rows = rows_of(&root().join("tests/field/told.json"));
    let (table, sums, alarms) = tables(&rows);
    let path = root().join("docs/field-explanations.md");
    let text = std::fs::read_to_string(&path).unwrap();
    let (before, _) = text.split_once(BEGIN).unwrap();
    let (further, ..) = tables(&rows_of(&root().join("tests/field/told-more.json")));
    kept(
        &path,
        &format!("{before}{BEGIN}{table}\n{FURTHER}{further}"),
    )
    .unwrap();
    assert_eq!(
        sums.violations, 0,
        "a family is named first that cannot be it"
    );
    assert!(
        share(sums.first, sums.counted) >= FIRST,
        "{} of {}",
        sums.first,
        sums.counted
    );
    assert!(
        share(sums.three, sums.counted) >= AMONG_THREE,
        "{} of {}",
        sums.three,
        sums.counted
    );
    assert!(
        share(sums.verdicts, sums.rows) >= VERDICTS,
        "{} of {}",
        sums.verdicts,
        sums.rows
    );
    assert!(alarms <= FALSE_ALARMS, "{alarms}");
    // a reasoner that only blames the narrowest stage must be beaten, or all this is for nothing
    assert!(
        sums.first > sums.narrowest,
        "{} and {}",
        sums.first,
        sums.narrowest
    );
}
