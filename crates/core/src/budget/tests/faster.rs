//! What is faster makes nothing slower.

use super::*;
use crate::quantity::LinkRate;
use crate::site::Medium;
use proptest::prelude::*;

/// Sums of doubles in another order.
const ROUNDING: f64 = 1e-12;

/// Percentiles of draws that are not the same: twice the error of a fifth percentile of 1024.
const SAMPLING: f64 = 0.05;

fn rates_of(text: &str, edits: &[String], work: Work) -> Vec<Flow> {
    let catalogue = Catalogue::embedded().unwrap();
    let edits = Edit::parse_all(edits).unwrap();
    let site = read(text, &edits, &catalogue).unwrap_or_else(|faults| panic!("{faults}"));
    let question = Question {
        work,
        desk: None,
        working: false,
        need: None,
    };
    answer(&site, &question, &catalogue, &mut Draws::new(256))
        .unwrap()
        .flows
}

/// Rates at which every cable comes up, so that none is drawn.
fn held(text: &str) -> (Site, Vec<String>) {
    let site = site_with(text, &[]);
    let edits = site
        .runs
        .iter()
        .filter(|run| !matches!(run.medium, Medium::Wireless { .. }))
        .filter_map(|run| {
            let best = super::super::link::common(&site, run)?.into_iter().max()?;
            Some(format!("run.{}.negotiated={best}", run.number))
        })
        .collect();
    (site, edits)
}

fn no_draw_is_lower(text: &str, (slow, fast): (&[String], &[String]), work: Work) {
    let (before, after) = (rates_of(text, slow, work), rates_of(text, fast, work));
    for b in &before {
        let a = after
            .iter()
            .find(|a| {
                (&a.desk, &a.array, &a.port, a.direction)
                    == (&b.desk, &b.array, &b.port, b.direction)
            })
            .unwrap();
        for (draw, (x, y)) in b.rates.iter().zip(&a.rates).enumerate() {
            assert!(
                *y >= x * (1.0 - ROUNDING),
                "{slow:?} {fast:?} {} {:?} draw {draw}: {x} {y}",
                b.desk,
                b.direction
            );
        }
    }
}

/// All that one desk may do.
fn works() -> Vec<Work> {
    let mut files = Work::plain(Activity::Copy);
    files.files = Some(crate::work::Files::parse("1000 x 256 kB").unwrap());
    let mut long = Work::plain(Activity::Copy);
    long.size = Some(crate::quantity::terabytes(0.1));
    vec![
        Work::plain(Activity::Copy),
        Work::plain(Activity::Play),
        Work::plain(Activity::Wire),
        Work::plain(Activity::AtTheArray),
        files,
        long,
    ]
}

#[test]
fn property_a_faster_link_lowers_no_draw_at_any_example_site() {
    for (_, text) in narrows_data::SITES {
        let (site, edits) = held(text);
        for run in &site.runs {
            let Some(mut common) = super::super::link::common(&site, run) else {
                continue;
            };
            common.sort_unstable();
            let at = |rate: LinkRate| {
                let mut all = edits.clone();
                all.push(format!("run.{}.negotiated={rate}", run.number));
                all
            };
            for pair in common.windows(2) {
                for work in works() {
                    no_draw_is_lower(text, (&at(pair[0]), &at(pair[1])), work);
                }
            }
        }
    }
}

#[test]
fn property_a_better_class_lowers_no_percentile() {
    let (_, edits) = held(EXAMPLE);
    let ladders: [(&str, &[&str]); 5] = [
        (
            "array.vault.drives",
            &["6 x 10 TB hdd-5400", "6 x 10 TB hdd-7200"],
        ),
        (
            "array.vault.drives",
            &[
                "6 x 4 TB ssd-sata",
                "6 x 4 TB nvme-gen3",
                "6 x 4 TB nvme-gen4",
            ],
        ),
        (
            "nas.store.cpu",
            &["router", "tiny", "small", "medium", "large"],
        ),
        ("desk.cut-1.cpu", &["small", "medium", "large"]),
        (
            "desk.cut-1.disk",
            &[
                "hdd-5400",
                "hdd-7200",
                "ssd-sata",
                "nvme-gen3",
                "nvme-gen4",
                "nvme-gen5",
            ],
        ),
    ];
    for (place, words) in ladders {
        let at = |word: &str| {
            let mut all = edits.clone();
            all.push(format!("{place}={word}"));
            rates_of(EXAMPLE, &all, Work::plain(Activity::Copy))
        };
        for pair in words.windows(2) {
            for (b, a) in at(pair[0]).iter().zip(&at(pair[1])) {
                let (b, a) = (b.megabytes_per_s, a.megabytes_per_s);
                let less = ratio(1.0 - SAMPLING);
                for (b, a) in [(b.p05, a.p05), (b.p50, a.p50), (b.p95, a.p95)] {
                    assert!(a >= b * less, "{place} {pair:?}: {b:?} {a:?}");
                }
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]
    #[test]
    fn property_a_higher_ceiling_lowers_no_draw(
        which in 0usize..6, stated in 20.0f64..900.0, gain in 1.0f64..8.0,
        layout in prop::sample::select(vec!["single", "raid0", "raid5", "raid6", "raid10", "raidz1", "mirror"]),
        class in prop::sample::select(vec!["hdd-7200", "ssd-sata", "nvme-gen3"]),
        service in prop::sample::select(vec!["smb", "nfs", "sftp", "ftp"]),
        trip in 0.1f64..30.0, work in 0usize..6,
    ) {
        let count = if layout == "single" { 1 } else { 4 };
        let text = chain(TEN, TEN, TEN, &format!("{count} x 4 TB {class}"));
        let common = [
            format!("array.vault.layout={layout}"),
            format!("nas.store.service={service}"),
            format!("network.round-trip={trip} ms"),
        ];
        let paths = [
            "array.vault.drive-rate", "array.vault.local-read", "array.vault.local-write",
            "array.vault.drive-first-write", "desk.cut-1.disk-first-write",
            "network.round-trip",
        ];
        let at = |rate: f64| {
            let mut all = common.to_vec();
            all.push(match paths[which] {
                "network.round-trip" => format!("network.round-trip={} ms", 20.0 / rate),
                path => format!("{path}={rate} MB/s"),
            });
            all
        };
        // fast caches exist on flash only
        prop_assume!(which != 3 || class != "hdd-7200");
        no_draw_is_lower(&text, (&at(stated), &at(stated * gain)), works()[work]);
    }
}
