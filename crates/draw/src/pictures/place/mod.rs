//! The place as a drawing: desks, ports, cables, switches, NAS and drives as they are connected.

mod tall;
mod tree;
mod wide;

use crate::number::Number;
use crate::picture::Picture;
use narrows_core::budget::Answer;
use narrows_core::site::{Machine, Run, Site};
use narrows_core::work::Direction;
use tree::{Node, Spot, Tree, cable};

/// The place across a page, desks at the left and drives at the right.
pub fn place(site: &Site, answer: &Answer) -> Picture {
    wide::draw(&Tree::of(site, answer))
}

/// The same for a narrow screen, drives at the top.
pub fn tall_place(site: &Site, answer: &Answer) -> Picture {
    tall::draw(&Tree::of(site, answer))
}

/// How thick a line is drawn: the faster, the thicker.
fn thickness(megabits: f64) -> f64 {
    match megabits {
        m if m <= 100.0 => 1.6,
        m if m <= 1_000.0 => 2.8,
        m if m <= 2_500.0 => 4.0,
        m if m <= 5_000.0 => 5.0,
        m if m <= 10_000.0 => 6.5,
        _ => 8.5,
    }
}

/// What a desk reads and writes, as numbers of the answer.
fn desk_rates(tree: &Tree<'_>, desk: &str) -> Vec<(&'static str, Number)> {
    [(Direction::Read, "reads"), (Direction::Write, "writes")]
        .into_iter()
        .filter_map(|(direction, word)| {
            let (i, flow) = tree.flow(desk, direction)?;
            let at = format!("budget/flows/{i}/megabytes_per_s/p50");
            Some((word, Number::rate(flow.megabytes_per_s.p50, at)))
        })
        .collect()
}

/// The rate of a run as a number of the answer, and how thick its line is.
fn link(tree: &Tree<'_>, run: &Run) -> (Option<Number>, f64) {
    match tree.link(run) {
        Some((rate, at)) => (
            Some(Number::new(rate.to_string(), at)),
            thickness(rate.megabits()),
        ),
        None => (None, thickness(1_000.0)),
    }
}

/// Drives of an array in a few words.
fn drives(array: &narrows_core::site::Array) -> String {
    let layout = array.layout();
    layout.map_or_else(|| array.level.to_string(), |layout| layout.to_string())
}

/// What is said of a narrow place.
fn told(tree: &Tree<'_>, spot: &Spot) -> Option<String> {
    let whom = tree.narrow_for(spot)?;
    Some(match spot {
        Spot::Run(_) | Spot::Array(_) => whom,
        Spot::Machine(..) => format!("{}: {whom}", tree.parts(spot).join(", ")),
    })
}

fn title(tree: &Tree<'_>) -> String {
    format!("{} as it is connected", tree.site.name)
}

/// The whole drawing in words, for those who do not see it.
fn words(tree: &Tree<'_>) -> String {
    let mut found = Vec::new();
    for root in &tree.roots {
        for array in tree.arrays(root.name) {
            let narrow = told(tree, &Spot::Array(array.name.clone()));
            found.push(sentence(
                &format!(
                    "The drives of {} ({}) are in {}",
                    array.name,
                    drives(array),
                    root.name
                ),
                narrow,
            ));
        }
        in_words(tree, root, &mut found);
    }
    for desk in &tree.apart {
        found.push(format!("{desk} has no path to the drives."));
    }
    found.join(" ")
}

fn sentence(what: &str, narrow: Option<String>) -> String {
    match narrow {
        Some(narrow) => format!("{what}; {narrow}."),
        None => format!("{what}."),
    }
}

fn in_words(tree: &Tree<'_>, node: &Node<'_>, found: &mut Vec<String>) {
    for child in &node.children {
        let Some(run) = child.run else { continue };
        let rate = link(tree, run).0;
        let at = rate.map_or(String::new(), |rate| format!(" at {}", rate.text()));
        let what = format!("{} is on {}{at} by {}", child.name, node.name, cable(run));
        let narrow = told(tree, &Spot::Run(run.number));
        let own = told(tree, &Spot::Machine(child.machine, child.name.to_owned()));
        let narrow = match (narrow, own) {
            (Some(a), Some(b)) => Some(format!("{a}; {b}")),
            (a, b) => a.or(b),
        };
        found.push(sentence(&what, narrow));
        if child.machine != Machine::Desk {
            in_words(tree, child, found);
        }
    }
}
