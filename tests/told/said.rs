//! What people noticed, heard as the program hears it.

use super::{hops, is_told, number, text, texts};
use narrows_core::explain::{Amount, Listener, Statement};
use serde_json::Value;

/// What was noticed and counted, without the rates, which are readings of the case already.
fn heard(listener: &Listener, said: &str) -> Vec<Statement> {
    let understood = listener
        .understand(said)
        .map_or_else(|_| Vec::new(), |found| found.statements);
    let counted = |statement: &Statement| match statement {
        Statement::Remark(_) => true,
        Statement::Reading(reading) => !matches!(reading.amount, Amount::Rate(_) | Amount::Other),
    };
    understood.into_iter().filter(counted).collect()
}

/// Everything that was noticed: notes as they stand, the size of requests and figures for comparison as a sentence with its number.
pub(super) fn statements(case: &Value, listener: &Listener) -> Vec<Statement> {
    let mut notes: Vec<String> = texts(case, "symptoms").map(str::to_owned).collect();
    for part in ["service", "array", "desk", "workload", "host"] {
        notes.push(text(case, &[part, "note"]).to_owned());
        notes.push(text(case, &[part, "drive_note"]).to_owned());
    }
    notes.extend(hops(case).map(|h| text(h, &["note"]).to_owned()));
    let list = |key: &str| {
        case.get(key)
            .and_then(Value::as_array)
            .into_iter()
            .flatten()
    };
    let told = list("measured").filter(|m| is_told(m));
    notes.extend(told.map(|m| text(m, &["note"]).to_owned()));
    if let Some(block) = number(case, &["workload", "block_kib"]) {
        let depth = number(case, &["workload", "queue_depth"]);
        notes.push(format!("a test that asks for {block} KiB at a time"));
        if depth == Some(1.0) && block <= 128.0 {
            notes.push("one request at a time".to_owned());
        }
    }
    notes.extend(list("comparisons").map(compared));
    let said = notes.iter().filter(|note| !note.is_empty());
    said.flat_map(|note| heard(listener, note)).collect()
}

/// A figure for comparison, as a sentence.
fn compared(other: &Value) -> String {
    let context = text(other, &["context"]);
    match number(other, &["mb_s"]) {
        Some(rate) => format!("{context} gets {rate} MB/s"),
        None => context.to_owned(),
    }
}
