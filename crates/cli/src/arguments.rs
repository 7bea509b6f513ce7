mod files;
mod keeping;
mod plans;
mod rates;

pub(crate) use files::{Check, Completions, Describe, Example, Facts, Manual, Schema, ShellWord};
pub(crate) use keeping::{Backup, Growth, Outage};
pub(crate) use plans::{Buy, Cable, Capacity, FileSystemWord, Layouts, Ports};
pub(crate) use rates::{Budget, Everyone, Parts, Together, Way, WorkWord};

use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Finds the narrow place between an editing desk and shared storage.
///
/// Describe the studio in a small text file, or on the command line, and ask what each desk gets,
/// what holds it back, and what a change would do.
#[derive(Debug, Parser)]
#[command(
    name = "narrows",
    version,
    max_term_width = 100,
    after_help = "Where a file is read, - is the standard input.\n\
        Exit codes: 0 fine, 1 a stated need is not met, 2 the input cannot be used,\n\
         3 what was said may mean several things."
)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub command: Option<Command>,
}

#[derive(Debug, Subcommand)]
#[allow(clippy::large_enum_variant)] // there is one
pub(crate) enum Command {
    /// Say how old each copy is, how long until work goes on, and which copy is worth having next
    Backup(Backup),
    /// Predict read and write MB/s for each desk alone, and name what limits
    Budget(Budget),
    /// Say what to buy first: every combination of offers that no cheaper one equals
    Buy(Buy),
    /// Count the space of layouts to the byte, or the drives that a need takes
    Capacity(Capacity),
    /// Judge whether the cable in the wall carries a rate: margin, chances, what would help
    Cable(Cable),
    /// Look for faults in a site file, and say how to find each missing value
    Check(Check),
    /// Write the completions of a shell, with the names of a site where one is given
    Completions(Completions),
    /// Ask the way to a site file: who edits where, what holds the drives, what is in the wall
    Describe(Describe),
    /// Print an example that comes along: sites, tasks, offers and lists
    Example(Example),
    /// Say whether a measured number is right, what may be at fault, and what to test next
    Explain(Explain),
    /// List the catalogue: constants, words and their sources
    Facts(Facts),
    /// Say what comes in and when the array is full: a chance for every month, and when to order
    Growth(Growth),
    /// Compare layouts of drives in a number of bays: space, rates, safety and price
    Layouts(Layouts),
    /// Write the manual pages into a folder
    Manual(Manual),
    /// Ask this machine what it says of itself, or measure its files and its network
    Measure(Measure),
    /// Say what backup supplies carry through a gap of the mains, how long, and when to stop
    Outage(Outage),
    /// Say which desk gets which port of a switch: a patch list to carry to the closet
    Ports(Ports),
    /// Make one page to show the team: drawing, ledgers, patch list, labels, what it should be
    Report(Report),
    /// Print the JSON Schema of a site file, or of what a command answers with --format json
    Schema(Schema),
    /// Predict what every task gets while all go on, who drops frames and how full each place is
    Together(Together),
    /// Say what desks and rooms get through the air, and on which jacks access points go
    Wireless(Wireless),
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// For a person
    #[default]
    Text,
    /// For a program: stable keys
    Json,
    /// The main table for a spreadsheet
    Csv,
    /// The main table for a document
    Markdown,
}

#[derive(Debug, Args)]
pub(crate) struct Explain {
    /// The site file; without one, say what there is with the options under "Without a file", or
    /// nothing at all
    pub site: Option<PathBuf>,
    /// What was measured or noticed, in your own words, for example "100 GB to the NAS took 23
    /// minutes" or "another computer is just as slow" (repeatable)
    #[arg(long, value_name = "TEXT")]
    pub measured: Vec<String>,
    /// A CSV file of readings and remarks, with the columns desk, what, direction, value, low, high,
    /// unit, exactness, size, streams, again, remark
    #[arg(long, value_name = "FILE")]
    pub readings: Option<PathBuf>,
    /// Whose the readings are that name no desk
    #[arg(long, value_name = "NAME", requires = "site")]
    pub desk: Option<String>,
    /// Change a value of the description first, for example 'nas.store.port.a.rate="10 Gb/s"'
    /// (repeatable)
    #[arg(long, value_name = "PATH=VALUE")]
    pub set: Vec<String>,
    /// All causes, all that is ruled out, and everything that was assumed
    #[arg(long)]
    pub why: bool,
    /// How to print the answer
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
    #[command(flatten)]
    pub measuring: Measuring,
    #[command(flatten)]
    pub parts: Parts,
}

/// Measuring at the desk that this runs on
#[derive(Debug, Args)]
#[command(next_help_heading = "Measuring here")]
pub(crate) struct Measuring {
    /// Measure at this desk first: what the machine says, a folder of the share, the network; each with your consent
    #[arg(long, requires = "site")]
    pub measure: bool,
    /// The folder of the share that a test file is written into, and removed from
    #[arg(long, value_name = "FOLDER", requires = "measure")]
    pub folder: Option<PathBuf>,
    /// Be asked one question at a time, the one that tells most a minute first. With --measure: the address of the machine on
    /// which narrows measure network --wait runs
    #[arg(long, value_name = "ADDRESS", num_args = 0..=1, default_missing_value = "")]
    pub ask: Option<String>,
    /// A file with the token that the other machine shows
    #[arg(long, value_name = "FILE", requires = "ask")]
    pub token_file: Option<PathBuf>,
    /// Seconds of each run
    #[arg(long, value_name = "SECONDS", default_value_t = 8, requires = "measure", value_parser = clap::value_parser!(u32).range(1..=60))]
    pub measure_seconds: u32,
    #[command(flatten)]
    pub safety: Safety,
}

/// What a person agrees to
#[derive(Clone, Copy, Debug, Args)]
pub(crate) struct Safety {
    /// Answer every question of measuring with yes
    #[arg(long)]
    pub yes: bool,
    /// Run with the rights of the administrator, which nothing needs
    #[arg(long)]
    pub as_administrator: bool,
}

#[derive(Debug, Args)]
#[command(
    after_help = "Measuring loads a network that others work on, writes wear flash, and drives with shingled tracks are slow for hours after a large write. An array is not a backup."
)]
pub(crate) struct Measure {
    #[command(subcommand)]
    pub what: Measured,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Measured {
    /// Read what this machine says of its links, shares, drives, processor and memory; changes nothing
    Machine(MeasureMachine),
    /// Write and read new files in a folder, and remove them again
    Files(MeasureFiles),
    /// Send random bytes from memory to memory between two machines: one waits, one asks
    Network(MeasureNetwork),
}

#[derive(Debug, Args)]
pub(crate) struct MeasureMachine {
    /// Hold it against this site file, and say what differs
    #[arg(long, value_name = "SITE")]
    pub site: Option<PathBuf>,
    /// Which desk of the site this machine is
    #[arg(long, value_name = "NAME", conflicts_with = "nas")]
    pub desk: Option<String>,
    /// Which NAS of the site this machine is
    #[arg(long, value_name = "NAME")]
    pub nas: Option<String>,
    /// Read another tree of files in place of this machine's own
    #[arg(long, value_name = "FOLDER")]
    pub root: Option<PathBuf>,
    /// Say of everything that is not there why
    #[arg(long)]
    pub why: bool,
    /// How to print the answer
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct MeasureFiles {
    /// The folder: of a share, or of a disk of this machine
    pub folder: PathBuf,
    /// Bytes of the large file, for example "20 GB"; more than 10 GB is asked about
    #[arg(long, value_name = "SIZE")]
    pub size: Option<String>,
    /// The longest that writing, reading and small files may take, each
    #[arg(long, value_name = "SECONDS", default_value_t = 60, value_parser = clap::value_parser!(u32).range(1..=600))]
    pub seconds: u32,
    /// How many files are written and read at once in a second run, of a quarter of the size together; 0 for none
    #[arg(long, value_name = "COUNT", default_value_t = 4, value_parser = clap::value_parser!(u8).range(0..=16))]
    pub at_once: u8,
    /// How many small files
    #[arg(long, value_name = "COUNT", default_value_t = 1000, value_parser = clap::value_parser!(u64).range(0..=10_000))]
    pub small: u64,
    /// This is the machine that holds the array, and the folder lies on it
    #[arg(long)]
    pub at_the_array: bool,
    /// Whose the readings are
    #[arg(long, value_name = "NAME")]
    pub desk: Option<String>,
    /// Write what was measured into this list, for narrows explain --readings
    #[arg(long, value_name = "FILE")]
    pub readings: Option<PathBuf>,
    #[command(flatten)]
    pub safety: Safety,
    /// How to print the answer
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct MeasureNetwork {
    /// Wait for one other machine: start this one first
    #[arg(long, conflicts_with = "ask")]
    pub wait: bool,
    /// Ask the machine that waits at this address, in digits
    #[arg(long, value_name = "ADDRESS")]
    pub ask: Option<String>,
    /// Wait at this address of this machine; only this machine itself unless told
    #[arg(long, value_name = "ADDRESS", requires = "wait")]
    pub at: Option<String>,
    /// Waiting: keep the token in this new file. Asking: read it there
    #[arg(long, value_name = "FILE")]
    pub token_file: Option<PathBuf>,
    /// Seconds of a run; waiting: at most
    #[arg(long, value_name = "SECONDS", default_value_t = 8, value_parser = clap::value_parser!(u32).range(1..=60))]
    pub seconds: u32,
    /// Minutes to wait and work, at most
    #[arg(long, value_name = "MINUTES", default_value_t = 10, requires = "wait", value_parser = clap::value_parser!(u32).range(1..=60))]
    pub minutes: u32,
    /// Hold every run to this rate, for use while others work, for example "20 MB/s"
    #[arg(long, value_name = "RATE", requires = "ask")]
    pub held_to: Option<String>,
    /// Whose the readings are
    #[arg(long, value_name = "NAME")]
    pub desk: Option<String>,
    /// Write what was measured into this list, for narrows explain --readings
    #[arg(long, value_name = "FILE", requires = "ask")]
    pub readings: Option<PathBuf>,
    #[command(flatten)]
    pub safety: Safety,
    /// How to print the answer
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct Report {
    /// The site file
    pub site: PathBuf,
    /// The page that is made, for example page.html; - writes it to standard output
    #[arg(long, short, value_name = "FILE")]
    pub output: PathBuf,
    /// Write over a file that is there, whatever it is
    #[arg(long)]
    pub force: bool,
    /// A list of jacks: adds jacks to the patch list, and labels to cut out
    #[arg(long, value_name = "FILE")]
    pub jacks: Option<PathBuf>,
    /// What the desks do, in place of the tasks of the site: a file of [[task]]
    #[arg(long, value_name = "FILE")]
    pub tasks: Option<PathBuf>,
    /// Jobs with hours: adds the day
    #[arg(long, value_name = "FILE")]
    pub day: Option<PathBuf>,
    /// What could be bought: adds what to buy first
    #[arg(long, value_name = "FILE")]
    pub offers: Option<PathBuf>,
    /// Numbers that were read: adds what they mean
    #[arg(long, value_name = "FILE")]
    pub readings: Option<PathBuf>,
    /// Open the page in a browser
    #[arg(long)]
    pub open: bool,
    /// Make the page anew whenever one of the files changes
    #[arg(long)]
    pub watch: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Wireless {
    /// The site file
    pub site: PathBuf,
    /// A rate that every desk or room should read, for example "25 MB/s"; exit code 1 where fewer than
    /// 95 % of cases do
    #[arg(long, value_name = "RATE")]
    pub need: Option<String>,
    /// Place up to so many access points on the jacks of the site, every number from one
    #[arg(long, value_name = "COUNT", value_parser = whole(1, 12))]
    pub place: Option<usize>,
    /// Plan without channels on which equipment has to listen for radar
    #[arg(long)]
    pub without_radar: bool,
    /// Draw the storeys as an SVG picture into this file
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Write over the file of --svg if it is there
    #[arg(long, requires = "svg")]
    pub force: bool,
    /// Change a value first, for example 'access-point.hall.width="40 MHz"' (repeatable)
    #[arg(long, value_name = "PATH=VALUE")]
    pub set: Vec<String>,
    /// How to print the answer
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}

impl Command {
    /// What it is called, and how its answer is printed.
    pub(crate) fn about(&self) -> (&'static str, Format) {
        match self {
            Self::Backup(a) => ("backup", a.format),
            Self::Budget(a) => ("budget", a.format),
            Self::Buy(a) => ("buy", a.format),
            Self::Capacity(a) => ("capacity", a.format),
            Self::Cable(a) => ("cable", a.format),
            Self::Check(a) => ("check", a.format),
            Self::Completions(_) => ("completions", Format::Text),
            Self::Describe(_) => ("describe", Format::Text),
            Self::Example(_) => ("example", Format::Text),
            Self::Explain(a) => ("explain", a.format),
            Self::Facts(a) => ("facts", a.format),
            Self::Growth(a) => ("growth", a.format),
            Self::Layouts(a) => ("layouts", a.format),
            Self::Manual(_) => ("manual", Format::Text),
            Self::Measure(Measure {
                what: Measured::Machine(a),
            }) => ("measure", a.format),
            Self::Measure(_) => ("measure", Format::Text),
            Self::Outage(a) => ("outage", a.format),
            Self::Ports(a) => ("ports", a.format),
            Self::Report(_) => ("report", Format::Text),
            Self::Schema(_) => ("schema", Format::Text),
            Self::Together(a) => ("together", a.format),
            Self::Wireless(a) => ("wireless", a.format),
        }
    }
}

/// A whole number within bounds, told in words.
fn whole(
    least: usize,
    most: usize,
) -> impl Fn(&str) -> Result<usize, String> + Clone + Send + Sync {
    move |text: &str| {
        text.parse::<usize>()
            .ok()
            .filter(|count| (least..=most).contains(count))
            .ok_or_else(|| format!("write a whole number from {least} to {most}"))
    }
}
