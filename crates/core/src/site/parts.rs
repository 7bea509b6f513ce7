//! One desk described in a few words instead of a file.

use super::fault::{Fault, FaultSource, Faults, Place};
use super::model::Assumption;
use crate::catalogue::Catalogue;
use crate::nearest::nearest;
use crate::quantity::{Information, UnitFault, parse};
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
    let mut writer = Writer {
        text: String::from("name = \"one desk\"\n"),
        faults: Vec::new(),
        assumptions: Vec::new(),
    };
    writer.array(parts.array, catalogue);
    let nas_port = writer.nas(parts.nas, catalogue);
    let desk_port = writer.port_words(parts.port);
    let switch_rate = parts.switch.and_then(rate_in);
    let nas_rate = nas_port.rate.map(str::to_owned);
    let near = switch_rate
        .clone()
        .or_else(|| desk_port.rate.map(str::to_owned));
    writer.port("nas.nas", &nas_port, near.as_deref(), "--nas");
    if let Some(switch) = parts.switch {
        writer.text.push_str("\n[switch.switch]\n");
        let rate = quoted(switch.trim());
        let _ = writeln!(writer.text, "port.any = {{ rate = {rate}, count = 2 }}");
    } else {
        writer.assume(
            "switch",
            "none: a direct cable",
            "no switch was told",
            "give --switch with the rate of its ports",
        );
    }
    writer.text.push_str("\n[desk.desk]\n");
    if let Some(disk) = parts.disk {
        line(&mut writer.text, "disk", disk.trim());
    }
    writer.port(
        "desk.desk",
        &desk_port,
        switch_rate.or(nas_rate).as_deref(),
        "--port",
    );
    writer.runs(parts, catalogue);
    if writer.faults.is_empty() {
        Ok(Described {
            text: writer.text,
            assumptions: writer.assumptions,
        })
    } else {
        Err(Faults::ordered(writer.faults))
    }
}

/// The first rate among words with commas.
fn rate_in(words: &str) -> Option<String> {
    words
        .split(',')
        .map(str::trim)
        .find(|w| crate::said::link_rate(w).is_some())
        .map(str::to_owned)
}

struct Writer {
    text: String,
    faults: Vec<Fault>,
    assumptions: Vec<Assumption>,
}

impl Writer {
    fn assume(&mut self, id: &str, value: &str, because: &str, find_out: &str) {
        self.assumptions.push(Assumption {
            id: id.to_owned(),
            value: value.to_owned(),
            because: because.to_owned(),
            find_out: find_out.to_owned(),
        });
    }

    fn array(&mut self, array: Option<&str>, catalogue: &Catalogue) {
        self.text.push_str("\n[array.array]\nnas = \"nas\"\n");
        let array = array.unwrap_or_else(|| {
            self.assume(
                "array.array",
                USUAL_ARRAY,
                "judgement: a small NAS with four bays",
                "give --array: look in the storage settings of the NAS",
            );
            USUAL_ARRAY
        });
        let trimmed = array.trim();
        let heard = crate::said::drives(catalogue, trimmed);
        if let (Some(level), Some(drives), true, None) = (
            &heard.level,
            heard.long(),
            heard.stray.is_empty(),
            heard.spares,
        ) {
            line(&mut self.text, "layout", level);
            line(&mut self.text, "drives", &drives);
            return;
        }
        match trimmed.split_once(char::is_whitespace) {
            Some((layout, drives)) => {
                line(&mut self.text, "layout", layout);
                line(&mut self.text, "drives", drives.trim());
            }
            None => line(&mut self.text, "layout", trimmed),
        }
    }

    /// The NAS without its port, whose words it hands back.
    fn nas<'a>(&mut self, nas: Option<&'a str>, catalogue: &Catalogue) -> PortWords<'a> {
        self.text.push_str("\n[nas.nas]\n");
        let mut port = PortWords::default();
        let words =
            |list: &str| -> Vec<String> { catalogue.words(list).map(|w| w.word.clone()).collect() };
        let (classes, services) = (words("cpu"), words("service"));
        let mut cpu: Vec<String> = Vec::new();
        let nas = nas.unwrap_or_default();
        let means = |list: &str, word: &str| crate::said::word(catalogue, list, word);
        for (span, word) in pieces(nas, ',') {
            if word == "unknown" {
                cpu.insert(0, word.to_owned());
            } else if let Some(service) = means("service", word) {
                line(&mut self.text, "service", &service);
            } else if word.eq_ignore_ascii_case("encrypted") {
                line(&mut self.text, "encrypted", "yes");
            } else if let Some(signed) = means("signed", word) {
                line(&mut self.text, "signed", &signed);
            } else if let Some(processor) = means("cpu", word) {
                cpu.insert(0, processor);
            } else if word.ends_with("cores") || word.ends_with("core") {
                cpu.push(word.to_owned());
            } else if port.takes(word) {
                // kept in the port
            } else if parse::<Information>(word).is_ok() {
                line(&mut self.text, "memory", word);
            } else if crate::said::cpu(catalogue, word).is_some() {
                cpu.push(word.to_owned());
            } else {
                let known = classes.iter().chain(&services).map(String::as_str);
                self.faults.push(stray(nas, span, word, known, NAS_WORDS));
            }
        }
        if !cpu.is_empty() {
            line(&mut self.text, "cpu", &cpu.join(", "));
        }
        port
    }

    fn port_words<'a>(&mut self, words: Option<&'a str>) -> PortWords<'a> {
        let mut port = PortWords::default();
        let words = words.unwrap_or_default();
        for (span, word) in pieces(words, ',') {
            if !port.takes(word) {
                self.faults
                    .push(stray(words, span, word, std::iter::empty(), PORT_WORDS));
            }
        }
        port
    }

    fn port(&mut self, machine: &str, port: &PortWords<'_>, near: Option<&str>, option: &str) {
        let otherwise = near.unwrap_or(USUAL_RATE);
        if port.rate.is_none() {
            self.assume(
                &format!("{machine}.port.a.rate"),
                otherwise,
                if near.is_some() {
                    "the rate of what it is joined to"
                } else {
                    "judgement: the usual port"
                },
                &format!("give it with {option}: look in the network settings"),
            );
        }
        port.write(&mut self.text, otherwise);
    }

    fn runs(&mut self, parts: &Parts<'_>, catalogue: &Catalogue) {
        let far = if parts.switch.is_some() {
            "switch.switch"
        } else {
            "nas.nas"
        };
        let _ = write!(
            self.text,
            "\n[[run]]\nfrom = \"desk.desk\"\nto = \"{far}\"\n"
        );
        if let Some(cable) = parts.cable {
            write_cable(&mut self.text, cable, catalogue);
        }
        if parts.switch.is_some() {
            self.text.push_str(
                "\n[[run]]\nfrom = \"nas.nas\"\nto = \"switch.switch\"\nlength = \"2 m\"\n",
            );
            self.assume(
                "run.2.length",
                "2 m",
                "judgement: NAS and switch stand together",
                "describe the site in a file",
            );
        }
    }
}

const NAS_WORDS: &str = "a processor class, cores, a rate, a service, signed or plain, memory, \
    a slot or an adapter: \"small, 4 cores, 10 Gb/s, smb\"";
const PORT_WORDS: &str = "a rate and, behind a comma, a slot or an adapter: \"10 Gb/s, pcie 3 x4\"";

/// A run in words; what means nothing stands as it was said, for the reader to refuse.
fn write_cable(text: &mut String, said: &str, catalogue: &Catalogue) {
    let heard = crate::said::cable(catalogue, said);
    if !heard.stray.is_empty() {
        let (word, rest) = said.trim().split_once(' ').unwrap_or((said.trim(), ""));
        line(text, "cable", word.trim_matches(','));
        if !rest.trim().is_empty() {
            line(text, "length", rest.trim());
        }
        return;
    }
    for (key, value) in [
        ("cable", &heard.cable),
        ("length", &heard.length),
        ("bundle", &heard.bundle),
        ("grade", &heard.grade),
    ] {
        if let Some(value) = value {
            line(text, key, value);
        }
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
        let lower = word.to_lowercase();
        if lower.starts_with("pci") {
            self.slot = Some(word);
        } else if lower.starts_with("usb") || lower.starts_with("tunnel") {
            self.adapter = Some(word);
        } else if crate::said::link_rate(word).is_some() {
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
