use maud::{Markup, html};

/// Where the text of a column stands, and its head.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Head {
    /// Words.
    Words(&'static str),
    /// Numbers, in a unit that the head has.
    Numbers(&'static str),
    /// To be filled in by hand.
    Hand(&'static str),
}

impl Head {
    fn text(self) -> &'static str {
        match self {
            Self::Words(text) | Self::Numbers(text) | Self::Hand(text) => text,
        }
    }

    fn class(self) -> Option<&'static str> {
        match self {
            Self::Words(_) => None,
            Self::Numbers(_) => Some("r"),
            Self::Hand(_) => Some("hand"),
        }
    }
}

/// A table with its name; the first column names the row.
pub(crate) fn table(caption: &str, heads: &[Head], rows: &[Vec<Markup>]) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label=(caption) {
            table {
                caption { (caption) }
                thead { tr { @for head in heads { th scope="col" class=[head.class()] { (head.text()) } } } }
                tbody {
                    @for row in rows {
                        tr {
                            @for (i, (cell, head)) in row.iter().zip(heads).enumerate() {
                                @if i == 0 { th scope="row" class=[head.class()] { (cell) } }
                                @else { td class=[head.class()] { (cell) } }
                            }
                        }
                    }
                }
            }
        }
    }
}
