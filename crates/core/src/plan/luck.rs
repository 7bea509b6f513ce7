//! What is not known of drives and arrays, drawn once for all layouts, so that they are compared
//! draw by draw.

use super::{DriveChoice, PlanFault, Question};
use crate::array::Bytes;
use crate::array::capacity::{DEFAULT_CHUNK, DEFAULT_RECORD};
use crate::array::rate::{Heads, Medium, Zones};
use crate::catalogue::Catalogue;
use crate::hop::drives::{slowest_of, zone_rate};
use crate::quantity::{DataRate, Information, Measure, Ratio, Time, TimePerInformation, ratio};
use crate::site::{Chosen, Drive, Value};
use crate::spread::{Bounds, Draws, Law, Spread};

/// Sector of a pool: what drives of today have.
pub(super) const SECTOR: Bytes = Bytes::kibibytes(4);

/// What holds for every layout: one value a draw.
pub(super) struct Luck {
    pub count: usize,
    /// Record and sector of a pool.
    pub record: (Bytes, Bytes),
    /// What goes on one drive before the next.
    pub chunk: Bytes,
    pub fill: Vec<Ratio>,
    /// Share of the filled part that lies further out than what is read.
    pub place: Vec<Ratio>,
    /// Between the low and the high end of a layout's worth.
    pub worth: Vec<f64>,
    pub scatter: Vec<Ratio>,
    /// What a program reaches of the drives.
    pub reached: Vec<Ratio>,
    /// Drives in place over what their class says: one or two that spin, more of them, flash.
    pub in_place: [Vec<f64>; 3],
    pub parity_share: Vec<Ratio>,
    /// What writes of a pool reach of its drives.
    pub pool_share: Vec<Ratio>,
    pub request: Vec<Information>,
    pub prefetch: Vec<Information>,
    pub aggregation: Vec<Information>,
    pub gathered: Vec<Information>,
    /// For how long the kernel writes one file before it turns to the next.
    pub write_turn: Vec<Time>,
    pub stripes: Vec<DataRate>,
    pub sums: Vec<DataRate>,
    pub threads: Vec<f64>,
    pub attached: Option<Vec<DataRate>>,
    /// What is left of the drives while one is put together again, and while all are read through.
    pub left_by_rebuilding: Vec<Ratio>,
    pub left_by_scrubbing: Vec<Ratio>,
    /// Small random requests of a spinning drive in its own order, over one at a time.
    pub reordering: Vec<f64>,
    /// What scattered writes reach of flash's later rate.
    pub scattered_writes: Vec<Ratio>,
    /// Standard deviations of the slowest of so many drives below their mean.
    pub slowest: Vec<f64>,
}

/// What holds for one choice of drives: one value a draw.
pub(super) struct DriveLuck {
    pub medium: Medium,
    pub read_empty: Rates,
    pub read: Rates,
    /// Reading where only the outer half is read.
    pub read_outer_half: Rates,
    pub write_empty: Rates,
    pub write: Rates,
    /// The most that the link of one drive carries.
    pub interface: Vec<DataRate>,
    /// What moving between places costs; none on flash.
    pub turning: Option<Turning>,
    /// How long flash takes for a small read; none for drives that turn.
    pub latency: Option<Vec<Time>>,
}

/// Rates of one drive, one a draw, and whether somebody stated them.
#[derive(Clone)]
pub(super) struct Rates {
    pub each: Vec<DataRate>,
    pub stated: bool,
}

/// What a spinning drive needs to move between streams.
pub(super) struct Turning {
    pub zones: Vec<Zones>,
    pub heads: Vec<Heads>,
    pub settle: Vec<Time>,
    /// To a random place of the filled part, and of its outer half.
    pub position: [Vec<Time>; 2],
    pub cost: [Vec<TimePerInformation>; 2],
}

/// Draws under a name.
struct Drawer<'a> {
    draws: Draws,
    catalogue: &'a Catalogue,
}

impl Drawer<'_> {
    fn values<Q: Measure>(&mut self, id: &str, spread: &Spread<Q>) -> Vec<Q> {
        let drawn = self.draws.values(id, spread.law());
        drawn.iter().map(|&value| Q::from_base(value)).collect()
    }

    fn row<Q: Measure>(&mut self, id: &str) -> Result<Vec<Q>, PlanFault> {
        self.row_of(id, id)
    }

    /// A row of the catalogue, drawn under a name of its own.
    fn row_of<Q: Measure>(&mut self, id: &str, row: &str) -> Result<Vec<Q>, PlanFault> {
        let spread = self.catalogue.spread::<Q>(row)?;
        Ok(self.values(id, &spread))
    }

    /// In each draw what belongs to the option that it picks of a choice of the site.
    fn pick<T: Clone + PartialEq>(
        &mut self,
        chosen: &Chosen<T>,
        mut options: Vec<Vec<f64>>,
    ) -> Vec<f64> {
        if options.len() < 2 {
            return options.pop().unwrap_or_default();
        }
        let parts = self
            .draws
            .parts(&chosen.id, &chosen.value.slices(self.draws.count()));
        let at = |(draw, option): (usize, &u8)| options[usize::from(*option)][draw];
        parts.of_draw.iter().enumerate().map(at).collect()
    }

    fn within<Q: Measure>(&mut self, id: &str, likely: f64, ends: (f64, f64)) -> Vec<Q> {
        let law = Law::Bounded {
            low: ends.0,
            likely,
            high: ends.1,
            bounds: Bounds::FRACTION,
        };
        self.values(id, &Spread::from_law(law))
    }
}

/// Draws everything that a question needs: what is common, and each choice of drives.
pub(super) fn draw(
    question: &Question,
    catalogue: &Catalogue,
) -> Result<(Luck, Vec<DriveLuck>), PlanFault> {
    let mut drawer = Drawer {
        draws: Draws::new(question.draws),
        catalogue,
    };
    let count = drawer.draws.count();
    let [stripes, sums, threads] = work(question, &mut drawer)?;
    let rates = |values: Vec<f64>| values.into_iter().map(DataRate::from_base).collect();
    let attached = question
        .attached
        .as_ref()
        .map(|known| drawer.values(&known.id, &known.value));
    let named = question.choices.first().map(DriveChoice::luck);
    let named = named.unwrap_or_default();
    let of = |what: &str| format!("{named}/{what}");
    let above_low = catalogue.number("array.worth.above-low")?.likely;
    let luck = Luck {
        count,
        record: (question.record.unwrap_or(DEFAULT_RECORD), SECTOR),
        chunk: question.chunk.unwrap_or(DEFAULT_CHUNK),
        fill: drawer.values(&question.fill.id, &question.fill.value),
        // a file may lie anywhere in the filled part
        place: drawer.within(&of("place"), 0.5, (0.05, 0.95)),
        worth: drawer.within(&of("drives at work"), above_low, (0.0, 1.0)),
        scatter: drawer.row_of(&of("scatter of drives"), "drive.scatter")?,
        reached: drawer.row_of(&of("reached"), "array.reached")?,
        in_place: [
            drawer.row("model.drive")?,
            drawer.row("model.array")?,
            drawer.row("model.flash")?,
        ],
        parity_share: drawer.row_of(&of("parity writing"), "parity.write-share")?,
        pool_share: drawer.row_of(&of("pool writing"), "pool.write-share")?,
        request: drawer.row("layouts.request")?,
        prefetch: drawer.row("array.pool-prefetch")?,
        aggregation: drawer.row("layouts.aggregation")?,
        gathered: drawer.row("layouts.far-gathered")?,
        write_turn: drawer.row("layouts.write-turn")?,
        stripes: rates(stripes),
        sums: rates(sums),
        threads,
        attached,
        left_by_rebuilding: drawer.row_of(&of("left by rebuilding"), "array.left-by-rebuilding")?,
        left_by_scrubbing: drawer.row_of(&of("left by scrubbing"), "array.left-by-scrubbing")?,
        reordering: drawer.row("array.reordering")?,
        scattered_writes: drawer.row("layouts.scattered-writes")?,
        slowest: (0..=question.bays).map(slowest_of).collect(),
    };
    let choices: Result<Vec<_>, _> = question
        .choices
        .iter()
        .map(|choice| of_drive(choice, &luck, &mut drawer))
        .collect();
    Ok((luck, choices?))
}

/// Rates of the NAS's own work, in base units, and how many threads sum for several streams.
fn work(question: &Question, drawer: &mut Drawer<'_>) -> Result<[Vec<f64>; 3], PlanFault> {
    let Some(nas) = &question.nas else {
        let rate = |drawn: Vec<DataRate>| drawn.into_iter().map(Measure::base).collect();
        return Ok([
            rate(drawer.row("array.stripe-thread")?),
            rate(drawer.row("array.checksum.core")?),
            drawer.row("layouts.cores")?,
        ]);
    };
    // under the names of a budget, so that both have the same luck
    let class = &nas.cpu.class;
    let mut of = |what: &str| -> Result<Vec<f64>, PlanFault> {
        let mut options: Vec<Vec<f64>> = Vec::new();
        for (word, _) in class.value.options() {
            let id = format!("nas.{}.array-work/{word}/{what}", nas.name);
            let drawn: Vec<DataRate> = drawer.row_of(&id, &format!("cpu.{word}.{what}"))?;
            options.push(drawn.into_iter().map(Measure::base).collect());
        }
        Ok(drawer.pick(class, options))
    };
    let (mut stripes, mut sums) = (of("stripes")?, of("checksums")?);
    let error: Vec<f64> = drawer.row("model.processor")?;
    for rates in [&mut stripes, &mut sums] {
        for (rate, error) in rates.iter_mut().zip(&error) {
            *rate *= error;
        }
    }
    let cores = drawer.values(&nas.cpu.cores.id, &nas.cpu.cores.value);
    Ok([stripes, sums, cores])
}

fn rates_of(drawer: &mut Drawer<'_>, known: &Value<DataRate>) -> Rates {
    Rates {
        each: drawer.values(&known.id, &known.value),
        stated: !known.is_assumed(),
    }
}

fn slower(a: DataRate, b: DataRate) -> DataRate {
    if a < b { a } else { b }
}

fn of_drive(
    choice: &DriveChoice,
    luck: &Luck,
    drawer: &mut Drawer<'_>,
) -> Result<DriveLuck, PlanFault> {
    let interface = drawer.values(&choice.interface().id, &choice.interface().value);
    match choice.drive() {
        Drive::Flash {
            read,
            burst_write,
            later_write,
            ..
        } => {
            let read = rates_of(drawer, read);
            let burst = rates_of(drawer, burst_write);
            let mut later = rates_of(drawer, later_write);
            // who knows one phase of writing knows the drive
            later.stated |= burst.stated;
            // what is drawn apart must not make a tired drive faster
            for (later, &burst) in later.each.iter_mut().zip(&burst.each) {
                *later = slower(*later, burst);
            }
            Ok(DriveLuck {
                medium: Medium::Flash,
                read_empty: read.clone(),
                read_outer_half: read.clone(),
                read,
                write_empty: burst,
                write: later,
                interface,
                turning: None,
                latency: Some(drawer.row(crate::budget::latency_row(choice.class()))?),
            })
        }
        Drive::Spinning {
            outer, inner_ratio, ..
        } => {
            let stated = !outer.is_assumed();
            let outer: Vec<DataRate> = drawer.values(&outer.id, &outer.value);
            let rates = |each: Vec<DataRate>| Rates { each, stated };
            let inner: Vec<Ratio> = drawer.values(&inner_ratio.id, &inner_ratio.value);
            let at = |depth: &dyn Fn(usize) -> Ratio| -> Vec<DataRate> {
                (0..luck.count)
                    .map(|d| zone_rate(outer[d], inner[d], depth(d)))
                    .collect()
            };
            let read = at(&|d| luck.place[d] * luck.fill[d]);
            let half = at(&|d| luck.place[d] * luck.fill[d] / 2.0);
            // new data go where the old end
            let mut write = at(&|d| luck.fill[d]);
            if choice.is_shingled() {
                // what is put together anew: as much as the drive is full
                let holds_data: Vec<Ratio> = drawer.within("layouts/holds data", 0.5, (0.05, 0.95));
                let rewrite: Vec<DataRate> = drawer.row("drive.hdd-smr.rewrite")?;
                for (d, rate) in write.iter_mut().enumerate() {
                    if holds_data[d] < luck.fill[d] {
                        *rate = slower(*rate, rewrite[d]);
                    }
                }
            }
            let turning = turning(choice, luck, (&outer, &inner), drawer)?;
            Ok(DriveLuck {
                medium: Medium::Spinning,
                read_empty: rates(outer.clone()),
                read: rates(read),
                read_outer_half: rates(half),
                write_empty: rates(outer),
                write: rates(write),
                interface,
                turning: Some(turning),
                latency: None,
            })
        }
    }
}

fn turning(
    choice: &DriveChoice,
    luck: &Luck,
    (outer, inner): (&[DataRate], &[Ratio]),
    drawer: &mut Drawer<'_>,
) -> Result<Turning, PlanFault> {
    let class = choice.class();
    let seek_row = match class {
        "hdd" => "layouts.seek.hdd".to_owned(),
        class => format!("array.seek.{class}"),
    };
    let seek: Vec<Time> = drawer.row(&seek_row)?;
    let turn: Vec<Time> = drawer.row(&format!("layouts.turn.{class}"))?;
    let next_track: Vec<Time> = drawer.row("array.next-track")?;
    let overhead: Vec<Time> = drawer.row("array.command")?;
    let settle = drawer.row("array.write-settle")?;
    let heads: Vec<Heads> = (0..luck.count)
        .map(|d| Heads {
            average_seek: seek[d],
            next_track: next_track[d],
            turn: turn[d],
            overhead: overhead[d],
        })
        .collect();
    let capacity = choice.size().bytes().information();
    let zones: Result<Vec<Zones>, _> = outer
        .iter()
        .zip(inner)
        .map(|(&outer, &inner)| Zones::new(outer, inner, capacity))
        .collect();
    let zones = zones.map_err(PlanFault::from)?;
    let depths = [1.0, 0.5].map(ratio);
    let position = depths.map(|depth| {
        (0..luck.count)
            .map(|d| heads[d].to_random_place(zones[d].stroke(luck.fill[d] * depth)))
            .collect()
    });
    let cost = depths.map(|depth| {
        (0..luck.count)
            .map(|d| zones[d].mean_cost(luck.fill[d] * depth))
            .collect()
    });
    Ok(Turning {
        zones,
        heads,
        settle,
        position,
        cost,
    })
}
