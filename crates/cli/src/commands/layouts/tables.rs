//! The tables of layouts.

use super::text::{Shown, amount};
use crate::render::prose::rate;
use crate::render::table::{Side, Table};
use narrows_core::budget::RateRange;
use narrows_core::plan::Row;
use narrows_core::quantity::units::information::terabyte;
use narrows_core::quantity::units::operation_rate::operation_per_second;
use narrows_core::quantity::units::ratio::percent;
use narrows_core::quantity::units::time::hour;
use narrows_core::quantity::{Money, OperationRate, Ratio, Time, three_digits};

pub(super) const SPACE_LEGEND: &str = "TB: usable. survives: any so many failed drives.";

pub(super) const REQUEST_LEGEND: &str = "Requests of 4 KiB a second at random places of the filled part, 32 in \
    flight a drive, at the array itself; medians, and what 19 of 20 arrays exceed (5 %). A pool \
    reads and writes whole records of 128 KiB. The NAS's own work is left out; what memory holds \
    comes on top.";

impl Shown<'_> {
    pub(super) fn space_table(&self, rows: &[&Row]) -> Table {
        let currency = currency(rows);
        let price = currency.clone().unwrap_or_default();
        let per = format!("{price}/TB");
        let mut heads = vec![("row", Side::Right), ("TB", Side::Right)];
        if currency.is_some() {
            heads.push((&price, Side::Right));
            heads.push((&per, Side::Right));
        } else {
            heads.push(("drives", Side::Right));
        }
        heads.push(("survives", Side::Right));
        if self.arguments.all {
            heads.push(("beaten", Side::Left));
        }
        heads.push(("layout", Side::Left));
        let mut table = Table::new(&heads);
        for (i, row) in rows.iter().enumerate() {
            let mut cells = vec![
                (i + 1).to_string(),
                terabytes(row.usable.information().get::<terabyte>()),
            ];
            match &row.price {
                Some(price) => {
                    cells.push(amount(price));
                    cells.push(
                        row.price_per_terabyte
                            .as_ref()
                            .map_or(String::new(), amount),
                    );
                }
                None => cells.push(row.layout.all_drives().to_string()),
            }
            cells.push(row.survives_any.to_string());
            if self.arguments.all {
                cells.push(if row.beaten { "yes" } else { "" }.to_owned());
            }
            cells.push(self.short_name(row));
            table.row(cells);
        }
        table
    }

    pub(super) fn rate_table(&self, rows: &[&Row]) -> Table {
        let together = format!("x {}", self.streams());
        let (read, write) = (format!("read {together}"), format!("write {together}"));
        let mut heads = vec![
            ("row", Side::Right),
            ("read empty", Side::Right),
            ("read", Side::Right),
            ("5 %", Side::Right),
            ("write empty", Side::Right),
            ("write", Side::Right),
            ("5 %", Side::Right),
        ];
        if self.streams() > 1 {
            heads.push((&read, Side::Right));
            heads.push((&write, Side::Right));
        }
        heads.push(("degraded", Side::Right));
        let mut table = Table::new(&heads);
        for (i, row) in rows.iter().enumerate() {
            let rates = &row.rates;
            let mut cells = vec![
                (i + 1).to_string(),
                rate(rates.read_empty.p50),
                rate(rates.read.p50),
                rate(rates.read.p05),
                rate(rates.write_empty.p50),
                rate(rates.write.p50),
                rate(rates.write.p05),
            ];
            if self.streams() > 1 {
                cells.push(rate(rates.read_together.p50));
                cells.push(rate(rates.write_together.p50));
            }
            cells.push(rates.read_degraded.map_or("-".to_owned(), |r| rate(r.p50)));
            table.row(cells);
        }
        table
    }

    pub(super) fn rate_legend(&self) -> String {
        let together = if self.streams() > 1 {
            format!(" x {0}: {0} streams at once, all together.", self.streams())
        } else {
            String::new()
        };
        format!(
            "MB/s of large files at the array itself, without the network: in the middle, and what 19 of \
             20 arrays exceed (5 %). One stream alone, empty and {} full; flash when full is past its \
             fast cache.{together} degraded: reading with a drive missing. Ask narrows budget what a \
             desk gets.",
            self.question.fill.value
        )
    }

    /// All figures in one table, for a spreadsheet or a document.
    pub(crate) fn whole_table(&self) -> Table {
        let rows = self.rows();
        let mut heads: Vec<(String, Side)> = vec![
            ("layout".to_owned(), Side::Left),
            ("class".to_owned(), Side::Left),
        ];
        let number = |head: &str| (head.to_owned(), Side::Right);
        heads.extend(
            [
                "drives",
                "spares",
                "survives any",
                "usable TB",
                "comfortable TB",
                "read empty MB/s",
                "read MB/s",
                "read 5 % MB/s",
                "read 95 % MB/s",
                "write empty MB/s",
                "write MB/s",
                "write 5 % MB/s",
                "write 95 % MB/s",
            ]
            .map(number),
        );
        for direction in ["read", "write"] {
            heads.push(number(&format!(
                "{direction} {} streams MB/s",
                self.streams()
            )));
        }
        heads.extend(
            [
                "degraded read MB/s",
                "degraded by 2 read MB/s",
                "rebuilding read MB/s",
                "scrubbing read MB/s",
                "random reads/s",
                "random writes/s",
                "degraded random reads/s",
                "rebuild h",
                "rebuild h optimistic",
                "rebuild h pessimistic",
                "lost a year %",
                "lost to drives a year %",
                "lost to drives a year at worst %",
                "file damaged a year %",
                "price",
                "price per TB",
                "currency",
            ]
            .map(number),
        );
        for need in &self.question.needs {
            heads.push(number(&format!("chance of {need} %")));
        }
        heads.push(("beaten".to_owned(), Side::Left));
        heads.push(("what it buys".to_owned(), Side::Left));
        let borrowed: Vec<(&str, Side)> = heads.iter().map(|(h, s)| (h.as_str(), *s)).collect();
        let mut table = Table::new(&borrowed);
        for row in rows {
            table.row(cells(row));
        }
        table
    }
}

pub(super) fn cells(row: &Row) -> Vec<String> {
    let rates = &row.rates;
    let tb = |bytes: narrows_core::array::Bytes| terabytes(bytes.information().get::<terabyte>());
    let perhaps = |range: Option<RateRange>| range.map_or(String::new(), |r| rate(r.p50));
    let rebuild = |of: fn(&narrows_core::plan::Views<Time>) -> Time| {
        row.rebuild.as_ref().map_or(String::new(), |r| hours(of(r)))
    };
    let money = |price: &Option<Money>| price.as_ref().map_or(String::new(), amount);
    let mut cells = vec![
        row.layout.to_string(),
        row.class.clone(),
        row.layout.all_drives().to_string(),
        row.layout.spares().len().to_string(),
        row.survives_any.to_string(),
        tb(row.usable),
        tb(row.comfortable),
        rate(rates.read_empty.p50),
        rate(rates.read.p50),
        rate(rates.read.p05),
        rate(rates.read.p95),
        rate(rates.write_empty.p50),
        rate(rates.write.p50),
        rate(rates.write.p05),
        rate(rates.write.p95),
        rate(rates.read_together.p50),
        rate(rates.write_together.p50),
        perhaps(rates.read_degraded),
        perhaps(rates.read_degraded_two),
        perhaps(rates.read_rebuilding),
        perhaps(rates.read_scrubbing),
        requests(rates.random_read.p50),
        requests(rates.random_write.p50),
        rates
            .random_read_degraded
            .map_or(String::new(), |r| requests(r.p50)),
        rebuild(|r| r.typical),
        rebuild(|r| r.optimistic),
        rebuild(|r| r.pessimistic),
        percents(row.loss.array.typical),
        percents(row.loss.by_drives),
        percents(row.loss.by_drives_at_worst),
        percents(row.loss.file_damaged),
        money(&row.price),
        money(&row.price_per_terabyte),
        row.price
            .as_ref()
            .map_or(String::new(), |p| p.currency.clone()),
    ];
    for met in &row.needs {
        cells.push(percents(met.chance));
    }
    cells.push(if row.beaten { "yes" } else { "no" }.to_owned());
    cells.push(row.buys.clone());
    cells
}

pub(super) fn request_table(rows: &[&Row]) -> Table {
    let mut table = Table::new(&[
        ("row", Side::Right),
        ("random reads", Side::Right),
        ("5 %", Side::Right),
        ("random writes", Side::Right),
        ("5 %", Side::Right),
        ("reads degraded", Side::Right),
    ]);
    for (i, row) in rows.iter().enumerate() {
        let rates = &row.rates;
        table.row(vec![
            (i + 1).to_string(),
            requests(rates.random_read.p50),
            requests(rates.random_read.p05),
            requests(rates.random_write.p50),
            requests(rates.random_write.p05),
            rates
                .random_read_degraded
                .map_or("-".to_owned(), |r| requests(r.p50)),
        ]);
    }
    table
}

/// Requests a second, without the unit.
pub(super) fn requests(rate: OperationRate) -> String {
    three_digits(rate.get::<operation_per_second>())
}

pub(super) fn terabytes(value: f64) -> String {
    three_digits(value)
}

pub(crate) fn hours(time: Time) -> String {
    three_digits(time.get::<hour>())
}

pub(crate) fn percents(value: Ratio) -> String {
    three_digits(value.get::<percent>())
}

pub(super) fn currency(rows: &[&Row]) -> Option<String> {
    let price = rows.first().and_then(|row| row.price.as_ref());
    price.map(|price| price.currency.clone())
}
