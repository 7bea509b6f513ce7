use super::UnitFault;

/// An amount of money in the smallest unit of one currency, as an integer.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Money {
    /// Hundredths of the currency's unit.
    pub hundredths: i64,
    /// The currency's three letters.
    pub currency: String,
}

/// Signs of currencies, and what each stands for where nothing else is said (ISO 4217).
const SIGNS: [(&str, &str); 4] = [("$", "USD"), ("€", "EUR"), ("£", "GBP"), ("¥", "JPY")];

impl Money {
    /// Reads `140 EUR`, `139.90 EUR`, `EUR 140`, `$140` or `140 €`.
    ///
    /// # Errors
    /// Where the amount is not a non-negative number with at most two decimals, or the currency
    /// is neither three letters nor a sign that stands for one.
    pub fn parse(text: &str) -> Result<Self, UnitFault> {
        Self::parse_in(text, None)
    }

    /// As [`Money::parse`]; an amount without a currency is in the one that is given.
    ///
    /// # Errors
    /// As there.
    pub fn parse_in(text: &str, otherwise: Option<&str>) -> Result<Self, UnitFault> {
        let fault = |found: String| {
            UnitFault::new(
                0..text.len(),
                found,
                "write an amount and a currency, for example 140 EUR",
            )
        };
        let trimmed = text.trim();
        let is_amount = |c: char| c.is_ascii_digit() || c == '.' || c == ',';
        let begin = trimmed.find(is_amount).unwrap_or(trimmed.len());
        let (before, rest) = trimmed.split_at(begin);
        let split = rest.find(|c: char| !is_amount(c)).unwrap_or(rest.len());
        let (amount, after) = rest.split_at(split);
        let said = match (before.trim(), after.trim()) {
            ("", after) => after,
            (before, "") => before,
            _ => return Err(fault(format!("'{trimmed}' is not an amount of money"))),
        };
        let sign = SIGNS.iter().find(|(sign, _)| *sign == said);
        let currency = match (sign, otherwise) {
            (Some((_, code)), _) => (*code).to_owned(),
            (None, Some(code)) if said.is_empty() => code.trim().to_ascii_uppercase(),
            _ => said.to_ascii_uppercase(),
        };
        if currency.len() != 3 || !currency.bytes().all(|b| b.is_ascii_uppercase()) {
            return Err(fault(format!("'{said}' is not a currency")));
        }
        // a comma before two digits at the end is a decimal one, as much of the world writes it
        let decimal = amount.rsplit_once(',').filter(|(whole, part)| {
            part.len() <= 2 && !part.is_empty() && !whole.contains([',', '.'])
        });
        let amount = match decimal {
            Some((whole, part)) => format!("{whole}.{part}"),
            None => amount.to_owned(),
        };
        let amount = amount.as_str();
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
            currency,
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
