use super::hop::{Adds, Hop, HopKind};
use super::{BudgetFault, Builder, Warning, WarningKind};
use crate::hop::ethernet::{Headers, efficiency};
use crate::quantity::{DataRate, LinkRate, Ratio};
use crate::route::RouteLink;
use crate::site::{Medium, Port, Run};
use crate::working::{Column, How};

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
        let tagged = &self.site.network.tagged;
        let tag_pick = self
            .sheet
            .choice(tagged, |t| if *t { "yes" } else { "no" }.to_owned());
        let choice = self
            .catalogue
            .choice("network.headers", Headers::from_word)?;
        let pick = self
            .sheet
            .choose("network.headers", &choice, |h| h.word().to_owned());
        let name = "payload share of a frame";
        let mut by_tag = Vec::new();
        for (tagged, _) in tagged.value.options() {
            let mut options = Vec::new();
            for (headers, _) in choice.options() {
                let share = efficiency(mtu, *headers, u32::from(*tagged))
                    .map_err(|_| BudgetFault::model("network.mtu", "no room for headers"))?;
                options.push(self.sheet.known(
                    &format!("payload share, MTU {mtu}, {}", headers.word()),
                    share,
                    "IEEE 802.3 clauses 3.1.1, 3.2 and 4.4.2",
                ));
            }
            by_tag.push(self.sheet.pick(name, &pick, &options));
        }
        Ok(self.sheet.pick(name, &tag_pick, &by_tag))
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
        let mut errors = None;
        let (speed, note) = if run.negotiated.is_some() {
            let speed = self
                .sheet
                .known("rate of the link", best, "negotiated, as stated");
            (speed, format!("{best}: negotiated"))
        } else {
            let found = self.speed(run, link, (near, far), &common, best);
            errors = found.errors;
            (found.speed, found.note)
        };
        let mut ceiling = self.sheet.of3(
            &PAYLOAD,
            (&speed, efficiency, share),
            |r: LinkRate, e: Ratio, s: Ratio| r.signalled() * e * s,
        );
        if let Some(errors) = errors {
            ceiling = self.with_errors(&place, &ceiling, &errors)?;
        }
        Ok((ceiling, Some(speed), note))
    }
}

/// The lower of two rates.
pub(super) fn slower(a: DataRate, b: DataRate) -> DataRate {
    if b < a { b } else { a }
}

pub(super) fn port_note(link: &RouteLink, near: &Port, far: &Port, best: LinkRate) -> String {
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
