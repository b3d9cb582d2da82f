//! The different pieces of a plan: what a paper pattern is made of.

use std::borrow::Cow;
use std::collections::BTreeMap;

use super::Purpose;
use crate::cloth::Weave;
use crate::geometry::{Bounds, Outline, Placement, Point, Turn, Vector};
use crate::number::number;
use crate::output::drawing::directions::Directions;
use crate::output::drawing::label::SEPARATOR;
use crate::output::drawing::piece::PieceLines;
use crate::output::notes::Note;
use crate::plan::{Layout, PartUse, PlacedJoint, Plan};
use crate::ply::{Mark, Piece, StartLines};
use crate::units::{Angle, PlyAngle};

/// Two outlines are one shape if no vertex is further off than this, mm.
const SAME_MM: f64 = 0.002;
/// Two directions are one if they differ by no more than this, degrees.
const SAME_DEG: f64 = 0.001;

/// Stands between the mates of a joint where several plies share a template.
const MATES_APART: &str = ", ";

/// Plies of one template that are cut alike: of one cloth, with the warp in one direction.
#[derive(Clone, Debug)]
pub(super) struct Lay {
    /// Without set numbers: `PORT-1`.
    pub(super) plies: Vec<String>,
    /// How many are cut.
    pub(super) count: usize,
    /// The cloth and its weave.
    pub(super) cloth: String,
    pub(super) weave: Weave,
    /// Designed angle of the first ply.
    pub(super) angle: PlyAngle,
    /// What is to be known of one of the plies.
    pub(super) notes: Vec<Note>,
    /// Direction of the warp on the template.
    pub(super) warp: Angle,
    /// Ids of the pieces that are cut face down: the paper is turned over for them.
    pub(super) face_down: Vec<String>,
    pub(super) purpose: Purpose,
}

/// A shape to cut out of paper, with everything that is drawn on it.
///
/// Seen from the bag side, as it lies on the mould; the lower left corner of the cut line's box is
/// the origin.
#[derive(Clone, Debug)]
pub(super) struct Template {
    /// Number in the file, from 1.
    pub(super) number: usize,
    /// What is cut by it, in the order of the plies; at least one.
    pub(super) lays: Vec<Lay>,
    pub(super) cut: Outline,
    pub(super) net: Outline,
    pub(super) marks: Vec<Mark>,
    /// Where it meets the other pieces of its ply; mates without set numbers.
    pub(super) joints: Vec<PlacedJoint>,
    /// Where it is put down first on its mould.
    pub(super) start: Option<StartLines>,
    /// The part's 0° direction.
    pub(super) zero: Angle,
}

/// A direction of the warp on a template, and the lays that have it, by position.
pub(super) struct WarpArrow {
    pub(super) warp: Angle,
    pub(super) lays: Vec<usize>,
}

/// What lay number `i` is called on its template: `A`, `B` …
pub(super) fn letter(i: usize) -> String {
    letters(i)
}

impl Lay {
    /// Cloth, angle, number to cut.
    pub(super) fn facts(&self) -> String {
        if self.purpose == Purpose::Trim {
            return format!("trim and drill{SEPARATOR}{} made", self.count);
        }
        let mut facts = vec![
            self.cloth.clone(),
            self.shown_angle(),
            format!("cut {}", self.count),
        ];
        facts.extend(self.turned_over());
        let notes = self.notes.iter().filter_map(|note| note.short());
        facts.extend(notes.map(str::to_owned));
        facts.join(SEPARATOR)
    }

    /// For which pieces the paper is turned over, if for any.
    pub(super) fn turned_over(&self) -> Option<String> {
        match self.face_down.len() {
            0 => None,
            n if n == self.count => Some("turn the paper over".to_owned()),
            _ => Some(format!("turn over for {}", few(&self.face_down))),
        }
    }

    /// The facts and the plies: a line of the label of a template with several lays.
    pub(super) fn line(&self) -> String {
        [self.facts(), few(&self.plies)].join(SEPARATOR)
    }

    /// Its directions on a template whose 0° points along `zero`.
    pub(super) const fn directions(&self, zero: Angle) -> Directions {
        Directions {
            weave: self.weave,
            angle: self.angle,
            zero,
        }
    }

    fn shown_angle(&self) -> String {
        format!("{}°", number(self.angle.to_degrees(), 1))
    }

    fn takes(&mut self, other: Self) {
        self.count += other.count;
        self.face_down.extend(other.face_down);
        for ply in other.plies {
            if !self.plies.contains(&ply) {
                self.plies.push(ply);
            }
        }
        for note in other.notes {
            if !self.notes.contains(&note) {
                self.notes.push(note);
            }
        }
    }
}

/// The first names of many: `PORT-1, PORT-2, PORT-6 + 3`.
fn few(names: &[String]) -> String {
    const MOST: usize = 3;
    let shown = names[..names.len().min(MOST)].join(", ");
    match names.len() {
        n if n > MOST => format!("{shown} + {}", n - MOST),
        _ => shown,
    }
}

impl Template {
    /// The plies in a few words: `PORT-1, PORT-6`.
    pub(super) fn name(&self) -> String {
        let plies: Vec<String> = self
            .lays
            .iter()
            .flat_map(|lay| lay.plies.iter().cloned())
            .collect();
        few(&plies)
    }

    /// Cloth, angle, number to cut: the second line of its label.
    pub(super) fn facts(&self) -> String {
        if let [lay] = &self.lays[..] {
            return lay.facts();
        }
        let lays: Vec<String> = self
            .lays
            .iter()
            .map(|lay| format!("{} {}", lay.cloth, lay.shown_angle()))
            .collect();
        let count: usize = self.lays.iter().map(|lay| lay.count).sum();
        format!("{}{SEPARATOR}cut {count}", lays.join(", "))
    }

    /// The directions of the warp that differ, in the order of the lays.
    pub(super) fn warp_arrows(&self) -> Vec<WarpArrow> {
        let mut arrows: Vec<WarpArrow> = Vec::new();
        let lays = self.lays.iter().enumerate();
        for (i, lay) in lays.filter(|(_, lay)| lay.purpose == Purpose::Cut) {
            match arrows.iter_mut().find(|a| same_warp(a.warp, lay.warp)) {
                Some(arrow) => arrow.lays.push(i),
                None => arrows.push(WarpArrow {
                    warp: lay.warp,
                    lays: vec![i],
                }),
            }
        }
        arrows
    }

    /// What stands at a warp arrow where there are several lays: `A  twill 45°`.
    pub(super) fn arrow_text(&self, arrow: &WarpArrow) -> Option<String> {
        if self.lays.len() < 2 {
            return None;
        }
        let words = arrow.lays.iter().map(|&i| {
            let lay = &self.lays[i];
            format!("{}  {} {}", letter(i), lay.cloth, lay.shown_angle())
        });
        Some(words.collect::<Vec<_>>().join(", "))
    }

    /// The template turned by `angle`, its box at the origin again.
    pub(super) fn turned(&self, angle: Angle) -> Self {
        let turn = Turn::rotation(angle);
        let low = turn.outline(&self.cut).bounds().min;
        let placement = Placement {
            turn,
            shift: Point::default() - low,
        };
        Self {
            lays: (self.lays.iter())
                .map(|lay| Lay {
                    warp: lay.warp + angle,
                    ..lay.clone()
                })
                .collect(),
            zero: self.zero + angle,
            ..self.placed(&placement)
        }
    }

    /// The template shifted.
    pub(super) fn shifted(&self, by: Vector) -> Self {
        self.placed(&shift(by))
    }

    /// Its lines moved; its directions stay.
    fn placed(&self, placement: &Placement) -> Self {
        let joints = self.joints.iter().map(|joined| PlacedJoint {
            mate: joined.mate.clone(),
            joint: joined.joint.placed(placement),
        });
        Self {
            cut: placement.outline(&self.cut),
            net: placement.outline(&self.net),
            marks: self.marks.iter().map(|m| m.placed(placement)).collect(),
            joints: joints.collect(),
            start: self.start.map(|start| start.placed(placement)),
            lays: self.lays.clone(),
            zero: self.zero,
            number: self.number,
        }
    }

    /// What is drawn of it.
    pub(super) fn lines(&self) -> PieceLines<'_> {
        PieceLines {
            cut: &self.cut,
            net: &self.net,
            circles: Cow::default(),
            marks: Cow::from(&self.marks),
            joints: Cow::from(&self.joints),
        }
    }

    /// Adds the plies of a template that [`is_same`].
    fn takes(&mut self, other: Self) {
        for (joint, other) in self.joints.iter_mut().zip(&other.joints) {
            let mut known = joint.mate.split(MATES_APART);
            if !known.any(|mate| mate == other.mate) {
                joint.mate = [joint.mate.as_str(), &other.mate].join(MATES_APART);
            }
        }
        for lay in other.lays {
            let alike = |own: &&mut Lay| {
                let face = |lay: &Lay| lay.notes.contains(&Note::FaceDown);
                own.cloth == lay.cloth && same_warp(own.warp, lay.warp) && face(own) == face(&lay)
            };
            match self.lays.iter_mut().find(alike) {
                Some(own) => own.takes(lay),
                None => self.lays.push(lay),
            }
        }
    }

    /// The box around everything that is cut along.
    pub(super) fn bounds(&self) -> Bounds {
        self.cut.bounds()
    }
}

/// `A` … `Z`, `AA` …
pub(super) fn letters(mut row: usize) -> String {
    let mut letters = String::new();
    loop {
        let letter = char::from(b'A' + (row % 26) as u8);
        letters.insert(0, letter);
        if row < 26 {
            return letters;
        }
        row = row / 26 - 1;
    }
}

/// The different pieces of `plan`, in the order of the parts and plies.
pub(super) fn templates(plan: &Plan) -> Vec<Template> {
    let mut found: Vec<Template> = Vec::new();
    let placed = plan.layouts().iter().flat_map(Layout::pieces);
    let mut face_down: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for placed in placed.filter(|placed| placed.turned_over()) {
        if let Some(piece) = placed.piece() {
            let ids = face_down.entry(piece.name()).or_default();
            ids.push(placed.id().to_owned());
        }
    }
    for piece in plan.pieces().iter() {
        let ids = face_down.remove(&piece.name()).unwrap_or_default();
        let template = template(piece, ids);
        match found.iter_mut().find(|other| is_same(other, &template)) {
            Some(same) => same.takes(template),
            None => found.push(template),
        }
    }
    numbered(found)
}

/// The finished parts of `plan`.
pub(super) fn trim_templates(plan: &Plan) -> Vec<Template> {
    let of = |part: &PartUse| {
        let finished = part.finished.as_ref()?;
        let to_corner = shift(Point::default() - finished.outline.bounds().min);
        let template = Template {
            number: 0,
            lays: vec![Lay {
                plies: vec![part.name().to_owned()],
                count: part.sets as usize,
                cloth: "finished part".to_owned(),
                weave: Weave::NonDirectional,
                angle: PlyAngle::default(),
                notes: Vec::new(),
                warp: finished.zero,
                face_down: Vec::new(),
                purpose: Purpose::Trim,
            }],
            cut: finished.outline.clone(),
            net: finished.outline.clone(),
            marks: finished.holes.clone(),
            joints: Vec::new(),
            start: None,
            zero: finished.zero,
        };
        Some(template.placed(&to_corner))
    };
    numbered(plan.parts().iter().filter_map(of).collect())
}

fn numbered(mut templates: Vec<Template>) -> Vec<Template> {
    for (i, template) in templates.iter_mut().enumerate() {
        template.number = i + 1;
    }
    templates
}

/// The template of `piece` alone, of which those called `face_down` are cut that way.
fn template(piece: &Piece, face_down: Vec<String>) -> Template {
    let to_corner = shift(Point::default() - piece.cut().bounds().min);
    let (ply, cloth) = (piece.ply(), piece.cloth());
    let joints = piece.splice().into_iter().flat_map(|splice| &splice.joints);
    let joints = joints.map(|joint| PlacedJoint {
        mate: piece.mate_name(joint.mate),
        joint: joint.clone(),
    });
    Template {
        number: 0,
        lays: vec![Lay {
            plies: vec![piece.name()],
            count: piece.sets() as usize,
            cloth: cloth.name.clone(),
            weave: cloth.weave,
            angle: piece.part().angle_of(ply),
            notes: Note::of_shape(piece),
            warp: piece.warp(),
            face_down,
            purpose: Purpose::Cut,
        }],
        cut: piece.cut().clone(),
        net: piece.net().clone(),
        marks: piece.marks().to_vec(),
        joints: joints.collect(),
        start: piece.start_lines(),
        zero: piece.zero(),
    }
    .placed(&to_corner)
}

const fn shift(shift: Vector) -> Placement {
    Placement {
        turn: Turn::rotation(Angle::ZERO),
        shift,
    }
}

/// Whether two directions of the warp are one: a warp has no head.
fn same_warp(a: Angle, b: Angle) -> bool {
    let turn = (a - b).to_degrees().rem_euclid(180.0);
    turn.min(180.0 - turn) < SAME_DEG
}

/// Whether two templates are one piece of paper: all but cloth and warp.
fn is_same(a: &Template, b: &Template) -> bool {
    let zero = (a.zero - b.zero).to_degrees().rem_euclid(360.0);
    zero.min(360.0 - zero) < SAME_DEG
        && a.marks.len() == b.marks.len()
        && same_outline(&a.cut, &b.cut)
        && same_outline(&a.net, &b.net)
        && a.joints.len() == b.joints.len()
        && a.joints.iter().zip(&b.joints).all(same_joint)
        && same_start(a.start, b.start)
}

/// Whether both are put down at one place, along the same lines.
fn same_start(a: Option<StartLines>, b: Option<StartLines>) -> bool {
    let (Some(a), Some(b)) = (a, b) else {
        return a == b;
    };
    let ends = |of: StartLines| of.ends.into_iter().chain([Some(of.start)]);
    ends(a).zip(ends(b)).all(|pair| match pair {
        (Some(p), Some(q)) => p.distance(q) < SAME_MM,
        (p, q) => p == q,
    })
}

/// Whether two joints are cut and laid alike, whoever the mates are.
fn same_joint((a, b): (&PlacedJoint, &PlacedJoint)) -> bool {
    let (a, b) = (&a.joint, &b.joint);
    a.kind == b.kind
        && a.lies == b.lies
        && a.lap == b.lap
        && a.line
            .iter()
            .zip(b.line)
            .all(|(p, q)| p.distance(q) < SAME_MM)
}

fn same_outline(a: &Outline, b: &Outline) -> bool {
    let near = |(p, q): (&Point, &Point)| p.distance(*q) < SAME_MM;
    a.openings.len() == b.openings.len()
        && a.rings().zip(b.rings()).all(|(a, b)| {
            a.points().len() == b.points().len() && a.points().iter().zip(b.points()).all(near)
        })
}
