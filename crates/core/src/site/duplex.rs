//! States of a link that is not healthy: half duplex, ends that disagree, and lost frames.

use super::fault::Fault;
use super::model::{Duplex, Value as Drawn};
use super::ports::Fitted;
use super::reader::{Part, Read, Reader};
use super::runs::Laid;
use crate::hop::half_duplex::fastest_half_duplex;
use crate::quantity::{Kind, LinkRate, Ratio, exact_base};

/// A link that loses more than half of its frames does not stay up.
const MOST_LOST: f64 = 0.5;

impl Reader<'_> {
    /// Whether both ends send at the same time.
    pub(super) fn duplex(&mut self, part: &Part<'_>) -> Read<Option<Duplex>> {
        let word = self.word(part, "duplex", "duplex")?;
        Ok(word.and_then(|word| Duplex::ALL.into_iter().find(|d| d.word() == word)))
    }

    /// Share of the frames that a run loses.
    pub(super) fn lost(&mut self, part: &Part<'_>, key: &str) -> Read<Option<Drawn<Ratio>>> {
        let Some(lost) = self.stated::<Ratio>(part, key)? else {
            return Ok(None);
        };
        let (_, _, high) = lost.value.law().knots();
        if high > MOST_LOST {
            let most = exact_base(Kind::Fraction, MOST_LOST);
            return Err(self.report(Fault::new(
                part.place_of(key),
                format!("{} is more than a link survives", part.id(key)),
                format!("{} of its frames lost", exact_base(Kind::Fraction, high)),
                format!("write 0 % to {most}, for example {key} = \"0.1 %\""),
            )));
        }
        Ok(Some(lost))
    }
}

/// Only links at 100 Mb/s and less run in anything but full duplex; whether that was broken.
///
/// `both` are the rates that both ends know.
pub(super) fn check(
    reader: &mut Reader<'_>,
    run: &Laid,
    [from, to]: [&Fitted; 2],
    both: &[LinkRate],
) -> bool {
    let Ok(Some(state @ (Duplex::Half | Duplex::Mismatched))) = run.duplex else {
        return false;
    };
    let words = match state {
        Duplex::Half => "run in half duplex",
        _ => "have ends that disagree on duplex",
    };
    let title = format!("run.{} cannot {words}", run.number);
    let most = fastest_half_duplex();
    if let Ok(Some(negotiated)) = run.negotiated
        && negotiated > most
    {
        reader.report(
            Fault::new(
                run.duplex_at.clone(),
                title,
                format!("a link at {negotiated} is full duplex; only {most} and less is not"),
                format!("remove 'duplex', or write negotiated = \"{most}\""),
            )
            .also(run.negotiated_at.clone(), "the rate it came up at"),
        );
        return true;
    }
    if both.iter().any(|rate| *rate <= most) {
        return false;
    }
    // the port that knows no slow rate; of two such ports the first
    let slow = |end: &Fitted| end.port.knows.iter().any(|rate| *rate <= most);
    let fast = if slow(from) { to } else { from };
    reader.report(
        Fault::new(
            run.duplex_at.clone(),
            title,
            format!("its ends have no rate of {most} or less in common"),
            format!(
                "remove 'duplex', or write in 'rates' what {} knows",
                fast.end
            ),
        )
        .also(fast.place.clone(), "this port is always full duplex"),
    );
    true
}
