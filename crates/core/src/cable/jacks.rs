//! A list of jacks from a spreadsheet.

use super::describe::{Describing, length};
use super::heads::{Column, FORM, HeadUnit, heads};
use super::record::{JackRecord, Noted};
use super::run::CableRun;
use super::words::{Kind, Said, Words};
use crate::catalogue::Catalogue;
use crate::copper::{Bundle, Category, Celsius, Conductor, Gauge, LengthBasis, Pairs, Screen};
use crate::nearest::nearest;
use crate::quantity::{Length, LinkRate, metres, parse};
use crate::sheet::{decoded, pointed, whole, written};
use crate::site::{Fault, FaultSource, Faults};
use crate::spread::Spread;
use std::ops::Range;

/// Runs out of a list of jacks.
#[derive(Clone, Debug, PartialEq)]
pub struct JackList {
    /// One a row.
    pub runs: Vec<CableRun>,
    /// Heads of columns that say nothing of a cable.
    pub unused: Vec<String>,
    /// Where each jack leads, one a row.
    pub records: Vec<JackRecord>,
}

/// Reads a list of jacks, and the text that faults point into.
///
/// The first row names the columns, in any order; only the length of a cable and what it is matter
/// much. A cell that is empty or says `unknown` leaves it open. Numbers may have a decimal comma; a
/// bare number needs its unit in the head (`length m`).
///
/// # Errors
/// With every cell that cannot be read.
pub fn jacks(bytes: &[u8], catalogue: &Catalogue) -> (String, Result<JackList, Faults>) {
    let (text, list, faults) = as_far_as_it_goes(bytes, catalogue);
    let found = if faults.is_empty() {
        Ok(list)
    } else {
        Err(Faults::ordered(faults))
    };
    (text, found)
}

/// What a list of jacks says of the cable of each desk, in words; and the text that faults point into.
///
/// # Errors
/// As [`jacks`].
pub fn of_desks(
    bytes: &[u8],
    catalogue: &Catalogue,
) -> (String, Result<Vec<crate::said::interview::Jack>, Faults>) {
    let (text, list) = jacks(bytes, catalogue);
    let found = list.map(|list| {
        let jack = |record: &JackRecord| {
            let run = list.runs.get(record.run?)?;
            Some(crate::said::interview::Jack {
                desk: record.desk.as_ref()?.text.clone(),
                cable: run.in_short(),
            })
        };
        list.records.iter().filter_map(jack).collect()
    });
    (text, found)
}

/// As [`jacks`], with what can be read beside the faults, for whoever looks for more of them.
pub(crate) fn as_far_as_it_goes(
    bytes: &[u8],
    catalogue: &Catalogue,
) -> (String, JackList, Vec<Fault>) {
    let text = decoded(bytes);
    let mut words = Words::new(&text, FaultSource::File);
    let list = list(&text, catalogue, &mut words);
    let faults = words.faults;
    (text, list, faults)
}

fn list(text: &str, catalogue: &Catalogue, words: &mut Words<'_>) -> JackList {
    let mut list = JackList {
        runs: Vec::new(),
        unused: Vec::new(),
        records: Vec::new(),
    };
    let rows = match FORM.open(text) {
        Ok(rows) => rows,
        Err(faults) => {
            words.faults.extend(faults.iter().cloned());
            return list;
        }
    };
    let (head, body) = &rows;
    let (columns, unused) = heads(head, words);
    list.unused = unused;
    if let Some(fault) = FORM.length(&rows)
        && (words.faults.is_empty() || !body.is_empty())
    {
        words.faults.push(fault);
        return list;
    }
    for (number, row) in body.iter().enumerate() {
        let mut said = Said::default();
        let mut label = format!("row {}", number + 2);
        let mut negotiated = None;
        let mut record = JackRecord::default();
        for (cell, column) in row.iter().zip(&columns) {
            let Some((column, unit)) = column else {
                continue;
            };
            let unit = unit.unwrap_or(HeadUnit::None);
            let Some(span) = written(cell) else { continue };
            let plain = || cell.text.split_whitespace().collect::<Vec<_>>().join(" ");
            let noted = || Some(Noted::new(&plain(), span.clone()));
            match column {
                Column::Jack => {
                    label = plain();
                    record.jack = noted();
                }
                Column::Panel => record.panel = noted(),
                Column::Room => record.room = noted(),
                Column::Desk => record.desk = noted(),
                Column::Switch => record.switch = noted(),
                Column::Traced => record.traced = noted(),
                Column::Negotiated => negotiated = rate(&span, words),
                _ => value(*column, unit, span, &mut said, words),
            }
        }
        let describing = Describing {
            catalogue,
            label: &label,
            prefix: &format!("{label}."),
            whole: whole(row),
        };
        record.label.clone_from(&label);
        if let Some(mut run) = describing.run(&said, words) {
            run.negotiated = negotiated;
            record.run = Some(list.runs.len());
            list.runs.push(run);
        }
        list.records.push(record);
    }
    list
}

fn rate(span: &Range<usize>, words: &mut Words<'_>) -> Option<LinkRate> {
    match parse::<LinkRate>(&pointed(words.at(span))) {
        Ok(rate) => Some(rate),
        Err(fault) => {
            words.unit(span, "no rate of a link", fault);
            None
        }
    }
}

fn distance(span: &Range<usize>, unit: HeadUnit, words: &mut Words<'_>) -> Option<Spread<Length>> {
    let text = pointed(words.at(span));
    if let (HeadUnit::Metres(factor), Ok(number)) = (unit, text.parse::<f64>())
        && number.is_finite()
        && number > 0.0
    {
        return Some(Spread::exact(metres(number * factor)));
    }
    let with_unit = match unit {
        HeadUnit::Metres(factor) if text.ends_with(|c: char| c.is_ascii_digit()) => {
            let unit = if factor < 1.0 { "ft" } else { "m" };
            format!("{text} {unit}")
        }
        _ => text,
    };
    match length(&with_unit) {
        Ok(length) => Some(length),
        Err(fault) => {
            words.unit(span, "no length", fault);
            None
        }
    }
}

/// One of several words, or a fault that lists them.
fn word<T: Copy>(span: &Range<usize>, list: &[(&str, T)], words: &mut Words<'_>) -> Option<T> {
    let text = words.at(span).to_lowercase();
    let found = list
        .iter()
        .find(|(word, _)| *word == text)
        .map(|(_, value)| *value);
    if found.is_none() {
        let near = nearest(&text, list.iter().map(|(word, _)| *word))
            .map(|near| format!("; did you mean '{near}'?"))
            .unwrap_or_default();
        let all: Vec<&str> = list.iter().map(|(word, _)| *word).collect();
        words.fault(
            span.clone(),
            "a word that is not known here",
            format!("'{text}' is not one of them{near}"),
            format!("write one of {}, or leave the cell empty", all.join(", ")),
        );
    }
    found
}

fn of_words<T: Copy>(all: &[T], word: fn(T) -> &'static str) -> Vec<(&'static str, T)> {
    all.iter().map(|value| (word(*value), *value)).collect()
}

fn count(span: &Range<usize>, words: &mut Words<'_>) -> Option<u32> {
    let found = words.at(span).parse::<u32>().ok();
    if found.is_none() {
        let text = format!("'{}' is no whole number", words.at(span));
        words.fault(
            span.clone(),
            "no count",
            text,
            "write a count, for example 6",
        );
    }
    found
}

/// A category however it is spelt: `Cat 5e`, `CAT-6A`, `category 6`.
fn spelt(text: &str) -> Option<Category> {
    let bare: String = text
        .chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect();
    let begins = ["category", "cat", "kat"];
    let number = begins.iter().find_map(|begin| bare.strip_prefix(begin))?;
    let word = format!("cat{number}");
    Category::ALL.iter().copied().find(|c| c.word() == word)
}

#[allow(clippy::too_many_lines)] // one arm a column
fn value(
    column: Column,
    unit: HeadUnit,
    span: Range<usize>,
    said: &mut Said,
    words: &mut Words<'_>,
) {
    let exact = |found: Option<Spread<Length>>| found.map(|length| length.median());
    match column {
        Column::Jack
        | Column::Negotiated
        | Column::Panel
        | Column::Room
        | Column::Desk
        | Column::Switch
        | Column::Traced => {}
        Column::Cable => {
            if let Some(category) = spelt(words.at(&span)) {
                words.keep(&mut said.kind, Kind::Pair(category), span, "the cable");
                return;
            }
            let before = words.faults.len();
            words.take(span.clone(), said);
            if said.kind.is_none() && words.faults.len() == before {
                let found = "this names no cable";
                words.fault(span, "no cable", found, "write cat5e, cat6, om3 or so");
            }
        }
        Column::Length => {
            if let Some(length) = distance(&span, unit, words) {
                words.keep(&mut said.length, length, span, "the length");
            }
        }
        Column::Known => {
            let list = of_words(LengthBasis::ALL, LengthBasis::word);
            said.basis = word(&span, &list, words).map(|basis| (basis, span));
        }
        Column::Bundle => {
            let list = of_words(Bundle::ALL, Bundle::word);
            said.bundle = word(&span, &list, words).map(|bundle| (bundle, span));
        }
        Column::Neighbours => {
            let text = words.at(&span);
            let (number, at) = text
                .split_once(" at ")
                .map_or((text, None), |(number, rate)| {
                    (number.trim_end(), Some(span.end - rate.len()..span.end))
                });
            let number = span.start..span.start + number.len();
            let found = count(&number, words);
            let told = match &at {
                Some(at) => rate(at, words),
                None => None,
            };
            if let Some(count) = found
                && (at.is_none() || told.is_some())
            {
                said.neighbours.push((count, told, span));
            }
        }
        Column::NeighbourRate => {
            if let Some(found) = rate(&span, words) {
                // stands behind or before the count
                said.neighbour_rate = Some((found, span));
            }
        }
        Column::Connections => {
            said.connections = count(&span, words).map(|count| (count, span));
        }
        Column::Cords => {
            if let Some(length) = exact(distance(&span, unit, words)) {
                said.cords = Some((length, span));
            }
        }
        Column::Module => {
            if let Some(length) = exact(distance(&span, unit, words)) {
                said.module = Some((length, span));
            }
        }
        Column::Temperature => temperature(unit, span, said, words),
        Column::Screen => {
            let mut list = of_words(Screen::ALL, Screen::word);
            list.extend([
                ("none", Screen::Plain),
                ("yes", Screen::Unchecked),
                ("no", Screen::Plain),
            ]);
            said.screen = word(&span, &list, words).map(|screen| (screen, span));
        }
        Column::Certified => {
            let list = [("yes", true), ("no", false)];
            said.certified = word(&span, &list, words).map(|yes| (yes, span));
        }
        Column::Pairs => {
            let list = [
                ("2", Pairs::Two),
                ("4", Pairs::Four),
                ("two", Pairs::Two),
                ("four", Pairs::Four),
            ];
            said.pairs = word(&span, &list, words).map(|pairs| (pairs, span));
        }
        Column::Conductor => {
            let mut list = of_words(Conductor::ALL, Conductor::word);
            list.push(("copper-clad", Conductor::CladAluminium));
            said.conductor = word(&span, &list, words).map(|metal| (metal, span));
        }
        Column::Gauge => {
            let list = of_words(Gauge::ALL, Gauge::word);
            said.gauge = word(&span, &list, words).map(|gauge| (gauge, span));
        }
        Column::Ports => said.ports = rate(&span, words).map(|rate| (rate, span)),
        Column::Power => {
            let text = words.at(&span).to_lowercase();
            if text == "no" || text == "none" || text == "0" {
                return;
            }
            match text.parse::<u8>() {
                Ok(class) if (1..=8).contains(&class) => said.class = Some((class, span)),
                _ => words.take(span, said),
            }
        }
    }
}

fn temperature(unit: HeadUnit, span: Range<usize>, said: &mut Said, words: &mut Words<'_>) {
    let text = pointed(words.at(&span));
    match text.parse::<f64>() {
        Ok(number) if unit == HeadUnit::Celsius && number.is_finite() => {
            said.temperature = Some((Celsius(number), span));
        }
        Ok(_) => {
            let help = "write the unit: '30 C', or name the column 'temperature C'";
            words.fault(
                span,
                "no temperature",
                format!("'{text}' has no unit"),
                help,
            );
        }
        Err(_) => words.take(span, said),
    }
}
