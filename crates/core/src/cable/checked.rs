//! What cannot be of a run that is told in words.

use super::describe::Describing;
use super::describe::{FAST_RATES, USUAL_RATES, in_copper, place};
use super::run::{CableRun, Joint};
use super::words::{Said, Words};
use crate::copper::{Category, RunFault};
use crate::quantity::{LinkRate, exact};
use std::ops::Range;

impl Describing<'_> {
    /// Rates in question: those that both ports know, or all that such cable is used for.
    pub(super) fn rates(
        &self,
        said: &Said,
        categories: &[(Category, f64)],
        words: &mut Words<'_>,
    ) -> Vec<LinkRate> {
        if let Some((rate, at)) = &said.ports {
            let Some(port) = self.catalogue.port(*rate, "copper") else {
                let found = format!("no twisted-pair port is sold as {}", exact(*rate));
                let help = "write 100 Mb/s, 1, 2.5, 5, 10, 25 or 40 Gb/s";
                words.fault(at.clone(), "no such port", found, help);
                return Vec::new();
            };
            let known = port.knows.iter().copied();
            return known.filter(|rate| in_copper(*rate)).collect();
        }
        let fast = categories.iter().any(|(c, _)| *c == Category::Cat8);
        let more: &[u64] = if fast && categories.len() == 1 {
            &FAST_RATES
        } else {
            &[]
        };
        USUAL_RATES
            .iter()
            .chain(more)
            .map(|rate| LinkRate::from_megabits(*rate))
            .collect()
    }

    /// Points at what the formulas do not cover.
    pub(super) fn checked(&self, run: &CableRun, said: &Said, words: &mut Words<'_>) {
        let Joint::Copper { cases, .. } = &run.joint else {
            return;
        };
        Self::neighbours_known(said, words);
        let at = |place: Option<Range<usize>>| place.unwrap_or_else(|| self.whole.clone());
        let mut found: Vec<(Range<usize>, String)> = Vec::new();
        for fault in cases.iter().flat_map(|case| case.physics.faults()) {
            let span = match &fault {
                RunFault::Length(_) => at(place(said.length.as_ref())),
                RunFault::Part(part) => {
                    let parts = [&said.cords, &said.beside_first, &said.untied];
                    let mut parts = parts.into_iter().flatten();
                    at(place(parts.find(|(length, _)| length == part)))
                }
                RunFault::Connections(_) => at(place(said.connections.as_ref())),
                RunFault::CordGauge(_) => at(place(said.cord_gauge.as_ref())),
                RunFault::Temperature(_) => at(place(said.temperature.as_ref())),
                _ => self.whole.clone(),
            };
            // a length that is a range makes several cases
            if found.iter().all(|(other, _)| *other != span) {
                found.push((span, fault.to_string()));
            }
        }
        for (span, text) in found {
            let help = "write what is really there; beyond these bounds only a measurement helps";
            words.fault(span, "outside what can be computed", text, help);
        }
    }

    pub(super) fn neighbours_known(said: &Said, words: &mut Words<'_>) {
        let own = said
            .neighbours
            .iter()
            .filter_map(|(_, rate, at)| Some((rate.as_ref()?, at)));
        let other = said.neighbour_rate.iter().map(|(rate, at)| (rate, at));
        for (rate, at) in own.chain(other) {
            if !in_copper(*rate) {
                let found = RunFault::Rate(*rate).to_string();
                let help = "write 100 Mb/s, 1, 2.5, 5, 10, 25 or 40 Gb/s";
                words.fault(at.clone(), "no such neighbour", found, help);
            }
        }
    }

    /// Refuses what is not said of glass or twinax.
    pub(super) fn only(said: &Said, words: &mut Words<'_>) {
        let power = said.class.as_ref().map(|(_, at)| at);
        let power = power.or(said.load.as_ref().map(|(_, at)| at));
        let lay = said.bundle.as_ref().map(|(_, at)| at);
        let pairs = said.pairs.as_ref().map(|(_, at)| at);
        let screen = said.screen.as_ref().map(|(_, at)| at);
        let neighbours = said.neighbours.first().map(|(_, _, at)| at);
        for at in [power, lay, pairs, screen, neighbours]
            .into_iter()
            .flatten()
        {
            let found = format!("'{}' is said of twisted pair", words.at(at));
            let help = "leave it out: fibre and twinax hear no neighbours and carry no power";
            words.fault(at.clone(), "not said of this cable", found, help);
        }
    }
}
