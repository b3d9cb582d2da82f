//! Running the search: prepare, construct, let the workers search and meet, check, hand back.

use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use super::budget::{Budget, N_WORKERS};
use super::check::{self, check};
use super::construct;
use super::explore::Worker;
use super::heats::Found;
use super::measure::Measure;
use super::random::Random;
use super::shape::{Detail, Misfits, Scene};
use super::state::{Poses, State};
use super::tilt;
use super::{Continue, Counts, Layout, NestError, Placed, Problem, Progress, Settings};
use crate::geometry::{Placement, Vector};

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
const TILT_AT: f64 = 0.8;

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
    settings: &Settings,
    observe: &(dyn Fn(Progress) -> Continue + Sync),
) -> Result<Layout, NestError> {
    if !problem.container.is_endless() {
        return super::stock::nest_fixed(problem, settings, observe);
    }
    let scene = Scene::new(problem, Misfits::Refuse)?;
    let budget = Budget::new(settings.effort, scene.pieces.len());
    Ok(search(problem, &scene, budget, settings, observe))
}

/// The same in a strip without end, for a scene and a budget that are there already.
pub(super) fn search(
    problem: &Problem,
    scene: &Scene,
    budget: Budget,
    settings: &Settings,
    observe: &(dyn Fn(Progress) -> Continue + Sync),
) -> Layout {
    if scene.pieces.is_empty() {
        return Layout {
            placed: Vec::new(),
            length: 0.0,
        };
    }
    let measure = Measure::new(&scene.variants, Detail::Coarse, tolerance(scene));
    let order = construct::by_size(scene);
    let mut start = construct::bottom_left(scene, &measure, &order);
    if !check(problem, &to_layout(scene, &start)).is_empty() {
        start = construct::one_after_another(scene, &order);
    }
    shorten(problem, scene, &measure, start, budget, settings, observe)
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
    measure: &Measure,
    start: Poses,
    whole: Budget,
    settings: &Settings,
    observe: &(dyn Fn(Progress) -> Continue + Sync),
) -> Layout {
    let tilts =
        problem.container.is_endless() && scene.obstacles.is_empty() && tilt::is_wanted(problem);
    let search_share = if tilts { TILT_AT } else { 1.0 };
    let (budget, rest) = whole.stages(search_share);
    let first = State::new(scene, measure, scene.length, start);
    let mut leader = Found::in_state(&first);
    let mut best = to_layout(scene, &leader.poses);
    let shared = Shared::new(observe);
    if !shared.tell(Some(best.length), 0.0) {
        return best;
    }
    let fine = (whole.is_ample() && scene.has_fine_detail())
        .then(|| Measure::new(&scene.variants, Detail::Fine, tolerance(scene)));
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
        shared.count(&workers);
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
pub(super) fn n_workers(settings: &Settings, scene: &Scene) -> usize {
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
    let share = workers.len().div_ceil(threads);
    std::thread::scope(|scope| {
        for group in workers.chunks_mut(share) {
            scope.spawn(|| {
                for worker in group {
                    work(worker);
                }
            });
        }
    });
}

/// What the workers share: the way to the observer.
struct Shared<'a> {
    observe: &'a (dyn Fn(Progress) -> Continue + Sync),
    /// Shortest length told so far.
    told: Mutex<f64>,
    stop: AtomicBool,
    evaluations: AtomicU64,
    rounds: AtomicU64,
}

impl<'a> Shared<'a> {
    fn new(observe: &'a (dyn Fn(Progress) -> Continue + Sync)) -> Self {
        Self {
            observe,
            told: Mutex::new(f64::INFINITY),
            stop: AtomicBool::new(false),
            evaluations: AtomicU64::new(0),
            rounds: AtomicU64::new(0),
        }
    }

    /// Takes down what the workers have done so far.
    fn count(&self, workers: &[Worker]) {
        let counts = || workers.iter().map(Worker::counts);
        let evaluations = counts().map(|c| c.evaluations).sum();
        self.evaluations.store(evaluations, Ordering::Relaxed);
        let rounds = counts().map(|c| c.rounds).sum();
        self.rounds.store(rounds, Ordering::Relaxed);
    }

    fn stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }

    /// Passes progress on; `false` once the observer wants to stop.
    fn tell(&self, length: Option<f64>, done: f64) -> bool {
        if self.stopped() {
            return false;
        }
        let mut told = match self.told.lock() {
            Ok(guard) => guard,
            // Another worker's observer panicked: stop, its panic is on its way up.
            Err(_) => return false,
        };
        if let Some(length) = length {
            *told = told.min(length);
        }
        let progress = Progress {
            length: *told,
            done,
            counts: Counts {
                evaluations: self.evaluations.load(Ordering::Relaxed),
                rounds: self.rounds.load(Ordering::Relaxed),
            },
        };
        if (self.observe)(progress) == Continue::Stop {
            self.stop.store(true, Ordering::Relaxed);
            return false;
        }
        true
    }
}

/// The layout in the container's frame.
pub(super) fn to_layout(scene: &Scene, poses: &[super::state::Pose]) -> Layout {
    let mut length: f64 = 0.0;
    let placed: Vec<(Placed, f64)> = scene
        .pieces
        .iter()
        .zip(poses)
        .map(|(piece, pose)| {
            let choice = &piece.choices[pose.choice];
            let end = pose.x + scene.variants[choice.variant].net.max.x;
            length = length.max(end);
            let placement = Placement {
                turn: choice.turn,
                shift: Vector::new(pose.x, pose.y) + choice.shift + scene.origin,
            };
            (
                Placed {
                    shape: piece.shape,
                    placement,
                },
                pose.x,
            )
        })
        .collect();
    in_order(placed, length)
}

/// The layout of shapes that are `placed`, each with its x, by shape and then by x.
pub(super) fn in_order(mut placed: Vec<(Placed, f64)>, length: f64) -> Layout {
    placed.sort_by(|a, b| a.0.shape.cmp(&b.0.shape).then(a.1.total_cmp(&b.1)));
    Layout {
        placed: placed.into_iter().map(|(p, _)| p).collect(),
        length,
    }
}
