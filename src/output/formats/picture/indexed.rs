//! Pixels as a PNG with a palette: a third of the size of full colour, for pictures are sent by mail.
//!
//! The colours met most often are kept as they are, so every fill and line keeps its own; what is left
//! is blends at the edges of letters and lines, and takes the nearest of those.

use std::collections::BTreeMap;

use tiny_skia::Pixmap;

use crate::output::style::Colour;

/// As many as a pixel of one byte can name.
const COLOURS: usize = 256;

/// `pixels` as the bytes of a PNG file, or `None` if they could not be written. Same pixels, same bytes.
///
/// Pixels are taken to be opaque.
pub(super) fn encode(pixels: &Pixmap) -> Option<Vec<u8>> {
    let mut counts: BTreeMap<Colour, u32> = BTreeMap::new();
    for pixel in pixels.pixels() {
        *counts.entry(colour(pixel)).or_default() += 1;
    }
    let palette = palette(&counts);
    let index_of: BTreeMap<Colour, u8> = (counts.keys())
        .map(|&met| (met, nearest(&palette, met)))
        .collect();
    let indices: Vec<u8> = (pixels.pixels().iter())
        .map(|pixel| index_of[&colour(pixel)])
        .collect();

    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, pixels.width(), pixels.height());
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_palette(palette.concat());
    encoder.set_compression(png::Compression::High);
    // By it the program knows a picture of its own before it replaces one.
    encoder
        .add_text_chunk("Software".to_owned(), "warpwise".to_owned())
        .ok()?;
    // Differences of indices mean nothing, so filters would only spoil the runs.
    encoder.set_filter(png::Filter::NoFilter);
    let mut writer = encoder.write_header().ok()?;
    writer.write_image_data(&indices).ok()?;
    writer.finish().ok()?;
    Some(bytes)
}

fn colour(pixel: &tiny_skia::PremultipliedColorU8) -> Colour {
    [pixel.red(), pixel.green(), pixel.blue()]
}

/// The colours met most often, the most frequent first; of equals the darker.
fn palette(counts: &BTreeMap<Colour, u32>) -> Vec<Colour> {
    let mut met: Vec<(Colour, u32)> = counts.iter().map(|(&c, &n)| (c, n)).collect();
    met.sort_by_key(|&(_, n)| std::cmp::Reverse(n));
    met.into_iter().take(COLOURS).map(|(c, _)| c).collect()
}

fn nearest(palette: &[Colour], wanted: Colour) -> u8 {
    let away = |c: &Colour| -> i32 {
        (c.iter().zip(wanted))
            .map(|(&a, b)| (i32::from(a) - i32::from(b)).pow(2))
            .sum()
    };
    let index = (0..palette.len()).min_by_key(|&i| away(&palette[i]));
    // At most 256 colours, so that every index is a byte; an empty picture has no pixel to ask.
    index.map_or(0, |i| i as u8)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

    use std::collections::BTreeSet;

    use tiny_skia::{Color, Pixmap, PremultipliedColorU8};

    /// 400 colours: four fills of many pixels, and single pixels of a scale of greys beside them.
    #[test]
    fn fills_keep_their_colour_and_rare_blends_take_the_nearest() {
        let (wide, high) = (100, 100);
        let fills = [[250, 230, 200], [10, 20, 30], [0, 114, 178], [213, 94, 0]];
        let mut pixels = Pixmap::new(wide, high).unwrap();
        pixels.fill(Color::from_rgba8(255, 255, 255, 255));
        let opaque = |[r, g, b]: [u8; 3]| PremultipliedColorU8::from_rgba(r, g, b, 255).unwrap();
        for (i, pixel) in pixels.pixels_mut().iter_mut().enumerate() {
            *pixel = match i {
                0..396 => opaque([(i % 256) as u8, (i / 2) as u8, (i % 256) as u8]),
                _ => opaque(fills[i % 4]),
            };
        }
        let bytes = super::encode(&pixels).unwrap();
        assert_eq!(bytes, super::encode(&pixels).unwrap());

        let mut decoder = png::Decoder::new(std::io::Cursor::new(&bytes));
        decoder.set_transformations(png::Transformations::EXPAND);
        let mut reader = decoder.read_info().unwrap();
        let mut read = vec![0; reader.output_buffer_size().unwrap()];
        let info = reader.next_frame(&mut read).unwrap();
        assert_eq!((info.width, info.height), (wide, high));
        assert_eq!(info.color_type, png::ColorType::Rgb);
        let away = |a: &[u8], b: &[u8]| -> u32 {
            (a.iter().zip(b))
                .map(|(&a, &b)| u32::from(a.abs_diff(b)).pow(2))
                .sum()
        };
        let shown: BTreeSet<&[u8]> = read.chunks(3).collect();
        assert_eq!(shown.len(), super::COLOURS);
        let mut changed = 0;
        for (was, is) in pixels.pixels().iter().zip(read.chunks(3)) {
            let was = [was.red(), was.green(), was.blue()];
            if fills.contains(&was) {
                assert_eq!(is, was);
            } else {
                changed += usize::from(is != was);
                let nearest = shown.iter().map(|other| away(other, &was)).min();
                assert_eq!(Some(away(is, &was)), nearest, "{was:?} became {is:?}");
            }
        }
        assert!(changed > 0, "nothing had to be approximated");
    }
}
