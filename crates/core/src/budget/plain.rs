//! Rates alone, without what else a flow tells: for searches that look at many sites.

use super::context::Context;
use super::evaluate::values;
use super::hop::{Chain, HopKind};
use super::run::Cabling;
use super::{BudgetFault, Question};
use crate::catalogue::Catalogue;
use crate::quantity::DataRate;
use crate::site::Site;
use crate::spread::Draws;
use crate::work::Direction;
use crate::working::Column;

/// The rate of one flow in each draw.
pub(crate) struct PlainFlow {
    /// Name of the array.
    pub array: String,
    /// The desk's port.
    pub port: String,
    /// Runs on the way by their ids, and what each carries.
    pub links: Vec<(String, Column<DataRate>)>,
    /// Which way.
    pub direction: Direction,
    /// Bytes a second, one a draw.
    pub rates: Vec<f64>,
}

/// What one desk gets, as in [`super::answer`], to the last bit. A flow over a link that does not come up is
/// left out.
///
/// Checked by `verify_plain_rates_are_those_of_the_answer`.
pub(crate) fn plain_rates(
    site: &Site,
    desk: &str,
    question: &Question,
    (catalogue, cabling): (&Catalogue, &Cabling),
    draws: &mut Draws,
) -> Result<Vec<PlainFlow>, BudgetFault> {
    let mut found = Vec::new();
    let Some(desk) = site.desks.iter().find(|d| d.name == desk) else {
        return Ok(found);
    };
    for route in crate::route::routes(site, &desk.name) {
        for array in site.arrays.iter().filter(|a| a.nas == route.nas) {
            for direction in Direction::BOTH {
                let count = draws.count();
                let known = (catalogue, cabling);
                let mut context = Context::light(site, known, draws, question, direction);
                match context.chain_over(desk, &route, array, &mut Vec::new()) {
                    Ok(chain) => found.push(PlainFlow {
                        array: array.name.clone(),
                        port: route.desk_port.clone(),
                        direction,
                        rates: values(&chain, count),
                        links: links(chain),
                    }),
                    Err(BudgetFault::NoLink(_)) => {}
                    Err(fault) => return Err(fault),
                }
            }
        }
    }
    Ok(found)
}

fn links(chain: Chain) -> Vec<(String, Column<DataRate>)> {
    let of_runs = chain
        .hops
        .into_iter()
        .filter(|hop| hop.kind == HopKind::Link);
    of_runs.map(|hop| (hop.id, hop.ceiling)).collect()
}

#[cfg(test)]
mod tests {
    use super::super::answer;
    use super::*;
    use crate::work::{Activity, Work};

    #[test]
    fn verify_plain_rates_are_those_of_the_answer() {
        let catalogue = Catalogue::embedded().unwrap();
        let cabling = Cabling::new(&catalogue).unwrap();
        let text = narrows_data::SITES
            .iter()
            .find(|(name, _)| *name == "granary-lane");
        let site = crate::site::read(text.unwrap().1, &[], &catalogue).unwrap();
        for activity in [Activity::Copy, Activity::Play] {
            let question = Question {
                work: Work::plain(activity),
                desk: None,
                working: false,
                need: None,
            };
            let whole = answer(&site, &question, &catalogue, &mut Draws::new(64)).unwrap();
            let mut draws = Draws::new(64);
            let mut plain = Vec::new();
            for desk in &site.desks {
                let known = (&catalogue, &cabling);
                plain.extend(plain_rates(&site, &desk.name, &question, known, &mut draws).unwrap());
            }
            assert_eq!(whole.flows.len(), plain.len());
            for (flow, plain) in whole.flows.iter().zip(&plain) {
                assert_eq!(
                    flow.rates, plain.rates,
                    "{} {:?}",
                    flow.desk, plain.direction
                );
            }
        }
        let none = Question {
            work: Work::plain(Activity::Copy),
            desk: None,
            working: false,
            need: None,
        };
        let known = (&catalogue, &cabling);
        let found = plain_rates(&site, "nobody", &none, known, &mut Draws::new(2)).unwrap();
        assert!(found.is_empty());
    }
}
