//! Links, ports and services that are not healthy.

use super::*;
use crate::quantity::terabytes;
use crate::work::{Direction, Files};

fn edited(port: &str, edits: &[&str]) -> Answer {
    copy(&site_with(&chain(port, port, port, SIX), edits))
}

fn of(answer: &Answer, direction: Direction) -> &Flow {
    answer
        .flows
        .iter()
        .find(|f| f.direction == direction)
        .unwrap()
}

fn middle(ceiling: Ceiling) -> f64 {
    in_megabytes_per_second(ceiling.p50)
}

/// Nothing that is stated as healthy changes a draw.
#[test]
fn a_state_that_is_healthy_changes_no_draw() {
    let plain = edited(TEN, &[]);
    for edit in [
        "run.2.duplex=full",
        "run.2.lost=0 %",
        "nas.store.sync=no",
        "switch.attic.pause=no",
        "nas.store.port.a.members=1",
    ] {
        let stated = edited(TEN, &[edit]);
        assert!(stated.warnings == plain.warnings, "{edit}");
        for (a, b) in stated.flows.iter().zip(&plain.flows) {
            assert!(a.rates == b.rates, "{edit}");
            assert_eq!(a.hops.len(), b.hops.len(), "{edit}");
        }
    }
}

#[test]
fn one_flow_uses_one_of_the_joined_links() {
    let plain = edited(ONE, &[]);
    let joined = edited(ONE, &["nas.store.port.a.members=2"]);
    for (flow, before) in joined.flows.iter().zip(&plain.flows) {
        assert!(flow.rates == before.rates);
        let note = |run: &str| flow.hop(run).unwrap().note.clone();
        assert_eq!(
            note("run.1"),
            "1 Gb/s at both ends, one flow uses one of 2 joined links"
        );
        assert_eq!(note("run.2"), "1 Gb/s at both ends");
    }
}

/// The share of a wire in half duplex, 0.871 with 40 B of headers and less with more.
#[test]
fn half_duplex_takes_a_tenth_of_a_slow_link_and_not_half() {
    let full = edited(TEN, &["run.2.negotiated=100 Mb/s"]);
    let half = edited(TEN, &["run.2.duplex=half"]);
    for (flow, before) in half.flows.iter().zip(&full.flows) {
        let link = flow.hop("run.2").unwrap();
        assert_eq!(link.note, "100 Mb/s, half duplex");
        assert!((link.link_megabits_per_s.unwrap().megabits() - 100.0).abs() < 1e-9);
        let ceiling = link.ceiling_megabytes_per_s;
        assert!(in_megabytes_per_second(ceiling.p95) <= 12.5 * 0.871_122);
        // 12 B of timestamps and 6 B more in the acknowledgement: 0.8624
        assert!(
            (middle(ceiling) - 12.5 * 0.8624).abs() < 0.02,
            "{ceiling:?}"
        );
        let kept = range(flow).1 / range(before).1;
        assert!((0.9..0.93).contains(&kept), "{kept}");
    }
}

#[test]
fn ends_that_disagree_spoil_one_way_and_nobody_knows_which() {
    let answer = edited(ONE, &["run.2.duplex=mismatched"]);
    let (read, write) = (of(&answer, Direction::Read), of(&answer, Direction::Write));
    // one of the two ways suffers in each draw, and each as often
    let slower = read.rates.iter().zip(&write.rates).filter(|(r, w)| r < w);
    assert_eq!(slower.count() * 2, read.rates.len());
    for flow in [read, write] {
        let found: Vec<(&str, f64)> = flow
            .branches
            .iter()
            .map(|b| {
                (
                    b.when.as_str(),
                    in_megabytes_per_second(b.megabytes_per_s.p50),
                )
            })
            .collect();
        let [(kept, high), (spoilt, low)] = found[..] else {
            panic!("{found:?}");
        };
        assert_eq!(kept, "run.2: the other way suffers");
        assert_eq!(spoilt, "run.2: this way suffers");
        assert!(
            (6.0..11.9).contains(&high) && (0.05..3.0).contains(&low),
            "{found:?}"
        );
        let note = &flow.hop("run.2").unwrap().note;
        assert_eq!(note, "100 Mb/s, and the ends disagree on duplex");
    }
    let open = "run.2.duplex/way";
    assert!(read.unknowns.iter().any(|u| u.id == open && u.share > 0.5));
}

/// RFC 5348 with 1448 B, 0.2 ms and one frame in a thousand: 278 MB/s.
#[test]
fn lost_frames_slow_a_stream_down_far_more_than_their_share() {
    let answer = edited(TEN, &["run.2.lost=0.1 %", "network.round-trip=0.2 ms"]);
    for flow in &answer.flows {
        let link = flow.hop("run.2").unwrap();
        assert!(
            link.note.ends_with(", loses 0.1 % of frames"),
            "{}",
            link.note
        );
        let ceiling = link.ceiling_megabytes_per_s;
        assert!((270.0..286.0).contains(&middle(ceiling)), "{ceiling:?}");
        // a factor of 2.5 each way
        let low = in_megabytes_per_second(ceiling.p05);
        assert!((105.0..117.0).contains(&low), "{ceiling:?}");
    }
    let mut last = f64::INFINITY;
    for lost in ["0 %", "0.001 %", "0.1 %", "1 %", "10 %", "50 %"] {
        let answer = edited(TEN, &[&format!("run.2.lost={lost}")]);
        let now = range(of(&answer, Direction::Read)).1;
        assert!(now <= last, "{lost}: {now} after {last}");
        last = now;
    }
    assert!(last < 2.0, "{last}");
    // a link that may lose nothing at all
    let answer = edited(TEN, &["run.2.lost=0..0.1 %"]);
    assert!(
        answer
            .flows
            .iter()
            .all(|f| f.rates.iter().all(|r| r.is_finite() && *r > 0.0))
    );
}

/// What a desk gets of a link of 1 Gb/s that loses 3 frames in a thousand over 2 ms, with so many streams.
fn through_losses(streams: u32, edits: &[&str]) -> f64 {
    let all = [&["run.2.lost=0.3 %", "network.round-trip=2 ms"], edits].concat();
    let site = site_with(&chain(ONE, ONE, ONE, SIX), &all);
    let asked = path::PathAsked {
        desk: "cut-1",
        work: Work::plain(Activity::Wire),
        direction: Direction::Read,
        streams,
    };
    let catalogue = Catalogue::embedded().unwrap();
    let common = way::Common::new(&catalogue).unwrap();
    let mut draws = Draws::new(2048);
    let path = path::path(&site, &asked, (&catalogue, &common), None, &mut draws);
    let path = path.unwrap().unwrap();
    let rates: Vec<f64> = (0..path.count()).map(|draw| path.rate(draw)).collect();
    crate::working::middle(&rates) / 1e6
}

/// RFC 5348 section 3.1 with 1448 B, 2 ms and 0.003 gives one stream 15.8 MB/s: `T sqrt(2 l/3)` is 0.0894 ms, the timeouts'
/// part 8 ms times 3 times 0.0335 times 0.003, 0.0024 ms. Four have four times that, sixteen what arrives of the link.
#[test]
fn lost_frames_slow_each_stream_by_itself() {
    let one = through_losses(1, &[]);
    assert!((15.6..16.0).contains(&one), "{one}");
    let four = through_losses(4, &[]);
    assert!((four / one - 4.0).abs() < 1e-9, "{four} {one}");
    // 117.3 MB/s of payload at most, of which 3 in a thousand are sent twice
    let sixteen = through_losses(16, &[]);
    assert!((105.0..117.0).contains(&sixteen), "{sixteen}");
    // dropped and lost: each of the two takes its part, of one stream and of all
    let both = through_losses(1, &["run.2.drops=1 %"]);
    assert!(both < one, "{both} {one}");
    assert!(through_losses(64, &["run.2.drops=1 %"]) < sixteen);
}

/// MB/s in the middle that streams read at a laptop which hangs on the second of two access points, the first of which is wired.
fn behind_two_points(streams: u32, edits: &[&str]) -> f64 {
    let text = "[array.vault]\nnas = \"store\"\nlayout = \"raid0\"\ndrives = \"4 x 4 TB nvme-gen4\"\n\
        [nas.store]\nport.a = { rate = \"10 Gb/s\" }\n[access-point.near]\nband = \"5 GHz\"\nport.a = { rate = \"10 Gb/s\" }\n\
        [access-point.far]\nband = \"5 GHz\"\n[desk.cut-1]\nwireless = \"unknown\"\ndisk = \"nvme-gen4\"\n\
        [[run]]\nfrom = \"nas.store\"\nto = \"access-point.near\"\ncable = \"cat6a\"\nlength = \"3 m\"\n\
        [[run]]\nfrom = \"access-point.far\"\nto = \"access-point.near\"\nwireless = \"shown 1201 Mb/s\"\n\
        [[run]]\nfrom = \"desk.cut-1\"\nto = \"access-point.far\"\nwireless = \"shown 1201 Mb/s\"\n";
    let site = site_with(text, edits);
    let catalogue = Catalogue::embedded().unwrap();
    let common = way::Common::new(&catalogue).unwrap();
    let asked = path::PathAsked {
        desk: "cut-1",
        work: Work::plain(Activity::Wire),
        direction: Direction::Read,
        streams,
    };
    let mut draws = Draws::new(2048);
    let path = path::path(&site, &asked, (&catalogue, &common), None, &mut draws);
    let path = path.unwrap().unwrap();
    let rates: Vec<f64> = (0..path.count()).map(|draw| path.rate(draw)).collect();
    crate::working::middle(&rates) / 1e6
}

#[test]
fn a_relay_pays_twice() {
    let channels = [
        "access-point.near.channel=36",
        "access-point.far.channel=100",
    ];
    let apart = behind_two_points(1, &channels);
    assert!((60.0..105.0).contains(&apart), "{apart}");
    // one radio, as is usual: two links alike leave half, however many streams there are
    for streams in [1, 4] {
        let one = behind_two_points(streams, &[]);
        assert!((one / apart - 0.5).abs() < 0.03, "{one} {apart}");
    }
    let same = [
        "access-point.near.channel=36",
        "access-point.far.channel=36",
    ];
    assert!((behind_two_points(1, &same) / apart - 0.5).abs() < 0.03);
}

#[test]
fn radio_may_lose_frames_too() {
    let radio = [
        "run.2.cable=",
        "run.2.length=",
        "run.2.wireless=measured 300 Mb/s",
    ];
    let clean = edited(ONE, &radio);
    let lossy = edited(ONE, &[&radio[..], &["run.2.lost=2 %"]].concat());
    for (flow, before) in lossy.flows.iter().zip(&clean.flows) {
        assert!(range(flow).1 < range(before).1);
        let note = &flow.hop("run.2").unwrap().note;
        assert_eq!(note, "radio, shared and half duplex, loses 2 % of frames");
    }
}

/// Four requests of 1 MiB each wait 12 ms: 350 MB/s of waiting, on top of all else.
#[test]
fn writes_that_wait_are_slower_and_reads_are_not() {
    let plain = edited(TEN, &[]);
    let answer = edited(TEN, &["nas.store.sync=yes"]);
    let (read, write) = (of(&answer, Direction::Read), of(&answer, Direction::Write));
    assert!(read.rates == of(&plain, Direction::Read).rates);
    assert!(read.hop("nas.store.sync").is_none());
    let hop = write.hop("nas.store.sync").unwrap();
    let p50 = middle(hop.ceiling_megabytes_per_s);
    assert!((250.0..450.0).contains(&p50), "{p50}");
    let before = of(&plain, Direction::Write);
    assert!(write.rates.iter().zip(&before.rates).all(|(a, b)| a < b));
    // flash is safe sooner
    let flash = copy(&site_with(
        &chain(TEN, TEN, TEN, "6 x 4 TB ssd-sata"),
        &["nas.store.sync=yes"],
    ));
    let hop = of(&flash, Direction::Write).hop("nas.store.sync").unwrap();
    let of_flash = middle(hop.ceiling_megabytes_per_s);
    assert!(of_flash > 10.0 * p50, "{of_flash}");
}

#[test]
fn writes_that_may_wait_are_two_branches() {
    let plain = edited(TEN, &[]);
    let answer = edited(TEN, &["nas.store.sync=yes 50 %, no 50 %"]);
    let (write, before) = (of(&answer, Direction::Write), of(&plain, Direction::Write));
    // a large ceiling stands for no waiting, so those draws are the same to the last bit
    let same = write
        .rates
        .iter()
        .zip(&before.rates)
        .filter(|(a, b)| a.to_bits() == b.to_bits());
    assert_eq!(same.count() * 2, write.rates.len());
    let whens: Vec<&str> = write.branches.iter().map(|b| b.when.as_str()).collect();
    assert!(
        whens.iter().any(|w| w.contains("writes do not wait")),
        "{whens:?}"
    );
    assert!(
        whens.iter().any(|w| w.contains("writes wait until safe")),
        "{whens:?}"
    );
    assert!(write.unknowns.iter().any(|u| u.id == "nas.store.sync"));
}

#[test]
fn memory_takes_no_burst_of_writes_that_have_to_be_safe() {
    let asked = |edits: &[&str]| {
        let site = site_with(&chain(TEN, TEN, TEN, "4 x 10 TB hdd-5400"), edits);
        let question = Question {
            work: Work {
                size: Some(terabytes(1.0)),
                ..Work::plain(Activity::Copy)
            },
            desk: None,
            working: false,
            need: None,
        };
        let catalogue = Catalogue::embedded().unwrap();
        answer(&site, &question, &catalogue, &mut Draws::new(512)).unwrap()
    };
    let drops = |answer: &Answer| {
        let write = of(answer, Direction::Write);
        write.transfer.as_ref().unwrap().drops_probability
    };
    assert!(drops(&asked(&[])) > 0.5);
    assert!(drops(&asked(&["nas.store.sync=yes"])).abs() < 1e-12);
}

/// Neither a program at the array nor a bare stream waits for the service.
#[test]
fn only_copies_and_plays_wait_for_the_drives() {
    let text = chain(TEN, TEN, TEN, SIX);
    let (plain, sync) = (
        site_with(&text, &[]),
        site_with(&text, &["nas.store.sync=yes"]),
    );
    for activity in [Activity::AtTheArray, Activity::Wire] {
        let before = asked(&plain, None, activity);
        let after = asked(&sync, None, activity);
        for (a, b) in after.flows.iter().zip(&before.flows) {
            assert!(a.rates == b.rates, "{activity:?}");
        }
    }
    let played = asked(&sync, None, Activity::Play);
    assert!(
        of(&played, Direction::Write)
            .hop("nas.store.sync")
            .is_some()
    );
}

#[test]
fn many_files_wait_for_their_round_trips_and_for_the_drives() {
    let site = |edits: &[&str]| site_with(&chain(TEN, TEN, TEN, SIX), edits);
    let files = Files::parse("1000 x 1 MB").unwrap();
    let rate = |site: &Site| {
        let question = Question {
            work: Work {
                files: Some(files),
                ..Work::plain(Activity::Copy)
            },
            desk: None,
            working: false,
            need: None,
        };
        let catalogue = Catalogue::embedded().unwrap();
        let found = answer(site, &question, &catalogue, &mut Draws::new(512)).unwrap();
        range(of(&found, Direction::Write)).1
    };
    assert!(rate(&site(&["nas.store.sync=yes"])) < rate(&site(&[])));
}

#[test]
fn a_slow_port_that_can_pause_a_fast_one_is_named_once() {
    let site = site_with(EXAMPLE, &["switch.attic.pause=yes"]);
    let of_kind = |desk: Option<&str>| -> Vec<Warning> {
        let all = asked(&site, desk, Activity::Copy).warnings;
        all.into_iter()
            .filter(|w| w.kind == WarningKind::PausedBySlow)
            .collect()
    };
    let found = of_kind(None);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].place, "switch.attic");
    // 65535 times 512 bits at 10 Gb/s
    assert_eq!(
        found[0].message,
        "it sends pause frames: stairs any at 100 Mb/s can hold store a at 10 Gb/s back, \
         3.36 ms at a time"
    );
    assert_eq!(of_kind(Some("cut-1")), found);
    // the slowest itself is not held back
    assert!(of_kind(Some("sound")).is_empty());
    // nor does one flow alone lose anything
    let plain = site_with(EXAMPLE, &[]);
    let before = asked(&plain, Some("cut-1"), Activity::Copy);
    let after = asked(&site, Some("cut-1"), Activity::Copy);
    for (a, b) in after.flows.iter().zip(&before.flows) {
        assert!(a.rates == b.rates);
    }
}

#[test]
fn pauses_among_equal_ports_or_by_a_rare_chance_are_no_warning() {
    let equal = edited(ONE, &["switch.attic.pause=yes"]);
    let rare = site_with(EXAMPLE, &["switch.attic.pause=yes 10 %, no 90 %"]);
    for answer in [equal, copy(&rare)] {
        let any = answer
            .warnings
            .iter()
            .any(|w| w.kind == WarningKind::PausedBySlow);
        assert!(!any, "{:?}", answer.warnings);
    }
}

/// 133 MB/s before arbitration, 60 in the middle, never the 118 of the link.
#[test]
fn an_old_shared_bus_holds_a_gigabit_card_back() {
    let answer = edited(ONE, &["desk.cut-1.port.a.adapter=pci 32-bit"]);
    for flow in &answer.flows {
        let bus = flow.hop("desk.cut-1.port.a").unwrap();
        assert!((middle(bus.ceiling_megabytes_per_s) - 60.0).abs() < 0.5);
        assert_eq!(bus.note, "adapter on pci 32-bit");
    }
    let narrow = |w: &Warning| w.kind == WarningKind::NarrowSlot;
    assert!(answer.warnings.iter().any(narrow));
}

/// Where nobody said whether the share is signed, the desk's system says how likely it is; where somebody
/// did, it says nothing.
#[test]
fn a_recent_system_signs_more_often() {
    let chance = |edits: &[&str]| {
        let base = ["nas.store.signed=", "nas.store.service=smb"];
        let site = site_with(EXAMPLE, &[&base[..], edits].concat());
        let answer = asked(&site, Some("cut-1"), Activity::Copy);
        let flow = answer
            .flows
            .iter()
            .find(|f| f.direction == crate::work::Direction::Read)
            .unwrap();
        let signed = flow.branches.iter().filter(|b| b.when.contains("signed"));
        let signed = signed.filter(|b| !b.when.contains("unsigned"));
        signed.map(|b| b.probability).sum::<f64>()
    };
    let any = chance(&[]);
    let recent = chance(&["desk.cut-1.system=recent"]);
    let older = chance(&["desk.cut-1.system=older"]);
    assert!(older < any && any < recent, "{older} {any} {recent}");
    let told = chance(&["desk.cut-1.system=recent", "nas.store.signed=plain"]);
    assert!(told < 1e-9, "{told}");
}
