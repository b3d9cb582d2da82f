//! Smoothing the cloth out as a patient person does: shear is spread evenly by letting the first yarns bend.

use std::collections::BTreeMap;

use super::net::{Ground, Net, NetStart, Rules, YarnTurns};

/// Rounds of laying anew, at most.
const ROUNDS: usize = 8;
/// A round that leaves more than this of the mean square was not worth it.
const WORTH: f64 = 0.998;
/// Rounds of means by row and column.
const SWEEPS: usize = 60;

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
            cells.push((cell.at.0, cell.at.1, cell.shear.to_radians()));
        }
    }
    let mut a: BTreeMap<i32, f64> = cells.iter().map(|c| (c.0, 0.0)).collect();
    let mut b: BTreeMap<i32, f64> = cells.iter().map(|c| (c.1, 0.0)).collect();
    for _ in 0..SWEEPS {
        means(&cells, &mut a, |c| c.0, |c| c.2 - b[&c.1]);
        means(&cells, &mut b, |c| c.1, |c| c.2 - a[&c.0]);
    }
    let get = |of: &BTreeMap<i32, f64>, k: i32| of.get(&k).copied();
    // The told warp is kept.
    let c = (get(&a, 0).unwrap_or(0.0) + get(&a, -1).unwrap_or(0.0)) / 2.0;
    a.values_mut().for_each(|v| *v -= c);
    b.values_mut().for_each(|v| *v += c);
    let outward = |of: &BTreeMap<i32, f64>, sign: i32, factor: f64, turns: &mut Vec<f64>| {
        let cell = |k: i32| if sign > 0 { k } else { -k - 1 };
        let mut before = 0.0;
        for k in 0.. {
            let Some(own) = get(of, cell(k)) else { break };
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

fn means(
    cells: &[(i32, i32, f64)],
    of: &mut BTreeMap<i32, f64>,
    key: impl Fn(&(i32, i32, f64)) -> i32,
    value: impl Fn(&(i32, i32, f64)) -> f64,
) {
    let mut sums: BTreeMap<i32, (f64, f64)> = BTreeMap::new();
    for cell in cells {
        let sum = sums.entry(key(cell)).or_default();
        sum.0 += value(cell);
        sum.1 += 1.0;
    }
    for (k, (sum, n)) in sums {
        of.insert(k, sum / n);
    }
}
