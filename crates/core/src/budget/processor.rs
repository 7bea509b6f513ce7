//! The thread that handles every byte on one machine: network stack, signing or encryption, by class of processor.

use super::drive_set::scaled;
use super::hop::{Fork, Hop, HopKind};
use super::part::Part;
use super::{BudgetFault, Context};
use crate::quantity::{DataRate, Measure, ratio};
use crate::site::{Chosen, Cpu, Desk, Known, Nas, Service};
use crate::spread::Choice;
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

/// How what goes between two machines may be protected, by the number of its state.
pub(super) const PROTECTIONS: [&str; 3] = ["unsigned", "signed", "encrypted"];

impl Context<'_, '_> {
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

    /// The thread that handles every byte on one machine, of what goes between a desk and its NAS.
    pub(super) fn processor(
        &mut self,
        id: &str,
        label: &str,
        (cpu, nas, desk): (&Cpu, &Nas, &Desk),
    ) -> Result<Part, BudgetFault> {
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
        let mut part = Part::from(Hop::new(
            id.to_owned(),
            HopKind::Processor,
            label.to_owned(),
            note,
            ceiling,
        ));
        if signed.only().is_none() || encrypted.only().is_none() {
            part.forks.push(Fork {
                on: signs.id,
                labels: PROTECTIONS.map(str::to_owned).to_vec(),
                outcome: protection,
            });
        }
        Ok(part)
    }

    /// A thread that moves bytes and does nothing else to them.
    pub(super) fn bare_stack(
        &mut self,
        id: &str,
        cpu: &Cpu,
        label: &str,
    ) -> Result<Part, BudgetFault> {
        let class = self.sheet.choice(&cpu.class, Clone::clone);
        let ceiling = self.class_rate(id, cpu, &class, "stack")?;
        Ok(Hop::new(
            id.to_owned(),
            HopKind::Processor,
            label.to_owned(),
            "stack".to_owned(),
            ceiling,
        )
        .into())
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
}

/// What one thread carries that handles every byte and has a second task: `1 / (1/s + 1/(w c))`.
fn thread_rate(stack: DataRate, task: DataRate, workers: f64) -> DataRate {
    ratio(1.0) / (ratio(1.0) / stack + ratio(1.0) / (task * ratio(workers)))
}
