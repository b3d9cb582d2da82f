//! The job file as written, checked: parts, laminate schedules, cloths and cutting settings.
//!
//! [`Job::read`] turns TOML text into a [`Job`] or into every problem it can find, each with its
//! place in the file. It opens no pattern file: what only a pattern can tell (an unknown layer, an
//! outline that is not there) is checked later, against the [`Place`]s kept here.
//!
//! # Example
//!
//! ```
//! use warpwise::job::Job;
//! use warpwise::units::{Angle, Length};
//!
//! let text = r#"
//!     [cloth.glass]
//!     weave = "plain"
//!     areal_weight = "200 g/m2"
//!     roll_width = "50 in"
//!
//!     [[part]]
//!     name = "LID"
//!     pattern = "lid.svg"
//!     cloth = "glass"
//!     layup = "[0/45]s"
//! "#;
//! let (job, warnings) = Job::read("lid.toml", text).unwrap();
//! assert_eq!(warnings.iter().count(), 0);
//! let angles: Vec<f64> = job.parts()[0].plies.iter().map(|ply| ply.angle.to_degrees()).collect();
//! assert_eq!(angles, [0.0, 45.0, 45.0, 0.0]);
//! assert_eq!(job.cloths()[0].roll_width, Length::inches(50.0));
//!
//! // A mistake is told with its line, and all of them at once.
//! let wrong = text.replace("plain", "plane").replace("50 in", "50");
//! let problems = Job::read("lid.toml", &wrong).unwrap_err();
//! assert_eq!(problems.iter().count(), 2);
//! ```

mod bagging;
mod cloths;
mod cutting;
mod drawing;
mod keys;
mod laminate;
mod layup;
mod outputs;
mod parts;
mod place;
mod read;
mod reader;
mod rules;
mod splice;
mod stack;
mod starter;
mod stock;
mod supplies;
mod syntax;
mod table;
mod view;
mod wording;

pub use bagging::{BagLayer, Bagging, LayerKind};
pub use keys::{reference, schema};
pub use outputs::{
    Arcs, DxfVersion, FileKind, Gcode, Knife, Layer, LayerSetting, Outputs, Paper, PieceForm,
    TextForm,
};
use read::check_name;
pub use rules::{MAX_PIECES, MAX_SETS};
pub use splice::{JointKind, SpliceLines, SpliceRule};
pub use starter::{Start, starting_job};
pub use supplies::{MouldPreparation, ResinSystem, Supply};
pub use view::{DrawnAngle, DrawnView, Side};

pub use crate::geometry::Join;

use crate::cloth::{Cloth, Flaw};
use crate::diag::Place;
use crate::geometry::Bounds;
use crate::laminate::Lamina;
use crate::pattern::Settings;
use crate::units::{Angle, Length, PlyAngle};

/// A checked job. Only [`Job::read`] makes one.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    title: String,
    cloths: Vec<Cloth>,
    laminae: Vec<Option<Lamina>>,
    resin: Option<ResinSystem>,
    bagging: Option<Bagging>,
    mould: Option<MouldPreparation>,
    parts: Vec<Part>,
    outputs: Outputs,
    stock: Vec<StockEntry>,
}

impl Job {
    /// What the job is called; the file's stem if it does not say.
    #[must_use]
    pub fn title(&self) -> &str {
        &self.title
    }

    /// The cloths in the order of the file.
    #[must_use]
    pub fn cloths(&self) -> &[Cloth] {
        &self.cloths
    }

    /// What a ply of each cloth becomes when it cures, in the order of [`Job::cloths`]; `None` where
    /// the job does not say what the fibre is.
    #[must_use]
    pub fn laminae(&self) -> &[Option<Lamina>] {
        &self.laminae
    }

    /// The resin, if the job says which.
    #[must_use]
    pub const fn resin(&self) -> Option<&ResinSystem> {
        self.resin.as_ref()
    }

    /// The vacuum bag, if there is one.
    #[must_use]
    pub const fn bagging(&self) -> Option<&Bagging> {
        self.bagging.as_ref()
    }

    /// How the moulds are made ready, if the job says.
    #[must_use]
    pub const fn mould(&self) -> Option<&MouldPreparation> {
        self.mould.as_ref()
    }

    /// The parts in the order of the file.
    #[must_use]
    pub fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// Which files are wanted, and how.
    #[must_use]
    pub const fn outputs(&self) -> &Outputs {
        &self.outputs
    }

    /// What is on hand, cloth by cloth in the order of the file. [`crate::stock::fetch`] makes
    /// each cloth's stock of it.
    #[must_use]
    pub fn stock(&self) -> &[StockEntry] {
        &self.stock
    }

    /// The same job with these kinds of file wanted.
    #[must_use]
    pub fn with_files(mut self, files: Vec<FileKind>) -> Self {
        self.outputs.files = files;
        self
    }

    /// The cloths, for those who try the job in another way.
    pub(crate) fn cloths_mut(&mut self) -> &mut [Cloth] {
        &mut self.cloths
    }

    /// The plies of all parts, for those who try the job in another way.
    pub(crate) fn plies_mut(&mut self) -> impl Iterator<Item = &mut Ply> {
        self.parts.iter_mut().flat_map(|part| &mut part.plies)
    }

    /// Adds a cloth and what its plies become; returns its index.
    pub(crate) fn add_cloth(&mut self, cloth: Cloth, lamina: Option<Lamina>) -> usize {
        self.cloths.push(cloth);
        self.laminae.push(lamina);
        self.cloths.len() - 1
    }
}

/// A roll or remnant on hand, as the job file says.
#[derive(Clone, Debug, PartialEq)]
pub struct StockEntry {
    /// Index into [`Job::cloths`].
    pub cloth: usize,
    /// Its name, if the job gives it one.
    pub name: Option<String>,
    /// What it is.
    pub shape: StockShape,
    /// Strip along its edges that is not used, but for selvedges.
    pub margin: Length,
    /// Its flawed areas.
    pub flaws: Vec<Flaw>,
    /// Where it is written.
    pub place: Place,
}

/// The shape of what is on hand.
#[derive(Clone, Debug, PartialEq)]
pub enum StockShape {
    /// The rest of a roll, with both its selvedges.
    Roll {
        /// Along the warp.
        length: Length,
    },
    /// A rectangle without selvedges.
    Rectangle {
        /// Along the warp.
        length: Length,
        /// Across the warp.
        width: Length,
    },
    /// In a file: a drawing with the warp along x, a remnant file, or a folder of those.
    File {
        /// The path as written: relative to the job file.
        path: Located<String>,
        /// Which outline of a drawing.
        outline: OutlineChoice,
        /// How a drawing is to be read.
        reading: Box<Settings>,
    },
}

/// A value of the job file with its place, for problems that are found later.
#[derive(Clone, Debug, PartialEq)]
pub struct Located<T> {
    /// The value.
    pub value: T,
    /// Where it is written.
    pub place: Place,
}

/// What is being made.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Name, unique in the job; the first half of every piece's id.
    pub name: String,
    /// Pattern file, as written: relative to the job file.
    pub pattern: Located<String>,
    /// How the pattern file is to be read.
    pub reading: Settings,
    /// What of the part the drawing shows.
    pub view: DrawnView,
    /// The part's 0° direction.
    pub zero: ZeroDirection,
    /// How many of the part are made; 1 if the job does not say.
    pub sets: u32,
    /// Whether the job says so. If not, a quantity written in the drawing counts.
    pub sets_are_stated: bool,
    /// Boxes on the drawing (pattern frame) in which no splice may lie, beside the drawing's own
    /// keep-out areas.
    pub keep_out: Vec<Bounds>,
    /// Lines of the drawing (layers or ids) that mark edges with overlap, beside those on its
    /// layers of that role.
    pub overlap_edges: Option<Located<Vec<String>>>,
    /// Length and width of the tool it is laid in, if the job says.
    pub tool: Option<[Length; 2]>,
    /// Its plies, first against the mould.
    pub plies: Vec<Ply>,
}

/// Where a part's 0° direction comes from.
#[derive(Clone, Debug, PartialEq)]
pub enum ZeroDirection {
    /// An angle from +x of the drawing.
    Angle(Angle),
    /// The longest open line on this layer, or the line with this id, from its start to its end.
    Line(Located<String>),
    /// Not stated: the 0° line of the drawing if it shows one, else +x.
    Drawing,
}

/// Which outline of a pattern file a ply takes.
#[derive(Clone, Debug, PartialEq)]
pub enum OutlineChoice {
    /// The file's only outline.
    Only,
    /// The outline whose layer, id or inner label text this is.
    Named(Located<String>),
}

/// What becomes of an opening in the net outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum OpeningRule {
    /// Cut in the cloth, with the allowance inside the opening; one that the allowance closes up
    /// is left uncut, with a note.
    Cut,
    /// Left uncut: opened after cure.
    AfterCure,
    /// Cut if its smaller side is at least this long, else left uncut.
    CutFrom(Length),
}

/// One layer of a laminate schedule.
#[derive(Clone, Debug, PartialEq)]
pub struct Ply {
    /// Number in the part, from 1, first against the mould.
    pub n: u32,
    /// Index into [`Job::cloths`].
    pub cloth: usize,
    /// Designed angle of the warp (of the +45° layer of a biaxial) in the view of the drawing,
    /// −90 < angle ≤ 90. [`Part::angle_of`] tells the angle on the part.
    pub drawn_angle: DrawnAngle,
    /// Which outline it takes.
    pub outline: OutlineChoice,
    /// Trim allowance all round.
    pub trim: Length,
    /// Allowance beyond the trim along edges that are marked for overlap.
    pub overlap: Length,
    /// Corner style of the allowance.
    pub join: Join,
    /// Outline grown (positive) or shrunk by this before the allowance, for tapered edges.
    pub step: Length,
    /// What becomes of openings.
    pub openings: OpeningRule,
    /// Whether it will be seen: then only 0° and 180°, never turned over.
    pub appearance: bool,
    /// How far the layout may turn it off its angle, to either side; zero for not at all. An
    /// appearance ply has only what it states itself.
    pub angle_tolerance: Angle,
    /// Whether and how it may be divided where it is larger than its cloth.
    pub splice: SpliceRule,
    /// How far to move its outline, in x and y of the drawing, to where it lies on the part; `None`
    /// if the drawing shows it in place. Cutting does not depend on it.
    pub shift: Option<[Length; 2]>,
    /// Where the ply is written.
    pub place: Place,
}

impl Part {
    /// The designed angle of `ply` on the part, as seen from the bag side.
    #[must_use]
    pub fn angle_of(&self, ply: &Ply) -> PlyAngle {
        self.view.seen_from_bag(ply.drawn_angle)
    }
}
