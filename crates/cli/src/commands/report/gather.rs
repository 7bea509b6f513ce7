//! What the page shows: the answers of the other commands, each with the lines that it says first.

use super::asked::{
    WALLS, at_once, bought, cables, cautions, choices, explained, job_list, offer_list, one_by_one,
    patches, played, space,
};
use super::kept::{self, Place};
use crate::Screen;
use crate::arguments::{self, Arguments, Command};
use crate::commands::{buy, ports};
use crate::input::{self, Description, Stop};
use clap::Parser as _;
use narrows_core::budget::Answer as Budget;
use narrows_core::cable::Report as RunReport;
use narrows_core::catalogue::Catalogue;
use narrows_core::day::{Day, JobList};
use narrows_core::explain::Explanation;
use narrows_core::plan::Answer as Layouts;
use narrows_core::plan::air::Answer as Air;
use narrows_core::plan::ports::{Answer as Ports, Jack};
use narrows_core::plan::purchases::{Answer as Purchases, Base, Offer};
use narrows_core::site::{Counted, Site};
use narrows_core::together::Together;
use narrows_core::workers::Aside;
use narrows_draw::Said;
use narrows_keeping::backup::Backup;
use narrows_keeping::growth::GrowthAnswer;
use narrows_keeping::outage::Outage;
use std::ffi::OsStr;
use std::thread::scope;

/// Wider than any line, so that a line of an answer is one sentence or a few.
pub(super) const WIDE: usize = 100_000;

/// Everything that was asked.
pub(super) struct Gathered {
    pub site: Site,
    pub budget: Said<Budget>,
    pub together: Said<Together>,
    pub runs: Option<Said<Vec<(RunReport, String)>>>,
    pub space: Option<Said<Vec<Counted>>>,
    pub layouts: Vec<(String, Said<Layouts>)>,
    pub reading: Option<Said<Explanation>>,
    pub purchases: Option<Said<(Purchases, Vec<Offer>)>>,
    pub ports: Option<Said<(Ports, Vec<Jack>)>>,
    pub day: Option<Said<Day>>,
    pub air: Option<Said<Air>>,
    pub growth: Option<Said<GrowthAnswer>>,
    pub copies: Option<Said<Backup>>,
    pub outage: Option<Said<Outage>>,
    pub cautions: Vec<String>,
}

/// Files as they were read, before anything is computed.
pub(super) struct Read {
    pub(super) catalogue: Catalogue,
    pub(super) description: Description,
    pub(super) tasks: Option<Description>,
    /// Without the file of tasks, as most commands see it.
    pub(super) site: Site,
    /// With it.
    pub(super) busy: Site,
    pub(super) jacks: Vec<Jack>,
    pub(super) jobs: Option<JobList>,
    pub(super) offers: Option<Vec<Offer>>,
}

/// An answer with its first lines, if it was asked for.
pub(super) type Asked<T> = Result<Option<Said<T>>, String>;

/// The lines before the first empty one.
pub(super) fn first_lines(text: &str) -> Vec<String> {
    text.lines()
        .take_while(|line| !line.trim().is_empty())
        .map(|line| line.trim().to_owned())
        .collect()
}

/// The arguments of another command, as if they had been typed.
pub(super) fn typed(words: &[&OsStr]) -> Result<Command, String> {
    let all = std::iter::once(OsStr::new("narrows")).chain(words.iter().copied());
    Arguments::try_parse_from(all)
        .map_err(|error| error.to_string())?
        .command
        .ok_or_else(|| "no command is named".to_owned())
}

/// Reads the files and asks everything that they allow.
pub(super) fn gather(
    arguments: &arguments::Report,
    screen: &mut Screen<'_>,
) -> Result<Gathered, Stop> {
    let read = read(arguments, screen)?;
    let reading = match &arguments.readings {
        Some(path) => Some(explained(&arguments.site, path, screen)?),
        None => None,
    };
    let computed = scope(|threads| {
        let site = arguments.site.as_path();
        let read = &read;
        let budget = Aside::begin(threads, move || one_by_one(read, site));
        let together = Aside::begin(threads, move || at_once(read, site));
        let runs = Aside::begin(threads, move || cables(read));
        let layouts = Aside::begin(threads, move || choices(read, site));
        let ports = Aside::begin(threads, move || patches(read));
        let day = Aside::begin(threads, move || played(read));
        let kept = Aside::begin(threads, move || {
            let place = Place {
                site: &read.site,
                catalogue: &read.catalogue,
                path: &read.description.path,
            };
            Ok::<_, String>((
                kept::air(&place)?,
                kept::filling(&place)?,
                kept::copies(&place)?,
                kept::supplies(&place)?,
            ))
        });
        let purchases = bought(read);
        Ok::<_, String>((
            budget.done()?,
            together.done()?,
            runs.done()?,
            layouts.done()?,
            ports.done()?,
            day.done()?,
            kept.done()?,
            purchases?,
        ))
    });
    let (budget, together, runs, layouts, ports, day, kept, purchases) =
        computed.map_err(|fault| {
            input::refuse(
                screen,
                &fault,
                "ask narrows check what is missing in the site",
            )
        })?;
    let (air, growth, copies, outage) = kept;
    let mut further: Vec<&str> = Vec::new();
    if runs.is_some() {
        further.push(WALLS);
    }
    if ports.is_some() {
        further.extend(ports::text::CAUTIONS);
    }
    if purchases.is_some() {
        further.extend(buy::text::CAUTIONS);
    }
    if air.is_some() {
        further.extend(narrows_core::plan::air::CAUTIONS);
    }
    if growth.is_some() {
        further.extend(narrows_keeping::growth::CAUTIONS);
    }
    if copies.is_some() {
        further.extend(narrows_keeping::backup::CAUTIONS);
    }
    if outage.is_some() {
        further.extend(narrows_keeping::outage::CAUTIONS);
    }
    Ok(Gathered {
        space: space(&read.site),
        cautions: cautions(&budget.answer, &further),
        air,
        growth,
        copies,
        outage,
        site: read.site,
        budget,
        together,
        runs,
        layouts,
        reading,
        purchases,
        ports,
        day,
    })
}

fn read(arguments: &arguments::Report, screen: &mut Screen<'_>) -> Result<Read, Stop> {
    let catalogue = input::catalogue(screen)?;
    let description = input::file(&arguments.site, screen)?;
    let site = input::site(&description, &[], &catalogue, screen)?;
    let tasks = match &arguments.tasks {
        Some(path) => Some(input::list(path, input::TASKS, screen)?),
        None => None,
    };
    let busy = input::site_with_tasks(&description, tasks.as_ref(), &[], &catalogue, screen)?;
    let jacks = match &arguments.jacks {
        Some(path) => ports::jacks(path, &busy, &catalogue, screen)?,
        None => Vec::new(),
    };
    let found = match &arguments.day {
        Some(path) => Some(job_list(path, &site, &catalogue, screen)?),
        None => None,
    };
    let base = Base {
        site: &description.bytes,
        tasks: tasks.as_ref().map(|tasks| tasks.bytes.as_slice()),
        edits: &[],
    };
    let offers = match &arguments.offers {
        Some(path) => Some(offer_list(path, &base, &catalogue, screen)?),
        None => None,
    };
    Ok(Read {
        catalogue,
        description,
        tasks,
        site,
        busy,
        jacks,
        jobs: found,
        offers,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_end_at_the_first_empty_one() {
        assert_eq!(first_lines("a b\n  c\n\nd\n"), ["a b", "c"]);
        assert_eq!(first_lines(""), Vec::<String>::new());
    }
}
