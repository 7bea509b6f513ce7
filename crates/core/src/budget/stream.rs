//! One stream between two machines: its round trip, its window, and the requests that it keeps under way.

use super::BudgetFault;
use super::context::Context;
use super::hop::{Hop, HopKind};
use super::link::Links;
use super::part::Part;
use crate::hop::requests::depth_cost;
use crate::hop::transport::window_rate;
use crate::quantity::{
    DataRate, Information, InformationPerOperation, Operations, Time, megabytes_per_second, ratio,
};
use crate::site::{Array, Nas, Service};
use crate::work::Direction;
use crate::working::{Column, How};

const WINDOW: How = How {
    name: "one stream's window over the round trip",
    formula: "W / T",
    symbols: &["W", "T"],
    source: "RFC 7323 section 1.1",
};
const WAIT: How = How {
    name: "time of one request beside the wire",
    formula: "T + t",
    symbols: &["T", "t"],
    source: "a request waits for the network and the server",
};
const DEPTH: How = How {
    name: "requests under way",
    formula: "Q S / (T0 + S/L)",
    symbols: &["Q", "S", "T0", "L"],
    source: "Little's law; Denning and Buzen 1978",
};
const DEPTH_ALONE: How = How {
    name: "requests over links that take no time",
    formula: "Q S / T0",
    symbols: &["Q", "S", "T0"],
    source: "Little's law; Denning and Buzen 1978",
};
const ONE_REQUEST: How = How {
    name: "bytes one request asks for",
    formula: "S",
    symbols: &["S"],
    source: "as stated of the desk",
};

fn one_operation() -> Operations {
    Operations::new::<crate::quantity::units::operations::operation>(1.0)
}

impl Context<'_, '_> {
    /// Round trip between the desk and the NAS.
    pub(super) fn round_trip(&mut self) -> Column<Time> {
        let own = self.desk.and_then(|d| d.round_trip.as_ref());
        let round_trip = own.unwrap_or(&self.site.network.round_trip);
        self.sheet.value("round trip", round_trip)
    }

    /// What the window of one stream lets through.
    pub(super) fn window(&mut self, nas: &Nas) -> Result<Part, BudgetFault> {
        let id = format!("nas.{}.window", nas.name);
        let name = "bytes one stream keeps in flight";
        let stated = self.desk.and_then(|d| d.window.as_ref());
        let window = match stated {
            Some(window) => self.sheet.value(name, window),
            None => self.sheet.draw(
                "tcp.window",
                name,
                &self.catalogue.spread::<Information>("tcp.window")?,
                &self.catalogue.number("tcp.window")?.source,
            ),
        };
        let time = self.round_trip();
        let ceiling = self.sheet.of2(&WINDOW, &window, &time, window_rate);
        Ok(Hop::new(
            id,
            HopKind::Window,
            "window of one stream".to_owned(),
            "grows by itself".to_owned(),
            ceiling,
        )
        .into())
    }

    /// What the requests under way let through.
    pub(super) fn requests(
        &mut self,
        nas: &Nas,
        array: &Array,
        links: &Links,
    ) -> Result<Part, BudgetFault> {
        let round_trip = self.round_trip();
        let service_time = self.sheet.draw(
            &format!("nas.{}.service-time", nas.name),
            "server time of a request",
            &self.catalogue.spread::<Time>("service-time")?,
            &self.catalogue.number("service-time")?.source,
        );
        let mut wait = self
            .sheet
            .of2(&WAIT, &round_trip, &service_time, |a: Time, b: Time| a + b);
        // what is written rests in memory, what is read comes from the drives
        if let (Some(piece), Direction::Read) = (self.question.work.random, self.direction) {
            let access = self.pieces(array, piece)?.access;
            wait = self
                .sheet
                .of2(&WAIT, &wait, &access, |a: Time, b: Time| a + b);
        }
        let wire = match &links.payload {
            Some(column) => column.clone(),
            // nothing but radio on the way, which has its own hop
            None => self
                .sheet
                .known("wire", megabytes_per_second(1e6), "no wire on the way"),
        };
        let ceiling = self.by_service(nas, "requests under way", |this, service| {
            let (size, depth) = this.size_and_depth(service)?;
            Ok(this
                .sheet
                .of4(&DEPTH, (&depth, &size, &wait, &wire), |q, s, t, l| {
                    let rate: DataRate = ratio(1.0) / depth_cost(q, s, t, l);
                    rate
                }))
        })?;
        let over_links = self.by_service(
            nas,
            "requests over links that take no time",
            |this, service| {
                let (size, depth) = this.size_and_depth(service)?;
                Ok(this
                    .sheet
                    .of3(&DEPTH_ALONE, (&depth, &size, &wait), |q, s, t| {
                        let rate: DataRate = s * q / t;
                        rate
                    }))
            },
        )?;
        let services: Vec<&str> = nas
            .service
            .value
            .options()
            .iter()
            .map(|(service, _)| service.word())
            .collect();
        Ok(Hop {
            over_links: Some(over_links),
            ..Hop::new(
                format!("nas.{}.requests", nas.name),
                HopKind::Requests,
                "requests under way".to_owned(),
                services.join(" or "),
                ceiling,
            )
        }
        .into())
    }

    /// Bytes that one request of a service asks for, and how many are outstanding.
    pub(super) fn size_and_depth(
        &mut self,
        service: Service,
    ) -> Result<(Column<InformationPerOperation>, Column<Operations>), BudgetFault> {
        if let Some(piece) = self.question.work.random {
            let size = piece / one_operation();
            let size = self
                .sheet
                .known("bytes one request asks for", size, "as asked");
            return Ok((size, self.pieces_under_way()?));
        }
        let size_row = format!("requests.{}.size", service.word());
        let depth_row = format!("requests.{}.depth", service.word());
        let stated = self.desk.and_then(|d| d.request_size.as_ref());
        let size = match stated {
            Some(size) => {
                let size = self.sheet.value("bytes one request asks for", size);
                self.sheet
                    .of(&ONE_REQUEST, &size, |s: Information| s / one_operation())
            }
            None => self.sheet.draw(
                &size_row,
                "bytes one request asks for",
                &self
                    .catalogue
                    .spread::<InformationPerOperation>(&size_row)?,
                &self.catalogue.number(&size_row)?.source,
            ),
        };
        let depth = match self.desk.and_then(|d| d.requests) {
            Some(requests) => self.sheet.known(
                "requests outstanding",
                one_operation() * requests as f64,
                "as stated of the desk",
            ),
            None => self.sheet.draw(
                &depth_row,
                "requests outstanding",
                &self.catalogue.spread::<Operations>(&depth_row)?,
                &self.catalogue.number(&depth_row)?.source,
            ),
        };
        Ok((size, depth))
    }
}
