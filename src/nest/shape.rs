//! Shapes made ready for the search: grown by half the gap, simplified outward, turned, and cut
//! into convex parts.

use std::sync::Arc;

use super::{NestError, Problem, Shape, convex, simplify};
use crate::geometry::{Bounds, Outline, Point, Ring, Turn, Vector, grown_at_least, signed_area};
use crate::memo::{Asked, Memo};

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
    /// smaller: slower search on curved shapes. Shares of the size and nothing else: the same
    /// shapes in metres are searched as fast as in millimetres.
    fn give(self, size: f64) -> simplify::Give {
        let (bulges, hollows) = match self {
            Self::Coarse => (0.002, 0.015),
            Self::Fine => (0.001, 0.003),
        };
        simplify::Give {
            bulges: bulges * size,
            hollows: hollows * size,
        }
    }
}

/// Added to half the gap, mm: covers the offset's rounding and what counts as contact.
const GROW_MARGIN: f64 = 2e-5;

/// A shape in one of its turns, with the middle of its box at the origin. Shapes that look alike
/// share variants.
#[derive(Clone, Debug)]
pub(super) struct ShapeVariant {
    /// Convex parts of the shape, in each detail.
    parts: PartLists,
    /// Whether this is an obstacle and no shape.
    pub is_obstacle: bool,
    /// Box of the grown shape.
    pub grown: Bounds,
    /// Box of the shape itself, which must stay in the container.
    pub net: Bounds,
    /// Outline of the shape itself, to tell whether two variants look alike.
    outline: Outline,
}

/// One way to place a shape.
#[derive(Clone, Copy, Debug)]
pub(super) struct TurnChoice {
    /// Index into [`Scene::variants`].
    pub variant: usize,
    /// The turn of the shape as given.
    pub turn: Turn,
    /// Position of the shape's own origin when the variant lies at the origin.
    pub shift: Vector,
}

/// One thing to place.
#[derive(Clone, Debug)]
pub(super) struct Movable {
    /// Index into [`Problem::shapes`].
    pub shape: usize,
    /// The turns it may take that look different from each other and fit the container.
    pub choices: Vec<TurnChoice>,
    /// Its own area, mm².
    pub area: f64,
    /// Area of its convex hull, mm².
    pub hull_area: f64,
    /// Diameter of a circle of that area, mm.
    pub size: f64,
    /// Its area over half its perimeter, mm: the width of a long bar.
    pub thickness: f64,
}

/// A convex part of what may not be covered. It lies still.
#[derive(Clone, Copy, Debug)]
pub(super) struct Obstacle {
    /// Index into [`Scene::variants`].
    pub variant: usize,
    /// Where the variant's middle lies.
    pub at: Point,
}

/// All pieces, the variants they are placed in, and what lies still.
#[derive(Clone, Debug)]
pub(super) struct Scene {
    pub pieces: Vec<Movable>,
    /// Those of the pieces first, those of the obstacles after them.
    pub variants: Arc<[ShapeVariant]>,
    pub obstacles: Arc<[Obstacle]>,
    /// Width of the strip, mm.
    pub width: f64,
    /// Length of the strip, mm; infinite if it has no end.
    pub length: f64,
    /// Where the strip's corner lies in the container's frame.
    pub origin: Vector,
    /// Root of the mean area of the pieces, mm; the natural step of the search.
    pub unit: f64,
    /// Σ area of the pieces, mm².
    pub area: f64,
}

/// What to do with a shape that is too large in all its turns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Misfits {
    /// It is an error.
    Refuse,
    /// It is left out.
    LeaveOut,
}

impl Scene {
    /// Prepares `problem`.
    ///
    /// # Errors
    /// [`NestError`] if some demanded shape has no turn, or none that fits and `misfits` says so.
    pub(super) fn new(problem: &Problem, misfits: Misfits) -> Result<Self, NestError> {
        let container = &problem.container;
        let bounds = container.bounds();
        let (length, width) = (bounds.width(), bounds.height());
        let has_obstacles = container.has_obstacles();
        let mut builder = Builder {
            variants: Vec::new(),
            within: bounds,
            gap: problem.gap,
            has_obstacles,
        };
        let mut pieces: Vec<Movable> = Vec::new();
        let mut area = 0.0;
        for (index, shape) in problem.shapes.iter().enumerate() {
            if shape.demand == 0 {
                continue;
            }
            let piece = match builder.piece(index, shape) {
                Err(NestError::DoesNotFit { .. }) if misfits == Misfits::LeaveOut => continue,
                outcome => outcome?,
            };
            area += shape.outline.area() * shape.demand as f64;
            pieces.extend(std::iter::repeat_n(piece, shape.demand));
        }
        let obstacles = if has_obstacles {
            builder.obstacles(container)
        } else {
            Vec::new()
        };
        Ok(Self {
            unit: if pieces.is_empty() {
                1.0
            } else {
                (area / pieces.len() as f64).sqrt()
            },
            pieces,
            variants: builder.variants.into(),
            obstacles: obstacles.into(),
            width,
            length,
            origin: bounds.min - Point::default(),
            area,
        })
    }

    /// The same with only some of the pieces, by index.
    pub(super) fn only(&self, members: &[usize]) -> Self {
        Self {
            pieces: members.iter().map(|&k| self.pieces[k].clone()).collect(),
            variants: Arc::clone(&self.variants),
            obstacles: Arc::clone(&self.obstacles),
            ..*self
        }
    }

    /// Whether the fine view differs from the coarse one.
    pub(super) fn has_fine_detail(&self) -> bool {
        (self.variants.iter()).any(|v| v.parts.grown[0] != v.parts.grown[1])
    }
}

/// Collects the variants of a scene.
struct Builder {
    variants: Vec<ShapeVariant>,
    /// The container's box.
    within: Bounds,
    gap: f64,
    has_obstacles: bool,
}

impl Builder {
    /// The convex parts of the obstacles in `container`, each a variant of its own.
    fn obstacles(&mut self, container: &super::Container) -> Vec<Obstacle> {
        let beyond = (self.variants.iter())
            .map(|v| v.net.long_side())
            .fold(0.0, f64::max);
        let parts = container.obstacles(beyond).into_iter();
        parts
            .filter_map(|part| {
                let (variant, at) = ShapeVariant::obstacle(&part)?;
                self.variants.push(variant);
                Some(Obstacle {
                    variant: self.variants.len() - 1,
                    at,
                })
            })
            .collect()
    }

    fn piece(&mut self, index: usize, shape: &Shape) -> Result<Movable, NestError> {
        if shape.turns.is_empty() {
            return Err(NestError::NoTurn { shape: index });
        }
        let mut parts_as_given: Option<PartLists> = None;
        let mut choices: Vec<TurnChoice> = Vec::new();
        for &turn in &shape.turns {
            let outline = turn.outline(&shape.outline);
            let bounds = outline.bounds();
            if !self.within.takes(&bounds) {
                continue;
            }
            let centre = bounds.centre() - Point::default();
            let outline = outline.shifted(-centre);
            let known = self
                .variants
                .iter()
                .position(|v| same(&v.outline, &outline));
            let variant = known.unwrap_or_else(|| {
                let parts = parts_as_given.get_or_insert_with(|| {
                    let parts = |gap| parts_known(&shape.outline, gap);
                    PartLists {
                        grown: parts(self.gap),
                        bare: (self.has_obstacles && self.gap > 0.0).then(|| parts(0.0)),
                    }
                });
                self.variants
                    .push(ShapeVariant::new(outline, parts, turn, centre));
                self.variants.len() - 1
            });
            if choices.iter().all(|c| c.variant != variant) {
                choices.push(TurnChoice {
                    variant,
                    turn,
                    shift: -centre,
                });
            }
        }
        let Some(first) = choices.first() else {
            return Err(NestError::DoesNotFit { shape: index });
        };
        let corners = self.variants[first.variant]
            .parts_in(Detail::Coarse)
            .concat();
        let hull_area = signed_area(&convex::hull(&corners));
        Ok(Movable {
            shape: index,
            choices,
            area: shape.outline.area(),
            hull_area,
            size: (hull_area * 4.0 / std::f64::consts::PI).sqrt(),
            thickness: 2.0 * shape.outline.area() / shape.outline.perimeter(),
        })
    }
}

impl ShapeVariant {
    /// `outline` where it lies, neither grown nor simplified.
    #[cfg(test)]
    pub(super) fn plain(outline: Outline) -> Self {
        let parts = convex::parts(&outline);
        let parts = PartLists {
            grown: [parts.clone(), parts],
            bare: None,
        };
        let still = Turn::rotation(crate::units::Angle::ZERO);
        Self::new(outline, &parts, still, Vector::default())
    }

    fn new(outline: Outline, parts: &PartLists, turn: Turn, centre: Vector) -> Self {
        // The hull brings a mirrored part back to counter-clockwise.
        let turned_part = |part: &Vec<Point>| -> Vec<Point> {
            convex::hull(
                &part
                    .iter()
                    .map(|&p| turn.apply(p) - centre)
                    .collect::<Vec<_>>(),
            )
        };
        let turned = |details: &[Vec<Vec<Point>>; 2]| {
            details
                .each_ref()
                .map(|parts| parts.iter().map(turned_part).collect())
        };
        let parts = PartLists {
            grown: turned(&parts.grown),
            bare: parts.bare.as_ref().map(turned),
        };
        let net = outline.bounds();
        let details = parts.grown.iter().chain(parts.bare.iter().flatten());
        let corners = details.flatten().flatten().copied();
        Self {
            grown: Bounds::of(corners).map_or(net, |b| b.union(&net)),
            parts,
            is_obstacle: false,
            net,
            outline,
        }
    }

    /// A convex obstacle with the middle of its box at the origin, and where that middle lies;
    /// `None` if it is so thin that it has no area.
    fn obstacle(part: &[Point]) -> Option<(Self, Point)> {
        let ring = Ring::new(part.iter().copied()).ok()?;
        let at = ring.bounds().centre();
        let outline = Outline::solid(ring).shifted(Point::default() - at);
        let corners = convex::hull(outline.outer.points());
        Some((
            Self {
                parts: PartLists {
                    grown: [vec![corners.clone()], vec![corners]],
                    bare: None,
                },
                is_obstacle: true,
                grown: outline.bounds(),
                net: outline.bounds(),
                outline,
            },
            at,
        ))
    }
}

/// Convex parts of a shape, as [`Detail::Coarse`] and as [`Detail::Fine`] sees them.
#[derive(Clone, Debug)]
struct PartLists {
    /// Of the shape grown by half the gap.
    grown: [Vec<Vec<Point>>; 2],
    /// Of the shape not grown, which is what must keep off obstacles; `None` if that is the same or
    /// there are none.
    bare: Option<[Vec<Vec<Point>>; 2]>,
}

/// Convex parts of `outline`, grown by half of `gap`, in each detail.
fn parts_known(outline: &Outline, gap: f64) -> [Vec<Vec<Point>>; 2] {
    /// Parts are remembered until so many numbers were asked for; a vertex has two.
    const MOST_ASKED: usize = 200_000;
    static KNOWN: Memo<[Vec<Vec<Point>>; 2]> = Memo::new(MOST_ASKED);
    KNOWN.get(Asked::default().number(gap).outline(outline), || {
        [Detail::Coarse, Detail::Fine]
            .map(|detail| convex::parts(&for_search(outline, gap, detail)))
    })
}

/// What the search puts in place of `outline`: grown by half the gap, then simplified outward.
fn for_search(outline: &Outline, gap: f64, detail: Detail) -> Outline {
    if convex::triangles(outline).is_none() {
        // It crosses itself: what is material is anyone's guess, so all of the hull is.
        return hull_grown(outline, 0.5 * gap + GROW_MARGIN);
    }
    let grown = grown_proper(outline, 0.5 * gap);
    simplify::outward(&grown, detail.give(grown.bounds().short_side()))
}

/// `outline` grown by at least `by`; where it crosses itself, its hull.
pub(super) fn grown(outline: &Outline, by: f64) -> Outline {
    if convex::triangles(outline).is_none() {
        return hull_grown(outline, by + GROW_MARGIN);
    }
    grown_proper(outline, by)
}

/// The same for one that does not cross itself.
fn grown_proper(outline: &Outline, by: f64) -> Outline {
    if by > 0.0 {
        // The library rounds to 0.00001 mm: ask for that much more so that nothing is lost.
        let arc = (0.02 * by).min(0.01);
        let grown = grown_at_least(outline, by + GROW_MARGIN, arc);
        grown.unwrap_or_else(|| hull_grown(outline, by + GROW_MARGIN))
    } else {
        outline.clone()
    }
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

impl ShapeVariant {
    /// Corners of the outer boundary of the shape itself.
    pub(super) fn rim(&self) -> &[Point] {
        self.outline.outer.points()
    }

    /// The convex parts in one detail.
    pub(super) fn parts_in(&self, detail: Detail) -> &[Vec<Point>] {
        &self.parts.grown[detail as usize]
    }

    /// The convex parts that must keep off obstacles, if they are not the same.
    pub(super) fn bare_in(&self, detail: Detail) -> Option<&[Vec<Point>]> {
        let bare = self.parts.bare.as_ref()?;
        Some(&bare[detail as usize])
    }
}
