//! Without offers: the next better part of each place that holds a desk back, unpriced.

use crate::arguments::Buy;
use crate::commands::buy::text::CABLE_WORK;
use crate::input::{self, Stop};
use crate::render::document::{Document, megabytes, printed};
use crate::render::lead::{Lead, listed, the};
use crate::render::parts;
use crate::render::places::Places;
use crate::render::prose::{item, paragraph, rate};
use crate::render::table::{Side, Table};
use crate::{Outcome, Screen};
use narrows_core::budget::{
    Answer, BetterPart, Flow, Part, Question, answer, parts as better_parts,
};
use narrows_core::catalogue::Catalogue;
use narrows_core::change::Edit;
use narrows_core::plan::purchases::Base;
use narrows_core::quantity::units::ratio::one;
use narrows_core::site::Site;
use narrows_core::spread::{Draws, USUAL_DRAWS};
use narrows_core::work::{Activity, Direction, Work};
use serde::Serialize;
use std::fmt::Write;

/// Places that decide in a smaller share of the cases are not looked at.
const WORTH_TRYING: f64 = 0.1;

/// A part that makes a desk this many times as fast helps it.
const HELPS: f64 = 1.05;

/// A better part with what each desk reads before and then; desks that gain nothing are left out.
struct Next {
    better: BetterPart,
    place: String,
    gains: Vec<(String, Flow, Flow)>,
}

#[derive(Serialize)]
struct Body {
    parts: Vec<OnePart>,
}

#[derive(Serialize)]
struct OnePart {
    set: Vec<String>,
    place: String,
    gains: Vec<Gain>,
}

#[derive(Serialize)]
struct Gain {
    desk: String,
    read_before_megabytes_per_s: f64,
    read_megabytes_per_s: f64,
}

pub(crate) fn run(
    arguments: &Buy,
    base: &Base<'_>,
    catalogue: &Catalogue,
    activity: Activity,
    screen: &mut Screen<'_>,
) -> Result<Outcome, Stop> {
    let site = base.with(&[], catalogue).map_err(|faults| {
        input::refuse(
            screen,
            &faults.to_string(),
            "look at the site with narrows check",
        )
    })?;
    let question = Question {
        work: Work::plain(activity),
        desk: None,
        working: false,
        need: None,
    };
    let mut draws = Draws::new(USUAL_DRAWS);
    let today = answer(&site, &question, catalogue, &mut draws).map_err(|fault| {
        input::refuse(
            screen,
            &fault.to_string(),
            "look at the site with narrows check",
        )
    })?;
    let mut found: Vec<Next> = Vec::new();
    for (parts, place) in ideas(&site, &today) {
        // a part that helps nobody by itself is passed over for the next one
        for better in parts {
            if found.iter().any(|known| known.better.sets == better.sets) {
                break;
            }
            let gains = with(base, &better, catalogue)
                .and_then(|site| answer(&site, &question, catalogue, &mut draws).ok())
                .map_or(Vec::new(), |then| gains(&today, &then));
            if !gains.is_empty() {
                found.push(Next {
                    better,
                    place,
                    gains,
                });
                break;
            }
        }
    }
    found.sort_by(|a, b| gain(b).total_cmp(&gain(a)));
    let printed = printed(
        arguments.format,
        || json(&site, &found),
        || [table(&found, &site)],
        || text(arguments, &found, &site, screen.width),
    )?;
    write!(screen.out, "{printed}")?;
    Ok(Outcome::Fine)
}

/// The site with a part; none where it does not take it, because it says more of that place.
fn with(base: &Base<'_>, better: &BetterPart, catalogue: &Catalogue) -> Option<Site> {
    let edits = Edit::parse_all(&better.sets).ok()?;
    let edits: Vec<&Edit> = edits.iter().collect();
    base.with(&edits, catalogue).ok()
}

/// The better parts of all places that decide for a desk, each place once.
fn ideas(site: &Site, today: &Answer) -> Vec<(Vec<BetterPart>, String)> {
    let mut found: Vec<(Vec<BetterPart>, String)> = Vec::new();
    for flow in &today.flows {
        for limit in flow.limits.iter().filter(|l| l.share >= WORTH_TRYING) {
            let parts = better_parts(site, flow, &limit.hops);
            if !parts.is_empty() && !found.iter().any(|(known, _)| *known == parts) {
                found.push((parts, Places::of(site).names(&limit.hops, None)));
            }
        }
    }
    found
}

fn gains(today: &Answer, then: &Answer) -> Vec<(String, Flow, Flow)> {
    let mut found: Vec<(String, Flow, Flow)> = Vec::new();
    for before in today
        .flows
        .iter()
        .filter(|f| f.direction == Direction::Read)
    {
        let same = |f: &&Flow| {
            (&f.desk, &f.array, &f.port, f.direction)
                == (&before.desk, &before.array, &before.port, before.direction)
        };
        let Some(after) = then.flows.iter().find(same) else {
            continue;
        };
        let times = (after.megabytes_per_s.p50 / before.megabytes_per_s.p50).get::<one>();
        if times >= HELPS && !found.iter().any(|(desk, ..)| *desk == before.desk) {
            found.push((before.desk.clone(), before.clone(), after.clone()));
        }
    }
    found
}

/// How much reading is gained, of all desks: times as fast, added up.
fn gain(next: &Next) -> f64 {
    next.gains
        .iter()
        .map(|(_, before, after)| {
            (after.megabytes_per_s.p50 / before.megabytes_per_s.p50).get::<one>() - 1.0
        })
        .sum()
}

fn cautions(found: &[Next]) -> Vec<&'static str> {
    let mut all = vec![
        "An array is not a backup: before drives are added or moved, have a second copy elsewhere.",
    ];
    let cable = |next: &Next| matches!(next.better.part, Part::Cable { .. });
    if found.iter().any(cable) {
        all.push(CABLE_WORK);
    }
    all
}

fn said(next: &Next) -> String {
    let mut groups: Vec<(String, Vec<&str>)> = Vec::new();
    for (desk, before, after) in &next.gains {
        let text = format!(
            "{} MB/s in place of {}",
            rate(after.megabytes_per_s.p50),
            rate(before.megabytes_per_s.p50)
        );
        match groups.iter_mut().find(|(known, _)| *known == text) {
            Some((_, names)) => names.push(desk),
            None => groups.push((text, vec![desk])),
        }
    }
    let parts: Vec<String> = groups
        .iter()
        .map(|(text, names)| format!("{} {text}", listed(names)))
        .collect();
    parts.join("; ")
}

fn text(arguments: &Buy, found: &[Next], site: &Site, width: usize) -> String {
    let places = Places::of(site);
    let spend = match &arguments.spend {
        Some(spend) => format!(" {spend}"),
        None => String::new(),
    };
    let Some(first) = found.first() else {
        return Lead {
            what: "No better part of any one place makes a desk read a twentieth faster."
                .to_owned(),
            why: None,
            next: Some("try two at once: narrows budget with --set and --set.".to_owned()),
        }
        .text(width);
    };
    let lead = Lead {
        what: format!(
            "Ask first for the price of {}: {}.",
            parts::part(&first.better, places),
            said(first)
        ),
        why: Some(format!(
            "today the narrowest place is {}.",
            the(&first.place)
        )),
        next: Some(format!(
            "with prices in hand: narrows buy {}{} --offer \"WHAT for WHOM, PRICE\", once for each.",
            arguments.site.display(),
            if spend.is_empty() {
                String::new()
            } else {
                format!(" --spend \"{}\"", spend.trim())
            }
        )),
    };
    let mut out = lead.text(width);
    out.push_str("\nThe next better part of each place, unpriced:\n");
    for next in found {
        let text = format!("{}: {}.", parts::part(&next.better, places), said(next));
        let _ = writeln!(out, "{}", item(&text, width));
    }
    let legend = "Reading, each desk alone, in the middle; one part at a time. Try any: narrows budget with the \
        --set of --format json.";
    let _ = writeln!(out, "{}", paragraph(legend, width, 0));
    out.push('\n');
    for caution in cautions(found) {
        let _ = writeln!(out, "{}", paragraph(caution, width, 0));
    }
    out
}

fn table(found: &[Next], site: &Site) -> Table {
    let mut table = Table::new(&[
        ("part", Side::Left),
        ("set", Side::Left),
        ("desk", Side::Left),
        ("before MB/s", Side::Right),
        ("after MB/s", Side::Right),
    ]);
    for next in found {
        for (desk, before, after) in &next.gains {
            table.row(vec![
                parts::part(&next.better, Places::of(site)),
                next.better.sets.join(" "),
                desk.clone(),
                rate(before.megabytes_per_s.p50),
                rate(after.megabytes_per_s.p50),
            ]);
        }
    }
    table
}

fn json(site: &Site, found: &[Next]) -> std::io::Result<String> {
    let middle = |flow: &Flow| megabytes(flow.megabytes_per_s.p50);
    let parts = found.iter().map(|next| OnePart {
        set: next.better.sets.clone(),
        place: next.place.clone(),
        gains: next
            .gains
            .iter()
            .map(|(desk, before, after)| Gain {
                desk: desk.clone(),
                read_before_megabytes_per_s: middle(before),
                read_megabytes_per_s: middle(after),
            })
            .collect(),
    });
    Document::of("buy")
        .site(site.name.as_str())
        .cautions(cautions(found))
        .answer(Body {
            parts: parts.collect(),
        })
        .text()
}
