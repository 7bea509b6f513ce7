//! What desks get: each alone, all together.

use super::Format;
use clap::{Args, ValueEnum};
use std::path::PathBuf;

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum WorkWord {
    /// Copy between the array and the desk's own disk
    #[default]
    Copy,
    /// Stream without touching the desk's own disk
    Play,
    /// Memory to memory over the network, without files
    Wire,
    /// A program on the NAS itself, without the network
    AtTheArray,
}

#[derive(Debug, Default, Args)]
pub(crate) struct Budget {
    /// The site file; without one, describe one desk with the options under "Without a file"
    pub site: Option<PathBuf>,
    /// One desk, place by place
    #[arg(long, value_name = "NAME")]
    pub desk: Option<String>,
    /// How the number of one place comes about, for example array.vault
    #[arg(long, value_name = "HOP")]
    pub why: Option<String>,
    /// Say what the next better part of each place would give: faster ports, a better cable, more drives or
    /// faster ones, a faster processor
    #[arg(long, conflicts_with_all = ["compare", "plays"])]
    pub better: bool,
    /// Change a value and compare, for example 'nas.store.port.a.rate="10 Gb/s"' (repeatable)
    #[arg(long, value_name = "PATH=VALUE")]
    pub set: Vec<String>,
    /// Another site file, to compare with this one desk by desk; - is the standard input
    #[arg(long, value_name = "OTHER", requires = "site", conflicts_with = "set")]
    pub compare: Option<PathBuf>,
    /// What each desk can play: how many layers of each codec hold in 95 of 100 cases
    #[arg(long, conflicts_with_all = ["work", "files", "size", "need", "why", "svg"])]
    pub plays: bool,
    /// What the desks do
    #[arg(long, value_enum, default_value_t)]
    pub work: WorkWord,
    /// Many small files in place of one big one, for example "10000 x 50 kB"
    #[arg(long, value_name = "COUNT x SIZE")]
    pub files: Option<String>,
    /// Pieces of this size at random places, for example "16 kB": pictures of a catalogue, project files, databases
    #[arg(long, value_name = "SIZE", conflicts_with_all = ["files", "size", "plays"])]
    pub random: Option<String>,
    /// Follow one copy of this size through caches and tired flash, for example "200 GB"
    #[arg(long, value_name = "SIZE")]
    pub size: Option<String>,
    /// A rate that every desk should reach, for example "110 MB/s" or "880 Mb/s"; exit code 1 where
    /// fewer than 95 % of cases do
    #[arg(long, value_name = "RATE")]
    pub need: Option<String>,
    /// Draw the place, or with --desk its ledger, into this file; - draws to standard output
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Write over the file of --svg if it is there
    #[arg(long, requires = "svg")]
    pub force: bool,
    /// How to print the answer
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
    #[command(flatten)]
    pub parts: Parts,
}

/// Without a file
#[derive(Debug, Default, Args)]
#[command(next_help_heading = "Without a file")]
pub(crate) struct Parts {
    /// The desk's own disk, for example nvme-gen3
    #[arg(long, value_name = "CLASS", conflicts_with = "site")]
    pub disk: Option<String>,
    /// The desk's port, for example "10 Gb/s"
    #[arg(long, value_name = "RATE", conflicts_with = "site")]
    pub port: Option<String>,
    /// The cable from the desk, for example "cat6 22 m"
    #[arg(long, value_name = "CABLE", conflicts_with = "site")]
    pub cable: Option<String>,
    /// A switch in between, for example "10 Gb/s"
    #[arg(long, value_name = "RATE", conflicts_with = "site")]
    pub switch: Option<String>,
    /// The NAS, for example "small, 4 cores, 10 Gb/s, smb"
    #[arg(long, value_name = "PARTS", conflicts_with = "site")]
    pub nas: Option<String>,
    /// The array, for example "raid6 6 x 10 TB hdd-7200"
    #[arg(long, value_name = "LAYOUT", conflicts_with = "site")]
    pub array: Option<String>,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Everyone {
    /// Copy between the array and the desk's own disk
    #[default]
    Copy,
    /// Stream without touching the desk's own disk
    Play,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Way {
    /// From the array
    #[default]
    Read,
    /// To the array
    Write,
}

#[derive(Debug, Args)]
pub(crate) struct Together {
    /// The site file
    pub site: PathBuf,
    /// A file of [[task]] parts, in place of those of the site
    #[arg(long, value_name = "FILE")]
    pub tasks: Option<PathBuf>,
    /// What every desk does where no tasks are told
    #[arg(long, value_enum, default_value_t)]
    pub work: Everyone,
    /// Which way, then
    #[arg(long, value_enum, default_value_t)]
    pub direction: Way,
    /// Change a value and compare, for example 'run.5.cable="cat6a"' or task.2.layers=1 (repeatable)
    #[arg(long, value_name = "PATH=VALUE")]
    pub set: Vec<String>,
    /// Another site file, to compare with this one task by task; - is the standard input
    #[arg(long, value_name = "OTHER", conflicts_with_all = ["set", "day"])]
    pub compare: Option<PathBuf>,
    /// A rate that every task should reach, for example "50 MB/s"; exit code 1 where fewer than 95 % of
    /// cases do, and where a task that plays in time is short in the median
    #[arg(long, value_name = "RATE")]
    pub need: Option<String>,
    /// Play a day in place of tasks: a CSV file of jobs with the columns
    /// what,size,from,to,earliest,due and, where needed, held to,read back; exit code 1 where a job
    /// is late in the median
    #[arg(long, value_name = "FILE", conflicts_with_all = ["tasks", "work", "direction", "need"])]
    pub day: Option<PathBuf>,
    /// Draw the shares and the full places, or the day, into this file; - draws to standard output
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Write over the file of --svg if it is there
    #[arg(long, requires = "svg")]
    pub force: bool,
    /// How to print the answer
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}
