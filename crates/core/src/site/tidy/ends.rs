//! Ends of runs: machines by their names, and ports that are given out where a run names none.

use super::Pass;
use crate::quantity::{LinkRate, parse};
use crate::said::plain;
use crate::site::tree::{Node, Table, Value};
use std::collections::HashMap;

/// Names that a file gives.
#[derive(Debug, Default)]
pub(super) struct Names {
    pub(super) nas: Alike,
    pub(super) desks: Alike,
    pub(super) arrays: Alike,
}

impl Names {
    pub(super) fn of(root: &Table) -> Self {
        let of = |key: &str| match root.get(key).map(|e| &e.node.value) {
            Some(Value::Table(parts)) => Alike::of(parts.entries.iter().map(|e| e.key.as_str())),
            _ => Alike::default(),
        };
        Self {
            nas: of("nas"),
            desks: of("desk"),
            arrays: of("array"),
        }
    }
}

/// Names by what is left of them without their spelling; nothing where several are alike.
#[derive(Debug, Default)]
pub(super) struct Alike(HashMap<String, Option<String>>);

impl Alike {
    fn of<'n>(names: impl Iterator<Item = &'n str>) -> Self {
        let mut all: HashMap<String, Option<String>> = HashMap::new();
        for name in names {
            all.entry(plain(name))
                .and_modify(|one| *one = None)
                .or_insert_with(|| Some(name.to_owned()));
        }
        Self(all)
    }

    /// The one name that is the same in another spelling.
    pub(super) fn find(&self, said: &str) -> Option<String> {
        self.0.get(&plain(said)).cloned().flatten()
    }
}

/// A machine with its groups of ports.
struct Machine {
    kind: &'static str,
    name: String,
    /// Whether there is no other of its kind.
    only: bool,
    groups: Vec<Group>,
}

struct Group {
    name: String,
    rate: Option<LinkRate>,
    left: usize,
}

impl Machine {
    fn path(&self) -> String {
        format!("{}.{}", self.kind, self.name)
    }
}

/// Where an end lies: the machine, and its group of ports where that is told.
#[derive(Clone, Copy)]
struct Found {
    machine: usize,
    group: Option<usize>,
}

impl Pass<'_> {
    /// Gives every end of a run its full name, with a port that is free.
    pub(super) fn ends(&mut self, root: &mut Table) {
        let mut machines = machines(root);
        let Some(entry) = root.entries.iter_mut().find(|e| e.key == "run") else {
            return;
        };
        let Value::List(items) = &mut entry.node.value else {
            return;
        };
        let spellings = Spellings::of(&machines);
        let mut found: Vec<[Option<Found>; 2]> = Vec::new();
        for (_, node) in items.iter() {
            let ends = ["from", "to"].map(|key| {
                let found = text_of(node, key).and_then(|text| spellings.find(text));
                if let Some(Found {
                    machine,
                    group: Some(group),
                }) = found
                {
                    take(&mut machines, machine, group);
                }
                found
            });
            found.push(ends);
        }
        for ((number, node), ends) in items.iter_mut().zip(&mut found) {
            for side in 0..2 {
                let [Some(end), other] = (if side == 0 {
                    [ends[0], ends[1]]
                } else {
                    [ends[1], ends[0]]
                }) else {
                    continue;
                };
                let mut end = end;
                if end.group.is_none() {
                    let far = other.and_then(|o| rate_of(&machines, o));
                    end.group = free(&machines, end.machine, far);
                    if let Some(group) = end.group {
                        take(&mut machines, end.machine, group);
                    }
                }
                if let Some(kept) = ends.get_mut(side) {
                    *kept = Some(end);
                }
                let key = if side == 0 { "from" } else { "to" };
                self.rewrite(node, &format!("run.{number}.{key}"), key, &machines, end);
            }
        }
    }

    fn rewrite(&mut self, node: &mut Node, id: &str, key: &str, machines: &[Machine], end: Found) {
        let Some(machine) = machines.get(end.machine) else {
            return;
        };
        let group = end.group.and_then(|g| machine.groups.get(g));
        let several = machine.groups.len() > 1;
        let said = text_of(node, key).unwrap_or_default().to_owned();
        let meant = match group {
            // a single port may go without its name
            Some(group)
                if several || said.trim() == format!("{}.{}", machine.path(), group.name) =>
            {
                format!("{}.{}", machine.path(), group.name)
            }
            _ => machine.path(),
        };
        if meant == said.trim() {
            return;
        }
        self.understood(id, &said, &meant);
        if let Value::Table(table) = &mut node.value
            && let Some(entry) = table.entries.iter_mut().find(|e| e.key == key)
        {
            entry.node.value = Value::Text {
                text: meant,
                first: None,
            };
        }
    }
}

fn text_of<'n>(node: &'n Node, key: &str) -> Option<&'n str> {
    let Value::Table(table) = &node.value else {
        return None;
    };
    match &table.get(key)?.node.value {
        Value::Text { text, .. } => Some(text),
        _ => None,
    }
}

fn machines(root: &Table) -> Vec<Machine> {
    let mut all = Vec::new();
    for kind in ["nas", "switch", "desk"] {
        let Some(Value::Table(parts)) = root.get(kind).map(|e| &e.node.value) else {
            continue;
        };
        for part in &parts.entries {
            let mut groups = Vec::new();
            if let Value::Table(table) = &part.node.value
                && let Some(Value::Table(ports)) = table.get("port").map(|e| &e.node.value)
            {
                for port in &ports.entries {
                    groups.push(group(&port.key, &port.node));
                }
            }
            all.push(Machine {
                kind,
                name: part.key.clone(),
                only: parts.entries.len() == 1,
                groups,
            });
        }
    }
    all
}

fn group(name: &str, node: &Node) -> Group {
    let Value::Table(table) = &node.value else {
        return Group {
            name: name.to_owned(),
            rate: None,
            left: 1,
        };
    };
    let text = |key: &str| match table.get(key).map(|e| &e.node.value) {
        Some(Value::Text { text, .. }) => Some(text.as_str()),
        Some(Value::Whole(digits)) => Some(digits.as_str()),
        _ => None,
    };
    Group {
        name: name.to_owned(),
        rate: text("rate").and_then(|t| parse::<LinkRate>(t).ok()),
        left: text("count")
            .and_then(|t| t.trim().parse().ok())
            .unwrap_or(1),
    }
}

/// Every way to name a machine, or a port of it, without its spelling.
struct Spellings(HashMap<String, Vec<(u8, Found)>>);

impl Spellings {
    fn of(machines: &[Machine]) -> Self {
        let mut all: HashMap<String, Vec<(u8, Found)>> = HashMap::new();
        for (at, machine) in machines.iter().enumerate() {
            // the exact path first, so that a machine that is called like a kind stays itself
            let mut names = vec![(0, plain(&machine.path())), (1, plain(&machine.name))];
            if machine.only {
                names.push((2, machine.kind.to_owned()));
            }
            for (rank, name) in names {
                for (g, group) in machine.groups.iter().enumerate() {
                    let end = Found {
                        machine: at,
                        group: Some(g),
                    };
                    let spelt = format!("{name}{}", plain(&group.name));
                    all.entry(spelt).or_default().push((rank, end));
                }
                let group = (machine.groups.len() == 1).then_some(0);
                let end = Found { machine: at, group };
                all.entry(name).or_default().push((rank, end));
            }
        }
        Self(all)
    }

    /// The one machine, and port, that a text names.
    fn find(&self, text: &str) -> Option<Found> {
        let found = self.0.get(&plain(text))?;
        let best = found.iter().map(|(rank, _)| *rank).min()?;
        let mut of_best = found.iter().filter(|(rank, _)| *rank == best);
        let (_, first) = of_best.next()?;
        of_best.next().is_none().then_some(*first)
    }
}

fn take(machines: &mut [Machine], machine: usize, group: usize) {
    if let Some(group) = machines
        .get_mut(machine)
        .and_then(|m| m.groups.get_mut(group))
    {
        group.left = group.left.saturating_sub(1);
    }
}

fn rate_of(machines: &[Machine], end: Found) -> Option<LinkRate> {
    let machine = machines.get(end.machine)?;
    match end.group {
        Some(group) => machine.groups.get(group)?.rate,
        None => machine.groups.iter().filter_map(|g| g.rate).max(),
    }
}

/// A group with a free port: the slowest that is as fast as the far end, else the fastest.
fn free(machines: &[Machine], machine: usize, far: Option<LinkRate>) -> Option<usize> {
    let groups = &machines.get(machine)?.groups;
    let with_room = || groups.iter().enumerate().filter(|(_, g)| g.left > 0);
    let enough = far.and_then(|far| {
        with_room()
            .filter(|(_, g)| g.rate.is_some_and(|r| r >= far))
            .min_by_key(|(_, g)| g.rate)
    });
    enough
        .or_else(|| with_room().max_by_key(|(_, g)| g.rate))
        .map(|(at, _)| at)
}
