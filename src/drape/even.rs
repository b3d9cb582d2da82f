//! Smoothing the cloth out as a patient person does: shear is spread evenly by letting the first yarns bend.

use super::net::{Ground, Net, NetStart, Rules, YarnTurns};

/// Rounds of laying anew, at most.
const ROUNDS: usize = 8;
/// A round that leaves more than this of the mean square was not worth it.
const WORTH: f64 = 0.998;
/// The same of a fine net that began as a coarse one ended.
const WORTH_AFTER_COARSE: f64 = 0.99;
/// Rounds of means by row and column.
const SWEEPS: usize = 60;
/// Means that change less than this (radians) stay.
const SETTLED: f64 = 1e-7;

/// The mean square of the shear of the cells of `net` on the part, square degrees.
fn mean_square(net: &Net, inside: &[bool]) -> f64 {
    let (mut sum, mut n) = (0.0, 0);
    for (cell, corners) in net.cells() {
        if corners.iter().all(|spot| inside[spot.face as usize]) {
            sum += cell.shear * cell.shear;
            n += 1;
        }
    }
    sum / f64::from(n.max(1))
}

/// `straight` laid anew so that its shear is least in the mean of its squares.
///
/// On any surface shear = curvature + a(i) + b(j), and only a and b, by row and by column, are free: they are the
/// turns of the first yarns. So their fitted values are taken out, and the net is laid anew, until it gets no
/// better; `None` where nothing is to be gained. A fine net begins with the turns that are found on a coarse one, of
/// `coarse`.
pub(super) fn evened(
    ground: &Ground<'_>,
    straight: &Net,
    start: NetStart,
    rules: &Rules,
    coarse: Option<(Ground<'_>, Rules)>,
) -> Option<Net> {
    let lay = |turns: &YarnTurns| Net::lay(ground, start, rules, turns);
    let mut begun = None;
    if let Some((ground, coarse)) = coarse
        && gains(straight, ground.inside)
    {
        let lay_coarse = |turns: &YarnTurns| Net::lay(&ground, start, &coarse, turns);
        let first = lay_coarse(&YarnTurns::default());
        let found = eased(&first, None, ground.inside, lay_coarse);
        begun = found.and_then(|(_, turns)| {
            let turns = turns.spread(coarse.spacing, rules.spacing);
            let net = lay(&turns);
            let own = mean_square(&net, ground.inside);
            let is_better = own < mean_square(straight, ground.inside);
            (is_better && covers(&net, straight)).then_some((net, turns))
        });
    }
    eased(straight, begun, ground.inside, lay).map(|(net, _)| net)
}

/// What comes of `straight`, or of what is `begun` already, laid anew by `lay`, with its turns; `None` where nothing is
/// better than `straight`.
fn eased(
    straight: &Net,
    begun: Option<(Net, YarnTurns)>,
    inside: &[bool],
    lay: impl Fn(&YarnTurns) -> Net,
) -> Option<(Net, YarnTurns)> {
    let worth = match begun {
        Some(_) => WORTH_AFTER_COARSE,
        None => WORTH,
    };
    let mut best = begun;
    let first = best.as_ref().map_or(straight, |(net, _)| net);
    let mut least = mean_square(first, inside);
    for _ in 0..ROUNDS {
        let (before, mut turns) = match &best {
            Some((net, turns)) => (net, turns.clone()),
            None => (straight, YarnTurns::default()),
        };
        let fit = Fit::of(before, inside);
        if fit.left >= worth {
            break;
        }
        fit.add_to(&mut turns);
        let net = lay(&turns);
        let own = mean_square(&net, inside);
        if own >= least * WORTH || !covers(&net, before) {
            break;
        }
        least = own;
        best = Some((net, turns));
    }
    best
}

/// Whether turns of the first yarns would be worth it.
fn gains(net: &Net, inside: &[bool]) -> bool {
    Fit::of(net, inside).left < WORTH
}

/// Whether a net reaches about as far as one before: what is not laid does not shear.
fn covers(net: &Net, before: &Net) -> bool {
    net.spots.len() * 10 >= before.spots.len() * 9
}

/// What of the shear of a net goes by column and by row.
struct Fit {
    a: Part,
    b: Part,
    /// The mean square of the shear without them, in that with them.
    left: f64,
}

impl Fit {
    fn of(net: &Net, inside: &[bool]) -> Self {
        let mut cells = Vec::new();
        for (cell, corners) in net.cells() {
            if corners.iter().any(|spot| inside[spot.face as usize]) {
                cells.push((cell.at, cell.shear.to_radians()));
            }
        }
        let mut a = Part::of(cells.iter().map(|((i, _), _)| *i));
        let mut b = Part::of(cells.iter().map(|((_, j), _)| *j));
        for _ in 0..SWEEPS {
            let most = a.fit(cells.iter().map(|&((i, j), shear)| (i, shear - b.at(j))));
            let most = most.max(b.fit(cells.iter().map(|&((i, j), shear)| (j, shear - a.at(i)))));
            if most < SETTLED {
                break;
            }
        }
        let whole: f64 = cells.iter().map(|(_, shear)| shear * shear).sum();
        let left = cells
            .iter()
            .map(|&((i, j), shear)| shear - a.at(i) - b.at(j));
        let left: f64 = left.map(|left| left * left).sum();
        Self {
            left: if whole > 0.0 { left / whole } else { 1.0 },
            a,
            b,
        }
    }

    /// Takes them out by turns of the first yarns.
    fn add_to(mut self, turns: &mut YarnTurns) {
        let (a, b) = (&mut self.a, &mut self.b);
        // The told warp is kept.
        let told = |k: i32| a.get(k).unwrap_or(0.0);
        let c = (told(0) + told(-1)) / 2.0;
        a.values.iter_mut().for_each(|(v, _)| *v -= c);
        b.values.iter_mut().for_each(|(v, _)| *v += c);
        let outward = |of: &Part, sign: i32, factor: f64, turns: &mut Vec<f64>| {
            let cell = |k: i32| if sign > 0 { k } else { -k - 1 };
            let mut before = 0.0;
            for k in 0.. {
                let Some(own) = of.get(cell(k)) else { break };
                if turns.len() <= k as usize {
                    turns.push(0.0);
                }
                turns[k as usize] += factor * (own - before);
                before = own;
            }
        };
        outward(a, 1, -1.0, &mut turns.warp[0]);
        outward(a, -1, -1.0, &mut turns.warp[1]);
        outward(b, 1, 1.0, &mut turns.weft[0]);
        outward(b, -1, 1.0, &mut turns.weft[1]);
    }
}

impl YarnTurns {
    /// The same lines in steps of `to` mm, told in steps of `from` mm.
    fn spread(&self, from: f64, to: f64) -> Self {
        let both = |[on, back]: &[Vec<f64>; 2]| {
            // How far each step is turned from a straight line; in the middle of the step.
            let directions = [on, back].map(|turns| {
                let mut sum = 0.0;
                let sums = turns.iter().map(|turn| {
                    sum += turn;
                    sum
                });
                sums.collect::<Vec<f64>>()
            });
            let first = |k: usize| directions[k].first().copied().unwrap_or(0.0);
            let at_start = (first(0) + first(1)) / 2.0;
            directions.map(|steps| {
                let at = |x: f64| {
                    let low = (x - 0.5).floor();
                    let of = |k: f64| match (k < 0.0, steps.get(k as usize)) {
                        (true, _) => 2.0 * at_start - steps.first().copied().unwrap_or(at_start),
                        (_, Some(own)) => *own,
                        (_, None) => steps.last().copied().unwrap_or(at_start),
                    };
                    let share = x - 0.5 - low;
                    of(low) * (1.0 - share) + of(low + 1.0) * share
                };
                let n = (steps.len() as f64 * from / to).ceil() as u32;
                let mut before = 0.0;
                let turns = (0..n).map(|k| {
                    let own = at((f64::from(k) + 0.5) * to / from);
                    let turn = own - before;
                    before = own;
                    turn
                });
                turns.collect()
            })
        };
        Self {
            warp: both(&self.warp),
            weft: both(&self.weft),
        }
    }
}

/// The part of the shear that a column or a row of cells has, radians, and how many cells it has; by its number.
struct Part {
    first: i32,
    values: Vec<(f64, u32)>,
}

impl Part {
    /// 0 for all of them; `numbers` are those of all cells.
    fn of(numbers: impl Iterator<Item = i32> + Clone) -> Self {
        let first = numbers.clone().min().unwrap_or(0);
        let last = numbers.clone().max().unwrap_or(first);
        let mut values = vec![(0.0, 0); (last - first) as usize + 1];
        numbers.for_each(|k| values[(k - first) as usize].1 += 1);
        Self { first, values }
    }

    fn at(&self, k: i32) -> f64 {
        self.values[(k - self.first) as usize].0
    }

    /// That of number `k`, if it has cells.
    fn get(&self, k: i32) -> Option<f64> {
        let own = self.values.get(usize::try_from(k - self.first).ok()?)?;
        (own.1 > 0).then_some(own.0)
    }

    /// The means of what is left of the cells' shear, by their numbers; tells the largest change.
    fn fit(&mut self, left: impl Iterator<Item = (i32, f64)>) -> f64 {
        let mut sums = vec![0.0; self.values.len()];
        left.for_each(|(k, own)| sums[(k - self.first) as usize] += own);
        let mut most = 0.0_f64;
        for ((value, n), sum) in self.values.iter_mut().zip(sums) {
            let mean = sum / f64::from((*n).max(1));
            most = most.max((mean - *value).abs());
            *value = mean;
        }
        most
    }
}
