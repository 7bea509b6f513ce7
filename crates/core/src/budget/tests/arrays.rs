//! Arrays in a budget: full, failed, rebuilding, scrubbing, from memory, and long copies to them.

use super::*;

#[test]
fn six_spinning_drives_behind_ten_gigabit_are_held_back_by_array_or_nas() {
    let site = site_with(&chain(TEN, TEN, TEN, SIX), &[KERNEL]);
    for flow in copy(&site).flows {
        let blamed: f64 = flow
            .limits
            .iter()
            .filter(|l| {
                l.hops
                    .iter()
                    .all(|h| h.starts_with("array.") || h.starts_with("nas."))
            })
            .map(|l| l.share)
            .sum();
        assert!(blamed > 0.85, "{:?}", flow.limits);
        assert!(flow.limits[0].hops == ["array.vault"]);
    }
}

#[test]
fn a_long_copy_drops_where_a_cache_fills() {
    let catalogue = Catalogue::embedded().unwrap();
    let text = chain(TEN, TEN, TEN, SIX);
    let site = site_with(
        &text,
        &["nas.store.memory=32 GB", "array.vault.local-write=200 MB/s"],
    );
    let question = Question {
        work: Work {
            activity: Activity::Copy,
            files: None,
            random: None,
            size: Some(crate::quantity::terabytes(0.2)),
        },
        desk: None,
        working: false,
        need: None,
    };
    let answer = answer(&site, &question, &catalogue, &mut Draws::new(512)).unwrap();
    let write = answer
        .flows
        .iter()
        .find(|f| f.direction == Direction::Write)
        .unwrap();
    let t = write.transfer.as_ref().unwrap();
    assert!(t.first_megabytes_per_s.p50 > t.later_megabytes_per_s.p50 * ratio(2.0));
    assert!(t.drops_probability > 0.99 && t.because.as_ref().unwrap().contains("memory"));
    assert!(t.data_safe_s.p50 > t.dialog_closes_s.p50);
    // 200 GB at 200 MB/s times what a real copy reaches
    let safe = t.data_safe_s.p50.value;
    assert!((1000.0..1450.0).contains(&safe), "{safe}");
}

#[test]
fn weights_of_tags_and_rebuilding_count() {
    let text = chain(ONE, ONE, ONE, "6 x 4 TB ssd-sata");
    let middle = |activity, hop: &str, edit: &str| {
        let flow = asked(&site_with(&text, &[edit]), None, activity)
            .flows
            .remove(0);
        let range = flow.hop(hop).unwrap().ceiling_megabytes_per_s;
        [range.p05, range.p95].map(in_megabytes_per_second)
    };
    // certain, then even odds: the upper end stays that of the better, the lower that of the worse
    for (activity, hop, field) in [
        (Activity::Play, "run.2", "network.tagged"),
        (
            Activity::AtTheArray,
            "array.vault",
            "array.vault.rebuilding",
        ),
        (Activity::AtTheArray, "array.vault", "array.vault.scrubbing"),
    ] {
        let of = |word: &str| middle(activity, hop, &format!("{field}={word}"));
        let (no, yes, perhaps) = (of("no"), of("yes"), of("yes 50 %, no 50 %"));
        assert!(yes[1] < no[1], "{field}: {yes:?} {no:?}");
        assert!(
            perhaps[0] < no[0] && perhaps[1] > yes[1],
            "{field}: {perhaps:?}"
        );
    }
}

#[test]
fn a_shingled_drive_falls_off_a_cliff_where_it_holds_data() {
    let ask = |fill: &str, class: &str, size: f64| {
        let text = chain(TEN, TEN, TEN, &format!("4 x 8 TB {class}"));
        let edits = [
            "array.vault.layout=raid0".to_owned(),
            format!("array.vault.fill={fill}"),
        ];
        let edits: Vec<&str> = edits.iter().map(String::as_str).collect();
        let catalogue = Catalogue::embedded().unwrap();
        let mut work = Work::plain(Activity::AtTheArray);
        work.size = Some(crate::quantity::terabytes(size));
        let question = Question {
            work,
            desk: None,
            working: false,
            need: None,
        };
        let site = site_with(&text, &edits);
        let found = answer(&site, &question, &catalogue, &mut Draws::new(2048)).unwrap();
        let write = found.flows.into_iter().next_back().unwrap();
        assert_eq!(write.direction, crate::work::Direction::Write);
        write.transfer.unwrap()
    };
    let middle = |range: crate::budget::RateRange| in_megabytes_per_second(range.p50);
    // four drives keep 100 GB or so aside; most of a full drive is put together anew, at 30 MB/s each
    let full = ask("80 %", "hdd-smr", 4.0);
    // in four of five cases, less those in which something else is as slow
    assert!(
        full.drops_probability > 0.7 && full.drops_probability < 0.82,
        "{full:?}"
    );
    // in place, where four drives give less than their class says, and still three times as much
    assert!(middle(full.later_megabytes_per_s) < 4.0 * 40.0, "{full:?}");
    assert!(middle(full.first_megabytes_per_s) > 4.0 * 80.0, "{full:?}");
    // an empty one is written as any other
    let empty = ask("0 %", "hdd-smr", 4.0);
    assert!(empty.drops_probability <= 0.0, "{empty:?}");
    let plain = ask("80 %", "hdd-5400", 4.0);
    assert!(plain.drops_probability <= 0.0, "{plain:?}");
    // what fits aside drops nowhere
    let small = ask("80 %", "hdd-smr", 0.01);
    assert!(small.drops_probability < 0.01, "{small:?}");
}

#[test]
fn a_loop_that_fits_is_read_from_memory_and_a_larger_one_is_not() {
    let text = chain(TEN, TEN, TEN, SIX);
    let read = |edits: &[&str]| {
        let site = site_with(&text, edits);
        let flow = asked(&site, None, Activity::Play).flows.remove(0);
        in_megabytes_per_second(flow.hop("array.vault").unwrap().ceiling_megabytes_per_s.p50)
    };
    let drives = read(&[]);
    let memory = "nas.store.memory=32 GB";
    let fits = read(&[memory, "array.vault.working-set=10 GB"]);
    let cliff = read(&[memory, "array.vault.working-set=30 GB"]);
    assert!(
        fits > 4.0 * drives && (cliff / drives - 1.0).abs() < 1e-9,
        "{drives} {fits} {cliff}"
    );
    let half = read(&["array.vault.hits=50 %"]);
    assert!(
        half > 1.5 * drives && half < 2.0 * drives,
        "{drives} {half}"
    );
}

#[test]
fn failed_drives_and_rebuilding_cost_reads_and_are_warned_of() {
    let text = chain(TEN, TEN, TEN, "6 x 4 TB ssd-sata");
    let ask = |edits: &[&str]| asked(&site_with(&text, edits), None, Activity::AtTheArray);
    let ceiling = |answer: &Answer| {
        in_megabytes_per_second(
            answer.flows[0]
                .hop("array.vault")
                .unwrap()
                .ceiling_megabytes_per_s
                .p50,
        )
    };
    let (healthy, failed) = (ask(&[]), ask(&["array.vault.failed=2"]));
    let rebuilding = ask(&["array.vault.failed=2", "array.vault.rebuilding=yes"]);
    assert!(ceiling(&healthy) > ceiling(&failed) && ceiling(&failed) > ceiling(&rebuilding));
    let scrubbing = ask(&["array.vault.scrubbing=yes"]);
    assert!(ceiling(&healthy) > ceiling(&scrubbing));
    let note = &scrubbing.flows[0].hop("array.vault").unwrap().note;
    assert!(note.ends_with(", scrubbing"), "{note}");
    // both at once leave less than either
    let both = ask(&[
        "array.vault.failed=2",
        "array.vault.rebuilding=yes",
        "array.vault.scrubbing=yes",
    ]);
    assert!(ceiling(&both) < ceiling(&rebuilding));
    assert!(
        failed
            .warnings
            .iter()
            .any(|w| w.kind == WarningKind::Degraded)
    );
    assert!(
        healthy
            .warnings
            .iter()
            .all(|w| w.kind != WarningKind::Degraded)
    );
}

/// Parity of a file system costs drives as that of the driver does, is summed as copies are, and is warned of.
#[test]
fn verify_parity_of_a_file_system_is_warned_of() {
    let text = chain(TEN, TEN, TEN, SIX);
    let said = |layout: &str| {
        let layout = format!("array.vault.layout={layout}");
        let edits = [
            layout.as_str(),
            "array.vault.fill=0 %",
            "nas.store.cpu=large",
        ];
        asked(&site_with(&text, &edits), None, Activity::AtTheArray)
    };
    let (own, driver) = (said("two-parity"), said("raid6"));
    let warned = |answer: &Answer| {
        let mut kinds = answer.warnings.iter();
        kinds.any(|warning| warning.kind == WarningKind::WriteHole)
    };
    assert!(warned(&own) && !warned(&driver));
    let drives = |answer: &Answer| {
        answer.flows[0]
            .hop("array.vault")
            .unwrap()
            .ceiling_megabytes_per_s
            .p50
    };
    assert_eq!(drives(&own), drives(&driver));
    // no thread of the kernel's driver, but sums also of what is read
    let work = |answer: &Answer, flow: usize| {
        let hop = answer.flows[flow].hop("nas.store.array-work");
        hop.map(|hop| hop.note.clone())
    };
    let sums = Some("one core: checksums".to_owned());
    assert_eq!([work(&own, 0), work(&own, 1)], [sums.clone(), sums]);
    assert_eq!(work(&driver, 0), None);
}

/// Writing a pool meets its checksums and what its groups of writes leave of the drives, and neither the stripe
/// thread of the kernel's driver nor the share of stripes that the driver leaves in pieces: of the 871 MB/s that
/// four of six drives give it was 457 before, held back by work on the array.
#[test]
fn verify_a_pool_is_charged_once_for_writing() {
    let text = chain(TEN, TEN, TEN, SIX);
    let write = |layout: &str| {
        let layout = format!("array.vault.layout={layout}");
        let edits = [
            layout.as_str(),
            "array.vault.fill=0 %",
            "array.vault.drive-rate=220 MB/s",
            "nas.store.cpu=large",
        ];
        let answer = asked(&site_with(&text, &edits), None, Activity::AtTheArray);
        let write = answer.flows.into_iter().next_back().unwrap();
        assert_eq!(write.direction, Direction::Write);
        write
    };
    let pool = write("raidz2");
    assert_eq!(pool.limits[0].hops, ["array.vault"]);
    let middle = |flow: &Flow| in_megabytes_per_second(flow.megabytes_per_s.p50);
    // four drives' worth; the slowest of six, a file system and groups of writes take a third at most
    let drives = 4.0 * 220.0;
    assert!(
        (0.65..1.0).contains(&(middle(&pool) / drives)),
        "{}",
        middle(&pool)
    );
}

/// A pool takes a burst of at most 4 GiB before its writers wait, whatever memory there is; 8 GB with
/// a tenth of 80.
#[test]
fn validate_a_pool_takes_a_burst_of_four_gibibytes_at_most() {
    let text = chain(TEN, TEN, TEN, SIX);
    let fast = |layout: &str, memory: &str| {
        let edits = [
            format!("array.vault.layout={layout}"),
            format!("nas.store.memory={memory}"),
        ];
        let site = site_with(&text, &[edits[0].as_str(), edits[1].as_str()]);
        let catalogue = Catalogue::embedded().unwrap();
        let cabling = Cabling::new(&catalogue).unwrap();
        let mut draws = Draws::new(512);
        let question = Question {
            work: Work::plain(Activity::Copy),
            desk: None,
            working: false,
            need: None,
        };
        let mut context = Context::new(
            &site,
            (&catalogue, &cabling),
            &mut draws,
            &question,
            Direction::Write,
        );
        let pooled = site.arrays[0].level.is_pooled();
        let cache = context.write_cache(&site.nas[0], pooled).unwrap();
        cache
            .median()
            .get::<crate::quantity::units::information::byte>()
    };
    let limit = 4.0 * 1_073_741_824.0;
    assert!((fast("raidz2", "16 GB") / 1.6e9 - 1.0).abs() < 1e-6);
    assert!((fast("raidz2", "80 GB") / limit - 1.0).abs() < 1e-6);
    assert!(fast("raid6", "80 GB") > limit);
}
