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
    /// A box to tick.
    Tick(&'static str),
}

impl Head {
    fn text(self) -> &'static str {
        match self {
            Self::Words(text) | Self::Numbers(text) | Self::Hand(text) | Self::Tick(text) => text,
        }
    }

    fn class(self) -> Option<&'static str> {
        match self {
            Self::Words(_) => None,
            Self::Numbers(_) => Some("r"),
            Self::Hand(_) => Some("hand"),
            Self::Tick(_) => Some("tick"),
        }
    }
}

/// A table with its name; the first column that is no box names the row.
pub(crate) fn table(caption: &str, heads: &[Head], rows: &[Vec<Markup>]) -> Markup {
    let names = heads.iter().position(|head| !matches!(head, Head::Tick(_)));
    html! {
        div.scroll tabindex="0" role="region" aria-label=(caption) {
            table {
                caption { (caption) }
                thead { tr { @for head in heads { th scope="col" class=[head.class()] { (head.text()) } } } }
                tbody {
                    @for row in rows {
                        tr {
                            @for (i, (cell, head)) in row.iter().zip(heads).enumerate() {
                                @if Some(i) == names { th scope="row" class=[head.class()] { (cell) } }
                                @else { td class=[head.class()] { (cell) } }
                            }
                        }
                    }
                }
            }
        }
    }
}
