use super::*;
use crate::explain::{Amount, Exactness, What};
use crate::quantity::{DataRate, Measure, in_megabytes_per_second, units};
use crate::work::Direction;

/// What a sum of conversions may lose, relative.
const ALGEBRA: f64 = 1e-12;

const READ: Option<Direction> = Some(Direction::Read);
const WRITE: Option<Direction> = Some(Direction::Write);

fn rate_of(reading: &Reading) -> &crate::explain::RateReading {
    match &reading.amount {
        Amount::Rate(rate) => rate,
        other => panic!("{}: {other:?}", reading.text),
    }
}

fn megabytes(reading: &Reading) -> f64 {
    in_megabytes_per_second(rate_of(reading).likeliest())
}

/// A text, whose it is, what, which way, MB/s of the likeliest meaning, how exact.
type Row = (
    &'static str,
    Option<&'static str>,
    What,
    Option<Direction>,
    f64,
    Exactness,
);

use Exactness::{About, AtLeast, AtMost, Peak, Point, Range};
use What::{Copy, LocalArray, LocalDisk, ManyFiles, RawTcp};

const CUT: Option<&str> = Some("cut-1");

/// Texts that are rates.
const RATES: &[Row] = &[
    ("cut-1 copy read 112 MB/s", CUT, Copy, READ, 112.0, Point),
    ("Cut-1: Copy, READ 112 MB/s", CUT, Copy, READ, 112.0, Point),
    ("112 MB/s read copy cut-1", CUT, Copy, READ, 112.0, Point),
    ("read 112 MB/s on cut-1", CUT, Copy, READ, 112.0, Point),
    ("desk cut-1 read 112", CUT, Copy, READ, 112.0, Point),
    ("read 11.4 MB/s", None, Copy, READ, 11.4, Point),
    ("read 11,4MB/s", None, Copy, READ, 11.4, Point),
    ("112", None, Copy, None, 112.0, Point),
    ("the dialog says 112", None, Copy, None, 112.0, Point),
    ("copy about 112", None, Copy, None, 112.0, About),
    ("~112 MB/s", None, Copy, None, 112.0, About),
    ("copy 85 MB/s on average", None, Copy, None, 85.0, About),
    ("download 112 MiB/s", None, Copy, READ, 117.440512, Point),
    (
        "uploading at 0.9 MB per second",
        None,
        Copy,
        WRITE,
        0.9,
        Point,
    ),
    ("upload 900 kB/s", None, Copy, WRITE, 0.9, Point),
    ("write 1.1 GB/s", None, Copy, WRITE, 1100.0, Point),
    ("from the nas 60 MB/s", None, Copy, READ, 60.0, Point),
    (
        "copy to the server 60 megabytes a second",
        None,
        Copy,
        WRITE,
        60.0,
        Point,
    ),
    ("raw tcp write 9.4 Gb/s", None, RawTcp, WRITE, 1175.0, Point),
    ("raw tcp write 9.4", None, RawTcp, WRITE, 1175.0, Point),
    ("raw-tcp 940", None, RawTcp, None, 117.5, Point),
    (
        "memory to memory 940 Mbit/s",
        None,
        RawTcp,
        None,
        117.5,
        Point,
    ),
    (
        "network test read 941 mbps",
        None,
        RawTcp,
        READ,
        117.625,
        Point,
    ),
    (
        "local array read 430 MB/s",
        None,
        LocalArray,
        READ,
        430.0,
        Point,
    ),
    (
        "on the NAS itself 430 MB/s reading",
        None,
        LocalArray,
        READ,
        430.0,
        Point,
    ),
    (
        "local disk write 900 MB/s of 20 GB",
        None,
        LocalDisk,
        WRITE,
        900.0,
        Point,
    ),
    (
        "many files write 12 MB/s",
        None,
        ManyFiles,
        WRITE,
        12.0,
        Point,
    ),
    (
        "thousands of small files 3 MB/s",
        None,
        ManyFiles,
        None,
        3.0,
        Point,
    ),
    ("copy read 80..95 MB/s", None, Copy, READ, 87.5, Range),
    ("copy read 80-95 MB/s", None, Copy, READ, 87.5, Range),
    ("copy read 80 to 95 MB/s", None, Copy, READ, 87.5, Range),
    ("80 MB/s to 95 MB/s", None, Copy, None, 87.5, Range),
    ("between 80 and 95 MB/s", None, Copy, None, 87.5, Range),
    (
        "copy write less than 5 MB/s",
        None,
        Copy,
        WRITE,
        5.0,
        AtMost,
    ),
    ("write <5 MB/s", None, Copy, WRITE, 5.0, AtMost),
    ("read more than 400 MB/s", None, Copy, READ, 400.0, AtLeast),
    ("read 400+ MB/s", None, Copy, READ, 400.0, AtLeast),
    ("read 400 MB/s+", None, Copy, READ, 400.0, AtLeast),
    ("copy peak 118 MB/s", None, Copy, None, 118.0, Peak),
    ("copy up to 118 MB/s", None, Copy, None, 118.0, Peak),
    ("write tops out at 118 MB/s", None, Copy, WRITE, 118.0, Peak),
    ("read 1,234.5 MB/s", None, Copy, READ, 1234.5, Point),
    ("read 1.234,5 MB/s", None, Copy, READ, 1234.5, Point),
    ("copy 90 GB in 15 min", None, Copy, None, 100.0, About),
    (
        "copy of 90 GB in 15 minutes",
        None,
        Copy,
        None,
        100.0,
        About,
    ),
    ("112 MB", None, Copy, None, 112.0, Point),
];

#[test]
fn rates_are_read_as_people_write_them() {
    for (text, desk, what, direction, value, exactness) in RATES {
        let found = reading(text);
        assert_eq!(found.desk.as_deref(), *desk, "{text}");
        assert_eq!(found.what, *what, "{text}");
        assert_eq!(found.direction, *direction, "{text}");
        assert_eq!(rate_of(&found).exactness, *exactness, "{text}");
        assert_eq!(found.text, *text);
        approx::assert_relative_eq!(megabytes(&found), value, max_relative = ALGEBRA);
    }
}

#[test]
fn both_ends_of_a_range_are_kept() {
    let found = reading("copy read 80..95 MB/s");
    let first = rate_of(&found).meanings[0];
    let ends = [first.low, first.middle, first.high].map(in_megabytes_per_second);
    for (end, expected) in ends.into_iter().zip([80.0, 87.5, 95.0]) {
        approx::assert_relative_eq!(end, expected, max_relative = ALGEBRA);
    }
}

#[test]
fn size_streams_and_a_second_time_are_read() {
    let found = reading("copy 240 MB/s 4 streams");
    assert_eq!((found.streams, megabytes(&found)), (4, 240.0));
    for text in [
        "two copies at once 180 MB/s",
        "180 MB/s with 2 streams in parallel",
    ] {
        assert_eq!(reading(text).streams, 2, "{text}");
    }
    assert_eq!(reading("read 112 MB/s one stream").streams, 1);
    for text in ["copy read 118 MB/s again", "118 MB/s the second time"] {
        assert!(reading(text).again, "{text}");
    }
    assert!(!reading("copy read 118 MB/s").again);
    for text in [
        "write 900 MB/s of 20 GB",
        "write a 20 GB file 900 MB/s",
        "20 GB write 900 MB/s",
    ] {
        let size = reading(text)
            .size
            .map(|s| s.get::<units::information::gigabyte>());
        assert_eq!(size, Some(20.0), "{text}");
    }
}

#[test]
fn what_stalls_has_no_rate() {
    for text in [
        "copy stalled",
        "stalls at zero",
        "copy read 0 MB/s",
        "read hangs at zero",
    ] {
        let found = reading(text);
        assert_eq!(rate_of(&found).exactness, Exactness::Stalled, "{text}");
        assert_eq!(
            rate_of(&found).likeliest(),
            DataRate::from_base(0.0),
            "{text}"
        );
    }
}

#[test]
fn other_readings_have_their_own_quantity() {
    let link = |text: &str| match reading(text).amount {
        Amount::Link(rate) => rate.megabits(),
        other => panic!("{text}: {other:?}"),
    };
    for (text, megabits) in [
        ("link rate 100 Mb/s", 100.0),
        ("cut-1 link 1 Gb/s", 1000.0),
        ("2.5 gig link", 2500.0),
        ("negotiated 10GbE", 10_000.0),
        ("link speed 1000", 1000.0),
        ("link 2.5", 2500.0),
        ("port shows 100 mbps", 100.0),
        ("port is at 100 Mb/s", 100.0),
    ] {
        approx::assert_relative_eq!(link(text), megabits, max_relative = ALGEBRA);
    }
    let time = |text: &str| match reading(text).amount {
        Amount::Time(time) => time.get::<units::time::millisecond>(),
        other => panic!("{text}: {other:?}"),
    };
    for (text, milliseconds) in [
        ("ping 0.4 ms", 0.4),
        ("ping <1 ms", 0.5),
        ("latency 200 us", 0.2),
    ] {
        approx::assert_relative_eq!(time(text), milliseconds, max_relative = ALGEBRA);
    }
    for text in [
        "core busy 98 %",
        "store core busy 98",
        "one core at 98%",
        "busiest core 98 percent",
    ] {
        let found = reading(text);
        assert_eq!(found.what, What::CoreBusy, "{text}");
        assert!(matches!(found.amount, Amount::Share(s) if s == crate::quantity::percent(98.0)));
    }
    for (text, count) in [
        ("errors 1200", 1200),
        ("store 1,200 crc errors", 1200),
        ("retransmissions 40", 40),
        ("40 retransmissions", 40),
        ("3 errors on the port", 3),
        ("0 errors", 0),
    ] {
        assert_eq!(reading(text).amount, Amount::Count(count), "{text}");
        assert_eq!(reading(text).what, What::Errors);
    }
}

#[test]
fn a_reading_that_holds_both_ways_is_two() {
    let found = at_granary_lane()
        .hear("sound copy 11.4 MB/s both ways")
        .unwrap();
    let ways: Vec<Option<Direction>> = found
        .iter()
        .map(|said| match said {
            Statement::Reading(reading) => reading.direction,
            Statement::Remark(_) => None,
        })
        .collect();
    assert_eq!(ways, [READ, WRITE]);
}

#[test]
fn a_number_each_way_is_two_readings() {
    for text in [
        "cut-1 copy read 112 write 95 MB/s",
        "cut-1: read 112 MB/s, write 95 MB/s",
        "cut-1 112 MB/s read and 95 MB/s write",
        "cut-1 download 112 MB/s but upload 95",
    ] {
        let found = at_granary_lane().hear(text).unwrap();
        let shown: Vec<String> = found
            .iter()
            .map(|statement| match statement {
                Statement::Reading(reading) => reading.text.clone(),
                Statement::Remark(remark) => remark.id.clone(),
            })
            .collect();
        let expected = ["cut-1 copy read 112 MB/s", "cut-1 copy write 95 MB/s"];
        assert_eq!(shown, expected, "{text}");
    }
}

#[test]
fn many_files_are_told_by_their_number() {
    for text in [
        "10000 files 4 MB/s",
        "copy of small files 4 MB/s",
        "copy 500 small files 4 MB/s",
    ] {
        assert_eq!(reading(text).what, What::ManyFiles, "{text}");
    }
    assert_eq!(reading("1 files 4 MB/s").what, What::Copy);
}

#[test]
fn without_a_site_the_first_word_may_be_a_name() {
    let Statement::Reading(found) = one(anywhere(), "bench-2 read 112 MB/s") else {
        panic!("no reading");
    };
    assert_eq!(found.desk.as_deref(), Some("bench-2"));
    // a slip of the pen is no name
    let Statement::Reading(found) = one(anywhere(), "raed 112 MB/s") else {
        panic!("no reading");
    };
    assert_eq!(found.desk, None);
}

/// A text, what stands at the place of its first fault, and a part of the message.
#[test]
fn what_is_no_reading_is_refused_where_it_is_wrong() {
    let rows = [
        ("", "", "nothing is written here"),
        ("   ", "   ", "nothing is written here"),
        ("cut-3 read 112 MB/s", "cut-3", "'cut-3' is not known here"),
        (
            "read 112 furlongs",
            "furlongs",
            "'furlongs' is not known here",
        ),
        ("banana telephone", "banana", "'banana' is not known here"),
        ("copy", "copy", "no number stands here for a copy"),
        (
            "raw tcp write",
            "raw tcp write",
            "a test from memory to memory",
        ),
        ("112 MB/s 95 MB/s", "95 MB/s", "a second rate"),
        ("read 112 read 95 MB/s", "95 MB/s", "a second rate"),
        (
            "copy ping 0.4 ms",
            "ping",
            "what was measured stands here a second time",
        ),
        (
            "cut-1 cut-2 read 112",
            "cut-2",
            "the desk stands here a second time",
        ),
        ("1,200 MB/s", "1,200", "'1,200' may be 1200 or 1.2"),
        ("1.2.3 MB/s", "1.2.3", "'1.2.3' is not a number"),
        ("-5 MB/s", "-5", "'-5' is negative"),
        ("95..80 MB/s", "95..80 MB/s", "95 is more than 80"),
        ("20 GB", "20 GB", "is a size, and no rate stands beside it"),
        ("0.4 ms", "0.4 ms", "is a time"),
        ("98 %", "98 %", "is a share"),
        ("10 gig", "10 gig", "is the rate of a link"),
        ("link 1 GB/s", "1 GB/s", "counts bytes"),
        (
            "store copy read 112",
            "store",
            "'store' is no desk, and a copy is measured at one",
        ),
        ("link 10", "10", "may be megabits or gigabits"),
        ("link rate", "link rate", "no rate of the link stands here"),
        (
            "link 100..1000 Mb/s",
            "100..1000 Mb/s",
            "one rate at a time",
        ),
        ("link 0 Mb/s", "0 Mb/s", "is the rate of no link"),
        ("ping 4", "4", "'4' is no time"),
        ("ping", "ping", "no time stands here"),
        ("ping 20 min", "20 min", "is no round trip"),
        ("core busy", "core busy", "no share stands here"),
        ("core busy 240 %", "240 %", "is more than one core has"),
        ("errors", "errors", "how many is not told"),
        ("errors 1.5", "1.5", "is no number of errors"),
        ("errors 12 MB/s", "12 MB/s", "is no number of errors"),
        (
            "copy 112 MB/s 0 streams",
            "0 streams",
            "'0' at once cannot be",
        ),
        ("copy 112 MB/s of 0 GB", "0 GB", "is no size of files"),
        ("copy 112 MB/s 40 ms", "40 ms", "does not belong to a copy"),
        ("copy 9 TB/s", "9 TB/s", "is more than any machine moves"),
        ("copy 20 GB in 0 s", "0 s", "it took no time"),
        (
            "copy 112 MB/s stalls at zero",
            "stalls at zero",
            "is told as well",
        ),
    ];
    let mut missed = Vec::new();
    for (text, place, message) in rows {
        let faults = match at_granary_lane().hear(text) {
            Ok(found) => {
                missed.push(format!("{text}: {found:?}"));
                continue;
            }
            Err(faults) => faults,
        };
        let first = faults.iter().next().unwrap();
        let right = text.get(first.span.clone()) == Some(place)
            && first.found.contains(message)
            && !first.help.is_empty();
        if !right {
            missed.push(format!("{text}: {faults}"));
        }
    }
    assert!(missed.is_empty(), "{}", missed.join("\n"));
    let number = format!("read {}e MB/s", "9".repeat(150));
    // whatever else is heard in it, it is no reading
    let heard = at_granary_lane().hear(&number).unwrap_or_default();
    assert!(!heard.iter().any(|s| matches!(s, Statement::Reading(_))));
    let long = "very ".repeat(300);
    let faults = at_granary_lane().hear(&long).unwrap_err();
    assert!(
        faults.to_string().contains("the text is 1500 bytes long"),
        "{faults}"
    );
}

#[test]
fn all_faults_of_a_text_come_at_once() {
    let faults = at_granary_lane()
        .hear("cut-9 furlongs raed 112 MB/s")
        .unwrap_err();
    assert_eq!(faults.count(), 3, "{faults}");
}
