//! The whole process, as a person waits for it.

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

fn run(arguments: &[&str]) {
    let status = Command::new(PROGRAM)
        .args(arguments)
        .stdout(Stdio::null())
        .status()
        .expect("the program starts");
    assert!(status.success(), "{arguments:?}: {status}");
}
