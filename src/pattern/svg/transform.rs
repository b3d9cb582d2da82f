//! The `transform` property of CSS → a map. The attribute of the same name is simpler and read by
//! `svgtypes`.

use super::size::user_units;
use crate::geometry::trig::{sin_cos, tan_radians};
use crate::pattern::affine::Affine;
use crate::units::Angle;

/// The map of a `transform` property about its `origin`; percentages refer to `view`.
///
/// # Errors
/// What cannot be read, in the user's words.
///
/// # Source
/// CSS Transforms 1, §4 (the origin of SVG elements is that of the view box) and §9 (functions).
pub(super) fn css(text: &str, origin: Option<&str>, view: (f64, f64)) -> Result<Affine, String> {
    let mut map = Affine::IDENTITY;
    let mut rest = text.trim();
    while !rest.is_empty() && rest != "none" {
        let (name, after) = rest
            .split_once('(')
            .ok_or_else(|| format!("\"{rest}\" is no function"))?;
        let (arguments, after) = after
            .split_once(')')
            .ok_or_else(|| format!("\"{rest}\" is not closed"))?;
        let arguments: Vec<&str> = arguments
            .split([',', ' ', '\t', '\n'])
            .filter(|a| !a.is_empty())
            .collect();
        map = map.after(&function(name.trim(), &arguments, view)?);
        rest = after.trim_start_matches([',', ' ', '\t', '\n', '\r']);
    }
    let (x, y) = match origin {
        Some(origin) => self::origin(origin, view)?,
        None => (0.0, 0.0),
    };
    Ok(Affine::shift(x, y)
        .after(&map)
        .after(&Affine::shift(-x, -y)))
}

fn function(name: &str, arguments: &[&str], view: (f64, f64)) -> Result<Affine, String> {
    let wrong = || format!("\"{name}({})\" is not understood", arguments.join(", "));
    let x = |text: &str| user_units(text, view.0).map_err(|_| wrong());
    let y = |text: &str| user_units(text, view.1).map_err(|_| wrong());
    let number = |text: &str| match text.strip_suffix('%') {
        Some(percent) => percent.parse::<f64>().map(|p| p / 100.0),
        None => text.parse::<f64>(),
    };
    let number = |text: &str| number(text).map_err(|_| wrong());
    let tan =
        |text: &str| Ok::<f64, String>(tan_radians(angle(text).ok_or_else(wrong)?.to_radians()));
    Ok(match (name, arguments) {
        ("translate", [a]) | ("translateX", [a]) => Affine::shift(x(a)?, 0.0),
        ("translate", [a, b]) => Affine::shift(x(a)?, y(b)?),
        ("translateY", [b]) => Affine::shift(0.0, y(b)?),
        ("scale", [a]) => Affine::scale(number(a)?, number(a)?),
        ("scale", [a, b]) => Affine::scale(number(a)?, number(b)?),
        ("scaleX", [a]) => Affine::scale(number(a)?, 1.0),
        ("scaleY", [b]) => Affine::scale(1.0, number(b)?),
        ("rotate", [a]) => {
            // From x towards y, wherever y points.
            let (sin, cos) = sin_cos(Angle::degrees(angle(a).ok_or_else(wrong)?));
            Affine::rotation(sin, cos)
        }
        ("skew" | "skewX", [a]) => Affine::new(1.0, 0.0, tan(a)?, 1.0, 0.0, 0.0),
        ("skew", [a, b]) => Affine::new(1.0, tan(b)?, tan(a)?, 1.0, 0.0, 0.0),
        ("skewY", [b]) => Affine::new(1.0, tan(b)?, 0.0, 1.0, 0.0, 0.0),
        ("matrix", [a, b, c, d, e, f]) => Affine::new(
            number(a)?,
            number(b)?,
            number(c)?,
            number(d)?,
            number(e)?,
            number(f)?,
        ),
        _ => return Err(wrong()),
    })
}

/// An angle in degrees.
fn angle(text: &str) -> Option<f64> {
    // The longer unit first, for `grad` ends in `rad`.
    for (unit, degrees) in [("deg", 1.0), ("grad", 0.9), ("turn", 360.0)] {
        if let Some(number) = text.strip_suffix(unit) {
            return number.parse::<f64>().ok().map(|n| n * degrees);
        }
    }
    if let Some(number) = text.strip_suffix("rad") {
        return number.parse::<f64>().ok().map(f64::to_degrees);
    }
    text.parse::<f64>().ok().filter(|&n| n == 0.0)
}

/// The point a `transform-origin` names, in user units.
///
/// # Errors
/// What cannot be read.
pub(super) fn origin(text: &str, view: (f64, f64)) -> Result<(f64, f64), String> {
    let place = |word: &str, whole: f64| match word {
        "left" | "top" => Ok(0.0),
        "center" => Ok(whole / 2.0),
        "right" | "bottom" => Ok(whole),
        length => user_units(length, whole)
            .map_err(|_| format!("transform-origin \"{text}\" is not understood")),
    };
    match text.split_whitespace().collect::<Vec<_>>()[..] {
        [x] => Ok((place(x, view.0)?, view.1 / 2.0)),
        [x, y, ..] => Ok((place(x, view.0)?, place(y, view.1)?)),
        [] => Ok((0.0, 0.0)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Point;

    fn at(text: &str, origin: Option<&str>) -> (f64, f64) {
        let p = css(text, origin, (200.0, 100.0))
            .unwrap()
            .point(Point::new(10.0, 0.0));
        ((p.x * 1e9).round() / 1e9, (p.y * 1e9).round() / 1e9)
    }

    #[test]
    fn functions_act_from_the_right_in_css_units() {
        assert_eq!(at("translate(5px, 10%) rotate(90deg)", None), (5.0, 20.0));
        assert_eq!(at("rotate(0.25turn) scale(2, 1)", None), (0.0, 20.0));
        assert_eq!(at("matrix(1 0 0 1 3 4)", None), (13.0, 4.0));
        assert_eq!(at("skewY(45deg)", None), (10.0, 10.0));
        assert_eq!(at("translateX(25.4mm)", None), (106.0, 0.0));
        assert_eq!(at("rotate(180deg)", Some("100px 50%")), (190.0, 100.0));
        assert_eq!(at("none", None), (10.0, 0.0));
        assert!(css("rotate(30)", None, (1.0, 1.0)).is_err());
        assert!(css("rotate3d(1, 0, 0, 30deg)", None, (1.0, 1.0)).is_err());
    }
}
