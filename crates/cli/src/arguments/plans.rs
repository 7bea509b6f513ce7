//! What to build and to buy: space, layouts, cables, ports, offers.

use super::{Format, WorkWord, whole};
use clap::{Args, ValueEnum};
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(crate) struct Buy {
    /// The site file
    pub site: PathBuf,
    /// What could be bought: a file of [[offer]] with id, price and what it sets in the site
    #[arg(long, value_name = "FILE")]
    pub offers: Option<PathBuf>,
    /// An offer in words, in place of a file, for example "10 Gb/s card for grade, 90 EUR" (repeatable)
    #[arg(long, value_name = "TEXT, PRICE", conflicts_with = "offers")]
    pub offer: Vec<String>,
    /// The currency of amounts that name none, for example EUR
    #[arg(long, value_name = "CODE")]
    pub currency: Option<String>,
    /// The most that may be spent, for example "1500 EUR" or "$500"; without offers it lists the next better
    /// part of each place
    #[arg(long, value_name = "MONEY")]
    pub spend: Option<String>,
    /// A rate that every desk should reach, reading and writing, for example "110 MB/s"; exit code 1
    /// where nothing that may be bought does that for all
    #[arg(long, value_name = "RATE")]
    pub need: Option<String>,
    /// What the desks do while somebody waits
    #[arg(long, value_enum, default_value_t)]
    pub work: WorkWord,
    /// What the desks do every day, in place of the tasks of the site: a file of [[task]]
    #[arg(long, value_name = "FILE")]
    pub tasks: Option<PathBuf>,
    /// Change a value first, for example nas.store.signed=unsigned (repeatable)
    #[arg(long, value_name = "PATH=VALUE")]
    pub set: Vec<String>,
    /// How to print the answer
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum FileSystemWord {
    /// With its 5 % reserve
    Ext4,
    /// With the defaults of its tool
    Xfs,
    /// With checksums of 4 bytes
    Btrfs,
    /// A pool: mirror, raidz1, raidz2, raidz3
    Zfs,
    /// The bare device
    None,
}

#[derive(Debug, Args)]
pub(crate) struct Capacity {
    /// Layouts, for example "raid6 6 x 10 TB" or "2 x raidz1 4 x 8 TB + 1 spare", and site files
    #[arg(
        value_name = "LAYOUT or SITE",
        required_unless_present = "need",
        conflicts_with = "need"
    )]
    pub of: Vec<String>,
    /// The file system, on the layouts that can carry it
    #[arg(long, value_enum, value_name = "NAME")]
    pub file_system: Option<FileSystemWord>,
    /// Records of large files in a pool, for example "1 MiB"; 128 KiB unless stated
    #[arg(long, value_name = "SIZE")]
    pub record: Option<String>,
    /// The smallest write to a drive of a pool, for example "512 B"; 4096 B unless stated
    #[arg(long, value_name = "SIZE")]
    pub sector: Option<String>,
    /// Up to which share of the usable space it is comfortable to fill, for example "85 %"
    #[arg(long, value_name = "SHARE")]
    pub fill: Option<String>,
    /// How to print the answer
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
    /// The other way round: the space that is needed, for example "60 TB" or "60 TB comfortable";
    /// exit code 1 where no layout has it
    #[arg(long, value_name = "SIZE", requires = "drives", help_heading = TURNED)]
    pub need: Option<String>,
    /// The size of one drive, for example "10 TB"
    #[arg(long, value_name = "SIZE", requires = "need", help_heading = TURNED)]
    pub drives: Option<String>,
    /// Hot spares on top
    #[arg(long, value_name = "COUNT", default_value_t = 0, requires = "need", help_heading = TURNED)]
    pub spares: u8,
    /// The most drives that there is room for, spares included
    #[arg(
        long, value_name = "COUNT", default_value_t = 24, requires = "need", help_heading = TURNED,
        value_parser = clap::value_parser!(u16).range(1..=1024)
    )]
    pub most: u16,
}

/// Heading of the options that ask for drives in place of space.
const TURNED: &str = "Turned round";

#[derive(Debug, Args)]
pub(crate) struct Cable {
    /// Runs in words, for example "cat5e 31 m, loose, 6 neighbours at 1 Gb/s", "fibre om3 80 m" or
    /// "twinax 3 m"; site files; and lists of jacks from a spreadsheet (csv)
    #[arg(value_name = "RUN, SITE or JACKS", required = true)]
    pub of: Vec<String>,
    /// How the chance of one rate comes about, for example "10 Gb/s"
    #[arg(long, value_name = "RATE")]
    pub why: Option<String>,
    /// A rate that every cable should hold, for example "10 Gb/s"; exit code 1 where one holds it with
    /// less than 90 %
    #[arg(long, value_name = "RATE")]
    pub need: Option<String>,
    /// Power over every cable that says nothing of its own, for example "class 4" or "class 6, 40 W,
    /// 24 powered, enclosed"
    #[arg(long, value_name = "POWER")]
    pub power: Option<String>,
    /// What the switch can give to all runs together, for example "370 W"; exit code 1 where the
    /// classes add up to more
    #[arg(long, value_name = "WATTS")]
    pub power_budget: Option<String>,
    /// Draw margin over length of the one run, or what several runs leave over, into this file;
    /// - draws to standard output
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Write over the file of --svg if it is there
    #[arg(long, requires = "svg")]
    pub force: bool,
    /// How to print the answer
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct Layouts {
    /// A site file whose array gives the drives, the fill, the bays and the NAS, where no option does
    pub site: Option<PathBuf>,
    /// Which array of the site, where there are several
    #[arg(long, value_name = "NAME", requires = "site")]
    pub array: Option<String>,
    /// Room for so many drives; repeat it to see several side by side
    #[arg(long, value_name = "COUNT", value_parser = whole(1, 100))]
    pub bays: Vec<usize>,
    /// Drives to choose from, with what one costs, for example "10 TB hdd-7200, 240 EUR"
    /// (repeatable; choices are not mixed)
    #[arg(long, value_name = "DRIVE, PRICE")]
    pub drives: Vec<String>,
    /// A CSV file of drives to choose from, with the columns drive,price
    #[arg(long, value_name = "FILE")]
    pub choices: Option<PathBuf>,
    /// What a layout has to give, for example "50 TB", "50 TB comfortable" or "900 MB/s read at the
    /// array with 4 streams" (repeatable)
    #[arg(long, value_name = "NEED")]
    pub need: Vec<String>,
    /// How many drives may fail, whichever they are
    #[arg(long, value_name = "COUNT", default_value_t = 0, value_parser = whole(0, 100))]
    pub survive: usize,
    /// How many people stream at once
    #[arg(long, value_name = "COUNT", default_value_t = 1, value_parser = whole(1, 1000))]
    pub streams: usize,
    /// How full the array will be, for example "60 %" or "40..70 %"
    #[arg(long, value_name = "SHARE")]
    pub fill: Option<String>,
    /// Show every layout, also those that another beats in everything
    #[arg(long)]
    pub all: bool,
    /// Draw space over rate, what nothing beats, into this file; - draws to standard output
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Write over the file of --svg if it is there
    #[arg(long, requires = "svg")]
    pub force: bool,
    /// How to print the answer
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct Ports {
    /// The site file
    pub site: PathBuf,
    /// A list of jacks from a spreadsheet: jack, panel port, desk, traced, and what is known of each cable
    #[arg(long, value_name = "FILE")]
    pub jacks: Option<PathBuf>,
    /// What the desks do, in place of the tasks of the site: a file of [[task]]
    #[arg(long, value_name = "FILE")]
    pub tasks: Option<PathBuf>,
    /// Change a value first, for example 'switch.attic.port.fast.count=4' (repeatable)
    #[arg(long, value_name = "PATH=VALUE")]
    pub set: Vec<String>,
    /// How to print the answer
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}
