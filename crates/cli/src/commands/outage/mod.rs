pub(crate) mod text;

use crate::arguments::Outage;
use crate::input::{self, Stop};
use crate::render::document::{Document, assumed, printed};
use crate::{Outcome, Screen};
use narrows_core::quantity::{Measure, Time};
use narrows_core::spread::{Bounds, Draws, Spread, USUAL_DRAWS};
use narrows_keeping::outage::{CAUTIONS, Gap, Question, outage};

/// A stated time is met where so many cases last as long.
const MET: f64 = 0.95;

/// What an outage depends on.
const CONCERNS: [&str; 3] = ["supply.", "nas.", "array."];

/// Says what backup supplies carry, and for how long.
pub(crate) fn run(arguments: &Outage, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    work_out(arguments, screen).or_else(Stop::outcome)
}

/// A duration of an option.
pub(crate) fn duration(
    option: &str,
    text: Option<&String>,
    screen: &mut Screen<'_>,
) -> Result<Option<Time>, Stop> {
    match text {
        None => Ok(None),
        Some(text) => Ok(Some(range(option, text, screen)?.to)),
    }
}

fn range(option: &str, text: &str, screen: &mut Screen<'_>) -> Result<Gap, Stop> {
    let found = Spread::<Time>::parse(text, Bounds::POSITIVE);
    let (from, to) = match found {
        Ok(spread) => {
            let (low, _, high) = spread.law().knots();
            (low, high)
        }
        Err(fault) => {
            let what = format!("--{option} '{text}': {}", fault.found);
            return Err(input::refuse(screen, &what, &fault.help));
        }
    };
    if from <= 0.0 {
        let what = format!("--{option} '{text}': it begins at zero");
        return Err(input::refuse(
            screen,
            &what,
            "write a time above zero, for example 30 s",
        ));
    }
    Ok(Gap {
        from: Time::from_base(from),
        to: Time::from_base(to),
    })
}

fn work_out(arguments: &Outage, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    let catalogue = input::catalogue(screen)?;
    let description = input::file(&arguments.site, screen)?;
    let site = input::site(&description, &arguments.set, &catalogue, screen)?;
    let gap = match &arguments.gap {
        Some(text) => Some(range("gap", text, screen)?),
        None => None,
    };
    let question = Question {
        gap,
        times: arguments.times,
        pause: duration("pause", arguments.pause.as_ref(), screen)?,
        need: duration("need", arguments.need.as_ref(), screen)?,
        generator: duration("generator", arguments.generator.as_ref(), screen)?,
    };
    let mut draws = Draws::new(USUAL_DRAWS);
    let answer = outage(&site, &question, &catalogue, &mut draws)
        .map_err(|fault| input::refuse(screen, &fault.to_string(), fault.help()))?;
    let shown = text::Shown {
        site: &site,
        answer: &answer,
        question: &question,
        path: &description.path,
        width: screen.width,
    };
    let printed = printed(
        arguments.format,
        || {
            Document::of("outage")
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
    let missed = answer
        .supplies
        .iter()
        .filter_map(|s| s.need.as_ref())
        .any(|need| need.met_probability < MET);
    Ok(if missed {
        Outcome::NotMet
    } else {
        Outcome::Fine
    })
}
