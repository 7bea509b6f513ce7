//! The questions of a page, one by one.

use super::gather::{Asked, Read, WIDE, first_lines, typed};
use crate::arguments::Command;
use crate::commands::{budget, buy, cable, capacity, day, explain, layouts, ports, together};
use crate::input::{self, Stop};
use crate::{Outcome, Screen};
use narrows_core::array::capacity::Choices;
use narrows_core::array::durability::NOT_A_BACKUP;
use narrows_core::budget::{Answer as Budget, Question as BudgetQuestion, Written, better};
use narrows_core::cable::{Asked as CableAsked, Cabling, Carried, Report as RunReport, of_site};
use narrows_core::catalogue::Catalogue;
use narrows_core::day::{Day, JobList, jobs, paths};
use narrows_core::explain::Explanation;
use narrows_core::plan::Answer as Layouts;
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
use narrows_core::workers::processors;
use narrows_draw::Said;
use std::ffi::OsStr;
use std::path::Path;

/// Under runs.
pub(super) const WALLS: &str = "Walls, risers and anything near mains wiring follow local code and licensed people. Never look into a fibre that may be lit.";

pub(super) fn one_by_one(read: &Read, path: &Path) -> Result<Said<Budget>, String> {
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

pub(super) fn at_once(read: &Read, path: &Path) -> Result<Said<Together>, String> {
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

pub(super) fn cables(read: &Read) -> Asked<Vec<(RunReport, String)>> {
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
pub(super) fn space(site: &Site) -> Option<Said<Vec<Counted>>> {
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
pub(super) fn choices(read: &Read, path: &Path) -> Result<Vec<(String, Said<Layouts>)>, String> {
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

pub(super) fn patches(read: &Read) -> Asked<(Ports, Vec<Jack>)> {
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

pub(super) fn bought(read: &Read) -> Asked<(Purchases, Vec<Offer>)> {
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

pub(super) fn played(read: &Read) -> Asked<Day> {
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

pub(super) fn explained(
    site: &Path,
    list: &Path,
    screen: &mut Screen<'_>,
) -> Result<Said<Explanation>, Stop> {
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

/// What belongs under the parts that are shown, each once.
pub(super) fn cautions(budget: &Budget, further: &[&str]) -> Vec<String> {
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

pub(super) fn job_list(
    path: &Path,
    site: &Site,
    catalogue: &Catalogue,
    screen: &mut Screen<'_>,
) -> Result<JobList, Stop> {
    input::table(path, input::JOBS, screen, |bytes| {
        jobs(bytes, site, catalogue)
    })
}

pub(super) fn offer_list(
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
