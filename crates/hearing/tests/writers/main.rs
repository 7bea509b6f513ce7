//! How well a writer is understood whom nobody listened to before: words and weights from the others.
//!
//! `NARROWS_REWRITE=1 cargo test -p narrows-hearing --test writers` makes the weights and the table anew.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

mod judge;
mod said;
mod train;

use narrows_hearing::{Concepts, Ear};
use said::Said;
use std::path::PathBuf;

const CONCEPTS: &str = narrows_data::CONCEPTS.1;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// Compares a text with what is kept, or keeps it.
fn kept(path: &str, text: &str) {
    let path = root().join(path);
    if std::env::var_os("NARROWS_REWRITE").is_some() {
        std::fs::write(&path, text).unwrap();
        return;
    }
    let known = std::fs::read_to_string(&path).unwrap();
    assert!(
        known == text,
        "{} is not what the sentences give; NARROWS_REWRITE=1 makes it anew",
        path.display()
    );
}

#[test]
fn weights_are_those_that_the_sentences_give() {
    let all = Said::all();
    let concepts = Concepts::read(CONCEPTS).unwrap();
    let text = train::weights(&all.iter().collect::<Vec<_>>(), &concepts);
    kept("data/speech/weights.txt", &text);
}

/// Goals on a writer left out, in hundredths, that are met: remarks right, readings right, and of what means nothing taken for
/// something. Not met is that 3 of remarks and 2 of readings at most be wrong; the table says by how much.
const REMARKS: f64 = 85.0;
const READINGS: f64 = 90.0;
const TAKEN: f64 = 5.0;

#[test]
fn validate_a_writer_left_out() {
    let all = Said::all();
    let concepts = Concepts::read(CONCEPTS).unwrap();
    let mut table = judge::head();
    let mut met = None;
    for (name, ours) in [
        ("own sentences beside them", true),
        ("the writers alone", false),
    ] {
        let mut sums = judge::Tally::default();
        for writer in ["1", "2", "3"] {
            let learn: Vec<&Said> = all
                .iter()
                .filter(|s| s.author != writer && (ours || s.author != "0"))
                .collect();
            let ear = Ear::read(CONCEPTS, &train::weights(&learn, &concepts)).unwrap();
            let tally = judge::of(&ear, all.iter().filter(|s| s.author == writer));
            table.push_str(&tally.line(writer, name));
            sums.add(&tally);
        }
        table.push_str(&sums.line("all", name));
        if ours {
            met = Some(sums.shares());
        }
    }
    kept("docs/hearing.md", &table);
    let [right, _, _, read, _, taken] = met.unwrap();
    assert!(
        right >= REMARKS && read >= READINGS && taken <= TAKEN,
        "{right} {read} {taken}"
    );
}
