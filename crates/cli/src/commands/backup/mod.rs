mod change;
pub(crate) mod text;

use crate::arguments::Backup;
use crate::commands::outage::duration;
use crate::input::{self, Stop};
use crate::render::document::{Document, assumed, printed};
use crate::{Outcome, Screen};
use narrows_core::catalogue::Catalogue;
use narrows_core::day::{Job, jobs};
use narrows_core::site::Site;
use narrows_core::spread::Draws;
use narrows_keeping::backup::{CAUTIONS, Question, backup};
use std::path::Path;

/// A stated age is met where so many moments find a copy no older.
const MET: f64 = 0.95;

/// Draws: a run is played in as many cases as a day with a few jobs is.
pub(crate) const DRAWS: usize = 1024;

/// What copies depend on.
pub(crate) const CONCERNS: [&str; 3] = ["copy.", "project.", "array."];

/// Says what the copies of a site are good for.
pub(crate) fn run(arguments: &Backup, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    work_out(arguments, screen).or_else(Stop::outcome)
}

fn work_out(arguments: &Backup, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    let catalogue = input::catalogue(screen)?;
    let description = input::file(&arguments.site, screen)?;
    let site = input::site(&description, &arguments.set, &catalogue, screen)?;
    if let Some(layout) = &arguments.r#move {
        return change::run(arguments, layout, (&description, &site), &catalogue, screen);
    }
    let beside = match &arguments.day {
        Some(path) => listed(path, &site, &catalogue, screen)?,
        None => Vec::new(),
    };
    let question = Question {
        beside,
        need: duration("need", arguments.need.as_ref(), screen)?,
    };
    let mut draws = Draws::new(DRAWS);
    let answer = backup(&site, &question, &catalogue, &mut draws)
        .map_err(|fault| input::refuse(screen, &fault.to_string(), fault.help()))?;
    let shown = text::Shown {
        answer: &answer,
        beside: question.beside.len(),
        need: question.need,
        path: &description.path,
        width: screen.width,
    };
    let printed = printed(
        arguments.format,
        || {
            Document::of("backup")
                .site(site.name.as_str())
                .assumptions(assumed(&site.assumptions, &CONCERNS))
                .cautions(CAUTIONS)
                .answer(&answer)
                .text()
        },
        || [shown.table()],
        || shown.text(),
    )?;
    write!(screen.out, "{printed}")?;
    let missed = answer.met_probability.is_some_and(|met| met < MET);
    Ok(if missed {
        Outcome::NotMet
    } else {
        Outcome::Fine
    })
}

/// The jobs of a day from a list.
fn listed(
    path: &Path,
    site: &Site,
    catalogue: &Catalogue,
    screen: &mut Screen<'_>,
) -> Result<Vec<Job>, Stop> {
    let list = input::table(path, input::JOBS, screen, |bytes| {
        jobs(bytes, site, catalogue)
    })?;
    Ok(list.jobs)
}
