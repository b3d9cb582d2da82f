//! How a pattern file is to be read: units, tolerances, and what its layers mean.

use std::fmt;
use std::str::FromStr;

use crate::geometry::Tolerance;
use crate::photo::PhotoSettings;
use crate::units::LengthUnit;
use crate::words::words;

/// Pixels in an inch where nobody says otherwise (CSS Values and Units 3, §6.2).
pub const CSS_DPI: f64 = 96.0;

/// Millimetres in a pixel there.
pub const PX_MM: f64 = LengthUnit::Inch.in_mm() / CSS_DPI;

/// How to read a pattern file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Settings {
    /// Flattening and chaining tolerances.
    pub tolerance: Tolerance,
    /// Unit of the coordinates, where the file does not say or is wrong.
    pub unit: Option<LengthUnit>,
    /// Pixels in an inch of an SVG that states no physical size; [`CSS_DPI`] if `None`.
    pub dpi: Option<f64>,
    /// What becomes of the boundaries of HATCH entities.
    pub hatches: Hatches,
    /// What becomes of an outline that crosses itself.
    pub crossing: CrossingRule,
    /// What the layers of the drawing mean.
    pub layers: LayerRoles,
    /// Which layers and colours hold the pattern.
    pub only: Selection,
    /// What is known of a photograph.
    pub photo: PhotoSettings,
}

/// What becomes of the boundaries of HATCH entities (DXF).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Hatches {
    /// Not read, and counted aloud: a hatch usually lies inside an outline that is drawn as well.
    #[default]
    LeftOut,
    /// Read like other closed lines.
    Outlines,
}

words! {
    /// What becomes of an outline that crosses itself.
    #[derive(Default)]
    pub enum CrossingRule {
        /// It is an error and no outline comes of it.
        #[default]
        Refuse = "refuse",
        /// It is split at its crossings into loops that do not cross, each of which counts as drawn.
        Split = "split",
    }
}

words! {
    /// What a layer of a drawing stands for, beside plain outlines.
    pub enum Role {
        /// Cut lines that include the allowance already.
        Cut = "cut",
        /// Net lines: where the finished part ends.
        Net = "net",
        /// Lines along the part's 0° direction.
        Zero = "zero",
        /// Edges that carry an overlap.
        Overlap = "overlap",
        /// Notches.
        Notch = "notch",
        /// Drill and locating marks.
        Drill = "drill",
        /// Areas in which no splice may lie.
        KeepOut = "keep_out",
        /// Darts: wedges to be cut into an edge.
        Dart = "dart",
        /// Nothing of interest.
        Ignore = "ignore",
    }
}

impl Role {
    /// Layer names that stand for it where the job names none; blanks, `-`, `_` and capitals do not count. `cut` means [`Role::Cut`] only beside a `net`
    /// layer: on its own it is what many people call the layer of their outlines.
    const fn usual_layers(self) -> &'static [&'static str] {
        match self {
            Self::Cut => &["cut", "cutline", "cutting"],
            Self::Net => &["net", "netline", "finished", "finishededge"],
            Self::Zero => &[
                "zero",
                "zerodirection",
                "0deg",
                "0°",
                "0degrees",
                "warp",
                "fibre",
                "fiber",
                "grain",
            ],
            Self::Overlap => &["overlap", "overlaps", "lap"],
            Self::Notch => &["notch", "notches"],
            Self::Drill => &["drill", "drills", "locate", "locating", "registration"],
            Self::KeepOut => &["keepout", "nosplice"],
            Self::Dart => &["dart", "darts"],
            // Where a common CAD program keeps the points of its dimensions, never plotted.
            Self::Ignore => &["defpoints"],
        }
    }

    /// Whether what lies on such a layer is a mark and no outline.
    pub(super) const fn is_mark(self) -> bool {
        matches!(
            self,
            Self::Zero | Self::Overlap | Self::Notch | Self::Drill | Self::KeepOut | Self::Dart
        )
    }
}

/// Which layers stand for what: the job's own names, and the usual ones for roles it does not name.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LayerRoles {
    named: Vec<(Role, Vec<String>)>,
}

impl LayerRoles {
    /// Names the layers of `role`; none of the usual names stands for it any more.
    pub fn name(&mut self, role: Role, layers: Vec<String>) {
        self.named.retain(|(r, _)| *r != role);
        self.named.push((role, layers));
    }

    /// Whether the job itself names layers for `role`.
    #[must_use]
    pub fn names(&self, role: Role) -> bool {
        self.named.iter().any(|(r, _)| *r == role)
    }

    /// What `layer` stands for. `Cut` by a usual name is for the caller to doubt: see
    /// [`LayerRoles::names`].
    #[must_use]
    pub fn role(&self, layer: &str) -> Option<Role> {
        let plain = plain(layer);
        let given = |names: &[String]| names.iter().any(|n| self::plain(n) == plain);
        let named = self.named.iter().find(|(_, names)| given(names));
        named.map(|&(role, _)| role).or_else(|| {
            let mut unnamed = Role::ALL.into_iter().filter(|&r| !self.names(r));
            unnamed.find(|r| r.usual_layers().contains(&plain.as_str()))
        })
    }
}

/// A layer name without what people write differently each time.
fn plain(name: &str) -> String {
    let kept = name.chars().filter(|c| !matches!(c, ' ' | '-' | '_'));
    kept.flat_map(char::to_lowercase).collect()
}

/// Which layers and colours hold the pattern; empty lists mean all.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Selection {
    /// Names of layers; capitals do not count. Layers with a [`Role`] are read in any case.
    pub layers: Vec<String>,
    /// Colours of lines.
    pub colours: Vec<Colour>,
}

impl Selection {
    pub(super) fn takes_layer(&self, layer: &str) -> bool {
        self.layers.is_empty()
            || self
                .layers
                .iter()
                .any(|l| l.to_lowercase() == layer.to_lowercase())
    }

    pub(super) fn takes_colour(&self, colour: Option<Colour>) -> bool {
        self.colours.is_empty()
            || colour.is_some_and(|colour| self.colours.iter().any(|c| c.is(colour)))
    }
}

/// A colour of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Colour {
    /// A colour index of DXF, 1 … 255.
    Index(u8),
    /// Red, green, blue.
    Rgb([u8; 3]),
}

impl Colour {
    /// Whether two colours are the same; the index colours 1 to 7 have fixed values (Autodesk DXF
    /// reference), 7 being black or white.
    fn is(self, other: Self) -> bool {
        let rgb = |c: Self| match c {
            Self::Rgb(rgb) => Some(rgb),
            Self::Index(1) => Some([255, 0, 0]),
            Self::Index(2) => Some([255, 255, 0]),
            Self::Index(3) => Some([0, 255, 0]),
            Self::Index(4) => Some([0, 255, 255]),
            Self::Index(5) => Some([0, 0, 255]),
            Self::Index(6) => Some([255, 0, 255]),
            Self::Index(_) => None,
        };
        let seven = |c: Self, d: Self| {
            c == Self::Index(7) && matches!(d, Self::Rgb([0, 0, 0] | [255, 255, 255]))
        };
        self == other
            || seven(self, other)
            || seven(other, self)
            || (rgb(self).is_some() && rgb(self) == rgb(other))
    }
}

impl fmt::Display for Colour {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Index(n) => write!(f, "{n}"),
            Self::Rgb([r, g, b]) => write!(f, "#{r:02x}{g:02x}{b:02x}"),
        }
    }
}

/// A text that is no colour.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ColourError(String);

impl fmt::Display for ColourError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{}` is no colour", self.0)
    }
}

impl std::error::Error for ColourError {}

impl FromStr for Colour {
    type Err = ColourError;

    /// A colour index (`1`), a value (`#ff0000`) or a name of CSS (`red`).
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let text = text.trim();
        if let Ok(index) = text.parse::<u8>()
            && index > 0
        {
            return Ok(Self::Index(index));
        }
        match text.parse::<svgtypes::Color>() {
            Ok(c) => Ok(Self::Rgb([c.red, c.green, c.blue])),
            Err(_) => Err(ColourError(text.to_owned())),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn usual_names_stand_until_the_job_names_its_own() {
        let mut roles = LayerRoles::default();
        assert_eq!(roles.role("0 deg"), Some(Role::Zero));
        assert_eq!(roles.role("Net_Line"), Some(Role::Net));
        assert_eq!(roles.role("0"), None);
        roles.name(Role::Zero, vec!["AXIS".to_owned()]);
        assert_eq!(roles.role("axis"), Some(Role::Zero));
        assert_eq!(roles.role("0 deg"), None);
        // A name that the job gives away is not used for its usual role.
        roles.name(Role::Ignore, vec!["notch".to_owned()]);
        assert_eq!(roles.role("NOTCH"), Some(Role::Ignore));
    }

    #[test]
    fn colours_are_the_same_by_index_name_and_value() {
        let colour = |text: &str| text.parse::<Colour>().unwrap();
        assert!(colour("1").is(colour("red")));
        assert!(colour("7").is(colour("black")) && colour("#fff").is(colour("7")));
        assert!(!colour("250").is(colour("black")));
        assert!("0".parse::<Colour>().is_err() && "reddish".parse::<Colour>().is_err());
    }
}
