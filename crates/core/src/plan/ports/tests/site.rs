use super::super::{Answer, Jack, Load, PortsFault, Question, jack_map, ports};
use crate::budget;
use crate::catalogue::Catalogue;
use crate::change::Edit;
use crate::quantity::{DataRate, Information, megabytes, megabytes_per_second, units};
use crate::site::{Site, read};
use crate::spread::Draws;
use crate::work::{Activity, Direction, Work};

/// Draws that are enough where only equality is looked at.
const DRAWS: usize = 256;

fn granary(edits: &[&str], catalogue: &Catalogue) -> Site {
    let text = narrows_data::SITES
        .iter()
        .find(|(name, _)| *name == "granary-lane");
    let edits = Edit::parse_all(edits).unwrap();
    read(text.unwrap().1, &edits, catalogue).unwrap()
}

fn jacks(rows: &str, site: &Site, catalogue: &Catalogue) -> Vec<Jack> {
    let text = format!("jack;panel port;desk;switch;cable;length m\n{rows}");
    jack_map(text.as_bytes(), site, catalogue).1.unwrap()
}

fn ask(site: &Site, jacks: &[Jack], loads: &[Load], catalogue: &Catalogue) -> Answer {
    let question = Question {
        site,
        jacks,
        loads,
        draws: DRAWS,
        workers: 1,
    };
    ports(&question, catalogue, &|_, _| true).unwrap()
}

fn plays(desk: &str, rate: f64) -> Load {
    Load {
        desk: desk.to_owned(),
        what: "play".to_owned(),
        array: None,
        direction: Direction::Read,
        demand: Some(megabytes_per_second(rate)),
        per_day: None,
    }
}

fn waits(desk: &str, size: Information) -> Load {
    Load {
        desk: desk.to_owned(),
        what: "copy".to_owned(),
        array: None,
        direction: Direction::Read,
        demand: None,
        per_day: Some(size),
    }
}

/// Where each desk is patched.
fn where_to(answer: &Answer) -> Vec<(&str, String)> {
    let port = |patch: &super::super::Patch| {
        patch
            .port
            .as_ref()
            .map_or("none".to_owned(), |p| format!("{} {}", p.switch, p.port))
    };
    answer
        .patches
        .iter()
        .map(|p| (p.desk.as_str(), port(p)))
        .collect()
}

fn of<'a>(answer: &'a Answer, desk: &str) -> &'a super::super::Patch {
    answer.patches.iter().find(|p| p.desk == desk).unwrap()
}

#[test]
fn verify_the_patched_site_has_the_budget_that_was_told() {
    let catalogue = Catalogue::embedded().unwrap();
    let site = granary(&[], &catalogue);
    // a jack that surely carries what both ends know: sound leaves the switch under the stairs
    let jacks = jacks("S-1;P-07;sound;;cat6a;12\n", &site, &catalogue);
    let answer = ask(&site, &jacks, &[], &catalogue);
    let sound = of(&answer, "sound");
    assert_eq!(sound.port.as_ref().unwrap().switch, "attic");
    assert_eq!(sound.links.len(), 1);
    let after = granary(
        &[r#"run.6.to="switch.attic.slow""#, r#"run.6.cable="cat6a""#],
        &catalogue,
    );
    let question = budget::Question {
        work: Work::plain(Activity::Copy),
        desk: Some("sound".to_owned()),
        working: false,
        need: None,
    };
    let told = budget::answer(&after, &question, &catalogue, &mut Draws::new(DRAWS)).unwrap();
    assert_eq!(told.flows[0].direction, Direction::Read);
    assert_eq!(sound.read, Some(told.flows[0].megabytes_per_s));
    assert_eq!(sound.write, Some(told.flows[1].megabytes_per_s));
}

#[test]
fn verify_workers_do_not_change_the_patch_list() {
    let catalogue = Catalogue::embedded().unwrap();
    let site = granary(&[], &catalogue);
    let rows =
        "A;1;cut-1;;cat5e;31\nB;2;cut-2;;cat5e;55\nC;3;colour;;cat5e;28\nD;4;sound;;unknown;20\n";
    let jacks = jacks(rows, &site, &catalogue);
    let told = |workers: usize| {
        let question = Question {
            site: &site,
            jacks: &jacks,
            loads: &[plays("cut-1", 200.0)],
            draws: DRAWS,
            workers,
        };
        format!("{:?}", ports(&question, &catalogue, &|_, _| true).unwrap())
    };
    assert_eq!(told(1), told(3));
}

#[test]
fn a_desk_without_a_jack_stays_on_its_switch_and_one_with_a_jack_goes_anywhere() {
    let catalogue = Catalogue::embedded().unwrap();
    let site = granary(&[], &catalogue);
    let answer = ask(&site, &[], &[], &catalogue);
    for patch in &answer.patches {
        assert!(patch.stays(), "{patch:?}");
    }
    assert_eq!(answer.waits().0, answer.waits().1);
    assert!(answer.assumed.is_some());
    let free: Vec<usize> = answer.free.iter().map(|(_, count)| *count).collect();
    // attic slow: eight, less the way to the stairs and colour; stairs: five, less that and two desks
    assert_eq!(free, [6, 2]);
    let rows = "S-1;P-07;sound;;cat5e;12\nN-1;P-09;ingest;stairs;cat5;9\n";
    let answer = ask(&site, &jacks(rows, &site, &catalogue), &[], &catalogue);
    assert_eq!(of(&answer, "sound").port.as_ref().unwrap().port, "slow");
    // its panel is next to the one switch only
    assert!(of(&answer, "ingest").stays());
}

#[test]
fn the_longest_waiting_gets_the_fast_port_unless_its_cable_or_card_cannot_use_it() {
    let catalogue = Catalogue::embedded().unwrap();
    // one fast port for the two desks that have a fast card
    let site = granary(
        &[
            "switch.attic.port.fast.count=2",
            "run.3.to=\"switch.attic.slow\"",
        ],
        &catalogue,
    );
    let rows = "A;1;cut-1;;cat6a;20\nB;2;cut-2;;cat6a;20\nC;3;colour;;cat6a;20\n";
    let list = jacks(rows, &site, &catalogue);
    let large = megabytes(2e6);
    let small = megabytes(2e5);
    let answer = ask(
        &site,
        &list,
        &[waits("cut-1", small), waits("cut-2", large)],
        &catalogue,
    );
    assert_eq!(of(&answer, "cut-2").port.as_ref().unwrap().port, "fast");
    // its card knows 1 Gb/s: nothing would be saved
    let loads = [waits("cut-1", small), waits("colour", large)];
    let answer = ask(&site, &list, &loads, &catalogue);
    assert_eq!(of(&answer, "cut-1").port.as_ref().unwrap().port, "fast");
    assert!(of(&answer, "colour").stays());
    // its cable carries no more either
    let rows = "A;1;cut-1;;cat6a;20\nB;2;cut-2;;cat5;95\nC;3;colour;;cat6a;20\n";
    let list = jacks(rows, &site, &catalogue);
    let answer = ask(
        &site,
        &list,
        &[waits("cut-1", small), waits("cut-2", large)],
        &catalogue,
    );
    assert_eq!(of(&answer, "cut-1").port.as_ref().unwrap().port, "fast");
}

#[test]
fn streams_come_first_and_shared_links_are_not_over_filled() {
    let catalogue = Catalogue::embedded().unwrap();
    let site = granary(
        &[
            "switch.attic.port.fast.count=2",
            "run.3.to=\"switch.attic.slow\"",
        ],
        &catalogue,
    );
    let rows =
        "A;1;cut-1;;cat6a;20\nB;2;cut-2;;cat6a;20\nS;7;sound;;cat6a;12\nN;9;ingest;;cat6a;9\n";
    let list = jacks(rows, &site, &catalogue);
    let loads = [waits("cut-1", megabytes(5e6)), plays("cut-2", 300.0)];
    let answer = ask(&site, &list, &loads, &catalogue);
    assert_eq!(of(&answer, "cut-2").port.as_ref().unwrap().port, "fast");
    assert!(answer.met());
    assert!(answer.streams[0].met && answer.streams[0].chance.value > 0.9);
    // all stay behind a link of 100 Mb/s, where no port elsewhere is to be had
    let loads = [plays("sound", 8.0), plays("ingest", 8.0)];
    let stairs = "S;7;sound;stairs;cat6a;12\nN;9;ingest;stairs;cat6a;9\n";
    let answer = ask(&site, &jacks(stairs, &site, &catalogue), &loads, &catalogue);
    assert!(!answer.met());
    for stream in &answer.streams {
        assert_eq!(stream.full, ["run.5"]);
        // half of 100 Mb/s less headers
        assert!(stream.gets > megabytes_per_second(5.4) && stream.gets < megabytes_per_second(6.0));
    }
    let taken: DataRate = answer
        .shared
        .iter()
        .find(|s| s.run == "run.5")
        .unwrap()
        .wanted;
    assert!((taken.get::<units::data_rate::megabyte_per_second>() - 16.0).abs() < 1e-9);
    // one of them may leave
    let one = "S;7;sound;;cat6a;12\nN;9;ingest;stairs;cat6a;9\n";
    let answer = ask(&site, &jacks(one, &site, &catalogue), &loads, &catalogue);
    assert!(answer.met(), "{:?}", where_to(&answer));
    assert_eq!(of(&answer, "sound").port.as_ref().unwrap().switch, "attic");
}

#[test]
fn what_cannot_be_asked_is_refused() {
    let catalogue = Catalogue::embedded().unwrap();
    let text = "[array.a]\nnas=\"n\"\nlayout=\"raid1\"\ndrives=\"2 x 4 TB hdd-5400\"\n\
                [nas.n]\nport.a={rate=\"1 Gb/s\"}\n[desk.d]\nport.a={rate=\"1 Gb/s\"}\n\
                [[run]]\nfrom=\"desk.d\"\nto=\"nas.n\"\n";
    let site = read(text, &[], &catalogue).unwrap();
    let asked = |site: &Site, loads: &[Load]| {
        let question = Question {
            site,
            jacks: &[],
            loads,
            draws: DRAWS,
            workers: 1,
        };
        ports(&question, &catalogue, &|_, _| true).unwrap_err()
    };
    assert_eq!(asked(&site, &[]), PortsFault::NothingToPatch);
    let site = granary(&[], &catalogue);
    let fault = asked(&site, &[plays("attic", 1.0)]);
    assert_eq!(fault, PortsFault::NoDesk("attic".to_owned()));
}

#[test]
fn desks_that_nobody_looked_at_keep_their_port() {
    let catalogue = Catalogue::embedded().unwrap();
    let site = granary(&[], &catalogue);
    let rows = "D;4;sound;;cat6a;12\nE;5;ingest;;cat6a;12\n";
    let jacks = jacks(rows, &site, &catalogue);
    let question = Question {
        site: &site,
        jacks: &jacks,
        loads: &[],
        draws: DRAWS,
        workers: 1,
    };
    let all = ports(&question, &catalogue, &|_, _| true).unwrap();
    assert_eq!(all.stopped, None);
    assert!(!of(&all, "sound").stays() && !of(&all, "ingest").stays());
    // the first four desks in the order of the site, sound among them
    let some = ports(&question, &catalogue, &|done, _| done < 4).unwrap();
    let stopped = some.stopped.unwrap();
    assert_eq!((stopped.done, stopped.all), (4, 5));
    assert!(!of(&some, "sound").stays());
    assert!(of(&some, "ingest").stays());
    assert_eq!(of(&some, "ingest").waits, of(&all, "ingest").waits_today);
    let none = ports(&question, &catalogue, &|_, _| false).unwrap();
    assert!(none.patches.iter().all(super::super::Patch::stays));
}
