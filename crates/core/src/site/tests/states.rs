//! States that are not healthy: read where they are stated, and silent where they are not.

use super::changed;
use crate::array::Bytes;
use crate::copper::Neighbours;
use crate::quantity::{LinkRate, Measure, percent};
use crate::site::{Duplex, Medium, Site};

fn good(edits: &[&str]) -> Site {
    changed(edits).unwrap_or_else(|f| panic!("{edits:?}: {f}"))
}

#[test]
fn what_nobody_states_is_healthy_and_no_assumption() {
    for edits in [
        &[][..],
        &[
            "run.2.duplex=unknown",
            "run.2.lost=unknown",
            "nas.store.sync=unknown",
            "switch.attic.pause=unknown",
            "nas.store.port.a.members=unknown",
        ],
    ] {
        let site = good(edits);
        assert!(
            site.runs
                .iter()
                .all(|r| r.duplex.is_none() && r.lost.is_none())
        );
        assert!(site.nas.iter().all(|n| n.sync.is_none()));
        assert!(site.switches.iter().all(|s| s.pause.is_none()));
        let ports = site.desks.iter().flat_map(|d| &d.ports);
        assert!(ports.chain(&site.nas[0].ports).all(|p| p.members == 1));
        assert_eq!(site.assumptions, good(&[]).assumptions);
    }
}

#[test]
fn every_state_is_read() {
    let site = good(&[
        "nas.store.sync=yes",
        "switch.attic.pause=true",
        "nas.store.port.a.members=2",
        "desk.cut-1.port.a.adapter=pci 32-bit",
        "run.4.duplex=half",
        "run.5.duplex=mismatched",
        "run.6.duplex=full",
        "run.2.lost=0.1..1 %",
    ]);
    assert_eq!(site.nas[0].sync.as_ref().unwrap().value.only(), Some(&true));
    let pause = |i: usize| {
        site.switches[i]
            .pause
            .as_ref()
            .map(|p| p.value.only().copied())
    };
    assert_eq!((pause(0), pause(1)), (Some(Some(true)), None));
    assert_eq!(site.nas[0].ports[0].members, 2);
    let duplex: Vec<_> = site.runs[3..6].iter().map(|r| r.duplex).collect();
    assert_eq!(
        duplex,
        [
            Some(Duplex::Half),
            Some(Duplex::Mismatched),
            Some(Duplex::Full)
        ]
    );
    let lost = site.runs[1].lost.as_ref().unwrap();
    assert_eq!(lost.id, "run.2.lost");
    let (low, _, high) = lost.value.law().knots();
    assert!((low - percent(0.1).base()).abs() < 1e-12);
    assert!((high - percent(1.0).base()).abs() < 1e-12);
}

/// A choice keeps its chances, and nothing lost is still a statement.
#[test]
fn a_state_may_be_uncertain_or_none_at_all() {
    let site = good(&["nas.store.sync=yes 30 %, no 70 %", "run.2.lost=0 %"]);
    let sync = site.nas[0].sync.as_ref().unwrap();
    let yes = sync.value.options().iter().find(|(waits, _)| *waits);
    assert!((yes.unwrap().1 - 0.3).abs() < 1e-9);
    assert!(site.runs[1].lost.as_ref().unwrap().value.is_exact());
}

#[test]
fn a_slow_link_may_be_in_half_duplex_whatever_its_ports_know_beyond() {
    for negotiated in ["10 Mb/s", "100 Mb/s"] {
        let rate = format!("run.2.negotiated={negotiated}");
        let site = good(&[&rate, "run.2.duplex=half"]);
        assert!(site.runs[1].negotiated <= Some(LinkRate::from_megabits(100)));
    }
    let faults = changed(&["run.2.negotiated=10 Gb/s", "run.2.duplex=half"]).unwrap_err();
    assert_eq!(faults.count(), 1);
}

#[test]
fn runs_of_one_duct_are_each_others_neighbours() {
    let beside = |site: &Site, run: usize| match &site.runs[run - 1].medium {
        Medium::Copper { installed, .. } => installed.neighbours.clone(),
        other => panic!("{other:?}"),
    };
    let rate = LinkRate::from_megabits;
    let ducts = ["run.2.duct=riser", "run.3.duct=Riser", "run.4.duct=riser"];
    let site = good(&ducts);
    let both = vec![(rate(1000), 1), (rate(10_000), 1)];
    assert_eq!(beside(&site, 2), Neighbours::Rates(both));
    assert_eq!(beside(&site, 4), Neighbours::Rates(vec![(rate(10_000), 2)]));
    // whose duct nobody told keeps what stands in, and says so as before
    assert_eq!(beside(&site, 5), beside(&good(&[]), 5));
    let assumed = |site: &Site, id: &str| {
        let found = site.assumptions.iter().find(|a| a.id == id);
        found.map(|a| a.value.clone())
    };
    let two = assumed(&site, "run.2.neighbours");
    assert_eq!(two.as_deref(), Some("1 at 1 Gb/s, 1 at 10 Gb/s"));
    assert_eq!(
        assumed(&site, "run.4.neighbours"),
        None,
        "1 Gb/s minds none"
    );

    // what was seen and what was counted comes first
    let seen = good(&[&ducts[..], &["run.3.negotiated=1 Gb/s"]].concat());
    assert_eq!(beside(&seen, 2), Neighbours::Rates(vec![(rate(1000), 2)]));
    let counted = good(&[&ducts[..], &["run.2.neighbours=4"]].concat());
    assert_eq!(beside(&counted, 2), Neighbours::SameRate(4));
    let alone = good(&["run.2.duct=riser"]);
    assert_eq!(beside(&alone, 2), Neighbours::SameRate(0));
    assert_eq!(assumed(&alone, "run.2.neighbours").as_deref(), Some("none"));
}

#[test]
fn records_are_of_pools_and_chunks_of_what_is_striped_otherwise() {
    let site = good(&["array.vault.chunk=64 KiB"]);
    assert_eq!(site.arrays[0].chunk, Some(Bytes::kibibytes(64)));
    let pool = good(&["array.vault.layout=raidz2", "array.vault.record=1 MiB"]);
    assert_eq!(pool.arrays[0].record, Some(Bytes::kibibytes(1024)));
    for (edits, says) in [
        (
            &["array.vault.record=1 MiB"][..],
            "array.vault.record says nothing of raid6",
        ),
        (&["array.vault.chunk=96 KiB"], "no power of two from 4 KiB"),
        (
            &["array.vault.layout=raidz2", "array.vault.chunk=64 KiB"],
            "array.vault.chunk says nothing of raidz2",
        ),
        (
            &["array.vault.layout=raidz2", "array.vault.record=3 MiB"],
            "no power of two from a sector",
        ),
    ] {
        let faults = changed(edits).unwrap_err().to_string();
        assert!(faults.contains(says), "{faults}");
    }
}
