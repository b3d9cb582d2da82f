//! Pictures as pixels: decoded within limits, upright, their light made linear.

use std::io::Cursor;

use image::{DynamicImage, ImageDecoder as _, ImageError, ImageReader, Limits};

use crate::geometry::Point;

/// Most pixels along a side, and in all: 64 megapixels, more than phones give.
const MOST_SIDE: u32 = 16_384;
const MOST_PIXELS: u64 = 64_000_000;
/// Memory that a decoder may take, bytes: 64 megapixels of three bytes, and half as much again.
const MOST_MEMORY: u64 = 300 << 20;
/// Fewer pixels along the shorter side show nothing of use.
const LEAST_SIDE: u32 = 200;
/// Pixels along the longer side of the small picture in which marks are looked for.
const SMALL: usize = 2100;

/// The power of light at which edges are looked for: 1 is light, 1 / 2.4 about the coded values.
const MIXED: f64 = 0.85;

/// Why a picture cannot be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum PictureFault {
    /// Neither JPEG nor PNG, by the name of what it is.
    Format(&'static str),
    /// Too many pixels or too few.
    Size(u32, u32),
    /// What the decoder says.
    Broken(String),
}

/// A picture in colour, upright.
pub(super) struct DecodedPicture {
    pub(super) width: usize,
    pub(super) height: usize,
    /// Red, green and blue of every pixel, row by row.
    bytes: Vec<u8>,
    light: [f32; 256],
    mixed: [f32; 256],
    /// Pixels along the side of a block for which the file keeps one colour; most cameras write 2.
    pub(super) colour_block: usize,
}

/// A small picture in shades of grey.
pub(super) struct Grey {
    pub(super) width: usize,
    pub(super) height: usize,
    pub(super) values: Vec<u8>,
    /// Pixels of the whole picture along the side of one of it.
    pub(super) scale: usize,
}

/// Whether these are the first bytes of a picture file of some sort.
pub(crate) fn is_picture(bytes: &[u8]) -> bool {
    format_of(bytes).is_some()
}

/// What sort of picture begins like this: its name, and whether it is read.
fn format_of(bytes: &[u8]) -> Option<(&'static str, bool)> {
    let brand = bytes
        .get(8..12)
        .filter(|_| bytes.get(4..8) == Some(b"ftyp"));
    let is = |start: &[u8]| bytes.starts_with(start);
    Some(match brand {
        Some(b"heic" | b"heix" | b"hevc" | b"heim" | b"heis" | b"mif1" | b"msf1") => {
            ("HEIC", false)
        }
        Some(b"avif" | b"avis") => ("AVIF", false),
        _ if is(b"\xff\xd8\xff") => ("JPEG", true),
        _ if is(b"\x89PNG\r\n\x1a\n") => ("PNG", true),
        _ if is(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") => ("WebP", false),
        _ if is(b"II*\0") || is(b"MM\0*") => ("TIFF or raw", false),
        _ if is(b"GIF8") => ("GIF", false),
        _ if is(b"BM") && bytes.len() > 26 && bytes[6..10] == [0; 4] => ("BMP", false),
        _ => return None,
    })
}

impl DecodedPicture {
    /// Decodes a JPEG or PNG file, and turns it as its camera says.
    pub(super) fn decoded(file: &[u8]) -> Result<Self, PictureFault> {
        if let Some((name, false)) = format_of(file) {
            return Err(PictureFault::Format(name));
        }
        let broken = |error: ImageError| PictureFault::Broken(error.to_string().trim().to_owned());
        // Decoders fill up what is missing, and a template would end there.
        if file.starts_with(b"\xff\xd8") && !is_whole_jpeg(file) {
            return Err(PictureFault::Broken("it is cut short".to_owned()));
        }
        let mut reader = ImageReader::new(Cursor::new(file))
            .with_guessed_format()
            .map_err(|error| PictureFault::Broken(error.to_string()))?;
        let mut limits = Limits::no_limits();
        limits.max_image_width = Some(MOST_SIDE);
        limits.max_image_height = Some(MOST_SIDE);
        limits.max_alloc = Some(MOST_MEMORY);
        reader.limits(limits);
        let mut decoder = reader.into_decoder().map_err(broken)?;
        let (width, height) = decoder.dimensions();
        let pixels = u64::from(width) * u64::from(height);
        if pixels > MOST_PIXELS || width.min(height) < LEAST_SIDE {
            return Err(PictureFault::Size(width, height));
        }
        let orientation = decoder.orientation().map_err(broken)?;
        let mut image = DynamicImage::from_decoder(decoder).map_err(broken)?;
        image.apply_orientation(orientation);
        let image = image.into_rgb8();
        let pixels = Self::of_pixels(
            image.width() as usize,
            image.height() as usize,
            image.into_raw(),
        );
        Ok(Self {
            colour_block: colour_block(file),
            ..pixels
        })
    }

    fn of_pixels(width: usize, height: usize, bytes: Vec<u8>) -> Self {
        Self {
            width,
            height,
            bytes,
            light: std::array::from_fn(|i| light(i as f64 / 255.0) as f32),
            mixed: std::array::from_fn(|i| libm::pow(light(i as f64 / 255.0), MIXED) as f32),
            colour_block: 1,
        }
    }

    /// Red, green and blue light of a pixel, from 0 to 1.
    pub(super) fn colour(&self, x: usize, y: usize) -> [f32; 3] {
        let at = 3 * (y * self.width + x);
        [0, 1, 2].map(|i| self.light[usize::from(self.bytes[at + i])])
    }

    /// Red, green and blue of a pixel as the file has them.
    pub(super) fn coded(&self, x: usize, y: usize) -> [u8; 3] {
        let at = 3 * (y * self.width + x);
        [0, 1, 2].map(|i| self.bytes[at + i])
    }

    /// Red, green and blue of a pixel on a scale between light and coded values.
    pub(super) fn mixed(&self, x: usize, y: usize) -> [f32; 3] {
        let at = 3 * (y * self.width + x);
        [0, 1, 2].map(|i| self.mixed[usize::from(self.bytes[at + i])])
    }

    /// The colour of the pixel around a place; `None` outside the picture.
    pub(super) fn colour_of(&self, p: Point) -> Option<[f32; 3]> {
        let is_in = p.x >= 0.0 && p.y >= 0.0 && p.x < self.width as f64 && p.y < self.height as f64;
        is_in.then(|| self.colour(p.x as usize, p.y as usize))
    }

    /// Pixels along the side of a pixel of the small picture.
    pub(super) fn scale(&self) -> usize {
        self.width.max(self.height).div_ceil(SMALL).max(1)
    }

    /// How bright a pixel is, from 0 to 1; at the edge goes on as there.
    pub(super) fn brightness(&self, x: isize, y: isize) -> f64 {
        let x = x.clamp(0, self.width as isize - 1) as usize;
        let y = y.clamp(0, self.height as isize - 1) as usize;
        let [r, g, b] = self.colour(x, y).map(f64::from);
        0.25 * r + 0.5 * g + 0.25 * b
    }

    /// The same between the pixels, at a place in pixels.
    pub(super) fn brightness_at(&self, p: Point) -> f64 {
        let (x, y) = (p.x - 0.5, p.y - 0.5);
        let (i, j) = (x.floor(), y.floor());
        let (s, t) = (x - i, y - j);
        let at = |a: isize, b: isize| self.brightness(i as isize + a, j as isize + b);
        (1.0 - t) * ((1.0 - s) * at(0, 0) + s * at(1, 0))
            + t * ((1.0 - s) * at(0, 1) + s * at(1, 1))
    }

    /// How bright a file has it at a place in pixels, from 0 to 1 (JFIF 1.02): what is kept for every pixel.
    pub(super) fn coded_brightness(&self, p: Point) -> f64 {
        between([self.width, self.height], p, |i| {
            let [r, g, b] = [0, 1, 2].map(|k| f64::from(self.bytes[3 * i + k]));
            (0.299 * r + 0.587 * g + 0.114 * b) / 255.0
        })
    }

    /// It in grey, so small that marks are found quickly.
    pub(super) fn small(&self) -> Grey {
        let scale = self.scale();
        let (width, height) = (self.width / scale, self.height / scale);
        let mut values = Vec::with_capacity(width * height);
        for y in 0..height {
            for x in 0..width {
                let mut sum = 0;
                for row in 0..scale {
                    let from = 3 * ((y * scale + row) * self.width + x * scale);
                    let pixels = self.bytes[from..from + 3 * scale].chunks_exact(3);
                    sum += pixels
                        .map(|p| u32::from(p[0]) + 2 * u32::from(p[1]) + u32::from(p[2]))
                        .sum::<u32>();
                }
                values.push((sum / (4 * (scale * scale) as u32)) as u8);
            }
        }
        Grey {
            width,
            height,
            values,
            scale,
        }
    }
}

/// Whether a JPEG file has its end (ISO/IEC 10918-1, annex B): the mark of it after the first scan. In scans a byte 0xFF
/// is never followed by that of the mark.
fn is_whole_jpeg(file: &[u8]) -> bool {
    let mut at = 2;
    while let Some(&[0xff, marker, high, low]) = file.get(at..at + 4) {
        if marker == 0xda {
            return file[at..].windows(2).any(|pair| pair == [0xff, 0xd9]);
        }
        // Bytes 0xFF may fill up before a mark.
        at += match marker {
            0xff => 1,
            _ => 2 + usize::from(u16::from_be_bytes([high, low])),
        };
    }
    false
}

/// Pixels along the side of a block with one colour in a JPEG file, by its frame header (ISO/IEC 10918-1, B.2.2: how often each
/// component is sampled); 1 in any other file.
fn colour_block(file: &[u8]) -> usize {
    let mut at = 2;
    while let Some(&[0xff, marker, high, low]) = file.get(at..at + 4) {
        match marker {
            0xff => {
                at += 1;
                continue;
            }
            // Start of frame, not a table that has a number among them.
            0xc0..=0xcf if !matches!(marker, 0xc4 | 0xc8 | 0xcc) => {
                let Some(&[3, _, brightness, _, _, colour]) = file.get(at + 9..at + 15) else {
                    return 1;
                };
                let block = |part: fn(u8) -> u8| part(brightness) / part(colour).max(1);
                return block(|v| v >> 4).max(block(|v| v & 15)).clamp(1, 4).into();
            }
            0xda => return 1,
            _ => at += 2 + usize::from(u16::from_be_bytes([high, low])),
        }
    }
    1
}

/// Light of a value of a picture, both from 0 to 1 (IEC 61966-2-1, sRGB).
fn light(value: f64) -> f64 {
    if value <= 0.040_45 {
        value / 12.92
    } else {
        libm::pow((value + 0.055) / 1.055, 2.4)
    }
}

/// The value that a picture has for light, both from 0 to 1 (IEC 61966-2-1, sRGB).
pub(super) fn coded(light: f64) -> f64 {
    if light <= 0.003_130_8 {
        12.92 * light
    } else {
        1.055 * libm::pow(light, 1.0 / 2.4) - 0.055
    }
}

impl Grey {
    /// Its value between pixels, in its own pixels.
    pub(super) fn at(&self, p: Point) -> f64 {
        between([self.width, self.height], p, |i| f64::from(self.values[i]))
    }
}

/// The value at `p` between the four pixels around it, of a picture with this width and height whose pixels have
/// these values, row by row.
pub(super) fn between([width, height]: [usize; 2], p: Point, value: impl Fn(usize) -> f64) -> f64 {
    let x = (p.x - 0.5).clamp(0.0, width as f64 - 1.001);
    let y = (p.y - 0.5).clamp(0.0, height as f64 - 1.001);
    let (i, j) = (x as usize, y as usize);
    let (s, t) = (x - x.floor(), y - y.floor());
    let at = |a, b| value((j + b) * width + i + a);
    (1.0 - t) * ((1.0 - s) * at(0, 0) + s * at(1, 0)) + t * ((1.0 - s) * at(0, 1) + s * at(1, 1))
}

#[cfg(test)]
mod tests {
    use super::colour_block;

    /// A frame header with these samples of brightness, behind a comment.
    fn header(marker: u8, brightness: u8) -> Vec<u8> {
        let mut file = b"\xff\xd8\xff\xfe\x00\x05abc\xff".to_vec();
        file.extend([
            marker, 0, 17, 8, 0, 100, 0, 100, 3, 1, brightness, 0, 2, 0x11, 1, 3, 0x11, 1,
        ]);
        file
    }

    #[test]
    fn the_frame_header_of_a_jpeg_says_how_colour_is_kept() {
        assert_eq!(colour_block(&header(0xc0, 0x11)), 1);
        assert_eq!(colour_block(&header(0xc2, 0x22)), 2);
        assert_eq!(colour_block(&header(0xc0, 0x21)), 2);
        // A table of codes is no frame, and what is cut short says nothing.
        assert_eq!(colour_block(&header(0xc4, 0x22)), 1);
        let whole = header(0xc0, 0x22);
        assert!((0..whole.len()).all(|n| colour_block(&whole[..n]) <= 2));
        assert_eq!(colour_block(b"\x89PNG\r\n\x1a\n"), 1);
    }
}
