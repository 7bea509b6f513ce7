//! The whole process, as a person waits for it.

use std::fmt::Write;
use std::process::{Command, Stdio};

/// The program as it was built with these benches, with the same optimisation.
const PROGRAM: &str = env!("CARGO_BIN_EXE_narrows-timed");
/// The example as a file.
const EXAMPLE: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/../data/sites/granary-lane.toml"
);

fn main() {
    divan::main();
}

/// Starting and stopping, nothing else.
#[divan::bench(sample_size = 1)]
fn version() {
    run(&["--version"]);
}

/// All desks of the example as text.
#[divan::bench(sample_size = 1)]
fn budget_of_the_example() {
    run(&["budget", EXAMPLE]);
}

/// One desk of the example for a program.
#[divan::bench(sample_size = 1)]
fn one_desk_as_json() {
    run(&["budget", EXAMPLE, "--desk", "cut-1", "--format", "json"]);
}

/// The page of the example, from its site alone.
#[divan::bench(sample_size = 1)]
fn page_of_the_example() {
    run(&["report", EXAMPLE, "-o", "-"]);
}

/// The page of the example with everything that it can be given.
#[divan::bench(sample_size = 1)]
fn page_with_everything() {
    let file = |name: &str| format!("{}/../data/{name}", env!("CARGO_MANIFEST_DIR"));
    let given = [
        ("--jacks", file("jacks/closet.csv")),
        ("--tasks", file("tasks/granary-lane.toml")),
        ("--day", file("jobs/granary-lane.csv")),
        ("--offers", file("offers/granary-lane.toml")),
        ("--readings", file("readings/granary-lane.csv")),
    ];
    let mut arguments = vec!["report", EXAMPLE, "-o", "-"];
    for (option, path) in &given {
        arguments.extend([*option, path.as_str()]);
    }
    run(&arguments);
}

/// The page of forty desks on one switch.
#[divan::bench(sample_size = 1)]
fn page_of_forty_desks(bencher: divan::Bencher<'_, '_>) {
    let path = std::env::temp_dir().join(format!("narrows-forty-{}.toml", std::process::id()));
    std::fs::write(&path, forty_desks()).expect("a site can be written");
    let site = path.display().to_string();
    bencher.bench(|| run(&["report", &site, "-o", "-"]));
    let _ = std::fs::remove_file(&path);
}

fn forty_desks() -> String {
    let mut site = String::from(
        "name = \"Forty desks\"\n[array.vault]\nnas = \"store\"\nlayout = \"raid6\"\ndrives = \"12 x 10 TB hdd-7200\"\n\
         [nas.store]\nport.a = { rate = \"10 Gb/s\" }\n[switch.attic]\nport.any = { rate = \"10 Gb/s\", count = 45 }\n",
    );
    let mut runs = String::from(
        "[[run]]\nfrom = \"nas.store\"\nto = \"switch.attic.any\"\ncable = \"cat6a\"\nlength = \"3 m\"\n",
    );
    for i in 1..=40 {
        let _ = write!(site, "[desk.d{i}]\nport.a = {{ rate = \"1 Gb/s\" }}\n");
        let _ = write!(
            runs,
            "[[run]]\nfrom = \"desk.d{i}\"\nto = \"switch.attic.any\"\ncable = \"cat5e\"\nlength = \"{} m\"\n",
            i + 5
        );
    }
    site + &runs
}

fn run(arguments: &[&str]) {
    let status = Command::new(PROGRAM)
        .args(arguments)
        .stdout(Stdio::null())
        .status()
        .expect("the program starts");
    assert!(status.success(), "{arguments:?}: {status}");
}
