use super::UnitFault;

/// An amount of money in the smallest unit of one currency, as an integer.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Money {
    /// Hundredths of the currency's unit.
    pub hundredths: i64,
    /// The currency's three letters.
    pub currency: String,
}

impl Money {
    /// Reads `140 EUR` or `139.90 EUR`.
    ///
    /// # Errors
    /// Where the amount is not a non-negative number with at most two decimals, or the currency
    /// is not three capital letters.
    pub fn parse(text: &str) -> Result<Self, UnitFault> {
        let fault = |found: String| {
            UnitFault::new(
                0..text.len(),
                found,
                "write an amount and a currency, for example 140 EUR",
            )
        };
        let trimmed = text.trim();
        let split = trimmed
            .find(|c: char| !(c.is_ascii_digit() || c == '.'))
            .unwrap_or(trimmed.len());
        let (amount, currency) = trimmed.split_at(split);
        let currency = currency.trim();
        if currency.len() != 3 || !currency.bytes().all(|b| b.is_ascii_uppercase()) {
            return Err(fault(format!("'{currency}' is not a currency")));
        }
        let (whole, part) = amount.split_once('.').unwrap_or((amount, ""));
        let digits = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
        if whole.is_empty() || !digits(whole) || !digits(part) || part.len() > 2 {
            return Err(fault(format!("'{amount}' is not an amount of money")));
        }
        let hundredths = whole
            .parse::<i64>()
            .ok()
            .and_then(|w| w.checked_mul(100))
            .and_then(|w| format!("{part:0<2}").parse::<i64>().ok()?.checked_add(w))
            .ok_or_else(|| {
                let most = i64::MAX / 100;
                fault(format!(
                    "'{amount}' is too large: a price is at most {most}"
                ))
            })?;
        Ok(Self {
            hundredths,
            currency: currency.to_owned(),
        })
    }
}

impl std::fmt::Display for Money {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (whole, part) = (self.hundredths / 100, self.hundredths % 100);
        if part == 0 {
            write!(f, "{whole} {}", self.currency)
        } else {
            write!(f, "{whole}.{part:02} {}", self.currency)
        }
    }
}
