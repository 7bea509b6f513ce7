use crate::render::prose::paragraph;
use narrows_draw::{Curve, SPAN};
use std::fmt::Write;

/// Decibels of a row.
const ROW: f64 = 3.0;
/// Rows above and below zero at most.
const ABOVE: i32 = 9;
const BELOW: i32 = 4;
/// One letter a line; there are seven rates of twisted pair.
const LETTERS: [char; 7] = ['a', 'b', 'c', 'd', 'e', 'f', 'g'];
/// Columns left of the chart, and right of it for labels.
const LEFT: usize = 6;
const RIGHT: usize = 12;

/// The middle of a margin at a length, between the points; none outside of them.
fn margin_at(curve: &Curve, metres: f64) -> Option<f64> {
    let after = curve.points.iter().position(|(at, _)| *at >= metres)?;
    let (to, [_, high, _]) = curve.points.get(after)?;
    let Some((from, [_, low, _])) = after.checked_sub(1).and_then(|i| curve.points.get(i)) else {
        return (*to <= metres).then_some(*high);
    };
    Some(low + (high - low) * (metres - from) / (to - from))
}

/// Margin over length in characters: one letter a rate, labelled at its right end; colons
/// mark the ends of the run's length.
pub(crate) fn draw(curves: &[Curve], run: [f64; 2], width: usize) -> String {
    let columns = width.saturating_sub(LEFT + RIGHT).clamp(20, 60);
    let highest = curves
        .iter()
        .flat_map(|curve| &curve.points)
        .fold(0.0, |most: f64, (_, [_, middle, _])| most.max(*middle));
    let above = ((highest / ROW).ceil() as i32 + 1).clamp(2, ABOVE);
    let row_of = |margin: f64| ((margin / ROW).round() as i32).clamp(-BELOW, above);
    let metres_of = |column: usize| SPAN * (column as f64 + 0.5) / columns as f64;
    let column_of = |metres: f64| {
        let place = (metres / SPAN * columns as f64) as usize;
        place.min(columns.saturating_sub(1))
    };
    let rows = (above + BELOW + 1) as usize;
    let line_of = |row: i32| (above - row) as usize;
    let mut grid = vec![vec![' '; columns]; rows];
    let mut set = |line: usize, column: usize, c: char| {
        if let Some(cell) = grid.get_mut(line).and_then(|l| l.get_mut(column)) {
            *cell = c;
        }
    };
    for column in 0..columns {
        set(line_of(0), column, '-');
    }
    for column in run.map(column_of) {
        for line in 0..rows {
            set(line, column, ':');
        }
    }
    let mut labels: Vec<(usize, String)> = Vec::new();
    // slow rates first, so that the fast ones lie on top
    for (curve, letter) in curves.iter().zip(LETTERS).rev() {
        let mut last = None;
        for column in 0..columns {
            if let Some(margin) = margin_at(curve, metres_of(column)) {
                set(line_of(row_of(margin)), column, letter);
                last = Some(margin);
            }
        }
        if let Some(margin) = last {
            labels.push((line_of(row_of(margin)), format!("{letter} {}", curve.label)));
        }
    }
    labels.sort_by_key(|(line, _)| *line);
    let mut free = 0;
    for (line, _) in &mut labels {
        *line = (*line).max(free);
        free = *line + 1;
    }
    let mut out = String::from("Margin in dB over the length of the run:\n");
    for (row, (line, cells)) in (-BELOW..=above).rev().zip(grid.iter().enumerate()) {
        let margin = f64::from(row) * ROW;
        let scale = match row {
            0 => "0".to_owned(),
            row if row % 2 == 0 => format!("{margin:+.0}"),
            _ => String::new(),
        };
        let text: String = cells.iter().collect();
        let label: Vec<&str> = labels
            .iter()
            .filter(|(at, _)| *at == line)
            .map(|(_, label)| label.as_str())
            .collect();
        let drawn = format!("{scale:>4} |{text} {}", label.join(", "));
        let _ = writeln!(out, "{}", drawn.trim_end());
    }
    let mut scale = String::new();
    for ten in 0..=5 {
        let metres = f64::from(ten) * SPAN / 5.0;
        let place = LEFT + (metres / SPAN * columns as f64) as usize;
        while scale.len() + 1 < place {
            scale.push(' ');
        }
        let _ = write!(scale, "{metres:.0}");
    }
    let _ = writeln!(out, "{scale} m");
    let legend =
        "The middle of installed cables, cut at the edges; colons mark the length of this one.";
    let _ = writeln!(out, "{}", paragraph(legend, width, 0));
    out
}
