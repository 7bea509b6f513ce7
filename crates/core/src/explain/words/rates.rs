//! The rate of a reading: a number with its unit, or a size and how long it took.

use super::faulty::Faulty;
use super::items::{Amount, Unit};
use super::sentence::{FORM, Said, noun};
use super::units::{Context, Units};
use crate::explain::{Amount as Told, Exactness, RateReading, What};
use crate::quantity::{DataRate, Measure};
use std::ops::Range;

/// Above this no link and no array of this world lies, in bytes a second: 1 TB/s.
pub(super) const FASTEST: f64 = 1e12;

impl Said {
    pub(super) fn rate(
        &mut self,
        what: What,
        whole: &Range<usize>,
        units: &Units,
        faulty: &mut Faulty<'_>,
    ) -> Option<Told> {
        let exact = |amount: &Amount| match amount.exactness {
            Exactness::Point if self.peak => Exactness::Peak,
            Exactness::Point if self.about => Exactness::About,
            other => other,
        };
        let mut rates = std::mem::take(&mut self.rates);
        // "of" may be missing: 20 GB beside a rate is a size, and 900 MB beside one too
        if rates.len() > 1
            && let Some(at) = rates
                .iter()
                .position(|amount| matches!(amount.unit, Unit::Data(written) if !written.a_second))
        {
            let size = rates.remove(at);
            self.sizes.push(size);
        }
        let exactness = rates.first().map(exact);
        let amount = Self::only(&mut rates, "rate", faulty);
        if let Some(span) = &self.stalled {
            if let Some(amount) = &amount
                && amount.high > 0.0
            {
                let text = faulty.at(&amount.span);
                faulty.add(
                    span.clone(),
                    "a rate and none",
                    format!("it stalls, and '{text}' is told as well"),
                    "give two readings, each with --measured: the rate before, and that it stalls",
                );
            }
            return Some(stalled());
        }
        let Some(amount) = amount else {
            return self.over_time(what, whole, units, faulty);
        };
        if amount.low > amount.high {
            reversed(&amount, faulty);
            return None;
        }
        if let Some(joined) = amount.joined {
            thousands(&amount, joined, faulty);
            return None;
        }
        let written = match amount.unit {
            Unit::Data(written) => Some(written),
            _ => None,
        };
        if amount.high <= 0.0 {
            return Some(stalled());
        }
        let numbers = [amount.low, amount.middle(), amount.high];
        let meanings = units.meanings(Context::of(what), written, numbers);
        let beyond = meanings.iter().any(|m| !m.slip && m.high.base() > FASTEST);
        if beyond || meanings.is_empty() {
            let text = faulty.at(&amount.span);
            faulty.add(
                amount.span.clone(),
                "a rate that cannot be",
                format!("'{text}' is more than any machine moves"),
                "write the number that was read off, with its unit",
            );
            return None;
        }
        Some(Told::Rate(RateReading {
            meanings,
            exactness: exactness.unwrap_or(Exactness::Point),
        }))
    }

    /// A size and how long it took.
    fn over_time(
        &mut self,
        what: What,
        whole: &Range<usize>,
        units: &Units,
        faulty: &mut Faulty<'_>,
    ) -> Option<Told> {
        if self.size.is_none() && !self.sizes.is_empty() && !self.times.is_empty() {
            self.size = Self::only(&mut self.sizes, "size", faulty);
        }
        let time = Self::only(&mut self.times, "time", faulty);
        let (Some(size), Some(time)) = (&self.size, &time) else {
            self.no_rate(what, whole, time.as_ref(), faulty);
            return None;
        };
        let (Unit::Data(written), Unit::Time(factor)) = (size.unit, time.unit) else {
            return None;
        };
        let took = time.middle() * factor;
        if took <= 0.0 || time.low > time.high {
            faulty.add(
                time.span.clone(),
                "a time that cannot be",
                "it took no time",
                "write how long it took, for example 'of 20 GB in 3 min'",
            );
            return None;
        }
        let each = size.middle() / took;
        let meanings = units.meanings(Context::of(what), Some(written), [each; 3]);
        Some(Told::Rate(RateReading {
            meanings,
            exactness: Exactness::About,
        }))
    }

    fn no_rate(
        &self,
        what: What,
        whole: &Range<usize>,
        time: Option<&Amount>,
        faulty: &mut Faulty<'_>,
    ) {
        let (span, found, help) = if let Some(time) = time {
            (
                time.span.clone(),
                format!("'{}' is a time", faulty.at(&time.span)),
                "write 'ping 0.4 ms' for a round trip, or how much was moved in it: 'copy 20 GB in 3 min'".to_owned(),
            )
        } else if let Some(share) = self.shares.first() {
            let text = faulty.at(&share.span);
            (
                share.span.clone(),
                format!("'{text}' is a share"),
                format!(
                    "write 'core busy {text}' if the busiest core is meant; an average over all cores says little"
                ),
            )
        } else if let Some(link) = self.links.first() {
            let text = faulty.at(&link.span);
            (
                link.span.clone(),
                format!("'{text}' is the rate of a link"),
                format!("write 'link rate {text}' if a port shows it"),
            )
        } else if let Some(size) = self.sizes.first().or(self.size.as_ref()) {
            (
                size.span.clone(),
                format!("'{}' is a size, and no rate stands beside it", faulty.at(&size.span)),
                "write the rate, for example '112 MB/s of 20 GB', or how long it took: '20 GB in 3 min'".to_owned(),
            )
        } else {
            (
                whole.clone(),
                format!("no number stands here for {}", noun(Some(what))),
                FORM.to_owned(),
            )
        };
        faulty.add(span, "a reading without its number", found, help);
    }
}

fn stalled() -> Told {
    Told::Rate(RateReading {
        exactness: Exactness::Stalled,
        ..RateReading::plain(DataRate::from_base(0.0))
    })
}

fn reversed(amount: &Amount, faulty: &mut Faulty<'_>) {
    faulty.add(
        amount.span.clone(),
        "a range from the larger to the smaller",
        format!("{} is more than {}", amount.low, amount.high),
        "write the lower number first; for a rate that falls over time say how: 'fast then drops after 20 GB'",
    );
}

fn thousands(amount: &Amount, joined: f64, faulty: &mut Faulty<'_>) {
    let text = faulty.at(&amount.number);
    faulty.add(
        amount.number.clone(),
        "a comma that may be two things",
        format!("'{text}' may be {joined} or {}", amount.low),
        format!("write '{joined}' or '{}'", amount.low),
    );
}
