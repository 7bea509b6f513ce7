use super::*;
use crate::explain::{Amount, Exactness, ReadingList, What};
use proptest::prelude::*;

fn read(bytes: &[u8]) -> ReadingList {
    match at_granary_lane().list(bytes).1 {
        Ok(list) => list,
        Err(faults) => panic!("{faults}"),
    }
}

fn texts(list: &ReadingList) -> Vec<String> {
    let text = |heard: &Statement| match heard {
        Statement::Reading(reading) => reading.text.clone(),
        Statement::Remark(remark) => remark.shown(),
    };
    list.statements.iter().map(text).collect()
}

const LIST: &str = "Desk;What;Direction;Value;Low;High;Unit;Exactness;Size;Streams;Again;Remark;Seen on\n\
    sound;copy;read;11,4;;;MB/s;;20 GB;;;;Monday\n\
    cut-1;raw tcp;write;;9;9,4;Gb/s;range;;4;;;\n\
    cut-1;;both;112;;;;peak;;;yes;;\n\
    cut-1;link rate;;1 Gb/s;;;;;;;;;\n\
    store;core busy;;98;;;%;;;;;;\n\
    cut-2;ping;;0,4;;;ms;;;;;;\n\
    colour;copy;;;;;;stalled;;;;fine after a restart;\n\
    ;;;;;;;;;;;\"another computer gets 112 MB/s; it is new\";\n";

#[test]
fn a_list_is_read_as_it_is_meant() {
    let plain = LIST.replace("; it is new", "");
    let list = read(plain.as_bytes());
    assert_eq!(list.unused, ["Seen on"]);
    assert_eq!(
        texts(&list),
        [
            "sound copy read 11.4 MB/s of 20 GB",
            "cut-1 raw tcp write 9000..9400 Mb/s 4 streams",
            "cut-1 copy read peak 112 MB/s again",
            "cut-1 copy write peak 112 MB/s again",
            "cut-1 link rate 1 Gb/s",
            "core busy 98 %",
            "cut-2 ping 400 us",
            "colour copy stalled",
            "colour fine-after-restart",
            "other-computer-better 112 MB/s",
        ]
    );
    let Statement::Reading(second) = &list.statements[1] else {
        panic!("no reading");
    };
    assert_eq!((second.what, second.streams), (What::RawTcp, 4));
    let Amount::Rate(rate) = &second.amount else {
        panic!("no rate");
    };
    assert_eq!(rate.exactness, Exactness::Range);
}

#[test]
fn a_list_says_what_words_say() {
    let list = read(b"what,direction,value,unit\ncopy,read,112,Mb/s\n");
    let Statement::Reading(listed) = &list.statements[0] else {
        panic!("no reading");
    };
    assert_eq!(listed.amount, reading("copy read 112 Mb/s").amount);
}

#[test]
fn a_column_of_rates_is_called_as_people_call_it() {
    let called = |name: &str| {
        let list = read(format!("what,direction,{name}\ncopy,read,112 MB/s\n").as_bytes());
        (texts(&list), list.statements.len())
    };
    for name in ["Rate", "speed", "number"] {
        assert_eq!(called(name), called("value"), "{name}");
    }
    assert_eq!(called("value").1, 1);
}

#[test]
fn every_spreadsheet_may_have_written_it() {
    let plain = LIST.replace("; it is new", "");
    let expected = read(plain.as_bytes());
    let mut marked = vec![0xef, 0xbb, 0xbf];
    marked.extend(plain.as_bytes());
    assert_eq!(read(&marked), expected);
    assert_eq!(read(plain.replace('\n', "\r\n").as_bytes()), expected);
    assert_eq!(read(plain.replace(';', "\t").as_bytes()), expected);
    let mut wide = vec![0xff, 0xfe];
    for unit in plain.encode_utf16() {
        wide.extend(unit.to_le_bytes());
    }
    assert_eq!(read(&wide), expected);
}

#[test]
fn the_example_is_read() {
    let list = read(include_bytes!(
        "../../../../../../data/readings/granary-lane.csv"
    ));
    assert_eq!(list.statements.len(), 5);
}

/// A list, what stands at each fault, and a part of its message.
#[test]
fn what_is_wrong_is_found_in_its_cell() {
    let rows: &[(&str, &[(&str, &str)])] = &[
        ("", &[("", "nothing is written here")]),
        ("what;value\n", &[("what", "only heads stand here")]),
        (
            "room;floor\na;b\n",
            &[("room;floor", "no column is a value or a remark")],
        ),
        (
            "what;valeu\ncopy;3\n",
            &[("valeu", "did you mean 'value'?")],
        ),
        (
            "value;number\n1;2\n",
            &[("number", "a column that means the same")],
        ),
        (
            "what;value\n\"copy;3\n",
            &[("\"", "this mark is never closed")],
        ),
        (
            "desk;what;direction;value;unit\ncut-9;coyp;raed;x;MB/s\n",
            &[
                ("cut-9", "the site has no 'cut-9'"),
                ("x", "'x' is no number"),
            ],
        ),
        (
            "what;direction;value;unit\ncoyp;raed;3;MB/s\n",
            &[
                ("coyp", "did you mean 'copy'?"),
                ("raed", "did you mean 'read'?"),
            ],
        ),
        (
            "what;value;unit\ncopy;112;furlongs\nping;4;\n",
            &[
                ("furlongs", "'furlongs' is not known here"),
                ("4", "'4' is no time"),
            ],
        ),
        (
            "what;value\ncopy;\n",
            &[("copy;", "neither a value nor a remark stands here")],
        ),
        ("low;high\n80;\n", &[("80", "the other end is empty")]),
        (
            "low;high;unit\n95;80;MB/s\n",
            &[("95", "95 is more than 80")],
        ),
        (
            "value;exactness\n3;purple\n",
            &[("purple", "'purple' does not say how exact it is")],
        ),
        (
            "value;again\n3;perhaps\n",
            &[("perhaps", "'perhaps' does not say whether it was again")],
        ),
        ("value;streams\n3;0\n", &[("0", "'0' at once cannot be")]),
        ("value;size\n3;0 GB\n", &[("0 GB", "is no size of files")]),
        (
            "remark\nbanana telephone\n",
            &[("banana", "'banana'"), ("telephone", "'telephone'")],
        ),
        (
            "value;unit\n1,200;MB/s\n",
            &[("1,200", "may be 1200 or 1.2")],
        ),
    ];
    for (list, expected) in rows {
        let (text, found) = at_granary_lane().list(list.as_bytes());
        let faults = found.unwrap_err();
        let places: Vec<&str> = faults.iter().map(|f| &text[f.span.clone()]).collect();
        let wanted: Vec<&str> = expected.iter().map(|(place, _)| *place).collect();
        assert_eq!(places, wanted, "{list}: {faults}");
        for (fault, (_, message)) in faults.iter().zip(*expected) {
            assert!(fault.found.contains(message), "{list}: {fault}");
        }
    }
    let many = format!("value\n{}", "3\n".repeat(1001));
    let faults = at_granary_lane().list(many.as_bytes()).1.unwrap_err();
    assert!(faults.to_string().contains("1001 rows"), "{faults}");
}

proptest! {
    #[test]
    fn property_no_list_panics(cells in proptest::collection::vec("\\PC{0,12}", 0..24), bytes in any::<Vec<u8>>()) {
        let mut text = String::from("desk;what;direction;value;low;high;unit;exactness;size;streams;again;remark\n");
        for row in cells.chunks(12) {
            text.push_str(&row.join(";"));
            text.push('\n');
        }
        for list in [text.as_bytes(), &bytes] {
            let (decoded, found) = anywhere().list(list);
            if let Err(faults) = found {
                for fault in &faults {
                    prop_assert!(decoded.get(fault.span.clone()).is_some(), "{:?}", fault);
                }
            }
        }
    }
}

#[test]
fn of_two_dates_the_later_is_the_reading_and_the_earlier_what_it_was() {
    let list = read(
        b"date;desk;direction;value\n2026-11-25;cut-1;read;60\n2026-10-01;cut-1;read;112\n\
          2026-10-01;cut-1;write;95\n;cut-1;read;61\n",
    );
    assert_eq!(
        texts(&list),
        [
            "cut-1 copy read 60 MB/s",
            "cut-1 better-before 112 MB/s",
            "cut-1 copy write 95 MB/s",
            "cut-1 copy read 61 MB/s",
        ]
    );
    let text = "date;value\n25.11.2026;112\n";
    let faults = at_granary_lane().list(text.as_bytes()).1.unwrap_err();
    assert!(faults.to_string().contains("ISO 8601"), "{faults}");
}
