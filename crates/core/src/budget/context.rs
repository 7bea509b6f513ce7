//! What every model of a place may ask: the site, the catalogue, the draws, and the question.

use super::Question;
use super::reuse::Before;
use super::run::Cabling;
use crate::catalogue::Catalogue;
use crate::quantity::Information;
use crate::site::{Desk, Site};
use crate::spread::Draws;
use crate::work::{Activity, Direction};
use crate::working::Sheet;

/// What the models of the places of one flow ask. What they find they return; only draws are used up here.
pub(super) struct Context<'a, 'd> {
    pub site: &'a Site,
    pub catalogue: &'a Catalogue,
    pub cabling: &'a Cabling,
    pub sheet: Sheet<'d>,
    /// The desk at the end of the path.
    pub desk: Option<&'a Desk>,
    /// A path to take hops over from.
    pub before: Option<Before<'a>>,
    pub question: &'a Question,
    pub direction: Direction,
}

impl<'a, 'd> Context<'a, 'd> {
    pub(super) fn new(
        site: &'a Site,
        (catalogue, cabling): (&'a Catalogue, &'a Cabling),
        draws: &'d mut Draws,
        question: &'a Question,
        direction: Direction,
    ) -> Self {
        let sheet = if question.working {
            Sheet::recording(draws)
        } else {
            Sheet::new(draws)
        };
        Self {
            site,
            catalogue,
            cabling,
            sheet,
            desk: None,
            before: None,
            question,
            direction,
        }
    }

    /// As [`Context::new`], for rates alone.
    pub(super) fn light(
        site: &'a Site,
        known: (&'a Catalogue, &'a Cabling),
        draws: &'d mut Draws,
        question: &'a Question,
        direction: Direction,
    ) -> Self {
        let mut made = Self::new(site, known, draws, question, direction);
        made.sheet = made.sheet.lightened();
        made
    }

    /// Whether one long copy is followed.
    pub(super) fn asks_for_a_size(&self) -> bool {
        self.question.work.size.is_some()
    }

    /// The size of the pieces, where pieces at random places are asked for.
    pub(super) fn asked_pieces(&self) -> Option<Information> {
        self.question.work.random
    }

    pub(super) fn activity(&self) -> Activity {
        self.question.work.activity
    }
}
