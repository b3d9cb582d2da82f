//! A believable plan built by hand: two parts, three cloths, curved pieces, openings, a long thin
//! piece, a tiny one, and names that every format has to escape.

use std::sync::Arc;

use crate::cloth::{Cloth, Purchase, Rotation, Supply, Weave, WeaveTurns};
use crate::diag::{Diagnostic, Diagnostics, Place};
use crate::geometry::{Bounds, Face, Outline, Placement, Point, Ring, Turn, Vector, trig};
use crate::job::{Job, Outputs};
use crate::plan::process::laminate::AnglesAsCut;
use crate::plan::{
    ClothUse, CutOrder, Label, Laminate, Layout, PartUse, PlacedPiece, Plan, StackAsCut, Waste,
    Work, parts,
};
use crate::ply::{Piece, Pieces};
use crate::units::{Angle, Area, ArealWeight, Length, PlyAngle};

/// A ply of the sample: which part, which shape, on which cloth, how.
struct Ply {
    part: &'static str,
    n: u32,
    cloth: usize,
    angle: f64,
    shape: fn(f64) -> Outline,
    trim: f64,
    appearance: bool,
    on_bias: bool,
}

const RUDDER: &str = "RUD";
/// A name with what XML, CSV and old CAD programs trip over.
const FLAP: &str = "Klappe <ü&\"ß\">";

const PLIES: [Ply; 10] = [
    ply(RUDDER, 1, 0, 45.0, blade, 15.0).seen(),
    ply(RUDDER, 2, 1, 0.0, blade, 12.0),
    ply(RUDDER, 3, 1, 0.0, strip, 0.0),
    ply(RUDDER, 4, 0, 0.0, rib, 6.0),
    ply(RUDDER, 5, 2, 45.0, blade, 15.0),
    ply(RUDDER, 6, 0, 90.0, tab, 1.0),
    ply(FLAP, 1, 0, 0.0, flap, 15.0).seen(),
    ply(FLAP, 2, 2, 0.0, flap, 15.0).biased(),
    ply(FLAP, 3, 1, -30.0, spar, 4.0).biased(),
    ply(FLAP, 4, 0, 90.0, washer, 3.0),
];

const fn ply(
    part: &'static str,
    n: u32,
    cloth: usize,
    angle: f64,
    shape: fn(f64) -> Outline,
    trim: f64,
) -> Ply {
    Ply {
        part,
        n,
        cloth,
        angle,
        shape,
        trim,
        appearance: false,
        on_bias: false,
    }
}

impl Ply {
    const fn seen(mut self) -> Self {
        self.appearance = true;
        self
    }

    const fn biased(mut self) -> Self {
        self.on_bias = true;
        self
    }
}

/// The sample plan.
pub(crate) fn plan() -> Plan {
    let (job, cloths) = (job(), cloths());
    let pieces = Pieces::made(Arc::clone(&job), pieces(&job));
    let layouts: Vec<Layout> = (cloths.iter().enumerate())
        .map(|(idx, cloth)| layout(idx, cloth, &pieces))
        .collect();
    let mut remarks = Diagnostics::new();
    remarks.push(
        Diagnostic::warning(
            "opening \"hand hole\" closes up under the allowance and is left uncut",
        )
        .at(Place::Entity {
            file: "rudder.svg".into(),
            entity: "path \"hand-hole\"".into(),
            at_mm: Some((212.4, 88.0)),
        })
        .help("cut it after cure, or make the allowance of the ply smaller"),
    );
    remarks.push(Diagnostic::note("the price of ud-300 is not known"));
    let mut plan = Plan {
        seed: 7,
        effort: "quick".into(),
        cloths: cloths
            .iter()
            .zip(&layouts)
            .map(|(cloth, layout)| cloth_use(cloth, layout))
            .collect(),
        parts: parts(&pieces, &layouts),
        pieces,
        layouts,
        stock_left: Vec::new(),
        cost_per_set: Vec::new(),
        work: Work::default(),
        costs: None,
        jobs: Vec::new(),
        savings: Vec::new(),
        is_share: false,
        remarks,
    };
    plan.work_out_costs();
    plan
}

/// Which files `plan` wants, and how.
pub(crate) fn outputs_of(plan: &mut Plan) -> &mut Outputs {
    plan.pieces.outputs_mut()
}

/// The sample with nothing to cut.
pub(crate) fn without_pieces() -> Plan {
    Plan {
        layouts: Vec::new(),
        cloths: Vec::new(),
        ..plan()
    }
}

/// The sample with other names of its rolls.
pub(crate) fn with_rolls(names: [&str; 3]) -> Plan {
    let mut plan = plan();
    for (layout, name) in plan.layouts.iter_mut().zip(names) {
        layout.roll = name.into();
    }
    plan
}

/// The sample with so much of its second roll used.
pub(crate) fn with_length_used(length: Length) -> Plan {
    let mut plan = plan();
    plan.layouts[1].used_length = length;
    plan
}

/// The sample with those of its pieces alone that are `wanted`.
pub(crate) fn with_pieces(wanted: impl Fn(&PlacedPiece) -> bool) -> Plan {
    let mut plan = plan();
    for layout in &mut plan.layouts {
        layout.pieces.retain(&wanted);
    }
    plan
}

/// The job of the sample.
fn job() -> Arc<Job> {
    let mut text = "title = \"Rudder & flap <test>\"\n".to_owned();
    for (idx, weave) in ["twill", "unidirectional", "biaxial"].iter().enumerate() {
        text += &format!(
            "[cloth.{idx}]\nweave = \"{weave}\"\nareal_weight = \"1 g/m2\"\nroll_width = \"1 m\"\n"
        );
    }
    for (idx, name) in [RUDDER, FLAP].into_iter().enumerate() {
        let sets = sets(name);
        text += &format!("[[part]]\nname = \"P{idx}\"\npattern = \"p.svg\"\nsets = {sets}\n");
        for p in PLIES.iter().filter(|p| p.part == name) {
            let step = if p.n == 5 { -8 } else { 0 };
            text += &format!(
                "[[part.ply]]\ncloth = \"{}\"\nangle = {}\nappearance = {}\nstep = \"{step} mm\"\n",
                p.cloth, p.angle, p.appearance
            );
        }
    }
    let (mut job, _) = Job::read("job.toml", &text).unwrap();
    // Names that no job file takes.
    job.cloths_mut().clone_from_slice(&cloths());
    for (part, name) in job.parts_mut().iter_mut().zip([RUDDER, FLAP]) {
        part.name = name.to_owned();
    }
    Arc::new(job)
}

/// The pieces of the sample, in the order of [`PLIES`].
fn pieces(job: &Arc<Job>) -> Vec<Arc<Piece>> {
    let piece = |ply: &Ply| {
        let part = usize::from(ply.part == FLAP);
        let lines = [(ply.shape)(ply.trim), (ply.shape)(0.0)];
        let place = (part, ply.n as usize - 1);
        Arc::new(Piece::made(job, place, lines, zero(ply), ply.on_bias))
    };
    PLIES.iter().map(piece).collect()
}

/// The part's 0° on its drawing.
fn zero(ply: &Ply) -> Angle {
    Angle::degrees(if ply.part == RUDDER { 90.0 } else { 0.0 })
}

fn cloths() -> Vec<Cloth> {
    let cloth = |name: &str, weave: Weave, gsm, width, price: Option<&str>| Cloth {
        name: name.into(),
        weave,
        turns: weave.turns(),
        warp_share: 0.5,
        edge_tape: None,
        warp_face: None,
        look: crate::cloth::Look::default(),
        lock: None,
        lock_across: None,
        areal_weight: ArealWeight::g_per_m2(gsm),
        is_carbon: None,
        roll_width: Length::mm(width),
        selvedge: Length::mm(15.0),
        end_margin: Length::mm(10.0),
        gap: Length::mm(5.0),
        price: price.map(|p| p.parse().unwrap()),
        price_breaks: Vec::new(),
        sold_by: Length::yards(0.5),
        least_sold: Length::ZERO,
        spare: 0.03,
        supply: Supply::default(),
    };
    let mut glass = cloth(
        "Glas ±45, \"E\"",
        Weave::Biaxial,
        300.0,
        1270.0,
        Some("28 EUR/m"),
    );
    glass.turns = WeaveTurns {
        rotation: Rotation::Half,
        turn_over: false,
    };
    vec![
        cloth("twill", Weave::Twill, 203.0, 1270.0, Some("$38.50/yd")),
        cloth("ud-300", Weave::Unidirectional, 300.0, 500.0, None),
        glass,
    ]
}

fn layout(cloth_idx: usize, cloth: &Cloth, pieces: &[Arc<Piece>]) -> Layout {
    let mut shelf = Shelf::new(cloth);
    let mut placed = Vec::new();
    for (ply, piece) in (PLIES.iter().zip(pieces)).filter(|(ply, _)| ply.cloth == cloth_idx) {
        for set in 1..=piece.sets() {
            placed.push(place(cloth, ply, piece, set, placed.len() + 1, &mut shelf));
        }
    }
    let used_length = Length::mm(shelf.end() + cloth.end_margin.to_mm());
    Layout {
        cloth: Arc::new(cloth.clone()),
        roll: format!("{}-1", cloth.name),
        stock: None,
        offer: None,
        whole: sheet(used_length.to_mm(), cloth.roll_width.to_mm()),
        frames: Vec::new(),
        used_length,
        pieces: placed,
        order: CutOrder::default(),
    }
}

fn sets(part: &str) -> u32 {
    if part == RUDDER { 2 } else { 3 }
}

fn place(
    cloth: &Cloth,
    ply: &Ply,
    piece: &Arc<Piece>,
    set: u32,
    sequence: usize,
    shelf: &mut Shelf,
) -> PlacedPiece {
    let angle = PlyAngle::degrees(ply.angle);
    let warp = (cloth.weave.warp(angle)).where_zero_is(zero(ply));
    let turned_over = cloth.turns.turn_over && !ply.appearance && set == 2;
    let off = if ply.on_bias { 1.25 } else { 0.0 };
    let rotation = Angle::degrees(-warp.to_degrees() - off + f64::from(set % 2) * 180.0);
    let turn = Turn {
        angle: rotation.as_rotation(),
        face: if turned_over { Face::Down } else { Face::Up },
    };
    let shift = shelf.place(&turn.outline(piece.cut()));
    let mut placed = PlacedPiece::of_ply(piece, set, &Placement { turn, shift });
    placed.sequence = sequence;
    placed.label = label(&placed.cut);
    placed
}

/// Places boxes in columns across the roll, one column after the other.
struct Shelf {
    low: f64,
    high: f64,
    gap: f64,
    x: f64,
    y: f64,
    column_end: f64,
}

impl Shelf {
    fn new(cloth: &Cloth) -> Self {
        let (low, high) = cloth.usable_y();
        Self {
            low,
            high,
            gap: cloth.gap.to_mm(),
            x: cloth.end_margin.to_mm(),
            y: low,
            column_end: 0.0,
        }
    }

    fn place(&mut self, outline: &Outline) -> Vector {
        let b = outline.bounds();
        if self.y + b.height() > self.high {
            self.x = self.column_end + self.gap;
            self.y = self.low;
        }
        let at = Vector::new(self.x - b.min.x, self.y - b.min.y);
        self.y += b.height() + self.gap;
        self.column_end = self.column_end.max(self.x + b.width());
        at
    }

    fn end(&self) -> f64 {
        self.column_end
    }
}

/// A large box inside `cut`, found by trying a grid of centres and shapes.
fn label(cut: &Outline) -> Label {
    let b = cut.bounds();
    // Worth, centre, extent in x and y.
    let mut best = (0.0, Point::default(), 0.0, 0.0);
    for (i, j) in (1..12).flat_map(|i| (1..12).map(move |j| (i, j))) {
        let at = |k: i32| f64::from(k) / 12.0;
        let c = Point::new(b.min.x + b.width() * at(i), b.min.y + b.height() * at(j));
        for aspect in [0.2, 0.4, 2.5, 5.0, 12.0] {
            let mut h = b.height().min(b.width() / aspect);
            while h > 2.0 && !fits(cut, c, h * aspect, h) {
                h *= 0.8;
            }
            let (long, short) = (h * aspect.max(1.0), h * aspect.min(1.0));
            // Enough for the usual label; beyond that the middle of the piece counts.
            let off = c.distance(b.centre()) / (b.width() + b.height());
            let worth = long.min(150.0) * short.min(40.0) * (1.0 - off);
            if h > 2.0 && worth > best.0 {
                best = (worth, c, h * aspect, h);
            }
        }
    }
    let (_, centre, w, h) = best;
    let (angle, width, height) = if w >= h { (0.0, w, h) } else { (90.0, h, w) };
    Label {
        centre,
        width,
        height,
        angle: Angle::degrees(angle),
    }
}

/// Whether the edge of a box of `w` × `h` mm about `c` lies inside `cut`, and no opening in it.
fn fits(cut: &Outline, c: Point, w: f64, h: f64) -> bool {
    let is_free = |p: Point| (p.x - c.x).abs() > w / 2.0 || (p.y - c.y).abs() > h / 2.0;
    let mut on_openings = cut.openings.iter().flat_map(|o| o.points());
    on_openings.all(|&p| is_free(p))
        && (0..=12).all(|i| {
            let t = f64::from(i) / 12.0 - 0.5;
            let edges = [(t, -0.5), (t, 0.5), (-0.5, t), (0.5, t)];
            edges
                .iter()
                .all(|&(u, v)| cut.contains(c + Vector::new(u * w, v * h)))
        })
}

fn cloth_use(cloth: &Cloth, layout: &Layout) -> ClothUse {
    let sum = |f: fn(&PlacedPiece) -> f64| Area::mm2(layout.pieces.iter().map(f).sum());
    let (cut_area, net_area) = (sum(|p| p.cut.area()), sum(|p| p.net.area()));
    let purchase = Purchase::of(cloth, layout.used_length);
    let used_area = cloth.roll_width * layout.used_length;
    let selvedge = (cloth.selvedge * 2.0) * layout.used_length;
    ClothUse {
        cloth: Arc::clone(&layout.cloth),
        n_pieces: layout.pieces.len(),
        cut_area,
        net_area,
        utilisation: layout.utilisation(),
        waste: Waste {
            selvedge,
            between: used_area - selvedge - cut_area,
            trim: cut_area - net_area,
            end: cloth.roll_width * (purchase.length - layout.used_length),
        },
        purchase,
        stock_area: Area::ZERO,
        kept_area: Area::ZERO,
        for_pattern: crate::plan::ForPattern::default(),
        alternatives: Vec::new(),
    }
}

/// Cloth of a length and a width, mm.
fn sheet(length: f64, width: f64) -> Outline {
    let bounds = Bounds {
        min: Point::new(0.0, 0.0),
        max: Point::new(length, width),
    };
    bounds.outline().unwrap()
}

/// The parts of the sample; they are held to be laminates without fault, as designed.
fn parts(pieces: &Pieces, layouts: &[Layout]) -> Vec<PartUse> {
    let mut parts = parts::parts(pieces, &AnglesAsCut::of(pieces.job(), layouts));
    for part in &mut parts {
        part.stack = StackAsCut {
            sets: (1..=part.sets).collect(),
            angles: part.plies.iter().map(|ply| ply.angle()).collect(),
            laminate: Laminate {
                plies: part.plies.iter().map(|ply| ply.n()).collect(),
                cores: Vec::new(),
                thickness: None,
                symmetry: Ok(()),
                balance: Ok(()),
                plate: None,
                in_plane: None,
            },
            full_plies: None,
        };
        part.other_stacks.clear();
    }
    parts
}

// Shapes, larger by `grow` on every side (nearly: these are pictures, not offsets).

fn ring(points: impl IntoIterator<Item = (f64, f64)>) -> Ring {
    Ring::new(points.into_iter().map(|(x, y)| Point::new(x, y))).unwrap()
}

fn ellipse(cx: f64, cy: f64, rx: f64, ry: f64) -> Ring {
    ring((0..72).map(|i| {
        let (sin, cos) = trig::sin_cos(Angle::degrees(f64::from(i) * 5.0));
        (cx + rx * cos, cy + ry * sin)
    }))
}

fn rectangle(w: f64, h: f64, grow: f64) -> Ring {
    ring([
        (-grow, -grow),
        (w + grow, -grow),
        (w + grow, h + grow),
        (-grow, h + grow),
    ])
}

/// A rudder blade, 180 × 620 mm, with a curved leading edge and tip.
fn blade(grow: f64) -> Outline {
    let n = 40;
    let leading = (0..=n).map(|i| {
        let (sin, cos) = trig::sin_cos(Angle::degrees(90.0 * f64::from(i) / f64::from(n)));
        (130.0 * sin.sqrt(), 620.0 * (1.0 - cos))
    });
    let points = leading.chain([(-50.0, 620.0), (-20.0, 60.0)]);
    let larger = |(x, y): (f64, f64)| {
        (
            40.0 + (x - 40.0) * (1.0 + grow / 90.0),
            310.0 + (y - 310.0) * (1.0 + grow / 310.0),
        )
    };
    Outline::solid(ring(points.map(larger)))
}

/// A reinforcing strip, 600 × 22 mm.
fn strip(grow: f64) -> Outline {
    Outline::solid(rectangle(22.0, 600.0, grow))
}

/// A rib with a lightening hole.
fn rib(grow: f64) -> Outline {
    Outline {
        outer: ellipse(0.0, 0.0, 110.0 + grow, 70.0 + grow),
        openings: vec![ellipse(40.0, 0.0, 35.0 - grow, 35.0 - grow)],
    }
}

/// A tiny tab.
fn tab(grow: f64) -> Outline {
    Outline::solid(rectangle(22.0, 14.0, grow))
}

/// A flap with a swept end.
fn flap(grow: f64) -> Outline {
    Outline::solid(ring([
        (-grow, -grow),
        (420.0 + grow, -grow),
        (470.0 + grow * 1.5, 160.0 + grow),
        (-grow, 190.0 + grow),
    ]))
}

/// A spar cap on the bias.
fn spar(grow: f64) -> Outline {
    Outline::solid(rectangle(380.0, 40.0, grow))
}

/// A ring around a bolt.
fn washer(grow: f64) -> Outline {
    Outline {
        outer: ellipse(0.0, 0.0, 45.0 + grow, 45.0 + grow),
        openings: vec![ellipse(0.0, 0.0, 20.0 - grow, 20.0 - grow)],
    }
}
