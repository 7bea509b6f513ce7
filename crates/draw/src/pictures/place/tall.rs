use super::tree::{Node, Spot, Tree, cable, in_the_air};
use super::{desk_rates, drives, link, title, told, words};
use crate::number::Number;
use crate::picture::{Anchor, Picture, at, label, strait};
use crate::text::{cut, lines};
use maud::{Markup, html};
use narrows_core::site::Machine;

const WIDTH: f64 = 360.0;
const EDGE: f64 = 10.0;
const STEP: f64 = 22.0;
const LINE: f64 = 15.0;
/// Deeper ones stand below each other.
const DEEPEST: usize = 5;

struct Sheet<'t, 'a> {
    tree: &'t Tree<'a>,
    y: f64,
    lines: Vec<Markup>,
    boxes: Vec<Markup>,
}

pub(super) fn draw(tree: &Tree<'_>) -> Picture {
    let mut sheet = Sheet {
        tree,
        y: 14.0,
        lines: Vec::new(),
        boxes: Vec::new(),
    };
    for root in &tree.roots {
        sheet.root(root);
    }
    for desk in &tree.apart {
        sheet.entry(0, Machine::Desk, desk, None);
    }
    let foot = sheet.y + 8.0;
    let body = html! {
        @for line in &sheet.lines { (line) }
        @for one in &sheet.boxes { (one) }
        (strait(EDGE + 6.0, foot - 4.0, 12.0))
        (label(EDGE + 18.0, foot, "small soft", Anchor::Start, &html! { "the narrowest place, most often. Thicker line: faster" }))
        (label(EDGE + 18.0, foot + 14.0, "small soft", Anchor::Start, &html! { "link. Each desk alone, copying, in MB/s." }))
    };
    Picture::new(&title(tree), &words(tree), (WIDTH, foot + 22.0), body)
}

impl Sheet<'_, '_> {
    fn root(&mut self, root: &Node<'_>) {
        let arrays = self.tree.arrays(root.name);
        let top = self.y;
        for array in &arrays {
            let told = told(self.tree, &Spot::Array(array.name.clone()));
            let y = self.y;
            self.boxes.push(html! {
                @for i in 0..3 { rect.solid x=(at(EDGE - 6.0 + 5.0 * f64::from(i))) y=(at(y - 6.0)) width="3.5" height="12" {} }
            });
            self.text(
                0,
                &html! { (cut(&array.name, 30)) },
                &[html! { (cut(&drives(array), 48)) }],
                told.as_ref(),
            );
        }
        let end = self.y;
        if !arrays.is_empty() {
            self.lines.push(html! { path.wire stroke-width="8.5" d={ "M" (at(EDGE)) " " (at(top)) "V" (at(end)) } {} });
        }
        self.entry(0, Machine::Nas, root.name, None);
        self.children(root, 1);
    }

    fn children(&mut self, node: &Node<'_>, level: usize) {
        let rail = EDGE + STEP * (level.min(DEEPEST) - 1) as f64;
        let from = self.y;
        let mut last = self.y;
        for child in &node.children {
            last = self.y;
            if let Some(run) = child.run {
                let (_, thick) = link(self.tree, run);
                let narrow = told(self.tree, &Spot::Run(run.number)).is_some();
                let air = in_the_air(run);
                self.lines.push(html! {
                    path.wire.wire-narrow[narrow].air[air] stroke-width=(at(thick))
                        d={ "M" (at(rail)) " " (at(last)) "h" (at(STEP)) } {}
                });
            }
            self.entry(level, child.machine, child.name, child.run);
            self.children(child, level + 1);
        }
        if !node.children.is_empty() {
            let top = from - 2.0 * LINE;
            self.lines.insert(0, html! { path.wire stroke-width="2" d={ "M" (at(rail)) " " (at(top)) "V" (at(last)) } {} });
        }
    }

    fn entry(
        &mut self,
        level: usize,
        machine: Machine,
        name: &str,
        run: Option<&narrows_core::site::Run>,
    ) {
        let x = EDGE + STEP * level.min(DEEPEST) as f64;
        let y = self.y;
        let own = told(self.tree, &Spot::Machine(machine, name.to_owned()));
        let narrow = own.is_some();
        self.boxes.push(html! {
            @if machine == Machine::Desk {
                circle.box.box-narrow[narrow] cx=(at(x)) cy=(at(y)) r="6" {}
            } @else if machine == Machine::Nas {
                rect.box.box-narrow[narrow] x=(at(x - 7.0)) y=(at(y - 7.0)) width="14" height="14" rx="2" {}
            } @else {
                rect.box.box-narrow[narrow] x=(at(x - 8.0)) y=(at(y - 5.0)) width="16" height="10" rx="2" {}
            }
        });
        let mut detail = Vec::new();
        let mut narrowed = own;
        let mut head: Option<Number> = None;
        if let Some(run) = run {
            head = link(self.tree, run).0;
            detail.push(html! { (cut(&cable(run), 40)) });
            narrowed = match (told(self.tree, &Spot::Run(run.number)), narrowed) {
                (Some(a), Some(b)) => Some(format!("{a}; {b}")),
                (a, b) => a.or(b),
            };
        }
        if machine == Machine::Desk {
            let rates = desk_rates(self.tree, name);
            detail.push(html! {
                @if rates.is_empty() { "no path to the drives" }
                @for (i, (word, number)) in rates.iter().enumerate() {
                    @if i > 0 { ", " } (word) " " tspan.strong { (number.drawn()) }
                }
            });
        }
        let kind = match machine {
            Machine::Nas => ", NAS",
            Machine::Switch => ", switch",
            Machine::Desk => "",
        };
        let named = html! {
            (cut(name, 22)) tspan.soft { (kind) }
            @if let Some(rate) = &head { tspan.soft { " at " } (rate.drawn()) }
        };
        self.text(level, &named, &detail, narrowed.as_ref());
    }

    fn text(&mut self, level: usize, name: &Markup, detail: &[Markup], told: Option<&String>) {
        let x = EDGE + STEP * level.min(DEEPEST) as f64 + 16.0;
        let mut y = self.y + 5.0;
        self.boxes.push(label(x, y, "strong", Anchor::Start, name));
        for line in detail {
            y += LINE;
            self.boxes
                .push(label(x, y, "small soft", Anchor::Start, line));
        }
        if let Some(told) = told {
            // bold letters of the widest usual face
            let most = ((WIDTH - x - 18.0) / 7.0) as usize;
            for (i, line) in lines(told, most).iter().enumerate() {
                y += LINE;
                if i == 0 {
                    self.boxes.push(strait(x + 6.0, y - 4.0, 12.0));
                }
                self.boxes.push(label(
                    x + 16.0,
                    y,
                    "small told",
                    Anchor::Start,
                    &html! { (line) },
                ));
            }
        }
        self.y = y + 22.0;
    }
}
