//! What keeps the pictures: mains gaps, growth, copies.

use super::Format;
use clap::Args;
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(crate) struct Outage {
    /// The site file, with at least one [supply.NAME]
    pub site: PathBuf,
    /// A gap of the mains, for example "30 s", "10 min" or "2..30 s"; the usual ones without it
    #[arg(long, value_name = "TIME")]
    pub gap: Option<String>,
    /// How many such gaps, one after the other
    #[arg(long, value_name = "COUNT", default_value_t = 1, requires = "gap",
        value_parser = clap::value_parser!(u32).range(1..=20))]
    pub times: u32,
    /// Mains between two of them, for example "20 min"
    #[arg(long, value_name = "TIME", requires = "gap")]
    pub pause: Option<String>,
    /// How long a supply should last, for example "15 min": which rating and how many Ah that takes;
    /// exit code 1 where one lasts as long in fewer than 95 % of cases
    #[arg(long, value_name = "TIME")]
    pub need: Option<String>,
    /// A generator that carries the load after this time, one failed start included, for example "45 s"
    #[arg(long, value_name = "TIME")]
    pub generator: Option<String>,
    /// Change a value first, for example 'supply.closet.age="5 years"' (repeatable)
    #[arg(long, value_name = "PATH=VALUE")]
    pub set: Vec<String>,
    /// How to print the answer
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct Growth {
    /// The site file
    pub site: PathBuf,
    /// The array that what comes in goes to; the largest without it
    #[arg(long, value_name = "NAME")]
    pub array: Option<String>,
    /// A CSV file of what the fill was: columns date (2026-03-01) and size (31.0 TB); it beats what
    /// the project says
    #[arg(long, value_name = "FILE")]
    pub readings: Option<PathBuf>,
    /// The month of the year that comes next, 1 for January, where the year has seasons
    #[arg(long, value_name = "MONTH", requires = "seasons",
        value_parser = clap::value_parser!(u32).range(1..=12))]
    pub from: Option<u32>,
    /// Twelve factors of the months over the mean one, January first, with commas
    #[arg(long, value_name = "FACTORS", requires = "from")]
    pub seasons: Option<String>,
    /// Time that space should last, for example "180 d"; exit code 1 where an array is at its
    /// comfortable fill before that in more than 5 % of cases
    #[arg(long, value_name = "TIME")]
    pub need: Option<String>,
    /// Write the fill over time as a picture (SVG), with its band; - is the standard output
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Write over the file of --svg if it is there
    #[arg(long, requires = "svg")]
    pub force: bool,
    /// Change a value first, for example 'project.cameras=3' (repeatable)
    #[arg(long, value_name = "PATH=VALUE")]
    pub set: Vec<String>,
    /// How to print the answer
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct Backup {
    /// The site file, with at least one [copy.NAME]
    pub site: PathBuf,
    /// The jobs of a day beside which the copies run: a CSV file as for together --day
    #[arg(long, value_name = "FILE")]
    pub day: Option<PathBuf>,
    /// Change to another layout: where everything lies meanwhile, hours out and back, what is at risk,
    /// for example "raidz2 6 x 14 TB"
    #[arg(long, value_name = "LAYOUT", conflicts_with = "day")]
    pub r#move: Option<String>,
    /// The age that the newest whole copy away from the room may have, for example "3 d"; exit code 1
    /// where it is older in more than 5 % of moments
    #[arg(long, value_name = "TIME")]
    pub need: Option<String>,
    /// Change a value first, for example 'copy.shelf.tried=yearly' (repeatable)
    #[arg(long, value_name = "PATH=VALUE")]
    pub set: Vec<String>,
    /// How to print the answer
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}
