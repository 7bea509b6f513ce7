//! An offer in a few words: `10 Gb/s card for grade, 90 EUR`.

use super::Base;
use crate::catalogue::Catalogue;
use crate::quantity::{Information, LinkRate, Money, UnitFault, parse};
use crate::said::{cable, drives, link_rate, word};
use crate::site::{Machine, Site, SitePath, Switch};
use std::fmt::Write;

/// What can be said.
const FORMS: &str = "write what, for what, and the price: \"10 Gb/s card for grade, 90 EUR\"; what may be a card or \
    port of so many Gb/s, a cable, a disk, drives, memory or a processor";

/// Words that say what kind of part it is, beside its class or size.
const SAYING_WHAT: [&str; 8] = [
    "memory",
    "ram",
    "of",
    "processor",
    "cpu",
    "new",
    "disk",
    "drive",
];

/// Words before the name of what an offer is for.
const BEFORE_NAMES: [&str; 5] = ["for", "in", "at", "to", "under"];

/// What an offer in words sets in the site, as a file of offers would have it.
///
/// A card or port goes to the desk or NAS that is named; a port of a switch, with the desk that it is for, is
/// one more of that rate there, and the cord of the desk moves to it. Checked by
/// `offers_in_words_set_what_they_say`.
///
/// # Errors
/// Where the words name no part, no place of the site, or no price.
pub fn spoken(
    texts: &[String],
    currency: Option<&str>,
    base: &Base<'_>,
    catalogue: &Catalogue,
) -> Result<String, (usize, UnitFault)> {
    let mut out = String::new();
    let site = base
        .with(&[], catalogue)
        .map_err(|faults| (0, UnitFault::new(0..0, faults.to_string(), FORMS)))?;
    for (index, text) in texts.iter().enumerate() {
        let made = one(text, currency, &site, catalogue).map_err(|fault| (index, fault))?;
        let _ = writeln!(
            out,
            "[[offer]]\nid = \"offer-{}\"\nlabel = {}\nprice = \"{}\"\nset = [{}]\n",
            index + 1,
            quoted(&made.label),
            made.price,
            made.sets
                .iter()
                .map(|set| quoted(set))
                .collect::<Vec<_>>()
                .join(", ")
        );
    }
    Ok(out)
}

struct Made {
    label: String,
    price: Money,
    sets: Vec<String>,
}

fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => {
                out.push('\\');
                out.push(c);
            }
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

fn one(
    text: &str,
    currency: Option<&str>,
    site: &Site,
    catalogue: &Catalogue,
) -> Result<Made, UnitFault> {
    let whole = 0..text.len();
    let Some((words, price)) = text.rsplit_once(',') else {
        return Err(UnitFault::new(
            whole,
            "there is no price behind a comma",
            FORMS,
        ));
    };
    let price = Money::parse_in(price, currency).map_err(|f| f.shifted(words.len() + 1))?;
    let label = words.trim();
    let (what, names) = apart(label, site);
    let sets = sets(&what, &names, site, catalogue)
        .map_err(|found| UnitFault::new(0..words.len(), found, FORMS))?;
    Ok(Made {
        label: label.to_owned(),
        price,
        sets,
    })
}

/// Parts of a site that words name.
#[derive(Default)]
struct Names<'a> {
    desk: Option<&'a str>,
    nas: Option<&'a str>,
    switch: Option<&'a str>,
    array: Option<&'a str>,
}

/// Words of the part, and the places that are named behind them.
fn apart<'a>(label: &str, site: &'a Site) -> (String, Names<'a>) {
    let mut names = Names::default();
    let mut what: Vec<&str> = Vec::new();
    for said in label.split_whitespace() {
        let name = said.trim_matches([',', '.', ';']);
        let is = |known: &str| known.eq_ignore_ascii_case(name);
        let desk = site.desks.iter().map(|d| d.name.as_str()).find(|n| is(n));
        let nas = site.nas.iter().map(|n| n.name.as_str()).find(|n| is(n));
        let switch = site
            .switches
            .iter()
            .map(|s| s.name.as_str())
            .find(|n| is(n));
        let array = site.arrays.iter().map(|a| a.name.as_str()).find(|n| is(n));
        names.desk = names.desk.or(desk);
        names.nas = names.nas.or(nas);
        names.switch = names.switch.or(switch);
        names.array = names.array.or(array);
        if is("nas") && names.nas.is_none() {
            names.nas = match &site.nas[..] {
                [only] => Some(only.name.as_str()),
                _ => None,
            };
            continue;
        }
        let named = [desk, nas, switch, array].iter().any(Option::is_some);
        if !named && !BEFORE_NAMES.contains(&name) && !is("the") && !is("a") && !is("an") {
            what.push(name);
        }
    }
    (what.join(" "), names)
}

fn sets(
    what: &str,
    names: &Names<'_>,
    site: &Site,
    catalogue: &Catalogue,
) -> Result<Vec<String>, String> {
    if let Some(rate) = rate_in(what) {
        return ports(rate, names, site);
    }
    let bare = what
        .split_whitespace()
        .filter(|word| !SAYING_WHAT.contains(&word.to_lowercase().as_str()))
        .collect::<Vec<_>>()
        .join(" ");
    if let Some(name) = names.desk {
        if let Some(found) = cable(catalogue, what).cable {
            let run = site.runs.iter().find(|run| {
                [&run.from, &run.to]
                    .iter()
                    .any(|end| end.machine == Machine::Desk && end.name == name)
            });
            let run = run.ok_or_else(|| format!("{name} has no cable"))?;
            return Ok(vec![SitePath::Run(run.number, Some("cable")).set(found)]);
        }
        if let Some(class) = word(catalogue, "drive", &bare) {
            return Ok(vec![SitePath::desk(name, "disk").set(class)]);
        }
    }
    if let Some(name) = names.array
        && let Some(found) = drives(catalogue, what).long()
    {
        return Ok(vec![SitePath::array(name, "drives").set(found)]);
    }
    if let Some(name) = names.nas {
        if parse::<Information>(&bare).is_ok() {
            return Ok(vec![SitePath::nas(name, "memory").set(bare)]);
        }
        if let Some(class) = word(catalogue, "cpu", &bare) {
            return Ok(vec![SitePath::nas(name, "cpu").set(class)]);
        }
    }
    Err(format!(
        "'{what}' names no part that is known here, or not where it goes"
    ))
}

/// The rate among the words of a part.
fn rate_in(what: &str) -> Option<LinkRate> {
    let words: Vec<&str> = what.split_whitespace().collect();
    let pairs = words.windows(2).map(|pair| pair.join(" "));
    let singles = words.iter().map(|one| (*one).to_owned());
    pairs.chain(singles).find_map(|said| link_rate(&said))
}

fn ports(rate: LinkRate, names: &Names<'_>, site: &Site) -> Result<Vec<String>, String> {
    if let Some(name) = names.switch {
        let switch = site
            .switches
            .iter()
            .find(|s| s.name == name)
            .ok_or_else(|| format!("there is no switch {name}"))?;
        return Ok(at_switch(rate, switch, names.desk, site));
    }
    let (machine, name, ports) = match (names.desk, names.nas) {
        (Some(name), _) => {
            let desk = site.desks.iter().find(|d| d.name == name);
            (Machine::Desk, name, desk.map(|d| &d.ports))
        }
        (None, Some(name)) => (Machine::Nas, name, site.nas(name).map(|n| &n.ports)),
        (None, None) => {
            return Err("it is not said which desk, switch or NAS it is for".to_owned());
        }
    };
    let slowest = ports.and_then(|ports| ports.iter().min_by_key(|p| p.rate));
    let port = slowest.ok_or_else(|| format!("{name} has no port"))?;
    let place = SitePath::machine(machine, name);
    Ok(vec![format!("{place}.port.{}.rate=\"{rate}\"", port.name)])
}

/// One more port of a rate that the switch has, with the desk's cord in it; else its slowest ports made as
/// fast.
fn at_switch(rate: LinkRate, switch: &Switch, desk: Option<&str>, site: &Site) -> Vec<String> {
    let name = &switch.name;
    let Some(group) = switch.ports.iter().find(|p| p.rate == rate) else {
        let slowest = switch.ports.iter().min_by_key(|p| p.rate);
        let port = slowest.map_or("any", |p| p.name.as_str());
        let part = format!("port.{port}.rate");
        return vec![SitePath::Switch(name, Some(&part)).set(rate)];
    };
    let mut sets = vec![format!(
        "switch.{name}.port.{}.count={}",
        group.name,
        group.count + 1
    )];
    let cord = site.runs.iter().find_map(|run| {
        let ends = [("from", &run.from, &run.to), ("to", &run.to, &run.from)];
        ends.into_iter().find_map(|(key, here, there)| {
            let theirs = there.machine == Machine::Desk && Some(there.name.as_str()) == desk;
            let moves = here.machine == Machine::Switch && here.name == *name;
            (theirs && moves && here.port != group.name).then_some((run.number, key))
        })
    });
    if let Some((number, key)) = cord {
        sets.push(format!(
            "run.{number}.{key}=\"switch.{name}.{}\"",
            group.name
        ));
    }
    sets
}

#[cfg(test)]
mod tests {
    use super::*;

    const LANE: &str = narrows_data::SITES[0].1;

    fn said(text: &str) -> Result<String, String> {
        let base = Base {
            site: LANE.as_bytes(),
            tasks: None,
            edits: &[],
        };
        let catalogue = Catalogue::embedded().unwrap();
        spoken(&[text.to_owned()], Some("EUR"), &base, &catalogue)
            .map_err(|(_, fault)| fault.to_string())
    }

    #[test]
    fn offers_in_words_set_what_they_say() {
        for (text, set) in [
            (
                "10 Gb/s card for colour, 90 EUR",
                "desk.colour.port.a.rate=\\\"10 Gb/s\\\"",
            ),
            (
                "a 1 Gb/s switch under the stairs, 25",
                "switch.stairs.port.any.rate=\\\"1 Gb/s\\\"",
            ),
            ("cat 6a to cut-2, $140", "run.3.cable=\\\"cat6a\\\""),
            (
                "32 GB of memory for the NAS, 120 EUR",
                "nas.store.memory=\\\"32 GB\\\"",
            ),
            (
                "large processor for the NAS, 1450",
                "nas.store.cpu=\\\"large\\\"",
            ),
            (
                "8 x 10 TB for vault, 480 EUR",
                "array.vault.drives=\\\"8 x 10 TB\\\"",
            ),
        ] {
            let made = said(text).unwrap_or_else(|fault| panic!("{text}: {fault}"));
            assert!(made.contains(set), "{text}: {made}");
        }
    }

    #[test]
    fn a_port_in_the_closet_moves_the_cord_of_its_desk() {
        let made = said("10 Gb/s port at attic for colour, 110 EUR").unwrap();
        assert!(made.contains("switch.attic.port.fast.count="), "{made}");
        assert!(
            made.contains("run.4.to=\\\"switch.attic.fast\\\""),
            "{made}"
        );
    }

    #[test]
    fn what_is_no_offer_is_refused() {
        for text in [
            "10 Gb/s card for colour",
            "a sofa for colour, 90 EUR",
            "10 Gb/s card, 90 EUR",
            ", 5",
            "",
        ] {
            assert!(said(text).is_err(), "{text}");
        }
    }
}
