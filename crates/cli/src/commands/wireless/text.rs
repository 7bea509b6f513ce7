use crate::render::prose::{counted, item, paragraph, rate};
use crate::render::table::{Side, Table, all_tied};
use narrows_core::plan::air::{Answer, Placement, PortFor, PowerFor};
use narrows_core::quantity::three_digits;
use std::fmt::Write;

/// A chance from which a need counts as met, as everywhere: one case in twenty may fall short.
const MET: f64 = 0.95;

/// What another access point must add to the least room to be worth naming.
const WORTH_IT: f64 = 0.05;

/// Everything that is shown.
pub(crate) struct Shown<'a> {
    pub answer: &'a Answer,
    pub width: usize,
}

/// A chance as people say it.
fn of_a_hundred(chance: f64) -> String {
    match (100.0 * chance).round() {
        n if n >= 100.0 => "over 99 of 100".to_owned(),
        n if n < 1.0 => "under 1 of 100".to_owned(),
        n => format!("{n:.0} of 100"),
    }
}

fn percent(chance: f64) -> String {
    format!("{:.0}", 100.0 * chance)
}

impl Shown<'_> {
    /// Whether some desk, or some room where there is no desk, misses the need.
    pub(crate) fn missed(&self) -> bool {
        let answer = self.answer;
        let mut chances: Vec<f64> = answer.links.iter().map(|l| l.need_probability).collect();
        if let Some(last) = answer.placements.last() {
            chances.push(last.least_probability);
        } else if chances.is_empty() {
            chances.extend(answer.rooms.iter().map(|r| r.need_probability));
        }
        chances.iter().any(|chance| *chance < MET)
    }

    /// The main table: desks, else placements, else rooms.
    pub(crate) fn table(&self) -> Table {
        let answer = self.answer;
        if !answer.placements.is_empty() {
            return self.placements();
        }
        if answer.links.is_empty() {
            return self.rooms();
        }
        self.links()
    }

    fn links(&self) -> Table {
        let mut table = Table::new(&[
            ("desk", Side::Left),
            ("reads", Side::Right),
            ("from", Side::Right),
            ("to", Side::Right),
            ("writes", Side::Right),
            ("wired", Side::Right),
            ("chance %", Side::Right),
            ("dBm", Side::Right),
            ("narrowest place", Side::Left),
        ]);
        for link in &self.answer.links {
            let read = link.read_megabytes_per_s;
            table.row(vec![
                link.desk.clone(),
                rate(read.p50),
                rate(read.p05),
                rate(read.p95),
                rate(link.write_megabytes_per_s.p50),
                three_digits(link.wired_megabytes_per_s),
                percent(link.need_probability),
                link.signal_dbm
                    .map_or(String::new(), |s| format!("{:.0}", s.p50)),
                link.limit.clone(),
            ]);
        }
        table
    }

    fn rooms(&self) -> Table {
        let mut table = Table::new(&[
            ("room", Side::Left),
            ("access point", Side::Left),
            ("reads", Side::Right),
            ("from", Side::Right),
            ("to", Side::Right),
            ("writes", Side::Right),
            ("wired", Side::Right),
            ("chance %", Side::Right),
            ("in a word", Side::Left),
        ]);
        for room in &self.answer.rooms {
            let read = room.read_megabytes_per_s;
            table.row(vec![
                room.room.clone(),
                room.access_point.clone(),
                rate(read.p50),
                rate(read.p05),
                rate(read.p95),
                rate(room.write_megabytes_per_s.p50),
                three_digits(room.wired_megabytes_per_s),
                percent(room.need_probability),
                room.shade.word().to_owned(),
            ]);
        }
        table
    }

    fn placements(&self) -> Table {
        let mut table = Table::new(&[
            ("access points", Side::Right),
            ("least room %", Side::Right),
            ("mean %", Side::Right),
            ("worst room", Side::Left),
            ("jacks", Side::Left),
            ("channels", Side::Left),
            ("to add", Side::Left),
        ]);
        for place in &self.answer.placements {
            let channels: Vec<String> = place.channels.iter().map(usize::to_string).collect();
            table.row(vec![
                place.access_points.to_string(),
                percent(place.least_probability),
                percent(place.mean_probability),
                worst(place),
                place.jacks.join(", "),
                channels.join(", "),
                to_add(place),
            ]);
        }
        table
    }

    /// The same for a screen: each jack with its channel.
    fn placed_on_a_screen(&self) -> Table {
        let mut table = Table::new(&[
            ("points", Side::Right),
            ("least room %", Side::Right),
            ("mean %", Side::Right),
            ("worst room", Side::Left),
            ("jacks, each with its channel", Side::Left),
            ("to add", Side::Left),
        ]);
        for place in &self.answer.placements {
            let jacks = place.jacks.iter().zip(&place.channels);
            let jacks: Vec<String> = jacks
                .map(|(jack, channel)| all_tied(&format!("{jack} {channel}")))
                .collect();
            table.row(vec![
                place.access_points.to_string(),
                percent(place.least_probability),
                percent(place.mean_probability),
                worst(place),
                jacks.join(", "),
                to_add(place),
            ]);
        }
        table.folding(4)
    }

    /// The answer for a person.
    pub(crate) fn text(&self) -> String {
        let mut out = String::new();
        for line in self.first() {
            let _ = writeln!(out, "{}", paragraph(&line, self.width, 2).trim_end());
        }
        let need = three_digits(self.answer.need_megabytes_per_s);
        if !self.answer.links.is_empty() {
            let _ = write!(out, "\n{}", self.links().folding(8).text(self.width));
            let _ = writeln!(
                out,
                "{}",
                paragraph(
                    &format!(
                        "MB/s, each desk alone. from, to: 1 in 20 is slower, 1 in 20 faster. \
                         wired: what a 1 Gb/s port carries. chance: of reading {need} MB/s."
                    ),
                    self.width,
                    0
                )
                .trim_end()
            );
            self.small_things(&mut out);
        }
        if !self.answer.rooms.is_empty() {
            let _ = write!(out, "\n{}", self.rooms().text(self.width));
            let line = format!(
                "MB/s for one desk alone in the room. wired: what a 1 Gb/s port carries. \
                 chance: of reading {need} MB/s."
            );
            let _ = writeln!(out, "{}", paragraph(&line, self.width, 0).trim_end());
        }
        if !self.answer.placements.is_empty() {
            let _ = write!(out, "\n{}", self.placed_on_a_screen().text(self.width));
            let line = format!(
                "Chance of reading {need} MB/s: in the worst room, and over all rooms. \
                 Channels are counted from 1; equal ones share their time. To add: sources of \
                 power, and ports of switches; ports are counted where a jack says its switch."
            );
            let _ = writeln!(out, "{}", paragraph(&line, self.width, 0).trim_end());
        }
        self.last(&mut out);
        out
    }

    /// What you get, why, what to do next.
    fn first(&self) -> Vec<String> {
        let answer = self.answer;
        let need = three_digits(answer.need_megabytes_per_s);
        if let Some(last) = answer.placements.last() {
            return placed(&answer.placements, last, &need);
        }
        let weakest = answer
            .links
            .iter()
            .min_by(|a, b| a.need_probability.total_cmp(&b.need_probability));
        if let Some(link) = weakest {
            let read = link.read_megabytes_per_s;
            let write = link.write_megabytes_per_s;
            let mut lines = vec![format!(
                "{} reads about {} MB/s through the air ({} to {}) and writes {} ({} to {}); a wired \
                 port carries {}.",
                link.desk,
                rate(read.p50),
                rate(read.p05),
                rate(read.p95),
                rate(write.p50),
                rate(write.p05),
                rate(write.p95),
                three_digits(link.wired_megabytes_per_s),
            )];
            lines.push(format!(
                "Why: {}. It reads {need} MB/s in {} such places: {}.",
                link.limit,
                of_a_hundred(link.need_probability),
                link.advice
            ));
            lines.push(next_step(link.signal_dbm.is_some(), &link.limit));
            return lines;
        }
        if let Some(room) = answer
            .rooms
            .iter()
            .min_by(|a, b| a.need_probability.total_cmp(&b.need_probability))
        {
            return vec![
                format!(
                    "The weakest room is {}: {need} MB/s in {} such places.",
                    room.room,
                    of_a_hundred(room.need_probability)
                ),
                "Next: read the signal in dBm there, on a laptop, during a copy (2 min)."
                    .to_owned(),
            ];
        }
        vec![
            "Nothing here goes through the air.".to_owned(),
            "Say where: [access-point.NAME], [room.NAME], and wireless on a desk.".to_owned(),
        ]
    }

    fn small_things(&self, out: &mut String) {
        let Some(link) = self.answer.links.first() else {
            return;
        };
        let line = format!(
            "Small files and scrubbing wait for round trips: {} ms in quiet air, {} while somebody \
             copies. {} copies files of 100 kB at about {} MB/s and finds {} places a second.",
            three_digits(link.round_trip_ms.p50),
            three_digits(link.loaded_round_trip_ms.p50),
            link.desk,
            three_digits(link.small_files_megabytes_per_s),
            three_digits(link.scrubs_per_s),
        );
        let _ = writeln!(out, "\n{}", paragraph(&line, self.width, 0).trim_end());
    }

    fn last(&self, out: &mut String) {
        let answer = self.answer;
        for warning in &answer.warnings {
            let (place, said, next) = (&warning.place, &warning.message, &warning.next);
            let text = format!("{place}: {said}. Next: {next}.");
            let _ = write!(out, "\n{}", item(&text, self.width));
        }
        if answer.links.is_empty() && answer.rooms.is_empty() && answer.placements.is_empty() {
            return;
        }
        let count = answer.assumptions.len();
        out.push('\n');
        if count > 0 {
            let what = counted(count, "value", "values");
            let line = format!("Assumed: {what} that nobody gave. All: narrows check SITE");
            let _ = writeln!(out, "{}", paragraph(&line, self.width, 2).trim_end());
        }
        let open = "Open: what neighbours send tomorrow, which bands the country allows indoors, \
                    whether the ceiling may be used.";
        let _ = writeln!(out, "{}", paragraph(open, self.width, 2).trim_end());
        for caution in &answer.cautions {
            let _ = writeln!(out, "{}", paragraph(caution, self.width, 2).trim_end());
        }
    }
}

fn worst(place: &Placement) -> String {
    place
        .rooms
        .iter()
        .min_by(|a, b| a.need_probability.total_cmp(&b.need_probability))
        .map_or(String::new(), |room| room.room.clone())
}

/// Sources of power and ports that are missing, in a few words.
fn to_add(place: &Placement) -> String {
    let mut all = Vec::new();
    if place.injectors > 0 {
        all.push(counted(place.injectors, "injector", "injectors"));
    }
    if place.ports_to_add > 0 {
        all.push(counted(place.ports_to_add, "port", "ports"));
    }
    if all.is_empty() {
        return "nothing".to_owned();
    }
    all.join(", ")
}

/// What the jacks of a placement lack, why, and what to add.
fn missing(place: &Placement) -> Option<String> {
    let mut said = Vec::new();
    let ports: Vec<&str> = place
        .feeds
        .iter()
        .filter(|feed| feed.port == PortFor::Taken)
        .map(|feed| feed.jack.as_str())
        .collect();
    if !ports.is_empty() {
        said.push(format!(
            "no port is free at the switch for {}: free one, or add a switch",
            ports.join(", ")
        ));
    }
    for (power, why) in [
        (PowerFor::None, "no power comes over the cable at"),
        (
            PowerFor::ClassTooLow,
            "the switch gives too low a class of power for",
        ),
        (
            PowerFor::BudgetSpent,
            "what the switch gives over all its cables is spent before",
        ),
    ] {
        let mut feeds = place
            .feeds
            .iter()
            .filter(|feed| feed.power == power)
            .peekable();
        let Some(first) = feeds.peek().copied() else {
            continue;
        };
        let jacks: Vec<&str> = feeds.map(|feed| feed.jack.as_str()).collect();
        said.push(format!(
            "{why} {}: add an injector of class {} there, or a port of that class (up to {} W)",
            jacks.join(", "),
            first.power_class,
            three_digits(first.watts)
        ));
    }
    (!said.is_empty()).then(|| said.join("; "))
}

fn next_step(signal: bool, limit: &str) -> String {
    if signal && !limit.starts_with("the signal") {
        "Next: read the signal in dBm at the desk during a copy (2 min), and write wireless = \
         \"signal -64 dBm\"; it narrows the range most."
            .to_owned()
    } else {
        "Next: copy memory to memory at a busy hour (5 min), and write wireless = \"measured 300 \
         Mb/s\"; below half of the range above, look for a neighbour on the channel."
            .to_owned()
    }
}

/// The fewest access points from which another one adds little.
fn placed(all: &[Placement], last: &Placement, need: &str) -> Vec<String> {
    let enough = all
        .iter()
        .enumerate()
        .find(|(at, place)| {
            all.iter()
                .skip(at + 1)
                .all(|more| more.least_probability < place.least_probability + WORTH_IT)
        })
        .map_or(last, |(_, place)| place);
    let points = counted(enough.access_points, "access point", "access points");
    let mut lines = vec![format!(
        "{points} on {}: every room reads {need} MB/s in {} cases or more.",
        enough.jacks.join(", "),
        of_a_hundred(enough.least_probability)
    )];
    let after = all
        .iter()
        .find(|p| p.access_points == enough.access_points + 1);
    let before = all
        .iter()
        .filter(|p| p.access_points < enough.access_points)
        .max_by_key(|p| p.access_points);
    let mut why = Vec::new();
    if let Some(before) = before {
        why.push(format!(
            "one fewer leaves {} at {}",
            worst(before),
            of_a_hundred(before.least_probability)
        ));
    }
    if let Some(after) = after {
        why.push(format!(
            "one more makes it {}",
            of_a_hundred(after.least_probability)
        ));
    }
    if !why.is_empty() {
        lines.push(format!("Why: {}.", why.join("; ")));
    }
    if enough.shares_a_channel {
        lines.push(
            "Some of them hear each other on one channel and share its time: a narrower channel \
             keeps them apart."
                .to_owned(),
        );
    }
    lines.push(match missing(enough) {
        None => {
            "Next: carry one to the first jack on a long lead and read the signal in the worst \
                 room (10 min)."
                .to_owned()
        }
        Some(missing) => {
            format!("Next: {missing}; check the cable with narrows cable before it carries power.")
        }
    });
    lines
}
