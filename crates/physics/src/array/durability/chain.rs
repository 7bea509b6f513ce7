use super::{DurabilityFault, either};
use narrows_units::quantity::units::ratio::one;
use narrows_units::quantity::{Frequency, Measure, Ratio, Time, ratio, seconds};

/// How several failed drives of a group are repaired.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Repairs {
    /// Each on its own: the rate grows with the number of failed drives. Fixed repair times, which
    /// is what real rebuilds have, tend to exactly this as repairs become short.
    Parallel,
    /// One after the other; the more cautious.
    Serial,
}

/// A group of drives that fail and are repaired at constant rates.
///
/// States 0 to p failed drives, then loss. Up: `(n - i) lambda kappa_i`, where kappa is 1 with no
/// failed drive and the correlation factor afterwards. Down: `i mu` or `mu`. In state p, where
/// nothing protects, a share h of the repairs ends in an unreadable sector instead.
///
/// Valid for constant rates and equal drives; wear and partly done rebuilds are forgotten
/// (Greenan, Plank and Wylie, 2010), and what that hides is smaller than the floor of common
/// causes. Above 16 tolerated failures, 16 are taken. Sources: Patterson, Gibson and Katz 1988 for
/// the approximations; Resch and Volvovski, arXiv 1310.4702, for parallel repair; Corbett et al.
/// 2004 for a correlation factor. Checked by `validate_mean_time_to_loss`,
/// `validate_published_tables` and `verify_chain_against_simulation`.
#[derive(Clone, Debug, PartialEq)]
pub struct RepairChain {
    /// Rates upwards, a second; the last leads to loss.
    up: Vec<f64>,
    /// Rates downwards, a second; none from state 0.
    down: Vec<f64>,
    /// Rates of repairs that end in a loss, a second.
    spoiled: Vec<f64>,
}

/// More states change nothing that matters and would cost time.
const MOST_TOLERATED: usize = 16;
/// Steps of the uniformised chain that are summed at once; longer times are reached by squaring, which
/// takes fewer products than more terms would and costs 2^doublings roundings, 1e-11 in the worst year.
const STEPS_AT_ONCE: f64 = 0.25;
/// Terms of the sum beyond those that first reach the loss: `0.25^12 / 12!` of it is left out, 1e-16.
const MORE_TERMS: usize = 12;

impl RepairChain {
    /// `drives` of which any `tolerated` may fail, at a failure rate each, with a mean time to
    /// repair, a chance that a repair without redundancy meets an unreadable sector, and a factor
    /// by which failures come faster once one drive has failed.
    ///
    /// # Errors
    /// Where a rate or time is not positive, the chance is outside 0 to 1, the factor is below 1,
    /// or more drives are tolerated than there are.
    pub fn new(
        drives: usize,
        tolerated: usize,
        failure: Frequency,
        (repair, repairs): (Time, Repairs),
        unreadable: Ratio,
        correlation: Ratio,
    ) -> Result<Self, DurabilityFault> {
        let outside = |what, allowed| Err(DurabilityFault::Outside { what, allowed });
        let (lambda, mu) = (failure.base(), 1.0 / repair.base());
        let (h, kappa) = (unreadable.get::<one>(), correlation.get::<one>());
        if !(lambda.is_finite() && lambda > 0.0) {
            return outside("the failure rate", "it must be above zero");
        }
        if !(mu.is_finite() && mu > 0.0) {
            return outside("the time to repair", "it must be above zero and end");
        }
        if !(0.0..=1.0).contains(&h) {
            return outside(
                "the chance of an unreadable sector",
                "it lies between 0 and 100 %",
            );
        }
        if !(kappa.is_finite() && kappa >= 1.0) {
            return outside("the correlation factor", "it is 1 or more");
        }
        if tolerated >= drives {
            return outside(
                "the number of drives that may fail",
                "one at least must be left",
            );
        }
        let tolerated = tolerated.min(MOST_TOLERATED);
        let (mut up, mut down, mut spoiled) = (Vec::new(), Vec::new(), Vec::new());
        for failed in 0..=tolerated {
            let factor = if failed == 0 { 1.0 } else { kappa };
            up.push((drives - failed) as f64 * lambda * factor);
            let repaired = match (failed, repairs) {
                (0, _) => 0.0,
                (_, Repairs::Serial) => mu,
                (_, Repairs::Parallel) => failed as f64 * mu,
            };
            let bad = if failed == tolerated { h } else { 0.0 };
            down.push(repaired * (1.0 - bad));
            spoiled.push(repaired * bad);
        }
        Ok(Self { up, down, spoiled })
    }

    /// Mean time to loss, from all drives working.
    ///
    /// States are removed from the top, adding rates only (Grassmann, Taksar and Heyman 1985):
    /// nothing is subtracted, so that all digits hold however rare the loss.
    pub fn mean_time_to_loss(&self) -> Time {
        // of the states removed: rate to loss and time spent, a visit to the state below
        let mut loss = 0.0;
        let mut spent = 0.0;
        let states = self.up.iter().zip(&self.down).zip(&self.spoiled).rev();
        for (i, ((&up, &down), &spoiled)) in states.enumerate() {
            let (to_loss, time) = if i == 0 {
                (up + spoiled, 1.0)
            } else {
                (spoiled + up * loss, 1.0 + up * spent)
            };
            // what remains of this state for the one below it
            let out = down + to_loss;
            loss = to_loss / out;
            spent = time / out;
        }
        seconds(spent / loss)
    }

    /// The chance of a loss within a time, from all drives working.
    ///
    /// Uniformisation: the chain takes steps at the highest rate of any state, and the chances of
    /// its steps are weighted by a Poisson law; times of many steps are reached by squaring. Only
    /// non-negative numbers are added, so that a chance of 1e-15 has its digits.
    ///
    /// A negative time is no time.
    pub fn loss_within(&self, time: Time) -> Ratio {
        let states = self.up.len();
        let outs: Vec<f64> = (0..states)
            .map(|i| self.up[i] + self.down[i] + self.spoiled[i])
            .collect();
        let fastest = outs.iter().copied().fold(0.0, f64::max);
        let mut steps = (fastest * time.base()).max(0.0);
        if !steps.is_finite() {
            return ratio(1.0);
        }
        let mut doublings = 0;
        while steps > STEPS_AT_ONCE {
            steps /= 2.0;
            doublings += 1;
        }
        let mut step = Square::zero(states + 1);
        for (i, out) in outs.iter().enumerate() {
            step.add(i, i, 1.0 - out / fastest);
            if i > 0 {
                step.add(i, i - 1, self.down[i] / fastest);
                step.add(i, states, self.spoiled[i] / fastest);
            }
            // from the last state up is loss
            step.add(i, i + 1, self.up[i] / fastest);
        }
        step.add(states, states, 1.0);
        let mut reached = poisson_mixture(&step, steps).with_rows_of_one();
        for _ in 0..doublings {
            // rounding must not leak chance over many squarings
            reached = reached.times(&reached).with_rows_of_one();
        }
        ratio(reached.at(0, states).min(1.0))
    }
}

/// `sum over k of exp(-q) q^k / k! P^k`, for a mean q of at most [`STEPS_AT_ONCE`].
fn poisson_mixture(step: &Square, mean: f64) -> Square {
    let mut power = Square::one(step.size);
    let mut weight = libm::exp(-mean);
    let mut sum = Square::zero(step.size);
    for k in 0..step.size + MORE_TERMS {
        if k > 0 {
            power = power.times(step);
            weight *= mean / k as f64;
        }
        sum.add_scaled(&power, weight);
    }
    sum
}

/// A small square matrix.
#[derive(Clone)]
struct Square {
    size: usize,
    cells: Vec<f64>,
}

impl Square {
    fn zero(size: usize) -> Self {
        Self {
            size,
            cells: vec![0.0; size * size],
        }
    }

    fn one(size: usize) -> Self {
        let mut made = Self::zero(size);
        for i in 0..size {
            made.add(i, i, 1.0);
        }
        made
    }

    fn at(&self, row: usize, column: usize) -> f64 {
        self.cells[row * self.size + column]
    }

    fn add(&mut self, row: usize, column: usize, value: f64) {
        self.cells[row * self.size + column] += value;
    }

    fn add_scaled(&mut self, other: &Self, by: f64) {
        for (cell, more) in self.cells.iter_mut().zip(&other.cells) {
            *cell += by * more;
        }
    }

    fn with_rows_of_one(mut self) -> Self {
        for row in self.cells.chunks_mut(self.size) {
            let sum: f64 = row.iter().sum();
            for cell in row {
                *cell /= sum;
            }
        }
        self
    }

    fn times(&self, other: &Self) -> Self {
        let mut made = Self::zero(self.size);
        let rows = self.cells.chunks_exact(self.size);
        for (row, out) in rows.zip(made.cells.chunks_exact_mut(self.size)) {
            for (left, right) in row.iter().zip(other.cells.chunks_exact(self.size)) {
                for (cell, value) in out.iter_mut().zip(right) {
                    *cell += left * value;
                }
            }
        }
        made
    }
}

/// The chance that one of several independent chains is lost within a time.
pub(super) fn any_lost(chains: &[(RepairChain, usize)], time: Time) -> f64 {
    either(chains.iter().map(|(chain, count)| {
        let one_group = chain.loss_within(time).get::<one>();
        either(std::iter::repeat_n(one_group, *count))
    }))
}

#[cfg(test)]
mod tests;
