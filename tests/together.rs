//! Everybody at once, on the command line.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

use narrows_tests::{Ran, Scratch, narrows};
use serde_json::Value;

const EXAMPLE: &str = "data/sites/granary-lane.toml";
const TASKS: &str = "data/tasks/granary-lane.toml";

fn together(arguments: &[&str]) -> Ran {
    let all: Vec<&str> = std::iter::once("together")
        .chain(arguments.iter().copied())
        .collect();
    narrows(&all)
}

fn afternoon(arguments: &[&str]) -> Ran {
    together(&[&[EXAMPLE, "--tasks", TASKS], arguments].concat())
}

fn task<'a>(answer: &'a Value, desk: &str, does: &str) -> &'a Value {
    let tasks = answer["tasks"].as_array().unwrap();
    let found = tasks
        .iter()
        .find(|t| t["desk"] == desk && t["does"] == does);
    found.unwrap()
}

fn middle(rate: &Value) -> f64 {
    rate["p50"].as_f64().unwrap()
}

#[test]
fn the_first_line_says_who_drops_frames_and_what_is_full() {
    let ran = afternoon(&[]);
    assert_eq!(
        ran.code, 1,
        "colour does not get its picture over 1 Gb/s beside a backup"
    );
    let first = ran.out.split("\n\n").next().unwrap();
    let first = first.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(first.contains("colour play drop frames, in"), "{first}");
    assert!(first.contains("3 tasks take what is left"), "{first}");
    assert!(
        first.contains("Why: nothing is left of the drives of vault"),
        "{first}"
    );
    assert!(ran.out.contains("An array is not a backup"));
    for line in ran.out.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
    // the numbers of the sentence are those of the answer
    let answer = &afternoon(&["--format", "json"]).json()["answer"];
    let colour = task(answer, "colour", "play");
    let share = colour["short_probability"].as_f64().unwrap();
    assert!(share >= 0.5);
    assert!(
        first.contains(&format!("and {:.0} of 100 cases", share * 100.0)),
        "{first}"
    );
}

#[test]
fn tasks_that_fit_end_well() {
    let tasks = Scratch::new(
        "fits.toml",
        "[[task]]\ndesk = \"cut-1\"\ndoes = \"play\"\ndemand = \"200 Mb/s\"\n\
         [[task]]\ndesk = \"colour\"\ndoes = \"play\"\ndemand = \"200 Mb/s\"\n\
         [[task]]\ndesk = \"sound\"\ndoes = \"backup\"\nheld-to = \"5 MB/s\"\n",
    );
    let ran = together(&[EXAMPLE, "--tasks", tasks.path()]);
    assert_eq!(ran.code, 0, "{}{}", ran.out, ran.err);
    assert!(
        ran.out
            .starts_with("All 2 that play in time get what they need; sound backup is left 5.00"),
        "{}",
        ran.out
    );
    // a need is met by nobody who asks for less
    let need = together(&[EXAMPLE, "--tasks", tasks.path(), "--need", "10 MB/s"]);
    assert_eq!(need.code, 1);
    assert!(
        need.out
            .starts_with("Not the 10.0 MB/s that are needed, for sound"),
        "{}",
        need.out
    );
    assert!(need.out.contains("sound backup (0)"), "{}", need.out);
}

#[test]
fn one_task_alone_is_its_budget() {
    let tasks = Scratch::new("one.toml", "[[task]]\ndesk = \"cut-1\"\ndoes = \"copy\"\n");
    let ran = together(&[EXAMPLE, "--tasks", tasks.path(), "--format", "json"]);
    let one = ran.json();
    let budget = narrows(&["budget", EXAMPLE, "--desk", "cut-1", "--format", "json"]).json();
    let flows = budget["answer"]["flows"].as_array().unwrap();
    let read = flows.iter().find(|f| f["direction"] == "read").unwrap();
    let share = &one["answer"]["tasks"][0];
    assert_eq!(share["megabytes_per_s"], read["megabytes_per_s"]);
    assert_eq!(share["alone_megabytes_per_s"], read["megabytes_per_s"]);
    assert_eq!(one["warnings"].as_array().unwrap().len(), 1);
}

#[test]
fn without_tasks_every_desk_is_at_work_and_it_is_said() {
    let ran = together(&[EXAMPLE]);
    assert_eq!(ran.code, 0);
    assert!(
        ran.out.contains("Next: say what the desks do"),
        "{}",
        ran.out
    );
    assert!(
        ran.out.starts_with("With all 5 desks at once"),
        "{}",
        ran.out
    );
    let play = together(&[
        EXAMPLE,
        "--work",
        "play",
        "--direction",
        "write",
        "--format",
        "json",
    ])
    .json();
    assert_eq!(play["answer"]["from_tasks"], false);
    for task in play["answer"]["tasks"].as_array().unwrap() {
        assert_eq!(
            (&task["does"], &task["direction"]),
            (&"play".into(), &"write".into())
        );
        // nobody gets more than alone
        let got = middle(&task["megabytes_per_s"]);
        assert!(got <= middle(&task["alone_megabytes_per_s"]) * 1.000001);
    }
}

#[test]
fn every_form_has_the_same_numbers() {
    let answer = &afternoon(&["--format", "json"]).json()["answer"];
    let csv = afternoon(&["--format", "csv"]);
    let markdown = afternoon(&["--format", "markdown"]).out;
    let rows = csv.rows();
    let tasks = answer["tasks"].as_array().unwrap();
    assert_eq!(rows.len(), tasks.len());
    for (row, task) in rows.iter().zip(tasks) {
        let got: f64 = row["gets MB/s"].parse().unwrap();
        let expected = middle(&task["megabytes_per_s"]);
        // three digits
        assert!((got - expected).abs() <= 0.0051 * expected, "{row:?}");
        assert_eq!(row["direction"], task["direction"].as_str().unwrap());
        assert!(markdown.contains(&row["task"]));
    }
    let hops = answer["shared_hops"].as_array().unwrap();
    let busy: Vec<f64> = hops.iter().map(|h| middle(&h["busy"])).collect();
    assert!(busy.windows(2).all(|pair| pair[0] >= pair[1]), "{busy:?}");
    assert!(busy.iter().all(|b| *b <= 1.0));
}

#[test]
fn a_change_is_compared_with_what_was_before() {
    let ran = afternoon(&["--set", "task.7.held-to=20 MB/s"]);
    assert!(ran.out.starts_with("With the change: "), "{}", ran.out);
    assert!(ran.out.contains("before"), "{}", ran.out);
    let both = afternoon(&["--set", "task.7.held-to=20 MB/s", "--format", "json"]).json();
    let (before, after) = (&both["answer"]["before"], &both["answer"]["after"]);
    let got = |answer: &Value| middle(&task(answer, "colour", "play")["megabytes_per_s"]);
    assert!(got(after) > got(before), "less backup leaves colour more");
}

#[test]
fn faults_of_tasks_are_drawn_where_they_are() {
    let tasks = Scratch::new(
        "broken.toml",
        "[[task]]\ndesk = \"cut-3\"\ndoes = \"play\"\ndemand = \"100 MB/s\"\n\
         [[task]]\ndesk = \"cut-1\"\ndoes = \"play\"\ncodec = \"ProRes 422 QH\"\nraster = \"UHD\"\nframes = \"25 fps\"\n",
    );
    let ran = together(&[EXAMPLE, "--tasks", tasks.path()]);
    assert_eq!(ran.code, 2);
    assert!(ran.out.is_empty());
    assert!(
        ran.err.contains(&format!("{}:2:9", tasks.path())),
        "{}",
        ran.err
    );
    assert!(
        ran.err.contains("task.1.desk names no desk of this site"),
        "{}",
        ran.err
    );
    assert!(
        ran.err.contains("did you mean 'ProRes 422 HQ'?"),
        "{}",
        ran.err
    );
    let none = together(&[EXAMPLE, "--tasks", "data/tasks/nowhere.toml"]);
    assert_eq!(none.code, 2);
    assert!(none.err.contains("there is no such file"), "{}", none.err);
    let need = afternoon(&["--need", "50"]);
    assert_eq!(need.code, 2);
    assert!(need.err.contains("the need cannot be read"), "{}", need.err);
}

#[test]
fn facts_list_codecs_with_rules_and_rates_in_print() {
    let ran = narrows(&["facts", "codecs"]);
    assert_eq!(ran.code, 0);
    assert!(
        ran.out
            .contains("codecs ProRes 422 HQ: 3.5555555555555554 bits a pixel"),
        "{}",
        ran.out
    );
    assert!(
        ran.out
            .contains("codec.prores-422-hq.3840x2160.25: 737 Mb/s"),
        "{}",
        ran.out
    );
    assert!(
        narrows(&["facts", "task"])
            .out
            .contains("field task.NUMBER.held-to")
    );
}

#[test]
fn faults_are_counted_in_the_file_where_they_are() {
    let none = Scratch::new("none.toml", "");
    let ran = together(&[EXAMPLE, "--tasks", none.path()]);
    let said = format!("1 fault in {}", none.path());
    assert!(ran.code == 2 && ran.err.contains(&said), "{}", ran.err);
    // a fault of an edit is one of the edit
    let ran = together(&[EXAMPLE, "--set", "desk.cut-1.colour=red"]);
    assert!(ran.err.contains("1 fault in --set"), "{}", ran.err);
}
