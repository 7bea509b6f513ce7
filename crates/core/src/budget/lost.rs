use super::link::{Payload, slower};
use super::{BudgetFault, Context};
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

impl Context<'_, '_> {
    /// A payload, less what is lost where frames are lost: to one stream, and to several.
    ///
    /// A stream of payload `p` through a link that loses a share `l` of its frames gets the less of
    /// `p (1 - l)`, which arrives, and of what it backs off to ([`loss_rate`]). Each connection heeds the
    /// losses of its own packets only, so `n` of them get `n` times that, up to `p (1 - l)`, which is all
    /// that the link carries. Valid for losses that do not come from the streams themselves: `l` is
    /// the same however many there are. Each run is counted by itself: two that lose frames are a
    /// little slower together than the worse of them.
    /// Source: RFC 5348 section 3.1; Hacker, Athey and Noble, IPDPS 2002, for several connections.
    /// Checked by `lost_frames_slow_each_stream_by_itself` and
    /// `verify_several_streams_are_expected_to_be_what_everybody_at_once_gets`.
    pub(super) fn with_losses(
        &mut self,
        payload: &Payload,
        lost: &Value<Ratio>,
        segment: &Column<Information>,
    ) -> Result<Payload, BudgetFault> {
        let lost = self.sheet.value("share of frames lost", lost);
        let round_trip = self.round_trip();
        let row = "transport.under-loss";
        let factor = self.sheet.draw(
            row,
            "what a stream that loses frames reaches of the formula",
            &self.catalogue.spread::<f64>(row)?,
            &self.catalogue.number(row)?.source,
        );
        let mut arriving = |of: &Column<DataRate>| {
            let left = |p: DataRate, l: Ratio| p * (ratio(1.0) - l);
            self.sheet.of2(&ARRIVES, of, &lost, left)
        };
        let arrives = arriving(&payload.one);
        let of_all = match &payload.of_all {
            Some(all) => arriving(all),
            None => arrives.clone(),
        };
        let backs_off = self.sheet.of4(
            &BACKS_OFF,
            (&factor, segment, &round_trip, &lost),
            |k: f64, s: Information, t: Time, l: Ratio| {
                let timeout = t * ratio(TIMEOUT_ROUND_TRIPS);
                loss_rate(s, t, timeout, PACKETS_AN_ACKNOWLEDGEMENT, l) * ratio(k)
            },
        );
        Ok(Payload {
            one: self.sheet.of2(&LOSSY, &arrives, &backs_off, slower),
            of_all: Some(of_all),
        })
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
