//! Margin over the length of one run, a line a rate.

use crate::picture::{Anchor, Picture, at, label};
use crate::scale::Scale;
use crate::text::cut;
use maud::{Markup, html};
use narrows_core::cable::Report;
use narrows_core::quantity::units;
use std::fmt::Write;

/// Margin over length of one rate.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// The rate.
    pub label: String,
    /// Metres, and the 5th, 50th and 95th percentile in dB.
    pub points: Vec<(f64, [f64; 3])>,
}

/// Metres that the picture spans.
pub const SPAN: f64 = 100.0;

const WIDTH: f64 = 860.0;
const HEIGHT: f64 = 520.0;
const LEFT: f64 = 70.0;
const RIGHT: f64 = 750.0;
const TOP: f64 = 64.0;
const FOOT: f64 = 460.0;
/// Margins shown in dB; lines are cut there.
const LEAST: f64 = -12.0;
const MOST: f64 = 30.0;
/// Columns of the title that fit.
const LETTERS: usize = 80;
/// Pixels between labels.
const LABEL: f64 = 17.0;

/// One dash pattern a line, so that colour is not needed to tell them apart.
const DASHES: [&str; 7] = [
    "none",
    "9 4",
    "3 3",
    "12 4 3 4",
    "6 3 2 3 2 3",
    "1 4",
    "16 5",
];

const X: Scale = Scale::new(0.0, SPAN, LEFT, RIGHT);
const Y: Scale = Scale::new(LEAST, MOST, FOOT, TOP);

fn path(points: impl Iterator<Item = (f64, f64)>) -> String {
    let mut out = String::new();
    for (i, (x, y)) in points.enumerate() {
        out.push(if i == 0 { 'M' } else { 'L' });
        out.push_str(&at(x));
        out.push(' ');
        out.push_str(&at(y));
    }
    out
}

/// The picture: a line a rate, labelled at its end, its 5th to 95th percentile shaded, the run
/// marked.
pub fn margin(report: &Report, curves: &[Curve]) -> Picture {
    let name = cut(&report.run.label, LETTERS);
    let body = html! {
        (label(LEFT, 28.0, "head", Anchor::Start, &html! { (name) }))
        (label(LEFT, 48.0, "soft", Anchor::Start, &html! {
            "Margin in dB; shaded: 5 to 95 in 100 such runs. An estimate: only certification or error counters prove it."
        }))
        (grid())
        (mark(report))
        @for (i, curve) in curves.iter().enumerate().rev() {
            @let there = curve.points.iter().map(|(m, [_, _, high])| (X.at(*m), Y.at(*high)));
            @let back = curve.points.iter().rev().map(|(m, [low, _, _])| (X.at(*m), Y.at(*low)));
            path class={ "spread f" (i) } d={ (path(there.chain(back))) "Z" } {}
        }
        @for (i, curve) in curves.iter().enumerate().rev() {
            @let line = path(curve.points.iter().map(|(m, [_, middle, _])| (X.at(*m), Y.at(*middle))));
            path class={ "curve c" (i) } stroke-dasharray=(DASHES.get(i).copied().unwrap_or("none")) d=(line) {}
        }
        (labels(curves))
    };
    let title = format!("Margin over length: {name}");
    Picture::new(&title, &words(report, curves), (WIDTH, HEIGHT), body)
}

fn words(report: &Report, curves: &[Curve]) -> String {
    let names: Vec<&str> = curves.iter().map(|c| c.label.as_str()).collect();
    let mut text = format!(
        "One line a rate ({}) over lengths to {SPAN:.0} m; above 0 dB a rate links.",
        names.join(", ")
    );
    for curve in curves {
        let zero = curve
            .points
            .iter()
            .find(|(_, [_, middle, _])| *middle < 0.0);
        if let Some((metres, _)) = zero {
            let _ = write!(
                text,
                " {} falls below 0 dB at about {metres:.0} m.",
                curve.label
            );
        }
    }
    let [low, high] = lengths(report);
    let _ = if low < high {
        write!(text, " This run is {low:.0} to {high:.0} m long.")
    } else {
        write!(text, " This run is {low:.0} m long.")
    };
    text
}

fn lengths(report: &Report) -> [f64; 2] {
    report.run.lengths.map(|l| l.get::<units::length::meter>())
}

fn grid() -> Markup {
    html! {
        rect.below x=(at(LEFT)) y=(at(Y.at(0.0))) width=(at(RIGHT - LEFT)) height=(at(FOOT - Y.at(0.0))) {}
        @for step in -2..=5 {
            @let margin = f64::from(step) * 6.0;
            @let y = Y.at(margin);
            path class=(if step == 0 { "axis" } else { "grid" }) d={ "M" (at(LEFT)) " " (at(y)) "H" (at(RIGHT)) } {}
            (label(LEFT - 8.0, y + 5.0, "soft", Anchor::End, &html! {
                (if step == 0 { "0".to_owned() } else { format!("{margin:+.0}") })
            }))
        }
        @for ten in 0..=10 {
            @let metres = f64::from(ten) * 10.0;
            @let x = X.at(metres);
            path.grid d={ "M" (at(x)) " " (at(TOP)) "V" (at(FOOT)) } {}
            (label(x, FOOT + 20.0, "soft", Anchor::Middle, &html! { (metres) }))
        }
        (label(0.5 * (LEFT + RIGHT), FOOT + 42.0, "soft", Anchor::Middle, &html! { "length in metres" }))
        (label(LEFT + 8.0, FOOT - 8.0, "soft", Anchor::Start, &html! { "does not link" }))
    }
}

fn mark(report: &Report) -> Markup {
    let [low, high] = lengths(report);
    if low > SPAN {
        return html! {};
    }
    let high = high.min(SPAN);
    let x = X.at(0.5 * (low + high));
    html! {
        @if low < high {
            rect.doubt x=(at(X.at(low))) y=(at(TOP)) width=(at(X.at(high) - X.at(low))) height=(at(FOOT - TOP)) {}
        }
        path.tick d={ "M" (at(x)) " " (at(TOP)) "V" (at(FOOT)) } {}
        (label(x + 6.0, FOOT - 24.0, "strong", Anchor::Start, &html! { "this run" }))
    }
}

/// Names at the right ends of the lines, moved apart where they would touch.
fn labels(curves: &[Curve]) -> Markup {
    let mut ends: Vec<(f64, f64, usize)> = curves
        .iter()
        .enumerate()
        .filter_map(|(i, curve)| {
            let (metres, [_, middle, _]) = curve.points.last()?;
            Some((Y.at(*middle), X.at(*metres), i))
        })
        .collect();
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut floor = f64::NEG_INFINITY;
    for end in &mut ends {
        end.0 = end.0.max(floor + LABEL);
        floor = end.0;
    }
    // pushed out below: move up again
    let mut ceiling = FOOT + LABEL;
    for end in ends.iter_mut().rev() {
        end.0 = end.0.min(ceiling - LABEL);
        ceiling = end.0;
    }
    html! {
        @for (y, x, i) in ends {
            @if let Some(curve) = curves.get(i) {
                (label(x + 8.0, y + 5.0, &format!("strong f{i}"), Anchor::Start, &html! { (curve.label) }))
            }
        }
    }
}
