//! How long a choice among offers takes, and a patch list.

use divan::Bencher;
use narrows_benches::example_text;
use narrows_core::budget;
use narrows_core::catalogue::Catalogue;
use narrows_core::change::Edit;
use narrows_core::plan::ports::{Jack, Load, Question as PortsQuestion, jack_map, ports};
use narrows_core::plan::purchases::{Answer, Base, Offer, Question, offers, purchases};
use narrows_core::quantity::{Measure, megabytes, megabytes_per_second};
use narrows_core::site::{Site, read};
use narrows_core::spread::{Draws, USUAL_DRAWS};
use narrows_core::work::{Activity, Direction, Work};
use std::fmt::Write;

fn main() {
    divan::main();
}

/// Cases over which the search compares.
const CASES: usize = 64;

/// Twenty offers, what each sets, and nothing that excludes another but by its place.
const SETS: [&str; 20] = [
    "switch.stairs.port.any.rate=\"1 Gb/s\"",
    "desk.colour.port.a.rate=\"10 Gb/s\"",
    "switch.attic.port.fast.count=8",
    "desk.colour.disk=\"nvme-gen3\"",
    "run.3.cable=\"cat6a\"",
    "run.7.cable=\"cat6\"",
    "run.6.cable=\"cat6\"",
    "run.5.cable=\"cat6a\"",
    "run.4.cable=\"cat6a\"",
    "nas.store.memory=\"32 GB\"",
    "nas.store.cpu=\"large, 8 cores\"",
    "array.vault.drives=\"8 x 10 TB hdd-7200\"",
    "run.2.cable=\"cat6a\"",
    "desk.cut-1.disk=\"nvme-gen4\"",
    "desk.sound.disk=\"nvme-gen3\"",
    "switch.attic.port.slow.rate=\"2.5 Gb/s\"",
    "desk.sound.port.a.rate=\"2.5 Gb/s\"",
    "desk.ingest.port.a.rate=\"2.5 Gb/s\"",
    "run.1.length=\"2 m\"",
    "network.round-trip=\"100..200 us\"",
];

fn made(count: usize, catalogue: &Catalogue) -> Vec<Offer> {
    let mut text = String::new();
    for (number, set) in SETS.iter().enumerate().take(count) {
        let price = 25 + 37 * number;
        let _ = writeln!(
            text,
            "[[offer]]\nid='o{number}'\nprice='{price} EUR'\nset=['{set}']"
        );
    }
    offers(&text, &base(), catalogue).expect("the offers are sound")
}

fn base() -> Base<'static> {
    Base {
        site: example_text().as_bytes(),
        tasks: None,
        edits: &[],
    }
}

fn bought(offers: &[Offer], workers: usize, catalogue: &Catalogue) -> Answer {
    let question = Question {
        base: base(),
        offers,
        spend: None,
        need: None,
        activity: Activity::Copy,
        draws: USUAL_DRAWS,
        workers,
    };
    purchases(&question, catalogue, &|_, _| true).expect("there is an answer")
}

/// Offers on the example site, all combinations, with what is kept drawn in full.
#[divan::bench(args = [(8, 1), (10, 2), (20, 1), (20, 2)], sample_count = 10)]
fn buy(bencher: Bencher, (count, workers): (usize, usize)) {
    let catalogue = Catalogue::embedded().expect("the catalogue is sound");
    let offers = made(count, &catalogue);
    bencher.bench_local(|| bought(&offers, workers, &catalogue));
}

/// The same by brute force: every combination read as a site, and all its desks asked over as many cases as the search takes.
#[divan::bench(args = [8], sample_count = 3, sample_size = 1)]
fn buy_by_brute_force(bencher: Bencher, count: usize) {
    let catalogue = Catalogue::embedded().expect("the catalogue is sound");
    let question = budget::Question {
        work: Work::plain(Activity::Copy),
        desk: None,
        working: false,
        need: None,
    };
    bencher.bench_local(|| {
        let mut most = 0.0_f64;
        for combination in 0..1_usize << count {
            let sets: Vec<String> = (0..count)
                .filter(|offer| combination >> offer & 1 == 1)
                .map(|offer| SETS[offer].to_owned())
                .collect();
            let edits = Edit::parse_all(&sets).expect("the offers are sound");
            let site = read(example_text(), &edits, &catalogue).expect("the site is sound");
            let mut draws = Draws::new(CASES);
            let found = budget::answer(&site, &question, &catalogue, &mut draws);
            let flows = found.expect("there is an answer").flows;
            let all = flows
                .iter()
                .map(|flow| flow.drawn().map(Measure::base).sum::<f64>());
            most = most.max(all.sum());
        }
        most
    });
}

/// A studio of so many desks on two switches, a third of the ports fast.
fn studio(desks: usize, catalogue: &Catalogue) -> (Site, Vec<Jack>, Vec<Load>) {
    let fast = desks / 3 + 1;
    let mut text = format!(
        "[array.a]\nnas=\"n\"\nlayout=\"raid6\"\ndrives=\"8 x 10 TB hdd-7200\"\n\
         [nas.n]\nport.a={{rate=\"10 Gb/s\"}}\n\
         [switch.s]\nport.fast={{rate=\"10 Gb/s\",count={}}}\nport.slow={{rate=\"1 Gb/s\",count={desks}}}\n\
         [switch.t]\nport.up={{rate=\"10 Gb/s\"}}\nport.mid={{rate=\"2.5 Gb/s\",count={desks}}}\n",
        fast + 2
    );
    let mut runs = String::from(
        "[[run]]\nfrom=\"nas.n\"\nto=\"switch.s.fast\"\ncable=\"cat6a\"\nlength=\"3 m\"\n\
         [[run]]\nfrom=\"switch.t.up\"\nto=\"switch.s.fast\"\ncable=\"cat6a\"\nlength=\"3 m\"\n",
    );
    let mut list = String::from("jack,panel port,desk,cable,length m\n");
    let mut loads = Vec::new();
    for desk in 0..desks {
        let name = format!("d{desk}");
        let cable = ["cat5e", "cat6", "unknown"][desk % 3];
        let _ = writeln!(text, "[desk.{name}]\nport.a={{rate=\"10 Gb/s\"}}");
        let _ = writeln!(runs, "[[run]]\nfrom=\"desk.{name}\"\nto=\"switch.s.slow\"");
        let _ = writeln!(list, "J{desk},P{desk},{name},{cable},{}", 15 + desk);
        loads.push(Load {
            desk: name,
            what: "copy".to_owned(),
            array: None,
            direction: Direction::Read,
            demand: (desk % 5 == 0).then(|| megabytes_per_second(140.0)),
            per_day: Some(megabytes(2e4 * (1 + desk % 7) as f64)),
        });
    }
    let site = read(&(text + &runs), &[], catalogue).expect("the site is sound");
    let (_, jacks) = jack_map(list.as_bytes(), &site, catalogue);
    (site, jacks.expect("the list is sound"), loads)
}

/// A patch list for so many desks, three kinds of ports and jacks of every kind.
#[divan::bench(args = [(40, 1), (40, 2)], sample_count = 10)]
fn patch_list(bencher: Bencher, (desks, workers): (usize, usize)) {
    let catalogue = Catalogue::embedded().expect("the catalogue is sound");
    let (site, jacks, loads) = studio(desks, &catalogue);
    bencher.bench_local(|| {
        let question = PortsQuestion {
            site: &site,
            jacks: &jacks,
            loads: &loads,
            draws: USUAL_DRAWS,
            workers,
        };
        ports(&question, &catalogue, &|_, _| true).expect("there is an answer")
    });
}
