//! The tables about runs of cable.

use crate::commands::cable::chart;
use crate::commands::cable::text::{Shown, metres, watts};
use crate::commands::cable::words::{
    advice, after, chance, eaten, one, percent, standing, with_after,
};
use crate::render::prose::counted;
use crate::render::table::{Side, Table};
use narrows_core::cable::{Advice, Carried, OpticRow, PowerReport, RateRow, Report, TwinaxRow};
use narrows_core::copper::{RunFault, Verdict};
use narrows_core::quantity::{Power, three_digits};
use std::fmt::Write;

fn decibels(verdict: &Verdict) -> [String; 3] {
    match &verdict.margin {
        Some(m) => [m.likely, m.low, m.high].map(|d| format!("{:+.1}", d.0)),
        None => ["-", "-", "-"].map(str::to_owned),
    }
}

impl Shown<'_> {
    /// Rate by rate, everything: for spreadsheets and documents.
    pub(crate) fn table(&self) -> Table {
        let mut table = Table::new(&[
            ("run", Side::Left),
            ("rate", Side::Left),
            ("margin dB", Side::Right),
            ("5 %", Side::Right),
            ("95 %", Side::Right),
            ("links %", Side::Right),
            ("holds %", Side::Right),
            ("what eats the margin", Side::Left),
            ("upgraded margin dB", Side::Right),
            ("upgraded holds %", Side::Right),
            ("best improvement", Side::Left),
            ("then holds %", Side::Right),
        ]);
        for report in self.reports {
            let name = &report.run.label;
            match &report.carried {
                Carried::Copper(rows) => {
                    for row in rows.iter().rev() {
                        table.row(full(name, row));
                    }
                }
                Carried::Fibre(rows) => {
                    for row in rows {
                        let carries = if row.verdict.carries() { "100" } else { "0" };
                        let rate = format!("{} {}", row.verdict.rate, row.optic.word());
                        let left = format!("{:+.2}", row.verdict.left.0);
                        table.row(plain(name, rate, left, carries, optic_note(row)));
                    }
                }
                Carried::Twinax(rows) => {
                    for row in rows {
                        let carries = if row.carries_plain { "100" } else { "0" };
                        let rate = row.rate.to_string();
                        table.row(plain(name, rate, String::new(), carries, twinax_note(row)));
                    }
                }
            }
        }
        table
    }

    pub(crate) fn rate_by_rate(
        &self,
        pairs: &[(&str, &Report)],
        out: &mut String,
    ) -> Result<(), RunFault> {
        let mut table = Table::new(&[
            ("run", Side::Left),
            ("rate", Side::Left),
            ("margin dB", Side::Right),
            ("5 %", Side::Right),
            ("95 %", Side::Right),
            ("links %", Side::Right),
            ("holds %", Side::Right),
            ("main noise", Side::Left),
        ]);
        let mut help = Table::new(&[
            ("run", Side::Left),
            ("rate", Side::Left),
            ("upgraded dB", Side::Right),
            ("holds %", Side::Right),
            ("best improvement", Side::Left),
            ("then %", Side::Right),
        ])
        .folding(4);
        let single = self.reports.len() == 1;
        let mut upgraded = false;
        for (short, report) in pairs {
            let Carried::Copper(rows) = &report.carried else {
                continue;
            };
            let mut name = (*short).to_owned();
            for row in rows.iter().rev() {
                let [margin, low, high] = decibels(&row.today);
                table.row(vec![
                    std::mem::take(&mut name),
                    row.rate.to_string(),
                    margin,
                    low,
                    high,
                    chance(row.today.p_link),
                    chance(row.today.p_hold),
                    eats(&row.today).replace(" %", "\u{a0}%"),
                ]);
                if row.advice != Advice::Nothing || (single && row.upgraded.is_some()) {
                    upgraded |= row.upgraded.is_some();
                    help.row(helped(short, row));
                }
            }
        }
        let fit = |table: Table| if single { table.without("run") } else { table };
        out.push_str("\nToday:\n");
        out.push_str(&fit(table).text(self.width));
        if !help.is_empty() {
            let heading = match (upgraded, single) {
                (true, true) => "\nWith all neighbours at that rate, and what helps today:\n",
                (true, false) => "\nDoes not hold, or not with all neighbours at that rate:\n",
                (false, _) => "\nWhat helps:\n",
            };
            out.push_str(heading);
            let help = if upgraded {
                help
            } else {
                help.without("upgraded dB").without("holds %")
            };
            let column = if upgraded { 4 } else { 2 };
            let column = if single { column - 1 } else { column };
            out.push_str(&fit(help).folding(column).text(self.width));
        }
        out.push_str(&self.paragraph(
            "margin: signal over noise beyond what the rate needs, in the middle; 1 in 20 lies below the first, 1 in 20 above the second number. \
             links: comes up. holds: keeps 1 dB in reserve, so that it makes no errors on a hot day. A run \
             that carries a fast rate carries the slower ones too. Beyond what a standard promises no \
             chance is better than even.",
        ));
        if let [(_, report)] = pairs {
            let curves = self.curves(report)?;
            out.push('\n');
            out.push_str(&chart::draw(
                &curves,
                report.run.lengths.map(metres),
                self.width,
            ));
        }
        Ok(())
    }

    pub(crate) fn one_line_each(&self, pairs: &[(&str, &Report)], out: &mut String) {
        let mut table = Table::new(&[
            ("run", Side::Left),
            ("holds", Side::Left),
            ("%", Side::Right),
            ("next", Side::Left),
            ("margin dB", Side::Right),
            ("5 %", Side::Right),
            ("95 %", Side::Right),
            ("holds %", Side::Right),
            ("what helps it", Side::Left),
        ]);
        for (short, report) in pairs {
            let Carried::Copper(rows) = &report.carried else {
                continue;
            };
            let (best, sure) = match report.best() {
                Some((rate, chance_of)) => (rate.to_string(), chance(chance_of)),
                None => ("none".to_owned(), "-".to_owned()),
            };
            let mut cells = vec![(*short).to_owned(), best, sure];
            match rows.iter().find(|row| one(row.today.p_hold) < 0.9) {
                Some(row) => {
                    cells.push(row.rate.to_string());
                    cells.extend(decibels(&row.today));
                    cells.push(chance(row.today.p_hold));
                    cells.push(with_after(row));
                }
                None => cells.extend(["-", "-", "-", "-", "-", ""].map(str::to_owned)),
            }
            table.row(cells);
        }
        out.push('\n');
        out.push_str(&table.text(self.width));
        out.push_str(&self.paragraph(
            "holds: the fastest rate with a chance of 90 % or more, and the chance. next: the first rate above \
             it, with its margin, its chance and the best thing to do for it. Rate by rate: --format csv.",
        ));
    }

    pub(crate) fn optics(&self, report: &Report, rows: &[OpticRow], out: &mut String) {
        let mut table = Table::new(&[
            ("fibre", Side::Left),
            ("optic", Side::Left),
            ("rate", Side::Left),
            ("reach m", Side::Right),
            ("loss dB", Side::Right),
            ("left dB", Side::Right),
            ("carries", Side::Left),
            ("note", Side::Left),
        ]);
        for row in rows {
            let v = &row.verdict;
            table.row(vec![
                row.grade.word().to_owned(),
                row.optic.word().to_owned(),
                v.rate.to_string(),
                format!("{:.0}", metres(v.reach)),
                format!("{:.2}", v.loss.0),
                format!("{:+.2}", v.left.0),
                if v.carries() { "yes" } else { "no" }.to_owned(),
                optic_note(row),
            ]);
        }
        let _ = write!(out, "\n{}:\n{}", report.run.label, table.text(self.width));
        out.push_str(&self.paragraph(
            "loss: fibre, plugs and splices at their limits. left: of the optic's own budget. Good loss does not \
             lift the reach. Optics at both ends must be the same. Cords of 50 um on a cable of 62.5 um, or the \
             other way round, take 4.7 dB more: counted where they are told. \
             special cords: mode-conditioning ones at both ends.",
        ));
    }

    pub(crate) fn twinax(&self, report: &Report, rows: &[TwinaxRow], out: &mut String) {
        let mut table = Table::new(&[
            ("rate", Side::Left),
            ("reach m", Side::Right),
            ("with strongest correction m", Side::Right),
            ("carries", Side::Left),
        ]);
        for row in rows {
            table.row(vec![
                row.rate.to_string(),
                three_digits(metres(row.plain)),
                three_digits(metres(row.strong)),
                twinax_note(row),
            ]);
        }
        let _ = write!(out, "\n{}:\n{}", report.run.label, table.text(self.width));
        out.push_str(
            &self.paragraph("Passive twinax of the standard's make; both ports must accept it."),
        );
    }

    pub(crate) fn powers(&self, out: &mut String) {
        let powered: Vec<(&str, &PowerReport)> = self
            .named()
            .filter_map(|(name, report)| Some((name, report.power.as_ref()?)))
            .collect();
        let Some(sum) = self.sum else { return };
        let mut table = Table::new(&[
            ("run", Side::Left),
            ("class", Side::Right),
            ("source W", Side::Right),
            ("promised W", Side::Right),
            ("expected W", Side::Right),
            ("lost W", Side::Right),
            ("cables", Side::Right),
            ("bundle warmer by K", Side::Left),
        ]);
        for (name, power) in &powered {
            table.row(power_cells(name, power));
        }
        let table = if self.reports.len() == 1 {
            table.without("run")
        } else {
            table
        };
        let _ = write!(out, "\nPower over the cable:\n{}", table.text(self.width));
        let mut text = "promised: what the class guarantees at the far end, whatever the source assumes. expected: what \
             arrives over this run. The heat of the bundle is its 5th, 50th and 95th percentile with all \
             its cables powered, and its middle is in the margins above."
            .to_owned();
        let _ = write!(
            text,
            " Set aside for {}: {:.0} W",
            counted(sum.runs, "powered run", "powered runs"),
            watts(sum.reserved)
        );
        if sum.drawn < sum.reserved {
            let _ = write!(text, ", drawn: {:.0} W", watts(sum.drawn));
        }
        match sum.budget {
            Some(budget) if sum.fits() => {
                let left = watts(budget) - watts(sum.reserved);
                let _ = write!(
                    text,
                    "; the switch has {:.0} W, {left:.0} W are left.",
                    watts(budget)
                );
            }
            Some(budget) => {
                let over = watts(sum.reserved) - watts(budget);
                let _ = write!(
                    text,
                    "; the switch has {:.0} W, {over:.0} W too little: it refuses the last devices.",
                    watts(budget)
                );
            }
            None => text.push('.'),
        }
        out.push_str(&self.paragraph(&text));
    }
}

pub(super) fn eats(verdict: &Verdict) -> String {
    match &verdict.noise_shares {
        Some(shares) => eaten(shares),
        None => standing(verdict.standing).to_owned(),
    }
}

fn helped(label: &str, row: &RateRow) -> Vec<String> {
    let later = row.upgraded.as_ref().unwrap_or(&row.today);
    let [margin, ..] = decibels(later);
    vec![
        label.to_owned(),
        row.rate.to_string(),
        margin,
        chance(later.p_hold),
        advice(row),
        after(row).map_or_else(|| "-".to_owned(), chance),
    ]
}

fn full(label: &str, row: &RateRow) -> Vec<String> {
    let [margin, low, high] = decibels(&row.today);
    let later = row.upgraded.as_ref().unwrap_or(&row.today);
    let [upgraded, ..] = decibels(later);
    vec![
        label.to_owned(),
        row.rate.to_string(),
        margin,
        low,
        high,
        percent(row.today.p_link),
        percent(row.today.p_hold),
        eats(&row.today),
        upgraded,
        percent(later.p_hold),
        advice(row),
        after(row).map_or_else(String::new, percent),
    ]
}

fn plain(label: &str, rate: String, margin: String, carries: &str, note: String) -> Vec<String> {
    let mut cells = vec![label.to_owned(), rate, margin];
    cells.extend(["", ""].map(str::to_owned));
    cells.extend([carries, carries].map(str::to_owned));
    cells.push(note);
    cells.extend(["", "", "", ""].map(str::to_owned));
    cells
}

fn optic_note(row: &OpticRow) -> String {
    let v = &row.verdict;
    if !v.within_reach {
        "too long".to_owned()
    } else if !v.carries() {
        "loses too much".to_owned()
    } else if v.mode_conditioning {
        "special cords".to_owned()
    } else {
        String::new()
    }
}

fn twinax_note(row: &TwinaxRow) -> String {
    match (row.carries_plain, row.carries_strong) {
        (true, _) => "yes",
        (false, true) => "only with the strongest error correction",
        (false, false) => "no: use fibre",
    }
    .to_owned()
}

fn power_cells(label: &str, power: &PowerReport) -> Vec<String> {
    let tenth = |power: Power| format!("{:.1}", watts(power));
    let none = || "-".to_owned();
    let delivered = power.delivered.as_ref();
    vec![
        label.to_owned(),
        power.class.to_string(),
        delivered.map_or_else(none, |d| tenth(d.source)),
        delivered
            .and_then(|d| d.guaranteed)
            .map_or_else(none, tenth),
        delivered.map_or_else(none, |d| tenth(d.expected)),
        delivered.map_or_else(none, |d| tenth(d.lost)),
        power.cables.to_string(),
        match (&power.refused, &power.heat) {
            (Some(refused), _) => refused.clone(),
            (None, Some(heat)) => format!(
                "{:.1}..{:.1}..{:.1}{}",
                heat.low.0,
                heat.likely.0,
                heat.high.0,
                if heat.within_guidance {
                    ""
                } else {
                    ": more than guidance allows"
                }
            ),
            (None, None) => none(),
        },
    ]
}
