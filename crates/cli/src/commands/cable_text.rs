use super::cable::Asking;
use super::cable_chart::{self, Curve};
use super::cable_words::{advice, after, chance, eaten, one, standing};
use crate::render::prose::{counted, item, paragraph, share};
use crate::render::steps::tree;
use crate::render::table::{Side, Table};
use narrows_core::cable::{
    Advice, Budgeted, Cabling, Carried, Joint, OpticRow, PowerReport, RateRow, Report, TwinaxRow,
};
use narrows_core::copper::{RunFault, Verdict};
use narrows_core::quantity::{Length, LinkRate, Power, three_digits, units};
use std::fmt::Write;

/// Everything that is shown.
pub(super) struct Shown<'a> {
    pub cabling: &'a Cabling,
    pub asking: &'a Asking,
    pub reports: &'a [Report],
    pub sum: Option<Budgeted>,
    pub width: usize,
}

/// More runs than this get one line each.
const FEW: usize = 8;

pub(super) fn metres(length: Length) -> f64 {
    length.get::<units::length::meter>()
}

pub(super) fn watts(power: Power) -> f64 {
    power.get::<units::power::watt>()
}

fn decibels(verdict: &Verdict) -> [String; 3] {
    match &verdict.margin {
        Some(m) => [m.likely, m.low, m.high].map(|d| format!("{:+.1}", d.0)),
        None => ["-", "-", "-"].map(str::to_owned),
    }
}

impl Shown<'_> {
    /// Rate by rate, everything: for spreadsheets and documents.
    pub(super) fn table(&self) -> Table {
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

    /// The answer for a person.
    pub(super) fn text(&self) -> Result<String, RunFault> {
        let mut out = self.paragraph(&self.headline());
        self.ends(&mut out);
        for report in self.reports {
            if let Some(held) = report.held {
                let verdict = if held.met { "yes" } else { "no" };
                let name = self.name(report);
                let text = format!(
                    "Needed: {}. {name} holds it with a chance of {}: {verdict}.",
                    held.rate,
                    share(one(held.p_hold))
                );
                out.push_str(&self.paragraph(&text));
            }
        }
        let copper = |report: &&Report| matches!(report.carried, Carried::Copper(_));
        let pairs: Vec<&Report> = self.reports.iter().filter(copper).collect();
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

    fn paragraph(&self, text: &str) -> String {
        let mut text = paragraph(text, self.width, 0);
        text.push('\n');
        text
    }

    fn name<'r>(&self, report: &'r Report) -> &'r str {
        if self.reports.len() == 1 && !self.asking.listed {
            "It"
        } else {
            &report.run.label
        }
    }

    fn headline(&self) -> String {
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
                    "The fastest rate that {} runs hold with a chance of 90 % or more: {}.",
                    reports.len(),
                    parts.join("; ")
                )
            }
        }
    }

    /// Where the runs of a site lead.
    fn ends(&self, out: &mut String) {
        let ends: Vec<String> = self
            .reports
            .iter()
            .filter_map(|report| {
                let [from, to] = report.run.between.as_ref()?;
                Some(format!("{} {from} to {to}", report.run.label))
            })
            .collect();
        if !ends.is_empty() && self.reports.len() <= FEW {
            out.push_str(&self.paragraph(&format!("{}.", ends.join(", "))));
        }
    }

    fn rate_by_rate(&self, pairs: &[&Report], out: &mut String) -> Result<(), RunFault> {
        let mut table = Table::new(&[
            ("run", Side::Left),
            ("rate", Side::Left),
            ("margin dB", Side::Right),
            ("5 %", Side::Right),
            ("95 %", Side::Right),
            ("links %", Side::Right),
            ("holds %", Side::Right),
            ("eaten by", Side::Left),
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
        let mut upgraded = false;
        for report in pairs {
            let Carried::Copper(rows) = &report.carried else {
                continue;
            };
            let mut name = report.run.label.clone();
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
                if row.advice != Advice::Nothing || row.upgraded.is_some() {
                    upgraded |= row.upgraded.is_some();
                    help.row(helped(&report.run.label, row));
                }
            }
        }
        let single = pairs.len() == 1;
        let fit = |table: Table| if single { table.without("run") } else { table };
        out.push_str("\nToday:\n");
        out.push_str(&fit(table).text(self.width));
        if !help.is_empty() {
            let heading = if upgraded {
                "\nWith all neighbours at the rate of the row, and what helps today:\n"
            } else {
                "\nWhat helps:\n"
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
            "margin: signal over noise beyond what the rate needs, its median and its 5th and 95th percentile. \
             links: comes up. holds: keeps 1 dB in reserve, so that it makes no errors on a hot day. A run \
             that carries a fast rate carries the slower ones too. The margin at 1 Gb/s and below is that of \
             an old receiver; its chances come from how far such links reach.",
        ));
        if let [report] = pairs {
            let curves = self.curves(report)?;
            let at = match &report.run.joint {
                Joint::Copper { cases, .. } => {
                    cases.iter().map(|c| metres(c.physics.length)).collect()
                }
                _ => Vec::new(),
            };
            out.push('\n');
            out.push_str(&cable_chart::draw(&curves, &at, self.width));
        }
        Ok(())
    }

    fn one_line_each(&self, pairs: &[&Report], out: &mut String) {
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
        for report in pairs {
            let Carried::Copper(rows) = &report.carried else {
                continue;
            };
            let (best, sure) = match report.best() {
                Some((rate, chance_of)) => (rate.to_string(), chance(chance_of)),
                None => ("none".to_owned(), "-".to_owned()),
            };
            let mut cells = vec![report.run.label.clone(), best, sure];
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

    fn optics(&self, report: &Report, rows: &[OpticRow], out: &mut String) {
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
             lift the reach. Optics at both ends must be the same; 62.5 um mated to 50 um takes up to 5 dB more.",
        ));
    }

    fn twinax(&self, report: &Report, rows: &[TwinaxRow], out: &mut String) {
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

    fn powers(&self, out: &mut String) {
        let powered: Vec<(&Report, &PowerReport)> = self
            .reports
            .iter()
            .filter_map(|report| Some((report, report.power.as_ref()?)))
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
        for (report, power) in &powered {
            table.row(power_cells(&report.run.label, power));
        }
        let table = if powered.len() == 1 && !self.asking.listed {
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
            out.push_str(&self.paragraph(&format!("\nNo twisted pair: {}.", others.join("; "))));
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
            let what = assumption.id.rsplit('.').next().unwrap_or_default();
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
    pub(super) fn warned(&self) -> Vec<String> {
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
    pub(super) fn curves(&self, report: &Report) -> Result<Vec<Curve>, RunFault> {
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
    pub(super) fn why(&self, rate: LinkRate) -> Result<String, String> {
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
            None => format!("{label}: too long for anything that is known here."),
        };
    };
    let sure = rows.iter().rev().find(|row| one(row.today.p_hold) >= 0.9);
    let mut text = match sure {
        Some(row) => format!(
            "{label}: {} holds with a chance of {}{}.",
            row.rate,
            share(one(row.today.p_hold)),
            row.upgraded.map_or(String::new(), |later| format!(
                " today, and of {} when all neighbours run at it too",
                share(one(later.p_hold))
            ))
        ),
        None => format!("{label}: no rate holds with a chance of 90 % or more."),
    };
    if let Some(row) = rows.iter().find(|row| one(row.today.p_hold) < 0.9) {
        let _ = write!(
            text,
            " {} holds with {}; what helps it most: {}.",
            row.rate,
            share(one(row.today.p_hold)),
            with_after(row)
        );
    }
    text
}

fn with_after(row: &RateRow) -> String {
    match row.advice {
        Advice::Change { p_hold, .. } | Advice::LowerRate { p_hold, .. } => {
            format!("{} ({})", advice(row), share(one(p_hold)))
        }
        _ => advice(row),
    }
}

fn eats(verdict: &Verdict) -> String {
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
    let help = helped(label, row);
    let mut cells = vec![
        label.to_owned(),
        row.rate.to_string(),
        margin,
        low,
        high,
        chance(row.today.p_link),
        chance(row.today.p_hold),
        eats(&row.today),
    ];
    cells.extend(help.into_iter().skip(2));
    cells
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
        "with mode-conditioning cords".to_owned()
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
