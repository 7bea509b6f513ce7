use narrows_core::plan::Stopped;
use narrows_core::site::Assumption;
use serde::Serialize;

/// An answer as a program reads it. Keys are a contract: see docs/json.md.
#[derive(Serialize)]
pub(crate) struct Document<'a, T> {
    pub version: &'static str,
    pub command: &'static str,
    pub site: &'a str,
    pub assumptions: Vec<&'a Assumption>,
    pub cautions: &'a [&'static str],
    pub answer: &'a T,
}

impl<T: Serialize> Document<'_, T> {
    pub(crate) fn text(&self) -> std::io::Result<String> {
        let mut text = serde_json::to_string_pretty(self).map_err(std::io::Error::other)?;
        text.push('\n');
        Ok(text)
    }
}

/// What was assumed of the parts whose ids begin with one of the words.
pub(crate) fn assumed<'a>(all: &'a [Assumption], words: &[&str]) -> Vec<&'a Assumption> {
    let concerns = |a: &&Assumption| words.iter().any(|word| a.id.starts_with(word));
    all.iter().filter(concerns).collect()
}

/// How far a search came that somebody stopped.
#[derive(Serialize)]
pub(crate) struct Known {
    done: usize,
    of: usize,
}

impl Known {
    pub(crate) fn of(stopped: Stopped) -> Self {
        Self {
            done: stopped.done,
            of: stopped.all,
        }
    }
}
