use crate::commands::cable::words::chance;
use crate::render::prose::{counted, duration, item, paragraph, rate};
use crate::render::table::{Side, Table};
use narrows_core::plan::ports::{Answer, Carried, Jack, Patch, SwitchPort, Traced};
use narrows_core::quantity::{LinkRate, Ratio, Time, ratio, show, units};
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

fn listed(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

impl Shown<'_> {
    fn push(&self, out: &mut String, text: &str) {
        let _ = writeln!(out, "{}", paragraph(text, self.width, 0));
    }

    pub(crate) fn text(&self) -> String {
        let mut out = String::new();
        self.push(&mut out, &self.headline());
        let _ = writeln!(out, "\nPatch list for {}:", self.answer.site);
        out.push_str(&self.table().text(self.width));
        self.push(
            &mut out,
            "port: any of that name. link: the likeliest rate it comes up with, and its chance. MB/s: \
             reading, alone, copying to the desk's own disk: median, 5th and 95th percentile. * another \
             port than today.",
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

    /// Who gets the fastest ports, and what that comes to.
    fn headline(&self) -> String {
        let answer = self.answer;
        let without: Vec<&str> = names(&answer.patches, |p| p.port.is_none());
        let mut text = self.who_gets_the_fast_ones();
        let short: Vec<&Carried> = answer.streams.iter().filter(|s| !s.met).collect();
        if !without.is_empty() {
            let _ = write!(text, "; there is no port for {}", listed(&without));
        }
        if let Some(first) = short.first() {
            let mut desks: Vec<&str> = short.iter().map(|s| s.desk.as_str()).collect();
            desks.dedup();
            let why = if first.full.is_empty() {
                "its own link carries too little".to_owned()
            } else {
                format!("{} is full", first.full.join(", "))
            };
            let _ = write!(
                text,
                "; no patching found carries the {} of {}: {why}",
                if short.len() == 1 {
                    "stream"
                } else {
                    "streams"
                },
                listed(&desks)
            );
        } else if !answer.streams.is_empty() {
            let _ = write!(
                text,
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
            if saved.get::<units::time::second>() >= 1.0 {
                let _ = write!(
                    text,
                    "; {all} wait {} a day for data, {} today",
                    duration(after),
                    duration(before)
                );
            } else {
                let _ = write!(
                    text,
                    "; {all} wait {} a day for data, as today",
                    duration(after)
                );
            }
        }
        let moves = answer
            .patches
            .iter()
            .filter(|p| p.port.is_some() && !p.stays());
        let moves = moves.count();
        let _ = write!(
            text,
            ". {}",
            if moves == 0 {
                "Nothing has to be patched.".to_owned()
            } else {
                format!("{} to move.", counted(moves, "cord", "cords"))
            }
        );
        text
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

    /// The patch list.
    pub(crate) fn table(&self) -> Table {
        let mut table = Table::new(&[
            ("desk", Side::Left),
            ("jack", Side::Left),
            ("panel", Side::Left),
            ("", Side::Left),
            ("port", Side::Left),
            ("link", Side::Right),
            ("%", Side::Right),
            ("MB/s", Side::Right),
            ("5 %", Side::Right),
            ("95 %", Side::Right),
            ("label", Side::Left),
        ]);
        for patch in &self.answer.patches {
            let (link, sure) = match patch.link() {
                Some((link, sure)) => {
                    let dead = patch.holds.filter(|_| may_be_dead(patch));
                    (link.to_string(), of_hundred(dead.unwrap_or(sure)))
                }
                None => ("-".to_owned(), "-".to_owned()),
            };
            let figure = |of: fn(&narrows_core::budget::RateRange) -> String| {
                patch.read.as_ref().map_or("-".to_owned(), of)
            };
            table.row(vec![
                patch.desk.clone(),
                patch.jack.clone(),
                patch.panel.clone().unwrap_or_else(|| "-".to_owned()),
                if patch.stays() { "" } else { "*" }.to_owned(),
                patch
                    .port
                    .as_ref()
                    .map_or("none left".to_owned(), port_name),
                link,
                sure,
                figure(|r| rate(r.p50)),
                figure(|r| rate(r.p05)),
                figure(|r| rate(r.p95)),
                if patch.listed {
                    patch.traced.word().to_owned()
                } else {
                    "no list".to_owned()
                },
            ]);
        }
        table
    }

    fn streams(&self, out: &mut String) {
        let answer = self.answer;
        if answer.streams.is_empty() {
            return;
        }
        out.push_str("\nStreams, all at once over the links:\n");
        let mut table = Table::new(&[
            ("desk", Side::Left),
            ("does", Side::Left),
            ("way", Side::Left),
            ("needs MB/s", Side::Right),
            ("gets MB/s", Side::Right),
            ("own link %", Side::Right),
            ("short of", Side::Left),
        ])
        .folding(1);
        for stream in &answer.streams {
            let short = if stream.met {
                String::new()
            } else if stream.full.is_empty() {
                "its own link".to_owned()
            } else {
                stream.full.join(", ")
            };
            table.row(vec![
                stream.desk.clone(),
                stream.what.clone(),
                stream.direction.word().to_owned(),
                rate(stream.demand),
                rate(stream.gets),
                of_hundred(stream.chance),
                short,
            ]);
        }
        out.push_str(&table.text(self.width));
        self.push(
            out,
            "own link: the chance that the desk's link carries all its streams; nine in ten are asked for. \
             What the array and the NAS give all of them at once: narrows together.",
        );
        for shared in &answer.shared {
            let text = format!(
                "{} between {} and {}, to {}: {} MB/s of {} are taken by streams.",
                shared.run,
                shared.between[0],
                shared.between[1],
                shared.direction.word(),
                rate(shared.wanted),
                rate(shared.carries)
            );
            let _ = writeln!(out, "{}", item(&text, self.width));
        }
        if !answer.relieved.is_empty() {
            let text = format!(
                "With the least waiting, streams would over-fill {}: the desk that loses least by leaving it \
                 is patched elsewhere.",
                answer.relieved.join(", ")
            );
            self.push(out, &text);
        }
        if answer.given_up {
            self.push(
                out,
                "The search for an arrangement that carries all was given up after 5000; there may be one.",
            );
        }
    }

    fn waits(&self, out: &mut String) {
        let mut table = Table::new(&[
            ("desk", Side::Left),
            ("port today", Side::Left),
            ("min today", Side::Right),
            ("port then", Side::Left),
            ("min then", Side::Right),
        ]);
        let mut any = false;
        for patch in &self.answer.patches {
            let nothing = Time::default();
            let waits = patch.waits.is_some_and(|t| t > nothing)
                || patch.waits_today.is_some_and(|t| t > nothing);
            if !waits {
                continue;
            }
            any = true;
            let minutes =
                |time: Option<Time>| time.map_or("-".to_owned(), crate::render::prose::minutes);
            table.row(vec![
                patch.desk.clone(),
                port_name(&patch.today),
                minutes(patch.waits_today),
                patch.port.as_ref().map_or("none".to_owned(), port_name),
                minutes(patch.waits),
            ]);
        }
        if !any {
            return;
        }
        out.push_str("\nWaiting for data, a day:\n");
        out.push_str(&table.text(self.width));
        let assumed = self.answer.assumed.map_or(String::new(), |size| {
            format!(
                "Nobody described what the desks do: each is taken to wait for {} read a day, and to play \
                 nothing. ",
                show(size)
            )
        });
        let text = format!(
            "{assumed}The mean over what is not known, each desk alone. A cord is moved only where that saves \
             a desk more than a few seconds a day."
        );
        self.push(out, &text);
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
        if !self.assumptions.is_empty() {
            lines.push(format!(
                "{} assumed: narrows check {} lists them.",
                counted(
                    self.assumptions.len(),
                    "value of the site is",
                    "values of the site are"
                ),
                self.path
            ));
        }
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
fn may_be_dead(patch: &Patch) -> bool {
    patch.holds.is_some_and(|holds| one(holds) < 0.9)
}

/// A chance in percent without the sign; a rate that is stated or certain by both ends is 100.
fn of_hundred(value: Ratio) -> String {
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
