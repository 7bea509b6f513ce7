//! Which layouts are found, and what is said of needs.

use super::*;

/// Every layout there is, found by trying everything, without the search's own list.
fn everything(bays: usize, size: DriveSize) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for level in Level::ALL {
        for groups in 1..=bays {
            for width in 1..=bays {
                for spares in 0..=MOST_SPARES {
                    let Ok(layout) = Layout::uniform(level, groups, width, size, spares) else {
                        continue;
                    };
                    let idle = spares > 0 && layout.survives_any() == 0;
                    // stripes over stripes and over couples are RAID 0 and RAID 10
                    let twice = match level {
                        Level::Raid0 | Level::Raid10(_) => groups > 1,
                        Level::Raid1 => groups > 1 && width == 2,
                        // counted, and never proposed
                        Level::OneParity | Level::TwoParity => true,
                        _ => false,
                    };
                    if layout.all_drives() <= bays && !idle && !twice {
                        found.insert(layout.to_string());
                    }
                }
            }
        }
    }
    found
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]
    #[test]
    fn property_rows_are_those_of_brute_force(
        bays in 1..7_usize, survive in 0..3_usize, streams in 1..5_usize, space in 1..30_u32, rate in 50..900_u32,
    ) {
        let space = format!("{space} TB");
        let rate = format!("{rate} MB/s read at the array with 2 streams");
        let mut asked = question(bays, &[TEN, "4 TB ssd-sata, 250 EUR"], &[]);
        asked.streams = streams;
        let all = ask(&asked).rows;
        // nothing is needed: all are there
        for choice in &asked.choices {
            let names: BTreeSet<String> = all
                .iter()
                .filter(|r| r.class == choice.class())
                .map(|r| r.layout.to_string())
                .collect();
            prop_assert_eq!(names, everything(bays, choice.size()));
        }
        asked.survive = survive;
        asked.needs = vec![Need::parse(&space).unwrap(), Need::parse(&rate).unwrap()];
        let answer = ask(&asked);
        let asked_bytes = space.trim_end_matches(" TB").parse::<u64>().unwrap() * 1_000_000_000_000;
        let with_needs = layouts(&Question { needs: asked.needs.clone(), survive: 0, ..asked.clone() }, &catalogue(), &|_, _| true).unwrap();
        prop_assert_eq!(with_needs.looked_at, all.len());
        // those that meet the needs, by hand
        let mut fit = 0;
        for row in &answer.rows {
            prop_assert!(row.survives_any >= survive && row.usable.get() >= asked_bytes);
            prop_assert!(row.needs.iter().all(|n| n.met));
            fit += 1;
        }
        let possible = all.iter().filter(|r| r.survives_any >= survive && r.usable.get() >= asked_bytes).count();
        prop_assert!(fit <= possible);
        if fit == 0 {
            prop_assert!(!answer.nearest.is_empty() && !answer.met());
        }
        // beaten is beaten by somebody, kept is not, and equals are named
        for row in &answer.rows {
            let mine = row.merits();
            let beats = |other: &Row| {
                let theirs = other.merits();
                (0..mine.len()).all(|c| theirs[c] >= mine[c]) && theirs != mine
            };
            let beaten = answer.rows.iter().any(beats);
            let twin = answer.rows.iter().any(|o| !o.beaten && o.same.contains(&row.name()));
            prop_assert_eq!(row.beaten, beaten || twin, "{}", row.name());
            prop_assert_eq!(row.buys.is_empty(), row.beaten);
        }
        // the stated order
        for pair in answer.rows.windows(2) {
            let (a, b) = (&pair[0], &pair[1]);
            let (x, y) = (a.price.as_ref().unwrap().hundredths, b.price.as_ref().unwrap().hundredths);
            prop_assert!(x < y || (x == y && a.usable >= b.usable));
        }
    }
}

#[test]
fn verify_workers_do_not_change_the_answer() {
    let mut asked = question(7, &[TEN, "4 TB ssd-sata, 250 EUR"], &["20 TB"]);
    let single = ask(&asked);
    for workers in [0, 2, 5] {
        asked.workers = workers;
        assert_eq!(ask(&asked).rows, single.rows);
    }
}

#[test]
fn a_need_is_met_by_the_median_and_says_its_chance() {
    let answer = ask(&question(
        8,
        &[TEN],
        &["900 MB/s read at the array", "40 TB comfortable"],
    ));
    for row in answer.rows.iter().chain(&answer.nearest) {
        let [rate, room] = &row.needs[..] else {
            panic!("two needs");
        };
        assert_eq!(rate.met, rate.chance.get::<one>() >= 0.5);
        assert_eq!(rate.short.get::<one>() > 0.0, !rate.met);
        assert!(room.met == (row.comfortable.get() >= 40_000_000_000_000));
        let Got::Rate(median) = rate.got else {
            panic!("a rate is needed");
        };
        assert_eq!(rate.low, Some(Got::Rate(row.rates.read.p05)));
        assert!(median == row.rates.read.p50);
    }
    assert!(answer.met());
}

#[test]
fn where_nothing_fits_the_nearest_is_told_with_what_is_missing() {
    let mut asked = question(4, &[TEN], &["36 TB"]);
    asked.survive = 1;
    let answer = ask(&asked);
    assert!(!answer.met() && answer.rows.is_empty());
    let nearest = &answer.nearest[0];
    // three of four drives' worth, less tables and reserve, is nearest; a fourth drive's is not safe
    assert_eq!(nearest.survives_any, 1);
    let short = nearest.needs[0].short.get::<one>();
    let usable = nearest.usable.get() as f64;
    assert!((short - (1.0 - usable / 36e12)).abs() < 1e-12);
    assert!((nearest.worst_miss(1) - short).abs() < 1e-15);
    assert!(
        answer
            .nearest
            .windows(2)
            .all(|w| w[0].worst_miss(1) <= w[1].worst_miss(1))
    );
}

#[test]
fn a_narrow_miss_that_is_cheaper_is_told() {
    let all = ask(&question(8, &[TEN], &[]));
    let row = all
        .rows
        .iter()
        .find(|r| r.layout.to_string() == "raid6 6 x 10 TB")
        .unwrap();
    let asked_bytes = row.usable.get() / 99 * 100;
    let mut asked = question(8, &[TEN], &[]);
    asked.survive = 2;
    asked.needs = vec![Need::Usable(Bytes::new(asked_bytes))];
    let answer = ask(&asked);
    assert!(answer.near_misses.iter().any(|r| r.layout == row.layout));
    // far off is not near
    asked.needs = vec![Need::Usable(Bytes::new(asked_bytes / 100 * 104))];
    assert!(
        ask(&asked)
            .near_misses
            .iter()
            .all(|r| r.layout != row.layout)
    );
}

#[test]
fn money_is_whole() {
    let answer = ask(&question(6, &["10 TB hdd-7200, 239.90 EUR"], &[]));
    let row = answer
        .rows
        .iter()
        .find(|r| r.layout.to_string() == "raid6 5 x 10 TB + 1 spare 10 TB")
        .unwrap();
    let euro = |hundredths| {
        Some(Money {
            hundredths,
            currency: "EUR".to_owned(),
        })
    };
    assert_eq!(row.price, euro(6 * 23990));
    let exact = 6.0 * 23990.0 / (row.usable.get() as f64 / 1e12);
    let rounded = row.price_per_terabyte.as_ref().unwrap().hundredths;
    assert!((rounded as f64 - exact).abs() <= 0.5 + 1e-9);
}

#[test]
fn questions_that_cannot_be_asked_are_refused() {
    let refused = |asked: &Question| layouts(asked, &catalogue(), &|_, _| true).unwrap_err();
    assert_eq!(
        refused(&question(0, &[TEN], &[])),
        PlanFault::Bays { found: 0 }
    );
    assert_eq!(
        refused(&question(101, &[TEN], &[])),
        PlanFault::Bays { found: 101 }
    );
    assert_eq!(refused(&question(4, &[], &[])), PlanFault::NoChoice);
    for (other, said) in [
        ("8 TB hdd-5400, 139 CHF", "EUR and in CHF"),
        ("8 TB hdd-5400", "no price for 8 TB hdd-5400"),
    ] {
        let fault = refused(&question(4, &[TEN, other], &[]));
        assert!(fault.to_string().contains(said), "{fault}");
        let fault = refused(&question(4, &[other, TEN], &[]));
        assert!(matches!(fault, PlanFault::Prices { .. }), "{fault}");
    }
    let dear = format!("10 TB hdd-7200, {}.00 EUR", i64::MAX / 100 / 2);
    assert!(matches!(
        refused(&question(4, &[&dear], &[])),
        PlanFault::Prices { .. }
    ));
}

#[test]
fn every_class_of_drives_can_be_asked_for() {
    let catalogue = catalogue();
    for word in catalogue.words("drive") {
        let answer = ask(&question(4, &[&format!("4 TB {}", word.word)], &[]));
        assert!(answer.kept().count() > 0, "{}", word.word);
        for row in &answer.rows {
            assert!(row.rates.read.p50.base() > 0.0 && row.price.is_none());
        }
    }
}

#[test]
fn verify_each_pick_is_best_in_what_it_is_picked_for() {
    let answer = ask(&question(6, &[TEN], &[]));
    let found = handful(&answer.rows);
    let picks: Vec<Pick> = found.iter().flat_map(|p| p.picks.clone()).collect();
    assert!(found.len() <= Pick::ALL.len());
    for pick in Pick::ALL {
        assert_eq!(picks.iter().filter(|p| **p == pick).count(), 1, "{pick:?}");
    }
    let safe = || {
        answer
            .rows
            .iter()
            .filter(|r| !r.beaten && r.survives_any > 0)
    };
    for picked in &found {
        assert!(picked.row.survives_any > 0 && !picked.row.beaten);
        for pick in &picked.picks {
            let beaten = safe().any(|other| match pick {
                Pick::MostSpace => other.usable > picked.row.usable,
                Pick::FastestWriting => {
                    other.rates.write.p50.base() > picked.row.rates.write.p50.base()
                }
                Pick::Cheapest => {
                    other.value(Criterion::Price) < picked.row.value(Criterion::Price)
                }
                Pick::Safest => other.loss.by_drives < picked.row.loss.by_drives,
                // one that survives two is among the layouts of six bays
                Pick::Balanced => picked.row.survives_any < 2,
            });
            assert!(!beaten, "{pick:?}: {}", picked.row.name());
        }
    }
    // striping over all bays gives most, and is none of them: one failed drive loses it
    assert!(answer.rows.iter().any(|r| r.survives_any == 0 && !r.beaten));
}

#[test]
fn what_is_stopped_says_what_is_known() {
    let asked = Question {
        workers: 1,
        ..question(6, &[TEN], &[])
    };
    let all = ask(&asked);
    assert_eq!(all.stopped, None);
    let enough = |done: usize, _: usize| done < 5;
    let some = layouts(&asked, &catalogue(), &enough).unwrap();
    let stopped = some.stopped.unwrap();
    assert_eq!(stopped.done, 5);
    assert!(stopped.all > 5);
    assert!(some.looked_at > 0 && some.looked_at < all.looked_at);
    // what is known so far is known as it is in the end
    for row in &some.rows {
        let whole = all.rows.iter().find(|other| other.layout == row.layout);
        let whole = whole.unwrap();
        assert_eq!((row.usable, row.rates), (whole.usable, whole.rates));
    }
    let nothing = layouts(&asked, &catalogue(), &|_, _| false);
    assert_eq!(nothing.unwrap_err(), PlanFault::Stopped);
}
