use crate::commands::cable::Asking;
use crate::commands::cable::tables::eats;
use crate::commands::cable::words::{advice, after, cases, one, sure};
use crate::render::lead::Lead;
use crate::render::prose::{counted, item, paragraph};
use crate::render::steps::tree;
use narrows_core::cable::{Budgeted, Cabling, Carried, Joint, Report};
use narrows_core::copper::RunFault;
use narrows_core::quantity::{Length, LinkRate, Power, units};
use narrows_core::site::SitePath;
use narrows_draw::Curve;
use std::fmt::Write;

/// Everything that is shown.
pub(crate) struct Shown<'a> {
    pub names: Vec<String>,
    pub cabling: &'a Cabling,
    pub asking: &'a Asking,
    pub reports: &'a [Report],
    pub sum: Option<Budgeted>,
    pub width: usize,
}

/// Letters of a name that tables have room for.
const ROOM: usize = 16;

/// Names for tables: those of the runs, or numbers where one would be too long.
pub(crate) fn names(reports: &[Report]) -> Vec<String> {
    let long = |report: &Report| report.run.label.chars().count() > ROOM;
    let numbered = reports.len() > 1 && reports.len() <= FEW && reports.iter().any(long);
    let name = |(i, report): (usize, &Report)| {
        if numbered {
            format!("{}", i + 1)
        } else {
            report.run.label.clone()
        }
    };
    reports.iter().enumerate().map(name).collect()
}

/// More runs than this get one line each.
const FEW: usize = 8;

pub(crate) fn metres(length: Length) -> f64 {
    length.get::<units::length::meter>()
}

pub(crate) fn watts(power: Power) -> f64 {
    power.get::<units::power::watt>()
}

impl Shown<'_> {
    /// The answer for a person.
    pub(crate) fn text(&self) -> Result<String, RunFault> {
        let mut out = self.lead().text(self.width);
        self.legend(&mut out);
        let pairs: Vec<(&str, &Report)> = self
            .named()
            .filter(|(_, report)| matches!(report.carried, Carried::Copper(_)))
            .collect();
        if pairs.len() > FEW {
            self.one_line_each(&pairs, &mut out);
        } else if !pairs.is_empty() {
            self.rate_by_rate(&pairs, &mut out)?;
        }
        for report in self.reports {
            match &report.carried {
                Carried::Fibre(rows) => self.optics(report, rows, &mut out),
                Carried::Twinax(rows) => self.twinax(report, rows, &mut out),
                Carried::Copper(_) => {}
            }
        }
        self.powers(&mut out);
        self.beside(&mut out);
        self.assumed(&mut out);
        self.cautions(&mut out);
        Ok(out)
    }

    /// Reports with the names that tables have room for.
    pub(crate) fn named(&self) -> impl Iterator<Item = (&str, &Report)> {
        let names = self.names.iter().map(String::as_str);
        names.zip(self.reports)
    }

    pub(crate) fn paragraph(&self, text: &str) -> String {
        let mut text = paragraph(text, self.width, 0);
        text.push('\n');
        text
    }

    fn lead(&self) -> Lead {
        let needed = self.needed().map_or(String::new(), |text| text + " ");
        Lead {
            what: format!("{needed}{}", self.headline()),
            why: self.main_noise(),
            next: Some(self.next_step()),
        }
    }

    /// The rate of a run that is in question: the slowest that does not hold, else the fastest.
    fn in_question(report: &Report) -> Option<&narrows_core::cable::RateRow> {
        let Carried::Copper(rows) = &report.carried else {
            return None;
        };
        rows.iter()
            .find(|row| one(row.today.p_hold) < 0.9)
            .or_else(|| rows.last())
    }

    fn main_noise(&self) -> Option<String> {
        let [report] = self.reports else {
            return None;
        };
        let row = Self::in_question(report)?;
        let noise = eats(&row.today);
        (!noise.is_empty()).then(|| format!("the main noise at {} is {noise}.", row.rate))
    }

    /// What helps most, or how to be sure.
    fn next_step(&self) -> String {
        let doubtful = self.reports.iter().find_map(|report| {
            let row = Self::in_question(report)?;
            (one(row.today.p_hold) < 0.9).then_some((report, row))
        });
        match doubtful {
            Some((report, row)) => {
                let then = match after(row) {
                    Some(p_hold) => format!("; it then holds in {} of 100 cases", cases(p_hold)),
                    None => String::new(),
                };
                format!(
                    "at {}: {}{then}. Read the rate that both ends show.",
                    report.run.label,
                    advice(row)
                )
            }
            None => {
                "read the rate and the error counters that both ends show (2 min); a certification \
                     proves it."
                    .to_owned()
            }
        }
    }

    /// A need that is not met comes first.
    fn needed(&self) -> Option<String> {
        let held: Vec<_> = self
            .named()
            .filter_map(|(name, report)| Some((name, report.held?)))
            .collect();
        let (_, first) = held.first()?;
        let missed: Vec<String> = held
            .iter()
            .filter(|(_, held)| !held.met)
            .map(|(name, held)| {
                let chance = sure(held.p_hold);
                if self.reports.len() == 1 {
                    chance
                } else {
                    format!("{name} ({chance})")
                }
            })
            .collect();
        Some(match (missed.len(), self.reports.len()) {
            (0, 1) => format!("{} is met.", first.rate),
            (0, _) => format!("Every run holds {}.", first.rate),
            (_, 1) => format!("{} is not met.", first.rate),
            (count, all) => format!(
                "{} is not met by {} of {}: {}.",
                first.rate,
                count,
                counted(all, "run", "runs"),
                few(&missed)
            ),
        })
    }

    pub(crate) fn headline(&self) -> String {
        match self.reports {
            [report] => one_run(report),
            reports => {
                let mut counts: Vec<(LinkRate, usize)> = Vec::new();
                let mut none = Vec::new();
                for report in reports {
                    match report.best() {
                        Some((rate, _)) => {
                            match counts.iter_mut().find(|(known, _)| *known == rate) {
                                Some((_, count)) => *count += 1,
                                None => counts.push((rate, 1)),
                            }
                        }
                        None => none.push(report.run.label.clone()),
                    }
                }
                counts.sort_by_key(|(rate, _)| std::cmp::Reverse(*rate));
                let mut parts: Vec<String> = counts
                    .iter()
                    .map(|(rate, count)| format!("{rate}: {count}"))
                    .collect();
                if !none.is_empty() {
                    parts.push(format!("none for sure: {} ({})", none.len(), few(&none)));
                }
                format!(
                    "The fastest rate that {} runs hold in 90 of 100 cases: {}.",
                    reports.len(),
                    parts.join("; ")
                )
            }
        }
    }

    /// What the names stand for, where they are short forms.
    fn legend(&self, out: &mut String) {
        let legend: Vec<String> = self
            .named()
            .filter_map(|(name, report)| match &report.run.between {
                Some([from, to]) => Some(format!("{name} {from} to {to}")),
                None if name != report.run.label => Some(format!("{name}: {}", report.run.label)),
                None => None,
            })
            .collect();
        if !legend.is_empty() && self.reports.len() <= FEW {
            out.push_str(&self.paragraph(&format!("{}.", legend.join("; "))));
        }
    }

    fn beside(&self, out: &mut String) {
        let seen: Vec<String> = self
            .reports
            .iter()
            .filter_map(|report| {
                let rate = report.run.negotiated?;
                Some(format!("{} at {rate}", report.run.label))
            })
            .collect();
        if !seen.is_empty() {
            let text = format!(
                "\nSeen on its ports: {}. What was seen outweighs this estimate; a port at a low rate may \
                 also have fallen back.",
                few(&seen)
            );
            out.push_str(&self.paragraph(&text));
        }
        if !self.asking.others.is_empty() {
            let others: Vec<String> = self
                .asking
                .others
                .iter()
                .map(|(label, what)| format!("{label}: {what}"))
                .collect();
            out.push_str(&self.paragraph(&format!(
                "\nNot judged, being radio or without a length: {}.",
                others.join("; ")
            )));
        }
        if !self.asking.unused.is_empty() {
            let text = format!(
                "\nColumns that were not used: {}.",
                self.asking.unused.join(", ")
            );
            out.push_str(&self.paragraph(&text));
        }
    }

    fn assumed(&self, out: &mut String) {
        let mut found: Vec<(String, String, String, usize)> = Vec::new();
        for assumption in self.reports.iter().flat_map(|r| &r.run.assumptions) {
            let what = SitePath::field(&assumption.id);
            let same = |row: &&mut (String, String, String, usize)| {
                row.0 == what && row.1 == assumption.value
            };
            match found.iter_mut().find(same) {
                Some(row) => row.3 += 1,
                None => found.push((
                    what.to_owned(),
                    assumption.value.clone(),
                    assumption.find_out.clone(),
                    1,
                )),
            }
        }
        if found.is_empty() {
            return;
        }
        out.push_str("\nAssumed, because nobody said:\n");
        for (what, value, find_out, count) in found {
            let of = if self.reports.len() > 1 {
                format!(", {count} of {} runs", self.reports.len())
            } else {
                String::new()
            };
            let text = format!("{what} = {value}{of}: {find_out}.");
            out.push_str(&item(&text, self.width));
            out.push('\n');
        }
    }

    fn cautions(&self, out: &mut String) {
        out.push('\n');
        for text in self.warned() {
            out.push_str(&self.paragraph(&text));
        }
    }

    /// Cautions, each once.
    pub(crate) fn warned(&self) -> Vec<String> {
        let mut all: Vec<String> = Vec::new();
        let mut add = |text: String| {
            if !all.contains(&text) {
                all.push(text);
            }
        };
        for report in self.reports {
            for caution in report.cautions() {
                add(caution.to_string());
            }
            if matches!(report.run.joint, Joint::Fibre { .. }) {
                add(
                    "Never look into a fibre end or a port: the light of lasers is not seen and \
                     harms the eye."
                        .to_owned(),
                );
            }
            if report.power.is_some() {
                add("Power heats bundles: follow the rules of the power class, and never power a run of \
                     unknown make, thin old wire or copper-clad aluminium (fire)."
                    .to_owned());
            }
        }
        all
    }

    /// Margin over length of every rate of a twisted pair.
    pub(crate) fn curves(&self, report: &Report) -> Result<Vec<Curve>, RunFault> {
        let Carried::Copper(rows) = &report.carried else {
            return Ok(Vec::new());
        };
        let mut curves = Vec::new();
        for row in rows.iter().rev() {
            let points = self.cabling.curve(&report.run, row.rate)?;
            let points: Vec<(f64, [f64; 3])> = points
                .iter()
                .map(|(length, margins)| (metres(*length), margins.map(|d| d.0)))
                .collect();
            if !points.is_empty() {
                curves.push(Curve {
                    label: row.rate.to_string(),
                    points,
                });
            }
        }
        Ok(curves)
    }

    /// How the chance of a rate comes about.
    pub(crate) fn why(&self, rate: LinkRate) -> Result<String, String> {
        let mut out = String::new();
        let mut known: Vec<String> = Vec::new();
        for report in self.reports {
            let Carried::Copper(rows) = &report.carried else {
                continue;
            };
            let names = rows.iter().map(|row| row.rate.to_string());
            known.extend(names);
            if !rows.iter().any(|row| row.rate == rate) {
                continue;
            }
            let steps = self.cabling.working(&report.run, rate);
            let steps = steps.map_err(|fault| fault.to_string())?;
            let Some(last) = steps.len().checked_sub(1) else {
                continue;
            };
            let gap = if out.is_empty() { "" } else { "\n" };
            let _ = write!(
                out,
                "{gap}{}, {rate}:\n{}",
                report.run.label,
                tree(&steps, last, "P", self.width)
            );
        }
        if out.is_empty() {
            known.sort_unstable();
            known.dedup();
            return Err(format!(
                "rates in question: {}; below 5 m, beyond what is promised and for fibre there is none",
                known.join(", ")
            ));
        }
        out.push_str(&self.paragraph(
            "For the likeliest make of the run. Levels stand for the middle of the band; the ratio is taken \
             over all of it. Rows of the catalogue: narrows facts copper.",
        ));
        Ok(out)
    }
}

fn few(names: &[String]) -> String {
    const SHOWN: usize = 5;
    let mut text = names
        .iter()
        .take(SHOWN)
        .cloned()
        .collect::<Vec<_>>()
        .join(", ");
    if names.len() > SHOWN {
        let _ = write!(text, " and {} more", names.len() - SHOWN);
    }
    text
}

fn one_run(report: &Report) -> String {
    let label = &report.run.label;
    let Carried::Copper(rows) = &report.carried else {
        return match report.best() {
            Some((rate, _)) => format!("{label}: carries {rate} with an optic or cable that fits."),
            None => {
                format!("{label}: nothing that is known here gets through, by length or by loss.")
            }
        };
    };
    let best = rows.iter().rev().find(|row| one(row.today.p_hold) >= 0.9);
    let mut text = match best {
        Some(row) => format!(
            "{label}: {} holds in {} of 100 cases{}.",
            row.rate,
            cases(row.today.p_hold),
            row.upgraded.map_or(String::new(), |later| format!(
                " today, in {} when all neighbours run at it too",
                cases(later.p_hold)
            ))
        ),
        None => format!("{label}: no rate holds in 90 of 100 cases."),
    };
    if report.run.is_of_unknown_make() {
        let first = "which cable it is nobody knows; read the print on the sheath, or have it tested. As such cables go,";
        text = text.replacen(&format!("{label}:"), &format!("{label}: {first}"), 1);
    }
    if let Some(row) = rows.iter().find(|row| one(row.today.p_hold) < 0.9) {
        let _ = write!(text, " {} holds in {}.", row.rate, cases(row.today.p_hold));
    }
    text
}
