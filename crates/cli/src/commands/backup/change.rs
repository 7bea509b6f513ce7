use super::{CONCERNS, DRAWS};
use crate::arguments::Backup;
use crate::input::{self, Description, Stop};
use crate::render::document::{Document, assumed, printed};
use crate::render::prose::{about, of_100, paragraph};
use crate::render::table::{Side, Table};
use crate::{Outcome, Screen};
use narrows_core::array::capacity::Choices;
use narrows_core::catalogue::Catalogue;
use narrows_core::quantity::show;
use narrows_core::site::{Site, SitePath, counted_argument, counted_array};
use narrows_core::spread::Draws;
use narrows_keeping::backup::{Change, change};
use std::fmt::Write;

/// Sentences that belong under every change of layout.
const CAUTIONS: [&str; 2] = [
    "Take nothing apart before somebody has opened files from two other copies. An array is not a backup.",
    "Write down what is where, and keep the old drives untouched on a shelf until the new array was read back, if you can.",
];

/// A copy of everything that fails so often is no ground to take an array apart on.
const SAFE: f64 = 0.02;

/// Everything fits where it does in so many cases.
const FITS: f64 = 0.95;

/// Says what changing to another layout takes.
pub(super) fn run(
    arguments: &Backup,
    layout: &str,
    (description, site): (&Description, &Site),
    catalogue: &Catalogue,
    screen: &mut Screen<'_>,
) -> Result<Outcome, Stop> {
    let after = changed(arguments, layout, (description, site), catalogue, screen)?;
    let mut draws = Draws::new(DRAWS);
    let answer = change(site, &after, catalogue, &mut draws)
        .map_err(|fault| input::refuse(screen, &fault.to_string(), fault.help()))?;
    let printed = printed(
        arguments.format,
        || {
            Document::of("backup")
                .site(site.name.as_str())
                .assumptions(assumed(&site.assumptions, &CONCERNS))
                .cautions(CAUTIONS)
                .answer(&Moved { change: &answer })
                .text()
        },
        || [table(&answer)],
        || text(&answer, layout, screen.width),
    )?;
    write!(screen.out, "{printed}")?;
    Ok(if answer.fits_probability < FITS {
        Outcome::NotMet
    } else {
        Outcome::Fine
    })
}

#[derive(serde::Serialize)]
struct Moved<'a> {
    change: &'a Change,
}

/// The site with its largest array in another layout.
fn changed(
    arguments: &Backup,
    layout: &str,
    (description, site): (&Description, &Site),
    catalogue: &Catalogue,
    screen: &mut Screen<'_>,
) -> Result<Site, Stop> {
    let choices = Choices::default();
    let counted = counted_argument(layout, &choices)
        .map_err(|faults| input::show(&faults, description, &arguments.set, screen))?;
    let usable = |name: &str| {
        let array = site.arrays.iter().find(|a| a.name == name);
        let all = array.and_then(|a| counted_array(a, &choices).ok());
        all.and_then(|all| all.get(all.len() / 2).map(|c| c.space.usable))
    };
    let largest = site.arrays.iter().max_by_key(|a| usable(&a.name));
    let Some(array) = largest else {
        return Err(input::refuse(
            screen,
            "the site has no array",
            "add [array.vault]",
        ));
    };
    let groups = counted.layout.groups();
    let width = groups.first().map_or(1, narrows_core::array::Group::width);
    let class = match array.drives.drive.value.likeliest() {
        narrows_core::site::Drive::Spinning { class, .. }
        | narrows_core::site::Drive::Flash { class, .. } => class.clone(),
    };
    let size = groups.first().and_then(|g| g.drives().first().copied());
    let Some(size) = size else {
        return Err(input::refuse(
            screen,
            "the layout has no drives",
            "write for example raidz2 6 x 14 TB",
        ));
    };
    let path = SitePath::Array(&array.name, None);
    let mut sets = arguments.set.clone();
    sets.push(format!("{path}.layout={}", counted.layout.level()));
    sets.push(format!(
        "{path}.drives={} x {size} {class}",
        width * groups.len()
    ));
    if groups.len() > 1 {
        sets.push(format!("{path}.groups={}", groups.len()));
    }
    input::site(description, &sets, catalogue, screen)
}

fn text(answer: &Change, layout: &str, width: usize) -> String {
    let mut out = String::new();
    let first = format!(
        "To {layout} and back takes about {} ({} to {}); meanwhile everything lies on {}.",
        about(answer.takes_s.p50),
        about(answer.takes_s.p05),
        about(answer.takes_s.p95),
        answer.holder
    );
    let why = format!(
        "Why: {} have to move out, be compared, move back and be compared again; the new layout holds {}, enough in {} of 100 cases.",
        show(answer.held_bytes.p50),
        show(answer.usable_bytes),
        of_100(answer.fits_probability)
    );
    let others = if answer.others.is_empty() {
        "there is no other whole copy".to_owned()
    } else {
        format!("{} holds everything too", answer.others.join(" and "))
    };
    let risk = if answer.all_fail_probability > SAFE {
        format!(
            "First get a project back from each copy and open it: {others}, and in {} of 100 cases none gives everything back.",
            of_100(answer.all_fail_probability)
        )
    } else {
        format!(
            "What is at risk then: {others}; in {} of 100 cases none gives everything back.",
            of_100(answer.all_fail_probability)
        )
    };
    for line in [first, why, risk] {
        let _ = writeln!(out, "{}", paragraph(&line, width, 2));
    }
    out.push('\n');
    out.push_str(&table(answer).text(width));
    out.push_str("from, to: 1 in 20 is shorter, 1 in 20 longer.\n\n");
    for caution in CAUTIONS {
        let _ = writeln!(out, "{}", paragraph(caution, width, 2));
    }
    out
}

fn table(answer: &Change) -> Table {
    let mut table = Table::new(&[
        ("step", Side::Left),
        ("takes", Side::Right),
        ("from", Side::Right),
        ("to", Side::Right),
    ]);
    for (number, step) in answer.steps.iter().enumerate() {
        table.row(vec![
            format!("{} {}", number + 1, step.step),
            about(step.takes_s.p50),
            about(step.takes_s.p05),
            about(step.takes_s.p95),
        ]);
    }
    table.folding(0)
}
