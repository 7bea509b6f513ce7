//! Ports: what they know, what plugs in and how they are joined to their machine.

use super::fault::{Fault, Place};
use super::model::{Attachment, End, Machine, Port, Socket};
use super::reader::{Part, Read, Reader};
use super::schema::Section;
use super::tree::Value;
use super::values::no_such_word;
use crate::piece::Piece;
use crate::quantity::{LinkRate, UnitFault};

/// A port that could be read, with what the checks of its runs need.
#[derive(Clone, Debug)]
pub(super) struct Fitted {
    pub(super) end: End,
    pub(super) port: Port,
    pub(super) place: Place,
    /// Why no port of this rate is known, unless it turns out to be a radio.
    pub(super) no_such_rate: Option<Fault>,
}

fn list(rates: &[LinkRate]) -> String {
    rates
        .iter()
        .map(LinkRate::to_string)
        .collect::<Vec<_>>()
        .join(", ")
}

impl Reader<'_> {
    /// The ports of a machine; `mtu` is what the network says of them.
    pub(super) fn ports(
        &mut self,
        part: &Part<'_>,
        machine: Machine,
        mtu: u32,
        fitted: &mut Vec<Fitted>,
    ) -> Read<Vec<Port>> {
        let none = part.table.get("port").is_none_or(
            |entry| matches!(&entry.node.value, Value::Table(table) if table.entries.is_empty()),
        );
        if none {
            return Err(self.missing(part, "port"));
        }
        let parts = self.named(part, Section::Port, "port");
        let mut ports = Vec::new();
        for port in &parts {
            let end = End {
                machine,
                name: part.name.clone(),
                port: port.name.clone(),
            };
            if let Ok(one) = self.port(port, end, mtu) {
                ports.push(one.port.clone());
                fitted.push(one);
            }
        }
        Ok(ports)
    }

    fn port(&mut self, part: &Part<'_>, end: End, mtu: u32) -> Read<Fitted> {
        let rate = match self.link_rate(part, "rate") {
            Ok(Some(rate)) => Ok(rate),
            Ok(None) => Err(self.missing(part, "rate")),
            Err(reported) => Err(reported),
        };
        let socket = self.word(part, "socket", "socket");
        let count = self.whole(part, "count");
        let attachment = self.attachment(part);
        let own_mtu = self.whole(part, "mtu");
        let members = self.whole(part, "members");
        let stated = self.rates(part);
        let (rate, stated) = (rate?, stated?);
        let exists = |word: &str| self.catalogue.port(rate, word).is_some();
        let socket = match socket?.as_deref() {
            Some("cage") => Socket::Cage,
            // a rate that no copper port has leaves only one kind
            None if !exists("copper") && exists("cage") => Socket::Cage,
            _ => Socket::Copper,
        };
        let (knows, no_such_rate) = match stated {
            Some(knows) => (self.with_own_rate(part, knows, rate)?, None),
            None => self.expanded(part, rate, socket),
        };
        Ok(Fitted {
            port: Port {
                name: end.port.clone(),
                rate,
                knows,
                socket,
                count: count?.unwrap_or(1) as usize,
                attachment: attachment?,
                mtu: own_mtu?.unwrap_or(mtu),
                members: members?.unwrap_or(1) as usize,
            },
            end,
            place: part.place.clone(),
            no_such_rate,
        })
    }

    fn with_own_rate(
        &mut self,
        part: &Part<'_>,
        knows: Vec<LinkRate>,
        rate: LinkRate,
    ) -> Read<Vec<LinkRate>> {
        if knows.last() == Some(&rate) {
            return Ok(knows);
        }
        Err(self.report(
            Fault::new(
                part.place_of("rates"),
                format!("{} and its rate disagree", part.id("rates")),
                format!("the highest of these is not {rate}"),
                format!("write the port's own rate, {rate}, as the highest of its rates"),
            )
            .also(part.place_of("rate"), "the rate it is sold as"),
        ))
    }

    /// The rates that a port knows by what it is sold as.
    fn expanded(
        &mut self,
        part: &Part<'_>,
        rate: LinkRate,
        socket: Socket,
    ) -> (Vec<LinkRate>, Option<Fault>) {
        let all = || {
            self.catalogue
                .ports()
                .iter()
                .filter(|p| p.socket == socket.word())
        };
        let Some(row) = self.catalogue.port(rate, socket.word()) else {
            let rates: Vec<LinkRate> = all().map(|p| p.rate).collect();
            let fault = Fault::new(
                part.place_of("rate"),
                format!("{} is not the rate of any port", part.id("rate")),
                format!("no {} port is sold as {rate}", socket.word()),
                format!(
                    "write one of {}, or say in 'rates' what the port knows",
                    list(&rates)
                ),
            );
            return (vec![rate], Some(fault));
        };
        let missing: Vec<LinkRate> = all()
            .map(|p| p.rate)
            .filter(|r| *r < rate && row.knows.first().is_some_and(|least| r > least))
            .filter(|r| !row.knows.contains(r))
            .collect();
        let mut knows = row.knows.clone();
        knows.sort_unstable();
        if !missing.is_empty()
            && let Some(field) = Section::Port.field("rates")
        {
            let because = format!(
                "a {rate} {} port of the older kind knows {}, not {}; {}",
                socket.word(),
                list(&knows),
                list(&missing),
                row.source
            );
            self.assume(
                part,
                part.id("rates"),
                list(&knows),
                because,
                field.find_out,
            );
        }
        (knows, None)
    }

    /// The rates that the person says a port knows, the highest last.
    fn rates(&mut self, part: &Part<'_>) -> Read<Option<Vec<LinkRate>>> {
        let Some((text, node)) = self.text(part, "rates")? else {
            return Ok(None);
        };
        let mut rates = Vec::new();
        for piece in Piece::of(text).split(',') {
            let rate = piece.read::<LinkRate>().map_err(|mut fault| {
                fault.instead = None;
                let title = format!("{} are not rates of a link", part.id("rates"));
                self.unit(node, title, fault)
            })?;
            rates.push(rate);
        }
        rates.sort_unstable();
        rates.dedup();
        Ok(Some(rates))
    }

    fn attachment(&mut self, part: &Part<'_>) -> Read<Option<Attachment>> {
        let slot = self.slot(part);
        let adapter = self.word(part, "adapter", "adapter");
        match (slot?, adapter?) {
            (Some(_), Some(_)) => Err(self.report(
                Fault::new(
                    part.place_of("adapter"),
                    format!("{} has a slot and an adapter", part.path),
                    "a port hangs on one of the two",
                    "remove 'slot' or 'adapter'",
                )
                .also(part.place_of("slot"), "the slot"),
            )),
            (Some(slot), None) => Ok(Some(slot)),
            (None, Some(word)) => Ok(Some(Attachment::Adapter(word))),
            (None, None) => Ok(None),
        }
    }

    fn slot(&mut self, part: &Part<'_>) -> Read<Option<Attachment>> {
        let Some((text, node)) = self.text(part, "slot")? else {
            return Ok(None);
        };
        let lower = text.to_lowercase();
        let mut words = lower.split_whitespace();
        let pcie = words.next() == Some("pcie");
        let generation = words
            .next()
            .and_then(|w| {
                w.trim_start_matches("gen")
                    .trim_end_matches(".0")
                    .parse::<u8>()
                    .ok()
            })
            .filter(|g| (1..=5).contains(g));
        let lanes = words
            .next()
            .and_then(|w| w.strip_prefix('x'))
            .and_then(|w| w.parse::<u8>().ok())
            .filter(|l| [1, 2, 4, 8, 16].contains(l));
        if let (true, Some(generation), Some(lanes), None) = (pcie, generation, lanes, words.next())
        {
            return Ok(Some(Attachment::Slot { generation, lanes }));
        }
        let fault = UnitFault {
            span: 0..text.len(),
            found: format!("'{text}' is not written like a slot"),
            help:
                "write pcie, the generation from 1 to 5, and x1, x2, x4, x8 or x16: \"pcie 3 x4\""
                    .to_owned(),
            instead: None,
        };
        Err(self.unit(node, format!("{} is not a slot", part.id("slot")), fault))
    }

    /// A bus by its word, for an enclosure.
    pub(super) fn adapter_rate(
        &mut self,
        part: &Part<'_>,
        key: &str,
    ) -> Read<Option<super::model::Value<crate::quantity::DataRate>>> {
        match self.word(part, key, "adapter")? {
            Some(word) => {
                let row = format!("adapter.{word}");
                // the bus is part of the name: another bus is another piece of luck
                self.constant(part, format!("{}/{word}", part.id(key)), &row)
                    .map(Some)
            }
            None => Ok(None),
        }
    }

    /// The name of a NAS.
    pub(super) fn nas_name(&mut self, part: &Part<'_>, names: &[&str]) -> Read<String> {
        let Some((text, node)) = self.text(part, "nas")? else {
            return Err(self.missing(part, "nas"));
        };
        let word = text.trim();
        if names.contains(&word) {
            return Ok(word.to_owned());
        }
        if !self.whole {
            return Err(super::reader::Reported);
        }
        let mut fault = no_such_word(text, word, names);
        if names.is_empty() {
            "describe the NAS: [nas.NAME]".clone_into(&mut fault.help);
        }
        Err(self.unit(
            node,
            format!("{} names no NAS of this site", part.id("nas")),
            fault,
        ))
    }
}
