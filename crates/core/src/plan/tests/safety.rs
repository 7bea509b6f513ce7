//! How long layouts rebuild, and how likely they are lost.

use super::*;

#[test]
fn verify_loss_is_that_of_the_durability_model() {
    let answer = ask(&question(8, &[TEN], &[]));
    let row = answer
        .rows
        .iter()
        .find(|r| r.layout.to_string() == "raid6 7 x 10 TB + 1 spare 10 TB")
        .unwrap();
    let choice = DriveChoice::parse(TEN, &catalogue()).unwrap();
    let Drive::Spinning {
        outer, inner_ratio, ..
    } = choice.drive()
    else {
        panic!("a hard disk turns");
    };
    let outlook = Outlook::of(View::Typical, true, true, &catalogue()).unwrap();
    let rebuild = Rebuild {
        drive: Zones::new(
            outer.value.median(),
            inner_ratio.value.median(),
            choice.size().bytes().information(),
        )
        .unwrap(),
        ceiling: megabytes_per_second(204.8),
        copied: ratio(1.0),
        detection: outlook.detection,
        replacement: outlook.replacement,
    };
    let time = rebuild.time(outlook.rebuild_share).unwrap();
    assert_eq!(row.rebuild.unwrap().typical, time);
    let held: Information = row.usable.information() * percent(60.0);
    let expected = safety(&row.layout, time, held, &outlook, year()).unwrap();
    assert_eq!(row.loss.array.typical, expected.array_lost);
    assert_eq!(row.loss.file_damaged, expected.file_damaged);
    // the floor of 0.1 % is in it
    assert!(row.loss.array.typical > row.loss.by_common_causes);
    assert!((row.loss.by_common_causes.get::<one>() - 0.001).abs() < 1e-9);
}

#[test]
fn verify_a_rebuild_of_flash_goes_through_its_phases() {
    /// Sums and products of doubles in another order.
    const ROUNDING: f64 = 1e-9;
    // 2 TB: a fifth is cache at 2500 MB/s, then 900 MB/s to .6 of it, then 400 MB/s
    let answer = ask(&question(4, &["2 TB nvme-gen3, 150 EUR"], &[]));
    let rebuild = |layout: &str| {
        let rows = answer.rows.iter();
        let row = rows.clone().find(|r| r.layout.to_string() == layout);
        let names: Vec<String> = rows.map(|r| r.layout.to_string()).collect();
        row.unwrap_or_else(|| panic!("{names:?}"))
            .rebuild
            .unwrap()
            .typical
    };
    let capacity = DriveChoice::parse("2 TB nvme-gen3", &catalogue()).unwrap();
    let bytes = capacity.size().bytes().get() as f64;
    let outlook = Outlook::of(View::Typical, false, false, &catalogue()).unwrap();
    let waiting =
        (outlook.detection + outlook.replacement).get::<crate::quantity::units::time::second>();
    let share = outlook.rebuild_share.get::<one>();
    // stripes: no phase faster than the throttle
    let held = |rate: f64| (rate * share).min(204.8) * 1e6;
    let by_hand = bytes * (0.2 / held(2500.0) + 0.4 / held(900.0) + 0.4 / held(400.0));
    let found = rebuild("raid5 4 x 2 TB").get::<crate::quantity::units::time::second>();
    approx::assert_relative_eq!(found - waiting, by_hand, max_relative = ROUNDING);
    // a pool: the 60 % that are filled end where folding begins, at half the rate
    let free = |rate: f64| rate * share * 0.5 * 1e6;
    let by_hand = bytes * (0.2 / free(2500.0) + 0.4 / free(900.0));
    let found = rebuild("raidz1 4 x 2 TB").get::<crate::quantity::units::time::second>();
    approx::assert_relative_eq!(found - waiting, by_hand, max_relative = ROUNDING);
}

#[test]
fn property_risk_falls_with_redundancy_and_a_spare() {
    let answer = ask(&question(8, &[TEN], &[]));
    let lost = |text: &str| {
        let row = answer
            .rows
            .iter()
            .find(|r| r.layout.to_string() == text)
            .unwrap();
        (row.loss.by_drives.get::<one>(), row.loss.array)
    };
    let (raid0, raid5, raid6) = (
        lost("raid0 7 x 10 TB"),
        lost("raid5 7 x 10 TB"),
        lost("raid6 7 x 10 TB"),
    );
    let spare = lost("raid5 7 x 10 TB + 1 spare 10 TB");
    assert!(raid0.0 > raid5.0 && raid5.0 > raid6.0);
    assert!(spare.0 < raid5.0);
    for (_, views) in [raid0, raid5, raid6, spare] {
        assert!(views.optimistic <= views.typical && views.typical <= views.pessimistic);
    }
}

#[test]
fn shingled_drives_rebuild_for_long() {
    let answer = ask(&question(
        4,
        &["8 TB hdd-5400, 150 EUR", "8 TB hdd-smr, 140 EUR"],
        &[],
    ));
    let hours = |class: &str| {
        let row = answer
            .rows
            .iter()
            .find(|r| r.name() == format!("raid5 4 x 8 TB {class}"))
            .unwrap();
        row.rebuild
            .unwrap()
            .typical
            .get::<crate::quantity::units::time::hour>()
            - 72.1
    };
    assert!((hours("hdd-smr") / hours("hdd-5400") - 10.0).abs() < 1e-6);
}
