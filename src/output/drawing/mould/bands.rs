//! Shear by steps of whole degrees: what is drawn alike.

/// Steps from nothing to the largest shear.
#[derive(Clone, Copy, Debug)]
pub(super) struct ShearBands {
    step: f64,
    n: usize,
}

/// A step: above its lower degrees and up to the upper.
#[derive(Clone, Copy, Debug)]
pub(super) struct Band {
    from: f64,
    to: f64,
    /// How dark it is drawn, 0 … 1.
    pub(super) shade: f64,
}

/// Degrees of a step, and most steps.
const STEPS: [f64; 4] = [1.0, 2.0, 5.0, 10.0];
const MOST: f64 = 7.0;

/// Shades of the least and the most shear: the first is the white of the part, and black lines stand out from the
/// last.
const SHADES: [f64; 2] = [0.04, 0.62];

impl ShearBands {
    /// That hold all shear up to so many degrees; none below a degree.
    pub(super) fn up_to(degrees: f64) -> Self {
        let step = STEPS.into_iter().find(|step| degrees / step <= MOST);
        let step = step.unwrap_or(STEPS[3]);
        let n = if degrees < STEPS[0] {
            0
        } else {
            (degrees / step).ceil() as usize
        };
        Self { step, n }
    }

    pub(super) fn all(self) -> impl Iterator<Item = Band> {
        let [least, most] = SHADES;
        (0..self.n).map(move |k| Band {
            from: self.step * k as f64,
            // What is drawn between crossings may pass the largest of all cells.
            to: if k + 1 == self.n {
                f64::INFINITY
            } else {
                self.step * (k + 1) as f64
            },
            shade: least + (most - least) * k as f64 / (self.n.max(2) - 1) as f64,
        })
    }
}

impl Band {
    pub(super) fn holds(&self, shear: f64) -> bool {
        (self.from..self.to).contains(&shear)
    }

    pub(super) fn is_shaded(&self) -> bool {
        self.from > 0.0
    }

    /// `10–15`, `20+`.
    pub(super) fn name(&self) -> String {
        match self.to.is_finite() {
            true => format!("{}–{}", self.from, self.to),
            false => format!("{}+", self.from),
        }
    }
}
