//! What the benches have in common: the example site, a synthetic one, and how they are asked.

use narrows_core::budget::{Answer, Question, answer};
use narrows_core::catalogue::Catalogue;
use narrows_core::change::Edit;
use narrows_core::site::{Site, read};
use narrows_core::spread::{Draws, USUAL_DRAWS};
use narrows_core::work::{Activity, Work};
use std::fmt::Write;

/// Hops that a copy to the desk passes beside its links, where both ends name a slot: disk, thread and slot
/// of the desk; slot, window, requests, thread and array of the NAS.
const BESIDE_LINKS: usize = 8;

/// A site with the catalogue it was read with, ready to be asked.
pub struct Bench {
    /// The catalogue that comes with the program.
    pub catalogue: Catalogue,
    /// The site.
    pub site: Site,
}

impl Bench {
    /// Reads a site.
    ///
    /// # Panics
    /// Where the text has faults.
    pub fn of(text: &str) -> Self {
        Self::with(text, &[])
    }

    /// Reads a site with edits, as behind `--set`.
    ///
    /// # Panics
    /// Where the text or an edit has faults.
    pub fn with(text: &str, edits: &[&str]) -> Self {
        let edits: Vec<String> = edits.iter().map(|e| (*e).to_owned()).collect();
        let edits = Edit::parse_all(&edits).expect("the edits are sound");
        let catalogue = Catalogue::embedded().expect("the catalogue is sound");
        let site = read(text, &edits, &catalogue).expect("the site is sound");
        Self { catalogue, site }
    }

    /// The example site.
    pub fn example() -> Self {
        Self::of(example_text())
    }

    /// Answers for one desk or all, both directions.
    ///
    /// # Panics
    /// Where there is no answer.
    pub fn ask(&self, desk: Option<&str>, draws: &mut Draws) -> Answer {
        let question = Question {
            work: Work::plain(Activity::Copy),
            desk: desk.map(str::to_owned),
            working: false,
            need: None,
        };
        answer(&self.site, &question, &self.catalogue, draws).expect("the site has an answer")
    }
}

/// A set of draws of the usual size in which nothing has been drawn.
pub fn cold() -> Draws {
    Draws::new(USUAL_DRAWS)
}

/// Text of the example site.
///
/// # Panics
/// Where it is not among the embedded ones.
pub fn example_text() -> &'static str {
    narrows_data::SITES
        .iter()
        .find(|(name, _)| *name == "granary-lane")
        .map(|(_, text)| *text)
        .expect("the example is embedded")
}

/// Which runs may fall back to a lower rate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doubtful {
    /// That of every desk.
    Desks,
    /// Those between the switches as well.
    All,
}

/// Text of a made-up site: `desks` desks behind one row of switches that is long enough for
/// each way from the array to have `hops` hops.
pub fn row_of_switches(desks: usize, hops: usize, doubtful: Doubtful) -> String {
    let switches = hops.saturating_sub(BESIDE_LINKS + 1).max(1);
    let mut text = String::from(
        "name = \"a row of switches\"\n\
         [array.vault]\nnas = \"store\"\nlayout = \"raid6\"\ndrives = \"6 x 10 TB hdd-7200\"\n\
         [nas.store]\nservice = \"smb\"\nport.a = { rate = \"10 Gb/s\", slot = \"pcie 3 x4\" }\n",
    );
    // writing to a string cannot fail
    for i in 1..=switches {
        let count = if i == 1 { desks + 1 } else { 2 };
        let _ = write!(
            text,
            "[switch.switch-{i}]\nport.any = {{ rate = \"10 Gb/s\", count = {count} }}\n"
        );
    }
    for i in 1..=desks {
        let _ = write!(
            text,
            "[desk.desk-{i}]\ndisk = \"nvme-gen3\"\n\
             port.a = {{ rate = \"10 Gb/s\", slot = \"pcie 3 x4\" }}\n"
        );
    }
    let mut run = |from: &str, to: &str, sure: bool| {
        let cable = if sure {
            "cable = \"cat6a\"\nlength = \"3 m\"\nbundle = \"apart\""
        } else {
            "cable = \"cat5e\"\nlength = \"20..35 m\"\nbundle = \"loose\""
        };
        let _ = write!(text, "[[run]]\nfrom = \"{from}\"\nto = \"{to}\"\n{cable}\n");
    };
    for i in 1..=desks {
        run(&format!("desk.desk-{i}"), "switch.switch-1", false);
    }
    for i in 1..switches {
        let next = format!("switch.switch-{}", i + 1);
        run(
            &format!("switch.switch-{i}"),
            &next,
            doubtful == Doubtful::Desks,
        );
    }
    run(&format!("switch.switch-{switches}"), "nas.store", true);
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use narrows_core::work::Direction;

    #[test]
    fn every_way_over_the_row_has_the_hops_that_were_asked_for() {
        for hops in [12, 60] {
            let text = row_of_switches(3, hops, Doubtful::All);
            let answer = Bench::of(&text).ask(None, &mut Draws::new(64));
            assert_eq!(answer.flows.len(), 6);
            for flow in &answer.flows {
                // the copy program pauses, and the NAS works out parity when it is written to
                let more = 1 + usize::from(flow.direction == Direction::Write);
                assert_eq!(flow.hops.len(), hops + more, "{}", flow.desk);
            }
        }
    }
}
