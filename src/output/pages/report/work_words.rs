//! Quantities of the bench in words.

use maud::Markup;

use super::words::both;
use crate::units::{Duration, Mass};

/// What is weighed: `245.3 g (8.65 oz)`.
pub(in crate::output) fn grams(mass: Mass) -> Markup {
    both(&grams_text(mass))
}

/// The same as text.
pub(in crate::output) fn grams_text(mass: Mass) -> String {
    format!("{:.1} g ({:.2} oz)", mass.to_grams(), mass.to_ounces())
}

/// A time, rounded to a minute; short ones are `< 1 min`.
pub(in crate::output) fn minutes(time: Duration) -> String {
    if time.to_minutes() < 0.5 {
        "< 1 min".to_owned()
    } else {
        time.to_string()
    }
}
