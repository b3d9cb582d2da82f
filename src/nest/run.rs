//! Running the search: prepare, construct, let the workers search and meet, check, hand back.

use std::sync::Mutex;
use std::thread::Builder;

use super::budget::{Budget, N_WORKERS};
use super::check::{self, check};
use super::construct;
use super::explore::Worker;
use super::heats::Found;
use super::herald::Herald;
use super::measure::Depths;
use super::random::Random;
use super::scale::Scale;
use super::shape::{Detail, Misfits, Movable, Scene, TurnChoice};
use super::strip::{Pose, Poses, Strip};
use super::stuck::until_stuck;
use super::tilt;
use super::{
    Continue, Counts, Effort, Extent, NestError, Nesting, Placed, Problem, Progress, SearchSettings,
};
use crate::geometry::{Face, Placement, Turn, Vector, trig};
use crate::memo::{Asked, Memo};
use crate::units::Angle;

/// Depths up to this share of the mean piece's size count as contact, and up to this share of the
/// thinnest piece's thickness: touching all round, it must not lose more of its area than the
/// check allows.
const CONTACT: f64 = 1e-8;
const CONTACT_OF_THIN: f64 = 0.2 * check::OVERLAP_SHARE;
/// How often the workers meet.
const N_MEETINGS: usize = 20;
/// At a meeting, a worker whose best is this share longer than the common best takes that over,
/// unless it still has several lines to choose from.
const FALLEN_BACK: f64 = 0.002;

/// Share of the budget at which turning within the angle tolerance starts, if there is any.
pub(super) const TILT_AT: f64 = 0.8;

/// Places all shapes of `problem` in a short strip, or in a fixed container at as short a length
/// as possible.
///
/// `observe` hears of every better layout, from the first one on, and may stop the search; the
/// layout handed back is the best one found by then. Under a named effort the result depends on
/// the problem and the seed alone.
///
/// # Errors
/// [`NestError`] if a demanded shape has no turn or fits in none of its turns; in a fixed
/// container also if no room was found for it beside the others. To fill a container with what
/// finds room in it, see [`super::nest_stock`].
pub fn nest(
    problem: &Problem,
    settings: &SearchSettings,
    observe: &(dyn Fn(Progress) -> Continue + Sync),
) -> Result<Nesting, NestError> {
    let scale = Scale::of(&problem.shapes, std::slice::from_ref(&problem.container));
    let problem = &scale.problem(problem);
    let told = |progress: Progress| {
        observe(Progress {
            length: scale.back().length(progress.length),
            ..progress
        })
    };
    let n_pieces = problem.shapes.iter().map(|s| s.demand).sum();
    let layout = if settings.effort == Effort::UntilStuck {
        until_stuck(Nesting::length, |stage| {
            let (budget, settings) = (stage.budget(n_pieces), stage.settings(settings));
            once(problem, budget, &settings, &|progress| {
                stage.tell(progress.length, progress.done, |length, done| {
                    told(Progress {
                        length,
                        done,
                        ..progress
                    })
                })
            })
        })?
    } else {
        let budget = Budget::new(settings.effort, n_pieces);
        once(problem, budget, settings, &told)?
    };
    Ok(scale.back().layout(layout))
}

/// One search.
fn once(
    problem: &Problem,
    budget: Budget,
    settings: &SearchSettings,
    observe: &(dyn Fn(Progress) -> Continue + Sync),
) -> Result<Nesting, NestError> {
    if !problem.container.is_endless() {
        return super::stock::nest_fixed(problem, budget, settings, observe);
    }
    let scene = Scene::new(problem, Misfits::Refuse)?;
    Ok(search(problem, &scene, budget, settings, observe))
}

/// The same in a strip without end, for a scene and a budget that are there already.
pub(super) fn search(
    problem: &Problem,
    scene: &Scene,
    budget: Budget,
    settings: &SearchSettings,
    observe: &(dyn Fn(Progress) -> Continue + Sync),
) -> Nesting {
    if scene.pieces.is_empty() {
        return Nesting::EMPTY;
    }
    let measure = Depths::new(&scene.variants, Detail::Coarse, tolerance(scene));
    let start = first_layout(problem, scene, &measure);
    shorten(problem, scene, &measure, start, budget, settings, observe)
}

/// A valid layout of all pieces of `problem`, whose `scene` it is.
fn first_layout(problem: &Problem, scene: &Scene, measure: &Depths) -> Poses {
    /// First layouts are remembered until so many numbers were asked for; a vertex has two.
    const MOST_ASKED: usize = 200_000;
    static KNOWN: Memo<Poses> = Memo::new(MOST_ASKED);
    KNOWN.get(asked(problem), || {
        let order = construct::by_size(scene);
        let start = construct::bottom_left(scene, measure, &order);
        match check(problem, &to_layout(scene, &start)).is_empty() {
            true => start,
            false => construct::one_after_another(scene, &order),
        }
    })
}

/// All that a first layout follows from.
fn asked(problem: &Problem) -> Asked {
    let Problem {
        shapes,
        container,
        gap,
    } = problem;
    let bounds = container.bounds();
    let corners = [bounds.min, bounds.max];
    let asked = Asked::default().number(*gap).points(&corners);
    let asked = match &container.extent {
        Extent::Remnant(outline) => asked.count(1).outline(outline),
        Extent::Strip { .. } | Extent::Sheet { .. } => asked.count(0),
    };
    let asked = asked.count(container.forbidden.len());
    let asked = (container.forbidden.iter())
        .fold(asked, |asked, f| asked.number(f.margin).outline(&f.area));
    shapes.iter().fold(asked, |asked, shape| {
        let asked = asked.outline(&shape.outline).count(shape.demand);
        let asked = asked
            .number(shape.tolerance.to_degrees())
            .count(shape.turns.len());
        (shape.turns.iter()).fold(asked, |asked, turn| {
            let asked = asked.number(turn.angle.to_degrees());
            asked.count(usize::from(turn.face == Face::Down))
        })
    })
}

/// Depth up to which pieces are in contact, mm.
pub(super) fn tolerance(scene: &Scene) -> f64 {
    let thinnest = (scene.pieces.iter()).fold(f64::INFINITY, |t, piece| t.min(piece.thickness));
    (CONTACT * scene.unit).min(CONTACT_OF_THIN * thinnest)
}

/// The search from a valid layout, `start`, on.
pub(super) fn shorten(
    problem: &Problem,
    scene: &Scene,
    measure: &Depths,
    start: Poses,
    whole: Budget,
    settings: &SearchSettings,
    observe: &(dyn Fn(Progress) -> Continue + Sync),
) -> Nesting {
    let tilts = tilt::is_wanted(problem);
    let search_share = if tilts { TILT_AT } else { 1.0 };
    let (budget, rest) = whole.stages(search_share);
    let first = Strip::new(scene, measure, scene.length, &start);
    let mut leader = Found::in_strip(&first);
    let mut best = to_layout(scene, &leader.poses);
    // What all workers had done when they last met.
    let counts = Mutex::new(Counts::default());
    let told = |length, done| {
        let counts = counts.lock().map_or_else(|e| *e.into_inner(), |c| *c);
        observe(Progress {
            length,
            done,
            counts,
        })
    };
    let shared = Herald::new(f64::INFINITY, f64::min, &told);
    if !shared.tell(Some(best.length), 0.0) {
        return best;
    }
    let fine = (whole.is_ample() && scene.has_fine_detail())
        .then(|| Depths::new(&scene.variants, Detail::Fine, tolerance(scene)));
    let mut workers: Vec<Worker> = (0..n_workers(settings, scene))
        .map(|k| {
            let random = Random::new(settings.seed, k as u64);
            Worker::new(first.clone(), fine.as_ref(), random, budget)
        })
        .collect();
    for meeting in 1..=N_MEETINGS {
        let until = meeting as f64 / N_MEETINGS as f64;
        run_all(&mut workers, settings.threads, &|worker| {
            worker.run(until, &|found, done| {
                shared.tell(found.map(|f| f.length), done * search_share)
            });
        });
        if let Ok(mut counts) = counts.lock() {
            *counts = count(&workers);
        }
        shared.tell(None, until * search_share);
        for found in by_length(&workers) {
            let layout = to_layout(scene, &found.poses);
            if layout.length >= best.length {
                break;
            }
            if check(problem, &layout).is_empty() {
                (leader, best) = (found.clone(), layout);
                break;
            }
        }
        if shared.stopped() {
            break;
        }
        for worker in &mut workers {
            let fell_back = worker.best.length > leader.length * (1.0 + FALLEN_BACK);
            // Shorter than the best of all: the check refused it.
            let was_refused = worker.best.length < leader.length;
            if was_refused || worker.is_single_minded() && fell_back {
                worker.adopt(&leader);
            }
        }
    }
    if tilts && !shared.stopped() {
        let found: Vec<&Found> = workers.iter().map(|worker| &worker.best).collect();
        let tell =
            |length, done: f64| shared.tell(length, search_share + done * (1.0 - search_share));
        let layout = tilt::shorten(
            problem,
            scene,
            tolerance(scene),
            &found,
            settings,
            rest,
            &tell,
        );
        if let Some(layout) = layout
            && layout.length < best.length
            && check(problem, &layout).is_empty()
        {
            best = layout;
        }
    }
    best
}

/// The best layouts of the workers, the shortest first.
fn by_length<'w>(workers: &'w [Worker]) -> Vec<&'w Found> {
    let mut found: Vec<&Found> = workers.iter().map(|worker| &worker.best).collect();
    found.sort_by(|a, b| a.length.total_cmp(&b.length));
    found
}

/// How many workers search: a fixed number under a named effort, else one for each thread.
pub(super) fn n_workers(settings: &SearchSettings, scene: &Scene) -> usize {
    /// Bytes that a worker takes for each pair of pieces, and that all may take for them.
    const OF_PAIR: usize = 8;
    const MOST: usize = 400 << 20;
    match settings.effort.seconds() {
        None => N_WORKERS,
        Some(_) => {
            let most = MOST / (OF_PAIR * scene.pieces.len().pow(2)).max(1);
            settings.threads.clamp(1, most.max(2))
        }
    }
}

/// Lets every worker `work`, on at most `threads` threads.
pub(super) fn run_all<W: Send>(workers: &mut [W], threads: usize, work: &(dyn Fn(&mut W) + Sync)) {
    if threads <= 1 || workers.len() == 1 {
        for worker in workers {
            work(worker);
        }
        return;
    }
    let most = threads.min(workers.len());
    let waiting = Mutex::new(workers.iter_mut());
    let next = || waiting.lock().ok().and_then(|mut waiting| waiting.next());
    let go_on = || {
        while let Some(worker) = next() {
            work(worker);
        }
    };
    std::thread::scope(|scope| {
        for _ in 1..most {
            // Should the system have no more threads, those that are there do the work.
            if Builder::new().spawn_scoped(scope, go_on).is_err() {
                break;
            }
        }
        go_on();
    });
}

/// What the workers have done so far.
fn count(workers: &[Worker]) -> Counts {
    let counts = || workers.iter().map(Worker::counts);
    Counts {
        evaluations: counts().map(|c| c.evaluations).sum(),
        rounds: counts().map(|c| c.rounds).sum(),
    }
}

/// The layout in the container's frame.
pub(super) fn to_layout(scene: &Scene, poses: &[Pose]) -> Nesting {
    layout_of(scene, poses, |piece, pose, _| {
        pose.at.x + scene.variants[piece.choices[pose.choice].variant].net.max.x
    })
}

/// The layout in the container's frame, ordered by shape and then by x; `end` tells how far right a
/// piece reaches.
pub(super) fn layout_of(
    scene: &Scene,
    poses: &[Pose],
    end: impl Fn(&Movable, &Pose, &Placement) -> f64,
) -> Nesting {
    let mut length: f64 = 0.0;
    let mut placed: Vec<(Placed, f64)> = Vec::with_capacity(poses.len());
    for (piece, pose) in scene.pieces.iter().zip(poses) {
        let placement = placement(&piece.choices[pose.choice], pose, scene.origin);
        length = length.max(end(piece, pose, &placement));
        let shape = piece.shape;
        placed.push((Placed { shape, placement }, pose.at.x));
    }
    placed.sort_by(|a, b| a.0.shape.cmp(&b.0.shape).then(a.1.total_cmp(&b.1)));
    Nesting {
        placed: placed.into_iter().map(|(p, _)| p).collect(),
        length,
    }
}

/// Where a shape lies whose variant lies at `pose`.
fn placement(choice: &TurnChoice, pose: &Pose, origin: Vector) -> Placement {
    let (turn, shift) = (choice.turn, choice.shift);
    if pose.tilt == 0.0 {
        return Placement {
            turn,
            shift: pose.shift() + shift + origin,
        };
    }
    // A piece that faces down is mirrored after its turn: on the strip it turns the other way.
    let off = Angle::degrees(match turn.face {
        Face::Up => pose.tilt,
        Face::Down => -pose.tilt,
    });
    let (sin, cos) = trig::sin_cos(Angle::degrees(pose.tilt));
    let turned = Vector::new(shift.x * cos - shift.y * sin, shift.x * sin + shift.y * cos);
    Placement {
        turn: Turn {
            angle: turn.angle + off,
            face: turn.face,
        },
        shift: pose.shift() + turned + origin,
    }
}
