pub(crate) mod json;
pub(crate) mod next;
mod tables;
pub(crate) mod text;

use crate::arguments::{Buy, WorkWord};
use crate::input::{self, Description, Stop};
use crate::render::document::printed;
use crate::render::progress::Progress;
use crate::{Outcome, Screen};
use narrows_core::catalogue::Catalogue;
use narrows_core::change::Edit;
use narrows_core::plan::purchases::{
    Base, Offer, PurchaseFault, Question, offers, purchases, spoken,
};
use narrows_core::quantity::{DataRate, Money, UnitFault, parse};
use narrows_core::site::parts::in_argument;
use narrows_core::spread::USUAL_DRAWS;
use narrows_core::work::Activity;

/// Says what to buy first, and what nothing cheaper equals.
pub(crate) fn run(arguments: &Buy, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    work_out(arguments, screen).or_else(Stop::outcome)
}

fn work_out(arguments: &Buy, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    let catalogue = input::catalogue(screen)?;
    let spend = match &arguments.spend {
        Some(text) => Some(
            Money::parse_in(text, arguments.currency.as_deref())
                .map_err(|f| wrong(text, "--spend cannot be read", &f, screen))?,
        ),
        None => None,
    };
    let need = match &arguments.need {
        Some(text) => Some(
            parse::<DataRate>(text)
                .map_err(|f| wrong(text, "--need cannot be read", &f, screen))?,
        ),
        None => None,
    };
    let activity = match arguments.work {
        WorkWord::Copy => Activity::Copy,
        WorkWord::Play => Activity::Play,
        WorkWord::Wire => Activity::Wire,
        WorkWord::AtTheArray => {
            return Err(input::refuse(
                screen,
                "work at the array passes no desk",
                "leave --work out, or write --work play or --work wire",
            ));
        }
    };
    let description = input::file(&arguments.site, screen)?;
    let tasks = match &arguments.tasks {
        Some(path) => Some(input::list(path, input::TASKS, screen)?),
        None => None,
    };
    // what is wrong with the site itself is told before anything is bought
    input::site_with_tasks(
        &description,
        tasks.as_ref(),
        &arguments.set,
        &catalogue,
        screen,
    )?;
    let edits = Edit::parse_all(&arguments.set)
        .map_err(|faults| input::show(&faults, &description, &arguments.set, screen))?;
    let base = Base {
        site: &description.bytes,
        tasks: tasks.as_ref().map(|tasks| tasks.bytes.as_slice()),
        edits: &edits,
    };
    if arguments.offers.is_none() && arguments.offer.is_empty() {
        return next::run(arguments, &base, &catalogue, activity, screen);
    }
    let offers = read(arguments, &base, &catalogue, screen)?;
    let question = Question {
        base,
        offers: &offers,
        spend,
        need,
        activity,
        draws: USUAL_DRAWS,
        workers: narrows_core::workers::processors(),
    };
    let progress = Progress::new("sites");
    let answered = purchases(&question, &catalogue, &|done, all| progress.tell(done, all));
    progress.clear();
    let answer = answered.map_err(|fault| {
        let help = match &fault {
            PurchaseFault::Currency { priced, .. } => {
                format!("write the amount in {priced}, or the prices in the other currency")
            }
            _ => "ask narrows check what is missing in the site".to_owned(),
        };
        input::refuse(screen, &fault.to_string(), &help)
    })?;
    let shown = text::Shown {
        question: &question,
        answer: &answer,
        path: &description.path,
        width: screen.width,
    };
    let printed = printed(
        arguments.format,
        || json::render(&shown),
        || [shown.whole_table()],
        || shown.text(),
    )?;
    write!(screen.out, "{printed}")?;
    let missed = need.is_some() && !answer.met();
    Ok(if missed {
        Outcome::NotMet
    } else {
        Outcome::Fine
    })
}

fn read(
    arguments: &Buy,
    base: &Base<'_>,
    catalogue: &Catalogue,
    screen: &mut Screen<'_>,
) -> Result<Vec<Offer>, Stop> {
    let file = match &arguments.offers {
        Some(path) => input::list(path, input::OFFERS, screen)?,
        None => in_words(arguments, base, catalogue, screen)?,
    };
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

/// Offers in words as the file that says the same.
fn in_words(
    arguments: &Buy,
    base: &Base<'_>,
    catalogue: &Catalogue,
    screen: &mut Screen<'_>,
) -> Result<Description, Stop> {
    let made = spoken(
        &arguments.offer,
        arguments.currency.as_deref(),
        base,
        catalogue,
    );
    match made {
        Ok(text) => Ok(Description {
            path: "your offers, written as a file".to_owned(),
            bytes: text.into_bytes(),
        }),
        Err((index, fault)) => {
            let text = arguments.offer.get(index).map_or("", String::as_str);
            Err(wrong(text, "the offer cannot be read", &fault, screen))
        }
    }
}

fn wrong(text: &str, title: &str, fault: &UnitFault, screen: &mut Screen<'_>) -> Stop {
    let options = Description {
        path: "your options".to_owned(),
        bytes: Vec::new(),
    };
    input::show(&in_argument(text, title, fault), &options, &[], screen)
}
