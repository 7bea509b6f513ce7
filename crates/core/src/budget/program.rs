//! The program that copies: its pauses, the round trips of each file, and how a stream starts.

use super::array::spins;
use super::hop::{Adds, Hop, HopKind};
use super::link::Links;
use super::{BudgetFault, Builder};
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

impl Builder<'_, '_> {
    /// Adds the pauses of the program that copies, which all else waits for.
    ///
    /// A pause costs as much a byte over a fast path as over a slow one, so that it hardly shows on
    /// 1 Gb/s and does on 10: a faster part never makes it longer.
    pub(super) fn copy_program(&mut self, desk: &Desk, nas: &Nas) -> Result<(), BudgetFault> {
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
        self.hops.push(Hop {
            id: format!("desk.{}.client", desk.name),
            kind: HopKind::Program,
            label: format!("pauses of {}'s copy program", desk.name),
            note: words.join(" or "),
            ceiling,
            signalled: None,
            of_all: None,
            adds: Adds::Always,
            empty: None,
            over_links: None,
        });
        Ok(())
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

    /// The narrowest place so far of those that work at the same time.
    fn narrowest(&self) -> Column<DataRate> {
        let count = self.sheet.count();
        let mut least = vec![f64::INFINITY; count];
        for hop in &self.hops {
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

    /// What a stream of some bytes waits while it starts.
    fn starting(&mut self, links: &Links, size: Information) -> Option<Column<Time>> {
        links.slowest.as_ref()?;
        // the narrowest place decides when the stream runs full, so that a faster link alone makes no
        // start longer
        let rate = self.narrowest();
        let round_trip = self.round_trip();
        Some(
            self.sheet
                .of2(&STARTING, &round_trip, &rate, |t: Time, r: DataRate| {
                    slow_start_waits(size, bytes(SEGMENT), r, t)
                }),
        )
    }

    /// Adds the start of a stream that copies a known amount, of several that wait at once.
    pub(super) fn start(&mut self, nas: &Nas, links: &Links, size: Information, at_once: f64) {
        let Some(waits) = self.starting(links, size) else {
            return;
        };
        let ceiling = self.sheet.of(&START, &waits, |w: Time| {
            let rate: DataRate = size * at_once / w;
            rate
        });
        self.hops.push(Hop {
            id: format!("nas.{}.start", nas.name),
            kind: HopKind::Window,
            label: START.name.to_owned(),
            note: "ten segments, and twice as many each round trip".to_owned(),
            ceiling,
            signalled: None,
            of_all: None,
            adds: Adds::Always,
            empty: None,
            over_links: None,
        });
    }

    /// Adds the round trips of each small file, and that its stream starts anew.
    pub(super) fn files(
        &mut self,
        nas: &Nas,
        (array, links): (&Array, &Links),
        files: Files,
    ) -> Result<(), BudgetFault> {
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
        self.hops.push(Hop {
            id: format!("nas.{}.files", nas.name),
            kind: HopKind::Files,
            label: "round trips of each file".to_owned(),
            note: if at_once > 1.0 {
                format!("{files}, {at_once} at once")
            } else {
                files.to_string()
            },
            ceiling,
            signalled: None,
            of_all: None,
            adds: Adds::Always,
            empty: None,
            over_links: None,
        });
        self.start(nas, links, files.size, at_once);
        Ok(())
    }
}
