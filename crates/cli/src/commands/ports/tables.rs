//! The tables of a patch list.

use super::text::{Shown, may_be_dead, of_hundred, port_name};
use crate::render::prose::{item, rate};
use crate::render::table::{Side, Table};
use narrows_core::quantity::{Time, show};
use std::fmt::Write;

impl Shown<'_> {
    /// The patch list.
    pub(crate) fn table(&self) -> Table {
        self.listed_as(["5 %", "95 %"])
    }

    pub(super) fn listed_as(&self, [low, high]: [&str; 2]) -> Table {
        let mut table = Table::new(&[
            ("desk", Side::Left),
            ("jack", Side::Left),
            ("panel", Side::Left),
            ("", Side::Left),
            ("port", Side::Left),
            ("link", Side::Right),
            ("%", Side::Right),
            ("MB/s", Side::Right),
            (low, Side::Right),
            (high, Side::Right),
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

    pub(super) fn streams(&self, out: &mut String) {
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

    pub(super) fn waits(&self, out: &mut String) {
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
}
