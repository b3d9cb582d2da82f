//! Quantities in words: both unit systems, rounded as a person would.

use std::fmt::Display;

use maud::{Markup, html};

use crate::cloth::Cloth;
use crate::units::{Area, Length, Mass, Money, PricePerLength};

/// A quantity whose second unit may go to a new line but is never torn itself.
pub(in crate::output) fn both(text: &str) -> Markup {
    let (first, second) = text.split_once(" (").unwrap_or((text, ""));
    html! {
        span .q { (first) }
        @if !second.is_empty() { " " span .q .other { "(" (second) } }
    }
}

/// Running length: `2.35 m (2.57 yd)`.
pub(in crate::output) fn running(length: Length) -> Markup {
    both(&length.in_metres_and_yards())
}

/// A width or margin: `1270 mm (50.00 in)`.
pub(in crate::output) fn width(length: Length) -> Markup {
    both(&length.in_mm_and_inches())
}

/// The area of cloth: `1.235 m² (1.48 yd²)`.
pub(in crate::output) fn cloth_area(area: Area) -> Markup {
    both(&area.in_m2_and_yd2())
}

/// The area of a piece: `970.7 cm² (150.5 in²)`.
pub(in crate::output) fn piece_area(area: Area) -> Markup {
    both(&piece_area_text(area))
}

/// The same as text.
pub(in crate::output) fn piece_area_text(area: Area) -> String {
    let (cm2, in2) = (area.to_mm2() / 100.0, area.to_mm2() / (25.4 * 25.4));
    format!("{cm2:.1} cm² ({in2:.1} in²)")
}

/// The thickness of a laminate: `1.25 mm (0.0492 in)`.
pub(in crate::output) fn thickness_text(thickness: Length) -> String {
    format!(
        "{:.2} mm ({:.4} in)",
        thickness.to_mm(),
        thickness.to_inches()
    )
}

/// A mass: `245 g (8.64 oz)`; with a decimal below 10 g.
pub(in crate::output) fn mass(mass: Mass) -> Markup {
    both(&mass_text(mass))
}

/// The same as text.
pub(in crate::output) fn mass_text(mass: Mass) -> String {
    let (grams, ounces) = (mass.to_grams(), mass.to_ounces());
    if grams.abs() < 9.95 {
        format!("{grams:.1} g ({ounces:.3} oz)")
    } else {
        mass.in_grams_and_ounces()
    }
}

/// An angle as a person writes it, with a true minus sign.
pub(in crate::output) fn angle(angle: impl Display) -> String {
    angle.to_string().replace('-', "−")
}

/// A fraction as a percentage.
pub(in crate::output) fn percent(fraction: f64) -> String {
    format!("{:.1}\u{a0}%", fraction * 100.0)
}

/// What `cloth`'s price is counted in; empty if it has none.
pub(in crate::output) fn currency(cloth: &Cloth) -> &str {
    cloth.price.as_ref().map_or("", |p| p.currency.as_str())
}

/// An amount of money with its currency: signs before, codes behind.
pub(in crate::output) fn money(amount: Money, currency: &str) -> String {
    let is_sign = currency.chars().count() == 1 && !currency.chars().any(char::is_alphabetic);
    match currency {
        "" => amount.to_string(),
        sign if is_sign => format!("{sign}{amount}"),
        code => format!("{amount}\u{a0}{code}"),
    }
}

/// A price: `$38.50/yd`, `28.00 EUR/m`.
pub(in crate::output) fn price(price: &PricePerLength) -> String {
    format!("{}/{}", money(price.amount, &price.currency), price.unit)
}

/// What stands where a number is not known.
pub(in crate::output) const UNKNOWN: &str = "–";

/// An amount that may not be known.
pub(in crate::output) fn cost(amount: Option<Money>, cloth: &Cloth) -> String {
    amount.map_or_else(|| UNKNOWN.to_owned(), |m| money(m, currency(cloth)))
}
