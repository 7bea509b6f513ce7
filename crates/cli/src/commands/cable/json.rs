//! Runs of cable as a program reads them. Keys are a contract: see docs/json.md.

use crate::commands::cable::text::{Shown, metres, watts};
use crate::commands::cable::words::{change_word, parts, standing_word};
use crate::render::document::{Document, share};
use narrows_core::cable::{
    Advice, Carried, Joint, OpticRow, PowerReport, RateRow, Report, TwinaxRow,
};
use narrows_core::copper::Verdict;
use narrows_core::quantity::six_digits;
use serde::Serialize;

#[derive(Serialize)]
struct Answer<'a> {
    runs: Vec<Run<'a>>,
    other_runs: Vec<Other<'a>>,
    unused_columns: &'a [String],
    power: Option<Sum>,
}

#[derive(Serialize)]
struct Other<'a> {
    run: &'a str,
    medium: &'a str,
}

#[derive(Serialize)]
struct Sum {
    powered_runs: usize,
    reserved_watts: f64,
    drawn_watts: f64,
    budget_watts: Option<f64>,
    fits: bool,
}

#[derive(Serialize)]
struct Run<'a> {
    #[serde(rename = "run")]
    name: &'a str,
    between: Option<&'a [String; 2]>,
    medium: &'static str,
    length_m: [f64; 2],
    holds_megabits_per_s: Option<f64>,
    negotiated_megabits_per_s: Option<f64>,
    rates: Vec<Rate>,
    optics: Vec<Optic>,
    twinax: Vec<Twinax>,
    need: Option<Need>,
    power: Option<Power>,
}

#[derive(Serialize)]
struct Need {
    link_megabits_per_s: f64,
    probability: f64,
    met: bool,
}

#[derive(Serialize)]
struct Rate {
    link_megabits_per_s: f64,
    today: State,
    upgraded: Option<State>,
    best_improvement: Improvement,
}

#[derive(Serialize)]
struct State {
    standing: &'static str,
    margin_db: Option<Margin>,
    links_probability: f64,
    holds_probability: f64,
    noise_shares: Option<Shares>,
}

#[derive(Serialize)]
struct Margin {
    p05: f64,
    p50: f64,
    p95: f64,
    at_limits: f64,
    signal_to_noise: f64,
}

#[derive(Serialize)]
struct Shares {
    neighbours: f64,
    own_pairs: f64,
    echo: f64,
    receiver: f64,
}

#[derive(Serialize)]
struct Improvement {
    what: &'static str,
    use_megabits_per_s: Option<f64>,
    holds_probability: Option<f64>,
}

#[derive(Serialize)]
struct Optic {
    #[serde(rename = "optic")]
    name: &'static str,
    grade: &'static str,
    link_megabits_per_s: f64,
    reach_m: f64,
    within_reach: bool,
    loss_db: f64,
    left_db: f64,
    mode_conditioning: bool,
    carries: bool,
}

#[derive(Serialize)]
struct Twinax {
    link_megabits_per_s: f64,
    reach_m: f64,
    strong_reach_m: f64,
    carries: bool,
    carries_strong: bool,
}

#[derive(Serialize)]
struct Power {
    class: u8,
    reserved_watts: f64,
    load_watts: Option<f64>,
    source_watts: Option<f64>,
    guaranteed_watts: Option<f64>,
    expected_watts: Option<f64>,
    lost_watts: Option<f64>,
    loop_ohms: Option<f64>,
    bundle_cables: u32,
    bundle_warmer_k: Option<Heat>,
    refused: Option<String>,
}

#[derive(Serialize)]
struct Heat {
    p05: f64,
    p50: f64,
    p95: f64,
    within_guidance: bool,
}

fn state(verdict: &Verdict) -> State {
    let part = |shares: &[(&str, f64)], what: &str| {
        let found = shares.iter().find(|(name, _)| *name == what);
        six_digits(found.map_or(0.0, |(_, part)| *part))
    };
    State {
        standing: standing_word(verdict.standing),
        margin_db: verdict.margin.map(|m| Margin {
            p05: six_digits(m.low.0),
            p50: six_digits(m.likely.0),
            p95: six_digits(m.high.0),
            at_limits: six_digits(m.at_limits.0),
            signal_to_noise: six_digits(m.signal_to_noise.0),
        }),
        links_probability: share(verdict.p_link),
        holds_probability: share(verdict.p_hold),
        noise_shares: verdict.noise_shares.as_ref().map(|shares| {
            let parts = parts(shares);
            Shares {
                neighbours: part(&parts, "neighbours"),
                own_pairs: part(&parts, "own pairs"),
                echo: part(&parts, "echo"),
                receiver: part(&parts, "receiver"),
            }
        }),
    }
}

fn rate(row: &RateRow) -> Rate {
    let (what, lower, chance) = match row.advice {
        Advice::Nothing => ("nothing", None, Some(row.today.p_hold)),
        Advice::KeepNeighbours => ("keep-neighbours", None, Some(row.today.p_hold)),
        Advice::Change { change, p_hold } => (change_word(change), None, Some(p_hold)),
        Advice::LowerRate { rate, p_hold } => ("lower-rate", Some(rate), Some(p_hold)),
        Advice::Fibre => ("fibre", None, None),
    };
    Rate {
        link_megabits_per_s: row.rate.megabits(),
        today: state(&row.today),
        upgraded: row.upgraded.as_ref().map(state),
        best_improvement: Improvement {
            what,
            use_megabits_per_s: lower.map(narrows_core::quantity::LinkRate::megabits),
            holds_probability: chance.map(share),
        },
    }
}

fn optic(row: &OpticRow) -> Optic {
    let v = &row.verdict;
    Optic {
        name: row.optic.word(),
        grade: row.grade.word(),
        link_megabits_per_s: v.rate.megabits(),
        reach_m: six_digits(metres(v.reach)),
        within_reach: v.within_reach,
        loss_db: six_digits(v.loss.0),
        left_db: six_digits(v.left.0),
        mode_conditioning: v.mode_conditioning,
        carries: v.carries(),
    }
}

fn twinax(row: &TwinaxRow) -> Twinax {
    Twinax {
        link_megabits_per_s: row.rate.megabits(),
        reach_m: six_digits(metres(row.plain)),
        strong_reach_m: six_digits(metres(row.strong)),
        carries: row.carries_plain,
        carries_strong: row.carries_strong,
    }
}

fn power(report: &PowerReport) -> Power {
    let delivered = report.delivered.as_ref();
    Power {
        class: report.class,
        reserved_watts: six_digits(watts(report.reserved)),
        load_watts: report.load.map(|load| six_digits(watts(load))),
        source_watts: delivered.map(|d| six_digits(watts(d.source))),
        guaranteed_watts: delivered
            .and_then(|d| d.guaranteed)
            .map(|power| six_digits(watts(power))),
        expected_watts: delivered.map(|d| six_digits(watts(d.expected))),
        lost_watts: delivered.map(|d| six_digits(watts(d.lost))),
        loop_ohms: delivered.map(|d| six_digits(d.resistance.0)),
        bundle_cables: report.cables,
        bundle_warmer_k: report.heat.map(|heat| Heat {
            p05: six_digits(heat.low.0),
            p50: six_digits(heat.likely.0),
            p95: six_digits(heat.high.0),
            within_guidance: heat.within_guidance,
        }),
        refused: report.refused.clone(),
    }
}

fn run(report: &Report) -> Run<'_> {
    let medium = match &report.run.joint {
        Joint::Copper { .. } => "copper",
        Joint::Fibre { .. } => "fibre",
        Joint::Twinax { .. } => "twinax",
    };
    let [low, high] = report.run.lengths.map(|length| six_digits(metres(length)));
    let mut found = Run {
        name: &report.run.label,
        between: report.run.between.as_ref(),
        medium,
        length_m: [low, high],
        holds_megabits_per_s: report.best().map(|(rate, _)| rate.megabits()),
        negotiated_megabits_per_s: report
            .run
            .negotiated
            .map(narrows_core::quantity::LinkRate::megabits),
        rates: Vec::new(),
        optics: Vec::new(),
        twinax: Vec::new(),
        need: report.held.map(|held| Need {
            link_megabits_per_s: held.rate.megabits(),
            probability: share(held.p_hold),
            met: held.met,
        }),
        power: report.power.as_ref().map(power),
    };
    match &report.carried {
        Carried::Copper(rows) => found.rates = rows.iter().map(rate).collect(),
        Carried::Fibre(rows) => found.optics = rows.iter().map(optic).collect(),
        Carried::Twinax(rows) => found.twinax = rows.iter().map(twinax).collect(),
    }
    found
}

pub(crate) fn render(shown: &Shown<'_>) -> std::io::Result<String> {
    let assumed = shown
        .reports
        .iter()
        .flat_map(|report| &report.run.assumptions);
    Document::of("cable")
        .site(shown.asking.site.as_deref())
        .assumptions(assumed)
        .cautions(shown.warned())
        .answer(Answer {
            runs: shown.reports.iter().map(run).collect(),
            other_runs: shown
                .asking
                .others
                .iter()
                .map(|(run, medium)| Other { run, medium })
                .collect(),
            unused_columns: &shown.asking.unused,
            power: shown.sum.map(|sum| Sum {
                powered_runs: sum.runs,
                reserved_watts: six_digits(watts(sum.reserved)),
                drawn_watts: six_digits(watts(sum.drawn)),
                budget_watts: sum.budget.map(|budget| six_digits(watts(budget))),
                fits: sum.fits(),
            }),
        })
        .text()
}
