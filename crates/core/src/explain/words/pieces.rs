//! Readings of pieces at random places: `local array random read 9000 IOPS of 4 KiB`.

use super::faulty::Faulty;
use super::items::{Amount, Unit};
use super::sentence::{Said, noun};
use super::units::Units;
use crate::explain::{Amount as Told, Meaning, RateReading, RateUnit, What};
use crate::quantity::{DataRate, Information, Measure};
use std::ops::Range;

/// A larger piece is a file, in bytes.
const LARGEST: f64 = 1e8;

/// More requests no array of this world takes in a second.
const MOST: f64 = 1e9;

impl Said {
    /// The rate of pieces at random places: told as one, or as requests a second times the size of each.
    pub(super) fn pieces(
        &mut self,
        what: What,
        span: &Range<usize>,
        whole: &Range<usize>,
        units: &Units,
        faulty: &mut Faulty<'_>,
    ) -> Option<Told> {
        if !matches!(what, What::Copy | What::LocalArray) {
            faulty.add(
                span.clone(),
                "no pieces at random places",
                format!("{} has none", noun(Some(what))),
                "write it of a copy or of the array itself: 'local array random read 9000 IOPS of 4 KiB'",
            );
            return None;
        }
        // what has no "a second" is the size of a piece
        let size =
            |amount: &Amount| matches!(amount.unit, Unit::Data(written) if !written.a_second);
        let (sizes, mut rates): (Vec<Amount>, Vec<Amount>) =
            std::mem::take(&mut self.rates).into_iter().partition(size);
        self.sizes.extend(sizes);
        let piece = self.piece(span, faulty)?;
        if self.counts_requests {
            let (bare, others): (Vec<Amount>, Vec<Amount>) =
                rates.into_iter().partition(|a| a.unit == Unit::Bare);
            self.requests.extend(bare);
            rates = others;
        }
        if let Some(bare) = rates.iter().find(|a| a.unit == Unit::Bare) {
            let text = faulty.at(&bare.number);
            faulty.add(
                bare.span.clone(),
                "a number without its unit",
                format!("'{text}' may be requests or megabytes a second"),
                format!("write '{text} IOPS' or '{text} MB/s'"),
            );
            return None;
        }
        self.piece = Some(piece);
        let counted = Self::only(&mut self.requests, "number of requests", faulty);
        match counted {
            Some(_) if !rates.is_empty() => {
                self.requests.clear();
                rates.extend(counted);
                Self::only(&mut rates, "number", faulty);
                None
            }
            Some(counted) => requests(&counted, piece, faulty),
            None => {
                self.rates = rates;
                self.rate(what, whole, units, faulty)
            }
        }
    }

    /// The size of one piece.
    fn piece(&mut self, span: &Range<usize>, faulty: &mut Faulty<'_>) -> Option<Information> {
        let size = self.size.take();
        let size = size.or_else(|| Self::only(&mut self.sizes, "size of a piece", faulty));
        let Some(size) = size else {
            faulty.add(
                span.clone(),
                "pieces without their size",
                "how large each piece is is not told",
                "write it, for example 'random read 9000 IOPS of 4 KiB'",
            );
            return None;
        };
        let Unit::Data(written) = size.unit else {
            return None;
        };
        let bytes = size.middle() * written.factor();
        if (1.0..=LARGEST).contains(&bytes) && size.low <= size.high && size.joined.is_none() {
            return Some(Information::from_base(libm::round(bytes)));
        }
        let text = faulty.at(&size.span);
        faulty.add(
            size.span.clone(),
            "no small piece",
            format!("'{text}' is no size of a piece"),
            "pieces have 1 B to 100 MB; write, for example, 'of 4 KiB'",
        );
        None
    }
}

/// So many requests a second, each of one piece.
fn requests(counted: &Amount, piece: Information, faulty: &mut Faulty<'_>) -> Option<Told> {
    let factor = match counted.unit {
        Unit::Requests(factor) => factor,
        _ => 1.0,
    };
    let numbers = [counted.low, counted.middle(), counted.high].map(|count| count * factor);
    let [low, middle, high] = numbers;
    if !(low > 0.0 && low <= high && high <= MOST) || counted.joined.is_some() {
        let text = faulty.at(&counted.number);
        faulty.add(
            counted.span.clone(),
            "a number of requests that cannot be",
            format!("'{text}' a second cannot be"),
            "write how many came back in a second, without marks between thousands: '9000 IOPS'",
        );
        return None;
    }
    let rate = |count: f64| DataRate::from_base(count * piece.base());
    Some(Told::Rate(RateReading {
        meanings: vec![Meaning {
            unit: RateUnit::Megabytes,
            low: rate(low),
            middle: rate(middle),
            high: rate(high),
            weight: 1.0,
            slip: false,
        }],
        exactness: counted.exactness,
    }))
}
