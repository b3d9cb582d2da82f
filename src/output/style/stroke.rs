//! Widths and dashes of lines.
//!
//! Widths are mm on paper and on cloth; a screen shows them at 96 pixels to the inch. Dashes are
//! counted in units that each medium has for itself, since a cut file is looked at from further
//! away than a page.

use super::palette::Colour;

/// Help lines that may hardly be seen.
pub(in crate::output) const HAIR: f64 = 0.15;
/// Lines of a hatch.
pub(in crate::output) const HATCH: f64 = 0.18;
/// Net lines, frames, edges.
pub(in crate::output) const THIN: f64 = 0.25;
/// Arrows, marks, cut lines on paper.
pub(in crate::output) const LINE: f64 = 0.35;
/// Cut lines on cloth.
pub(in crate::output) const BOLD: f64 = 0.5;

/// Dashes and spaces of a net line.
pub(in crate::output) const NET_DASH: [f64; 2] = [4.0, 2.0];
/// Dashes and spaces of a border between frames.
pub(in crate::output) const FRAME_DASH: [f64; 2] = [10.0, 4.0];
/// Dashes and spaces around what is kept.
pub(in crate::output) const KEEP_DASH: [f64; 2] = [1.5, 3.0];
/// Dash, space, dot, space where the neighbour of a spliced piece comes to lie.
pub(in crate::output) const SPLICE_DASH: [f64; 4] = [8.0, 2.0, 1.5, 2.0];

/// Millimetres in a unit of dashes in a cut file.
pub(in crate::output) const CLOTH_DASH: f64 = 1.5;

/// A width in mm as a screen shows it.
pub(in crate::output) fn pixels(mm: f64) -> f64 {
    mm * 96.0 / 25.4
}

/// Dashes and spaces in turn; none for a solid line.
pub(in crate::output) type Dash = &'static [f64];

/// What a line is drawn with; lengths are those of the medium.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::output) struct Pen {
    pub(in crate::output) colour: Colour,
    pub(in crate::output) width: f64,
    dash: Dash,
    /// Length of a unit of the dashes.
    unit: f64,
}

impl Pen {
    pub(in crate::output) const fn solid(colour: Colour, width: f64) -> Self {
        Self::dashed(colour, width, &[], 1.0)
    }

    /// With dashes counted in units of this length.
    pub(in crate::output) const fn dashed(
        colour: Colour,
        width: f64,
        dash: Dash,
        unit: f64,
    ) -> Self {
        Self {
            colour,
            width,
            dash,
            unit,
        }
    }

    /// It where a unit of its own is `scale` of the medium.
    pub(in crate::output) fn scaled(self, scale: f64) -> Self {
        Self {
            width: self.width * scale,
            unit: self.unit * scale,
            ..self
        }
    }

    /// Lengths of its dashes and spaces in turn.
    pub(in crate::output) fn dashes(&self) -> impl Iterator<Item = f64> {
        let unit = self.unit;
        self.dash.iter().map(move |length| length * unit)
    }
}

/// How a shape is painted: all that lies within its lines, and then along them. A text has its letters
/// for area, and its line goes around them.
#[derive(Clone, Copy, Debug)]
pub(in crate::output) struct Paint {
    /// Colour of the area, by the even-odd rule.
    pub(in crate::output) area: Option<Colour>,
    pub(in crate::output) line: Option<Pen>,
}

impl Paint {
    pub(in crate::output) const fn area(colour: Colour) -> Self {
        Self {
            area: Some(colour),
            line: None,
        }
    }

    pub(in crate::output) const fn pen(pen: Pen) -> Self {
        Self {
            area: None,
            line: Some(pen),
        }
    }

    /// A solid line.
    pub(in crate::output) const fn line(colour: Colour, width: f64) -> Self {
        Self::pen(Pen::solid(colour, width))
    }

    /// It with an area of this colour within its lines.
    pub(in crate::output) const fn over(self, area: Colour) -> Self {
        Self {
            area: Some(area),
            ..self
        }
    }
}
