//! Offers: what could be bought, what it costs, and what it sets in the site.

use super::base::Base;
use super::cords::{Cord, move_cords};
use super::relations::{circles, contradictions, currencies, ids, links};
use crate::catalogue::Catalogue;
use crate::change::Edit;
use crate::nearest::nearest;
use crate::quantity::Money;
use crate::site::syntax;
use crate::site::tree::{Entry, Node, Table, Value};
use crate::site::{Fault, FaultSource, Faults, Place};
use std::ops::Range;

/// So many offers make a million combinations.
pub const MOST_OFFERS: usize = 20;

/// Keys of an offer with an example each.
const KEYS: [(&str, &str); 6] = [
    ("id", "\"card-colour\""),
    ("label", "\"a 10 Gb/s card for colour\""),
    ("price", "\"120 EUR\""),
    ("set", "['desk.colour.port.a.rate=\"10 Gb/s\"']"),
    ("requires", "[\"port-attic\"]"),
    ("excludes", "[\"switch-new\"]"),
];

/// Something that can be bought once.
#[derive(Clone, Debug, PartialEq)]
pub struct Offer {
    /// What to call it.
    pub id: String,
    /// What it is, in words.
    pub label: Option<String>,
    /// What it costs.
    pub price: Money,
    /// What it sets in the site.
    pub sets: Vec<Edit>,
    /// Offers without which it is not bought, by position.
    pub requires: Vec<usize>,
    /// Offers beside which it is not bought, by position; both name each other here.
    pub excludes: Vec<usize>,
    /// Cords that move with it, which are among what it sets.
    pub cords: Vec<Cord>,
}

impl Offer {
    /// Its label, or its id.
    pub fn name(&self) -> &str {
        self.label.as_deref().unwrap_or(&self.id)
    }
}

/// A place of a set in the file of offers.
#[derive(Clone, Debug)]
struct Written {
    place: Place,
    /// Where its letters stand one for one.
    first: Option<usize>,
    /// Its length in bytes.
    length: usize,
}

/// An offer as far as it is read.
pub(super) struct Draft {
    pub id: Option<(String, Place)>,
    label: Option<String>,
    pub price: Option<(Money, Place)>,
    sets: Vec<(Edit, Written)>,
    pub requires: Vec<(String, Place)>,
    pub excludes: Vec<(String, Place)>,
    place: Place,
}

/// Reads offers and tries each, with what it requires, on the site.
///
/// # Errors
/// With everything that is wrong, by position: keys that are not known, an id twice, prices below
/// nothing or in several currencies, offers that exclude or require themselves, also in a circle, and
/// sets that the site does not take.
///
/// A port is of use to nobody while no cord is in it: cords move with what is bought, see `cords`.
///
/// Checked by the tests `offers`.
pub fn offers(text: &str, base: &Base<'_>, catalogue: &Catalogue) -> Result<Vec<Offer>, Faults> {
    let (root, mut faults) = syntax::parse(text, &FaultSource::File);
    let whole = faults.is_empty();
    let drafts = drafts(&root, whole, &mut faults);
    currencies(&drafts, &mut faults);
    ids(&drafts, &mut faults);
    let requires: Vec<Vec<usize>> = drafts
        .iter()
        .map(|d| links(d, &d.requires, "requires", &drafts, &mut faults))
        .collect();
    let mut excludes: Vec<Vec<usize>> = drafts
        .iter()
        .map(|d| links(d, &d.excludes, "excludes", &drafts, &mut faults))
        .collect();
    for one in 0..excludes.len() {
        for other in excludes[one].clone() {
            if let Some(list) = excludes.get_mut(other)
                && !list.contains(&one)
            {
                list.push(one);
            }
        }
    }
    let closures = circles(&drafts, &requires, &mut faults);
    contradictions(&drafts, &closures, &excludes, &mut faults);
    if faults.is_empty() {
        for (index, closure) in closures.iter().enumerate() {
            tried(index, &drafts, closure, base, catalogue, &mut faults);
        }
    }
    if !faults.is_empty() {
        return Err(Faults::ordered(faults));
    }
    let mut made = Vec::new();
    for ((draft, requires), excludes) in drafts.into_iter().zip(requires).zip(excludes) {
        if let (Some((id, _)), Some((price, _))) = (draft.id, draft.price) {
            made.push(Offer {
                id,
                label: draft.label,
                price,
                sets: draft.sets.into_iter().map(|(edit, _)| edit).collect(),
                requires,
                excludes,
                cords: Vec::new(),
            });
        }
    }
    move_cords(&mut made, &closures, base, catalogue);
    Ok(made)
}

fn drafts(root: &Table, whole: bool, faults: &mut Vec<Fault>) -> Vec<Draft> {
    let mut drafts = Vec::new();
    for entry in &root.entries {
        if entry.key != "offer" {
            let title = "a file of offers holds offers only";
            let found = format!("'{}' stands here", entry.key);
            faults.push(Fault::new(
                entry.place.clone(),
                title,
                found,
                "write [[offer]]",
            ));
            continue;
        }
        let Value::List(items) = &entry.node.value else {
            let found = format!("this is {}", entry.node.value.noun());
            let title = "offers come in double brackets";
            faults.push(Fault::new(
                entry.place.clone(),
                title,
                found,
                "write [[offer]]",
            ));
            continue;
        };
        for (number, item) in items {
            match &item.value {
                Value::Table(table) => {
                    drafts.push(draft(table, &item.place, *number, whole, faults));
                }
                Value::Lost => {}
                other => faults.push(Fault::new(
                    item.place.clone(),
                    "this is no offer",
                    format!("this is {}", other.noun()),
                    "write [[offer]] with id, price and set",
                )),
            }
        }
    }
    if drafts.is_empty() && faults.is_empty() {
        faults.push(Fault::new(
            Place::top(),
            "the file holds no offers",
            "no [[offer]] stands here",
            "begin with [[offer]], id = \"card-colour\", price = \"120 EUR\", set = ['PATH=VALUE']",
        ));
    }
    if let Some(beyond) = drafts.get(MOST_OFFERS) {
        faults.push(Fault::new(
            beyond.place.clone(),
            "too many offers",
            format!("{} stand here", drafts.len()),
            format!("leave at most {MOST_OFFERS}: those that anybody would buy"),
        ));
    }
    drafts
}

fn draft(
    table: &Table,
    place: &Place,
    number: usize,
    whole: bool,
    faults: &mut Vec<Fault>,
) -> Draft {
    let mut made = Draft {
        id: None,
        label: None,
        price: None,
        sets: Vec::new(),
        requires: Vec::new(),
        excludes: Vec::new(),
        place: place.clone(),
    };
    let mut lost = !whole;
    for entry in &table.entries {
        let known = KEYS.iter().any(|(key, _)| *key == entry.key);
        if matches!(entry.node.value, Value::Lost) {
            lost = true;
            continue;
        }
        match entry.key.as_str() {
            "id" => made.id = text(entry, faults).map(|text| (text, entry.node.place.clone())),
            "label" => made.label = text(entry, faults),
            "price" => made.price = price(entry, faults),
            "set" => sets(&entry.node, "", &mut made.sets, faults),
            "requires" => made.requires = names(entry, faults),
            "excludes" => made.excludes = names(entry, faults),
            _ => {}
        }
        if !known {
            let keys = || KEYS.iter().map(|(key, _)| *key);
            let near = nearest(&entry.key, keys());
            let also = near.map_or(String::new(), |near| format!("; did you mean '{near}'?"));
            let mut fault = Fault::new(
                entry.place.clone(),
                "an offer has no such key",
                format!("'{}' is not known here{also}", entry.key),
                format!("write one of {}", keys().collect::<Vec<_>>().join(", ")),
            );
            if let Some(near) = near {
                fault = fault.fixed(entry.place.span.clone(), near);
            }
            faults.push(fault);
            lost = true;
        }
    }
    for (key, example) in KEYS {
        let needed = matches!(key, "id" | "price" | "set");
        if needed && !lost && table.get(key).is_none() {
            faults.push(Fault::new(
                place.clone(),
                format!("offer {number} has no '{key}'"),
                format!("'{key}' is not given"),
                format!("add {key} = {example}"),
            ));
        }
    }
    made
}

fn wrong(entry: &Entry, faults: &mut Vec<Fault>) {
    let example = KEYS.iter().find(|(key, _)| *key == entry.key);
    let example = example.map_or("", |(_, example)| *example);
    faults.push(Fault::new(
        entry.node.place.clone(),
        format!("'{}' is not written as it has to be", entry.key),
        format!("this is {}", entry.node.value.noun()),
        format!("write {} = {example}", entry.key),
    ));
}

fn text(entry: &Entry, faults: &mut Vec<Fault>) -> Option<String> {
    match &entry.node.value {
        Value::Text { text, .. }
            if !text.trim().is_empty() && !text.chars().any(crate::letters::is_hidden) =>
        {
            Some(text.trim().to_owned())
        }
        Value::Text { .. } => {
            let title = format!("'{}' cannot be shown", entry.key);
            let found = "it is empty, or has an invisible letter in it";
            let place = entry.node.place.clone();
            faults.push(Fault::new(place, title, found, "write letters and digits"));
            None
        }
        _ => {
            wrong(entry, faults);
            None
        }
    }
}

fn price(entry: &Entry, faults: &mut Vec<Fault>) -> Option<(Money, Place)> {
    let Value::Text { text, first } = &entry.node.value else {
        wrong(entry, faults);
        return None;
    };
    match Money::parse(text) {
        Ok(money) => Some((money, entry.node.place.clone())),
        Err(fault) => {
            let negative = text.trim_start().starts_with('-');
            let found = if negative {
                format!("'{}' is less than nothing", text.trim())
            } else {
                fault.found
            };
            let place = located(&entry.node.place, *first, &fault.span);
            faults.push(Fault::new(place, "this is no price", found, fault.help));
            None
        }
    }
}

/// A place inside a text, where its letters stand one for one; else the whole.
fn located(whole: &Place, first: Option<usize>, span: &Range<usize>) -> Place {
    Place {
        source: whole.source.clone(),
        span: first.map_or_else(
            || whole.span.clone(),
            |first| first + span.start..first + span.end,
        ),
    }
}

fn names(entry: &Entry, faults: &mut Vec<Fault>) -> Vec<(String, Place)> {
    let one = |node: &Node| match &node.value {
        Value::Text { text, .. } => Some((text.clone(), node.place.clone())),
        _ => None,
    };
    let found = match &entry.node.value {
        Value::List(items) => items.iter().map(|(_, item)| one(item)).collect(),
        _ => one(&entry.node).map(|found| vec![found]),
    };
    found.unwrap_or_else(|| {
        wrong(entry, faults);
        Vec::new()
    })
}

/// Sets as a list of `path=value`, or as a table of paths.
fn sets(node: &Node, path: &str, made: &mut Vec<(Edit, Written)>, faults: &mut Vec<Fault>) {
    match &node.value {
        Value::List(items) if path.is_empty() => {
            if items.is_empty() {
                nothing_set(node, faults);
            }
            for (_, item) in items {
                match &item.value {
                    Value::Text { text, first } => set(text, item, *first, made, faults),
                    Value::Lost => {}
                    _ => not_a_set(item, faults),
                }
            }
        }
        Value::Table(table) => {
            if table.entries.is_empty() {
                nothing_set(node, faults);
            }
            for entry in &table.entries {
                // a name with a dot in it goes into quotes
                let name = if path.is_empty() || !entry.key.contains('.') {
                    entry.key.clone()
                } else {
                    format!("\"{}\"", entry.key)
                };
                let below = if path.is_empty() {
                    name
                } else {
                    format!("{path}.{name}")
                };
                sets(&entry.node, &below, made, faults);
            }
        }
        Value::Text { text, first } if path.is_empty() => set(text, node, *first, made, faults),
        Value::Text { text, .. } => {
            let quoted = if text.contains('"') {
                format!("'{text}'")
            } else {
                format!("\"{text}\"")
            };
            set(&format!("{path}={quoted}"), node, None, made, faults);
        }
        Value::Whole(number) | Value::Decimal(number) if !path.is_empty() => {
            set(&format!("{path}={number}"), node, None, made, faults);
        }
        Value::Truth(truth) if !path.is_empty() => {
            set(&format!("{path}={truth}"), node, None, made, faults);
        }
        Value::Lost => {}
        _ => not_a_set(node, faults),
    }
}

fn nothing_set(node: &Node, faults: &mut Vec<Fault>) {
    faults.push(Fault::new(
        node.place.clone(),
        "an offer sets nothing",
        "nothing stands here",
        "write what it changes in the site: set = ['run.2.cable=\"cat6a\"']",
    ));
}

fn not_a_set(node: &Node, faults: &mut Vec<Fault>) {
    faults.push(Fault::new(
        node.place.clone(),
        "this sets nothing in a site",
        format!("this is {}", node.value.noun()),
        "write set = ['run.2.cable=\"cat6a\"'], one text a value",
    ));
}

fn set(
    text: &str,
    node: &Node,
    first: Option<usize>,
    made: &mut Vec<(Edit, Written)>,
    faults: &mut Vec<Fault>,
) {
    let written = Written {
        place: node.place.clone(),
        first,
        length: text.len(),
    };
    match Edit::parse(text, made.len()) {
        Ok(edit) => made.push((edit, written)),
        Err(found) => faults.extend(found.iter().map(|fault| moved(fault, &written))),
    }
}

/// A fault in an edit as a fault in the file of offers.
fn moved(fault: &Fault, written: &Written) -> Fault {
    let first = written.first.filter(|_| fault.span.end <= written.length);
    let place = located(&written.place, first, &fault.span);
    let mut moved = Fault::new(place, &fault.title, &fault.found, &fault.help);
    if let (Some(fix), Some(first)) = (&fault.replacement, first) {
        moved = moved.fixed(first + fix.span.start..first + fix.span.end, &fix.text);
    }
    moved
}

const ANOTHER: &str = "where it takes another offer as well, name that in requires";

/// An offer with all that it requires has to make a site.
fn tried(
    index: usize,
    drafts: &[Draft],
    closure: &[usize],
    base: &Base<'_>,
    catalogue: &Catalogue,
    faults: &mut Vec<Fault>,
) {
    let Some(draft) = drafts.get(index) else {
        return;
    };
    let mut edits = Vec::new();
    let mut own = Vec::new();
    for &one in closure {
        for (edit, written) in drafts.get(one).map_or(&[][..], |d| d.sets.as_slice()) {
            edits.push(edit);
            own.push((one == index).then_some(written));
        }
    }
    let Err(found) = base.with(&edits, catalogue) else {
        return;
    };
    for fault in &found {
        if let Some(at) = base.edit_of(fault) {
            // that of another offer is told there
            if let Some(Some(written)) = own.get(at) {
                let mut moved = moved(fault, written);
                // what does not fit another part may fit with another offer
                if fault.also.is_some() {
                    moved.help = format!("{}; {ANOTHER}", moved.help);
                }
                faults.push(moved);
            }
            continue;
        }
        let place = draft.id.as_ref().map_or(&draft.place, |(_, place)| place);
        let help = format!("{}; {ANOTHER}", fault.help);
        let title = format!("with this offer the site is wrong: {}", fault.title);
        faults.push(Fault::new(place.clone(), title, &fault.found, help));
    }
}
