//! The runs of a place side by side: by how much signal stands over noise at the rate that each should carry.

use super::bars::{ON_A_SHEET, WIDTH};
use crate::number::{Number, percent};
use crate::picture::{Anchor, Fill, Picture, at, label, strait};
use crate::scale::Scale;
use crate::text::cut;
use maud::{Markup, html};
use narrows_core::cable::{Carried, RateRow, Report};
use narrows_core::quantity::units::ratio::one;

/// Decibels at the edges.
const LEAST: f64 = -12.0;
const MOST: f64 = 30.0;
const EDGE: f64 = 2.0;
const ROW: f64 = 52.0;

/// A run that holds its rate in fewer cases is marked.
const HOLDS: f64 = 0.9;

/// The fastest rate that both ends of a run know, and its position; `None` for fibre and twinax.
pub(crate) fn wanted(report: &Report) -> Option<(usize, &RateRow)> {
    match &report.carried {
        Carried::Copper(rows) => rows.iter().enumerate().next_back(),
        _ => None,
    }
}

/// The two ends of a run, or its name.
pub(crate) fn ends(report: &Report) -> String {
    match &report.run.between {
        Some([from, to]) => format!("{from} to {to}"),
        None => report.run.label.clone(),
    }
}

/// A chance as a number of the answer, in percent.
pub(crate) fn chance(row: &RateRow, run: usize, rate: usize) -> Number {
    let at = format!("cable/runs/{run}/rates/{rate}/today/holds_probability");
    Number::new(percent(row.today.p_hold.get::<one>().min(0.999_9)), at)
}

/// A run with its position and that of its rate, in the answer.
type Wanted<'a> = (usize, usize, &'a Report, &'a RateRow);

fn twisted_pairs<'a>(reports: &[&'a Report]) -> Vec<Wanted<'a>> {
    let all = reports.iter().enumerate();
    all.filter_map(|(i, report)| wanted(report).map(|(j, row)| (i, j, *report, row)))
        .collect()
}

/// Draws all twisted pairs; `None` where there is none.
pub fn margins(reports: &[&Report]) -> Option<Picture> {
    let rows = twisted_pairs(reports);
    (!rows.is_empty()).then(|| drawn(TITLE, &rows))
}

/// The same in pictures that fit on paper.
pub(crate) fn margins_in_parts(reports: &[&Report]) -> Vec<Picture> {
    let rows = twisted_pairs(reports);
    let count = rows.len().div_ceil(ON_A_SHEET);
    let parts = rows.chunks(ON_A_SHEET).enumerate();
    parts
        .map(|(i, part)| match count {
            1 => drawn(TITLE, part),
            _ => drawn(&format!("{TITLE}, part {} of {count}", i + 1), part),
        })
        .collect()
}

const TITLE: &str = "What the cables leave over";

fn drawn(title: &str, rows: &[Wanted<'_>]) -> Picture {
    let scale = Scale::new(LEAST, MOST, EDGE, WIDTH - EDGE);
    let foot = 8.0 + ROW * rows.len() as f64;
    let weak: Vec<String> = rows
        .iter()
        .filter(|(.., row)| row.today.p_hold.get::<one>() < HOLDS)
        .map(|(_, _, report, row)| format!("{} at {}", ends(report), row.rate))
        .collect();
    let words = format!(
        "A row a run, at the fastest rate that both its ends know: signal over noise beyond what that rate needs, in dB. \
         Left of zero it does not link. {}",
        if weak.is_empty() {
            "All hold in 9 of 10 cases or more.".to_owned()
        } else {
            format!("Doubtful: {}.", weak.join(", "))
        }
    );
    let body = html! {
        path.axis d={ "M" (at(EDGE)) " " (at(foot)) "H" (at(WIDTH - EDGE)) } {}
        g.scale {
        @for tick in [-10.0, 0.0, 10.0, 20.0, 30.0] {
            @let x = scale.at(tick);
            path.axis d={ "M" (at(x)) " " (at(foot)) "v4" } {}
            @let anchor = if tick > 29.0 { Anchor::End } else { Anchor::Middle };
            (label(x, foot + 16.0, "soft small", anchor, &html! { (if tick > 29.0 { "+30 dB".to_owned() } else { format!("{tick:+.0}") }) }))
        }
        }
        @for (k, (i, j, report, row)) in rows.iter().enumerate() {
            (one_run((*i, *j), report, row, &scale, 4.0 + ROW * k as f64))
        }
        (label(EDGE + 4.0, foot + 31.0, "soft small", Anchor::Start, &html! { "darker: does not link" }))
    };
    Picture::new(title, &words, (WIDTH, foot + 38.0), body)
}

fn one_run(
    (i, j): (usize, usize),
    report: &Report,
    row: &RateRow,
    scale: &Scale,
    top: f64,
) -> Markup {
    let y = top + 14.0;
    let weak = row.today.p_hold.get::<one>() < HOLDS;
    let lead = if weak { 20.0 } else { EDGE + 4.0 };
    let bar = y + 9.0;
    let zero = scale.at(0.0);
    let rate = Number::new(
        row.rate.to_string(),
        format!("cable/runs/{i}/rates/{j}/link_megabits_per_s"),
    );
    html! {
        @if weak { (strait(EDGE + 9.0, y - 4.5, 12.0)) }
        (label(lead, y, "strong", Anchor::Start, &html! { (cut(&ends(report), 24)) }))
        (label(WIDTH - EDGE, y, "", Anchor::End, &html! {
            (rate.drawn()) " holds in " tspan.strong { (chance(row, i, j).drawn()) } " of 100"
        }))
        rect.trough x=(at(EDGE)) y=(at(bar)) width=(at(WIDTH - 2.0 * EDGE)) height="12" {}
        rect.unlinked x=(at(EDGE)) y=(at(bar)) width=(at(zero - EDGE)) height="12" {}
        @if let Some(margin) = row.today.margin {
            @let [low, middle, high] = [margin.low.0, margin.likely.0, margin.high.0].map(|db| scale.at(db));
            @let fill = if weak { Fill::NarrowMaybe } else { Fill::Maybe };
            rect fill=(fill.url()) x=(at(low)) y=(at(bar)) width=(at(high - low)) height="12" {}
            path.tick d={ "M" (at(middle)) " " (at(bar - 2.0)) "v16" } {}
        } @else {
            (label(zero + 6.0, bar + 10.0, "small soft", Anchor::Start, &html! { "no margin computed" }))
        }
        path.axis d={ "M" (at(zero)) " " (at(bar - 4.0)) "v20" } {}
    }
}
