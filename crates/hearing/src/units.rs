//! Units as people write them behind a number.

use crate::numbers::Token;

/// What a number counts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Unit {
    /// Nothing is written.
    Bare,
    /// Data, or data a second, minute or hour.
    Data {
        /// Bytes in one of it as it is written; where the case says nothing, of bytes.
        bytes: f64,
        /// Bits are written.
        bits: bool,
        /// The case of its letter says nothing, or no letter stands there.
        unclear: bool,
        /// With an `i`.
        binary: bool,
        /// Written as "mbps".
        ps: bool,
        /// Seconds that it is a rate over.
        over: Option<f64>,
    },
    /// Seconds in one of it.
    Time(f64),
    /// Hundredths.
    Percent,
    /// Files and pictures; seconds that they are counted over.
    Files(Option<f64>),
    /// Layers of a picture, or films at once.
    Layers,
    /// Streams or angles at once.
    Streams,
    /// Frames that were dropped, a minute.
    FramesPerMinute,
}

impl Unit {
    /// Whether both count the same.
    pub(crate) fn same(self, other: Self) -> bool {
        match (self, other) {
            (Self::Data { over: a, .. }, Self::Data { over: b, .. }) => a == b || b.is_none(),
            (Self::Time(a), Self::Time(b)) => a.to_bits() == b.to_bits(),
            (a, b) => std::mem::discriminant(&a) == std::mem::discriminant(&b),
        }
    }
}

/// Things of which many are copied.
const FILES: &[&str] = &[
    "file",
    "files",
    "stills",
    "still",
    "jpegs",
    "jpgs",
    "jpeg",
    "jpg",
    "photos",
    "photo",
    "pictures",
    "picture",
    "images",
    "image",
    "textures",
    "thumbnails",
    "items",
    "documents",
    "previews",
    "frames",
    "shots",
    "clips",
    "bits",
    "drawings",
    "raws",
    "dpx",
    "exrs",
    "tiffs",
    "pdfs",
    "samples",
    "icons",
];

/// Words between a number and what it counts.
const ADJECTIVES: &[&str] = &[
    "little",
    "litle",
    "small",
    "tiny",
    "raw",
    "big",
    "large",
    "hd",
    "uhd",
    "more",
    "camera",
    "sound",
    "of",
    "4k",
    "8k",
    "6k",
    "parallel",
    "single",
    "short",
    "fresh",
    "video",
    "new",
    "simultaneous",
    "separate",
    "prores",
    "smaller",
    "k",
    "full",
    "hires",
];

/// The unit that begins at a token, and where it ends.
pub(crate) fn unit_at(tokens: &[Token], at: usize) -> (Unit, usize) {
    let word = |i: usize| tokens.get(i).map_or("", |t| t.text.as_str());
    let Some(token) = tokens.get(at) else {
        return (Unit::Bare, at);
    };
    if token.text == ","
        && ["megabytes", "megabits", "gigabytes", "megs", "gigabits"].contains(&word(at + 1))
    {
        return unit_at(tokens, at + 1);
    }
    if token.text == "%" || ["percent", "pct"].contains(&word(at)) {
        return (Unit::Percent, at + 1);
    }
    if word(at) == "per" && word(at + 1) == "cent" {
        return (Unit::Percent, at + 2);
    }
    // the rate that something has with "per second" alone
    if let Some((mut data, mut next)) = data(token, at) {
        if let Unit::Data { over, .. } = &mut data {
            let (told, after) = over_at(tokens, next);
            if over.is_none() {
                *over = told;
            }
            next = after;
        }
        return (data, next);
    }
    if let Some(seconds) = time(word(at)) {
        return (Unit::Time(seconds), at + 1);
    }
    let mut noun = at;
    while noun < at + 3
        && (ADJECTIVES.contains(&word(noun))
            || (tokens.get(noun).is_some_and(|t| t.number.is_some()) && word(noun + 1) == "k"))
    {
        noun += 1;
    }
    let here = word(noun);
    if here == "frames"
        && ["a", "per", "/"].contains(&word(noun + 1))
        && ["minute", "min"].contains(&word(noun + 2))
    {
        return (Unit::FramesPerMinute, noun + 3);
    }
    if FILES.contains(&here) {
        let (over, next) = over_at(tokens, noun + 1);
        return (Unit::Files(over), next);
    }
    if here.starts_with("layer") || here == "films" || here == "tracks" {
        return (Unit::Layers, noun + 1);
    }
    if here.starts_with("stream")
        || here.starts_with("angle")
        || here.starts_with("camera")
        || here.starts_with("feed")
    {
        return (
            Unit::Streams,
            noun + 1 + usize::from(word(noun + 1).starts_with("angle")),
        );
    }
    let (over, next) = over_at(tokens, at);
    match over {
        // "at 40 a second"
        Some(over) => (Unit::Files(Some(over)), next),
        None => (Unit::Bare, at),
    }
}

/// "per second", "a minute", "/s", and where it ends.
fn over_at(tokens: &[Token], at: usize) -> (Option<f64>, usize) {
    let word = |i: usize| tokens.get(i).map_or("", |t| t.text.as_str());
    if ["per", "a", "/", "each", "every", "p"].contains(&word(at)) {
        let slash = usize::from(word(at + 1) == "/");
        let seconds = match word(at + 1 + slash) {
            "s" | "sec" | "second" | "secs" => 1.0,
            "min" | "minute" => 60.0,
            "h" | "hour" | "hr" => 3600.0,
            _ => return (None, at),
        };
        return (Some(seconds), at + 2 + slash);
    }
    (None, at)
}

/// A unit of data in one word.
fn data(token: &Token, at: usize) -> Option<(Unit, usize)> {
    let lower = token.text.as_str();
    let (stripped, ps) = match lower.strip_suffix("ps") {
        Some(short) if short.len() >= 2 && !short.ends_with("am") => (short, true),
        _ => (lower, false),
    };
    let scales = [
        ("tera", 1e12, 1_099_511_627_776.0),
        ("giga", 1e9, 1_073_741_824.0),
        ("mega", 1e6, 1_048_576.0),
        ("kilo", 1e3, 1024.0),
        ("tebi", 1_099_511_627_776.0, 1_099_511_627_776.0),
        ("gibi", 1_073_741_824.0, 1_073_741_824.0),
        ("mebi", 1_048_576.0, 1_048_576.0),
        ("kibi", 1024.0, 1024.0),
    ];
    let short = [
        ("t", 1e12, 1_099_511_627_776.0),
        ("g", 1e9, 1_073_741_824.0),
        ("m", 1e6, 1_048_576.0),
        ("k", 1e3, 1024.0),
    ];
    let (scale, two, rest) = scales
        .iter()
        .chain(&short)
        .find_map(|(word, ten, two)| stripped.strip_prefix(word).map(|rest| (*ten, *two, rest)))?;
    let made = |bits: bool, unclear: bool, binary: bool| Unit::Data {
        bytes: if binary { two } else { scale } / if bits { 8.0 } else { 1.0 },
        bits,
        unclear,
        binary,
        ps,
        over: ps.then_some(1.0),
    };
    let unit = match rest {
        "bit" | "bits" => made(true, false, false),
        "byte" | "bytes" => made(false, false, false),
        // octets, as they are written in French
        "o" if token.shown.starts_with(|c: char| c.is_ascii_uppercase()) => {
            made(false, false, false)
        }
        "ibit" | "ibits" => made(true, false, true),
        "ibyte" | "ibytes" | "ib" => made(false, false, true),
        "b" => {
            let shown = &token.shown;
            let bits =
                ps || (shown.contains('b') && shown.starts_with(|c: char| c.is_ascii_uppercase()));
            let unclear =
                shown.starts_with(|c: char| c.is_ascii_lowercase()) || shown.ends_with("BPS");
            made(bits && (ps || !unclear), unclear || ps, false)
        }
        // meg, megs, gig, gigs
        "eg" | "egs" if lower.starts_with('m') => made(false, true, false),
        "ig" | "igs" if lower.starts_with('g') => made(false, true, false),
        "" if ["giga", "mega", "tera"].contains(&stripped) => made(false, true, false),
        "" if ["g", "m"].contains(&stripped) && !ps => return link(token, at),
        "be" | "base" if lower.starts_with('g') => made(true, false, false),
        _ => return None,
    };
    Some((unit, at + 1))
}

/// The trade's short form for the rate of a link: 10G.
fn link(token: &Token, at: usize) -> Option<(Unit, usize)> {
    (token.shown == "G").then_some((
        Unit::Data {
            bytes: 1.25e8,
            bits: true,
            unclear: true,
            binary: false,
            ps: false,
            over: None,
        },
        at + 1,
    ))
}

/// Seconds in a unit of time.
fn time(word: &str) -> Option<f64> {
    Some(match word {
        "us" | "\u{b5}s" | "\u{3bc}s" | "microsecond" | "microseconds" => 1e-6,
        "ms" | "msec" | "msecs" | "millisecond" | "milliseconds" | "miliseconds" | "milisecond"
        | "millis" => 1e-3,
        "s" | "sec" | "secs" | "second" | "seconds" => 1.0,
        "min" | "mins" | "minute" | "minutes" | "minuts" | "minutest" => 60.0,
        "h" | "hr" | "hrs" | "hour" | "hours" => 3600.0,
        "d" | "day" | "days" => 86_400.0,
        _ => return None,
    })
}
