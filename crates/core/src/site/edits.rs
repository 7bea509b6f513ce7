//! Making an edit in the tree of a description.

use super::fault::{Fault, FaultSource, Place};
use super::reader::unknown_key;
use super::schema::{Form, Section};
use super::tree::{Entry, Node, Table, TreeBuilder, Value};
use crate::change::{Edit, Step};
use crate::nearest::nearest;
use toml::de::DeValue;

/// Makes an edit; `index` is its place among all edits.
pub(super) fn apply(root: &mut Table, edit: &Edit, index: usize) -> Result<(), Box<Fault>> {
    let maker = Maker {
        source: FaultSource::Edit(index),
    };
    let value = maker.value(edit)?;
    maker.at(root, Section::Site, edit.steps(), value)
}

/// A fault on its way up.
fn refuse(
    place: Place,
    title: impl Into<String>,
    found: impl Into<String>,
    help: impl Into<String>,
) -> Box<Fault> {
    Box::new(Fault::new(place, title, found, help))
}

struct Maker {
    source: FaultSource,
}

impl Maker {
    fn place(&self, span: std::ops::Range<usize>) -> Place {
        Place {
            source: self.source.clone(),
            span,
        }
    }

    /// The value behind the sign; nothing where the edit removes.
    fn value(&self, edit: &Edit) -> Result<Option<Node>, Box<Fault>> {
        let (span, text) = edit.value();
        if text.is_empty() {
            return Ok(None);
        }
        let parsed = DeValue::parse(text);
        let plain = !text.starts_with(['"', '\'', '{', '[']);
        let bare = || Node {
            place: self.place(span.clone()),
            value: Value::Text {
                text: text.to_owned(),
                first: Some(span.start),
            },
        };
        match parsed {
            // what happens to read as a date is text that a shell took the quotes from
            Ok(value) if matches!(value.get_ref(), DeValue::Datetime(_)) => Ok(Some(bare())),
            Ok(value) => {
                let builder = TreeBuilder {
                    text: edit.text(),
                    source: self.source.clone(),
                    shift: span.start,
                    broken: &[],
                };
                Ok(Some(builder.node(value.get_ref(), &value.span())))
            }
            Err(_) if plain => Ok(Some(bare())),
            Err(error) => {
                let at = error.span().unwrap_or(0..0);
                let at = super::syntax::on_letters(text, at);
                Err(refuse(
                    self.place(span.start + at.start..span.start + at.end),
                    "the value of this edit cannot be read",
                    error.message(),
                    "write the value as in a site file, for example \"30 m\" or { rate = \"10 Gb/s\" }",
                ))
            }
        }
    }

    /// Follows the path from a part of a kind.
    fn at(
        &self,
        table: &mut Table,
        section: Section,
        steps: &[Step],
        value: Option<Node>,
    ) -> Result<(), Box<Fault>> {
        let Some((step, rest)) = steps.split_first() else {
            return Ok(());
        };
        let Some(field) = section.field(&step.name) else {
            return Err(Box::new(unknown_key(
                section,
                &step.name,
                self.place(step.span.clone()),
            )));
        };
        if rest.is_empty() {
            return self.put(table, step, value);
        }
        match field.form {
            Form::One(inner) => {
                let table = self.inside(table, step)?;
                self.at(table, inner, rest, value)
            }
            Form::Named(inner) => {
                let table = self.inside(table, step)?;
                self.named(table, inner, rest, value)
            }
            Form::Numbered(inner) => self.numbered(table, inner, step, rest, value),
            _ => Err(refuse(
                self.place(rest.first().map_or(0..0, |s| s.span.clone())),
                format!("'{}' has no fields", step.name),
                "nothing lies below it",
                format!("write {}={}", step.name, field.example),
            )),
        }
    }

    fn named(
        &self,
        table: &mut Table,
        section: Section,
        steps: &[Step],
        value: Option<Node>,
    ) -> Result<(), Box<Fault>> {
        let Some((step, rest)) = steps.split_first() else {
            return Ok(());
        };
        if rest.is_empty() {
            return self.put(table, step, value);
        }
        let Some(position) = table.entries.iter().position(|e| e.key == step.name) else {
            return Err(Box::new(self.no_such_name(table, section, step)));
        };
        match table.entries.get_mut(position).map(|e| &mut e.node.value) {
            Some(Value::Table(inner)) => self.at(inner, section, rest, value),
            // what stands there is reported when it is read
            _ => Ok(()),
        }
    }

    fn no_such_name(&self, table: &Table, section: Section, step: &Step) -> Fault {
        let names: Vec<&str> = table.entries.iter().map(|e| e.key.as_str()).collect();
        let all = if names.is_empty() {
            "there is none".to_owned()
        } else {
            format!("there are {}", names.join(", "))
        };
        let help = format!(
            "{all}; {} that is new is written whole: {}={{ ... }}",
            section.noun(),
            step.name
        );
        let fault = |found: String| {
            Fault::new(
                self.place(step.span.clone()),
                format!("this edit names {} that is not there", section.noun()),
                found,
                help.clone(),
            )
        };
        match nearest(&step.name, names.iter().copied()) {
            Some(near) => {
                fault(format!("unknown; did you mean '{near}'?")).fixed(step.span.clone(), near)
            }
            None => fault("unknown".to_owned()),
        }
    }

    fn numbered(
        &self,
        table: &mut Table,
        section: Section,
        list: &Step,
        steps: &[Step],
        value: Option<Node>,
    ) -> Result<(), Box<Fault>> {
        let Some((step, rest)) = steps.split_first() else {
            return Ok(());
        };
        if table.get(&list.name).is_none() {
            let node = Node {
                place: self.place(list.span.clone()),
                value: Value::List(Vec::new()),
            };
            self.put(table, list, Some(node))?;
        }
        let entry = table.entries.iter_mut().find(|e| e.key == list.name);
        let Some(Value::List(items)) = entry.map(|e| &mut e.node.value) else {
            // what stands there is reported when it is read
            return Ok(());
        };
        let by_machine = (section == Section::Run)
            .then(|| by_machine(items, step, rest))
            .flatten();
        let (number, rest) = match by_machine {
            Some(Ok(found)) => found,
            Some(Err(found)) => {
                return Err(refuse(
                    self.place(step.span.clone()),
                    "this edit does not say which run",
                    found,
                    "write its number, for example run.2",
                ));
            }
            None => (step.name.parse::<usize>().unwrap_or(0), rest),
        };
        let last = items.iter().map(|(n, _)| *n).max().unwrap_or(0);
        let position = items.iter().position(|(n, _)| *n == number);
        match (position, value) {
            (Some(position), None) if rest.is_empty() => {
                items.remove(position);
                Ok(())
            }
            (Some(position), value) => {
                let Some((_, node)) = items.get_mut(position) else {
                    return Ok(());
                };
                match (value, rest.is_empty()) {
                    (Some(value), true) => {
                        *node = value;
                        Ok(())
                    }
                    (value, _) => match &mut node.value {
                        Value::Table(inner) => self.at(inner, section, rest, value),
                        _ => Ok(()),
                    },
                }
            }
            (None, Some(value)) if rest.is_empty() && number == last + 1 => {
                items.push((number, value));
                Ok(())
            }
            (None, _) => {
                let (name, noun) = (&list.name, section.noun());
                let what = noun.trim_start_matches("a ");
                Err(refuse(
                    self.place(step.span.clone()),
                    format!("this edit names {noun} that is not there"),
                    match last {
                        0 => format!("there is no {what}"),
                        1 => format!("there is one {what}, {name}.1"),
                        last => format!("there are {what}s from {name}.1 to {name}.{last}"),
                    },
                    format!(
                        "write one of those; a new one is written whole: {name}.{}={}",
                        last + 1,
                        new_whole(section)
                    ),
                ))
            }
        }
    }

    /// The table under a key, made where it is not there.
    fn inside<'t>(&self, table: &'t mut Table, step: &Step) -> Result<&'t mut Table, Box<Fault>> {
        if table.get(&step.name).is_none() {
            let node = Node {
                place: self.place(step.span.clone()),
                value: Value::Table(Table::default()),
            };
            self.put(table, step, Some(node))?;
        }
        let entry = table.entries.iter_mut().find(|e| e.key == step.name);
        match entry.map(|e| &mut e.node.value) {
            Some(Value::Table(inner)) => Ok(inner),
            _ => Err(refuse(
                self.place(step.span.clone()),
                format!("'{}' has no fields", step.name),
                "what the file says there is no part",
                "correct the file first",
            )),
        }
    }

    /// Sets, adds or removes one entry.
    fn put(&self, table: &mut Table, step: &Step, value: Option<Node>) -> Result<(), Box<Fault>> {
        let position = table.entries.iter().position(|e| e.key == step.name);
        match (position, value) {
            (Some(position), Some(node)) => {
                if let Some(entry) = table.entries.get_mut(position) {
                    entry.place = self.place(step.span.clone());
                    entry.node = node;
                }
                Ok(())
            }
            (None, Some(node)) => {
                table.entries.push(Entry {
                    key: step.name.clone(),
                    place: self.place(step.span.clone()),
                    node,
                });
                Ok(())
            }
            (Some(position), None) => {
                table.entries.remove(position);
                Ok(())
            }
            (None, None) => Err(refuse(
                self.place(step.span.clone()),
                "there is nothing to remove",
                format!("'{}' is not there", step.name),
                "write a path that the site has",
            )),
        }
    }
}

/// How a part that is new is written in an edit.
fn new_whole(section: Section) -> &'static str {
    if section == Section::Task {
        "{ desk = ..., does = ... }"
    } else {
        "{ from = ..., to = ... }"
    }
}

/// A run by the machine at one of its ends, as in `run.desk.cut-1.length`: its number and the
/// rest of the path, or why that is not one run. Nothing where the path goes by number.
fn by_machine<'s>(
    items: &[(usize, Node)],
    step: &Step,
    rest: &'s [Step],
) -> Option<Result<(usize, &'s [Step]), String>> {
    if !matches!(step.name.as_str(), "nas" | "switch" | "desk") {
        return None;
    }
    let (name, rest) = rest.split_first()?;
    let path = format!("{}.{}", step.name, name.name);
    let leads_there = |node: &Node| {
        let Value::Table(table) = &node.value else {
            return false;
        };
        ["from", "to"].iter().any(|key| {
            table.get(key).is_some_and(|e| match &e.node.value {
                Value::Text { text, .. } => text
                    .trim()
                    .strip_prefix(&path)
                    .is_some_and(|end| end.is_empty() || end.starts_with('.')),
                _ => false,
            })
        })
    };
    let found: Vec<usize> = items
        .iter()
        .filter(|(_, node)| leads_there(node))
        .map(|(number, _)| *number)
        .collect();
    Some(match found[..] {
        [one] => Ok((one, rest)),
        [] => Err(format!("no run leads to {path}")),
        _ => {
            let all: Vec<String> = found.iter().map(|n| format!("run.{n}")).collect();
            Err(format!("{} lead to {path}", all.join(", ")))
        }
    })
}
