//! A tree written out as a site file, with the comments of the file that it came from.

use crate::site::fault::{FaultSource, Place};
use crate::site::schema::{Form, Section};
use crate::site::syntax::line;
use crate::site::tree::{Entry, Node, Table, Value};
use std::fmt::Write;

/// The long form of a site file; `text` is the file that the tree came from.
pub(in crate::site) fn long_form(root: &Table, text: &str) -> String {
    let mut writer = Writer {
        text,
        out: String::new(),
        kept: Vec::new(),
    };
    let mut parts: Vec<(usize, Section, String, &Node, &Place)> = Vec::new();
    let mut top = Vec::new();
    for entry in &root.entries {
        let form = Section::Site.field(&entry.key).map(|f| f.form);
        match (form, &entry.node.value) {
            (Some(Form::One(section)), Value::Table(_)) => {
                parts.push((
                    start(&entry.place),
                    section,
                    format!("[{}]", entry.key),
                    &entry.node,
                    &entry.place,
                ));
            }
            (Some(Form::Named(section)), Value::Table(named)) => {
                for part in &named.entries {
                    let head = format!("[{}.{}]", entry.key, key(&part.key));
                    parts.push((start(&part.place), section, head, &part.node, &part.place));
                }
            }
            (Some(Form::Numbered(section)), Value::List(items)) => {
                for (_, node) in items {
                    let head = format!("[[{}]]", entry.key);
                    parts.push((start(&node.place), section, head, node, &node.place));
                }
            }
            _ => top.push(entry),
        }
    }
    // in the order of the file; what came from elsewhere behind it
    parts.sort_by_key(|(at, ..)| *at);
    writer.fields(&top);
    for (_, _, head, node, place) in parts {
        if !writer.out.is_empty() {
            writer.out.push('\n');
        }
        writer.comments_above(place);
        writer.out.push_str(&head);
        writer.comment_behind(place);
        writer.out.push('\n');
        if let Value::Table(table) = &node.value {
            let entries: Vec<&Entry> = table.entries.iter().collect();
            writer.fields(&entries);
        }
    }
    writer.comments_at_the_end();
    writer.out
}

fn start(place: &Place) -> usize {
    match place.source {
        FaultSource::File => place.span.start,
        _ => usize::MAX,
    }
}

struct Writer<'t> {
    text: &'t str,
    out: String,
    /// Starts of the lines whose comments have been written.
    kept: Vec<usize>,
}

impl Writer<'_> {
    fn fields(&mut self, entries: &[&Entry]) {
        let mut lines: Vec<(String, String, &Place)> = Vec::new();
        for entry in entries {
            match &entry.node.value {
                // ports have a line each
                Value::Table(named) if entry.key == "port" => {
                    for port in &named.entries {
                        lines.push((
                            format!("port.{}", key(&port.key)),
                            value(&port.node),
                            &port.place,
                        ));
                    }
                }
                _ => lines.push((key(&entry.key), value(&entry.node), &entry.place)),
            }
        }
        let width = lines
            .iter()
            .map(|(k, ..)| k.chars().count())
            .max()
            .unwrap_or(0);
        for (key, value, place) in lines {
            self.comments_above(place);
            let pad = " ".repeat(width.saturating_sub(key.chars().count()));
            let _ = write!(self.out, "{key}{pad} = {value}");
            self.comment_behind(place);
            self.out.push('\n');
        }
    }

    /// The comments on the lines right above a place.
    fn comments_above(&mut self, place: &Place) {
        if place.source != FaultSource::File {
            return;
        }
        let mut found = Vec::new();
        let mut at = line(self.text, place.span.start).start;
        while at > 0 {
            let row = line(self.text, at - 1);
            let written = self.text.get(row.clone()).unwrap_or_default().trim();
            if !written.starts_with('#') || self.kept.contains(&row.start) {
                break;
            }
            found.push((row.start, written.to_owned()));
            at = row.start;
        }
        for (at, comment) in found.into_iter().rev() {
            self.kept.push(at);
            self.out.push_str(&comment);
            self.out.push('\n');
        }
    }

    /// The comment on the line of a place.
    fn comment_behind(&mut self, place: &Place) {
        if place.source != FaultSource::File {
            return;
        }
        let row = line(self.text, place.span.start);
        let written = self.text.get(row.clone()).unwrap_or_default();
        let comment = outside_quotes(written);
        if let Some(at) = comment
            && !self.kept.contains(&row.start)
        {
            self.kept.push(row.start);
            let _ = write!(
                self.out,
                "  {}",
                written.get(at..).unwrap_or_default().trim_end()
            );
        }
    }

    /// Comments behind the last part, or that stood alone.
    fn comments_at_the_end(&mut self) {
        let mut at = 0;
        let mut rest = Vec::new();
        for written in self.text.split_inclusive('\n') {
            if written.trim_start().starts_with('#') && !self.kept.contains(&at) {
                rest.push(written.trim().to_owned());
            }
            at += written.len();
        }
        if !rest.is_empty() {
            let _ = write!(self.out, "\n{}\n", rest.join("\n"));
        }
    }
}

/// Where a comment begins in a line.
fn outside_quotes(written: &str) -> Option<usize> {
    let mut quote = None;
    for (at, c) in written.char_indices() {
        match quote {
            Some(q) if c == q => quote = None,
            None if c == '"' || c == '\'' => quote = Some(c),
            None if c == '#' => return Some(at),
            _ => {}
        }
    }
    None
}

fn key(name: &str) -> String {
    let plain = !name.is_empty()
        && name
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_');
    if plain { name.to_owned() } else { quoted(name) }
}

fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => {
                out.push('\\');
                out.push(c);
            }
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

fn value(node: &Node) -> String {
    match &node.value {
        Value::Text { text, .. } => quoted(text.trim()),
        Value::Whole(number) | Value::Decimal(number) => number.clone(),
        Value::Truth(truth) => truth.to_string(),
        Value::List(items) => {
            let items: Vec<String> = items.iter().map(|(_, n)| value(n)).collect();
            format!("[{}]", items.join(", "))
        }
        Value::Table(table) => {
            let fields: Vec<String> = table
                .entries
                .iter()
                .map(|e| format!("{} = {}", key(&e.key), value(&e.node)))
                .collect();
            format!("{{ {} }}", fields.join(", "))
        }
        // the reader has refused these
        Value::Date | Value::Lost => quoted(""),
    }
}
