//! A reading in words: `cut-1 copy read 112 MB/s of 20 GB`.

use super::faulty::{Faulty, meant};
use super::items::{Amount, Item, Unit};
use super::listener::Listener;
use super::phrases::{Says, phrase, vocabulary};
use super::units::{Base, Context, Units, Written};
use crate::explain::{Amount as Told, Exactness, RateReading, Reading, What};
use crate::quantity::{DataRate, Information, LinkRate, Measure, percent, seconds};
use crate::work::Direction;
use std::ops::Range;

/// What a reading may look like, for messages.
pub(super) const FORM: &str = "write, for example, 'cut-1 copy read 112 MB/s' or 'ping 0.4 ms'";

/// More at once is no desk any more.
const MOST_STREAMS: f64 = 1000.0;

/// Above this no link and no array of this world lies, in bytes a second: 1 TB/s.
const FASTEST: f64 = 1e12;

/// The slowest link that a port can show, in megabits a second: a few wireless ones fall to 1.
const SLOWEST_LINK: f64 = 1.0;

/// Everything that was said, with its places.
#[derive(Default)]
struct Said {
    desk: Option<(String, Range<usize>)>,
    what: Option<(What, Range<usize>)>,
    ways: Option<(Vec<Direction>, Range<usize>)>,
    rates: Vec<Amount>,
    sizes: Vec<Amount>,
    /// Behind "of".
    size: Option<Amount>,
    times: Vec<Amount>,
    shares: Vec<Amount>,
    streams: Option<Amount>,
    links: Vec<Amount>,
    peak: bool,
    about: bool,
    stalled: Option<Range<usize>>,
    again: bool,
    /// Words that say nothing here.
    unread: Vec<Range<usize>>,
}

/// Reads items as a reading: one, or two where it holds both ways. What is wrong is added to the
/// faults; nothing comes back then.
///
/// The second part are words that are none of a reading.
pub(super) fn reading(
    items: &[Item],
    listener: &Listener,
    faulty: &mut Faulty<'_>,
) -> (Vec<Reading>, Vec<Range<usize>>) {
    let before = faulty.count();
    let units = &listener.units;
    let mut said = gather(items, listener, faulty);
    let unread = std::mem::take(&mut said.unread);
    if !unread.is_empty() {
        return (Vec::new(), unread);
    }
    let whole = match (items.first(), items.last()) {
        (Some(first), Some(last)) => first.span().start..last.span().end,
        _ => 0..faulty.text.len(),
    };
    let Some((what, amount)) = said.amount(&whole, units, faulty) else {
        return (Vec::new(), unread);
    };
    let streams = said.streams(faulty);
    let size = said.size(faulty);
    said.whose(what, &listener.machines, faulty);
    if faulty.count() > before {
        return (Vec::new(), unread);
    }
    let one = |direction: Option<Direction>| Reading {
        text: faulty.text.trim().to_owned(),
        desk: said.desk.as_ref().map(|(name, _)| name.clone()),
        what,
        direction,
        amount: amount.clone(),
        size,
        streams,
        again: said.again,
    };
    let found = match &said.ways {
        Some((ways, _)) => ways.iter().map(|way| one(Some(*way))).collect(),
        None => vec![one(None)],
    };
    (found, unread)
}

/// Takes each item for what it says.
fn gather(items: &[Item], listener: &Listener, faulty: &mut Faulty<'_>) -> Said {
    let all: Option<Vec<&String>> = listener
        .names
        .as_ref()
        .map(|names| names.iter().chain(&listener.machines).collect());
    let names = all.as_deref();
    let mut said = Said::default();
    let mut at = 0;
    let mut of = false;
    let mut whose = false;
    while let Some(item) = items.get(at) {
        let token = match item {
            Item::Amount(amount) => {
                said.take(amount.clone(), of);
                (of, whose) = (false, false);
                at += 1;
                continue;
            }
            Item::Word(token) => token,
        };
        let rest = items.get(at..).unwrap_or_default();
        let words = rest.iter().map_while(Item::word);
        let says = phrase(words.clone());
        let first = at == 0 || whose;
        if let Some((name, length)) = named(rest, names, first, says.is_some(), faulty.text) {
            let end = rest
                .get(length - 1)
                .map_or(token.span.end, |item| item.span().end);
            let span = token.span.start..end;
            if said.desk.is_some() {
                twice(span, "the desk", faulty);
            } else {
                said.desk = Some((name, span));
            }
            (of, whose) = (false, false);
            at += length;
            continue;
        }
        let Some((says, length)) = says else {
            said.unread.push(token.span.clone());
            at += 1;
            continue;
        };
        let end = rest
            .get(length - 1)
            .map_or(token.span.end, |item| item.span().end);
        let span = token.span.start..end;
        at += length;
        of = says == Says::Of || (of && says == Says::Small);
        whose = says == Says::Whose;
        said.word(says, span, faulty);
    }
    said
}

/// The name that stands here, with how many items it takes.
///
/// Where the names are known, any of them is one, unless it is a word of a reading and does not
/// stand where a name does; where they are not, the first word is one if it is no word of a reading
/// and does not come near one.
fn named(
    rest: &[Item],
    names: Option<&[&String]>,
    first: bool,
    in_use: bool,
    text: &str,
) -> Option<(String, usize)> {
    let Some(names) = names else {
        let word = rest.first()?.word()?;
        let near = || {
            let digits = word.bytes().any(|b| b.is_ascii_digit());
            !digits && !meant(word, vocabulary()).is_empty()
        };
        let taken = in_use || !first || !word.starts_with(char::is_alphanumeric) || near();
        let shown = text.get(rest.first()?.span()).unwrap_or(word);
        return (!taken).then(|| (shown.to_owned(), 1));
    };
    let start = rest.first()?.span().start;
    let tail = text.get(start..)?.to_lowercase();
    let mut best: Option<(&String, usize)> = None;
    for name in names.iter().copied() {
        let lower = name.to_lowercase();
        let fits = tail.strip_prefix(lower.as_str()).is_some_and(|after| {
            !after.starts_with(|c: char| c.is_alphanumeric() || c == '-' || c == '_')
        });
        // lower case may take more bytes than what is written; names that do so are matched by words
        let end = start + lower.len();
        let length = rest
            .iter()
            .take_while(|item| item.span().end <= end)
            .count();
        let whole = rest
            .get(length.wrapping_sub(1))
            .is_some_and(|item| item.span().end == end);
        if fits && whole && best.is_none_or(|(known, _)| name.len() > known.len()) {
            best = Some((name, length));
        }
    }
    let (name, length) = best?;
    (first || !in_use).then(|| (name.clone(), length))
}

fn twice(span: Range<usize>, what: &str, faulty: &mut Faulty<'_>) {
    faulty.add(
        span,
        "said twice",
        format!("{what} stands here a second time"),
        "leave one of the two out, or give two readings, each with --measured",
    );
}

impl Said {
    fn take(&mut self, amount: Amount, of: bool) {
        match amount.unit {
            Unit::Data(written) if of && !written.a_second => self.size = Some(amount),
            Unit::Data(_) | Unit::Bare if amount.may_be_rate() => self.rates.push(amount),
            Unit::Data(_) | Unit::Bare => self.sizes.push(amount),
            Unit::Time(_) => self.times.push(amount),
            Unit::Percent => self.shares.push(amount),
            Unit::Streams => self.streams = Some(amount),
            Unit::Link(_) => self.links.push(amount),
        }
    }

    fn word(&mut self, says: Says, span: Range<usize>, faulty: &mut Faulty<'_>) {
        match says {
            Says::What(what) => match &self.what {
                // "copy of a large file", "link rate of the port"
                Some((known, _)) if *known == what => {}
                // "large file", then "many files": the later word is not what was measured
                Some(_) => twice(span, "what was measured", faulty),
                None => self.what = Some((what, span)),
            },
            Says::Way(way) => self.way(vec![way], span, faulty),
            Says::BothWays => self.way(Direction::BOTH.to_vec(), span, faulty),
            Says::Peak => self.peak = true,
            Says::About => self.about = true,
            Says::Stalled => self.stalled = Some(span),
            Says::Again => self.again = true,
            Says::Of | Says::Whose | Says::Small => {}
        }
    }

    fn way(&mut self, ways: Vec<Direction>, span: Range<usize>, faulty: &mut Faulty<'_>) {
        match &self.ways {
            Some((known, _)) if *known == ways => {}
            Some(_) => twice(span, "the direction", faulty),
            None => self.ways = Some((ways, span)),
        }
    }

    /// What was measured, and what came out.
    fn amount(
        &mut self,
        whole: &Range<usize>,
        units: &Units,
        faulty: &mut Faulty<'_>,
    ) -> Option<(What, Told)> {
        let what = self.what.as_ref().map(|(what, _)| *what);
        let amount = match what.unwrap_or(What::Copy) {
            What::LinkRate => self.link(whole, faulty)?,
            What::Ping => self.ping(whole, faulty)?,
            What::CoreBusy => self.busy(whole, faulty)?,
            What::Errors => self.count(whole, faulty)?,
            kind => self.rate(kind, whole, units, faulty)?,
        };
        let kept = match amount {
            Told::Rate(_) => &[][..],
            _ => &self.rates,
        };
        // an amount that nothing was taken of
        let others = self
            .shares
            .iter()
            .chain(&self.times)
            .chain(&self.links)
            .chain(kept);
        for other in others {
            let text = faulty.at(&other.span);
            faulty.add(
                other.span.clone(),
                "a number too many",
                format!("'{text}' does not belong to {}", noun(what)),
                FORM,
            );
        }
        Some((what.unwrap_or(What::Copy), amount))
    }

    /// Takes the only one, if there is one; a second is a fault.
    fn only(list: &mut Vec<Amount>, what: &str, faulty: &mut Faulty<'_>) -> Option<Amount> {
        let mut all = std::mem::take(list).into_iter();
        let first = all.next();
        for second in all {
            faulty.add(
                second.span.clone(),
                "two numbers in one reading",
                format!("a second {what}"),
                "give each its own --measured, for example --measured \"read 112 MB/s\" --measured \"write 95 MB/s\"",
            );
        }
        first
    }

    fn rate(
        &mut self,
        what: What,
        whole: &Range<usize>,
        units: &Units,
        faulty: &mut Faulty<'_>,
    ) -> Option<Told> {
        let exact = |amount: &Amount| match amount.exactness {
            Exactness::Point if self.peak => Exactness::Peak,
            Exactness::Point if self.about => Exactness::About,
            other => other,
        };
        let mut rates = std::mem::take(&mut self.rates);
        // "of" may be missing: 20 GB beside a rate is a size, and 900 MB beside one too
        if rates.len() > 1
            && let Some(at) = rates
                .iter()
                .position(|amount| matches!(amount.unit, Unit::Data(written) if !written.a_second))
        {
            let size = rates.remove(at);
            self.sizes.push(size);
        }
        let exactness = rates.first().map(exact);
        let amount = Self::only(&mut rates, "rate", faulty);
        if let Some(span) = &self.stalled {
            if let Some(amount) = &amount
                && amount.high > 0.0
            {
                let text = faulty.at(&amount.span);
                faulty.add(
                    span.clone(),
                    "a rate and none",
                    format!("it stalls, and '{text}' is told as well"),
                    "give two readings, each with --measured: the rate before, and that it stalls",
                );
            }
            return Some(stalled());
        }
        let Some(amount) = amount else {
            return self.from_time(what, whole, units, faulty);
        };
        if amount.low > amount.high {
            reversed(&amount, faulty);
            return None;
        }
        if let Some(joined) = amount.joined {
            thousands(&amount, joined, faulty);
            return None;
        }
        let written = match amount.unit {
            Unit::Data(written) => Some(written),
            _ => None,
        };
        if amount.high <= 0.0 {
            return Some(stalled());
        }
        let numbers = [amount.low, amount.middle(), amount.high];
        let meanings = units.meanings(Context::of(what), written, numbers);
        let beyond = meanings.iter().any(|m| !m.slip && m.high.base() > FASTEST);
        if beyond || meanings.is_empty() {
            let text = faulty.at(&amount.span);
            faulty.add(
                amount.span.clone(),
                "a rate that cannot be",
                format!("'{text}' is more than any machine moves"),
                "write the number that was read off, with its unit",
            );
            return None;
        }
        Some(Told::Rate(RateReading {
            meanings,
            exactness: exactness.unwrap_or(Exactness::Point),
        }))
    }

    /// A size and how long it took.
    fn from_time(
        &mut self,
        what: What,
        whole: &Range<usize>,
        units: &Units,
        faulty: &mut Faulty<'_>,
    ) -> Option<Told> {
        if self.size.is_none() && !self.sizes.is_empty() && !self.times.is_empty() {
            self.size = Self::only(&mut self.sizes, "size", faulty);
        }
        let time = Self::only(&mut self.times, "time", faulty);
        let (Some(size), Some(time)) = (&self.size, &time) else {
            self.no_rate(what, whole, time.as_ref(), faulty);
            return None;
        };
        let (Unit::Data(written), Unit::Time(factor)) = (size.unit, time.unit) else {
            return None;
        };
        let took = time.middle() * factor;
        if took <= 0.0 || time.low > time.high {
            faulty.add(
                time.span.clone(),
                "a time that cannot be",
                "it took no time",
                "write how long it took, for example 'of 20 GB in 3 min'",
            );
            return None;
        }
        let each = size.middle() / took;
        let meanings = units.meanings(Context::of(what), Some(written), [each; 3]);
        Some(Told::Rate(RateReading {
            meanings,
            exactness: Exactness::About,
        }))
    }

    fn no_rate(
        &self,
        what: What,
        whole: &Range<usize>,
        time: Option<&Amount>,
        faulty: &mut Faulty<'_>,
    ) {
        let (span, found, help) = if let Some(time) = time {
            (
                time.span.clone(),
                format!("'{}' is a time", faulty.at(&time.span)),
                "write 'ping 0.4 ms' for a round trip, or how much was moved in it: 'copy 20 GB in 3 min'".to_owned(),
            )
        } else if let Some(share) = self.shares.first() {
            let text = faulty.at(&share.span);
            (
                share.span.clone(),
                format!("'{text}' is a share"),
                format!(
                    "write 'core busy {text}' if the busiest core is meant; an average over all cores says little"
                ),
            )
        } else if let Some(link) = self.links.first() {
            let text = faulty.at(&link.span);
            (
                link.span.clone(),
                format!("'{text}' is the rate of a link"),
                format!("write 'link rate {text}' if a port shows it"),
            )
        } else if let Some(size) = self.sizes.first().or(self.size.as_ref()) {
            (
                size.span.clone(),
                format!("'{}' is a size, and no rate stands beside it", faulty.at(&size.span)),
                "write the rate, for example '112 MB/s of 20 GB', or how long it took: '20 GB in 3 min'".to_owned(),
            )
        } else {
            (
                whole.clone(),
                format!("no number stands here for {}", noun(Some(what))),
                FORM.to_owned(),
            )
        };
        faulty.add(span, "a reading without its number", found, help);
    }

    fn link(&mut self, whole: &Range<usize>, faulty: &mut Faulty<'_>) -> Option<Told> {
        let mut all = std::mem::take(&mut self.links);
        all.append(&mut self.rates);
        all.append(&mut self.sizes);
        let Some(amount) = Self::only(&mut all, "rate of the link", faulty) else {
            faulty.add(
                whole.clone(),
                "a reading without its number",
                "no rate of the link stands here",
                "write what the port shows, for example 'link rate 1 Gb/s'",
            );
            return None;
        };
        let text = faulty.at(&amount.number);
        let megabits = match amount.unit {
            Unit::Link(factor) => amount.high * factor,
            Unit::Data(written) if written.base == Base::Bytes => {
                bytes_for_bits(&amount, written, faulty);
                return None;
            }
            Unit::Data(written) => amount.high * bits(written) / 1e6,
            _ => match amount.high {
                // what ports show without a unit
                100.0.. => amount.high,
                high if [1.0, 2.5, 5.0].contains(&high) => high * 1000.0,
                _ => {
                    faulty.add(
                        amount.span.clone(),
                        "a number without its unit",
                        format!("'{text}' may be megabits or gigabits"),
                        format!("write '{text} Mb/s' or '{text} Gb/s'"),
                    );
                    return None;
                }
            },
        };
        if amount.low < amount.high {
            faulty.add(
                amount.span.clone(),
                "two numbers in one reading",
                "a link comes up at one rate at a time",
                "write what the port shows now",
            );
            return None;
        }
        if !(SLOWEST_LINK..=FASTEST * 8.0 / 1e6).contains(&megabits) {
            faulty.add(
                amount.span.clone(),
                "a rate that cannot be",
                format!("'{}' is the rate of no link", faulty.at(&amount.span)),
                "write what the port shows, for example 'link rate 1 Gb/s'",
            );
            return None;
        }
        Some(Told::Link(LinkRate::from_base(megabits * 1e6 / 8.0)))
    }

    fn ping(&mut self, whole: &Range<usize>, faulty: &mut Faulty<'_>) -> Option<Told> {
        let Some(amount) = Self::only(&mut self.times, "time", faulty) else {
            let bare = self.rates.first();
            let span = bare.map_or(whole.clone(), |amount| amount.span.clone());
            let found = match bare {
                Some(amount) => format!("'{}' is no time", faulty.at(&amount.span)),
                None => "no time stands here".to_owned(),
            };
            let help = "write the average with its unit, for example 'ping 0.4 ms'";
            self.rates.clear();
            faulty.add(span, "a ping without its time", found, help);
            return None;
        };
        let Unit::Time(factor) = amount.unit else {
            return None;
        };
        // "less than 1 ms" is all that some tools print; half of it is as good a guess as any
        let share = if amount.exactness == Exactness::AtMost {
            0.5
        } else {
            1.0
        };
        let time = amount.middle() * factor * share;
        if time <= 0.0 || time > 600.0 || amount.low > amount.high {
            faulty.add(
                amount.span.clone(),
                "a time that cannot be",
                format!("'{}' is no round trip", faulty.at(&amount.span)),
                "write the average with its unit, for example 'ping 0.4 ms'",
            );
            return None;
        }
        Some(Told::Time(seconds(time)))
    }

    fn busy(&mut self, whole: &Range<usize>, faulty: &mut Faulty<'_>) -> Option<Told> {
        let mut all = std::mem::take(&mut self.shares);
        let bare = |amount: &Amount| amount.unit == Unit::Bare;
        all.extend(self.rates.iter().filter(|a| bare(a)).cloned());
        self.rates.retain(|a| !bare(a));
        let Some(amount) = Self::only(&mut all, "share", faulty) else {
            faulty.add(
                whole.clone(),
                "a reading without its number",
                "no share stands here",
                "write how busy the busiest core is, for example 'core busy 98 %'",
            );
            return None;
        };
        let share = amount.middle();
        if !(0.0..=100.0).contains(&share) || amount.low > amount.high {
            faulty.add(
                amount.span.clone(),
                "a share that cannot be",
                format!("'{}' is more than one core has", faulty.at(&amount.span)),
                "write how busy the busiest core is, from 0 % to 100 %; sums over cores go above",
            );
            return None;
        }
        Some(Told::Share(percent(share)))
    }

    fn count(&mut self, whole: &Range<usize>, faulty: &mut Faulty<'_>) -> Option<Told> {
        let Some(amount) = Self::only(&mut self.rates, "number", faulty) else {
            faulty.add(
                whole.clone(),
                "a reading without its number",
                "how many is not told",
                "write how many were counted, for example 'errors 1200'",
            );
            return None;
        };
        let count = amount.joined.unwrap_or(amount.high);
        let whole_number = count.fract() == 0.0 && count < 1e18 && amount.low <= amount.high;
        if amount.unit != Unit::Bare || !whole_number {
            faulty.add(
                amount.span.clone(),
                "a number that cannot be",
                format!("'{}' is no number of errors", faulty.at(&amount.span)),
                "write how many were counted, for example 'errors 1200'",
            );
            return None;
        }
        Some(Told::Count(count as u64))
    }

    /// A machine that is no desk has readings of its own, and no copies.
    fn whose(&mut self, what: What, machines: &[String], faulty: &mut Faulty<'_>) {
        let Some((name, span)) = self.desk.take_if(|(name, _)| machines.contains(name)) else {
            return;
        };
        if matches!(
            what,
            What::Copy | What::ManyFiles | What::LocalDisk | What::RawTcp
        ) {
            faulty.add(
                span,
                "a name that is no desk",
                format!("'{name}' is no desk, and {} is measured at one", noun(Some(what))),
                "write the name of the desk, or what was measured on the machine itself: 'local array read 430 MB/s'",
            );
        }
    }

    fn streams(&self, faulty: &mut Faulty<'_>) -> u32 {
        let Some(amount) = &self.streams else {
            return 1;
        };
        let count = amount.high;
        if count.fract() == 0.0 && (1.0..=MOST_STREAMS).contains(&count) && amount.low == count {
            return count as u32;
        }
        faulty.add(
            amount.span.clone(),
            "a number that cannot be",
            format!("'{}' at once cannot be", faulty.at(&amount.number)),
            "write how many run at once, from 1 to 1000, for example '4 streams'",
        );
        1
    }

    fn size(&mut self, faulty: &mut Faulty<'_>) -> Option<Information> {
        if self.size.is_some() && !self.sizes.is_empty() {
            self.sizes.insert(0, self.size.take()?);
        }
        let amount = self
            .size
            .take()
            .or_else(|| Self::only(&mut self.sizes, "size", faulty))?;
        let Unit::Data(written) = amount.unit else {
            return None;
        };
        let size = amount.middle() * written.factor();
        if size <= 0.0 || size > 1e18 || amount.low > amount.high || amount.joined.is_some() {
            faulty.add(
                amount.span.clone(),
                "a size that cannot be",
                format!("'{}' is no size of files", faulty.at(&amount.span)),
                "write how much was moved, for example 'of 20 GB'",
            );
            return None;
        }
        Some(Information::from_base(size))
    }
}

/// Bits in one of a unit; where its case is unclear, bits are meant.
fn bits(written: Written) -> f64 {
    match written.base {
        Base::Bits => written.factor() * 8.0,
        Base::Bytes | Base::Unclear => written.factor(),
    }
}

fn stalled() -> Told {
    Told::Rate(RateReading {
        exactness: Exactness::Stalled,
        ..RateReading::plain(DataRate::from_base(0.0))
    })
}

fn bytes_for_bits(amount: &Amount, written: Written, faulty: &mut Faulty<'_>) {
    let number = faulty.at(&amount.number);
    let text = faulty.at(&amount.span);
    let rate = LinkRate::from_base(amount.high * written.factor());
    let in_bits = text
        .get(number.len()..)
        .unwrap_or_default()
        .replace('B', "b");
    faulty.add(
        amount.span.clone(),
        "a link in bytes",
        format!("'{text}' counts bytes; the rate of a link is named in bits"),
        format!(
            "write '{number}{in_bits}' if bits were meant, or '{rate}' for the same rate in bits"
        ),
    );
}

fn reversed(amount: &Amount, faulty: &mut Faulty<'_>) {
    faulty.add(
        amount.span.clone(),
        "a range from the larger to the smaller",
        format!("{} is more than {}", amount.low, amount.high),
        "write the lower number first; for a rate that falls over time say how: 'fast then drops after 20 GB'",
    );
}

fn thousands(amount: &Amount, joined: f64, faulty: &mut Faulty<'_>) {
    let text = faulty.at(&amount.number);
    faulty.add(
        amount.number.clone(),
        "a comma that may be two things",
        format!("'{text}' may be {joined} or {}", amount.low),
        format!("write '{joined}' or '{}'", amount.low),
    );
}

/// What a reading is of, for messages.
fn noun(what: Option<What>) -> &'static str {
    match what.unwrap_or(What::Copy) {
        What::Copy => "a copy",
        What::ManyFiles => "a copy of many files",
        What::RawTcp => "a test from memory to memory",
        What::LocalDisk => "a test of the desk's own disk",
        What::LocalArray => "a test of the array on its NAS",
        What::LinkRate => "the rate of a link",
        What::Ping => "a ping",
        What::CoreBusy => "how busy a core is",
        What::Errors => "a count of errors",
    }
}
