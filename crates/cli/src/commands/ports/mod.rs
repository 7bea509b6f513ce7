pub(crate) mod json;
mod tables;
pub(crate) mod text;

use crate::arguments::Ports;
use crate::input::{self, Stop};
use crate::render::document::printed;
use crate::render::progress::Progress;
use crate::{Outcome, Screen};
use narrows_core::catalogue::Catalogue;
use narrows_core::plan::ports::{Jack, Load, PortsFault, Question, jack_map, ports};
use narrows_core::site::Site;
use narrows_core::spread::USUAL_DRAWS;
use std::path::Path;

/// Says which jack is patched to which port.
pub(crate) fn run(arguments: &Ports, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    work_out(arguments, screen).or_else(Stop::outcome)
}

fn work_out(arguments: &Ports, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    let catalogue = input::catalogue(screen)?;
    let description = input::file(&arguments.site, screen)?;
    let tasks = match &arguments.tasks {
        Some(path) => Some(input::list(path, input::TASKS, screen)?),
        None => None,
    };
    let site = input::site_with_tasks(
        &description,
        tasks.as_ref(),
        &arguments.set,
        &catalogue,
        screen,
    )?;
    let jacks = match &arguments.jacks {
        Some(path) => jacks(path, &site, &catalogue, screen)?,
        None => Vec::new(),
    };
    let loads = Load::of_site(&site);
    let question = Question {
        site: &site,
        jacks: &jacks,
        loads: &loads,
        draws: USUAL_DRAWS,
        workers: narrows_core::workers::processors(),
    };
    let progress = Progress::new("desks");
    let answered = ports(&question, &catalogue, &|done, all| progress.tell(done, all));
    progress.clear();
    let answer = answered.map_err(|fault| {
        let help = match fault {
            PortsFault::NothingToPatch => {
                "a desk hangs on a switch by a [[run]] from the one to the other"
            }
            _ => "ask narrows check what is missing in the site",
        };
        input::refuse(screen, &fault.to_string(), help)
    })?;
    let shown = text::Shown {
        answer: &answer,
        jacks: &jacks,
        assumptions: &site.assumptions,
        path: &description.path,
        width: screen.width,
    };
    let printed = printed(
        arguments.format,
        || json::render(&shown),
        || [shown.table()],
        || shown.text(),
    )?;
    write!(screen.out, "{printed}")?;
    Ok(if answer.met() {
        Outcome::Fine
    } else {
        Outcome::NotMet
    })
}

pub(crate) fn jacks(
    path: &Path,
    site: &Site,
    catalogue: &Catalogue,
    screen: &mut Screen<'_>,
) -> Result<Vec<Jack>, Stop> {
    input::table(path, input::JACKS, screen, |bytes| {
        jack_map(bytes, site, catalogue)
    })
}
