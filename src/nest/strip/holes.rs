//! Where there is room: points that nothing covers. A piece that looks far afield for a place tries
//! some of them; a place drawn anywhere is mostly covered.

use super::Strip;
use crate::geometry::Point;
use crate::nest::measure::cost;
use crate::nest::random::Random;

/// Points of the strip looked at in each round. More: more holes are known; fewer: faster rounds.
const N_POINTS: usize = 64;
/// Share of the far places that are laid into a hole if there is one.
const INTO_HOLES: f64 = 0.4;

impl Strip<'_> {
    /// Looks for points that nothing covers, anew for each round.
    pub(super) fn find_holes(&mut self, random: &mut Random) {
        self.holes.clear();
        for _ in 0..N_POINTS {
            let x = random.between(0.0, self.length);
            let at = Point::new(x, random.between(0.0, self.scene.width));
            let (x, y) = (at.x as f32, at.y as f32);
            let mut near = self.boxes.met_by([x, x, y, y]);
            let is_covered = near.any(|k| {
                let variant = self.variant_of[k] as usize;
                self.measure.covers(variant, at - self.at[k])
            });
            if !is_covered {
                self.holes.push(at);
            }
        }
        self.work +=
            (cost::EVALUATION + cost::GROUP * self.boxes.n_groups() as u64) * N_POINTS as u64;
    }

    /// Where `variant` covers a hole with some point of its own, now and then.
    pub(super) fn place_in_hole(&self, variant: usize, random: &mut Random) -> Option<Point> {
        if self.holes.is_empty() || random.unit() >= INTO_HOLES {
            return None;
        }
        let hole = self.holes[random.below(self.holes.len())];
        Some(hole - self.measure.point_within(variant, random))
    }
}
