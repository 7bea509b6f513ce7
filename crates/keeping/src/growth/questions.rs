use super::*;
use narrows_core::catalogue::Catalogue;
use narrows_core::change::Edit;
use narrows_core::quantity::{Measure, seconds, terabytes, units};
use narrows_core::site::{Site, read};
use narrows_core::spread::Draws;

const DRAWS: usize = 1024;

fn site(edits: &[&str]) -> Site {
    let text = narrows_data::SITES
        .iter()
        .find(|(name, _)| *name == "granary-lane-whole")
        .map_or("", |(_, text)| text);
    let catalogue = Catalogue::embedded().unwrap();
    read(text, &Edit::parse_all(edits).unwrap(), &catalogue).unwrap()
}

fn nothing_asked() -> Question {
    Question {
        history: None,
        held: None,
        seasons: None,
        need: None,
        array: None,
    }
}

fn ask(site: &Site, question: &Question) -> GrowthAnswer {
    let catalogue = Catalogue::embedded().unwrap();
    growth(site, question, &catalogue, &mut Draws::new(DRAWS)).unwrap()
}

/// With a mean that is known the answer is the closed form: room 17.6 TB, 1.2 a month, deviation .6
/// is full after 11.7, 14.7 and 18.0 months.
#[test]
fn verify_a_known_mean_gives_the_months_of_the_vector() {
    let plain = ask(&site(&[]), &nothing_asked());
    let question = Question {
        history: Some(History {
            mean: terabytes(1.2),
            deviation: terabytes(0.6),
            error: terabytes(0.0),
            months: 36.0,
        }),
        held: Some(plain.full.usable_bytes - terabytes(17.6)),
        ..nothing_asked()
    };
    let months = ask(&site(&[]), &question).full.full_months;
    for (found, printed) in [
        (months.p05, 11.7167),
        (months.p50, 14.7499),
        (months.p95, 18.009),
    ] {
        // a slice of a thousandth of the range
        assert!((found - printed).abs() < 0.03, "{found} against {printed}");
    }
}

#[test]
fn growth_moves_dates_the_right_way() {
    let months = |edits: &[&str]| {
        ask(&site(edits), &nothing_asked())
            .full
            .comfortable_months
            .p50
    };
    let now = months(&[]);
    assert!(months(&["project.cameras=4"]) < now);
    assert!(months(&["project.shooting-days=1"]) > now);
    assert!(months(&["array.vault.fill=10 %"]) > now);
    assert!(months(&["array.vault.drives=6 x 20 TB hdd-7200"]) > now);
    let chance = |next: &str| {
        let edit = format!("project.next={next}");
        ask(&site(&[&edit]), &nothing_asked())
            .full
            .within_project_probability
    };
    assert!(chance("2") < chance("12"));
}

#[test]
fn an_array_that_is_full_already_is_full_now() {
    let found = ask(&site(&["array.vault.fill=95 %"]), &nothing_asked()).full;
    assert!(found.comfortable_months.p95 < 1e-6);
    assert!(found.full_months.p50 > 0.0);
    assert!(found.order_within_months < 1e-6);
    assert!(found.within_project_probability > 0.999);
}

#[test]
fn a_time_that_is_asked_for_is_met_less_often_the_longer_it_is() {
    let met = |days: f64| {
        let question = Question {
            need: Some(seconds(days * 86_400.0)),
            ..nothing_asked()
        };
        ask(&site(&[]), &question).full.met_probability.unwrap()
    };
    assert!(met(30.0) > met(365.0));
}

#[test]
fn the_chart_rises_and_agrees_with_the_chances() {
    let found = ask(&site(&["array.vault.fill=50 %"]), &nothing_asked());
    let tb = |size: narrows_core::quantity::Information| size.get::<units::information::terabyte>();
    let rises = found.course.windows(2).all(|p| {
        p[1].held_bytes.p50 >= p[0].held_bytes.p50 && p[1].held_bytes.p95 >= p[0].held_bytes.p95
    });
    assert!(rises);
    // the month in which the median crosses the limit is the median month
    let limit = tb(found.full.usable_bytes);
    let crossed = found.course.iter().find(|p| tb(p.held_bytes.p50) >= limit);
    if let Some(crossed) = crossed {
        let months = found.full.full_months.p50;
        assert!(
            (f64::from(crossed.month) - months).abs() < 2.5,
            "{} {months}",
            crossed.month
        );
    }
    let first = &found.course[0].held_bytes;
    assert!((first.p50.base() - found.held_bytes.p50.base()).abs() < 0.02 * first.p50.base());
}

#[test]
fn a_site_without_a_project_says_what_to_write() {
    let mut bare = site(&[]);
    bare.project = None;
    let catalogue = Catalogue::embedded().unwrap();
    let fault = growth(&bare, &nothing_asked(), &catalogue, &mut Draws::new(8)).unwrap_err();
    assert!(fault.help().contains("--readings"), "{fault}");
}

/// Whatever does not fill now is told as if everything went there.
#[test]
fn every_array_has_its_months() {
    let text = narrows_data::SITES
        .iter()
        .find(|(name, _)| *name == "granary-lane-whole")
        .map_or("", |(_, text)| text);
    let more = "[array.fast]\nnas = \"store\"\nlayout = \"raid1\"\ndrives = \"2 x 4 TB ssd-sata\"\nfill = \"20 %\"\n";
    let catalogue = Catalogue::embedded().unwrap();
    let two = read(&format!("{text}\n{more}"), &[], &catalogue).unwrap();
    let plain = ask(&two, &nothing_asked());
    assert_eq!(plain.array, "vault");
    let [fast] = plain.others.as_slice() else {
        panic!("{:?}", plain.others);
    };
    assert_eq!(fast.array, "fast");
    assert!(fast.full_months.p50 < plain.full.full_months.p50);
    let named = Question {
        array: Some("fast".to_owned()),
        ..nothing_asked()
    };
    let turned = ask(&two, &named);
    assert_eq!((turned.array.as_str(), turned.others.len()), ("fast", 1));
    assert_eq!(turned.full.full_months, fast.full_months);
    let strange = Question {
        array: Some("attic".to_owned()),
        ..nothing_asked()
    };
    let fault = growth(&two, &strange, &catalogue, &mut Draws::new(8)).unwrap_err();
    assert!(fault.to_string().contains("vault, fast"), "{fault}");
}
