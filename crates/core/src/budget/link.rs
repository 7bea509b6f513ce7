use super::ends::option_at;
use super::hop::{Hop, HopKind};
use super::part::Part;
use super::{BudgetFault, Context, Warning, WarningKind, duplex, lost};
use crate::hop::ethernet::{Headers, NoRoom, efficiency, segment};
use crate::hop::half_duplex::fastest_half_duplex;
use crate::quantity::{DataRate, LinkRate, Measure, Ratio};
use crate::route::RouteLink;
use crate::site::{Chosen, Duplex, Machine, Medium, Port, Radio, Run, Site};
use crate::spread::Choice;
use crate::work::{Activity, Direction};
use crate::working::{Column, How, Pick};

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

const BOTH: How = How {
    name: "left by clocks, and reached by the sender",
    formula: "s w",
    symbols: &["s", "w"],
    source: "losses one after the other",
};

const TWICE: How = How {
    name: "left by a link on the same air",
    formula: "1 / (1/a + 1/b)",
    symbols: &["a", "b"],
    source: "one radio sends or hears, one after the other",
};

/// A link's payload, its rate unless it is radio, and what makes it so.
type Linked = (Payload, Option<Column<LinkRate>>, String);

/// What a link carries.
pub(super) struct Payload {
    /// Of one stream.
    pub one: Column<DataRate>,
    /// Of several, where one gets less than fits.
    pub of_all: Option<Column<DataRate>>,
}

/// What every frame of a route looks like.
struct Frames<'a> {
    mtu: u32,
    tagged: &'a Chosen<bool>,
    tag_pick: Pick,
    headers: Choice<Headers>,
    headers_pick: Pick,
    /// Payload over wire bytes in full duplex.
    efficiency: Column<Ratio>,
    /// Share left by clocks and control traffic.
    share: Column<Ratio>,
}

/// What the links of a route come to.
pub(super) struct Links {
    /// The slowest link's rate; `None` where every hop is radio.
    pub slowest: Option<Column<LinkRate>>,
    /// The slowest link's payload.
    pub payload: Option<Column<DataRate>>,
    /// Whether all links were taken over from before.
    pub same: bool,
}

impl<'a> Context<'a, '_> {
    /// Every link of a route, put into a part.
    pub(super) fn links(
        &mut self,
        links: &[RouteLink],
        part: &mut Part,
    ) -> Result<Links, BudgetFault> {
        let same_frames = self.same_frames(links);
        let mut frames = None;
        let mut airs: Vec<(String, Column<DataRate>)> = Vec::new();
        let mut all = Links {
            slowest: None,
            payload: None,
            same: true,
        };
        for link in links {
            let Some(run) = self.site.runs.get(link.run) else {
                continue;
            };
            let id = format!("run.{}", run.number);
            let same = same_frames && self.same_link(link);
            let hop = if let Some(hop) = self.taken_over(same, &id) {
                hop.clone()
            } else {
                all.same = false;
                let known = match frames.take() {
                    Some(known) => known,
                    None => self.framing(links, part)?,
                };
                let (payload, signalled, note) = self.link(run, link, &known, part)?;
                frames = Some(known);
                Hop {
                    of_all: payload.of_all,
                    signalled,
                    ..Hop::new(
                        id,
                        HopKind::Link,
                        format!("{} to {}", short(&link.near), short(&link.far)),
                        note,
                        payload.one,
                    )
                }
            };
            let hop = self.behind_a_relay(run, hop, &mut airs);
            let (ceiling, signalled) = (&hop.ceiling, &hop.signalled);
            if let Some(rate) = signalled {
                all.slowest = Some(match all.slowest {
                    None => rate.clone(),
                    Some(other) => self.sheet.of2(&SMALLER, &other, rate, std::cmp::min),
                });
            }
            all.payload = Some(match all.payload {
                None => ceiling.clone(),
                Some(other) => self.sheet.of2(&SMALLER, &other, ceiling, slower),
            });
            part.hops.push(hop);
        }
        Ok(all)
    }

    /// A radio link whose air the data have passed before: every byte takes the time of both, `1/(1/a + 1/b)`, and of
    /// several streams each way takes its own. Nothing changes anywhere else. Assumes that a relay hears
    /// and sends in turn. Checked by `a_relay_pays_twice`.
    fn behind_a_relay(
        &mut self,
        run: &Run,
        mut hop: Hop,
        airs: &mut Vec<(String, Column<DataRate>)>,
    ) -> Hop {
        let Some(air) = self.site.air_of(run) else {
            return hop;
        };
        let own = hop.ceiling.clone();
        if let Some((_, before)) = airs.iter_mut().find(|(other, _)| *other == air) {
            hop.ceiling = self.sheet.of2(&TWICE, before, &own, in_turn);
            hop.of_all.get_or_insert(own);
            hop.note.push_str(", on the air that the other link uses");
            *before = hop.ceiling.clone();
        } else {
            airs.push((air, own));
        }
        hop
    }

    /// Frames with the smallest MTU on the way.
    fn framing(&mut self, links: &[RouteLink], part: &mut Part) -> Result<Frames<'a>, BudgetFault> {
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
            part.warnings.push(Warning::new(
                WarningKind::MixedMtu,
                place,
                format!("ports on this way use different MTUs; the smallest, {mtu}, is assumed"),
                "set one MTU on every port, or a large packet may vanish on the way",
            ));
        }
        let site = self.site;
        let tagged = &site.network.tagged;
        let tag_pick = self
            .sheet
            .choice(tagged, |t| if *t { "yes" } else { "no" }.to_owned());
        let headers = self
            .catalogue
            .choice("network.headers", Headers::from_word)?;
        let headers_pick = self
            .sheet
            .choose("network.headers", &headers, |h| h.word().to_owned());
        let mut frames = Frames {
            mtu,
            tagged,
            tag_pick,
            headers,
            headers_pick,
            efficiency: Column::same(Ratio::default()),
            share: Column::same(Ratio::default()),
        };
        let source = "IEEE 802.3 clauses 3.1.1, 3.2 and 4.4.2";
        frames.efficiency = self.by_frame(
            &frames,
            ("payload share of a frame", "payload share", source),
            efficiency,
        )?;
        frames.share = self.sheet.draw(
            "framing.share",
            "share left by clocks and control traffic",
            &self.catalogue.spread::<Ratio>("framing.share")?,
            &self.catalogue.number("framing.share")?.source,
        );
        if self.activity() == Activity::Wire {
            let reached = self.sheet.draw(
                "wire.share",
                "what a stream from memory to memory reaches",
                &self.catalogue.spread::<Ratio>("wire.share")?,
                &self.catalogue.number("wire.share")?.source,
            );
            frames.share = self
                .sheet
                .of2(&BOTH, &frames.share, &reached, |a: Ratio, b: Ratio| a * b);
        }
        Ok(frames)
    }

    /// What depends on MTU, headers and tags, in each draw for those that it has.
    fn by_frame<Q: Measure>(
        &mut self,
        frames: &Frames<'_>,
        (name, of_one, source): (&str, &str, &str),
        of: impl Fn(u32, Headers, u32) -> Result<Q, NoRoom>,
    ) -> Result<Column<Q>, BudgetFault> {
        let mtu = frames.mtu;
        let mut by_tag = Vec::new();
        for (tagged, _) in frames.tagged.value.options() {
            let mut options = Vec::new();
            for (headers, _) in frames.headers.options() {
                let value = of(mtu, *headers, u32::from(*tagged))
                    .map_err(|_| BudgetFault::model("network.mtu", "no room for headers"))?;
                options.push(self.sheet.known(
                    &format!("{of_one}, MTU {mtu}, {}", headers.word()),
                    value,
                    source,
                ));
            }
            by_tag.push(self.sheet.pick(name, &frames.headers_pick, &options));
        }
        Ok(self.sheet.pick(name, &frames.tag_pick, &by_tag))
    }

    fn link(
        &mut self,
        run: &Run,
        link: &RouteLink,
        frames: &Frames<'_>,
        part: &mut Part,
    ) -> Result<Linked, BudgetFault> {
        if let Medium::Wireless { carries } = &run.medium {
            let goodput = match carries {
                Radio::Payload(goodput) => self.sheet.value("payload of the radio link", goodput),
                Radio::Link(radio) => self.through_the_air(run, radio, link, part)?,
            };
            let payload = self.less_losses((run, link), goodput, frames)?;
            let note = format!("radio, shared and half duplex{}", lost::noted(run));
            return Ok((payload, None, note));
        }
        let place = format!("run.{}", run.number);
        let (Some(near), Some(far)) = (self.site.port(&link.near), self.site.port(&link.far))
        else {
            return Err(BudgetFault::model(&place, "a port is missing"));
        };
        let common = common(self.site, run).unwrap_or_default();
        let Some(&best) = common.iter().max() else {
            part.warnings.push(Warning::new(
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
            let found = self.speed((run, link), (near, far), (&common, best), part);
            errors = found.errors;
            let all = port_note(link, near, far, best);
            let held_back = !duplex::noted(run.duplex).is_empty();
            if held_back && found.note == all {
                // the ports know more than a link in half duplex does
                (found.speed, best.to_string())
            } else {
                (found.speed, found.note)
            }
        };
        if let Some(known) = &run.errors {
            let pick = self
                .sheet
                .choice(known, |so| if *so { "yes" } else { "no" }.to_owned());
            let told = |draw| option_at(&known.value, &pick, draw);
            errors = Some((0..self.sheet.count()).map(told).collect());
        }
        let efficiency = if run.duplex == Some(Duplex::Half) {
            let source = "Metcalfe and Boggs 1976; IEEE 802.3 clause 4.4.2";
            let name = "payload share of a wire in half duplex";
            self.by_frame(frames, (name, name, source), duplex::half_duplex)?
        } else {
            frames.efficiency.clone()
        };
        let mut ceiling = self.sheet.of3(
            &PAYLOAD,
            (&speed, &efficiency, &frames.share),
            |r: LinkRate, e: Ratio, s: Ratio| r.signalled() * e * s,
        );
        if run.duplex == Some(Duplex::Mismatched) {
            ceiling = self.mismatched(run, &ceiling, part)?;
        }
        if let Some(errors) = errors {
            ceiling = self.with_errors(&place, &ceiling, &errors, part)?;
        }
        let payload = self.less_losses((run, link), ceiling, frames)?;
        let members = near.members.max(far.members);
        let joined = if members > 1 {
            format!(", one flow uses one of {members} joined links")
        } else {
            String::new()
        };
        let note = format!(
            "{note}{}{}{joined}",
            duplex::noted(run.duplex),
            lost::noted(run)
        );
        Ok((payload, Some(speed), note))
    }

    /// What is left where frames are lost on the run, or dropped by the switch that sends into it.
    fn less_losses(
        &mut self,
        (run, link): (&Run, &RouteLink),
        payload: Column<DataRate>,
        frames: &Frames<'_>,
    ) -> Result<Payload, BudgetFault> {
        let from = match self.direction {
            Direction::Read => &link.far,
            Direction::Write => &link.near,
        };
        let dropped = run
            .drops
            .as_ref()
            .filter(|_| from.machine == Machine::Switch);
        let mut left = Payload {
            one: payload,
            of_all: None,
        };
        for share in [run.lost.as_ref(), dropped].into_iter().flatten() {
            let name = "payload of one segment";
            let segment = self.by_frame(
                frames,
                (name, name, "RFC 791, 8200, 9293 and 7323"),
                |mtu, headers, _| Ok(segment(mtu, headers)),
            )?;
            left = self.with_losses(&left, share, &segment)?;
        }
        Ok(left)
    }
}

/// The rates that both ends of a run know and that its state allows, lowest first; `None` for
/// radio.
pub(super) fn common(site: &Site, run: &Run) -> Option<Vec<LinkRate>> {
    if matches!(run.medium, Medium::Wireless { .. }) {
        return None;
    }
    let (from, to) = (site.port(&run.from)?, site.port(&run.to)?);
    let most = match run.duplex {
        Some(Duplex::Half | Duplex::Mismatched) => Some(fastest_half_duplex()),
        Some(Duplex::Full) | None => None,
    };
    let allowed = |rate: &LinkRate| {
        [most, run.negotiated]
            .into_iter()
            .flatten()
            .all(|most| *rate <= most)
    };
    let both = from.knows.iter().filter(|rate| to.knows.contains(rate));
    Some(both.copied().filter(allowed).collect())
}

/// Two ways one after the other, byte for byte.
fn in_turn(a: DataRate, b: DataRate) -> DataRate {
    DataRate::from_base(1.0 / (1.0 / a.base() + 1.0 / b.base()))
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
