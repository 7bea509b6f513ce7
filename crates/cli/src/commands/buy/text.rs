use crate::render::prose::{counted, duration, item, paragraph, rate, share};
use crate::render::table::{Side, Table};
use narrows_core::plan::purchases::{Answer, Help, Offer, Purchase, Question, Why};
use narrows_core::quantity::{Money, Ratio, Time, show, three_digits, units};
use narrows_core::work::Activity;
use std::fmt::Write;

/// What belongs under every answer.
pub(crate) const CAUTIONS: [&str; 2] = [
    "Prices are those of the file. Each desk is taken alone: narrows together shows what is left when \
     all work at once.",
    "An array is not a backup: before drives are added or moved, have a second copy elsewhere.",
];

/// More desks than fit beside each other.
const MANY_DESKS: usize = 16;

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
fn amount(money: &Money) -> String {
    let text = money.to_string();
    text.trim_end_matches(&money.currency).trim_end().to_owned()
}

fn minutes(time: Time) -> String {
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
        duration(time)
    } else {
        "for ever".to_owned()
    }
}

fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

impl Shown<'_> {
    fn push(&self, out: &mut String, text: &str) {
        let _ = writeln!(out, "{}", paragraph(text, self.width, 0));
    }

    pub(crate) fn offer(&self, index: usize) -> &str {
        self.question
            .offers
            .get(index)
            .map_or("", |offer| &offer.id)
    }

    fn ids(&self, offers: &[usize]) -> Vec<String> {
        offers
            .iter()
            .map(|index| self.offer(*index).to_owned())
            .collect()
    }

    pub(crate) fn text(&self) -> String {
        let answer = self.answer;
        let mut out = String::new();
        self.push(&mut out, &self.headline());
        if !answer.purchases.is_empty() {
            let _ = writeln!(
                out,
                "\n{}: what nothing cheaper equals, with what is there today:",
                answer.site
            );
            out.push_str(&self.table().text(self.width));
            self.push(&mut out, &self.legend());
            self.desks(&mut out);
        }
        self.offers(&mut out);
        self.rest(&mut out);
        out.push('\n');
        for caution in CAUTIONS {
            self.push(&mut out, caution);
        }
        out
    }

    fn headline(&self) -> String {
        let answer = self.answer;
        let at = |index: Option<usize>| index.and_then(|index| answer.purchases.get(index));
        let (Some(first), Some(best)) = (at(answer.first), at(answer.best)) else {
            let money = match &self.question.spend {
                Some(spend) => format!(" for {spend}"),
                None => String::new(),
            };
            return format!(
                "Nothing among {}{money} helps: {} a day are waited for data, whatever is bought.",
                counted(self.question.offers.len(), "offer", "offers"),
                time(answer.today.waits.mean)
            );
        };
        let mut text = format!(
            "First buy {} for {}: {} a day of waiting in place of {}, and it helps in {} of cases",
            listed(&self.ids(&first.offers)),
            first.price,
            time(first.waits.mean),
            time(answer.today.waits.mean),
            share(one(first.helps)),
        );
        if answer.needs {
            let _ = write!(
                text,
                "; {} of {} then get what they need, {} today",
                first.desks_met,
                counted(first.desks.len(), "desk", "desks"),
                answer.today.desks_met
            );
        }
        text.push('.');
        if first.offers != best.offers {
            let _ = write!(
                text,
                " The most there is: {} for {}, {} a day",
                listed(&self.ids(&best.offers)),
                best.price,
                time(best.waits.mean)
            );
            if answer.needs {
                let _ = write!(text, ", and {} of them", best.desks_met);
            }
            text.push('.');
        }
        text
    }

    fn heads(&self) -> Vec<(&str, Side)> {
        let currency = self.answer.today.price.currency.as_str();
        let mut heads = vec![("row", Side::Right), (currency, Side::Right)];
        if self.answer.needs {
            heads.push(("met", Side::Right));
        }
        heads.extend([
            ("wait min", Side::Right),
            ("saves", Side::Right),
            ("5 %", Side::Right),
            ("95 %", Side::Right),
            ("beats %", Side::Right),
            ("buys", Side::Left),
        ]);
        heads
    }

    /// What nothing cheaper equals, today first.
    pub(crate) fn table(&self) -> Table {
        let answer = self.answer;
        let mut table = Table::new(&self.heads());
        for (row, purchase) in std::iter::once(&answer.today)
            .chain(&answer.purchases)
            .enumerate()
        {
            let mut cells = vec![
                if row == 0 {
                    "-".to_owned()
                } else {
                    row.to_string()
                },
                amount(&purchase.price),
            ];
            if answer.needs {
                cells.push(format!("{}/{}", purchase.desks_met, purchase.desks.len()));
            }
            cells.push(minutes(purchase.waits.mean));
            if row == 0 {
                cells.extend(["-", "-", "-", "-"].map(str::to_owned));
                cells.push("nothing".to_owned());
            } else {
                cells.extend([
                    minutes(purchase.saves.mean),
                    minutes(purchase.saves.p05),
                    minutes(purchase.saves.p95),
                    percent(purchase.beats),
                    self.ids(&purchase.offers).join(", "),
                ]);
            }
            table.row(cells);
        }
        table
    }

    /// The table with what each desk gets, for spreadsheets and documents.
    pub(crate) fn whole_table(&self) -> Table {
        let answer = self.answer;
        let mut heads: Vec<(String, Side)> = self
            .heads()
            .into_iter()
            .map(|(head, side)| (head.to_owned(), side))
            .collect();
        for desk in &answer.today.desks {
            for way in ["read", "write"] {
                heads.push((format!("{} {way} MB/s", desk.desk), Side::Right));
            }
        }
        let heads: Vec<(&str, Side)> = heads.iter().map(|(h, s)| (h.as_str(), *s)).collect();
        let mut table = Table::new(&heads);
        for (row, purchase) in std::iter::once(&answer.today)
            .chain(&answer.purchases)
            .enumerate()
        {
            let mut cells = vec![row.to_string(), amount(&purchase.price)];
            if answer.needs {
                cells.push(purchase.desks_met.to_string());
            }
            let saves = purchase.saves;
            cells.extend([
                minutes(purchase.waits.mean),
                minutes(saves.mean),
                minutes(saves.p05),
                minutes(saves.p95),
                percent(purchase.beats),
                self.ids(&purchase.offers).join(" "),
            ]);
            for desk in &purchase.desks {
                cells.extend([rate(desk.read.p50), rate(desk.write.p50)]);
            }
            table.row(cells);
        }
        table
    }

    fn legend(&self) -> String {
        let waits = match self.answer.assumed {
            Some(size) => format!(
                "wait: minutes a day that all desks together wait, each for {0} read and {0} written a day, \
                 since nobody described more; the mean. ",
                show(size)
            ),
            None => {
                "wait: minutes a day that all desks together wait for what their tasks move; the \
                     mean. "
                    .to_owned()
            }
        };
        let met = if self.answer.needs {
            "met: desks that get what they need in the median. "
        } else {
            ""
        };
        format!(
            "{met}{waits}saves: less than today, the mean, and in one case of twenty at either end, draw by \
             draw with the same luck. beats: the share of cases in which a twentieth less is waited than with \
             the row above{}.",
            if self.answer.needs {
                ", or a desk more gets what it needs"
            } else {
                ""
            }
        )
    }

    /// What the desks get, today and with the first and the last purchase.
    fn desks(&self, out: &mut String) {
        let answer = self.answer;
        let mut shown: Vec<(String, &Purchase)> = vec![("today".to_owned(), &answer.today)];
        for index in [answer.first, answer.best].into_iter().flatten() {
            let name = format!("row {}", index + 1);
            if let Some(purchase) = answer.purchases.get(index)
                && shown.iter().all(|(known, _)| *known != name)
            {
                shown.push((name, purchase));
            }
        }
        let mut heads: Vec<(String, Side)> = vec![("desk".to_owned(), Side::Left)];
        for way in ["read", "write"] {
            for (index, (name, _)) in shown.iter().enumerate() {
                let way = if index == 0 {
                    format!("{way} ")
                } else {
                    String::new()
                };
                heads.push((format!("{way}{name}"), Side::Right));
            }
        }
        let heads: Vec<(&str, Side)> = heads.iter().map(|(h, s)| (h.as_str(), *s)).collect();
        let mut table = Table::new(&heads);
        for (index, desk) in answer.today.desks.iter().enumerate().take(MANY_DESKS) {
            let mut cells = vec![desk.desk.clone()];
            for write in [false, true] {
                for (_, purchase) in &shown {
                    let range = purchase.desks.get(index);
                    let range = range.map(|desk| if write { desk.write } else { desk.read });
                    cells.push(range.map_or("-".to_owned(), |range| rate(range.p50)));
                }
            }
            table.row(cells);
        }
        let what = match self.question.activity {
            Activity::Copy => "copying to and from its own disk",
            Activity::Wire => "memory to memory",
            _ => "without its own disk",
        };
        let _ = writeln!(out, "\nMB/s of each desk alone, {what}, medians:");
        out.push_str(&table.text(self.width));
        let more = answer.today.desks.len().saturating_sub(MANY_DESKS);
        if more > 0 {
            self.push(out, &format!("{more} more in the other formats."));
        }
    }

    fn offers(&self, out: &mut String) {
        let each = || self.question.offers.iter().zip(&self.answer.helps);
        let only: Vec<_> = each()
            .filter_map(|(offer, help)| match help {
                Help::With(others) => Some((offer, others)),
                _ => None,
            })
            .collect();
        if !only.is_empty() {
            out.push_str("\nHelps only with others:\n");
            for (offer, others) in only {
                let text = format!("{}: with {}.", named(offer), listed(&self.ids(others)));
                let _ = writeln!(out, "{}", item(&text, self.width));
            }
        }
        let nothing: Vec<_> = each()
            .filter_map(|(offer, help)| match help {
                Help::Nothing(why) => Some((offer, why_nothing(why))),
                Help::TooDear => Some((offer, "dearer than what may be spent".to_owned())),
                _ => None,
            })
            .collect();
        if !nothing.is_empty() {
            out.push_str("\nDoes nothing that anybody would notice:\n");
            for (offer, why) in nothing {
                let text = format!("{}, {}: {why}.", named(offer), offer.price);
                let _ = writeln!(out, "{}", item(&text, self.width));
            }
        }
    }

    fn rest(&self, out: &mut String) {
        let answer = self.answer;
        out.push('\n');
        let mut text = format!(
            "{} looked at over a few draws, and what is shown over all of them.",
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
        if !answer.assumptions.is_empty() {
            let text = format!(
                "{} assumed: narrows check {} lists them.",
                counted(
                    answer.assumptions.len(),
                    "value of the site is",
                    "values of the site are"
                ),
                self.path
            );
            self.push(out, &text);
        }
    }
}

/// Why an offer does nothing, in a sentence without its end.
pub(crate) fn why_nothing(why: &Why) -> String {
    match why {
        Why::NotOnAnyWay => "no way of a desk passes what it changes".to_owned(),
        Why::StopsAt {
            desk,
            direction,
            hops,
            rate: at,
        } => format!(
            "{desk} {}s {} MB/s with it too, held back most often by {}",
            direction.word(),
            rate(*at),
            listed(hops)
        ),
    }
}

/// An offer by its id, and what it is.
fn named(offer: &Offer) -> String {
    match &offer.label {
        Some(label) => format!("{} ({label})", offer.id),
        None => offer.id.clone(),
    }
}

/// A share as a whole percentage without the sign.
fn percent(value: Ratio) -> String {
    share(one(value))
        .replace("under ", "<")
        .replace("over ", ">")
        .trim_end_matches(" %")
        .to_owned()
}
