pub(crate) mod json;
pub(crate) mod text;

use crate::arguments::Wireless;
use crate::commands::report::file::draw;
use crate::input::{self, Description, Stop};
use crate::render::document::printed;
use crate::{Outcome, Screen};
use narrows_core::catalogue::Catalogue;
use narrows_core::plan::air::{Question, answer};
use narrows_core::quantity::{DataRate, megabytes_per_second, parse};
use narrows_core::site::parts::in_argument;
use narrows_core::spread::{Draws, USUAL_DRAWS};

/// The need where nobody says one, MB/s: a stream of camera material, or a copy at 200 Mb/s.
pub(crate) const USUAL_NEED: f64 = 25.0;

/// Width of the plan in a file of its own.
const DRAWN: f64 = 720.0;

/// Says what desks and rooms get through the air, and where access points go.
pub(crate) fn run(arguments: &Wireless, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    work_out(arguments, screen).or_else(Stop::outcome)
}

fn work_out(arguments: &Wireless, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    let catalogue: Catalogue = input::catalogue(screen)?;
    let description = input::file(&arguments.site, screen)?;
    let site = input::site(&description, &arguments.set, &catalogue, screen)?;
    let question = Question {
        need: need(arguments, &description, screen)?,
        place: arguments.place,
        radar: !arguments.without_radar,
    };
    if arguments.place.is_some() && site.house.jacks.is_empty() {
        return Err(input::refuse(
            screen,
            "the site has no jack for an access point",
            "add [jack.NAME] with the room that it is in",
        ));
    }
    let mut draws = Draws::new(USUAL_DRAWS);
    let found = answer(&site, &question, &catalogue, &mut draws).map_err(|fault| {
        input::refuse(
            screen,
            &fault.to_string(),
            "look at the site with narrows check",
        )
    })?;
    let shown = text::Shown {
        answer: &found,
        width: screen.width,
    };
    if arguments.svg.is_some() && site.house.rooms.is_empty() {
        return Err(input::refuse(
            screen,
            "--svg draws rooms, and the site has none",
            "add [room.NAME] with floor, left, front, wide and deep",
        ));
    }
    let missed = arguments.need.is_some() && shown.missed();
    let picture = || narrows_draw::rooms(&site, &found, DRAWN);
    if draw((arguments.svg.as_ref(), arguments.force), picture, screen)? {
        return Ok(if missed {
            Outcome::NotMet
        } else {
            Outcome::Fine
        });
    }
    let printed = printed(
        arguments.format,
        || json::render(&found),
        || [shown.table()],
        || shown.text(),
    )?;
    write!(screen.out, "{printed}")?;
    Ok(if missed {
        Outcome::NotMet
    } else {
        Outcome::Fine
    })
}

fn need(
    arguments: &Wireless,
    description: &Description,
    screen: &mut Screen<'_>,
) -> Result<DataRate, Stop> {
    let Some(text) = &arguments.need else {
        return Ok(megabytes_per_second(USUAL_NEED));
    };
    parse::<DataRate>(text).map_err(|fault| {
        let faults = in_argument(text, "the need cannot be read", &fault);
        input::show(&faults, description, &[], screen)
    })
}
