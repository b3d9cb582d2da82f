//! Shapes made ready for the search: grown by half the gap, simplified outward, turned, and cut
//! into convex parts.

use clipper2_rust::core::{PathD, PathsD, PointD};
use clipper2_rust::{EndType, JoinType, inflate_paths_d};

use super::{NestError, Problem, Shape, convex, simplify};
use crate::geometry::{Bounds, Outline, Point, Ring, Turn, Vector};

/// How closely the search sees the shapes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Detail {
    /// For exploring: few convex parts.
    Coarse,
    /// For squeezing out what the coarse view gave away.
    Fine,
}

impl Detail {
    /// What a shape of `size` (mm, its box's shorter side) may grow by. Larger: looser layouts;
    /// smaller: slower search on curved shapes.
    fn give(self, size: f64) -> simplify::Give {
        match self {
            Self::Coarse => simplify::Give {
                bulges: (0.002 * size).min(0.5),
                hollows: (0.015 * size).min(3.0),
            },
            Self::Fine => simplify::Give {
                bulges: (0.001 * size).min(0.15),
                hollows: (0.003 * size).min(0.6),
            },
        }
    }
}

/// Added to half the gap, mm: covers the offset's rounding and what counts as contact.
const GROW_MARGIN: f64 = 2e-5;
/// Outlines with no more vertices than this are searched as they are.
const FEW_VERTICES: usize = 20;

/// A shape in one of its turns, with the middle of its box at the origin. Shapes that look alike
/// share variants.
#[derive(Clone, Debug)]
pub(super) struct Variant {
    /// Convex parts of the grown shape, as [`Detail::Coarse`] sees it.
    pub parts: Vec<Vec<Point>>,
    /// Convex parts of the grown shape, as [`Detail::Fine`] sees it.
    pub fine: Vec<Vec<Point>>,
    /// Box of the grown shape.
    pub grown: Bounds,
    /// Box of the shape itself, which must stay in the container.
    pub net: Bounds,
    /// Outline of the shape itself, to tell whether two variants look alike.
    outline: Outline,
}

/// One way to place a shape.
#[derive(Clone, Copy, Debug)]
pub(super) struct Choice {
    /// Index into [`Scene::variants`].
    pub variant: usize,
    /// The turn of the shape as given.
    pub turn: Turn,
    /// Position of the shape's own origin when the variant lies at the origin.
    pub shift: Vector,
}

/// One thing to place.
#[derive(Clone, Debug)]
pub(super) struct Piece {
    /// Index into [`Problem::shapes`].
    pub shape: usize,
    /// The turns it may take that look different from each other and fit the container.
    pub choices: Vec<Choice>,
    /// Area of its convex hull, mm².
    pub hull_area: f64,
    /// Diameter of a circle of that area, mm.
    pub size: f64,
}

/// All pieces and the variants they are placed in.
#[derive(Clone, Debug)]
pub(super) struct Scene {
    pub pieces: Vec<Piece>,
    pub variants: Vec<Variant>,
    /// Width of the strip, mm.
    pub width: f64,
    /// Root of the mean area of the pieces, mm; the natural step of the search.
    pub unit: f64,
    /// Σ area of the pieces, mm².
    pub area: f64,
}

impl Scene {
    /// Prepares `problem`.
    ///
    /// # Errors
    /// [`NestError`] if some demanded shape has no turn, or none that fits.
    pub(super) fn new(problem: &Problem) -> Result<Self, NestError> {
        let super::Container::Strip { width } = problem.container;
        let mut scene = Self {
            pieces: Vec::new(),
            variants: Vec::new(),
            width,
            unit: 1.0,
            area: 0.0,
        };
        for (index, shape) in problem.shapes.iter().enumerate() {
            if shape.demand == 0 {
                continue;
            }
            let piece = scene.prepare(index, shape, problem.gap)?;
            scene.area += shape.outline.area() * shape.demand as f64;
            scene
                .pieces
                .extend(std::iter::repeat_n(piece, shape.demand));
        }
        if !scene.pieces.is_empty() {
            scene.unit = (scene.area / scene.pieces.len() as f64).sqrt();
        }
        Ok(scene)
    }

    /// Whether the fine view differs from the coarse one.
    pub(super) fn has_fine_detail(&self) -> bool {
        self.variants.iter().any(|v| v.parts != v.fine)
    }

    fn prepare(&mut self, index: usize, shape: &Shape, gap: f64) -> Result<Piece, NestError> {
        if shape.turns.is_empty() {
            return Err(NestError::NoTurn { shape: index });
        }
        let mut search_parts: Option<[Vec<Vec<Point>>; 2]> = None;
        let mut choices: Vec<Choice> = Vec::new();
        for &turn in &shape.turns {
            let outline = turn.outline(&shape.outline);
            let bounds = outline.bounds();
            if bounds.height() > self.width + fit_tolerance(self.width) {
                continue;
            }
            let centre = bounds.centre() - Point::default();
            let outline = shifted(&outline, -centre);
            let known = self
                .variants
                .iter()
                .position(|v| same(&v.outline, &outline));
            let variant = known.unwrap_or_else(|| {
                let parts = search_parts.get_or_insert_with(|| {
                    [Detail::Coarse, Detail::Fine]
                        .map(|detail| convex::parts(&for_search(&shape.outline, gap, detail)))
                });
                self.variants
                    .push(Variant::new(outline, parts, turn, centre));
                self.variants.len() - 1
            });
            if choices.iter().all(|c| c.variant != variant) {
                choices.push(Choice {
                    variant,
                    turn,
                    shift: -centre,
                });
            }
        }
        let Some(first) = choices.first() else {
            return Err(NestError::DoesNotFit { shape: index });
        };
        let corners: Vec<Point> = self.variants[first.variant].parts.concat();
        let hull_area = convex::polygon_area(&convex::hull(&corners));
        Ok(Piece {
            shape: index,
            choices,
            hull_area,
            size: (hull_area * 4.0 / std::f64::consts::PI).sqrt(),
        })
    }
}

/// A shape this much (mm) wider than the container still counts as fitting: rounding of turns.
pub(super) fn fit_tolerance(width: f64) -> f64 {
    1e-9 * width
}

impl Variant {
    /// `outline` where it lies, neither grown nor simplified.
    #[cfg(test)]
    pub(super) fn plain(outline: Outline) -> Self {
        let parts = convex::parts(&outline);
        let still = Turn::rotation(crate::units::Angle::ZERO);
        Self::new(outline, &[parts.clone(), parts], still, Vector::default())
    }

    fn new(outline: Outline, parts: &[Vec<Vec<Point>>; 2], turn: Turn, centre: Vector) -> Self {
        let [parts, fine] = [0, 1].map(|detail| -> Vec<Vec<Point>> {
            (parts[detail].iter())
                .map(|part| {
                    let turned: Vec<Point> = part.iter().map(|&p| turn.apply(p) - centre).collect();
                    // The hull brings a mirrored part back to counter-clockwise.
                    convex::hull(&turned)
                })
                .collect()
        });
        let net = outline.bounds();
        let grown =
            Bounds::of(parts.iter().chain(&fine).flatten().copied()).map_or(net, |b| b.union(&net));
        Self {
            parts,
            fine,
            grown,
            net,
            outline,
        }
    }
}

fn shifted(outline: &Outline, by: Vector) -> Outline {
    crate::geometry::Placement {
        turn: Turn::rotation(crate::units::Angle::ZERO),
        shift: by,
    }
    .outline(outline)
}

/// What the search puts in place of `outline`: grown by half the gap, then simplified outward.
fn for_search(outline: &Outline, gap: f64, detail: Detail) -> Outline {
    if convex::triangles(outline).is_none() {
        // It crosses itself: what is material is anyone's guess, so all of the hull is.
        return hull_grown(outline, 0.5 * gap + GROW_MARGIN);
    }
    let grown = if gap > 0.0 {
        grow(outline, 0.5 * gap).unwrap_or_else(|| hull_grown(outline, 0.5 * gap + GROW_MARGIN))
    } else {
        outline.clone()
    };
    let n_vertices: usize = grown.rings().map(|r| r.points().len()).sum();
    if n_vertices <= FEW_VERTICES {
        return grown;
    }
    let bounds = grown.bounds();
    let size = bounds.width().min(bounds.height());
    simplify::outward(&grown, detail.give(size))
}

/// `outline` grown by at least `by` and at most a little more, or `None` if the offset failed.
fn grow(outline: &Outline, by: f64) -> Option<Outline> {
    // Round joins cut inside the true arc by the arc tolerance, and results are rounded to 1e-5:
    // ask for that much more so that nothing is lost.
    let arc = (0.02 * by).min(0.01);
    let paths: PathsD = std::iter::once(outline.outer.points().to_vec())
        .chain(
            outline
                .openings
                .iter()
                .map(|o| o.points().iter().rev().copied().collect()),
        )
        .map(|ring: Vec<Point>| -> PathD {
            ring.iter().map(|p| PointD { x: p.x, y: p.y }).collect()
        })
        .collect();
    let grown = inflate_paths_d(
        &paths,
        by + arc + GROW_MARGIN,
        JoinType::Round,
        EndType::Polygon,
        2.0,
        5,
        arc,
    );
    let mut outer: Option<Ring> = None;
    let mut openings = Vec::new();
    for path in &grown {
        let points: Vec<Point> = path.iter().map(|p| Point::new(p.x, p.y)).collect();
        let Ok(ring) = Ring::new(points.iter().copied()) else {
            continue;
        };
        if convex::polygon_area(&points) < 0.0 {
            openings.push(ring);
        } else if outer.as_ref().is_none_or(|o| o.area() < ring.area()) {
            outer = Some(ring);
        }
    }
    let outer = outer?;
    (outer.area() > outline.outer.area()).then_some(Outline { outer, openings })
}

/// The convex hull of `outline` with a square of half side `by` at every vertex: crude but safe.
fn hull_grown(outline: &Outline, by: f64) -> Outline {
    let corners: Vec<Point> = outline
        .outer
        .points()
        .iter()
        .flat_map(|&p| {
            [(-by, -by), (by, -by), (by, by), (-by, by)].map(|(x, y)| p + Vector::new(x, y))
        })
        .collect();
    match Ring::new(convex::hull(&corners)) {
        Ok(ring) => Outline::solid(ring),
        Err(_) => outline.clone(),
    }
}

/// Whether two outlines, centred alike, are the same shape up to rounding.
fn same(a: &Outline, b: &Outline) -> bool {
    a.openings.len() == b.openings.len() && a.rings().zip(b.rings()).all(|(a, b)| same_ring(a, b))
}

fn same_ring(a: &Ring, b: &Ring) -> bool {
    let (a, b) = (a.points(), b.points());
    let n = a.len();
    if n != b.len() {
        return false;
    }
    let scale = a.iter().map(|p| p.x.abs() + p.y.abs()).fold(0.0, f64::max);
    let near = |p: Point, q: Point| p.distance(q) <= 1e-10 * scale;
    (0..n)
        .filter(|&k| near(a[0], b[k]))
        .any(|k| (0..n).all(|m| near(a[m], b[(k + m) % n])))
}

impl Variant {
    /// Corners of the outer boundary of the shape itself.
    pub(super) fn rim(&self) -> &[Point] {
        self.outline.outer.points()
    }

    /// The convex parts in one detail.
    pub(super) fn parts_in(&self, detail: Detail) -> &[Vec<Point>] {
        match detail {
            Detail::Coarse => &self.parts,
            Detail::Fine => &self.fine,
        }
    }
}
