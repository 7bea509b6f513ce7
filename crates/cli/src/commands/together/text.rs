use crate::arguments::Together as Arguments;
use crate::commands::budget::names::together as counted_ids;
use crate::commands::together::names::{headline, places, stopped_by};
use crate::render::prose::{item, paragraph, rate, share};
use crate::render::table::{Side, Table};
use narrows_core::budget::Towards;
use narrows_core::quantity::Ratio;
use narrows_core::quantity::units::ratio::one;
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
    pub width: usize,
}

impl Shown<'_> {
    pub(crate) fn latest(&self) -> &Together {
        self.after.unwrap_or(self.before)
    }

    /// The main table, for a spreadsheet or a document.
    pub(crate) fn table(&self) -> Table {
        self.shares(["needs MB/s", "before MB/s", "gets MB/s"])
    }

    /// The main table for a person, whose unit stands above it.
    fn short_table(&self) -> Table {
        self.shares(["needs", "before", "gets"])
            .without("direction")
    }

    fn shares(&self, [needed, before, got]: [&str; 3]) -> Table {
        let answer = self.latest();
        let mut table = Table::new(&[
            ("task", Side::Left),
            ("array", Side::Left),
            ("direction", Side::Left),
            (needed, Side::Right),
            (before, Side::Right),
            (got, Side::Right),
            ("5 %", Side::Right),
            ("95 %", Side::Right),
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
                stopped_by(task),
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
        let first = if self.after.is_some() {
            let sets = self.arguments.set.join(", ");
            format!("With {sets}: {}", headline(answer))
        } else {
            headline(answer)
        };
        let _ = writeln!(out, "{}\n", paragraph(&first, self.width, 0));
        let _ = writeln!(out, "{}", paragraph(&self.title(), self.width, 0));
        out.push_str(&self.short_table().text(self.width));
        let _ = writeln!(out, "{}", paragraph(&self.legend(), self.width, 0));
        self.lifted(&mut out);
        self.materials(&mut out);
        self.places(&mut out);
        self.totals(&mut out);
        out.push_str(&crate::commands::together::room_text::section(
            self.room, self.width,
        ));
        self.needs(&mut out);
        self.remarks(&mut out);
        out
    }

    fn title(&self) -> String {
        let answer = self.latest();
        if answer.from_tasks {
            return format!("{}, all tasks at once, in MB/s:", answer.site);
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
        format!(
            "{}. No tasks are told (--tasks FILE, or [[task]] in the site), so all desks {what} at \
             once, as fast as it goes, in MB/s:",
            answer.site
        )
    }

    fn legend(&self) -> String {
        let mut text = String::new();
        if self.latest().from_tasks {
            text.push_str(
                "needs: what has to be there in time; \"up to\": what settings, card or speed hold \
                 a task to. short: share of cases in which it gets less than it needs. ",
            );
        }
        text.push_str(
            "gets: the median, and 5 to 95 % of cases. One share of a full place is an interval: \
             over seconds it scatters by 10 to 25 %, which is in these, and leans towards the \
             shorter round trip, which is not; a total is a number. alone: the median with nobody \
             else there. stopped by: a place, and in what share of cases; (alone too): it would \
             stop there with nobody else there.",
        );
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
                Some(format!(
                    "{} would get {} MB/s if {} were no limit",
                    self.name_of(t),
                    rate(then),
                    places(limit)
                ))
            })
            .collect();
        if !parts.is_empty() {
            let text = format!("In the median {}.", parts.join(", "));
            let _ = writeln!(out, "\n{}", paragraph(&text, self.width, 0));
        }
    }

    /// What is played and exported, with where its rate comes from.
    fn materials(&self, out: &mut String) {
        let told = self.latest().tasks.iter().filter(|t| t.material.is_some());
        let mut any = false;
        for task in told {
            if !any {
                out.push_str("\nMaterial, pictures only (sound and container add 0.2 to 2 %):\n");
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
            ("shared hop", Side::Left),
            ("towards", Side::Left),
            ("tasks", Side::Right),
            ("taken %", Side::Right),
            ("5 %", Side::Right),
            ("95 %", Side::Right),
            ("full %", Side::Right),
            ("what it is", Side::Left),
        ]);
        for hop in shared.iter().take(MOST_HOPS) {
            let percent = |share: Ratio| percent_of(share.get::<one>());
            table.row(vec![
                hop.id.clone(),
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
                what_it_is(hop),
            ]);
        }
        out.push_str("\nHow full the shared places are, the fullest first:\n");
        out.push_str(&table.text(self.width));
        let mut text =
            "taken: how much of each second of it is used, in the median. full: share of \
             cases in which nothing is left. "
                .to_owned();
        if let Some(next) = shared.get(MOST_HOPS) {
            let _ = write!(
                text,
                "{} more, none above {} %.",
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
            .map(|(t, n)| format!("{} ({})", self.name_of(t), share(n.probability)))
            .collect();
        let wanted = rate(need.rate);
        let text = if missing.is_empty() {
            format!("Needed: {wanted} MB/s. Every task reaches it in at least 95 % of cases.")
        } else {
            format!(
                "Needed: {wanted} MB/s in at least 95 % of cases. Not met, with the share of cases \
                 that reach it: {}.",
                missing.join(", ")
            )
        };
        let _ = writeln!(out, "\n{}", paragraph(&text, self.width, 0));
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
        if !answer.assumptions.is_empty() {
            let text = format!(
                "Assumed, because nobody said: {}. Values, and how to find them: narrows check {}",
                counted_ids(answer.assumptions.iter().map(|a| a.id.as_str())),
                self.arguments.site.display()
            );
            let _ = writeln!(out, "\n{}", paragraph(&text, self.width, 0));
        }
        for caution in &answer.cautions {
            let _ = writeln!(out, "\n{}", paragraph(caution, self.width, 0));
        }
    }
}

fn what_it_is(hop: &SharedHop) -> String {
    match hop.moving {
        Some(moving) if moving > 0.0 => format!(
            "{}: {}; heads move between streams for {} of it",
            hop.label,
            hop.note,
            share(moving)
        ),
        _ => format!("{}: {}", hop.label, hop.note),
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
