use crate::render::lead::{Lead, the};
use crate::render::places::Places;
use crate::render::prose::{counted, item, paragraph, rate, share};
use crate::render::table::{Side, Table};
use narrows_core::budget::{Warning, WarningKind};
use narrows_core::day::{Day, Played, clock};
use narrows_core::quantity::{Time, ratio, show, units};
use narrows_core::site::Site;
use std::fmt::Write;

/// Below this share of cases a job that is done in time in the middle is told to be at risk.
const SURE: f64 = 0.95;

/// Letters of a job's name that a screen has room for.
const LONGEST: usize = 22;

/// The least that is left of a name.
const SHORTEST: usize = 12;

/// Columns of a screen that times and the place take beside the name of a job.
const BESIDE_NAMES: usize = 63;

/// What is shown of a day.
pub(crate) struct Shown<'a> {
    pub site: &'a Site,
    pub day: &'a Day,
    pub warnings: &'a [Warning],
    pub unused: &'a [String],
    pub width: usize,
}

/// Sentences that belong under every day.
pub(crate) const CAUTIONS: [&str; 2] = [
    "Only the jobs of the list run in this day: what desks play beside them is not in it.",
    "An array is not a backup: a copy counts once it is elsewhere and has been read back.",
];

impl Shown<'_> {
    pub(crate) fn text(&self) -> String {
        let mut out = self.lead().text(self.width);
        out.push('\n');
        out.push_str(&self.short_table().text(self.width));
        out.push('\n');
        for line in self.lines() {
            let _ = writeln!(out, "{}", paragraph(&line, self.width, 0));
        }
        let about: Vec<String> = self
            .day
            .jobs
            .iter()
            .filter_map(|job| about(job, self))
            .collect();
        if !about.is_empty() {
            out.push_str("\nLate or close:\n");
            for text in about {
                let _ = writeln!(out, "{}", item(&text, self.width));
            }
        }
        if !self.warnings.is_empty() {
            out.push_str("\nLook at this:\n");
            for w in self.warnings {
                let text = format!("{}: {}. Next: {}.", w.place, w.message, w.next);
                let _ = writeln!(out, "{}", item(&text, self.width));
            }
        }
        out.push('\n');
        for caution in CAUTIONS {
            let _ = writeln!(out, "{}", paragraph(caution, self.width, 0));
        }
        out
    }

    /// What becomes of the day, what makes it so, and what to do.
    fn lead(&self) -> Lead {
        let worst = self.worst();
        let why = worst.map(|job| {
            let needs = match job.needs {
                Some(needs) => format!(
                    "it would need {} MB/s from {} on and gets {}; ",
                    rate(needs),
                    clock(job.job.earliest),
                    rate(job.rate)
                ),
                None => String::new(),
            };
            let place = job
                .waits
                .first()
                .map_or_else(String::new, |(name, _)| self.place(name));
            format!("{needs}it waits longest for the {place}.")
        });
        let next = worst.map(|job| {
            let slow = self
                .warnings
                .iter()
                .find(|w| w.kind == WarningKind::SlowPortInTheWay);
            match slow {
                Some(w) => format!("{} ({}).", w.next, w.place),
                None => format!(
                    "begin {} earlier, or move what runs beside it.",
                    job.job.what
                ),
            }
        });
        Lead {
            what: self.first_line(),
            why,
            next,
        }
    }

    /// The job that is latest, else the one that is least sure.
    fn worst(&self) -> Option<&Played> {
        let late = |j: &&Played| !j.is_in_time();
        let by = |j: &Played| j.late_by.map_or(0.0, |t| t.get::<units::time::second>());
        let latest = self
            .day
            .jobs
            .iter()
            .filter(late)
            .max_by(|a, b| by(a).total_cmp(&by(b)));
        latest.or_else(|| {
            let unsure = |j: &&Played| j.in_time.is_some_and(|chance| chance < ratio(SURE));
            self.day.jobs.iter().find(unsure)
        })
    }

    fn waits(&self, job: &Played) -> String {
        let of = |(name, part): &(String, narrows_core::quantity::Ratio)| {
            format!(
                "{} ({} of its time)",
                the(&self.place(name)),
                share(part.get::<units::ratio::one>())
            )
        };
        let all: Vec<String> = job.waits.iter().take(3).map(of).collect();
        if all.is_empty() {
            "a path that carries nothing".to_owned()
        } else {
            all.join(", ")
        }
    }

    /// The places that a job waits for, in words.
    fn place(&self, ids: &str) -> String {
        let ids: Vec<String> = ids.split(" with ").map(str::to_owned).collect();
        Places::of(self.site).names(&ids, None)
    }

    fn first_line(&self) -> String {
        let jobs = &self.day.jobs;
        let never: Vec<&Played> = jobs.iter().filter(|j| j.ends.is_none()).collect();
        if let Some(first) = never.first() {
            return format!(
                "{} does not end in more than one case of twenty: it waits for {}.",
                first.job.what,
                self.waits(first)
            );
        }
        let late: Vec<&Played> = jobs.iter().filter(|j| !j.is_in_time()).collect();
        let worst = late.iter().max_by(|a, b| {
            let by = |j: &Played| j.late_by.map_or(0.0, |t| t.get::<units::time::second>());
            by(a).total_cmp(&by(b))
        });
        if let Some(worst) = worst {
            let ends = worst.ends.map_or_else(String::new, |e| clock(e.p50));
            let by = worst.late_by.map_or_else(String::new, hours);
            return if late.len() == 1 {
                format!(
                    "{} is late: it ends at {ends}, {by} after it is due.",
                    worst.job.what
                )
            } else {
                format!(
                    "{} of {} are late; the worst is {}, which ends at {ends}, {by} after it is due.",
                    late.len(),
                    counted(jobs.len(), "job", "jobs"),
                    worst.job.what
                )
            };
        }
        let due: Vec<&Played> = jobs.iter().filter(|j| j.in_time.is_some()).collect();
        let risk = due
            .iter()
            .filter_map(|j| Some((j, j.in_time?)))
            .min_by(|a, b| {
                a.1.get::<units::ratio::one>()
                    .total_cmp(&b.1.get::<units::ratio::one>())
            });
        let all = match jobs.len() {
            1 => "The job is".to_owned(),
            count => format!("All {count} jobs are"),
        };
        match risk {
            Some((job, chance)) if chance < ratio(SURE) => format!(
                "{all} done in time in the middle case, but {} in only {} of cases.",
                job.job.what,
                share(chance.get::<units::ratio::one>())
            ),
            Some(_) => {
                let slack = |j: &&Played| {
                    let (ends, due) = (j.ends?.p95, j.job.due?);
                    Some(due - ends)
                };
                let close = due
                    .iter()
                    .filter_map(|j| Some((j, slack(j)?)))
                    .min_by(|a, b| {
                        let s = |t: Time| t.get::<units::time::second>();
                        s(a.1).total_cmp(&s(b.1))
                    });
                match close {
                    Some((job, left)) => format!(
                        "{all} done in time; the closest is {}, with {} to spare in 95 of 100 cases.",
                        job.job.what,
                        hours(left)
                    ),
                    None => format!("{all} done in time."),
                }
            }
            None => {
                let last = jobs.iter().filter_map(|j| j.ends).map(|e| e.p50);
                let last = last.max_by(|a, b| {
                    let s = |t: &Time| t.get::<units::time::second>();
                    s(a).total_cmp(&s(b))
                });
                let at = last.map_or_else(String::new, clock);
                format!("{all} done by {at}; none has an hour at which it is due.")
            }
        }
    }

    /// What fits a screen.
    fn short_table(&self) -> Table {
        let mut table = Table::new(&[
            ("job", Side::Left),
            ("begins", Side::Right),
            ("ends", Side::Right),
            ("95 %", Side::Right),
            ("due", Side::Right),
            ("in time", Side::Right),
            ("waits for", Side::Left),
        ]);
        let room = LONGEST.min(self.width.saturating_sub(BESIDE_NAMES).max(SHORTEST));
        for job in &self.day.jobs {
            let ends = |of: fn(&narrows_core::budget::TimeRange) -> Time| {
                job.ends
                    .as_ref()
                    .map_or_else(|| "never".to_owned(), |e| clock(of(e)))
            };
            table.row(vec![
                short(&job.job.what, room),
                clock(job.job.earliest),
                ends(|e| e.p50),
                ends(|e| e.p95),
                job.job.due.map_or_else(|| "-".to_owned(), clock),
                job.in_time.map_or_else(
                    || "-".to_owned(),
                    |chance| share(chance.get::<units::ratio::one>()),
                ),
                job.waits
                    .first()
                    .map_or_else(String::new, |(name, _)| self.place(name)),
            ]);
        }
        table
    }

    /// Everything, for a spreadsheet or a document.
    pub(crate) fn table(&self) -> Table {
        let mut table = Table::new(&[
            ("job", Side::Left),
            ("from", Side::Left),
            ("to", Side::Left),
            ("size", Side::Right),
            ("begins", Side::Right),
            ("ends 5 %", Side::Right),
            ("ends", Side::Right),
            ("ends 95 %", Side::Right),
            ("due", Side::Right),
            ("in time %", Side::Right),
            ("done when due %", Side::Right),
            ("MB/s", Side::Right),
            ("waits for", Side::Left),
        ]);
        let none = String::new;
        for job in &self.day.jobs {
            let ends = job.ends.map(|e| [e.p05, e.p50, e.p95].map(clock));
            let [low, middle, high] =
                ends.unwrap_or_else(|| ["never", "never", "never"].map(str::to_owned));
            let percent = |share: Option<narrows_core::quantity::Ratio>| {
                share.map_or_else(none, |s| format!("{:.1}", s.get::<units::ratio::percent>()))
            };
            table.row(vec![
                job.job.what.clone(),
                job.job.from.to_string(),
                job.job.to.to_string(),
                show(job.size),
                clock(job.job.earliest),
                low,
                middle,
                high,
                job.job.due.map_or_else(none, clock),
                percent(job.in_time),
                percent(job.done_when_due),
                rate(job.rate),
                job.waits
                    .first()
                    .map_or_else(none, |(name, _)| name.clone()),
            ]);
        }
        table
    }

    /// What the columns mean.
    fn lines(&self) -> Vec<String> {
        let mut lines = vec![format!(
            "ends: the middle of {} cases; 95 %: done by then in 95 of 100; in time: share of \
             cases in which it is done when due; +1: the next day; waits for: the place that holds it \
             longest.",
            self.day.cases
        )];
        if self.day.cases < self.day.of_cases {
            lines.push(format!(
                "A long list: {} of {} cases are played, so shares are good to about {} %.",
                self.day.cases,
                self.day.of_cases,
                // two standard deviations of a share of one half
                (100.0 / f64_of(self.day.cases).sqrt()).ceil()
            ));
        }
        if !self.unused.is_empty() {
            lines.push(format!("Not used: columns {}.", self.unused.join(", ")));
        }
        lines
    }
}

fn f64_of(count: usize) -> f64 {
    count.max(1) as f64
}

/// A job that is late or not sure to be in time.
fn about(job: &Played, shown: &Shown<'_>) -> Option<String> {
    let chance = job.in_time?;
    if chance >= ratio(SURE) {
        return None;
    }
    let mut text = job.job.what.clone();
    if let (Some(done), Some(due)) = (job.done_when_due, job.job.due) {
        let _ = write!(
            text,
            ": {} done at {}",
            share(done.get::<units::ratio::one>()),
            clock(due)
        );
    }
    if let Some(needs) = job.needs {
        let _ = write!(
            text,
            "; it would need {} MB/s from {} on and gets {}",
            rate(needs),
            clock(job.job.earliest),
            rate(job.rate)
        );
    }
    let _ = write!(text, ". It waits for {}.", shown.waits(job));
    Some(text)
}

/// A name that leaves room for the other columns.
fn short(name: &str, room: usize) -> String {
    if name.chars().count() <= room {
        return name.to_owned();
    }
    let begin: String = name.chars().take(room.saturating_sub(2)).collect();
    format!("{}..", begin.trim_end())
}

/// A duration in hours and minutes.
pub(crate) fn hours(time: Time) -> String {
    let minutes = time.get::<units::time::minute>().max(0.0).round();
    let (hours, rest) = ((minutes / 60.0).floor(), minutes % 60.0);
    match (hours > 0.0, rest > 0.0) {
        (true, true) => format!("{hours:.0} h {rest:.0} min"),
        (true, false) => format!("{hours:.0} h"),
        (false, true) => format!("{rest:.0} min"),
        (false, false) => "less than a minute".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use narrows_core::quantity::seconds;

    #[test]
    fn long_names_are_cut_and_short_ones_are_not() {
        assert_eq!(
            short("card A of the morning", LONGEST),
            "card A of the morning"
        );
        let cut = short("the whole of the second card of the morning", LONGEST);
        assert_eq!(cut, "the whole of the sec..");
        assert_eq!(cut.chars().count(), LONGEST);
    }

    #[test]
    fn durations_carry_over_to_hours() {
        for (time, text) in [
            (0.0, "less than a minute"),
            (29.0, "less than a minute"),
            (60.0, "1 min"),
            (3_570.0, "1 h"),
            (3_600.0, "1 h"),
            (13_200.0, "3 h 40 min"),
        ] {
            assert_eq!(hours(seconds(time)), text);
        }
    }
}
