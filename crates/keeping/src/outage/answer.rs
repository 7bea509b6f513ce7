use super::gaps::{chances, change_over, in_a_row, year};
use super::lasting::{Health, Unit, lead_rows, needed_charge, rating_for};
use super::loads::{self, Load};
use super::stop::{StopAnswer, stopping};
use crate::samples::{KeepingFault, Range, Samples, base, digits, mean, share_of};
use narrows_core::catalogue::Catalogue;
use narrows_core::power::{Lasts, in_watts, watts};
use narrows_core::quantity::{Measure, Power, Ratio, Time};
use narrows_core::site::{Machine, Site, SitePath, Supply};
use narrows_core::spread::Draws;
use serde::Serialize;

/// A gap, or gaps of a range of lengths, evenly over the logarithm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// Shortest.
    pub from: Time,
    /// Longest; the same where the length is known.
    pub to: Time,
}

/// What is asked beside the supplies themselves.
#[derive(Clone, Debug, Default)]
pub struct Question {
    /// A gap; the usual ones where none is named.
    pub gap: Option<Gap>,
    /// How many such gaps, one after the other.
    pub times: u32,
    /// Mains between two of them.
    pub pause: Option<Time>,
    /// How long the supply should last.
    pub need: Option<Time>,
    /// How long a generator takes to carry the load, with one failed start.
    pub generator: Option<Time>,
}

/// What becomes of a site in a gap.
#[derive(Clone, Debug, Serialize)]
pub struct Outage {
    /// One a supply.
    pub supplies: Vec<SupplyAnswer>,
    /// Machines that hold or pass on data and hang on no supply.
    pub unprotected: Vec<String>,
}

/// What a supply does.
#[derive(Clone, Debug, Serialize)]
#[allow(clippy::struct_field_names)] // keys of the contract
pub struct SupplyAnswer {
    /// Name in the site.
    pub supply: String,
    /// What hangs on it.
    pub loads: Vec<Load>,
    /// All of it at work.
    pub busy_watts: Range<Power>,
    /// Apparent power at work.
    pub busy_volt_amperes: Range<f64>,
    /// All of it while drives start at once.
    pub start_watts: Range<Power>,
    /// All of it while drives start one after the other.
    pub start_in_turn_watts: Range<Power>,
    /// Until all drives turn then; none where nothing spins up.
    pub start_in_turn_s: Option<Range<Time>>,
    /// What it gives at most.
    #[serde(serialize_with = "base")]
    pub rating_watts: Power,
    /// Apparent power that it gives at most, where that is told.
    pub rating_volt_amperes: Option<f64>,
    /// The chance that work alone is too much for it.
    #[serde(serialize_with = "digits")]
    pub overload_probability: f64,
    /// The chance that starting all drives at once is.
    #[serde(serialize_with = "digits")]
    pub start_overload_probability: f64,
    /// The chance that everything on it holds through the change-over.
    #[serde(serialize_with = "digits")]
    pub change_over_probability: f64,
    /// What most often does not; none where nothing is told of it.
    pub change_over_weakest: Option<String>,
    /// How long it lasts with a new battery; where it is under the first entry of the table, zero.
    pub lasts_new_s: Range<Time>,
    /// How long it lasts today.
    pub lasts_s: Range<Time>,
    /// How long it lasts at the end of its battery's life.
    pub lasts_worn_s: Range<Time>,
    /// How long its network part alone would last today; none where that is all there is, or nothing.
    pub lasts_network_only_s: Option<Range<Time>>,
    /// What the network part alone takes.
    pub network_only_watts: Option<Range<Power>>,
    /// Share of cases in which it lasts less than the shortest time that its table knows.
    #[serde(serialize_with = "digits")]
    pub under_table_probability: f64,
    /// The chance that it fails when it is asked.
    #[serde(serialize_with = "digits")]
    pub dead_probability: f64,
    /// Chances of riding through gaps.
    pub gaps: Vec<GapAnswer>,
    /// Gaps one after the other, where they were asked about.
    pub in_a_row: Vec<InReserve>,
    /// A year of the usual gaps.
    pub year: YearAnswer,
    /// Stopping in order; none where it feeds no NAS.
    pub stop: Option<StopAnswer>,
    /// What would do, where a time was asked for.
    pub need: Option<NeedAnswer>,
    /// The chance that it lasts until a generator carries the load.
    pub generator_probability: Option<f64>,
    /// When stopping may begin and what it takes, for who asks further.
    #[serde(skip)]
    pub followed: Followed,
}

/// Columns that tests follow further.
#[derive(Clone, Debug, Default)]
pub struct Followed {
    /// How long it lasts today, draw by draw; zero where the table does not know.
    pub lasts: Vec<Time>,
}

/// The chance of riding through a gap.
#[derive(Clone, Debug, Serialize)]
pub struct GapAnswer {
    /// Shortest.
    #[serde(serialize_with = "base")]
    pub from_s: Time,
    /// Longest.
    #[serde(serialize_with = "base")]
    pub to_s: Time,
    /// The chance that nothing on the supply notices.
    #[serde(serialize_with = "digits")]
    pub ridden_probability: f64,
}

/// What is left after a gap of several.
#[derive(Clone, Debug, Serialize)]
pub struct InReserve {
    /// Which gap, from 1.
    pub gap: u32,
    /// Charge behind it.
    pub charge: Range<f64>,
    /// The chance that the supply still carries its load at its end.
    #[serde(serialize_with = "digits")]
    pub carried_probability: f64,
}

/// A year of the usual gaps, in the mean.
#[derive(Clone, Debug, Serialize)]
#[allow(clippy::struct_field_names)] // keys of the contract
pub struct YearAnswer {
    /// Gaps without a supply.
    #[serde(serialize_with = "digits")]
    pub gaps_a_year: f64,
    /// Gaps that come through.
    #[serde(serialize_with = "digits")]
    pub not_ridden_a_year: f64,
    /// Those of them in which power just goes: nothing is stopped in order.
    #[serde(serialize_with = "digits")]
    pub unprepared_a_year: f64,
}

/// What would last as long as was asked.
#[derive(Clone, Debug, Serialize)]
pub struct NeedAnswer {
    /// The time.
    #[serde(serialize_with = "base")]
    pub wanted_s: Time,
    /// The chance that this supply lasts as long today.
    #[serde(serialize_with = "digits")]
    pub met_probability: f64,
    /// The least rating, with a quarter to spare.
    #[serde(serialize_with = "base")]
    pub rating_watts: Power,
    /// Ah of 12 V blocks together, at the end of their life; none outside 5 min to 20 h.
    pub ampere_hours: Option<Range<f64>>,
}

/// Gaps that are told of where nobody named one.
pub(super) const USUAL_GAPS: [(f64, f64); 4] = [
    (2.0, 30.0),
    (300.0, 300.0),
    (1800.0, 1800.0),
    (7200.0, 7200.0),
];

/// Answers for every supply of a site.
///
/// # Errors
/// Where the site has no supply, or the catalogue lacks a row.
pub fn outage(
    site: &Site,
    question: &Question,
    catalogue: &Catalogue,
    draws: &mut Draws,
) -> Result<Outage, KeepingFault> {
    if site.supplies.is_empty() {
        return Err(KeepingFault::Missing {
            what: "backup supply",
            help: "add [supply.closet] with rating = \"900 W\", battery = \"2 x 9 Ah\" and feeds = \"nas.store\"",
        });
    }
    let mut samples = Samples { catalogue, draws };
    let mut supplies = Vec::with_capacity(site.supplies.len());
    for supply in &site.supplies {
        supplies.push(one(site, supply, question, &mut samples)?);
    }
    let fed = |id: &str| {
        site.supplies
            .iter()
            .flat_map(|s| &s.feeds)
            .any(|f| f.id() == id)
    };
    let nas = site
        .nas
        .iter()
        .map(|n| SitePath::Nas(&n.name, None).to_string());
    let switches = site.switches.iter().filter(|switch| {
        // an access point lives on where its switch feeds it
        let from = |other: &narrows_core::site::Switch| {
            fed(&SitePath::Switch(&other.name, None).to_string())
                && loads::is_fed_by(site, &switch.name, &other.name)
        };
        !site.switches.iter().any(from)
    });
    let switches = switches.map(|switch| {
        let word = if switch.cell.is_some() {
            "access-point"
        } else {
            "switch"
        };
        format!("{word}.{}", switch.name)
    });
    let unprotected = nas.chain(switches).filter(|id| !fed(id)).collect();
    Ok(Outage {
        supplies,
        unprotected,
    })
}

fn one(
    site: &Site,
    supply: &Supply,
    question: &Question,
    samples: &mut Samples<'_>,
) -> Result<SupplyAnswer, KeepingFault> {
    let count = samples.count();
    let mut all = Vec::new();
    for fed in &supply.feeds {
        all.push(loads::load(site, fed, samples)?);
    }
    if let Some(others) = &supply.others {
        let each = samples.value(others);
        all.push(loads::others("others".to_owned(), each));
    }
    let measured = supply.measured.as_ref().map(|m| samples.value(m));
    let loads::Sums {
        busy,
        start,
        in_turn,
    } = loads::together(&all, measured.as_deref(), count);
    let factor: Vec<Ratio> = samples.row("power.supply.factor")?;
    let apparent: Vec<f64> = (0..count)
        .map(|i| in_watts(busy[i]) / factor[i].base())
        .collect();
    let over = |i: usize, load: Power| {
        let va = in_watts(load) / factor[i].base();
        load > supply.rating || supply.apparent.is_some_and(|most| va > most)
    };
    let unit = Unit::of(supply, samples)?;
    let column = |load: &[Power], health| -> Vec<Time> {
        (0..count)
            .map(|i| unit.lasts(load[i], health, i).at_least())
            .collect()
    };
    let lasts = column(&busy, Health::Today);
    let under = share_of(count, |i| {
        !matches!(
            unit.lasts(busy[i], Health::Today, i),
            Lasts::For(_) | Lasts::Over(_)
        )
    });
    let (holds, weakest) = change_over(supply, &all, samples)?;
    let network = network_only(&all, count);
    let dead: Vec<f64> = unit.dead.iter().map(|d| d.base()).collect();
    let dead_mean = mean(&dead);
    let up: Vec<bool> = (0..count).map(|i| !over(i, busy[i]) && holds[i]).collect();
    let gaps = chances(question, &up, &dead, &lasts);
    let stop = stopping(site, supply, &lasts, samples)?;
    let year = year(&lasts, stop.as_ref(), &dead, samples)?;
    let need = match question.need {
        Some(time) => Some(needed(
            supply,
            &unit,
            (&busy, &start),
            time,
            &lasts,
            samples,
        )?),
        None => None,
    };
    Ok(SupplyAnswer {
        supply: supply.name.clone(),
        busy_watts: Range::of(&busy),
        busy_volt_amperes: Range::of(&apparent),
        start_watts: Range::of(&start),
        start_in_turn_watts: Range::of(&in_turn),
        start_in_turn_s: loads::all_turn(&all, count).map(|times| Range::of(&times)),
        rating_watts: supply.rating,
        rating_volt_amperes: supply.apparent,
        overload_probability: share_of(count, |i| over(i, busy[i])),
        start_overload_probability: share_of(count, |i| over(i, start[i])),
        change_over_probability: share_of(count, |i| holds[i]),
        change_over_weakest: weakest,
        lasts_new_s: Range::of(&column(&busy, Health::New)),
        lasts_s: Range::of(&lasts),
        lasts_worn_s: Range::of(&column(&busy, Health::Worn)),
        lasts_network_only_s: network
            .as_ref()
            .map(|load| Range::of(&column(load, Health::Today))),
        network_only_watts: network.as_ref().map(|load| Range::of(load)),
        under_table_probability: under,
        dead_probability: dead_mean,
        gaps,
        in_a_row: in_a_row(question, &lasts, &unit, count),
        year,
        stop: stop.map(|s| s.answer),
        need,
        generator_probability: question
            .generator
            .map(|until| share_of(count, |i| lasts[i] >= until) * (1.0 - dead_mean)),
        loads: all,
        followed: Followed { lasts },
    })
}

/// What the NAS and the switches take without the desks; none where there are no desks to leave out.
fn network_only(loads: &[Load], count: usize) -> Option<Vec<Power>> {
    let is_desk = |load: &&Load| load.id.starts_with(Machine::Desk.word());
    let desks = loads.iter().filter(is_desk).count();
    if desks == 0 || desks == loads.len() {
        return None;
    }
    let rest: Vec<&Load> = loads.iter().filter(|l| !is_desk(l)).collect();
    let sum = |i: usize| {
        let busy = rest.iter().filter_map(|l| l.drawn.busy.get(i));
        busy.fold(watts(0.0), |a, b| a + *b)
    };
    Some((0..count).map(sum).collect())
}

fn needed(
    supply: &Supply,
    unit: &Unit,
    (busy, start): (&[Power], &[Power]),
    time: Time,
    lasts: &[Time],
    samples: &mut Samples<'_>,
) -> Result<NeedAnswer, KeepingFault> {
    let rows = lead_rows(&format!("supply.{}", supply.name), samples)?;
    let charge: Option<Vec<f64>> = rows
        .iter()
        .enumerate()
        .map(|(i, row)| needed_charge(row, unit, (busy[i], time), i))
        .collect();
    let worst = Range::of(start).p95;
    Ok(NeedAnswer {
        wanted_s: time,
        met_probability: share_of(lasts.len(), |i| lasts[i] >= time)
            * (1.0 - mean(&unit.dead.iter().map(|d| d.base()).collect::<Vec<_>>())),
        rating_watts: rating_for(worst),
        ampere_hours: charge.map(|c| Range::of(&c)),
    })
}
