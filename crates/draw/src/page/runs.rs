use super::commands::Command;
use super::table::{Head, table};
use super::{Report, Section, said};
use crate::number::Number;
use crate::pictures::{chance, ends, margins_in_parts, wanted};
use crate::text::{named, plain};
use maud::{Markup, html};
use narrows_core::cable::{Advice, Report as RunReport};
use narrows_core::quantity::units;

/// What the cables carry.
pub(super) fn section(report: &Report<'_>) -> Option<Section> {
    let runs = report.runs.as_ref()?;
    let reports: Vec<&RunReport> = runs.answer.iter().map(|(run, _)| run).collect();
    let pictures = margins_in_parts(&reports);
    let heads = [
        Head::Words("cable"),
        Head::Words("from and to"),
        Head::Numbers("should carry"),
        Head::Numbers("margin dB"),
        Head::Numbers("from"),
        Head::Numbers("to"),
        Head::Numbers("holds %"),
        Head::Numbers("holds for sure"),
        Head::Words("what helps"),
    ];
    let rows: Vec<Vec<Markup>> = runs
        .answer
        .iter()
        .enumerate()
        .map(|(i, (run, helps))| row(run, helps, i))
        .collect();
    let body = html! {
        (said(&runs.lines))
        div.pair {
            @for (i, picture) in pictures.iter().enumerate() { div.one { figure { (picture.inside(&format!("margins-{i}"))) } } }
            div.one {
                p { "Margin: signal over noise beyond what the rate needs. Holds: keeps 1 dB in reserve, so that it makes no errors on a hot day. \
                     For sure: in 9 of 10 cases." }
                p.quiet { "An estimate: only a certification of the run, or error counters under load, proves it." }
            }
        }
        (table("The cables, each at the fastest rate that both its ends know", &heads, &rows))
    };
    Some(Section::new(
        "cables",
        "The cables",
        vec![Command::cable(report)],
        body,
    ))
}

fn row(run: &RunReport, helps: &str, i: usize) -> Vec<Markup> {
    let key = format!("cable/runs/{i}");
    let best = run
        .best()
        .map(|(rate, _)| Number::new(rate.to_string(), format!("{key}/holds_megabits_per_s")));
    let mut cells = vec![
        html! { (named(&run.run.label)) },
        html! { (named(&ends(run))) },
    ];
    let best = html! { @if let Some(best) = &best { (best) } @else { "none" } };
    let Some((j, row)) = wanted(run) else {
        cells.extend([
            html! {},
            html! {},
            html! {},
            html! {},
            html! {},
            best,
            html! {},
        ]);
        return cells;
    };
    let at = format!("{key}/rates/{j}");
    let margin = row.today.margin;
    let db = |value: Option<f64>, which: &str| {
        html! { @if let Some(value) = value { (Number::new(format!("{value:+.1}"), format!("{at}/today/margin_db/{which}"))) } }
    };
    cells.extend([
        html! { (Number::new(row.rate.to_string(), format!("{at}/link_megabits_per_s"))) },
        db(margin.map(|m| m.likely.0), "p50"),
        db(margin.map(|m| m.low.0), "p05"),
        db(margin.map(|m| m.high.0), "p95"),
        html! { (chance(row, i, j)) },
        best,
        html! { (plain(helps)) (then(row.advice, &at)) },
    ]);
    cells
}

/// The chance of holding after the best thing to do.
fn then(advice: Advice, at: &str) -> Markup {
    let (Advice::Change { p_hold, .. } | Advice::LowerRate { p_hold, .. }) = advice else {
        return html! {};
    };
    let share = p_hold.get::<units::ratio::one>().min(0.999_9);
    html! { ", then " (Number::percent(share, format!("{at}/best_improvement/holds_probability"))) " %" }
}
