//! A piece in its place.

use std::sync::Arc;

use super::label::label_for;
use super::run_on::RunsOn;
use crate::cloth::{BiaxialLayers, Weave};
use crate::geometry::{Circle, Face, Outline, Placement, Point, Turn, Vector, trig};
use crate::ply::{Bias, Joint, Mark, Piece};
use crate::units::{Angle, PlyAngle, WarpDirection};

/// A piece in its place on the roll. All geometry is in the roll frame: x along the warp.
#[derive(Clone, Debug)]
pub struct PlacedPiece {
    pub(in crate::plan) source: PieceSource,
    pub(in crate::plan) id: String,
    pub(in crate::plan) set: u32,
    pub(in crate::plan) placement: Placement,
    // Both lines are placed once: they are asked for again and again.
    pub(in crate::plan) cut: Outline,
    pub(in crate::plan) net: Outline,
    pub(in crate::plan) sequence: usize,
    pub(in crate::plan) label: Label,
    pub(in crate::plan) runs_on: Option<Arc<RunsOn>>,
}

/// What is cut.
#[derive(Clone, Debug)]
pub(in crate::plan) enum PieceSource {
    /// A ply, or a piece of one.
    Ply(Arc<Piece>),
    /// A layer of the bag over a part, or a width of it.
    Bag {
        part: String,
        /// The part's 0° on its drawing.
        zero: Angle,
        /// From the drawing to the outline that is placed.
        turned: Angle,
        splice: Option<PlacedSplice>,
    },
}

impl PlacedPiece {
    /// Set number `set` of `piece`, where `placement` puts it.
    pub(in crate::plan) fn of_ply(piece: &Arc<Piece>, set: u32, placement: &Placement) -> Self {
        let id = piece.id(set);
        let cut = placement.outline(piece.cut());
        let label = match piece.splice() {
            Some(splice) => label_for(&id, &placement.outline(&splice.clear)),
            None => label_for(&id, &cut),
        };
        Self {
            source: PieceSource::Ply(Arc::clone(piece)),
            net: placement.outline(piece.net()),
            placement: *placement,
            sequence: 0,
            id,
            set,
            cut,
            label,
            runs_on: None,
        }
    }

    /// What is cut for a ply; `None` of a layer of the bag.
    #[must_use]
    pub fn piece(&self) -> Option<&Piece> {
        match &self.source {
            PieceSource::Ply(piece) => Some(piece),
            PieceSource::Bag { .. } => None,
        }
    }

    /// `PART-PLY[-SPLICE][#SET]`; of a layer of the bag `PART-LAYER[#SET]`.
    #[must_use]
    pub fn id(&self) -> &str {
        &self.id
    }

    /// Name of the part.
    #[must_use]
    pub fn part(&self) -> &str {
        match &self.source {
            PieceSource::Ply(piece) => &piece.part().name,
            PieceSource::Bag { part, .. } => part,
        }
    }

    /// Ply number in the part, from 1; 0 of a layer of the bag.
    #[must_use]
    pub fn ply(&self) -> u32 {
        self.piece().map_or(0, |piece| piece.ply().n)
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
        let of_ply = |piece: &Piece| piece.part().angle_of(piece.ply());
        self.piece().map_or_else(PlyAngle::default, of_ply)
    }

    /// Whether it is cut so far off its designed angle that it is worth saying.
    #[must_use]
    pub fn is_off_design(&self) -> bool {
        self.angle_cut().off(self.angle_design()).to_degrees().abs() > 0.005
    }

    /// Angle as cut: designed angle plus what the layout used of the tolerance.
    #[must_use]
    pub fn angle_cut(&self) -> PlyAngle {
        let design = self.angle_design();
        let Some(piece) = self.piece() else {
            return design;
        };
        // The warp on the piece turns against the piece on the cloth.
        let off = -off_angle(self.placement.turn, piece.turns(), piece.cloth().weave);
        // A sum out of the range of ply angles is written as the same fibre direction, but 91°
        // stays 91° where the layout used a tolerance on a 90° ply.
        let cut = design.turned(off);
        if off.to_degrees().abs() < 45.0 {
            cut
        } else {
            cut.in_range()
        }
    }

    /// How the two layers of a stitched biaxial run on the part, as cut; `None` of other cloths.
    #[must_use]
    pub fn layers(&self) -> Option<BiaxialLayers> {
        let piece = self.piece()?;
        let warp = -self.placement.turn.angle - piece.zero();
        (piece.cloth().weave.has_two_layers())
            .then(|| BiaxialLayers::at_warp(WarpDirection::new(warp)))
    }

    /// Where it lies: from the frame of the piece's own lines (the drawing's axes, seen from the bag
    /// side) to the roll frame.
    #[must_use]
    pub fn placement(&self) -> &Placement {
        &self.placement
    }

    /// Whole rotation from the pattern frame (seen from the bag side) to the roll frame, 0 … 360.
    #[must_use]
    pub fn turn(&self) -> Angle {
        let turned = match self.source {
            PieceSource::Ply(_) => Angle::ZERO,
            PieceSource::Bag { turned, .. } => turned,
        };
        (self.placement.turn.angle + turned).as_rotation()
    }

    /// Whether the cloth faces down when it is cut.
    #[must_use]
    pub fn turned_over(&self) -> bool {
        self.placement.turn.face == Face::Down
    }

    /// Whether the warp runs neither along nor across the piece's long direction.
    #[must_use]
    pub fn on_bias(&self) -> bool {
        self.piece().is_some_and(Piece::on_bias)
    }

    /// How it lies on the bias, if it does.
    #[must_use]
    pub fn bias(&self) -> Option<Bias> {
        let piece = self.piece().filter(|piece| piece.on_bias())?;
        Bias::of(&self.cut.outer, piece.usable_width(), self.zero_direction())
    }

    /// Whether the ply will be seen on the finished part.
    #[must_use]
    pub fn appearance(&self) -> bool {
        self.piece().is_some_and(|piece| piece.ply().appearance)
    }

    /// Where the line of its cloth runs on the part, from its 0°, if it will be seen and the job tells of lines.
    #[must_use]
    pub fn line(&self) -> Option<Angle> {
        self.piece()?.line_under(self.placement.turn)
    }

    /// How its pattern lies to that of the first of the pieces among which lines run on; `None` of that piece itself,
    /// and where none do.
    #[must_use]
    pub fn runs_on(&self) -> Option<&RunsOn> {
        self.runs_on.as_deref()
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
    pub fn marks(&self) -> Vec<Mark> {
        let marks = self.piece().map_or(&[][..], Piece::marks);
        marks
            .iter()
            .map(|mark| mark.placed(&self.placement))
            .collect()
    }

    /// Circles that arcs of both lines lie on; empty where the job wants chords.
    #[must_use]
    pub fn circles(&self) -> Vec<Circle> {
        let circles = self.piece().map_or(&[][..], Piece::circles);
        circles.iter().map(|c| c.placed(&self.placement)).collect()
    }

    /// What is particular to it as a piece of a divided ply.
    #[must_use]
    pub fn splice(&self) -> Option<PlacedSplice> {
        let piece = match &self.source {
            PieceSource::Ply(piece) => piece,
            PieceSource::Bag { splice, .. } => return splice.clone(),
        };
        let splice = piece.splice()?;
        let placed = |joint: &Joint| PlacedJoint {
            mate: piece.mate_id(self.set, joint.mate),
            joint: joint.placed(&self.placement),
        };
        Some(PlacedSplice {
            letter: splice.letter,
            of: splice.of,
            joints: splice.joints.iter().map(placed).collect(),
        })
    }

    /// Where it meets its neighbours, if it is spliced.
    #[must_use]
    pub fn joints(&self) -> Vec<PlacedJoint> {
        self.splice().map_or_else(Vec::new, |splice| splice.joints)
    }

    /// Direction of the part's 0° in the roll frame.
    #[must_use]
    pub fn zero_direction(&self) -> Angle {
        let zero = match &self.source {
            PieceSource::Ply(piece) => piece.zero(),
            PieceSource::Bag { zero, turned, .. } => *zero + *turned,
        };
        self.placement.turn.direction(zero).as_rotation()
    }

    /// Designed direction of the warp on the piece, in the frame that `turn` turns it from.
    #[must_use]
    pub fn warp_direction(&self) -> Angle {
        self.piece().map_or(Angle::ZERO, Piece::warp)
    }

    /// Where the label goes.
    #[must_use]
    pub fn label(&self) -> Label {
        self.label
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

impl Label {
    /// The corners of the box.
    #[must_use]
    pub fn corners(&self) -> [Point; 4] {
        let (sin, cos) = trig::sin_cos(self.angle);
        let (along, up) = (self.width / 2.0, self.height / 2.0);
        [(-along, -up), (along, -up), (along, up), (-along, up)]
            .map(|(x, y)| self.centre + Vector::new(x * cos - y * sin, x * sin + y * cos))
    }
}

/// A rotation of the fibres below this (degrees) is the noise of a sum.
const NO_TURN_DEG: f64 = 1e-9;

/// How far the fibres of a piece cut under `turn` are off their designed directions.
///
/// That is what the layout used of the tolerance beside the nearest of the `permitted` turns with
/// the same face (the straight one first), and what that turn itself does to the fibres: nothing,
/// unless the job permits turns that the weave does not.
fn off_angle(turn: Turn, permitted: &[Turn], weave: Weave) -> Angle {
    let nearest = permitted
        .iter()
        .filter(|p| p.face == turn.face)
        .map(|p| (p, signed(turn.angle - p.angle, 360.0)))
        .min_by(|(_, a), (_, b)| a.abs().total_cmp(&b.abs()));
    let (Some((nearest, tilt)), Some(straight)) = (nearest, permitted.first()) else {
        return Angle::ZERO;
    };
    let turned = weave
        .fibres_repeat_after()
        .map_or(0.0, |repeat| signed(nearest.angle - straight.angle, repeat));
    if turned.abs() < NO_TURN_DEG {
        Angle::degrees(tilt)
    } else {
        Angle::degrees(turned + tilt)
    }
}

/// `angle` in degrees, brought to −`period`/2 < angle ≤ `period`/2.
fn signed(angle: Angle, period: f64) -> f64 {
    let degrees = angle.to_degrees().rem_euclid(period);
    if degrees > period / 2.0 {
        degrees - period
    } else {
        degrees
    }
}
