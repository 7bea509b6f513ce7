//! The answer of `wireless`: links, rooms, channels and placements.

use super::feed::Feed;
use super::placing::{placements, rooms};
use crate::air::{LinkFault, Reading, Sends, carried};
use crate::budget::{self, BudgetFault, RateRange, Warning};
use crate::catalogue::Catalogue;
use crate::hop::ethernet::{Headers, efficiency};
use crate::quantity::{DataRate, LinkRate, Measure, Time, ratio, six_digits};
use crate::site::{Assumption, Cell, Machine, Medium, Radio, Site, SitePath};
use crate::spread::Draws;
use crate::work::{Activity, Direction, Work};
use crate::working::{Sheet, percentiles};
use serde::Serialize;

/// Draws of one link of a plan: chances are good to 2 in 100.
pub const USUAL_AIR_DRAWS: usize = 1024;

/// What is asked.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// The rate that a room should get when reading.
    pub need: DataRate,
    /// How many access points to place: up to so many, or none at all.
    pub place: Option<usize>,
    /// Whether channels on which radar has to be listened for may be used.
    pub radar: bool,
}

/// Percentiles of a plain number.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Spans {
    /// 5th percentile.
    pub p05: f64,
    /// Median.
    pub p50: f64,
    /// 95th percentile.
    pub p95: f64,
}

/// A desk that works through the air.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LinkRow {
    /// The desk.
    pub desk: String,
    /// The access point it hangs on.
    pub access_point: String,
    /// The room it stands in, where that is told.
    pub room: Option<String>,
    /// Reading and writing over the whole path.
    pub read_megabytes_per_s: RateRange,
    /// Writing.
    pub write_megabytes_per_s: RateRange,
    /// The signal at the desk in dBm; none where the rate is told.
    pub signal_dbm: Option<Spans>,
    /// What holds its reading back most, by site path.
    pub limited_by: String,
    /// What that is, in words.
    pub limit: String,
    /// Chance of the need when reading.
    pub need_probability: f64,
    /// Chance of no link at all.
    pub no_link_probability: f64,
    /// What a wired port of 1 Gb/s carries.
    pub wired_megabytes_per_s: f64,
    /// Round trip with nobody else on the air, and while somebody copies, in ms.
    pub round_trip_ms: Spans,
    /// While somebody copies over good queues.
    pub loaded_round_trip_ms: Spans,
    /// Files of 100 kB one after the other, in MB/s at the usual round trip and rate.
    pub small_files_megabytes_per_s: f64,
    /// Places a second when scrubbing.
    pub scrubs_per_s: f64,
    /// What to make of it.
    pub advice: String,
}

/// How a chance is called.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Shade {
    /// 9 in 10 and more.
    Sure,
    /// 2 in 3 and more.
    Likely,
    /// 1 in 3 and more.
    Doubtful,
    /// Less.
    Hardly,
}

impl Shade {
    /// Of a chance.
    pub fn of(chance: f64) -> Self {
        match chance {
            c if c >= 0.9 => Self::Sure,
            c if c >= 2.0 / 3.0 => Self::Likely,
            c if c >= 1.0 / 3.0 => Self::Doubtful,
            _ => Self::Hardly,
        }
    }

    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Sure => "sure",
            Self::Likely => "likely",
            Self::Doubtful => "doubtful",
            Self::Hardly => "hardly",
        }
    }
}

/// What a room gets of the access points that there are.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RoomRow {
    /// The room.
    pub room: String,
    /// The access point that is likely best there.
    pub access_point: String,
    /// Reading there, one desk alone on the air.
    pub read_megabytes_per_s: RateRange,
    /// Writing.
    pub write_megabytes_per_s: RateRange,
    /// What a wired port of 1 Gb/s carries.
    pub wired_megabytes_per_s: f64,
    /// Chance of the need when reading, over all access points.
    pub need_probability: f64,
    /// The same in a word.
    pub shade: Shade,
}

/// So many access points on the best jacks for them.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Placement {
    /// How many.
    pub access_points: usize,
    /// The jacks.
    pub jacks: Vec<String>,
    /// A channel for each, counted from 1; equal ones share their time.
    pub channels: Vec<usize>,
    /// Whether some of them share a channel with another that they hear.
    pub shares_a_channel: bool,
    /// Jacks of them to which power does not come over the cable.
    pub without_power: Vec<String>,
    /// Sources of power to add, one a jack without.
    pub injectors: usize,
    /// Ports of switches that are missing.
    pub ports_to_add: usize,
    /// Port and power, a jack each.
    pub feeds: Vec<Feed>,
    /// Chance of the need, a room each, in the order of `rooms`.
    pub rooms: Vec<PlacedRoom>,
    /// The least of them.
    pub least_probability: f64,
    /// Their mean.
    pub mean_probability: f64,
}

/// A room of a placement.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlacedRoom {
    /// The room.
    pub room: String,
    /// Chance of the need.
    pub need_probability: f64,
    /// The same in a word.
    pub shade: Shade,
}

/// Everything that was asked.
#[derive(Clone, Debug, Serialize)]
pub struct Answer {
    /// Name of the site.
    pub site: String,
    /// The rate that rooms should get when reading, MB/s.
    pub need_megabytes_per_s: f64,
    /// Desks that work through the air.
    pub links: Vec<LinkRow>,
    /// What rooms get of the access points that there are.
    pub rooms: Vec<RoomRow>,
    /// So many access points on the best jacks, from one up.
    pub placements: Vec<Placement>,
    /// What to look at.
    pub warnings: Vec<Warning>,
    /// What nobody said.
    pub assumptions: Vec<Assumption>,
    /// The usual cautions.
    pub cautions: Vec<String>,
}

/// The cautions of every answer about the air.
pub const CAUTIONS: &[&str] = &[
    "An estimate from published losses and judged spreads, no survey: carry the access point to the spot on a long lead before you fix it.",
    "Powers, bands and channels are bound by the rules of the country: set the country rightly in the equipment; no rule is checked here.",
    "Ladders: two people, and none above an open stairwell. Drilling: cables, pipes, gas and asbestos hide in old walls; never on the strength of this.",
    "A new mains socket, or a hole in a fire wall, is work for whoever the local code entitles. Keep fire doors shut.",
    "An array is not a backup.",
];

/// Answers it.
///
/// # Errors
/// Where the catalogue lacks a row, or no equipment goes with what is told.
pub fn answer(
    site: &Site,
    question: &Question,
    catalogue: &Catalogue,
    draws: &mut Draws,
) -> Result<Answer, BudgetFault> {
    let mut answer = Answer {
        site: site.name.clone(),
        need_megabytes_per_s: question.need.base() / 1e6,
        links: Vec::new(),
        rooms: Vec::new(),
        placements: Vec::new(),
        warnings: Vec::new(),
        assumptions: site.assumptions.clone(),
        cautions: CAUTIONS.iter().map(|c| (*c).to_owned()).collect(),
    };
    links(site, question, catalogue, draws, &mut answer)?;
    let mut own = Draws::new(USUAL_AIR_DRAWS);
    let cells: Vec<(&str, &Cell)> = site
        .switches
        .iter()
        .filter_map(|s| Some((s.name.as_str(), s.cell.as_ref()?)))
        .collect();
    answer.rooms = rooms(site, &cells, question, catalogue, &mut own)?;
    if let Some(most) = question.place {
        answer.placements = placements(site, &cells, most, question, catalogue, &mut own)?;
    }
    Ok(answer)
}

pub(super) fn fault(place: &str, fault: LinkFault) -> BudgetFault {
    match fault {
        LinkFault::Catalogue(fault) => BudgetFault::Catalogue(fault),
        LinkFault::NoEquipment => BudgetFault::Model {
            place: place.to_owned(),
            problem: "no radio speaks all that is told of it".to_owned(),
        },
    }
}

/// Desks whose path leads through the air, by the budget of the whole path.
fn links(
    site: &Site,
    question: &Question,
    catalogue: &Catalogue,
    draws: &mut Draws,
    answer: &mut Answer,
) -> Result<(), BudgetFault> {
    for run in &site.runs {
        let Medium::Wireless { carries } = &run.medium else {
            continue;
        };
        let Some(end) = [&run.from, &run.to]
            .into_iter()
            .find(|e| e.machine == Machine::Desk)
        else {
            continue;
        };
        let point = if *end == run.from { &run.to } else { &run.from };
        let asked = budget::Question {
            work: Work::plain(Activity::Copy),
            desk: Some(end.name.clone()),
            working: false,
            need: Some(question.need),
        };
        let found = budget::answer(site, &asked, catalogue, draws)?;
        let own = |direction: Direction| {
            found
                .flows
                .iter()
                .find(|f| f.direction == direction && f.port == end.port)
        };
        let (Some(read), Some(write)) = (own(Direction::Read), own(Direction::Write)) else {
            continue;
        };
        let signal = match carries {
            Radio::Payload(_) => None,
            Radio::Link(link) => {
                let mut sheet = Sheet::new(draws);
                let drawn = carried(link, Sends::Point, catalogue, &mut sheet)
                    .map_err(|f| fault(&link.id, f))?;
                drawn.signal.map(|s| spans(&s.every_base(draws.count())))
            }
        };
        let limited_by = read
            .limits
            .first()
            .map_or(String::new(), |l| l.hops.join(" with "));
        let here = SitePath::run(run).to_string();
        let limit = if limited_by.contains(&here) {
            why(carries)
        } else {
            read.hop(&limited_by)
                .map_or_else(|| limited_by.clone(), |hop| hop.label.clone())
        };
        let room = site
            .desks
            .iter()
            .find(|d| d.name == end.name)
            .and_then(|d| d.room.clone());
        let (idle, loaded) = (
            trips(catalogue, "air.round-trip.idle.usual")?,
            trips(catalogue, "air.round-trip.loaded.good")?,
        );
        let chance = read.need.as_ref().map_or(0.0, |need| need.probability);
        let middle = read.megabytes_per_s.p50;
        answer.links.push(LinkRow {
            desk: end.name.clone(),
            access_point: point.name.clone(),
            room,
            read_megabytes_per_s: read.megabytes_per_s,
            write_megabytes_per_s: write.megabytes_per_s,
            signal_dbm: signal,
            limited_by,
            limit,
            need_probability: six_digits(chance),
            no_link_probability: six_digits(read.no_link_probability),
            wired_megabytes_per_s: six_digits(wired() / 1e6),
            small_files_megabytes_per_s: six_digits(small_files(middle, idle.p50)),
            scrubs_per_s: six_digits(scrubs(middle, idle.p50)),
            round_trip_ms: idle,
            loaded_round_trip_ms: loaded,
            advice: advice(chance).to_owned(),
        });
        for warning in found.warnings {
            if !answer.warnings.contains(&warning) {
                answer.warnings.push(warning);
            }
        }
    }
    Ok(())
}

/// What holds a radio link back, in words.
fn why(carries: &Radio) -> String {
    let Radio::Link(link) = carries else {
        return "the radio, as it was told".to_owned();
    };
    match (&link.reading, &link.between.obstacles) {
        (Reading::Shown(_), _) => "the rate that it shows, and busy air".to_owned(),
        (Reading::Signal(_), _) => "the signal there, and busy air".to_owned(),
        (Reading::None, None) => "walls of which nothing is known".to_owned(),
        (Reading::None, Some(all)) if all.is_empty() => "busy air and the equipment".to_owned(),
        (Reading::None, Some(all)) => {
            let kinds: Vec<String> = all.iter().map(|o| o.kind.replace('-', " ")).collect();
            format!("what is in the way: {}", kinds.join(", "))
        }
    }
}

fn advice(chance: f64) -> &'static str {
    if chance >= 0.9 {
        "wireless will do, where a late copy costs nothing"
    } else {
        "a wired port is the answer"
    }
}

/// Payload of a wired port of 1 Gb/s, bytes a second.
pub(super) fn wired() -> f64 {
    let share = efficiency(1500, Headers::Ipv4Timestamps, 0).map_or(0.0, Measure::base);
    (LinkRate::from_megabits(1000).signalled() * ratio(share)).base()
}

/// Files of 100 kB in MB/s: four round trips a file, 0.2 ms of the server's time in each.
/// `validate_small_files_and_scrubbing` checks it.
pub(super) fn small_files(rate: DataRate, round_trip_ms: f64) -> f64 {
    let each = 4.0 * (round_trip_ms + 0.2) * 1e-3;
    0.1 / (1e5 / rate.base() + each)
}

/// Two round trips and 2 MB a place.
pub(super) fn scrubs(rate: DataRate, round_trip_ms: f64) -> f64 {
    1.0 / (2.0 * round_trip_ms * 1e-3 + 2e6 / rate.base())
}

fn trips(catalogue: &Catalogue, row: &str) -> Result<Spans, BudgetFault> {
    let spread = catalogue.spread::<Time>(row)?;
    let (low, likely, high) = spread.law().knots();
    Ok(Spans {
        p05: six_digits(low * 1e3),
        p50: six_digits(likely * 1e3),
        p95: six_digits(high * 1e3),
    })
}

pub(super) fn spans(values: &[f64]) -> Spans {
    let p = percentiles::<f64>(values);
    Spans {
        p05: six_digits(p.p05),
        p50: six_digits(p.p50),
        p95: six_digits(p.p95),
    }
}
