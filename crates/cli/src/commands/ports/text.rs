use crate::commands::cable::words::chance;
use crate::render::lead::{Lead, listed};
use crate::render::progress::stopped_after;
use crate::render::prose::{about, counted, item, paragraph};
use crate::render::unknowns;
use narrows_core::plan::ports::{Answer, Carried, Jack, Patch, SwitchPort, Traced};
use narrows_core::quantity::{LinkRate, Ratio, ratio, units};
use narrows_core::site::Assumption;
use std::fmt::Write;

/// What belongs under every answer.
pub(crate) const CAUTIONS: [&str; 3] = [
    "Never put a tone on a live port or on one that gives power: unplug both ends first.",
    "An estimate: only a certification of the run, or error counters under load, proves a rate.",
    "A cord in the wrong port takes somebody off the network: patch when nobody records, renders \
     or copies.",
];

/// An answer with what it is shown with.
pub(crate) struct Shown<'a> {
    pub answer: &'a Answer,
    pub jacks: &'a [Jack],
    pub assumptions: &'a [Assumption],
    pub path: &'a str,
    pub width: usize,
}

/// A port as people say it.
pub(crate) fn port_name(port: &SwitchPort) -> String {
    format!("{} {}", port.switch, port.port)
}

impl Shown<'_> {
    pub(super) fn push(&self, out: &mut String, text: &str) {
        let _ = writeln!(out, "{}", paragraph(text, self.width, 0));
    }

    pub(crate) fn text(&self) -> String {
        let mut out = String::new();
        out.push_str(&self.lead().text(self.width));
        let _ = writeln!(out, "\nPatch list for {}:", self.answer.site);
        out.push_str(&self.listed_as(["from", "to"]).text(self.width));
        self.push(
            &mut out,
            "port: any of that name; * another one than today. link: the likeliest rate it comes up \
             with, and in how many of 100 cases. MB/s: reading, alone; 1 in 20 is slower than from, \
             1 in 20 faster than to.",
        );
        self.streams(&mut out);
        self.waits(&mut out);
        self.verify(&mut out);
        self.rest(&mut out);
        out.push('\n');
        for caution in CAUTIONS {
            self.push(&mut out, caution);
        }
        out
    }

    /// Who gets the fastest ports, what that comes to, and what to do.
    fn lead(&self) -> Lead {
        let answer = self.answer;
        let without: Vec<&str> = names(&answer.patches, |p| p.port.is_none());
        let mut what = self.who_gets_the_fast_ones();
        let short: Vec<&Carried> = answer.streams.iter().filter(|s| !s.met).collect();
        if !without.is_empty() {
            let _ = write!(what, "; there is no port for {}", listed(&without));
        }
        let mut why = None;
        if let Some(first) = short.first() {
            let mut desks: Vec<&str> = short.iter().map(|s| s.desk.as_str()).collect();
            desks.dedup();
            let streams = if short.len() == 1 {
                "stream"
            } else {
                "streams"
            };
            what = format!(
                "No patching found carries the {streams} of {}. {what}",
                listed(&desks)
            );
            why = Some(if first.full.is_empty() {
                "its own link carries too little.".to_owned()
            } else {
                format!("{} is full.", first.full.join(", "))
            });
        } else if !answer.streams.is_empty() {
            let _ = write!(
                what,
                "; {} passes the links",
                if answer.streams.len() == 1 {
                    "the one stream".to_owned()
                } else {
                    format!("each of the {} streams", answer.streams.len())
                }
            );
        }
        if let (Some(before), Some(after)) = answer.waits() {
            let all = counted(answer.patches.len(), "desk", "desks");
            let saved = before - after;
            let today = if saved.get::<units::time::second>() >= 1.0 {
                format!("{} today", about(before))
            } else {
                "as today".to_owned()
            };
            let _ = write!(
                what,
                "; {all} wait {} a day for data, {today}",
                about(after)
            );
        }
        what.push('.');
        what.insert_str(
            0,
            &stopped_after(answer.stopped, "desks; the others keep their port"),
        );
        Lead {
            what,
            why: why.or_else(|| self.waits_longest()),
            next: Some(self.next_step()),
        }
    }

    /// The desk that waits longest, and at what link.
    fn waits_longest(&self) -> Option<String> {
        let minutes = |p: &Patch| p.waits.map_or(0.0, |t| t.get::<units::time::minute>());
        let patches = || self.answer.patches.iter();
        let most = patches().max_by(|a, b| minutes(a).total_cmp(&minutes(b)))?;
        let (longest, all) = (minutes(most), patches().map(minutes).sum::<f64>());
        if longest <= 0.0 || longest * 2.0 < all / patches().count().max(1) as f64 {
            return None;
        }
        let alike = names(&self.answer.patches, |p| {
            (minutes(p) - longest).abs() < longest * 0.02
        });
        let (link, _) = most.link()?;
        let verb = if alike.len() == 1 { "waits" } else { "wait" };
        Some(format!(
            "{} {verb} longest, {} a day at {link}.",
            listed(&alike),
            most.waits.map_or_else(String::new, about)
        ))
    }

    /// What a hand does next.
    fn next_step(&self) -> String {
        let moved = |p: &Patch| p.port.is_some() && !p.stays();
        let moves = self.answer.patches.iter().filter(|p| moved(p)).count();
        if moves > 0 {
            return format!(
                "move {}, marked *, when nobody records, renders or copies (2 min each).",
                counted(moves, "cord", "cords")
            );
        }
        let doubtful = self
            .answer
            .patches
            .iter()
            .filter_map(|p| Some((p, p.link()?)))
            .find(|(_, (_, sure))| one(*sure) < 0.9);
        match doubtful {
            Some((patch, (link, sure))) => format!(
                "nothing has to be patched; read at both ends of {} ({}) whether it links at {link} (2 min): \
                 it does in {} of 100 cases.",
                patch.jack,
                patch.desk,
                of_hundred(sure)
            ),
            None => "nothing has to be patched.".to_owned(),
        }
    }

    /// Desks at the fastest ports.
    fn who_gets_the_fast_ones(&self) -> String {
        let ports = self.answer.patches.iter().filter_map(|p| p.port.as_ref());
        let Some(fastest) = ports.map(|p| p.rate).max() else {
            return "No desk gets a port".to_owned();
        };
        let at = |patch: &Patch| patch.port.as_ref().is_some_and(|p| p.rate == fastest);
        let names = names(&self.answer.patches, at);
        let verb = if names.len() == 1 { "gets" } else { "get" };
        let free = self.answer.free.iter().filter(|(p, _)| p.rate == fastest);
        let free: usize = free.map(|(_, count)| count).sum();
        let all = names.len() + free;
        let which = match (names.len(), all) {
            (1, 1) => format!("the {fastest} port"),
            (n, all) if n == all => format!("the {all} ports of {fastest}"),
            (n, all) => format!("{n} of {all} ports of {fastest}"),
        };
        format!("{} {verb} {which}", listed(&names))
    }

    fn verify(&self, out: &mut String) {
        let unsure: Vec<&Patch> = self
            .answer
            .patches
            .iter()
            .filter(|p| p.listed && p.traced != Traced::Verified)
            .collect();
        let unlisted = names(&self.answer.patches, |p| !p.listed);
        let doubtful: Vec<&Patch> = self
            .answer
            .patches
            .iter()
            .filter(|p| p.link().is_some_and(|(_, sure)| one(sure) < 0.9))
            .collect();
        let dead: Vec<&Patch> = self
            .answer
            .patches
            .iter()
            .filter(|p| may_be_dead(p))
            .collect();
        if unsure.is_empty() && doubtful.is_empty() && unlisted.is_empty() && dead.is_empty() {
            return;
        }
        out.push_str("\nVerify:\n");
        for patch in dead {
            let text = format!(
                "{}, {}: its cable holds a rate that both ends know with a chance of {} %; the MB/s are \
                 those of a link that comes up. Plug it in and look before you count on it.",
                patch.jack,
                patch.desk,
                patch.holds.map_or(String::new(), of_hundred)
            );
            let _ = writeln!(out, "{}", item(&text, self.width));
        }
        for patch in unsure {
            let found = match patch.traced {
                Traced::Once => "traced once: trace it another way",
                _ => "nobody traced it: trace it in two ways",
            };
            let panel = patch.panel.as_deref().unwrap_or("its panel port");
            let text = format!("{} to {panel}, {}: {found}.", patch.jack, patch.desk);
            let _ = writeln!(out, "{}", item(&text, self.width));
        }
        for patch in doubtful {
            let links: Vec<String> = patch
                .links
                .iter()
                .rev()
                .map(|(link, sure)| format!("{link} {} %", of_hundred(*sure)))
                .collect();
            let text = format!(
                "{}, {}: {}. Read the negotiated rate and the error counters of the port afterwards.",
                patch.jack,
                patch.desk,
                links.join(", ")
            );
            let _ = writeln!(out, "{}", item(&text, self.width));
        }
        if !unlisted.is_empty() {
            let text = format!(
                "{} in no list of jacks, so {} where the site has {}: --jacks FILE lists jack, panel port, desk \
                 and cable.",
                is_or_are(&unlisted),
                if unlisted.len() == 1 {
                    "it stays on the switch"
                } else {
                    "they stay on the switches"
                },
                if unlisted.len() == 1 { "it" } else { "them" },
            );
            let _ = writeln!(out, "{}", item(&text, self.width));
        }
        if self
            .answer
            .patches
            .iter()
            .any(|p| p.listed && p.traced != Traced::Verified)
        {
            self.push(
                out,
                "Two ways to trace: a tone on the unplugged pair, heard at the panel; and the link light: a \
                 laptop at the jack, which light of the switch comes on, pull it, and does it go out. A label \
                 is verified after two traces that do not rest on each other.",
            );
        }
    }

    fn rest(&self, out: &mut String) {
        let answer = self.answer;
        let mut lines = Vec::new();
        if !answer.apart.is_empty() {
            let apart: Vec<String> = answer
                .apart
                .iter()
                .map(|(desk, why)| format!("{desk} ({why})"))
                .collect();
            lines.push(format!("Not patched at a switch: {}.", apart.join(", ")));
        }
        let spare: Vec<&str> = self
            .jacks
            .iter()
            .filter(|j| j.desk.is_none())
            .map(|j| j.label.as_str())
            .collect();
        if !spare.is_empty() {
            lines.push(format!("Jacks without a desk: {}.", spare.join(", ")));
        }
        if !answer.free.is_empty() {
            let free: Vec<String> = answer
                .free
                .iter()
                .map(|(port, count)| format!("{count} x {} at {}", port_name(port), port.rate))
                .collect();
            lines.push(format!("Free afterwards: {}.", free.join(", ")));
        }
        lines.extend(unknowns::assumed_usually(self.assumptions, self.path));
        if !lines.is_empty() {
            out.push('\n');
            for line in lines {
                self.push(out, &line);
            }
        }
    }
}

fn names(patches: &[Patch], which: impl Fn(&Patch) -> bool) -> Vec<&str> {
    let found = patches.iter().filter(|p| which(p));
    found.map(|p| p.desk.as_str()).collect()
}

fn is_or_are(names: &[&str]) -> String {
    format!(
        "{} {}",
        listed(names),
        if names.len() == 1 { "is" } else { "are" }
    )
}

fn one(value: Ratio) -> f64 {
    value.get::<units::ratio::one>()
}

/// Whether no rate is held with nine chances in ten.
pub(super) fn may_be_dead(patch: &Patch) -> bool {
    patch.holds.is_some_and(|holds| one(holds) < 0.9)
}

/// A chance in percent without the sign; a rate that is stated or certain by both ends is 100.
pub(super) fn of_hundred(value: Ratio) -> String {
    if one(value) >= 1.0 - 1e-9 {
        "100".to_owned()
    } else {
        chance(ratio(one(value)))
    }
}

/// The rate of a link in megabits, for programs.
pub(crate) fn megabits(rate: LinkRate) -> f64 {
    rate.megabits()
}
