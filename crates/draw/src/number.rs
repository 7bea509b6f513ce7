use crate::text::plain;
use maud::{Markup, Render, html};
use narrows_core::quantity::{DataRate, Time, in_megabytes_per_second, three_digits, units};

/// A number that a command prints too: as it is read, and where the JSON of that command has it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Number {
    text: String,
    at: String,
}

impl Number {
    /// A number under a key: the command, then the names and positions on the way to it.
    pub(crate) fn new(text: impl Into<String>, at: impl Into<String>) -> Self {
        Self {
            text: text.into(),
            at: at.into(),
        }
    }

    /// A rate in MB/s without its unit.
    pub(crate) fn rate(rate: DataRate, at: impl Into<String>) -> Self {
        Self::new(three_digits(in_megabytes_per_second(rate)), at)
    }

    /// A share in percent without its sign.
    pub(crate) fn percent(share: f64, at: impl Into<String>) -> Self {
        Self::new(percent(share), at)
    }

    /// A duration in the unit that fits.
    pub(crate) fn duration(time: Time, at: impl Into<String>) -> Self {
        Self::new(narrows_core::quantity::show(time), at)
    }

    /// Minutes without their unit.
    pub(crate) fn minutes(time: Time, at: impl Into<String>) -> Self {
        Self::new(three_digits(time.get::<units::time::minute>()), at)
    }

    /// As it is read.
    pub(crate) fn text(&self) -> &str {
        &self.text
    }

    /// For a picture.
    pub(crate) fn drawn(&self) -> Markup {
        html! { tspan data-at=(plain(&self.at)) { (self.text) } }
    }
}

impl Render for Number {
    fn render(&self) -> Markup {
        html! { span.n data-at=(plain(&self.at)) { (self.text) } }
    }
}

/// A share as whole percent; never 0 or 100 unless it is.
pub(crate) fn percent(share: f64) -> String {
    let percent = share * 100.0;
    if share > 0.0 && percent < 1.0 {
        "<1".to_owned()
    } else if share < 1.0 && percent > 99.0 {
        ">99".to_owned()
    } else {
        format!("{percent:.0}")
    }
}

/// A chance as people say it, in words for those who do not see the picture.
pub(crate) fn of_hundred(share: f64) -> String {
    if share >= 1.0 {
        "in every case".to_owned()
    } else if share > 0.99 {
        "in nearly all cases".to_owned()
    } else {
        format!("in {} of 100 cases", percent(share))
    }
}

/// The same in a picture, with the number marked.
pub(crate) fn cases(share: f64, at: impl Into<String>) -> Markup {
    if share > 0.99 {
        return html! { (of_hundred(share)) };
    }
    html! { "in " (Number::percent(share, at).drawn()) " of 100 cases" }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn certainty_is_not_rounded_into_being() {
        assert_eq!(percent(0.9999), ">99");
        assert_eq!(percent(0.0001), "<1");
        assert_eq!(percent(1.0), "100");
        assert_eq!(percent(0.0), "0");
        assert_eq!(of_hundred(0.47), "in 47 of 100 cases");
        assert_eq!(of_hundred(0.998), "in nearly all cases");
    }

    #[test]
    fn a_number_says_where_it_comes_from_and_stays_text() {
        let number = Number::new("<b>", "budget/flows/0");
        let drawn = number.render().into_string();
        assert_eq!(
            drawn,
            "<span class=\"n\" data-at=\"budget/flows/0\">&lt;b&gt;</span>"
        );
    }
}
