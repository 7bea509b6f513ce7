mod better;
pub(crate) mod json;
pub(crate) mod lead;
pub(crate) mod names;
pub(crate) mod plays;
pub(crate) mod tables;
pub(crate) mod text;
pub(crate) mod transfer;
pub(crate) mod tries;
pub(crate) mod why;

use crate::arguments::{Budget, Format, WorkWord};
use crate::commands::report::file::draw;
use crate::input::{self, Description, Stop};
use crate::render::document::printed;
use crate::{Outcome, Screen};
use narrows_core::budget::{Answer, Flow, Question, Written, answer, better, compare};
use narrows_core::catalogue::Catalogue;
use narrows_core::change::Edit;
use narrows_core::quantity::{DataRate, Information, megabytes, parse};
use narrows_core::site::parts::{Parts, describe, in_argument};
use narrows_core::site::{Assumption, Site, read_bytes};
use narrows_core::spread::{Draws, USUAL_DRAWS};
use narrows_core::work::{Activity, Files, Work};
use narrows_draw::Picture;

/// The most that a small piece has, in MB: a file of more is read as one.
const LARGEST_PIECE: f64 = 100.0;

/// Predicts, and compares where something is changed.
pub(crate) fn run(arguments: &Budget, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    work_out(arguments, screen).or_else(Stop::outcome)
}

#[allow(clippy::too_many_lines)] // one question after another
fn work_out(arguments: &Budget, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    let catalogue = input::catalogue(screen)?;
    let (description, assumed) = description(arguments, &catalogue, screen)?;
    let question = question(arguments, &description, screen)?;
    let read = |sets: &[String], screen: &mut Screen<'_>| {
        let mut site = input::site(&description, sets, &catalogue, screen)?;
        site.assumptions.splice(0..0, assumed.iter().cloned());
        Ok::<_, Stop>(site)
    };
    let before = read(&[], screen)?;
    let mut draws = Draws::new(USUAL_DRAWS);
    let other = match &arguments.compare {
        Some(path) => {
            let other = input::file(path, screen)?;
            Some(input::site(&other, &[], &catalogue, screen)?)
        }
        None => None,
    };
    if arguments.plays {
        let after = match other {
            Some(other) => Some(other),
            None if arguments.set.is_empty() => None,
            None => Some(read(&arguments.set, screen)?),
        };
        let sites = plays::Sites {
            before: &before,
            after: after.as_ref(),
        };
        return plays::run(arguments, &sites, &catalogue, &mut draws, screen);
    }
    let mut first = ask(&before, &question, &catalogue, &mut draws, screen)?;
    let (changed, mut second) = if let Some(other) = other {
        let answer = ask(&other, &question, &catalogue, &mut draws, screen)?;
        (Some(other), Some(answer))
    } else if arguments.set.is_empty() {
        (None, None)
    } else {
        let after = read(&arguments.set, screen)?;
        let answer = ask(&after, &question, &catalogue, &mut draws, screen)?;
        (Some(after), Some(answer))
    };
    if arguments.better {
        let latest = second.as_mut().unwrap_or(&mut first);
        let written = Written {
            bytes: &description.bytes,
            edits: &arguments.set,
        };
        let place = (changed.as_ref().unwrap_or(&before), written);
        if let Err(fault) = better(latest, place, &question, &catalogue, &mut draws) {
            let help = "ask narrows check what is missing in the site";
            return Err(input::refuse(screen, &fault.to_string(), help));
        }
    }
    let changes = second.as_ref().map(|after| compare(&first, after));
    let site = changed.as_ref().unwrap_or(&before);
    let tried = if arguments.format == Format::Text && arguments.why.is_none() {
        let latest = second.as_ref().unwrap_or(&first);
        let noticed = changes
            .as_ref()
            .is_some_and(|all| all.iter().any(|c| c.noticeable));
        let ideas = match &second {
            None => tries::ideas(site, latest),
            Some(_) if noticed || arguments.compare.is_some() => Vec::new(),
            Some(answer) => tries::with_it(site, &arguments.set, answer)
                .into_iter()
                .collect(),
        };
        let asking = Asking {
            description: &description,
            sets: &arguments.set,
            question: &question,
            catalogue: &catalogue,
        };
        asking.tried(ideas, &mut draws)
    } else {
        Vec::new()
    };
    let shown = text::Shown {
        arguments,
        before: &first,
        after: second.as_ref(),
        changes: changes.as_deref().unwrap_or_default(),
        site,
        stand_ins: &assumed,
        tried: &tried,
        width: screen.width,
    };
    let working = match arguments.why.as_ref().map(|hop| (hop, shown.why(hop))) {
        Some((hop, Err(help))) => {
            let what = format!("no path passes a place '{hop}'");
            return Err(input::refuse(screen, &what, &help));
        }
        Some((_, Ok(text))) => Some(text),
        None => None,
    };
    let printed = printed(
        arguments.format,
        || json::render(&shown),
        || [shown.table()],
        || working.unwrap_or_else(|| shown.text()),
    )?;
    let picture = || picture(arguments, site, second.as_ref().unwrap_or(&first));
    if !draw((arguments.svg.as_ref(), arguments.force), picture, screen)? {
        write!(screen.out, "{printed}")?;
    }
    let missed = second
        .as_ref()
        .unwrap_or(&first)
        .flows
        .iter()
        .filter_map(|f| f.need)
        .any(|n| !n.met);
    Ok(if missed {
        Outcome::NotMet
    } else {
        Outcome::Fine
    })
}

/// What better parts are tried on.
struct Asking<'a> {
    description: &'a Description,
    sets: &'a [String],
    question: &'a Question,
    catalogue: &'a Catalogue,
}

impl Asking<'_> {
    /// What the better parts would do; those that do nothing, or that the site does not allow, are left out.
    fn tried(&self, ideas: Vec<tries::Idea>, draws: &mut Draws) -> Vec<tries::Tried> {
        let each = ideas.into_iter().filter_map(|idea| {
            let after = self.with(&idea, draws)?;
            Some(tries::Tried {
                better: idea.better,
                now: idea.now,
                desks: idea.desks,
                before: idea.before,
                after,
            })
        });
        each.filter(tries::Tried::is_worth_saying).collect()
    }

    fn with(&self, idea: &tries::Idea, draws: &mut Draws) -> Option<Flow> {
        let sets: Vec<String> = self.sets.iter().chain(&idea.better.sets).cloned().collect();
        let edits = Edit::parse_all(&sets).ok()?;
        let site = read_bytes(&self.description.bytes, &edits, self.catalogue).ok()?;
        let question = Question {
            desk: Some(idea.before.desk.clone()).filter(|desk| !desk.is_empty()),
            ..self.question.clone()
        };
        let answer = answer(&site, &question, self.catalogue, draws).ok()?;
        let before = &idea.before;
        let same = |flow: &Flow| {
            (&flow.desk, &flow.array, &flow.port, flow.direction)
                == (&before.desk, &before.array, &before.port, before.direction)
        };
        answer.flows.into_iter().find(same)
    }
}

/// The place, or the ledgers of the one desk that is asked about.
fn picture(arguments: &Budget, site: &Site, answer: &Answer) -> Picture {
    match &arguments.desk {
        Some(desk) if !answer.flows.is_empty() => {
            let ledgers = answer.flows.iter().enumerate();
            let ledgers = ledgers.map(|(i, flow)| narrows_draw::ledger(flow, i));
            Picture::beside(&format!("{desk}, place by place"), ledgers.collect())
        }
        _ => narrows_draw::place(site, answer),
    }
}

fn description(
    arguments: &Budget,
    catalogue: &Catalogue,
    screen: &mut Screen<'_>,
) -> Result<(Description, Vec<Assumption>), Stop> {
    if let Some(path) = &arguments.site {
        return Ok((input::file(path, screen)?, Vec::new()));
    }
    let given = &arguments.parts;
    let parts = Parts {
        disk: given.disk.as_deref(),
        port: given.port.as_deref(),
        cable: given.cable.as_deref(),
        switch: given.switch.as_deref(),
        nas: given.nas.as_deref(),
        array: given.array.as_deref(),
    };
    if parts == Parts::default() {
        return Err(input::refuse(
            screen,
            "nothing is described",
            "give a site file, or say what there is: narrows budget --port \"1 Gb/s\" --array \"raid1 2 x 8 TB hdd-5400\"",
        ));
    }
    let path = "your options, written as a site file".to_owned();
    match describe(&parts, catalogue) {
        Ok(described) => Ok((
            Description {
                path,
                bytes: described.text.into_bytes(),
            },
            described.assumptions,
        )),
        Err(faults) => {
            let empty = Description {
                path: "your options".to_owned(),
                bytes: Vec::new(),
            };
            Err(input::show(&faults, &empty, &[], screen))
        }
    }
}

fn question(
    arguments: &Budget,
    description: &Description,
    screen: &mut Screen<'_>,
) -> Result<Question, Stop> {
    let activity = match arguments.work {
        WorkWord::Copy => Activity::Copy,
        WorkWord::Play => Activity::Play,
        WorkWord::Wire => Activity::Wire,
        WorkWord::AtTheArray => Activity::AtTheArray,
    };
    let mut work = Work::plain(activity);
    if let Some(text) = &arguments.files {
        match Files::parse(text) {
            Ok(files) => work.files = Some(files),
            Err(fault) => {
                let faults = in_argument(text, "the files cannot be read", &fault);
                return Err(input::show(&faults, description, &[], screen));
            }
        }
    }
    if let Some(text) = &arguments.random {
        if activity == Activity::Wire {
            return Err(input::refuse(
                screen,
                "--random is about pieces of files, and --work wire has none",
                "leave one of them out",
            ));
        }
        // the desk's own disk has no part in it
        if activity == Activity::Copy {
            work.activity = Activity::Play;
        }
        let size = amount(text, "--random \"16 kB\"", description, screen)?;
        if size > megabytes(LARGEST_PIECE) {
            return Err(input::refuse(
                screen,
                &format!("--random {text} is no small piece"),
                "pieces have 100 MB at most: large files need no option, many of them --files",
            ));
        }
        work.random = Some(size);
    }
    if let Some(text) = &arguments.size {
        work.size = Some(amount(text, "--size \"200 GB\"", description, screen)?);
    }
    let mut need = None;
    if let Some(text) = &arguments.need {
        match parse::<DataRate>(text) {
            Ok(rate) => need = Some(rate),
            Err(fault) => {
                let faults = in_argument(text, "the need cannot be read", &fault);
                return Err(input::show(&faults, description, &[], screen));
            }
        }
    }
    Ok(Question {
        work,
        desk: arguments.desk.clone(),
        working: arguments.why.is_some(),
        need,
    })
}

/// An amount above zero.
fn amount(
    text: &str,
    example: &str,
    description: &Description,
    screen: &mut Screen<'_>,
) -> Result<Information, Stop> {
    match parse::<Information>(text) {
        Ok(size) if size > Information::default() => Ok(size),
        Ok(_) => {
            let option = example.split(' ').next().unwrap_or_default();
            Err(input::refuse(
                screen,
                &format!("{option} is nothing"),
                &format!("give a size above zero, for example {example}"),
            ))
        }
        Err(fault) => {
            let faults = in_argument(text, "the size cannot be read", &fault);
            Err(input::show(&faults, description, &[], screen))
        }
    }
}

fn ask(
    site: &Site,
    question: &Question,
    catalogue: &Catalogue,
    draws: &mut Draws,
    screen: &mut Screen<'_>,
) -> Result<Answer, Stop> {
    answer(site, question, catalogue, draws).map_err(|fault| {
        input::refuse(
            screen,
            &fault.to_string(),
            "names of desks stand in the site file behind 'desk.'",
        )
    })
}
