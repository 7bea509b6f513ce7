//! Cases from the field in a neutral form, turned into a site, readings and remarks the same way
//! for every case: by its fields, and by what the program hears in what people wrote.

mod said;
mod site;

use narrows_core::catalogue::Catalogue;
use narrows_core::explain::{
    Amount, Exactness, Listener, Meaning, Observations, RateReading, RateUnit, Reading, Remark,
    Remarks, Statement, What, settle,
};
use narrows_core::quantity::{megabytes, megabytes_per_second};
use narrows_core::site::read;
use narrows_core::work::Direction;
use serde_json::Value;

/// A case without what was only known after the diagnosis.
fn before_diagnosis(case: &Value) -> Value {
    let mut case = case.clone();
    if let Some(chain) = case.get_mut("chain").and_then(Value::as_array_mut) {
        chain.retain(|hop| hop.get("found_later") != Some(&Value::Bool(true)));
        for hop in chain {
            hide(hop);
        }
    }
    for part in ["service", "array", "host", "desk", "workload"] {
        if let Some(part) = case.get_mut(part) {
            hide(part);
        }
    }
    case
}

fn hide(part: &mut Value) {
    let later: Vec<String> = texts(part, "found_later").map(str::to_owned).collect();
    if let Some(map) = part.as_object_mut() {
        for key in later {
            map.remove(&key);
        }
    }
}

fn texts<'a>(value: &'a Value, key: &str) -> impl Iterator<Item = &'a str> {
    value
        .get(key)
        .and_then(Value::as_array)
        .into_iter()
        .flatten()
        .filter_map(Value::as_str)
}

fn text<'a>(value: &'a Value, path: &[&str]) -> &'a str {
    let mut at = value;
    for key in path {
        match at.get(key) {
            Some(next) => at = next,
            None => return "",
        }
    }
    at.as_str().unwrap_or("")
}

fn number(value: &Value, path: &[&str]) -> Option<f64> {
    let mut at = value;
    for key in path {
        at = at.get(key)?;
    }
    at.as_f64()
}

/// Everything told of a case.
///
/// # Errors
/// Where a case makes a site that cannot be read: the fault is in this file or in the case.
pub fn told(case: &Value, catalogue: &Catalogue) -> Result<Observations, String> {
    let case = &before_diagnosis(case);
    let mut told = Observations {
        path_told: number_of_rates(case) > 0,
        array_told: !text(case, &["array", "layout"]).is_empty(),
        many_files_at_the_array: local(case) && text(case, &["workload", "kind"]) == "small-files",
        ..Observations::default()
    };
    for (toml, weight) in site::sites(case) {
        let site = read(&toml, &[], catalogue)
            .map_err(|f| format!("{}: {f}\n{toml}", text(case, &["id"])))?;
        told.sites.push((site, weight));
    }
    told.readings = readings(case);
    let broken = |fault: &dyn std::fmt::Display| format!("{}: {fault}", text(case, &["id"]));
    let listener = Listener::anywhere().map_err(|fault| broken(&fault))?;
    let remarks = Remarks::embedded().map_err(|fault| broken(&fault))?;
    for statement in said::statements(case, &listener) {
        match statement {
            Statement::Reading(reading) => told.readings.push(Reading {
                desk: None,
                ..reading
            }),
            Statement::Remark(remark) => told.remarks.push(Remark {
                desk: None,
                ..remark
            }),
        }
    }
    settle(&mut told, &remarks, catalogue).map_err(|fault| broken(&fault))?;
    Ok(told)
}

fn hops(case: &Value) -> impl Iterator<Item = &Value> {
    case.get("chain")
        .and_then(Value::as_array)
        .into_iter()
        .flatten()
}

fn local(case: &Value) -> bool {
    case.pointer("/desk/is_local") == Some(&Value::Bool(true))
}

fn number_of_rates(case: &Value) -> usize {
    hops(case)
        .filter(|h| number(h, &["rate_mbit_s"]).is_some())
        .count()
}

fn direction(value: &Value) -> Option<Direction> {
    match text(value, &["direction"]) {
        "read" => Some(Direction::Read),
        "write" => Some(Direction::Write),
        _ => None,
    }
}

fn what(case: &Value, word: &str) -> Option<What> {
    Some(match word {
        "copy" if text(case, &["workload", "kind"]) == "small-files" => What::ManyFiles,
        "copy" => What::Copy,
        "raw-tcp" | "raw-udp" => What::RawTcp,
        "local-array" => What::LocalArray,
        "local-disk" => What::LocalDisk,
        _ => return None,
    })
}

/// Writing over what is there is other work than writing, and its figure is not told.
fn is_told(measured: &Value) -> bool {
    !text(measured, &["note"]).contains("rewrite")
}

fn readings(case: &Value) -> Vec<Reading> {
    let doubtful = texts(case, "symptoms").any(|s| s.contains("unit written"));
    let measured = case.get("measured").and_then(Value::as_array);
    measured
        .into_iter()
        .flatten()
        .filter(|m| is_told(m))
        .filter_map(|m| {
            let rate = number(m, &["mb_s"])?;
            let (low, high) = (
                number(m, &["low_mb_s"]).unwrap_or(rate),
                number(m, &["high_mb_s"]).unwrap_or(rate),
            );
            let exactness = match text(m, &["value_type"]) {
                "midpoint" if low < high => Exactness::Range,
                "approximate" | "midpoint" => Exactness::About,
                "lower_bound" => Exactness::AtLeast,
                "upper_bound" => Exactness::AtMost,
                "peak" => Exactness::Peak,
                _ => Exactness::Point,
            };
            let main = text(m, &["what"]) == "copy" || measured.is_some_and(|m| m.len() == 1);
            Some(Reading {
                text: format!(
                    "{} {} {rate} MB/s",
                    text(m, &["what"]),
                    text(m, &["direction"])
                ),
                desk: None,
                what: what(case, text(m, &["what"]))?,
                direction: direction(m),
                amount: Amount::Rate(RateReading {
                    meanings: meanings((low, rate, high), doubtful),
                    exactness,
                }),
                size: number(case, &["workload", "file_mb"])
                    .filter(|_| main)
                    .map(megabytes),
                streams: number(case, &["workload", "streams"]).unwrap_or(1.0) as u32,
                again: false,
                random: None,
            })
        })
        .collect()
}

/// Rates in these cases are decimal megabytes; people's own units may have been binary ones.
fn meanings((low, middle, high): (f64, f64, f64), doubtful: bool) -> Vec<Meaning> {
    let of = |unit, factor: f64, weight, slip| Meaning {
        unit,
        low: megabytes_per_second(low * factor),
        middle: megabytes_per_second(middle * factor),
        high: megabytes_per_second(high * factor),
        weight,
        slip,
    };
    let bits = if doubtful { 0.4 } else { 0.02 };
    vec![
        of(RateUnit::Megabytes, 1.0, 0.85 * (1.0 - bits), false),
        of(RateUnit::Mebibytes, 1.048_576, 0.15 * (1.0 - bits), false),
        of(RateUnit::Megabits, 0.125, bits / 2.0, true),
        of(RateUnit::Megabits, 8.0, bits / 2.0, true),
    ]
}
