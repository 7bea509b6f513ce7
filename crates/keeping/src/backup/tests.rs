use super::*;
use narrows_core::catalogue::Catalogue;
use narrows_core::change::Edit;
use narrows_core::day::{self, Job};
use narrows_core::quantity::{Measure, seconds};
use narrows_core::site::{Site, read};
use narrows_core::spread::Draws;

const DRAWS: usize = 128;

fn catalogue() -> Catalogue {
    Catalogue::embedded().unwrap()
}

fn whole() -> &'static str {
    narrows_data::SITES
        .iter()
        .find(|(name, _)| *name == "granary-lane-whole")
        .map_or("", |(_, text)| text)
}

fn site(edits: &[&str]) -> Site {
    read(whole(), &Edit::parse_all(edits).unwrap(), &catalogue()).unwrap()
}

/// The site with further parts behind it.
fn with(more: &str) -> Site {
    read(&format!("{}\n{more}", whole()), &[], &catalogue()).unwrap()
}

fn ask(site: &Site) -> Backup {
    backup(
        site,
        &Question::default(),
        &catalogue(),
        &mut Draws::new(DRAWS),
    )
    .unwrap()
}

fn copy<'a>(answer: &'a Backup, name: &str) -> &'a CopyAnswer {
    answer.copies.iter().find(|c| c.copy == name).unwrap()
}

const LINE: &str = "[copy.store]\nkind = \"upload\"\nevery = \"1 d\"\nbegins = \"22:00\"\ncontract = \"40 Mb/s\"\nwindow = \"10 h\"\n";

/// A run of a copy is a row of a list of jobs: both are played to the same hour, to the bit.
#[test]
fn a_run_takes_the_hours_that_a_day_says() {
    let stated = site(&["copy.cellar.changes=400 GB", "copy.shelf.changes=1 TB"]);
    let answer = ask(&stated);
    let mut alone = stated.clone();
    alone.copies.retain(|c| c.name == "cellar");
    let by_copy = copy(&ask(&alone), "cellar").moving_s.unwrap();
    let list =
        "what;size;from;to;earliest;held to\ncopy cellar;400 GB;vault;outside;20:00;105 MB/s\n";
    let (_, found) = day::jobs(list.as_bytes(), &alone, &catalogue());
    let rows = found.unwrap().jobs;
    let mut draws = Draws::new(DRAWS);
    let ways = day::paths(&alone, &rows, &catalogue(), &mut draws).unwrap();
    let played = day::day(&rows, &ways, &mut draws).unwrap();
    let ends = played.jobs.first().and_then(|j| j.ends).unwrap();
    let start = seconds(20.0 * 3600.0);
    assert_eq!(by_copy.p50, ends.p50 - start);
    assert_eq!(by_copy.p05, ends.p05 - start);
    assert_eq!(by_copy.p95, ends.p95 - start);
    // and all runs of a day are the jobs that are handed out
    let named = jobs(&stated, &catalogue(), &mut Draws::new(DRAWS)).unwrap();
    assert_eq!(
        named
            .iter()
            .map(|(name, _)| name.as_str())
            .collect::<Vec<_>>(),
        ["cellar", "shelf"]
    );
    let all: Vec<Job> = named.into_iter().map(|(_, job)| job).collect();
    let mut draws = Draws::new(DRAWS);
    let ways = day::paths(&stated, &all, &catalogue(), &mut draws).unwrap();
    let played = day::day(&all, &ways, &mut draws).unwrap();
    for (job, name) in played.jobs.iter().zip(["cellar", "shelf"]) {
        let lasts = job.ends.unwrap().p50 - job.job.earliest;
        assert_eq!(copy(&answer, name).moving_s.unwrap().p50, lasts, "{name}");
    }
}

#[test]
fn a_run_beside_other_jobs_waits_for_them() {
    let stated = site(&["copy.cellar.changes=400 GB"]);
    let list = "what;size;from;to;earliest\ncards;3 TB;ingest;vault;19:00\nexport;4 TB;vault;cut-1;20:00\n";
    let (_, found) = day::jobs(list.as_bytes(), &stated, &catalogue());
    let busy = Question {
        beside: found.unwrap().jobs,
        need: None,
    };
    let beside = backup(&stated, &busy, &catalogue(), &mut Draws::new(DRAWS)).unwrap();
    let (quiet, beside) = (
        copy(&ask(&stated), "cellar").moving_s.unwrap(),
        copy(&beside, "cellar").moving_s.unwrap(),
    );
    assert!(beside.p50 >= quiet.p50, "{beside:?} {quiet:?}");
}

#[test]
fn one_more_copy_never_raises_a_loss() {
    let full = site(&[]);
    let all = ask(&full).losses;
    assert!(all.hours_a_year.likely <= all.bare_hours_a_year.likely);
    for taken in &all.taken {
        assert!(taken.takes_off_hours_a_year >= 0.0, "{taken:?}");
        let mut fewer = full.clone();
        fewer.copies.retain(|c| c.name != taken.copy);
        let less = ask(&fewer).losses;
        assert!(
            less.hours_a_year.likely >= all.hours_a_year.likely - 1e-9,
            "{}",
            taken.copy
        );
    }
    for worth in &all.next {
        assert!(
            worth.hours_a_year <= all.hours_a_year.likely + 1e-9,
            "{worth:?}"
        );
    }
    assert!(all.hours_a_year.low < all.hours_a_year.likely);
    assert!(all.hours_a_year.likely < all.hours_a_year.high);
    assert!(all.gone_in_five_years_probability >= all.floor_probability);
}

#[test]
fn a_tried_copy_is_worth_more() {
    let hours = |tried: &str| {
        ask(&site(&[&format!("copy.shelf.tried={tried}")]))
            .losses
            .hours_a_year
            .likely
    };
    assert!(hours("monthly") < hours("yearly"));
    assert!(hours("yearly") < hours("never"));
    let back = |tried: &str| {
        let answer = ask(&site(&[&format!("copy.shelf.tried={tried}")]));
        copy(&answer, "shelf").restore.project.takes_s.p95
    };
    assert!(back("monthly") < back("never"));
}

#[test]
fn a_slow_line_does_not_keep_up_and_a_faster_one_never_takes_longer() {
    let upload = |rate: &str| ask(&with(&LINE.replace("40 Mb/s", rate)));
    let (slow, fast) = (upload("10 Mb/s"), upload("1 Gb/s"));
    let (slow, fast) = (copy(&slow, "store"), copy(&fast, "store"));
    assert!(slow.keeps_up_probability < 0.5 && fast.keeps_up_probability > 0.9);
    assert!(slow.first_copy_days.is_none(), "{:?}", slow.first_copy_days);
    assert!(fast.first_copy_days.unwrap() > 1.0);
    assert!(fast.run_s.unwrap().p50 < slow.run_s.unwrap().p50);
    let back = |c: &CopyAnswer| c.restore.everything.as_ref().unwrap().takes_s.p50;
    assert!(back(fast) < back(slow));
    assert!(
        slow.backlog.as_ref().unwrap().largest_bytes > fast.backlog.as_ref().unwrap().largest_bytes
    );
}

#[test]
fn drives_that_are_back_sooner_are_told_beside_a_slow_line() {
    let away = |rate: &str| ask(&with(&LINE.replace("40 Mb/s", rate))).tonight;
    let slow = away("40 Mb/s");
    assert_eq!(slow.copy.as_deref(), Some("store"));
    let sooner = slow.sooner.unwrap();
    assert_eq!(sooner.copy, "shelf");
    assert!(sooner.back_s.p50 * 2.0 < slow.back_s.unwrap().p50);
    assert!(sooner.lost_s.p50 > slow.lost_s.unwrap().p50);
    // over a fast line the newest copy is back as soon
    assert!(away("10 Gb/s").sooner.is_none());
    // and where there is but one, there is none beside it
    assert!(ask(&site(&[])).tonight.sooner.is_none());
}

#[test]
fn the_room_takes_what_is_in_it() {
    let answer = ask(&site(&[]));
    assert_eq!(answer.tonight.copy.as_deref(), Some("shelf"));
    let mut bare = site(&[]);
    bare.copies.retain(|c| c.name != "shelf");
    let answer = ask(&bare);
    assert_eq!(answer.tonight.copy, None);
    assert!(answer.tonight.back_s.is_none());
    let snapshots = copy(&answer, "hourly");
    assert!(snapshots.restore.everything.is_none() && snapshots.run_s.is_none());
}

#[test]
fn restoring_takes_at_least_its_bytes_and_age_at_least_its_run() {
    for copy in &ask(&site(&[])).copies {
        if let Some(run) = copy.run_s {
            assert!(copy.mean_age_s >= run.p50, "{}", copy.copy);
            assert!(copy.age_s.p05 >= run.p05);
        }
        if let Some(all) = &copy.restore.everything {
            assert!(all.takes_s.p05 >= all.moving_s.p05);
            assert!(all.takes_s.p50 > copy.restore.project.takes_s.p50);
        }
    }
}

#[test]
fn an_age_that_is_asked_for_is_met_by_copies_away() {
    let met = |days: f64, edits: &[&str]| {
        let asked = Question {
            beside: Vec::new(),
            need: Some(seconds(days * 86_400.0)),
        };
        let found = backup(&site(edits), &asked, &catalogue(), &mut Draws::new(DRAWS));
        found.unwrap().met_probability.unwrap()
    };
    assert!(met(1.0, &[]) < met(6.0, &[]));
    assert!(met(3.0, &["copy.shelf.every=1 d"]) > met(3.0, &[]));
}

#[test]
fn a_change_of_layout_lists_its_hours() {
    let before = site(&[]);
    let after = site(&[
        "array.vault.layout=raidz2",
        "array.vault.drives=6 x 14 TB hdd-7200",
    ]);
    let found = change(&before, &after, &catalogue(), &mut Draws::new(DRAWS)).unwrap();
    assert_eq!(found.holder, "cellar");
    assert_eq!(found.others, ["shelf"]);
    assert!(found.fits_probability > 0.99);
    assert_eq!(found.steps.len(), 5);
    let sum: f64 = found.steps.iter().map(|s| s.takes_s.p50.base()).sum();
    let all = found.takes_s.p50.base();
    assert!(all > 0.6 * sum && all < 1.6 * sum, "{all} {sum}");
    let small = site(&[
        "array.vault.layout=raid10",
        "array.vault.drives=4 x 2 TB hdd-7200",
    ]);
    let tight = change(&before, &small, &catalogue(), &mut Draws::new(DRAWS)).unwrap();
    assert!(tight.fits_probability < 0.05);
    let mut bare = before.clone();
    bare.copies.retain(|c| c.name == "hourly");
    let fault = change(&bare, &after, &catalogue(), &mut Draws::new(DRAWS)).unwrap_err();
    assert!(fault.help().contains("[copy.cellar]"), "{fault}");
}

#[test]
fn a_site_without_copies_or_without_a_project_says_what_to_write() {
    let mut bare = site(&[]);
    bare.copies.clear();
    let question = Question::default();
    let fault = backup(&bare, &question, &catalogue(), &mut Draws::new(8)).unwrap_err();
    assert!(fault.help().contains("[copy.shelf]"), "{fault}");
    let mut idle = site(&[]);
    idle.project = None;
    let fault = backup(&idle, &question, &catalogue(), &mut Draws::new(8)).unwrap_err();
    assert!(fault.help().contains("[project]"), "{fault}");
}
