//! Tasks of a site: what they hold, and a file of their own.

use super::{LANE, catalogue, changed, read};
use crate::change::Edit;
use crate::quantity::units::data_rate::megabit_per_second;
use crate::quantity::{in_megabytes_per_second, seconds, terabytes};
use crate::site::schema::Section;
use crate::site::{FaultSource, Faults, Site, read_bytes_with_tasks};
use crate::work::{Direction, Does, Task};
use approx::assert_relative_eq;
use std::fmt::Write;

const AFTERNOON: &str = narrows_data::TASKS[0].1;

fn with(tasks: &str) -> Result<Site, Faults> {
    read_bytes_with_tasks(LANE.as_bytes(), Some(tasks.as_bytes()), &[], &catalogue())
}

fn task(text: &str) -> Task {
    let site = with(&format!("[[task]]\ndesk = \"cut-1\"\n{text}"));
    site.unwrap_or_else(|f| panic!("{text}: {f}"))
        .tasks
        .remove(0)
}

fn megabits(task: &Task) -> f64 {
    let demand = task.demand.as_ref().unwrap();
    demand.value.median().get::<megabit_per_second>()
}

#[test]
fn a_codec_gives_the_demand_and_layers_multiply_it() {
    let uhd = "codec = \"ProRes 422 HQ\"\nraster = \"UHD\"\nframes = \"23.976 fps\"\n";
    let one = task(&format!("does = \"play\"\n{uhd}"));
    assert_relative_eq!(megabits(&one), 707.0, max_relative = 1e-12);
    assert_eq!((one.does, one.layers, one.weight), (Does::Play, 1, 1));
    assert_eq!(
        (one.array.as_str(), one.direction),
        ("vault", Direction::Read)
    );
    let four = task(&format!("does = \"multicam\"\nangles = 4\n{uhd}"));
    assert_relative_eq!(megabits(&four), 2828.0, max_relative = 1e-12);
    assert_eq!(
        four.material_text().unwrap(),
        "4 x ProRes 422 HQ, 3840x2160, 23.976 fps"
    );
    // moving through it by hand asks for twice the rate
    let scrub = task(&format!("does = \"scrub\"\n{uhd}"));
    assert_relative_eq!(megabits(&scrub), 1414.0, max_relative = 1e-12);
    let stated = task("does = \"play\"\ndemand = \"100..120 Mb/s\"\nlayers = 2");
    let (low, _, high) = stated.demand.unwrap().value.law().knots();
    assert_relative_eq!(low * 8e-6, 200.0, max_relative = 1e-12);
    assert_relative_eq!(high * 8e-6, 240.0, max_relative = 1e-12);
}

#[test]
fn what_has_no_deadline_takes_what_is_left_or_is_held() {
    let copy = task("does = \"copy\"\ndirection = \"write\"\nheld-to = \"60 MB/s\"\nweight = 3");
    assert!(copy.demand.is_none() && !copy.does.has_deadline());
    let held = copy.held_to.unwrap().value.median();
    assert_relative_eq!(in_megabytes_per_second(held), 60.0, max_relative = 1e-12);
    assert_eq!((copy.direction, copy.weight), (Direction::Write, 3));
    let ingest = task("does = \"ingest\"\ncard = \"sd-uhs-ii\"\nper-day = \"0.3 TB\"");
    assert_eq!(ingest.direction, Direction::Write);
    let bus = in_megabytes_per_second(ingest.card.unwrap().value.median());
    assert_relative_eq!(bus, 312.0, max_relative = 1e-12);
    assert_eq!(ingest.per_day.unwrap().value.median(), terabytes(0.3));
    let export = task(
        "does = \"export\"\ncodec = \"DNxHR HQX\"\nraster = \"UHD\"\nframes = \"25 fps\"\n\
         into = \"DNxHR LB\"\nspeed = \"0.3..4 x\"\nactive = \"40 %\"\nspell = \"20 s\"",
    );
    let how = export.export.unwrap();
    let (low, _, high) = how.speed.unwrap().value.law().knots();
    assert_relative_eq!(low, 0.3, max_relative = 1e-12);
    assert_relative_eq!(high, 4.0, max_relative = 1e-12);
    let into = how.into.unwrap().rate.value.median();
    assert_relative_eq!(
        into.get::<megabit_per_second>(),
        149.914,
        max_relative = 5e-6
    );
    assert_eq!(export.spell.unwrap().value.median(), seconds(20.0));
    assert!(task("does = \"export\"\nweight = 2").export.is_some());
    for speed in ["2", "2.0", "\"2 x\""] {
        let text = format!(
            "does = \"export\"\ncodec = \"v210\"\nraster = \"HD\"\nframes = \"25 fps\"\nspeed = {speed}"
        );
        let how = task(&text).export.unwrap();
        assert_relative_eq!(how.speed.unwrap().value.median(), 2.0);
    }
}

#[test]
fn a_file_of_tasks_stands_in_place_of_those_of_the_site() {
    let own = format!("{LANE}\n[[task]]\ndesk = \"sound\"\ndoes = \"copy\"\n");
    let site = read(&own, &[], &catalogue()).unwrap();
    assert_eq!(site.tasks.len(), 1);
    let other = "[[task]]\ndesk = \"colour\"\ndoes = \"upload\"\n";
    let site = read_bytes_with_tasks(
        own.as_bytes(),
        Some(other.as_bytes()),
        &Edit::parse_all(&["task.1.held-to=20 MB/s"]).unwrap(),
        &catalogue(),
    );
    let site = site.unwrap();
    assert_eq!(site.tasks.len(), 1);
    assert_eq!(site.tasks[0].label(), "colour upload");
    assert!(site.tasks[0].held_to.is_some());
    let afternoon = with(AFTERNOON).unwrap();
    assert_eq!(afternoon.tasks.len(), 7);
    // nothing else of the site moves
    let plain = read(LANE, &[], &catalogue()).unwrap();
    assert_eq!(afternoon.runs, plain.runs);
    assert_eq!(afternoon.assumptions, plain.assumptions);
}

#[test]
fn faults_of_a_file_of_tasks_are_found_in_it() {
    for (text, title, at) in [
        ("", "the file of tasks holds none", ""),
        (
            "[desk.cut-3]\nport.a = { rate = \"1 Gb/s\" }\n",
            "a file of tasks holds tasks only",
            "desk",
        ),
        (
            "[[task]]\ndesk = \"cut-9\"\ndoes = \"copy\"\n",
            "task.1.desk names no desk of this site",
            "cut-9",
        ),
        (
            "[[task]]\ndesk = cut-1\ndoes = \"copy\"\n",
            "a value is not in quotes",
            "cut-1",
        ),
        (
            "[[task]]\ndesk = \"cut-1\"\ndesk = \"cut-2\"\ndoes = \"copy\"\n",
            "'desk' is defined twice",
            "desk",
        ),
    ] {
        let faults = with(text).unwrap_err();
        let first = faults.iter().next().unwrap();
        assert_eq!(first.title, title, "{text}");
        assert_eq!(first.source, FaultSource::Tasks, "{text}");
        assert_eq!(text.get(first.span.clone()), Some(at), "{text}");
    }
    let bytes = with("[[task]]\0").unwrap_err();
    assert_eq!(bytes.iter().next().unwrap().source, FaultSource::Tasks);
    let not_text = read_bytes_with_tasks(LANE.as_bytes(), Some(&[0xff]), &[], &catalogue());
    assert_eq!(
        not_text.unwrap_err().iter().next().unwrap().source,
        FaultSource::Tasks
    );
}

/// Pieces of what people write into tasks, rightly and wrongly.
const PIECES: [&str; 24] = [
    "cut-1",
    "play",
    "export",
    "ingest",
    "multicam",
    "880 Mb/s",
    "ProRes 422 HQ",
    "UHD",
    "25 fps",
    "3840x2160",
    "x",
    "0",
    "-1",
    "1e999",
    "unknown",
    "%",
    "40 %",
    "..",
    "é",
    "\u{202e}",
    "2 x",
    "24000/1001 fps",
    "sd-uhs-ii",
    " ",
];

proptest::proptest! {
    #[test]
    fn property_no_value_of_a_task_panics(
        keys in proptest::collection::vec(0usize..20, 1..6),
        pieces in proptest::collection::vec(proptest::collection::vec(0usize..24, 1..3), 6),
    ) {
        let fields: Vec<&str> = Section::Task.fields().map(|f| f.key).collect();
        let mut text = "[[task]]\n".to_owned();
        for (key, pieces) in keys.iter().zip(&pieces) {
            let value: String = pieces.iter().map(|&p| PIECES[p]).collect();
            let _ = writeln!(text, "{} = \"{value}\"", fields[key % fields.len()]);
        }
        if let Err(faults) = with(&text) {
            for fault in &faults {
                let of_tasks = fault.source == FaultSource::Tasks;
                let whole = text.get(fault.span.clone()).is_some();
                proptest::prop_assert!(!of_tasks || whole, "{} {}", text, fault);
            }
        }
    }
}

#[test]
fn edits_add_and_change_tasks_by_number() {
    let site = changed(&[
        "task.1={ desk = \"cut-1\", does = \"play\", demand = \"100 MB/s\" }",
        "task.1.layers=2",
    ]);
    assert_relative_eq!(
        megabits(&site.unwrap().tasks[0]),
        1600.0,
        max_relative = 1e-12
    );
    let faults = changed(&["task.3.weight=2"]).unwrap_err();
    let fault = faults.iter().next().unwrap();
    assert_eq!(fault.title, "this edit names a task that is not there");
    assert_eq!(fault.found, "there is no task");
    assert!(fault.help.contains("task.1={ desk = ..., does = ... }"));
}

#[test]
fn every_example_of_a_field_is_legal_in_a_task_that_may_have_it() {
    let media = "codec = \"ProRes 422 HQ\"\nraster = \"UHD\"\nframes = \"25 fps\"\n";
    for field in Section::Task.fields() {
        let mut text = match field.key {
            "desk" | "does" => continue,
            "demand" | "layers" | "codec" | "raster" | "frames" => "does = \"play\"\n".to_owned(),
            "angles" => "does = \"multicam\"\n".to_owned(),
            "into" | "speed" => format!("does = \"export\"\n{media}"),
            "card" => "does = \"ingest\"\n".to_owned(),
            _ => "does = \"copy\"\n".to_owned(),
        };
        if ["codec", "raster", "frames"].contains(&field.key) {
            text.push_str(media);
        } else {
            let _ = writeln!(text, "{} = {}", field.key, field.example);
        }
        if ["layers", "angles"].contains(&field.key) {
            text.push_str("demand = \"880 Mb/s\"\n");
        }
        task(&text);
        if let Some(line) = media.lines().find(|l| l.starts_with(field.key)) {
            assert_eq!(line, format!("{} = {}", field.key, field.example));
        }
    }
}
