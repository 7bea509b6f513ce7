use narrows_core::quantity::{Measure, Ratio, Time, ratio};

/// Something that happens to the pictures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Event {
    /// How often a year.
    pub a_year: f64,
    /// Share of the work that it reaches.
    pub scope: Ratio,
    /// The chance that the array's own data are gone when it happens.
    pub takes_array: Ratio,
}

/// What becomes of a copy.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CopyFate {
    /// The chance that it is gone too, given the event and that the array's data are.
    pub gone: Ratio,
    /// Hours of one person's work that are newer than the copy.
    pub age_at_work: Time,
}

/// What an event costs in a year.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LossOfEvent {
    /// Hours of work lost, in the mean.
    pub hours: f64,
    /// How often a year something is gone from every copy.
    pub gone_everywhere: f64,
}

/// A copy moreover fails to restore by itself: `1 - (1 - h)(1 - r)`.
pub fn with_own_failure(gone: Ratio, fails_to_restore: Ratio) -> Ratio {
    ratio(1.0 - (1.0 - gone.base()) * (1.0 - fails_to_restore.base()))
}

/// What an event costs in a year, with copies.
///
/// Copies are independent given the event and the array's loss; across events they are not, so
/// yearly rates are never multiplied. With copies by age:
/// `rate x scope x [sum_i (prod of newer ones gone)(1 - h_i) age_i x people + (all gone) W]`.
/// `kept` W is the work in what is kept, in hours of one person. Order of `copies` does not matter.
/// Checked by `validate_losses` and `property_a_copy_never_raises_a_loss`.
pub fn loss_of_event(event: &Event, copies: &[CopyFate], people: f64, kept: Time) -> LossOfEvent {
    let in_hours = |time: Time| time.base() / 3600.0;
    let mut sorted: Vec<&CopyFate> = copies.iter().collect();
    sorted.sort_by(|a, b| a.age_at_work.base().total_cmp(&b.age_at_work.base()));
    let mut gone = event.takes_array.base();
    let mut hours = 0.0;
    let whole = in_hours(kept);
    for copy in sorted {
        let lost = (in_hours(copy.age_at_work) * people).min(whole);
        hours += gone * (1.0 - copy.gone.base()) * lost;
        gone *= copy.gone.base();
    }
    hours += gone * whole;
    LossOfEvent {
        hours: event.a_year * event.scope.base() * hours,
        gone_everywhere: event.a_year * gone,
    }
}

/// Hours a year in which people cannot work: how often the array is taken, how long until work goes
/// on, the share of the clock at work, people. Checked by `validate_idle_people`.
pub fn idle_hours(a_year: f64, until_work: Time, at_work: Ratio, people: f64) -> f64 {
    a_year * until_work.base() / 3600.0 * at_work.base() * people
}

/// The chance over some years of what happens so often a year: `1 - exp(-rate y)`.
pub fn in_years(a_year: f64, years: f64) -> Ratio {
    ratio(-libm::expm1(-a_year * years))
}
