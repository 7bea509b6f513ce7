//! Ports in a line: `ports = 16`, `ports = "2 x 10 Gb/s, 8 x 1 Gb/s"`, `port.a = "10 Gb/s, pcie 3 x4"`.

use super::{Pass, entry_at, text_at};
use crate::quantity::{LinkRate, exact};
use crate::said::{Meaning, link_rate, meaning, plain, slot};
use crate::site::fault::Place;
use crate::site::model::Assumption;
use crate::site::schema::Section;
use crate::site::tree::{Entry, Node, Table, Value};

/// What stands in for a rate that nobody said.
const USUAL: LinkRate = LinkRate::from_megabits(1000);

/// A group of equal ports as somebody wrote it.
struct Group {
    count: Option<u32>,
    rate: Option<LinkRate>,
    socket: Option<String>,
    slot: Option<String>,
    adapter: Option<String>,
}

impl Pass<'_> {
    /// Writes out the ports of a machine.
    pub(super) fn ports(&mut self, table: &mut Table, section: Section, path: &str) {
        nameless(table, section);
        // named ports whose value is a text
        if let Some(entry) = table.entries.iter_mut().find(|e| e.key == "port")
            && let Value::Table(ports) = &mut entry.node.value
        {
            for port in &mut ports.entries {
                let id = format!("{path}.port.{}", port.key);
                self.one_port(&mut port.node, &id);
            }
        }
        let Some(at) = table.entries.iter().position(|e| {
            let in_a_line = !matches!(e.node.value, Value::Table(_) | Value::Lost);
            in_a_line && matches!(plain(&e.key).as_str(), "port" | "ports")
        }) else {
            return;
        };
        let other = table
            .entries
            .iter()
            .enumerate()
            .any(|(i, e)| i != at && e.key == "port");
        let Some(entry) = table.entries.get(at).filter(|_| !other) else {
            return;
        };
        let place = entry.node.place.clone();
        let Some((said, groups)) = self.groups(&entry.node) else {
            return;
        };
        let names = names_for(&groups, section);
        let mut ports = Table::default();
        let mut shown = Vec::new();
        for (group, name) in groups.iter().zip(names) {
            let rate = group.rate.unwrap_or_else(|| {
                self.assume_rate(&place, &format!("{path}.port.{name}.rate"));
                USUAL
            });
            shown.push(match group.count {
                Some(count) => format!("{name}: {count} x {}", exact(rate)),
                None => format!("{name}: {}", exact(rate)),
            });
            ports.entries.push(Entry {
                key: name,
                place: place.clone(),
                node: Node {
                    place: place.clone(),
                    value: Value::Table(group.table(rate, &place)),
                },
            });
        }
        self.understood(&format!("{path}.port"), &said, &shown.join(", "));
        if let Some(entry) = table.entries.get_mut(at) {
            "port".clone_into(&mut entry.key);
            entry.node.value = Value::Table(ports);
        }
    }

    /// `port.a = "10 Gb/s"`.
    fn one_port(&mut self, node: &mut Node, id: &str) {
        let Value::Text { text, .. } = &node.value else {
            return;
        };
        let Some(group) = self.group(text) else {
            return;
        };
        let Some(rate) = group.rate else { return };
        let said = text.clone();
        let place = node.place.clone();
        node.value = Value::Table(group.table(rate, &place));
        self.understood(&format!("{id}.rate"), &said, &exact(rate));
    }

    fn assume_rate(&mut self, place: &Place, id: &str) {
        let find_out = Section::Port.field("rate").map_or("", |f| f.find_out);
        self.done.assumptions.push((
            place.clone(),
            Assumption {
                id: id.to_owned(),
                value: exact(USUAL),
                because: "judgement: the usual port".to_owned(),
                find_out: find_out.to_owned(),
            },
        ));
    }

    /// All groups of a line, with what was written; nothing where a piece is none.
    fn groups(&self, node: &Node) -> Option<(String, Vec<Group>)> {
        match &node.value {
            Value::Whole(digits) => {
                let count = digits.parse().ok()?;
                let group = Group {
                    count: Some(count),
                    rate: None,
                    socket: None,
                    slot: None,
                    adapter: None,
                };
                Some((digits.clone(), vec![group]))
            }
            Value::Text { text, .. } => {
                let joined = text.replace(" + ", ",").replace(" and ", ",");
                let mut groups: Vec<Group> = Vec::new();
                for piece in joined.split([',', ';']).filter(|p| !p.trim().is_empty()) {
                    match self.group(piece) {
                        // "10 Gb/s, pcie 3 x4" goes on with the same port
                        Some(more) if more.rate.is_none() && more.count.is_none() => {
                            let last = groups.last_mut()?;
                            last.socket = more.socket.or(last.socket.take());
                            last.slot = more.slot.or(last.slot.take());
                            last.adapter = more.adapter.or(last.adapter.take());
                        }
                        Some(group) => groups.push(group),
                        None => return None,
                    }
                }
                (!groups.is_empty()).then(|| (text.clone(), groups))
            }
            Value::List(items) => {
                let mut said = Vec::new();
                let mut all = Vec::new();
                for (_, item) in items {
                    let (text, groups) = self.groups(item)?;
                    said.push(text);
                    all.extend(groups);
                }
                (!all.is_empty()).then(|| (said.join(", "), all))
            }
            _ => None,
        }
    }

    /// One group: `16 x 1 Gb/s`, `two 10 Gb/s sfp+`, `10 Gb/s, pcie 3 x4`.
    fn group(&self, piece: &str) -> Option<Group> {
        let mut group = Group {
            count: None,
            rate: None,
            socket: None,
            slot: None,
            adapter: None,
        };
        let mut rest = piece.trim();
        let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
        let behind = rest.get(digits..).unwrap_or_default().trim_start();
        if digits > 0
            && let Some(after) = behind
                .strip_prefix(['x', 'X', '×', '*'])
                .or_else(|| behind.strip_prefix("ports of"))
                .or_else(|| behind.strip_prefix("ports at"))
                .or_else(|| behind.strip_prefix("ports"))
        {
            group.count = Some(rest.get(..digits)?.parse().ok()?);
            rest = after.trim();
        }
        let mut words = Vec::new();
        for part in rest.split(',') {
            let part = part.trim();
            if let Some(found) = slot(part) {
                group.slot = Some(found);
            } else if plain(part).starts_with("usb") || plain(part).starts_with("tunnel") {
                group.adapter = Some(part.to_owned());
            } else {
                words.extend(part.split_whitespace());
            }
        }
        words.retain(|word| {
            let found = match meaning(self.catalogue, "socket", word) {
                Meaning::Same => (*word).to_owned(),
                Meaning::Means(found) => found,
                _ => return !matches!(*word, "port" | "ports"),
            };
            group.socket = Some(found);
            false
        });
        if !words.is_empty() {
            group.rate = Some(link_rate(&words.join(" "))?);
        }
        Some(group)
    }
}

impl Group {
    fn table(&self, rate: LinkRate, place: &Place) -> Table {
        let mut table = Table::default();
        table.entries.push(entry_at("rate", &exact(rate), place));
        for (key, value) in [
            ("socket", &self.socket),
            ("slot", &self.slot),
            ("adapter", &self.adapter),
        ] {
            if let Some(value) = value {
                table.entries.push(entry_at(key, value, place));
            }
        }
        if let Some(count) = self.count {
            let mut entry = entry_at("count", "", place);
            entry.node = Node {
                value: Value::Whole(count.to_string()),
                ..text_at("", place)
            };
            table.entries.push(entry);
        }
        table
    }
}

/// `port = { rate = "10 Gb/s" }` is one port that was given no name.
fn nameless(table: &mut Table, section: Section) {
    let Some(entry) = table.entries.iter_mut().find(|e| e.key == "port") else {
        return;
    };
    let Value::Table(fields) = &mut entry.node.value else {
        return;
    };
    let is_field = |e: &Entry| {
        Section::Port.field(&e.key).is_some() && !matches!(e.node.value, Value::Table(_))
    };
    if fields.entries.is_empty() || !fields.entries.iter().all(is_field) {
        return;
    }
    let inner = Node {
        place: entry.node.place.clone(),
        value: Value::Table(std::mem::take(fields)),
    };
    fields.entries.push(Entry {
        key: if section == Section::Switch {
            "any"
        } else {
            "a"
        }
        .to_owned(),
        place: entry.node.place.clone(),
        node: inner,
    });
}

/// Names for groups: by how fast they are.
fn names_for(groups: &[Group], section: Section) -> Vec<String> {
    let many: &[&str] = match groups.len() {
        1 if section == Section::Switch => &["any"],
        1 => &["a"],
        2 => &["fast", "slow"],
        3 => &["fast", "middle", "slow"],
        _ => &[],
    };
    let mut order: Vec<usize> = (0..groups.len()).collect();
    order.sort_by_key(|&i| std::cmp::Reverse(groups.get(i).and_then(|g| g.rate)));
    let mut names = vec![String::new(); groups.len()];
    for (rank, &i) in order.iter().enumerate() {
        let name = many
            .get(rank)
            .map_or_else(|| format!("group-{}", rank + 1), |n| (*n).to_owned());
        if let Some(slot) = names.get_mut(i) {
            *slot = name;
        }
    }
    names
}
