//! How an array fills over the months: the band, the middle of it, and both limits.

use super::bars::WIDTH;
use crate::number::Number;
use crate::picture::{Anchor, Fill, Picture, at, label};
use crate::scale::Scale;
use maud::{Markup, html};
use narrows_core::quantity::{Information, three_digits, units};
use narrows_keeping::growth::{GrowthAnswer, Point};
use std::fmt::Write;

const LEFT: f64 = 34.0;
const RIGHT: f64 = WIDTH - 6.0;
const TOP: f64 = 24.0;
const FOOT: f64 = 214.0;

/// Room above the end, so that its line does not lie at the edge.
const ABOVE: f64 = 1.15;

/// Months further than these are told as such.
const FAR: f64 = 120.0;

pub(crate) fn terabytes(size: Information) -> f64 {
    size.get::<units::information::terabyte>()
}

/// Months from now, as they are read.
pub(crate) fn months(count: f64) -> String {
    if count > FAR {
        "over 120".to_owned()
    } else {
        three_digits(count)
    }
}

/// Draws the fill of the array that was asked about.
pub fn growth(answer: &GrowthAnswer) -> Picture {
    let full = &answer.full;
    let most = terabytes(full.usable_bytes) * ABOVE;
    let last = answer.course.last().map_or(1, |point| point.month).max(1);
    let across = Scale::new(0.0, f64::from(last), LEFT, RIGHT);
    let up = Scale::new(0.0, most, FOOT, TOP);
    let place = |point: &Point, size: Information| {
        (across.at(f64::from(point.month)), up.at(terabytes(size)))
    };
    // what no drive holds is not drawn as if it stayed
    let middle: Vec<(f64, f64)> = answer
        .course
        .iter()
        .take_while(|p| terabytes(p.held_bytes.p50) <= most)
        .map(|p| place(p, p.held_bytes.p50))
        .collect();
    let mut band: Vec<(f64, f64)> = answer
        .course
        .iter()
        .map(|p| place(p, p.held_bytes.p95))
        .collect();
    band.extend(
        answer
            .course
            .iter()
            .rev()
            .map(|p| place(p, p.held_bytes.p05)),
    );
    let limit = |size: Information, (name, key): (&str, &str), class: &str, below: f64| -> Markup {
        let y = up.at(terabytes(size));
        let number = Number::new(three_digits(terabytes(size)), format!("growth/full/{key}"));
        html! {
            path class=(class) d={ "M" (at(LEFT)) " " (at(y)) "H" (at(RIGHT)) } {}
            path class=(class) d={ "M" (at(LEFT)) " " (at(below - 4.0)) "h26" } {}
            (label(LEFT + 32.0, below, "small", Anchor::Start, &html! { (name) " " tspan.strong { (number.drawn()) } " TB" }))
        }
    };
    let told = format!(
        "What {} holds over the coming {last} months. It is at its comfortable fill in about {} months, {} to {}, and full in \
         about {}, {} to {}. Striped: held in 90 of 100 cases; the line in it: the middle.",
        answer.array,
        months(full.comfortable_months.p50),
        months(full.comfortable_months.p05),
        months(full.comfortable_months.p95),
        months(full.full_months.p50),
        months(full.full_months.p05),
        months(full.full_months.p95),
    );
    let body = html! {
        g.scale {
            @for tick in up.ticks(5) {
                @let y = up.at(tick);
                path.grid d={ "M" (at(LEFT)) " " (at(y)) "H" (at(RIGHT)) } {}
                (label(LEFT - 5.0, y + 4.0, "small soft", Anchor::End, &html! { (round(tick)) }))
            }
            @for tick in across.ticks(6) {
                @let x = across.at(tick);
                @let anchor = if x > RIGHT - 12.0 { Anchor::End } else { Anchor::Middle };
                (label(x, FOOT + 16.0, "small soft", anchor, &html! { (round(tick)) }))
            }
        }
        (label(0.0, 12.0, "small soft", Anchor::Start, &html! { "TB held" }))
        (label(RIGHT, FOOT + 36.0, "small soft", Anchor::End, &html! { "months from now" }))
        path fill=(Fill::Maybe.url()) d={ (line(&band)) "Z" } {}
        path.tick d=(line(&middle)) {}
        (limit(full.usable_bytes, ("full", "usable_bytes"), "axis", FOOT + 36.0))
        (limit(full.comfortable_bytes, ("comfortable", "comfortable_bytes"), "mark", FOOT + 52.0))
        path.axis d={ "M" (at(LEFT)) " " (at(FOOT)) "H" (at(RIGHT)) } {}
    };
    let title = format!("How {} fills", answer.array);
    Picture::new(&title, &told, (WIDTH, FOOT + 58.0), body)
}

/// A round number along an edge.
fn round(value: f64) -> String {
    format!("{value}")
}

fn line(points: &[(f64, f64)]) -> String {
    let mut out = String::new();
    for (i, (x, y)) in points.iter().enumerate() {
        let _ = write!(
            out,
            "{}{} {}",
            if i == 0 { 'M' } else { 'L' },
            at(*x),
            at(*y)
        );
    }
    out
}
