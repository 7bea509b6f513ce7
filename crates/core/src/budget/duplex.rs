use super::hop::Fork;
use super::part::Part;
use super::{BudgetFault, Context};
use crate::hop::ethernet::Headers;
use crate::hop::half_duplex::one_way_share;
use crate::quantity::{DataRate, Ratio};
use crate::site::{Duplex, Known, Run};
use crate::spread::Choice;
use crate::work::Direction;
use crate::working::{Column, How};

const SPOILT: How = How {
    name: "payload left where the ends disagree",
    formula: "p k",
    symbols: &["p", "k"],
    source: "Shalunov and Carlson, PAM 2005",
};

/// Both ends of a wire: one with data and one with acknowledgements.
const STATIONS: u32 = 2;

/// Payload over wire time of a copy over a link in half duplex.
pub(super) fn half_duplex(
    mtu: u32,
    headers: Headers,
    tags: u32,
) -> Result<Ratio, crate::hop::ethernet::NoRoom> {
    one_way_share(mtu, headers, tags, STATIONS)
}

/// What a note says of it; nothing where both ends send at once.
pub(super) fn noted(duplex: Option<Duplex>) -> &'static str {
    match duplex {
        Some(Duplex::Half) => ", half duplex",
        Some(Duplex::Mismatched) => ", and the ends disagree on duplex",
        Some(Duplex::Full) | None => "",
    }
}

impl Context<'_, '_> {
    /// A payload, less what is lost where one end is in full duplex and the other in half.
    ///
    /// One way hardly suffers and the other is spoilt; which is which nobody said, and it is the
    /// same for every desk behind this run.
    pub(super) fn mismatched(
        &mut self,
        run: &Run,
        payload: &Column<DataRate>,
        part: &mut Part,
    ) -> Result<Column<DataRate>, BudgetFault> {
        let id = format!("run.{}.duplex", run.number);
        let mut shares = Vec::new();
        for row in ["duplex.mismatched.kept", "duplex.mismatched.spoilt"] {
            shares.push(self.sheet.draw(
                &format!("{id}/{row}"),
                "share left where the ends disagree",
                &self.catalogue.spread::<Ratio>(row)?,
                &self.catalogue.number(row)?.source,
            ));
        }
        // as seen from reading; writing has the other lot
        let ways = [Direction::Read, Direction::Write];
        let choice = Choice::weighted(ways.map(|way| (way, 1.0)))
            .unwrap_or_else(|| Choice::certain(Direction::Read));
        let kept = Known::assumed(format!("{id}/way"), choice, "judgement: either end");
        let pick = self.sheet.choice(&kept, |way| match way {
            Direction::Read => "writing suffers".to_owned(),
            Direction::Write => "reading suffers".to_owned(),
        });
        if self.direction == Direction::Write {
            shares.reverse();
        }
        let suffers = usize::from(self.direction == Direction::Read);
        let outcome = (0..self.sheet.count())
            .map(|draw| u8::from(pick.at(draw) == suffers))
            .collect();
        part.forks.push(Fork {
            on: kept.id,
            labels: ["the other way suffers", "this way suffers"]
                .map(|way| format!("run.{}: {way}", run.number))
                .to_vec(),
            outcome,
        });
        let share = self
            .sheet
            .pick("share left where the ends disagree", &pick, &shares);
        Ok(self
            .sheet
            .of2(&SPOILT, payload, &share, |p: DataRate, k: Ratio| p * k))
    }
}
