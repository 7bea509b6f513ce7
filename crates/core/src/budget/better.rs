//! What the next better part of each place would give, each asked as an edit of the site.

use super::parts::{BetterPart, parts};
use super::{Answer, BudgetFault, Cabling, Flow, FlowHop, Question, RateRange, answer_with};
use crate::catalogue::Catalogue;
use crate::change::Edit;
use crate::quantity::in_megabytes_per_second;
use crate::site::{Site, read_bytes};
use crate::spread::Draws;
use serde::Serialize;
use std::collections::HashMap;

/// The next better part of a place.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Better {
    /// What it is, in words.
    pub part: String,
    /// The edits of the site that it is, as `--set` takes them.
    pub set: Vec<String>,
    /// What the flow gets with it.
    pub megabytes_per_s: RateRange,
}

/// A part that raises the middle of a flow by less is lost in the scatter of two copies.
const WORTH: f64 = 1.05;

/// The site as it is written, and the edits that were asked before.
#[derive(Clone, Copy, Debug)]
pub struct Written<'a> {
    /// Its text.
    pub bytes: &'a [u8],
    /// Edits.
    pub edits: &'a [String],
}

/// Writes into each place of an answer what the next better part of it would give, where lifting the
/// place, or all that are as narrow together with it, would be noticed at all.
///
/// One part at a time, by the same question and the same draws; `answer` is that of `site`. Places
/// that are no part (windows, requests, programs) and parts that the site cannot be edited to have
/// none. Which parts there are is [`parts`]' to say. Checked by `verify_a_better_part_is_the_budget_of_its_edit`.
///
/// # Errors
/// Where the catalogue lacks a row.
pub fn better(
    answer: &mut Answer,
    (site, written): (&Site, Written<'_>),
    question: &Question,
    catalogue: &Catalogue,
    draws: &mut Draws,
) -> Result<(), BudgetFault> {
    let cabling = Cabling::new(catalogue)?;
    let mut asked: HashMap<(String, Vec<String>), Vec<Flow>> = HashMap::new();
    for flow in &mut answer.flows {
        let now = in_megabytes_per_second(flow.megabytes_per_s.p50);
        if flow.desk.is_empty() {
            continue;
        }
        let ideas: Vec<_> = flow
            .hops
            .iter()
            .map(|hop| {
                let id = std::slice::from_ref(&hop.id);
                if lifted(flow, hop).is_some_and(|lifted| lifted > WORTH * now) {
                    parts(site, flow, id)
                } else {
                    Vec::new()
                }
            })
            .collect();
        let (desk, array, port, direction) = (
            flow.desk.clone(),
            flow.array.clone(),
            flow.port.clone(),
            flow.direction,
        );
        for (hop, ideas) in flow.hops.iter_mut().zip(ideas) {
            for BetterPart { part, sets: set } in ideas {
                let key = (desk.clone(), set.clone());
                if !asked.contains_key(&key) {
                    let flows = flows(written, &key, question, (catalogue, &cabling), draws)?;
                    asked.insert(key.clone(), flows);
                }
                let same = |other: &&Flow| {
                    other.array == array && other.port == port && other.direction == direction
                };
                let found = asked.get(&key).and_then(|flows| flows.iter().find(same));
                let rate = found.map(|found| found.megabytes_per_s);
                // a part that the rest of the place cannot use is passed over for the next one
                if let Some(rate) = rate.filter(|r| in_megabytes_per_second(r.p50) > WORTH * now) {
                    hop.next_better = Some(Better {
                        part: part.to_string(),
                        set,
                        megabytes_per_s: rate,
                    });
                    break;
                }
            }
        }
    }
    Ok(())
}

/// What the flow would get with a place lifted, or with all that are as narrow lifted together with it.
fn lifted(flow: &Flow, hop: &FlowHop) -> Option<f64> {
    let alike = flow
        .limits
        .iter()
        .filter(|limit| limit.hops.contains(&hop.id))
        .filter_map(|limit| limit.if_lifted_megabytes_per_s);
    hop.if_lifted_megabytes_per_s
        .into_iter()
        .chain(alike)
        .map(in_megabytes_per_second)
        .max_by(f64::total_cmp)
}

/// The flows of a desk with edits; none where the site cannot be so.
fn flows(
    written: Written<'_>,
    (desk, set): &(String, Vec<String>),
    question: &Question,
    (catalogue, cabling): (&Catalogue, &Cabling),
    draws: &mut Draws,
) -> Result<Vec<Flow>, BudgetFault> {
    let all: Vec<&String> = written.edits.iter().chain(set).collect();
    let Ok(edits) = Edit::parse_all(&all) else {
        return Ok(Vec::new());
    };
    let Ok(site) = read_bytes(written.bytes, &edits, catalogue) else {
        return Ok(Vec::new());
    };
    let question = Question {
        desk: Some(desk.clone()),
        working: false,
        ..question.clone()
    };
    Ok(answer_with(&site, &question, catalogue, cabling, draws)?.flows)
}
