//! Rates of links and slots, as people say them.

use narrows_units::quantity::{LinkRate, parse};

/// Names that are rates without a number in front.
const NAMED: [(&str, u64); 5] = [
    ("gigabit", 1000),
    ("gigabit ethernet", 1000),
    ("gigabit lan", 1000),
    ("gig", 1000),
    ("fast ethernet", 100),
];

/// What may stand behind a rate without changing it.
const BEHIND: [&str; 6] = ["ethernet", "lan", "port", "ports", "link", "network"];

/// The rate of a link as somebody says it: `10GbE`, `2.5 gig`, `gigabit`, `1000BASE-T`. Nothing where it is
/// none, or where it counts bytes.
pub fn link_rate(said: &str) -> Option<LinkRate> {
    let said = said.trim();
    if let Ok(rate) = parse::<LinkRate>(said) {
        return Some(rate);
    }
    // a capital B behind a prefix counts bytes, unless it is the B of a name
    let counts_bytes = ["GB", "MB", "kB", "TB"].iter().any(|unit| {
        said.ends_with(unit)
            || said.contains(&format!("{unit}/"))
            || said.contains(&format!("{unit}p"))
    });
    if counts_bytes {
        return None;
    }
    let lower = said.to_lowercase().replace(',', ".");
    let mut words: Vec<&str> = lower.split_whitespace().collect();
    if let Some((_, rate)) = NAMED.iter().find(|(name, _)| *name == words.join(" ")) {
        return Some(LinkRate::from_megabits(*rate));
    }
    while words.len() > 1 && words.last().is_some_and(|w| BEHIND.contains(w)) {
        words.pop();
    }
    let joined = words.concat();
    let cut = joined
        .find(|c: char| !(c.is_ascii_digit() || c == '.'))
        .unwrap_or(joined.len());
    let (number, unit) = joined.split_at(cut);
    let number: f64 = number.parse().ok()?;
    let unit = unit.trim_start_matches('-');
    let megabits = match unit {
        "g" | "gb" | "gbe" | "ge" | "gbit" | "gbits" | "gig" | "gigs" | "gige" | "gigabit"
        | "gigabits" | "gb/s" | "gbit/s" | "gbits/s" | "gbps" | "gigabit/s" => number * 1000.0,
        "m" | "mb" | "mbe" | "mbit" | "mbits" | "meg" | "megs" | "megabit" | "megabits"
        | "mb/s" | "mbit/s" | "mbits/s" | "mbps" | "megabit/s" => number,
        // IEEE 802.3: the number of the name is megabits up to 1000, with a G behind it gigabits
        _ if unit.starts_with("gbase") => number * 1000.0,
        _ if unit.starts_with("base") => number,
        _ => return None,
    };
    (megabits > 0.0 && megabits < 1e7).then(|| LinkRate::from_megabits((megabits + 0.5) as u64))
}

/// A slot as somebody says it, in the long form `pcie 3 x4`.
pub fn slot(said: &str) -> Option<String> {
    let lower = said.to_lowercase().replace(['-', '_', ','], " ");
    let rest = ["pci express", "pcie", "pci e"]
        .iter()
        .find_map(|name| lower.trim_start().strip_prefix(name))?;
    let mut generation = None;
    let mut lanes = None;
    let spaced = rest
        .replace("gen", " ")
        .replace(" v", " ")
        .replace('x', " x ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let mut at = 0;
    while let Some(&word) = words.get(at) {
        let number = |w: Option<&&str>| w.and_then(|w| w.trim_end_matches(".0").parse::<u8>().ok());
        let next = number(words.get(at + 1));
        if word == "x" {
            lanes = lanes.or(Some(next?));
            at += 2;
        } else if let Some(n) = number(Some(&word)) {
            let behind = words.get(at + 1).copied();
            let times = behind == Some("x") && number(words.get(at + 2)).is_none();
            if times || behind == Some("lanes") || behind == Some("lane") {
                lanes = lanes.or(Some(n));
                at += 2;
            } else if generation.is_none() {
                generation = Some(n);
                at += 1;
            } else {
                return None;
            }
        } else if word == "slot" {
            at += 1;
        } else {
            return None;
        }
    }
    let (generation, lanes) = (generation?, lanes?);
    ((1..=5).contains(&generation) && [1, 2, 4, 8, 16].contains(&lanes))
        .then(|| format!("pcie {generation} x{lanes}"))
}
