use super::law::Law;
use super::stream::{OnGrid, Stream, StreamFault, capacity_on_grid, rate_of};
use crate::quantity::{DataRate, Frequency, Ratio, Time, ratio, seconds, units};

/// Desks that share one path, each on or off on its own.
///
/// A sum of independent streams that are on a share `p` of the time at a rate `r`, in spells of
/// mean length `T`, over a path of capacity `C`. The law of the demand `D` is a convolution of laws
/// with two points, worked out on a grid of 1 Mb/s; rates are rounded up and the capacity down to
/// it, so that the answer is never too good by the grid. A long-GOP stream or one of constant
/// quality is safe as a stream at its peak rate: for a given mean and peak no law has heavier tails
/// than the one with two points (Hoeffding, J. Am. Stat. Assoc. 58 (1963) 13).
///
/// Checked by `validate_chances_of_ten_editors` and
/// `property_no_chance_is_above_the_chernoff_bound`.
#[derive(Clone, Debug, PartialEq)]
pub struct Crowd {
    capacity: usize,
    all: Law,
    kinds: Vec<Kind>,
}

/// Streams that are alike.
#[derive(Clone, Debug, PartialEq)]
struct Kind {
    stream: OnGrid,
    count: usize,
    /// The law of all streams but one of these.
    others: Law,
}

/// What a crowd does to a path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Overload {
    /// Share of the time in which demand is above the capacity.
    pub chance: Ratio,
    /// How often that begins.
    pub spells: Frequency,
    /// How long it lasts, in the mean; none where it never happens.
    pub spell: Option<Time>,
    /// Mean demand while it lasts; none where it never happens.
    pub demand: Option<DataRate>,
    /// What the path carries.
    pub capacity: DataRate,
}

impl Crowd {
    /// An empty path.
    ///
    /// # Errors
    /// Where the capacity is below zero or beyond 1 Tb/s.
    pub fn on(capacity: DataRate) -> Result<Self, StreamFault> {
        let capacity = capacity_on_grid(capacity)?;
        Ok(Self {
            capacity,
            all: Law::nobody(capacity),
            kinds: Vec::new(),
        })
    }

    /// Lets one more in.
    ///
    /// # Errors
    /// Where a number of the stream is out of range.
    pub fn add(&mut self, stream: Stream) -> Result<(), StreamFault> {
        let new = stream.on_grid()?;
        let before = self.all.clone();
        self.all.add(new.steps, new.active);
        let mut known = false;
        for kind in &mut self.kinds {
            if kind.stream == new {
                known = true;
                kind.count += 1;
                kind.others.clone_from(&before);
            } else {
                kind.others.add(new.steps, new.active);
            }
        }
        if !known {
            self.kinds.push(Kind {
                stream: new,
                count: 1,
                others: before,
            });
        }
        Ok(())
    }

    /// How often and how long demand is above the capacity.
    ///
    /// `nu = sum (p_i / T_i) P(C - r_i < D_others <= C)`, a spell begins when somebody starts who
    /// lifts the demand of the others over the capacity; `L = P / nu` is how long it lasts. Assumes
    /// that spells on and off follow each other without memory of the others; the length's own law
    /// does not matter for either mean. Source: rate of up-crossings of a sum of alternating
    /// renewal processes; the mean time above follows by `P = nu L`. Checked by
    /// `validate_spells_of_ten_editors`, `validate_a_mixed_crowd` and `verify_spells_by_events`.
    pub fn overload(&self) -> Overload {
        let mut spells = 0.0;
        for kind in &self.kinds {
            let starts = kind.stream.active / kind.stream.spell * kind.count as f64;
            spells += starts * kind.others.on_the_brink(kind.stream.steps);
        }
        let chance = self.all.over();
        Overload {
            chance: ratio(chance),
            spells: Frequency::new::<units::frequency::hertz>(spells),
            spell: (spells > 0.0).then(|| seconds(chance / spells)),
            demand: self.all.mean_over().map(rate_of),
            capacity: rate_of(self.capacity as f64),
        }
    }
}

impl Overload {
    /// How often a read-ahead of so much playing time runs dry: about `nu exp(-t / L)` with
    /// `t = B / (1 - C / D)`.
    ///
    /// `B` playing time that is read ahead, `C` capacity, `D` mean demand of an overload, `nu` and
    /// `L` as in [`Crowd::overload`]. Assumes that the read-ahead is full when a spell begins, one
    /// level of demand and spells whose length has no memory. Spells that follow each other closely
    /// break the first, so that with 1 s and more it is too low, by a factor of three at 1 s.
    /// Source: our derivation. Checked by `validate_spells_of_ten_editors` and
    /// `verify_stalls_by_events`.
    pub fn stalls(&self, read_ahead: Time) -> Frequency {
        let (Some(spell), Some(demand)) = (self.spell, self.demand) else {
            return Frequency::new::<units::frequency::hertz>(0.0);
        };
        let missing = ratio(1.0) - self.capacity / demand;
        let lasts: Time = read_ahead / missing;
        let outlived: Ratio = lasts / spell;
        self.spells * ratio(libm::exp(-outlived.get::<units::ratio::one>()))
    }
}
