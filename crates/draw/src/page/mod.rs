//! One page for the team: what the commands answer, in the order in which people ask.

mod afterwards;
mod air;
mod commands;
mod copies;
mod day;
mod desks;
mod growth;
mod known;
mod labels;
mod outage;
mod patching;
mod purchases;
mod reading;
mod runs;
mod space;
mod table;
mod together;
mod tracing;

pub use desks::is_shown;

use crate::pictures::{place, tall_place};
use crate::style::{PAGE, PICTURE};
use crate::text::{columns, named, plain};
use commands::Command;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use narrows_core::budget::Answer;
use narrows_core::cable::Report as RunReport;
use narrows_core::day::Day;
use narrows_core::explain::Explanation;
use narrows_core::plan::air::Answer as Air;
use narrows_core::plan::ports::{Answer as Ports, Jack};
use narrows_core::plan::purchases::{Answer as Purchases, Offer};
use narrows_core::plan::{Answer as Layouts, Row};
use narrows_core::site::{Counted, Site};
use narrows_core::together::Together;
use narrows_keeping::backup::Backup;
use narrows_keeping::growth::GrowthAnswer;
use narrows_keeping::outage::Outage;

/// An answer with the lines that its command says first.
#[derive(Clone, Debug)]
pub struct Said<T> {
    /// What the command says before its tables, a line each.
    pub lines: Vec<String>,
    /// The answer.
    pub answer: T,
}

/// What is to be shown. What was not asked is `None`, and left out.
#[derive(Debug)]
pub struct Report<'a> {
    /// Version of the program.
    pub version: &'a str,
    /// The place.
    pub site: &'a Site,
    /// Files, as a command line names them.
    pub files: Files<'a>,
    /// Each desk alone, copying.
    pub budget: Said<Answer>,
    /// Everybody at once.
    pub together: Said<Together>,
    /// The cables, where there are any, each with what helps it in words.
    pub runs: Option<Said<Vec<(RunReport, String)>>>,
    /// The space of each array.
    pub space: Option<Said<Vec<Counted>>>,
    /// The layouts that the bays of each array could hold, with its name.
    pub layouts: Vec<(String, Said<Layouts>)>,
    /// What numbers that were read mean.
    pub reading: Option<Said<Explanation>>,
    /// What to buy.
    pub purchases: Option<Said<(Purchases, Vec<Offer>)>>,
    /// Who gets which port, with the list of jacks, which may be empty.
    pub ports: Option<Said<(Ports, Vec<Jack>)>>,
    /// Jobs with hours.
    pub day: Option<Said<Day>>,
    /// What goes through the air, where anything does.
    pub air: Option<Said<Air>>,
    /// When the array is full, where the site says what comes in.
    pub growth: Option<Said<GrowthAnswer>>,
    /// Copies elsewhere, where the site has some.
    pub copies: Option<Said<Backup>>,
    /// Gaps of the mains, where the site has backup supplies.
    pub outage: Option<Said<Outage>>,
    /// What belongs under every answer, without what is already said elsewhere.
    pub cautions: Vec<String>,
}

/// Files as a command line names them.
#[derive(Clone, Copy, Debug, Default)]
pub struct Files<'a> {
    /// The description of the place.
    pub site: &'a str,
    /// The list of jacks.
    pub jacks: Option<&'a str>,
    /// What the desks do.
    pub tasks: Option<&'a str>,
    /// Jobs with hours.
    pub day: Option<&'a str>,
    /// What could be bought.
    pub offers: Option<&'a str>,
    /// What was read.
    pub readings: Option<&'a str>,
}

/// A part of the page.
pub(crate) struct Section {
    /// For links to it.
    id: &'static str,
    title: &'static str,
    body: Markup,
    /// The commands that print it.
    by: Vec<Command>,
}

impl Section {
    pub(crate) fn new(
        id: &'static str,
        title: &'static str,
        by: Vec<Command>,
        body: Markup,
    ) -> Self {
        Self {
            id,
            title,
            body,
            by,
        }
    }
}

/// Nothing from elsewhere, no script at all; only the style that the page brings itself.
const POLICY: &str =
    "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'";

/// Makes the page.
pub fn page(report: &Report<'_>) -> String {
    let sections: Vec<Section> = [
        Some(drawing(report)),
        Some(desks::section(report)),
        Some(together::section(report)),
        runs::section(report),
        air::section(report),
        space::section(report),
        reading::section(report),
        purchases::section(report),
        patching::section(report),
        labels::section(report),
        tracing::section(report),
        Some(afterwards::section(report)),
        day::section(report),
        growth::section(report),
        copies::section(report),
        outage::section(report),
        known::assumed(report),
        Some(known::cautions(report)),
    ]
    .into_iter()
    .flatten()
    .collect();
    let name = plain(&report.site.name);
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                meta name="viewport" content="width=device-width,initial-scale=1";
                meta name="referrer" content="no-referrer";
                meta name="generator" content="narrows report";
                title { (name) ": the data path" }
                style { (PreEscaped(PICTURE)) (PreEscaped(PAGE)) }
            }
            body {
                header {
                    p.over { "The data path of" }
                    h1 { bdi { (name) } }
                    div.answer { @for line in &report.budget.lines { p { (whole_names(line)) } } }
                    nav aria-label="On this page" {
                        ul { @for section in &sections { li { a href={ "#" (section.id) } { (section.title) } } } }
                    }
                }
                main {
                    @for section in &sections { (shown(section)) }
                    (commands::section(&sections, report))
                }
                footer {
                    p { "Made by narrows " (report.version) " from " (named(report.files.site))
                        ". Rates are files in MB/s, decimal; links are in bits. from, to: 1 in 20 is slower, 1 in 20 faster." }
                }
            }
        }
    };
    page.into_string()
}

fn shown(section: &Section) -> Markup {
    let id = format!("{}-head", section.id);
    html! {
        section id=(section.id) aria-labelledby=(id) {
            h2 id=(id) { (section.title) }
            (section.body)
            @if !section.by.is_empty() {
                p.by {
                    @for (i, command) in section.by.iter().enumerate() {
                        @if i > 0 { " \u{b7} " }
                        a href={ "#by-" (command.word()) } { code { (command.line()) } }
                    }
                }
            }
        }
    }
}

fn drawing(report: &Report<'_>) -> Section {
    let answer = &report.budget.answer;
    let body = html! {
        figure.wide { (place(report.site, answer).inside("place")) }
        figure.tall { (tall_place(report.site, answer).inside("place-tall")) }
        @if !answer.warnings.is_empty() {
            h3 { "Look at this" }
            ul {
                @for warning in &answer.warnings {
                    li { (named(&warning.place)) ": " (plain(&warning.message)) ". Next: " (plain(&warning.next)) "." }
                }
            }
        }
    };
    Section::new("place", "The place", vec![Command::budget(report)], body)
}

/// The lines that a command says first.
fn said(lines: &[String]) -> Markup {
    html! { @for line in lines { p.said { (whole_names(line)) } } }
}

/// Longer words may be broken anywhere.
const WHOLE: usize = 24;

/// A sentence in which no name is broken at its hyphen.
fn whole_names(line: &str) -> Markup {
    let line = plain(line);
    html! {
        @for (i, word) in line.split(' ').enumerate() {
            @if i > 0 { " " }
            @if word.contains('-') && columns(word) <= WHOLE { span.whole { (word) } } @else { (word) }
        }
    }
}

/// Whether a layout uses all that there is room for.
fn fills(row: &Row, bays: usize) -> bool {
    row.layout.all_drives() == bays
}
