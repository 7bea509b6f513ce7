//! Sentences that are taken at once for trouble that may cost pictures: a question would cost time that nobody has.

use crate::words::words;

/// Rows of data/speech/trouble.csv.
#[derive(Clone, Debug)]
pub(crate) struct Trouble {
    rows: Vec<Row>,
}

#[derive(Clone, Debug)]
struct Row {
    remark: String,
    /// Groups of forms, of each of which one has to be there.
    needs: Vec<Vec<Form>>,
    unless: Vec<Form>,
}

/// Words of a form; the last may go on.
#[derive(Clone, Debug)]
struct Form {
    words: Vec<String>,
    open: bool,
}

impl Form {
    fn read(text: &str) -> Self {
        let all = words(text.trim().trim_end_matches('*'));
        Self {
            words: all.into_iter().map(|word| word.text).collect(),
            open: text.trim().ends_with('*'),
        }
    }

    fn is_in(&self, said: &[String]) -> bool {
        let Some((last, first)) = self.words.split_last() else {
            return false;
        };
        said.windows(self.words.len()).any(|at| {
            let Some((end, begin)) = at.split_last() else {
                return false;
            };
            begin == first && (end == last || (self.open && end.starts_with(last.as_str())))
        })
    }
}

impl Trouble {
    /// Reads rows: a remark, what it needs, and what must not be there.
    ///
    /// # Errors
    /// With the row that is broken.
    pub(crate) fn read(text: &str) -> Result<Self, String> {
        let forms = |text: &str| -> Vec<Form> {
            let all = text.split('|').filter(|form| !form.trim().is_empty());
            all.map(Form::read).collect()
        };
        let mut rows = Vec::new();
        for row in text.lines().filter(|line| !line.starts_with('#')).skip(1) {
            let [remark, needs, unless, source] = row.split(',').collect::<Vec<_>>()[..] else {
                return Err(format!("'{row}' has not four columns"));
            };
            let needs: Vec<Vec<Form>> = needs.split('&').map(forms).collect();
            if source.is_empty() || needs.iter().any(Vec::is_empty) {
                return Err(format!("'{row}' lacks a source or a form"));
            }
            rows.push(Row {
                remark: remark.to_owned(),
                needs,
                unless: forms(unless),
            });
        }
        Ok(Self { rows })
    }

    /// The remark that a text is taken for.
    pub(crate) fn hear(&self, text: &str) -> Option<&str> {
        let said: Vec<String> = words(text).into_iter().map(|word| word.text).collect();
        let is = |form: &Form| form.is_in(&said);
        let row = self.rows.iter().find(|row| {
            row.needs.iter().all(|group| group.iter().any(is)) && !row.unless.iter().any(is)
        });
        row.map(|row| row.remark.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn trouble_is_heard_however_it_is_put() {
        let trouble = Trouble::read(narrows_data::TROUBLE.1).unwrap();
        for (text, remark) in [
            ("The NAS has been beeping since this morning", "array-alarm"),
            ("there's a red light on the server", "array-alarm"),
            (
                "drive 3 reports errors in its own list",
                "drive-reports-errors",
            ),
            ("one of the disks is clicking", "drive-reports-errors"),
            ("SMART errors on the second drive", "drive-reports-errors"),
            (
                "we had a power cut yesterday and now it is slow",
                "after-power-cut",
            ),
            ("water got into the rack", "after-power-cut"),
        ] {
            assert_eq!(trouble.hear(text), Some(remark), "{text}");
        }
        for text in [
            "it is slow since the update",
            "no beeping from the NAS",
            "the drives have no bad sectors",
            "another computer gets 112 MB/s",
            "errors on the port of the switch",
        ] {
            assert_eq!(trouble.hear(text), None, "{text}");
        }
    }

    #[test]
    fn a_broken_row_is_told() {
        for row in [
            "array-alarm,nas & beep",
            "array-alarm,nas & ,,why",
            "array-alarm,nas,,",
        ] {
            assert!(Trouble::read(&format!("head\n{row}")).is_err(), "{row}");
        }
    }
}
