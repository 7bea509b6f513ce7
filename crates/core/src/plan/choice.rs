//! The drives that a plan may choose from, each with its price.

use crate::array::DriveSize;
use crate::catalogue::Catalogue;
use crate::nearest::nearest;
use crate::quantity::{DataRate, Information, Money, UnitFault, parse};
use crate::sheet::{Cell, Form, Names, decoded, pointed, position};
use crate::site::{
    Array, Drive, Fault, Faults, Known, Place, SitePath, StatedFlash, Value, drive_pieces,
    one_drive,
};

/// One drive that may be bought. Layouts are made of one choice; choices are not mixed.
#[derive(Clone, Debug, PartialEq)]
pub struct DriveChoice {
    size: DriveSize,
    class: String,
    drive: Drive,
    interface: Value<DataRate>,
    price: Option<Money>,
    /// The array of a site whose drives these are.
    array: Option<String>,
}

const FORM: Form = Form {
    list: "list of drives",
    rows: "drives",
    row: "write one row a drive below",
    heads: "drive,price",
    // more than anybody compares
    most: 1000,
    has_comments: true,
};

#[derive(Clone, Copy, PartialEq)]
enum Column {
    Drive,
    Price,
}

const NAMES: &Names<Column> = &[(Column::Drive, &["drive"]), (Column::Price, &["price"])];

const UNREAD: &str = "the choices cannot be read";

const WRITTEN: &str = "write a capacity, a class and perhaps a price: '10 TB hdd-7200, 240 EUR'";

/// The class of drives of which nobody said one: a hard disk of a speed that is not known.
const NO_CLASS: &str = "hdd";

impl DriveChoice {
    /// Reads `10 TB hdd-7200, 240 EUR`; the price may be missing.
    ///
    /// # Errors
    /// With the part that is wrong.
    pub fn parse(text: &str, catalogue: &Catalogue) -> Result<Self, UnitFault> {
        let (head, price) = match text.split_once(',') {
            Some((head, tail)) => {
                let lead = head.len() + 1 + tail.len() - tail.trim_start().len();
                let price = Money::parse(tail.trim()).map_err(|f| f.shifted(lead))?;
                (head, Some(price))
            }
            None => (text, None),
        };
        let mut made = Self::unpriced(head, catalogue)?;
        made.price = price;
        Ok(made)
    }

    /// A drive in any usual words; faults are those of the form that the help shows.
    fn unpriced(text: &str, catalogue: &Catalogue) -> Result<Self, UnitFault> {
        Self::as_written(text, catalogue).or_else(|fault| {
            let heard = crate::said::drives(catalogue, text);
            let clear = heard.stray.is_empty()
                && heard.count.is_none()
                && heard.level.is_none()
                && heard.spares.is_none()
                && heard.capacity.is_some();
            let meant = heard
                .long()
                .filter(|_| clear)
                .ok_or_else(|| fault.clone())?;
            Self::as_written(&meant, catalogue).map_err(|_| fault)
        })
    }

    fn as_written(text: &str, catalogue: &Catalogue) -> Result<Self, UnitFault> {
        let pieces = drive_pieces(text);
        let end = text.trim_end().len();
        if let Some((at, count)) = pieces.count {
            return Err(UnitFault::new(
                at..at + count.len(),
                format!("'{count}' counts drives"),
                "leave the count out; how many is what is looked for, up to --bays",
            ));
        }
        let whole = text.len() - text.trim_start().len()..end;
        let Some((size_at, size)) = pieces.capacity else {
            return Err(UnitFault::new(
                whole.start.min(end)..end,
                format!("'{}' has no capacity", text.trim()),
                WRITTEN,
            ));
        };
        let (class_at, said) = pieces.class.unwrap_or((end, NO_CLASS));
        // any usual spelling; what means nothing is refused below as it was written
        let meant = crate::said::word(catalogue, "drive", said);
        let class = meant.as_deref().unwrap_or(said);
        let capacity = parse::<Information>(size).map_err(|f| f.shifted(size_at))?;
        let size = DriveSize::new(capacity).map_err(|mut fault| {
            fault.span = size_at..size_at + size.len();
            fault
        })?;
        let known: Vec<&str> = catalogue.words("drive").map(|w| w.word.as_str()).collect();
        if !known.contains(&class) {
            let near = nearest(class, known.iter().copied())
                .map(|near| format!("; did you mean '{near}'?"))
                .unwrap_or_default();
            return Err(UnitFault::new(
                class_at..class_at + said.len(),
                format!("'{class}' is no class of drives{near}"),
                format!("write one of {}", known.join(", ")),
            ));
        }
        let no_row = |problem: String| UnitFault::new(whole.clone(), problem, WRITTEN);
        let id = format!("drive.{}", text.trim());
        let drive = one_drive(
            catalogue,
            &id,
            class,
            size.labelled().information(),
            (None, &StatedFlash::default()),
        )
        .map_err(|fault| no_row(fault.to_string()))?;
        let row = format!("drive.{class}.interface");
        let interface = catalogue
            .spread(&row)
            .map_err(|fault| no_row(fault.to_string()))?;
        Ok(Self {
            size,
            class: class.to_owned(),
            drive,
            interface: Known::assumed(format!("{id}/interface"), interface, row),
            price: None,
            array: None,
        })
    }

    /// The drives of an array: its likeliest class, at the median of its capacity.
    ///
    /// # Errors
    /// Where nobody sells drives of that capacity.
    pub fn of_array(array: &Array) -> Result<Self, UnitFault> {
        let drive = array.drives.drive.value.likeliest().clone();
        let (Drive::Spinning { class, .. } | Drive::Flash { class, .. }) = &drive;
        Ok(Self {
            size: DriveSize::new(array.drives.capacity.value.median())?,
            class: class.clone(),
            drive,
            interface: array.drives.interface.clone(),
            price: None,
            array: Some(array.name.clone()),
        })
    }

    /// The name under which what is not known of these drives is drawn: that of their array, so that a
    /// budget of it has the same luck, or one for all.
    pub(super) fn luck(&self) -> String {
        let array = self.array.as_ref();
        array.map_or_else(
            || "layouts".to_owned(),
            |array| SitePath::Array(array, None).to_string(),
        )
    }

    /// Reads a table of drives, and the text that faults point into.
    ///
    /// The columns are `drive` and `price`, in any case and order; the price may be missing in all rows. Rows that begin with # are
    /// comments.
    ///
    /// # Errors
    /// With every row that is wrong.
    pub fn table(bytes: &[u8], catalogue: &Catalogue) -> (String, Result<Vec<Self>, Faults>) {
        let text = decoded(bytes);
        let read = Self::rows(&text, catalogue);
        (text, read)
    }

    fn rows(text: &str, catalogue: &Catalogue) -> Result<Vec<Self>, Faults> {
        let rows = FORM.open(text)?;
        let (head, body) = &rows;
        let (columns, unknown, mut faults) = FORM.heads(head, NAMES, |_, _| None::<()>);
        let price_at = position(&columns, &Column::Price);
        let Some(drive_at) = position(&columns, &Column::Drive) else {
            if faults.is_empty() {
                faults.push(FORM.lacks(head, "there is no column 'drive'"));
            }
            return Err(Faults::ordered(faults));
        };
        // a price under another name would be a drive without one
        if let Some(cell) = head
            .iter()
            .find(|cell| unknown.first().is_some_and(|u| u == cell.text.trim()))
        {
            let found = format!("'{}' is no column", cell.text.trim());
            let help = "leave the columns drive and price, and take the others out";
            faults.push(Fault::new(
                Place::file(cell.span.clone()),
                UNREAD,
                found,
                help,
            ));
        }
        faults.extend(FORM.length(&rows));
        if !faults.is_empty() {
            return Err(Faults::ordered(faults));
        }
        let mut made = Vec::new();
        for row in body {
            let mut located = |cell: &Cell, error: &UnitFault| {
                let end = cell.span.end;
                let span = (cell.span.start + error.span.start).min(end)
                    ..(cell.span.start + error.span.end).min(end);
                let (found, help) = (error.found.clone(), error.help.clone());
                faults.push(Fault::new(Place::file(span), UNREAD, found, help));
            };
            let nothing = Cell {
                text: String::new(),
                span: row.last().map_or(0..0, |cell| cell.span.end..cell.span.end),
            };
            let cell = row.get(drive_at).unwrap_or(&nothing);
            let drive = Self::unpriced(&pointed(&cell.text), catalogue)
                .map_err(|error| located(cell, &error));
            let cell = price_at.and_then(|at| row.get(at)).unwrap_or(&nothing);
            let price = if cell.text.trim().is_empty() {
                Ok(None)
            } else {
                Money::parse(&cell.text)
                    .map(Some)
                    .map_err(|error| located(cell, &error))
            };
            if let (Ok(mut drive), Ok(price)) = (drive, price) {
                drive.price = price;
                made.push(drive);
            }
        }
        if faults.is_empty() {
            Ok(made)
        } else {
            Err(Faults::ordered(faults))
        }
    }

    /// Its size.
    pub fn size(&self) -> DriveSize {
        self.size
    }

    /// Its class word.
    pub fn class(&self) -> &str {
        &self.class
    }

    /// Whether nobody said what class it is.
    pub fn is_of_unknown_class(&self) -> bool {
        self.class == NO_CLASS
    }

    /// What one costs.
    pub fn price(&self) -> Option<&Money> {
        self.price.as_ref()
    }

    pub(super) fn drive(&self) -> &Drive {
        &self.drive
    }

    pub(super) fn interface(&self) -> &Value<DataRate> {
        &self.interface
    }

    /// Whether tracks overlap, so that rewriting is slow.
    pub fn is_shingled(&self) -> bool {
        self.drive.is_shingled()
    }
}

/// As it would be written.
impl std::fmt::Display for DriveChoice {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} {}", self.size, self.class)?;
        match &self.price {
            Some(price) => write!(f, ", {price}"),
            None => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn catalogue() -> Catalogue {
        Catalogue::embedded().unwrap()
    }

    #[test]
    fn choices_are_read_and_shown_as_they_are_written() {
        for text in [
            "10 TB hdd-7200, 240 EUR",
            "8 TB hdd-5400",
            "3840 GB nvme-server, 399.90 EUR",
        ] {
            let made = DriveChoice::parse(text, &catalogue()).unwrap();
            let again = DriveChoice::parse(&made.to_string(), &catalogue()).unwrap();
            assert_eq!(
                (made.size(), made.class(), made.price()),
                (again.size(), again.class(), again.price())
            );
        }
        let made = DriveChoice::parse("10 TB hdd-7200, 240 EUR", &catalogue()).unwrap();
        assert_eq!(made.to_string(), "10 TB hdd-7200, 240 EUR");
    }

    #[test]
    fn drives_without_a_class_are_hard_disks_of_a_speed_that_is_not_known() {
        for (text, shown) in [
            ("12TB", "12 TB hdd"),
            ("12 TB, 240 EUR", "12 TB hdd, 240 EUR"),
            ("12 TB 7200rpm", "12 TB hdd-7200"),
        ] {
            let made = DriveChoice::parse(text, &catalogue()).unwrap();
            assert_eq!(made.to_string(), shown, "{text}");
        }
    }

    #[test]
    fn what_is_wrong_with_a_choice_is_pointed_at() {
        for (text, spot, said) in [
            ("hdd-7200", "hdd-7200", "no capacity"),
            ("", "", "no capacity"),
            ("6 x 10 TB hdd-7200", "6", "counts drives"),
            ("10 TB hdd-7300", "hdd-7300", "is no class of drives"),
            ("10 TB hdd-7200, cheap", "cheap", "not a currency"),
            ("10 TB hdd-7200, 240", "240", "not a currency"),
            ("10 MB hdd-7200", "10 MB", "is not sold"),
            ("10 TBs hdd-7200", "10", "no unit"),
        ] {
            let fault = DriveChoice::parse(text, &catalogue()).unwrap_err();
            assert_eq!(&text[fault.span.clone()], spot, "{text}: {fault}");
            assert!(fault.to_string().contains(said), "{text}: {fault}");
        }
    }

    #[test]
    fn a_table_is_read_and_all_its_faults_are_told() {
        let text =
            "# offers of May\ndrive,price\n10 TB hdd-7200,240 EUR\n8 TB hdd-5400, 139.90 EUR\n";
        let made = DriveChoice::table(text.as_bytes(), &catalogue()).1.unwrap();
        let shown: Vec<String> = made.iter().map(ToString::to_string).collect();
        assert_eq!(
            shown,
            ["10 TB hdd-7200, 240 EUR", "8 TB hdd-5400, 139.90 EUR"]
        );
        let text = "sep=;\nPrice;Drive\n240,50 EUR;10 TB HDD-7200\n;7,68 TB nvme-server\n";
        let made = DriveChoice::table(text.as_bytes(), &catalogue()).1.unwrap();
        let shown: Vec<String> = made.iter().map(ToString::to_string).collect();
        assert_eq!(shown, ["10 TB hdd-7200, 240.50 EUR", "7.68 TB nvme-server"]);
        let text = "drive,price\n10 TB hdd-7200,dear\n8 TB floppy,139 EUR\n";
        let faults = DriveChoice::table(text.as_bytes(), &catalogue())
            .1
            .unwrap_err();
        let spots: Vec<&str> = faults.into_iter().map(|f| &text[f.span.clone()]).collect();
        assert_eq!(spots, ["dear", "floppy"]);
        for text in [
            "",
            "drive\n",
            "disk,price\n",
            "drive,cost\n1 TB hdd,2 EUR\n",
            "drive,price\n\"1 TBs",
        ] {
            assert!(
                DriveChoice::table(text.as_bytes(), &catalogue()).1.is_err(),
                "{text}"
            );
        }
    }
}
