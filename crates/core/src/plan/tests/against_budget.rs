//! Layouts and budgets say the same of the same array.

use super::*;
use crate::budget::{self, RateRange};
use crate::change::Edit;
use crate::site::{Site, read};
use crate::spread::Draws;
use crate::work::{Activity, Work};

/// What a budget says at the array itself.
fn at_the_array(site: &Site) -> budget::Answer {
    let question = budget::Question {
        work: Work::plain(Activity::AtTheArray),
        desk: None,
        working: false,
        need: None,
    };
    let mut draws = Draws::new(USUAL_PLAN_DRAWS);
    budget::answer(site, &question, &catalogue(), &mut draws).unwrap()
}

/// The row of a site's own layout among all.
fn row_of(site: &Site) -> Row {
    let array = &site.arrays[0];
    let mut asked = question(array.drives.count, &[], &[]);
    asked.draws = USUAL_PLAN_DRAWS;
    asked.choices = vec![DriveChoice::of_array(array).unwrap()];
    asked.fill = array.fill.clone();
    (asked.record, asked.chunk) = (array.record, array.chunk);
    asked.nas = site.nas(&array.nas).cloned();
    let same = |row: &Row| row.layout == array.layout().unwrap();
    ask(&asked).rows.into_iter().find(same).unwrap()
}

#[test]
fn verify_alone_is_what_a_budget_says() {
    // the same array asked by both with the same luck: what is worked out in another order differs in
    // the last places
    const ROUNDING: f64 = 1e-9;
    let text = narrows_data::SITES[0].1;
    let mut compared = 0;
    for (layout, drives, groups) in [
        ("single", 1, 1),
        ("raid0", 6, 1),
        ("raid1", 2, 1),
        ("raid1", 6, 2),
        ("raid5", 6, 1),
        ("raid6", 6, 1),
        ("raid10", 6, 1),
        ("raid10 far", 6, 1),
        ("raid10 offset", 6, 1),
        ("raid50", 6, 2),
        ("raid60", 8, 2),
        ("two-copy", 4, 1),
        ("three-copy", 4, 1),
        ("mirror", 6, 3),
        ("raidz1", 6, 2),
        ("raidz2", 6, 1),
        ("raidz3", 6, 1),
    ] {
        let edits = [
            format!("array.vault.layout={layout}"),
            format!("array.vault.drives={drives} x 10 TB hdd-7200"),
            format!("array.vault.groups={groups}"),
        ];
        let edits = Edit::parse_all(&edits).unwrap();
        let site =
            read(text, &edits, &catalogue()).unwrap_or_else(|faults| panic!("{layout}: {faults}"));
        let row = row_of(&site);
        let said = at_the_array(&site);
        for flow in &said.flows {
            let mine = match flow.direction {
                Direction::Read => row.rates.read,
                Direction::Write => row.rates.write,
            };
            let said = flow.megabytes_per_s;
            for (a, b) in [
                (mine.p05, said.p05),
                (mine.p50, said.p50),
                (mine.p95, said.p95),
            ] {
                let off = (a / b).get::<one>() - 1.0;
                assert!(
                    off.abs() < ROUNDING,
                    "{layout} {groups} {:?}: {off}",
                    flow.direction
                );
                compared += 1;
            }
        }
        assert_eq!(said.flows.len(), 2);
    }
    assert_eq!(compared, 17 * 2 * 3);
}

#[test]
fn verify_record_and_chunk_are_those_of_the_site() {
    const ROUNDING: f64 = 1e-9;
    let text = narrows_data::SITES[0].1;
    let site = |edits: &[&str]| {
        let mut all = vec!["array.vault.drives=7 x 10 TB hdd-7200"];
        all.extend(edits);
        read(text, &Edit::parse_all(&all).unwrap(), &catalogue()).unwrap()
    };
    let read_alone = |site: &Site| {
        let said = at_the_array(site);
        let read = &said.flows[0];
        assert_eq!(read.direction, Direction::Read);
        read.megabytes_per_s.p50.base()
    };
    // 8 KiB are two sectors and two of parity, padded to six: a third is their own, and two thirds of 128 KiB
    let usual = site(&["array.vault.layout=raidz2"]);
    let small = site(&["array.vault.layout=raidz2", "array.vault.record=8 KiB"]);
    for site in [&usual, &small] {
        let mine = row_of(site).rates.read.p50.base();
        let off = mine / read_alone(site) - 1.0;
        assert!(off.abs() < ROUNDING, "{off}");
    }
    assert!(read_alone(&small) < read_alone(&usual));
    assert!(row_of(&small).usable < row_of(&usual).usable);
    // a chunk decides how much of a request one drive gives before its heads move on
    let usual = row_of(&site(&["array.vault.layout=raid6"]));
    let small = row_of(&site(&[
        "array.vault.layout=raid6",
        "array.vault.chunk=16 KiB",
    ]));
    assert_eq!(usual.rates.read, small.rates.read);
    assert_ne!(usual.rates.read_together, small.rates.read_together);
}

#[test]
fn verify_states_are_those_of_a_budget() {
    // the same luck, worked out in another order
    const LUCK: f64 = 1e-9;
    type Of = fn(&Rates) -> Option<RateRange>;
    let text = narrows_data::SITES[0].1;
    let missing = "array.vault.failed=1";
    let cases: [(&str, &[&str], Of); 5] = [
        ("raid6", &[missing], |r| r.read_degraded),
        ("raid6", &["array.vault.failed=2"], |r| r.read_degraded_two),
        ("raid10", &[missing], |r| r.read_degraded),
        // copies take no work of the machine, so that the drives are compared
        ("raid10", &[missing, "array.vault.rebuilding=yes"], |r| {
            r.read_rebuilding
        }),
        ("raid10", &["array.vault.scrubbing=yes"], |r| {
            r.read_scrubbing
        }),
    ];
    for (layout, edits, mine) in cases {
        let layout = format!("array.vault.layout={layout}");
        let mut all = vec![
            layout.as_str(),
            "array.vault.drives=6 x 4 TB ssd-sata",
            "nas.store.cpu=large",
        ];
        all.extend(edits);
        let all = Edit::parse_all(&all).unwrap();
        let site = read(text, &all, &catalogue()).unwrap();
        let mine = mine(&row_of(&site).rates).unwrap();
        let said = at_the_array(&site);
        let read = &said.flows[0];
        assert_eq!(read.direction, Direction::Read);
        let theirs = read.megabytes_per_s.p50.base();
        let off = mine.p50.base() / theirs - 1.0;
        assert!(off.abs() < LUCK, "{layout} {edits:?}: {off}");
    }
}
