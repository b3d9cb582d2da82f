//! Smoothing the cloth out as a patient person does: shear is spread evenly by letting the first yarns bend.

use super::net::{Ground, Net, NetStart, Rules, YarnTurns};

/// Rounds of laying anew, at most.
const ROUNDS: usize = 8;
/// A round that leaves more than this of the mean square was not worth it.
const WORTH: f64 = 0.998;
/// Rounds of means by row and column.
const SWEEPS: usize = 60;
/// Means that change less than this (radians) stay.
const SETTLED: f64 = 1e-9;

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
/// better.
pub(super) fn evened(ground: &Ground<'_>, straight: &Net, start: NetStart, rules: &Rules) -> Net {
    let mut turns = YarnTurns::default();
    let mut best: Option<Net> = None;
    let mut least = mean_square(straight, ground.inside);
    for _ in 0..ROUNDS {
        let before = best.as_ref().unwrap_or(straight);
        correct(before, ground.inside, &mut turns);
        let net = Net::lay(ground, start, rules, &turns);
        let own = mean_square(&net, ground.inside);
        // What is not laid does not shear.
        let is_covered = net.spots.len() * 10 >= before.spots.len() * 9;
        if own >= least * WORTH || !is_covered {
            break;
        }
        least = own;
        best = Some(net);
    }
    best.unwrap_or_else(|| straight.clone())
}

fn correct(net: &Net, inside: &[bool], turns: &mut YarnTurns) {
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
    outward(&a, 1, -1.0, &mut turns.warp[0]);
    outward(&a, -1, -1.0, &mut turns.warp[1]);
    outward(&b, 1, 1.0, &mut turns.weft[0]);
    outward(&b, -1, 1.0, &mut turns.weft[1]);
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
