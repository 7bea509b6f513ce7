//! What the two ends of a path are made of beside their processors: slots, drives, and memory that takes a burst.

use super::hop::{Adds, Hop, HopKind};
use super::part::Part;
use super::tiring::Tires;
use super::{BudgetFault, Context, Warning, WarningKind};
use crate::hop::bus::{Towards, packet_efficiency, slot_rate};
use crate::hop::drives::zone_rate;
use crate::quantity::{DataRate, Information, Ratio, ratio, show};
use crate::site::{Attachment, Desk, Drive, Nas, Port, Value};
use crate::spread::{Bounds, Choice, Spread};
use crate::work::Direction;
use crate::working::{Column, How, Pick};

const PACKETS: How = How {
    name: "share of a packet that is payload",
    formula: "P / (P + h)",
    symbols: &["P"],
    source: "Neugebauer et al., SIGCOMM 2018",
};

const SLOT: How = How {
    name: "what the slot carries",
    formula: "n B e k",
    symbols: &["B", "e", "k"],
    source: "Neugebauer et al., SIGCOMM 2018; PCI Express base specification",
};

const ZONE: How = How {
    name: "rate where the data lie",
    formula: "r sqrt(1 - (1 - q^2) x)",
    symbols: &["r", "q", "x"],
    source: "constant density over the surface",
};

const PLACE: How = How {
    name: "where the file lies",
    formula: "u f",
    symbols: &["u", "f"],
    source: "anywhere in what is filled",
};

const CACHE: How = How {
    name: "memory that takes a burst",
    formula: "M s",
    symbols: &["M", "s"],
    source: "Linux mm/page-writeback.c",
};

const POOL_CACHE: How = How {
    name: "memory that takes a burst",
    formula: "min(M s, D)",
    symbols: &["M", "s", "D"],
    source: "OpenZFS: zfs_dirty_data_max",
};

/// A drive's rate for one direction, with what it is when empty and how it tires.
pub(super) struct DriveRate {
    pub now: Column<DataRate>,
    pub empty: Option<Column<DataRate>>,
    pub tires: Option<Tires>,
}

impl Context<'_, '_> {
    /// A port's slot or adapter, where it is told.
    pub(super) fn bus(
        &mut self,
        id: &str,
        label: &str,
        port: &Port,
        towards: Towards,
    ) -> Result<Part, BudgetFault> {
        let (ceiling, note) = match &port.attachment {
            None => return Ok(Part::default()),
            Some(Attachment::Adapter(word)) => {
                let row = format!("adapter.{word}");
                let ceiling = self.sheet.draw(
                    &format!("{id}/{row}"),
                    "what the adapter carries",
                    &self.catalogue.spread::<DataRate>(&row)?,
                    &self.catalogue.number(&row)?.source,
                );
                (ceiling, format!("adapter on {word}"))
            }
            Some(Attachment::Slot { generation, lanes }) => {
                let row = format!("pcie.lane.{generation}");
                let lane = self.sheet.draw(
                    &row,
                    "one lane",
                    &self.catalogue.spread::<DataRate>(&row)?,
                    &self.catalogue.number(&row)?.source,
                );
                let payload = self.sheet.draw(
                    &format!("{id}/payload"),
                    "largest payload of a packet",
                    &self.catalogue.spread::<Information>("pcie.payload")?,
                    &self.catalogue.number("pcie.payload")?.source,
                );
                let packet = self
                    .sheet
                    .of(&PACKETS, &payload, |p| packet_efficiency(p, towards));
                let link_layer = self.sheet.draw(
                    "pcie.link-layer",
                    "share left by link-layer traffic",
                    &self.catalogue.spread::<Ratio>("pcie.link-layer")?,
                    &self.catalogue.number("pcie.link-layer")?.source,
                );
                let ceiling = self
                    .sheet
                    .of3(&SLOT, (&lane, &packet, &link_layer), |b, e, k| {
                        slot_rate(*lanes, b, e, k)
                    });
                (ceiling, format!("PCIe {generation} x{lanes}"))
            }
        };
        let carries = ceiling.median();
        let narrow = (carries < port.rate.signalled() * ratio(0.9)).then(|| {
            Warning::new(
                WarningKind::NarrowSlot,
                id.to_owned(),
                format!(
                    "a {} port behind {note}, which carries {}",
                    port.rate,
                    show(carries)
                ),
                "move the card to a slot with more lanes, or the adapter to a faster port",
            )
        });
        let hop = Hop::new(id.to_owned(), HopKind::Bus, label.to_owned(), note, ceiling);
        Ok(Part::from(hop).warned(narrow))
    }

    /// The desk's own disk.
    pub(super) fn disk(&mut self, desk: &Desk, direction: Direction) -> Result<Part, BudgetFault> {
        let id = format!("desk.{}.disk", desk.name);
        // data that come from the array are written here
        let here = match direction {
            Direction::Read => Direction::Write,
            Direction::Write => Direction::Read,
        };
        let long = here == Direction::Write && self.asks_for_a_size();
        let mut options = Vec::new();
        for (drive, _) in desk.disk.value.options() {
            let mut one = self.drive(&id, drive, &desk.disk_fill, here);
            if long {
                one.tires = self.tires(
                    (&id, drive),
                    (&one.now, None),
                    &desk.disk_capacity,
                    &desk.disk_fill,
                )?;
            }
            options.push(one);
        }
        let pick = self.sheet.choice(&desk.disk, class_of);
        let ceiling = self.pick_rate("the desk's disk", &pick, &options, |o| Some(&o.now));
        let overlap = self
            .sheet
            .choice(&desk.overlap, |o| if *o { "yes" } else { "no" }.to_owned());
        let adds = match overlap.only() {
            Some(_) if *desk.overlap.value.likeliest() => Adds::Never,
            Some(_) => Adds::Always,
            None => Adds::Where(
                (0..self.sheet.count())
                    .map(|d| !option_at(&desk.overlap.value, &overlap, d))
                    .collect(),
            ),
        };
        let mut note = classes(&desk.disk.value);
        if !matches!(adds, Adds::Never) {
            note.push_str(", and the copy tool may not overlap");
        }
        let mut part = Part::from(Hop {
            adds,
            ..Hop::new(
                id,
                HopKind::Disk,
                format!("{}'s own disk", desk.name),
                note,
                ceiling,
            )
        });
        if long {
            part.tiring = self.tiring(&pick, &options, None);
            part.room = Some(self.room(1.0, &desk.disk_capacity, &desk.disk_fill));
        }
        Ok(part)
    }

    pub(super) fn pick_rate(
        &mut self,
        name: &str,
        pick: &Pick,
        options: &[DriveRate],
        which: impl Fn(&DriveRate) -> Option<&Column<DataRate>>,
    ) -> Column<DataRate> {
        let columns: Vec<_> = options
            .iter()
            .map(|o| which(o).unwrap_or(&o.now).clone())
            .collect();
        self.sheet.pick(name, pick, &columns)
    }

    /// One drive's rate.
    pub(super) fn drive(
        &mut self,
        id: &str,
        drive: &Drive,
        fill: &Value<Ratio>,
        direction: Direction,
    ) -> DriveRate {
        match drive {
            Drive::Spinning {
                outer, inner_ratio, ..
            } => {
                let outer = self.sheet.value("rate at the outer edge", outer);
                let inner = self.sheet.value("inner rate over outer rate", inner_ratio);
                let fill = self.sheet.value("how full", fill);
                let place = match direction {
                    // new data go where the old end; old data lie anywhere before
                    Direction::Write => fill,
                    Direction::Read => {
                        let anywhere = Spread::<Ratio>::from_law(crate::spread::Law::Bounded {
                            low: 0.05,
                            likely: 0.5,
                            high: 0.95,
                            bounds: Bounds::FRACTION,
                        });
                        let u = self.sheet.draw(
                            &format!("{id}/place"),
                            "share of the filled part that lies further out",
                            &anywhere,
                            "a file may lie anywhere",
                        );
                        self.sheet
                            .of2(&PLACE, &u, &fill, |u: Ratio, f: Ratio| u * f)
                    }
                };
                let now = self.sheet.of3(&ZONE, (&outer, &inner, &place), zone_rate);
                DriveRate {
                    now,
                    empty: Some(outer),
                    tires: None,
                }
            }
            Drive::Flash {
                read, burst_write, ..
            } => DriveRate {
                now: match direction {
                    Direction::Read => self.sheet.value("reading flash", read),
                    Direction::Write => self
                        .sheet
                        .value("writing flash while its fast cache lasts", burst_write),
                },
                empty: None,
                tires: None,
            },
        }
    }

    /// Memory on the machine that takes a burst of writes; a pool takes no more than a limit of its
    /// own.
    pub(super) fn write_cache(
        &mut self,
        nas: &Nas,
        pooled: bool,
    ) -> Result<Column<Information>, BudgetFault> {
        let memory = self.sheet.value("memory", &nas.memory);
        if pooled {
            let [share, most] = ["pool.dirty-share", "pool.dirty-most"];
            let share = self.sheet.draw(
                share,
                "share that takes writes of a pool",
                &self.catalogue.spread::<Ratio>(share)?,
                &self.catalogue.number(share)?.source,
            );
            let most: Column<Information> = self.row(most, "most that a pool takes")?;
            return Ok(self.sheet.of3(
                &POOL_CACHE,
                (&memory, &share, &most),
                |m: Information, s: Ratio, most: Information| {
                    let share = m * s;
                    if share < most { share } else { most }
                },
            ));
        }
        let share = self.sheet.draw(
            &format!("nas.{}.memory/write-cache", nas.name),
            "share that takes writes",
            &self.catalogue.spread::<Ratio>("write-cache.share")?,
            &self.catalogue.number("write-cache.share")?.source,
        );
        Ok(self
            .sheet
            .of2(&CACHE, &memory, &share, |m: Information, s: Ratio| m * s))
    }
}

pub(super) fn option_at(choice: &Choice<bool>, pick: &Pick, draw: usize) -> bool {
    choice
        .options()
        .get(pick.at(draw))
        .is_some_and(|(value, _)| *value)
}

/// The class word of a drive.
pub(super) fn class_of(drive: &Drive) -> String {
    drive.class().to_owned()
}

pub(super) fn classes(choice: &Choice<Drive>) -> String {
    match choice.only() {
        Some(drive) => class_of(drive),
        None => "drives of an unknown class".to_owned(),
    }
}
