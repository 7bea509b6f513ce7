use std::fmt::Write;

use annotate_snippets::{AnnotationKind, Level, Patch, Renderer, Snippet, renderer::DecorStyle};
use narrows_core::site::{Fault, FaultSource, Faults};

/// The texts that faults point into.
pub(crate) struct Texts<'a> {
    pub path: &'a str,
    pub file: &'a str,
    /// Path and text of a file of tasks.
    pub tasks: Option<(&'a str, &'a str)>,
    pub edits: &'a [String],
}

/// More than anybody mends in one go; the rest is counted.
const DRAWN: usize = 100;

/// Draws faults with file, line, the line itself and the spot marked.
///
/// Letters and lines on a terminal, plain ASCII in a pipe.
pub(crate) fn draw(faults: &Faults, texts: &Texts<'_>, terminal: bool, width: usize) -> String {
    let renderer = if terminal {
        Renderer::styled().decor_style(DecorStyle::Unicode)
    } else {
        Renderer::plain().decor_style(DecorStyle::Ascii)
    }
    .term_width(width);
    let mut out = String::new();
    for fault in faults.iter().take(DRAWN) {
        out.push_str(&one(fault, texts, &renderer));
        out.push_str("\n\n");
    }
    let count = faults.count();
    if count > DRAWN {
        let _ = writeln!(
            out,
            "... and {} more after these {DRAWN}; --format json has all",
            count - DRAWN
        );
    }
    let noun = if count == 1 { "fault" } else { "faults" };
    let mut places: Vec<String> = Vec::new();
    for fault in faults {
        let place = match &fault.source {
            FaultSource::Argument(_) => "the command line".to_owned(),
            other => text_of(other, texts).1,
        };
        if !places.contains(&place) {
            places.push(place);
        }
    }
    let _ = writeln!(out, "{count} {noun} in {}", places.join(" and "));
    out
}

fn one(fault: &Fault, texts: &Texts<'_>, renderer: &Renderer) -> String {
    let (source, path) = text_of(&fault.source, texts);
    let span = clipped(&fault.span, source);
    let mut snippet = Snippet::source(source)
        .path(path.as_str())
        .annotation(AnnotationKind::Primary.span(span).label(&fault.found));
    let mut elsewhere = None;
    if let Some(also) = &fault.also {
        let (text, other) = text_of(&also.place.source, texts);
        let annotation = AnnotationKind::Context
            .span(clipped(&also.place.span, text))
            .label(&also.label);
        if also.place.source == fault.source {
            snippet = snippet.annotation(annotation);
        } else {
            elsewhere = Some((text, other, annotation));
        }
    }
    let mut group = Level::ERROR
        .primary_title(fault.title.as_str())
        .element(snippet);
    if let Some((text, other, annotation)) = &elsewhere {
        group = group.element(
            Snippet::source(*text)
                .path(other.as_str())
                .annotation(annotation.clone()),
        );
    }
    let mut report = vec![];
    match &fault.replacement {
        Some(fix) => {
            report.push(group);
            report.push(
                Level::HELP.secondary_title(fault.help.as_str()).element(
                    Snippet::source(source)
                        .path(path.as_str())
                        .patch(Patch::new(clipped(&fix.span, source), fix.text.as_str())),
                ),
            );
        }
        None => report.push(group.element(Level::HELP.message(fault.help.as_str()))),
    }
    renderer.render(&report)
}

pub(crate) fn text_of<'a>(source: &'a FaultSource, texts: &'a Texts<'_>) -> (&'a str, String) {
    match source {
        FaultSource::File => (texts.file, texts.path.to_owned()),
        FaultSource::Tasks => {
            let (path, text) = texts.tasks.unwrap_or_default();
            (text, path.to_owned())
        }
        FaultSource::Edit(index) => (
            texts.edits.get(*index).map_or("", String::as_str),
            "--set".to_owned(),
        ),
        FaultSource::Argument(text) => (text, "command line".to_owned()),
    }
}

/// A span that the renderer can draw, whatever it was.
fn clipped(span: &std::ops::Range<usize>, text: &str) -> std::ops::Range<usize> {
    let inside = |mut at: usize| {
        at = at.min(text.len());
        while at > 0 && !text.is_char_boundary(at) {
            at -= 1;
        }
        at
    };
    let start = inside(span.start);
    start..inside(span.end).max(start)
}
