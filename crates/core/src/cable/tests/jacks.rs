use super::*;
use crate::cable::{JackList, jacks};
use crate::copper::{Bundle, Celsius, LengthBasis, Neighbours};
use crate::quantity::metres;
use crate::sheet::{decoded, rows};
use proptest::prelude::*;

fn read(bytes: &[u8]) -> JackList {
    match jacks(bytes, &catalogue()).1 {
        Ok(list) => list,
        Err(faults) => panic!("{faults}"),
    }
}

const LIST: &str = "Jack;Cable;Length (m);Known;Lay;Neighbours;Neighbour rate;Temperature C;Certified;Power;Room\n\
    A-1;cat5e;31,5;measured;loose;6;1 Gb/s;35,5;no;class 4;edit\n\
    \"A 2; hall\";cat6;20..35;;tight;4 at 10 Gb/s;;;yes;;\n\
    ;om3;80;;;;;;;;attic\n\
    B-1;unknown;?;;;;;;;4;\n";

#[test]
fn a_list_is_read_as_it_is_meant() {
    let list = read(LIST.as_bytes());
    assert_eq!(list.unused, ["Room"]);
    let labels: Vec<&str> = list.runs.iter().map(|r| r.label.as_str()).collect();
    assert_eq!(labels, ["A-1", "A 2; hall", "row 4", "B-1"]);
    let first = physics(&list.runs[0]);
    assert_eq!((first.length, first.bundle), (metres(31.5), Bundle::Loose));
    assert_eq!(first.length_basis, LengthBasis::Measured);
    assert_eq!(first.temperature, Celsius(35.5));
    assert_eq!(first.neighbours, Neighbours::Rates(vec![(rate(1000), 6)]));
    assert_eq!(list.runs[0].power.unwrap().class, Some(4));
    let second = physics(&list.runs[1]);
    assert!(second.certified);
    assert_eq!(
        second.neighbours,
        Neighbours::Rates(vec![(rate(10_000), 4)])
    );
    assert_eq!(cases(&list.runs[1]), 4);
    assert!(matches!(list.runs[2].joint, Joint::Fibre { .. }));
    assert_eq!(list.runs[3].power.unwrap().class, Some(4));
    assert_eq!(list.runs[3].assumptions[0].id, "B-1.length");
}

#[test]
fn every_spreadsheet_may_have_written_it() {
    let plain = read(LIST.as_bytes());
    let mut marked = vec![0xef, 0xbb, 0xbf];
    marked.extend(LIST.as_bytes());
    assert_eq!(read(&marked), plain);
    let wide = |big: bool| {
        let mut bytes = if big {
            vec![0xfe, 0xff]
        } else {
            vec![0xff, 0xfe]
        };
        for unit in LIST.encode_utf16() {
            bytes.extend(if big {
                unit.to_be_bytes()
            } else {
                unit.to_le_bytes()
            });
        }
        bytes
    };
    assert_eq!(read(&wide(true)), plain);
    assert_eq!(read(&wide(false)), plain);
    // what stands before a cell moves its place, and nothing else
    let said = |list: JackList| (list.runs, list.unused);
    let plain_said = said(plain.clone());
    let lines = read(LIST.replace('\n', "\r\n").as_bytes());
    assert_eq!(said(lines), plain_said);
    let marked = read(format!("sep=;\n{LIST}").as_bytes());
    let mut shifted = plain_said;
    shifted.0[2].label = "row 4".to_owned();
    assert_eq!(said(marked), shifted);
    let tabs = LIST
        .replace("; hall", "| hall")
        .replace(';', "\t")
        .replace("| hall", "; hall");
    assert_eq!(read(tabs.as_bytes()), plain);
    let old = b"jack,cable,length m\nB\xfcro,cat6,\"31,5\"\n";
    let list = read(old);
    assert_eq!(list.runs[0].label, "B\u{fc}ro");
    assert_eq!(physics(&list.runs[0]).length, metres(31.5));
    let feet = read(b"cable,length ft\ncat6,100\n");
    assert_eq!(physics(&feet.runs[0]).length, metres(30.48));
    // a list without a cable: any may be there
    assert_eq!(cases(&read(b"label\tlength\nA\t31 m\n").runs[0]), 6);
}

#[test]
fn what_is_wrong_is_found_in_its_cell() {
    let rows: [(&str, &[(&str, &str)]); 13] = [
        ("", &[("", "nothing is written here")]),
        ("jack;cable\n", &[("jack", "only heads stand here")]),
        (
            "jack;room\nA;b\n",
            &[("jack;room", "no column is a cable or a length")],
        ),
        (
            "jack;cabel;length m\nA;cat6;3\n",
            &[("cabel", "'cabel' is not known; did you mean 'cable'?")],
        ),
        (
            "cable;cable\ncat6;cat6\n",
            &[("cable", "a column that means the same stands before it")],
        ),
        ("cable;length\ncat6;31\n", &[("31", "'31' has no unit")]),
        (
            "cable;length m\ncat9;x\n",
            &[
                // another standard is never suggested
                ("cat9", "'cat9' is not known here"),
                ("x", "'x' does not begin with a number"),
            ],
        ),
        (
            "cable;length m\ncat6;700\n",
            &[(
                "700",
                "a run is longer than 0 m and at most 500 m, not 700 m",
            )],
        ),
        (
            "cable;length m;bundle\ncat6;7;lose\n",
            &[("lose", "'lose' is not one of them; did you mean 'loose'?")],
        ),
        (
            "cable;length m;neighbours\ncat6;7;six\n",
            &[("six", "'six' is no whole number")],
        ),
        (
            "cable;length m;neighbours\ncat6;7;6 at 7 Gb/s\n",
            &[(
                "6 at 7 Gb/s",
                "no twisted-pair transceiver signals at 7 Gb/s",
            )],
        ),
        (
            "cable;length m;temperature\ncat6;7;30\n",
            &[("30", "'30' has no unit")],
        ),
        (
            "cable;length m\n\"cat6;7\n",
            &[("\"", "this mark is never closed")],
        ),
    ];
    for (text, expected) in rows {
        let (decoded, found) = jacks(text.as_bytes(), &catalogue());
        let faults = found.unwrap_err();
        let found: Vec<(&str, &str)> = faults
            .iter()
            .map(|f| (&decoded[f.span.clone()], f.found.as_str()))
            .collect();
        assert_eq!(found, expected, "{text}");
    }
}

#[test]
fn a_list_that_is_no_building_is_refused() {
    let mut text = String::from("cable,length m\n");
    for _ in 0..=10_000 {
        text.push_str("cat6,31\n");
    }
    let faults = jacks(text.as_bytes(), &catalogue()).1.unwrap_err();
    assert_eq!(faults.count(), 1);
}

proptest! {
    #[test]
    fn property_cells_are_those_of_another_reader(
        table in prop::collection::vec(prop::collection::vec("[a-z \",;\t\n\u{e4}]{0,6}", 3), 1..6),
        separator in prop::sample::select(vec![b',', b';', b'\t']),
    ) {
        // a first line with the separator in it, so that it is found
        let mut writer = csv::WriterBuilder::new()
            .delimiter(separator)
            .from_writer(Vec::new());
        writer.write_record(["a", "b", "c"]).unwrap();
        for row in &table {
            writer.write_record(row).unwrap();
        }
        let text = String::from_utf8(writer.into_inner().unwrap()).unwrap();
        let found: Vec<Vec<String>> = rows(&text)
            .unwrap()
            .into_iter()
            .map(|row| row.into_iter().map(|cell| cell.text).collect())
            .collect();
        let written = |row: &&Vec<String>| row.iter().any(|cell| !cell.trim().is_empty());
        let expected: Vec<Vec<String>> = table.iter().filter(written).cloned().collect();
        prop_assert_eq!(&found[1..], &expected[..]);
    }

    #[test]
    fn property_no_bytes_break_the_reader(bytes in prop::collection::vec(any::<u8>(), 0..80)) {
        let (text, found) = jacks(&bytes, &catalogue());
        prop_assert_eq!(&text, &decoded(&bytes));
        if let Err(faults) = found {
            for fault in &faults {
                prop_assert!(text.get(fault.span.clone()).is_some(), "{text:?} {fault:?}");
            }
        }
    }

    #[test]
    fn property_no_table_breaks_the_reader(
        text in "(jack|cable|length m|power|neighbours|temperature|[a-z\u{e4}\"]{0,4}|;|,|\n|cat6|31|6 at 1 Gb/s){0,24}",
    ) {
        let (text, found) = jacks(text.as_bytes(), &catalogue());
        if let Err(faults) = found {
            for fault in &faults {
                prop_assert!(text.get(fault.span.clone()).is_some(), "{text:?} {fault:?}");
            }
        }
    }
}

#[test]
fn a_category_is_taken_in_any_usual_spelling() {
    for (said, meant) in [
        ("Cat 5e", "cat5e"),
        ("CAT-6A", "cat6a"),
        ("category 6", "cat6"),
    ] {
        let list = format!("Jack;Cable;Length m\nE-1;{said};22,5\nE-2;{meant};22,5\n");
        let runs = read(list.as_bytes()).runs;
        assert_eq!(runs[0].joint, runs[1].joint, "{said}");
    }
}
