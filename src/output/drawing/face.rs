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

/// `text` with the height of its capitals: as high as it is to be, lower where it would be wider than `most`, and cut
/// short where it is too wide at the `least` height that can be read.
pub(in crate::output) fn set_within(
    text: &str,
    [least, height]: [f64; 2],
    most: f64,
) -> (String, f64) {
    let fitting = most / width(text, 1.0);
    if fitting >= least {
        // Measured again, a sum of widths may be a hair too wide.
        return (text.to_owned(), height.min(fitting));
    }
    (fitted(text, least, most), least)
}

/// `text` in lines, divided after commas so that each is no wider than `most` where that can be.
pub(in crate::output) fn divided(text: &str, height: f64, most: f64) -> Vec<String> {
    let mut lines = vec![String::new()];
    for words in text.split_inclusive(", ") {
        let longer = lines
            .last()
            .map_or(words.to_owned(), |line| format!("{line}{words}"));
        let fits = width(longer.trim_end(), height) <= most;
        match lines.last_mut() {
            Some(line) if fits || line.is_empty() => *line = longer,
            _ => lines.push(words.to_owned()),
        }
    }
    let lines = lines.into_iter();
    lines.map(|line| line.trim_end().to_owned()).collect()
}

/// Width of `text` in capital heights, on the safe side for the usual sans-serif and plotter faces, and for our own.
pub(in crate::output) fn usual_width(text: &str) -> f64 {
    let usual = |c: char| match c {
        ' ' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | '(' | ')' | 'i' | 'j' | 'l' | 'I'
        | '-' | '·' | '°' => 0.6,
        'M' | 'W' | 'm' | 'w' | '@' | '%' => 1.4,
        '0'..='9' => 0.9,
        c if c.is_ascii() => 1.0,
        // Scripts we know nothing about: a full square.
        _ => 1.4,
    };
    let own = |c: char| width(c.encode_utf8(&mut [0; 4]), 1.0);
    text.chars().map(|c| own(c).max(usual(c))).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is written in our own face is no wider than the room that is kept for it.
    #[test]
    fn our_own_face_is_no_wider_than_is_reckoned() {
        for text in [
            "HOOD-1",
            "GOOD",
            "#12 · 45°",
            "(+45°)",
            "ÄÖÜ",
            "QUAD-10-B#12",
        ] {
            let (own, reckoned) = (width(text, 1.0), usual_width(text));
            assert!(own <= reckoned + 1e-9, "{text}: {own} > {reckoned}");
        }
    }

    #[test]
    fn a_line_gets_lower_before_it_is_cut_short() {
        let line = "face up, cut no. 27 on carbon-twill-1";
        let whole = width(line, 1.0);
        assert_eq!(
            set_within(line, [1.4, 2.1], 2.2 * whole),
            (line.to_owned(), 2.1)
        );
        let (text, height) = set_within(line, [1.4, 2.1], 1.7 * whole);
        assert_eq!(text, line);
        assert!((height - 1.7).abs() < 1e-9);
        let lines = divided(
            "will be seen, bias, line at 72°",
            2.0,
            2.0 * width("will be seen, bias,", 1.0),
        );
        assert_eq!(lines, ["will be seen, bias,", "line at 72°"]);
        let (text, height) = set_within(line, [1.4, 2.1], whole);
        assert!(text.ends_with('…') && height == 1.4 && width(&text, height) <= whole);
    }
}
