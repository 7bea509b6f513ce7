//! Drives: what a site file says of them, and what the catalogue knows of their class.
//!
//! Rows of spinning classes exist at some capacities only (`drive.hdd-7200.outer-rate@8 TB`).
//! Between two rows each of low, likely and high lies on the straight line over the capacity;
//! below the first and above the last the end row holds. A drive of unknown capacity takes the
//! median of what it may hold.

use super::drive_text::{pieces, sets_of};
use super::flash::{OF_ARRAY, OF_DESK, StatedFlash, flash};
use super::model::{Chosen, Drive, DriveSet, Known, Value as Drawn};
use super::reader::{Part, Read, Reader, Reported};
use super::tree::Node;
use super::values::bounds;
use crate::array::DriveSize;
use crate::catalogue::{Catalogue, CatalogueFault};
use crate::quantity::{DataRate, Information, Kind, Measure, UnitFault, exact, parse};
use crate::spread::{Choice, Spread};

/// More drives than any enclosure of a small studio holds.
const MOST_DRIVES: usize = 1024;

/// Classes that a drive may be, in words.
type Classes = Choice<String>;

/// How many drives, their class and what one holds.
type Sets = (Read<usize>, Read<Known<Classes>>, Read<Drawn<Information>>);

impl Reader<'_> {
    /// The drives of an array.
    pub(super) fn drives(&mut self, part: &Part<'_>) -> Read<DriveSet> {
        let key = "drives";
        let rate = self.stated::<DataRate>(part, "drive-rate");
        let flash = self.stated_flash(part, &OF_ARRAY);
        let Some((text, node)) = self.text(part, key)? else {
            return Err(self.missing(part, key));
        };
        let (count, class, capacity) = self.sets(part, node, text);
        let (count, capacity, class, rate) = (count?, capacity?, class?, rate?);
        let flash = flash?;
        let id = part.id(key);
        let drive = self.drive(part, &id, &class, &capacity, (rate.as_ref(), &flash))?;
        self.flash_fits(
            part,
            &OF_ARRAY,
            drive.value.options().iter().map(|(d, _)| d),
        )?;
        let interface = self.interface(part, &id, &class)?;
        Ok(DriveSet {
            count,
            capacity,
            drive,
            interface,
        })
    }

    /// How many drives, of which class and what size. Of unlike ones each counts as the smallest, and as of
    /// the slowest class: redundant levels use no more of any, and wait for the slowest.
    fn sets(&mut self, part: &Part<'_>, node: &Node, text: &str) -> Sets {
        let key = "drives";
        let all = sets_of(text);
        let mut found = Vec::new();
        let mut total = 0usize;
        // a set without a class is of that of the set beside it
        let named = all
            .iter()
            .find_map(|(at, set)| pieces(set).behind(*at).class);
        for (at, set) in &all {
            let pieces = pieces(set).behind(*at);
            let count = self.count(part, node, pieces.count);
            let class = pieces.class.or(named);
            let class = self.classes(part, key, node, class, "drive");
            let capacity = self.capacity(part, key, node, pieces.capacity, "drive.capacity");
            if all.len() == 1 {
                return (count, class, capacity);
            }
            if let (Ok(count), Ok(class), Ok(capacity)) = (count, class, capacity) {
                total += count;
                found.push((class, capacity));
            }
        }
        if found.len() < all.len() {
            return (Err(Reported), Err(Reported), Err(Reported));
        }
        if total > MOST_DRIVES {
            let many = total.to_string();
            let title = format!("{} has no number of drives", part.id(key));
            let fault = UnitFault::new(
                0..text.len(),
                format!("{many} drives cannot be"),
                format!("write {MOST_DRIVES} at most"),
            );
            return (
                Err(self.unit(node, title, fault)),
                Err(Reported),
                Err(Reported),
            );
        }
        let smallest = found
            .iter()
            .map(|(_, capacity)| capacity)
            .min_by(|a, b| a.median().base().total_cmp(&b.median().base()));
        let Some(smallest) = smallest.cloned() else {
            return (Err(Reported), Err(Reported), Err(Reported));
        };
        let rate = |class: &Known<Classes>| {
            let class = class.value.likeliest();
            let stated = (None, &StatedFlash::default());
            let drive = one_drive(self.catalogue, "", class, smallest.median(), stated).ok();
            drive.map_or(f64::INFINITY, |drive| match drive {
                Drive::Spinning { outer: rate, .. } | Drive::Flash { read: rate, .. } => {
                    rate.median().base()
                }
            })
        };
        let slowest = found
            .iter()
            .map(|(class, _)| class)
            .min_by(|a, b| rate(a).total_cmp(&rate(b)));
        let Some(slowest) = slowest.cloned() else {
            return (Err(Reported), Err(Reported), Err(Reported));
        };
        let shown = format!(
            "{total} x {} {}",
            exact(smallest.median()),
            slowest.value.likeliest()
        );
        let because =
            "each counts as the smallest and the slowest: redundant levels use no more of any";
        if let Ok(field) = part.field(key) {
            self.assume(
                part,
                part.id(key),
                shown,
                because.to_owned(),
                field.find_out,
            );
        }
        (Ok(total), Ok(slowest), Ok(smallest))
    }

    /// The disk of a desk, and what it holds.
    pub(super) fn disk(&mut self, part: &Part<'_>) -> Read<(Chosen<Drive>, Drawn<Information>)> {
        let key = "disk";
        let flash = self.stated_flash(part, &OF_DESK);
        let given = self.text(part, key)?;
        let (capacity, class) = if let Some((text, node)) = given {
            let pieces = pieces(text);
            let one = if let Some((at, number)) = pieces.count
                && number != "1"
            {
                let fault = UnitFault {
                    span: at..text.len(),
                    found: "a number of disks stands here".to_owned(),
                    help: "write one disk, for example \"1 TB nvme-gen3\"".to_owned(),
                    instead: None,
                };
                Err(self.unit(
                    node,
                    format!("{} is more than one disk", part.id(key)),
                    fault,
                ))
            } else {
                Ok(())
            };
            let class = self.classes(part, key, node, pieces.class, "disk");
            let capacity = self.capacity(part, key, node, pieces.capacity, "desk.disk-capacity");
            one?;
            (capacity?, class?)
        } else {
            let class = self.assumed_classes(part, key, "disk")?;
            (
                self.assumed_capacity(part, key, "desk.disk-capacity")?,
                class,
            )
        };
        let id = part.id(key);
        let drive = self.drive(part, &id, &class, &capacity, (None, &flash?))?;
        self.flash_fits(part, &OF_DESK, drive.value.options().iter().map(|(d, _)| d))?;
        Ok((drive, capacity))
    }

    fn count(&mut self, part: &Part<'_>, node: &Node, piece: Option<(usize, &str)>) -> Read<usize> {
        let Some((at, digits)) = piece else {
            return Ok(1);
        };
        match digits.parse::<usize>() {
            Ok(count) if (1..=MOST_DRIVES).contains(&count) => Ok(count),
            _ => Err(self.unit(
                node,
                format!("{} has no number of drives", part.id("drives")),
                UnitFault {
                    span: at..at + digits.len(),
                    found: format!("'{digits}' drives cannot be"),
                    help: format!(
                        "write a whole number from 1 to {MOST_DRIVES}, for example \"6 x 10 TB hdd-7200\""
                    ),
                    instead: None,
                },
            )),
        }
    }

    fn capacity(
        &mut self,
        part: &Part<'_>,
        key: &str,
        node: &Node,
        piece: Option<(usize, &str)>,
        row: &str,
    ) -> Read<Drawn<Information>> {
        let Some((at, text)) = piece else {
            return self.assumed_capacity(part, key, row);
        };
        let title = || format!("{} has no capacity that can be read", part.id(key));
        let spread =
            Spread::<Information>::parse(text, bounds(Kind::Information)).map_err(|fault| {
                let mut fault = fault.shifted(at);
                // a whole text to write instead would lose the pieces around this one
                fault.instead = None;
                self.unit(node, title(), fault)
            })?;
        if spread.law().knots().0 <= 0.0 {
            return Err(self.unit(
                node,
                title(),
                UnitFault {
                    span: at..at + text.len(),
                    found: format!("'{text}' holds nothing"),
                    help: format!("write {}, for example 10 TB", Kind::Information.noun()),
                    instead: None,
                },
            ));
        }
        // a drive of a size that is sold, at both ends of what it may be
        let (least, _, most) = spread.law().knots();
        for end in [least, most] {
            if let Err(fault) = DriveSize::new(Information::from_base(end)) {
                let whole = UnitFault::new(at..at + text.len(), fault.found, fault.help);
                return Err(self.unit(node, title(), whole));
            }
        }
        Ok(Known::stated(format!("{}/capacity", part.id(key)), spread))
    }

    fn assumed_capacity(
        &mut self,
        part: &Part<'_>,
        key: &str,
        row: &str,
    ) -> Read<Drawn<Information>> {
        let find_out = part.field(key)?.find_out;
        self.assumed(part, format!("{}/capacity", part.id(key)), row, find_out)
    }

    fn classes(
        &mut self,
        part: &Part<'_>,
        key: &str,
        node: &Node,
        piece: Option<(usize, &str)>,
        row: &str,
    ) -> Read<Known<Classes>> {
        let (at, text) = match piece {
            None | Some((_, "unknown")) => {
                return self.assumed_classes(part, key, row);
            }
            Some(piece) => piece,
        };
        let words = self.words("drive", |word| Some(word.to_owned()));
        let title = format!("{} is not a drive that is known", part.id(key));
        Choice::parse(text, &words)
            .map(|choice| Known::stated(part.id(key), choice))
            .map_err(|fault| {
                let mut fault = fault.shifted(at);
                fault.instead = None;
                self.unit(node, title, fault)
            })
    }

    fn assumed_classes(&mut self, part: &Part<'_>, key: &str, row: &str) -> Read<Known<Classes>> {
        self.assumed_choice(part, key, row, |word| Some(word.to_owned()), String::clone)
    }

    /// The drive of each class that it may be.
    fn drive(
        &mut self,
        part: &Part<'_>,
        id: &str,
        classes: &Known<Classes>,
        capacity: &Drawn<Information>,
        (rate, flash): (Option<&Drawn<DataRate>>, &StatedFlash),
    ) -> Read<Chosen<Drive>> {
        let mut options = Vec::new();
        for (class, share) in classes.value.options() {
            let drive = one_drive(self.catalogue, id, class, capacity.median(), (rate, flash))
                .map_err(|fault| self.no_row(part, &fault))?;
            options.push((drive, *share));
        }
        // the rate of a class that is named is the one row a person can replace
        if let (Some(class), None, Some(field)) =
            (classes.value.only(), rate, part.section.field("drive-rate"))
            && !classes.is_assumed()
            && let Some((drive, _)) = options.first()
        {
            let (Drive::Spinning { outer: value, .. } | Drive::Flash { read: value, .. }) = drive;
            let because = format!("the catalogue's rate of {class}; {}", source_of(value));
            self.assume(
                part,
                value.id.clone(),
                value.value.to_string(),
                because,
                field.find_out,
            );
        }
        let value = Choice::weighted(options).ok_or(Reported)?;
        Ok(Known {
            id: id.to_owned(),
            value,
            origin: classes.origin.clone(),
        })
    }

    /// The ceiling of one drive's interface; over several classes from the lowest to the highest.
    fn interface(
        &mut self,
        part: &Part<'_>,
        id: &str,
        classes: &Known<Classes>,
    ) -> Read<Drawn<DataRate>> {
        let catalogue = self.catalogue;
        let row = |class: &str| format!("drive.{class}.interface");
        let id = match classes.value.only() {
            Some(class) => format!("{id}/{class}/interface"),
            None => format!("{id}/interface"),
        };
        let value = widest(catalogue, &classes.value, row).map_err(|f| self.no_row(part, &f))?;
        let source = catalogue
            .number(&row(classes.value.likeliest()))
            .map_err(|f| self.no_row(part, &f))?
            .source
            .clone();
        Ok(Known::assumed(id, value, source))
    }
}

fn source_of<Q>(value: &Drawn<Q>) -> &str {
    match &value.origin {
        super::model::Origin::Assumed(source) => source,
        super::model::Origin::Stated => "",
    }
}

/// One spread that covers a row for each of several words: the likely value of the likeliest
/// word, the lowest low and the highest high. With one word it is that word's row.
pub(super) fn widest<Q: Measure>(
    catalogue: &Catalogue,
    words: &Choice<String>,
    row: impl Fn(&str) -> String,
) -> Result<Spread<Q>, CatalogueFault> {
    let likeliest = row(words.likeliest());
    let middle = catalogue.spread::<Q>(&likeliest)?;
    let (mut low, likely, mut high) = middle.law().knots();
    for (word, _) in words.options() {
        let (other_low, _, other_high) = catalogue.spread::<Q>(&row(word))?.law().knots();
        low = low.min(other_low);
        high = high.max(other_high);
    }
    spread_of(&likeliest, low, likely, high)
}

fn spread_of<Q: Measure>(
    row: &str,
    low: f64,
    likely: f64,
    high: f64,
) -> Result<Spread<Q>, CatalogueFault> {
    Spread::percentiles(
        Q::from_base(low),
        Q::from_base(likely),
        Q::from_base(high),
        bounds(Q::KIND),
    )
    .map_err(|fault| CatalogueFault {
        place: row.to_owned(),
        problem: fault.to_string(),
    })
}

/// What the catalogue knows of a drive of a class and a capacity, but for what is stated.
pub(crate) fn one_drive(
    catalogue: &Catalogue,
    id: &str,
    class: &str,
    capacity: Information,
    (rate, stated): (Option<&Drawn<DataRate>>, &StatedFlash),
) -> Result<Drive, CatalogueFault> {
    let id = |name: &str| format!("{id}/{class}/{name}");
    let row = |name: &str| format!("drive.{class}.{name}");
    // once, not once a row of the catalogue
    let start = row("outer-rate@");
    let spins = catalogue.numbers().any(|n| n.id.starts_with(&start));
    if spins {
        let outer = match rate {
            Some(rate) => rate.clone(),
            None => at_capacity(catalogue, id("outer-rate"), &row("outer-rate"), capacity)?,
        };
        return Ok(Drive::Spinning {
            class: class.to_owned(),
            outer,
            inner_ratio: at_capacity(catalogue, id("inner-ratio"), &row("inner-ratio"), capacity)?,
        });
    }
    flash(catalogue, &id, class, rate, stated)
}

/// A row at a capacity, by the rule of this module.
fn at_capacity<Q: Measure>(
    catalogue: &Catalogue,
    id: String,
    row: &str,
    capacity: Information,
) -> Result<Drawn<Q>, CatalogueFault> {
    let prefix = format!("{row}@");
    let mut rows = Vec::new();
    for number in catalogue.numbers() {
        if let Some(at) = number.id.strip_prefix(&prefix) {
            let at = parse::<Information>(at).map_err(|fault| CatalogueFault {
                place: number.id.clone(),
                problem: fault.to_string(),
            })?;
            rows.push((at.base(), number));
        }
    }
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    let here = capacity.base();
    let below = rows.iter().rev().find(|(at, _)| *at <= here);
    let above = rows.iter().find(|(at, _)| *at >= here);
    let (Some((low_at, low)), Some((high_at, high))) = (below.or(above), above.or(below)) else {
        return Err(CatalogueFault {
            place: prefix,
            problem: "no row at any capacity".to_owned(),
        });
    };
    let share = if high_at > low_at {
        (here - low_at) / (high_at - low_at)
    } else {
        0.0
    };
    let from = catalogue.spread::<Q>(&low.id)?.law().knots();
    let to = catalogue.spread::<Q>(&high.id)?.law().knots();
    let line = |a: f64, b: f64| a + (b - a) * share;
    let spread = spread_of(
        row,
        line(from.0, to.0),
        line(from.1, to.1),
        line(from.2, to.2),
    )?;
    let nearer = if share < 0.5 { low } else { high };
    Ok(Known::assumed(id, spread, nearer.source.clone()))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::quantity::{in_megabytes_per_second, terabytes};

    #[test]
    fn verify_rates_lie_on_a_line_between_capacities_and_hold_beyond() {
        let catalogue = Catalogue::embedded().unwrap();
        let row = "drive.hdd-7200.outer-rate";
        let at = |tb: f64| {
            let value: Drawn<DataRate> =
                at_capacity(&catalogue, "x".to_owned(), row, terabytes(tb)).unwrap();
            let (low, likely, high) = value.value.law().knots();
            [low, likely, high].map(|v| in_megabytes_per_second(DataRate::from_base(v)))
        };
        for i in 0..3 {
            let middle = f64::midpoint(at(8.0)[i], at(12.0)[i]);
            // algebra on doubles
            approx::assert_relative_eq!(at(10.0)[i], middle, max_relative = 1e-12);
            approx::assert_relative_eq!(at(0.1)[i], at(0.16)[i], max_relative = 1e-12);
            approx::assert_relative_eq!(at(90.0)[i], at(24.0)[i], max_relative = 1e-12);
        }
        let none = at_capacity::<DataRate>(&catalogue, "x".to_owned(), "drive.x", terabytes(1.0));
        assert!(none.is_err());
    }
}
