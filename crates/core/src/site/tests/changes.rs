//! Edits: what they set, add and remove, and what is said of those that cannot be made.

use super::{LANE, catalogue, changed};
use crate::change::Edit;
use crate::quantity::LinkRate;
use crate::site::{FaultSource, Medium, Site, read};

fn good(edits: &[&str]) -> Site {
    changed(edits).unwrap_or_else(|f| panic!("{edits:?}: {f}"))
}

fn category(site: &Site, run: usize) -> &str {
    match &site.runs[run].medium {
        Medium::Copper { category, .. } => category.value.likeliest(),
        Medium::Clear { word, .. } => word,
        Medium::Wireless { .. } => "wireless",
    }
}

#[test]
fn a_bare_length_in_an_edit_is_metres() {
    assert_eq!(
        good(&["run.2.length=30"]).runs,
        good(&["run.2.length=30 m"]).runs
    );
}

#[test]
fn an_edit_sets_what_is_there_and_what_is_not() {
    let before = good(&[]);
    assert_eq!(category(&before, 1), "cat5e");
    for edit in [
        "run.2.cable=\"cat6a\"",
        "run.2.cable = 'cat6a'",
        "run.2.cable=cat6a",
        "run.\"2\".cable=cat6a",
        "run.desk.cut-1.cable=cat6a",
    ] {
        let after = good(&[edit]);
        assert_eq!(category(&after, 1), "cat6a", "{edit}");
        // nothing else has moved
        assert_eq!(after.desks, before.desks);
        assert_eq!(after.runs[0], before.runs[0]);
    }
    let after = good(&["nas.store.port.a.rate=2.5 Gb/s", "network.mtu=9000"]);
    assert_eq!(after.nas[0].ports[0].rate, LinkRate::from_megabits(2500));
    assert_eq!(after.desks[0].ports[0].mtu, 9000);
    let after = good(&["name=2024-05-01"]);
    assert_eq!(after.name, "2024-05-01");
}

#[test]
fn an_edit_adds_a_part_that_is_written_whole() {
    let after = good(&[
        "desk.vfx={ disk = \"nvme-gen4\", port.a = { rate = \"1 Gb/s\" } }",
        "desk.vfx.port.b={ rate = \"10 Gb/s\" }",
        "desk.vfx.cpu=large",
        "run.8={ from = \"desk.vfx.a\", to = \"switch.attic.slow\", length = \"5 m\" }",
        "run.8.cable=cat6",
    ]);
    assert_eq!(after.desks.len(), 6);
    assert_eq!(after.desks[5].ports.len(), 2);
    assert_eq!(after.runs[7].number, 8);
    assert_eq!(category(&after, 7), "cat6");
}

#[test]
fn an_edit_removes_and_numbers_stay() {
    let after = good(&["run.7=", "desk.ingest="]);
    assert_eq!((after.desks.len(), after.runs.len()), (4, 6));
    // the run behind a removed one keeps its number, and so its luck
    let after = good(&["run.4=", "desk.colour=", "run.5.length=7 m"]);
    let numbers: Vec<usize> = after.runs.iter().map(|r| r.number).collect();
    assert_eq!(numbers, [1, 2, 3, 5, 6, 7]);
    let before = good(&[]);
    assert!(before.assumptions.iter().all(|a| a.id != "run.2.length"));
    let after = good(&["run.2.length="]);
    assert!(after.assumptions.iter().any(|a| a.id == "run.2.length"));
    // a whole part again from nothing
    let after = good(&["network.round-trip=0.3 ms", "network="]);
    assert!(
        after
            .assumptions
            .iter()
            .any(|a| a.id == "network.round-trip")
    );
}

#[test]
fn a_replaced_part_has_an_id_of_its_own() {
    let outer = |site: &Site| format!("{:?}", site.arrays[0].drives.drive.value.likeliest());
    let before = outer(&good(&[]));
    let after = outer(&good(&["array.vault.drives=6 x 10 TB hdd-5400"]));
    assert!(before.contains("array.vault.drives/hdd-7200/outer-rate"));
    assert!(after.contains("array.vault.drives/hdd-5400/outer-rate"));
}

/// Drives that are not alike: as many as there are, as the smallest and the slowest, and said so.
#[test]
fn unlike_drives_count_as_the_smallest_and_the_slowest() {
    let alike = good(&["array.vault.drives=6 x 8 TB hdd-5400"]);
    for said in [
        "array.vault.drives=\"3 x 10 TB hdd-7200, 3 x 8 TB hdd-5400\"",
        "array.vault.drives=\"2 x 10 TB hdd-7200 + 4 x 8 TB hdd-5400\"",
        "array.vault.drives=\"4 x 8 TB hdd-5400; 2 x 12 TB\"",
    ] {
        let mixed = good(&[said]);
        let (a, b) = (&alike.arrays[0].drives, &mixed.arrays[0].drives);
        assert_eq!((a.count, &a.capacity), (b.count, &b.capacity), "{said}");
        assert_eq!(a.drive.value, b.drive.value, "{said}");
        let told = mixed
            .assumptions
            .iter()
            .find(|a| a.id == "array.vault.drives");
        assert_eq!(told.unwrap().value, "6 x 8 TB hdd-5400", "{said}");
    }
    assert!(
        alike
            .assumptions
            .iter()
            .all(|a| a.id != "array.vault.drives")
    );
}

/// The edit, the marked bytes, a word of the title, a word of what was found or of the help.
const REFUSED: &[(&str, &str, &str, &str)] = &[
    (
        "nas.stoer.memory=8 GB",
        "stoer",
        "that is not there",
        "did you mean 'store'",
    ),
    (
        "desk.xyz.cpu=large",
        "xyz",
        "that is not there",
        "written whole",
    ),
    (
        "nas.store.port.b.rate=1 Gb/s",
        "b",
        "a port that is not there",
        "written whole",
    ),
    (
        "run.9.length=3 m",
        "9",
        "a run that is not there",
        "run.1 to run.7",
    ),
    (
        "run.0.length=3 m",
        "0",
        "a run that is not there",
        "run.1 to run.7",
    ),
    (
        "run.x.length=3 m",
        "x",
        "a run that is not there",
        "run.8={",
    ),
    (
        "run.switch.attic.length=3 m",
        "switch",
        "does not say which run",
        "run.1, run.2",
    ),
    (
        "run.desk.nobody.length=3 m",
        "desk",
        "does not say which run",
        "no run leads to desk.nobody",
    ),
    (
        "run.2.lenght=3 m",
        "lenght",
        "not a field of a run",
        "did you mean 'length'",
    ),
    (
        "runs.2.length=3 m",
        "runs",
        "not a part of the site",
        "did you mean 'run'",
    ),
    (
        "run.2.length.unit=m",
        "unit",
        "has no fields",
        "write length",
    ),
    (
        "nas.store.memory=8",
        "8",
        "is not an amount of data",
        "8 GB",
    ),
    (
        "run.2.length=\"30 mtr\"",
        "mtr",
        "is not a length",
        "100 ft",
    ),
    (
        "run.2.cable=cat9",
        "cat9",
        "not one of the words",
        "write one of cat5, cat5e",
    ),
    (
        "run.2.cable=\"cat6",
        "",
        "cannot be read",
        "as in a site file",
    ),
    (
        "network.mtu=\"9000\"",
        "\"9000\"",
        "not a bare number",
        "mtu = 9000",
    ),
    (
        "desk.cut-1.cpu=",
        "cpu",
        "nothing to remove",
        "is not there",
    ),
    (
        "run.2.to=nas.store",
        "nas.store",
        "is used by 2 runs",
        "there is one such port",
    ),
    (
        "desk.cut-1.port.a={ rate = \"10 GB/s\" }",
        "GB/s",
        "the rate of a link",
        "in bits",
    ),
    (
        "desk.extra={ prot.a = { rate = \"1 Gb/s\" } }",
        "prot",
        "not a field of a desk",
        "did you mean 'port'",
    ),
    ("network.mtu.size=1", "size", "has no fields", "mtu=1500"),
];

#[test]
fn an_edit_that_cannot_be_made_is_marked_in_its_own_text() {
    for (edit, marked, title, words) in REFUSED {
        let faults = changed(&[edit]).expect_err(edit);
        let fault = faults
            .iter()
            .find(|f| f.source == FaultSource::Edit(0) && f.title.contains(title))
            .unwrap_or_else(|| panic!("{edit}: {faults}"));
        assert_eq!(edit.get(fault.span.clone()), Some(*marked), "{edit}");
        let shown = fault.to_string();
        assert!(shown.contains(words), "{edit}: {shown}");
    }
}

#[test]
fn what_is_no_edit_is_refused() {
    for (text, marked, title) in [
        ("run.2.length", "run.2.length", "not an edit"),
        ("=3 m", "", "no path"),
        ("run..length=3 m", "", "no path"),
        ("run.2.=3 m", "", "no path"),
        ("run.2.length=3\u{7}m", "\u{7}", "cannot be read"),
        ("", "", "not an edit"),
        ("\"run.2.length=3 m", "\"run.2.length=3 m", "not an edit"),
    ] {
        let faults = Edit::parse(text, 3).expect_err(text);
        let fault = faults.iter().next().expect(text);
        assert_eq!(fault.source, FaultSource::Edit(3));
        assert_eq!(text.get(fault.span.clone()), Some(marked), "{text}");
        assert!(fault.title.contains(title), "{text}: {fault}");
    }
    assert!(Edit::parse(&"a".repeat(5000), 0).is_err());
    let faults = Edit::parse_all(&["a", "run.2.length=3 m", "b"]).unwrap_err();
    assert_eq!(faults.count(), 2);
}

#[test]
fn faults_of_the_file_and_of_edits_come_together() {
    let text = LANE.replace("\"cat6a\"", "\"cat9\"");
    let edits = Edit::parse_all(&["run.2.lenght=3 m", "run.3.length=x"]).unwrap();
    let faults = read(&text, &edits, &catalogue()).unwrap_err();
    let sources: Vec<_> = faults.iter().map(|f| f.source.clone()).collect();
    assert_eq!(
        sources,
        [
            FaultSource::File,
            FaultSource::Edit(0),
            FaultSource::Edit(1)
        ]
    );
}

#[test]
fn an_edit_mends_what_the_file_has_wrong() {
    let text = LANE.replace("\"cat6a\"", "\"cat9\"");
    let edits = Edit::parse_all(&["run.1.cable=cat7"]).unwrap();
    assert!(read(&text, &edits, &catalogue()).is_ok());
    assert_eq!(edits[0].to_string(), "run.1.cable=cat7");
    assert_eq!(edits[0].text(), "run.1.cable=cat7");
}

#[test]
fn an_edit_of_what_is_no_part_says_so() {
    for (text, edit) in [
        ("network = 3\n", "network.mtu=1500"),
        ("nas = 3\n", "nas.store.memory=8 GB"),
    ] {
        let edits = Edit::parse_all(&[edit]).unwrap();
        let faults = read(text, &edits, &catalogue()).unwrap_err();
        let found = faults
            .iter()
            .any(|f| f.title.contains("has no fields") && f.source == FaultSource::Edit(0));
        assert!(found, "{faults}");
    }
    let text = "[nas]\nstore = 3\nrun = 2\n";
    let edits = Edit::parse_all(&["nas.store.memory=8 GB", "run.1.length=2 m"]).unwrap();
    assert!(read(text, &edits, &catalogue()).is_err());
}
