//! Lines of the control connection: read and written here, and nowhere else.
//!
//! Protocol 1. Each line is ASCII, at most 512 bytes, ended by a line feed. Any bytes may come in.

use std::fmt::Write;
use std::time::Duration;

/// Most bytes of a line, its end included.
pub const LONGEST_LINE: usize = 512;
/// The one version that is spoken.
pub const VERSION: u32 = 1;
/// Windows of one line of counts.
const COUNTS_A_LINE: usize = 12;

/// Which way a run goes, seen by the side that asks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// From the waiting side to the asking one: reading.
    Receive,
    /// From the asking side to the waiting one: writing.
    Send,
    /// Both at once.
    Both,
    /// Small packets there and back.
    Echo,
}

impl Way {
    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Receive => "receive",
            Self::Send => "send",
            Self::Both => "both",
            Self::Echo => "echo",
        }
    }

    fn of(word: &str) -> Option<Self> {
        [Self::Receive, Self::Send, Self::Both, Self::Echo]
            .into_iter()
            .find(|way| way.word() == word)
    }
}

/// What one run is to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Plan {
    /// Which way.
    pub way: Way,
    /// How many streams at once.
    pub streams: u32,
    /// How long, in seconds.
    pub seconds: u32,
    /// How many bytes at most, both ways together.
    pub bytes: u64,
    /// Whether small packets go there and back meanwhile.
    pub echo: bool,
    /// Bytes a second that all streams are held to, each way.
    pub held_to: Option<u64>,
}

/// Sixteen bytes that are used once.
pub type Nonce = [u8; 16];

/// Bytes and length of a window, as they are told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Count {
    /// Bytes.
    pub bytes: u64,
    /// Length.
    pub length: Duration,
}

/// A line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Line {
    /// Hello of either side with its nonce.
    Hello(Nonce),
    /// Hello of another version.
    Version(u32),
    /// The version that is spoken; the other one is not.
    Only(u32),
    /// Proof that the token is known.
    Proof([u8; 32]),
    /// What is asked for.
    Plan(Plan),
    /// What is given: a session of its own, and the smaller numbers.
    Take(Nonce, Plan),
    /// No, and why.
    No(String),
    /// All streams are there.
    Go,
    /// First words of a data connection.
    Data(Nonce, u32),
    /// Windows that were counted.
    Counts(Vec<Count>),
    /// The end of a run: bytes by stream, segments sent again, busiest core in thousandths.
    Totals(Vec<u64>, Option<u64>, Option<u32>),
    /// The end.
    Bye,
}

/// Why a line cannot be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Junk;

fn hex<const N: usize>(text: &str) -> Option<[u8; N]> {
    let text = text.as_bytes();
    if text.len() != 2 * N {
        return None;
    }
    let mut out = [0; N];
    for (byte, pair) in out.iter_mut().zip(text.chunks_exact(2)) {
        let digit = |c: u8| match c {
            b'0'..=b'9' => Some(c - b'0'),
            b'a'..=b'f' => Some(c - b'a' + 10),
            _ => None,
        };
        let [high, low] = pair else { return None };
        *byte = digit(*high)? << 4 | digit(*low)?;
    }
    Some(out)
}

/// Bytes in hexadecimal digits.
pub(crate) fn in_hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut out, byte| {
        let _ = write!(out, "{byte:02x}");
        out
    })
}

fn plan<'t>(words: &mut impl Iterator<Item = &'t str>) -> Option<Plan> {
    let way = Way::of(words.next()?)?;
    let (mut streams, mut seconds, mut bytes) = (None, None, None);
    let (mut echo, mut held_to) = (None, None);
    for word in words {
        let (key, value) = word.split_once('=')?;
        match key {
            "streams" if streams.is_none() => streams = Some(value.parse().ok()?),
            "seconds" if seconds.is_none() => seconds = Some(value.parse().ok()?),
            "bytes-at-most" if bytes.is_none() => bytes = Some(value.parse().ok()?),
            "echo" if echo.is_none() => {
                echo = Some(match value {
                    "yes" => true,
                    "no" => false,
                    _ => return None,
                });
            }
            "held-to" if held_to.is_none() => held_to = Some(value.parse().ok()?),
            _ => return None,
        }
    }
    Some(Plan {
        way,
        streams: streams?,
        seconds: seconds?,
        bytes: bytes?,
        echo: echo.unwrap_or(false),
        held_to,
    })
}

fn told<T: std::str::FromStr>(word: &str) -> Result<Option<T>, Junk> {
    if word == "-" {
        Ok(None)
    } else {
        word.parse().map(Some).map_err(|_| Junk)
    }
}

/// Reads a line without its end. Tests: `verify_lines_come_back`, `verify_junk_is_junk`.
///
/// # Errors
/// Where it is none of ours.
pub fn parse(line: &[u8]) -> Result<Line, Junk> {
    if line.len() >= LONGEST_LINE || !line.iter().all(|b| (b' '..=b'~').contains(b)) {
        return Err(Junk);
    }
    let text = std::str::from_utf8(line).map_err(|_| Junk)?;
    parsed(text).ok_or(Junk)
}

fn parsed(text: &str) -> Option<Line> {
    let mut words = text.split(' ');
    let line = match words.next()? {
        "narrows-probe" => {
            let version: u32 = words.next()?.parse().ok()?;
            match words.next()? {
                "only" => Line::Only(version),
                "hello" if version != VERSION => return Some(Line::Version(version)),
                "hello" => Line::Hello(hex(words.next()?)?),
                _ => return None,
            }
        }
        "proof" => Line::Proof(hex(words.next()?)?),
        "plan" => Line::Plan(plan(&mut words)?),
        "take" => {
            let session = hex(words.next()?)?;
            Line::Take(session, plan(&mut words)?)
        }
        "no" => return Some(Line::No(text.get(3..)?.chars().take(120).collect())),
        "go" => Line::Go,
        "data" => Line::Data(hex(words.next()?)?, words.next()?.parse().ok()?),
        "counts" => {
            let mut counts = Vec::new();
            for word in words.by_ref() {
                let (bytes, length) = word.split_once(':')?;
                counts.push(Count {
                    bytes: bytes.parse().ok()?,
                    length: Duration::from_micros(length.parse().ok()?),
                });
            }
            Line::Counts(counts)
        }
        "totals" => {
            let (resent, busiest) = (told(words.next()?).ok()?, told(words.next()?).ok()?);
            let mut each = Vec::new();
            for word in words.by_ref() {
                each.push(word.parse().ok()?);
            }
            Line::Totals(each, resent, busiest)
        }
        "bye" => Line::Bye,
        _ => return None,
    };
    words.next().is_none().then_some(line)
}

fn plan_text(plan: &Plan) -> String {
    let mut out = format!(
        "{} streams={} seconds={} bytes-at-most={}",
        plan.way.word(),
        plan.streams,
        plan.seconds,
        plan.bytes
    );
    if plan.echo {
        out.push_str(" echo=yes");
    }
    if let Some(rate) = plan.held_to {
        let _ = write!(out, " held-to={rate}");
    }
    out
}

impl std::fmt::Display for Line {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let or_none = |value: Option<String>| value.unwrap_or_else(|| "-".to_owned());
        match self {
            Self::Hello(nonce) => write!(f, "narrows-probe {VERSION} hello {}", in_hex(nonce)),
            Self::Version(version) => write!(f, "narrows-probe {version} hello"),
            Self::Only(version) => write!(f, "narrows-probe {version} only"),
            Self::Proof(proof) => write!(f, "proof {}", in_hex(proof)),
            Self::Plan(plan) => write!(f, "plan {}", plan_text(plan)),
            Self::Take(session, plan) => write!(f, "take {} {}", in_hex(session), plan_text(plan)),
            Self::No(why) => write!(f, "no {why}"),
            Self::Go => f.write_str("go"),
            Self::Data(session, index) => write!(f, "data {} {index}", in_hex(session)),
            Self::Counts(counts) => {
                f.write_str("counts")?;
                for count in counts {
                    write!(f, " {}:{}", count.bytes, count.length.as_micros())?;
                }
                Ok(())
            }
            Self::Totals(each, resent, busiest) => {
                let (resent, busiest) = (
                    or_none(resent.map(|n| n.to_string())),
                    or_none(busiest.map(|n| n.to_string())),
                );
                write!(f, "totals {resent} {busiest}")?;
                for bytes in each {
                    write!(f, " {bytes}")?;
                }
                Ok(())
            }
            Self::Bye => f.write_str("bye"),
        }
    }
}

/// Lines of counts that hold all windows.
pub(crate) fn counts(all: &[Count]) -> impl Iterator<Item = Line> {
    all.chunks(COUNTS_A_LINE)
        .map(|part| Line::Counts(part.to_vec()))
}
