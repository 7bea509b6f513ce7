//! The law of a sum of streams that are on or off, exact up to what the path carries.

/// Chances of each demand up to the capacity, and what lies above in one number and its mean.
///
/// Nothing is ever subtracted where streams are added, so that a small chance above the capacity
/// keeps its digits.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Law {
    /// `P(D = k)` for each number of steps `k` from none to the capacity.
    cells: Vec<f64>,
    /// `P(D > C)`.
    over: f64,
    /// `E[D; D > C]`, in steps.
    moment: f64,
}

impl Law {
    /// Nobody is there.
    pub(super) fn nobody(capacity: usize) -> Self {
        let mut cells = vec![0.0; capacity + 1];
        if let Some(none) = cells.first_mut() {
            *none = 1.0;
        }
        Self {
            cells,
            over: 0.0,
            moment: 0.0,
        }
    }

    /// One more that needs so many steps in a share of the time, whatever the others do.
    pub(super) fn add(&mut self, steps: usize, active: f64) {
        self.moment += active * self.over * steps as f64;
        for (k, chance) in self.above(steps) {
            self.over += active * chance;
            self.moment += active * chance * (k + steps) as f64;
        }
        let idle = 1.0 - active;
        for k in (0..self.cells.len()).rev() {
            let from = k.checked_sub(steps).and_then(|k| self.cells.get(k));
            let came = from.copied().unwrap_or(0.0);
            if let Some(cell) = self.cells.get_mut(k) {
                *cell = *cell * idle + came * active;
            }
        }
    }

    /// Demands that so many more steps lift above the capacity, with their chances.
    fn above(&self, steps: usize) -> Vec<(usize, f64)> {
        let from = self.cells.len().saturating_sub(steps);
        let cells = self.cells.iter().copied().enumerate().skip(from);
        cells.filter(|(_, chance)| *chance > 0.0).collect()
    }

    /// `P(C - r < D <= C)`: the chance that one who needs `r` steps overloads the path by starting.
    pub(super) fn on_the_brink(&self, steps: usize) -> f64 {
        self.above(steps).iter().map(|(_, chance)| chance).sum()
    }

    /// `P(D > C)`.
    pub(super) fn over(&self) -> f64 {
        self.over
    }

    /// `E[D | D > C]` in steps, where demand is ever above.
    pub(super) fn mean_over(&self) -> Option<f64> {
        (self.over > 0.0).then(|| self.moment / self.over)
    }
}
