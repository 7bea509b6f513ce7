use super::MET;
use crate::render::prose::{about, of_100, paragraph, two_digits};
use crate::render::table::{Side, Table};
use narrows_core::quantity::{Information, Measure, Time, show, three_digits, units};
use narrows_keeping::Range;
use narrows_keeping::growth::{CAUTIONS, GrowthAnswer};
use std::fmt::Write;

/// What is shown of growth.
pub(crate) struct Shown<'a> {
    pub answer: &'a GrowthAnswer,
    /// Readings that it rests on.
    pub read: usize,
    /// How long space should last, where that was asked.
    pub need: Option<Time>,
    pub path: &'a str,
    pub width: usize,
}

/// Months beyond which a date is "later than ten years".
const FAR: f64 = 120.0;

/// Below so many months something must be ordered now.
const NOW: f64 = 0.1;

fn tb(size: Information) -> f64 {
    size.get::<units::information::terabyte>()
}

fn months(count: f64) -> String {
    if count > FAR {
        "over 120".to_owned()
    } else {
        two_digits((count * 10.0).round() / 10.0)
    }
}

/// Below so many months, days say better when.
const DAYS: f64 = 2.0;

/// A length of time in days where it is short, else in months.
fn soon(count: f64) -> String {
    if count >= DAYS {
        return format!("{} months", months(count));
    }
    // a day too late is too late
    match (count * A_MONTH).floor() {
        days if days < 2.0 => "1 day".to_owned(),
        days => format!("{days:.0} days"),
    }
}

/// Days of a month in the middle of four years.
const A_MONTH: f64 = 365.25 / 12.0;

/// Rows of the chart.
const ROWS: usize = 12;

impl Shown<'_> {
    pub(crate) fn text(&self) -> String {
        let mut out = String::new();
        let asked = self.asked();
        for line in asked
            .into_iter()
            .chain([self.first(), self.why(), self.next()])
        {
            let _ = writeln!(out, "{}", paragraph(&line, self.width, 2));
        }
        out.push('\n');
        out.push_str(&self.limits().text(self.width));
        out.push_str("months from now. from, to: 1 in 20 is sooner, 1 in 20 later.\n\n");
        out.push_str(&self.chart());
        out.push('\n');
        let archive = &self.answer.archive;
        let wins = &archive.wins_months;
        let line = format!(
            "Moving finished work to an archive frees {} in {} ({} to {}) and wins {} months ({} to {}).",
            show(archive.frees_bytes.p50),
            about(archive.takes_s.p50),
            about(archive.takes_s.p05),
            about(archive.takes_s.p95),
            months(wins.p50),
            months(wins.p05),
            months(wins.p95)
        );
        let _ = writeln!(out, "{}\n", paragraph(&line, self.width, 2));
        if !self.answer.others.is_empty() {
            let line = format!(
                "If what comes in went to another array than {}:",
                self.answer.array
            );
            let _ = writeln!(out, "{}", paragraph(&line, self.width, 2));
            let _ = writeln!(out, "{}", self.others().text(self.width));
        }
        for caution in CAUTIONS {
            let _ = writeln!(out, "{}", paragraph(caution, self.width, 2));
        }
        let line = format!(
            "What was assumed, and how to find it: narrows check {}",
            self.path
        );
        let _ = writeln!(out, "{}", paragraph(&line, self.width, 2));
        out
    }

    /// The answer to what was asked, before anything else.
    fn asked(&self) -> Option<String> {
        let (need, met) = (self.need?, self.answer.full.met_probability?);
        let enough = if met < MET {
            ", too seldom to rely on"
        } else {
            ""
        };
        Some(format!(
            "{} has comfortable space for {} in {} of 100 cases{enough}.",
            self.answer.array,
            about(need),
            of_100(met)
        ))
    }

    fn first(&self) -> String {
        let full = &self.answer.full;
        let early = &full.comfortable_months;
        if early.p95 <= NOW {
            return format!(
                "{} is at its comfortable fill already, and full in about {} months ({} to {}).",
                self.answer.array,
                months(full.full_months.p50),
                months(full.full_months.p05),
                months(full.full_months.p95)
            );
        }
        format!(
            "{} is at its comfortable fill in about {} months ({} to {}), and full in about {} ({} to {}).",
            self.answer.array,
            months(early.p50),
            months(early.p05),
            months(early.p95),
            months(full.full_months.p50),
            months(full.full_months.p05),
            months(full.full_months.p95)
        )
    }

    fn why(&self) -> String {
        let month = &self.answer.month_bytes;
        let held = format!(
            "it holds {} of {}",
            show(self.answer.held_bytes.p50),
            show(self.answer.full.usable_bytes)
        );
        match &self.answer.day_bytes {
            Some(day) => format!(
                "Why: a shooting day brings {} ({} to {}), a month {} ({} to {}); {held}.",
                show(day.p50),
                show(day.p05),
                show(day.p95),
                show(month.p50),
                show(month.p05),
                show(month.p95)
            ),
            None => format!(
                "Why: by {} readings of the fill a month brings {} ({} to {}); {held}.",
                self.read,
                show(month.p50),
                show(month.p05),
                show(month.p95)
            ),
        }
    }

    fn next(&self) -> String {
        let full = &self.answer.full;
        let within = format!(
            "the next project ends before that in {} of 100 cases",
            of_100(1.0 - full.within_project_probability)
        );
        if full.order_within_months <= NOW {
            format!(
                "Order space now: from order to space it takes {} months ({} to {}); {within}.",
                months(full.buying_months.p50),
                months(full.buying_months.p05),
                months(full.buying_months.p95)
            )
        } else {
            format!(
                "Order space within {}: from order to space it takes {} months ({} to {}); {within}.",
                soon(full.order_within_months),
                months(full.buying_months.p50),
                months(full.buying_months.p05),
                months(full.buying_months.p95)
            )
        }
    }

    fn limits(&self) -> Table {
        let full = &self.answer.full;
        let mut table = Table::new(&[
            ("reached", Side::Left),
            ("TB", Side::Right),
            ("months", Side::Right),
            ("from", Side::Right),
            ("to", Side::Right),
        ]);
        let mut row = |name: &str, size: Information, range: &Range<f64>| {
            table.row(vec![
                name.to_owned(),
                three_digits(tb(size)),
                months(range.p50),
                months(range.p05),
                months(range.p95),
            ]);
        };
        row(
            "comfortable fill",
            full.comfortable_bytes,
            &full.comfortable_months,
        );
        row("the end", full.usable_bytes, &full.full_months);
        table
    }

    /// Every other array, if everything went there.
    fn others(&self) -> Table {
        let mut table = Table::new(&[
            ("array", Side::Left),
            ("holds TB", Side::Right),
            ("of TB", Side::Right),
            ("comfortable in", Side::Right),
            ("full in", Side::Right),
            ("from", Side::Right),
            ("to", Side::Right),
        ]);
        for other in &self.answer.others {
            table.row(vec![
                other.array.clone(),
                three_digits(tb(other.held_bytes.p50)),
                three_digits(tb(other.usable_bytes)),
                months(other.comfortable_months.p50),
                months(other.full_months.p50),
                months(other.full_months.p05),
                months(other.full_months.p95),
            ]);
        }
        table
    }

    /// Fill over months: the band between the 5th and 95th percentile, the median in it, both limits.
    fn chart(&self) -> String {
        let wide = self.width.saturating_sub(8).clamp(20, 60);
        let full = &self.answer.full;
        let top = tb(full.usable_bytes) * 1.1;
        let at = |size: Information| {
            ((tb(size) / top * wide as f64) as usize).min(wide.saturating_sub(1))
        };
        let mut out = String::from("month  TB: - range, o middle, : comfortable, | end, > over\n");
        let step = (self.answer.course.len().saturating_sub(1) / ROWS).max(1);
        for point in self.answer.course.iter().step_by(step) {
            let mut line = vec![' '; wide];
            let held = &point.held_bytes;
            for cell in line.iter_mut().take(at(held.p95) + 1).skip(at(held.p05)) {
                *cell = '-';
            }
            let mut put = |size: Information, mark: char| {
                if let Some(cell) = line.get_mut(at(size)) {
                    *cell = mark;
                }
            };
            put(full.comfortable_bytes, ':');
            put(full.usable_bytes, '|');
            let beyond = held.p50 > full.usable_bytes;
            put(held.p50, if beyond { '>' } else { 'o' });
            let line: String = line.into_iter().collect();
            let _ = writeln!(out, "{:>5}  {}", point.month, line.trim_end());
            if held.p05 > full.usable_bytes {
                break;
            }
        }
        let _ = writeln!(
            out,
            "{:>5}  0 to {} TB from left to right",
            "",
            three_digits(top)
        );
        out
    }

    /// Month by month, for a spreadsheet.
    pub(super) fn table(&self) -> Table {
        let mut table = Table::new(&[
            ("month", Side::Right),
            ("held TB", Side::Right),
            ("5 %", Side::Right),
            ("95 %", Side::Right),
            ("comfortable TB", Side::Right),
            ("end TB", Side::Right),
        ]);
        let full = &self.answer.full;
        for point in &self.answer.course {
            let size = |s: Information| {
                if s.base() > 0.0 {
                    three_digits(tb(s))
                } else {
                    "0".to_owned()
                }
            };
            table.row(vec![
                point.month.to_string(),
                size(point.held_bytes.p50),
                size(point.held_bytes.p05),
                size(point.held_bytes.p95),
                size(full.comfortable_bytes),
                size(full.usable_bytes),
            ]);
        }
        table
    }
}
