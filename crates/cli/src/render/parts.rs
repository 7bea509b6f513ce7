//! A better part in words.

use super::lead::listed;
use super::places::Places;
use narrows_core::budget::{BetterPart, Part};
use narrows_core::site::{Machine, SitePath};

/// What takes the place of what is there.
pub(crate) fn part(better: &BetterPart, places: Places<'_>) -> String {
    match &better.part {
        Part::Ports { ends, rate } => {
            let mut names: Vec<String> = Vec::new();
            for end in ends {
                let name = match end.machine {
                    Machine::Nas => places.nas(&end.name),
                    _ => end.name.clone(),
                };
                if !names.contains(&name) {
                    names.push(name);
                }
            }
            let names: Vec<&str> = names.iter().map(String::as_str).collect();
            let many = if ends.len() == 1 && !ends.iter().any(|e| e.machine == Machine::Switch) {
                format!("a {rate} port")
            } else {
                format!("{rate} ports")
            };
            format!("{many} at {}", listed(&names))
        }
        Part::Cable { run, category } => format!(
            "{category} in place of the cable there ({})",
            places.name(&SitePath::Run(*run, None).to_string(), None)
        ),
        Part::Processor {
            machine,
            name,
            class,
        } => {
            let whose = match machine {
                Machine::Nas => places.nas(name),
                _ => name.clone(),
            };
            format!("a processor of class {class} in {whose}")
        }
        other => other.to_string(),
    }
}

/// The option that tries it.
pub(crate) fn options(better: &BetterPart) -> String {
    let sets: Vec<String> = better
        .sets
        .iter()
        .map(|set| format!("--set '{set}'"))
        .collect();
    sets.join(" ")
}
