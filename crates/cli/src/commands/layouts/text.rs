use super::tables::{REQUEST_LEGEND, SPACE_LEGEND, request_table, requests, terabytes};
use crate::arguments::Layouts;
use crate::commands::layouts::safety;
use crate::render::lead::Lead;
use crate::render::progress::stopped_after;
use crate::render::prose::{counted, item, paragraph, rate};
use crate::render::unknowns::label;
use narrows_core::plan::{Answer, CAUTIONS, DriveChoice, Got, Met, Need, Question, Row};
use narrows_core::quantity::units::information::terabyte;
use narrows_core::quantity::units::ratio::{one, percent};
use narrows_core::quantity::{Money, show, three_digits};
use narrows_core::site::Assumption;
use std::fmt::Write;

/// What belongs where an array is there already.
pub(crate) const ERASES: &str = "A change of layout usually erases the array: first a complete second copy, with \
    files opened from it.";

/// An answer with what it is shown with.
pub(crate) struct Shown<'a> {
    pub arguments: &'a Layouts,
    pub question: &'a Question,
    pub answer: &'a Answer,
    pub assumptions: &'a [Assumption],
    pub width: usize,
}

impl Shown<'_> {
    /// Rows that are shown: those that nothing beats, or all; the nearest where none fits.
    pub(crate) fn rows(&self) -> Vec<&Row> {
        if self.answer.met() {
            let all = self.arguments.all;
            let rows = self.answer.rows.iter();
            rows.filter(|row| all || !row.beaten).collect()
        } else {
            self.answer.nearest.iter().collect()
        }
    }

    /// How many rows are left out because others beat them.
    pub(crate) fn left_out(&self) -> usize {
        self.answer.rows.len() - self.answer.kept().count()
    }

    /// Whether nothing is asked that would choose among layouts.
    pub(crate) fn is_open(&self) -> bool {
        self.question.needs.is_empty() && self.question.survive == 0 && !self.arguments.all
    }

    fn asks_for_requests(&self) -> bool {
        let mut needs = self.question.needs.iter();
        needs.any(|need| matches!(need, Need::Requests { .. }))
    }

    pub(super) fn streams(&self) -> usize {
        self.question.streams
    }

    pub(crate) fn text(&self) -> String {
        let rows = self.rows();
        let mut out = String::new();
        let lead = Lead {
            what: stopped_after(self.answer.stopped, "forms of layout") + &self.headline(&rows),
            why: None,
            next: Some(self.next_step()),
        };
        out.push_str(&lead.text(self.width));
        out.push('\n');
        out.push_str(&self.space_table(&rows).text(self.width));
        self.push(&mut out, SPACE_LEGEND, 0);
        out.push('\n');
        out.push_str(&safety::table(&rows).text(self.width));
        self.push(&mut out, &safety::legend(&rows), 0);
        out.push('\n');
        out.push_str(&self.rate_table(&rows).text(self.width));
        self.push(&mut out, &self.rate_legend(), 0);
        if self.asks_for_requests() {
            out.push('\n');
            out.push_str(&request_table(&rows).text(self.width));
            self.push(&mut out, REQUEST_LEGEND, 0);
        }
        if self.answer.met() {
            self.what_each_buys(&mut out, &rows);
            self.near_misses(&mut out);
        } else {
            self.what_is_missing(&mut out);
        }
        self.assumed(&mut out);
        out.push('\n');
        for caution in self.cautions() {
            self.push(&mut out, &caution, 0);
        }
        out
    }

    pub(crate) fn push(&self, out: &mut String, text: &str, indent: usize) {
        let _ = writeln!(out, "{}", paragraph(text, self.width, indent));
    }

    /// What to do before a drive is bought or moved.
    fn next_step(&self) -> String {
        if self.arguments.site.is_some() {
            "ask narrows budget what a desk gets of it, then make the second copy: a change of layout \
             usually erases the array."
                .to_owned()
        } else {
            "describe the place, and narrows budget says what a desk gets of it; plan the second copy \
             with it."
                .to_owned()
        }
    }

    fn headline(&self, rows: &[&Row]) -> String {
        let (answer, bays) = (self.answer, self.question.bays);
        let bays = counted(bays, "bay", "bays");
        let Some(first) = rows.first() else {
            return format!("No layout of these drives fits {bays}.");
        };
        if !answer.met() {
            return format!(
                "Nothing in {bays} meets the needs. {} comes nearest: {}.",
                first.name(),
                self.misses(first).join(", ")
            );
        }
        let asked = !self.question.needs.is_empty() || self.question.survive > 0;
        let mut text = String::new();
        if asked {
            let price = match &first.price {
                Some(price) => format!(" for {price}"),
                None => format!(
                    " with {}",
                    counted(first.layout.all_drives(), "drive", "drives")
                ),
            };
            let _ = write!(
                text,
                "{} meets the needs{price}: {} TB usable, {} MB/s reading, {} MB/s writing. ",
                first.name(),
                terabytes(first.usable.information().get::<terabyte>()),
                rate(first.rates.read.p50),
                rate(first.rates.write.p50),
            );
        }
        let kept = answer.kept().count();
        let _ = write!(
            text,
            "{} of {} layouts {} {bays}{}; nothing beats {kept} of them.",
            answer.rows.len(),
            answer.looked_at,
            if answer.rows.len() == 1 {
                "fits"
            } else {
                "fit"
            },
            if asked { " and the needs" } else { "" },
        );
        text
    }

    /// The layout, with its class of drives where there are several.
    pub(crate) fn short_name(&self, row: &Row) -> String {
        let first = self.question.choices.first().map(DriveChoice::class);
        if self
            .question
            .choices
            .iter()
            .all(|c| Some(c.class()) == first)
        {
            row.layout.to_string()
        } else {
            row.name()
        }
    }

    fn what_each_buys(&self, out: &mut String, rows: &[&Row]) {
        out.push('\n');
        let order = format!("Rows come {}. What each buys:", self.answer.order);
        self.push(out, &order, 0);
        for (i, row) in rows.iter().enumerate().filter(|(_, row)| !row.beaten) {
            let mut text = format!("row {}: {}", i + 1, row.buys);
            for met in row.needs.iter().filter(|met| met.low.is_some()) {
                let _ = write!(text, " {}", decided(met));
            }
            if !row.same.is_empty() {
                let _ = write!(text, " The same figures: {}.", listed(&row.same));
            }
            let _ = writeln!(out, "{}", item(&text, self.width));
        }
        let left_out = self.left_out();
        if left_out > 0 {
            let text = if self.arguments.all {
                "beaten: another row is at least as good in price, space, chance of loss, every rate \
                 and time to rebuild, and better in one; figures that agree to two digits (space: \
                 three) count as equal."
                    .to_owned()
            } else {
                format!(
                    "{} left out: another row is at least as good in price, space, chance of loss, \
                     every rate and time to rebuild; figures that agree to two digits (space: three) \
                     count as equal. --all shows them.",
                    counted(left_out, "layout is", "layouts are")
                )
            };
            out.push('\n');
            self.push(out, &text, 0);
        }
        if self
            .question
            .needs
            .iter()
            .any(|need| matches!(need, Need::Rate { .. } | Need::Requests { .. }))
        {
            let text = "A need of a rate, or of requests, is met where the median meets it.";
            self.push(out, text, 0);
        }
    }

    fn near_misses(&self, out: &mut String) {
        if self.answer.near_misses.is_empty() {
            return;
        }
        out.push_str("\nNo dearer, and short by 2 % or less:\n");
        for row in &self.answer.near_misses {
            let price = match &row.price {
                Some(price) => price.to_string(),
                None => counted(row.layout.all_drives(), "drive", "drives"),
            };
            let text = format!("{}, {price}: {}.", row.name(), self.misses(row).join(", "));
            let _ = writeln!(out, "{}", item(&text, self.width));
        }
    }

    fn what_is_missing(&self, out: &mut String) {
        out.push_str("\nWhat each misses, the nearest first:\n");
        for (i, row) in self.answer.nearest.iter().enumerate() {
            let text = format!("row {}: {}.", i + 1, self.misses(row).join(", "));
            let _ = writeln!(out, "{}", item(&text, self.width));
        }
        let text = "The nearest is the one whose worst miss is the smallest share of what is needed; \
                    the nearest of each level is shown.";
        self.push(out, text, 0);
    }

    /// What a row misses, by how much.
    fn misses(&self, row: &Row) -> Vec<String> {
        let mut found: Vec<String> = row
            .needs
            .iter()
            .filter(|met| !met.met)
            .map(missed)
            .collect();
        if row.survives_any < self.question.survive {
            found.push(format!(
                "survives any {} failed, not any {}",
                counted(row.survives_any, "drive", "drives"),
                self.question.survive
            ));
        }
        found
    }

    fn assumed(&self, out: &mut String) {
        if self.assumptions.is_empty() {
            return;
        }
        out.push_str("\nAssumed, because nobody said:\n");
        for a in self.assumptions {
            let text = format!("{} = {} ({}): {}.", a.id, a.value, a.because, a.find_out);
            let _ = writeln!(out, "{}", item(&text, self.width));
        }
    }

    /// What was assumed, in a line.
    pub(crate) fn assumed_shortly(&self, out: &mut String) {
        // what chances of loss rest on stands under the list of all
        let parts: Vec<String> = self
            .assumptions
            .iter()
            .filter(|a| !a.id.starts_with("durability."))
            .map(|a| format!("{} ({})", label(&a.id), a.value))
            .collect();
        if !parts.is_empty() {
            self.push(out, &format!("Assumed: {}.", parts.join("; ")), 0);
        }
    }

    pub(crate) fn cautions(&self) -> Vec<String> {
        let mut found = Vec::new();
        if self.question.choices.iter().any(DriveChoice::is_shingled) {
            found.push(
                "hdd-smr: drives with shingled tracks fall to a few MB/s when rewritten, and \
                 rebuild for days; do not put them into a parity array."
                    .to_owned(),
            );
        }
        if self.arguments.site.is_some() {
            found.push(ERASES.to_owned());
        }
        found.extend(CAUTIONS.map(str::to_owned));
        found
    }
}

/// Why a need of a rate is met: the share of cases, and the low end.
fn decided(met: &Met) -> String {
    let share = crate::render::prose::share(met.chance.get::<one>());
    let low = match met.low {
        Some(Got::Rate(low)) => format!(" (5 %: {} MB/s)", rate(low)),
        Some(Got::Requests(low)) => format!(" (5 %: {} a second)", requests(low)),
        Some(Got::Space(_)) | None => String::new(),
    };
    format!("{} in {share} of cases{low}.", met.need)
}

/// What is missing, in words.
fn missed(met: &Met) -> String {
    let short = three_digits(met.short.get::<percent>());
    match (met.got, met.need) {
        (Got::Space(has), Need::Usable(asked) | Need::Comfortable(asked)) => format!(
            "{} of {}, {} short ({short} %)",
            show(has.information()),
            met.need,
            show((asked.information()) - has.information()),
        ),
        (Got::Rate(has), Need::Rate { rate: asked, .. }) => format!(
            "{} of {}, {} short ({short} %; met in {} of cases)",
            show(has),
            met.need,
            show(asked - has),
            crate::render::prose::share(met.chance.get::<one>()),
        ),
        (Got::Requests(has), Need::Requests { rate: asked, .. }) => format!(
            "{} of {}, {} short ({short} %; met in {} of cases)",
            show(has),
            met.need,
            show(asked - has),
            crate::render::prose::share(met.chance.get::<one>()),
        ),
        // a need and what there is are of one kind
        _ => format!("{} is not met", met.need),
    }
}

/// An amount without its currency, which stands in the head.
pub(super) fn amount(price: &Money) -> String {
    let text = price.to_string();
    text.split(' ').next().unwrap_or_default().to_owned()
}

fn listed(names: &[String]) -> String {
    const MOST: usize = 3;
    let shown: Vec<&str> = names.iter().take(MOST).map(String::as_str).collect();
    let more = names.len().saturating_sub(MOST);
    if more == 0 {
        shown.join(", ")
    } else {
        format!("{} and {more} more", shown.join(", "))
    }
}
