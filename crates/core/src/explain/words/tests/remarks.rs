use super::*;
use crate::explain::Remarks;
use crate::quantity::{in_megabytes_per_second, units};
use proptest::prelude::*;
use std::collections::BTreeSet;

const TOLD: &[(&str, &str)] = &[
    ("drops-after", "fast then drops after 20 GB"),
    ("drops-after", "starts fast, then slow after 3 GB"),
    ("drops-after", "It starts at 231 MB/s and falls to 128 MB/s"),
    ("drops-after", "fast at first, then collapses"),
    ("drops-after", "drops to 30 MB/s after 12 GB"),
    ("drops-after", "the speed drops after 10 seconds"),
    ("drops-after", "it drops to 40 MB/s after a few seconds"),
    ("one-way-slow", "reading is fine but writing is slow"),
    ("one-way-slow", "slow only in one direction"),
    ("parallel-adds", "two copies at once are 200 MB/s together"),
    ("parallel-flat", "two at once: no change"),
    ("better-before", "it worked fine yesterday"),
    ("after-update", "slow since the last update"),
    ("after-update", "after the system upgrade it became slow"),
    ("other-computer-better", "my colleague's computer gets 110"),
    ("other-computer-same", "same speed from another computer"),
    ("other-cable-same", "swapped the cable, no change"),
    ("other-cable-better", "changed the cable, now it is 112"),
    ("other-cable-better", "another switch port is faster"),
    ("larger-frames-better", "jumbo frames make it faster"),
    ("fine-after-restart", "after a reboot it is fast again"),
    (
        "fine-after-idle",
        "after waiting ten minutes it is fast again",
    ),
    ("same-drives", "copying between two folders on the NAS"),
    ("memory-warm", "same file the second time"),
    ("buffer-filled", "after the buffers are full"),
    ("one-way-slow", "reads are fine, writes are slow"),
    ("one-way-slow", "one direction is slow"),
    ("one-way-slow", "upload is much slower than download"),
    ("parallel-adds", "second copy in parallel doubles the total"),
    ("parallel-adds", "more streams add up to 900 MB/s"),
    ("parallel-adds", "several connections are faster"),
    ("parallel-adds", "4 streams add up to 900 MB/s"),
    ("parallel-flat", "a second copy in parallel halves the rate"),
    ("parallel-flat", "more streams make no difference"),
    ("better-before", "it was 112 MB/s last month"),
    ("better-before", "was 60 MB/s before"),
    ("better-before", "it used to be faster"),
    ("after-update", "since an update"),
    ("after-update", "since the firmware update"),
    ("after-update", "slow since the upgrade"),
    ("other-computer-better", "another computer gets 112 MB/s"),
    (
        "other-computer-better",
        "another computer gets 112 MB/s on the same cable",
    ),
    ("other-computer-better", "a different laptop is fine"),
    ("other-computer-same", "another computer is just as slow"),
    ("other-computer-same", "another computer: the same"),
    (
        "other-computer-same",
        "another computer on the same cable is as slow",
    ),
    (
        "other-computer-better",
        "another computer on the same cable gets 112",
    ),
    ("other-cable-same", "with another cable it is the same"),
    (
        "other-service-better",
        "another program on this computer gets 90 MB/s",
    ),
    ("other-service-better", "another service gets 90 MB/s"),
    ("other-service-better", "sftp is faster"),
    ("other-tool-better", "another tool gets 400 MB/s"),
    ("bursts", "bursts with pauses"),
    ("bursts", "comes in bursts"),
    ("varies", "varies"),
    ("varies", "it varies widely"),
    ("stalls", "connects, then nothing moves"),
    ("stalls", "the connection opens, then nothing moves"),
    ("retransmissions", "many retransmissions"),
    ("retransmissions", "packets are lost"),
    ("other-cable-same", "another cable makes no difference"),
    ("other-cable-same", "swapped the cable, same"),
    ("other-cable-better", "with another cable it is 940 Mb/s"),
    ("other-cable-better", "a new cable is faster"),
    ("other-adapter-better", "another adapter gets 280 MB/s"),
    ("other-adapter-better", "without the dock it is faster"),
    ("wired-better", "by wire it is faster"),
    ("wired-better", "by wire it is 112 MB/s"),
    ("one-drive-same", "one drive alone gets 150 MB/s"),
    ("one-drive-same", "the array is no faster than one drive"),
    (
        "one-drive-better",
        "one drive alone is faster than the array",
    ),
    ("larger-frames-better", "larger frames are faster"),
    ("larger-frames-better", "with jumbo frames it is 1100 MB/s"),
    ("smaller-frames-better", "with smaller frames it is fine"),
    (
        "without-encryption-better",
        "without encryption it is 110 MB/s",
    ),
    ("without-encryption-better", "with signing off it is faster"),
    ("without-sync-better", "without sync it is 65 MB/s"),
    ("slower-path-same", "11 MB/s over a slower path too"),
    ("slower-path-same", "the slower link gives the same"),
    ("fine-after-restart", "fine after a restart"),
    ("fine-after-idle", "fine again after a pause"),
    ("fine-after-idle", "recovers after 10 min"),
    ("fragmented", "the pool is fragmented"),
    ("fragmented", "25 % fragmentation"),
    ("traffic-elsewhere", "counters on another port rise"),
    ("traffic-elsewhere", "traffic on the wrong port"),
    ("one-thread-tool", "the tool uses one thread"),
    ("one-thread-tool", "test tool is single-threaded"),
    ("offloads-off", "offloads are off"),
    ("third-machine", "commanded from a third machine"),
    ("slot-errors", "link errors on the slot"),
    ("uneven-members", "one drive is slower than the others"),
    ("old-client", "an old client"),
    ("small-requests", "64 KiB requests"),
    ("one-request", "one request at a time"),
    ("user-space-client", "a user-space client"),
    ("overlay", "through an encrypting layer"),
    ("virtual-machine", "in a virtual machine"),
    ("write-cache-off", "write cache is off"),
    ("same-drives", "copied within the same drives"),
    ("memory-warm", "the same file was just read"),
    ("direct-cable", "a direct cable"),
    ("small-blocks", "a test that asks for 512 B at a time"),
    ("rebuild-running", "a rebuild is running"),
    ("core-busy-high", "one core is full"),
    ("core-busy-low", "all cores are idle"),
];

#[test]
fn remarks_are_found_as_people_say_them() {
    let mut missed = Vec::new();
    for (id, text) in TOLD {
        // a full stop, a colon and capitals at the start say nothing
        let mut letters = text.chars();
        let first: String = letters
            .next()
            .into_iter()
            .flat_map(char::to_uppercase)
            .collect();
        let sentence = format!("{first}{}.", letters.as_str().replace(", ", " - "));
        for text in [(*text).to_owned(), sentence] {
            match at_granary_lane().hear(&text).as_deref() {
                Ok([Statement::Remark(remark)]) if remark.id == *id => {}
                other => missed.push(format!("{text}: not {id} but {other:?}")),
            }
        }
    }
    assert!(missed.is_empty(), "{}", missed.join("\n"));
}

#[test]
fn every_remark_is_known_by_its_example_and_its_name() {
    let remarks = Remarks::embedded().unwrap();
    let mut missed = Vec::new();
    for row in remarks.rows() {
        for text in [&row.example, &row.id] {
            match at_granary_lane().hear(text).as_deref() {
                Ok([Statement::Remark(remark)]) if remark.id == row.id => {}
                other => missed.push(format!("{text}: not {} but {other:?}", row.id)),
            }
        }
        assert!(row.source.len() > 4 && !row.meaning.is_empty());
    }
    assert!(missed.is_empty(), "{}", missed.join("\n"));
}

#[test]
fn a_thing_that_was_swapped_says_nothing_by_itself() {
    for text in [
        "112 is fine",
        "another computer",
        "by wire",
        "with another cable",
        "without sync",
        "another tool",
    ] {
        assert!(at_granary_lane().hear(text).is_err(), "{text}");
    }
}

#[test]
fn amounts_of_a_remark_are_kept() {
    let found = remark("fast then drops to 30 MB/s after 20 GB");
    let size = found.size.map(|s| s.get::<units::information::gigabyte>());
    assert_eq!(size, Some(20.0));
    let rate = |r: &Remark| {
        r.rate
            .as_ref()
            .map(|r| in_megabytes_per_second(r.likeliest()))
    };
    assert_eq!(rate(&found), Some(30.0));
    assert_eq!(rate(&remark("another computer gets 112")), Some(112.0));
    assert_eq!(rate(&remark("another computer is faster")), None);
    let minutes = remark("recovers after 10 min")
        .time
        .map(|t| t.get::<units::time::minute>());
    assert_eq!(minutes, Some(10.0));
    let found = remark("sound: by wire it is 112 MB/s");
    assert_eq!(
        (found.desk.as_deref(), found.id.as_str()),
        (Some("sound"), "wired-better")
    );
    let again = remark(&found.shown());
    assert_eq!(
        (again.desk, again.id, again.rate),
        (found.desk, found.id, found.rate)
    );
}

#[test]
fn what_is_nearly_a_remark_is_told() {
    // a slip of the keyboard is mended
    assert_eq!(
        remark("frist fast then drops after 20 GB").id,
        "drops-after"
    );
    // known words that say nothing together are marked together
    let text = "another cable another port";
    let faults = at_granary_lane().hear(text).unwrap_err();
    assert!(
        faults.to_string().contains("narrows facts remarks"),
        "{faults}"
    );
}

#[test]
fn patterns_that_cannot_be_are_refused() {
    let head = "id,example,pattern,if_lower,if_like,if_higher,better,meaning,source\n";
    for (row, problem) in [
        (
            "a,e,[one [two]],,,,,m,judgement",
            "has a bracket inside a bracket",
        ),
        (
            "a,e,one] two,,,,,m,judgement",
            "closes a bracket that is not open",
        ),
        ("a,e,[one two,,,,,m,judgement", "leaves a bracket open"),
        (
            "a,e,the RATE,,,,,m,judgement",
            "'the' is left out of what people say",
        ),
        (
            "a,e,[one] RATE,,,,,m,judgement",
            "has no word that has to be there",
        ),
        (
            "a,e,one,,,,,m,judgement\na,e,two,,,,,m,judgement",
            "'a' stands here twice",
        ),
        (
            "a,e,one,a,,,,m,judgement",
            "all three of lower, like and higher, or none",
        ),
        ("a,e,one,a,b,a,,m,judgement", "'b' is no remark"),
        ("a,e,one,,,,,m,", "field 9 is empty"),
        ("a,e,one,,,,no,m,judgement", "'no' is neither yes nor empty"),
    ] {
        let fault = Remarks::read("x.csv", &format!("{head}{row}\n")).unwrap_err();
        assert!(fault.to_string().contains(problem), "{row}: {fault}");
    }
}

proptest! {
    #[test]
    fn property_no_pattern_panics(pattern in "[a-zRATE \\[\\]/*]{1,30}") {
        let _ = Remarks::read("x.csv", &format!("id,example,pattern,if_lower,if_like,if_higher,better,meaning,source\na,e,{pattern},,,,,m,judgement\n"));
    }
}

#[test]
fn remarks_that_weigh_and_remarks_that_can_be_heard_are_the_same() {
    let first = |(_, text): (&str, &str)| -> BTreeSet<String> {
        let mut reader = csv::ReaderBuilder::new()
            .comment(Some(b'#'))
            .from_reader(text.as_bytes());
        let rows = reader.records().map(Result::unwrap);
        rows.map(|row| row[0].to_owned()).collect()
    };
    let heard = first(narrows_data::REMARKS);
    assert_eq!(first(narrows_data::EVIDENCE), heard);
    assert!(heard.len() > 50);
}

/// Sentences that no pattern takes, by people who never saw one.
#[test]
fn remarks_are_heard_in_other_words() {
    for (id, text) in [
        (
            "parallel-flat",
            "with two transfers each one only gets half of it",
        ),
        (
            "other-computer-better",
            "her laptop on the very same socket is miles quicker than mine",
        ),
        (
            "fine-after-restart",
            "we switch the box off and on and then it is fine for a day",
        ),
        ("wired-better", "on wifi it crawls, plugged in it flies"),
        (
            "long-distance",
            "the server is in another town, three hundred kilometres away",
        ),
    ] {
        let found = at_granary_lane().understand(text).unwrap();
        assert!(
            matches!(&found.statements[..], [Statement::Remark(remark)] if remark.id == id),
            "{text}: {found:?}"
        );
    }
}

#[test]
fn what_is_not_sure_is_asked_and_what_means_nothing_is_refused() {
    let open = at_granary_lane()
        .understand("the other one is quicker somehow")
        .unwrap();
    assert!(open.statements.is_empty());
    assert!(open.choices.len() > 1, "{open:?}");
    assert!(
        open.choices
            .windows(2)
            .all(|pair| pair[0].probability >= pair[1].probability)
    );
    assert!(
        open.choices
            .iter()
            .all(|choice| choice.probability < 0.65 && !choice.meaning.is_empty())
    );
    for text in [
        "is there any coffee left in the kitchen",
        "banana telephone",
    ] {
        assert!(at_granary_lane().understand(text).is_err(), "{text}");
    }
}

#[test]
fn a_sentence_with_a_number_is_a_reading_with_both_its_ends() {
    for (text, low, high, unit) in [
        (
            "so I was copying 100 GB onto the server and that took 25 minutes",
            Some(66.667),
            Some(66.667),
            "MB/s",
        ),
        (
            "plays two layers, stutters on three",
            Some(2.0),
            Some(3.0),
            "layers",
        ),
        (
            "it never gets past 90 MB/s when I pull clips off the box",
            None,
            Some(90.0),
            "MB/s",
        ),
        (
            "pinging the server gives me 12 to 15 ms",
            Some(12.0),
            Some(15.0),
            "ms",
        ),
    ] {
        let found = at_granary_lane().understand(text).unwrap();
        let value = found.values.iter().flatten().next().unwrap();
        let near = |a: Option<f64>, b: Option<f64>| match (a, b) {
            (Some(a), Some(b)) => (a - b).abs() < 0.01 * b,
            (a, b) => a.is_none() && b.is_none(),
        };
        assert!(
            near(value.low, low) && near(value.high, high) && value.unit == unit,
            "{text}: {value:?}"
        );
    }
}
