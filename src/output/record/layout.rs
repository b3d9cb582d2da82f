//! A roll with its pieces, in the roll frame: x along the warp, y across.

use super::{OutlineRecord, degrees, mm};
use crate::cloth::Flaw;
use crate::json::{point, points, record};
use crate::number::{COORDINATE, rounded};
use crate::plan::{
    Cut, CutFrame, CutOrder, Label, Layout, PlacedJoint, PlacedPiece, PlacedSplice, Plan, RunsOn,
    StockLeft, Travel,
};
use crate::ply::{Bias, Mark};

record! {
    /// A roll or remnant and what is cut from it.
    pub struct LayoutRecord of (plan: &Plan, layout: &Layout) {
        /// Name of the cloth.
        cloth: String = layout.cloth().name.clone(),
        /// Name of the roll; the cut files are named after it.
        roll: String = layout.roll().to_owned(),
        /// Name of the stock on hand that it is; none of a roll that is bought.
        #[serde(skip_serializing_if = "Option::is_none")]
        stock: Option<String> = layout.stock().map(|stock| stock.name.clone()),
        /// The whole of that stock.
        #[serde(skip_serializing_if = "Option::is_none")]
        whole: Option<OutlineRecord> = layout.stock().map(|_| OutlineRecord::of(layout.whole())),
        /// Which of the rolls on offer it is, from 1 in the order of `alternatives`; none where
        /// there is but one.
        #[serde(skip_serializing_if = "Option::is_none")]
        offer: Option<usize> = layout.offer().map(|idx| idx + 1),
        /// Width from selvedge to selvedge.
        roll_width: f64 = mm(layout.roll_width()),
        /// Lowest and highest usable y.
        usable_y: [f64; 2] = <[f64; 2]>::from(layout.usable_y()).map(|y| rounded(y, COORDINATE)),
        /// Strip at the ends that is not used.
        end_margin: f64 = mm(layout.end_margin()),
        /// Least distance between two cut lines.
        gap: f64 = mm(layout.gap()),
        /// Used length, end margins included.
        used_length: f64 = mm(layout.used_length()),
        /// Σ cut area / (roll width × used length), 0 … 1.
        utilisation: f64 = rounded(layout.utilisation(), 6),
        /// Areas that cannot be used.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        flaws: Vec<FlawRecord> = layout.flaws().iter().map(FlawRecord::of).collect(),
        /// Where the frames on the cutting table begin and end; none without a table.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        frames: Vec<[f64; 2]> =
            layout.frames().iter().map(|ends| ends.map(|x| rounded(x, COORDINATE))).collect(),
        /// What is left of the roll and worth keeping.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        kept: Vec<KeptRecord> = plan.left_of(layout).map(KeptRecord::of).collect(),
        /// The pieces, by their number in the sequence.
        pieces: Vec<PieceRecord> =
            layout.pieces().iter().map(|piece| PieceRecord::of(layout, piece)).collect(),
        /// In which order they are labelled and cut.
        cut_order: CutOrderRecord = CutOrderRecord::of(layout, layout.order()),
    }

    /// A flawed area of a roll.
    pub struct FlawRecord of (flaw: &Flaw) {
        /// How far pieces keep off it.
        margin: f64 = mm(flaw.margin),
        /// Its edge.
        area: OutlineRecord = OutlineRecord::of(&flaw.area),
    }

    /// What is left of a roll.
    pub struct KeptRecord of (left: &StockLeft) {
        /// Its name, as in `stock_left`.
        name: String = left.stock.name.clone(),
        /// Its edge, in the frame of the roll.
        outline: OutlineRecord = OutlineRecord::of(&left.outline_on_roll()),
    }

    /// A piece in its place.
    pub struct PieceRecord of (layout: &Layout, piece: &PlacedPiece) {
        /// `PART-PLY[-SPLICE][#SET]`; of a bag layer `PART-LAYER[#SET]`.
        id: String = piece.id().to_owned(),
        /// Name of the part.
        part: String = piece.part().to_owned(),
        /// Title of its job, where several are planned together.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        job: Option<String> = piece.piece().and_then(|piece| piece.part().of_job.clone()),
        /// Number of the ply, from 1; 0 of a bag layer.
        ply: u32 = piece.ply(),
        /// Number of the set, from 1.
        set: u32 = piece.set(),
        /// Number in the order of cutting, from 1.
        sequence: usize = piece.sequence(),
        /// Angle of the ply as designed, seen from the bag side.
        angle_design: f64 = degrees(piece.angle_design().from_zero()),
        /// The same as cut: with what the layout used of the tolerance.
        angle_cut: f64 = degrees(piece.angle_cut().from_zero()),
        /// Rotation from the part (seen from the bag side) to the roll, 0 … 360.
        turn: f64 = degrees(piece.turn()),
        /// Whether it is then mirrored about the warp: the cloth is cut face down.
        turned_over: bool = piece.turned_over(),
        /// Whether the warp runs neither along nor across its long direction.
        on_bias: bool = piece.on_bias(),
        /// Whether the ply will be seen.
        appearance: bool = piece.appearance(),
        /// Where its line runs on the part, from 0°, seen from the bag side; left out unless it will be seen and the job
        /// tells of lines.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        line_deg: Option<f64> = piece.line().map(degrees),
        /// From which piece lines run on into it; left out where they run on from none.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        runs_on: Option<RunsOnRecord> = piece.runs_on().map(RunsOnRecord::of),
        /// Direction of the part's 0° on the roll.
        zero_direction: f64 = degrees(piece.zero_direction()),
        /// Where its label goes.
        label: LabelRecord = LabelRecord::of(&piece.label()),
        /// Where the cloth is cut.
        cut: OutlineRecord = OutlineRecord::of(piece.cut()),
        /// Where the finished part ends.
        net: OutlineRecord = OutlineRecord::of(piece.net()),
        /// Directions of the two layers of a stitched biaxial on the part, from the mould up.
        #[serde(skip_serializing_if = "Option::is_none")]
        layers_deg: Option<[f64; 2]> = piece.layers().map(|layers| {
            [layers.against_mould(), layers.towards_bag()].map(|axis| degrees(axis.from_zero()))
        }),
        /// Number of the frame on the table that it lies in, from 1.
        #[serde(skip_serializing_if = "Option::is_none")]
        frame: Option<usize> = layout.frame_of(piece),
        /// Notches and drill marks.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        marks: Vec<MarkRecord> = piece.marks().iter().map(MarkRecord::of).collect(),
        /// How it lies on the bias, if it does.
        #[serde(skip_serializing_if = "Option::is_none")]
        bias: Option<BiasRecord> = piece.bias().as_ref().map(BiasRecord::of),
        /// Which piece of a divided ply it is, if it is one.
        #[serde(skip_serializing_if = "Option::is_none")]
        splice: Option<SpliceRecord> = piece.splice().as_ref().map(SpliceRecord::of),
    }

    /// How lines run on into a piece.
    pub struct RunsOnRecord of (runs_on: &RunsOn) {
        /// Id of the piece from which they run on.
        from: String = runs_on.from.clone(),
        /// How far it must be moved along its warp and its weft until they meet, the shorter way; left out where they
        /// lie on two rolls.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        off_mm: Option<[f64; 2]> = runs_on.off.map(|off| off.map(mm)),
    }

    /// A box for a label.
    pub struct LabelRecord of (label: &Label) {
        /// Its middle.
        centre: [f64; 2] = point(&label.centre),
        /// Extent along the text.
        width: f64 = rounded(label.width, COORDINATE),
        /// Extent across the text.
        height: f64 = rounded(label.height, COORDINATE),
        /// 0 for text along x, 90 for text that reads upwards.
        angle: f64 = degrees(label.angle),
    }

    /// A notch or a drill mark.
    pub struct MarkRecord of (mark: &Mark) {
        /// `notch` or `drill`.
        kind: String = mark.kind.word().to_owned(),
        /// Whether its last point is joined to its first.
        closed: bool = mark.closed,
        /// Its line.
        points: Vec<[f64; 2]> = points(&mark.points),
    }

    /// How a piece lies on the bias.
    pub struct BiasRecord of (bias: &Bias) {
        /// From the warp to its long direction.
        off_warp_deg: f64 = degrees(bias.off_warp),
        /// Its length.
        length_mm: f64 = mm(bias.length),
        /// Its width.
        width_mm: f64 = mm(bias.width),
        /// The longest strip of that width that the roll yields in that direction.
        longest_mm: f64 = mm(bias.longest),
    }

    /// A piece among those of a divided ply.
    pub struct SpliceRecord of (splice: &PlacedSplice) {
        /// `A`, `B` … in the order of laying.
        letter: String = splice.letter.to_string(),
        /// How many pieces the ply has.
        of: usize = splice.of,
        /// Where it meets its neighbours.
        joints: Vec<JointRecord> = splice.joints.iter().map(JointRecord::of).collect(),
    }

    /// A joint with a neighbour.
    pub struct JointRecord of (placed: &PlacedJoint) {
        /// Id of the neighbour.
        mate: String = placed.mate.clone(),
        /// `lap` or `butt`.
        kind: String = placed.joint.kind.word().to_owned(),
        /// Whether it is laid `under` or `over` the neighbour, or `beside` it.
        lies: String = placed.joint.lies.word().to_owned(),
        /// How far they lap.
        lap_mm: f64 = mm(placed.joint.lap),
        /// Where the edge of the neighbour comes to lie on the piece.
        line: Vec<[f64; 2]> = points(&placed.joint.line),
    }

    /// In which order a layout is labelled and cut.
    pub struct CutOrderRecord of (layout: &Layout, order: &CutOrder) {
        /// The way of the knife between its cuts.
        cut_travel: TravelRecord = TravelRecord::of(&order.cut_travel),
        /// The way of the pen between the labels.
        label_travel: TravelRecord = TravelRecord::of(&order.label_travel),
        /// Frame by frame on the table; one where there is no table.
        frames: Vec<CutFrameRecord> =
            order.frames.iter().map(|frame| CutFrameRecord::of(layout, frame)).collect(),
    }

    /// A way without work.
    pub struct TravelRecord of (travel: &Travel) {
        /// Its length in the stated order.
        mm: f64 = mm(travel.ordered),
        /// Its length in the order in which the pieces lie along the roll.
        as_placed_mm: f64 = mm(travel.as_placed),
    }

    /// What is done before the cloth is moved on.
    pub struct CutFrameRecord of (layout: &Layout, frame: &CutFrame) {
        /// Where the frame begins.
        from: f64 = rounded(frame.from, COORDINATE),
        /// Where it ends.
        to: f64 = rounded(frame.to, COORDINATE),
        /// Ids of the pieces in the order of labelling, before anything is cut.
        labels: Vec<String> = (frame.labels.iter())
            .map(|&piece| layout.pieces()[piece].id().to_owned())
            .collect(),
        /// The boundaries in the order of cutting.
        cuts: Vec<CutRecord> = frame.cuts.iter().map(|cut| CutRecord::of(layout, cut)).collect(),
    }

    /// A boundary to cut.
    pub struct CutRecord of (layout: &Layout, cut: &Cut) {
        /// Id of the piece.
        id: String = layout.pieces()[cut.piece].id().to_owned(),
        /// Number of the opening, from 1; none for the outer boundary.
        opening: Option<usize> = cut.opening.map(|k| k + 1),
        /// Where the knife goes in.
        start: [f64; 2] = point(&cut.points.first().copied().unwrap_or_default()),
    }
}
