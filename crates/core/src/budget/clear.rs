//! Fibre and twinax: whether what they are of is known to carry the rate of their ports.

use super::link::short;
use super::{Context, Warning, WarningKind};
use crate::copper::{Fibre, FibreGrade, FibreVerdict, Optic, TwinaxCoding, USUAL_MATED_PAIRS};
use crate::quantity::{Length, LinkRate, show, units};
use crate::route::RouteLink;
use crate::site::{Medium, Run};

/// Percentile of a length up to which a run has to be carried.
const LONGEST: f64 = 0.95;

/// A fibre with its cords.
#[derive(Clone, Copy)]
struct Glass {
    grade: FibreGrade,
    cords: Option<FibreGrade>,
    length: Length,
}

impl Glass {
    /// Optics of a rate that are made for this grade, with what they make of it.
    fn optics(self, fibre: &Fibre, rate: LinkRate) -> Vec<(Optic, FibreVerdict)> {
        let step = fibre.core_step(self.grade, self.cords);
        let verdict = |optic| {
            let found = fibre.carries(optic, self.grade, self.length, USUAL_MATED_PAIRS, 0)?;
            (found.rate == rate).then(|| (optic, found.less(step)))
        };
        Optic::ALL.iter().copied().filter_map(verdict).collect()
    }

    /// What stands against a rate; nothing where the optic that is usual for it gets through.
    fn against(self, fibre: &Fibre, rate: LinkRate) -> Option<String> {
        let word = self.grade.word();
        let optics = self.optics(fibre, rate);
        // the usual optic of a rate stands first
        let Some((usual, verdict)) = optics.first() else {
            return Some(format!("no standard optic sends {rate} over {word}"));
        };
        if verdict.carries() {
            return None;
        }
        let why = if verdict.within_reach {
            format!(
                "loses {:.1} dB more than {} allows",
                -verdict.left.0,
                usual.word()
            )
        } else {
            let reach = verdict.reach.get::<units::length::meter>();
            format!("is beyond the {reach} m of {}", usual.word())
        };
        let length = show(self.length);
        let other = optics.iter().find(|(_, verdict)| verdict.carries());
        Some(match other {
            Some((other, verdict)) => format!(
                "{length} of {word} {why}; {} gets through{}",
                other.word(),
                if verdict.mode_conditioning {
                    ", with mode-conditioning cords"
                } else {
                    ""
                }
            ),
            None => format!("{length} of {word} {why}"),
        })
    }
}

impl Context<'_, '_> {
    /// Warns where a fibre or a twinax cable is not known to carry the rate of its ports. Optics
    /// have one rate and fall back to no other, and no chance is known, so the rate stays as it is.
    ///
    /// Judged at the 95th percentile of the length; nothing is said of a run without a length or,
    /// for a fibre, without a grade.
    pub(super) fn look_at_clear(
        &self,
        run: &Run,
        link: &RouteLink,
        rate: LinkRate,
    ) -> Option<Warning> {
        let Medium::Clear {
            length: Some(length),
            grade,
            cords,
            ..
        } = &run.medium
        else {
            return None;
        };
        let length = if length.value.is_exact() {
            length.median()
        } else {
            length.value.quantile(LONGEST)
        };
        let fibre = &self.cabling.fibre;
        let twinax = |reach| length > reach;
        let (against, next) = match (&run.medium, grade) {
            (Medium::Clear { word, .. }, Some(grade)) if word == "fibre" => {
                let glass = Glass {
                    grade: *grade,
                    cords: *cords,
                    length,
                };
                (
                    glass.against(fibre, rate),
                    "read which optics sit in both ports, and what fibre they are made for",
                )
            }
            (Medium::Clear { word, .. }, _) if word == "twinax" => (
                fibre
                    .twinax_reach(rate, TwinaxCoding::Plain)
                    .filter(|reach| twinax(*reach))
                    .map(|reach| {
                        format!(
                            "{} of passive twinax is beyond the {} that carry {rate}",
                            show(length),
                            show(reach)
                        )
                    }),
                "use a shorter cable, or fibre with its optics",
            ),
            _ => return None,
        };
        let against = against?;
        Some(Warning::new(
            WarningKind::BeyondReach,
            format!("run.{}", run.number),
            format!(
                "from {} to {}, {against}; counted as if it links at {rate}",
                short(&link.near),
                short(&link.far)
            ),
            next,
        ))
    }
}
