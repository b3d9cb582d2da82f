//! Every colour, by what it stands for.

/// Red, green, blue.
pub(in crate::output) type Colour = [u8; 3];

const fn rgb(hex: u32) -> Colour {
    [(hex >> 16) as u8, (hex >> 8) as u8, hex as u8]
}

/// `colour` as CSS and SVG write it.
pub(in crate::output) fn hex([r, g, b]: Colour) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// Fills that tell parts apart; further parts begin again.
pub(super) const N_TINTS: usize = 6;

/// The colours of one medium.
pub(in crate::output) struct Scheme {
    /// Ground of a page.
    pub(in crate::output) paper: Colour,
    /// Ground of tables and figures on it.
    pub(in crate::output) card: Colour,
    /// Text.
    pub(in crate::output) ink: Colour,
    /// Text and lines of second rank.
    pub(in crate::output) soft: Colour,
    /// Rules between rows; they carry no meaning.
    pub(in crate::output) rule: Colour,
    /// Links, focus.
    pub(in crate::output) accent: Colour,
    /// Things to heed.
    pub(in crate::output) warn: Colour,
    /// The roll.
    pub(in crate::output) cloth: Colour,
    /// Selvedges, margins.
    pub(in crate::output) unused: Colour,
    /// Cut lines.
    pub(in crate::output) cut: Colour,
    /// Net lines.
    pub(in crate::output) net: Colour,
    /// Warp arrow and 0° direction.
    pub(in crate::output) fibre: Colour,
    /// Notches and drill marks.
    pub(in crate::output) mark: Colour,
    /// Where the neighbour of a spliced piece comes to lie.
    pub(in crate::output) splice: Colour,
    /// Flawed areas and faults.
    pub(in crate::output) flaw: Colour,
    /// What is left and kept.
    pub(in crate::output) keep: Colour,
    /// Lines of a hatch.
    pub(in crate::output) hatch: Colour,
    /// The most of something in a chart.
    pub(in crate::output) strong: Colour,
    /// Patterns in a chart.
    pub(in crate::output) mid: Colour,
    /// Fills of parts.
    pub(in crate::output) tints: [Colour; N_TINTS],
}

/// Light screens.
pub(super) const LIGHT: Scheme = Scheme {
    paper: rgb(0xfbfaf7),
    card: rgb(0xffffff),
    ink: rgb(0x1b1f23),
    soft: rgb(0x565d64),
    rule: rgb(0xdad6cd),
    accent: rgb(0x1f5d8c),
    warn: rgb(0x8a3f10),
    cloth: rgb(0xf1eee6),
    unused: rgb(0xd8d2c4),
    cut: rgb(0x16191c),
    net: rgb(0x2a6292),
    fibre: rgb(0x8e5113),
    mark: rgb(0x401c64),
    splice: rgb(0x003d3c),
    flaw: rgb(0x79231b),
    keep: rgb(0x54644b),
    hatch: rgb(0x5c636a),
    strong: rgb(0x2a5479),
    mid: rgb(0x8a6d3b),
    tints: [
        rgb(0xd2ecfa),
        rgb(0xf8e8c9),
        rgb(0xd2e3d1),
        rgb(0xc3c3d2),
        rgb(0xd3c3c3),
        rgb(0xf7f5f4),
    ],
};

/// Dark screens.
pub(super) const DARK: Scheme = Scheme {
    paper: rgb(0x15181b),
    card: rgb(0x1d2125),
    ink: rgb(0xe8e6e1),
    soft: rgb(0xa7adb3),
    rule: rgb(0x3a4046),
    accent: rgb(0x8cc0ea),
    warn: rgb(0xf0a868),
    cloth: rgb(0x24282c),
    unused: rgb(0x363c42),
    cut: rgb(0xf2f0ea),
    net: rgb(0x67bffd),
    fibre: rgb(0xfebc69),
    mark: rgb(0xc69bc4),
    splice: rgb(0xb0ecee),
    flaw: rgb(0xf6937c),
    keep: rgb(0xd0e8be),
    hatch: rgb(0xa5a9ad),
    strong: rgb(0x6fa9d8),
    mid: rgb(0xd1b27c),
    tints: [
        rgb(0x2f5160),
        rgb(0x615238),
        rgb(0x32403b),
        rgb(0x393143),
        rgb(0x422620),
        rgb(0x565656),
    ],
};

/// Paper, for printers that know black only.
pub(super) const PRINT: Scheme = Scheme {
    paper: rgb(0xffffff),
    card: rgb(0xffffff),
    ink: rgb(0x000000),
    soft: rgb(0x404040),
    rule: rgb(0x999999),
    accent: rgb(0x000000),
    warn: rgb(0x000000),
    cloth: rgb(0xffffff),
    unused: rgb(0xdedede),
    cut: rgb(0x000000),
    net: rgb(0x333333),
    fibre: rgb(0x000000),
    mark: rgb(0x000000),
    splice: rgb(0x000000),
    flaw: rgb(0x000000),
    keep: rgb(0x333333),
    hatch: rgb(0x5a5a5a),
    strong: rgb(0x4c4c4c),
    mid: rgb(0x555555),
    tints: [
        rgb(0xf7f7f7),
        rgb(0xe6e6e6),
        rgb(0xd6d6d6),
        rgb(0xc6c6c6),
        rgb(0xb6b6b6),
        rgb(0xffffff),
    ],
};

/// The scheme of pictures and PDFs, which know one only.
pub(in crate::output) const DRAWN: &Scheme = &LIGHT;
/// What sheets for the wall are printed in.
pub(in crate::output) const PRINTED: &Scheme = &PRINT;

/// Colours of pictures, PDFs and cut files.
pub(in crate::output) mod ink {
    use super::{Colour, LIGHT, rgb};

    /// Cut lines and text.
    pub(in crate::output) const BLACK: Colour = LIGHT.ink;
    /// Frames, seams, everything that is not the piece.
    pub(in crate::output) const GREY: Colour = LIGHT.soft;
    /// The same, where it may stand in the way.
    pub(in crate::output) const PALE: Colour = rgb(0xb4b0a8);
    /// Net lines.
    pub(in crate::output) const NET: Colour = LIGHT.net;
    /// Warp and 0° direction.
    pub(in crate::output) const FIBRE: Colour = LIGHT.fibre;
    /// Notches and drill marks.
    pub(in crate::output) const MARK: Colour = LIGHT.mark;
    /// Where the neighbour of a spliced piece comes to lie.
    pub(in crate::output) const SPLICE: Colour = LIGHT.splice;
    /// What is left and kept.
    pub(in crate::output) const KEEP: Colour = LIGHT.keep;
    /// The area of a piece.
    pub(in crate::output) const CLOTH: Colour = LIGHT.tints[0];
    /// Flaws and faults.
    pub(in crate::output) const RED: Colour = LIGHT.flaw;
    /// Codes for machines: as dark as can be.
    pub(in crate::output) const PRINT: Colour = rgb(0x000000);
    /// Paper.
    pub(in crate::output) const WHITE: Colour = rgb(0xffffff);
}

/// The colours of DXF numbers that are the same everywhere (Autodesk DXF reference); 7 is black on
/// paper and white on a dark screen.
pub(in crate::output) const INDEXED: [(u8, Colour); 10] = [
    (7, rgb(0x000000)),
    (1, rgb(0xff0000)),
    (2, rgb(0xffff00)),
    (3, rgb(0x00ff00)),
    (4, rgb(0x00ffff)),
    (5, rgb(0x0000ff)),
    (6, rgb(0xff00ff)),
    (7, rgb(0xffffff)),
    (8, rgb(0x808080)),
    (9, rgb(0xc0c0c0)),
];

/// The colour of a DXF number; black where readers differ.
pub(in crate::output) fn index_colour(index: u8) -> Colour {
    let mut known = INDEXED.iter();
    known
        .find(|(number, _)| *number == index)
        .map_or(ink::PRINT, |(_, colour)| *colour)
}
