use super::*;
use narrows_core::catalogue::Catalogue;
use narrows_core::change::Edit;
use narrows_core::power::{in_minutes, in_watts};
use narrows_core::quantity::{Measure, seconds};
use narrows_core::site::{Site, read};
use narrows_core::spread::Draws;

const DRAWS: usize = 512;

fn whole() -> &'static str {
    narrows_data::SITES
        .iter()
        .find(|(name, _)| *name == "granary-lane-whole")
        .map_or("", |(_, text)| text)
}

fn site(edits: &[&str]) -> Site {
    let edits = Edit::parse_all(edits).unwrap();
    read(whole(), &edits, &Catalogue::embedded().unwrap()).unwrap()
}

fn ask(edits: &[&str], question: &Question) -> SupplyAnswer {
    let catalogue = Catalogue::embedded().unwrap();
    let found = outage(&site(edits), question, &catalogue, &mut Draws::new(DRAWS)).unwrap();
    found.supplies.into_iter().next().unwrap()
}

fn plain(edits: &[&str]) -> SupplyAnswer {
    ask(edits, &Question::default())
}

/// With everything stated that can be, the answer is the closed form of the vectors.
#[test]
fn verify_a_measured_load_gives_the_minutes_of_the_vector() {
    let found = plain(&[
        "supply.closet.measured=250 W",
        "supply.closet.age=0 s",
        "supply.closet.temperature=17 C",
    ]);
    // 250 W of a 900 W unit on 2 x 9 Ah: 19.1 min, 14.5 to 24.4 at the ends
    let lasts = found.lasts_new_s;
    let middle = in_minutes(lasts.p50);
    assert!((middle - 19.122).abs() < 0.5, "{middle}");
    let (low, high) = (in_minutes(lasts.p05), in_minutes(lasts.p95));
    assert!(low > 14.5 && low < 19.0, "{low}");
    assert!(high < 24.4 && high > 19.2, "{high}");
    assert!((in_watts(found.busy_watts.p50) - 250.0).abs() < 1e-9);
}

#[test]
fn a_larger_battery_never_shortens_and_an_older_never_lengthens() {
    let lasts = |edits: &[&str]| plain(edits).followed.lasts;
    let each = |less: &[&str], more: &[&str]| {
        let (less, more) = (lasts(less), lasts(more));
        assert!(
            less.iter().zip(&more).all(|(l, m)| l <= m),
            "{less:?} {more:?}"
        );
        assert!(less.iter().zip(&more).any(|(l, m)| l < m));
    };
    each(
        &["supply.closet.battery=2 x 7 Ah"],
        &["supply.closet.battery=2 x 9 Ah"],
    );
    each(
        &["supply.closet.battery=1 x 9 Ah"],
        &["supply.closet.battery=2 x 9 Ah"],
    );
    each(
        &["supply.closet.age=6 years"],
        &["supply.closet.age=3 years"],
    );
    each(
        &["supply.closet.measured=300 W"],
        &["supply.closet.measured=200 W"],
    );
}

#[test]
fn a_longer_gap_is_never_ridden_more_often() {
    let chance = |length: f64| {
        let gap = Some(Gap {
            from: seconds(length),
            to: seconds(length),
        });
        let asked = Question {
            gap,
            ..Question::default()
        };
        ask(&[], &asked).gaps.first().unwrap().ridden_probability
    };
    let chances: Vec<f64> = [1.0, 60.0, 600.0, 1200.0, 2400.0, 7200.0]
        .map(chance)
        .into();
    assert!(chances.windows(2).all(|p| p[1] <= p[0]), "{chances:?}");
    assert!(chances[0] > 0.5 && chances[5] < 0.2, "{chances:?}");
}

#[test]
fn a_makers_table_beats_what_is_worked_out() {
    let found = plain(&[
        "supply.closet.minutes=100 W 30 min, 400 W 5 min",
        "supply.closet.measured=100 W",
        "supply.closet.age=0 s",
        "supply.closet.temperature=17 C",
    ]);
    // at 25 C inside and new, the table's own entry
    assert!((in_minutes(found.lasts_new_s.p50) - 30.0).abs() < 1.0);
}

#[test]
fn too_much_load_is_an_overload_and_rides_nothing() {
    let found = plain(&["supply.closet.rating=60 W"]);
    assert!(found.overload_probability > 0.9);
    assert!(found.gaps.iter().all(|g| g.ridden_probability < 0.1));
    let by_va = plain(&["supply.closet.apparent=50 VA"]);
    assert!(by_va.overload_probability > 0.9);
}

#[test]
fn double_conversion_passes_more_often_than_standby() {
    let passes =
        |kind: &str| plain(&[&format!("supply.closet.kind={kind}")]).change_over_probability;
    let standby = passes("standby");
    assert!(passes("double-conversion") > standby);
    assert!(passes("line-interactive") >= standby);
}

#[test]
fn starting_all_drives_draws_most() {
    let found = plain(&[]);
    assert!(found.start_watts.p50 > found.busy_watts.p50);
    let nas = found.loads.iter().find(|l| l.id == "nas.store").unwrap();
    assert!(nas.quiet_watts.p50 < nas.busy_watts.p50);
    let flash = plain(&["array.vault.drives=6 x 2 TB nvme-gen3"]);
    assert!(flash.start_watts.p50 < found.start_watts.p50);
}

#[test]
fn writes_that_wait_lose_nothing() {
    let lost = |sync: &str| plain(&[&format!("nas.store.sync={sync}")]).stop.unwrap();
    assert!(lost("no").lost_bytes.p50.base() > 0.0);
    assert!(lost("yes").lost_bytes.p95.base() <= 0.0);
    assert!(lost("yes").waits_for_drives);
    assert!(lost("yes").takes_s.p50 < lost("no").takes_s.p50);
}

#[test]
fn gaps_in_a_row_leave_less_each_time() {
    let asked = Question {
        gap: Some(Gap {
            from: seconds(480.0),
            to: seconds(480.0),
        }),
        times: 3,
        pause: Some(seconds(1200.0)),
        ..Question::default()
    };
    let found = ask(&[], &asked).in_a_row;
    assert_eq!(found.len(), 3);
    let carried: Vec<f64> = found.iter().map(|g| g.carried_probability).collect();
    assert!(carried.windows(2).all(|p| p[1] <= p[0]), "{carried:?}");
    let charges = found.windows(2).all(|p| p[1].charge.p50 <= p[0].charge.p50);
    assert!(charges);
}

#[test]
fn a_need_is_met_by_what_it_says() {
    let asked = |minutes: f64| Question {
        need: Some(seconds(minutes * 60.0)),
        ..Question::default()
    };
    let short = ask(&[], &asked(10.0)).need.unwrap();
    let long = ask(&[], &asked(60.0)).need.unwrap();
    assert!(long.met_probability < short.met_probability);
    let (some, more) = (short.ampere_hours.unwrap(), long.ampere_hours.unwrap());
    assert!(more.p50 > some.p50);
    // so much in the unit lasts so long in 95 of 100 cases at the end of its life
    let enough = format!("supply.closet.battery=2 x {:.1} Ah", some.p95 / 2.0);
    let worn = plain(&[&enough]).lasts_worn_s;
    assert!((in_minutes(worn.p05) - 10.0).abs() < 0.6, "{worn:?}");
    assert!(ask(&[], &asked(3.0)).need.unwrap().ampere_hours.is_none());
}

#[test]
fn a_site_without_a_supply_says_what_to_write() {
    let catalogue = Catalogue::embedded().unwrap();
    let mut bare = site(&[]);
    bare.supplies.clear();
    let asked = Question::default();
    let fault = outage(&bare, &asked, &catalogue, &mut Draws::new(8)).unwrap_err();
    assert!(fault.help().contains("[supply.closet]"), "{fault}");
}

/// An access point lives on its own plug or on what its switch feeds it, never on both.
#[test]
fn an_access_point_takes_its_power_where_it_has_it() {
    let total = |edits: &[&str]| in_watts(plain(edits).busy_watts.p50);
    let own = total(&["supply.closet.feeds=nas.store, switch.attic, access-point.landing"]);
    let without = total(&[]);
    assert!(own > without + 9.0, "{own} {without}");
    let cable = "access-point.landing.power=true";
    let fed = total(&[cable]);
    // the second supply of the switch and the cable take their share
    assert!(fed > own, "{fed} {own}");
    let both = [
        cable,
        "supply.closet.feeds=nas.store, switch.attic, access-point.landing",
    ];
    assert!((total(&both) - fed).abs() < 1e-9);
    let catalogue = Catalogue::embedded().unwrap();
    let bare = |edits: &[&str]| {
        let question = Question::default();
        let found = outage(&site(edits), &question, &catalogue, &mut Draws::new(8));
        found.unwrap().unprotected
    };
    assert!(bare(&[]).contains(&"access-point.landing".to_owned()));
    assert!(!bare(&[cable]).contains(&"access-point.landing".to_owned()));
}

/// Six drives in turn take more than at work and less than all at once, over the pauses between them.
#[test]
fn drives_that_start_in_turn_take_less_and_longer() {
    let found = plain(&[]);
    let [busy, turn, start] = [
        found.busy_watts,
        found.start_in_turn_watts,
        found.start_watts,
    ]
    .map(|range| in_watts(range.p50));
    assert!(busy < turn && turn < start, "{busy} {turn} {start}");
    let ready = found.start_in_turn_s.unwrap();
    // five pauses of 6 s and 11 s for the last one
    assert!((ready.p50.base() - 41.0).abs() < 4.0, "{ready:?}");
}
