use super::drive_set::spins;
use super::ends::option_at;
use super::hop::{Adds, Fork, Hop, HopKind};
use super::part::Part;
use super::{BudgetFault, Context};
use crate::hop::requests::depth_cost;
use crate::quantity::{
    DataRate, Information, InformationPerOperation, Measure, Operations, Time,
    megabytes_per_second, ratio,
};
use crate::site::{Array, Nas};
use crate::work::Direction;
use crate::working::{Column, How};

const SAFE: How = How {
    name: "waiting until writes are safe",
    formula: "Q S / t",
    symbols: &["Q", "S", "t"],
    source: "RFC 1813 section 3.3.7 (stable writes); Little's law",
};

/// A ceiling that is never in the way, where writes do not wait.
const NO_WAIT_MEGABYTES: f64 = 1e6;

impl Context<'_, '_> {
    /// The waiting of writes for the drives, where the NAS may do that.
    pub(super) fn sync(&mut self, nas: &Nas, array: &Array) -> Result<Part, BudgetFault> {
        let Some(sync) = &nas.sync else {
            return Ok(Part::default());
        };
        let may = sync.value.options().iter().any(|(waits, _)| *waits);
        if self.direction == Direction::Read || !may {
            return Ok(Part::default());
        }
        let row = if spins(array) {
            "sync.spinning.time"
        } else {
            "sync.flash.time"
        };
        let time = self.sheet.draw(
            &format!("array.{}/{row}", array.name),
            "time until a write is safe",
            &self.catalogue.spread::<Time>(row)?,
            &self.catalogue.number(row)?.source,
        );
        // the wire has its own hop, and its own time in it
        let no_wire = DataRate::from_base(f64::INFINITY);
        let waiting = self.by_service(nas, SAFE.name, |this, service| {
            let (size, depth) = this.size_and_depth(service)?;
            Ok(this.sheet.of3(
                &SAFE,
                (&depth, &size, &time),
                |q: Operations, s: InformationPerOperation, t: Time| {
                    let rate: DataRate = ratio(1.0) / depth_cost(q, s, t, no_wire);
                    rate
                },
            ))
        })?;
        let pick = self
            .sheet
            .choice(sync, |waits| if *waits { "yes" } else { "no" }.to_owned());
        let mut forks = Vec::new();
        let mut note = "writes wait until they are safe on drives".to_owned();
        let (ceiling, adds) = if pick.only().is_some() {
            (waiting, Adds::Always)
        } else {
            "writes may wait until they are safe on drives".clone_into(&mut note);
            let none = Column::same(megabytes_per_second(NO_WAIT_MEGABYTES));
            let options: Vec<_> = sync
                .value
                .options()
                .iter()
                .map(|(waits, _)| if *waits { &waiting } else { &none }.clone())
                .collect();
            let draws: Vec<bool> = (0..self.sheet.count())
                .map(|draw| option_at(&sync.value, &pick, draw))
                .collect();
            forks.push(Fork {
                on: sync.id.clone(),
                labels: ["writes do not wait", "writes wait until safe"]
                    .map(str::to_owned)
                    .to_vec(),
                outcome: draws.iter().map(|&waits| u8::from(waits)).collect(),
            });
            let ceiling = self.sheet.pick(SAFE.name, &pick, &options);
            (ceiling, Adds::Where(draws.into()))
        };
        let hop = Hop {
            adds,
            ..Hop::new(
                format!("nas.{}.sync", nas.name),
                // requests wait for it, and it is the requests that hide the waiting
                HopKind::Requests,
                SAFE.name.to_owned(),
                note,
                ceiling,
            )
        };
        Ok(Part {
            forks,
            ..Part::from(hop)
        })
    }

    /// Memory that takes a burst of writes, less the draws in which none may rest there.
    pub(super) fn unless_sync(
        &mut self,
        nas: &Nas,
        memory: Column<Information>,
    ) -> Column<Information> {
        let Some(sync) = &nas.sync else {
            return memory;
        };
        let pick = self
            .sheet
            .choice(sync, |waits| if *waits { "yes" } else { "no" }.to_owned());
        let none = Column::same(Information::default());
        let options: Vec<_> = sync
            .value
            .options()
            .iter()
            .map(|(waits, _)| if *waits { &none } else { &memory }.clone())
            .collect();
        self.sheet
            .pick("memory that may hold a write", &pick, &options)
    }
}
