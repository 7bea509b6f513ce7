//! The tables of a budget.

use super::text::ALIKE;
use super::text::Shown;
use crate::commands::budget::lead::{DECIDES, whose, whose_change};
use crate::commands::budget::names::{limits, meaning, times};
use crate::render::lead::listed;
use crate::render::prose::{about, minutes, of_100, rate};
use crate::render::table::{Side, Table};
use narrows_core::budget::Flow;
use narrows_core::quantity::three_digits;
use narrows_core::work::Direction;

impl Shown<'_> {
    /// One row a desk; desks that are alike share one.
    pub(super) fn by_desk(&self) -> Table {
        let mut table = Table::new(&[
            ("desk", Side::Left),
            ("array", Side::Left),
            ("port", Side::Left),
            ("reads", Side::Right),
            ("from", Side::Right),
            ("to", Side::Right),
            ("writes", Side::Right),
            ("from", Side::Right),
            ("to", Side::Right),
            (
                if self.arguments.random.is_some() {
                    "a second"
                } else {
                    "100 GB"
                },
                Side::Right,
            ),
            ("narrowest place", Side::Left),
        ]);
        let flows = &self.before.flows;
        let reads = flows.iter().filter(|f| f.direction == Direction::Read);
        let mut rows: Vec<(Vec<&str>, Vec<String>)> = Vec::new();
        for read in reads {
            let write = flows.iter().find(|f| {
                f.direction == Direction::Write
                    && (&f.desk, &f.array, &f.port) == (&read.desk, &read.array, &read.port)
            });
            let mut cells = vec![read.array.clone(), read.port.clone()];
            for flow in [Some(read), write] {
                let range = flow.map(|f| f.megabytes_per_s);
                cells.extend([
                    range.map_or_else(String::new, |r| rate(r.p50)),
                    range.map_or_else(String::new, |r| rate(r.p05)),
                    range.map_or_else(String::new, |r| rate(r.p95)),
                ]);
            }
            cells.push(match read.requests_per_s {
                Some(pieces) => three_digits(pieces.a_second()[1]),
                None => about(read.hundred_gigabytes_s.p50),
            });
            cells.push(self.narrowest(read));
            match rows.iter_mut().find(|(_, known)| *known == cells) {
                Some((names, _)) => names.push(whose(read)),
                None => rows.push((vec![whose(read)], cells)),
            }
        }
        for (names, cells) in rows {
            let few = names.len() < ALIKE;
            let labels = if few {
                names.iter().map(|name| (*name).to_owned()).collect()
            } else {
                vec![listed(&names)]
            };
            for label in labels {
                let mut row = vec![label];
                row.extend(cells.iter().cloned());
                table.row(row);
            }
        }
        narrow(table)
    }

    /// The place that holds back most often.
    pub(super) fn narrowest(&self, flow: &Flow) -> String {
        let Some(limit) = flow.limits.first() else {
            return String::new();
        };
        let name = self.places().names(&limit.hops, Some(&flow.desk));
        if limit.share >= DECIDES {
            name
        } else {
            format!("{name} ({})", of_100(limit.share))
        }
    }

    pub(super) fn comparison(&self) -> Table {
        let mut table = Table::new(&[
            ("desk", Side::Left),
            ("array", Side::Left),
            ("port", Side::Left),
            ("direction", Side::Left),
            ("before MB/s", Side::Right),
            ("after MB/s", Side::Right),
            ("times", Side::Right),
            ("what it means", Side::Left),
        ]);
        let after = self.after.map_or(&[][..], |a| &a.flows);
        for change in self.changes {
            let find = |flows: &[Flow]| {
                flows
                    .iter()
                    .find(|f| {
                        f.desk == change.desk
                            && f.array == change.array
                            && f.port == change.port
                            && f.direction.word() == change.direction
                    })
                    .map_or(String::new(), |f| rate(f.megabytes_per_s.p50))
            };
            table.row(vec![
                whose_change(change).to_owned(),
                change.array.clone(),
                change.port.clone(),
                change.direction.to_owned(),
                find(&self.before.flows),
                find(after),
                times(change),
                meaning(change),
            ]);
        }
        narrow(table)
    }
}

/// One row for each desk and direction.
pub(crate) fn rates(flows: &[Flow]) -> Table {
    let mut table = Table::new(&[
        ("desk", Side::Left),
        ("array", Side::Left),
        ("port", Side::Left),
        ("direction", Side::Left),
        ("MB/s", Side::Right),
        ("5 %", Side::Right),
        ("95 %", Side::Right),
        ("100 GB, min", Side::Right),
        ("limited by", Side::Left),
    ]);
    for flow in flows {
        let r = flow.megabytes_per_s;
        table.row(vec![
            flow.desk.clone(),
            flow.array.clone(),
            flow.port.clone(),
            flow.direction.word().to_owned(),
            rate(r.p50),
            rate(r.p05),
            rate(r.p95),
            minutes(flow.hundred_gigabytes_s.p50),
            limits(flow),
        ]);
    }
    narrow(table)
}

/// Leaves out the columns that say the same in every row.
pub(super) fn narrow(table: Table) -> Table {
    let template = table.clone();
    narrow_by(table, &template)
}

pub(crate) fn narrow_by(mut table: Table, template: &Table) -> Table {
    for head in ["array", "port"] {
        if template.same(head) || !template.has(head) {
            table = table.without(head);
        }
    }
    table
}

pub(super) fn three_or_exact(value: f64) -> String {
    let text = three_digits(value);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}
