//! Parts and their plies, and the keys that describe them.

use std::ops::Range;

use super::cloths::RollFace;
use super::core::{Core, CoreKeys};
use super::cutting::CuttingKeys;
use super::drawing::DrawingKeys;
use super::drawn::{DrawnMark, DrawnMarkKeys};
use super::keys::{
    Count, Counts, Flag, Lengths, Listed, Name, NameList, OfForm, OneOf, Refused, Section,
    SomeText, keys,
};
use super::mould::{AreaKeys, LayKeys, OnMould};
use super::rules::{AngleRule, LengthRule, MAX_PLIES, MAX_SETS};
use super::splice::KeepOutBoxKeys;
use super::table::JobTable;
use super::wording::{shown, suggestion};
use super::{CutRules, DrawnAngle, DrawnView, HandLines, Located, Side};
use crate::diag::Place;
use crate::geometry::{Bounds, Face};
use crate::pattern::Settings;
use crate::units::{Angle, Length, LengthUnit, PlyAngle};
use crate::words::words;

/// What is being made.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Part {
    /// Name, unique in the job; the first half of every piece's id.
    pub name: String,
    /// Pattern file, or that of its mould, as written: relative to the job file.
    pub pattern: Located<String>,
    /// What of its mould it is and how it is laid there; `None` for a part that is drawn flat.
    pub on_mould: Option<OnMould>,
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
    /// Marks beside those of the drawing.
    pub marks: Vec<DrawnMark>,
    /// Lines of the drawing (layers or ids) that mark edges with overlap, beside those on its
    /// layers of that role.
    pub overlap_edges: Option<Located<Vec<String>>>,
    /// Length and width of the tool it is laid in, if the job says.
    pub tool: Option<[Length; 2]>,
    /// Which side of it will be seen, if the job says.
    pub seen: Option<Side>,
    /// How the lines of plies that will be seen run on the other hand of a pair.
    pub lines: Option<HandLines>,
    /// The part beside which it will be seen, into which its lines run on.
    pub runs_on: Option<RunsOnFrom>,
    /// The bag that it shares with the other parts that name it.
    pub bag: Option<Located<String>>,
    /// How many moulds of it there are: so many sets can be laid up before one is demoulded.
    pub moulds: u32,
    /// How many plies each stage holds, from the mould up; empty where all are laid at once.
    pub plies_of_stages: Vec<u32>,
    /// Its plies, first against the mould.
    pub plies: Vec<Ply>,
    /// Its cores and inserts, in the order of the file.
    pub cores: Vec<Core>,
    /// The title of its job where several are planned together.
    pub of_job: Option<String>,
}

/// That lines of a part run on from those of another, which lies beside it.
#[derive(Clone, Debug, PartialEq)]
pub struct RunsOnFrom {
    /// Name of the other part, which stands before it in the job.
    pub part: Located<String>,
    /// How far to move its drawing, in x and y, to where it lies beside that of the other.
    pub shift: [Length; 2],
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

/// One layer of a laminate schedule.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Ply {
    /// Number in the part, from 1, first against the mould.
    pub n: u32,
    /// Index into [`Job::cloths`](super::Job::cloths).
    pub cloth: usize,
    /// Designed angle of the warp (of the +45° layer of a biaxial) in the view of the drawing,
    /// −90 < angle ≤ 90. [`Part::angle_of`] tells the angle on the part.
    pub drawn_angle: DrawnAngle,
    /// Which outline it takes.
    pub outline: OutlineChoice,
    /// How it is cut.
    pub cutting: CutRules,
    /// Outline grown (positive) or shrunk by this before the allowance, for tapered edges.
    pub step: Length,
    /// Whether it will be seen: then only 0° and 180°, never turned over.
    pub appearance: bool,
    /// How far to move its outline, in x and y of the drawing, to where it lies on the part; `None`
    /// if the drawing shows it in place. Cutting does not depend on it.
    pub shift: Option<[Length; 2]>,
    /// Which face of its cloth is up when it is laid and cut; `None` where its turns decide.
    pub face: Option<Face>,
    /// Where the ply is written.
    pub place: Place,
}

impl Part {
    /// The plies of each stage, by their index, from the mould up: what is laid wet in wet, bagged and
    /// cured before the next begins.
    #[must_use]
    pub fn stages(&self) -> Vec<Range<usize>> {
        let n = self.plies.len();
        let mut from = 0;
        let stages = self.plies_of_stages.iter().map(|plies| {
            let stage = from..from + *plies as usize;
            from = stage.end;
            stage
        });
        let stages: Vec<Range<usize>> = stages.collect();
        // A laminate that was tried in the place of the job's own has stages no more.
        if from == n {
            stages
        } else {
            std::iter::once(0..n).collect()
        }
    }

    /// The designed angle of `ply` on the part, as seen from the bag side.
    #[must_use]
    pub fn angle_of(&self, ply: &Ply) -> PlyAngle {
        self.view.seen_from_bag(ply.drawn_angle)
    }
}

pub(super) const STEP: LengthRule = LengthRule::any("step").likely(-500.0..=500.0).most(5_000.0);
const TAPER: LengthRule = LengthRule::any("taper")
    .likely(-100.0..=100.0)
    .most(5_000.0);

/// Furthest shift and largest tool, mm.
const FARTHEST: f64 = 100_000.0;
pub(super) const SHIFT: Lengths = Lengths {
    most: FARTHEST,
    is_good: |_| true,
};
pub(super) const TOOL: Lengths = Lengths {
    most: FARTHEST,
    is_good: |length| length > Length::ZERO,
};

words! {
    /// Which face of the roll is up as the plies of a part are laid.
    pub(super) enum PartFace {
        /// Of all plies the upper one.
        Up = "up",
        /// Of all plies the lower one.
        Down = "down",
        /// The lower one below the middle of the stack, the upper one above it.
        Mirrored = "mirrored",
    }
}

const UNIT_WORDS: &[&str] = &["mm", "cm", "m", "in", "ft", "yd", "mil", "um"];

/// The unit of a drawing.
pub(super) const UNITS: OfForm<LengthUnit> = OfForm {
    form: LengthUnit::FORM,
    words: UNIT_WORDS,
    read: |text| {
        LengthUnit::from_symbol(text.trim()).ok_or_else(|| {
            let message = format!("{} is not a unit of length", shown(text));
            Refused::Other(message, suggestion(text, UNIT_WORDS, "known are"))
        })
    },
};

keys! {
    /// What `[[part]]` says.
    PartKeys: "a part", "[[part]]", "One for each thing you make: `cloth` and `layup`, or a table `[[part.ply]]` for each ply. Cutting keys hold for its plies.", and CuttingKeys;
    name: String = Name, Required, "RUD", "first half of the id of each piece";
    pattern: String = SomeText, Means("`mould`"), "rudder.svg", "the drawing, relative to the job file";
    mould: String = SomeText, Means("`pattern`"), "cowl.stl", "a mould as a file of triangles (STL, OBJ, PLY), in place of a drawing: the plies are laid on it, and their flat outlines computed";
    area: JobTable<'t> = Section(AreaKeys::keys), Means("all of the mould"), "{ above = { z = \"12 mm\" } }", "what of its mould the part is";
    lay: JobTable<'t> = Section(LayKeys::keys), Means("from the middle, evenly"), "{ smooth = \"straight\" }", "how the plies are laid on the mould";
    units: LengthUnit = UNITS, Means("as in the file"), "in", "unit of a drawing that does not state one; required for a mould";
    drawing: JobTable<'t> = Section(DrawingKeys::keys), Means("as in the job's `[drawing]`"), "{ hatches = true }", "how this drawing is read";
    seen_from: Side = OneOf, Is("bag"), "tool", "which side of the part the drawing shows: `bag` is looking down on the mould";
    zero_direction: Angle = AngleRule::Direction, Means("the drawing's 0° line, else +x"), "45 deg", "the part's 0°, as an angle from +x";
    zero_line: String = SomeText, Means("the drawing's 0° line, else +x"), "ZERO", "the part's 0°, as the layer or id of a line";
    sets: u32 = Count { most: MAX_SETS }, Means("as the drawing says (`QTY 2`), else 1"), "2", "how many to make";
    mirror: String = Name, Means("no pair"), "STBD", "name of the other hand of a left and right pair, made as often: mirrored outlines and angles";
    cloth: String = SomeText, Means("each ply names its own"), "twill", "the cloth of plies that do not name one";
    outline: String = SomeText, Means("the only one, or the one that says `PLY n`"), "skin", "layer, id or inner label of the outline, for plies that do not say";
    step: Length = STEP, Is("0 mm"), "-5 mm", "how much larger (smaller, if negative) the outline of the first ply is made";
    taper: Length = TAPER, Is("0 mm"), "-12.5 mm", "how much larger (smaller, if negative) each following ply is: drop-offs, stepped patches";
    overlap_edges: Vec<String> = NameList, Means("the drawing's `overlap` layer"), "\"flange\"", "layer or id of open lines that mark edges with `overlap`, one or a list";
    keep_out_box: Vec<JobTable<'t>> = Listed(KeepOutBoxKeys::keys), Means("none"), "[{ x = \"100 mm\", y = \"50 mm\", width = \"80 mm\", height = \"80 mm\" }]", "boxes on the drawing in which no splice may lie";
    mark: Vec<JobTable<'t>> = Listed(DrawnMarkKeys::keys), Means("those of the drawing"), "[{ is = \"notch\", points = [[\"120 mm\", \"0 mm\"]] }]", "edges with overlap, notches, darts and drill marks that the drawing itself has not";
    layup: String = SomeText, Means("`[[part.ply]]`"), "[0/45/-45/90]s", "all plies in laminate code, first against the mould";
    ply: Vec<JobTable<'t>> = Listed(PlyKeys::keys), Means("`layup`"), "[{ cloth = \"twill\", angle = 45 }]", "the plies, first against the mould";
    core: Vec<JobTable<'t>> = Listed(CoreKeys::keys), Means("none"), "[{ name = \"foam\", on_ply = 2, thickness = \"10 mm\", density = \"80 kg/m3\" }]", "cores and inserts between the plies";
    tool: [Length; 2] = TOOL, Means("by the part"), "[\"1100 mm\", \"500 mm\"]", "length and width of its mould, for tape and bag";
    seen: Side = OneOf, Means("not said"), "tool", "which side of the finished part will be seen: `tool` of a female mould, `bag` of a male one; with `good_face` of a cloth";
    lines: HandLines = OneOf, Means("as the cloth lies"), "mirrored", "with `mirror`, of plies with `appearance`: whether lines of the other hand are the mirror image, or run alike";
    runs_on_from: String = Name, Means("not matched"), "HOOD", "a part before it in the job, beside which it will be seen: lines of plies with `appearance` run on from one into the other, as their drawings lie to each other; with `repeat` of the cloth";
    runs_on_shift: [Length; 2] = SHIFT, Means("both are drawn in place"), "[\"0 mm\", \"430 mm\"]", "with `runs_on_from`: how far (x, y) from where this part is drawn to where it lies beside the other's drawing";
    bag: String = Name, Means("a bag of its own"), "covers", "a name: the parts that give the same lie in one bag, one set of each, under one film and breather; of parts laid in stages each stage of all of them, so they have equally many";
    moulds: u32 = Count { most: MAX_SETS }, Is("1"), "2", "how many moulds of it there are; sets beyond wait for one";
    face: PartFace = OneOf, Means("by the turns of the cloth"), "mirrored", "of satins: which face of the roll is up as plies are laid; `mirrored` lays the lower half face down, so that the stack can mirror itself";
    stages: Vec<u32> = Counts { most: MAX_PLIES }, Means("all plies under one bag"), "[2, 2]", "how many plies are laid at a time, from the mould up: each stage is bagged and cured under peel ply, which is torn off before the next";
}

keys! {
    /// What `[[part.ply]]` says.
    PlyKeys: "a ply", "[[part.ply]]", "One for each ply, first against the mould. Cutting keys hold for this ply.", and CuttingKeys;
    cloth: String = SomeText, Means("the part's"), "twill", "name of a cloth";
    angle: Angle = AngleRule::Ply, Means("required, but for a cloth without direction"), "45 deg", "of the warp against 0°, counter-clockwise, above -90° up to 90°; of a stitched biaxial that of its +45° layer";
    outline: String = SomeText, Means("the part's"), "skin", "layer, id or inner label of the outline";
    layers: u32 = Count { most: MAX_PLIES }, Is("1"), "2", "that many plies alike";
    number: u32 = Count { most: MAX_PLIES }, Means("counts on"), "3", "ply number";
    step: Length = STEP, Means("as the part's `step` and `taper` say"), "-5 mm", "how much larger (smaller, if negative) the outline is made; stands in place of the part's `step` and `taper`";
    taper: Length = TAPER, Means("all layers alike"), "-12.5 mm", "with `layers`: how much larger each layer is than the one before";
    appearance: bool = Flag, Is("false"), "true", "will be seen: never turned but end for end, never face down";
    face: RollFace = OneOf, Means("the part's"), "down", "of a satin: which face of the roll is up as it is laid";
    shift: [Length; 2] = SHIFT, Means("drawn in place"), "[\"-250 mm\", \"60 mm\"]", "how far (x, y) from where it is drawn to where it lies on the part; for the thickness map and the bag, not for cutting";
}
