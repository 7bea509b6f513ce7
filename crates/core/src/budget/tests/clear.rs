//! Fibre and twinax that are not known to carry the rate of their ports.

use super::{copy, site_with};
use crate::budget::WarningKind;

#[test]
fn glass_and_twinax_beyond_what_they_reach_are_warned_of_and_counted_as_they_are() {
    let warned = |rate: &str, lines: &str| {
        let ends = format!("{{ rate = \"{rate}\", socket = \"cage\" }}");
        let site = site_with(
            &format!(
                "[array.vault]\nnas = \"store\"\nlayout = \"raid6\"\ndrives = \"6 x 10 TB hdd-7200\"\n\
                 [nas.store]\nport.a = {ends}\n[desk.cut-1]\nport.a = {ends}\n\
                 [[run]]\nfrom = \"desk.cut-1\"\nto = \"nas.store\"\n{lines}\n"
            ),
            &[],
        );
        let answer = copy(&site);
        for flow in &answer.flows {
            let link = flow.hop("run.1").unwrap().link_megabits_per_s.unwrap();
            assert_eq!(crate::quantity::exact(link), rate, "{lines}");
        }
        let mut found = answer.warnings.into_iter();
        let found = found.find(|w| w.kind == WarningKind::BeyondReach)?;
        assert_eq!(found.place, "run.1");
        Some(found.message)
    };
    let fibre = |length: &str, grade: &str| {
        warned(
            "10 Gb/s",
            &format!("cable = \"fibre\"\nlength = \"{length}\"\ngrade = \"{grade}\""),
        )
    };
    for (length, grade) in [("250 m", "om3"), ("30 m", "om1"), ("9 km", "os2")] {
        assert_eq!(fibre(length, grade), None, "{length} {grade}");
    }
    for (length, grade, said) in [
        (
            "310 m",
            "om3",
            "310 m of om3 is beyond the 300 m of 10gbase-sr; counted",
        ),
        ("250..310 m", "om3", "310 m of om3 is beyond"),
        (
            "100 m",
            "om1",
            "10gbase-lrm gets through, with mode-conditioning cords",
        ),
        (
            "20 km",
            "os2",
            "beyond the 10000 m of 10gbase-lr; 10gbase-er gets through;",
        ),
        // 0.53 dB of fibre and 1.5 dB of plugs against 1.9 dB
        (
            "150 m",
            "om1",
            "150 m of om1 is beyond the 33 m of 10gbase-sr; counted",
        ),
    ] {
        let found = fibre(length, grade).unwrap();
        assert!(found.contains(said), "{length} {grade}: {found}");
    }
    let lines = "cable = \"fibre\"\nlength = \"20 m\"\ngrade = \"om1\"\ncord-grade = \"om3\"";
    let mixed = warned("10 Gb/s", lines).unwrap();
    // 0.07 dB of fibre, 1.5 dB of plugs and 4.7 dB between the cores against 2.4 dB
    assert!(
        mixed.contains("loses 3.9 dB more than 10gbase-sr allows"),
        "{mixed}"
    );
    let none = warned(
        "25 Gb/s",
        "cable = \"fibre\"\nlength = \"5 m\"\ngrade = \"om1\"",
    );
    assert!(
        none.unwrap()
            .contains("no standard optic sends 25 Gb/s over om1")
    );
    assert_eq!(
        warned("10 Gb/s", "cable = \"twinax\"\nlength = \"7 m\""),
        None
    );
    let long = warned("10 Gb/s", "cable = \"twinax\"\nlength = \"9 m\"").unwrap();
    assert!(
        long.contains("9.00 m of passive twinax is beyond the 7.00 m"),
        "{long}"
    );
    // nothing is told that could be held against them
    for lines in [
        "cable = \"fibre\"",
        "cable = \"fibre\"\nlength = \"900 m\"",
        "",
    ] {
        assert_eq!(warned("10 Gb/s", lines), None, "{lines}");
    }
    // what was read off a port outweighs it
    let seen = "cable = \"twinax\"\nlength = \"9 m\"\nnegotiated = \"10 Gb/s\"";
    assert_eq!(warned("10 Gb/s", seen), None);
}
