//! How wide texts are, in whatever they are written.
//!
//! Pictures and PDFs have the face that is part of the program (see `face/README.md`); a cut file is
//! shown in a face that nobody knows here.

use std::sync::OnceLock;

use ttf_parser::{Face, GlyphId};

use crate::output::style::CAPITALS_PER_SIZE;

/// The font itself.
pub(in crate::output) const FONT: &[u8] = include_bytes!("face/DejaVuSans-latin.ttf");

/// Characters below this one are looked up once: those of the languages of western Europe.
const COMMON: u8 = 0xff;

/// The face, with glyph and advance of the characters that texts are mostly made of.
struct Own {
    face: Face<'static>,
    common: Vec<(GlyphId, u16)>,
}

fn own() -> &'static Own {
    static OWN: OnceLock<Own> = OnceLock::new();
    OWN.get_or_init(|| {
        let face = Face::parse(FONT, 0).expect("the font is part of the program");
        let common = (0..COMMON).map(|c| look_up(&face, c.into())).collect();
        Own { face, common }
    })
}

fn look_up(face: &Face<'_>, c: char) -> (GlyphId, u16) {
    let known = face.glyph_index(c).or_else(|| face.glyph_index('\u{fffd}'));
    let glyph = known.unwrap_or_default();
    (glyph, face.glyph_hor_advance(glyph).unwrap_or(0))
}

/// The program's own face.
pub(in crate::output) fn face() -> &'static Face<'static> {
    &own().face
}

/// The glyph for `c` and its advance in units of the face.
pub(in crate::output) fn glyph(c: char) -> (GlyphId, u16) {
    let common = own().common.get(c as usize);
    common.copied().unwrap_or_else(|| look_up(face(), c))
}

/// The letter that is written for `c`: the face has no minus, so the dash of that length stands for
/// it.
pub(in crate::output) const fn shown(c: char) -> char {
    match c {
        '\u{2212}' => '–',
        c => c,
    }
}

/// Width of `text` in the program's own face, whose capitals are `height` high.
pub(in crate::output) fn width(text: &str, height: f64) -> f64 {
    let units: u32 = text.chars().map(|c| u32::from(glyph(shown(c)).1)).sum();
    let sizes = f64::from(units) / f64::from(face().units_per_em());
    sizes * height / CAPITALS_PER_SIZE
}

/// `text`, cut short with … if it is wider than `most`.
pub(in crate::output) fn fitted(text: &str, height: f64, most: f64) -> String {
    if width(text, height) <= most {
        return text.to_owned();
    }
    let mut short: Vec<char> = text.chars().collect();
    loop {
        short.pop();
        let shown: String = short.iter().chain(&['…']).collect();
        if short.is_empty() || width(&shown, height) <= most {
            return shown;
        }
    }
}

/// Width of `text` in capital heights, on the safe side for the usual sans-serif and plotter faces.
pub(in crate::output) fn usual_width(text: &str) -> f64 {
    text.chars()
        .map(|c| match c {
            ' ' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | '(' | ')' | 'i' | 'j' | 'l' | 'I'
            | '-' | '·' | '°' => 0.6,
            'M' | 'W' | 'm' | 'w' | '@' | '%' => 1.4,
            '0'..='9' => 0.9,
            c if c.is_ascii() => 1.0,
            // Scripts we know nothing about: a full square.
            _ => 1.4,
        })
        .sum()
}
