use std::borrow::Cow;
use std::fmt::Write;
use unicode_width::UnicodeWidthStr;

/// Where the text of a column stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Side {
    Left,
    Right,
}

/// A blank at which no line is broken.
const NO_BREAK: char = '\u{a0}';

/// A text that is not broken.
pub(crate) fn all_tied(text: &str) -> String {
    text.replace(' ', &NO_BREAK.to_string())
}

/// A layout with counts and sizes that stay together when a line is broken.
pub(crate) fn tied(layout: &str) -> String {
    let letters: Vec<char> = layout.chars().collect();
    let at = |i: usize| letters.get(i).copied().unwrap_or(' ');
    let mut out = String::new();
    for (i, &c) in letters.iter().enumerate() {
        let before = i.checked_sub(1).map_or(' ', at);
        let cross = before == 'x' && i.checked_sub(2).map_or(' ', at) == ' ';
        let unit = before.is_ascii_digit() && at(i + 1).is_alphabetic();
        out.push(if c == ' ' && (cross || unit) {
            NO_BREAK
        } else {
            c
        });
    }
    out
}

/// A table that can be printed in several formats from the same cells.
#[derive(Clone, Debug, Default)]
pub(crate) struct Table {
    heads: Vec<(String, Side)>,
    rows: Vec<Vec<String>>,
    /// Column that is broken in place of the last one.
    folds: Option<usize>,
}

/// Blanks between two columns.
const GAP: usize = 2;

/// Columns that a broken cell keeps, whatever its line comes to.
const LEAST: usize = 11;

impl Table {
    pub(crate) fn new(heads: &[(&str, Side)]) -> Self {
        Self {
            heads: heads
                .iter()
                .map(|(h, side)| ((*h).to_owned(), *side))
                .collect(),
            rows: Vec::new(),
            folds: None,
        }
    }

    /// Breaks this column where lines would be too long, in place of the last one.
    pub(crate) fn folding(mut self, column: usize) -> Self {
        self.folds = Some(column);
        self
    }

    pub(crate) fn row(&mut self, cells: Vec<String>) {
        self.rows.push(cells);
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// Leaves out a column, by its head.
    pub(crate) fn without(mut self, head: &str) -> Self {
        if let Some(at) = self.heads.iter().position(|(h, _)| h == head) {
            self.heads.remove(at);
            for row in &mut self.rows {
                if at < row.len() {
                    row.remove(at);
                }
            }
        }
        self
    }

    /// Whether there is such a column.
    pub(crate) fn has(&self, head: &str) -> bool {
        self.heads.iter().any(|(h, _)| h == head)
    }

    /// Whether all cells of a column are the same.
    pub(crate) fn same(&self, head: &str) -> bool {
        self.heads
            .iter()
            .position(|(h, _)| h == head)
            .is_some_and(|at| {
                self.rows
                    .windows(2)
                    .all(|pair| matches!(pair, [a, b] if a.get(at) == b.get(at)))
            })
    }

    /// Aligned text. One column, the last unless another was named, is broken at blanks where the
    /// line would be too long; a number is never parted from its unit, since units stand in the
    /// heads.
    pub(crate) fn text(&self, width: usize) -> String {
        let mut widths: Vec<usize> = self.heads.iter().map(|(h, _)| h.width()).collect();
        for row in &self.rows {
            for (w, cell) in widths.iter_mut().zip(row) {
                *w = (*w).max(cell.width());
            }
        }
        let last = widths.len().saturating_sub(1);
        let folds = self.folds.unwrap_or(last).min(last);
        let taken: usize = widths.iter().map(|w| w + GAP).sum();
        let Some(folded) = widths.get_mut(folds) else {
            return String::new();
        };
        let others = taken - *folded - GAP;
        *folded = (*folded).min(width.saturating_sub(others).max(LEAST));
        let folded = *folded;
        let before: usize = widths.iter().take(folds).map(|w| w + GAP).sum();
        let mut out = String::new();
        let heads: Vec<String> = self.heads.iter().map(|(h, _)| h.clone()).collect();
        for row in std::iter::once(&heads).chain(&self.rows) {
            let mut lines = wrapped(row.get(folds).map_or("", String::as_str), folded).into_iter();
            let mut line = String::new();
            for (i, cell) in row.iter().enumerate() {
                let (side, wide) = (
                    self.heads.get(i).map_or(Side::Left, |h| h.1),
                    widths.get(i).copied().unwrap_or(0),
                );
                let cell = if i == folds {
                    lines.next().unwrap_or_default()
                } else {
                    cell.clone()
                };
                let pad = " ".repeat(wide.saturating_sub(cell.width()));
                if side == Side::Right {
                    line.push_str(&pad);
                }
                line.push_str(&cell);
                if side == Side::Left {
                    line.push_str(&pad);
                }
                if i < last {
                    line.push_str(&" ".repeat(GAP));
                }
            }
            let _ = writeln!(out, "{}", line.trim_end());
            for more in lines {
                let _ = writeln!(out, "{}{more}", " ".repeat(before));
            }
        }
        out
    }

    /// A table for a document.
    pub(crate) fn markdown(&self) -> String {
        let escape = |cell: &String| cell.replace('|', "\\|");
        let mut out = String::new();
        let heads: Vec<String> = self
            .heads
            .iter()
            .map(|(h, _)| h.replace('|', "\\|"))
            .collect();
        let _ = writeln!(out, "| {} |", heads.join(" | "));
        let rules: Vec<&str> = self
            .heads
            .iter()
            .map(|(_, side)| if *side == Side::Right { "---:" } else { "---" })
            .collect();
        let _ = writeln!(out, "| {} |", rules.join(" | "));
        for row in &self.rows {
            let cells: Vec<String> = row.iter().map(escape).collect();
            let _ = writeln!(out, "| {} |", cells.join(" | "));
        }
        out
    }

    /// A table for a spreadsheet.
    pub(crate) fn csv(&self) -> std::io::Result<String> {
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer.write_record(self.heads.iter().map(|(h, _)| h))?;
        for row in &self.rows {
            writer.write_record(row.iter().map(|cell| inert(cell).into_owned()))?;
        }
        let bytes = writer
            .into_inner()
            .map_err(csv::IntoInnerError::into_error)?;
        String::from_utf8(bytes).map_err(std::io::Error::other)
    }
}

/// A cell that a spreadsheet takes for text: one that would begin a formula gets an apostrophe in front.
/// Numbers stay as they are.
pub(crate) fn inert(cell: &str) -> Cow<'_, str> {
    let begins = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
    if begins && cell.parse::<f64>().is_err() {
        Cow::Owned(format!("'{cell}"))
    } else {
        Cow::Borrowed(cell)
    }
}

/// A text in lines of at most so many columns, broken at blanks but not at no-break ones, which
/// are printed as blanks.
pub(crate) fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split(' ') {
        let Some(line) = lines.last_mut() else {
            break;
        };
        if !line.is_empty() && line.width() + 1 + word.width() > width {
            lines.push(word.to_owned());
        } else {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    for line in &mut lines {
        *line = line.replace(NO_BREAK, " ");
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table() -> Table {
        let mut table = Table::new(&[
            ("desk", Side::Left),
            ("MB/s", Side::Right),
            ("limited by", Side::Left),
        ]);
        table.row(vec!["cut-1".into(), "372".into(), "array vault".into()]);
        table.row(vec!["東京".into(), "11.5".into(), "a | b".into()]);
        table
    }

    #[test]
    fn columns_line_up_also_with_wide_letters() {
        let text = table().text(80);
        assert_eq!(
            text,
            "desk   MB/s  limited by\n\
             cut-1   372  array vault\n\
             東京   11.5  a | b\n"
        );
    }

    #[test]
    fn only_the_last_column_is_broken() {
        let text = table().text(20);
        assert!(text.lines().all(|l| l.width() <= 25), "{text}");
        assert!(text.contains("11.5"));
    }

    #[test]
    fn another_column_can_be_broken() {
        let mut table = Table::new(&[("layout", Side::Left), ("TB", Side::Right)]).folding(0);
        let layout = "2 x raidz1 4 x 8 TB + 1 spare";
        table.row(vec![tied(layout), "44.1".into()]);
        assert_eq!(
            table.text(19),
            "layout           TB\n\
             2 x raidz1     44.1\n\
             4 x 8 TB +\n\
             1 spare\n"
        );
    }

    #[test]
    fn a_cell_that_would_begin_a_formula_is_made_text_and_numbers_stay() {
        for (cell, written) in [
            ("=1+1", "'=1+1"),
            ("+49 30", "'+49 30"),
            ("-cmd", "'-cmd"),
            ("@sum", "'@sum"),
            ("-1.5", "-1.5"),
            ("+3", "+3"),
            ("cut-1", "cut-1"),
            ("", ""),
        ] {
            assert_eq!(inert(cell), written);
        }
    }

    #[test]
    fn markdown_escapes_its_bars() {
        assert!(table().markdown().contains("a \\| b"));
    }

    #[test]
    fn a_column_can_be_left_out() {
        let text = table().without("MB/s").text(80);
        assert!(!text.contains("372"));
        assert!(!table().same("desk"));
    }
}
