use super::MET;
use crate::render::prose::{about, counted, of_100, paragraph, two_digits};
use crate::render::table::{Side, Table};
use narrows_core::quantity::{Measure, Power, Time, show, three_digits, units};
use narrows_core::site::{Site, SitePath};
use narrows_keeping::Range;
use narrows_keeping::outage::{CAUTIONS, GapAnswer, Outage, Question, SupplyAnswer};
use std::fmt::Write;

/// What is shown of an outage.
pub(crate) struct Shown<'a> {
    pub site: &'a Site,
    pub answer: &'a Outage,
    pub question: &'a Question,
    pub path: &'a str,
    pub width: usize,
}

/// A chance below which something is worth a word before anything else.
const SURE: f64 = 0.9;

/// A chance from which something may well go wrong.
const RISK: f64 = 0.05;

fn watts(power: Power) -> String {
    three_digits(power.get::<units::power::watt>())
}

fn minutes(time: Time) -> String {
    three_digits(time.get::<units::time::minute>())
}

/// The shortest time that a table of blocks knows, in minutes.
const SHORTEST: f64 = 5.0;

/// Minutes of a range, with what lies below the table said so.
fn lasting(range: &Range<Time>) -> (String, String, String) {
    let one = |time: Time| {
        if time.base() <= 0.0 {
            format!("under {SHORTEST}")
        } else {
            two_digits(time.get::<units::time::minute>())
        }
    };
    (one(range.p50), one(range.p05), one(range.p95))
}

impl Shown<'_> {
    pub(crate) fn text(&self) -> String {
        let mut out = String::new();
        for supply in &self.answer.supplies {
            let mut lead = self.asked_first(supply);
            lead.extend([self.first(supply), Self::why(supply), self.next(supply)]);
            for line in lead {
                let _ = writeln!(out, "{}", paragraph(&line, self.width, 2));
            }
            out.push('\n');
            out.push_str(&loads(supply).text(self.width));
            out.push_str("W at the plug, in the middle case.\n\n");
            out.push_str(&Self::states(supply).text(self.width));
            out.push_str("minutes. from, to: 1 in 20 is shorter, 1 in 20 longer.\n\n");
            out.push_str(&gaps(supply).text(self.width));
            out.push('\n');
            for line in self.lines(supply) {
                let _ = writeln!(out, "{}", paragraph(&line, self.width, 2));
            }
            out.push('\n');
        }
        if !self.answer.unprotected.is_empty() {
            let names = self.answer.unprotected.join(", ");
            let line =
                format!("On no supply: {names}. Whatever passes there stops with the mains.");
            let _ = writeln!(out, "{}\n", paragraph(&line, self.width, 2));
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

    /// The answers to what was asked, before anything else.
    fn asked_first(&self, supply: &SupplyAnswer) -> Vec<String> {
        let mut lines = Vec::new();
        let name = &supply.supply;
        if let (Some(need), Some(time)) = (&supply.need, self.question.need) {
            let enough = if need.met_probability < MET {
                ", too seldom to rely on"
            } else {
                ""
            };
            lines.push(format!(
                "{name} lasts {} in {} of 100 cases{enough}.",
                about(time),
                of_100(need.met_probability)
            ));
        }
        if let (Some(chance), Some(time)) = (supply.generator_probability, self.question.generator)
        {
            lines.push(format!(
                "{name} lasts until a generator carries the load after {} in {} of 100 cases.",
                about(time),
                of_100(chance)
            ));
        }
        if let (Some(last), Some(gap)) = (supply.in_a_row.last(), supply.gaps.first()) {
            lines.push(format!(
                "Of {} gaps of {} the last is carried in {} of 100 cases.",
                last.gap,
                length(gap),
                of_100(last.carried_probability)
            ));
        } else if let (Some(_), Some(gap)) = (&self.question.gap, supply.gaps.first()) {
            lines.push(format!(
                "A gap of {} passes unnoticed in {} of 100 cases.",
                length(gap),
                of_100(gap.ridden_probability)
            ));
        }
        lines
    }

    fn first(&self, supply: &SupplyAnswer) -> String {
        let (middle, low, high) = lasting(&supply.lasts_s);
        let names: Vec<&str> = supply
            .loads
            .iter()
            .map(|l| SitePath::field(&l.id))
            .collect();
        let what = names.join(" and ");
        if supply.overload_probability > 0.5 {
            return format!(
                "{} is too small for {what}: it shuts off in {} of 100 cases.",
                supply.supply,
                of_100(supply.overload_probability)
            );
        }
        let kind = if self
            .site
            .supplies
            .iter()
            .any(|s| s.name == supply.supply && !s.minutes.is_empty())
        {
            "by its maker's table"
        } else {
            "by its blocks"
        };
        format!(
            "{} carries {what} for about {middle} min today ({low} to {high}), {kind}, if its battery lives.",
            supply.supply
        )
    }

    fn why(supply: &SupplyAnswer) -> String {
        let apparent = supply.rating_volt_amperes.map_or_else(String::new, |va| {
            format!(
                ", {} of {} VA",
                three_digits(supply.busy_volt_amperes.p50),
                three_digits(va)
            )
        });
        format!(
            "Why: at work they take {} W of {}{apparent}; while all drives start, {}.",
            watts(supply.busy_watts.p50),
            watts(supply.rating_watts),
            watts(supply.start_watts.p50),
        )
    }

    fn next(&self, supply: &SupplyAnswer) -> String {
        if supply.overload_probability > RISK {
            return format!(
                "First take load off it: {} W are too much in {} of 100 cases. The network part alone often suffices.",
                watts(supply.busy_watts.p95),
                of_100(supply.overload_probability)
            );
        }
        if supply.lasts_s.p50 < supply.lasts_worn_s.p50 {
            return format!(
                "First replace all its blocks, as its manual says (1 h): at this age and warmth they are past their life. New ones last about {} min.",
                lasting(&supply.lasts_new_s).0
            );
        }
        if let Some(weakest) = supply
            .change_over_weakest
            .as_ref()
            .filter(|_| supply.change_over_probability < SURE)
        {
            return format!(
                "First look at {weakest}: it may restart at the change-over. All hold in {} of 100 cases. Watch it during the unit's own test, with nothing at work (5 min).",
                of_100(supply.change_over_probability)
            );
        }
        if let Some(stop) = supply
            .stop
            .as_ref()
            .filter(|s| s.finishes_probability < SURE)
        {
            return format!(
                "Have it stop {} as soon as the mains are gone: that finishes in time in {} of 100 cases.",
                stop.nas,
                of_100(stop.finishes_probability)
            );
        }
        let known = self.site.supplies.iter().find(|s| s.name == supply.supply);
        if known.is_some_and(|s| s.tested.value.only() != Some(&true)) {
            return format!(
                "First run the unit's own test, with nothing at work and a fresh copy elsewhere (10 min): in {} of 100 cases its battery is dead and nobody knows. It passes: have it test by itself every month. It fails: replace all blocks.",
                of_100(supply.dead_probability)
            );
        }
        match &supply.stop {
            Some(stop) => format!(
                "Set it to stop {} {} after the mains are gone.",
                stop.nas,
                about(stop.begin_after_s.p05)
            ),
            None => "Nothing has to be stopped in order here.".to_owned(),
        }
    }

    /// The battery new, today, worn out.
    fn states(supply: &SupplyAnswer) -> Table {
        let mut table = Table::new(&[
            ("battery", Side::Left),
            ("lasts", Side::Right),
            ("from", Side::Right),
            ("to", Side::Right),
        ]);
        let mut row = |name: &str, range: &Range<Time>| {
            let (middle, low, high) = lasting(range);
            table.row(vec![name.to_owned(), middle, low, high]);
        };
        row("new", &supply.lasts_new_s);
        row("today", &supply.lasts_s);
        row("worn out (80 %)", &supply.lasts_worn_s);
        if let Some(range) = &supply.lasts_network_only_s {
            row("today, desks unplugged", range);
        }
        table
    }

    fn lines(&self, supply: &SupplyAnswer) -> Vec<String> {
        let mut lines = Vec::new();
        if let Some(weakest) = &supply.change_over_weakest {
            lines.push(format!(
                "Everything holds through the change-over in {} of 100 cases; {weakest} is the first to restart.",
                of_100(supply.change_over_probability)
            ));
        }
        lines.push(format!(
            "Its battery is dead when it is asked, and nobody knows, in {} of 100 cases: the minutes above are those if it lives.",
            of_100(supply.dead_probability)
        ));
        if let Some(ready) = &supply.start_in_turn_s {
            let turn = format!(
                "one after the other they take {} W at most and turn after {} ({} to {})",
                watts(supply.start_in_turn_watts.p50),
                about(ready.p50),
                about(ready.p05),
                about(ready.p95)
            );
            lines.push(if supply.start_overload_probability > RISK {
                format!(
                    "All drives starting at once are too much for it in {} of 100 cases: let them start in turn, in the NAS's settings; {turn}.",
                    of_100(supply.start_overload_probability)
                )
            } else {
                format!("Drives may start at once; {turn}.")
            });
        }
        let year = &supply.year;
        lines.push(format!(
            "In a usual year {} of {} gaps come through all the same; in {} of them power just goes. Minutes seldom outlast a long gap: what they buy is short gaps and time to stop in order.",
            two_digits(year.not_ridden_a_year),
            two_digits(year.gaps_a_year),
            two_digits(year.unprepared_a_year)
        ));
        if let Some(stop) = &supply.stop {
            let begin = if stop.begin_after_s.p05.base() <= 0.0 {
                "begin at once when the mains go".to_owned()
            } else {
                format!(
                    "begin {} after the mains go at the latest",
                    about(stop.begin_after_s.p05)
                )
            };
            lines.push(format!(
                "Stopping {} in order takes {} ({} to {}): {begin}. Where its memory holds many small files it takes {}. Desks first, the NAS, the switch last.",
                stop.nas,
                about(stop.takes_s.p50),
                about(stop.takes_s.p05),
                about(stop.takes_s.p95),
                about(stop.takes_scattered_s.p50)
            ));
            lines.push(if stop.waits_for_drives {
                "If power just goes, nothing that was acknowledged is lost, since writes wait for the drives.".to_owned()
            } else {
                format!(
                    "If power just goes, up to {} that the NAS had in memory are gone ({} in 1 of 20 cases), every copy under way, and what was not saved.",
                    show(stop.lost_bytes.p50),
                    show(stop.lost_bytes.p95)
                )
            });
        }
        self.asked(supply, &mut lines);
        lines
    }

    fn asked(&self, supply: &SupplyAnswer, lines: &mut Vec<String>) {
        if let (Some(need), Some(time)) = (&supply.need, self.question.need) {
            let charge = match &need.ampere_hours {
                Some(charge) => {
                    let both = |ah: f64| {
                        let blocks = (ah / 9.0).ceil().max(1.0) as usize;
                        format!(
                            "{} Ah ({} of 9 Ah)",
                            two_digits(ah),
                            counted(blocks, "block", "blocks")
                        )
                    };
                    format!(
                        "takes {} of 12 V lead in the middle case, {} to be sure, old blocks counted",
                        both(charge.p50),
                        both(charge.p95)
                    )
                }
                None => "is outside what tables of blocks know (5 min to 20 h)".to_owned(),
            };
            lines.push(format!(
                "{} {charge}, and a unit of {} W or more.",
                about(time),
                watts(need.rating_watts),
            ));
        }
        if supply.generator_probability.is_some() {
            lines.push(
                "A unit may refuse a wandering generator and stay on battery: then it counts as none.".to_owned(),
            );
        }
        for gap in &supply.in_a_row {
            lines.push(format!(
                "Behind gap {} about {} % of the charge is left; it is carried in {} of 100 cases.",
                gap.gap,
                two_digits(gap.charge.p50 * 100.0),
                of_100(gap.carried_probability)
            ));
        }
    }

    /// One row a supply, for a spreadsheet.
    pub(super) fn table(&self) -> Table {
        let mut table = Table::new(&[
            ("supply", Side::Left),
            ("work W", Side::Right),
            ("start W", Side::Right),
            ("rating W", Side::Right),
            ("minutes", Side::Right),
            ("5 %", Side::Right),
            ("95 %", Side::Right),
            ("worn minutes", Side::Right),
            ("change-over %", Side::Right),
            ("dead %", Side::Right),
            ("short gaps ridden %", Side::Right),
        ]);
        for s in &self.answer.supplies {
            let percent = |share: f64| three_digits(share * 100.0);
            table.row(vec![
                s.supply.clone(),
                watts(s.busy_watts.p50),
                watts(s.start_watts.p50),
                watts(s.rating_watts),
                minutes(s.lasts_s.p50),
                minutes(s.lasts_s.p05),
                minutes(s.lasts_s.p95),
                minutes(s.lasts_worn_s.p50),
                percent(s.change_over_probability),
                percent(s.dead_probability),
                s.gaps
                    .first()
                    .map_or_else(String::new, |g| percent(g.ridden_probability)),
            ]);
        }
        table
    }
}

fn loads(supply: &SupplyAnswer) -> Table {
    let mut table = Table::new(&[
        ("on it", Side::Left),
        ("at rest", Side::Right),
        ("at work", Side::Right),
        ("drives starting", Side::Right),
    ]);
    for load in &supply.loads {
        table.row(vec![
            load.id.clone(),
            watts(load.quiet_watts.p50),
            watts(load.busy_watts.p50),
            watts(load.start_watts.p50),
        ]);
    }
    table
}

fn gaps(supply: &SupplyAnswer) -> Table {
    let mut table = Table::new(&[("gap", Side::Left), ("nobody notices, of 100", Side::Right)]);
    for gap in &supply.gaps {
        table.row(vec![length(gap), of_100(gap.ridden_probability)]);
    }
    table
}

/// How long a gap is.
fn length(gap: &GapAnswer) -> String {
    if gap.from_s < gap.to_s {
        format!("{} to {}", about(gap.from_s), about(gap.to_s))
    } else {
        about(gap.to_s)
    }
}
