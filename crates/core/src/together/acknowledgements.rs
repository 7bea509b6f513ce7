//! What the acknowledgements of one direction take of the other, on links in full duplex.

use super::network::{Flow, Network, Place};
use crate::budget::{BudgetFault, HopKind, Towards};
use crate::catalogue::Catalogue;
use crate::hop::ethernet::{Headers, acknowledgement_share};
use crate::quantity::units::ratio::one;
use crate::site::Site;
use std::collections::HashMap;
use std::sync::Arc;

/// An MTU that nobody stated.
const USUAL_MTU: u32 = 1500;

impl Network {
    /// Where data pass a link both ways, each way also carries what acknowledges the other:
    /// `c' = c (1 + a u)`.
    ///
    /// `c` seconds a byte of payload, `a` wire of acknowledgements over wire of full frames
    /// ([`acknowledgement_share`]: 2.8 % at an MTU of 1500, 0.5 % at 9000), `u` share of the time that the
    /// other way is busy, 0 to 1: as if each flow got there what it gets alone, at most all of it. So it is
    /// exact where both ways are full, and at most `a` too slow where the other way gets less than that.
    /// Headers are the likeliest, which moves `a` by a fifth of a percent at most; a receiver that
    /// acknowledges less often than every second frame sends less than this.
    ///
    /// Errors: a row that the catalogue lacks.
    /// Source: RFC 9293 section 3.8.6.3; IEEE 802.3 clause 3.2.8. Checked by
    /// `validate_a_full_link_pays_for_the_acknowledgements_of_the_other_way`.
    pub(super) fn acknowledge(
        &mut self,
        site: &Site,
        catalogue: &Catalogue,
    ) -> Result<(), BudgetFault> {
        let headers = catalogue.choice("network.headers", Headers::from_word)?;
        let headers = *headers.likeliest();
        let links = |towards: Towards| {
            let places = self.places.iter().enumerate();
            places.filter(move |(_, place)| is_link(place, towards))
        };
        let back: HashMap<&str, usize> = links(Towards::Arrays)
            .map(|(up, place)| (place.id.as_str(), up))
            .collect();
        let both: Vec<(usize, usize)> = links(Towards::Desks)
            .filter_map(|(down, place)| Some((down, *back.get(place.id.as_str())?)))
            .collect();
        for (down, up) in both {
            let Some(place) = self.places.get(down) else {
                continue;
            };
            let mtu = mtu(site, &place.id);
            let share = acknowledgement_share(mtu, headers).get::<one>();
            let busy = [self.busy(down), self.busy(up)];
            for passing in &mut self.passings {
                let other = match passing.place {
                    at if at == down => &busy[1],
                    at if at == up => &busy[0],
                    _ => continue,
                };
                let cost = passing.cost.iter().zip(other);
                passing.cost = cost
                    .map(|(cost, busy)| cost * (1.0 + share * busy))
                    .collect();
            }
        }
        Ok(())
    }

    /// Share of the time that a place is busy if each of its flows gets what it gets alone, one a draw.
    fn busy(&self, place: usize) -> Vec<f64> {
        let mut sum = vec![0.0; self.count];
        for passing in self.passings.iter().filter(|p| p.place == place) {
            let Some(flow) = self.flows.get(passing.flow) else {
                continue;
            };
            for (draw, (sum, cost)) in sum.iter_mut().zip(passing.cost.iter()).enumerate() {
                *sum += wanted(flow, draw) * cost;
            }
        }
        for share in &mut sum {
            *share = share.min(1.0);
        }
        sum
    }
}

/// The most that a flow takes in a draw.
fn wanted(flow: &Flow, draw: usize) -> f64 {
    let caps = [&flow.demand, &flow.held_to].into_iter().flatten();
    let all: Vec<&Arc<[f64]>> = std::iter::once(&flow.alone).chain(caps).collect();
    let least = all.iter().filter_map(|cap| cap.get(draw)).copied();
    least.reduce(f64::min).unwrap_or(0.0)
}

fn is_link(place: &Place, towards: Towards) -> bool {
    place.kind == HopKind::Link && place.towards == Some(towards)
}

/// The smaller MTU of the two ends of a run.
fn mtu(site: &Site, id: &str) -> u32 {
    let ends = site
        .run_at(id)
        .into_iter()
        .flat_map(|run| [&run.from, &run.to]);
    let sizes = ends.filter_map(|end| Some(site.port(end)?.mtu));
    sizes.min().unwrap_or(USUAL_MTU)
}
