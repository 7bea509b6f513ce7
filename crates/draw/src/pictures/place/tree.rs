use narrows_core::budget::{Answer, Flow};
use narrows_core::quantity::{LinkRate, Measure};
use narrows_core::site::{Array, End, Machine, Medium, Run, Site, SitePath};
use narrows_core::work::Direction;
use std::collections::{BTreeMap, VecDeque};

/// A machine with what hangs on it, seen from the drives.
pub(super) struct Node<'a> {
    pub machine: Machine,
    pub name: &'a str,
    /// The run towards the drives.
    pub run: Option<&'a Run>,
    pub children: Vec<Node<'a>>,
}

impl Node<'_> {
    /// How many switches lie one behind the other below this machine.
    pub(super) fn depth(&self) -> usize {
        let below = self.children.iter().map(Node::depth).max().unwrap_or(0);
        below + usize::from(self.machine == Machine::Switch)
    }
}

/// The place as it is connected.
pub(super) struct Tree<'a> {
    pub site: &'a Site,
    pub answer: &'a Answer,
    pub roots: Vec<Node<'a>>,
    /// Desks from which no run leads to a NAS.
    pub apart: Vec<&'a str>,
    /// Runs beside the tree: second ways.
    pub second: Vec<&'a Run>,
    narrow: BTreeMap<Spot, Vec<Held<'a>>>,
}

/// Where a narrow place is drawn.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Spot {
    Run(usize),
    Array(String),
    Machine(Machine, String),
}

/// Whom a place holds back, which way, and what it is called.
struct Held<'a> {
    desk: &'a str,
    direction: Direction,
    label: &'a str,
}

type Key<'a> = (Machine, &'a str);

fn key(end: &End) -> Key<'_> {
    (end.machine, end.name.as_str())
}

impl<'a> Tree<'a> {
    pub(super) fn of(site: &'a Site, answer: &'a Answer) -> Self {
        let mut parent: BTreeMap<Key<'a>, (Key<'a>, &'a Run)> = BTreeMap::new();
        let mut queue: VecDeque<Key<'a>> = site
            .nas
            .iter()
            .map(|nas| (Machine::Nas, nas.name.as_str()))
            .collect();
        let mut children: BTreeMap<Key<'a>, Vec<(Key<'a>, &'a Run)>> = BTreeMap::new();
        let mut used = Vec::new();
        while let Some(at) = queue.pop_front() {
            // nobody passes through a desk
            if at.0 == Machine::Desk {
                continue;
            }
            for run in &site.runs {
                let (from, to) = (key(&run.from), key(&run.to));
                let other = match (from == at, to == at) {
                    (true, false) => to,
                    (false, true) => from,
                    _ => continue,
                };
                if other.0 == Machine::Nas || parent.contains_key(&other) {
                    continue;
                }
                parent.insert(other, (at, run));
                children.entry(at).or_default().push((other, run));
                used.push(run.number);
                queue.push_back(other);
            }
        }
        let roots = site
            .nas
            .iter()
            .map(|nas| node((Machine::Nas, nas.name.as_str()), None, &children))
            .collect();
        let apart = site
            .desks
            .iter()
            .map(|desk| desk.name.as_str())
            .filter(|name| !parent.contains_key(&(Machine::Desk, name)))
            .collect();
        let second = site
            .runs
            .iter()
            .filter(|run| !used.contains(&run.number))
            .collect();
        Self {
            site,
            answer,
            roots,
            apart,
            second,
            narrow: narrow(site, answer),
        }
    }

    /// The arrays of a NAS.
    pub(super) fn arrays(&self, nas: &str) -> Vec<&'a Array> {
        self.site.arrays.iter().filter(|a| a.nas == nas).collect()
    }

    /// The first flow of a desk in a direction, and its position in the answer.
    pub(super) fn flow(&self, desk: &str, direction: Direction) -> Option<(usize, &'a Flow)> {
        let mut flows = self.answer.flows.iter().enumerate();
        flows.find(|(_, flow)| flow.desk == desk && flow.direction == direction)
    }

    /// The rate at which a run most likely comes up, with its place in the answer.
    pub(super) fn link(&self, run: &Run) -> Option<(LinkRate, String)> {
        let id = SitePath::run(run).to_string();
        self.answer.flows.iter().enumerate().find_map(|(i, flow)| {
            let (j, hop) = flow.hops.iter().enumerate().find(|(_, hop)| hop.id == id)?;
            let at = format!("budget/flows/{i}/hops/{j}/link_megabits_per_s");
            hop.link_megabits_per_s.map(|rate| (rate, at))
        })
    }

    /// What is said of a narrow place, without what it is; `None` where it is none.
    pub(super) fn narrow_for(&self, spot: &Spot) -> Option<String> {
        let held = self.narrow.get(spot)?;
        let mut desks: Vec<&str> = Vec::new();
        for one in held {
            if !desks.contains(&one.desk) {
                desks.push(one.desk);
            }
        }
        let words: Vec<String> = desks
            .iter()
            .map(|desk| {
                let ways: Vec<Direction> = held
                    .iter()
                    .filter(|one| one.desk == *desk)
                    .map(|one| one.direction)
                    .collect();
                match ways[..] {
                    [Direction::Read] => format!("{desk} (reading)"),
                    [Direction::Write] => format!("{desk} (writing)"),
                    _ => (*desk).to_owned(),
                }
            })
            .collect();
        if words.len() > MOST_NAMES {
            return Some(format!("narrowest for {} desks", words.len()));
        }
        Some(format!("narrowest for {}", crate::text::listed(&words)))
    }

    /// What is narrow at a machine, by the name of each part.
    pub(super) fn parts(&self, spot: &Spot) -> Vec<&'a str> {
        let mut found: Vec<&'a str> = Vec::new();
        for held in self.narrow.get(spot).into_iter().flatten() {
            if !found.contains(&held.label) {
                found.push(held.label);
            }
        }
        found
    }
}

/// More names are counted.
const MOST_NAMES: usize = 6;

fn node<'a>(
    at: Key<'a>,
    run: Option<&'a Run>,
    children: &BTreeMap<Key<'a>, Vec<(Key<'a>, &'a Run)>>,
) -> Node<'a> {
    Node {
        machine: at.0,
        name: at.1,
        run,
        children: children
            .get(&at)
            .into_iter()
            .flatten()
            .map(|(child, run)| node(*child, Some(run), children))
            .collect(),
    }
}

/// The place that is narrowest most often, of each flow of a desk.
fn narrow<'a>(site: &Site, answer: &'a Answer) -> BTreeMap<Spot, Vec<Held<'a>>> {
    let mut found: BTreeMap<Spot, Vec<Held<'a>>> = BTreeMap::new();
    for flow in answer.flows.iter().filter(|flow| !flow.desk.is_empty()) {
        let Some(limit) = flow.limits.first() else {
            continue;
        };
        for id in &limit.hops {
            let (Some(spot), Some(hop)) = (spot(site, id), flow.hop(id)) else {
                continue;
            };
            let held = found.entry(spot).or_default();
            let known = held
                .iter()
                .any(|one| one.desk == flow.desk && one.direction == flow.direction);
            if !known {
                held.push(Held {
                    desk: &flow.desk,
                    direction: flow.direction,
                    label: &hop.label,
                });
            }
        }
    }
    found
}

fn spot(site: &Site, id: &str) -> Option<Spot> {
    if let SitePath::Run(number, _) = SitePath::of(id) {
        return Some(Spot::Run(number));
    }
    let under = |word: &str, name: &str| {
        let path = format!("{word}.{name}");
        id == path
            || id
                .strip_prefix(&path)
                .is_some_and(|rest| rest.starts_with('.'))
    };
    if let Some(array) = site.arrays.iter().find(|a| under("array", &a.name)) {
        return Some(Spot::Array(array.name.clone()));
    }
    if let Some(nas) = site.nas.iter().find(|n| under("nas", &n.name)) {
        return Some(Spot::Machine(Machine::Nas, nas.name.clone()));
    }
    let desk = site.desks.iter().find(|d| under("desk", &d.name))?;
    Some(Spot::Machine(Machine::Desk, desk.name.clone()))
}

/// A run in a few words: which cable, how long.
pub(super) fn cable(run: &Run) -> String {
    match &run.medium {
        Medium::Copper {
            category, length, ..
        } => {
            if category.is_assumed() && length.is_assumed() {
                return "cable not known".to_owned();
            }
            let kind = match category.value.only() {
                Some(word) if !category.is_assumed() => word.as_str(),
                _ => "cable not known",
            };
            let far = if length.is_assumed() {
                "length not known".to_owned()
            } else {
                metres(&length.value)
            };
            format!("{kind}, {far}")
        }
        Medium::Clear { word, length, .. } => match length {
            Some(length) if !length.is_assumed() => format!("{word}, {}", metres(&length.value)),
            _ => word.clone(),
        },
        Medium::Wireless { .. } => "wireless".to_owned(),
    }
}

/// Whether a run has no cable.
pub(super) fn in_the_air(run: &Run) -> bool {
    matches!(run.medium, Medium::Wireless { .. })
}

fn metres<Q: Measure>(length: &narrows_core::spread::Spread<Q>) -> String {
    let (low, _, high) = length.law().knots();
    let digits = |metres: f64| {
        let rounded = (metres * 100.0).round() / 100.0;
        rounded.to_string()
    };
    if low < high {
        format!("{} to {} m", digits(low), digits(high))
    } else {
        format!("{} m", digits(low))
    }
}
