//! What a piece would meet at several places around one.

use super::{Pose, Strip};
use crate::nest::measure::{LANES, Steps, cost};

impl Strip<'_> {
    /// Weighted losses that `piece` would have a step of `steps` away from `pose`, to single
    /// precision; early and all above `bound` once they pass it.
    pub(super) fn weighted_losses_around(
        &mut self,
        piece: usize,
        pose: Pose,
        steps: &Steps,
        bound: f64,
    ) -> [f32; LANES] {
        let mut work = cost::EVALUATION_AROUND;
        let variant = self.choice(piece, pose.choice).variant;
        let [x0, x1, y0, y1] = steps.range();
        let frame = self.frame(variant, pose.at);
        let frame = [frame[0] + x0, frame[1] + x1, frame[2] + y0, frame[3] + y1];
        let weights = self.conflicts.weights_of(piece);
        let bound = bound as f32;
        let mut sums = [0.0; LANES];
        let mut add = |j: usize| {
            let losses = self.measure.losses_around(
                (variant, self.variant_of[j] as usize),
                self.at[j] - pose.at,
                steps,
                &mut self.recent,
                &mut work,
            );
            for (sum, loss) in sums.iter_mut().zip(losses) {
                *sum += weights[j] * loss;
            }
            sums.iter().all(|&sum| sum > bound)
        };
        let focused = self.focus.covers(piece, frame);
        let boxes = if focused {
            &self.focus.boxes
        } else {
            &self.boxes
        };
        for k in boxes.met_by(frame) {
            let j = if focused {
                self.focus.members[k] as usize
            } else {
                k
            };
            if j != piece && add(j) {
                break;
            }
        }
        if !focused {
            work += cost::GROUP * self.boxes.n_groups() as u64;
        }
        self.work += work;
        self.counts.evaluations += LANES as u64;
        sums
    }
}
