//! The places that it may be where nobody described one.

use crate::catalogue::{Catalogue, CatalogueFault};
use crate::quantity::{LinkRate, parse};
use crate::site::Faults;
use crate::site::parts::{Described, Parts, describe};

/// Site files that say what was told, with what was not told filled in in every usual way.
#[derive(Clone, Debug)]
pub struct Possible {
    /// Each with its weight; all weights add up to one.
    pub sites: Vec<(Described, f64)>,
    /// Whether a rate of a port was told.
    pub path_told: bool,
    /// Whether the array was told.
    pub array_told: bool,
}

/// Why there are none.
#[derive(Clone, Debug, PartialEq)]
pub enum Impossible {
    /// The parts cannot be read.
    Parts(Faults),
    /// A file of the data directory is broken, which a test rules out.
    Catalogue(CatalogueFault),
}

/// The sites that a few words may stand for.
///
/// Where no rate of a port is told, the rates of `explain.rate` are tried in its place, and where no
/// array is told, those of `explain.array`; their weights are judged. Checked by
/// `what_is_not_told_is_left_open`.
///
/// # Errors
/// As [`describe`].
pub fn possible(parts: &Parts<'_>, catalogue: &Catalogue) -> Result<Possible, Impossible> {
    let rate_told = |text: Option<&str>| {
        text.is_some_and(|text| text.split(',').any(|word| parse::<LinkRate>(word).is_ok()))
    };
    let path_told = [parts.port, parts.switch, parts.nas]
        .into_iter()
        .any(rate_told);
    let array_told = parts.array.is_some();
    let words = |id: &str, told: bool| -> Result<Vec<(Option<String>, f64)>, Impossible> {
        if told {
            return Ok(vec![(None, 1.0)]);
        }
        let choice = catalogue.choice(id, |word| Some(word.to_owned()));
        let choice = choice.map_err(Impossible::Catalogue)?;
        let options = choice.options().iter();
        Ok(options
            .map(|(word, share)| (Some(word.clone()), *share))
            .collect())
    };
    let mut sites = Vec::new();
    for (array, array_share) in words("explain.array", array_told)? {
        for (rate, rate_share) in words("explain.rate", path_told)? {
            let port = match (&rate, parts.port) {
                // a slot or an adapter without its rate
                (Some(rate), Some(told)) => Some(format!("{rate}, {told}")),
                (Some(rate), None) => Some(rate.clone()),
                (None, told) => told.map(str::to_owned),
            };
            let filled = Parts {
                port: port.as_deref(),
                array: array.as_deref().or(parts.array),
                ..*parts
            };
            let described = describe(&filled, catalogue).map_err(Impossible::Parts)?;
            sites.push((described, array_share * rate_share));
        }
    }
    Ok(Possible {
        sites,
        path_told,
        array_told,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::read;

    /// Sums of shares in percent.
    const SHARES: f64 = 1e-12;

    #[test]
    fn what_is_not_told_is_left_open() {
        let catalogue = Catalogue::embedded().unwrap();
        let all = |parts: &Parts<'_>| possible(parts, &catalogue).unwrap();
        let nothing = all(&Parts::default());
        assert!(!nothing.path_told && !nothing.array_told);
        let port = Parts {
            port: Some("1 Gb/s"),
            ..Parts::default()
        };
        let port = all(&port);
        assert!(port.path_told && !port.array_told);
        let both = Parts {
            nas: Some("small, 10 Gb/s"),
            array: Some("raid5 4 x 8 TB hdd-5400"),
            ..Parts::default()
        };
        let both = all(&both);
        assert!(both.path_told && both.array_told);
        assert_eq!(both.sites.len(), 1);
        assert!(nothing.sites.len() > port.sites.len());
        for found in [&nothing, &port, &both] {
            let sum: f64 = found.sites.iter().map(|(_, weight)| weight).sum();
            assert!((sum - 1.0).abs() < SHARES, "{sum}");
            for (described, _) in &found.sites {
                let text = &described.text;
                let site = read(text, &[], &catalogue).unwrap_or_else(|f| panic!("{f}\n{text}"));
                assert_eq!(site.desks.len(), 1);
            }
        }
        let wrong = Parts {
            nas: Some("banana"),
            ..Parts::default()
        };
        assert!(matches!(
            possible(&wrong, &catalogue),
            Err(Impossible::Parts(_))
        ));
    }
}
