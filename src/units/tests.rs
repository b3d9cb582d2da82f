//! The units as a whole: published factors, every written form, refusals, and printing that reads
//! back.

use std::fmt::Debug;
use std::str::FromStr;

use proptest::prelude::*;

use super::*;

/// Whether `found` is `expected` within the relative tolerance `tolerance`.
#[track_caller]
fn close(found: f64, expected: f64, tolerance: f64) {
    let off = (found / expected - 1.0).abs();
    assert!(off <= tolerance, "found {found}, expected {expected}");
}

fn read<T: FromStr>(text: &str) -> T
where
    T::Err: Debug,
{
    text.parse()
        .unwrap_or_else(|error| panic!("{text}: {error:?}"))
}

fn mm(text: &str) -> f64 {
    read::<Length>(text).to_mm()
}

fn g_per_m2(text: &str) -> f64 {
    read::<ArealWeight>(text).to_g_per_m2()
}

fn pascals(text: &str) -> f64 {
    read::<Pressure>(text).to_pascals()
}

/// Factors printed in NIST SP 811 (2008), Appendix B.8.
#[test]
fn factors_are_those_of_nist_sp_811() {
    close(mm("1 in"), 25.4, 1e-12);
    close(read::<Length>("1 yd").to_metres(), 0.9144, 1e-12);
    close(read::<Mass>("1 oz").to_grams(), 28.349_52, 1e-6);
    close(read::<Mass>("1 lb").to_grams(), 453.592_4, 1e-7);
    close(g_per_m2("1 oz/yd2"), 33.905_75, 2e-7);
    close(pascals("1 inHg"), 3386.389, 1e-6);
    close(pascals("1 psi"), 6894.757, 2e-7);
    close(read::<Pressure>("1 inHg").to_psi(), 0.491_154_221, 5e-5);
    close(
        read::<Pressure>("1 psi").to_inches_of_mercury(),
        2.036_020_37,
        5e-5,
    );
}

/// Worked out from the factors of NIST SP 811.
#[test]
fn cloth_and_rolls_convert_both_ways() {
    close(g_per_m2("5.7 oz/yd2"), 193.262_760_6, 1e-6);
    close(
        read::<ArealWeight>("200 g/m2").to_oz_per_yd2(),
        5.898_704_936,
        1e-6,
    );
    close(mm("50 in"), 1270.0, 1e-12);
    close(mm("38 in"), 965.2, 1e-12);
    for (oz, g) in [
        (2.3, 77.9832),
        (5.0, 169.5287),
        (5.8, 196.6533),
        (6.0, 203.4345),
        (9.0, 305.1517),
    ] {
        close(ArealWeight::oz_per_yd2(oz).to_g_per_m2(), g, 1e-6);
    }
}

/// Vacuum levels; 22 inHg is about 10.8 psi in US Army TM 1-1500-204-23-11, Advanced Composite
/// Material General Maintenance and Practices.
#[test]
fn vacuum_presses_as_published() {
    close(
        read::<Pressure>("25 inHg").to_kilopascals(),
        84.659_725,
        1e-6,
    );
    close(read::<Pressure>("22 inHg").to_psi(), 10.805_392_85, 1e-6);
    let plate = read::<Length>("12 in") * read::<Length>("12 in");
    close(pascals("25 inHg") * plate.to_m2(), 7_865.145_818, 1e-6);
    // 14.7 psi on 10 in × 10 in is 1470 lbf; 1 lbf is 4.448 222 N (NIST SP 811).
    let square = read::<Length>("10 in") * read::<Length>("10 in");
    close(
        pascals("14.7 psi") * square.to_m2() / 4.448_222,
        1470.0,
        1e-6,
    );
}

/// Worked out from the factors of NIST SP 811.
#[test]
fn mass_of_cloth_counts_its_width() {
    let bought = read::<Length>("10 yd") * read::<Length>("50 in");
    close(
        (read::<ArealWeight>("5.7 oz/yd2") * bought).to_grams(),
        2_244.337_247,
        1e-6,
    );
    let yard = read::<Length>("1 yd") * read::<Length>("38 in");
    close(
        (read::<ArealWeight>("8 oz/yd2") * yard).to_grams(),
        239.395_973_1,
        1e-6,
    );
}

#[test]
fn lengths_are_read_as_people_write_them() {
    for (text, expected) in [
        ("50 in", 1270.0),
        ("50in", 1270.0),
        ("50\"", 1270.0),
        ("50″", 1270.0),
        (" 50  inches ", 1270.0),
        ("1 1/2 in", 38.1),
        ("1-1/2 in", 38.1),
        ("1½ in", 38.1),
        ("1/2 in", 12.7),
        ("½\"", 12.7),
        ("-1/2 in", -12.7),
        ("- 1 1/2 in", -38.1),
        ("−5 mm", -5.0),
        ("+5 mm", 5.0),
        (".5 mm", 0.5),
        ("1.27 m", 1270.0),
        ("127 cm", 1270.0),
        ("1.27e3 mm", 1270.0),
        ("3 ft", 914.4),
        ("1 yd", 914.4),
        ("10 mil", 0.254),
        ("50 µm", 0.05),
        ("0", 0.0),
    ] {
        assert!((mm(text) - expected).abs() < 1e-9, "{text}: {}", mm(text));
    }
}

#[test]
fn areal_weights_are_read_as_people_write_them() {
    for text in ["193 gsm", "193 g/m²", "193 g/m2", "193 g / m^2", "193g/m2"] {
        close(g_per_m2(text), 193.0, 1e-12);
    }
    for text in [
        "5.7 oz/yd2",
        "5.7 oz/yd²",
        "5.7 oz/sq yd",
        "5.7 osy",
        "5 7/10 oz/yd^2",
    ] {
        close(g_per_m2(text), 193.262_760_6, 1e-9);
    }
}

#[test]
fn angles_masses_densities_and_shares_are_read() {
    for text in ["45 deg", "45°", "45 degrees", "+45°", "0.45e2 deg"] {
        close(read::<Angle>(text).to_degrees(), 45.0, 1e-12);
    }
    close(read::<Angle>("-45°").to_degrees(), -45.0, 1e-12);
    close(
        read::<Angle>("1.5707963267948966 rad").to_degrees(),
        90.0,
        1e-12,
    );
    close(read::<Mass>("1.5 kg").to_grams(), 1500.0, 1e-12);
    close(read::<Density>("1780 kg/m³").to_g_per_cm3(), 1.78, 1e-12);
    close(read_percent("5 %").expect("a share"), 0.05, 1e-12);
    close(read_percent("7.5%").expect("a share"), 0.075, 1e-12);
}

#[test]
fn prices_are_read_with_their_currency() {
    for (text, cents, unit, currency) in [
        ("38.50 USD/yd", 3850, LengthUnit::Yard, "USD"),
        ("USD 38.50 / yd", 3850, LengthUnit::Yard, "USD"),
        ("$31.95/yd", 3195, LengthUnit::Yard, "$"),
        ("€28/m", 2800, LengthUnit::Metre, "€"),
        ("28 €/m", 2800, LengthUnit::Metre, "€"),
        ("28/m", 2800, LengthUnit::Metre, ""),
    ] {
        let price: PricePerLength = read(text);
        assert_eq!(
            (price.amount.to_cents(), price.unit, price.currency.as_str()),
            (cents, unit, currency),
            "{text}"
        );
    }
    let price: PricePerLength = read("38.50 USD/yd");
    assert_eq!(price.of(Length::yards(2.5)), Money::cents(9625));
}

#[test]
fn what_is_no_length_is_refused_with_its_reason() {
    for (text, reason) in [
        ("", "nothing is written; write for example `50 in`"),
        ("  ", "nothing is written; write for example `50 in`"),
        ("50", "`50` has no unit; write for example `50 in`"),
        ("1/2", "`1/2` has no unit; write for example `50 in`"),
        ("wide", "`wide` holds no number; write for example `50 in`"),
        ("in", "`in` holds no number; write for example `50 in`"),
        (
            "1 2 in",
            "`1 2 in` holds no number; write for example `50 in`",
        ),
        (
            "1.5/2 in",
            "`1.5/2 in` holds no number; write for example `50 in`",
        ),
        (
            "--5 mm",
            "`--5 mm` holds no number; write for example `50 in`",
        ),
        ("nan mm", "`nan mm` is not a finite number"),
        ("-NaN mm", "`-NaN mm` is not a finite number"),
        ("inf in", "`inf in` is not a finite number"),
        ("Infinity", "`Infinity` is not a finite number"),
        ("1e999 mm", "`1e999 mm` is not a finite number"),
        ("1e308 m", "`1e308 m` is not a finite number"),
        ("1/0 in", "`1/0 in` divides by zero"),
        (
            "5 lightyears",
            "`lightyears` is not a unit of length; known are mm, cm, m, in, ft, yd",
        ),
        (
            "5 oz/yd2",
            "`oz/yd2` is not a unit of length; known are mm, cm, m, in, ft, yd",
        ),
        (
            "1,27 m",
            "`1,27 m` has a comma; the decimal sign is a point, and thousands are not separated",
        ),
        (
            "1,270 mm",
            "`1,270 mm` has a comma; the decimal sign is a point, and thousands are not separated",
        ),
    ] {
        let error = text.parse::<Length>().expect_err(text);
        assert_eq!(error.to_string(), reason, "{text}");
    }
}

#[test]
fn what_is_no_price_is_refused() {
    for text in [
        "",
        "28",
        "28 USD",
        "USD/yd",
        "28,50 USD/yd",
        "USD 28 EUR/m",
        "1-2/m",
        "nan/m",
        "28/kg",
        "1e9/m",
    ] {
        assert!(text.parse::<PricePerLength>().is_err(), "{text}");
    }
}

#[test]
fn a_quantity_is_not_taken_for_another() {
    assert!("45 deg".parse::<Length>().is_err());
    assert!("50 in".parse::<Angle>().is_err());
    assert!("193 g/m2".parse::<Mass>().is_err());
    assert!("250 g".parse::<ArealWeight>().is_err());
    assert!("5 mm".parse::<Pressure>().is_err());
    assert!(read_percent("5 mm").is_err());
}

#[test]
fn angles_fold_into_rotations_and_fibre_directions() {
    for (degrees, rotation, fibre) in [
        (0.0, 0.0, 0.0),
        (90.0, 90.0, 90.0),
        (-90.0, 270.0, 90.0),
        (135.0, 135.0, -45.0),
        (180.0, 180.0, 0.0),
        (-45.0, 315.0, -45.0),
        (360.0, 0.0, 0.0),
        (725.0, 5.0, 5.0),
    ] {
        let angle = Angle::degrees(degrees);
        assert_eq!(angle.as_rotation().to_degrees(), rotation, "{degrees}");
        assert_eq!(angle.as_fibre().to_degrees(), fibre, "{degrees}");
    }
    // A hair below zero must not come out as a full turn.
    assert!(Angle::degrees(-1e-300).as_rotation().to_degrees() < 360.0);
}

#[test]
fn both_systems_are_printed() {
    assert_eq!(Length::mm(12.7).in_mm_and_inches(), "12.7 mm (0.50 in)");
    assert_eq!(Length::mm(-0.04).in_mm_and_inches(), "0 mm (0.00 in)");
    assert_eq!(Length::mm(2350.0).in_metres_and_yards(), "2.35 m (2.57 yd)");
    assert_eq!(
        (Length::metres(1.3) * Length::mm(950.0)).in_m2_and_yd2(),
        "1.235 m² (1.48 yd²)"
    );
    assert_eq!(Mass::grams(245.0).in_grams_and_ounces(), "245 g (8.64 oz)");
    assert_eq!(
        read::<ArealWeight>("193 gsm").to_string(),
        "193 g/m² (5.7 oz/yd²)"
    );
    assert_eq!(Angle::degrees(-22.5).to_string(), "-22.5°");
    assert_eq!(Angle::degrees(-0.001).to_string(), "0°");
    assert_eq!(Money::cents(-5).to_string(), "-0.05");
}

/// What was printed before the other system's figure in brackets.
fn metric(printed: &str) -> &str {
    printed.split(" (").next().unwrap_or_default()
}

proptest! {
    #[test]
    fn printed_lengths_read_back(value in -1e5..1e5f64) {
        let length = Length::mm(value);
        let back = mm(metric(&length.in_mm_and_inches()));
        prop_assert!((back - value).abs() <= 0.05 + 1e-9);
        let back = mm(metric(&length.in_metres_and_yards()));
        prop_assert!((back - value).abs() <= 5.0 + 1e-9);
    }

    #[test]
    fn a_length_written_in_full_reads_back_exactly(value in prop::num::f64::NORMAL) {
        prop_assert_eq!(mm(&format!("{value} mm")), value);
        prop_assert_eq!(mm(&format!("{value:e} mm")), value);
    }

    #[test]
    fn fractions_are_worth_their_quotient(whole in 0u32..1000, top in 1u32..64, bottom in 1u32..64) {
        let expected = (f64::from(whole) + f64::from(top) / f64::from(bottom)) * 25.4;
        close(mm(&format!("{whole} {top}/{bottom} in")), expected, 1e-12);
        close(mm(&format!("-{whole}-{top}/{bottom}\"")), -expected, 1e-12);
    }

    #[test]
    fn printed_angles_weights_and_masses_read_back(value in 1.0..5000.0f64) {
        let angle: Angle = read(&Angle::degrees(value).to_string());
        prop_assert!((angle.to_degrees() - value).abs() <= 0.005 + 1e-9);
        let weight = g_per_m2(metric(&ArealWeight::g_per_m2(value).to_string()));
        prop_assert!((weight - value).abs() <= 0.5 + 1e-9);
        let mass: Mass = read(metric(&Mass::grams(value).in_grams_and_ounces()));
        prop_assert!((mass.to_grams() - value).abs() <= 0.5 + 1e-9);
    }

    #[test]
    fn printed_prices_read_back_exactly(
        cents in 0i64..100_000_000,
        currency in "[A-Z]{3}|€|\\$|",
        unit in prop::sample::select(vec![LengthUnit::Yard, LengthUnit::Metre, LengthUnit::Foot]),
    ) {
        let price = PricePerLength { amount: Money::cents(cents), unit, currency };
        prop_assert_eq!(read::<PricePerLength>(&price.to_string()), price);
    }

    #[test]
    fn symbols_read_back(value in 0.1..100.0f64, index in 0usize..8) {
        let unit = [
            LengthUnit::Millimetre, LengthUnit::Centimetre, LengthUnit::Metre, LengthUnit::Inch,
            LengthUnit::Foot, LengthUnit::Yard, LengthUnit::Mil, LengthUnit::Micrometre,
        ][index];
        prop_assert_eq!(mm(&format!("{value} {unit}")), Length::of(value, unit).to_mm());
    }

    #[test]
    fn no_text_makes_a_reader_panic(text in "[-+0-9./eE ½−,\"'%°]{0,12}\\PC{0,6}") {
        if let Ok(length) = text.parse::<Length>() {
            prop_assert!(length.to_mm().is_finite());
        }
        _ = text.parse::<Angle>();
        _ = text.parse::<ArealWeight>();
        _ = text.parse::<PricePerLength>();
        _ = read_percent(&text);
    }
}

/// NIST SP 811 factors; US Army TM 1-1500-204-23-11, p. 171: 14.7 psi on 10 × 10 in is 1470 lbf.
#[test]
fn vacuum_presses_on_an_area() {
    let vacuum: crate::units::Pressure = "25 inHg".parse().unwrap();
    assert!((vacuum.to_kilopascals() - 84.659_725).abs() < 1e-6);
    assert!((vacuum.to_millibars() - 846.597_25).abs() < 1e-5);
    let square = |side: f64| Length::inches(side) * Length::inches(side);
    let force = vacuum.on(square(12.0));
    assert!((force.to_newtons() / 7_865.145_818 - 1.0).abs() < 1e-9);
    let atmosphere: crate::units::Pressure = "14.7 psi".parse().unwrap();
    assert!((atmosphere.on(square(10.0)).to_pounds() - 1470.0).abs() < 1e-6);
    assert_eq!(force.in_kilonewtons_and_pounds(), "7.87 kN (1768 lbf)");
}

#[test]
fn times_and_rates_are_read_and_printed() {
    let time = |text: &str| text.parse::<Duration>().expect("a time");
    assert_eq!(time("25 min").to_string(), "25 min");
    assert_eq!(time("1 1/2 h").to_string(), "90 min");
    assert_eq!(time("1 d").to_string(), "24 h");
    assert_eq!(time("200 min").to_string(), "3 h 20 min");
    let speed: LayingSpeed = "2 m2/h".parse().expect("a speed");
    assert_eq!(speed.time_for(Area::mm2(500_000.0)).to_minutes(), 15.0);
    let pva: Coverage = "8 m2/l".parse().expect("a coverage");
    assert_eq!(pva.volume_for(Area::mm2(2e6)).to_litres(), 0.25);
    assert_eq!(
        Volume::litres(0.25).in_litres_and_ounces(),
        "250 ml (8.5 fl oz)"
    );
    assert_eq!(
        Volume::litres(1.5).in_litres_and_ounces(),
        "1.50 l (50.7 fl oz)"
    );
    let gallon: Volume = "1 gal".parse().expect("a volume");
    assert!((gallon.to_litres() - 3.785_412).abs() < 1e-6);
    assert!("25".parse::<Duration>().is_err());
}

#[test]
fn moduli_are_read_in_both_systems() {
    let read = |text: &str| text.parse::<Modulus>().expect("a modulus").to_mpa();
    assert!((read("135 GPa") - 135_000.0).abs() < 1e-9);
    assert!((read("4500 MPa") - 4500.0).abs() < 1e-9);
    assert!((read("10 Msi") - 68_947.572_93).abs() < 1e-4);
    assert_eq!(Modulus::gpa(70.3).in_gpa_and_msi(), "70.3 GPa (10.20 Msi)");
    assert!("135".parse::<Modulus>().is_err());
}

#[test]
fn speeds_are_read_in_both_systems() {
    let read = |text: &str| text.parse::<Speed>().unwrap().to_mm_per_min();
    assert_eq!(read("50 mm/s"), 3000.0);
    assert_eq!(read("100 in/min"), 2540.0);
    assert!("50 mm".parse::<Speed>().is_err());
    assert!("50 mm/h".parse::<Speed>().is_err());
}
