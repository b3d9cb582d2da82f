//! A tree of boxes, to find what lies near or around something without looking at all there is.
//!
//! Boxes are halved again and again, in their own order where neighbours follow each other in it
//! (the edges of a boundary), else by place.

use std::cell::Cell;
use std::cmp::Reverse;
use std::collections::BinaryHeap;
use std::ops::Range;

use super::{Bounds, Point};

/// Boxes in one leaf. Larger: more boxes compared in vain; smaller: a deeper tree.
const LEAF: usize = 8;

/// Boxes by their index, halved again and again.
pub(crate) struct BoxTree<B> {
    box_of: B,
    /// The boxes in the order of the leaves; empty if that is their own order.
    order: Vec<usize>,
    /// Halves come before what they make up, so the root is the last.
    nodes: Vec<Node>,
}

struct Node {
    bounds: Bounds,
    /// The largest size in it.
    most: f64,
    /// The smallest.
    least: f64,
    content: Content,
}

enum Content {
    /// Places in the order.
    Leaf(Range<usize>),
    Halves([usize; 2]),
}

/// A box with the size of the shape in it, by which [`BoxTree::around`] puts them in order.
pub(crate) type SizedBox = (Bounds, f64);

impl<B: Fn(usize) -> SizedBox> BoxTree<B> {
    /// A tree of the first `n` boxes, of which neighbours lie near each other.
    pub(crate) fn in_order(n: usize, box_of: B) -> Self {
        Self::halved(n, box_of, Vec::new())
    }

    /// A tree of the first `n` boxes, which may come in any order.
    pub(crate) fn by_place(n: usize, box_of: B) -> Self {
        let order = order_by_place(n, &box_of);
        Self::halved(n, box_of, order)
    }

    fn halved(n: usize, box_of: B, order: Vec<usize>) -> Self {
        let mut tree = Self {
            box_of,
            order,
            nodes: Vec::with_capacity(n / LEAF * 2 + 2),
        };
        if n > 0 {
            tree.grow(0..n);
        }
        tree
    }

    fn grow(&mut self, places: Range<usize>) -> usize {
        let node = if places.len() <= LEAF {
            let sized = |place| {
                let (bounds, size) = (self.box_of)(self.index(place));
                (bounds, size, size)
            };
            let (bounds, least, most) = (places.clone().map(sized))
                .reduce(united)
                .expect("a leaf holds at least one box");
            Node {
                bounds,
                least,
                most,
                content: Content::Leaf(places),
            }
        } else {
            let middle = usize::midpoint(places.start, places.end);
            let halves = [places.start..middle, middle..places.end].map(|half| self.grow(half));
            let [(bounds, least, most), other] = halves.map(|half| {
                let half = &self.nodes[half];
                (half.bounds, half.least, half.most)
            });
            let (bounds, least, most) = united((bounds, least, most), other);
            Node {
                bounds,
                least,
                most,
                content: Content::Halves(halves),
            }
        };
        self.nodes.push(node);
        self.nodes.len() - 1
    }

    fn index(&self, place: usize) -> usize {
        self.order.get(place).copied().unwrap_or(place)
    }

    /// The boxes around `inner` that hold at least `size`, the smallest first. Each box looked at takes
    /// one of `looks`; once there are none left, what comes is of no use.
    pub(crate) fn around<'t>(
        &'t self,
        inner: Bounds,
        size: f64,
        looks: &'t Cell<usize>,
    ) -> impl Iterator<Item = usize> + 't {
        let is_around = move |bounds: &Bounds, most: f64| {
            let left = looks.get().saturating_sub(1);
            looks.set(left);
            left > 0 && most >= size && bounds.holds(&inner, 0.0)
        };
        self.least_first(
            move |node| is_around(&node.bounds, node.most).then_some(node.least),
            move |(bounds, own)| is_around(&bounds, own).then_some(own),
        )
    }

    /// The boxes from the nearest to `p` on, those at the same distance by their index.
    pub(crate) fn nearest(&self, p: Point) -> impl Iterator<Item = usize> + '_ {
        self.least_first(
            move |node| Some(node.bounds.distance(p)),
            move |(bounds, _)| Some(bounds.distance(p)),
        )
    }

    /// The boxes by a key that is not negative, the least first; those without one are left out. The
    /// key of a node is no more than those of the boxes in it.
    fn least_first<'t>(
        &'t self,
        node_key: impl Fn(&Node) -> Option<f64> + 't,
        box_key: impl Fn(SizedBox) -> Option<f64> + 't,
    ) -> impl Iterator<Item = usize> + 't {
        // Keys as bits keep their order. Of equal keys a node comes first, for what is in it.
        let mut waiting = BinaryHeap::new();
        waiting.extend(
            self.nodes
                .len()
                .checked_sub(1)
                .map(|r| Reverse((0, false, r))),
        );
        std::iter::from_fn(move || {
            while let Some(Reverse((_, is_box, index))) = waiting.pop() {
                if is_box {
                    return Some(index);
                }
                match &self.nodes[index].content {
                    Content::Leaf(places) => waiting.extend(places.clone().filter_map(|place| {
                        let index = self.index(place);
                        let key = box_key((self.box_of)(index))?;
                        Some(Reverse((key.to_bits(), true, index)))
                    })),
                    Content::Halves(halves) => waiting.extend(halves.iter().filter_map(|&half| {
                        let key = node_key(&self.nodes[half])?;
                        Some(Reverse((key.to_bits(), false, half)))
                    })),
                }
            }
            None
        })
    }

    /// Whether any box but its own meets box `index`.
    pub(crate) fn has_company(&self, index: usize) -> bool {
        let (own, _) = (self.box_of)(index);
        let mut nodes: Vec<usize> = self.nodes.len().checked_sub(1).into_iter().collect();
        while let Some(node) = nodes.pop() {
            if !self.nodes[node].bounds.meets(&own) {
                continue;
            }
            match &self.nodes[node].content {
                Content::Leaf(places) => {
                    let mut others = places.clone().map(|place| self.index(place));
                    if others.any(|i| i != index && (self.box_of)(i).0.meets(&own)) {
                        return true;
                    }
                }
                Content::Halves(halves) => nodes.extend(halves),
            }
        }
        false
    }

    /// The first answer of `test` for two boxes that may meet; each pair is tested once, and none
    /// after `most` of them.
    pub(crate) fn first_pair<T>(
        &self,
        most: usize,
        mut test: impl FnMut(usize, usize) -> Option<T>,
    ) -> FirstPair<T> {
        let mut n_tested = 0;
        let root = self.nodes.len().checked_sub(1);
        let mut pairs: Vec<(usize, usize)> = root.map(|r| (r, r)).into_iter().collect();
        while let Some((a, b)) = pairs.pop() {
            if !self.nodes[a].bounds.meets(&self.nodes[b].bounds) {
                continue;
            }
            match (&self.nodes[a].content, &self.nodes[b].content) {
                (Content::Leaf(one), Content::Leaf(other)) => {
                    n_tested += one.len() * other.len();
                    if n_tested > most {
                        return FirstPair::GivenUp;
                    }
                    let later = |&(i, j): &(usize, usize)| i < j;
                    let both = one.clone().flat_map(|i| other.clone().map(move |j| (i, j)));
                    let found = both
                        .filter(later)
                        .find_map(|(i, j)| test(self.index(i), self.index(j)));
                    if let Some(found) = found {
                        return FirstPair::Found(found);
                    }
                }
                (&Content::Halves([l, r]), _) if a == b => pairs.extend([(r, r), (l, r), (l, l)]),
                (&Content::Halves([l, r]), Content::Leaf(_)) => pairs.extend([(r, b), (l, b)]),
                (Content::Leaf(_), &Content::Halves([l, r])) => pairs.extend([(a, r), (a, l)]),
                (&Content::Halves([l, r]), &Content::Halves([m, s])) => {
                    pairs.extend([(r, s), (r, m), (l, s), (l, m)]);
                }
            }
        }
        FirstPair::None
    }
}

/// What a search for a pair of boxes came to.
pub(crate) enum FirstPair<T> {
    Found(T),
    /// All pairs were tested in vain.
    None,
    /// It took too many.
    GivenUp,
}

impl<T> FirstPair<T> {
    pub(crate) fn found(self) -> Option<T> {
        match self {
            Self::Found(found) => Some(found),
            Self::None | Self::GivenUp => None,
        }
    }
}

type NodeSpan = (Bounds, f64, f64);

/// The box around both, with the least and the most size in them.
fn united(a: NodeSpan, b: NodeSpan) -> NodeSpan {
    (a.0.union(&b.0), a.1.min(b.1), a.2.max(b.2))
}

/// The first `n` boxes in an order in which neighbours are near each other.
pub(crate) fn order_by_place(n: usize, box_of: impl Fn(usize) -> SizedBox) -> Vec<usize> {
    let mut items: Vec<(Point, f64, usize)> = (0..n)
        .map(|i| (box_of(i), i))
        .map(|((bounds, size), i)| (bounds.centre(), size, i))
        .collect();
    sort_by_place(&mut items);
    items.into_iter().map(|(_, _, i)| i).collect()
}

/// Brings neighbours side by side: halves `items` (place, size, index) by place, across the way the
/// places spread most, and each half again.
fn sort_by_place(items: &mut [(Point, f64, usize)]) {
    if items.len() < 2 {
        return;
    }
    let spread = Bounds::of(items.iter().map(|i| i.0));
    let (wide, high) = spread.map_or((0.0, 0.0), |b| (b.width(), b.height()));
    let half = items.len() / 2;
    items.select_nth_unstable_by(half, |a, b| {
        let by_place = if wide >= high {
            a.0.x.total_cmp(&b.0.x)
        } else {
            a.0.y.total_cmp(&b.0.y)
        };
        // Shapes around one centre are told apart by what they hold.
        let by_size = a.1.total_cmp(&b.1);
        let order = if wide.max(high) > 0.0 {
            by_place.then(by_size)
        } else {
            by_size
        };
        order.then(a.2.cmp(&b.2))
    });
    let (low, high) = items.split_at_mut(half);
    sort_by_place(low);
    sort_by_place(high);
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Squares of side 1 in a field, every tenth of side 30 around its corner.
    fn boxes() -> Vec<Bounds> {
        let corner = |i: usize| Point::new((i * 37 % 100) as f64, (i * 61 % 89) as f64);
        let side = |i: usize| if i.is_multiple_of(10) { 30.0 } else { 1.0 };
        let square = |i| Bounds::at(corner(i)).grown(side(i) / 2.0);
        (0..300).map(square).collect()
    }

    #[test]
    fn what_is_near_or_around_is_what_a_look_at_all_finds() {
        let boxes = boxes();
        let area = |i: usize| boxes[i].width() * boxes[i].height();
        let tree = BoxTree::by_place(boxes.len(), |i| (boxes[i], area(i)));
        for p in [Point::new(50.0, 40.0), Point::new(-3.0, 7.5)] {
            let mut around: Vec<usize> = (0..boxes.len())
                .filter(|&i| boxes[i].holds(&Bounds::at(p), 0.0) && area(i) >= 2.0)
                .collect();
            around.sort_by(|&i, &j| area(i).total_cmp(&area(j)).then(i.cmp(&j)));
            assert!(tree.around(Bounds::at(p), 2.0, &Cell::new(1000)).eq(around));
            let mut near: Vec<usize> = (0..boxes.len()).collect();
            let distance = |i: usize| boxes[i].distance(p);
            near.sort_by(|&i, &j| distance(i).total_cmp(&distance(j)).then(i.cmp(&j)));
            assert!(tree.nearest(p).eq(near));
        }
        for (i, own) in boxes.iter().enumerate() {
            let mut others = boxes.iter().enumerate().filter(|&(j, _)| j != i);
            assert_eq!(tree.has_company(i), others.any(|(_, b)| b.meets(own)));
        }
    }

    #[test]
    fn every_pair_that_meets_is_tested_once() {
        let boxes = boxes();
        let sized = |i: usize| (boxes[i], 0.0);
        for tree in [
            BoxTree::by_place(boxes.len(), sized),
            BoxTree::in_order(boxes.len(), sized),
        ] {
            let mut pairs = Vec::new();
            let all: FirstPair<()> = tree.first_pair(usize::MAX, |i, j| {
                if boxes[i].meets(&boxes[j]) {
                    pairs.push((i.min(j), i.max(j)));
                }
                None
            });
            assert!(matches!(all, FirstPair::None));
            pairs.sort_unstable();
            let meet = (0..boxes.len()).flat_map(|i| (i + 1..boxes.len()).map(move |j| (i, j)));
            assert!(meet.filter(|&(i, j)| boxes[i].meets(&boxes[j])).eq(pairs));
        }
    }
}
