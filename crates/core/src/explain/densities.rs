//! Densities of several readings together.

use super::observed::{Density, log_of};
use super::scaled::{Scaled, power};
use super::scenarios::Scenarios;
use std::rc::Rc;

/// The density of some readings in a draw: the product of what each one's directions add up to. Where there
/// is no such path the list of rates is empty, and nothing is likely.
pub(super) fn density(laws: &[Density<'_>], rates: &[Rc<[f64]>], d: usize) -> Scaled {
    let mut all = rates
        .iter()
        .map(|rates| rates.get(d).map(|&rate| log_of(rate)));
    at_log(laws, std::array::from_fn(|_| all.next().flatten()))
}

/// The density of some readings at the logarithms of rates, one a direction.
pub(super) fn at_log(laws: &[Density<'_>], logs: [Option<f64>; 2]) -> Scaled {
    laws.iter().fold(Scaled::ONE, |product, law| {
        product.times(Scaled::of(law.over(&logs)))
    })
}

/// The weight of each draw times its densities, over two to a power that all draws share.
pub(super) fn product(of: &[&[Scaled]], scenarios: &Scenarios<'_>) -> (Vec<f64>, i32) {
    let mut all: Vec<Scaled> = scenarios.weights.iter().map(|&w| Scaled::of(w)).collect();
    for of in of {
        for (product, by) in all.iter_mut().zip(*of) {
            *product = product.times(*by);
        }
    }
    let power = power(all.iter().copied());
    (all.iter().map(|one| one.over(power)).collect(), power)
}
