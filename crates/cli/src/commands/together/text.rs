use crate::arguments::Together as Arguments;
use crate::commands::together::names::{lead, places, stopped_by};
use crate::render::danger::danger;
use crate::render::lead::hanging;
use crate::render::places::Places;
use crate::render::prose::{item, of_100, paragraph, rate, share};
use crate::render::table::{Side, Table};
use crate::render::unknowns;
use narrows_core::budget::Towards;
use narrows_core::quantity::Ratio;
use narrows_core::quantity::units::ratio::one;
use narrows_core::site::Site;
use narrows_core::together::{SharedHop, SiteRoom, TaskShare, Together};
use narrows_core::work::Direction;
use std::fmt::Write;

/// Places that are listed; the others are emptier.
const MOST_HOPS: usize = 6;

/// Everything that is shown.
pub(crate) struct Shown<'a> {
    pub arguments: &'a Arguments,
    pub before: &'a Together,
    pub after: Option<&'a Together>,
    /// What there is room for beside all that.
    pub room: &'a SiteRoom,
    /// The site that the latest answer is about.
    pub site: &'a Site,
    pub width: usize,
}

impl Shown<'_> {
    pub(crate) fn latest(&self) -> &Together {
        self.after.unwrap_or(self.before)
    }

    /// The main table, for a spreadsheet or a document.
    pub(crate) fn table(&self) -> Table {
        self.shares(["needs MB/s", "before MB/s", "gets MB/s", "5 %", "95 %"])
    }

    /// The main table for a person, whose unit stands above it.
    fn short_table(&self) -> Table {
        self.shares(["needs", "before", "gets", "from", "to"])
            .without("direction")
    }

    fn shares(&self, [needed, before, got, low, high]: [&str; 5]) -> Table {
        let answer = self.latest();
        let mut table = Table::new(&[
            ("task", Side::Left),
            ("array", Side::Left),
            ("direction", Side::Left),
            (needed, Side::Right),
            (before, Side::Right),
            (got, Side::Right),
            (low, Side::Right),
            (high, Side::Right),
            ("alone", Side::Right),
            ("short %", Side::Right),
            ("stopped by", Side::Left),
        ]);
        for task in &answer.tasks {
            let range = task.megabytes_per_s;
            table.row(vec![
                self.name_of(task),
                task.array.clone(),
                task.direction.word().to_owned(),
                needs(task),
                self.before_of(task),
                rate(range.p50),
                rate(range.p05),
                rate(range.p95),
                rate(task.alone_megabytes_per_s.p50),
                task.short_probability
                    .map_or(String::new(), |p| percent_of(p).trim().to_owned()),
                stopped_by(task, Places::of(self.site)),
            ]);
        }
        for head in ["array", "direction"] {
            if table.same(head) {
                table = table.without(head);
            }
        }
        if self.after.is_none() {
            table = table.without(before);
        }
        if !answer.from_tasks {
            table = table.without(needed).without("short %");
        }
        table
    }

    fn before_of(&self, task: &TaskShare) -> String {
        let same = |t: &&TaskShare| t.id == task.id && t.array == task.array && t.desk == task.desk;
        let before = self.before.tasks.iter().find(same);
        before.map_or(String::new(), |t| rate(t.megabytes_per_s.p50))
    }

    /// Desk and what it does; with the number where a desk does the same twice.
    fn name_of(&self, task: &TaskShare) -> String {
        let answer = self.latest();
        if !answer.from_tasks {
            return task.desk.clone();
        }
        let same = |t: &&TaskShare| {
            t.desk == task.desk && t.does == task.does && t.direction == task.direction
        };
        // what may go either way says so where it goes the less usual one
        let turned = task.direction == Direction::Write && task.does != "ingest";
        let way = if turned { ", writing" } else { "" };
        let name = format!("{} {}{way}", task.desk, task.does);
        if answer.tasks.iter().filter(same).count() > 1 {
            format!("{name} ({})", task.id)
        } else {
            name
        }
    }

    /// The answer for a person.
    pub(crate) fn text(&self) -> String {
        let answer = self.latest();
        let mut out = String::new();
        let mut lead = lead(answer, Places::of(self.site));
        if self.after.is_some() {
            let there = match &self.arguments.compare {
                Some(_) => format!("At {}: ", self.latest().site),
                None => "With the change: ".to_owned(),
            };
            lead.what.insert_str(0, &there);
        }
        if let Some(text) = danger(self.site) {
            lead.what.insert_str(0, &text);
        }
        out.push_str(&lead.text(self.width));
        let _ = writeln!(out, "\n{}", paragraph(&self.title(), self.width, 0));
        out.push_str(&self.short_table().text(self.width));
        let _ = writeln!(out, "{}", paragraph(&self.legend(), self.width, 0));
        self.lifted(&mut out);
        self.materials(&mut out);
        self.places(&mut out);
        self.totals(&mut out);
        out.push_str(&crate::commands::together::room_text::section(
            self.room,
            Places::of(self.site),
            self.width,
        ));
        self.needs(&mut out);
        self.remarks(&mut out);
        out
    }

    fn title(&self) -> String {
        let answer = self.latest();
        let sides = match (&self.arguments.compare, self.after) {
            (Some(_), _) => format!(
                " (before: {}, gets: {})",
                self.before.site,
                self.latest().site
            ),
            (None, Some(_)) => " (before and after the change)".to_owned(),
            (None, None) => String::new(),
        };
        if answer.from_tasks {
            return format!("All tasks at once, in MB/s{sides}:");
        }
        let what = match answer.tasks.first() {
            Some(task) => {
                let way = match task.direction {
                    Direction::Read => "from",
                    Direction::Write => "to",
                };
                format!("{} {way} the array", task.does)
            }
            None => "work".to_owned(),
        };
        format!("All desks {what} at once, as fast as it goes, in MB/s{sides}:")
    }

    fn legend(&self) -> String {
        let mut text = String::new();
        if self.latest().from_tasks {
            text.push_str(
                "needs: what has to be there in time; \"up to\": what settings, card or speed hold \
                 a task to. short: cases of 100 in which it gets less than it needs. ",
            );
        }
        text.push_str(
            "gets: in the middle; 1 in 20 gets less than from, 1 in 20 more than to. alone: with \
             nobody else there. stopped by: a place, and in how many of 100 cases; (alone too): \
             it would stop there with nobody else there.",
        );
        if self.latest().hops.iter().any(|h| h.tasks > 1) {
            text.push_str(" A share of a full place varies by 10 to 25 % over seconds.");
        }
        text
    }

    /// What those who are short would get without the place that stops them most.
    fn lifted(&self, out: &mut String) {
        let parts: Vec<String> = self
            .latest()
            .tasks
            .iter()
            .filter(|t| t.is_short())
            .filter_map(|t| {
                let limit = t.limits.iter().find(|l| !l.alone)?;
                let then = limit.if_lifted_megabytes_per_s?;
                let place = places(limit, "", Places::of(self.site));
                Some(format!(
                    "{} would get {} MB/s without the {place}",
                    self.name_of(t),
                    rate(then),
                ))
            })
            .collect();
        if !parts.is_empty() {
            let text = format!("In the middle {}.", parts.join(", "));
            let _ = writeln!(out, "\n{}", paragraph(&text, self.width, 0));
        }
    }

    /// What is played and exported, with where its rate comes from.
    fn materials(&self, out: &mut String) {
        let told = self.latest().tasks.iter().filter(|t| t.material.is_some());
        let mut any = false;
        for task in told {
            if !any {
                out.push_str("\nMaterial, pictures only (sound adds 0.2 to 2 %):\n");
                any = true;
            }
            let because = task.because.as_deref().unwrap_or_default();
            let text = format!(
                "{}: {} ({})",
                self.name_of(task),
                task.material.as_deref().unwrap_or_default(),
                because.split(';').next().unwrap_or_default()
            );
            let _ = writeln!(out, "{}", item(&text, self.width));
        }
    }

    fn places(&self, out: &mut String) {
        let answer = self.latest();
        let shared: Vec<&SharedHop> = answer.hops.iter().filter(|h| h.tasks > 1).collect();
        if shared.is_empty() {
            return;
        }
        let mut table = Table::new(&[
            ("shared place", Side::Left),
            ("towards", Side::Left),
            ("tasks", Side::Right),
            ("busy %", Side::Right),
            ("from", Side::Right),
            ("to", Side::Right),
            ("full %", Side::Right),
            ("site path", Side::Left),
        ])
        .folding(0);
        for hop in shared.iter().take(MOST_HOPS) {
            let percent = |share: Ratio| percent_of(share.get::<one>());
            table.row(vec![
                Places::of(self.site).name(&hop.id, None),
                match hop.towards {
                    Some(Towards::Desks) => "desks",
                    Some(Towards::Arrays) => "arrays",
                    None => "both",
                }
                .to_owned(),
                hop.tasks.to_string(),
                percent(hop.busy.p50),
                percent(hop.busy.p05),
                percent(hop.busy.p95),
                percent_of(hop.full_probability),
                hop.id.clone(),
            ]);
        }
        out.push_str("\nHow full the shared places are, the fullest first:\n");
        out.push_str(&table.text(self.width));
        let mut text =
            "busy: how much of the time it is used, in the middle. full: cases of 100 in which \
             nothing is left. "
                .to_owned();
        if let Some(next) = shared.get(MOST_HOPS) {
            let _ = write!(
                text,
                "{} more places, none busier than {} %.",
                shared.len() - MOST_HOPS,
                percent_of(next.busy.p50.get::<one>())
            );
        }
        let _ = writeln!(out, "{}", paragraph(text.trim_end(), self.width, 0));
    }

    fn totals(&self, out: &mut String) {
        let parts: Vec<String> = self
            .latest()
            .totals
            .iter()
            .map(|total| {
                let way = match total.direction {
                    Direction::Read => "from",
                    Direction::Write => "to",
                };
                let r = total.megabytes_per_s;
                format!(
                    "{} MB/s {way} {} ({} to {})",
                    rate(r.p50),
                    total.array,
                    rate(r.p05),
                    rate(r.p95)
                )
            })
            .collect();
        if !parts.is_empty() {
            let text = format!("All together: {}.", parts.join(", "));
            let _ = writeln!(out, "\n{}", paragraph(&text, self.width, 0));
        }
    }

    fn needs(&self, out: &mut String) {
        let tasks = &self.latest().tasks;
        let Some(need) = tasks.iter().find_map(|t| t.need) else {
            return;
        };
        let missing: Vec<String> = tasks
            .iter()
            .filter_map(|t| Some((t, t.need.filter(|n| !n.met)?)))
            .map(|(t, n)| format!("{} ({})", self.name_of(t), of_100(n.probability)))
            .collect();
        if !missing.is_empty() {
            let text = format!(
                "Not met: {} MB/s in at least 95 of 100 cases; in how many each reaches it: {}.",
                rate(need.rate),
                missing.join(", ")
            );
            let _ = writeln!(out, "\n{}", paragraph(&text, self.width, 0));
        }
    }

    fn remarks(&self, out: &mut String) {
        let answer = self.latest();
        if !answer.warnings.is_empty() {
            out.push_str("\nLook at this:\n");
            for w in &answer.warnings {
                let text = format!("{}: {}. Next: {}.", w.place, w.message, w.next);
                let _ = writeln!(out, "{}", item(&text, self.width));
            }
        }
        let path = self.arguments.site.display().to_string();
        if let Some(text) = unknowns::assumed_usually(&answer.assumptions, &path) {
            let _ = writeln!(out, "\n{}", hanging(&text, self.width));
        }
        for caution in &answer.cautions {
            let _ = writeln!(out, "{}", paragraph(caution, self.width, 0));
        }
    }
}

fn needs(task: &TaskShare) -> String {
    match (&task.demand_megabytes_per_s, &task.held_to_megabytes_per_s) {
        (Some(demand), _) => rate(demand.p50),
        (None, Some(held)) => format!("up to {}", rate(held.p50)),
        (None, None) => String::new(),
    }
}

/// A share in percent without the sign, for a column that has it in its head.
fn percent_of(value: f64) -> String {
    share(value).trim_end_matches(" %").to_owned()
}
