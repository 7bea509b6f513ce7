use crate::style::PICTURE;
use crate::text::plain;
use maud::{Markup, PreEscaped, html};

/// A picture with its name and what it shows in words.
#[derive(Clone, Debug)]
pub struct Picture {
    title: String,
    words: String,
    width: f64,
    height: f64,
    body: Markup,
}

impl Picture {
    pub(crate) fn new(title: &str, words: &str, (width, height): (f64, f64), body: Markup) -> Self {
        Self {
            title: plain(title),
            words: plain(words),
            width,
            height,
            body,
        }
    }

    /// Several pictures side by side under one name, as one.
    #[must_use]
    pub fn beside(title: &str, pictures: Vec<Self>) -> Self {
        let words: Vec<&str> = pictures.iter().map(|one| one.words.as_str()).collect();
        let words = words.join(" ");
        let height = pictures.iter().map(|one| one.height).fold(0.0, f64::max);
        let mut x = 0.0;
        let placed: Vec<(f64, Markup)> = pictures
            .into_iter()
            .map(|one| {
                let left = x;
                x += one.width + BETWEEN;
                (left, one.body)
            })
            .collect();
        let body = html! {
            @for (left, body) in &placed { g transform={ "translate(" (at(*left)) " 0)" } { (body) } }
        };
        Self::new(title, &words, ((x - BETWEEN).max(1.0), height), body)
    }

    /// As a file of its own (SVG 1.1, XML).
    pub fn file(&self) -> String {
        let mut text = self.element("picture", true).into_string();
        // an element a line; no name can look like one, since its brackets are escaped
        for name in [
            "path", "rect", "circle", "text", "g", "title", "desc", "style", "defs", "pattern",
        ] {
            text = text.replace(&format!("<{name}"), &format!("\n<{name}"));
        }
        text.push('\n');
        text
    }

    /// Inside a page; `id` tells it from the others there.
    pub(crate) fn inside(&self, id: &str) -> Markup {
        self.element(id, false)
    }

    fn element(&self, id: &str, alone: bool) -> Markup {
        let (title, words) = (format!("{id}-title"), format!("{id}-words"));
        let view = format!("0 0 {} {}", at(self.width), at(self.height));
        let name = alone.then_some("http://www.w3.org/2000/svg");
        html! {
            svg.picture xmlns=[name] viewBox=(view) role="img" aria-labelledby=(title) aria-describedby=(words) {
                title id=(title) { (self.title) }
                desc id=(words) { (self.words) }
                @if alone {
                    style { (PreEscaped(PICTURE)) }
                    rect.paper width=(at(self.width)) height=(at(self.height)) {}
                }
                @if self.body.0.contains(OWN) { (patterns(id)) }
                (self.body_of(id))
            }
        }
    }

    /// Patterns belong to one picture, since a page would mix up those of several.
    fn body_of(&self, id: &str) -> Markup {
        let body = self.body.0.replace(OWN, id);
        PreEscaped(body)
    }
}

/// Between two pictures that stand side by side.
const BETWEEN: f64 = 36.0;

/// Stands for the id of the picture in what is drawn.
const OWN: &str = "\u{1}own\u{1}";

/// Fills that can be told apart without colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Fill {
    /// Stripes from the lower left: what may or may not be reached.
    Maybe,
    /// Stripes the other way, of the narrow place.
    Narrow,
    /// The same, what may or may not be reached.
    NarrowMaybe,
}

impl Fill {
    fn word(self) -> &'static str {
        match self {
            Self::Maybe => "maybe",
            Self::Narrow => "narrow",
            Self::NarrowMaybe => "narrow-maybe",
        }
    }

    /// For the attribute `fill`.
    pub(crate) fn url(self) -> String {
        format!("url(#{OWN}-{})", self.word())
    }
}

fn patterns(id: &str) -> Markup {
    html! {
        defs {
            pattern id={ (id) "-maybe" } width="6" height="6" patternUnits="userSpaceOnUse" {
                rect.band width="6" height="6" {}
                path.stripe d="M-1 7L7 -1M-1 1L1 -1M5 7L7 5" {}
            }
            pattern id={ (id) "-narrow" } width="6" height="6" patternUnits="userSpaceOnUse" {
                rect.narrow width="6" height="6" {}
                path.paper-stripe d="M-1 -1L7 7M5 -1L7 1M-1 5L1 7" {}
            }
            pattern id={ (id) "-narrow-maybe" } width="6" height="6" patternUnits="userSpaceOnUse" {
                rect.narrow-band width="6" height="6" {}
                path.narrow-stripe d="M-1 7L7 -1M-1 1L1 -1M5 7L7 5" {}
            }
        }
    }
}

/// A coordinate with one decimal, so that files are small and stay the same.
pub(crate) fn at(value: f64) -> String {
    let text = format!("{value:.1}");
    match text.strip_suffix(".0") {
        Some("-0") => "0".to_owned(),
        Some(whole) => whole.to_owned(),
        None => text,
    }
}

/// Text in a picture: where, which class, which end stands there.
pub(crate) fn label(x: f64, y: f64, class: &str, anchor: Anchor, text: &Markup) -> Markup {
    html! {
        text x=(at(x)) y=(at(y)) class=(class) text-anchor=[anchor.word()] { (text) }
    }
}

/// Which part of a text stands at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

impl Anchor {
    fn word(self) -> Option<&'static str> {
        match self {
            Self::Start => None,
            Self::Middle => Some("middle"),
            Self::End => Some("end"),
        }
    }
}

/// The mark of a narrow place: two banks that come close, with their middle at a point.
pub(crate) fn strait(x: f64, y: f64, size: f64) -> Markup {
    let (half, gap) = (size / 2.0, size * 0.11);
    let bank = |sign: f64| {
        format!(
            "M{} {}L{} {}Q{} {} {} {}Z",
            at(x - half),
            at(y + sign * half),
            at(x + half),
            at(y + sign * half),
            at(x),
            at(y - sign * (half * 0.9 - gap)),
            at(x - half),
            at(y + sign * half),
        )
    };
    html! {
        g.strait { path d=(bank(-1.0)) {} path d=(bank(1.0)) {} }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_stays_text() {
        let body = label(
            1.0,
            2.04,
            "soft",
            Anchor::End,
            &html! { ("</text><script>") },
        );
        let picture = Picture::new("a \"<b>\"", "c & d\u{0}", (10.0, 20.5), body);
        let file = picture.file();
        assert!(file.starts_with("<svg"), "{file}");
        assert!(file.contains("viewBox=\"0 0 10 20.5\""), "{file}");
        assert!(file.contains("&lt;/text&gt;&lt;script&gt;"), "{file}");
        assert!(file.contains("c &amp; d\u{fffd}"), "{file}");
        assert!(!file.contains("<script"), "{file}");
    }

    #[test]
    fn pictures_of_one_page_do_not_share_their_patterns() {
        let body = html! { rect fill=(Fill::Maybe.url()) {} };
        let picture = Picture::new("t", "w", (1.0, 1.0), body);
        let inside = picture.inside("p7").into_string();
        assert!(
            inside.contains("url(#p7-maybe)") && inside.contains("id=\"p7-maybe\""),
            "{inside}"
        );
    }

    #[test]
    fn coordinates_are_short() {
        assert_eq!(at(3.0), "3");
        assert_eq!(at(-0.01), "0");
        assert_eq!(at(2.25), "2.2");
    }
}
