//! Sentences that are taken at once for trouble that may cost pictures: a question would cost time that nobody has, and silence more.

use crate::concepts::{Concepts, Seen};
use crate::words::words;

/// Rows of data/speech/trouble.csv over the concepts of data/speech/danger.csv.
#[derive(Clone, Debug)]
pub(crate) struct Trouble {
    concepts: Concepts,
    rows: Vec<Row>,
}

#[derive(Clone, Debug)]
struct Row {
    remark: String,
    sure: Sure,
    /// Groups of concepts, of each of which one has to be there.
    needs: Vec<Vec<String>>,
    /// Words from the first of them to the last, at most.
    within: usize,
    unless: Vec<String>,
}

/// How sure a row is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sure {
    /// The sentence is that.
    Yes,
    /// It may be, and has to be asked.
    No,
    /// The sentence is that where weights are sure of nothing; no picture is at stake.
    Plain,
    /// Its number is of another thing: the sentence is that where weights are sure of no remark, and no reading then.
    Figure,
}

impl Sure {
    /// Whether a picture may be at stake.
    pub(crate) fn costs_pictures(self) -> bool {
        matches!(self, Self::Yes | Self::No)
    }
}

/// What a text is taken for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Danger {
    /// The remark.
    pub remark: String,
    /// How sure that is.
    pub sure: Sure,
}

/// Words that take back what follows them soon.
const TAKES_BACK: [&str; 9] = [
    "no", "not", "never", "without", "zero", "neither", "nor", "stopped", "ceased",
];

/// How soon.
const SOON: usize = 2;

/// Of a thing that stops, not stopping is the thing: "it won't stop beeping".
const STOPS: [&str; 6] = ["stop", "stops", "stopping", "quit", "cease", "end"];

impl Trouble {
    /// Reads concepts, and rows of them: a remark, whether that is sure, what it needs, how near, and what must not be there.
    ///
    /// # Errors
    /// With the row that is broken.
    pub(crate) fn read(concepts: &str, rows: &str) -> Result<Self, String> {
        let concepts = Concepts::read(concepts)?;
        let mut found = Vec::new();
        for row in rows.lines().filter(|line| !line.starts_with('#')).skip(1) {
            let [remark, sure, needs, within, unless, source] =
                row.split(',').collect::<Vec<_>>()[..]
            else {
                return Err(format!("'{row}' has not six columns"));
            };
            let names = |text: &str| -> Result<Vec<String>, String> {
                let all = text
                    .split('|')
                    .map(str::trim)
                    .filter(|name| !name.is_empty());
                all.map(|name| match concepts.number(name) {
                    Some(_) => Ok(name.to_owned()),
                    None => Err(format!("'{row}' speaks of '{name}', which is no concept")),
                })
                .collect()
            };
            let sure = match sure {
                "yes" => Sure::Yes,
                "no" => Sure::No,
                "plain" => Sure::Plain,
                "figure" => Sure::Figure,
                other => {
                    return Err(format!(
                        "'{row}' says '{other}', not yes, no, plain or figure"
                    ));
                }
            };
            let needs: Vec<Vec<String>> = needs.split('&').map(names).collect::<Result<_, _>>()?;
            let within = within
                .parse()
                .map_err(|_| format!("'{row}' has no number of words"))?;
            let unless = names(unless)?;
            if source.is_empty() || needs.iter().any(Vec::is_empty) {
                return Err(format!("'{row}' lacks a source or a concept"));
            }
            found.push(Row {
                remark: remark.to_owned(),
                sure,
                needs,
                within,
                unless,
            });
        }
        Ok(Self {
            concepts,
            rows: found,
        })
    }

    /// What a text is taken for, where it speaks of trouble.
    pub(crate) fn hear(&self, text: &str) -> Option<Danger> {
        let said: Vec<String> = words(text)
            .into_iter()
            .map(|word| self.concepts.swapped(&word.text).unwrap_or(word.text))
            .collect();
        let seen = self.concepts.seen(&said);
        let is = |seen: &Seen, names: &[String]| {
            let name = self.concepts.name(seen.concept);
            names.iter().any(|known| known == name)
        };
        let told: Vec<Seen> = seen
            .iter()
            .filter(|seen| !taken_back(&said, seen.from))
            .copied()
            .collect();
        let row = self.rows.iter().find(|row| {
            let groups: Vec<Vec<Seen>> = row
                .needs
                .iter()
                .map(|names| told.iter().filter(|s| is(s, names)).copied().collect())
                .collect();
            near(&groups, row.within) && !seen.iter().any(|s| is(s, &row.unless))
        });
        row.map(|row| Danger {
            remark: row.remark.clone(),
            sure: row.sure,
        })
    }
}

/// Whether a word is taken back by one soon before it.
fn taken_back(said: &[String], at: usize) -> bool {
    let from = at.saturating_sub(SOON);
    let before = said.get(from..at).unwrap_or_default();
    before.iter().enumerate().any(|(i, word)| {
        let next = said.get(from + i + 1).map_or("", String::as_str);
        TAKES_BACK.contains(&word.as_str()) && !STOPS.contains(&next)
    })
}

/// Whether one of each group lies within so many words of the others.
fn near(groups: &[Vec<Seen>], within: usize) -> bool {
    let Some((first, rest)) = groups.split_first() else {
        return false;
    };
    let distance = |a: &Seen, b: &Seen| {
        let gap = |a: &Seen, b: &Seen| b.from.saturating_sub(a.from + a.length);
        gap(a, b).max(gap(b, a))
    };
    first.iter().any(|one| {
        rest.iter().all(|group| {
            group
                .iter()
                .any(|other| other != one && distance(one, other) <= within)
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn trouble() -> Trouble {
        Trouble::read(narrows_data::DANGER.1, narrows_data::TROUBLE.1).unwrap()
    }

    #[test]
    fn trouble_is_heard_however_it_is_put() {
        let trouble = trouble();
        for (text, remark) in [
            ("The NAS has been beeping since this morning", "array-alarm"),
            ("a drive beeps", "array-alarm"),
            ("the nas won't stop beeping", "array-alarm"),
            ("there's a red light on the server", "array-alarm"),
            ("red light on bay 3", "array-alarm"),
            ("amber lamp on the second bay", "array-alarm"),
            ("the little lamp on drive 4 went orange", "array-alarm"),
            ("bay 5 is blinking red", "array-alarm"),
            (
                "drive 3 reports errors in its own list",
                "drive-reports-errors",
            ),
            ("one of the disks is clicking", "drive-reports-errors"),
            ("the dirve makes a grinding noise", "drive-reports-errors"),
            ("SMART errors on the second drive", "drive-reports-errors"),
            ("SMART warning on disk 2", "drive-reports-errors"),
            ("disk 3 has 12 reallocated sectors", "drive-reports-errors"),
            ("I got a mail that the array is degraded", "rebuild-running"),
            ("a disk fell out of the array", "rebuild-running"),
            (
                "a drive dropped out of the raid last night",
                "rebuild-running",
            ),
            ("one drive isn't recognised any more", "rebuild-running"),
            ("drive 2 missing", "rebuild-running"),
            ("the hard disk is dead", "rebuild-running"),
            ("two disks are gone", "rebuild-running"),
            ("the storage complains about a bad drive", "rebuild-running"),
            (
                "we had a power cut yesterday and now it is slow",
                "after-power-cut",
            ),
            (
                "the power went off while copying, 40 MB/s now",
                "after-power-cut",
            ),
            ("water got into the rack", "after-power-cut"),
            ("the cellar was flooded", "after-power-cut"),
            ("coffee got spilled on the NAS", "after-power-cut"),
        ] {
            let sure = trouble.hear(text).filter(|danger| danger.sure == Sure::Yes);
            assert_eq!(sure.map(|d| d.remark).as_deref(), Some(remark), "{text}");
        }
        for text in [
            "it is slow since the update",
            "no beeping from the NAS",
            "the NAS stopped beeping",
            "the drives have no bad sectors",
            "another computer gets 112 MB/s",
            "errors on the port of the switch",
            "what happens if a drive fails",
            "the copy grinds to a halt on that drive",
            "the link light of the port is orange",
            "requests flood the network",
            "What does the yellow light mean?",
        ] {
            let trouble = trouble.hear(text).filter(|d| d.sure.costs_pictures());
            assert_eq!(trouble, None, "{text}");
        }
    }

    #[test]
    fn what_may_be_trouble_is_asked() {
        let trouble = trouble();
        for (text, remark) in [
            ("health status: bad", "drive-reports-errors"),
            ("it beeps", "array-alarm"),
            ("the alarm won't stop", "array-alarm"),
            ("a red lamp blinks", "array-alarm"),
            ("something in the NAS is whining", "drive-reports-errors"),
            ("the nas fell off the shelf", "drive-reports-errors"),
            ("someone pulled out a drive", "rebuild-running"),
        ] {
            let heard = trouble.hear(text).unwrap_or_else(|| panic!("{text}"));
            assert_eq!(
                (heard.remark.as_str(), heard.sure),
                (remark, Sure::No),
                "{text}"
            );
        }
    }

    #[test]
    fn a_time_of_day_is_heard_and_costs_no_picture() {
        let trouble = trouble();
        for text in [
            "it only does that in the afternoon",
            "during office hours it is slow",
            "at night it is quick",
            "as soon as the others start work it gets slow",
            "weekends are fast and weekdays are slow",
        ] {
            let heard = trouble.hear(text).unwrap_or_else(|| panic!("{text}"));
            assert_eq!(
                (heard.remark.as_str(), heard.sure),
                ("busy-hours", Sure::Plain)
            );
        }
        for text in [
            "good afternoon, it is slow",
            "it is slow since this morning",
        ] {
            assert_eq!(trouble.hear(text), None, "{text}");
        }
    }

    #[test]
    fn a_number_of_another_thing_is_no_reading() {
        let trouble = trouble();
        for (text, remark) in [
            ("another laptop gets 112 MB/s", "other-computer-better"),
            (
                "one workstation affected, another not",
                "other-computer-better",
            ),
            (
                "another system and ftp reach about 1 Gb/s",
                "other-computer-better",
            ),
            ("another server reaches 900 MB/s", "other-server-better"),
            ("the built-in port gets 110 MB/s", "other-adapter-better"),
            ("the port beside it gets 800 MB/s", "other-cable-better"),
            ("onto the other disk 80 MB/s", "other-disk-better"),
            ("without the added delay it gets 60 MB/s", "nearer-better"),
            ("a wired test beside it is fine", "wired-better"),
        ] {
            let heard = trouble.hear(text).unwrap_or_else(|| panic!("{text}"));
            assert_eq!(
                (heard.remark.as_str(), heard.sure),
                (remark, Sure::Figure),
                "{text}"
            );
        }
        for text in [
            "copied it to another folder at 90 MB/s",
            "I get 112 MB/s from the server",
            "another laptop is just as slow",
            "no retransmissions",
        ] {
            assert_eq!(trouble.hear(text), None, "{text}");
        }
    }

    #[test]
    fn a_broken_row_is_told() {
        let concepts = "concept,forms\nnas,nas\nbeep,beep*\n";
        for row in [
            "array-alarm,nas & beep",
            "array-alarm,yes,nas & ,9,,why",
            "array-alarm,yes,nas,9,,",
            "array-alarm,perhaps,nas,9,,why",
            "array-alarm,yes,horn,9,,why",
            "array-alarm,yes,nas,far,,why",
        ] {
            assert!(
                Trouble::read(concepts, &format!("head\n{row}")).is_err(),
                "{row}"
            );
        }
        assert!(Trouble::read(concepts, "head\narray-alarm,yes,nas & beep,9,,why").is_ok());
    }
}
