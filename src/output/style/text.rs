//! Sizes of text.

/// Bounds of the height of capitals in mm.
#[derive(Clone, Copy, Debug)]
pub(in crate::output) struct TextSize {
    /// Smaller letters are not worth writing; less text is written instead.
    pub(in crate::output) least: f64,
    /// Letters never grow beyond this.
    pub(in crate::output) most: f64,
}

/// Height of capitals in the cut files. Below 2 mm a pen on cloth closes the letters up; above
/// 10 mm a label only takes longer to plot.
pub(in crate::output) const CUT_FILE_TEXT: TextSize = TextSize {
    least: 2.0,
    most: 10.0,
};

/// Height of capitals per size of the usual sans-serif faces (0.716 … 0.729 in the common ones).
pub(in crate::output) const CAPITALS_PER_SIZE: f64 = 0.72;

/// Sizes in pictures, pixels: each about a fifth above the next.
pub(in crate::output) const TITLE: f64 = 23.0;
pub(in crate::output) const HEADING: f64 = 19.0;
pub(in crate::output) const BODY: f64 = 16.0;
pub(in crate::output) const NOTE: f64 = 13.0;

/// What made a file, for its properties and at its foot.
pub(in crate::output) const GENERATOR: &str = concat!("warpwise ", env!("CARGO_PKG_VERSION"));
