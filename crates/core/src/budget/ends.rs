use super::array::scaled;
use super::hop::{Adds, Fork, Hop, HopKind};
use super::tiring::Tires;
use super::{BudgetFault, Builder, Warning, WarningKind};
use crate::hop::bus::{Towards, packet_efficiency, slot_rate};
use crate::hop::drives::zone_rate;
use crate::quantity::{DataRate, Information, Measure, Ratio, ratio, show};
use crate::site::{Attachment, Chosen, Cpu, Desk, Drive, Known, Nas, Port, Service, Value};
use crate::spread::{Bounds, Choice, Spread};
use crate::work::Direction;
use crate::working::{Column, How, Pick, Sheet};
use std::sync::Arc;

const THREAD: How = How {
    name: "one processor thread",
    formula: "1 / (1/s + 1/(w c))",
    symbols: &["s", "c"],
    source: "costs of one thread add; signing and encryption: MS-SMB2 section 3.1.4",
};

const IN_PLACE: How = How {
    name: "on one core, in place",
    formula: "r e",
    symbols: &["r", "e"],
    source: "learned from measured places: docs/field-cases.md",
};

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

impl Builder<'_, '_> {
    /// Whether a desk and its NAS sign: as the NAS is told to, else by the desk's system where that is
    /// told, since both ends have to agree and recent systems ask for it.
    fn signing(&self, nas: &Nas, desk: &Desk) -> Result<Chosen<bool>, BudgetFault> {
        let (Some(system), Some(Service::Smb)) = (&desk.system, nas.service.value.only()) else {
            return Ok(nas.signed.clone());
        };
        if !nas.signed.is_assumed() {
            return Ok(nas.signed.clone());
        }
        let mut signed = 0.0;
        for (system, share) in system.value.options() {
            let row = format!("signed.smb.{}", system.word());
            let choice = self.catalogue.choice(&row, |word| Some(word == "signed"))?;
            let sure = choice.options().iter().filter(|(so, _)| *so);
            signed += share * sure.map(|(_, chance)| chance).sum::<f64>();
        }
        let value = Choice::weighted([(true, signed), (false, 1.0 - signed)])
            .unwrap_or_else(|| Choice::certain(signed > 0.0));
        let id = format!("desk.{}.signed", desk.name);
        let source = "judgement: how often systems of its age sign";
        Ok(Known::assumed(id, value, source))
    }

    /// Adds the thread that handles every byte on one machine, of what goes between a desk and its NAS.
    pub(super) fn processor(
        &mut self,
        id: &str,
        label: &str,
        (cpu, nas, desk): (&Cpu, &Nas, &Desk),
    ) -> Result<(), BudgetFault> {
        let signs = self.signing(nas, desk)?;
        let class = self.sheet.choice(&cpu.class, Clone::clone);
        let stack = self.class_rate(id, cpu, &class, "stack")?;
        let signed = self.sheet.choice(&signs, |s| {
            if *s { "signed" } else { "unsigned" }.to_owned()
        });
        let encrypted = self
            .sheet
            .choice(&nas.encrypted, |e| if *e { "yes" } else { "no" }.to_owned());
        // 0 neither, 1 signed, 2 encrypted: encryption carries its own authentication and replaces
        // the signature, so these are three states and not four
        let truths = |choice: &Choice<bool>, pick: &Pick| {
            let options: Vec<u8> = choice.options().iter().map(|(v, _)| u8::from(*v)).collect();
            pick.each(&options, self.sheet.count())
        };
        let protection: Arc<[u8]> = truths(&nas.encrypted.value, &encrypted)
            .into_iter()
            .zip(truths(&signs.value, &signed))
            .map(|(encrypted, signed)| (2 * encrypted).max(signed))
            .collect();
        let may = |choice: &Choice<bool>| choice.options().iter().any(|(v, _)| *v);
        let (may_sign, may_encrypt) = (may(&signs.value), may(&nas.encrypted.value));
        let mut note = "one core: network stack".to_owned();
        let ceiling = if may_sign || may_encrypt {
            match (may_sign, may_encrypt) {
                (true, true) => "one core: network stack, and signing or encryption if on",
                (true, false) => "one core: network stack, and signing if on",
                _ => "one core: network stack and encryption",
            }
            .clone_into(&mut note);
            let signing = if may_sign {
                Some(self.class_rate(id, cpu, &class, "signing")?)
            } else {
                None
            };
            let encryption = if may_encrypt {
                Some(self.class_rate(id, cpu, &class, "encryption")?)
            } else {
                None
            };
            let workers =
                self.by_service(nas, "threads at work on one stream", |this, service| {
                    this.workers(nas, service)
                })?;
            let count = self.sheet.count();
            let unlimited = Column::same(DataRate::from_base(f64::INFINITY));
            // by protection, as above
            let tasks = [
                unlimited.every_base(count),
                signing.as_ref().unwrap_or(&unlimited).every_base(count),
                encryption.as_ref().unwrap_or(&unlimited).every_base(count),
            ];
            let task: Vec<f64> = protection
                .iter()
                .enumerate()
                .map(|(draw, &protection)| tasks[usize::from(protection)][draw])
                .collect();
            let values = stack
                .every_base(count)
                .iter()
                .zip(&task)
                .zip(workers.every_base(count).iter())
                .map(|((&stack, &task), &workers)| {
                    thread_rate(
                        DataRate::from_base(stack),
                        DataRate::from_base(task),
                        workers,
                    )
                    .base()
                })
                .collect();
            let crypto = signing.as_ref().or(encryption.as_ref());
            self.sheet.made(
                &THREAD,
                values,
                &[Sheet::step_of(&stack), crypto.and_then(Sheet::step_of)],
            )
        } else {
            stack
        };
        let open = signed.only().is_none() || encrypted.only().is_none();
        if open && self.forked.insert(signs.id.clone()) {
            self.forks.push(Fork {
                labels: ["unsigned", "signed", "encrypted"]
                    .map(str::to_owned)
                    .to_vec(),
                outcome: protection,
            });
        }
        self.hops.push(Hop {
            id: id.to_owned(),
            kind: HopKind::Processor,
            label: label.to_owned(),
            note,
            ceiling,
            signalled: None,
            of_all: None,
            adds: Adds::Never,
            empty: None,
            over_links: None,
        });
        Ok(())
    }

    /// A column for each service that a NAS may run, and in each draw the one that it runs there.
    pub(super) fn by_service<Q: Measure>(
        &mut self,
        nas: &Nas,
        name: &str,
        of: impl Fn(&mut Self, Service) -> Result<Column<Q>, BudgetFault>,
    ) -> Result<Column<Q>, BudgetFault> {
        let pick = self.sheet.choice(&nas.service, |s| s.word().to_owned());
        let mut columns = Vec::new();
        for (service, _) in nas.service.value.options() {
            columns.push(of(self, *service)?);
        }
        Ok(self.sheet.pick(name, &pick, &columns))
    }

    fn workers(&mut self, nas: &Nas, service: Service) -> Result<Column<f64>, BudgetFault> {
        let row = match service {
            Service::Smb => "workers.smb",
            Service::Nfs => "workers.nfs",
            _ => "workers.other",
        };
        let choice = self
            .catalogue
            .choice(row, |word| word.parse::<u32>().ok())?;
        let id = format!("nas.{}.{row}", nas.name);
        let pick = self.sheet.choose(&id, &choice, ToString::to_string);
        let options: Vec<_> = choice
            .options()
            .iter()
            .map(|(n, _)| {
                self.sheet.known(
                    "threads at work on one stream",
                    f64::from(*n),
                    "choices.csv",
                )
            })
            .collect();
        Ok(self
            .sheet
            .pick("threads at work on one stream", &pick, &options))
    }

    /// A rate of the processor class, whichever it is.
    pub(super) fn class_rate(
        &mut self,
        id: &str,
        cpu: &Cpu,
        class: &Pick,
        what: &str,
    ) -> Result<Column<DataRate>, BudgetFault> {
        let mut options = Vec::new();
        for (word, _) in cpu.class.value.options() {
            let row = format!("cpu.{word}.{what}");
            options.push(self.sheet.draw(
                &format!("{id}/{word}/{what}"),
                &format!("{what} on one core, class {word}"),
                &self.catalogue.spread::<DataRate>(&row)?,
                &self.catalogue.number(&row)?.source,
            ));
        }
        let rate = self
            .sheet
            .pick(&format!("{what} on one core"), class, &options);
        let row = "model.processor";
        let error = self.sheet.draw(
            row,
            "cores in place over what their class says",
            &self.catalogue.spread::<f64>(row)?,
            &self.catalogue.number(row)?.source,
        );
        Ok(self.sheet.of2(&IN_PLACE, &rate, &error, scaled))
    }

    /// Adds a port's slot or adapter, where it is told.
    pub(super) fn bus(
        &mut self,
        id: &str,
        label: &str,
        port: &Port,
        towards: Towards,
    ) -> Result<(), BudgetFault> {
        let (ceiling, note) = match &port.attachment {
            None => return Ok(()),
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
        if carries < port.rate.signalled() * ratio(0.9) {
            self.warn(Warning::new(
                WarningKind::NarrowSlot,
                id.to_owned(),
                format!(
                    "a {} port behind {note}, which carries {}",
                    port.rate,
                    show(carries)
                ),
                "move the card to a slot with more lanes, or the adapter to a faster port",
            ));
        }
        self.hops.push(Hop {
            id: id.to_owned(),
            kind: HopKind::Bus,
            label: label.to_owned(),
            note,
            ceiling,
            signalled: None,
            of_all: None,
            adds: Adds::Never,
            empty: None,
            over_links: None,
        });
        Ok(())
    }

    /// Adds the desk's own disk.
    pub(super) fn disk(&mut self, desk: &Desk, direction: Direction) -> Result<(), BudgetFault> {
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
        if long {
            self.tiring = self.tiring(&pick, &options, None);
            self.room = Some(self.room(1.0, &desk.disk_capacity, &desk.disk_fill));
        }
        self.hops.push(Hop {
            id,
            kind: HopKind::Disk,
            label: format!("{}'s own disk", desk.name),
            note,
            ceiling,
            signalled: None,
            of_all: None,
            adds,
            empty: None,
            over_links: None,
        });
        Ok(())
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

/// What one thread carries that handles every byte and has a second task: `1 / (1/s + 1/(w c))`.
fn thread_rate(stack: DataRate, task: DataRate, workers: f64) -> DataRate {
    ratio(1.0) / (ratio(1.0) / stack + ratio(1.0) / (task * ratio(workers)))
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
