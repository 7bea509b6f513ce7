//! What a person may write in a site file brought to its one long form, before it is read: words in any
//! usual spelling, ports in a line, runs in a line, ends without their port. What was understood is kept.
//!
//! The reader sees the long form only. What means nothing here is left as it is, so that the reader says
//! what is wrong with it.

mod ends;
mod keys;
mod ports;
mod runs;
mod values;
mod write;

use super::fault::Place;
use super::model::Assumption;
use super::schema::{Form, Section};
use super::tree::{Node, Table, Value};
use crate::catalogue::Catalogue;
pub(super) use write::long_form;

/// Something that was written in a form of its own, and what it was taken for.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Understood {
    /// Site path and field.
    pub id: String,
    /// As it was written.
    pub said: String,
    /// The long form.
    pub meant: String,
}

/// What came of it.
#[derive(Debug, Default)]
pub(super) struct Tidied {
    pub(super) understood: Vec<Understood>,
    /// What had to stand in, with the place that lacks it.
    pub(super) assumptions: Vec<(Place, Assumption)>,
}

/// Brings a tree to its long form.
pub(super) fn tidy(root: &mut Table, catalogue: &Catalogue) -> Tidied {
    let mut pass = Pass {
        catalogue,
        done: Tidied::default(),
    };
    pass.keys(root, Section::Site, "");
    pass.runs(root);
    for (key, section) in [
        ("nas", Section::Nas),
        ("switch", Section::Switch),
        ("desk", Section::Desk),
        ("array", Section::Array),
    ] {
        pass.named(root, key, section);
    }
    let names = ends::Names::of(root);
    pass.fields_of(root, Section::Site, "", &names);
    pass.ends(root);
    pass.done
}

struct Pass<'a> {
    catalogue: &'a Catalogue,
    done: Tidied,
}

impl Pass<'_> {
    fn understood(&mut self, id: &str, said: &str, meant: &str) {
        self.done.understood.push(Understood {
            id: id.to_owned(),
            said: said.trim().to_owned(),
            meant: meant.to_owned(),
        });
    }

    /// Keys and ports of named parts.
    fn named(&mut self, root: &mut Table, key: &str, section: Section) {
        let Some(entry) = root.entries.iter_mut().find(|e| e.key == key) else {
            return;
        };
        let Value::Table(parts) = &mut entry.node.value else {
            return;
        };
        for part in &mut parts.entries {
            let path = format!("{key}.{}", part.key);
            if let Value::Table(table) = &mut part.node.value {
                if section.field("port").is_some() {
                    self.ports(table, section, &path);
                }
                self.keys(table, section, &path);
            }
        }
    }

    /// The values of all fields of a part, and of the parts in it.
    fn fields_of(&mut self, table: &mut Table, section: Section, path: &str, names: &ends::Names) {
        let levels = section == Section::Array && table.get("layout").is_none();
        let mut heard_level = None;
        for entry in &mut table.entries {
            let Some(field) = section.field(&entry.key) else {
                continue;
            };
            let id = if path.is_empty() {
                entry.key.clone()
            } else {
                format!("{path}.{}", entry.key)
            };
            match (field.form, &mut entry.node.value) {
                (Form::One(inner), Value::Table(table)) => {
                    self.keys(table, inner, &id);
                    self.fields_of(table, inner, &id, names);
                }
                (Form::Named(inner), Value::Table(parts)) => {
                    for part in &mut parts.entries {
                        let id = format!("{id}.{}", part.key);
                        if let Value::Table(table) = &mut part.node.value {
                            self.keys(table, inner, &id);
                            self.fields_of(table, inner, &id, names);
                        }
                    }
                }
                (Form::Numbered(inner), Value::List(items)) => {
                    for (number, node) in items {
                        let id = format!("{id}.{number}");
                        if let Value::Table(table) = &mut node.value {
                            self.keys(table, inner, &id);
                            self.fields_of(table, inner, &id, names);
                        }
                    }
                }
                (Form::Named(_) | Form::Numbered(_) | Form::One(_), _) => {}
                (form, _) => {
                    if let Some(level) = self.value(form, &id, &mut entry.node, names)
                        && levels
                    {
                        heard_level = Some((level, entry.node.place.clone()));
                    }
                }
            }
        }
        // "6 x 10 TB in raid 6" says both
        if let Some((level, place)) = heard_level {
            table.entries.push(entry_at("layout", &level, &place));
        }
    }
}

/// A text that stands for something written elsewhere.
fn text_at(text: &str, place: &Place) -> Node {
    Node {
        place: place.clone(),
        value: Value::Text {
            text: text.to_owned(),
            first: None,
        },
    }
}

/// A field that stands for something written elsewhere.
fn entry_at(key: &str, text: &str, place: &Place) -> super::tree::Entry {
    super::tree::Entry {
        key: key.to_owned(),
        place: place.clone(),
        node: text_at(text, place),
    }
}
