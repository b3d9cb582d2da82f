//! What was done to the lines of a drawing, in numbers and in words.

use crate::diag::counted;

/// What was done to the lines of a file so that outlines came of them. Places are in
/// [`super::Pattern::problems`].
#[derive(Clone, Copy, Debug, Default, PartialEq)]
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
        let mut told = Vec::new();
        if self.gaps > 0 {
            told.push(format!(
                "closed {}, the widest {:.3} mm",
                counted(self.gaps, "gap", "gaps"),
                self.widest_gap_mm
            ));
        }
        if self.doubles > 0 {
            told.push(format!(
                "left out {} drawn twice",
                counted(self.doubles, "line", "lines")
            ));
        }
        if self.specks > 0 {
            told.push(format!(
                "left out {}",
                counted(self.specks, "speck", "specks")
            ));
        }
        if self.tiny_edges > 0 {
            told.push(format!(
                "dropped {} shorter than 0.001 mm",
                counted(self.tiny_edges, "edge", "edges")
            ));
        }
        if self.spikes > 0 {
            told.push(format!(
                "cut off {}, the longest {:.3} mm",
                counted(self.spikes, "spike", "spikes"),
                self.longest_spike_mm
            ));
        }
        if self.split > 0 {
            told.push(format!(
                "split {} at their crossings",
                counted(self.split, "outline", "outlines")
            ));
        }
        if self.turned > 0 {
            told.push(format!(
                "turned {} counter-clockwise",
                counted(self.turned, "boundary", "boundaries")
            ));
        }
        if self.largest_off_mm > 0.0 {
            told.push(format!(
                "curves became chords, at most {} mm off",
                three_digits(self.largest_off_mm)
            ));
        }
        told
    }
}

/// A small length to the thousandth of a millimetre, upwards, so that it never says too little.
fn three_digits(mm: f64) -> String {
    format!("{:.4}", (mm * 1e4).ceil() / 1e4)
}
