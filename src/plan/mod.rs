//! The checked result that every output reads.
//!
//! # Example
//!
//! ```
//! # use warpwise::{inputs::{InputFile, Inputs}, job::Job, nest, ply};
//! # let drawing = br#"<svg xmlns="http://www.w3.org/2000/svg" width="600mm" height="400mm"
//! #     viewBox="0 0 600 400"><path id="lid" d="M10 10H510V310H10Z"/></svg>"#;
//! # let text = "[cloth.glass]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n\
//! #     price = \"10 EUR/m\"\nsold_by = \"0.5 m\"\n\
//! #     [[part]]\nname = \"LID\"\npattern = \"lid.svg\"\ncloth = \"glass\"\nlayup = \"[0/90]s\"\n";
//! # let (job, _) = Job::read("lid.toml", text).unwrap();
//! # let open = &mut |name: &str| Ok(vec![InputFile::new(name, drawing.to_vec())]);
//! # let (inputs, _) = Inputs::read(job, open).unwrap();
//! # let (pieces, _) = ply::pieces(&inputs).unwrap();
//! use warpwise::plan::{Settings, build};
//!
//! // `pieces` as in the crate's example: four plies of 500 × 300 mm, cloth 1 m wide.
//! let settings = Settings { effort: nest::Effort::Quick, ..Settings::default() };
//! let plan = build(&pieces, &settings, &|_| nest::Continue::Yes).unwrap();
//!
//! let glass = &plan.cloths()[0];
//! assert_eq!(glass.n_pieces, 4);
//! // Sold by the half metre.
//! assert!(glass.purchase.used.to_metres() < 0.95);
//! assert_eq!(glass.purchase.length.to_metres(), 1.0);
//! ```

mod build;
pub mod compare;
mod cutting;
mod layout;
mod money;
mod process;
#[cfg(test)]
pub(crate) mod tests;

pub use build::{Observer, Settings, Step, build};
pub use cutting::{Cut, CutFrame, CutOrder, Travel, Visit, ordered, tour, way_length};
pub use money::{Amount, CostBreakdown, Costs, ItemKind, ShoppingItem, cost_per_set};
pub(crate) use process::wanted_ids;
pub use process::{
    BagUse, Bagged, JoinedLayer, LaidPiece, LaidPly, Laminate, MouldUse, PartBag, PartResin,
    ResinStep, ResinUse, RollUse, StackAsCut, ThicknessMap, ThicknessRegion, TimedBatch, Timeline,
    Work,
};

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::cloth::{BiaxialLayers, Cloth, Flaw, PriceBreak, Purchase, Stock, Weave};
use crate::diag::{Diagnostic, Diagnostics};
use crate::geometry::{Bounds, Circle, Outline, Point, Vector};
use crate::job::{DrawnAngle, DrawnView, Job, JointKind, Outputs};
use crate::laminate::Lamina;
use crate::ply::{Bias, Joint, Mark, Pieces};
use crate::units::{Angle, Area, ArealWeight, Length, Mass, Money, PlyAngle, PricePerLength};

/// A whole plan: all layouts plus what follows from them.
///
/// Everything in it is in the order in which it is written out.
#[derive(Clone, Debug)]
pub struct Plan {
    pieces: Pieces,
    seed: u64,
    effort: String,
    cloths: Vec<ClothUse>,
    layouts: Vec<Layout>,
    parts: Vec<PartUse>,
    stock_left: Vec<StockLeft>,
    cost_per_set: Vec<SetCost>,
    work: Work,
    remarks: Diagnostics,
}

impl Plan {
    /// The job, with its stock.
    #[must_use]
    pub fn job(&self) -> &Job {
        self.pieces.job()
    }

    /// The pieces to cut.
    #[must_use]
    pub fn pieces(&self) -> &Pieces {
        &self.pieces
    }

    /// Title of the job.
    #[must_use]
    pub fn title(&self) -> &str {
        self.job().title()
    }

    /// Seed of the search.
    #[must_use]
    pub fn seed(&self) -> u64 {
        self.seed
    }

    /// Effort as the user named it, for example `normal` or `60s`.
    #[must_use]
    pub fn effort(&self) -> &str {
        &self.effort
    }

    /// One entry per cloth of the job that has pieces, in the order of the job file.
    #[must_use]
    pub fn cloths(&self) -> &[ClothUse] {
        &self.cloths
    }

    /// One entry per roll that is cut, cloth by cloth.
    #[must_use]
    pub fn layouts(&self) -> &[Layout] {
        &self.layouts
    }

    /// One entry per part, in the order of the job file.
    #[must_use]
    pub fn parts(&self) -> &[PartUse] {
        &self.parts
    }

    /// Which files are wanted, and how.
    #[must_use]
    pub fn outputs(&self) -> &Outputs {
        self.job().outputs()
    }

    /// What is on the shelf afterwards, cloth by cloth: stock that was not touched, then what is
    /// left of the rolls that are cut and worth keeping.
    #[must_use]
    pub fn stock_left(&self) -> &[StockLeft] {
        &self.stock_left
    }

    /// What a set costs by how many are made; empty unless asked for.
    #[must_use]
    pub fn cost_per_set(&self) -> &[SetCost] {
        &self.cost_per_set
    }

    /// What the work takes beside cloth.
    #[must_use]
    pub fn work(&self) -> &Work {
        &self.work
    }

    /// Warnings and notes that came up on the way.
    #[must_use]
    pub fn remarks(&self) -> &Diagnostics {
        &self.remarks
    }
}

/// The pieces of every ply by part, ply number and set.
#[derive(Clone, Debug)]
pub struct PieceIndex<'a>(BTreeMap<&'a str, BTreeMap<(u32, u32), Vec<&'a PlacedPiece>>>);

impl Plan {
    /// Takes on what a set costs by how many are made.
    pub fn set_cost_per_set(&mut self, costs: Vec<SetCost>) {
        self.cost_per_set = costs;
    }

    /// Adds what was said before there was a plan, in front of what there is.
    pub fn put_remarks_first(&mut self, mut remarks: Diagnostics) {
        remarks.append(std::mem::take(&mut self.remarks));
        self.remarks = remarks;
    }

    /// Adds a remark.
    pub fn remark(&mut self, remark: Diagnostic) {
        self.remarks.push(remark);
    }

    /// What is left of the roll of `layout` and worth keeping.
    pub fn left_of<'a>(&'a self, layout: &'a Layout) -> impl Iterator<Item = &'a StockLeft> {
        let is_of = |left: &&StockLeft| {
            left.cloth == layout.cloth.name && left.from.as_ref() == Some(&layout.roll)
        };
        self.stock_left.iter().filter(is_of)
    }

    /// The pieces of every ply.
    #[must_use]
    pub fn piece_index(&self) -> PieceIndex<'_> {
        let mut index: BTreeMap<&str, BTreeMap<(u32, u32), Vec<&PlacedPiece>>> = BTreeMap::new();
        for piece in self.layouts.iter().flat_map(|layout| &layout.pieces) {
            let of_part = index.entry(piece.part.as_str()).or_default();
            let of_ply = of_part.entry((piece.ply, piece.set)).or_default();
            of_ply.push(piece);
        }
        for pieces in index.values_mut().flat_map(BTreeMap::values_mut) {
            pieces.sort_by(|a, b| a.id.cmp(&b.id));
        }
        PieceIndex(index)
    }
}

impl<'a> PieceIndex<'a> {
    /// The pieces that make up one ply of one set, by their ids.
    #[must_use]
    pub fn of(&self, part: &str, ply: u32, set: u32) -> &[&'a PlacedPiece] {
        let of_part = self.0.get(part);
        of_part
            .and_then(|plies| plies.get(&(ply, set)))
            .map_or(&[], Vec::as_slice)
    }
}

/// What the plan uses of one cloth.
#[derive(Clone, Debug)]
pub struct ClothUse {
    /// The cloth.
    pub cloth: Cloth,
    /// Number of pieces cut from it.
    pub n_pieces: usize,
    /// Used and bought length and the cost.
    pub purchase: Purchase,
    /// Σ cut area.
    pub cut_area: Area,
    /// Σ net area.
    pub net_area: Area,
    /// Σ cut area / (roll width × used length), 0 … 1.
    pub utilisation: f64,
    /// Area of the stock on hand that is cut.
    pub stock_area: Area,
    /// Area of what is left of all rolls and goes on the shelf.
    pub kept_area: Area,
    /// Where the cloth goes that is in no net piece and is not kept.
    pub waste: Waste,
    /// Every roll the cloth is offered on, where there are several.
    pub alternatives: Vec<Alternative>,
}

/// A roll that a cloth is offered on, with what the job would need of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Alternative {
    /// Width from selvedge to selvedge.
    pub roll_width: Length,
    /// Price by running length, if known.
    pub price: Option<PricePerLength>,
    /// Lower prices for longer lengths.
    pub price_breaks: Vec<PriceBreak>,
    /// It is sold in multiples of this length (zero: any length).
    pub sold_by: Length,
    /// What to buy of it, from a short search; `None` if a piece does not fit.
    pub purchase: Option<Purchase>,
    /// Whether it is the one that the plan takes.
    pub is_chosen: bool,
}

/// What to buy, and the cost, for some number of sets.
#[derive(Clone, Debug, PartialEq)]
pub struct SetCost {
    /// How many sets.
    pub sets: u32,
    /// Whether that is how many the job makes.
    pub is_this_job: bool,
    /// Length to buy of each cloth, by its name.
    pub bought: Vec<(String, Length)>,
    /// Area to buy of all cloths.
    pub area: Area,
    /// Cost of all sets, if all prices are known and in one currency.
    pub cost: Option<Money>,
}

/// Stock on the shelf after the job.
#[derive(Clone, Debug, PartialEq)]
pub struct StockLeft {
    /// Name of the cloth.
    pub cloth: String,
    /// Name of the roll it was cut from; `None` if it was not touched.
    pub from: Option<String>,
    /// From its own frame to that of the roll it comes from, mm.
    pub shift: Vector,
    /// The stock, in its own roll frame. Its name names its file.
    pub stock: Stock,
    /// The largest usable rectangle in it, in its own roll frame.
    pub rectangle: Bounds,
}

/// Cloth bought or taken from stock that ends up in no part and not on the shelf.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Waste {
    /// The strips along both selvedges, over the used length.
    pub selvedge: Area,
    /// Usable width × used length not inside any cut line.
    pub between: Area,
    /// Inside the cut lines, outside the net lines.
    pub trim: Area,
    /// Beyond the used length, where it is too small to keep.
    pub end: Area,
}

impl Waste {
    /// All of it.
    #[must_use]
    pub fn total(&self) -> Area {
        self.selvedge + self.between + self.trim + self.end
    }
}

impl std::ops::Add for Waste {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self {
            selvedge: self.selvedge + other.selvedge,
            between: self.between + other.between,
            trim: self.trim + other.trim,
            end: self.end + other.end,
        }
    }
}

impl ClothUse {
    /// Area bought: roll width × length bought.
    #[must_use]
    pub fn bought_area(&self) -> Area {
        self.cloth.roll_width * self.purchase.length
    }

    /// All cloth that the job takes: what is bought, and the stock that is cut.
    #[must_use]
    pub fn cloth_in(&self) -> Area {
        self.bought_area() + self.stock_area
    }

    /// Mass of `area` of this cloth, dry.
    #[must_use]
    pub fn mass_of(&self, area: Area) -> Mass {
        self.cloth.areal_weight * area
    }

    /// The share of `area` in what the job pays for this cloth, if the price is known; stock on
    /// hand costs nothing.
    #[must_use]
    pub fn cost_of(&self, area: Area) -> Option<Money> {
        let all = self.cloth_in().to_mm2();
        self.purchase
            .cost
            .filter(|_| all > 0.0)
            .map(|cost| cost.share(area.to_mm2() / all))
    }
}

/// The pieces cut from one roll.
#[derive(Clone, Debug)]
pub struct Layout {
    cloth: Arc<Cloth>,
    roll: String,
    stock: Option<String>,
    whole: Outline,
    flaws: Vec<Flaw>,
    frames: Vec<[f64; 2]>,
    roll_width: Length,
    usable_y: (f64, f64),
    end_margin: Length,
    gap: Length,
    used_length: Length,
    utilisation: f64,
    pieces: Vec<PlacedPiece>,
    order: CutOrder,
}

impl Layout {
    /// The cloth, as it is bought.
    #[must_use]
    pub fn cloth(&self) -> &Cloth {
        &self.cloth
    }

    /// Name of the roll, for example `twill-1`; names the cut files.
    #[must_use]
    pub fn roll(&self) -> &str {
        &self.roll
    }

    /// Name of the stock on hand that it is; `None` for the roll that is bought.
    #[must_use]
    pub fn stock(&self) -> Option<&str> {
        self.stock.as_deref()
    }

    /// The whole of what is cut: the stock's outline, or the length that is bought; roll frame.
    #[must_use]
    pub fn whole(&self) -> &Outline {
        &self.whole
    }

    /// Flawed areas, roll frame.
    #[must_use]
    pub fn flaws(&self) -> &[Flaw] {
        &self.flaws
    }

    /// Where the frames on the cutting table begin and end along the warp, mm, in the order in
    /// which they are cut; none if the job gives no table.
    #[must_use]
    pub fn frames(&self) -> &[[f64; 2]] {
        &self.frames
    }

    /// Width of the roll.
    #[must_use]
    pub fn roll_width(&self) -> Length {
        self.roll_width
    }

    /// Lowest and highest usable y in the roll frame, mm.
    #[must_use]
    pub fn usable_y(&self) -> (f64, f64) {
        self.usable_y
    }

    /// Unused strip at each end of the used length.
    #[must_use]
    pub fn end_margin(&self) -> Length {
        self.end_margin
    }

    /// Least distance between two cut lines.
    #[must_use]
    pub fn gap(&self) -> Length {
        self.gap
    }

    /// Length of roll used, from x = 0, end margins included.
    #[must_use]
    pub fn used_length(&self) -> Length {
        self.used_length
    }

    /// Σ cut area / (roll width × used length), 0 … 1.
    #[must_use]
    pub fn utilisation(&self) -> f64 {
        self.utilisation
    }

    /// The pieces, by their number in the sequence.
    #[must_use]
    pub fn pieces(&self) -> &[PlacedPiece] {
        &self.pieces
    }

    /// In which order they are labelled and cut.
    #[must_use]
    pub fn order(&self) -> &CutOrder {
        &self.order
    }
}

impl Layout {
    /// Length of the drawing: what is used of a bought roll, all of a remnant.
    #[must_use]
    pub fn drawn_length(&self) -> Length {
        match self.stock {
            Some(_) => Length::mm(self.whole.bounds().max.x),
            None => self.used_length,
        }
    }

    /// The number, from 1, of the frame on the table that `piece` lies in.
    #[must_use]
    pub fn frame_of(&self, piece: &PlacedPiece) -> Option<usize> {
        let middle = piece.cut.bounds().centre().x;
        let frame = self.frames.iter().position(|f| middle <= f[1])?;
        Some(frame + 1)
    }
}

/// A piece in its place on the roll. All geometry is in the roll frame: x along the warp.
#[derive(Clone, Debug)]
pub struct PlacedPiece {
    id: String,
    part: String,
    ply: u32,
    set: u32,
    sequence: usize,
    angle_design: PlyAngle,
    angle_cut: PlyAngle,
    layers: Option<BiaxialLayers>,
    turn: Angle,
    turned_over: bool,
    on_bias: bool,
    bias: Option<Bias>,
    appearance: bool,
    cut: Outline,
    net: Outline,
    marks: Vec<Mark>,
    circles: Vec<Circle>,
    splice: Option<PlacedSplice>,
    zero_direction: Angle,
    warp_direction: Angle,
    label: Label,
}

impl PlacedPiece {
    /// `PART-PLY[-SPLICE][#SET]`.
    #[must_use]
    pub fn id(&self) -> &str {
        &self.id
    }

    /// Name of the part.
    #[must_use]
    pub fn part(&self) -> &str {
        &self.part
    }

    /// Ply number in the part, from 1.
    #[must_use]
    pub fn ply(&self) -> u32 {
        self.ply
    }

    /// Set number, from 1.
    #[must_use]
    pub fn set(&self) -> u32 {
        self.set
    }

    /// Number in the cutting sequence of the layout, from 1: the order in which pieces come free,
    /// frame by frame on the table.
    #[must_use]
    pub fn sequence(&self) -> usize {
        self.sequence
    }

    /// Designed angle of the ply.
    #[must_use]
    pub fn angle_design(&self) -> PlyAngle {
        self.angle_design
    }

    /// Whether it is cut so far off its designed angle that it is worth saying.
    #[must_use]
    pub fn is_off_design(&self) -> bool {
        self.angle_cut.off(self.angle_design).to_degrees().abs() > 0.005
    }

    /// Angle as cut: designed angle plus what the layout used of the tolerance.
    #[must_use]
    pub fn angle_cut(&self) -> PlyAngle {
        self.angle_cut
    }

    /// How the two layers of a stitched biaxial run on the part, as cut; `None` of other cloths.
    #[must_use]
    pub fn layers(&self) -> Option<BiaxialLayers> {
        self.layers
    }

    /// Whole rotation from the pattern frame (seen from the bag side) to the roll frame, 0 … 360.
    #[must_use]
    pub fn turn(&self) -> Angle {
        self.turn
    }

    /// Whether the cloth faces down when it is cut.
    #[must_use]
    pub fn turned_over(&self) -> bool {
        self.turned_over
    }

    /// Whether the warp runs neither along nor across the piece's long direction.
    #[must_use]
    pub fn on_bias(&self) -> bool {
        self.on_bias
    }

    /// How it lies on the bias, if it does.
    #[must_use]
    pub fn bias(&self) -> Option<Bias> {
        self.bias
    }

    /// Whether the ply will be seen on the finished part.
    #[must_use]
    pub fn appearance(&self) -> bool {
        self.appearance
    }

    /// Where the cloth is cut.
    #[must_use]
    pub fn cut(&self) -> &Outline {
        &self.cut
    }

    /// Where the finished part ends.
    #[must_use]
    pub fn net(&self) -> &Outline {
        &self.net
    }

    /// Notches and drill marks.
    #[must_use]
    pub fn marks(&self) -> &[Mark] {
        &self.marks
    }

    /// Circles that arcs of both lines lie on; empty where the job wants chords.
    #[must_use]
    pub fn circles(&self) -> &[Circle] {
        &self.circles
    }

    /// What is particular to it as a piece of a divided ply.
    #[must_use]
    pub fn splice(&self) -> Option<&PlacedSplice> {
        self.splice.as_ref()
    }

    /// Direction of the part's 0° in the roll frame.
    #[must_use]
    pub fn zero_direction(&self) -> Angle {
        self.zero_direction
    }

    /// Designed direction of the warp on the piece, in the frame that `turn` turns it from.
    #[must_use]
    pub fn warp_direction(&self) -> Angle {
        self.warp_direction
    }

    /// Where the label goes.
    #[must_use]
    pub fn label(&self) -> Label {
        self.label
    }
}

impl PlacedPiece {
    /// Where it meets its neighbours, if it is spliced.
    #[must_use]
    pub fn joints(&self) -> &[PlacedJoint] {
        self.splice.as_ref().map_or(&[], |splice| &splice.joints)
    }
}

/// A piece among the pieces of a divided ply.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedSplice {
    /// `A`, `B`, … in the order in which they are laid.
    pub letter: char,
    /// How many pieces the ply has.
    pub of: usize,
    /// Where it meets its neighbours.
    pub joints: Vec<PlacedJoint>,
}

/// A joint in its place on the roll.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedJoint {
    /// Id of the neighbour.
    pub mate: String,
    /// How and where they meet, in the roll frame.
    pub joint: Joint,
}

/// A box for the piece's label that lies inside the cut line.
///
/// It holds two lines of text and the warp arrow: the id; then sequence number, angle and marks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Label {
    /// Middle of the box.
    pub centre: Point,
    /// Extent along the text, mm.
    pub width: f64,
    /// Extent across the text, mm.
    pub height: f64,
    /// 0° for text along x, 90° for text that reads upwards along y.
    pub angle: Angle,
}

/// What the plan says of one part.
#[derive(Clone, Debug)]
pub struct PartUse {
    /// Name.
    pub name: String,
    /// What of it the drawing shows. All angles of the plan are as seen from the bag side.
    pub view: DrawnView,
    /// How many are made.
    pub sets: u32,
    /// How many moulds there are for it.
    pub moulds: u32,
    /// Its plies, first against the mould.
    pub plies: Vec<PlyUse>,
    /// What they make as cut; where not all sets are cut alike, that of some of them, one that is not
    /// symmetric if there is one.
    pub stack: StackAsCut,
    /// What they make in the other sets, where not all are cut alike.
    pub other_stacks: Vec<StackAsCut>,
}

/// What the plan says of one ply.
#[derive(Clone, Debug)]
pub struct PlyUse {
    /// Number in the part, from 1.
    pub n: u32,
    /// Name of the cloth.
    pub cloth: String,
    /// How that is made.
    pub weave: Weave,
    /// Designed angle.
    pub angle: PlyAngle,
    /// The same in the view of the drawing, as the job has it.
    pub drawn_angle: DrawnAngle,
    /// How much its net line was grown (positive) or shrunk against the pattern's outline.
    pub step: Length,
    /// Net area of one ply, laps counted once.
    pub net_area: Area,
    /// Cut area of one ply, all its pieces.
    pub cut_area: Area,
    /// Net area that lies twice, in the laps of one ply.
    pub lap_area: Area,
    /// Letters of its pieces; empty where the ply is one piece.
    pub pieces: Vec<char>,
    /// How its pieces are joined; none where the ply is one piece.
    pub joint: Option<(JointKind, Length)>,
    /// Areal weight of its cloth in g/m².
    pub areal_weight: ArealWeight,
    /// Dry cloth mass inside the net line of one ply, laps counted twice.
    pub cloth_mass: Mass,
    /// What it becomes when it cures, if its fibre is known.
    pub lamina: Option<Lamina>,
    /// Whether it will be seen.
    pub appearance: bool,
    /// Whether it lies on the bias.
    pub on_bias: bool,
}

impl PlyUse {
    /// Resin that stays in it inside the net line, if its fibre is known.
    #[must_use]
    pub fn resin_mass(&self) -> Option<Mass> {
        let lamina = self.lamina.as_ref()?;
        Some(lamina.resin_for(self.cloth_mass))
    }

    /// Resin that `area` of it holds, if its fibre is known.
    #[must_use]
    pub fn resin_in(&self, area: Area) -> Option<Mass> {
        let lamina = self.lamina.as_ref()?;
        Some(lamina.resin_for(self.areal_weight * area))
    }
}

impl PartUse {
    /// Dry cloth in one set, inside the net lines.
    #[must_use]
    pub fn cloth_mass(&self) -> Mass {
        self.plies
            .iter()
            .fold(Mass::ZERO, |sum, ply| sum + ply.cloth_mass)
    }

    /// Resin that stays in one set, inside the net lines; `None` unless it is known of every ply.
    #[must_use]
    pub fn resin_mass(&self) -> Option<Mass> {
        self.plies
            .iter()
            .try_fold(Mass::ZERO, |sum, ply| Some(sum + ply.resin_mass()?))
    }
}
