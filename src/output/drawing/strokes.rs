//! Letters as single strokes, for pens and for plotters without a font. Our own alphabet.
//!
//! Drawn on a grid in which capitals are 12 high; small letters 8, descenders 4 below the line.
//! Each letter is its width and lines of `x y` pairs, separated by `|`.

use super::shape::{Shape, TextLine};
use crate::geometry::{Point, Vector, trig};

/// Height of capitals on the grid.
const CAPITAL: f64 = 12.0;
/// Space between letters on the grid.
const SPACE: f64 = 3.0;

/// The lines of `text`, centred like [`TextLine`], as open polylines in the roll frame.
pub(in crate::output) fn strokes(text: &TextLine) -> Vec<Vec<Point>> {
    let letters: Vec<(f64, &str)> = text.text.chars().map(letter).collect();
    let n = letters.len() as f64;
    let width = letters.iter().map(|(w, _)| w).sum::<f64>() + SPACE * (n - 1.0).max(0.0);
    let scale = text.height / CAPITAL;
    let (sin, cos) = trig::sin_cos(text.angle);
    let centre = text.centre(width * scale);
    let mut lines = Vec::new();
    let mut from = -width / 2.0;
    for (letter_width, drawing) in letters {
        for line in drawing.split('|').filter(|line| !line.is_empty()) {
            let at = |(x, y): (f64, f64)| {
                let (along, up) = ((from + x) * scale, (y - CAPITAL / 2.0) * scale);
                centre + Vector::new(along * cos - up * sin, along * sin + up * cos)
            };
            lines.push(pairs(line).map(at).collect());
        }
        from += letter_width + SPACE;
    }
    lines
}

impl Shape {
    /// The lines along which a pen draws it, each with whether it is closed; a dot has none.
    pub(in crate::output) fn pen_lines(&self) -> Vec<(Vec<Point>, bool)> {
        match self {
            Self::Area { rings, .. } => rings.iter().map(|ring| (ring.clone(), true)).collect(),
            Self::Rectangle(bounds) => vec![(bounds.corners().to_vec(), true)],
            Self::Line { points, closed } => vec![(points.clone(), *closed)],
            Self::Lines(lines) => lines.iter().map(|line| (line.clone(), false)).collect(),
            Self::Dot { .. } => Vec::new(),
            Self::Edge(ends) => vec![(ends.to_vec(), false)],
            Self::Pointer(pointer) => {
                let shaft = (pointer.shaft.to_vec(), false);
                let head = pointer.head.map(|head| (head.to_vec(), true));
                std::iter::once(shaft).chain(head).collect()
            }
            Self::Text(line) => strokes(line).into_iter().map(|l| (l, false)).collect(),
        }
    }
}

fn pairs(line: &str) -> impl Iterator<Item = (f64, f64)> {
    let mut numbers = line
        .split_ascii_whitespace()
        .map(|n| n.parse().expect("the alphabet holds numbers only"));
    std::iter::from_fn(move || Some((numbers.next()?, numbers.next()?)))
}

/// Width and lines of `c`. A letter with an accent is drawn without it, anything else unknown as a
/// box.
fn letter(c: char) -> (f64, &'static str) {
    match c {
        ' ' => (4.0, ""),
        'A' => (8.0, "0 0 4 12 8 0|1.3 4 6.7 4"),
        'B' => (
            8.0,
            "0 0 0 12 5 12 7 11 7.5 9 7 7 5 6 0 6|5 6 7 5.3 8 3 7 .8 5 0 0 0",
        ),
        'C' => (8.0, "8 10 6 12 3 12 1 10.5 0 8 0 4 1 1.5 3 0 6 0 8 2"),
        'D' => (8.0, "0 0 0 12 4 12 7 10.5 8 8 8 4 7 1.5 4 0 0 0"),
        'E' => (7.0, "7 12 0 12 0 0 7 0|0 6.3 5.5 6.3"),
        'F' => (7.0, "7 12 0 12 0 0|0 6.3 5.5 6.3"),
        'G' => (
            8.0,
            "8 10 6 12 3 12 1 10.5 0 8 0 4 1 1.5 3 0 6 0 8 2 8 5.5 5 5.5",
        ),
        'H' => (8.0, "0 0 0 12|8 0 8 12|0 6.3 8 6.3"),
        'I' => (3.0, "0 0 3 0|1.5 0 1.5 12|0 12 3 12"),
        'J' => (6.0, "6 12 6 3 5 .8 3 0 1 .8 0 3"),
        'K' => (8.0, "0 0 0 12|8 12 0 5|2.5 7.2 8 0"),
        'L' => (7.0, "0 12 0 0 7 0"),
        'M' => (10.0, "0 0 0 12 5 4 10 12 10 0"),
        'N' => (8.0, "0 0 0 12 8 0 8 12"),
        'O' | 'Ö' | 'Ø' => (
            8.0,
            "3 0 1 1.5 0 4 0 8 1 10.5 3 12 5 12 7 10.5 8 8 8 4 7 1.5 5 0 3 0",
        ),
        'P' => (8.0, "0 0 0 12 5 12 7.2 11 8 8.8 7.2 6.5 5 5.5 0 5.5"),
        'Q' => (
            8.0,
            "3 0 1 1.5 0 4 0 8 1 10.5 3 12 5 12 7 10.5 8 8 8 4 7 1.5 5 0 3 0|5 3.5 8.5 -1",
        ),
        'R' => (
            8.0,
            "0 0 0 12 5 12 7.2 11 8 8.8 7.2 6.5 5 5.5 0 5.5|4.5 5.5 8 0",
        ),
        'S' => (
            8.0,
            "8 10.3 6 12 2.5 12 .5 11 0 9 .8 7.2 7 5 8 3 7.2 1 5 0 2 0 0 1.8",
        ),
        'T' => (8.0, "0 12 8 12|4 12 4 0"),
        'U' | 'Ü' => (8.0, "0 12 0 4 1 1.3 3 0 5 0 7 1.3 8 4 8 12"),
        'V' => (8.0, "0 12 4 0 8 12"),
        'W' => (11.0, "0 12 2.7 0 5.5 9 8.3 0 11 12"),
        'X' => (8.0, "0 0 8 12|0 12 8 0"),
        'Y' => (8.0, "0 12 4 6 8 12|4 6 4 0"),
        'Z' => (8.0, "0 12 8 12 0 0 8 0"),
        'Ä' | 'À' | 'Á' | 'Â' | 'Å' => letter('A'),
        'É' | 'È' | 'Ê' => letter('E'),
        'a' | 'ä' | 'à' | 'á' | 'â' | 'å' => {
            (6.0, "6 8 6 0|6 6 4.5 8 2 8 .4 6.5 0 4 .4 1.5 2 0 4.5 0 6 2")
        }
        'b' => (
            6.0,
            "0 12 0 0|0 6 1.5 8 4 8 5.6 6.5 6 4 5.6 1.5 4 0 1.5 0 0 2",
        ),
        'c' | 'ç' => (6.0, "6 6.5 4.5 8 2 8 .4 6.5 0 4 .4 1.5 2 0 4.5 0 6 1.5"),
        'd' => (
            6.0,
            "6 12 6 0|6 6 4.5 8 2 8 .4 6.5 0 4 .4 1.5 2 0 4.5 0 6 2",
        ),
        'e' | 'é' | 'è' | 'ê' => (
            6.0,
            "0 4.3 6 4.3 5.5 6.7 4 8 2 8 .4 6.5 0 4 .4 1.5 2 0 4.5 0 6 1.3",
        ),
        'f' => (4.0, "4 12 2.6 12 1.5 10.5 1.5 0|0 8 4 8"),
        'g' => (
            6.0,
            "6 8 6 -2 5 -3.7 3 -4 .8 -3.2|6 6 4.5 8 2 8 .4 6.5 0 4 .4 1.5 2 0 4.5 0 6 2",
        ),
        'h' => (6.0, "0 12 0 0|0 5.5 1.5 7.5 3.5 8 5.3 7.2 6 5.5 6 0"),
        'i' => (1.0, ".5 0 .5 8|.5 10.7 .5 11.5"),
        'j' => (3.0, "2.5 8 2.5 -2 1.7 -3.6 0 -4|2.5 10.7 2.5 11.5"),
        'k' => (6.0, "0 12 0 0|5.5 8 0 3|2 4.8 6 0"),
        'l' => (2.0, ".3 12 .3 1.5 1 .2 2 0"),
        'm' => (
            9.0,
            "0 8 0 0|0 5.8 1 7.5 2.5 8 4 7.3 4.5 5.8 4.5 0|4.5 5.8 5.5 7.5 7 8 8.5 7.3 9 5.8 9 0",
        ),
        'n' | 'ñ' => (6.0, "0 8 0 0|0 5.5 1.5 7.5 3.5 8 5.3 7.2 6 5.5 6 0"),
        'o' | 'ö' | 'ø' | 'ô' => (
            6.0,
            "2 0 .4 1.5 0 4 .4 6.5 2 8 4 8 5.6 6.5 6 4 5.6 1.5 4 0 2 0",
        ),
        'p' => (
            6.0,
            "0 8 0 -4|0 6 1.5 8 4 8 5.6 6.5 6 4 5.6 1.5 4 0 1.5 0 0 2",
        ),
        'q' => (
            6.0,
            "6 8 6 -4|6 6 4.5 8 2 8 .4 6.5 0 4 .4 1.5 2 0 4.5 0 6 2",
        ),
        'r' => (4.0, "0 8 0 0|0 5 1.3 7.3 2.6 8 4 8"),
        's' => (
            6.0,
            "6 6.8 4.5 8 1.8 8 .3 7 .3 5.3 1.5 4.5 4.8 3.6 6 2.5 5.8 1 4.5 0 1.6 0 0 1.2",
        ),
        't' => (4.0, "1.5 11 1.5 1.5 2.5 .2 4 0|0 8 4 8"),
        'u' | 'ü' | 'ù' | 'ú' => (6.0, "0 8 0 2.3 .8 .7 2.5 0 4.5 .5 6 2.5|6 8 6 0"),
        'v' => (6.0, "0 8 3 0 6 8"),
        'w' => (9.0, "0 8 2.2 0 4.5 6.5 6.8 0 9 8"),
        'x' => (6.0, "0 0 6 8|0 8 6 0"),
        'y' => (6.0, "0 8 3 0|6 8 2.2 -2.5 1.2 -3.8 0 -4"),
        'z' => (6.0, "0 8 6 8 0 0 6 0"),
        'ß' => (
            7.0,
            "0 0 0 9.5 1.2 11.5 3 12 5 11.3 5.5 9.5 5 7.8 3 6.7|3 6.7 5.8 5.7 7 3.3 6 .9 4 0 2.5 0",
        ),
        '0' => (
            7.0,
            "2.5 0 .7 1.7 0 4 0 8 .7 10.3 2.5 12 4.5 12 6.3 10.3 7 8 7 4 6.3 1.7 4.5 0 2.5 0|1.2 2.2 5.8 9.8",
        ),
        '1' => (4.0, "0 9.5 2.5 12 2.5 0|.7 0 4 0"),
        '2' => (7.0, "0 9.5 .8 11.3 2.8 12 4.8 12 6.5 11 7 9 6.3 7 0 0 7 0"),
        '3' => (
            7.0,
            "0 10.5 2 12 4.8 12 6.5 11 7 9.3 6.3 7.3 4.3 6.4 2.5 6.4|4.3 6.4 6.3 5.5 7 3.3 6.3 1.2 4.5 0 2 0 0 1.5",
        ),
        '4' => (7.0, "5.3 0 5.3 12 0 3.5 7 3.5"),
        '5' => (
            7.0,
            "6.5 12 .8 12 .3 6.5 2.3 7.5 4.3 7.5 6.2 6.3 7 3.9 6.2 1.3 4.3 0 2 0 0 1.5",
        ),
        '6' => (
            7.0,
            "6.3 11 4.5 12 2.7 11.6 .8 9 0 5.5 0 3.8 .8 1.3 2.6 0 4.5 0 6.3 1.3 7 3.7 6.3 6 4.5 7.2 2.7 7.2 .8 6 0 3.8",
        ),
        '7' => (7.0, "0 12 7 12 2.5 0"),
        '8' => (
            7.0,
            "2.5 6.5 .9 7.6 .5 9.3 1 11.1 2.6 12 4.4 12 6 11.1 6.5 9.3 6.1 7.6 4.5 6.5 2.5 6.5 .8 5.3 0 3.3 .7 1.2 2.5 0 4.5 0 6.3 1.2 7 3.3 6.2 5.3 4.5 6.5",
        ),
        '9' => (
            7.0,
            ".7 1 2.5 0 4.3 .4 6.2 3 7 6.5 7 8.2 6.2 10.7 4.4 12 2.5 12 .7 10.7 0 8.3 .7 6 2.5 4.8 4.3 4.8 6.2 6 7 8.2",
        ),
        '.' => (1.0, ".5 0 .5 .8"),
        ',' => (1.5, "1 .8 1 0 0 -2"),
        ':' => (1.0, ".5 0 .5 .8|.5 5.7 .5 6.5"),
        ';' => (1.5, "1 .8 1 0 0 -2|1 5.7 1 6.5"),
        '!' => (1.0, ".5 0 .5 .8|.5 3.5 .5 12"),
        '?' => (
            6.0,
            "0 9.7 .8 11.3 2.5 12 4.2 11.8 5.7 10.5 5.8 8.7 4.7 7 3 5.8 3 3.5|3 0 3 .8",
        ),
        '-' | '–' | '−' => (4.0, "0 5 4 5"),
        '+' => (6.0, "0 5 6 5|3 2 3 8"),
        '±' => (6.0, "0 6.5 6 6.5|3 3.5 3 9.5|0 1 6 1"),
        '=' => (6.0, "0 3.5 6 3.5|0 6.5 6 6.5"),
        '/' => (5.0, "0 -1 5 13"),
        '\\' => (5.0, "0 13 5 -1"),
        '|' => (1.0, ".5 -2 .5 13"),
        '_' => (7.0, "0 -2 7 -2"),
        '#' => (8.0, "1.8 0 3.4 12|5 0 6.6 12|.2 3.8 7.4 3.8|.8 8.2 8 8.2"),
        '*' => (5.0, "2.5 4 2.5 10|0 5.5 5 8.5|0 8.5 5 5.5"),
        '%' => (
            9.0,
            "0 0 9 12|1 12 .2 11 .2 9.5 1 8.5 2.2 8.5 3 9.5 3 11 2.2 12 1 12|6.8 3.5 6 2.5 6 1 6.8 0 8 0 8.8 1 8.8 2.5 8 3.5 6.8 3.5",
        ),
        '&' => (
            8.0,
            "8 0 1.7 8.5 1.7 10.5 3 12 4.5 11.5 5 10 4.3 8.3 1 5.5 0 3.3 .6 1.2 2.5 0 4.7 .6 7.5 5",
        ),
        '(' => (3.0, "3 13 1 10.5 0 7.5 0 3.5 1 .5 3 -2"),
        ')' => (3.0, "0 13 2 10.5 3 7.5 3 3.5 2 .5 0 -2"),
        '[' => (3.0, "3 13 0 13 0 -2 3 -2"),
        ']' => (3.0, "0 13 3 13 3 -2 0 -2"),
        '<' => (6.0, "6 9 0 5 6 1"),
        '>' => (6.0, "0 9 6 5 0 1"),
        '\'' => (1.0, ".5 12 .5 9"),
        '"' => (3.0, ".5 12 .5 9|2.5 12 2.5 9"),
        '@' => (
            10.0,
            "7 4.5 6.3 7 4.8 8 3.3 7.2 2.8 5 3.5 3.3 5 3 6.3 4 7 6|7 8 7 4.2 8 3.2 9.3 4.3 9.8 6.5 9.2 9.3 7.3 11.2 4.8 11.6 2.3 10.6 .6 8.3 .2 5.3 1 2.3 3 .3 5.5 -.2 8 .6",
        ),
        '°' => (3.0, "1 8.7 0 9.7 0 11 1 12 2 12 3 11 3 9.7 2 8.7 1 8.7"),
        '·' => (1.0, ".5 5 .5 5.8"),
        '×' => (5.0, "0 2.5 5 7.5|0 7.5 5 2.5"),
        _ => (6.0, "0 0 6 0 6 12 0 12 0 0"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::drawing::face::usual_width;
    use crate::output::drawing::shape::Align;
    use crate::units::Angle;

    #[test]
    fn every_letter_is_drawn_within_the_width_that_labels_reckon_with() {
        let all: String = (' '..='~').chain("°·±×–äß".chars()).collect();
        for c in all.chars() {
            let (width, drawing) = letter(c);
            assert!(c == ' ' || !drawing.is_empty(), "{c} is not drawn");
            for line in drawing.split('|').filter(|l| !l.is_empty()) {
                assert_eq!(line.split_ascii_whitespace().count() % 2, 0, "{c}");
                for (x, y) in pairs(line) {
                    let inside = (-0.01..=width + 0.51).contains(&x) && (-4.0..=13.0).contains(&y);
                    assert!(inside, "{c}: {x} {y}");
                }
            }
            let reckoned = usual_width(&c.to_string()) * CAPITAL;
            assert!(
                width + SPACE <= reckoned + 1.0,
                "{c} is {width} wide, not {reckoned}"
            );
        }
    }

    #[test]
    fn a_text_is_centred_and_turned() {
        let line = TextLine {
            text: "HH".to_owned(),
            at: Point::new(100.0, 50.0),
            align: Align::Centre,
            height: 6.0,
            angle: Angle::degrees(90.0),
        };
        let points: Vec<Point> = strokes(&line).into_iter().flatten().collect();
        let bounds = crate::geometry::Bounds::of(points).unwrap();
        assert!((bounds.centre().distance(Point::new(100.0, 50.0))) < 1e-9);
        assert!(
            (bounds.width() - 6.0).abs() < 1e-9,
            "capitals are 6 mm high"
        );
    }
}
