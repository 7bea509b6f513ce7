//! A radio link that is worked out: its payload, and the draws in which there is none.

use super::part::{Part, mark};
use super::{BudgetFault, Context, Warning, WarningKind};
use crate::air::{Link, LinkFault, Sends, carried};
use crate::quantity::DataRate;
use crate::route::RouteLink;
use crate::site::{Machine, Run};
use crate::work::Direction;
use crate::working::Column;

/// A share of the draws without a link that a person should know of.
const WORTH_SAYING: f64 = 0.05;

impl Context<'_, '_> {
    /// Payload of a radio link in the direction of the flow.
    pub(super) fn through_the_air(
        &mut self,
        run: &Run,
        radio: &Link,
        link: &RouteLink,
        part: &mut Part,
    ) -> Result<Column<DataRate>, BudgetFault> {
        let place = format!("run.{}", run.number);
        let sends = self.sender(link);
        let found =
            carried(radio, sends, self.catalogue, &mut self.sheet).map_err(
                |fault| match fault {
                    LinkFault::Catalogue(fault) => BudgetFault::Catalogue(fault),
                    LinkFault::NoEquipment => {
                        BudgetFault::model(&place, "no radio speaks all that is told of it")
                    }
                },
            )?;
        mark(&mut part.dead, &found.dead);
        part.warnings.extend(no_signal(&place, &found.dead));
        Ok(found.rate)
    }

    /// Which end of a link sends the data: of an access point and a desk, by the direction.
    fn sender(&self, link: &RouteLink) -> Sends {
        let towards_desk = self.direction == Direction::Read;
        // a cell that hangs on another cell hears it as a desk would
        let desk_side = link.near.machine == Machine::Desk || link.far.machine != Machine::Desk;
        if towards_desk == desk_side {
            Sends::Point
        } else {
            Sends::Desk
        }
    }
}

/// Says of the draws in which no signal arrives, where they are not rare.
fn no_signal(place: &str, dead: &[bool]) -> Option<Warning> {
    let share = dead.iter().filter(|dead| **dead).count() as f64 / dead.len().max(1) as f64;
    if share < WORTH_SAYING {
        return None;
    }
    Some(Warning::new(
        WarningKind::MayNotComeUp,
        place.to_owned(),
        format!(
            "the radio link may not come up: the signal is too weak in {:.0} of 100 such places; \
                 rates are those of a link that does",
            100.0 * share
        ),
        "read the signal in dBm at the desk, or carry the access point nearer",
    ))
}
