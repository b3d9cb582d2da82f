//! Pictures for people: of what was read from pattern files, with the faults circled, and of a roll
//! with its pieces.
//!
//! [`Picture::of`] and [`Picture::of_roll`] make a list of painted shapes; [`Picture::svg`] and
//! [`Picture::png`] write the same list. Lengths are pixels, y runs down.

mod font;
mod indexed;
mod png;
mod roll;
mod sheet;
mod svg;

pub(in crate::output) use font::FONT;

use crate::pattern::Pattern;

/// Width of every picture.
const WIDTH: f32 = 1600.0;

/// Tallest picture; many files share it.
const MOST_HEIGHT: f32 = 20_000.0;

/// Files that are drawn; a picture of more shows nothing.
const MOST_FILES: usize = 12;

/// A picture: shapes painted one over the other.
#[derive(Debug)]
pub struct Picture {
    height: f32,
    items: Vec<Item>,
}

/// Something painted.
#[derive(Debug)]
enum Item {
    /// Lines through points.
    Lines {
        runs: Vec<Vec<(f32, f32)>>,
        closed: bool,
        paint: Paint,
    },
    Circle {
        centre: (f32, f32),
        radius: f32,
        paint: Paint,
    },
    Text(Words),
    /// What follows is shown within this box only: left, top, right, bottom.
    Within([f32; 4]),
    /// What follows is shown everywhere again.
    Everywhere,
}

/// A line of text on a halo.
#[derive(Debug)]
struct Words {
    text: String,
    /// Where its baseline begins or has its middle.
    at: (f32, f32),
    size: f32,
    centred: bool,
    /// How far it is turned about `at`, degrees counter-clockwise.
    turn: f32,
    colour: Colour,
    halo: Colour,
}

pub(in crate::output) use crate::output::style::Colour;

/// How a shape is painted.
#[derive(Clone, Copy, Debug)]
struct Paint {
    line: Colour,
    /// Width of the line; 0 for none.
    width: f32,
    /// Dashes and spaces; empty for a solid line.
    dash: Dash,
    /// Colour of the area, by the even-odd rule.
    area: Option<Colour>,
}

/// Dashes and spaces, pixels.
type Dash = &'static [f32];

const SOLID: Dash = &[];
const DASHED: Dash = &[10.0, 5.0];

impl Paint {
    const fn line(line: Colour, width: f32) -> Self {
        Self {
            line,
            width,
            dash: SOLID,
            area: None,
        }
    }

    const fn dashed(line: Colour, width: f32, dash: Dash) -> Self {
        Self {
            dash,
            ..Self::line(line, width)
        }
    }

    const fn area(colour: Colour) -> Self {
        Self {
            area: Some(colour),
            ..Self::line(colour, 0.0)
        }
    }
}

impl Picture {
    /// A picture of `files`: each as read, or its name and why it could not be.
    #[must_use]
    pub fn of(files: &[Result<&Pattern, (&str, &crate::diag::Diagnostics)>]) -> Self {
        let drawn = files.len().min(MOST_FILES);
        let most_height = MOST_HEIGHT / drawn.max(1) as f32;
        let mut picture = Self {
            height: 0.0,
            items: Vec::new(),
        };
        for file in &files[..drawn] {
            match file {
                Ok(pattern) => sheet::draw(&mut picture, pattern, most_height),
                Err((name, problems)) => sheet::draw_unread(&mut picture, name, problems),
            }
        }
        if files.len() > drawn {
            let more = format!("{} more files are not drawn", files.len() - drawn);
            sheet::heading(&mut picture, &more);
        }
        picture.height = picture.height.max(60.0).ceil();
        picture
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pattern::{Settings, see};

    const DRAWING: &str = "<svg xmlns='http://www.w3.org/2000/svg' width='200mm' height='100mm' \
        viewBox='0 0 200 100'><path id='bad' d='M10 10L90 90L90 10L10 90Z'/>\
        <path id='good' d='M110 10H190V90H110Z'/></svg>";

    #[test]
    fn faults_are_circled_where_they_are() {
        let pattern = see("a.svg", DRAWING.as_bytes(), &Settings::default()).unwrap();
        let picture = Picture::of(&[Ok(&pattern)]);
        let circles: Vec<(f32, f32)> = picture
            .items
            .iter()
            .filter_map(|item| match item {
                Item::Circle { centre, .. } => Some(*centre),
                _ => None,
            })
            .collect();
        let [fault] = circles[..] else {
            panic!("one fault, {circles:?}");
        };
        // The crossing is in the middle of the left square, which reaches over 4/9 of the drawing.
        assert!((fault.0 / WIDTH - 0.25).abs() < 0.03, "{fault:?}");
        let svg = picture.svg();
        assert!(svg.contains("good") && svg.contains("crosses itself"));
        let png = picture.png().expect("a picture");
        assert!(png.starts_with(b"\x89PNG"));
    }

    #[test]
    fn what_is_outside_a_box_is_not_painted() {
        let line = |y| Item::Lines {
            runs: vec![vec![(0.0, y), (WIDTH, y)]],
            closed: false,
            paint: Paint::line([0, 0, 0], 4.0),
        };
        let picture = |items| Picture {
            height: 60.0,
            items,
        };
        let boxed = picture(vec![
            Item::Within([0.0, 0.0, WIDTH, 30.0]),
            line(10.0),
            line(50.0),
            Item::Everywhere,
        ]);
        assert_eq!(boxed.png(), picture(vec![line(10.0)]).png());
        assert_eq!(boxed.svg().matches("</svg>").count(), 2);
    }

    #[test]
    fn names_are_escaped_and_same_input_gives_same_bytes() {
        let drawing = DRAWING.replace("good", "&lt;b&gt;&#169;");
        let see = || see("a&b.svg", drawing.as_bytes(), &Settings::default()).unwrap();
        let (one, two) = (see(), see());
        let svg = Picture::of(&[Ok(&one)]).svg();
        assert!(svg.contains("&lt;b&gt;") && svg.contains("a&amp;b.svg"));
        assert_eq!(svg, Picture::of(&[Ok(&two)]).svg());
        assert_eq!(
            Picture::of(&[Ok(&one)]).png(),
            Picture::of(&[Ok(&two)]).png()
        );
    }
}
