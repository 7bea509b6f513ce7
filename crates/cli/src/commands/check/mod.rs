mod watch;

use crate::arguments::Check;
use crate::input::{self, Description, Stop};
use crate::render::document::{Document, printed};
use crate::render::lead::Lead;
use crate::render::prose::{counted, item, paragraph};
use crate::render::table::{Side, Table};
use crate::render::unknowns;
use crate::{Outcome, Screen};
use narrows_core::catalogue::Catalogue;
use narrows_core::change::Edit;
use narrows_core::site::{Assumption, Site, Tidy, Understood, tidied};

/// Says what is wrong with a site, and how to find what it does not tell.
pub(crate) fn run(arguments: &Check, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    if arguments.watch {
        return watch::run(arguments, screen);
    }
    once(arguments, screen)
}

fn once(arguments: &Check, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    work_out(arguments, screen).or_else(Stop::outcome)
}

fn work_out(arguments: &Check, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    let catalogue = input::catalogue(screen)?;
    let description = input::file(&arguments.site, screen)?;
    let site = input::site(&description, &arguments.set, &catalogue, screen)?;
    let tidy = tidy(&description, &arguments.set, &catalogue, screen)?;
    if arguments.tidy {
        write!(screen.out, "{}", tidy.text)?;
        return Ok(Outcome::Fine);
    }
    let text = printed(
        arguments.format,
        || {
            Document::<()>::of("check")
                .site(site.name.as_str())
                .understood(&tidy.understood)
                .assumptions(&site.assumptions)
                .text()
        },
        || [table(&site)],
        || in_words(&site, &tidy.understood, &description.path, screen.width),
    )?;
    write!(screen.out, "{text}")?;
    Ok(Outcome::Fine)
}

fn tidy(
    description: &Description,
    sets: &[String],
    catalogue: &Catalogue,
    screen: &mut Screen<'_>,
) -> Result<Tidy, Stop> {
    Edit::parse_all(sets)
        .and_then(|edits| tidied(&description.bytes, &edits, catalogue))
        .map_err(|faults| input::show(&faults, description, sets, screen))
}

fn table(site: &Site) -> Table {
    let mut table = Table::new(&[
        ("value", Side::Left),
        ("assumed", Side::Left),
        ("because", Side::Left),
        ("how to find it", Side::Left),
    ]);
    for a in &site.assumptions {
        table.row(vec![
            a.id.clone(),
            a.value.clone(),
            a.because.clone(),
            a.find_out.clone(),
        ]);
    }
    table
}

fn in_words(site: &Site, understood: &[Understood], path: &str, width: usize) -> String {
    let mut out = lead(site, path).text(width);
    if !understood.is_empty() {
        out.push_str("\nUnderstood, and written out by narrows check --tidy:\n");
        for u in understood {
            let text = format!("{}: '{}' is {}", u.id, u.said, u.meant);
            out.push_str(&item(&text, width));
            out.push('\n');
        }
    }
    if site.assumptions.is_empty() {
        return out;
    }
    out.push_str("\nNot stated, and how to find it:\n");
    for (ids, a) in grouped(&site.assumptions) {
        let text = format!("{ids} ({} is assumed): {}.", a.value, a.find_out);
        out.push_str(&item(&text, width));
        out.push('\n');
    }
    out.push('\n');
    out.push_str(&paragraph(
        "Each value by itself, and why it is assumed: narrows check --format markdown.",
        width,
        0,
    ));
    out.push('\n');
    out
}

/// What is there, how much is not known, and what to find out first.
fn lead(site: &Site, path: &str) -> Lead {
    let what = format!(
        "No faults in {}: {}, {}, {}, {}.",
        site.name,
        counted(site.desks.len(), "desk", "desks"),
        counted(site.switches.len(), "switch", "switches"),
        counted(site.runs.len(), "cable", "cables"),
        counted(site.arrays.len(), "array", "arrays")
    );
    if site.assumptions.is_empty() {
        return Lead {
            what,
            why: Some("every value is stated.".to_owned()),
            next: Some(format!("ask what each desk gets: narrows budget {path}")),
        };
    }
    Lead {
        what,
        why: Some(format!(
            "{} not stated, and a usual one stands in for each.",
            counted(site.assumptions.len(), "value is", "values are")
        )),
        next: unknowns::first_of(&site.assumptions),
    }
}

/// Assumptions that differ in the name of their part only, as one.
fn grouped(all: &[Assumption]) -> Vec<(String, &Assumption)> {
    let mut found: Vec<(String, Vec<&str>, &Assumption)> = Vec::new();
    for a in all {
        let mut parts: Vec<&str> = a.id.splitn(3, '.').collect();
        let name = parts.get(1).copied().unwrap_or_default();
        if let Some(part) = parts.get_mut(1) {
            *part = "*";
        }
        let kind = parts.join(".");
        let same = |(known, _, first): &&mut (String, Vec<&str>, &Assumption)| {
            *known == kind && first.value == a.value && first.find_out == a.find_out
        };
        match found.iter_mut().find(same) {
            Some((_, names, _)) => names.push(name),
            None => found.push((kind, vec![name], a)),
        }
    }
    found
        .into_iter()
        .map(|(kind, names, first)| {
            let ids = if names.len() == 1 {
                first.id.clone()
            } else {
                format!("{kind} of {}", names.join(", "))
            };
            (ids, first)
        })
        .collect()
}
