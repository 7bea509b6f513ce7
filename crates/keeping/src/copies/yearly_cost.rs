use narrows_core::quantity::{Information, Measure, Power, Ratio, units};

/// Thousand hours in a year.
const KILOHOURS: f64 = 8.766;

/// A copy on drives of one's own; prices in one currency, always the user's.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OwnCopy {
    /// Drives.
    pub drives: f64,
    /// Price of one.
    pub price: f64,
    /// Price of what they are in.
    pub enclosure: f64,
    /// Space that it gives.
    pub usable: Information,
    /// Years that it serves.
    pub years: f64,
    /// What it draws in the mean.
    pub draws: Power,
    /// Price of a kWh.
    pub energy: f64,
}

/// Price of a TB and year: drives and box, and energy. Checked by `validate_costs`.
pub fn own_cost(own: &OwnCopy) -> (f64, f64) {
    let terabytes = own.usable.get::<units::information::terabyte>();
    let things = (own.drives * own.price + own.enclosure) / (terabytes * own.years);
    let watts = own.draws.get::<units::power::watt>();
    (things, watts * KILOHOURS * own.energy / terabytes)
}

/// Price of a TB and year of an internet store: twelve months, and what is fetched.
pub fn internet_cost(month: f64, fetched: f64, share_fetched: Ratio) -> f64 {
    12.0 * month + fetched * share_fetched.base()
}
