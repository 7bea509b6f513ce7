use super::hop::{Adds, Hop, HopKind};
use super::{BudgetFault, Builder, Warning, WarningKind};
use crate::hop::copper::{carries_score, rows};
use crate::hop::ethernet::{Headers, efficiency};
use crate::quantity::{DataRate, LinkRate, Measure, Ratio, show};
use crate::route::RouteLink;
use crate::site::{Medium, Port, Run};
use crate::working::{Column, How, Sheet};
use std::sync::Arc;

/// A chance of failing below one in thirty thousand is not drawn.
const CERTAIN_SCORE: f64 = 4.0;

/// A chance above this is not worth a warning.
const NEARLY_CERTAIN: f64 = 0.99;

const SPEED: How = How {
    name: "rate of the link",
    formula: "the fastest rate that both ends know and the run carries",
    symbols: &["length"],
    source: "IEEE 802.3 clause 28 (negotiation); rows of reach.csv",
};

const PAYLOAD: How = How {
    name: "payload of the link",
    formula: "R e s",
    symbols: &["R", "e", "s"],
    source: "IEEE 802.3 clauses 3.1.1, 3.2 and 4.4.2; RFC 791, 8200, 9293, 7323",
};

const SMALLER: How = How {
    name: "the slower of two",
    formula: "min(a, b)",
    symbols: &["a", "b"],
    source: "hops at work at the same time",
};

/// A link's payload, its rate unless it is radio, and what makes it so.
type Linked = (Column<DataRate>, Option<Column<LinkRate>>, String);

/// What the links of a route come to.
pub(super) struct Links {
    /// The slowest link's rate; `None` where every hop is radio.
    pub slowest: Option<Column<LinkRate>>,
    /// The slowest link's payload.
    pub payload: Option<Column<DataRate>>,
}

impl Builder<'_, '_> {
    /// Adds every link of a route.
    pub(super) fn links(&mut self, links: &[RouteLink]) -> Result<Links, BudgetFault> {
        let efficiency = self.framing(links)?;
        let share = self.sheet.draw(
            "framing.share",
            "share left by clocks and control traffic",
            &self.catalogue.spread::<Ratio>("framing.share")?,
            &self.catalogue.number("framing.share")?.source,
        );
        let mut all = Links {
            slowest: None,
            payload: None,
        };
        for link in links {
            let Some(run) = self.site.runs.get(link.run) else {
                continue;
            };
            let (ceiling, signalled, note) = self.link(run, link, &efficiency, &share)?;
            if let Some(rate) = &signalled {
                all.slowest = Some(match all.slowest {
                    None => rate.clone(),
                    Some(other) => self.sheet.of2(&SMALLER, &other, rate, std::cmp::min),
                });
            }
            all.payload = Some(match all.payload {
                None => ceiling.clone(),
                Some(other) => self.sheet.of2(&SMALLER, &other, &ceiling, slower),
            });
            self.hops.push(Hop {
                id: format!("run.{}", run.number),
                kind: HopKind::Link,
                label: format!("{} to {}", short(&link.near), short(&link.far)),
                note,
                ceiling,
                signalled,
                adds: Adds::Never,
                empty: None,
            });
        }
        Ok(all)
    }

    /// Payload over wire bytes with the smallest MTU on the way.
    fn framing(&mut self, links: &[RouteLink]) -> Result<Column<Ratio>, BudgetFault> {
        let mut sizes: Vec<u32> = links
            .iter()
            .flat_map(|l| [&l.near, &l.far])
            .filter_map(|end| self.site.port(end))
            .map(|p| p.mtu)
            .collect();
        sizes.sort_unstable();
        let mtu = sizes.first().copied().unwrap_or(1500);
        if sizes.last().is_some_and(|&most| most > mtu) {
            let place = links.first().map_or(String::new(), |l| l.near.to_string());
            self.warn(Warning::new(
                WarningKind::MixedMtu,
                place,
                format!("ports on this way use different MTUs; the smallest, {mtu}, is assumed"),
                "set one MTU on every port, or a large packet may vanish on the way",
            ));
        }
        let tags = u32::from(self.site.network.tagged);
        let choice = self
            .catalogue
            .choice("network.headers", Headers::from_word)?;
        let pick = self
            .sheet
            .choose("network.headers", &choice, |h| h.word().to_owned());
        let mut options = Vec::new();
        for (headers, _) in choice.options() {
            let share = efficiency(mtu, *headers, tags)
                .map_err(|_| BudgetFault::model("network.mtu", "no room for headers"))?;
            options.push(self.sheet.known(
                &format!("payload share, MTU {mtu}, {}", headers.word()),
                share,
                "IEEE 802.3 clauses 3.1.1, 3.2 and 4.4.2",
            ));
        }
        Ok(self.sheet.pick("payload share of a frame", &pick, &options))
    }

    fn link(
        &mut self,
        run: &Run,
        link: &RouteLink,
        efficiency: &Column<Ratio>,
        share: &Column<Ratio>,
    ) -> Result<Linked, BudgetFault> {
        if let Medium::Wireless { goodput } = &run.medium {
            let ceiling = self.sheet.value("payload of the radio link", goodput);
            return Ok((ceiling, None, "radio, shared and half duplex".to_owned()));
        }
        let place = format!("run.{}", run.number);
        let (Some(near), Some(far)) = (self.site.port(&link.near), self.site.port(&link.far))
        else {
            return Err(BudgetFault::model(&place, "a port is missing"));
        };
        let common: Vec<LinkRate> = near
            .knows
            .iter()
            .copied()
            .filter(|r| far.knows.contains(r))
            .filter(|r| run.negotiated.is_none_or(|most| *r <= most))
            .collect();
        let Some(&best) = common.iter().max() else {
            self.warn(Warning::new(
                WarningKind::NoCommonRate,
                place.clone(),
                format!(
                    "{} and {} share no rate, so this link does not come up",
                    short(&link.near),
                    short(&link.far)
                ),
                "use a port that knows the other one's rate",
            ));
            return Err(BudgetFault::NoLink(place));
        };
        let (speed, note) = if run.negotiated.is_some() {
            let speed = self
                .sheet
                .known("rate of the link", best, "negotiated, as stated");
            (speed, format!("{best}: negotiated"))
        } else {
            self.speed(run, link, (near, far), &common, best)
        };
        let ceiling = self.sheet.of3(
            &PAYLOAD,
            (&speed, efficiency, share),
            |r: LinkRate, e: Ratio, s: Ratio| r.signalled() * e * s,
        );
        Ok((ceiling, Some(speed), note))
    }

    /// The rate that a run comes up with.
    fn speed(
        &mut self,
        run: &Run,
        link: &RouteLink,
        (near, far): (&Port, &Port),
        common: &[LinkRate],
        best: LinkRate,
    ) -> (Column<LinkRate>, String) {
        let port_note = port_note(link, near, far, best);
        let place = format!("run.{}", run.number);
        let Medium::Copper {
            category,
            length,
            bundle,
        } = &run.medium
        else {
            let speed = self
                .sheet
                .known("rate of the link", best, "both ends know it");
            return (speed, port_note);
        };
        // chances for every category and bundle that it may be
        let table: Vec<Vec<Vec<_>>> = category
            .value
            .options()
            .iter()
            .map(|(c, _)| {
                bundle
                    .value
                    .options()
                    .iter()
                    .map(|(b, _)| rows(self.catalogue, c, b, common))
                    .collect()
            })
            .collect();
        let least = common.iter().copied().min().unwrap_or(best);
        // the longest that a draw may bring, with room beyond the 95th percentile
        let longest = length.value.quantile(1.0 - 1e-4);
        let certain = table.iter().flatten().all(|rows| {
            rows.first()
                .is_some_and(|r| r.rate == best && carries_score(r, longest) > CERTAIN_SCORE)
        });
        if certain {
            let speed = self.sheet.known(
                "rate of the link",
                best,
                "both ends know it and the run carries it",
            );
            return (speed, port_note);
        }
        let category_pick = self.sheet.choice(category, Clone::clone);
        let bundle_pick = self.sheet.choice(bundle, Clone::clone);
        let lengths = self.sheet.value("length of the run", length);
        let luck = self
            .sheet
            .slices(&format!("{place}.carries"), "how well this run was made");
        let scores = self.sheet.scores();
        let mut values = Vec::with_capacity(self.sheet.count());
        let mut at_best = 0usize;
        for (draw, &slice) in luck.iter().enumerate() {
            // one luck a run: a run that carries a fast rate carries the slower ones too
            let luck = scores.get(slice as usize).copied().unwrap_or(0.0);
            let metres = lengths.at(draw);
            let carried = table
                .get(category_pick.at(draw))
                .and_then(|row| row.get(bundle_pick.at(draw)))
                .and_then(|rows| rows.iter().find(|r| luck < carries_score(r, metres)))
                .map_or(least, |r| r.rate);
            at_best += usize::from(carried == best);
            values.push(carried.base());
        }
        let chance = at_best as f64 / values.len() as f64;
        let values: Arc<[f64]> = values.into();
        let speed = self.sheet.made(&SPEED, values, &[Sheet::step_of(&lengths)]);
        let note = if at_best == 0 {
            format!(
                "{}: the cable carries no more",
                show(speed.percentiles().p50)
            )
        } else if chance > NEARLY_CERTAIN {
            port_note
        } else {
            self.warn(Warning::new(
                WarningKind::CableMayFallBack,
                place,
                format!(
                    "the run from {} to {} carries {best} with a chance of {:.0} %",
                    short(&link.near),
                    short(&link.far),
                    chance * 100.0
                ),
                "read the negotiated rate on either port, or have this run certified",
            ));
            format!(
                "{best} in {:.0} % of cases, else the cable falls back",
                chance * 100.0
            )
        };
        (speed, note)
    }
}

/// The lower of two rates.
pub(super) fn slower(a: DataRate, b: DataRate) -> DataRate {
    if b < a { b } else { a }
}

fn port_note(link: &RouteLink, near: &Port, far: &Port, best: LinkRate) -> String {
    let top = |port: &Port| port.knows.iter().copied().max().unwrap_or(best);
    match (top(near) > best, top(far) > best) {
        (true, false) => format!("{best}: {} knows no more", short(&link.far)),
        (false, true) => format!("{best}: {} knows no more", short(&link.near)),
        (true, true) => format!("{best}: the fastest rate that both ends know"),
        (false, false) => format!("{best} at both ends"),
    }
}

/// A port as people say it: machine and port.
pub(super) fn short(end: &crate::site::End) -> String {
    format!("{} {}", end.name, end.port)
}
