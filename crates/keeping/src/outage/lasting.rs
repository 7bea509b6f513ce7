//! How long a supply's battery lasts, draw by draw: new, today, and at the end of its life.

use crate::samples::Samples;
use narrows_core::catalogue::CatalogueFault;
use narrows_core::copper::{Celsius, Kelvins};
use narrows_core::power::{
    Ageing, BatteryChecks, Conversion, DischargeRow, Lasts, LithiumPack, PointOfRow, age_factor,
    dead_when_asked, in_watts, life, lithium_lasts, temperature_factor, watts,
};
use narrows_core::quantity::{Measure, Power, Ratio, Time, ratio};
use narrows_core::site::{Battery, Supply};
use narrows_core::spread::Spread;

/// Times of the rows of the catalogue.
const TIMES: [u32; 11] = [5, 10, 15, 30, 60, 120, 180, 300, 480, 600, 1200];

/// Watts a rated Ah over 15 min of a usual block, which a high-rate one is compared with.
const USUAL_AT_15: f64 = 19.6;

/// Cells of a 12 V block.
const CELLS: f64 = 6.0;

/// Charge at which a battery's life is over.
const WORN: f64 = 0.8;

/// Share of its capacity that a battery is never reckoned below: it is dead by then, which is
/// counted apart.
const LEAST_HEALTH: f64 = 0.05;

/// A supply with its battery, draw by draw.
pub(crate) struct Unit {
    conversion: Vec<Conversion>,
    store: Store,
    /// Charge that is left in the room's warmth, new, today and worn out.
    new: Vec<Ratio>,
    today: Vec<Ratio>,
    worn: Vec<Ratio>,
    /// The chance that it is dead and nobody knows.
    pub dead: Vec<Ratio>,
    /// Until most of the charge is back.
    pub recharge: Vec<Time>,
}

enum Store {
    /// Rows of watts a rated Ah, blocks, Ah of one.
    Lead(Vec<DischargeRow>, usize, narrows_core::power::AmpereHours),
    Lithium(Vec<LithiumPack>),
    /// The maker's own table of loads.
    Table(DischargeRow),
}

/// Which state of the battery.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Health {
    New,
    Today,
    Worn,
}

impl Unit {
    pub(crate) fn of(supply: &Supply, samples: &mut Samples<'_>) -> Result<Self, CatalogueFault> {
        let count = samples.count();
        let id = format!("supply.{}", supply.name);
        let growing: Vec<Ratio> =
            samples.row_for(&format!("{id}/growing"), "supply.loss.growing")?;
        let standing: Vec<Ratio> =
            samples.row_for(&format!("{id}/standing"), "supply.loss.standing")?;
        let conversion = (0..count)
            .map(|i| Conversion {
                rating: supply.rating,
                growing: growing[i],
                standing: standing[i],
            })
            .collect();
        let lithium = matches!(supply.battery, Some(Battery::Lithium { .. }));
        let store = Store::of(supply, &id, samples)?;
        let room: Vec<f64> = samples.value(&supply.temperature);
        let warmer: Vec<f64> = samples.row("supply.warmer")?;
        let age: Vec<Time> = samples.value(&supply.age);
        let lives: Vec<Time> = samples.row_for(
            &format!("{id}/life"),
            if lithium {
                "battery.lithium.life"
            } else {
                "battery.lead.life"
            },
        )?;
        let halving: Vec<f64> = samples.row("battery.lead.halving")?;
        let scale: Vec<Time> = samples.row("battery.dead.scale")?;
        let shape: Vec<f64> = samples.row("battery.dead.shape")?;
        let seen: Vec<Ratio> = samples.row("battery.dead.seen")?;
        let between: Vec<Time> = samples.row("battery.dead.between")?;
        let replaced: Vec<Time> = samples.row("battery.dead.replaced")?;
        let fails: Vec<Ratio> = samples.row("supply.fails")?;
        let recharge = samples.row_for(&format!("{id}/recharge"), "battery.lead.recharge")?;
        let tested = samples.choice(&supply.tested);
        let in_series = match supply.battery {
            Some(Battery::Lead { blocks, .. }) => blocks,
            _ => 1,
        };
        let mut unit = Self {
            conversion,
            store,
            new: Vec::new(),
            today: Vec::new(),
            worn: Vec::new(),
            dead: Vec::new(),
            recharge,
        };
        for i in 0..count {
            let at = Celsius(room[i] + warmer[i]);
            let ageing = |life: Time| Ageing {
                life,
                halving: Kelvins(halving[i]),
            };
            let warm = temperature_factor(at);
            let life_here = life(&ageing(lives[i]), at);
            let left = age_factor(age[i], life_here).max(ratio(LEAST_HEALTH));
            unit.new.push(warm);
            unit.today.push(warm * left);
            unit.worn.push(warm * ratio(WORN));
            let checks = BatteryChecks {
                // seen in units in the field, so a unit's own warmth is in it
                scale: life(&ageing(scale[i]), Celsius(room[i])),
                shape: shape[i],
                seen: if tested[i] { seen[i] } else { ratio(0.0) },
                between: between[i],
                replaced: replaced[i],
            };
            let dead = dead_when_asked(&checks, age[i], in_series);
            let alive = (1.0 - dead.base()) * (1.0 - fails[i].base());
            unit.dead.push(ratio(1.0 - alive));
        }
        Ok(unit)
    }

    pub(crate) fn health(&self, of: Health, i: usize) -> Ratio {
        let column = match of {
            Health::New => &self.new,
            Health::Today => &self.today,
            Health::Worn => &self.worn,
        };
        column.get(i).copied().unwrap_or(ratio(LEAST_HEALTH))
    }

    /// How long it carries a load in a draw.
    pub(crate) fn lasts(&self, load: Power, health: Health, i: usize) -> Lasts {
        let f = self.health(health, i);
        let direct = self.direct(load, i);
        match &self.store {
            Store::Lead(rows, blocks, charge) => rows.get(i).map_or(Lasts::Refused, |row| {
                row.of_blocks(direct, *blocks, *charge, f)
            }),
            Store::Lithium(packs) => packs
                .get(i)
                .map_or(Lasts::Refused, |pack| lithium_lasts(pack, f, direct)),
            Store::Table(row) => row.of_load(load, f),
        }
    }

    /// Power from the battery in a draw.
    pub(crate) fn direct(&self, load: Power, i: usize) -> Power {
        self.conversion
            .get(i)
            .map_or(load, |conversion| conversion.direct(load))
    }
}

impl Store {
    fn of(supply: &Supply, id: &str, samples: &mut Samples<'_>) -> Result<Self, CatalogueFault> {
        if let Some(row) = own_table(supply) {
            return Ok(Self::Table(row));
        }
        match supply.battery {
            Some(Battery::Lithium { energy, most }) => {
                let usable: Vec<Ratio> = samples.row("battery.lithium.usable")?;
                let rate: Vec<f64> = samples.row("battery.lithium.rate")?;
                let hour = Time::from_base(3600.0);
                let pack = |i: usize| LithiumPack {
                    energy,
                    usable: usable[i],
                    most: most.unwrap_or_else(|| energy / hour * rate[i]),
                };
                Ok(Self::Lithium((0..samples.count()).map(pack).collect()))
            }
            Some(Battery::Lead {
                blocks,
                charge,
                watts_a_cell,
            }) => {
                let rows = lead_rows(id, samples)?;
                let factor =
                    watts_a_cell.map_or(1.0, |w| CELLS * in_watts(w) / charge.0 / USUAL_AT_15);
                let scaled = rows.iter().map(|row| row.scaled(factor)).collect();
                Ok(Self::Lead(scaled, blocks, charge))
            }
            // the reader lets no supply through that has neither
            None => Ok(Self::Lithium(Vec::new())),
        }
    }
}

/// The maker's table, where it is told.
fn own_table(supply: &Supply) -> Option<DischargeRow> {
    let point = |(load, lasts): &(Power, Time)| PointOfRow {
        lasts: *lasts,
        power: in_watts(*load),
    };
    DischargeRow::new(supply.minutes.iter().map(point).collect())
}

/// One row of watts a rated Ah a draw; a block is good or poor all along.
pub(crate) fn lead_rows(
    id: &str,
    samples: &mut Samples<'_>,
) -> Result<Vec<DischargeRow>, CatalogueFault> {
    let mut table: Vec<(Time, Spread<f64>)> = Vec::new();
    for minutes in TIMES {
        let row = format!("battery.lead.watts-an-ah@{minutes} min");
        let spread = samples.catalogue.spread::<f64>(&row)?;
        table.push((Time::from_base(f64::from(minutes) * 60.0), spread));
    }
    let count = samples.count() as f64;
    let strata = samples.draws.strata(&format!("{id}/quality"));
    Ok(strata
        .iter()
        .filter_map(|s| DischargeRow::of_quality(&table, (f64::from(*s) + 0.5) / count))
        .collect())
}

/// Ah of 12 V blocks together that carry a load for a time in a draw, at the charge they have.
pub(crate) fn needed_charge(
    row: &DischargeRow,
    unit: &Unit,
    (load, time): (Power, Time),
    i: usize,
) -> Option<f64> {
    let each = row.power_for(time)?;
    let direct = in_watts(unit.direct(load, i));
    Some(direct / each / unit.health(Health::Worn, i).base())
}

/// The least rating with room for a quarter more.
pub(crate) fn rating_for(load: Power) -> Power {
    watts(in_watts(load) * 1.25)
}
