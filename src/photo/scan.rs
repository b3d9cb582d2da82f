//! A scanner's image: true to scale by its resolution, seen straight from above, with no board.

use std::ops::RangeInclusive;

use super::board::{Board, BoardPaper};
use super::camera::Camera;
use super::fit::BoardPose;
use super::light::Light;
use super::locate::LocatedMarks;
use super::picture::DecodedPicture;
use super::seen::SeenPicture;
use crate::geometry::Point;

/// Pixels to the inch that a file may say without being told: cameras and programs that know nothing of it write 72 or 96.
const BELIEVED: RangeInclusive<f64> = 100.0..=4800.0;
/// How far away (pixels) a scanner's eye is: so far that it looks straight down.
const FAR: f64 = 1e7;
/// Millimetres in an inch, and metres.
const INCH: f64 = 25.4;

/// Pixels to the inch by the file's own word (PNG 3rd edition 11.3.4.3, `pHYs`; JFIF 1.02), unless a camera made it or both ways
/// differ.
pub(super) fn resolution(file: &[u8]) -> Option<f64> {
    let [x, y] = if file.starts_with(b"\x89PNG") {
        of_png(file)?
    } else {
        of_jpeg(file)?
    };
    let same = (x / y - 1.0).abs() < 1e-3;
    (same && BELIEVED.contains(&x)).then_some(x)
}

fn of_png(file: &[u8]) -> Option<[f64; 2]> {
    let mut at = 8;
    while let Some(head) = file.get(at..at + 8) {
        let number = |at: usize| Some(u32::from_be_bytes(file.get(at..at + 4)?.try_into().ok()?));
        match &head[4..] {
            b"pHYs" if file.get(at + 16) == Some(&1) => {
                let of = |at| Some(f64::from(number(at)?) * INCH / 1000.0);
                return Some([of(at + 8)?, of(at + 12)?]);
            }
            b"IDAT" | b"eXIf" => return None,
            _ => at = at.checked_add(12)?.checked_add(number(at)? as usize)?,
        }
    }
    None
}

fn of_jpeg(file: &[u8]) -> Option<[f64; 2]> {
    let mut at = 2;
    let mut found = None;
    while let Some(&[0xff, marker, high, low]) = file.get(at..at + 4) {
        let length = usize::from(u16::from_be_bytes([high, low]));
        let body = file.get(at + 4..at + 2 + length.max(2))?;
        match (marker, body) {
            // JFIF, version, unit, densities.
            (0xe0, [b'J', b'F', b'I', b'F', 0, _, _, unit, rest @ ..]) => {
                let dots = match unit {
                    1 => 1.0,
                    2 => INCH / 10.0,
                    _ => return None,
                };
                let &[a, b, c, d, ..] = rest else { return None };
                found = Some([[a, b], [c, d]].map(|n| f64::from(u16::from_be_bytes(n)) * dots));
            }
            // Cameras tell of themselves there.
            (0xe1, [b'E', b'x', b'i', b'f', ..]) => return None,
            (0xda, _) => return found,
            _ => {}
        }
        at += 2 + length.max(2);
    }
    found
}

/// `picture` as a scan of so many pixels to the inch; the origin is its lower left corner.
pub(super) fn seen(picture: DecodedPicture, dpi: f64) -> SeenPicture {
    let pixels = dpi / INCH;
    let (width, height) = (picture.width as f64, picture.height as f64);
    let middle = Point::new(width / 2.0, height / 2.0);
    let plane = [pixels, 0.0, 0.0, 0.0, -pixels, height, 0.0, 0.0, 1.0];
    let camera =
        Camera::of_homography(FAR, middle, &plane).expect("axes at right angles make a camera");
    let board = Board {
        paper: BoardPaper::One,
        columns: 1,
        rows: 1,
    };
    SeenPicture {
        located: LocatedMarks {
            scene: BoardPose::new(board, camera, FAR, middle, [None; 2]),
            dots: Vec::new(),
            left_pixels: 0.0,
            pixel: 1.0 / pixels,
        },
        picture,
        board,
        dpi: Some(dpi),
    }
}

/// The light of white paper in a scan: nearly the lightest that there is in each colour.
pub(super) fn light(picture: &DecodedPicture) -> Light {
    const LIGHTEST: f64 = 0.98;
    let step = (picture.width * picture.height / 100_000).max(1);
    let places = (0..picture.width * picture.height).step_by(step);
    let seen: Vec<[f32; 3]> = places
        .map(|i| picture.colour(i % picture.width, i / picture.width))
        .collect();
    let white = [0, 1, 2].map(|i| {
        let mut values: Vec<f32> = seen.iter().map(|colour| colour[i]).collect();
        values.sort_by(f32::total_cmp);
        f64::from(values[((values.len() - 1) as f64 * LIGHTEST) as usize])
    });
    Light::even(white)
}
