//! What a machine did while a run went on.

use crate::machine::{Root, tcp_now, ticks_now};
use crate::says::{Busy, Resent, Said, Tcp, Ticks, busy, others, own_ticks, resent};

/// Where other programs use more than this many cores' worth, how busy cores were says nothing of the run. Judgement.
const OTHERS: f64 = 0.25;
/// The same for what another guest of the machine took of the busiest core. Judgement.
const STOLEN: f64 = 0.05;

/// Looks before a run.
pub(super) struct Before {
    tcp: Said<Tcp>,
    ticks: Vec<Ticks>,
    own: Said<u64>,
}

/// Counters of a machine over a run.
#[derive(Clone, Debug, PartialEq)]
pub struct Meanwhile {
    /// Segments sent again, of the whole machine.
    pub resent: Said<Resent>,
    /// How busy its cores were, whoever used them.
    pub busy: Said<Busy>,
    /// How many cores' worth other programs used.
    pub others: Said<f64>,
}

impl Meanwhile {
    /// The busiest core from 0 to 1, where it was this program and the network that kept it busy.
    pub fn busiest_by_the_run(&self) -> Option<f64> {
        let busy = self.busy.as_ref().ok()?;
        let disturbed = self.disturbed() || busy.stolen > STOLEN;
        (!disturbed).then_some(busy.busiest)
    }

    /// Whether other programs used so much that how busy cores were says nothing of the run.
    pub fn disturbed(&self) -> bool {
        self.others.as_ref().is_ok_and(|others| *others > OTHERS)
    }
}

fn own() -> Said<u64> {
    Root::own()
        .text("proc/self/stat")
        .and_then(|text| own_ticks(&text))
}

pub(super) fn before() -> Before {
    let root = Root::own();
    Before {
        tcp: tcp_now(&root),
        ticks: ticks_now(&root),
        own: own(),
    }
}

impl Before {
    pub(super) fn after(self) -> Meanwhile {
        let root = Root::own();
        let ticks = ticks_now(&root);
        let used = match (self.own, own()) {
            (Ok(before), Ok(after)) => Ok(after.saturating_sub(before)),
            (Err(why), _) | (_, Err(why)) => Err(why),
        };
        Meanwhile {
            resent: match (self.tcp, tcp_now(&root)) {
                (Ok(before), Ok(after)) => resent(before, after),
                (Err(why), _) | (_, Err(why)) => Err(why),
            },
            busy: busy(&self.ticks, &ticks),
            others: used.and_then(|used| others(&self.ticks, &ticks, used)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::says::NotThere;

    #[test]
    fn verify_cores_of_others_are_not_told() {
        let busy = Busy {
            busiest: 0.98,
            interrupts: 0.1,
            stolen: 0.0,
            mean: 0.6,
        };
        let run = |others: Said<f64>, stolen: f64| Meanwhile {
            resent: Err(NotThere(String::new())),
            busy: Ok(Busy { stolen, ..busy }),
            others,
        };
        assert_eq!(run(Ok(0.1), 0.0).busiest_by_the_run(), Some(0.98));
        assert_eq!(run(Ok(0.9), 0.0).busiest_by_the_run(), None);
        assert_eq!(run(Ok(0.1), 0.2).busiest_by_the_run(), None);
        // where nobody says what others used, the core counts as before
        let unsaid = run(Err(NotThere(String::new())), 0.0);
        assert_eq!(unsaid.busiest_by_the_run(), Some(0.98));
    }
}
