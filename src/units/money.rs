//! Money in hundredths of a currency, and the price of running cloth.

use std::fmt;
use std::ops::Add;
use std::str::FromStr;

use super::length::{Length, LengthUnit};
use super::read::{Form, UnitError, WithUnit, length_unit_pattern};

/// An amount of money in hundredths of its currency (cents). The currency is kept beside it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Money(i64);

impl Money {
    /// Nothing.
    pub const ZERO: Self = Self(0);

    /// An amount of `value` hundredths.
    #[must_use]
    pub const fn cents(value: i64) -> Self {
        Self(value)
    }

    /// The amount in hundredths.
    #[must_use]
    pub const fn to_cents(self) -> i64 {
        self.0
    }

    /// The amount as a decimal number, for JSON.
    #[must_use]
    pub fn to_decimal(self) -> f64 {
        self.0 as f64 / 100.0
    }

    /// `fraction` of the amount, rounded to the nearest hundredth.
    #[must_use]
    pub fn share(self, fraction: f64) -> Self {
        Self((self.0 as f64 * fraction).round() as i64)
    }
}

impl Add for Money {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl fmt::Display for Money {
    /// Two decimals, for example `142.50`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        write!(
            f,
            "{sign}{}.{:02}",
            self.0.unsigned_abs() / 100,
            self.0.unsigned_abs() % 100
        )
    }
}

/// The price of cloth by running length, for example `32.50 USD/yd`.
#[derive(Clone, Debug, PartialEq)]
pub struct PricePerLength {
    /// Price of one `unit` of running length.
    pub amount: Money,
    /// The length the price is for.
    pub unit: LengthUnit,
    /// Currency as written: `USD`, `EUR`, `€` …; empty if none was written.
    pub currency: String,
}

impl PricePerLength {
    /// What `length` costs, rounded to the nearest hundredth.
    #[must_use]
    pub fn of(&self, length: Length) -> Money {
        let units = length.to_mm() / self.unit.in_mm();
        Money((self.amount.0 as f64 * units).round() as i64)
    }
}

impl fmt::Display for PricePerLength {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.currency.is_empty() {
            write!(f, "{}/{}", self.amount, self.unit)
        } else {
            write!(f, "{} {}/{}", self.amount, self.currency, self.unit)
        }
    }
}

/// A price above this for one yard or metre is taken for a slip of the pen.
const PRICE_LIMIT: f64 = 1e7;

impl FromStr for PricePerLength {
    type Err = UnitError;

    /// Reads `32.50 USD/yd`, `EUR 28/m`, `$31.95 / yd`, `28/m`.
    fn from_str(text: &str) -> Result<Self, UnitError> {
        const EXAMPLE: &str = "32.50 USD/yd";
        let text = text.trim();
        let (price, unit) = text
            .rsplit_once('/')
            .ok_or_else(|| UnitError::no_unit(text, EXAMPLE))?;
        let unit = unit.trim();
        let unit = LengthUnit::from_symbol(unit).ok_or_else(|| UnitError::UnknownUnit {
            unit: unit.to_owned(),
            quantity: "running length",
            known: "yd, m, ft",
        })?;
        let (amount, currency) = amount_and_currency(price, text, EXAMPLE)?;
        Ok(Self {
            amount,
            unit,
            currency,
        })
    }
}

impl WithUnit for PricePerLength {
    const FORM: Form = Form {
        what: "price by running length",
        units: "a currency, then /yd, /m, /ft",
        pattern: || format!(r"[^,]*\d[^,]*/\s*{}", length_unit_pattern()),
    };
}

/// Splits `price`, a part of `text`, into its number and the currency before or after it.
fn amount_and_currency(
    price: &str,
    text: &str,
    example: &'static str,
) -> Result<(Money, String), UnitError> {
    if price.contains(',') {
        return Err(UnitError::comma(text));
    }
    let is_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '−');
    let start = price.find(is_number).unwrap_or(price.len());
    let (before, rest) = price.split_at(start);
    let end = rest.find(|c| !is_number(c)).unwrap_or(rest.len());
    let (number, after) = rest.split_at(end);
    let number = number.replace('−', "-");
    let no_number = || UnitError::no_number(text, example);
    // The currency stands before or after the number, not on both sides.
    let currency = match (before.trim(), after.trim()) {
        (currency, "") | ("", currency) => currency.to_owned(),
        _ => return Err(no_number()),
    };
    if currency.contains(|c: char| c.is_ascii_digit()) {
        return Err(no_number());
    }
    let value: f64 = number.parse().map_err(|_| no_number())?;
    if value.abs() > PRICE_LIMIT {
        return Err(UnitError::not_finite(text));
    }
    Ok((Money((value * 100.0).round() as i64), currency))
}

/// The price of one pack, roll or tin, for example `28.00 USD`.
#[derive(Clone, Debug, PartialEq)]
pub struct Price {
    /// The amount.
    pub amount: Money,
    /// Currency as written; empty if none was written.
    pub currency: String,
}

impl WithUnit for Price {
    const FORM: Form = Form {
        what: "price",
        units: "a currency",
        pattern: || r"[^,/]*\d[^,/]*".to_owned(),
    };
}

impl FromStr for Price {
    type Err = UnitError;

    /// Reads `28.00 USD`, `EUR 12`, `$9.50`, `14`.
    fn from_str(text: &str) -> Result<Self, UnitError> {
        const EXAMPLE: &str = "28.00 USD";
        let text = text.trim();
        let (amount, currency) = amount_and_currency(text, text, EXAMPLE)?;
        // A slash would be part of the currency.
        if let Some((_, unit)) = currency.split_once('/') {
            return Err(UnitError::UnknownUnit {
                unit: unit.to_owned(),
                quantity: "price of a whole pack",
                known: "none: write the price of one pack, for example `28.00 USD`",
            });
        }
        Ok(Self { amount, currency })
    }
}
