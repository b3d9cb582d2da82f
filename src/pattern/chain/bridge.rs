//! Free ends → joined across gaps within the join tolerance.

use super::{CROWD, Chain, Gap, OpenChain, SAME_MM, length};
use crate::geometry::{Buckets, Point};

/// Joins the free ends of `lines` across gaps up to `join`, nearest pair first.
pub(super) fn bridge(lines: Vec<OpenChain>, join: f64) -> (Vec<Chain>, Vec<OpenChain>) {
    let mate = pair_ends(&lines, join);
    let mut lines: Vec<Option<OpenChain>> = lines.into_iter().map(Some).collect();
    let (mut rings, mut open) = (Vec::new(), Vec::new());
    // Lines with an end that has no mate first, then what is left are rings.
    for only_open in [true, false] {
        for start in 0..lines.len() {
            let end = match (mate[2 * start], mate[2 * start + 1]) {
                (None, _) => 0,
                (_, None) => 1,
                _ if only_open => continue,
                _ => 0,
            };
            if lines[start].is_none() {
                continue;
            }
            let path = follow(start, end, &mate);
            let links = path
                .iter()
                .filter_map(|&(i, end)| lines[i].take().map(|l| (l, end)))
                .collect();
            if only_open {
                open.push(join_links(links, false));
            } else {
                rings.push(join_links(links, true).chain);
            }
        }
    }
    (rings, open)
}

/// For each end (two per line: start, end) the end it is joined to.
fn pair_ends(lines: &[OpenChain], join: f64) -> Vec<Option<usize>> {
    let end = |e: usize| {
        let points = &lines[e / 2].chain.points;
        points[(e % 2) * (points.len() - 1)]
    };
    let mut buckets = Buckets::new(join, 2 * lines.len());
    let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
    for e in (0..2 * lines.len()).filter(|&e| lines[e / 2].free[e % 2]) {
        for f in buckets.near(end(e), join).take(8 * CROWD) {
            let gap = end(e).distance(end(f));
            let own = e / 2 == f / 2;
            // A short line must not be bent back onto itself.
            if gap <= join && !(own && length(&lines[e / 2].chain.points) <= 3.0 * gap) {
                pairs.push((gap, f, e));
            }
        }
        // Only now: so each pair comes up once, and no end is its own neighbour.
        buckets.insert(end(e), e);
    }
    pairs.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    // The nearest pair of all first: an end then never takes one that a third end is nearer to.
    let mut mate = vec![None; 2 * lines.len()];
    for (_, e, f) in pairs {
        if mate[e].is_none() && mate[f].is_none() {
            (mate[e], mate[f]) = (Some(f), Some(e));
        }
    }
    mate
}

/// The lines met from `start` on, entered at its `end` (0 start, 1 end), each with the end at
/// which it is entered.
fn follow(start: usize, end: usize, mate: &[Option<usize>]) -> Vec<(usize, usize)> {
    let mut path = vec![(start, end)];
    let (mut line, mut entered) = (start, end);
    while let Some(next) = mate[2 * line + 1 - entered] {
        (line, entered) = (next / 2, next % 2);
        if line == start {
            break;
        }
        path.push((line, entered));
    }
    path
}

/// One chain of `links`, each entered at its start (0) or end (1); gaps close at their middle.
fn join_links(links: Vec<(OpenChain, usize)>, closed: bool) -> OpenChain {
    // Run in the direction of the line that comes first in the file.
    let first = links.iter().min_by_key(|(l, _)| l.chain.shape);
    let turn_over = first.is_some_and(|&(_, entered)| entered == 1);
    let mut joined = OpenChain {
        chain: Chain {
            points: Vec::new(),
            shape: usize::MAX,
            segments: 0,
            closed_gap: None,
            n_gaps: 0,
        },
        free: [true, true],
    };
    let n = links.len();
    for (i, (mut line, entered)) in links.into_iter().enumerate() {
        if entered == 1 {
            line.chain.points.reverse();
            line.free.reverse();
        }
        let chain = &mut joined.chain;
        chain.shape = chain.shape.min(line.chain.shape);
        chain.segments += line.chain.segments;
        if i == 0 {
            chain.points = line.chain.points;
            joined.free[0] = line.free[0];
        } else {
            close_gap(chain, line.chain.points);
        }
        if i + 1 == n {
            joined.free[1] = line.free[1];
        }
    }
    if closed {
        let points = std::mem::take(&mut joined.chain.points);
        let first = points[0];
        joined.chain.points = points;
        close_gap(&mut joined.chain, vec![first]);
        let last = joined.chain.points.pop();
        if let Some(last) = last {
            joined.chain.points[0] = last;
        }
    }
    if turn_over {
        joined.chain.points.reverse();
        joined.free.reverse();
    }
    joined
}

/// Appends `next` to `chain`; the two ends become one point half way between them.
fn close_gap(chain: &mut Chain, next: Vec<Point>) {
    let Some(last) = chain.points.pop() else {
        return;
    };
    let gap = Gap {
        from: last,
        to: next[0],
    };
    chain.points.push(last.towards(next[0], 0.5));
    chain.points.extend_from_slice(&next[1..]);
    if gap.size() > SAME_MM {
        chain.n_gaps += 1;
    }
    if gap.size() > chain.closed_gap.map_or(SAME_MM, |g| g.size()) {
        chain.closed_gap = Some(gap);
    }
}
