use crate::catalogue::Catalogue;
use crate::day::{Job, JobList, Spot, clock, jobs};
use crate::quantity::{Measure, megabytes_per_second, seconds, units};
use crate::site::{Faults, Site, read_bytes};
use crate::spread::Spread;
use std::fmt::Write;

pub(super) fn site(catalogue: &Catalogue) -> Site {
    let (_, text) = narrows_data::SITES
        .iter()
        .find(|(name, _)| *name == "granary-lane")
        .unwrap();
    read_bytes(text.as_bytes(), &[], catalogue).unwrap()
}

fn read(bytes: &[u8]) -> Result<JobList, Faults> {
    let catalogue = Catalogue::embedded().unwrap();
    jobs(bytes, &site(&catalogue), &catalogue).1
}

fn faults(text: &str) -> String {
    let found = read(text.as_bytes()).unwrap_err();
    let mut out = String::new();
    for fault in &found {
        let (line, place) = (
            1 + text
                .bytes()
                .take(fault.span.start)
                .filter(|b| *b == b'\n')
                .count(),
            text.get(fault.span.clone()).unwrap_or_default(),
        );
        let _ = writeln!(out, "{line} [{place}] {fault}");
    }
    out
}

fn gigabytes(job: &Job) -> f64 {
    job.size.median().get::<units::information::gigabyte>()
}

#[test]
fn a_list_is_read() {
    let found = read(
        b"what,size,from,to,earliest,due,held to,read back,room\n\
          card one,512 GB,ingest,vault,09:00,12:30,,yes,shed\n\
          rushes,880 Mb/s x 2 h,vault,cut-1,14:00,16:00,real time,,\n\
          \"night, backup\",4 TB,vault,outside,18:00,06:00 +1,90 Mb/s,no,\n\
          ,1.5 TiB,array.vault,desk.colour,,,200 MB/s,,\n",
    )
    .unwrap();
    assert_eq!(found.unused, ["room"]);
    let [card, rushes, backup, last] = &found.jobs[..] else {
        panic!("{found:?}");
    };
    assert_eq!(card.what, "card one");
    assert_eq!(card.from, Spot::Desk("ingest".to_owned()));
    assert_eq!(card.to, Spot::Array("vault".to_owned()));
    assert!((gigabytes(card) - 512.0).abs() < 1e-9 && card.read_back);
    assert_eq!(card.earliest, seconds(9.0 * 3600.0));
    assert_eq!(card.due, Some(seconds(12.5 * 3600.0)));
    assert_eq!(card.held_to, None);
    assert_eq!(
        rushes.held_to,
        Some(Spread::exact(megabytes_per_second(110.0)))
    );
    assert!((gigabytes(rushes) - 110.0 * 7.2).abs() < 1e-9);
    assert_eq!(backup.what, "night, backup");
    assert_eq!(backup.to, Spot::Outside);
    assert_eq!(backup.due, Some(seconds(30.0 * 3600.0)));
    assert_eq!(
        backup.held_to,
        Some(Spread::exact(megabytes_per_second(11.25)))
    );
    assert_eq!(last.what, "job 4");
    assert_eq!((last.earliest, last.due), (seconds(0.0), None));
    assert!(
        (last.size.median().base() - 1.5 * f64::from(1 << 20) * f64::from(1 << 20)).abs() < 1.0
    );
}

#[test]
fn material_by_the_hour_has_the_rate_of_its_codec() {
    let one = |size: &str| {
        let found = read(format!("size;from;to\n{size};vault;cut-1\n").as_bytes());
        found.map(|list| gigabytes(&list.jobs[0]))
    };
    // 737 Mb/s in print; an hour is 0.45 GB a Mb/s
    for size in [
        "ProRes 422 HQ UHD 25 fps x 2 h",
        "prores 422 hq 3840x2160 25 x 120 min",
        "\"ProRes 422 HQ, UHD, 25fps x 2 h\"",
        "ProRes HQ UHD 25p * 2 h",
    ] {
        let found = one(size).unwrap();
        assert!((found - 2.0 * 0.45 * 737.0).abs() < 1e-6, "{size}: {found}");
    }
    // constant quality: the size is not known before it is shot
    let list =
        read(b"size;from;to;held to\nCineForm UHD 25 x 1 h;vault;cut-1;real time\n").unwrap();
    let (size, rate) = (&list.jobs[0].size, list.jobs[0].held_to.clone().unwrap());
    assert!(!size.is_exact());
    let hour = size.quantile(0.9).base() / rate.quantile(0.9).base();
    assert!((hour - 3600.0).abs() < 1e-6);
    for (size, said) in [
        ("ProRes 422 HX UHD 25 fps x 2 h", "did you mean"),
        ("ProRes 422 HQ UHDD 25 fps x 2 h", "did you mean"),
        ("ProRes 422 HQ UHD fast x 2 h", "does not end with"),
        ("ProRes 422 HQ x 2 h", "does not end with"),
        ("ProRes x 2 h", "does not end with"),
        ("UHD 25 fps x 2 h", "no codec stands"),
        ("ProRes 422 HQ UHD 25 fps x 2", "has no unit"),
        ("DNxHD 220 UHD 25 fps x 2 h", "is known for"),
        ("ProRes 422 HQ UHD 25 fps x 0 h", "nothing to move"),
        ("880 x 2 h", "has no unit"),
    ] {
        let found = one(size).unwrap_err().to_string();
        assert!(found.contains(said), "{size}: {found}");
    }
}

#[test]
fn any_spreadsheet_may_have_written_it() {
    let expected = read(b"what,size,from,to,due\ncard,0.5 TB,ingest,vault,6:05\n").unwrap();
    let marked = "\u{feff}Job;Size (TB);From;To;Due\r\ncard;0,5;ingest;vault;06:05:00\r\n";
    assert_eq!(read(marked.as_bytes()).unwrap(), expected);
    let tabs = "sep=\t\nname\tsize GB\tsource\ttarget\tdeadline\ncard\t500\tingest\tvault\t06:05\n";
    assert_eq!(read(tabs.as_bytes()).unwrap(), expected);
    let wide: Vec<u8> = std::iter::once(0xfeff)
        .chain("job;size;from;to;due\ncard;0,5 TB;ingest;vault;06:05\n".encode_utf16())
        .flat_map(u16::to_le_bytes)
        .collect();
    assert_eq!(read(&wide).unwrap(), expected);
}

#[test]
fn everything_wrong_comes_at_once_with_its_line() {
    let found = faults(
        "what,size,from,to,earliest,due,held to,read back\n\
         one,512,ingest,vault,,,,\n\
         two,512 GB,inject,valt,,,,\n\
         three,512 GB,cut-1,vault,18:00,06:00,,\n\
         four,512 GB,cut-1,vault,6pm,25:00,,\n\
         five,512 GB,vault,vault,,,,\n\
         six,512 GB,cut-1,cut-2,,,,\n\
         seven,512 GB,vault,outside,,,,\n\
         eight,512 GB,vault,cut-1,,,real time,yes\n\
         nine,,vault,cut-1,,,0 MB/s,maybe\n\
         ten,0 GB,vault,cut-1,12:00 +1,06:00,fast,\n",
    );
    let expected = "\
2 [512] no size: '512' has no unit; write the unit, for example '512 TB', or a rate or codec by the hour: 880 Mb/s x 2 h
3 [inject] an unknown place: 'inject' is no desk and no array of the site; did you mean 'ingest'?; write one of cut-1, cut-2, colour, sound, ingest, vault, outside
3 [valt] an unknown place: 'valt' is no desk and no array of the site; did you mean 'vault'?; write one of cut-1, cut-2, colour, sound, ingest, vault, outside
4 [06:00] due before it may begin: it may begin at 18:00 at the earliest; if the next day is meant, write 06:00 +1
5 [6pm] no hour: '6pm' is no hour of a day; write hours and minutes: 18:00, or 06:00 +1 for the next day
5 [25:00] no hour: '25:00' is no hour of a day; write hours and minutes: 18:00, or 06:00 +1 for the next day
6 [vault] a job on the spot: it goes from vault to vault; write two different places
7 [cut-2] not one way: neither end is an array; write two jobs, or an array at one end and a desk or 'outside' at the other
8 [outside] a line without a rate: how fast the line to the outside is stands nowhere; write what it carries under 'held to', for example 90 Mb/s
9 [real time] no real time: the size is an amount of data, so nobody knows how fast it plays; write the size as a rate or codec by the hour, or hold it to a rate
9 [yes] nothing to read back: only a desk that copies to an array reads the copy back over the path; write no, or leave the cell empty
10 [nine,,vault,cut-1,,,0 MB/s,maybe] half a job: nothing stands under 'size'; write how much it is, for example 512 GB
10 [0 MB/s] held to nothing: it would never end; write the rate that it may take at most, or leave the cell empty
10 [maybe] no answer: 'maybe' is neither yes nor no; write yes or no
11 [0 GB] no size: there is nothing to move; write an amount of data above zero
11 [06:00] due before it may begin: it may begin at 12:00 +1 at the earliest; write an hour after that
11 [fast] no rate: 'fast' does not begin with a number; write a rate of data, for example 117 MB/s, 112 MiB/s, 880 Mb/s; or write 'real time'
";
    for (found, expected) in found.lines().zip(expected.lines()) {
        // line by line first: the difference of the whole would be hard to see
        assert_eq!(found, expected);
    }
    assert_eq!(found, expected);
}

#[test]
fn a_list_that_is_none_says_so() {
    for (text, said) in [
        ("", "nothing is written here"),
        ("what,size,from,to\n", "only heads stand here"),
        (
            "cable;length\ncat6;12 m\n",
            "no column is called 'size' or 'from' or 'to'",
        ),
        (
            "what,sizes,from,to\na,1 GB,vault,cut-1\n",
            "did you mean 'size'?",
        ),
        (
            "what,size,amount,from,to\na,1 GB,2 GB,vault,cut-1\n",
            "means the same",
        ),
        ("what,size,from,to\n\"a,1 GB,vault,cut-1\n", "never closed"),
    ] {
        let found = faults(text);
        assert!(found.contains(said), "{text}: {found}");
    }
    let mut long = "what,size,from,to\n".to_owned();
    for _ in 0..2001 {
        long.push_str("a,1 GB,vault,cut-1\n");
    }
    assert!(faults(&long).contains("leave at most 2000 rows"));
}

#[test]
fn hours_are_shown_as_they_are_written() {
    for (text, after) in [
        ("00:00", 0.0),
        ("06:05", 21_900.0),
        ("23:59", 86_340.0),
        ("00:00 +1", 86_400.0),
        ("12:30 +2", 2.0 * 86_400.0 + 45_000.0),
    ] {
        assert_eq!(clock(seconds(after)), text);
        assert_eq!(super::super::clock::read(text), Some(seconds(after)));
    }
    // never earlier than it is, whatever the last bit
    assert_eq!(clock(seconds(86_340.5)), "00:00 +1");
    assert_eq!(clock(seconds(21_900.0 + 1e-9)), "06:05");
    for (text, after) in [
        ("24:00", Some(86_400.0)),
        ("6:05:30", Some(21_930.0)),
        ("24:01", None),
    ] {
        assert_eq!(
            super::super::clock::read(text),
            after.map(seconds),
            "{text}"
        );
    }
    for text in [
        "",
        "6",
        "6:",
        ":6",
        "6:60",
        "6:00:60",
        "6:00:00:00",
        "-6:00",
        "6:00 +",
        "6:00 +61",
        "x",
    ] {
        assert_eq!(super::super::clock::read(text), None, "{text}");
    }
}

#[test]
fn property_no_bytes_make_reading_panic() {
    use proptest::prelude::*;
    let catalogue = Catalogue::embedded().unwrap();
    let site = site(&catalogue);
    let piece = prop_oneof![
        Just("what,size,from,to,earliest,due,held to,read back\n".to_owned()),
        Just("880 Mb/s x 2 h,".to_owned()),
        Just("vault,".to_owned()),
        Just("06:00 +1,".to_owned()),
        Just("\u{d7}*x \u{20ac}".to_owned()),
        ".{0,8}",
    ];
    let text = proptest::collection::vec(piece, 0..12).prop_map(|all| all.concat());
    let mut runner = proptest::test_runner::TestRunner::default();
    runner
        .run(&text, |text| {
            let (text, found) = jobs(text.as_bytes(), &site, &catalogue);
            if let Err(faults) = found {
                for fault in &faults {
                    prop_assert!(fault.span.end <= text.len());
                }
            }
            Ok(())
        })
        .unwrap();
}

#[test]
fn a_desk_without_a_way_is_told_apart() {
    let catalogue = Catalogue::embedded().unwrap();
    let (_, text) = narrows_data::SITES
        .iter()
        .find(|(name, _)| *name == "granary-lane")
        .unwrap();
    // the shed has an array and a desk of its own, and no run to the attic
    let shed = "
        [array.shelf]
        nas = \"cellar\"
        layout = \"raid1\"
        drives = \"2 x 4 TB hdd-7200\"
        [nas.cellar]
        port.a = { rate = \"1 Gb/s\" }
        [desk.shed]
        port.a = { rate = \"1 Gb/s\" }
        [[run]]
        from = \"nas.cellar\"
        to = \"desk.shed\"
        cable = \"cat6\"
        length = \"3 m\"
        ";
    let site = read_bytes(format!("{text}\n{shed}").as_bytes(), &[], &catalogue).unwrap();
    let list = b"size;from;to\n1 GB;shed;vault\n1 GB;vault;shed\n1 GB;shed;shelf\n";
    let found = jobs(list, &site, &catalogue).1.unwrap_err().to_string();
    let said = found.matches("no runs of the site lead from shed to vault");
    assert_eq!(said.count(), 2, "{found}");
    assert!(!found.contains("shelf"), "{found}");
}

#[test]
fn the_example_lists_are_sound() {
    for (name, text) in narrows_data::JOBS {
        let found = read(text.as_bytes());
        assert!(found.is_ok_and(|list| list.unused.is_empty()), "{name}");
    }
}
