//! Questions one at a time, the one that tells most a minute first. They go to where messages go, so that the answer stands alone.

use super::heard::{Heard, spoken};
use crate::Screen;
use crate::arguments::Explain;
use crate::input::Stop;
use crate::render::prose::{item, paragraph};
use narrows_core::catalogue::Catalogue;
use narrows_core::explain::{
    Asks, Explanation, Listener, NextTest, Observations, Remarks, What, explain, settle,
};
use std::fmt::Write as _;

/// A first cause from here on is clear.
const CLEAR: f64 = 0.8;

/// More questions than that nobody answers.
const QUESTIONS: usize = 12;

/// How often one question is put.
const TRIES: usize = 3;

/// Whether questions are to be asked: `--ask` by itself, not as the address of another machine.
pub(super) fn asks(arguments: &Explain) -> bool {
    arguments.measuring.ask.is_some() && !arguments.measuring.measure
}

/// What was said in answer to questions, with the texts that say the same.
pub(super) struct Asked {
    pub(super) heard: Vec<Heard>,
    pub(super) texts: Vec<String>,
}

/// Asks what was read off, of somebody who said nothing yet.
pub(super) fn first(listener: &Listener, screen: &mut Screen<'_>) -> Result<Asked, Stop> {
    let mut asked = Asked {
        heard: Vec::new(),
        texts: Vec::new(),
    };
    for _ in 0..TRIES {
        say(
            "What did you read off? For example: cut-1 copy read 112 MB/s",
            screen,
        )?;
        let Some(line) = line(screen)? else { break };
        match listener.understand(&line) {
            Ok(found) if !found.statements.is_empty() => {
                asked.texts.push(line);
                asked.heard.extend(spoken(found));
                break;
            }
            _ => say("That is not understood.", screen)?,
        }
    }
    Ok(asked)
}

/// Asks until the first cause is clear, nothing more tells, or nobody answers.
pub(super) fn more(
    told: &Observations,
    (listener, remarks, catalogue): (&Listener, &Remarks, &Catalogue),
    screen: &mut Screen<'_>,
) -> Result<Asked, Stop> {
    let mut told = told.clone();
    let mut asked = Asked {
        heard: Vec::new(),
        texts: Vec::new(),
    };
    for _ in 0..QUESTIONS {
        let Some(found) = explained(&told, remarks, catalogue) else {
            break;
        };
        let clear = found.causes.first().is_some_and(|c| c.probability >= CLEAR);
        let Some(test) = found.next_tests.first().filter(|_| !clear) else {
            break;
        };
        told.asked.push(test.id.clone());
        let text = match put(test, listener, screen)? {
            Answer::Text(text) => text,
            Answer::Unknown => continue,
            Answer::Nobody => break,
        };
        let text = match desk_of(test) {
            Some(desk) if several(&told) => format!("{desk} {text}"),
            _ => text,
        };
        if let Ok(found) = listener.understand(&text) {
            let all: Vec<Heard> = spoken(found).collect();
            for heard in &all {
                heard.tell(&mut told);
            }
            asked.heard.extend(all);
            asked.texts.push(text);
        }
    }
    Ok(asked)
}

fn explained(told: &Observations, remarks: &Remarks, catalogue: &Catalogue) -> Option<Explanation> {
    let mut told = told.clone();
    settle(&mut told, remarks, catalogue).ok()?;
    explain(&told, catalogue).ok()
}

fn several(told: &Observations) -> bool {
    told.path_told
        && told
            .sites
            .first()
            .is_some_and(|(site, _)| site.desks.len() > 1)
}

/// Whose the answer is.
fn desk_of(test: &NextTest) -> Option<&str> {
    test.place.strip_prefix("at ")
}

/// What somebody answered.
enum Answer {
    /// A text that says it.
    Text(String),
    /// That it is not known.
    Unknown,
    /// Nobody answers any more.
    Nobody,
}

/// Puts one question.
fn put(test: &NextTest, listener: &Listener, screen: &mut Screen<'_>) -> Result<Answer, Stop> {
    let mut question = test.words.clone();
    if let Some(first) = question.get(..1).map(str::to_uppercase) {
        question.replace_range(..1, &first);
    }
    say(
        &format!("{question} ({}, {:.0} min).", test.place, test.minutes),
        screen,
    )?;
    if !test.caution.is_empty() {
        say(&format!("Mind: {}.", test.caution), screen)?;
    }
    match &test.asks {
        Asks::Whether(..) => {
            for (i, outcome) in test.outcomes.iter().enumerate() {
                choice(i + 1, &outcome.words, screen)?;
            }
            choice(
                test.outcomes.len() + 1,
                "I don't know, or cannot look now",
                screen,
            )?;
        }
        Asks::Rate(..) => say("How much, for example 112 MB/s? Or: don't know", screen)?,
        Asks::LinkRate => say(
            "What do they show, for example 1 Gb/s? Or: don't know",
            screen,
        )?,
    }
    for _ in 0..TRIES {
        let Some(line) = line(screen)? else {
            return Ok(Answer::Nobody);
        };
        if line.is_empty() || line.to_lowercase().contains("know") {
            return Ok(Answer::Unknown);
        }
        let text = match (&test.asks, line.as_str()) {
            (Asks::Whether(shown, _), "1") => shown.clone(),
            (Asks::Whether(_, Some(not)), "2") => not.clone(),
            (Asks::Whether(_, None), "2") | (Asks::Whether(..), "3") => return Ok(Answer::Unknown),
            (Asks::Whether(..), _) => String::new(),
            (Asks::Rate(what, way), _) => format!("{} {} {line}", named(*what), way.word()),
            (Asks::LinkRate, _) => format!("link rate {line}"),
        };
        if understood(&text, listener) {
            return Ok(Answer::Text(text));
        }
        say("That is not understood. Or: don't know", screen)?;
    }
    Ok(Answer::Unknown)
}

fn understood(text: &str, listener: &Listener) -> bool {
    listener
        .understand(text)
        .is_ok_and(|found| !found.statements.is_empty())
}

fn named(what: What) -> &'static str {
    match what {
        What::RawTcp => "raw tcp",
        What::LocalArray => "local array",
        What::LocalDisk => "local disk",
        _ => "copy",
    }
}

/// What would have said the same at once.
pub(super) fn flags(
    arguments: &Explain,
    texts: &[String],
    screen: &mut Screen<'_>,
) -> Result<(), Stop> {
    let site = arguments.site.as_ref();
    let mut out = String::from("The same again: narrows explain");
    if let Some(site) = site {
        let _ = write!(out, " {}", site.display());
    }
    for text in arguments.measured.iter().chain(texts) {
        let _ = write!(out, " --measured \"{}\"", text.trim());
    }
    say(&out, screen)
}

fn say(text: &str, screen: &mut Screen<'_>) -> Result<(), Stop> {
    let text = paragraph(text, screen.width, 0);
    writeln!(screen.err, "{text}")?;
    Ok(())
}

fn choice(number: usize, text: &str, screen: &mut Screen<'_>) -> Result<(), Stop> {
    let text = item(&format!("{number}  {text}"), screen.width);
    writeln!(screen.err, "{text}")?;
    Ok(())
}

/// The next line that somebody wrote; nothing where there is none.
fn line(screen: &mut Screen<'_>) -> Result<Option<String>, Stop> {
    screen.err.flush()?;
    let mut line = String::new();
    let read = screen.input.read_line(&mut line)?;
    Ok((read > 0).then(|| line.trim().to_owned()))
}
