//! Rates in remarks beside the readings: "another computer gets 110 MB/s" says it is better only if
//! it is.

use super::words::{NOTHING, RemarkRow};
use super::{Amount, Exactness, Observations, RateReading, Remark, Remarks, What};
use crate::catalogue::{Catalogue, CatalogueFault};
use crate::quantity::{DataRate, Information, Measure};

/// Takes every remark with a rate for what the rate says beside the readings.
///
/// The rate is compared with the slowest reading over the network of the same desk, or with the
/// slowest at all where none is; what is being asked about is what is slow. Rates within
/// the factor `explain.different` are alike. A remark about little at a time that is told with its size is what the size says. What comes back are remarks that say nothing then, and are no longer
/// among those that were told. Checked by `a_rate_in_a_remark_is_compared`.
///
/// # Errors
/// Only where a file of the data directory is broken, which a test rules out.
pub fn settle(
    told: &mut Observations,
    remarks: &Remarks,
    catalogue: &Catalogue,
) -> Result<Vec<Remark>, CatalogueFault> {
    let different = catalogue.number("explain.different")?.likely;
    let small = Small::new(catalogue)?;
    let mut aside = Vec::new();
    let mut kept = Vec::new();
    for mut remark in std::mem::take(&mut told.remarks) {
        let row = remarks.rows().iter().find(|row| row.id == remark.id);
        if remark.id == "better-before" && remark.rate.is_none() {
            remark.rate = by_factor(&remark, told);
        }
        let sized = sized(&remark, &small);
        match sized.or_else(|| row.and_then(|row| settled(&remark, row, told, different))) {
            Some(id) if id == NOTHING => aside.push(remark),
            Some(id) => {
                remark.id = id;
                kept.push(remark);
            }
            None => kept.push(remark),
        }
    }
    told.remarks = kept;
    Ok(aside)
}

/// What is little at a time, in bytes.
struct Small {
    block: f64,
    request: f64,
}

impl Small {
    fn new(catalogue: &Catalogue) -> Result<Self, CatalogueFault> {
        let bytes = |id: &str| -> Result<f64, CatalogueFault> {
            let size = catalogue.spread::<Information>(id)?;
            Ok(size.median().base())
        };
        Ok(Self {
            block: bytes("explain.small-block")?,
            request: bytes("explain.small-request")?,
        })
    }
}

/// Which remark about little at a time it is, by the size that it has.
///
/// Checked by `blocks_and_requests_are_small_by_their_size`.
fn sized(remark: &Remark, small: &Small) -> Option<String> {
    let about = ["small-blocks", "small-requests"].contains(&remark.id.as_str());
    let size = remark.size.filter(|_| about)?.base();
    if remark.id == "small-blocks" && size < small.block {
        return None;
    }
    let id = if size < small.request {
        "small-requests"
    } else {
        NOTHING
    };
    Some(id.to_owned())
}

/// What it was before, where that is told as a share: "half of what it was".
///
/// Checked by `a_share_of_what_it_was_is_a_rate`.
fn by_factor(remark: &Remark, told: &Observations) -> Option<RateReading> {
    let lower = remark.text.to_lowercase();
    let (_, factor) = SHARES.iter().find(|(word, _)| lower.contains(word))?;
    let now = slowest(remark, told)?;
    let mut then = RateReading::plain(DataRate::from_base(now.base() * factor));
    then.exactness = Exactness::About;
    Some(then)
}

/// Shares as people say them, and how much more it was.
const SHARES: [(&str, f64); 8] = [
    ("half", 2.0),
    ("twice as", 2.0),
    ("a third", 3.0),
    ("three times", 3.0),
    ("a quarter", 4.0),
    ("a fifth", 5.0),
    ("a tenth", 10.0),
    ("ten times", 10.0),
];

/// Which remark it is, where its rate can be compared.
fn settled(
    remark: &Remark,
    row: &RemarkRow,
    told: &Observations,
    different: f64,
) -> Option<String> {
    let [lower, like, higher] = row.compared.as_ref()?;
    let rate = remark.rate.as_ref()?.likeliest();
    let of_a_drive = OF_A_DRIVE.contains(&remark.id.as_str());
    let array = slowest_of(remark, told, &|what| what == What::LocalArray);
    let read = match array {
        Some(array) if of_a_drive => array,
        _ => slowest(remark, told)?,
    };
    if of_a_drive && array.is_none() {
        // beside a copy it says whether one drive would do, and nothing of the array
        let enough = if rate >= read { FAST_ENOUGH } else { NOTHING };
        return Some(enough.to_owned());
    }
    let ratio = rate.base() / read.base();
    Some(if ratio >= different {
        higher.clone()
    } else if ratio > 1.0 / different {
        like.clone()
    } else {
        lower.clone()
    })
}

/// Remarks that hold one drive against the array.
const OF_A_DRIVE: [&str; 2] = ["one-drive-same", "one-drive-better"];

/// What one drive says beside a copy that is no faster.
const FAST_ENOUGH: &str = "one-drive-fast-enough";

fn slowest(remark: &Remark, told: &Observations) -> Option<DataRate> {
    let over = |what| matches!(what, What::Copy | What::ManyFiles | What::RawTcp);
    slowest_of(remark, told, &over).or_else(|| slowest_of(remark, told, &|_| true))
}

/// The slowest rate of some kinds that the remark can be held against.
fn slowest_of(
    remark: &Remark,
    told: &Observations,
    kind: &dyn Fn(What) -> bool,
) -> Option<DataRate> {
    let rates = told.readings.iter().filter_map(|reading| {
        let same = remark.desk.is_none() || reading.desk == remark.desk;
        match &reading.amount {
            Amount::Rate(rate) if same && kind(reading.what) => Some(RateReading::likeliest(rate)),
            _ => None,
        }
    });
    rates
        .filter(|rate| *rate > DataRate::default())
        .min_by(|a, b| a.base().total_cmp(&b.base()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::explain::{Listener, Statement};

    fn told(texts: &[&str]) -> Observations {
        let listener = Listener::anywhere().unwrap();
        let mut told = Observations::default();
        for text in texts {
            for statement in listener
                .hear(text)
                .unwrap_or_else(|f| panic!("{text}: {f}"))
            {
                match statement {
                    Statement::Reading(reading) => told.readings.push(reading),
                    Statement::Remark(remark) => told.remarks.push(remark),
                }
            }
        }
        told
    }

    #[test]
    fn a_rate_in_a_remark_is_compared() {
        let remarks = Remarks::embedded().unwrap();
        let catalogue = Catalogue::embedded().unwrap();
        for (reading, remark, id) in [
            (
                "read 11 MB/s",
                "another computer gets 112 MB/s",
                "other-computer-better",
            ),
            (
                "read 11 MB/s",
                "another computer gets 11.4 MB/s",
                "other-computer-same",
            ),
            (
                "read 11 MB/s",
                "another computer is faster",
                "other-computer-better",
            ),
            ("read 60 MB/s", "was 112 MB/s before", "better-before"),
            ("read 112 MB/s", "was 110 MB/s before", NOTHING),
            (
                "local array read 400 MB/s",
                "one drive alone gets 150 MB/s",
                NOTHING,
            ),
            (
                "local array read 140 MB/s",
                "one drive alone gets 150 MB/s",
                "one-drive-same",
            ),
            (
                "local array read 40 MB/s",
                "one drive alone gets 150 MB/s",
                "one-drive-better",
            ),
            (
                "read 100 MB/s",
                "one drive alone gets 150 MB/s",
                "one-drive-fast-enough",
            ),
            ("read 100 MB/s", "one drive alone gets 40 MB/s", NOTHING),
            (
                "read 1.5 MB/s",
                "1.7 MB/s over a slower path too",
                "slower-path-same",
            ),
            (
                "raw tcp 6.5 Gb/s",
                "another tool gets 9.7 Gb/s",
                "other-tool-better",
            ),
            (
                "read 60 MB/s",
                "4 streams add up to 62 MB/s",
                "parallel-flat",
            ),
            (
                "copy stalled",
                "another computer gets 112 MB/s",
                "other-computer-better",
            ),
        ] {
            let mut told = told(&[reading, remark]);
            let aside = settle(&mut told, &remarks, &catalogue).unwrap();
            let found = told.remarks.first().map_or(NOTHING, |remark| &remark.id);
            assert_eq!(found, id, "{reading}; {remark}");
            assert_eq!(aside.len() + told.remarks.len(), 1);
        }
    }

    #[test]
    fn blocks_and_requests_are_small_by_their_size() {
        let remarks = Remarks::embedded().unwrap();
        let catalogue = Catalogue::embedded().unwrap();
        for (remark, id) in [
            ("a test that asks for 512 B at a time", "small-blocks"),
            ("a test that asks for 4 KiB at a time", "small-blocks"),
            ("a test that asks for 64 KiB at a time", "small-requests"),
            ("a test that asks for 1024 KiB at a time", NOTHING),
            ("64 KiB requests", "small-requests"),
            ("4 KiB requests", "small-requests"),
            ("1 MiB requests", NOTHING),
            ("small requests", "small-requests"),
        ] {
            let mut told = told(&["read 11 MB/s", remark]);
            settle(&mut told, &remarks, &catalogue).unwrap();
            let found = told.remarks.first().map_or(NOTHING, |remark| &remark.id);
            assert_eq!(found, id, "{remark}");
        }
    }

    #[test]
    fn a_share_of_what_it_was_is_a_rate() {
        let remarks = Remarks::embedded().unwrap();
        let catalogue = Catalogue::embedded().unwrap();
        let mut told = told(&["read 55 MB/s"]);
        told.remarks.push(Remark {
            text: "half of what it was".to_owned(),
            id: "better-before".to_owned(),
            desk: None,
            rate: None,
            size: None,
            time: None,
        });
        settle(&mut told, &remarks, &catalogue).unwrap();
        let then = told.remarks[0].rate.as_ref().map(RateReading::likeliest);
        assert!((then.unwrap().base() / 110e6 - 1.0).abs() < 1e-9);
    }

    #[test]
    fn the_slow_direction_is_what_is_asked_about() {
        let remarks = Remarks::embedded().unwrap();
        let catalogue = Catalogue::embedded().unwrap();
        let mut told = told(&[
            "read 112 MB/s",
            "write 11 MB/s",
            "another computer gets 110 MB/s",
        ]);
        assert!(settle(&mut told, &remarks, &catalogue).unwrap().is_empty());
        assert_eq!(told.remarks[0].id, "other-computer-better");
    }
}
