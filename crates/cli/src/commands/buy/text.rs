use crate::render::lead::{Lead, the};
use crate::render::parts;
use crate::render::places::Places;
use crate::render::progress::stopped_after;
use crate::render::prose::{about, counted, of_100, paragraph, rate, share};
use crate::render::unknowns;
use narrows_core::plan::purchases::{Answer, Help, Offer, Purchase, Question, Why};
use narrows_core::quantity::{Money, Ratio, Time, three_digits, units};
use narrows_core::site::SitePath;
use std::fmt::Write;

/// What belongs under every answer.
pub(crate) const CAUTIONS: [&str; 2] = [
    "Prices are those of the file. Each desk is taken alone: narrows together shows what is left when \
     all work at once.",
    "An array is not a backup: before drives are added or moved, have a second copy elsewhere.",
];

/// What belongs under an answer that sends somebody through walls.
pub(crate) const CABLE_WORK: &str = "New cable: before drilling look for mains and pipes in the wall, \
    secure the ladder, keep away from mains cable; what local code asks for is done by licensed people.";

/// More desks than fit beside each other.
pub(super) const MANY_DESKS: usize = 16;

/// An answer with what it is shown with.
pub(crate) struct Shown<'a> {
    pub question: &'a Question<'a>,
    pub answer: &'a Answer,
    pub path: &'a str,
    pub width: usize,
}

pub(crate) fn one(value: Ratio) -> f64 {
    value.get::<units::ratio::one>()
}

/// A price without its currency.
pub(super) fn amount(money: &Money) -> String {
    let text = money.to_string();
    text.trim_end_matches(&money.currency).trim_end().to_owned()
}

pub(super) fn minutes(time: Time) -> String {
    let minutes = time.get::<units::time::minute>();
    if minutes.is_finite() {
        let text = three_digits(minutes.abs());
        if minutes < 0.0 {
            format!("-{text}")
        } else {
            text
        }
    } else {
        "endless".to_owned()
    }
}

/// A time with its unit, also where nothing comes at all.
fn time(time: Time) -> String {
    if time.get::<units::time::second>().is_finite() {
        about(time)
    } else {
        "for ever".to_owned()
    }
}

pub(super) fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

impl Shown<'_> {
    pub(super) fn push(&self, out: &mut String, text: &str) {
        let _ = writeln!(out, "{}", paragraph(text, self.width, 0));
    }

    pub(crate) fn offer(&self, index: usize) -> &str {
        self.question
            .offers
            .get(index)
            .map_or("", |offer| &offer.id)
    }

    pub(super) fn ids(&self, offers: &[usize]) -> Vec<String> {
        offers
            .iter()
            .map(|index| self.offer(*index).to_owned())
            .collect()
    }

    pub(crate) fn text(&self) -> String {
        let answer = self.answer;
        let mut out = String::new();
        out.push_str(&self.lead().text(self.width));
        if !answer.purchases.is_empty() {
            let _ = writeln!(out, "\nWhat nothing cheaper equals, for {}:", answer.site);
            out.push_str(&self.table().text(self.width));
            self.push(&mut out, &self.legend());
            self.desks(&mut out);
        }
        self.offers(&mut out);
        self.rest(&mut out);
        out.push('\n');
        for caution in self.cautions() {
            self.push(&mut out, caution);
        }
        out
    }

    /// What belongs under this answer: that of cable work where an offer is one.
    pub(crate) fn cautions(&self) -> Vec<&'static str> {
        let mut sets = self.question.offers.iter().flat_map(|offer| &offer.sets);
        // a cord that moves in the closet goes through no wall
        let cabling = sets.any(|set| {
            let path = set.path();
            let is_run = matches!(SitePath::of(&path), SitePath::Run(..));
            is_run && !matches!(SitePath::field(&path), "from" | "to")
        });
        let mut all = CAUTIONS.to_vec();
        if cabling {
            all.push(CABLE_WORK);
        }
        all
    }

    /// What to buy first, what it does, and what there is beyond it.
    fn lead(&self) -> Lead {
        let answer = self.answer;
        let at = |index: Option<usize>| index.and_then(|index| answer.purchases.get(index));
        let (Some(first), Some(best)) = (at(answer.first), at(answer.best)) else {
            return self.nothing();
        };
        let mut what = stopped_after(answer.stopped, "combinations");
        let _ = write!(
            what,
            "First buy {} for {}: {} a day of waiting in place of {}",
            listed(&self.named_all(&first.offers)),
            first.price,
            time(first.waits.mean),
            time(answer.today.waits.mean),
        );
        if answer.needs {
            let _ = write!(
                what,
                "; {} of {} then get what they need, {} today",
                first.desks_met,
                counted(first.desks.len(), "desk", "desks"),
                answer.today.desks_met
            );
        }
        let helps = one(first.helps);
        if helps < 0.995 {
            let _ = write!(what, "; it helps in {} of 100 cases", of_100(helps));
        }
        what.push('.');
        what.push_str(&self.cords_of(&first.offers));
        if answer.needs && !answer.met() {
            what = format!(
                "Nothing that may be bought gives all {} what they need. {what}",
                counted(best.desks.len(), "desk", "desks")
            );
        }
        let next = if answer.first == answer.best {
            "nothing beyond that helps.".to_owned()
        } else {
            let row = answer.best.map_or(0, |at| at + 1);
            let met = if answer.needs {
                format!(", {} desks served", best.desks_met)
            } else {
                String::new()
            };
            format!(
                "see what that gives before you buy more; the most there is, row {row}: {} for {}{met}.",
                time(best.waits.mean),
                best.price
            )
        };
        Lead {
            what,
            why: self.who_gains(first),
            next: Some(next),
        }
    }

    fn nothing(&self) -> Lead {
        let answer = self.answer;
        let money = match &self.question.spend {
            Some(spend) => format!(" for {spend}"),
            None => String::new(),
        };
        let stops = answer.helps.iter().find_map(|help| match help {
            Help::Nothing(Why::StopsAt {
                desk,
                direction,
                hops,
                rate,
                next,
                site,
            }) => Some((desk, direction, hops, *rate, next.as_ref(), site)),
            _ => None,
        });
        let what = match (self.question.offers, stops) {
            ([_], Some((desk, _, _, at, ..))) => format!(
                "Still {} MB/s for {desk}: this alone changes nothing that anybody would notice.",
                rate(at)
            ),
            (offers, _) => format!(
                "Nothing among {}{money} helps noticeably: {} a day are waited for data, whatever is bought.",
                counted(offers.len(), "offer", "offers"),
                time(answer.today.waits.mean)
            ),
        };
        let what = stopped_after(answer.stopped, "combinations") + &what;
        if let Some((desk, direction, hops, _, Some((better, with)), site)) = stops {
            let places = Places::of(site);
            return Lead {
                what,
                why: Some(format!(
                    "then the narrowest place for {desk} is {}.",
                    the(&places.names(hops, Some(desk)))
                )),
                next: Some(format!(
                    "ask for the price of {} too: with both {desk} {}s {} MB/s.",
                    parts::part(better, places),
                    direction.word(),
                    rate(*with)
                )),
            };
        }
        Lead {
            what,
            why: Some("each offer is listed below with what stands in its way.".to_owned()),
            next: Some(
                "ask for the next better part of each place: narrows buy SITE --spend AMOUNT, without \
                 offers."
                    .to_owned(),
            ),
        }
    }

    /// The cords that move with offers, in a sentence.
    fn cords_of(&self, offers: &[usize]) -> String {
        let offers = offers.iter().filter_map(|at| self.question.offers.get(*at));
        let moved: Vec<String> = offers
            .flat_map(|offer| &offer.cords)
            .map(|cord| format!("that of {} into {} {}", cord.desk, cord.switch, cord.port))
            .collect();
        match &moved[..] {
            [] => String::new(),
            [one] => format!(" Its cord moves: {one}."),
            several => format!(" Cords move: {}.", listed(several)),
        }
    }

    /// The desks that read at least a tenth faster.
    fn who_gains(&self, purchase: &Purchase) -> Option<String> {
        let mut groups: Vec<(String, Vec<String>)> = Vec::new();
        for (before, after) in self.answer.today.desks.iter().zip(&purchase.desks) {
            let times = (after.read.p50 / before.read.p50).get::<units::ratio::one>();
            if times < 1.1 {
                continue;
            }
            let said = format!(
                "{} MB/s in place of {}",
                rate(after.read.p50),
                rate(before.read.p50)
            );
            match groups.iter_mut().find(|(known, _)| *known == said) {
                Some((_, names)) => names.push(after.desk.clone()),
                None => groups.push((said, vec![after.desk.clone()])),
            }
        }
        let parts: Vec<String> = groups
            .iter()
            .take(2)
            .map(|(said, names)| {
                let verb = if names.len() == 1 { "reads" } else { "read" };
                format!("{} {verb} {said}", listed(names))
            })
            .collect();
        (!parts.is_empty()).then(|| format!("{}.", parts.join("; ")))
    }

    /// Offers by what they are, those without words by their id.
    fn named_all(&self, offers: &[usize]) -> Vec<String> {
        let all = &self.question.offers;
        let name = |index: &usize| all.get(*index).map(|offer| offer.name().to_owned());
        offers.iter().filter_map(name).collect()
    }

    fn rest(&self, out: &mut String) {
        let answer = self.answer;
        out.push('\n');
        let mut text = format!(
            "{} compared over a few cases, and what is shown over all of them.",
            counted(answer.looked_at, "combination was", "combinations were")
        );
        if answer.fell_out > 0 {
            let _ = write!(
                text,
                " {} left out then: equalled by something cheaper, or noticeably better than the row above in \
                 fewer than one case of ten.",
                counted(answer.fell_out, "is", "are")
            );
        }
        self.push(out, &text);
        if let Some(text) = unknowns::assumed_usually(&answer.assumptions, self.path) {
            self.push(out, &text);
        }
    }
}

/// Why an offer does nothing, in a sentence without its end.
pub(crate) fn why_nothing(why: &Why) -> String {
    match why {
        Why::NotOnAnyWay => "no path of a desk passes what it changes".to_owned(),
        Why::StopsAt {
            desk,
            direction,
            hops,
            rate: at,
            site,
            ..
        } => format!(
            "{desk} {}s {} MB/s with it too, held back most often by {}",
            direction.word(),
            rate(*at),
            the(&Places::of(site).names(hops, Some(desk)))
        ),
    }
}

/// An offer by its id, and what it is.
pub(super) fn named(offer: &Offer) -> String {
    match &offer.label {
        Some(label) => format!("{} ({label})", offer.id),
        None => offer.id.clone(),
    }
}

/// A share as a whole percentage without the sign.
pub(super) fn percent(value: Ratio) -> String {
    share(one(value))
        .replace("under ", "<")
        .replace("over ", ">")
        .trim_end_matches(" %")
        .to_owned()
}
