//! How long it takes to reckon with the air.

use divan::Bencher;
use narrows_core::air::{
    Band, Between, Generation, Link, Obstacle, Reading, Sends, Spoken, Width, carried,
};
use narrows_core::catalogue::Catalogue;
use narrows_core::plan::air::{Question, answer};
use narrows_core::quantity::megabytes_per_second;
use narrows_core::site::read;
use narrows_core::spread::{Draws, USUAL_DRAWS};
use narrows_core::working::Sheet;
use std::fmt::Write;

fn main() {
    divan::main();
}

fn catalogue() -> Catalogue {
    Catalogue::embedded().expect("the catalogue is sound")
}

/// One link through a floor, one direction, 4,096 draws, everything drawn before.
#[divan::bench]
fn one_link(bencher: Bencher) {
    let catalogue = catalogue();
    let link = Link {
        id: "run.1".to_owned(),
        ends: ["access-point.a".to_owned(), "desk.b".to_owned()],
        speaks: Spoken {
            band: Some(Band::Five),
            generation: Some(Generation::Ax),
            width: Some(Width::Eighty),
            streams: Some(2),
        },
        between: Between {
            distance: None,
            obstacles: Some(vec![Obstacle {
                kind: "concrete-20".to_owned(),
                count: 1.0,
            }]),
            floors: 1,
            round: None,
        },
        reading: Reading::None,
        busy: None,
        crowd: None,
        band: None,
        weaker: None,
        relayed: false,
    };
    let mut draws = Draws::new(USUAL_DRAWS);
    bencher.bench_local(|| {
        let mut sheet = Sheet::new(&mut draws);
        carried(&link, Sends::Point, &catalogue, &mut sheet)
    });
}

/// Five storeys of eight rooms, twelve jacks, every number of access points.
#[divan::bench(sample_count = 10)]
fn forty_rooms_twelve_jacks(bencher: Bencher) {
    let catalogue = catalogue();
    let mut text = String::from(
        "[array.vault]\nnas = \"store\"\nlayout = \"raid6\"\ndrives = \"6 x 10 TB hdd-7200\"\n\
         [nas.store]\nport.a = { rate = \"10 Gb/s\" }\n[desk.cut-1]\nport.a = { rate = \"10 Gb/s\" }\n\
         [[run]]\nfrom = \"nas.store\"\nto = \"desk.cut-1\"\ncable = \"cat6a\"\nlength = \"3 m\"\n\
         [building]\nwalls = \"brick\"\nfloors = \"concrete-20\"\nstairs = true\n",
    );
    for floor in 0..5 {
        for room in 0..8 {
            let (left, front) = (5 * (room % 4), 5 * (room / 4));
            let _ = writeln!(
                text,
                "[room.r{floor}{room}]\nfloor = {floor}\nleft = \"{left} m\"\nfront = \"{front} m\""
            );
        }
    }
    for jack in 0..12 {
        let _ = writeln!(
            text,
            "[jack.j{jack}]\nroom = \"r{}{}\"",
            jack % 5,
            (3 * jack) % 8
        );
    }
    let site = read(&text, &[], &catalogue).expect("the house is sound");
    let question = Question {
        need: megabytes_per_second(25.0),
        place: Some(12),
        radar: true,
    };
    bencher.bench_local(|| answer(&site, &question, &catalogue, &mut Draws::new(USUAL_DRAWS)));
}
