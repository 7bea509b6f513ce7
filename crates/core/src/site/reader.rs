//! What every part of the reading shares: the catalogue, the faults and assumptions so far, and
//! the shapes that the schema gives.

use super::fault::{Fault, FaultSource, Place};
use super::model::Assumption;
use super::schema::{Field, Section};
use super::tree::{Entry, Node, Table, Value};
use crate::catalogue::{Catalogue, CatalogueFault};
use crate::nearest::nearest;
use crate::quantity::UnitFault;

/// The fault is in the list already.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Reported;

/// A value, or a fault that is in the list already.
pub(super) type Read<T> = Result<T, Reported>;

/// The longest name that still fits a report.
const LONGEST_NAME: usize = 64;

/// What has been read so far.
pub(super) struct Reader<'a> {
    pub(super) catalogue: &'a Catalogue,
    /// Whether syntax and headers were right throughout; if not, what seems to be missing may
    /// be there.
    pub(super) whole: bool,
    faults: Vec<Fault>,
    assumptions: Vec<(FaultSource, usize, Assumption)>,
}

/// A part of the file: its fields, and what it is called.
pub(super) struct Part<'t> {
    pub(super) section: Section,
    /// Path in the site, such as `nas.store.port.a` or `run.2`.
    pub(super) path: String,
    /// Name or number.
    pub(super) name: String,
    /// Its header.
    pub(super) place: Place,
    pub(super) table: &'t Table,
}

impl<'t> Part<'t> {
    /// What stands under a key; nothing where it says `unknown`.
    pub(super) fn given(&self, key: &str) -> Read<Option<&'t Node>> {
        let Some(entry) = self.table.get(key) else {
            return Ok(None);
        };
        match &entry.node.value {
            Value::Lost => Err(Reported),
            Value::Text { text, .. } if text.trim() == "unknown" => Ok(None),
            _ => Ok(Some(&entry.node)),
        }
    }

    /// The row of the table for a field; every key that the code asks for is in it.
    pub(super) fn field(&self, key: &str) -> Read<&'static Field> {
        self.section.field(key).ok_or(Reported)
    }

    /// The id of one of its fields.
    pub(super) fn id(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        }
    }

    /// Where a field stands, or the part's header.
    pub(super) fn place_of(&self, key: &str) -> Place {
        self.table
            .get(key)
            .map_or_else(|| self.place.clone(), |e| e.node.place.clone())
    }
}

impl<'a> Reader<'a> {
    pub(super) fn new(catalogue: &'a Catalogue, whole: bool) -> Self {
        Self {
            catalogue,
            whole,
            faults: Vec::new(),
            assumptions: Vec::new(),
        }
    }

    /// Notes a fault.
    pub(super) fn report(&mut self, fault: Fault) -> Reported {
        self.faults.push(fault);
        Reported
    }

    pub(super) fn is_clean(&self) -> bool {
        self.faults.is_empty()
    }

    pub(super) fn finish(mut self) -> (Vec<Fault>, Vec<Assumption>) {
        self.assumptions
            .sort_by(|a, b| (&a.0, a.1).cmp(&(&b.0, b.1)));
        let assumptions = self.assumptions.into_iter().map(|(_, _, a)| a).collect();
        (self.faults, assumptions)
    }

    /// Notes what stands in for a field that nobody gave; it is listed where the part is.
    pub(super) fn assume(
        &mut self,
        part: &Part<'_>,
        id: String,
        value: String,
        because: String,
        find_out: &str,
    ) {
        self.assumptions.push((
            part.place.source.clone(),
            part.place.span.start,
            Assumption {
                id,
                value,
                because,
                find_out: find_out.to_owned(),
            },
        ));
    }

    /// Notes what stands in for something that lies at a place.
    pub(super) fn assume_at(&mut self, place: &Place, assumption: Assumption) {
        self.assumptions
            .push((place.source.clone(), place.span.start, assumption));
    }

    /// A row of the catalogue is not there: our fault, not the person's, but never a panic.
    pub(super) fn no_row(&mut self, part: &Part<'_>, fault: &CatalogueFault) -> Reported {
        self.report(Fault::new(
            part.place.clone(),
            "the catalogue is not complete",
            fault.to_string(),
            "add the row to the catalogue",
        ))
    }

    /// A value of the wrong type.
    pub(super) fn wrong_type(&mut self, part: &Part<'_>, field: &Field, node: &Node) -> Reported {
        self.report(Fault::new(
            node.place.clone(),
            format!("{} is not written as it has to be", part.id(field.key)),
            format!("this is {}", node.value.noun()),
            format!("write {} = {}", field.key, field.example),
        ))
    }

    /// A field that has to be there is not.
    pub(super) fn missing(&mut self, part: &Part<'_>, key: &str) -> Reported {
        // behind a slip of syntax it may well be there
        // nor is it missing where it is only misspelt
        let misspelt = part.table.entries.iter().any(|e| {
            part.section.field(&e.key).is_none() && near_key(part.section, &e.key) == Some(key)
        });
        if self.whole
            && !misspelt
            && let Some(field) = part.section.field(key)
        {
            let subject = if part.path.is_empty() {
                "the site".to_owned()
            } else {
                part.path.clone()
            };
            let unknown = part.table.get(key).is_some();
            let (found, place) = if unknown {
                (format!("'{key}' cannot be unknown"), part.place_of(key))
            } else {
                (format!("'{key}' is not given"), part.place.clone())
            };
            self.report(Fault::new(
                place,
                format!("{subject} has no '{key}'"),
                found,
                format!("add {key} = {}: {}", field.example, field.find_out),
            ));
        }
        Reported
    }

    /// A text of a field is wrong; the span is inside the text.
    pub(super) fn unit(&mut self, node: &Node, title: String, fault: UnitFault) -> Reported {
        let whole = &node.place;
        let Value::Text { text, first } = &node.value else {
            return self.report(Fault::new(whole.clone(), title, fault.found, fault.help));
        };
        let inner = first.filter(|_| !fault.span.is_empty() && is_inside(text, &fault.span));
        let span = inner.map_or_else(
            || whole.span.clone(),
            |first| first + fault.span.start..first + fault.span.end,
        );
        let place = Place {
            source: whole.source.clone(),
            span,
        };
        let mut new = Fault::new(place, title, fault.found, fault.help);
        if let Some(instead) = fault.instead {
            // text without its quotes in a file needs them now
            let unquoted = *first == Some(whole.span.start);
            new = match first {
                Some(first) if !unquoted => new.fixed(*first..first + text.len(), instead),
                Some(_) if !matches!(whole.source, FaultSource::File | FaultSource::Tasks) => {
                    new.fixed(whole.span.clone(), instead)
                }
                _ => new.fixed(whole.span.clone(), format!("\"{instead}\"")),
            };
        }
        self.report(new)
    }

    /// The parts under a key that holds named ones. A part of the wrong shape is reported.
    pub(super) fn named<'t>(
        &mut self,
        parent: &Part<'t>,
        section: Section,
        key: &str,
    ) -> Vec<Part<'t>> {
        let Some(entry) = parent.table.get(key) else {
            return Vec::new();
        };
        let table = match &entry.node.value {
            Value::Table(table) => table,
            Value::Lost => return Vec::new(),
            Value::List(_) => {
                self.whole = false;
                self.report(Fault::new(
                    entry.node.place.clone(),
                    format!("'{}' needs a name", parent.id(key)),
                    "a list stands here",
                    format!("write {} with a name", section.header()),
                ));
                return Vec::new();
            }
            other => {
                self.whole = false;
                self.report(Fault::new(
                    entry.node.place.clone(),
                    format!("'{}' has no fields", parent.id(key)),
                    format!("this is {}", other.noun()),
                    format!("write {}", section.header()),
                ));
                return Vec::new();
            }
        };
        let mut parts = Vec::new();
        // "[nas]" instead of "[nas.store]": all its fields are wrong in the same way
        let nameless = table.entries.iter().find(|e| {
            section.field(&e.key).is_some()
                && !matches!(e.node.value, Value::Table(_) | Value::Lost)
        });
        if let Some(entry) = nameless {
            self.whole = false;
            self.report(Fault::new(
                entry.place.clone(),
                format!("{} has no name", section.noun()),
                format!("'{}' stands where a name should", entry.key),
                format!("write {}, with a name of your own", section.header()),
            ));
            return Vec::new();
        }
        for entry in &table.entries {
            if let Some(inner) = self.named_part(section, entry, &parent.id(key)) {
                parts.push(Part {
                    section,
                    path: format!("{}.{}", parent.id(key), entry.key),
                    name: entry.key.clone(),
                    place: entry.place.clone(),
                    table: inner,
                });
            }
        }
        for part in &parts {
            self.known_keys(part);
        }
        parts
    }

    /// The parts under a key that holds numbered ones.
    pub(super) fn numbered<'t>(
        &mut self,
        site: &Part<'t>,
        section: Section,
        key: &str,
    ) -> Vec<Part<'t>> {
        let Some(entry) = site.table.get(key) else {
            return Vec::new();
        };
        let Value::List(items) = &entry.node.value else {
            self.whole = false;
            if !matches!(entry.node.value, Value::Lost) {
                let fault = Fault::new(
                    entry.node.place.clone(),
                    format!("{} has a header of its own kind", section.noun()),
                    "one pair of brackets makes a part that there can be only one of",
                    format!("write {}", section.header()),
                );
                let is_header = matches!(entry.node.value, Value::Table(_));
                let span = entry.node.place.span.clone();
                self.report(if is_header && entry.place.span.start == span.start + 1 {
                    fault.fixed(span, section.header())
                } else {
                    fault
                });
            }
            return Vec::new();
        };
        let mut parts = Vec::new();
        for (number, node) in items {
            match &node.value {
                Value::Table(table) => parts.push(Part {
                    section,
                    path: format!("{key}.{number}"),
                    name: number.to_string(),
                    place: node.place.clone(),
                    table,
                }),
                Value::Lost => {}
                other => {
                    self.whole = false;
                    self.report(Fault::new(
                        node.place.clone(),
                        format!("{key}.{number} has no fields"),
                        format!("this is {}", other.noun()),
                        format!("write {}", section.header()),
                    ));
                }
            }
        }
        for part in &parts {
            self.known_keys(part);
        }
        parts
    }

    fn named_part<'t>(
        &mut self,
        section: Section,
        entry: &'t Entry,
        path: &str,
    ) -> Option<&'t Table> {
        let place = entry.node.place.clone();
        let title = format!("{path}.{} has no fields", short(&entry.key));
        let fault = match &entry.node.value {
            Value::Table(inner) => return self.name(entry, path).ok().map(|()| inner),
            Value::Lost => return None,
            Value::Text { text, .. } if section == Section::Port => {
                let whole = format!("{{ rate = \"{}\" }}", short(text.trim()));
                Fault::new(
                    place,
                    title,
                    "only a text stands here",
                    format!("write {whole}"),
                )
                .fixed(entry.node.place.span.clone(), whole)
            }
            other => Fault::new(
                place,
                title,
                format!("this is {}", other.noun()),
                format!("write {}", section.header()),
            ),
        };
        self.report(fault);
        None
    }

    /// Names are shown, addressed with dots and written in edits, so some letters cannot be.
    fn name(&mut self, entry: &Entry, path: &str) -> Read<()> {
        let problem = if entry.key.is_empty() {
            "the name is empty".to_owned()
        } else if entry.key.chars().count() > LONGEST_NAME {
            format!("the name has more than {LONGEST_NAME} letters")
        } else if let Some(letter) = entry.key.chars().find(|&c| !may_be_in_a_name(c)) {
            match letter {
                ' ' => "the name has a space in it".to_owned(),
                c if c.is_control() || !c.is_ascii() => {
                    format!(
                        "the name has an invisible letter in it ({})",
                        c.escape_unicode()
                    )
                }
                c => format!("the name has '{c}' in it"),
            }
        } else {
            return Ok(());
        };
        Err(self.report(Fault::new(
            entry.place.clone(),
            format!("a name under '{path}' cannot be used"),
            problem,
            "write letters of any script, digits, '-' and '_'",
        )))
    }

    /// Reports every key that the section does not have.
    pub(super) fn known_keys(&mut self, part: &Part<'_>) {
        for entry in &part.table.entries {
            if part.section.field(&entry.key).is_none() {
                self.report(unknown_key(part.section, &entry.key, entry.place.clone()));
            }
        }
    }
}

/// A key that a section does not have.
pub(super) fn unknown_key(section: Section, key: &str, place: Place) -> Fault {
    let noun = section.noun();
    let (things, a_thing) = if section == Section::Site {
        ("parts", "a part")
    } else {
        ("fields", "a field")
    };
    let all = section
        .fields()
        .map(|f| f.key)
        .collect::<Vec<_>>()
        .join(", ");
    let span = place.span.clone();
    let title = format!("'{}' is not {a_thing} of {noun}", short(key));
    let near = near_key(section, key);
    if let Some(near) = near {
        return Fault::new(
            place,
            title,
            format!("unknown; did you mean '{near}'?"),
            format!("the {things} of {noun} are {all}"),
        )
        .fixed(span, near);
    }
    let elsewhere = Section::ALL
        .into_iter()
        .find(|s| *s != section && s.field(key).is_some());
    let found = match elsewhere {
        Some(Section::Site) => "this stands at the top of the file, not here".to_owned(),
        Some(other) => format!("this is a field of {}: {}", other.noun(), other.header()),
        None => "unknown".to_owned(),
    };
    Fault::new(
        place,
        title,
        found,
        format!("the {things} of {noun} are {all}"),
    )
}

/// The key of a section that was probably meant.
pub(super) fn near_key(section: Section, key: &str) -> Option<&'static str> {
    // comparing takes as long as the two are long
    if key.len() > LONGEST_NAME {
        return None;
    }
    nearest(&key.replace('_', "-"), section.fields().map(|f| f.key))
}

/// A text from a file, cut to what a message can hold.
pub(super) fn short(text: &str) -> String {
    if text.chars().count() <= LONGEST_NAME {
        text.to_owned()
    } else {
        let head: String = text.chars().take(LONGEST_NAME).collect();
        format!("{head}...")
    }
}

/// Letters, digits and marks of any script; no dot, space, control or direction sign.
pub(crate) fn may_be_in_a_name(c: char) -> bool {
    if c.is_ascii() {
        return c.is_ascii_alphanumeric() || c == '-' || c == '_';
    }
    // joiners (200C, 200D) belong to the spelling of some scripts
    let unseen = matches!(c, '\u{80}'..='\u{a9}' | '\u{ab}'..='\u{b1}' | '\u{200b}' | '\u{200e}'..='\u{206f}'
        | '\u{feff}' | '\u{fff0}'..='\u{ffff}' | '\u{e0000}'..='\u{e0fff}');
    !(unseen || c.is_whitespace() || c.is_control())
}

fn is_inside(text: &str, span: &std::ops::Range<usize>) -> bool {
    text.get(span.clone()).is_some()
}
