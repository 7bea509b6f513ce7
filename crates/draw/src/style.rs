/// How pictures look, the same in a file of their own and in the page. Colours are named once, for
/// light, for dark and for paper; text has 4.5 to 1 against its ground or more.
pub(crate) const PICTURE: &str = concat!(include_str!("colours.css"), include_str!("picture.css"));

/// How the page looks, on a screen and on paper.
pub(crate) const PAGE: &str = include_str!("page.css");
