//! What the page shows of the air, of space over time, of copies and of gaps of the mains.

use super::gather::{Asked, WIDE, first_lines};
use crate::commands::{backup, growth, outage, wireless};
use narrows_core::catalogue::Catalogue;
use narrows_core::plan::air::{Answer as Air, Question as AirQuestion};
use narrows_core::site::Site;
use narrows_core::spread::{Draws, USUAL_DRAWS};
use narrows_draw::Said;
use narrows_keeping::KeepingFault;
use narrows_keeping::backup::{Backup, Question as BackupQuestion};
use narrows_keeping::growth::{GrowthAnswer, Question as GrowthQuestion};
use narrows_keeping::outage::{Outage, Question as OutageQuestion};

/// What a site is asked about.
pub(super) struct Place<'a> {
    pub site: &'a Site,
    pub catalogue: &'a Catalogue,
    pub path: &'a str,
}

/// What was answered; what the site does not describe is left out.
fn described<T>(found: Result<T, KeepingFault>) -> Result<Option<T>, String> {
    match found {
        Ok(answer) => Ok(Some(answer)),
        Err(KeepingFault::Missing { .. }) => Ok(None),
        Err(fault) => Err(fault.to_string()),
    }
}

pub(super) fn air(of: &Place<'_>) -> Asked<Air> {
    let speaks = of.site.desks.iter().any(|desk| desk.radio.is_some());
    if !speaks && of.site.house.rooms.is_empty() {
        return Ok(None);
    }
    let question = AirQuestion {
        need: narrows_core::quantity::megabytes_per_second(wireless::USUAL_NEED),
        place: None,
        radar: true,
    };
    let mut draws = Draws::new(USUAL_DRAWS);
    let answer = narrows_core::plan::air::answer(of.site, &question, of.catalogue, &mut draws)
        .map_err(|fault| fault.to_string())?;
    if answer.links.is_empty() && answer.rooms.is_empty() {
        return Ok(None);
    }
    let shown = wireless::text::Shown {
        answer: &answer,
        width: WIDE,
    };
    let lines = first_lines(&shown.text());
    Ok(Some(Said { lines, answer }))
}

pub(super) fn filling(of: &Place<'_>) -> Asked<GrowthAnswer> {
    if of.site.project.is_none() {
        return Ok(None);
    }
    let question = GrowthQuestion::default();
    let mut draws = Draws::new(USUAL_DRAWS);
    let found = narrows_keeping::growth::growth(of.site, &question, of.catalogue, &mut draws);
    Ok(described(found)?.map(|answer| {
        let shown = growth::text::Shown {
            answer: &answer,
            read: 0,
            need: None,
            path: of.path,
            width: WIDE,
        };
        let lines = first_lines(&shown.text());
        Said { lines, answer }
    }))
}

pub(super) fn copies(of: &Place<'_>) -> Asked<Backup> {
    let question = BackupQuestion::default();
    let mut draws = Draws::new(backup::DRAWS);
    let found = narrows_keeping::backup::backup(of.site, &question, of.catalogue, &mut draws);
    Ok(described(found)?.map(|answer| {
        let shown = backup::text::Shown {
            answer: &answer,
            beside: 0,
            need: None,
            path: of.path,
            width: WIDE,
        };
        let lines = first_lines(&shown.text());
        Said { lines, answer }
    }))
}

pub(super) fn supplies(of: &Place<'_>) -> Asked<Outage> {
    let question = OutageQuestion {
        times: 1,
        ..OutageQuestion::default()
    };
    let mut draws = Draws::new(USUAL_DRAWS);
    let found = narrows_keeping::outage::outage(of.site, &question, of.catalogue, &mut draws);
    Ok(described(found)?.map(|answer| {
        let shown = outage::text::Shown {
            site: of.site,
            answer: &answer,
            question: &question,
            path: of.path,
            width: WIDE,
        };
        let lines = first_lines(&shown.text());
        Said { lines, answer }
    }))
}
