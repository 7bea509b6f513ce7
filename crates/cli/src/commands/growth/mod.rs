pub(crate) mod text;

use crate::arguments::Growth;
use crate::commands::outage::duration;
use crate::commands::report::file::draw;
use crate::input::{self, Stop};
use crate::render::document::{Document, assumed, printed};
use crate::{Outcome, Screen};
use narrows_core::quantity::{Information, Time};
use narrows_core::spread::{Draws, USUAL_DRAWS};
use narrows_keeping::growth::{CAUTIONS, Question, Seasons, growth, history, readings};
use std::path::Path;

/// A stated time is met where so many cases have space left.
const MET: f64 = 0.95;

/// What growth depends on.
const CONCERNS: [&str; 2] = ["project.", "array."];

/// Says what comes in and when the array is full.
pub(crate) fn run(arguments: &Growth, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    work_out(arguments, screen).or_else(Stop::outcome)
}

fn work_out(arguments: &Growth, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    let catalogue = input::catalogue(screen)?;
    let description = input::file(&arguments.site, screen)?;
    let site = input::site(&description, &arguments.set, &catalogue, screen)?;
    let read = match &arguments.readings {
        Some(path) => read_off(path, screen)?,
        None => Vec::new(),
    };
    let seasons = match (&arguments.seasons, arguments.from) {
        (Some(text), Some(first)) => Some((factors(text, screen)?, first as usize - 1)),
        _ => None,
    };
    let question = Question {
        history: history(&read),
        held: read.last().map(|(_, size)| *size),
        seasons,
        need: duration("need", arguments.need.as_ref(), screen)?,
        array: arguments.array.clone(),
    };
    let mut draws = Draws::new(USUAL_DRAWS);
    let answer = growth(&site, &question, &catalogue, &mut draws)
        .map_err(|fault| input::refuse(screen, &fault.to_string(), fault.help()))?;
    let shown = text::Shown {
        answer: &answer,
        read: read.len(),
        need: question.need,
        path: &description.path,
        width: screen.width,
    };
    let missed = answer.full.met_probability.is_some_and(|met| met < MET);
    let outcome = if missed {
        Outcome::NotMet
    } else {
        Outcome::Fine
    };
    if draw(
        (arguments.svg.as_ref(), arguments.force),
        || narrows_draw::growth(&answer),
        screen,
    )? {
        return Ok(outcome);
    }
    let printed = printed(
        arguments.format,
        || {
            Document::of("growth")
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
    Ok(outcome)
}

fn read_off(path: &Path, screen: &mut Screen<'_>) -> Result<Vec<(Time, Information)>, Stop> {
    let filled = (
        "a list of what was filled when",
        "give the path of a table with a date and what was used then; save it as CSV",
    );
    input::table(path, filled, screen, readings)
}

/// Twelve factors with commas.
fn factors(text: &str, screen: &mut Screen<'_>) -> Result<Seasons, Stop> {
    let found: Vec<f64> = text
        .split(',')
        .filter_map(|word| word.trim().parse::<f64>().ok())
        .filter(|factor| factor.is_finite() && *factor >= 0.0)
        .collect();
    let whole: Option<[f64; 12]> = found.try_into().ok();
    let sums = |factors: &[f64; 12]| factors.iter().sum::<f64>() > 0.0;
    match whole.filter(|f| sums(f) && text.split(',').count() == 12) {
        Some(factors) => Ok(Seasons::sum_to_twelve(factors)),
        None => Err(input::refuse(
            screen,
            &format!("--seasons '{text}' are not twelve factors"),
            "write twelve numbers with commas, January first: 0.4,0.5,0.8,1,1.3,1.6,1.6,1.1,1.3,1.2,0.8,0.4",
        )),
    }
}
