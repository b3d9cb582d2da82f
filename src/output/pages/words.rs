//! Quantities and counts in words, the same on every page: both unit systems, rounded as a person
//! would.

use super::prose::Prose;
use crate::cloth::{BiaxialLayers, Cloth, Weave};
pub(super) use crate::diag::counted;
use crate::geometry::Outline;
use crate::job::Side;
use crate::number::number;
use crate::plan::{PartUse, PlyUse};
use crate::units::{
    Angle, Area, Duration, FibreAxis, Length, Mass, Money, PlyAngle, Pressure, PricePerLength,
    fixed,
};

/// What stands where a number is not known.
pub(super) const UNKNOWN: &str = "–";

/// `value` in words, or what stands where it is not known.
pub(super) fn known<T, P: Into<Prose>>(value: Option<T>, words: impl Fn(T) -> P) -> Prose {
    value.map_or_else(|| UNKNOWN.into(), |value| words(value).into())
}

/// A quantity that knows its two units: `200 g/m² (5.90 oz/yd²)`.
pub(super) fn quantity(quantity: impl std::fmt::Display) -> Prose {
    Prose::quantity(quantity.to_string())
}

/// Running length: `2.35 m (2.57 yd)`.
pub(super) fn running(length: Length) -> Prose {
    Prose::quantity(length.in_metres_and_yards())
}

/// A width or margin: `1270 mm (50.00 in)`.
pub(super) fn width(length: Length) -> Prose {
    Prose::quantity(length.in_mm_and_inches())
}

/// Two sides: `860 × 230 mm (33.9 × 9.1 in)`.
pub(super) fn sides((length, width): (Length, Length)) -> Prose {
    Prose::quantity(format!(
        "{:.0} × {:.0} mm ({:.1} × {:.1} in)",
        length.to_mm(),
        width.to_mm(),
        length.to_inches(),
        width.to_inches()
    ))
}

/// Extent of `cut` along and across the roll.
pub(super) fn extent(cut: &Outline) -> Prose {
    let bounds = cut.bounds();
    sides((Length::mm(bounds.width()), Length::mm(bounds.height())))
}

/// The area of cloth: `1.235 m² (1.48 yd²)`.
pub(super) fn cloth_area(area: Area) -> Prose {
    Prose::quantity(area.in_m2_and_yd2())
}

/// The area of a piece: `97.1 cm² (15.1 in²)`, `971 cm² (150 in²)`, from a square metre on
/// `2.75 m² (29.6 ft²)`.
pub(super) fn piece_area(area: Area) -> Prose {
    const MM2_PER_FT2: f64 = 304.8 * 304.8;
    if area.to_m2() >= 1.0 {
        let ft2 = area.to_mm2() / MM2_PER_FT2;
        return Prose::quantity(format!("{:.2} m² ({ft2:.1} ft²)", area.to_m2()));
    }
    let (cm2, in2) = (area.to_mm2() / 100.0, area.to_mm2() / (25.4 * 25.4));
    let decimals = usize::from(cm2 < 99.95);
    Prose::quantity(format!("{cm2:.decimals$} cm² ({in2:.decimals$} in²)"))
}

/// The thickness of a laminate: `1.25 mm (0.0492 in)`.
pub(super) fn thickness(thickness: Length) -> Prose {
    let (mm, inches) = (thickness.to_mm(), thickness.to_inches());
    Prose::quantity(format!("{mm:.2} mm ({inches:.4} in)"))
}

/// A mass as a scale for parts shows it: `9.8 g (0.346 oz)`, `245 g (8.64 oz)`, `1.382 kg (3.05 lb)`,
/// `10.2 kg (22.5 lb)`.
pub(super) fn mass(mass: Mass) -> Prose {
    let (grams, ounces) = (mass.to_grams(), mass.to_ounces());
    match grams.abs() {
        g if g < 9.95 => {
            Prose::quantity(format!("{} g ({} oz)", fixed(grams, 1), fixed(ounces, 3)))
        }
        g if g < 999.5 => Prose::quantity(mass.in_grams_and_ounces()),
        g if g < 9999.5 => kilograms(mass, (3, 2)),
        _ => kilograms(mass, (1, 1)),
    }
}

/// Kilograms and pounds with so many decimals: `10.2 kg (22.5 lb)`.
fn kilograms(mass: Mass, decimals: (usize, usize)) -> Prose {
    let (kg, lb) = (mass.to_grams() / 1000.0, mass.to_ounces() / 16.0);
    Prose::quantity(format!("{kg:.*} kg ({lb:.*} lb)", decimals.0, decimals.1))
}

/// What is mixed of a resin: `245.3 g (8.65 oz)`, from a kilogram on `1.382 kg (3.05 lb)`.
pub(super) fn weighed(weighed: Mass) -> Prose {
    if weighed.to_grams() >= 999.95 {
        return mass(weighed);
    }
    weighed_by(weighed, Mass::grams(0.1))
}

/// What is bought: `400 g (14.11 oz)`, `1.3 kg (2.87 lb)`.
pub(super) fn bought(bought: Mass) -> Prose {
    let (grams, pounds) = (bought.to_grams(), bought.to_ounces() / 16.0);
    match grams {
        g if g < 999.5 => mass(bought),
        _ => Prose::quantity(format!("{} kg ({pounds:.2} lb)", number(grams / 1000.0, 2))),
    }
}

/// What is weighed on a scale that shows `step`: `5.13 g (0.181 oz)`.
pub(super) fn weighed_by(mass: Mass, step: Mass) -> Prose {
    let decimals = decimals_of(step);
    Prose::quantity(format!(
        "{:.*} g ({:.*} oz)",
        decimals,
        mass.to_grams(),
        decimals + 1,
        mass.to_ounces()
    ))
}

/// `0.1 g`.
pub(super) fn step_in_words(step: Mass) -> String {
    format!("{:.*} g", decimals_of(step), step.to_grams())
}

/// Decimals of what a scale shows in steps of `step`, a power of ten.
fn decimals_of(step: Mass) -> usize {
    (0..4)
        .find(|&n| step.to_grams() >= 0.99 * 0.1_f64.powi(n))
        .unwrap_or(4) as usize
}

/// A time, rounded to a minute; short ones are `< 1 min`.
pub(super) fn minutes(time: Duration) -> String {
    if time.to_minutes() < 0.5 {
        "< 1 min".to_owned()
    } else {
        time.to_string()
    }
}

/// A vacuum in the units of all gauges: `25.0 inHg = 84.7 kPa = 847 mbar = 12.3 psi`.
pub(super) fn vacuum(vacuum: Pressure) -> String {
    format!(
        "{:.1} inHg = {:.1} kPa = {:.0} mbar = {:.1} psi",
        vacuum.to_inches_of_mercury(),
        vacuum.to_kilopascals(),
        vacuum.to_millibars(),
        vacuum.to_psi()
    )
}

/// An angle as a person writes it, with a true minus sign.
pub(super) fn angle(angle: impl std::fmt::Display) -> String {
    angle.to_string().replace('-', "−")
}

/// The angle of a ply, and that of its warp where it is another.
pub(super) fn angle_and_warp(weave: Weave, of_ply: PlyAngle) -> String {
    let warp = FibreAxis::new(weave.warp(of_ply).where_zero_is(Angle::ZERO));
    let is_along = warp == FibreAxis::new(of_ply.from_zero());
    if is_along || !weave.has_direction() {
        angle(of_ply)
    } else {
        format!("{}, warp {}", angle(of_ply), angle(warp))
    }
}

/// The angle on the drawing in brackets, where it is another than that of the ply.
pub(super) fn drawn_angle(ply: &PlyUse) -> String {
    let drawn = ply.drawn_angle().on_drawing();
    if PlyAngle::new(drawn).in_range() == ply.angle().in_range() {
        String::new()
    } else {
        format!(" ({})", angle(drawn))
    }
}

/// Says what the drawing shows, where that is not the part as seen from the bag side.
pub(super) fn what_is_drawn(part: &PartUse) -> Option<&'static str> {
    match (part.view().seen_from, part.view().other_hand) {
        (Side::Bag, false) => None,
        (Side::Tool, false) => Some(
            "The drawing shows this part from the mould side. All angles here are as seen from the \
             bag side; where the drawing has another angle, that is in brackets.",
        ),
        (Side::Bag, true) => Some(
            "The drawing shows the other hand of this part. All angles here are those of this hand, \
             seen from the bag side; where the drawing has another angle, that is in brackets.",
        ),
        (Side::Tool, true) => Some(
            "The drawing shows the other hand of this part from the mould side, and so the angles of \
             this hand as seen from the bag side.",
        ),
    }
}

/// Which layer of a stitched biaxial lies below: `−45° layer against the mould`.
pub(super) fn against_mould(layers: BiaxialLayers) -> String {
    format!("{} layer against the mould", angle(layers.against_mould()))
}

/// A fraction as a percentage.
pub(super) fn percent(fraction: f64) -> String {
    format!("{}\u{a0}%", fixed(fraction * 100.0, 1))
}

/// `1 set`, `2 sets`.
pub(super) fn sets(n: u32) -> String {
    counted(n as usize, "set", "sets")
}

/// `1, 2, 6`.
pub(super) fn list(items: impl IntoIterator<Item = impl ToString>) -> String {
    let words: Vec<String> = items.into_iter().map(|item| item.to_string()).collect();
    words.join(", ")
}

/// What `cloth`'s price is counted in; empty if it has none.
pub(super) fn currency(cloth: &Cloth) -> &str {
    cloth.price.as_ref().map_or("", |p| p.currency.as_str())
}

/// An amount of money with its currency: signs before, codes behind.
pub(super) fn money(amount: Money, currency: &str) -> String {
    let is_sign = currency.chars().count() == 1 && !currency.chars().any(char::is_alphabetic);
    match currency {
        "" => amount.to_string(),
        sign if is_sign => format!("{sign}{amount}"),
        code => format!("{amount}\u{a0}{code}"),
    }
}

/// A price: `$38.50/yd`, `28.00 EUR/m`.
pub(super) fn price(price: &PricePerLength) -> String {
    format!("{}/{}", money(price.amount, &price.currency), price.unit)
}

/// `value` in words, or `none` where it is nothing.
pub(super) fn or_none<T: PartialEq>(value: T, zero: T, words: impl Fn(T) -> Prose) -> Prose {
    if value == zero {
        "none".into()
    } else {
        words(value)
    }
}

/// What stands where there is no price.
pub(super) const NOT_PRICED: &str = "not priced";

/// An amount of money, if there is a price.
pub(super) fn cost(amount: Option<Money>, currency: &str) -> Prose {
    amount.map_or_else(
        || NOT_PRICED.into(),
        |amount| money(amount, currency).into(),
    )
}

/// Sums of the amounts that are known, one for each currency, in the order in which those come up.
pub(super) fn totals<'a>(
    amounts: impl IntoIterator<Item = (&'a str, Option<Money>)>,
) -> Vec<(&'a str, Money)> {
    let mut totals: Vec<(&str, Money)> = Vec::new();
    for (currency, amount) in amounts {
        let Some(amount) = amount else { continue };
        match totals.iter_mut().find(|(c, _)| *c == currency) {
            Some((_, total)) => *total = *total + amount,
            None => totals.push((currency, amount)),
        }
    }
    totals
}
