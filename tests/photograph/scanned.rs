//! Images of a scanner: no board, a resolution.

use super::render::{Polygon, circle};
use super::scene::deviation;
use super::usual::{EDGE, ORANGE, messages};
use warpwise::photo::{self, PhotoSettings, Sight};

/// Pixels to the inch of the scans.
const DPI: f64 = 150.0;
const SIZE: [u32; 2] = [2200, 1700];

/// A template with an opening as a scanner sees it, 1.2 mm of its lid around it.
fn template() -> Polygon {
    let placed = |points: &[[f64; 2]]| points.iter().map(|[x, y]| [x - 150.0, y - 120.0]).collect();
    Polygon::new(vec![
        placed(&EDGE),
        placed(&circle(280.0, 300.0, 40.0, 720)),
    ])
}

fn pixels(template: &Polygon) -> Vec<u8> {
    let code = |light: f64| (255.0 * (1.055 * libm::pow(light, 1.0 / 2.4) - 0.055)).round() as u8;
    let mut pixels = Vec::new();
    for y in 0..SIZE[1] {
        for x in 0..SIZE[0] {
            let mut sum = [0.0; 3];
            for k in 0..9 {
                let place =
                    |n: u32, k: u32| (f64::from(n) + (f64::from(k) + 0.5) / 3.0) * 25.4 / DPI;
                let up = f64::from(SIZE[1]) * 25.4 / DPI - place(y, k / 3);
                let is_in = template.contains(place(x, k % 3), up);
                let colour = if is_in { ORANGE } else { [0.9, 0.9, 0.88] };
                (0..3).for_each(|i| sum[i] += colour[i] / 9.0);
            }
            pixels.extend(sum.map(code));
        }
    }
    pixels
}

fn encoded(encoder: impl image::ImageEncoder, pixels: &[u8]) {
    let [width, height] = SIZE;
    let colour = image::ExtendedColorType::Rgb8;
    (encoder.write_image(pixels, width, height, colour)).unwrap();
}

fn png(pixels: &[u8]) -> Vec<u8> {
    let mut file = Vec::new();
    let encoder = image::codecs::png::PngEncoder::new(&mut file);
    encoded(encoder, pixels);
    file
}

/// A PNG with its resolution (pixels to the metre) written in.
fn with_resolution(mut file: Vec<u8>, per_metre: u32) -> Vec<u8> {
    let mut chunk = 9_u32.to_be_bytes().to_vec();
    chunk.extend(b"pHYs");
    chunk.extend([per_metre, per_metre].map(u32::to_be_bytes).concat());
    chunk.push(1);
    // CRC-32 (ISO 3309) of type and content.
    let crc = chunk[4..].iter().fold(!0_u32, |crc, byte| {
        let step = |crc: u32, _| (crc >> 1) ^ (0xedb8_8320 & 0_u32.wrapping_sub(crc & 1));
        (0..8).fold(crc ^ u32::from(*byte), step)
    });
    chunk.extend((!crc).to_be_bytes());
    // After the header.
    file.splice(33..33, chunk);
    file
}

fn jpeg(pixels: &[u8], dpi: u16) -> Vec<u8> {
    let mut file = Vec::new();
    let mut encoder = image::codecs::jpeg::JpegEncoder::new_with_quality(&mut file, 92);
    encoder.set_pixel_density(image::codecs::jpeg::PixelDensity::dpi(dpi));
    encoded(encoder, pixels);
    file
}

fn check(sight: &Sight) {
    let truth = template();
    let [seen] = &sight.templates[..] else {
        panic!("{} templates", sight.templates.len());
    };
    assert_eq!(seen.openings.len(), 1);
    for line in [&seen.edge, &seen.openings[0]] {
        let [rms, most] = deviation(line, truth.rings());
        assert!(rms < 0.1 && most < 0.25, "{rms} {most}");
        assert!(most < 3.0 * sight.error, "{most} {}", sight.error);
    }
}

#[test]
fn a_scan_is_read_by_its_resolution() {
    let pixels = pixels(&template());
    let read = |file: &[u8], dpi: Option<f64>| {
        let mut settings = PhotoSettings::default();
        settings.scan_dpi = dpi;
        photo::read("scan", file, &settings).map_err(|problems| messages(&problems))
    };
    let plain = png(&pixels);
    // 150 pixels to the inch are 5905.5 to the metre.
    check(&read(&with_resolution(plain.clone(), 5906), None).unwrap());
    check(&read(&jpeg(&pixels, DPI as u16), None).unwrap());
    check(&read(&plain, Some(DPI)).unwrap());
    // What a person says counts.
    check(&read(&jpeg(&pixels, 300), Some(DPI)).unwrap());
    let said = read(&jpeg(&pixels, DPI as u16), None).unwrap();
    let warned = |p: &warpwise::diag::Diagnostic| p.message.contains("taken for a scanner");
    assert!(said.told.iter().any(warned));
    // Neither a board nor a resolution that anybody believes.
    for file in [plain, jpeg(&pixels, 72)] {
        let said = read(&file, None).unwrap_err();
        assert!(said.contains("no marks of the board"), "{said}");
    }
}
