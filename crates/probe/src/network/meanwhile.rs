//! What a machine did while a run went on.

use crate::machine::{Root, tcp_now, ticks_now};
use crate::says::{Busy, Resent, Said, Tcp, Ticks, busy, resent};

/// Looks before a run.
pub(super) struct Before {
    tcp: Said<Tcp>,
    ticks: Vec<Ticks>,
}

/// Counters of a machine over a run.
#[derive(Clone, Debug, PartialEq)]
pub struct Meanwhile {
    /// Segments sent again, of the whole machine.
    pub resent: Said<Resent>,
    /// How busy its cores were.
    pub busy: Said<Busy>,
}

pub(super) fn before() -> Before {
    let root = Root::own();
    Before {
        tcp: tcp_now(&root),
        ticks: ticks_now(&root),
    }
}

impl Before {
    pub(super) fn after(self) -> Meanwhile {
        let root = Root::own();
        Meanwhile {
            resent: match (self.tcp, tcp_now(&root)) {
                (Ok(before), Ok(after)) => resent(before, after),
                (Err(why), _) | (_, Err(why)) => Err(why),
            },
            busy: busy(&self.ticks, &ticks_now(&root)),
        }
    }
}
