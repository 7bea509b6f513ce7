use super::tree::{Node, Spot, Tree, cable, in_the_air};
use super::{desk_rates, drives, link, title, told, words};
use crate::picture::{Anchor, Picture, at, label, strait};
use crate::text::{cut, lines};
use maud::{Markup, html};
use narrows_core::site::{Machine, Run};

const EDGE: f64 = 8.0;
const ROW: f64 = 74.0;
const DESK: f64 = 168.0;
const SWITCH: f64 = 92.0;
const GAP: f64 = 186.0;
const NAS: f64 = 132.0;
const JOINT: f64 = 34.0;
const ARRAY: f64 = 186.0;
const LINE: f64 = 14.0;
/// Columns of small letters in a desk, a gap, a NAS and an array.
const DESK_TEXT: usize = 26;
const GAP_TEXT: usize = 28;
const NAS_TEXT: usize = 20;
const ARRAY_TEXT: usize = 25;

/// What is drawn so far; lines lie below boxes, so they are kept apart.
#[derive(Default)]
struct Drawn {
    lines: Vec<Markup>,
    boxes: Vec<Markup>,
}

struct Sheet<'t, 'a> {
    tree: &'t Tree<'a>,
    /// Levels of switches.
    levels: usize,
    drawn: Drawn,
}

pub(super) fn draw(tree: &Tree<'_>) -> Picture {
    let levels = tree.roots.iter().map(Node::depth).max().unwrap_or(0);
    let mut sheet = Sheet {
        tree,
        levels,
        drawn: Drawn::default(),
    };
    let mut top = EDGE;
    for root in &tree.roots {
        top += sheet.root(root, top);
    }
    for desk in &tree.apart {
        sheet.desk(desk, top + ROW / 2.0);
        top += ROW;
    }
    let width = sheet.nas_x() + NAS + JOINT + ARRAY + EDGE;
    sheet.second(top, width);
    let foot = top + 18.0;
    let body = html! {
        @for line in &sheet.drawn.lines { (line) }
        @for one in &sheet.drawn.boxes { (one) }
        (strait(EDGE + 7.0, foot - 4.0, 13.0))
        (label(EDGE + 20.0, foot, "small soft", Anchor::Start, &html! {
            "the narrowest place, most often. Thicker line: faster link. Each desk alone, copying, in MB/s."
        }))
    };
    Picture::new(&title(tree), &words(tree), (width, foot + 10.0), body)
}

/// Rows that a machine and all behind it take.
fn rows(node: &Node<'_>) -> usize {
    node.children.iter().map(rows).sum::<usize>().max(1)
}

impl Sheet<'_, '_> {
    fn nas_x(&self) -> f64 {
        let levels = self.levels as f64;
        EDGE + DESK + levels * (SWITCH + GAP) + GAP
    }

    /// Left edge of a switch so many runs away from the NAS.
    fn switch_x(&self, level: usize) -> f64 {
        self.nas_x() - level as f64 * (SWITCH + GAP)
    }

    fn root(&mut self, root: &Node<'_>, top: f64) -> f64 {
        let arrays = self.tree.arrays(root.name);
        let blocks: Vec<(Vec<String>, Option<String>, &str)> = arrays
            .iter()
            .map(|array| {
                let told = told(self.tree, &Spot::Array(array.name.clone()));
                (lines(&drives(array), ARRAY_TEXT), told, array.name.as_str())
            })
            .collect();
        let heights: Vec<f64> = blocks
            .iter()
            .map(|(detail, told, _)| {
                let told = told.as_ref().map_or(0, |t| lines(t, ARRAY_TEXT - 3).len());
                34.0 + LINE * (detail.len() + told) as f64
            })
            .collect();
        let stacked: f64 = heights.iter().map(|height| height + 10.0).sum();
        let own = told(
            self.tree,
            &Spot::Machine(Machine::Nas, root.name.to_owned()),
        );
        let own_lines = own
            .as_ref()
            .map_or(Vec::new(), |text| lines(text, NAS_TEXT));
        let least = 54.0 + LINE * own_lines.len() as f64;
        let taken = rows(root) as f64 * ROW;
        let height = taken.max(stacked).max(least + 10.0);
        let x = self.nas_x();
        let narrow = own.is_some();
        let middle = top + height / 2.0;
        self.drawn.boxes.push(html! {
            rect.box.box-narrow[narrow] x=(at(x)) y=(at(top + 5.0)) width=(at(NAS)) height=(at(height - 10.0)) rx="3" {}
            (label(x + NAS / 2.0, middle - 4.0, "head", Anchor::Middle, &html! { (cut(root.name, 15)) }))
            (label(x + NAS / 2.0, middle + LINE - 3.0, "small soft", Anchor::Middle, &html! { "NAS" }))
            @if narrow { (strait(x + NAS / 2.0, middle - 30.0, 16.0)) }
            @for (i, line) in own_lines.iter().enumerate() {
                (label(x + NAS / 2.0, middle + LINE * (i + 2) as f64, "small told", Anchor::Middle, &html! { (line) }))
            }
        });
        let mut y = top + (height - stacked) / 2.0 + 5.0;
        for ((detail, told, name), height) in blocks.iter().zip(&heights) {
            self.array(name, detail, told.as_ref(), (x + NAS + JOINT, y, *height));
            let middle = y + height / 2.0;
            self.drawn.lines.push(html! {
                path.wire stroke-width="8.5" d={ "M" (at(x + NAS)) " " (at(middle)) "h" (at(JOINT)) } {}
            });
            y += height + 10.0;
        }
        self.children(root, 0, top + (height - taken) / 2.0);
        height
    }

    fn array(
        &mut self,
        name: &str,
        detail: &[String],
        told: Option<&String>,
        (x, y, height): (f64, f64, f64),
    ) {
        let narrow = told.is_some();
        let told_lines = told.map_or(Vec::new(), |text| lines(text, ARRAY_TEXT - 3));
        let after = y + 24.0 + LINE * detail.len() as f64;
        self.drawn.boxes.push(html! {
            rect.box.box-narrow[narrow] x=(at(x)) y=(at(y)) width=(at(ARRAY)) height=(at(height)) rx="3" {}
            // drives, one beside the other
            @for i in 0..3 { rect.solid x=(at(x + ARRAY - 30.0 + 8.0 * f64::from(i))) y=(at(y + 9.0)) width="5" height="12" {} }
            (label(x + 10.0, y + 20.0, "head", Anchor::Start, &html! { (cut(name, 17)) }))
            @for (i, line) in detail.iter().enumerate() {
                (label(x + 10.0, y + 22.0 + LINE * (i + 1) as f64, "small soft", Anchor::Start, &html! { (line) }))
            }
            @if narrow { (strait(x + 16.0, after + LINE - 2.0, 13.0)) }
            @for (i, line) in told_lines.iter().enumerate() {
                (label(x + 28.0, after + LINE * (i + 1) as f64, "small told", Anchor::Start, &html! { (line) }))
            }
        });
    }

    /// Everything that hangs on a machine, from the top down; `level` counts the runs to the NAS.
    fn children(&mut self, node: &Node<'_>, level: usize, top: f64) {
        let right = if node.machine == Machine::Nas {
            self.nas_x()
        } else {
            self.switch_x(level)
        };
        let mut y = top;
        for child in &node.children {
            let height = rows(child) as f64 * ROW;
            let middle = y + height / 2.0;
            let left = if child.machine == Machine::Desk {
                self.desk(child.name, middle);
                EDGE + DESK
            } else {
                let x = self.switch_x(level + 1);
                self.switch(child, (x, y, height));
                self.children(child, level + 1, y);
                x + SWITCH
            };
            if let Some(run) = child.run {
                self.run(run, (left, right, middle));
            }
            y += height;
        }
    }

    fn desk(&mut self, name: &str, middle: f64) {
        let rates = desk_rates(self.tree, name);
        let told = told(self.tree, &Spot::Machine(Machine::Desk, name.to_owned()));
        let narrow = told.is_some();
        let told_lines = told.map_or(Vec::new(), |text| lines(&text, DESK_TEXT));
        let told_lines: Vec<&String> = told_lines.iter().take(2).collect();
        let height = 44.0 + 13.0 * told_lines.len() as f64;
        let y = middle - height / 2.0;
        self.drawn.boxes.push(html! {
            rect.box.box-narrow[narrow] x=(at(EDGE)) y=(at(y)) width=(at(DESK)) height=(at(height)) rx="9" {}
            (label(EDGE + 12.0, y + 18.0, "head", Anchor::Start, &html! { (cut(name, 17)) }))
            (label(EDGE + 12.0, y + 35.0, "small", Anchor::Start, &html! {
                @if rates.is_empty() { "no path to the drives" }
                @for (i, (word, number)) in rates.iter().enumerate() {
                    @if i > 0 { ", " } (word) " " tspan.strong { (number.drawn()) }
                }
            }))
            @for (i, line) in told_lines.iter().enumerate() {
                (label(EDGE + 12.0, y + 48.0 + 13.0 * i as f64, "small told", Anchor::Start, &html! { (line) }))
            }
        });
    }

    fn switch(&mut self, node: &Node<'_>, (x, y, height): (f64, f64, f64)) {
        let middle = y + height / 2.0;
        let name = lines(node.name, 11);
        self.drawn.boxes.push(html! {
            rect.box x=(at(x)) y=(at(y + 8.0)) width=(at(SWITCH)) height=(at(height - 16.0)) rx="3" {}
            @for (i, line) in name.iter().take(3).enumerate() {
                (label(x + SWITCH / 2.0, middle + LINE * i as f64 - 2.0, "head", Anchor::Middle, &html! { (line) }))
            }
            (label(x + SWITCH / 2.0, middle + LINE * name.len().min(3) as f64 - 2.0, "small soft", Anchor::Middle, &html! { "switch" }))
        });
    }

    fn run(&mut self, run: &Run, (left, right, y): (f64, f64, f64)) {
        let (rate, thick) = link(self.tree, run);
        let told = told(self.tree, &Spot::Run(run.number));
        let narrow = told.is_some();
        let told_lines = told.map_or(Vec::new(), |text| lines(&text, GAP_TEXT - 4));
        let air = in_the_air(run);
        let pinch = left + GAP - 24.0;
        self.drawn.lines.push(html! {
            path.wire.wire-narrow[narrow].air[air] stroke-width=(at(thick)) d={ "M" (at(left)) " " (at(y)) "H" (at(right)) } {}
            (label(left + 10.0, y - 9.0, "strong", Anchor::Start, &html! {
                @if let Some(rate) = &rate { (rate.drawn()) }
            }))
            (label(left + 10.0, y + 19.0, "small soft", Anchor::Start, &html! { (cut(&cable(run), GAP_TEXT)) }))
            @if narrow {
                circle.paper cx=(at(pinch)) cy=(at(y)) r="12" {}
                (strait(pinch, y, 17.0))
            }
            @for (i, line) in told_lines.iter().take(2).enumerate() {
                (label(left + 10.0, y + 32.0 + 12.5 * i as f64, "small told", Anchor::Start, &html! { (line) }))
            }
        });
    }

    /// Second ways are named, not drawn across everything.
    fn second(&mut self, top: f64, width: f64) {
        let names: Vec<String> = self
            .tree
            .second
            .iter()
            .map(|run| format!("{} to {}", run.from.name, run.to.name))
            .collect();
        if names.is_empty() {
            return;
        }
        let text = cut(&format!("Also connected: {}", names.join("; ")), 60);
        self.drawn.boxes.push(label(
            width - EDGE,
            top + 18.0,
            "small soft",
            Anchor::End,
            &html! { (text) },
        ));
    }
}
