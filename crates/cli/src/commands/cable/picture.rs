//! Margin over length as a picture.

use crate::commands::cable::chart::{Curve, SPAN};
use narrows_core::cable::Report;
use narrows_core::quantity::units;
use std::fmt::Write;

const WIDTH: f64 = 860.0;
const HEIGHT: f64 = 520.0;
const LEFT: f64 = 70.0;
const RIGHT: f64 = 110.0;
const TOP: f64 = 64.0;
const BOTTOM: f64 = 60.0;
/// Margins shown in dB; lines are cut there.
const LEAST: f64 = -12.0;
const MOST: f64 = 30.0;
/// Letters of the title that fit.
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

const STYLE: &str = "
    .paper { fill: #ffffff } .ink { fill: #1a1a1a } .soft { fill: #555555 }
    .grid { stroke: #dddddd; stroke-width: 1 } .need { stroke: #1a1a1a; stroke-width: 1.5 }
    .below { fill: #000000; opacity: 0.05 } .run { stroke: #1a1a1a; stroke-width: 2 }
    .doubt { fill: #1a1a1a; opacity: 0.10 }
    .line { fill: none; stroke-width: 2.5; stroke-linejoin: round } .band { opacity: 0.13; stroke: none }
    .name { font-weight: 600 } text { font: 14px system-ui, sans-serif }
    .title { font-size: 17px; font-weight: 600 }
    .l0 { stroke: #b3450b } .f0 { fill: #b3450b } .l1 { stroke: #0b62a4 } .f1 { fill: #0b62a4 }
    .l2 { stroke: #0a7a55 } .f2 { fill: #0a7a55 } .l3 { stroke: #8a3d84 } .f3 { fill: #8a3d84 }
    .l4 { stroke: #6b5a00 } .f4 { fill: #6b5a00 } .l5 { stroke: #444b9e } .f5 { fill: #444b9e }
    .l6 { stroke: #9c2333 } .f6 { fill: #9c2333 }
    @media (prefers-color-scheme: dark) {
      .paper { fill: #16181c } .ink { fill: #eeeeee } .soft { fill: #b5b5b5 } .grid { stroke: #34383f }
      .need, .run { stroke: #eeeeee } .below { fill: #ffffff; opacity: 0.06 } .doubt { fill: #ffffff; opacity: 0.14 }
      .band { opacity: 0.2 }
      .l0 { stroke: #ff9d5c } .f0 { fill: #ff9d5c } .l1 { stroke: #6cb8f0 } .f1 { fill: #6cb8f0 }
      .l2 { stroke: #5fd3a8 } .f2 { fill: #5fd3a8 } .l3 { stroke: #dd9ad7 } .f3 { fill: #dd9ad7 }
      .l4 { stroke: #e0cd5a } .f4 { fill: #e0cd5a } .l5 { stroke: #a9b0ff } .f5 { fill: #a9b0ff }
      .l6 { stroke: #ff8c9a } .f6 { fill: #ff8c9a }
    }
";

fn x(metres: f64) -> f64 {
    LEFT + metres / SPAN * (WIDTH - LEFT - RIGHT)
}

fn y(margin: f64) -> f64 {
    let share = (margin.clamp(LEAST, MOST) - LEAST) / (MOST - LEAST);
    HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM)
}

/// A text without what the format would obey.
fn safe(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if c.is_control() => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}

/// A name that fits over the picture.
fn cut(label: &str) -> String {
    if label.chars().count() <= LETTERS {
        return label.to_owned();
    }
    let mut kept: String = label.chars().take(LETTERS).collect();
    kept.push_str(" ...");
    kept
}

fn path(points: impl Iterator<Item = (f64, f64)>) -> String {
    let mut out = String::new();
    for (i, (x, y)) in points.enumerate() {
        let letter = if i == 0 { 'M' } else { 'L' };
        let _ = write!(out, "{letter}{x:.1} {y:.1}");
    }
    out
}

/// The picture: a line a rate, labelled at its end, its 5th to 95th percentile shaded, the run
/// marked.
pub(crate) fn draw(report: &Report, curves: &[Curve]) -> String {
    let mut out = String::new();
    let label = safe(&cut(&report.run.label));
    let names: Vec<&str> = curves.iter().map(|c| c.label.as_str()).collect();
    let _ = write!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" \
         aria-labelledby=\"title desc\">\n<title id=\"title\">Margin over length: {label}</title>\n\
         <desc id=\"desc\">{}</desc>\n<style>{STYLE}</style>\n\
         <rect class=\"paper\" width=\"{WIDTH}\" height=\"{HEIGHT}\"/>\n",
        safe(&described(report, curves, &names))
    );
    let _ = writeln!(
        out,
        "<text class=\"ink title\" x=\"{LEFT}\" y=\"28\">{label}</text>\n\
         <text class=\"soft\" x=\"{LEFT}\" y=\"48\">Margin in dB; shaded: 5 to 95 in 100 such runs. \
         An estimate: only certification or error counters prove it.</text>"
    );
    grid(&mut out);
    mark(report, &mut out);
    for (i, curve) in curves.iter().enumerate().rev() {
        let there = curve
            .points
            .iter()
            .map(|(m, [_, _, high])| (x(*m), y(*high)));
        let back = curve
            .points
            .iter()
            .rev()
            .map(|(m, [low, _, _])| (x(*m), y(*low)));
        let band = path(there.chain(back));
        let _ = writeln!(out, "<path class=\"band f{i}\" d=\"{band}Z\"/>");
    }
    for (i, curve) in curves.iter().enumerate().rev() {
        let line = path(
            curve
                .points
                .iter()
                .map(|(m, [_, middle, _])| (x(*m), y(*middle))),
        );
        let dash = DASHES.get(i).copied().unwrap_or("none");
        let _ = writeln!(
            out,
            "<path class=\"line l{i}\" stroke-dasharray=\"{dash}\" d=\"{line}\"/>"
        );
    }
    labels(curves, &mut out);
    out.push_str("</svg>\n");
    out
}

fn described(report: &Report, curves: &[Curve], names: &[&str]) -> String {
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
    if low < high {
        let _ = write!(text, " This run is {low:.0} to {high:.0} m long.");
    } else {
        let _ = write!(text, " This run is {low:.0} m long.");
    }
    text
}

fn lengths(report: &Report) -> [f64; 2] {
    report.run.lengths.map(|l| l.get::<units::length::meter>())
}

fn grid(out: &mut String) {
    let (left, right) = (x(0.0), x(SPAN));
    let _ = writeln!(
        out,
        "<rect class=\"below\" x=\"{left:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{:.1}\"/>",
        y(0.0),
        right - left,
        y(LEAST) - y(0.0)
    );
    for step in -2..=5 {
        let margin = f64::from(step) * 6.0;
        let class = if step == 0 { "need" } else { "grid" };
        let at = y(margin);
        let _ = writeln!(
            out,
            "<line class=\"{class}\" x1=\"{left:.1}\" x2=\"{right:.1}\" y1=\"{at:.1}\" y2=\"{at:.1}\"/>\n\
             <text class=\"soft\" x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
            left - 8.0,
            at + 5.0,
            if step == 0 {
                "0".to_owned()
            } else {
                format!("{margin:+.0}")
            }
        );
    }
    for ten in 0..=10 {
        let metres = f64::from(ten) * 10.0;
        let at = x(metres);
        let _ = writeln!(
            out,
            "<line class=\"grid\" x1=\"{at:.1}\" x2=\"{at:.1}\" y1=\"{:.1}\" y2=\"{:.1}\"/>\n\
             <text class=\"soft\" x=\"{at:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{metres:.0}</text>",
            y(MOST),
            y(LEAST),
            y(LEAST) + 20.0
        );
    }
    let _ = writeln!(
        out,
        "<text class=\"soft\" x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">length in metres</text>\n\
         <text class=\"soft\" x=\"{:.1}\" y=\"{:.1}\">does not link</text>",
        0.5 * (left + right),
        y(LEAST) + 42.0,
        left + 8.0,
        y(LEAST) - 8.0
    );
}

fn mark(report: &Report, out: &mut String) {
    let [low, high] = lengths(report);
    if low > SPAN {
        return;
    }
    let high = high.min(SPAN);
    if low < high {
        let _ = writeln!(
            out,
            "<rect class=\"doubt\" x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{:.1}\"/>",
            x(low),
            y(MOST),
            x(high) - x(low),
            y(LEAST) - y(MOST)
        );
    }
    let middle = 0.5 * (low + high);
    let at = x(middle);
    let _ = writeln!(
        out,
        "<line class=\"run\" x1=\"{at:.1}\" x2=\"{at:.1}\" y1=\"{:.1}\" y2=\"{:.1}\"/>\n\
         <text class=\"ink name\" x=\"{:.1}\" y=\"{:.1}\">this run</text>",
        y(MOST),
        y(LEAST),
        at + 6.0,
        y(LEAST) - 24.0
    );
}

/// Names at the right ends of the lines, moved apart where they would touch.
fn labels(curves: &[Curve], out: &mut String) {
    let mut ends: Vec<(f64, f64, usize)> = curves
        .iter()
        .enumerate()
        .filter_map(|(i, curve)| {
            let (metres, [_, middle, _]) = curve.points.last()?;
            Some((y(*middle), x(*metres), i))
        })
        .collect();
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    let most = y(LEAST);
    let mut floor = f64::NEG_INFINITY;
    for end in &mut ends {
        end.0 = end.0.max(floor + LABEL);
        floor = end.0;
    }
    // pushed out below: move up again
    let mut ceiling = most + LABEL;
    for end in ends.iter_mut().rev() {
        end.0 = end.0.min(ceiling - LABEL);
        ceiling = end.0;
    }
    for (at, from, i) in ends {
        if let Some(curve) = curves.get(i) {
            let _ = writeln!(
                out,
                "<text class=\"name f{i}\" x=\"{:.1}\" y=\"{:.1}\">{}</text>",
                from + 8.0,
                at + 5.0,
                safe(&curve.label)
            );
        }
    }
}
