//! A reading in words: `cut-1 copy read 112 MB/s of 20 GB`.

use super::faulty::{Faulty, meant};
use super::items::{Amount, Item, Unit};
use super::listener::Listener;
use super::phrases::{Says, phrase, vocabulary};
use super::units::Units;
use crate::explain::{Amount as Told, Exactness, Reading, What};
use crate::quantity::{Information, Measure};
use crate::work::Direction;
use std::ops::Range;

/// What a reading may look like, for messages.
pub(super) const FORM: &str = "write, for example, 'cut-1 copy read 112 MB/s' or 'ping 0.4 ms'";

/// More at once is no desk any more.
const MOST_STREAMS: f64 = 1000.0;

/// Everything that was said, with its places.
#[allow(clippy::struct_excessive_bools)] // each is said by itself
#[derive(Default)]
pub(super) struct Said {
    pub(super) desk: Option<(String, Range<usize>)>,
    pub(super) what: Option<(What, Range<usize>)>,
    pub(super) ways: Option<(Vec<Direction>, Range<usize>)>,
    pub(super) rates: Vec<Amount>,
    pub(super) sizes: Vec<Amount>,
    /// Behind "of".
    pub(super) size: Option<Amount>,
    pub(super) times: Vec<Amount>,
    pub(super) shares: Vec<Amount>,
    pub(super) streams: Option<Amount>,
    pub(super) files: Option<Amount>,
    pub(super) links: Vec<Amount>,
    pub(super) peak: bool,
    pub(super) about: bool,
    pub(super) stalled: Option<Range<usize>>,
    pub(super) again: bool,
    /// Where it says that pieces lie at random places.
    pub(super) random: Option<Range<usize>>,
    /// Whether a bare number is one of requests a second.
    pub(super) counts_requests: bool,
    pub(super) requests: Vec<Amount>,
    /// The size of a piece.
    pub(super) piece: Option<Information>,
    /// Words that say nothing here.
    pub(super) unread: Vec<Range<usize>>,
}

/// Reads items as a reading: one, or two where it holds both ways or a number stands for each. What
/// is wrong is added to the faults; nothing comes back then.
///
/// The second part are words that are none of a reading.
pub(super) fn reading(
    items: &[Item],
    listener: &Listener,
    faulty: &mut Faulty<'_>,
) -> (Vec<Reading>, Vec<Range<usize>>) {
    let (mut found, mut unread) = (Vec::new(), Vec::new());
    for part in halves(items).unwrap_or_else(|| vec![items.to_vec()]) {
        let (readings, words) = one_number(&part, listener, faulty);
        found.extend(readings);
        unread.extend(
            words
                .into_iter()
                .filter(|word| !unread.contains(word))
                .collect::<Vec<_>>(),
        );
    }
    if found.len() > 1 {
        for reading in &mut found {
            reading.text = reading.shown();
        }
    }
    (found, unread)
}

/// "read 112, write 95 MB/s": one number each way makes two readings, each with what stands before
/// both; a unit that only one of them has is that of both.
fn halves(items: &[Item]) -> Option<Vec<Vec<Item>>> {
    let mut ways = Vec::new();
    let mut rates = Vec::new();
    for (at, item) in items.iter().enumerate() {
        match item {
            Item::Word(token) => {
                if let Some((Says::Way(way), 1)) = phrase(&std::iter::once(token.lower.as_str())) {
                    ways.push((at, way));
                }
            }
            Item::Amount(amount) if amount.may_be_rate() => rates.push(at),
            Item::Amount(_) => {}
        }
    }
    let ([(first, one), (second, other)], [low, high]) = (&ways[..], &rates[..]) else {
        return None;
    };
    let begins = (*first).min(*low);
    let cut = if first < low && low < second && second < high {
        *second
    } else if low < first && first < high && high < second {
        first + 1
    } else {
        return None;
    };
    if one == other {
        return None;
    }
    let unit = |at: &usize| match items.get(*at) {
        Some(Item::Amount(amount)) => amount.unit,
        _ => Unit::Bare,
    };
    let shared = match (unit(low), unit(high)) {
        (Unit::Bare, unit) | (unit, _) => unit,
    };
    let with_unit = |item: &Item| match item {
        Item::Amount(amount) if amount.unit == Unit::Bare => Item::Amount(Amount {
            unit: shared,
            ..amount.clone()
        }),
        item => item.clone(),
    };
    let before = items.iter().take(begins);
    let head = items.iter().take(cut).map(with_unit).collect();
    let tail = before
        .chain(items.iter().skip(cut))
        .map(with_unit)
        .collect();
    Some(vec![head, tail])
}

/// Reads items with one number.
fn one_number(
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
        random: said.piece,
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
        let says = phrase(&words);
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
            Unit::Files => self.files = Some(amount),
            Unit::Link(_) => self.links.push(amount),
            Unit::Requests(_) => {
                self.random.get_or_insert(amount.span.clone());
                self.requests.push(amount);
            }
        }
    }

    fn word(&mut self, says: Says, span: Range<usize>, faulty: &mut Faulty<'_>) {
        match says {
            Says::What(what) => match &self.what {
                // "copy of a large file", "link rate of the port"
                Some((known, _)) if *known == what => {}
                // "copy of small files"
                Some((What::Copy, _)) if what == What::ManyFiles => self.what = Some((what, span)),
                Some((What::ManyFiles, _)) if what == What::Copy => {}
                Some(_) => twice(span, "what was measured", faulty),
                None => self.what = Some((what, span)),
            },
            Says::Way(way) => self.way(vec![way], span, faulty),
            Says::BothWays => self.way(Direction::BOTH.to_vec(), span, faulty),
            Says::Peak => self.peak = true,
            Says::About => self.about = true,
            Says::Stalled => self.stalled = Some(span),
            Says::Again => self.again = true,
            Says::Random => {
                self.random.get_or_insert(span);
            }
            Says::Requests => {
                self.random.get_or_insert(span);
                self.counts_requests = true;
            }
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
        let mut what = self.what.as_ref().map(|(what, _)| *what);
        let many = self.files.as_ref().is_some_and(|files| files.high > 1.0);
        if many && matches!(what, None | Some(What::Copy)) {
            what = Some(What::ManyFiles);
        }
        let kind = what.unwrap_or(What::Copy);
        if let Some(span) = self.random.clone() {
            return Some((kind, self.pieces(kind, &span, whole, units, faulty)?));
        }
        let amount = match kind {
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
    pub(super) fn only(
        list: &mut Vec<Amount>,
        what: &str,
        faulty: &mut Faulty<'_>,
    ) -> Option<Amount> {
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
        let one = amount.exactness != Exactness::Range;
        if one && count.fract() == 0.0 && (1.0..=MOST_STREAMS).contains(&count) {
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

/// What a reading is of, for messages.
pub(super) fn noun(what: Option<What>) -> &'static str {
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
        What::Playback => "whether a film plays",
    }
}
