use crate::arguments::Facts;
use crate::input::{self, Stop};
use crate::render::document::{Document, printed};
use crate::render::lead::Lead;
use crate::render::table::{Side, Table};
use crate::{Outcome, Screen};
use narrows_core::catalogue::{Catalogue, CatalogueFault, CodecRow};
use narrows_core::explain::{self, Remarks, Units};
use narrows_core::quantity::exact;
use narrows_core::site::schema;
use serde::Serialize;

/// One row of the catalogue, whatever its kind.
#[derive(Serialize)]
struct Row {
    name: String,
    value: String,
    note: String,
    source: String,
}

#[derive(Serialize)]
struct Answer<'a> {
    facts: &'a [Row],
}

/// Lists the catalogue.
pub(crate) fn run(arguments: &Facts, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    work_out(arguments, screen).or_else(Stop::outcome)
}

fn work_out(arguments: &Facts, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    let catalogue = input::catalogue(screen)?;
    let mut rows = rows(&catalogue);
    match explaining() {
        Ok(more) => rows.extend(more),
        Err(fault) => {
            return Err(input::refuse(
                screen,
                &format!("the catalogue is broken: {fault}"),
                "this is a mistake in the program; please report it",
            ));
        }
    }
    if let Some(word) = &arguments.word {
        let word = word.to_lowercase();
        // rates in print are asked for by their codec
        let printed = |r: &Row| word == "codecs" && r.name.starts_with("codec.");
        rows.retain(|r| {
            printed(r)
                || format!("{} {} {}", r.name, r.value, r.note)
                    .to_lowercase()
                    .contains(&word)
        });
        if rows.is_empty() {
            return Err(input::refuse(
                screen,
                &format!("no row has '{word}' in it"),
                "narrows facts lists all of them; narrows facts words lists what a site file may say",
            ));
        }
    }
    let text = printed(
        arguments.format,
        || {
            let answer = Answer { facts: &rows };
            Document::of("facts").answer(answer).text()
        },
        || [table(&rows)],
        || in_words(&rows, screen.width),
    )?;
    write!(screen.out, "{text}")?;
    Ok(Outcome::Fine)
}

fn rows(catalogue: &Catalogue) -> Vec<Row> {
    let mut rows: Vec<Row> = schema::reference(catalogue)
        .into_iter()
        .map(|field| Row {
            name: format!("field {}", field.path),
            value: field.allowed,
            note: field.doc.to_owned(),
            source: field.find_out.to_owned(),
        })
        .collect();
    rows.extend(catalogue.all_words().iter().map(|w| Row {
        name: format!("words {}", w.list),
        value: w.word.clone(),
        note: w.meaning.clone(),
        source: String::new(),
    }));
    rows.extend(catalogue.numbers().map(|n| {
        let value = if n.low < n.high {
            format!("{}..{}..{} {}", n.low, n.likely, n.high, n.unit)
        } else {
            format!("{} {}", n.likely, n.unit)
        };
        Row {
            name: n.id.clone(),
            value: value.trim().to_owned(),
            note: n.note.clone(),
            source: n.source.clone(),
        }
    }));
    rows.extend(catalogue.codecs().iter().map(|c| Row {
        name: format!("codecs {}", c.names.first().unwrap_or(&c.codec)),
        value: codec_value(c),
        note: codec_note(c),
        source: c.source.clone(),
    }));
    rows.extend(catalogue.weights().iter().map(|w| Row {
        name: format!("choice {}", w.id),
        value: format!("{} {} %", w.word, w.percent),
        note: "when nobody has said".to_owned(),
        source: w.source.clone(),
    }));
    rows.extend(catalogue.ports().iter().map(|p| {
        let knows: Vec<String> = p.knows.iter().map(|r| exact(*r)).collect();
        Row {
            name: format!("port {} {}", p.rate, p.socket),
            value: knows.join(", "),
            note: "rates that a port knows".to_owned(),
            source: p.source.clone(),
        }
    }));
    rows
}

/// The number of a codec's rule, as a range where it is one.
fn codec_value(codec: &CodecRow) -> String {
    let [low, likely, high] = codec.number;
    let number = if low < high {
        format!("{low}..{likely}..{high}")
    } else {
        likely.to_string()
    };
    match codec.rule.as_str() {
        "printed" => "published rates only".to_owned(),
        "bits-per-pixel" => format!("{number} bits a pixel"),
        "steps-of-4096" => format!("class {number}"),
        "uhd-frame" => format!("{number} bytes a frame"),
        "exr-half" => format!("by frame, header of {number} bytes"),
        _ => "by frame".to_owned(),
    }
}

fn codec_note(codec: &CodecRow) -> String {
    let others = codec.names.get(1..).unwrap_or_default();
    let also = if others.is_empty() {
        String::new()
    } else {
        format!("; also called {}", others.join(", "))
    };
    format!("{}; {}{also}", codec.note, codec.steadiness)
}

/// What `explain` knows: causes, tests, remarks and the meanings of units.
fn explaining() -> Result<Vec<Row>, CatalogueFault> {
    let mut rows: Vec<Row> = explain::causes()?
        .into_iter()
        .map(|cause| Row {
            name: format!("causes {} ({})", cause.id, cause.family),
            value: cause.words.replace("{place}", "something"),
            note: cause.remedy,
            source: cause.source,
        })
        .collect();
    rows.extend(explain::tests()?.into_iter().map(|test| Row {
        name: format!("tests {}", test.id),
        value: format!("{}; about {} min", test.words, test.minutes),
        note: test.caution,
        source: test.source,
    }));
    rows.extend(Remarks::embedded()?.rows().iter().map(|remark| Row {
        name: format!("remarks {}", remark.id),
        value: remark.example.clone(),
        note: remark.meaning.clone(),
        source: remark.source.clone(),
    }));
    rows.extend(Units::embedded()?.rows().iter().map(|unit| Row {
        name: format!("units {} {}", unit.context, unit.written),
        value: format!("{} {} %", unit.meaning, unit.percent),
        note: "what is meant where this is written".to_owned(),
        source: unit.source.clone(),
    }));
    Ok(rows)
}

fn table(rows: &[Row]) -> Table {
    let mut table = Table::new(&[
        ("name", Side::Left),
        ("value", Side::Left),
        ("note", Side::Left),
        ("source", Side::Left),
    ]);
    for row in rows {
        table.row(vec![
            row.name.clone(),
            row.value.clone(),
            row.note.clone(),
            row.source.clone(),
        ]);
    }
    table
}

fn in_words(rows: &[Row], width: usize) -> String {
    let lead = Lead {
        what: format!(
            "{}.",
            crate::render::prose::counted(rows.len(), "row", "rows")
        ),
        why: Some(
            "each says where it comes from; low..likely..high: 1 in 20 is below the first, 1 in 20 \
             above the last."
                .to_owned(),
        ),
        next: Some(
            "a value that your own data sheet has goes into the site file; the fields are listed by \
             narrows facts field."
                .to_owned(),
        ),
    };
    let mut out = lead.text(width);
    out.push('\n');
    for row in rows {
        let first = format!("{}: {}", row.name, row.value);
        out.push_str(&crate::render::prose::paragraph(&first, width, 4));
        out.push('\n');
        let more = match (row.note.as_str(), row.source.as_str()) {
            (note, "") => note.to_owned(),
            ("", source) => source.to_owned(),
            (note, source) => format!("{}. {source}", note.trim_end_matches('.')),
        };
        out.push_str("    ");
        out.push_str(&crate::render::prose::paragraph(&more, width, 4));
        out.push('\n');
    }
    out
}
