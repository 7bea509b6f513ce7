use super::link::slower;
use super::{BudgetFault, Builder};
use crate::hop::transport::loss_rate;
use crate::quantity::{DataRate, Information, Ratio, Time, ratio};
use crate::site::{Run, Value};
use crate::working::{Column, How};

const ARRIVES: How = How {
    name: "payload of the frames that arrive",
    formula: "p (1 - l)",
    symbols: &["p", "l"],
    source: "what is lost has to be sent again",
};

const BACKS_OFF: How = How {
    name: "what a stream that backs off reaches",
    formula: "k S / (T sqrt(2 l/3) + 12 T sqrt(3 l/8) l (1 + 32 l^2))",
    symbols: &["k", "S", "T", "l"],
    source: "RFC 5348 section 3.1",
};

const LOSSY: How = How {
    name: "what one stream gets through a link that loses frames",
    formula: "min(p, x)",
    symbols: &["p", "x"],
    source: "frames that arrive; RFC 5348 section 3.1",
};

/// Packets that one acknowledgement answers, as RFC 5348 section 3.1 recommends.
const PACKETS_AN_ACKNOWLEDGEMENT: u32 = 1;

/// The timeout in round trips, as RFC 5348 section 3.1 recommends.
const TIMEOUT_ROUND_TRIPS: f64 = 4.0;

impl Builder<'_, '_> {
    /// A payload, less what one stream loses where frames are lost. Each run is counted by
    /// itself: two that lose frames are a little slower together than the worse of them.
    pub(super) fn with_losses(
        &mut self,
        payload: &Column<DataRate>,
        lost: &Value<Ratio>,
        segment: &Column<Information>,
    ) -> Result<Column<DataRate>, BudgetFault> {
        let lost = self.sheet.value("share of frames lost", lost);
        let round_trip = self.round_trip();
        let row = "transport.under-loss";
        let factor = self.sheet.draw(
            row,
            "what a stream that loses frames reaches of the formula",
            &self.catalogue.spread::<f64>(row)?,
            &self.catalogue.number(row)?.source,
        );
        let arrives = self
            .sheet
            .of2(&ARRIVES, payload, &lost, |p: DataRate, l: Ratio| {
                p * (ratio(1.0) - l)
            });
        let backs_off = self.sheet.of4(
            &BACKS_OFF,
            (&factor, segment, &round_trip, &lost),
            |k: f64, s: Information, t: Time, l: Ratio| {
                let timeout = t * ratio(TIMEOUT_ROUND_TRIPS);
                loss_rate(s, t, timeout, PACKETS_AN_ACKNOWLEDGEMENT, l) * ratio(k)
            },
        );
        Ok(self.sheet.of2(&LOSSY, &arrives, &backs_off, slower))
    }
}

/// What a note says of it; nothing where no frame is lost.
pub(super) fn noted(run: &Run) -> String {
    let said = |share: &Option<Value<Ratio>>, what: &str| match share {
        Some(share) if share.value.law().knots().2 > 0.0 => {
            format!(", {what} {} of frames", share.value)
        }
        _ => String::new(),
    };
    let (lost, dropped) = (
        said(&run.lost, "loses"),
        said(&run.drops, "the switch drops"),
    );
    format!("{lost}{dropped}")
}
