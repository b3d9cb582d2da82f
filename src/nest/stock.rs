//! Several containers, filled in the order given: remnants and rolls at hand before new cloth.
//!
//! A container of fixed size takes the pieces that use it best (`fill`). Once everything is in,
//! the rest of its share of the work goes into a short used length, so that much is left in one
//! piece. A strip without end takes all that is left, by the full search.

use std::fmt;

use super::budget::Budget;
use super::check::{LayoutFault, check_container};
use super::fill::{Filler, Filling, greedy};
use super::herald::Herald;
use super::measure::Depths;
use super::random::Random;
use super::run::{TILT_AT, n_workers, run_all, search, shorten, to_layout, tolerance};
use super::scale::Scale;
use super::shape::{Detail, Misfits, Scene};
use super::stuck::until_stuck;
use super::tilt;
use super::{
    Container, Continue, Counts, Effort, NestError, Nesting, Problem, Progress, SearchSettings,
    Shape, construct,
};
use crate::geometry::Ring;

/// Shapes, and the containers to place them in.
#[derive(Clone, Debug)]
pub struct StockProblem {
    /// What to place.
    pub shapes: Vec<Shape>,
    /// Where, in order of use. Nothing comes after a strip, since it has no end.
    pub containers: Vec<Container>,
    /// Least distance between two shapes, mm. The containers' edges may be touched.
    pub gap: f64,
}

/// Valid layouts of several containers.
#[derive(Clone, Debug, PartialEq)]
pub struct StockNesting {
    pub(super) layouts: Vec<Nesting>,
    pub(super) left: Vec<usize>,
}

impl StockNesting {
    /// One for each container, in the container's own frame; some may be empty.
    #[must_use]
    pub fn layouts(&self) -> &[Nesting] {
        &self.layouts
    }

    /// How many of each shape found no place.
    #[must_use]
    pub fn left(&self) -> &[usize] {
        &self.left
    }
}

/// How a search over several containers stands, told to an observer.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct StockProgress {
    /// Index into [`StockProblem::containers`] of the one that is being filled. Those before it
    /// are done.
    pub container: usize,
    /// Area in mm² that the best layout of it so far covers.
    pub area: f64,
    /// Used length in mm of that layout, once all that goes in is in; infinite before.
    pub length: f64,
    /// Share of all work done, 0 … 1.
    pub done: f64,
}

/// Something wrong with the layouts of several containers.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum StockFault {
    /// A fault within one container.
    In {
        /// Index into [`StockProblem::containers`].
        container: usize,
        /// The fault.
        fault: LayoutFault,
    },
    /// A shape is not once for each demand either placed or left.
    Count {
        /// Index into [`StockProblem::shapes`].
        shape: usize,
        /// How often it is placed, over all containers.
        placed: usize,
        /// How many are said to be left.
        left: usize,
    },
    /// Not one layout for each container, or not one number left for each shape.
    Lists,
}

impl fmt::Display for StockFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::In { container, fault } => write!(f, "in container {container}: {fault}"),
            Self::Count {
                shape,
                placed,
                left,
            } => write!(
                f,
                "shape {shape} is placed {placed} times and left {left} times, which is not its demand"
            ),
            Self::Lists => f.write_str("there is not one layout for each container"),
        }
    }
}

impl std::error::Error for StockFault {}

/// All faults of `found`; none if it is valid.
#[must_use]
pub fn check_stock(problem: &StockProblem, found: &StockNesting) -> Vec<StockFault> {
    let n_shapes = problem.shapes.len();
    if found.layouts.len() != problem.containers.len() || found.left.len() != n_shapes {
        return vec![StockFault::Lists];
    }
    let mut faults = Vec::new();
    let mut counts = vec![0; n_shapes];
    for (container, layout) in found.layouts.iter().enumerate() {
        let within = &problem.containers[container];
        let in_one = check_container(&problem.shapes, within, problem.gap, layout);
        faults.extend(
            in_one
                .into_iter()
                .map(|fault| StockFault::In { container, fault }),
        );
        for placed in &layout.placed {
            if let Some(count) = counts.get_mut(placed.shape) {
                *count += 1;
            }
        }
    }
    for (shape, (&placed, &left)) in counts.iter().zip(&found.left).enumerate() {
        if placed + left != problem.shapes[shape].demand {
            faults.push(StockFault::Count {
                shape,
                placed,
                left,
            });
        }
    }
    faults
}

/// Fills the containers of `problem` one after another.
///
/// Each fixed container gets those of the shapes not yet placed that cover much of it; a strip
/// gets all that are left and can lie in it. `observe` hears of every better layout and may stop
/// the search: what is left then still gets a quick layout, so every shape that can easily be
/// placed is. Under a named effort the result depends on the problem and the seed alone.
///
/// # Errors
/// [`NestError::NoTurn`] if a demanded shape has no turn. A shape too large for all containers is
/// no error: it is among those left.
///
/// # Example
///
/// ```
/// use warpwise::geometry::{Outline, Point, Ring};
/// use warpwise::nest::{self, Container, Continue, Shape, StockProblem};
///
/// let square = Ring::new([(0., 0.), (90., 0.), (90., 90.), (0., 90.)].map(|(x, y)| Point::new(x, y)));
/// let problem = StockProblem {
///     shapes: vec![Shape::new(Outline::solid(square.unwrap()), &[0.0], 5)],
///     // A sheet that is at hand, then cloth to buy.
///     containers: vec![Container::sheet(200.0, 100.0), Container::strip(100.0)],
///     gap: 2.0,
/// };
/// let found = nest::nest_stock(&problem, &Default::default(), &|_| Continue::Yes).unwrap();
/// assert_eq!(found.layouts()[0].placed().len(), 2);
/// assert_eq!(found.layouts()[1].placed().len(), 3);
/// assert_eq!(found.left(), [0]);
/// assert!(nest::check_stock(&problem, &found).is_empty());
/// ```
pub fn nest_stock(
    problem: &StockProblem,
    settings: &SearchSettings,
    observe: &(dyn Fn(StockProgress) -> Continue + Sync),
) -> Result<StockNesting, NestError> {
    let demanded = problem.shapes.iter().enumerate();
    if let Some((shape, _)) = demanded
        .into_iter()
        .find(|(_, s)| s.demand > 0 && s.turns.is_empty())
    {
        return Err(NestError::NoTurn { shape });
    }
    let scale = Scale::of(&problem.shapes, &problem.containers);
    let problem = &scale.stock_problem(problem);
    let back = scale.back();
    let told = |progress: StockProgress| {
        observe(StockProgress {
            area: back.area(progress.area),
            length: back.length(progress.length),
            ..progress
        })
    };
    let n_pieces = problem.shapes.iter().map(|s| s.demand).sum();
    let found = if settings.effort == Effort::UntilStuck {
        until_stuck(cost, |stage| {
            let (budget, settings) = (stage.budget(n_pieces), stage.settings(settings));
            fill_all(problem, budget, &settings, &|progress| {
                stage.tell(f64::INFINITY, progress.done, |_, done| {
                    told(StockProgress { done, ..progress })
                })
            })
        })?
    } else {
        let budget = Budget::new(settings.effort, n_pieces);
        fill_all(problem, budget, settings, &told)?
    };
    Ok(back.layouts(found))
}

/// How good layouts are, less being better: what is left counts most, then the length of the last
/// container, which is the cloth to buy.
fn cost(found: &StockNesting) -> f64 {
    /// Longer than any container.
    const LEFT: f64 = Ring::FARTHEST_MM;
    let n_left: usize = found.left.iter().sum();
    let last = found.layouts.last().map_or(0.0, Nesting::length);
    LEFT * n_left as f64 + last
}

/// Fills the containers, once.
fn fill_all(
    problem: &StockProblem,
    mut budget: Budget,
    settings: &SearchSettings,
    observe: &(dyn Fn(StockProgress) -> Continue + Sync),
) -> Result<StockNesting, NestError> {
    let mut rest = Problem {
        shapes: problem.shapes.clone(),
        container: Container::strip(0.0),
        gap: problem.gap,
    };
    let mut layouts = Vec::with_capacity(problem.containers.len());
    let mut done = 0.0;
    for (index, container) in problem.containers.iter().enumerate() {
        let is_last = index + 1 == problem.containers.len();
        let share = if is_last {
            1.0
        } else {
            share(container, &rest.shapes)
        };
        let span = (1.0 - done) * share;
        rest.container = container.clone();
        let told = |area, length, part: f64| {
            observe(StockProgress {
                container: index,
                area,
                length,
                done: done + span * part,
            })
        };
        let (layout, work) = place(&rest, budget.part(share), settings, &told)?;
        budget = budget.less(work);
        done += span;
        for placed in &layout.placed {
            rest.shapes[placed.shape].demand -= 1;
        }
        layouts.push(layout);
    }
    Ok(StockNesting {
        layouts,
        left: rest.shapes.iter().map(|s| s.demand).collect(),
    })
}

/// All shapes in the one fixed container of `problem`, in the unit of the search; see
/// [`super::nest`].
pub(super) fn nest_fixed(
    problem: &Problem,
    budget: Budget,
    settings: &SearchSettings,
    observe: &(dyn Fn(Progress) -> Continue + Sync),
) -> Result<Nesting, NestError> {
    // Refuses what cannot fit before the search starts.
    Scene::new(problem, Misfits::Refuse)?;
    let told = |_, length, done| {
        observe(Progress {
            length,
            done,
            counts: Counts::default(),
        })
    };
    let (layout, _) = place(problem, budget, settings, &told)?;
    let lacks = |shape: usize| {
        let placed = layout.placed.iter().filter(|p| p.shape == shape).count();
        placed < problem.shapes[shape].demand
    };
    match (0..problem.shapes.len()).find(|&shape| lacks(shape)) {
        Some(shape) => Err(NestError::DoesNotFit { shape }),
        None => Ok(layout),
    }
}

/// Share of the work for `container` if other containers come after it: that of the area it may
/// take, within bounds that leave something for each side.
fn share(container: &Container, rest: &[Shape]) -> f64 {
    if container.is_endless() {
        return 1.0;
    }
    let demanded: f64 = (rest.iter())
        .map(|s| s.outline.area() * s.demand as f64)
        .sum();
    if demanded <= 0.0 {
        return 0.0;
    }
    (DENSE * container.free_area() / demanded).clamp(0.03, 0.9)
}

/// Share of a container that pieces cover, roughly.
const DENSE: f64 = 0.8;
/// How often the workers meet.
const N_MEETINGS: usize = 10;

/// Hears of the area and the length of the best layout so far and of the share of work done.
type Watch<'a> = dyn Fn(f64, f64, f64) -> Continue + Sync + 'a;

/// Places in one container what goes in; also returns the work of each worker.
fn place(
    problem: &Problem,
    budget: Budget,
    settings: &SearchSettings,
    observe: &Watch<'_>,
) -> Result<(Nesting, u64), NestError> {
    let scene = Scene::new(problem, Misfits::LeaveOut)?;
    if scene.pieces.is_empty() {
        return Ok((Nesting::EMPTY, 0));
    }
    let mut within = problem.clone();
    // `before`: the share of the work that was done before this search.
    let told = |before: f64| {
        let area = scene.area;
        move |p: Progress| observe(area, p.length, before + p.done * (1.0 - before))
    };
    if problem.container.is_endless() {
        demand_only(&mut within.shapes, scene.pieces.iter().map(|p| p.shape));
        let layout = search(&within, &scene, budget, settings, &told(0.0));
        return Ok((layout, 0));
    }
    let measure = Depths::new(&scene.variants, Detail::Coarse, tolerance(&scene));
    let tilts = tilt::is_wanted(problem);
    let search_share = if tilts { TILT_AT } else { 1.0 };
    let (straight, tilted) = budget.stages(search_share);
    let (mut filling, work) = fill(
        (&scene, &measure),
        problem.container.area(),
        straight,
        settings,
        &|area, length, done| observe(area, length, done * search_share),
    );
    let mut has_tilted = false;
    if tilts && !filling.is_complete(&scene) {
        let area = filling.area;
        let tell = |_: Option<f64>, done: f64| {
            let done = search_share + done * (1.0 - search_share);
            observe(area, f64::INFINITY, done) == Continue::Yes
        };
        let within = (&scene, tolerance(&scene));
        has_tilted = tilt::put_in_more(problem, within, &mut filling, settings.seed, tilted, &tell);
    }
    let (members, layout) = checked(problem, &scene, &mut filling);
    if filling.members.is_empty() {
        return Ok((Nesting::EMPTY, work));
    }
    let filled = budget.spent(work);
    let is_over = || observe(filling.area, layout.length, filled) == Continue::Stop;
    // The search for a short layout begins with straight pieces.
    if has_tilted || !filling.is_complete(&scene) || is_over() {
        return Ok((layout, work));
    }
    demand_only(&mut within.shapes, members.pieces.iter().map(|p| p.shape));
    let rest = budget.less(work).part(1.0);
    let layout = shorten(
        &within,
        &members,
        &measure,
        filling.poses,
        rest,
        settings,
        &told(filled),
    );
    Ok((layout, work))
}

/// The pieces of `filling` as a scene of their own, and their layout. Should a piece fail the
/// check from the original outlines, it is taken out.
fn checked(problem: &Problem, scene: &Scene, filling: &mut Filling) -> (Scene, Nesting) {
    loop {
        let members = scene.only(&filling.members);
        let layout = to_layout(&members, &filling.poses);
        let faults = check_container(&problem.shapes, &problem.container, problem.gap, &layout);
        let Some(fault) = faults.first() else {
            return (members, layout);
        };
        let placed = layout.placed[fault.piece().unwrap_or(0)];
        let is_it = |m: &usize| {
            let pose = &filling.poses[*m..=*m];
            to_layout(&scene.only(&filling.members[*m..=*m]), pose).placed[0] == placed
        };
        let at = (0..filling.members.len()).find(is_it).unwrap_or(0);
        filling.remove(scene, at);
    }
}

/// Makes the demand for each shape the number of times it occurs in `placed`.
fn demand_only(shapes: &mut [Shape], placed: impl Iterator<Item = usize>) {
    for shape in shapes.iter_mut() {
        shape.demand = 0;
    }
    for shape in placed {
        shapes[shape].demand += 1;
    }
}

/// The best filling found, and the work of each worker.
fn fill(
    (scene, measure): (&Scene, &Depths),
    capacity: f64,
    budget: Budget,
    settings: &SearchSettings,
    observe: &Watch<'_>,
) -> (Filling, u64) {
    let mut work = 0;
    let start = greedy(scene, measure, &construct::by_size(scene), &mut work);
    let told = |area, done| observe(area, f64::INFINITY, done);
    let shared = Herald::new(start.area, f64::max, &told);
    if start.is_complete(scene) || !shared.tell(None, 0.0) {
        return (start, work);
    }
    let mut workers: Vec<Filler> = (0..n_workers(settings, scene))
        .map(|k| {
            let random = Random::new(settings.seed, k as u64);
            Filler::new(
                (scene, measure),
                capacity,
                start.clone(),
                random,
                budget.less(work),
            )
        })
        .collect();
    for meeting in 1..=N_MEETINGS {
        let until = meeting as f64 / N_MEETINGS as f64;
        run_all(&mut workers, settings.threads, &|worker| {
            worker.run(until, &|found, done| {
                shared.tell(found.map(|f| f.area), done)
            });
        });
        let leader = leader(&workers);
        if leader.is_complete(scene) || shared.stopped() {
            break;
        }
        for worker in &mut workers {
            if worker.best.area < leader.area {
                worker.adopt(&leader);
            }
        }
    }
    let most = workers.iter().map(|w| w.work).max().unwrap_or(0);
    (leader(&workers), work + most)
}

/// The filling of most area of all workers; the first worker's among equals.
fn leader(workers: &[Filler]) -> Filling {
    let mut best = &workers[0].best;
    for worker in &workers[1..] {
        if worker.best.area > best.area {
            best = &worker.best;
        }
    }
    best.clone()
}
