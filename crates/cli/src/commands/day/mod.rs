pub(crate) mod json;
pub(crate) mod text;

use crate::arguments::{Format, Together};
use crate::commands::report::file::draw;
use crate::input::{self, Description, Stop};
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
    let file = input::list(list, input::JOBS, screen)?;
    let (text, found) = jobs(&file.bytes, site, catalogue);
    let found = match found {
        Ok(found) => found,
        Err(faults) => {
            let decoded = Description {
                path: file.path,
                bytes: text.into_bytes(),
            };
            return Err(input::show(&faults, &decoded, &[], screen));
        }
    };
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
    let printed = match arguments.format {
        Format::Json => json::render(&shown).map_err(std::io::Error::other)?,
        Format::Csv => shown.table().csv()?,
        Format::Markdown => shown.table().markdown(),
        Format::Text => shown.text(),
    };
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
