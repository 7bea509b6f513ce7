use super::*;
use crate::explain::{Amount, What};
use crate::quantity::{Measure, in_megabytes_per_second};
use crate::work::Direction;

#[test]
fn pieces_at_random_places_are_read_as_people_write_them() {
    use Direction::{Read, Write};
    for (text, what, way, megabytes, bytes) in [
        ("IOPS 4k 9000", What::Copy, None, 36.864, 4096.0),
        ("9000 IOPS of 4 KiB", What::Copy, None, 36.864, 4096.0),
        (
            "local array random read 9000 IOPS of 4 KiB",
            What::LocalArray,
            Some(Read),
            36.864,
            4096.0,
        ),
        (
            "i get 9k iops with 4k random reads",
            What::Copy,
            Some(Read),
            36.864,
            4096.0,
        ),
        (
            "4k random write 1200 requests per second",
            What::Copy,
            Some(Write),
            4.9152,
            4096.0,
        ),
        (
            "on the nas itself random write 40 MB/s of 16 KiB",
            What::LocalArray,
            Some(Write),
            40.0,
            16_384.0,
        ),
        (
            "copy read 3 MB/s in pieces of 64 kB at random places",
            What::Copy,
            Some(Read),
            3.0,
            64_000.0,
        ),
    ] {
        let found = reading(text);
        assert_eq!((found.what, found.direction), (what, way), "{text}");
        assert_eq!(found.random.map(Measure::base), Some(bytes), "{text}");
        assert_eq!(found.size, None, "{text}");
        let Amount::Rate(rate) = &found.amount else {
            panic!("{text}: {:?}", found.amount);
        };
        let read = in_megabytes_per_second(rate.likeliest());
        assert!((read / megabytes - 1.0).abs() < 1e-12, "{text}: {read}");
        // what is shown says the same
        let again = reading(&found.shown());
        assert_eq!(again.random, found.random, "{}", found.shown());
        assert_eq!(again.what, found.what, "{}", found.shown());
    }
}

#[test]
fn pieces_that_cannot_be_are_refused_where_they_are_wrong() {
    for (text, part) in [
        ("random read 9000 IOPS", "pieces without their size"),
        ("random read 4 KiB", "a reading without its number"),
        ("random read 9000 of 4 KiB", "a number without its unit"),
        (
            "raw tcp random 9000 IOPS of 4 KiB",
            "no pieces at random places",
        ),
        ("random read 9000 IOPS of 4 GB", "no small piece"),
        (
            "random read 0 IOPS of 4 KiB",
            "a number of requests that cannot be",
        ),
        (
            "random read 9000 IOPS 40 MB/s of 4 KiB",
            "two numbers in one reading",
        ),
    ] {
        let faults = anywhere().hear(text).unwrap_err();
        assert!(faults.to_string().contains(part), "{text}: {faults}");
    }
    // a picture is no piece
    let film = anywhere().hear("plays two layers of 4k");
    assert!(
        film.is_ok_and(|all| matches!(&all[..], [Statement::Reading(r)] if r.random.is_none()))
    );
}

#[test]
fn a_list_may_say_random() {
    let text = "what,direction,value,unit,size\nrandom local array,read,9000,IOPS,4 KiB\n";
    let (_, found) = anywhere().list(text.as_bytes());
    let [Statement::Reading(reading)] = &found.unwrap().statements[..] else {
        panic!("one reading");
    };
    assert_eq!(reading.what, What::LocalArray);
    assert_eq!(reading.random.map(Measure::base), Some(4096.0));
}
