//! One desk described in a few words instead of a file.

use super::fault::{Fault, FaultSource, Faults, Place};
use super::model::Assumption;
use crate::catalogue::Catalogue;
use crate::nearest::nearest;
use crate::quantity::{Information, LinkRate, UnitFault, parse};
use std::fmt::Write;
use std::ops::Range;

/// What a person said of each part; everything may be left out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Parts<'a> {
    /// The desk's own disk.
    pub disk: Option<&'a str>,
    /// The desk's port: its rate and, behind commas, slot or adapter.
    pub port: Option<&'a str>,
    /// The run from the desk: category, length, bundle.
    pub cable: Option<&'a str>,
    /// The rate of a switch in between.
    pub switch: Option<&'a str>,
    /// The NAS: processor, cores, rate, service and so on, with commas.
    pub nas: Option<&'a str>,
    /// The array: layout and drives.
    pub array: Option<&'a str>,
}

/// A site file made from a few words, and what had to stand in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Described {
    /// The site file that says the same.
    pub text: String,
    /// What nobody said and no catalogue row stands for.
    pub assumptions: Vec<Assumption>,
}

/// What stands in for a rate that nobody said.
const USUAL_RATE: &str = "1 Gb/s";

/// What stands in for an array that nobody described.
const USUAL_ARRAY: &str = "raid5 4 x unknown";

/// The site file that says the same.
///
/// # Errors
/// With the words that belong to no part.
pub fn describe(parts: &Parts<'_>, catalogue: &Catalogue) -> Result<Described, Faults> {
    let mut faults = Vec::new();
    let mut assumptions = Vec::new();
    let mut assume = |id: &str, value: &str, because: &str, find_out: &str| {
        assumptions.push(Assumption {
            id: id.to_owned(),
            value: value.to_owned(),
            because: because.to_owned(),
            find_out: find_out.to_owned(),
        });
    };
    let mut text = String::from("name = \"one desk\"\n");
    let words =
        |list: &str| -> Vec<String> { catalogue.words(list).map(|w| w.word.clone()).collect() };

    text.push_str("\n[array.array]\nnas = \"nas\"\n");
    let array = parts.array.unwrap_or_else(|| {
        assume(
            "array.array",
            USUAL_ARRAY,
            "judgement: a small NAS with four bays",
            "give --array: look in the storage settings of the NAS",
        );
        USUAL_ARRAY
    });
    let trimmed = array.trim();
    match trimmed.split_once(char::is_whitespace) {
        Some((layout, drives)) => {
            line(&mut text, "layout", layout);
            line(&mut text, "drives", drives.trim());
        }
        None => line(&mut text, "layout", trimmed),
    }

    text.push_str("\n[nas.nas]\n");
    let mut port = PortWords::default();
    if let Some(nas) = parts.nas {
        let (classes, services) = (words("cpu"), words("service"));
        let mut cpu = Vec::new();
        for (span, word) in pieces(nas, ',') {
            if classes.iter().any(|c| c == word) || word == "unknown" {
                cpu.insert(0, word);
            } else if word.ends_with("cores") || word.ends_with("core") {
                cpu.push(word);
            } else if services.iter().any(|s| s == word) {
                line(&mut text, "service", word);
            } else if word == "signed" || word == "plain" {
                line(&mut text, "signed", word);
            } else if word == "encrypted" {
                line(&mut text, "encrypted", "yes");
            } else if port.takes(word) {
            } else if parse::<Information>(word).is_ok() {
                line(&mut text, "memory", word);
            } else {
                let known = classes.iter().chain(&services).map(String::as_str);
                faults.push(stray(nas, span, word, known, "a processor class, cores, a rate, a service, signed or plain, memory, a slot or an adapter: \"small, 4 cores, 10 Gb/s, smb\""));
            }
        }
        if !cpu.is_empty() {
            line(&mut text, "cpu", &cpu.join(", "));
        }
    }
    let rate = |words: &str| {
        words
            .split(',')
            .map(str::trim)
            .find(|w| parse::<LinkRate>(w).is_ok())
            .map(str::to_owned)
    };
    let neighbour = parts
        .switch
        .and_then(rate)
        .or_else(|| parts.port.and_then(rate));
    if port.rate.is_none() {
        let from = if neighbour.is_some() {
            "the rate of what it is joined to"
        } else {
            "judgement: the usual port"
        };
        assume(
            "nas.nas.port.a.rate",
            neighbour.as_deref().unwrap_or(USUAL_RATE),
            from,
            "give it with --nas: look in the network settings of the NAS",
        );
    }
    port.write(&mut text, neighbour.as_deref().unwrap_or(USUAL_RATE));

    if let Some(switch) = parts.switch {
        text.push_str("\n[switch.switch]\n");
        let _ = writeln!(
            text,
            "port.any = {{ rate = {}, count = 2 }}",
            quoted(switch.trim())
        );
    }

    text.push_str("\n[desk.desk]\n");
    if let Some(disk) = parts.disk {
        line(&mut text, "disk", disk.trim());
    }
    let nas_rate = port.rate.map(str::to_owned);
    let mut port = PortWords::default();
    if let Some(words) = parts.port {
        for (span, word) in pieces(words, ',') {
            if !port.takes(word) {
                faults.push(stray(
                    words,
                    span,
                    word,
                    std::iter::empty(),
                    "a rate and, behind a comma, a slot or an adapter: \"10 Gb/s, pcie 3 x4\"",
                ));
            }
        }
    }
    let neighbour = parts.switch.and_then(rate).or(nas_rate);
    if port.rate.is_none() {
        let from = if neighbour.is_some() {
            "the rate of what it is joined to"
        } else {
            "judgement: the usual port"
        };
        assume(
            "desk.desk.port.a.rate",
            neighbour.as_deref().unwrap_or(USUAL_RATE),
            from,
            "give it with --port: look in the network settings of the desk",
        );
    }
    port.write(&mut text, neighbour.as_deref().unwrap_or(USUAL_RATE));
    if parts.switch.is_none() {
        assume(
            "switch",
            "none: a direct cable",
            "no switch was told",
            "give --switch with the rate of its ports",
        );
    }

    let far = if parts.switch.is_some() {
        "switch.switch"
    } else {
        "nas.nas"
    };
    let _ = write!(text, "\n[[run]]\nfrom = \"desk.desk\"\nto = \"{far}\"\n");
    if let Some(cable) = parts.cable {
        write_cable(&mut text, cable, &words("bundle"));
    }
    if parts.switch.is_some() {
        text.push_str("\n[[run]]\nfrom = \"nas.nas\"\nto = \"switch.switch\"\nlength = \"2 m\"\n");
    }
    if faults.is_empty() {
        Ok(Described { text, assumptions })
    } else {
        Err(Faults::ordered(faults))
    }
}

fn write_cable(text: &mut String, cable: &str, bundles: &[String]) {
    let mut length = Vec::new();
    for (i, (_, word)) in pieces(cable, ' ').into_iter().enumerate() {
        let word = word.trim_matches(',');
        if i == 0 {
            line(text, "cable", word);
        } else if bundles.iter().any(|b| b == word) {
            line(text, "bundle", word);
        } else if !word.is_empty() {
            length.push(word);
        }
    }
    if !length.is_empty() {
        line(text, "length", &length.join(" "));
    }
}

/// The words that make a port.
#[derive(Default)]
struct PortWords<'a> {
    rate: Option<&'a str>,
    slot: Option<&'a str>,
    adapter: Option<&'a str>,
}

impl<'a> PortWords<'a> {
    fn takes(&mut self, word: &'a str) -> bool {
        if word.starts_with("pcie") {
            self.slot = Some(word);
        } else if word.starts_with("usb") || word.starts_with("tunnel") {
            self.adapter = Some(word);
        } else if parse::<LinkRate>(word).is_ok() {
            self.rate = Some(word);
        } else {
            return false;
        }
        true
    }

    /// Without a rate of its own it takes the one that stands in.
    fn write(&self, text: &mut String, otherwise: &str) {
        let mut fields = Vec::new();
        for (key, value) in [
            ("rate", Some(self.rate.unwrap_or(otherwise))),
            ("slot", self.slot),
            ("adapter", self.adapter),
        ] {
            if let Some(value) = value {
                fields.push(format!("{key} = {}", quoted(value)));
            }
        }
        let _ = writeln!(text, "port.a = {{ {} }}", fields.join(", "));
    }
}

/// Pieces of a text between separators, with their places.
fn pieces(text: &str, separator: char) -> Vec<(Range<usize>, &str)> {
    let mut found = Vec::new();
    let mut at = 0;
    for piece in text.split(separator) {
        let lead = piece.len() - piece.trim_start().len();
        let word = piece.trim();
        if !word.is_empty() {
            found.push((at + lead..at + lead + word.len(), word));
        }
        at += piece.len() + separator.len_utf8();
    }
    found
}

fn stray<'a>(
    whole: &str,
    span: Range<usize>,
    word: &str,
    known: impl Iterator<Item = &'a str>,
    help: &str,
) -> Fault {
    let near = nearest(word, known)
        .map(|n| format!("; did you mean '{n}'?"))
        .unwrap_or_default();
    Fault::new(
        Place {
            source: FaultSource::Argument(whole.to_owned()),
            span,
        },
        "a word that belongs to no part",
        format!("'{word}' is not known here{near}"),
        format!("write {help}"),
    )
}

fn line(text: &mut String, key: &str, value: &str) {
    let _ = writeln!(text, "{key} = {}", quoted(value));
}

fn quoted(value: &str) -> String {
    let mut out = String::from("\"");
    for c in value.chars() {
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

/// A unit fault in a part of the command line.
pub fn in_argument(argument: &str, title: &str, fault: &UnitFault) -> Faults {
    Fault::new(
        Place {
            source: FaultSource::Argument(argument.to_owned()),
            span: fault.span.clone(),
        },
        title,
        fault.found.clone(),
        fault.help.clone(),
    )
    .into()
}
