use crate::said::Said;
use narrows_hearing::{Ear, Sense};
use std::fmt::Write;

/// What came of sentences.
#[derive(Default)]
pub(crate) struct Tally {
    remarks: u32,
    right: u32,
    wrong: u32,
    /// Neither, and the right one is among the choices.
    offered: u32,
    readings: u32,
    read_right: u32,
    read_wrong: u32,
    nothing: u32,
    taken: u32,
}

/// What a number may differ by, relative: half a digit of the three that people write.
const DIGITS: f64 = 0.02;

fn near(a: Option<f64>, b: Option<f64>) -> bool {
    match (a, b) {
        (Some(a), Some(b)) => (a - b).abs() <= DIGITS * b.abs(),
        (None, None) => true,
        _ => false,
    }
}

/// Hears sentences that were not learned from.
pub(crate) fn of<'s>(ear: &Ear, said: impl Iterator<Item = &'s Said>) -> Tally {
    let mut tally = Tally::default();
    let show = std::env::var_os("NARROWS_SHOW").is_some();
    for one in said {
        let heard = ear.hear(&one.text);
        let note = |what: &str| {
            if show {
                #[allow(clippy::print_stdout)] // it is what was asked for
                {
                    println!(
                        "{what} {} {} | {} | {:?}",
                        one.means, one.kind, one.text, heard
                    );
                }
            }
        };
        match one.means.as_str() {
            "none" => {
                tally.nothing += 1;
                if !matches!(heard.sense, Sense::Nothing | Sense::Choices) {
                    tally.taken += 1;
                    note("TAKEN");
                }
            }
            "reading" => {
                tally.readings += 1;
                match &heard.reading {
                    Some(reading) => {
                        let (low, high, unit) = reading.measured.plain();
                        let number = near(low, one.low) && near(high, one.high) && unit == one.unit;
                        let right = number && reading.kind == one.kind && reading.way == one.way;
                        tally.read_right += u32::from(right);
                        tally.read_wrong += u32::from(!right);
                        if !right {
                            note("READ");
                        }
                    }
                    None if matches!(heard.sense, Sense::Remark(_)) => {
                        tally.read_wrong += 1;
                        note("READ");
                    }
                    None => note("UNREAD"),
                }
            }
            id => {
                tally.remarks += 1;
                match &heard.sense {
                    Sense::Remark(found) if found == id && heard.more.is_empty() => {
                        tally.right += 1;
                    }
                    Sense::Remark(_) | Sense::Reading => {
                        tally.wrong += 1;
                        note("WRONG");
                    }
                    _ => {
                        let offered = heard.choices.iter().any(|c| c.id == id);
                        tally.offered += u32::from(offered);
                        note(if offered { "OFFERED" } else { "LOST" });
                    }
                }
            }
        }
    }
    tally
}

pub(crate) fn head() -> String {
    std::fs::read_to_string(crate::root().join("docs/hearing.md"))
        .unwrap()
        .split_once(BEGIN)
        .map(|(head, _)| format!("{head}{BEGIN}\n{COLUMNS}"))
        .unwrap()
}

const BEGIN: &str = "<!-- table begin -->";

const COLUMNS: &str = "| writer left out | learned from | remarks right % | wrong % | asked back with the right one % | readings right % | wrong % | of what means nothing taken % |\n\
                       | --- | --- | ---: | ---: | ---: | ---: | ---: | ---: |\n";

impl Tally {
    pub(crate) fn add(&mut self, other: &Self) {
        self.remarks += other.remarks;
        self.right += other.right;
        self.wrong += other.wrong;
        self.offered += other.offered;
        self.readings += other.readings;
        self.read_right += other.read_right;
        self.read_wrong += other.read_wrong;
        self.nothing += other.nothing;
        self.taken += other.taken;
    }

    /// In hundredths.
    pub(crate) fn shares(&self) -> [f64; 6] {
        let share = |n: u32, of: u32| 100.0 * f64::from(n) / f64::from(of.max(1));
        [
            share(self.right, self.remarks),
            share(self.wrong, self.remarks),
            share(self.offered, self.remarks),
            share(self.read_right, self.readings),
            share(self.read_wrong, self.readings),
            share(self.taken, self.nothing),
        ]
    }

    pub(crate) fn line(&self, writer: &str, from: &str) -> String {
        let mut line = format!("| {writer} | {from} |");
        for share in self.shares() {
            let _ = write!(line, " {share:.1} |");
        }
        line.push('\n');
        line
    }
}
