use super::build::Builder;
use super::hop::Chain;
use super::run::Cabling;
use super::{BudgetFault, Question};
use crate::catalogue::Catalogue;
use crate::site::Site;
use crate::spread::Draws;
use crate::work::{Activity, Direction, Work};

/// What is asked of one way between a desk and an array.
pub(crate) struct BareWay<'a> {
    /// The desk; the first where nobody says which.
    pub desk: Option<&'a str>,
    /// What is done.
    pub work: Work,
    /// Which way.
    pub direction: Direction,
}

/// The hops of one flow without an answer about them; `None` where there is no such way.
///
/// # Errors
/// As [`super::answer`].
pub(crate) fn chain(
    site: &Site,
    way: &BareWay<'_>,
    catalogue: &Catalogue,
    cabling: &Cabling,
    draws: &mut Draws,
) -> Result<Option<Chain>, BudgetFault> {
    let question = Question {
        work: way.work,
        desk: None,
        working: false,
        need: None,
    };
    let builder = Builder::new(site, (catalogue, cabling), draws, &question, way.direction);
    if way.work.activity == Activity::AtTheArray {
        let Some(array) = site.arrays.first() else {
            return Ok(None);
        };
        return builder.chain_at_the_array(array).map(Some);
    }
    let desk = site
        .desks
        .iter()
        .find(|d| way.desk.is_none_or(|name| d.name == name));
    let Some(desk) = desk else {
        return Ok(None);
    };
    let routes = crate::route::routes(site, &desk.name);
    let Some(route) = routes.first() else {
        return Ok(None);
    };
    let Some(array) = site.arrays.iter().find(|a| a.nas == route.nas) else {
        return Ok(None);
    };
    match builder.chain_of(desk, route, array) {
        Ok(chain) => Ok(Some(chain)),
        Err(BudgetFault::NoLink(_)) => Ok(None),
        Err(fault) => Err(fault),
    }
}
