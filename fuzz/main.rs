//! `narrows-fuzz [--seconds S] [--seed N] [TARGET ...]`: every reader, or those named, for so many seconds each.
#![allow(clippy::print_stdout)] // it talks to whoever started it

use narrows_fuzz::mutate::{Chance, mutated};
use narrows_fuzz::{Known, Target, targets};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::process::ExitCode;
use std::time::{Duration, Instant};

/// An input that takes longer is a finding: a person waits for it.
const SLOW: Duration = Duration::from_secs(2);
/// Inputs that were read without a fault join the seeds, up to so many.
const KEPT: usize = 512;

struct Asked {
    seconds: u64,
    seed: u64,
    names: Vec<String>,
}

fn asked() -> Result<Asked, String> {
    let mut asked = Asked {
        seconds: 10,
        seed: 1,
        names: Vec::new(),
    };
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        let mut number = || {
            let text = words.next().unwrap_or_default();
            text.parse::<u64>()
                .map_err(|_| format!("{word} needs a whole number, not '{text}'"))
        };
        match word.as_str() {
            "--seconds" => asked.seconds = number()?,
            "--seed" => asked.seed = number()?,
            _ => asked.names.push(word),
        }
    }
    Ok(asked)
}

/// Tries one reader; what was found wrong, with the input.
fn hunt(known: &Known, target: &Target, asked: &Asked) -> Vec<(String, Vec<u8>)> {
    let mut chance = Chance::new(asked.seed);
    let mut pool = target.seeds.clone();
    let mut wrong: Vec<(String, Vec<u8>)> = Vec::new();
    let mut tried: u64 = 0;
    let begun = Instant::now();
    while begun.elapsed() < Duration::from_secs(asked.seconds) && wrong.len() < 10 {
        let one = pool.get(chance.below(pool.len())).cloned();
        let other = pool.get(chance.below(pool.len())).cloned();
        let input = mutated(
            &mut chance,
            &one.unwrap_or_default(),
            &other.unwrap_or_default(),
        );
        let start = Instant::now();
        let ended = catch_unwind(AssertUnwindSafe(|| (target.run)(known, &input)));
        tried += 1;
        let problem = match ended {
            Err(_) => Some("panic".to_owned()),
            Ok(Err(problem)) => Some(problem),
            Ok(Ok(())) if start.elapsed() > SLOW => Some(format!("takes {:?}", start.elapsed())),
            Ok(Ok(())) => None,
        };
        match problem {
            Some(problem) => wrong.push((problem, input)),
            None if pool.len() < KEPT && tried.is_multiple_of(64) => pool.push(input),
            None => {}
        }
    }
    println!(
        "{:<10} {tried:>10} inputs in {:>5.1} s, {} findings",
        target.name,
        begun.elapsed().as_secs_f64(),
        wrong.len()
    );
    wrong
}

fn main() -> ExitCode {
    let (asked, known) = match (asked(), Known::embedded()) {
        (Ok(asked), Ok(known)) => (asked, known),
        (Err(problem), _) | (_, Err(problem)) => {
            println!("{problem}");
            return ExitCode::from(2);
        }
    };
    let all = targets();
    if let Some(name) = asked
        .names
        .iter()
        .find(|n| !all.iter().any(|t| t.name == **n))
    {
        let names: Vec<&str> = all.iter().map(|t| t.name).collect();
        println!(
            "no reader is called '{name}'; there are {}",
            names.join(", ")
        );
        return ExitCode::from(2);
    }
    println!("seed {}", asked.seed);
    let mut clean = true;
    for target in &all {
        if !asked.names.is_empty() && !asked.names.iter().any(|n| n == target.name) {
            continue;
        }
        for (problem, input) in hunt(&known, target, &asked) {
            clean = false;
            println!(
                "  {}: {problem}: {:?}",
                target.name,
                String::from_utf8_lossy(&input)
            );
        }
    }
    ExitCode::from(u8::from(!clean))
}
