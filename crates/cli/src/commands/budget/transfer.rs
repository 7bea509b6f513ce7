//! What becomes of one long copy, for a person.

use crate::commands::budget::tables::{narrow_by, rates};
use crate::commands::budget::text::Shown;
use crate::render::prose::{minutes, paragraph, rate, share};
use crate::render::table::{Side, Table};
use narrows_core::budget::Flow;
use narrows_core::work::Direction;
use std::fmt::Write;

/// A copy that slows down in fewer cases is said not to.
const WORTH_SAYING: f64 = 0.05;

/// Room that is there in so many cases is not asked about.
const SURELY_FITS: f64 = 0.95;

const WHO: [(&str, Side); 4] = [
    ("desk", Side::Left),
    ("array", Side::Left),
    ("port", Side::Left),
    ("direction", Side::Left),
];

fn who(flow: &Flow) -> Vec<String> {
    vec![
        flow.desk.clone(),
        flow.array.clone(),
        flow.port.clone(),
        flow.direction.word().to_owned(),
    ]
}

fn headed(heads: &[(&str, Side)]) -> Table {
    Table::new(&[&WHO, heads].concat())
}

impl Shown<'_> {
    pub(crate) fn transfers(&self, out: &mut String) {
        let flows = &self.latest().flows;
        let Some(size) = flows
            .iter()
            .find_map(|f| f.transfer.as_ref())
            .map(|t| &t.size)
        else {
            return;
        };
        let mut table = headed(&[
            ("first MB/s", Side::Right),
            ("later MB/s", Side::Right),
            ("mean MB/s", Side::Right),
            ("closes min", Side::Right),
            ("safe min", Side::Right),
        ]);
        for flow in flows {
            let Some(t) = &flow.transfer else { continue };
            let mut row = who(flow);
            row.extend([
                rate(t.first_megabytes_per_s.p50),
                rate(t.later_megabytes_per_s.p50),
                rate(t.mean_megabytes_per_s.p50),
                minutes(t.dialog_closes_s.p50),
                minutes(t.data_safe_s.p50),
            ]);
            table.row(row);
        }
        let _ = writeln!(out, "\nOne copy of {size}:");
        out.push_str(&narrow_by(table, &rates(flows)).text(self.width));
        let text = "later: at the end, as the drives take it. mean: the size over the time until it \
            is safe. closes: the copy dialog goes away. safe: the data are on drives, not in \
            memory; do not empty a card before that.";
        let _ = writeln!(out, "{}", paragraph(text, self.width, 0));
        self.fits(out);
        self.slowdowns(out);
    }

    fn fits(&self, out: &mut String) {
        let short: Vec<String> = self
            .latest()
            .flows
            .iter()
            .filter_map(|flow| {
                let fits = flow.transfer.as_ref()?.fits_probability;
                (fits < SURELY_FITS).then(|| {
                    let to = if flow.direction == Direction::Read && !flow.desk.is_empty() {
                        format!("{}'s disk", flow.desk)
                    } else {
                        format!("array {}", flow.array)
                    };
                    format!("on {to} in {} of cases", share(fits))
                })
            })
            .fold(Vec::new(), |mut said, one| {
                if !said.contains(&one) {
                    said.push(one);
                }
                said
            });
        if !short.is_empty() {
            let text = format!(
                "There may be no room for it. It fits {}; the rates and times hold where it does.",
                short.join(", ")
            );
            let _ = writeln!(out, "{}", paragraph(&text, self.width, 0));
        }
    }

    fn slowdowns(&self, out: &mut String) {
        let flows = &self.latest().flows;
        let mut table = headed(&[
            ("chance %", Side::Right),
            ("after", Side::Right),
            ("minute", Side::Right),
            ("to MB/s", Side::Right),
            ("because", Side::Left),
        ]);
        for flow in flows {
            let Some(t) = &flow.transfer else { continue };
            for slow in &t.slowdowns {
                if slow.probability < WORTH_SAYING {
                    continue;
                }
                let mut row = who(flow);
                row.extend([
                    share(slow.probability).trim_end_matches(" %").to_owned(),
                    slow.after.clone(),
                    minutes(slow.after_s.p50),
                    rate(slow.megabytes_per_s.p50),
                    slow.because.to_owned(),
                ]);
                table.row(row);
            }
        }
        if table.is_empty() {
            let text = "No row slows down on the way in 5 % of cases or more.";
            let _ = writeln!(out, "{}", paragraph(text, self.width, 0));
            return;
        }
        let text = "Where it slows down on the way, in the middle of the cases that get there:";
        let _ = writeln!(out, "\n{}", paragraph(text, self.width, 0));
        out.push_str(&narrow_by(table, &rates(flows)).text(self.width));
    }
}
