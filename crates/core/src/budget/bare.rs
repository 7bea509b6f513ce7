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
    /// The desk; no name is no desk, whose way only the array itself has.
    pub desk: &'a str,
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
    let routes = crate::route::routes(site, way.desk);
    let route = routes.first();
    let array = route.and_then(|route| site.arrays.iter().find(|a| a.nas == route.nas));
    if way.work.activity == Activity::AtTheArray {
        let Some(array) = array.or_else(|| site.arrays.first()) else {
            return Ok(None);
        };
        return builder.chain_at_the_array(array).map(Some);
    }
    let desk = site.desks.iter().find(|d| d.name == way.desk);
    let (Some(desk), Some(route), Some(array)) = (desk, route, array) else {
        return Ok(None);
    };
    match builder.chain_of(desk, route, array) {
        Ok(chain) => Ok(Some(chain)),
        Err(BudgetFault::NoLink(_)) => Ok(None),
        Err(fault) => Err(fault),
    }
}
