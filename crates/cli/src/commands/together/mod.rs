pub(crate) mod json;
pub(crate) mod names;
pub(crate) mod room_json;
pub(crate) mod room_text;
pub(crate) mod text;

use crate::arguments::{Everyone, Together, Way};
use crate::commands::report::file::draw;
use crate::input::{self, Description, Stop};
use crate::render::document::printed;
use crate::{Outcome, Screen};
use narrows_core::catalogue::Catalogue;
use narrows_core::quantity::{DataRate, parse};
use narrows_core::site::Site;
use narrows_core::site::parts::in_argument;
use narrows_core::spread::{Draws, USUAL_DRAWS};
use narrows_core::together::{Question, Together as Answer, answer, room_of};
use narrows_core::work::{Activity, Direction};
use narrows_draw::Picture;

/// Predicts what everybody gets at once, and compares where something is changed.
pub(crate) fn run(arguments: &Together, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    work_out(arguments, screen).or_else(Stop::outcome)
}

fn work_out(arguments: &Together, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    let catalogue = input::catalogue(screen)?;
    let description = input::file(&arguments.site, screen)?;
    let tasks = match &arguments.tasks {
        Some(path) => Some(input::list(path, input::TASKS, screen)?),
        None => None,
    };
    if let Some(list) = &arguments.day {
        let site = input::site_with_tasks(&description, None, &arguments.set, &catalogue, screen)?;
        return crate::commands::day::run(list, arguments, &site, &catalogue, screen);
    }
    let question = question(arguments, &description, screen)?;
    let mut draws = Draws::new(USUAL_DRAWS);
    let mut ask = |sets: &[String], screen: &mut Screen<'_>| -> Result<Answer, Stop> {
        let site = input::site_with_tasks(&description, tasks.as_ref(), sets, &catalogue, screen)?;
        predict(&site, &question, &catalogue, &mut draws, screen)
    };
    let before = ask(&[], screen)?;
    let other = match &arguments.compare {
        Some(path) => {
            let other = input::file(path, screen)?;
            Some(input::site_with_tasks(
                &other,
                tasks.as_ref(),
                &[],
                &catalogue,
                screen,
            )?)
        }
        None => None,
    };
    let after = if let Some(other) = &other {
        Some(predict(other, &question, &catalogue, &mut draws, screen)?)
    } else if arguments.set.is_empty() {
        None
    } else {
        Some(ask(&arguments.set, screen)?)
    };
    let site = match other {
        Some(other) => other,
        None => input::site_with_tasks(
            &description,
            tasks.as_ref(),
            &arguments.set,
            &catalogue,
            screen,
        )?,
    };
    let room = room_of(&site, &catalogue, &mut draws)
        .map_err(|fault| refused(&fault.to_string(), screen))?;
    let shown = text::Shown {
        arguments,
        room: &room,
        site: &site,
        before: &before,
        after: after.as_ref(),
        width: screen.width,
    };
    let printed = printed(
        arguments.format,
        || json::render(&shown),
        || [shown.table()],
        || shown.text(),
    )?;
    let picture = || {
        let answer = shown.latest();
        let pictures = [
            Some(narrows_draw::shares(answer)),
            narrows_draw::places(answer),
        ];
        let title = format!("{}, all at once", answer.site);
        Picture::beside(&title, pictures.into_iter().flatten().collect())
    };
    if !draw((arguments.svg.as_ref(), arguments.force), picture, screen)? {
        write!(screen.out, "{printed}")?;
    }
    let tasks = &shown.latest().tasks;
    let missed = tasks
        .iter()
        .any(|t| t.is_short() || t.need.is_some_and(|n| !n.met));
    Ok(if missed {
        Outcome::NotMet
    } else {
        Outcome::Fine
    })
}

fn question(
    arguments: &Together,
    description: &Description,
    screen: &mut Screen<'_>,
) -> Result<Question, Stop> {
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
        everyone: match arguments.work {
            Everyone::Copy => Activity::Copy,
            Everyone::Play => Activity::Play,
        },
        direction: match arguments.direction {
            Way::Read => Direction::Read,
            Way::Write => Direction::Write,
        },
        need,
    })
}

fn predict(
    site: &Site,
    question: &Question,
    catalogue: &Catalogue,
    draws: &mut Draws,
    screen: &mut Screen<'_>,
) -> Result<Answer, Stop> {
    answer(site, question, catalogue, draws).map_err(|fault| refused(&fault.to_string(), screen))
}

fn refused(fault: &str, screen: &mut Screen<'_>) -> Stop {
    input::refuse(screen, fault, "look at the site with narrows check")
}
