//! States that are not healthy: read where they are stated, and silent where they are not.

use super::changed;
use crate::quantity::{LinkRate, Measure, percent};
use crate::site::{Duplex, Site};

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
