//! Laws of margins that were worked out before.

use super::likelihood::MarginLaw;
use super::{RunFault, RunPhysics};
use narrows_units::quantity::{LinkRate, Measure};
use std::collections::HashMap;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// So many are kept at most: a page of forty desks asks for some hundreds.
const MOST: usize = 4096;

/// The law of one rate over one run, once somebody has worked it out.
type Law = Arc<OnceLock<Result<MarginLaw, RunFault>>>;

/// Runs that are alike in rate and length, each with its law.
type Alike = Vec<(RunPhysics, Law)>;

/// Laws of margins by what they depend on, for all threads that ask of the same rows.
#[derive(Debug, Default)]
pub(super) struct Laws {
    /// By rate and bits of the length; those that are alike in both lie beside each other.
    known: Mutex<HashMap<(LinkRate, u64), Alike>>,
}

impl Laws {
    /// The law of a rate over a run, worked out by the first who asks; others wait for it. `run` is without
    /// what the law does not depend on. The same to the last bit as `work_out`, which is pure.
    /// Checked by `verify_kept_laws_are_those_worked_out`.
    pub(super) fn of(
        &self,
        run: &RunPhysics,
        rate: LinkRate,
        work_out: impl FnOnce(&RunPhysics) -> Result<MarginLaw, RunFault>,
    ) -> Result<MarginLaw, RunFault> {
        let law = self.place(run, rate);
        law.get_or_init(|| work_out(run)).clone()
    }

    /// Where a law is kept. The lock is held while looking, not while working.
    fn place(&self, run: &RunPhysics, rate: LinkRate) -> Law {
        let mut known = self.known.lock().unwrap_or_else(PoisonError::into_inner);
        if known.len() >= MOST {
            known.clear();
        }
        let alike = known
            .entry((rate, run.length.base().to_bits()))
            .or_default();
        if let Some((_, law)) = alike.iter().find(|(other, _)| other == run) {
            return Arc::clone(law);
        }
        let law = Law::default();
        alike.push((run.clone(), Arc::clone(&law)));
        law
    }
}
