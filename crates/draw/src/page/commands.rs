use super::{Files, Report, Section};
use crate::text::plain;
use maud::{Markup, html};
use std::fmt::Write;

/// A command that prints a part of the page.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Command {
    word: &'static str,
    line: String,
}

/// A file name as a shell takes it: as it is, or between quotes.
fn quoted(name: &str) -> String {
    let easy = |c: char| c.is_ascii_alphanumeric() || "/._-+".contains(c);
    let name = plain(name);
    if !name.is_empty() && name.chars().all(easy) {
        name
    } else {
        format!("'{}'", name.replace('\'', "'\\''"))
    }
}

impl Command {
    fn new(word: &'static str, files: &Files<'_>, options: &[(&str, Option<&str>)]) -> Self {
        let mut line = format!("narrows {word} {}", quoted(files.site));
        for (option, file) in options {
            if let Some(file) = file {
                let _ = write!(line, " --{option} {}", quoted(file));
            }
        }
        Self { word, line }
    }

    pub(crate) fn word(&self) -> &'static str {
        self.word
    }

    pub(crate) fn line(&self) -> &str {
        &self.line
    }

    pub(crate) fn budget(report: &Report<'_>) -> Self {
        Self::new("budget", &report.files, &[])
    }

    /// With what better parts would give.
    pub(crate) fn better(report: &Report<'_>) -> Self {
        let mut command = Self::budget(report);
        command.line.push_str(" --better");
        command
    }

    pub(crate) fn together(report: &Report<'_>) -> Self {
        Self::new("together", &report.files, &[("tasks", report.files.tasks)])
    }

    pub(crate) fn day(report: &Report<'_>) -> Self {
        Self::new("together", &report.files, &[("day", report.files.day)])
    }

    pub(crate) fn cable(report: &Report<'_>) -> Self {
        Self::new("cable", &report.files, &[])
    }

    pub(crate) fn capacity(report: &Report<'_>) -> Self {
        Self::new("capacity", &report.files, &[])
    }

    pub(crate) fn layouts(report: &Report<'_>, array: &str) -> Self {
        let several = report.site.arrays.len() > 1;
        Self::new(
            "layouts",
            &report.files,
            &[("array", several.then_some(array))],
        )
    }

    pub(crate) fn explain(report: &Report<'_>) -> Self {
        Self::new(
            "explain",
            &report.files,
            &[("readings", report.files.readings)],
        )
    }

    pub(crate) fn buy(report: &Report<'_>) -> Self {
        let options = [
            ("offers", report.files.offers),
            ("tasks", report.files.tasks),
        ];
        Self::new("buy", &report.files, &options)
    }

    pub(crate) fn ports(report: &Report<'_>) -> Self {
        let options = [("jacks", report.files.jacks), ("tasks", report.files.tasks)];
        Self::new("ports", &report.files, &options)
    }

    pub(crate) fn wireless(report: &Report<'_>) -> Self {
        Self::new("wireless", &report.files, &[])
    }

    pub(crate) fn growth(report: &Report<'_>) -> Self {
        Self::new("growth", &report.files, &[])
    }

    pub(crate) fn backup(report: &Report<'_>) -> Self {
        Self::new("backup", &report.files, &[])
    }

    pub(crate) fn outage(report: &Report<'_>) -> Self {
        Self::new("outage", &report.files, &[])
    }

    pub(crate) fn check(report: &Report<'_>) -> Self {
        Self::new("check", &report.files, &[])
    }
}

/// What a command is for.
fn purpose(word: &str) -> &'static str {
    match word {
        "budget" => {
            "Each desk alone, place by place; --desk NAME --why HOP shows how a number comes about."
        }
        "together" => "Everybody at once; with --day a list of jobs over the hours.",
        "cable" => "What each cable carries, and what would help.",
        "capacity" => "The space of a layout to the byte.",
        "layouts" => "Every layout of drives that fits, and which of them nothing beats.",
        "explain" => "Whether a number that was read is right, and where to look.",
        "buy" => "What to buy first, and what does nothing.",
        "ports" => "Which jack goes to which port.",
        "wireless" => "What desks and rooms get through the air, and where access points go.",
        "growth" => "When the array is full.",
        "backup" => "How old the copies are, and how long until work goes on.",
        "outage" => "What backup supplies carry through a gap of the mains.",
        _ => "What is not known yet, and how to find it.",
    }
}

/// All commands of the page, each once with what it is for.
pub(super) fn section(sections: &[Section], report: &Report<'_>) -> Markup {
    let mut all: Vec<&Command> = Vec::new();
    for command in sections.iter().flat_map(|section| &section.by) {
        if !all.contains(&command) {
            all.push(command);
        }
    }
    let mut words: Vec<&str> = Vec::new();
    for command in &all {
        if !words.contains(&command.word) {
            words.push(command.word);
        }
    }
    html! {
        section.commands id="commands" aria-labelledby="commands-head" {
            h2 id="commands-head" { "The commands behind this page" }
            p { "Each number of this page is one that these print. Most take --set PATH=VALUE to try a change, and --format json." }
            dl {
                @for word in words {
                    @for (i, command) in all.iter().filter(|c| c.word == word).enumerate() {
                        dt id=[(i == 0).then(|| format!("by-{word}"))] { code { (command.line) } }
                    }
                    dd { (purpose(word)) }
                }
            }
            @if report.files.jacks.is_none() || report.files.offers.is_none() || report.files.day.is_none() || report.files.readings.is_none() {
                p { "More on this page: --jacks, --tasks, --day, --offers and --readings of narrows report." }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_name_does_nothing_in_a_shell() {
        assert_eq!(quoted("data/sites/a-1.toml"), "data/sites/a-1.toml");
        assert_eq!(quoted("my site; rm.toml"), "'my site; rm.toml'");
        assert_eq!(quoted("it's"), "'it'\\''s'");
        assert_eq!(quoted(""), "''");
    }
}
