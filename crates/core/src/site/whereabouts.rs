//! Where in a site file something stands.

use super::fault::FaultSource;
use super::syntax;
use super::tidy;
use super::tree::{Node, Table, Value};
use crate::catalogue::Catalogue;

/// A line of a site file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Line {
    /// Its number, from 1.
    pub number: usize,
    /// Whether the value itself stands there; if not, it is the line of the part that it belongs to.
    pub whole: bool,
}

/// The line on which the value of a path such as `run.2.negotiated` stands, or that of the innermost part of it that is there.
///
/// None where no part of it is there, or the file cannot be read. Test: `verify_where_a_value_stands`.
pub fn line_of(bytes: &[u8], path: &str, catalogue: &Catalogue) -> Option<Line> {
    let text = std::str::from_utf8(bytes).ok()?;
    let (mut root, _) = syntax::parse(text, &FaultSource::File);
    tidy::tidy(&mut root, catalogue);
    let steps: Vec<&str> = path.split('.').collect();
    let (start, left) = deepest(&root, &steps)?;
    Some(Line {
        number: text.get(..start)?.matches('\n').count() + 1,
        whole: left == 0,
    })
}

/// Where the innermost known part of a path begins, and how many steps are left of it.
fn deepest(table: &Table, steps: &[&str]) -> Option<(usize, usize)> {
    let (first, rest) = steps.split_first()?;
    let entry = table.get(first)?;
    let here = || {
        (entry.place.source == FaultSource::File).then_some((entry.place.span.start, rest.len()))
    };
    within(&entry.node, rest).or_else(here)
}

fn within(node: &Node, steps: &[&str]) -> Option<(usize, usize)> {
    match &node.value {
        Value::Table(inner) => deepest(inner, steps),
        Value::List(items) => {
            let (number, rest) = steps.split_first()?;
            let (_, item) = items.iter().find(|(n, _)| n.to_string() == *number)?;
            let here = || {
                (item.place.source == FaultSource::File)
                    .then_some((item.place.span.start, rest.len()))
            };
            within(item, rest).or_else(here)
        }
        _ => None,
    }
}
