//! The program that copies: its pauses, the round trips of each file, and how a stream starts.

use super::drive_set::spins;
use super::hop::{Adds, Hop, HopKind};
use super::link::Links;
use super::part::Part;
use super::{BudgetFault, Context};
use crate::hop::requests::file_wait_cost;
use crate::hop::transport::slow_start_waits;
use crate::quantity::{DataRate, Information, Measure, Time, TimePerInformation, bytes, ratio};
use crate::site::{Array, Desk, Nas, Service};
use crate::work::{Direction, Files};
use crate::working::{Column, How};

const FILE_WAIT: How = How {
    name: "waiting of each file",
    formula: "c B / (k (T + t))",
    symbols: &["k", "T", "t"],
    source: "dependent round trips of the service",
};

const STARTING: How = How {
    name: "waiting while a stream starts",
    formula: "sum of T - 2^i W / R while data are left and 2^i W < R T",
    symbols: &["T", "R"],
    source: "RFC 6928 section 2; RFC 5681 section 3.1",
};

const START: How = How {
    name: "start of the stream",
    formula: "c B / w",
    symbols: &["w"],
    source: "RFC 6928 section 2; RFC 5681 section 3.1",
};

/// Payload of a full segment, which waits hardly depend on.
const SEGMENT: f64 = 1448.0;

impl Context<'_, '_> {
    /// The pauses of the program that copies, which all else waits for.
    ///
    /// A pause costs as much a byte over a fast path as over a slow one, so that it hardly shows on
    /// 1 Gb/s and does on 10: a faster part never makes it longer.
    pub(super) fn copy_program(&mut self, desk: &Desk, nas: &Nas) -> Result<Part, BudgetFault> {
        let client = self
            .sheet
            .choice(&desk.client, |client| client.word().to_owned());
        let name = "what its pauses alone would leave";
        let ceiling = self.by_service(nas, name, |this, service| {
            let mounted = matches!(service, Service::Smb | Service::Nfs);
            if !mounted {
                return this.pace(service.word());
            }
            let mut options = Vec::new();
            for (client, _) in desk.client.value.options() {
                options.push(this.pace(client.word())?);
            }
            Ok(this.sheet.pick(name, &client, &options))
        })?;
        let words: Vec<&str> = desk
            .client
            .value
            .options()
            .iter()
            .map(|(client, _)| client.word())
            .collect();
        Ok(Hop {
            adds: Adds::Always,
            ..Hop::new(
                format!("desk.{}.client", desk.name),
                HopKind::Program,
                format!("pauses of {}'s copy program", desk.name),
                words.join(" or "),
                ceiling,
            )
        }
        .into())
    }

    fn pace(&mut self, word: &str) -> Result<Column<DataRate>, BudgetFault> {
        let row = format!("copy.{word}.pace");
        Ok(self.sheet.draw(
            &row,
            "what the pauses of a copy program alone would leave",
            &self.catalogue.spread::<DataRate>(&row)?,
            &self.catalogue.number(&row)?.source,
        ))
    }

    /// What a stream of some bytes waits while it starts, behind other hops.
    fn starting(&mut self, links: &Links, size: Information, hops: &[Hop]) -> Option<Column<Time>> {
        links.slowest.as_ref()?;
        // the narrowest place decides when the stream runs full, so that a faster link alone makes no
        // start longer
        let rate = narrowest(hops, self.sheet.count());
        let round_trip = self.round_trip();
        Some(
            self.sheet
                .of2(&STARTING, &round_trip, &rate, |t: Time, r: DataRate| {
                    slow_start_waits(size, bytes(SEGMENT), r, t)
                }),
        )
    }

    /// The start of a stream that copies a known amount, of several that wait at once, behind other hops.
    pub(super) fn start(
        &mut self,
        nas: &Nas,
        links: &Links,
        (size, at_once): (Information, f64),
        hops: &[Hop],
    ) -> Option<Hop> {
        let waits = self.starting(links, size, hops)?;
        let ceiling = self.sheet.of(&START, &waits, |w: Time| {
            let rate: DataRate = size * at_once / w;
            rate
        });
        Some(Hop {
            adds: Adds::Always,
            ..Hop::new(
                format!("nas.{}.start", nas.name),
                HopKind::Window,
                START.name.to_owned(),
                "ten segments, and twice as many each round trip".to_owned(),
                ceiling,
            )
        })
    }

    /// The round trips of each small file, behind other hops, and that its stream starts anew.
    pub(super) fn files(
        &mut self,
        nas: &Nas,
        (array, links): (&Array, &Links),
        files: Files,
        hops: &[Hop],
    ) -> Result<Part, BudgetFault> {
        let direction = self.direction.word();
        let at_once = self.desk.and_then(|desk| desk.files_at_once);
        let at_once = at_once.unwrap_or(1) as f64;
        let trips = self.by_service(nas, "round trips a file", |this, service| {
            let service = match service {
                Service::Smb | Service::Nfs => service.word(),
                _ => "other",
            };
            let row = format!("files.{service}.{direction}.round-trips");
            Ok(this.sheet.draw(
                &row,
                "round trips a file",
                &this.catalogue.spread::<f64>(&row)?,
                &this.catalogue.number(&row)?.source,
            ))
        })?;
        let row = match (self.direction, spins(array)) {
            (Direction::Read, _) => "files.read.service-time",
            (Direction::Write, true) => "files.write.spinning.service-time",
            (Direction::Write, false) => "files.write.flash.service-time",
        };
        let service_time = self.sheet.draw(
            &format!("array.{}/{row}", array.name),
            "server time of a round trip",
            &self.catalogue.spread::<Time>(row)?,
            &self.catalogue.number(row)?.source,
        );
        let round_trip = self.round_trip();
        let ceiling = self.sheet.of3(
            &FILE_WAIT,
            (&trips, &round_trip, &service_time),
            |k: f64, rtt: Time, t: Time| {
                let cost: TimePerInformation = file_wait_cost(k, rtt + t, at_once, files.size);
                let rate: DataRate = ratio(1.0) / cost;
                rate
            },
        );
        let note = if at_once > 1.0 {
            format!("{files}, {at_once} at once")
        } else {
            files.to_string()
        };
        let trips = Hop {
            adds: Adds::Always,
            ..Hop::new(
                format!("nas.{}.files", nas.name),
                HopKind::Files,
                "round trips of each file".to_owned(),
                note,
                ceiling,
            )
        };
        let start = self.start(nas, links, (files.size, at_once), hops);
        let mut part = Part::from(trips);
        part.hops.extend(start);
        Ok(part)
    }
}

/// The narrowest place of those that work at the same time.
fn narrowest(hops: &[Hop], count: usize) -> Column<DataRate> {
    let mut least = vec![f64::INFINITY; count];
    for hop in hops {
        let waits = |draw: usize| match &hop.adds {
            Adds::Never => false,
            Adds::Always => true,
            Adds::Where(draws) => draws.get(draw).copied().unwrap_or(false),
        };
        for (draw, value) in hop.ceiling.every_base(count).iter().enumerate() {
            if !waits(draw) && *value < least[draw] {
                least[draw] = *value;
            }
        }
    }
    Column::each(least.into_iter().map(DataRate::from_base))
}
