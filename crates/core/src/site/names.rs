//! The names of the parts of a site, before they are read.

use super::fault::{Fault, Place};
use super::model::Machine;
use super::reader::{Part, Reader, near_key};
use super::runs::Named;
use super::schema::Section;
use super::tree::{Node, Table, Value};
use std::collections::BTreeSet;

/// Every name that the file gives, whether what it names could be read or not: a fault in a
/// machine is not also a fault in every run that leads to it.
pub(super) struct Names {
    pub(super) machines: Vec<Named>,
    pub(super) arrays: usize,
    pub(super) of_arrays: Vec<String>,
}

impl Names {
    pub(super) fn of(root: &Table) -> Self {
        let mut machines = Vec::new();
        let mut arrays = 0;
        let mut array_names = Vec::new();
        for entry in &root.entries {
            // a section whose name is misspelt still names its machines
            let key = Section::Site
                .field(&entry.key)
                .map(|f| f.key)
                .or_else(|| near_key(Section::Site, &entry.key));
            let machine = match key {
                Some("nas") => Machine::Nas,
                Some("switch" | "access-point") => Machine::Switch,
                Some("desk") => Machine::Desk,
                Some("array") => {
                    let names = names_in(&entry.node);
                    arrays += names.len().max(1);
                    array_names.extend(names.into_iter().map(|(name, _)| name.to_owned()));
                    continue;
                }
                _ => continue,
            };
            for (name, node) in names_in(&entry.node) {
                machines.push(Named {
                    machine,
                    name: name.to_owned(),
                    ports: port_names(node, key == Some("access-point")),
                    air: key == Some("access-point"),
                });
            }
        }
        Self {
            machines,
            arrays,
            of_arrays: array_names,
        }
    }

    pub(super) fn nas(&self) -> Vec<&str> {
        self.of_kind(Machine::Nas)
    }

    pub(super) fn array_names(&self) -> Vec<&str> {
        self.of_arrays.iter().map(String::as_str).collect()
    }

    pub(super) fn of_kind(&self, kind: Machine) -> Vec<&str> {
        self.machines
            .iter()
            .filter(|m| m.machine == kind)
            .map(|m| m.name.as_str())
            .collect()
    }
}

pub(super) fn names_in(node: &Node) -> Vec<(&str, &Node)> {
    match &node.value {
        Value::Table(table) => table
            .entries
            .iter()
            .map(|e| (e.key.as_str(), &e.node))
            .collect(),
        _ => Vec::new(),
    }
}

pub(super) fn port_names(machine: &Node, air: bool) -> Vec<String> {
    let Value::Table(table) = &machine.value else {
        return Vec::new();
    };
    let mut names: Vec<String> = table.get("port").map_or_else(Vec::new, |ports| {
        names_in(&ports.node)
            .into_iter()
            .map(|(name, _)| name.to_owned())
            .collect()
    });
    // a radio is a port that nobody has to write
    let named = names.iter().any(|name| name == super::air::AIR);
    if (air || table.get("wireless").is_some()) && !named {
        names.push(super::air::AIR.to_owned());
    }
    names
}

/// Whether there is anything to predict at all.
pub(super) fn presence(reader: &mut Reader<'_>, names: &Names) {
    if !reader.whole {
        return;
    }
    if names.arrays == 0 {
        reader.report(Fault::new(
            Place::top(),
            "the site has no array",
            "no part [array.NAME] stands here",
            "add [array.vault] with nas, layout and drives",
        ));
    }
    if names.of_kind(Machine::Nas).is_empty() && names.arrays == 0 {
        reader.report(Fault::new(
            Place::top(),
            "the site has no NAS",
            "no part [nas.NAME] stands here",
            "add [nas.store] with a port",
        ));
    }
    if names.of_kind(Machine::Desk).is_empty() {
        reader.report(Fault::new(
            Place::top(),
            "the site has no desk",
            "no part [desk.NAME] stands here",
            "add [desk.cut-1] with a port",
        ));
    }
}

/// The names of the machines that arrays name; nothing where one of them could not be read.
pub(super) fn holders_named<'t>(arrays: &[Part<'t>]) -> Option<BTreeSet<&'t str>> {
    arrays
        .iter()
        .map(|part| match &part.table.get("nas")?.node.value {
            Value::Text { text, .. } => Some(text.trim()),
            _ => None,
        })
        .collect()
}

/// Every NAS holds an array.
pub(super) fn holders(reader: &mut Reader<'_>, arrays: &[Part<'_>], nas: &[Part<'_>]) {
    let Some(holders) = holders_named(arrays) else {
        return;
    };
    let known = holders.iter().all(|h| nas.iter().any(|n| n.name == *h));
    if !reader.whole || !known || arrays.is_empty() {
        return;
    }
    for part in nas {
        if !holders.contains(part.name.as_str()) {
            reader.report(Fault::new(
                part.place.clone(),
                format!("{} holds no array", part.path),
                "no array names it",
                format!(
                    "add [array.NAME] with nas = \"{}\", or remove it",
                    part.name
                ),
            ));
        }
    }
}
