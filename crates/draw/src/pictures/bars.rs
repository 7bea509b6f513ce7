use crate::number::Number;
use crate::picture::{Anchor, Fill, Picture, at, label, strait};
use crate::scale::Scale;
use crate::text::{columns, cut, lines};
use maud::{Markup, html};

/// Wide enough for a phone held upright, so that letters keep their size there.
pub(crate) const WIDTH: f64 = 360.0;
const EDGE: f64 = 2.0;
const THICK: f64 = 12.0;
/// Columns of the usual letters, and of the small ones, over the whole width.
const LETTERS: usize = 52;
const SMALL: usize = 58;

/// A row: something with a rate or a share, from low over the middle to high.
pub(crate) struct Bar {
    /// What it is.
    pub name: String,
    /// What stands at the right: numbers.
    pub shown: Markup,
    /// Columns that those take.
    pub shown_columns: usize,
    /// Low, middle and high.
    pub range: [f64; 3],
    /// Whether it is a narrow place.
    pub narrow: bool,
    /// What is said of a narrow place, in one line.
    pub told: Option<Markup>,
    /// Further lines.
    pub more: Vec<Line>,
    /// A number that it is held against, on the same scale.
    pub needs: Option<f64>,
}

/// A line below the name: words, and a number behind them.
pub(crate) struct Line {
    pub words: String,
    pub number: Option<Number>,
    pub unit: &'static str,
}

/// Rows over one scale that begins at nothing.
pub(crate) struct Bars {
    pub title: String,
    pub words: String,
    /// What the numbers along the foot are.
    pub unit: &'static str,
    /// The number at the right edge; longer bars are cut there, and show it.
    pub most: f64,
    pub rows: Vec<Bar>,
    /// A number that all rows are seen against, and its words.
    pub guide: Option<(f64, String)>,
}

/// "603 (138 to 1010)", each number with its place.
pub(crate) fn range_shown(middle: &Number, low: &Number, high: &Number) -> (Markup, usize) {
    let taken = columns(middle.text()) + columns(low.text()) + columns(high.text()) + 8;
    if low.text() == high.text() {
        return (
            html! { tspan.strong { (middle.drawn()) } },
            columns(middle.text()),
        );
    }
    let shown = html! {
        tspan.strong { (middle.drawn()) } tspan.soft { " (" (low.drawn()) " to " (high.drawn()) ")" }
    };
    (shown, taken)
}

/// Rows that fit on a sheet of paper.
pub(crate) const ON_A_SHEET: usize = 12;

impl Bars {
    /// In pictures that each fit on a sheet of paper, over one scale.
    pub(crate) fn parts(self) -> Vec<Picture> {
        if self.rows.len() <= ON_A_SHEET {
            return vec![self.picture()];
        }
        let count = self.rows.len().div_ceil(ON_A_SHEET);
        let mut rows = self.rows.into_iter();
        (1..=count)
            .map(|part| {
                let title = format!("{}, part {part} of {count}", self.title);
                Self {
                    title,
                    words: self.words.clone(),
                    unit: self.unit,
                    most: self.most,
                    rows: rows.by_ref().take(ON_A_SHEET).collect(),
                    guide: None,
                }
                .picture()
            })
            .collect()
    }

    pub(crate) fn picture(self) -> Picture {
        let scale = Scale::new(0.0, self.most, EDGE, WIDTH - EDGE);
        let mut y = 4.0;
        let mut rows = Vec::new();
        let guide_at = self.guide.as_ref().map(|(value, _)| scale.at(*value));
        for row in &self.rows {
            let (drawn, height) = one(row, &scale, y, guide_at);
            rows.push(drawn);
            y += height;
        }
        let foot = y + 2.0;
        let guide = self.guide.as_ref().map(|(value, words)| {
            let x = scale.at(*value);
            let anchor = if x > WIDTH / 2.0 { Anchor::End } else { Anchor::Start };
            let beside = if anchor == Anchor::End { -4.0 } else { 4.0 };
            html! {
                path.mark d={ "M" (at(x)) " " (at(foot)) "V" (at(foot + 36.0)) } {}
                (label(x + beside, foot + 34.0, "small strong", anchor, &html! { (cut(words, SMALL / 2)) }))
            }
        });
        let height = foot + if self.guide.is_some() { 40.0 } else { 22.0 };
        let body = html! {
            (axis(&scale, foot, self.unit))
            @for row in &rows { (row) }
            @if let Some(guide) = &guide { (guide) }
        };
        Picture::new(&self.title, &self.words, (WIDTH, height), body)
    }
}

fn axis(scale: &Scale, foot: f64, unit: &str) -> Markup {
    let ticks = scale.ticks(4);
    let last = ticks.len().saturating_sub(1);
    html! {
        path.axis d={ "M" (at(EDGE)) " " (at(foot)) "H" (at(WIDTH - EDGE)) } {}
        g.scale { @for (i, tick) in ticks.iter().enumerate() {
            @let x = scale.at(*tick);
            path.axis d={ "M" (at(x)) " " (at(foot)) "v4" } {}
            @let anchor = if i == 0 { Anchor::Start } else if x > WIDTH - 20.0 { Anchor::End } else { Anchor::Middle };
            @let text = if i == last { format!("{tick} {unit}") } else { tick.to_string() };
            @let anchor = if i == last && i > 0 { Anchor::End } else { anchor };
            @let x = if i == last && i > 0 { (x + 26.0).min(WIDTH - EDGE) } else { x };
            (label(x, foot + 16.0, "soft small", anchor, &html! { (text) }))
        } }
    }
}

fn one(row: &Bar, scale: &Scale, top: f64, guide: Option<f64>) -> (Markup, f64) {
    let mut y = top + 12.0;
    let lead = if row.narrow { 18.0 } else { EDGE };
    let room = LETTERS.saturating_sub(row.shown_columns + 8);
    let name = html! {
        @if row.narrow { (strait(EDGE + 6.0, y - 4.5, 12.0)) }
        (label(lead, y, "strong", Anchor::Start, &html! { (cut(&row.name, room)) }))
        (label(WIDTH - EDGE, y, "", Anchor::End, &row.shown))
    };
    let mut further = Vec::new();
    if let Some(told) = &row.told {
        y += 14.0;
        further.push(label(EDGE, y, "small told", Anchor::Start, told));
    }
    for line in &row.more {
        let mut parts = lines(&line.words, SMALL - 6);
        let last = parts.pop().unwrap_or_default();
        for part in parts {
            y += 14.0;
            further.push(label(
                EDGE,
                y,
                "small soft",
                Anchor::Start,
                &html! { (part) },
            ));
        }
        y += 14.0;
        let text = html! {
            (last) @if let Some(number) = &line.number { " " tspan.strong { (number.drawn()) } " " (line.unit) }
        };
        further.push(label(EDGE, y, "small soft", Anchor::Start, &text));
    }
    y += 6.0;
    let drawn = html! {
        (name)
        @for line in &further { (line) }
        (bar(row, scale, y))
        // between the rows the line would cross what is written
        @if let Some(x) = guide { path.guide d={ "M" (at(x)) " " (at(y - 3.0)) "v" (at(THICK + 6.0)) } {} path.mark d={ "M" (at(x)) " " (at(y - 3.0)) "v" (at(THICK + 6.0)) } {} }
    };
    (drawn, y + THICK + 11.0 - top)
}

fn bar(row: &Bar, scale: &Scale, y: f64) -> Markup {
    let [low, middle, high] = row.range;
    let (start, far) = (scale.at(0.0), scale.at(f64::MAX));
    let [a, m, b] = [low, middle, high].map(|value| scale.at(value));
    let (sure, maybe) = if row.narrow {
        (Fill::Narrow, Fill::NarrowMaybe)
    } else {
        (Fill::Maybe, Fill::Maybe)
    };
    let cut = scale.beyond(high);
    html! {
        rect.trough x=(at(start)) y=(at(y)) width=(at(far - start)) height=(at(THICK)) {}
        @if row.narrow {
            rect fill=(sure.url()) x=(at(start)) y=(at(y)) width=(at(a - start)) height=(at(THICK)) {}
        } @else {
            rect.flow x=(at(start)) y=(at(y)) width=(at(a - start)) height=(at(THICK)) {}
        }
        rect fill=(maybe.url()) x=(at(a)) y=(at(y)) width=(at(b - a)) height=(at(THICK)) {}
        @if !scale.beyond(middle) { path.tick d={ "M" (at(m)) " " (at(y - 2.0)) "v" (at(THICK + 4.0)) } {} }
        @if cut {
            path.gap d={ "M" (at(far - 12.0)) " " (at(y + THICK + 1.0)) "l5 -" (at(THICK + 2.0)) "m4 0l-5 " (at(THICK + 2.0)) } {}
        }
        @if let Some(needs) = row.needs {
            @let x = scale.at(needs);
            path.hollow d={ "M" (at(x)) " " (at(y - 4.0)) "l5 " (at(THICK / 2.0 + 4.0)) "l-5 " (at(THICK / 2.0 + 4.0)) "l-5 -" (at(THICK / 2.0 + 4.0)) "z" } {}
        }
    }
}
