//! What is written down: site files, the catalogue, and what a shell wants to know.

use super::Format;
use clap::{Args, ValueEnum};
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(crate) struct Check {
    /// The site file
    pub site: PathBuf,
    /// Change a value first, for example 'nas.store.port.a.rate="10 Gb/s"' (repeatable)
    #[arg(long, value_name = "PATH=VALUE")]
    pub set: Vec<String>,
    /// Print the site in its long form, every word and port written out
    #[arg(long, conflicts_with_all = ["format", "watch"])]
    pub tidy: bool,
    /// Check again whenever the file is saved, until stopped
    #[arg(long)]
    pub watch: bool,
    /// How to print the answer
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum ShellWord {
    Bash,
    Zsh,
    Fish,
    Powershell,
}

#[derive(Debug, Args)]
pub(crate) struct Completions {
    /// The shell
    #[arg(value_enum)]
    pub shell: ShellWord,
    /// A site file whose desks are offered behind --desk, and its arrays behind --array
    #[arg(long, value_name = "SITE")]
    pub site: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct Manual {
    /// The folder to write into; it has to be there
    #[arg(value_name = "FOLDER")]
    pub folder: PathBuf,
}

#[derive(Debug, Args)]
pub(crate) struct Describe {
    /// The file to write; it must not be there yet. Without it the name of the place is taken
    #[arg(value_name = "FILE")]
    pub file: Option<PathBuf>,
    /// Answers, one a line, before the questions go on; what was said in an interrupted run is kept
    /// in such a file
    #[arg(long, value_name = "FILE")]
    pub answers: Option<PathBuf>,
    /// A list of jacks from a spreadsheet: the cable of each desk that it names is not asked for
    #[arg(long, value_name = "FILE")]
    pub jacks: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct Example {
    /// Which; without a name all are listed
    pub name: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct Schema {
    /// site; a command, for example budget; day, for together --day; faults, for what cannot be used
    #[arg(value_name = "WHAT")]
    pub of: String,
}

#[derive(Debug, Args)]
pub(crate) struct Facts {
    /// Only rows that contain this word, for example hdd-7200, pcie or words
    pub word: Option<String>,
    /// How to print the list
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}
