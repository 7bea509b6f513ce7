use super::MET;
use crate::render::prose::{about, of_100, paragraph, two_digits};
use crate::render::table::{Side, Table};
use narrows_core::quantity::{Time, show, three_digits, units};
use narrows_keeping::Range;
use narrows_keeping::backup::{Backup, CAUTIONS, CopyAnswer, Worth};
use std::fmt::Write;

/// What is shown of copies.
pub(crate) struct Shown<'a> {
    pub answer: &'a Backup,
    /// Jobs of the day beside which the copies run.
    pub beside: usize,
    /// The age that was asked for.
    pub need: Option<Time>,
    pub path: &'a str,
    pub width: usize,
}

/// Hours from which a time is told in days.
const DAYS_FROM: f64 = 48.0;

/// Events that cost less than this share of all are left out of the text.
const WORTH_A_ROW: f64 = 0.01;

/// Events that a text has room for.
const ROWS: usize = 6;

fn in_hours(time: Time) -> f64 {
    time.get::<units::time::hour>()
}

/// A range of times in one unit: "2 to 5 days".
fn from_to(range: &Range<Time>) -> String {
    let (low, high) = (in_hours(range.p05), in_hours(range.p95));
    if high >= DAYS_FROM {
        format!(
            "{} to {} days",
            two_digits(low / 24.0),
            two_digits(high / 24.0)
        )
    } else {
        format!("{} to {} hours", two_digits(low), two_digits(high))
    }
}

/// Hours of work, at two digits.
fn work(hours: f64) -> String {
    two_digits(hours)
}

fn noun(kind: &str) -> &'static str {
    match kind {
        "snapshots" => "snapshots every hour",
        "box-here" => "a second box in the room, every night",
        "box-elsewhere" => "a second box in another building, every night",
        "carried" => "drives carried away every week",
        "upload" => "an internet store that keeps versions, every night",
        _ => "getting a project back from every copy once a year",
    }
}

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
        out.push_str(&self.copies().text(self.width));
        let beside = match self.beside {
            0 => "runs of one night beside each other".to_owned(),
            count => format!("runs beside {count} jobs of the day"),
        };
        let _ = writeln!(
            out,
            "{}\n",
            paragraph(
                &format!(
                    "age: of the newest whole copy, in the mean and in 1 of 20 moments. back: everything, project: one project. {beside}."
                ),
                self.width,
                0
            )
        );
        for copy in &self.answer.copies {
            for line in about_copy(copy) {
                let _ = writeln!(out, "{}", paragraph(&line, self.width, 2));
            }
        }
        out.push('\n');
        out.push_str(&self.events().text(self.width));
        let _ = writeln!(
            out,
            "{}\n",
            paragraph(
                "hours: of work lost in a year, in the mean, with these copies; bare: with none.",
                self.width,
                0
            )
        );
        for line in self.losses() {
            let _ = writeln!(out, "{}", paragraph(&line, self.width, 2));
        }
        out.push('\n');
        out.push_str(&self.drill());
        out.push('\n');
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
        let (need, met) = (self.need?, self.answer.met_probability?);
        let enough = if met < MET {
            ", too seldom to rely on"
        } else {
            ""
        };
        Some(format!(
            "The newest whole copy away from the room is at most {} old in {} of 100 moments{enough}.",
            about(need),
            of_100(met)
        ))
    }

    fn first(&self) -> String {
        let tonight = &self.answer.tonight;
        match (&tonight.copy, &tonight.lost_s, &tonight.back_s) {
            (Some(copy), Some(lost), Some(back)) => format!(
                "If the room burns tonight you lose {} of edits and are back after {}, from {copy}.{}",
                from_to(lost),
                from_to(back),
                tonight
                    .sooner
                    .as_ref()
                    .map_or_else(String::new, |other| format!(
                        " From {} you lose {} and are back after {}.",
                        other.copy,
                        from_to(&other.lost_s),
                        from_to(&other.back_s)
                    ))
            ),
            _ => "If the room burns tonight everything is gone: no copy is in another building."
                .to_owned(),
        }
    }

    fn why(&self) -> String {
        let stuck: Vec<&CopyAnswer> = self
            .answer
            .copies
            .iter()
            .filter(|c| c.run_bytes.is_some() && c.keeps_up_probability < 0.5)
            .collect();
        if let Some(first) = stuck.first() {
            return format!(
                "{} does not keep up: more comes in than it takes in {} of 100 cases.",
                first.copy,
                of_100(1.0 - first.keeps_up_probability)
            );
        }
        let losses = &self.answer.losses;
        match losses.events.first() {
            Some(event) => format!(
                "Of {} hours of work that a usual year costs ({} to {}), {} go to: {}.",
                work(losses.hours_a_year.likely),
                work(losses.hours_a_year.low),
                work(losses.hours_a_year.high),
                work(event.hours_a_year),
                event.words
            ),
            None => String::new(),
        }
    }

    fn next(&self) -> String {
        let losses = &self.answer.losses;
        match losses.next.first() {
            Some(Worth {
                what: "try",
                hours_a_year,
            }) => format!(
                "Most worth doing: get a project back from every copy and open it (an afternoon). That alone leaves {} hours a year.",
                work(*hours_a_year)
            ),
            Some(worth) => format!(
                "Most worth having next: {}. It leaves {} hours a year.",
                noun(worth.what),
                work(worth.hours_a_year)
            ),
            None => "No further copy is worth much: try those that there are.".to_owned(),
        }
    }

    fn copies(&self) -> Table {
        let mut table = Table::new(&[
            ("copy", Side::Left),
            ("kind", Side::Left),
            ("run", Side::Right),
            ("age", Side::Right),
            ("1 in 20", Side::Right),
            ("project", Side::Right),
            ("back", Side::Right),
        ]);
        for copy in &self.answer.copies {
            let run = match (&copy.run_bytes, &copy.run_s) {
                (None, _) => "-".to_owned(),
                (Some(_), Some(range)) => about(range.p50),
                (Some(_), None) => "never ends".to_owned(),
            };
            table.row(vec![
                copy.copy.clone(),
                copy.kind.to_owned(),
                run,
                about(copy.mean_age_s),
                about(copy.old_age_s),
                about(copy.restore.project.takes_s.p50),
                copy.restore
                    .everything
                    .as_ref()
                    .map_or_else(|| "-".to_owned(), |back| about(back.takes_s.p50)),
            ]);
        }
        table
    }

    fn events(&self) -> Table {
        let mut table = Table::new(&[
            ("event", Side::Left),
            ("happens", Side::Right),
            ("hours", Side::Right),
            ("bare", Side::Right),
        ])
        .folding(0);
        let losses = &self.answer.losses;
        let all = losses.hours_a_year.likely;
        for event in losses.events.iter().take(ROWS) {
            if event.hours_a_year < all * WORTH_A_ROW {
                continue;
            }
            table.row(vec![
                event.words.to_owned(),
                often(event.a_year.likely),
                work(event.hours_a_year),
                work(event.bare_hours_a_year),
            ]);
        }
        table
    }

    fn losses(&self) -> Vec<String> {
        let losses = &self.answer.losses;
        let mut lines = vec![format!(
            "In all {} hours a year ({} to {}), without any copy {}; {} more are spent waiting. Something is gone from every copy within five years in {} of 100 cases.",
            work(losses.hours_a_year.likely),
            work(losses.hours_a_year.low),
            work(losses.hours_a_year.high),
            work(losses.bare_hours_a_year.likely),
            work(losses.waiting_hours_a_year),
            of_100(losses.gone_in_five_years_probability)
        )];
        let taken: Vec<String> = losses
            .taken
            .iter()
            .map(|t| format!("{} {}", t.copy, work(t.takes_off_hours_a_year)))
            .collect();
        lines.push(format!(
            "What each copy takes off, in hours a year: {}.",
            taken.join(", ")
        ));
        let next: Vec<String> = losses
            .next
            .iter()
            .take(3)
            .map(|w| format!("{}: {}", noun(w.what), work(w.hours_a_year)))
            .collect();
        if !next.is_empty() {
            lines.push(format!(
                "What would remain, in hours a year, with {}.",
                next.join("; with ")
            ));
        }
        if let Some(met) = self.answer.met_probability {
            lines.push(format!(
                "A copy away is as young as was asked in {} of 100 moments.",
                of_100(met)
            ));
        }
        lines
    }

    /// A restore that is tried, step by step.
    fn drill(&self) -> String {
        let tried = |c: &&CopyAnswer| c.restore.everything.is_some();
        let Some(copy) = self.answer.copies.iter().filter(tried).max_by(|a, b| {
            a.own_failure_probability
                .total_cmp(&b.own_failure_probability)
        }) else {
            return String::new();
        };
        let project = &copy.restore.project;
        let mut out = format!("Try it, with {}:\n", copy.copy);
        let steps = [
            "pick a project that nobody works on, and write down how many files it has".to_owned(),
            format!(
                "find the copy, its key and its manual: {}",
                about(project.before_s.p50)
            ),
            format!(
                "copy the project beside the old one: {} for {}",
                about(project.moving_s.p50),
                show(project.size_bytes.p50)
            ),
            "count the files, open ten, play one through".to_owned(),
            format!(
                "write down the date and the time that it took; {} are expected in all ({})",
                about(project.takes_s.p50),
                from_to(&project.takes_s)
            ),
        ];
        for (number, step) in steps.iter().enumerate() {
            let _ = writeln!(
                out,
                "  [ ] {} {}",
                number + 1,
                paragraph(step, self.width.saturating_sub(8), 0).replace('\n', "\n        ")
            );
        }
        out
    }

    /// One row a copy, for a spreadsheet.
    pub(super) fn table(&self) -> Table {
        let mut table = Table::new(&[
            ("copy", Side::Left),
            ("kind", Side::Left),
            ("run hours", Side::Right),
            ("keeps up %", Side::Right),
            ("age hours", Side::Right),
            ("old age hours", Side::Right),
            ("unnoticed age hours", Side::Right),
            ("project hours", Side::Right),
            ("everything hours", Side::Right),
            ("everything 5 %", Side::Right),
            ("everything 95 %", Side::Right),
            ("fails %", Side::Right),
        ]);
        let hours = |time: Time| three_digits(in_hours(time));
        let maybe = |time: Option<Time>| time.map_or_else(String::new, hours);
        for copy in &self.answer.copies {
            let all = copy.restore.everything.as_ref();
            table.row(vec![
                copy.copy.clone(),
                copy.kind.to_owned(),
                maybe(copy.run_s.map(|r| r.p50)),
                three_digits(copy.keeps_up_probability * 100.0),
                hours(copy.mean_age_s),
                hours(copy.old_age_s),
                maybe(copy.unnoticed_age_s),
                hours(copy.restore.project.takes_s.p50),
                maybe(all.map(|b| b.takes_s.p50)),
                maybe(all.map(|b| b.takes_s.p05)),
                maybe(all.map(|b| b.takes_s.p95)),
                three_digits(copy.own_failure_probability * 100.0),
            ]);
        }
        table
    }
}

/// How often something happens: once in so many years.
fn often(a_year: f64) -> String {
    if a_year >= 1.0 {
        format!("{} times a year", two_digits(a_year))
    } else {
        format!("1 in {} years", two_digits(1.0 / a_year))
    }
}

/// What a copy needs a word about.
fn about_copy(copy: &CopyAnswer) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(age) = copy
        .unnoticed_age_s
        .filter(|_| copy.silent_stop_a_year > 0.0)
    {
        lines.push(format!(
            "{}: it stops without a word in {} of 100 years, and is {} old by the time somebody notices. It fails to give back in {} of 100 cases.",
            copy.copy,
            of_100(copy.silent_stop_a_year),
            about(age),
            of_100(copy.own_failure_probability)
        ));
    }
    if let Some(backlog) = &copy.backlog {
        let clear = backlog.clear_day.map_or_else(
            || "is never done".to_owned(),
            |day| format!("is done on day {day}"),
        );
        let first = match copy.first_copy_days {
            Some(days) => format!("a first copy takes {} days", two_digits(days)),
            None => "a first copy is never whole: bring it on a drive".to_owned(),
        };
        lines.push(format!(
            "{}: after five shooting days {} wait and it {clear}; {first}.",
            copy.copy,
            show(backlog.largest_bytes)
        ));
    }
    lines
}
