//! What was done to the lines of a drawing, in numbers and in words.

use crate::diag::counted;

/// What was done to the lines of a file so that outlines came of them. Places are in
/// [`super::Pattern::problems`].
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Healing {
    /// Gaps between ends that were closed.
    pub gaps: usize,
    /// The widest of them, mm.
    pub widest_gap_mm: f64,
    /// Lines and outlines left out because they lie on others.
    pub doubles: usize,
    /// Lines without length, outlines too small to be meant or without area, left out.
    pub specks: usize,
    /// Edges of next to no length taken out of boundaries.
    pub tiny_edges: usize,
    /// Spikes cut off boundaries.
    pub spikes: usize,
    /// The longest of them, mm.
    pub longest_spike_mm: f64,
    /// Outlines split where they crossed themselves.
    pub split: usize,
    /// Boundaries drawn clockwise and turned round.
    pub turned: usize,
    /// The largest distance between a curve and the chords that stand for it, mm.
    pub largest_off_mm: f64,
}

impl Healing {
    /// One line of text for each kind of thing that was done; empty if nothing was.
    #[must_use]
    pub fn told(&self) -> Vec<String> {
        let n = counted;
        let all = [
            (self.gaps, {
                let gaps = n(self.gaps, "gap", "gaps");
                format!("closed {gaps}, the widest {:.3} mm", self.widest_gap_mm)
            }),
            (self.doubles, {
                let lines = n(self.doubles, "line", "lines");
                format!("left out {lines} drawn twice")
            }),
            (
                self.specks,
                format!("left out {}", n(self.specks, "speck", "specks")),
            ),
            (self.tiny_edges, {
                let edges = n(self.tiny_edges, "edge", "edges");
                format!("dropped {edges} shorter than 0.001 mm")
            }),
            (self.spikes, {
                let spikes = n(self.spikes, "spike", "spikes");
                format!(
                    "cut off {spikes}, the longest {:.3} mm",
                    self.longest_spike_mm
                )
            }),
            (self.split, {
                let outlines = n(self.split, "outline", "outlines");
                format!("split {outlines} at their crossings")
            }),
            (self.turned, {
                let boundaries = n(self.turned, "boundary", "boundaries");
                format!("turned {boundaries} counter-clockwise")
            }),
            (usize::from(self.largest_off_mm > 0.0), {
                let off = three_digits(self.largest_off_mm);
                format!("curves became short straight lines, at most {off} mm off")
            }),
        ];
        let done = all.into_iter().filter(|(n, _)| *n > 0);
        done.map(|(_, told)| told).collect()
    }
}

/// A small length to the thousandth of a millimetre, upwards, so that it never says too little.
fn three_digits(mm: f64) -> String {
    format!("{:.4}", (mm * 1e4).ceil() / 1e4)
}
