//! A tree of boxes, to find the smallest shape around something without looking at all of them.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use crate::geometry::{Bounds, Point};

/// Boxes in one leaf.
const LEAF: usize = 4;

/// Boxes with what they hold, halved by place again and again.
pub(super) struct BoxTree {
    items: Vec<Item>,
    nodes: Vec<Node>,
}

#[derive(Clone, Copy)]
struct Item {
    bounds: Bounds,
    area: f64,
    index: usize,
}

struct Node {
    bounds: Bounds,
    least: f64,
    most: f64,
    content: Content,
}

enum Content {
    Leaf { first: usize, end: usize },
    Halves(usize, usize),
}

/// What waits to be looked at, the smallest first.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Waiting {
    /// The area of an item, or the least in a node, with its order kept.
    area: u64,
    what: What,
}

#[derive(PartialEq, Eq, PartialOrd, Ord)]
enum What {
    Item(usize),
    Node(usize),
}

impl BoxTree {
    /// A tree of `boxes`, each with the area of its shape (positive).
    pub(super) fn new(boxes: &[Bounds], areas: &[f64]) -> Self {
        let mut items: Vec<Item> = boxes
            .iter()
            .zip(areas)
            .enumerate()
            .map(|(index, (&bounds, &area))| Item {
                bounds,
                area,
                index,
            })
            .collect();
        let mut nodes = Vec::with_capacity(items.len());
        if !items.is_empty() {
            grow(&mut items, 0, &mut nodes);
        }
        Self { items, nodes }
    }

    /// The indices of the boxes around `bounds` that hold at least `area`, the smallest first.
    pub(super) fn around(&self, bounds: Bounds, area: f64) -> impl Iterator<Item = usize> + '_ {
        let mut waiting = BinaryHeap::new();
        let root = self.nodes.len().checked_sub(1);
        waiting.extend(root.map(|root| {
            Reverse(Waiting {
                area: 0,
                what: What::Node(root),
            })
        }));
        std::iter::from_fn(move || {
            while let Some(Reverse(next)) = waiting.pop() {
                match next.what {
                    What::Item(item) => return Some(self.items[item].index),
                    What::Node(node) => match self.nodes[node].content {
                        Content::Leaf { first, end } => {
                            let fitting = (first..end).filter(|&i| {
                                let item = &self.items[i];
                                item.area >= area && covers(&item.bounds, &bounds)
                            });
                            waiting.extend(fitting.map(|i| {
                                Reverse(Waiting {
                                    area: self.items[i].area.to_bits(),
                                    what: What::Item(i),
                                })
                            }));
                        }
                        Content::Halves(one, other) => {
                            let fitting = [one, other].into_iter().filter(|&n| {
                                let node = &self.nodes[n];
                                node.most >= area && covers(&node.bounds, &bounds)
                            });
                            waiting.extend(fitting.map(|n| {
                                Reverse(Waiting {
                                    area: self.nodes[n].least.to_bits(),
                                    what: What::Node(n),
                                })
                            }));
                        }
                    },
                }
            }
            None
        })
    }
}

/// Adds the tree of `items`, which start at `first`, to `nodes`; its root comes last.
fn grow(items: &mut [Item], first: usize, nodes: &mut Vec<Node>) -> usize {
    let all = items.iter().map(|i| i.bounds).reduce(|a, b| a.union(&b));
    let bounds = all.expect("a node has at least one item");
    let least = items.iter().map(|i| i.area).fold(f64::INFINITY, f64::min);
    let most = items.iter().map(|i| i.area).fold(0.0, f64::max);
    let content = if items.len() <= LEAF {
        Content::Leaf {
            first,
            end: first + items.len(),
        }
    } else {
        let centres = Bounds::of(items.iter().map(|i| i.bounds.centre()));
        let (wide, high) = centres.map_or((0.0, 0.0), |b| (b.width(), b.height()));
        let half = items.len() / 2;
        items.select_nth_unstable_by(half, |a, b| {
            let (p, q) = (a.bounds.centre(), b.bounds.centre());
            let by_place = if wide >= high {
                p.x.total_cmp(&q.x)
            } else {
                p.y.total_cmp(&q.y)
            };
            // Shapes around one centre are told apart by what they hold.
            let by_area = a.area.total_cmp(&b.area);
            let order = if wide.max(high) > 0.0 {
                by_place.then(by_area)
            } else {
                by_area
            };
            order.then(a.index.cmp(&b.index))
        });
        let (low, high) = items.split_at_mut(half);
        let one = grow(low, first, nodes);
        let other = grow(high, first + half, nodes);
        Content::Halves(one, other)
    };
    nodes.push(Node {
        bounds,
        least,
        most,
        content,
    });
    nodes.len() - 1
}

fn covers(outer: &Bounds, inner: &Bounds) -> bool {
    outer.min.x <= inner.min.x
        && outer.min.y <= inner.min.y
        && outer.max.x >= inner.max.x
        && outer.max.y >= inner.max.y
}

/// The box of a single point.
pub(super) fn at(p: Point) -> Bounds {
    Bounds { min: p, max: p }
}
