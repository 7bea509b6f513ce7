pub(crate) mod json;
pub(crate) mod text;

use crate::arguments::Together;
use crate::commands::report::file::draw;
use crate::input::{self, Stop};
use crate::render::document::printed;
use crate::{Outcome, Screen};
use narrows_core::catalogue::Catalogue;
use narrows_core::day::{day, jobs, paths};
use narrows_core::site::Site;
use narrows_core::spread::{Draws, USUAL_DRAWS};
use std::path::Path;

/// Plays the jobs of a list over a site.
pub(crate) fn run(
    list: &Path,
    arguments: &Together,
    site: &Site,
    catalogue: &Catalogue,
    screen: &mut Screen<'_>,
) -> Result<Outcome, Stop> {
    let found = input::table(list, input::JOBS, screen, |bytes| {
        jobs(bytes, site, catalogue)
    })?;
    let mut draws = Draws::new(USUAL_DRAWS);
    let refused = |fault: String, screen: &mut Screen<'_>| {
        let help = "check the site first: narrows check SITE";
        input::refuse(screen, &fault, help)
    };
    let ways = paths(site, &found.jobs, catalogue, &mut draws)
        .map_err(|fault| refused(fault.to_string(), screen))?;
    let played =
        day(&found.jobs, &ways, &mut draws).map_err(|fault| refused(fault.to_string(), screen))?;
    let shown = text::Shown {
        site,
        day: &played,
        warnings: ways.warnings(),
        unused: &found.unused,
        width: screen.width,
    };
    let printed = printed(
        arguments.format,
        || json::render(&shown),
        || [shown.table()],
        || shown.text(),
    )?;
    let picture = || narrows_draw::day(&played);
    if !draw((arguments.svg.as_ref(), arguments.force), picture, screen)? {
        write!(screen.out, "{printed}")?;
    }
    Ok(if played.in_time() {
        Outcome::Fine
    } else {
        Outcome::NotMet
    })
}
