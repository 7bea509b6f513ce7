//! Flash: what a site file says of its long writes, and what the catalogue knows of its class.
//!
//! A later phase whose row of the catalogue is that of the phase before is the same phase: it has the
//! value and the id of the one before, stated or not, so that it is never drawn apart from it.

use super::fault::Fault;
use super::model::{Drive, Known, Value as Drawn};
use super::reader::{Part, Read, Reader};
use crate::catalogue::{Catalogue, CatalogueFault};
use crate::quantity::{DataRate, Measure, Ratio, show};
use crate::spread::Spread;

/// What a site says of long writes to its flash, in place of the rows of the class.
#[derive(Clone, Debug, Default)]
pub(crate) struct StatedFlash {
    first: Option<Drawn<DataRate>>,
    later: Option<Drawn<DataRate>>,
    folding: Option<Drawn<DataRate>>,
    cache: Option<Drawn<Ratio>>,
    folds_at: Option<Drawn<Ratio>>,
}

/// Keys of the fields: first, later and folding rate, cache, where folding begins.
pub(super) type Keys = [&'static str; 5];

/// In an array.
pub(super) const OF_ARRAY: Keys = [
    "drive-first-write",
    "drive-later-write",
    "drive-folding-write",
    "drive-cache",
    "drive-folds-at",
];

/// At a desk.
pub(super) const OF_DESK: Keys = [
    "disk-first-write",
    "disk-later-write",
    "disk-folding-write",
    "disk-cache",
    "disk-folds-at",
];

impl Reader<'_> {
    /// What a part says of long writes to its flash.
    pub(super) fn stated_flash(&mut self, part: &Part<'_>, keys: &Keys) -> Read<StatedFlash> {
        let [first, later, folding, cache, folds_at] = *keys;
        let first = self.stated(part, first);
        let later = self.stated(part, later);
        let folding = self.stated(part, folding);
        let cache = self.stated(part, cache);
        let folds_at = self.stated(part, folds_at);
        Ok(StatedFlash {
            first: first?,
            later: later?,
            folding: folding?,
            cache: cache?,
            folds_at: folds_at?,
        })
    }

    /// Whether what is stated fits the drives that it is stated of.
    ///
    /// A stated phase must not be faster than the one before, stated or not, and folding does not begin
    /// before the cache is full.
    pub(super) fn flash_fits<'d>(
        &mut self,
        part: &Part<'_>,
        keys: &Keys,
        drives: impl Iterator<Item = &'d Drive> + Clone,
    ) -> Read<()> {
        let given: Vec<&'static str> = keys
            .iter()
            .copied()
            .filter(|key| matches!(part.given(key), Ok(Some(_))))
            .collect();
        let Some(&any) = given.first() else {
            return Ok(());
        };
        let is_flash = |drive: &Drive| matches!(drive, Drive::Flash { .. });
        if !drives.clone().any(is_flash) {
            return Err(self.report(Fault::new(
                part.place_of(any),
                format!("{} is told of drives that turn", part.id(any)),
                "only flash has a fast cache and slows down behind it",
                format!("name a class of flash, for example nvme-gen3, or remove '{any}'"),
            )));
        }
        let [first_key, later_key, folding_key, cache_key, folds_key] = *keys;
        for drive in drives {
            let Drive::Flash {
                burst_write,
                later_write,
                fold_write,
                cache_share,
                fold_share,
                ..
            } = drive
            else {
                continue;
            };
            let rates = [
                (later_key, later_write, first_key, burst_write),
                (folding_key, fold_write, later_key, later_write),
            ];
            for (key, rate, before_key, before) in rates {
                if given.contains(&key) && rate.median() > before.median() {
                    let found = format!(
                        "{key} is {}, and {before_key} {}: a tired drive is not faster",
                        show(rate.median()),
                        show(before.median())
                    );
                    return Err(self.out_of_order(part, (key, before_key), found));
                }
            }
            if given.contains(&cache_key)
                && given.contains(&folds_key)
                && fold_share.median() < cache_share.median()
            {
                let found = format!(
                    "{folds_key} is {}, and {cache_key} {}: folding begins behind the cache",
                    show(fold_share.median()),
                    show(cache_share.median())
                );
                return Err(self.out_of_order(part, (folds_key, cache_key), found));
            }
        }
        Ok(())
    }

    fn out_of_order(
        &mut self,
        part: &Part<'_>,
        (at, other): (&str, &str),
        found: String,
    ) -> super::reader::Reported {
        let mut fault = Fault::new(
            part.place_of(at),
            format!("{} is not in order with {other}", part.id(at)),
            found,
            format!("write both, or correct {at}"),
        );
        if part.table.get(other).is_some() {
            fault = fault.also(part.place_of(other), "the other");
        }
        self.report(fault)
    }
}

/// Flash of a class, with what is stated of it.
pub(super) fn flash(
    catalogue: &Catalogue,
    id: &dyn Fn(&str) -> String,
    class: &str,
    read: Option<&Drawn<DataRate>>,
    stated: &StatedFlash,
) -> Result<Drive, CatalogueFault> {
    let row = |name: &str| format!("drive.{class}.{name}");
    let first = match &stated.first {
        Some(first) => first.clone(),
        None => of_row(catalogue, id("burst-write"), &row("burst-write"))?,
    };
    let after = |name: &str, earlier: &str, before: &Drawn<DataRate>, said: &Option<_>| {
        let own = row(name);
        match said {
            Some(said) => Ok(Drawn::clone(said)),
            None if same(catalogue, &own, &row(earlier))? => Ok(before.clone()),
            None => of_row(catalogue, id(name), &own),
        }
    };
    let later = after("later-write", "burst-write", &first, &stated.later)?;
    let folding = after("fold-write", "later-write", &later, &stated.folding)?;
    let (cache_share, bits_a_cell) = match &stated.cache {
        Some(cache) => (cache.clone(), None),
        None => (
            of_row(catalogue, id("cache-share"), &row("cache-share"))?,
            Some(of_row(catalogue, id("bits-a-cell"), &row("bits-a-cell"))?),
        ),
    };
    Ok(Drive::Flash {
        class: class.to_owned(),
        read: match read {
            Some(rate) => rate.clone(),
            None => of_row(catalogue, id("read"), &row("read"))?,
        },
        burst_write: first,
        later_write: later,
        fold_write: folding,
        cache_share,
        bits_a_cell,
        fold_share: match &stated.folds_at {
            Some(share) => share.clone(),
            None => of_row(catalogue, id("fold-share"), "flash.fold-share")?,
        },
    })
}

fn of_row<Q: Measure>(
    catalogue: &Catalogue,
    id: String,
    row: &str,
) -> Result<Drawn<Q>, CatalogueFault> {
    let spread: Spread<Q> = catalogue.spread(row)?;
    Ok(Known::assumed(
        id,
        spread,
        catalogue.number(row)?.source.clone(),
    ))
}

/// Whether two rows say the same of a rate.
fn same(catalogue: &Catalogue, one: &str, other: &str) -> Result<bool, CatalogueFault> {
    let [one, other] = [one, other].map(|row| catalogue.spread::<DataRate>(row));
    Ok(one?.law() == other?.law())
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::quantity::megabytes_per_second;

    fn made(class: &str, stated: &StatedFlash) -> [Drawn<DataRate>; 3] {
        let catalogue = Catalogue::embedded().unwrap();
        let id = |name: &str| format!("x/{name}");
        match flash(&catalogue, &id, class, None, stated).unwrap() {
            Drive::Flash {
                burst_write,
                later_write,
                fold_write,
                ..
            } => [burst_write, later_write, fold_write],
            Drive::Spinning { .. } => panic!("{class} turns"),
        }
    }

    #[test]
    fn phases_that_are_the_same_share_one_id() {
        // class, and how many of its phases differ
        for (class, phases) in [
            ("ssd-sata", 2),
            ("ssd-sata-qlc", 2),
            ("ssd-sata-server", 1),
            ("nvme-gen3", 3),
            ("nvme-gen4", 3),
            ("nvme-gen5", 3),
            ("nvme-server", 1),
        ] {
            let mut ids: Vec<String> = made(class, &StatedFlash::default())
                .into_iter()
                .map(|v| v.id)
                .collect();
            ids.dedup();
            assert_eq!(ids.len(), phases, "{class}: {ids:?}");
        }
    }

    #[test]
    fn what_is_stated_stands_for_the_phases_that_are_the_same() {
        let exact = |id: &str, rate: f64| {
            Known::stated(id.to_owned(), Spread::exact(megabytes_per_second(rate)))
        };
        let stated = StatedFlash {
            first: Some(exact("first", 2000.0)),
            ..StatedFlash::default()
        };
        for rate in made("nvme-server", &stated) {
            assert_eq!(rate, exact("first", 2000.0));
        }
        let stated = StatedFlash {
            later: Some(exact("later", 300.0)),
            ..StatedFlash::default()
        };
        let [first, later, folding] = made("ssd-sata", &stated);
        assert_eq!(first.id, "x/burst-write");
        assert_eq!((later.id.as_str(), folding.id.as_str()), ("later", "later"));
        let stated = StatedFlash {
            folding: Some(exact("folding", 300.0)),
            ..StatedFlash::default()
        };
        let [_, later, folding] = made("ssd-sata", &stated);
        assert_eq!(later.id, "x/later-write");
        assert_eq!(folding, exact("folding", 300.0));
    }
}
