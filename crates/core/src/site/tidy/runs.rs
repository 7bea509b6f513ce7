//! A run in a line: `desk.cut-1 - switch.attic: cat5e 31 m`.

use super::{Pass, entry_at};
use crate::said::cable;
use crate::site::fault::Place;
use crate::site::schema::{Form, Section};
use crate::site::tree::{Node, Table, Value};

/// What stands between the two ends.
const BETWEEN: [&str; 7] = [" - ", " -- ", " -> ", " → ", " – ", " — ", " to "];

impl Pass<'_> {
    /// Writes out runs that stand in a line each, in a list or in one text.
    pub(super) fn runs(&mut self, root: &mut Table) {
        lift(root);
        let Some(entry) = root.entries.iter_mut().find(|e| e.key == "run") else {
            return;
        };
        debug_assert!(matches!(
            Section::Site.field("run").map(|f| f.form),
            Some(Form::Numbered(Section::Run))
        ));
        if let Value::Text { text, .. } = &entry.node.value {
            let place = entry.node.place.clone();
            let items = text
                .lines()
                .map(str::trim)
                .filter(|l| !l.is_empty() && !l.starts_with('#'))
                .enumerate()
                .map(|(i, line)| (i + 1, super::text_at(line, &place)))
                .collect();
            entry.node.value = Value::List(items);
        }
        let Value::List(items) = &mut entry.node.value else {
            return;
        };
        for (number, node) in items {
            let Value::Text { text, .. } = &node.value else {
                continue;
            };
            let said = text.clone();
            if let Some((table, meant)) = self.one_run(&said, &node.place) {
                self.understood(&format!("run.{number}"), &said, &meant);
                *node = Node {
                    place: node.place.clone(),
                    value: Value::Table(table),
                };
            }
        }
    }

    fn one_run(&self, line: &str, place: &Place) -> Option<(Table, String)> {
        let (ends, about) = line.split_once(':').unwrap_or((line, ""));
        let (from, to) = BETWEEN.iter().find_map(|b| ends.split_once(b))?;
        let mut table = Table::default();
        let mut meant = Vec::new();
        let mut put = |key: &str, text: &str| {
            table.entries.push(entry_at(key, text, place));
            meant.push(format!("{key} {text}"));
        };
        put("from", from.trim());
        put("to", to.trim());
        let heard = cable(self.catalogue, about);
        if heard.stray.is_empty() {
            for (key, value) in [
                ("cable", &heard.cable),
                ("length", &heard.length),
                ("bundle", &heard.bundle),
                ("grade", &heard.grade),
            ] {
                if let Some(value) = value {
                    put(key, value);
                }
            }
        } else {
            // the reader says what is wrong with it
            put("cable", about.trim());
        }
        Some((table, meant.join(", ")))
    }
}

/// A list of runs below the header of a machine belongs to that machine as TOML reads it; nobody means that.
fn lift(root: &mut Table) {
    if root.get("run").is_some() {
        return;
    }
    let mut found = None;
    for section in root
        .entries
        .iter_mut()
        .filter(|e| matches!(e.key.as_str(), "nas" | "switch" | "desk" | "array"))
    {
        let Value::Table(parts) = &mut section.node.value else {
            continue;
        };
        for part in &mut parts.entries {
            let Value::Table(table) = &mut part.node.value else {
                continue;
            };
            let at = table.entries.iter().position(|e| {
                matches!(e.key.as_str(), "run" | "runs")
                    && matches!(e.node.value, Value::List(_) | Value::Text { .. })
            });
            if let Some(at) = at {
                let mut entry = table.entries.remove(at);
                "run".clone_into(&mut entry.key);
                found.get_or_insert(entry);
            }
        }
    }
    root.entries.extend(found);
}
