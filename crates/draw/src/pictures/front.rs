//! Layouts by space and rate: what nothing beats, and what is there now.

use super::bars::WIDTH;
use crate::picture::{Anchor, Picture, at, label};
use crate::scale::Scale;
use crate::text::{columns, cut};
use maud::{Markup, html};
use narrows_core::plan::{Answer, Row};
use narrows_core::quantity::in_megabytes_per_second;
use narrows_core::quantity::units::information::terabyte;
use std::fmt::Write;

const LEFT: f64 = 44.0;
const RIGHT: f64 = WIDTH - 12.0;
const TOP: f64 = 26.0;
const FOOT: f64 = 300.0;

/// Terabytes for files.
fn space(row: &Row) -> f64 {
    row.usable.information().get::<terabyte>()
}

fn rate(row: &Row) -> f64 {
    in_megabytes_per_second(row.rates.read.p50)
}

/// Draws the rows that nothing beats; `named` gets a letter at its point, in that order.
pub fn front(answer: &Answer, named: &[&Row], now: Option<&str>) -> Picture {
    let kept: Vec<&Row> = answer.kept().collect();
    let shown = || kept.iter().chain(named).copied();
    let most = |of: fn(&Row) -> f64| shown().map(of).fold(0.0, f64::max) * 1.08;
    let x = Scale::new(0.0, most(space).max(1.0), LEFT, RIGHT);
    let y = Scale::new(0.0, most(rate).max(1.0), FOOT, TOP);
    let best = |of: fn(&Row) -> f64| shown().max_by(|a, b| of(a).total_cmp(&of(b)));
    let mut words = "A point a layout that no other beats: to the right more space, above a faster reading stream. \
        A ring loses all with one drive, a triangle survives any one, a square any two, a diamond more."
        .to_owned();
    if let (Some(roomy), Some(fast)) = (best(space), best(rate)) {
        let _ = write!(
            words,
            " Most space: {}; fastest reading: {}.",
            roomy.layout, fast.layout
        );
    }
    let mut points: Vec<Markup> = kept.iter().map(|row| point(row, &x, &y)).collect();
    let mut taken: Vec<(f64, f64, f64)> = Vec::new();
    for (i, row) in named.iter().enumerate() {
        let (px, py) = (x.at(space(row)), y.at(rate(row)));
        let is_now = now.is_some_and(|now| now == row.layout.to_string());
        let text = if is_now {
            format!("{} now", letter(i))
        } else {
            letter(i)
        };
        let wide = 8.0 * columns(&text) as f64;
        // words step to the left at the right edge, and up where they would touch
        let mut spot = (
            if px + 8.0 + wide > RIGHT {
                px - 8.0 - wide
            } else {
                px + 8.0
            },
            py - 6.0,
        );
        let touches = |spot: (f64, f64), (x, y, w): (f64, f64, f64)| {
            spot.0 < x + w && x < spot.0 + wide && (spot.1 - y).abs() < 12.0
        };
        while taken.iter().any(|other| touches(spot, *other)) && spot.1 > 6.0 {
            spot.1 -= 12.0;
        }
        taken.push((spot.0, spot.1, wide));
        points.push(html! {
            @if row.beaten { (point(row, &x, &y)) }
            @if is_now { circle.mark cx=(at(px)) cy=(at(py)) r="11" {} }
            (label(spot.0, spot.1, "small strong", Anchor::Start, &html! { (text) }))
        });
    }
    let body = html! {
        (axes(&x, &y))
        @for point in &points { (point) }
        (legend())
    };
    Picture::new(
        "Space over rate: what no other layout beats",
        &words,
        (WIDTH, FOOT + 84.0),
        body,
    )
}

/// A letter for a row; numbers behind the alphabet.
pub(crate) fn letter(i: usize) -> String {
    match u8::try_from(i) {
        Ok(i) if i < 26 => char::from(b'a' + i).to_string(),
        _ => (i + 1).to_string(),
    }
}

fn axes(x: &Scale, y: &Scale) -> Markup {
    html! {
        g.scale {
        @for tick in y.ticks(5) {
            @let at_y = y.at(tick);
            path.grid d={ "M" (at(LEFT)) " " (at(at_y)) "H" (at(RIGHT)) } {}
            (label(LEFT - 6.0, at_y + 4.0, "small soft", Anchor::End, &html! { (tick) }))
        }
        @for tick in x.ticks(5) {
            @let at_x = x.at(tick);
            path.grid d={ "M" (at(at_x)) " " (at(TOP)) "V" (at(FOOT)) } {}
            (label(at_x, FOOT + 16.0, "small soft", Anchor::Middle, &html! { (tick) }))
        }
        }
        path.axis d={ "M" (at(LEFT)) " " (at(TOP)) "V" (at(FOOT)) "H" (at(RIGHT)) } {}
        (label(2.0, 14.0, "small soft", Anchor::Start, &html! { "one stream reads, MB/s" }))
        (label(RIGHT, FOOT + 32.0, "small soft", Anchor::End, &html! { "space for files, TB" }))
    }
}

fn point(row: &Row, x: &Scale, y: &Scale) -> Markup {
    mark(row.survives_any, x.at(space(row)), y.at(rate(row)))
}

/// A shape for how many drives may fail.
fn mark(survives: usize, x: f64, y: f64) -> Markup {
    match survives {
        0 => html! { circle.hollow cx=(at(x)) cy=(at(y)) r="4" {} },
        1 => html! { path.flow d={ "M" (at(x)) " " (at(y - 5.0)) "l5 9h-10z" } {} },
        2 => html! { rect.flow x=(at(x - 4.0)) y=(at(y - 4.0)) width="8" height="8" {} },
        _ => html! { path.flow d={ "M" (at(x)) " " (at(y - 6.0)) "l6 6l-6 6l-6 -6z" } {} },
    }
}

fn legend() -> Markup {
    let entries = [
        (0, "loses all with one drive"),
        (1, "any one may fail"),
        (2, "any two may fail"),
        (3, "three or more"),
    ];
    html! {
        @for (i, (survives, text)) in entries.iter().enumerate() {
            @let (x, y) = (12.0 + 178.0 * (i % 2) as f64, FOOT + 54.0 + 18.0 * (i / 2) as f64);
            (mark(*survives, x, y - 4.0))
            (label(x + 12.0, y, "small soft", Anchor::Start, &html! { (cut(text, 28)) }))
        }
    }
}
