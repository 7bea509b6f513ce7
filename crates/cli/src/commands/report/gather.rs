//! What the page shows: the answers of the other commands, each with the lines that it says first.

use super::kept::{self, Place};
use crate::arguments::{self, Arguments, Command};
use crate::commands::{budget, buy, cable, capacity, day, explain, layouts, ports, together};
use crate::input::{self, Description, Stop};
use crate::{Outcome, Screen};
use clap::Parser;
use narrows_core::array::capacity::Choices;
use narrows_core::array::durability::NOT_A_BACKUP;
use narrows_core::budget::{Answer as Budget, Question as BudgetQuestion, Written, better};
use narrows_core::cable::{Asked as CableAsked, Cabling, Carried, Report as RunReport, of_site};
use narrows_core::catalogue::Catalogue;
use narrows_core::day::{Day, JobList, jobs, paths};
use narrows_core::explain::Explanation;
use narrows_core::plan::Answer as Layouts;
use narrows_core::plan::air::Answer as Air;
use narrows_core::plan::ports::{
    Answer as Ports, Jack, Load, PortsFault, Question as PortsQuestion,
};
use narrows_core::plan::purchases::{
    Answer as Purchases, Base, Offer, Question as BuyQuestion, offers,
};
use narrows_core::site::{Counted, Site, counted_array};
use narrows_core::spread::{Draws, USUAL_DRAWS};
use narrows_core::together::{Question as TogetherQuestion, Together, room_of};
use narrows_core::work::{Activity, Direction, Work};
use narrows_core::workers::{Aside, processors};
use narrows_draw::Said;
use narrows_keeping::backup::Backup;
use narrows_keeping::growth::GrowthAnswer;
use narrows_keeping::outage::Outage;
use std::ffi::OsStr;
use std::path::Path;
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
struct Read {
    catalogue: Catalogue,
    description: Description,
    tasks: Option<Description>,
    /// Without the file of tasks, as most commands see it.
    site: Site,
    /// With it.
    busy: Site,
    jacks: Vec<Jack>,
    jobs: Option<JobList>,
    offers: Option<Vec<Offer>>,
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
fn typed(words: &[&OsStr]) -> Result<Command, String> {
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

fn job_list(
    path: &Path,
    site: &Site,
    catalogue: &Catalogue,
    screen: &mut Screen<'_>,
) -> Result<JobList, Stop> {
    let file = input::list(path, input::JOBS, screen)?;
    let (text, found) = jobs(&file.bytes, site, catalogue);
    found.map_err(|faults| {
        let decoded = Description {
            path: file.path,
            bytes: text.into_bytes(),
        };
        input::show(&faults, &decoded, &[], screen)
    })
}

fn offer_list(
    path: &Path,
    base: &Base<'_>,
    catalogue: &Catalogue,
    screen: &mut Screen<'_>,
) -> Result<Vec<Offer>, Stop> {
    let file = input::list(path, input::OFFERS, screen)?;
    let Ok(text) = std::str::from_utf8(&file.bytes) else {
        let what = format!("{} is not text", file.path);
        return Err(input::refuse(
            screen,
            &what,
            "save the offers as UTF-8 text",
        ));
    };
    offers(text, base, catalogue).map_err(|faults| input::show(&faults, &file, &[], screen))
}

fn one_by_one(read: &Read, path: &Path) -> Result<Said<Budget>, String> {
    let question = BudgetQuestion {
        work: Work::plain(Activity::Copy),
        desk: None,
        working: false,
        need: None,
    };
    let mut draws = Draws::new(USUAL_DRAWS);
    let mut answer =
        narrows_core::budget::answer(&read.site, &question, &read.catalogue, &mut draws)
            .map_err(|fault| fault.to_string())?;
    let written = Written {
        bytes: &read.description.bytes,
        edits: &[],
    };
    let place = (&read.site, written);
    // of desks that are alike one is shown, and better parts are asked for it alone
    let mut is_shown = narrows_draw::is_shown(&answer.flows).into_iter();
    let (mut asked, mut rest) = (answer.clone(), Vec::new());
    asked.flows.clear();
    for flow in answer.flows.drain(..) {
        if is_shown.next() == Some(true) {
            rest.push(None);
            asked.flows.push(flow);
        } else {
            rest.push(Some(flow));
        }
    }
    better(&mut asked, place, &question, &read.catalogue, &mut draws)
        .map_err(|fault| fault.to_string())?;
    let mut asked = asked.flows.into_iter();
    answer.flows = rest
        .into_iter()
        .filter_map(|flow| flow.or_else(|| asked.next()))
        .collect();
    let Command::Budget(arguments) =
        typed(&[OsStr::new("budget"), OsStr::new("--"), path.as_os_str()])?
    else {
        return Err("budget is not a command".to_owned());
    };
    let shown = budget::text::Shown {
        arguments: &arguments,
        before: &answer,
        after: None,
        changes: &[],
        site: &read.site,
        stand_ins: &[],
        tried: &[],
        width: WIDE,
    };
    let lines = first_lines(&shown.text());
    Ok(Said { lines, answer })
}

fn at_once(read: &Read, path: &Path) -> Result<Said<Together>, String> {
    let question = TogetherQuestion {
        everyone: Activity::Copy,
        direction: Direction::Read,
        need: None,
    };
    let mut draws = Draws::new(USUAL_DRAWS);
    let answer = narrows_core::together::answer(&read.busy, &question, &read.catalogue, &mut draws)
        .map_err(|fault| fault.to_string())?;
    let room =
        room_of(&read.busy, &read.catalogue, &mut draws).map_err(|fault| fault.to_string())?;
    let Command::Together(arguments) =
        typed(&[OsStr::new("together"), OsStr::new("--"), path.as_os_str()])?
    else {
        return Err("together is not a command".to_owned());
    };
    let shown = together::text::Shown {
        arguments: &arguments,
        room: &room,
        site: &read.busy,
        before: &answer,
        after: None,
        width: WIDE,
    };
    let lines = first_lines(&shown.text());
    Ok(Said { lines, answer })
}

fn cables(read: &Read) -> Asked<Vec<(RunReport, String)>> {
    let found = of_site(&read.site);
    if found.runs.is_empty() {
        return Ok(None);
    }
    let cabling = Cabling::new(&read.catalogue).map_err(|fault| fault.to_string())?;
    let reports = cabling
        .reports(&found.runs, CableAsked { need: None })
        .map_err(|fault| fault.to_string())?;
    let asking = cable::Asking {
        runs: found.runs,
        others: found.others,
        unused: Vec::new(),
        site: Some(read.site.name.clone()),
    };
    let shown = cable::text::Shown {
        names: cable::text::names(&reports),
        cabling: &cabling,
        asking: &asking,
        reports: &reports,
        sum: None,
        width: WIDE,
    };
    let lines = vec![shown.headline()];
    let answer = reports
        .into_iter()
        .map(|report| {
            let helps = match &report.carried {
                Carried::Copper(rows) => rows.last().map(cable::words::advice),
                _ => None,
            };
            (report, helps.unwrap_or_default())
        })
        .collect();
    Ok(Some(Said { lines, answer }))
}

/// The space of the arrays that can be counted.
fn space(site: &Site) -> Option<Said<Vec<Counted>>> {
    let choices = Choices::default();
    let counted: Vec<Counted> = site
        .arrays
        .iter()
        .filter_map(|array| counted_array(array, &choices).ok())
        .flatten()
        .collect();
    if counted.is_empty() {
        return None;
    }
    let shown = capacity::text::Shown {
        counted: &counted,
        choices: &choices,
        width: WIDE,
    };
    let lines = first_lines(&shown.text());
    Some(Said {
        lines,
        answer: counted,
    })
}

/// The layouts for the bays of each array; arrays whose drives are not known are left out.
fn choices(read: &Read, path: &Path) -> Result<Vec<(String, Said<Layouts>)>, String> {
    let mut found = Vec::new();
    for array in &read.site.arrays {
        let words = ["layouts", "--array", &array.name, "--"].map(OsStr::new);
        let words: Vec<&OsStr> = words.into_iter().chain([path.as_os_str()]).collect();
        let Command::Layouts(arguments) = typed(&words)? else {
            return Err("layouts is not a command".to_owned());
        };
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let mut nothing: &[u8] = &[];
        let mut nowhere = Screen {
            input: &mut nothing,
            command: "report",
            format: crate::arguments::Format::Text,
            understood: None,
            out: &mut out,
            err: &mut err,
            width: WIDE,
            terminal: false,
        };
        let Ok((question, assumptions)) =
            layouts::question(&arguments, None, &read.catalogue, &mut nowhere)
        else {
            continue;
        };
        let Ok(answer) = narrows_core::plan::layouts(&question, &read.catalogue, &|_, _| true)
        else {
            continue;
        };
        let shown = layouts::text::Shown {
            arguments: &arguments,
            question: &question,
            answer: &answer,
            assumptions: &assumptions,
            width: WIDE,
        };
        let lines = first_lines(&layouts::handful::text(std::slice::from_ref(&shown)));
        found.push((array.name.clone(), Said { lines, answer }));
    }
    Ok(found)
}

fn patches(read: &Read) -> Asked<(Ports, Vec<Jack>)> {
    let loads = Load::of_site(&read.busy);
    let question = PortsQuestion {
        site: &read.busy,
        jacks: &read.jacks,
        loads: &loads,
        draws: USUAL_DRAWS,
        workers: processors(),
    };
    let answer = match narrows_core::plan::ports::ports(&question, &read.catalogue, &|_, _| true) {
        Ok(answer) => answer,
        Err(PortsFault::NothingToPatch) => return Ok(None),
        Err(fault) => return Err(fault.to_string()),
    };
    let shown = ports::text::Shown {
        answer: &answer,
        jacks: &read.jacks,
        assumptions: &read.busy.assumptions,
        path: &read.description.path,
        width: WIDE,
    };
    let lines = first_lines(&shown.text());
    let jacks = read.jacks.clone();
    Ok(Some(Said {
        lines,
        answer: (answer, jacks),
    }))
}

fn bought(read: &Read) -> Asked<(Purchases, Vec<Offer>)> {
    let Some(offers) = &read.offers else {
        return Ok(None);
    };
    let question = BuyQuestion {
        base: Base {
            site: &read.description.bytes,
            tasks: read.tasks.as_ref().map(|tasks| tasks.bytes.as_slice()),
            edits: &[],
        },
        offers,
        spend: None,
        need: None,
        activity: Activity::Copy,
        draws: USUAL_DRAWS,
        workers: processors(),
    };
    let answer = narrows_core::plan::purchases::purchases(&question, &read.catalogue, &|_, _| true)
        .map_err(|fault| fault.to_string())?;
    let shown = buy::text::Shown {
        question: &question,
        answer: &answer,
        path: &read.description.path,
        width: WIDE,
    };
    let lines = first_lines(&shown.text());
    let offers = offers.clone();
    Ok(Some(Said {
        lines,
        answer: (answer, offers),
    }))
}

fn played(read: &Read) -> Asked<Day> {
    let Some(list) = &read.jobs else {
        return Ok(None);
    };
    let mut draws = Draws::new(USUAL_DRAWS);
    let ways = paths(&read.site, &list.jobs, &read.catalogue, &mut draws)
        .map_err(|fault| fault.to_string())?;
    let answer =
        narrows_core::day::day(&list.jobs, &ways, &mut draws).map_err(|fault| fault.to_string())?;
    let shown = day::text::Shown {
        site: &read.site,
        day: &answer,
        warnings: ways.warnings(),
        unused: &list.unused,
        width: WIDE,
    };
    let lines = first_lines(&shown.text());
    Ok(Some(Said { lines, answer }))
}

fn explained(site: &Path, list: &Path, screen: &mut Screen<'_>) -> Result<Said<Explanation>, Stop> {
    let words = [
        OsStr::new("explain"),
        OsStr::new("--readings"),
        list.as_os_str(),
        OsStr::new("--"),
        site.as_os_str(),
    ];
    let Ok(Command::Explain(arguments)) = typed(&words) else {
        return Err(Stop::Written(Outcome::BadInput));
    };
    let catalogue = input::catalogue(screen)?;
    let found = explain::found(&arguments, &catalogue, screen)?;
    let lines = first_lines(&found.shown(&arguments, WIDE).text());
    Ok(Said {
        lines,
        answer: found.explanation,
    })
}

/// Under runs.
const WALLS: &str = "Walls, risers and anything near mains wiring follow local code and licensed people. Never look into a fibre that may be lit.";

/// What belongs under the parts that are shown, each once.
fn cautions(budget: &Budget, further: &[&str]) -> Vec<String> {
    let mut found = budget.cautions.clone();
    if !found
        .iter()
        .any(|caution| caution.starts_with("An array is not a backup"))
    {
        found.push(NOT_A_BACKUP.to_owned());
    }
    found.extend(further.iter().map(|caution| (*caution).to_owned()));
    let mut kept: Vec<String> = Vec::new();
    for caution in found {
        if !kept.contains(&caution) {
            kept.push(caution);
        }
    }
    kept
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
