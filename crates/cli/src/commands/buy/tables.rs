//! The tables of purchases, desks and offers.

use super::text::{MANY_DESKS, Shown, amount, listed, minutes, named, percent, why_nothing};
use crate::render::prose::{item, rate};
use crate::render::table::{Side, Table};
use narrows_core::plan::purchases::{Help, Purchase};
use narrows_core::quantity::show;
use narrows_core::work::Activity;
use std::fmt::Write;

impl Shown<'_> {
    pub(super) fn heads<'h>(&'h self, [low, high]: [&'h str; 2]) -> Vec<(&'h str, Side)> {
        let currency = self.answer.today.price.currency.as_str();
        let mut heads = vec![("row", Side::Right), (currency, Side::Right)];
        if self.answer.needs {
            heads.push(("met", Side::Right));
        }
        heads.extend([
            ("wait min", Side::Right),
            ("saves", Side::Right),
            (low, Side::Right),
            (high, Side::Right),
            ("beats %", Side::Right),
            ("buys", Side::Left),
        ]);
        heads
    }

    /// What nothing cheaper equals, today first.
    pub(crate) fn table(&self) -> Table {
        let answer = self.answer;
        let mut table = Table::new(&self.heads(["from", "to"]));
        for (row, purchase) in std::iter::once(&answer.today)
            .chain(&answer.purchases)
            .enumerate()
        {
            let mut cells = vec![
                if row == 0 {
                    "-".to_owned()
                } else {
                    row.to_string()
                },
                amount(&purchase.price),
            ];
            if answer.needs {
                cells.push(format!("{}/{}", purchase.desks_met, purchase.desks.len()));
            }
            cells.push(minutes(purchase.waits.mean));
            if row == 0 {
                cells.extend(["-", "-", "-", "-"].map(str::to_owned));
                cells.push("nothing".to_owned());
            } else {
                cells.extend([
                    minutes(purchase.saves.mean),
                    minutes(purchase.saves.p05),
                    minutes(purchase.saves.p95),
                    percent(purchase.beats),
                    self.ids(&purchase.offers).join(", "),
                ]);
            }
            table.row(cells);
        }
        table
    }

    /// The table with what each desk gets, for spreadsheets and documents.
    pub(crate) fn whole_table(&self) -> Table {
        let answer = self.answer;
        let mut heads: Vec<(String, Side)> = self
            .heads(["5 %", "95 %"])
            .into_iter()
            .map(|(head, side)| (head.to_owned(), side))
            .collect();
        for desk in &answer.today.desks {
            for way in ["read", "write"] {
                heads.push((format!("{} {way} MB/s", desk.desk), Side::Right));
            }
        }
        let heads: Vec<(&str, Side)> = heads.iter().map(|(h, s)| (h.as_str(), *s)).collect();
        let mut table = Table::new(&heads);
        for (row, purchase) in std::iter::once(&answer.today)
            .chain(&answer.purchases)
            .enumerate()
        {
            let mut cells = vec![row.to_string(), amount(&purchase.price)];
            if answer.needs {
                cells.push(purchase.desks_met.to_string());
            }
            let saves = purchase.saves;
            cells.extend([
                minutes(purchase.waits.mean),
                minutes(saves.mean),
                minutes(saves.p05),
                minutes(saves.p95),
                percent(purchase.beats),
                self.ids(&purchase.offers).join(" "),
            ]);
            for desk in &purchase.desks {
                cells.extend([rate(desk.read.p50), rate(desk.write.p50)]);
            }
            table.row(cells);
        }
        table
    }

    pub(super) fn legend(&self) -> String {
        let waits = match self.answer.assumed {
            Some(size) => format!(
                "wait: minutes a day that all desks together wait, each for {0} read and {0} written a day, \
                 since nobody described more; the mean. ",
                show(size)
            ),
            None => {
                "wait: minutes a day that all desks together wait for what their tasks move; the \
                     mean. "
                    .to_owned()
            }
        };
        let met = if self.answer.needs {
            "met: desks that get what they need in the median. "
        } else {
            ""
        };
        format!(
            "{met}{waits}saves: less than today; in 1 case of 20 less than from, in 1 of 20 more than to, \
             the same cases before and after. beats: cases of 100 in which somebody waits a twentieth less \
             than with the row above{}.",
            if self.answer.needs {
                ", or a desk more gets what it needs"
            } else {
                ""
            }
        )
    }

    /// What the desks get, today and with the first and the last purchase.
    pub(super) fn desks(&self, out: &mut String) {
        let answer = self.answer;
        let mut shown: Vec<(String, &Purchase)> = vec![("today".to_owned(), &answer.today)];
        for index in [answer.first, answer.best].into_iter().flatten() {
            let name = format!("row {}", index + 1);
            if let Some(purchase) = answer.purchases.get(index)
                && shown.iter().all(|(known, _)| *known != name)
            {
                shown.push((name, purchase));
            }
        }
        let mut heads: Vec<(String, Side)> = vec![("desk".to_owned(), Side::Left)];
        for way in ["read", "write"] {
            for (index, (name, _)) in shown.iter().enumerate() {
                let way = if index == 0 {
                    format!("{way} ")
                } else {
                    String::new()
                };
                heads.push((format!("{way}{name}"), Side::Right));
            }
        }
        let heads: Vec<(&str, Side)> = heads.iter().map(|(h, s)| (h.as_str(), *s)).collect();
        let mut table = Table::new(&heads);
        for (index, desk) in answer.today.desks.iter().enumerate().take(MANY_DESKS) {
            let mut cells = vec![desk.desk.clone()];
            for write in [false, true] {
                for (_, purchase) in &shown {
                    let range = purchase.desks.get(index);
                    let range = range.map(|desk| if write { desk.write } else { desk.read });
                    cells.push(range.map_or("-".to_owned(), |range| rate(range.p50)));
                }
            }
            table.row(cells);
        }
        let what = match self.question.activity {
            Activity::Copy => "copying to and from its own disk",
            Activity::Wire => "memory to memory",
            _ => "without its own disk",
        };
        out.push('\n');
        self.push(out, &format!("MB/s of each desk alone, {what}, medians:"));
        out.push_str(&table.text(self.width));
        let more = answer.today.desks.len().saturating_sub(MANY_DESKS);
        if more > 0 {
            self.push(out, &format!("{more} more in the other formats."));
        }
    }

    pub(super) fn offers(&self, out: &mut String) {
        let each = || self.question.offers.iter().zip(&self.answer.helps);
        let only: Vec<_> = each()
            .filter_map(|(offer, help)| match help {
                Help::With(others) => Some((offer, others)),
                _ => None,
            })
            .collect();
        if !only.is_empty() {
            out.push_str("\nHelps only with others:\n");
            for (offer, others) in only {
                let text = format!("{}: with {}.", named(offer), listed(&self.ids(others)));
                let _ = writeln!(out, "{}", item(&text, self.width));
            }
        }
        let moving: Vec<_> = each()
            .filter(|(offer, _)| !offer.cords.is_empty())
            .collect();
        if !moving.is_empty() {
            out.push_str("\nCords that move with an offer:\n");
            for (offer, _) in moving {
                for cord in &offer.cords {
                    let text = format!(
                        "{}: that of {} goes into {} {}.",
                        offer.id, cord.desk, cord.switch, cord.port
                    );
                    let _ = writeln!(out, "{}", item(&text, self.width));
                }
            }
        }
        let nothing: Vec<_> = each()
            .filter_map(|(offer, help)| match help {
                Help::Nothing(why) => Some((offer, why_nothing(why))),
                Help::NotLookedAt => Some((offer, "not looked at before you stopped".to_owned())),
                Help::TooDear => Some((offer, "dearer than what may be spent".to_owned())),
                _ => None,
            })
            .collect();
        if !nothing.is_empty() {
            out.push_str("\nDoes nothing that anybody would notice:\n");
            for (offer, why) in nothing {
                let text = format!("{}, {}: {why}.", named(offer), offer.price);
                let _ = writeln!(out, "{}", item(&text, self.width));
            }
        }
    }
}
