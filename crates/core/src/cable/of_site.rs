//! Runs of a site.

use super::describe::{LENGTHS, bounds, in_copper};
use super::run::{CableRun, Case, Joint};
use crate::copper::{Bundle, Category, RunPhysics, USUAL_MATED_PAIRS};
use crate::quantity::LinkRate;
use crate::site::{Medium, Run, Site};

/// Runs of a site, and those that nothing can be said of.
#[derive(Clone, Debug, PartialEq)]
pub struct SiteRuns {
    /// Twisted pairs, and fibre and twinax of a known length.
    pub runs: Vec<CableRun>,
    /// The others with what they are.
    pub others: Vec<(String, String)>,
}

/// The runs of a site. Twisted pairs have the neighbours, connections and temperature that the site
/// tells, six at the same rate, four and 30 C where it does not, and no certificate; fibres two mated pairs and no splice, as the budget takes them.
pub fn of_site(site: &Site) -> SiteRuns {
    let mut found = SiteRuns {
        runs: Vec::new(),
        others: Vec::new(),
    };
    for run in &site.runs {
        match of_run(site, run) {
            Ok(run) => found.runs.push(run),
            Err(why) => found.others.push((format!("run.{}", run.number), why)),
        }
    }
    found
}

/// One run of a site, or why nothing can be said of it.
pub(crate) fn of_run(site: &Site, run: &Run) -> Result<CableRun, String> {
    let label = format!("run.{}", run.number);
    match &run.medium {
        Medium::Wireless { .. } => Err("radio".to_owned()),
        Medium::Clear { word, .. } => {
            let joined = clear(site, run).ok_or_else(|| word.clone())?;
            Ok(CableRun { label, ..joined })
        }
        Medium::Copper { length, .. } => {
            let cases = cases(run);
            let rates = common(site, run);
            let ids = ["cable", "length", "bundle", "neighbours"]
                .map(|field| format!("run.{}.{field}", run.number));
            let assumptions = site.assumptions.iter().filter(|a| ids.contains(&a.id));
            let (Some(typical), false) = (typical(run), rates.is_empty()) else {
                return Err("no rate that both ends know".to_owned());
            };
            Ok(CableRun {
                label,
                between: Some([run.from.name.clone(), run.to.name.clone()]),
                joint: Joint::Copper {
                    cases,
                    typical: Box::new(typical),
                    rates,
                },
                lengths: bounds(&length.value),
                power: None,
                known: None,
                negotiated: run.negotiated,
                assumptions: assumptions.cloned().collect(),
            })
        }
    }
}

/// A fibre or a twinax cable whose length is told; without it nothing can be said of it.
fn clear(site: &Site, run: &Run) -> Option<CableRun> {
    let Medium::Clear {
        word,
        length,
        grade,
        cords,
    } = &run.medium
    else {
        return None;
    };
    let length = length.as_ref()?;
    let joint = if word == "fibre" {
        Joint::Fibre {
            grade: *grade,
            cords: *cords,
            length: length.median(),
            mated_pairs: USUAL_MATED_PAIRS,
            splices: 0,
        }
    } else {
        Joint::Twinax {
            length: length.median(),
        }
    };
    Some(CableRun {
        label: String::new(),
        between: Some([run.from.name.clone(), run.to.name.clone()]),
        joint,
        lengths: bounds(&length.value),
        power: None,
        known: Some(shared(site, run)),
        negotiated: run.negotiated,
        assumptions: Vec::new(),
    })
}

fn cases(run: &Run) -> Vec<Case> {
    let Medium::Copper {
        category,
        length,
        bundle,
        installed,
    } = &run.medium
    else {
        return Vec::new();
    };
    let lengths = if length.value.is_exact() {
        vec![length.median()]
    } else {
        LENGTHS.map(|share| length.value.quantile(share)).to_vec()
    };
    let mut cases = Vec::new();
    for (category, of_category) in category.value.options() {
        for (bundle, of_bundle) in bundle.value.options() {
            let (Some(category), Some(bundle)) =
                (Category::from_word(category), Bundle::from_word(bundle))
            else {
                continue;
            };
            for length in &lengths {
                cases.push(Case {
                    weight: of_category * of_bundle / lengths.len() as f64,
                    physics: RunPhysics::installed(category, bundle, *length, installed),
                });
            }
        }
    }
    cases
}

/// The likeliest make and lay at the middle of the length.
fn typical(run: &Run) -> Option<RunPhysics> {
    let Medium::Copper {
        category,
        length,
        bundle,
        installed,
    } = &run.medium
    else {
        return None;
    };
    let category = Category::from_word(category.value.likeliest())?;
    let bundle = Bundle::from_word(bundle.value.likeliest())?;
    Some(RunPhysics::installed(
        category,
        bundle,
        length.median(),
        installed,
    ))
}

/// Rates that both ends know and that are made for twisted pair, slowest first.
fn common(site: &Site, run: &Run) -> Vec<LinkRate> {
    let mut rates = shared(site, run);
    rates.retain(|rate| in_copper(*rate));
    rates
}

/// Rates that both ends know, slowest first.
fn shared(site: &Site, run: &Run) -> Vec<LinkRate> {
    let (Some(near), Some(far)) = (site.port(&run.from), site.port(&run.to)) else {
        return Vec::new();
    };
    let mut rates: Vec<LinkRate> = near.knows.clone();
    rates.retain(|rate| far.knows.contains(rate));
    rates.sort_unstable();
    rates
}
