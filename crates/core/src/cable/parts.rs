//! Parts of a run: what each word, or each number with its unit, says.

use super::words::{Kind, Said, Words};
use crate::copper::{
    Bundle, Category, Celsius, Conductor, FibreGrade, Gauge, LengthBasis, Pairs, Screen,
    Surroundings,
};
use crate::nearest::nearest;
use crate::quantity::{Length, LinkRate, Power, parse};
use crate::site::{Fault, Place};
use crate::spread::{Bounds, Spread};
use std::ops::Range;

/// Words that begin or make a part, for suggestions.
const KNOWN: [&str; 54] = [
    "cat5",
    "cat5e",
    "cat6",
    "cat6a",
    "cat7",
    "cat8",
    "unknown",
    "fibre",
    "twinax",
    "om1",
    "om2",
    "om3",
    "om4",
    "om5",
    "os1",
    "os2",
    "measured",
    "labelled",
    "guessed",
    "tight",
    "loose",
    "apart",
    "alone",
    "untied",
    "neighbours",
    "connections",
    "splices",
    "cords",
    "awg",
    "certified",
    "uncertified",
    "bonded",
    "unchecked",
    "screened",
    "unscreened",
    "pairs",
    "copper",
    "copper-clad",
    "clad-aluminium",
    "module",
    "ports",
    "power",
    "class",
    "powered",
    "enclosed",
    "open",
    "m",
    "C",
    "W",
    "at",
    "for",
    "two",
    "four",
    "no",
];

/// Twisted pairs older than the categories that links are made for. Source: IEEE 802.3 clause 14 (10 Mb/s
/// over category 3) and clause 25 (100 Mb/s over category 5).
const TELEPHONE: [&str; 4] = ["cat1", "cat2", "cat3", "cat4"];

/// Words behind a count.
const COUNTED: [&str; 5] = ["neighbours", "connections", "splices", "powered", "pairs"];

/// What may be written, in one sentence.
pub(super) const GRAMMAR: &str = "a cable and a length, then any of these behind commas: measured, labelled or guessed; \
    tight, loose, apart or alone; 6 neighbours at 1 Gb/s; 4 connections; 3 m cords; 40 C; certified; \
    bonded or unchecked; two pairs; copper-clad; 24 awg; module 30 m; ports 10 Gb/s; power class 4";

/// How a cable lies; who says that it is tied means tightly.
fn lay(word: &str) -> Option<Bundle> {
    match word {
        "tied" => Some(Bundle::Tight),
        word => Bundle::from_word(word),
    }
}

impl Words<'_> {
    pub(super) fn part(&mut self, span: Range<usize>, said: &mut Said) {
        let word = self.at(&span).to_lowercase();
        if word.starts_with(|c: char| c.is_ascii_digit() || c == '-') {
            self.numbered(span, said);
            return;
        }
        let basis = |word: &str| match word {
            "measured" => Some(LengthBasis::Measured),
            "labelled" | "labeled" => Some(LengthBasis::Labelled),
            "guessed" | "about" | "paced" => Some(LengthBasis::Guessed),
            _ => None,
        };
        if let Some(category) = Category::from_word(&word) {
            self.keep(&mut said.kind, Kind::Pair(category), span, "the cable");
        } else if let Some(grade) = FibreGrade::from_word(&word) {
            match &mut said.kind {
                // "fibre om3": the second word says which
                Some((Kind::Fibre(known @ None), _)) => *known = Some(grade),
                slot => self.keep(slot, Kind::Fibre(Some(grade)), span, "the cable"),
            }
        } else if let Some(basis) = basis(&word) {
            self.keep(&mut said.basis, basis, span, "how the length is known");
        } else if let Some(bundle) = lay(&word) {
            if let Some(to) = self.next_of(&["for"])
                && let Some((length, at)) = self.following(&to, "how far it lies so")
            {
                self.keep(&mut said.beside_first, length, at, "how far it lies so");
            }
            self.keep(&mut said.bundle, bundle, span, "how it lies");
        } else {
            self.worded(&word, span, said);
        }
    }

    #[allow(clippy::too_many_lines)] // one arm a word
    fn worded(&mut self, word: &str, span: Range<usize>, said: &mut Said) {
        match word {
            "unknown" => self.keep(&mut said.kind, Kind::UnknownPair, span, "the cable"),
            "fibre" | "fiber" => self.keep(&mut said.kind, Kind::Fibre(None), span, "the cable"),
            "twinax" => self.keep(&mut said.kind, Kind::Twinax, span, "the cable"),
            "untied" => {
                if let Some((length, at)) = self.following(&span, "how far it is untied") {
                    self.keep(&mut said.untied, length, at, "how far it is untied");
                }
            }
            "no" | "without" => match self.next_of(&["neighbours", "neighbors", "neighbour"]) {
                Some(end) => said.neighbours.push((0, None, span.start..end.end)),
                None => self.stray(word, span),
            },
            "cords" | "cord" => self.cords(span, said),
            "certified" => self.keep(&mut said.certified, true, span, "the certificate"),
            "uncertified" => self.keep(&mut said.certified, false, span, "the certificate"),
            "bonded" | "unchecked" | "screened" | "unscreened" | "plain" => {
                self.next_of(&["screen"]);
                let screen = match word {
                    "bonded" => Screen::Bonded,
                    // nobody said that it is bonded
                    "unchecked" | "screened" => Screen::Unchecked,
                    _ => Screen::Plain,
                };
                self.keep(&mut said.screen, screen, span, "the screen");
            }
            "two" | "four" => match self.next_of(&["pairs"]) {
                Some(end) => {
                    let pairs = if word == "two" {
                        Pairs::Two
                    } else {
                        Pairs::Four
                    };
                    self.keep(&mut said.pairs, pairs, span.start..end.end, "the pairs");
                }
                None => self.stray(word, span),
            },
            "copper" => self.keep(
                &mut said.conductor,
                Conductor::Copper,
                span,
                "the conductor",
            ),
            "copper-clad" | "clad-aluminium" | "cca" => {
                let clad = Conductor::CladAluminium;
                self.keep(&mut said.conductor, clad, span, "the conductor");
            }
            "module" => {
                if let Some((reach, at)) = self.following(&span, "the reach of the module") {
                    self.keep(&mut said.module, reach, at, "the reach of the module");
                }
            }
            "ports" | "port" => {
                if let Some((rate, at)) = self.following(&span, "the rate of the ports") {
                    self.keep(&mut said.ports, rate, at, "the rate of the ports");
                }
            }
            "power" | "class" => self.power(word, span, said),
            "enclosed" => {
                let enclosed = Surroundings::Enclosed;
                self.keep(
                    &mut said.surroundings,
                    enclosed,
                    span,
                    "what is around the bundle",
                );
            }
            "open" => {
                let open = Surroundings::Open;
                self.keep(
                    &mut said.surroundings,
                    open,
                    span,
                    "what is around the bundle",
                );
            }
            _ => self.stray(word, span),
        }
    }

    /// `power class 4`, `power 20 W`, `class 4, 20 W`.
    fn power(&mut self, word: &str, span: Range<usize>, said: &mut Said) {
        if word == "power" && self.next_of(&["class"]).is_none() {
            if let Some((load, at)) = self.following(&span, "the load") {
                self.keep(&mut said.load, load, at, "the load");
            }
            return;
        }
        let number = self.peek();
        let class = number
            .as_ref()
            .and_then(|(word, _)| word.parse::<u8>().ok())
            .filter(|class| (1..=8).contains(class));
        match (class, number) {
            (Some(class), Some((_, at))) => {
                self.left.pop_front();
                self.keep(
                    &mut said.class,
                    class,
                    span.start..at.end,
                    "the power class",
                );
            }
            (_, number) => {
                let at = number.map_or(span, |(_, at)| at);
                let found = format!("'{}' is no power class", self.at(&at));
                if self.peek().is_some_and(|(_, next)| next == at) {
                    self.left.pop_front();
                }
                self.fault(at, "no such power class", found, "write class 1 to class 8");
            }
        }
    }

    /// `cords 3 m`, `cords 26 awg`, `cords 3 m 26 awg`; of fibre `cords om3`.
    fn cords(&mut self, span: Range<usize>, said: &mut Said) {
        let mut any = false;
        while let Some((word, first)) = self.peek() {
            if let Some(grade) = FibreGrade::from_word(&word) {
                any = true;
                self.left.pop_front();
                self.keep(&mut said.cord_grade, grade, first, "the grade of the cords");
                continue;
            }
            if !begins_with_a_digit(&word) {
                break;
            }
            any = true;
            self.left.pop_front();
            let at = self.amount(first);
            self.cord(at, said);
        }
        if !any {
            let found = "nothing follows 'cords'";
            self.fault(
                span,
                "cords of no length",
                found,
                "write cords 3 m, or cords 26 awg, or of fibre cords om3",
            );
        }
    }

    /// The unit of the number that stands behind the next word.
    fn number_after_next(&self) -> Option<String> {
        let word = |place: usize| {
            let span = self.left.get(place)?.clone()?;
            Some(self.at(&span).to_lowercase())
        };
        let number = word(1).filter(|word| begins_with_a_digit(word))?;
        let unit = number.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
        if unit.is_empty() {
            word(2)
        } else {
            Some(unit.to_owned())
        }
    }

    fn cord(&mut self, at: Range<usize>, said: &mut Said) {
        let text = self.at(&at).to_lowercase();
        if text.ends_with("awg") {
            if let Some(gauge) = self.gauge(&at) {
                self.keep(
                    &mut said.cord_gauge,
                    gauge,
                    at,
                    "the thickness of the cords",
                );
            }
            return;
        }
        match parse::<Length>(self.at(&at)) {
            Ok(length) => self.keep(&mut said.cords, length, at, "the length of the cords"),
            Err(fault) => self.unit(&at, "the length of the cords", fault),
        }
    }

    fn gauge(&mut self, at: &Range<usize>) -> Option<Gauge> {
        let text = self.at(at).to_lowercase();
        let number = text.trim_end_matches("awg").trim();
        let gauge = Gauge::from_word(number);
        if gauge.is_none() {
            let found = format!("'{number}' is no thickness of a data cable");
            self.fault(
                at.clone(),
                "no such gauge",
                found,
                "write 22, 23, 24, 26 or 28 awg",
            );
        }
        gauge
    }

    /// A part that begins with a number: its unit says what it is.
    fn numbered(&mut self, first: Range<usize>, said: &mut Said) {
        let at = self.amount(first);
        let text = self.at(&at);
        let end = text
            .find(|c: char| !(c.is_ascii_digit() || ".,-".contains(c)))
            .unwrap_or(text.len());
        let (number, unit) = text.split_at(end);
        let count = number.parse::<u32>().ok();
        match (unit.trim().to_lowercase().as_str(), count) {
            ("neighbours" | "neighbors" | "neighbour" | "neighbor", Some(count)) => {
                self.neighbours(count, at, said);
            }
            ("connections" | "connection" | "plugs", Some(count)) => {
                self.keep(
                    &mut said.connections,
                    count,
                    at,
                    "the number of connections",
                );
            }
            ("splices" | "splice", Some(count)) => {
                self.keep(&mut said.splices, count, at, "the number of splices");
            }
            ("powered", Some(count)) => {
                self.keep(&mut said.powered, count, at, "the number of powered cables");
            }
            ("pairs", Some(2)) => self.keep(&mut said.pairs, Pairs::Two, at, "the pairs"),
            ("pairs", Some(4)) => self.keep(&mut said.pairs, Pairs::Four, at, "the pairs"),
            ("awg", _) => {
                let Some(gauge) = self.gauge(&at) else { return };
                if let Some(end) = self.next_of(&["cords", "cord"]) {
                    let span = at.start..end.end;
                    let what = "the thickness of the cords";
                    self.keep(&mut said.cord_gauge, gauge, span, what);
                    if self
                        .peek()
                        .is_some_and(|(word, _)| begins_with_a_digit(&word))
                    {
                        self.cords(end, said);
                    }
                } else {
                    self.keep(&mut said.gauge, gauge, at, "the thickness of the cable");
                }
            }
            ("c" | "\u{b0}c" | "celsius", _) => match number.replace(',', ".").parse::<f64>() {
                Ok(celsius) => {
                    let warm = Celsius(celsius);
                    self.keep(&mut said.temperature, warm, at, "the temperature");
                }
                Err(_) => self.fault(at, "no temperature", "this is no number", "write 40 C"),
            },
            ("w", _) => match parse::<Power>(text) {
                Ok(load) => self.keep(&mut said.load, load, at, "the load"),
                Err(fault) => self.unit(&at, "the load", fault),
            },
            (unit, _) if COUNTED.contains(&unit) => {
                let whole = number.bytes().all(|b| b.is_ascii_digit());
                let found = match (unit, count, whole) {
                    ("pairs", Some(_), _) => "a link runs over two pairs or four".to_owned(),
                    (_, _, true) => format!("'{number}' is too large to mean anything"),
                    _ => format!("'{number}' is no whole number"),
                };
                let help = format!(
                    "write for example {} {unit}",
                    if unit == "pairs" { 4 } else { 6 }
                );
                self.fault(at, "a number that cannot be", found, help);
            }
            (unit, _) => {
                let near = nearest(unit, COUNTED.into_iter());
                match near.filter(|_| unit.len() > 4) {
                    Some(near) => {
                        let word = at.end - unit.len().min(at.end)..at.end;
                        self.unknown(unit, word, Some(near));
                    }
                    None => self.length(at, said),
                }
            }
        }
    }

    fn neighbours(&mut self, count: u32, mut at: Range<usize>, said: &mut Said) {
        let mut rate = None;
        if let Some(to) = self.next_of(&["at"]) {
            let Some((found, span)) = self.following(&to, "the rate of the neighbours") else {
                return;
            };
            at.end = span.end;
            rate = Some(found);
        }
        said.neighbours.push((count, rate, at));
    }

    /// A length, or the length of the cords where that word follows: `3 m cords`, `3 m cords 26 awg`;
    /// but in `31 m cords 3 m` the first is the run's own.
    fn length(&mut self, at: Range<usize>, said: &mut Said) {
        let told = self.number_after_next();
        let own = told.as_ref().is_some_and(|unit| unit != "awg");
        if !own && let Some(cords) = self.next_of(&["cords", "cord"]) {
            self.cord(at, said);
            if told.is_some() {
                self.cords(cords, said);
            }
            return;
        }
        match Spread::<Length>::parse(self.at(&at), Bounds::POSITIVE) {
            Ok(length) => self.keep(&mut said.length, length, at, "the length"),
            Err(_) if parse::<LinkRate>(self.at(&at)).is_ok() => {
                let title = "neither a length nor another part of a run";
                let found = "a rate; a run is judged at every rate";
                self.fault(
                    at,
                    title,
                    found,
                    "leave it out; --need \"10 Gb/s\" asks for one",
                );
            }
            Err(fault) => self.unit(&at, "neither a length nor another part of a run", fault),
        }
    }

    fn stray(&mut self, word: &str, span: Range<usize>) {
        if TELEPHONE.contains(&word) {
            let title = "a cable that no link of 100 Mb/s or more is made for";
            let found = format!("'{word}' is for telephones and 10 Mb/s");
            let help = "read the print on the jacket once more; if it says so, replace the cable";
            self.fault(span, title, found, help);
            return;
        }
        let near = nearest(word, KNOWN.into_iter().filter(|known| known.len() > 2));
        self.unknown(word, span, near);
    }

    /// A word that is not known, with the one that was probably meant.
    fn unknown(&mut self, word: &str, span: Range<usize>, near: Option<&str>) {
        let title = "a word that says nothing of a cable";
        let Some(near) = near else {
            // words side by side are one fault
            let before = self.faults.last().filter(|last| {
                last.title == title && last.replacement.is_none() && last.span.end + 1 == span.start
            });
            let (whole, joined) = match before.map(|last| last.span.start..span.end) {
                Some(whole) => (whole, true),
                None => (span, false),
            };
            let found = format!("'{}' is not known here", self.at(&whole));
            if let Some(last) = self.faults.last_mut().filter(|_| joined) {
                last.span = whole;
                last.found = found;
                return;
            }
            let span = whole;
            self.fault(span, title, found, format!("write {GRAMMAR}"));
            return;
        };
        let place = Place {
            source: self.source.clone(),
            span: span.clone(),
        };
        let found = format!("'{word}' is not known here; did you mean '{near}'?");
        let fault = Fault::new(place, title, found, format!("write '{near}'"));
        self.faults.push(fault.fixed(span, near));
    }
}

fn begins_with_a_digit(word: &str) -> bool {
    word.starts_with(|c: char| c.is_ascii_digit())
}
