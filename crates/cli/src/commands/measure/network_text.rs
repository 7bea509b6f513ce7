//! What was measured over the network, in words.

use super::files_text::{ends, mean, next, noticed, picture};
use super::network::Measured;
use crate::render::prose::{counted, item, paragraph};
use crate::render::table::{Side, Table};
use narrows_core::quantity::three_digits;
use narrows_probe::network::Way;
use std::fmt::Write as _;
use std::path::Path;

impl Measured {
    pub(super) fn table(&self) -> Table {
        let mut table = Table::new(&[
            ("run", Side::Left),
            ("streams", Side::Right),
            ("MB/s", Side::Right),
            ("from", Side::Right),
            ("to", Side::Right),
            ("slow", Side::Right),
            ("fast", Side::Right),
            ("core here %", Side::Right),
            ("core there %", Side::Right),
        ]);
        let percent = |share: Option<f64>| {
            share.map_or("-".to_owned(), |share| format!("{:.0}", share * 100.0))
        };
        for run in &self.runs {
            let both = run.read.is_some() && run.write.is_some();
            for (word, way) in [("read", &run.read), ("write", &run.write)] {
                let Some(way) = way else { continue };
                let [low, high, slow, fast] = ends(way.judged.as_ref());
                table.row(vec![
                    if both {
                        format!("{word}, both at once")
                    } else {
                        word.to_owned()
                    },
                    run.plan.streams.to_string(),
                    mean(way.judged.as_ref()),
                    low,
                    high,
                    slow,
                    fast,
                    percent(run.here.busy.as_ref().ok().map(|busy| busy.busiest)),
                    percent(run.busiest_there),
                ]);
            }
        }
        table
    }

    /// Why it is what it is, as far as these runs tell.
    pub(super) fn why(&self) -> String {
        let held = self.runs.iter().any(|run| run.plan.held_to.is_some());
        if held {
            return "It was held to a rate, so these are what the network carries at least."
                .to_owned();
        }
        let one = self.single(|run| run.read.as_ref()).unwrap_or(0.0);
        let most = self.most();
        match (self.fits(), self.own) {
            (Some(rate), _) => format!("Why: that is what a link of {rate} carries ({}).", three_digits(narrows_probe::series::payload_ceiling(rate.megabits(), self.mtu()))),
            (None, Some(own)) if most > 0.5 * own => format!("Why: this program reaches {} on this machine alone, so it may itself be the limit.", three_digits(own)),
            _ if most > 1.5 * one => "Why: several streams together are faster than one, so one stream is held back by its window or by one core.".to_owned(),
            _ => "Why: it fits no link's rate; a core, lost packets or another place holds it back.".to_owned(),
        }
    }

    #[allow(clippy::too_many_lines)] // one paragraph after another
    pub(super) fn text(&self, width: usize, kept: Option<&Path>) -> String {
        let mut out = String::new();
        let mut put = |text: &str| {
            let _ = writeln!(out, "{text}");
        };
        let number = |rate: Option<f64>| rate.map_or("-".to_owned(), three_digits);
        put(&paragraph(
            &format!(
                "Memory to memory this machine reads {} MB/s and writes {}, with one stream.",
                number(self.single(|run| run.read.as_ref())),
                number(self.single(|run| run.write.as_ref()))
            ),
            width,
            0,
        ));
        put(&paragraph(&self.why(), width, 0));
        put(&paragraph(&next(kept), width, 0));
        put("");
        put(self.table().text(width).trim_end());
        put(&paragraph(
            "from, to: the mean lies between them in about 9 of 10 cases. slow, fast: 1 quarter second in 20 was slower, 1 in 20 faster. core: the busiest one of that machine.",
            width,
            0,
        ));
        let trips = |idle: bool| {
            self.runs
                .iter()
                .find(|run| (run.plan.way == Way::Echo) == idle && run.trips.is_some())
                .and_then(|run| run.trips)
        };
        if let Some(idle) = trips(true) {
            let loaded = trips(false).map_or(String::new(), |loaded| {
                format!(
                    "; under load {} ({})",
                    three_digits(loaded.median),
                    three_digits(loaded.nearly_all)
                )
            });
            put("");
            put(&paragraph(
                &format!(
                    "Round trip, ms: {} in the middle, {} in 19 of 20{loaded}.",
                    three_digits(idle.median),
                    three_digits(idle.nearly_all)
                ),
                width,
                0,
            ));
        }
        let resent: u64 = self
            .runs
            .iter()
            .filter_map(|run| run.here.resent.as_ref().ok())
            .map(|resent| resent.resent)
            .sum();
        let there: u64 = self.runs.iter().filter_map(|run| run.resent_there).sum();
        put(&paragraph(
            &format!(
                "Sent again meanwhile: {resent} segments by this machine, {there} by the other; bad frames here: {}.",
                self.bad_frames
            ),
            width,
            0,
        ));
        if let Some(own) = self.own {
            put(&paragraph(
                &format!(
                    "This program alone, over loopback: {} MB/s{}.",
                    three_digits(own),
                    if self.most() > 0.5 * own {
                        ": so near that it may itself be the limit, here or there"
                    } else {
                        ""
                    }
                ),
                width,
                0,
            ));
        }
        let mut notes = Vec::new();
        let others = self
            .runs
            .iter()
            .filter(|run| run.here.disturbed())
            .filter_map(|run| run.here.others.as_ref().ok().copied())
            .fold(0.0, f64::max);
        if others > 0.0 {
            notes.push(format!(
                "Other programs of this machine used up to {} cores meanwhile: how busy its cores were says little of the network, and the readings leave it out.",
                three_digits(others)
            ));
        }
        for run in &self.runs {
            for (word, way) in [("read", &run.read), ("write", &run.write)] {
                let Some(way) = way else { continue };
                if run.plan.streams == 1
                    && let Some(picture) = picture(word, &way.windows, width)
                {
                    put("");
                    put(&picture);
                }
                let what = format!(
                    "{} with {}",
                    if word == "read" { "Reading" } else { "Writing" },
                    counted(run.plan.streams as usize, "stream", "streams")
                );
                notes.extend(noticed(&what, way.judged.as_ref()));
            }
        }
        let mut said: Vec<&String> = Vec::new();
        for note in &notes {
            if !said.contains(&note) {
                said.push(note);
            }
        }
        if !said.is_empty() {
            put("");
            for note in said {
                put(&item(note, width));
            }
        }
        out
    }

    /// The most that any number of streams reached one way.
    pub(super) fn most(&self) -> f64 {
        self.runs
            .iter()
            .filter(|run| run.read.is_some() != run.write.is_some())
            .filter_map(|run| run.read.as_ref().or(run.write.as_ref())?.judged.as_ref())
            .map(|judged| judged.rate.mean)
            .fold(0.0, f64::max)
    }
}
