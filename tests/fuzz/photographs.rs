//! Broken photographs made from good ones: bytes, segments and chunks that are changed, left out, doubled and
//! cut short, sizes beyond all bounds, colour profiles and orientations that make no sense, small files of many pixels.

use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::{Rng, SeedableRng};
use warpwise::pattern::inspect::Inspection;
use warpwise::pattern::{Settings, see};
use warpwise::photo::board::{Board, BoardPaper};
use warpwise::units::Length;

use crate::render::{Polygon, Shot};
use crate::scene::Table;

const PNG: &[u8] = b"\x89PNG\r\n\x1a\n";

/// Most bytes of a case.
const LARGEST: usize = 8 << 20;

/// Good photographs, and the broken ones made of them.
pub(super) struct Photographs {
    corpus: Vec<Vec<u8>>,
    seed: u64,
}

impl Photographs {
    pub(super) fn new(seed: u64) -> Self {
        let (width, height, colours) = taken();
        let grey: Vec<u8> = colours.chunks(3).map(|p| p[1]).collect();
        let deep: Vec<u8> = grey.iter().flat_map(|&v| [v, 255 - v]).collect();
        let clear: Vec<u8> = (colours.chunks(3))
            .flat_map(|p| [p[0], p[1], p[2], p[0]])
            .collect();
        let size = [width, height];
        let corpus = vec![
            jpeg(&colours, size, image::ExtendedColorType::Rgb8, 90),
            jpeg(&colours, size, image::ExtendedColorType::Rgb8, 30),
            jpeg(&grey, size, image::ExtendedColorType::L8, 80),
            png(size, (8, 2), &colours),
            png(size, (8, 0), &grey),
            png(size, (16, 0), &deep),
            png(size, (8, 6), &clear),
        ];
        Self { corpus, seed }
    }

    /// The file of case `n`.
    pub(super) fn case(&self, n: u64) -> Vec<u8> {
        let mut random = Pcg64Mcg::seed_from_u64(self.seed ^ n.wrapping_mul(0x9e37_79b9_7f4a_7c15));
        let random = &mut random;
        let mut bytes = self.corpus[below(random, self.corpus.len())].clone();
        if below(random, 60) == 0 {
            return bomb(random);
        }
        for _ in 0..1 << below(random, 3) {
            let is_png = bytes.starts_with(PNG);
            match below(random, 8) {
                0 => change_bytes(&mut bytes, random),
                1 => {
                    let at = below(random, bytes.len() + 1);
                    bytes.truncate(at);
                    // As a camera whose card was full may end it.
                    if below(random, 2) == 0 {
                        bytes.extend(if is_png {
                            &b"\0\0\0\0IEND\xae\x42\x60\x82"[..]
                        } else {
                            b"\xff\xd9"
                        });
                    }
                }
                _ if is_png => change_chunks(&mut bytes, random),
                _ => change_segments(&mut bytes, random),
            }
        }
        bytes.truncate(LARGEST);
        bytes
    }

    /// Reads it as `inspect` does; answers something of what came out.
    pub(super) fn feed(&self, n: u64, bytes: &[u8]) -> usize {
        let mut settings = Settings::default();
        let mm = |mm: f64| Some(Length::mm(mm));
        (settings.photo.measured, settings.photo.thickness) = match n % 4 {
            0 => ([mm(200.0), mm(180.0)], mm(2.0)),
            1 => ([mm(1e9), mm(1e-9)], mm(1e9)),
            _ => ([None, None], None),
        };
        let seen = see("fuzz.jpg", bytes, &settings);
        let told = match &seen {
            Ok(pattern) => pattern.problems(),
            Err(problems) => problems,
        };
        let told: usize = told.iter().map(|p| p.message.len()).sum();
        told + Inspection::of([("fuzz.jpg", &seen)]).table().len()
    }

    /// What cases are made of.
    #[allow(dead_code, reason = "asked by the test alone")]
    pub(super) fn good(&self) -> &[Vec<u8>] {
        &self.corpus
    }
}

/// A small board with a plate on it, as a camera sees it: its width, height and colours.
fn taken() -> (u32, u32, Vec<u8>) {
    let board = Board::of_size(BoardPaper::One, 700.0, 540.0).expect("a size of a board");
    let edge = [
        [190.0, 150.0],
        [520.0, 150.0],
        [520.0, 320.0],
        [430.0, 400.0],
        [190.0, 400.0],
    ];
    let table = Table::new(board, Polygon::new(vec![edge.to_vec()]), [0.75, 0.25, 0.08]);
    let shot = Shot {
        width: 1500,
        height: 1125,
        aim: [320.0, 240.0],
        distance: 560.0,
        rays: 2,
        tilt_deg: 10.0,
        ..Shot::default()
    };
    (1500, 1125, shot.take(&table))
}

fn jpeg(
    pixels: &[u8],
    [width, height]: [u32; 2],
    kind: image::ExtendedColorType,
    quality: u8,
) -> Vec<u8> {
    let mut file = Vec::new();
    let encoder = image::codecs::jpeg::JpegEncoder::new_with_quality(&mut file, quality);
    image::ImageEncoder::write_image(encoder, pixels, width, height, kind)
        .expect("as many pixels as it says");
    file
}

/// A PNG file of pixels with so many bits in each of the samples of this colour type.
fn png([width, height]: [u32; 2], (bits, colour): (u8, u8), pixels: &[u8]) -> Vec<u8> {
    let row = pixels.len() / height.max(1) as usize;
    let rows: Vec<u8> = pixels
        .chunks(row.max(1))
        .flat_map(|row| std::iter::once(0).chain(row.iter().copied()))
        .collect();
    let mut file = PNG.to_vec();
    file.extend(chunk(b"IHDR", &header([width, height], bits, colour)));
    file.extend(chunk(b"IDAT", &packed(&rows)));
    file.extend(chunk(b"IEND", &[]));
    file
}

fn packed(bytes: &[u8]) -> Vec<u8> {
    miniz_oxide::deflate::compress_to_vec_zlib(bytes, 3)
}

fn header([width, height]: [u32; 2], bits: u8, colour: u8) -> Vec<u8> {
    [
        &width.to_be_bytes()[..],
        &height.to_be_bytes(),
        &[bits, colour, 0, 0, 0],
    ]
    .concat()
}

fn chunk(kind: &[u8], data: &[u8]) -> Vec<u8> {
    let named = [kind, data].concat();
    let length = (data.len() as u32).to_be_bytes();
    [&length[..], &named, &crc(&named).to_be_bytes()].concat()
}

/// The check sum of a chunk (ISO/IEC 15948, annex D).
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0, |crc, &byte| {
        (0..8).fold(crc ^ u32::from(byte), |c: u32, _| {
            (c >> 1) ^ (0xedb8_8320 * (c & 1))
        })
    })
}

/// A small file of very many pixels.
fn bomb(random: &mut Pcg64Mcg) -> Vec<u8> {
    let side = [3000, 8000, 9000, 20_000][below(random, 4)];
    let (bits, colour, bytes) = [(8, 2, 3), (8, 0, 1), (16, 6, 8), (1, 0, 0)][below(random, 4)];
    let row = 1 + (side * bytes).max(side / 8);
    let rows = vec![0; (row * side).min(64 << 20)];
    let mut file = PNG.to_vec();
    file.extend(chunk(b"IHDR", &header([side as u32; 2], bits, colour)));
    file.extend(chunk(b"IDAT", &packed(&rows)));
    file.extend(chunk(b"IEND", &[]));
    file
}

fn change_bytes(bytes: &mut [u8], random: &mut Pcg64Mcg) {
    // The first bytes decide most.
    let within = [bytes.len(), bytes.len().min(700)][below(random, 2)];
    for _ in 0..1 + below(random, 6) {
        if let Some(byte) = bytes[..within].get_mut(below(random, within)) {
            *byte = random.next_u64() as u8;
        }
    }
}

/// Sizes of pictures that chance alone would not find.
fn size(random: &mut Pcg64Mcg) -> u32 {
    const SIZES: [u32; 12] = [
        0,
        1,
        199,
        200,
        750,
        1000,
        7900,
        16_384,
        16_385,
        65_535,
        1 << 31,
        u32::MAX,
    ];
    SIZES[below(random, SIZES.len())]
}

/// Changes a JPEG file by its segments (ISO/IEC 10918-1, annex B), and leaves what they say of themselves true.
fn change_segments(bytes: &mut Vec<u8>, random: &mut Pcg64Mcg) {
    let segments = segments(bytes);
    let Some(&(from, to)) = segments.get(below(random, segments.len())) else {
        return;
    };
    let is_frame = |&&(from, _): &&(usize, usize)| matches!(bytes[from + 1], 0xc0..=0xc2);
    let frame = segments.iter().find(is_frame).copied();
    match (below(random, 9), frame) {
        (0, Some((at, end))) if end - at >= 9 => {
            let side = (size(random).min(65_535) as u16).to_be_bytes();
            let from = at + [5, 7][below(random, 2)];
            bytes[from..from + 2].copy_from_slice(&side);
        }
        (1, Some((at, end))) if end - at >= 10 => {
            // Samples of a pixel: their number, and how many there are of each.
            let at = at + 9 + below(random, end - at - 9);
            bytes[at] = [0, 1, 2, 3, 4, 0x11, 0x22, 0x41, 0xff][below(random, 9)];
        }
        (2, _) => _ = bytes.drain(from..to),
        (3, _) => {
            let copy = bytes[from..to].to_vec();
            let copies = copy.repeat(1 + below(random, 40));
            bytes.splice(to..to, copies);
        }
        (4 | 5, _) => {
            let exif = [b"Exif\0\0".to_vec(), orientation(random)].concat();
            bytes.splice(2..2, segment(0xe1, &exif));
        }
        (6, _) => {
            // A colour profile in parts, of which some may be missing.
            let mut parts = Vec::new();
            let n = 1 + below(random, 5) as u8;
            for k in 0..n {
                let which = [k + 1, k, 255][below(random, 3)];
                let head = [
                    b"ICC_PROFILE\0".as_slice(),
                    &[which, [n, 0, 255][below(random, 3)]],
                ]
                .concat();
                parts.extend(segment(0xe2, &[head, profile(random)].concat()));
            }
            bytes.splice(2..2, parts);
        }
        (7, _) => {
            // How colours are meant, and how often the scan begins anew.
            let said = match below(random, 2) {
                0 => segment(
                    0xee,
                    &[b"Adobe\0\x64\0\0\0\0".as_slice(), &[below(random, 4) as u8]].concat(),
                ),
                _ => segment(0xdd, &[0, below(random, 4) as u8]),
            };
            bytes.splice(2..2, said);
        }
        _ => {
            // Any marker where another was, or in the scan.
            let at = [from + 1, below(random, bytes.len())][below(random, 2)];
            bytes[at] = [
                0xc0, 0xc1, 0xc2, 0xc4, 0xc9, 0xd0, 0xd7, 0xd8, 0xd9, 0xda, 0xdb, 0xdc, 0xfe,
            ][below(random, 13)];
            if at > from + 1 {
                bytes[at - 1] = 0xff;
            }
        }
    }
}

/// From where to where the segments before the first scan lie, its own head among them.
fn segments(bytes: &[u8]) -> Vec<(usize, usize)> {
    let (mut all, mut at) = (Vec::new(), 2);
    while let Some(&[0xff, marker, high, low]) = bytes.get(at..at + 4) {
        let end = at + 2 + usize::from(u16::from_be_bytes([high, low]));
        if end > bytes.len() || end < at + 4 {
            break;
        }
        all.push((at, end));
        if marker == 0xda {
            break;
        }
        at = end;
    }
    all
}

fn segment(marker: u8, data: &[u8]) -> Vec<u8> {
    let length = (data.len() + 2).min(65_535) as u16;
    [&[0xff, marker][..], &length.to_be_bytes(), data].concat()
}

/// What a camera says of how it was held (Exif 2.3: a TIFF head and one entry), true or not.
fn orientation(random: &mut Pcg64Mcg) -> Vec<u8> {
    let mut said = b"MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0".to_vec();
    said[19] = below(random, 12) as u8;
    match below(random, 6) {
        // No end of entries, a list that leads back to itself, an offset beyond the end.
        0 => said[8..10].copy_from_slice(&[0xff, 0xff]),
        1 => said[22..26].copy_from_slice(&[0, 0, 0, 8]),
        2 => said[4..8].copy_from_slice(&(size(random)).to_be_bytes()),
        3 => said[14..18].copy_from_slice(&(size(random)).to_be_bytes()),
        4 => said.truncate(below(random, 26)),
        _ => {}
    }
    said
}

/// A colour profile's head with a length that may not be its own, and noise.
fn profile(random: &mut Pcg64Mcg) -> Vec<u8> {
    let noise = (0..below(random, 300))
        .map(|_| random.next_u64() as u8)
        .collect();
    [
        size(random).to_be_bytes().to_vec(),
        b"lcms\x04\x30\0\0mntrRGB XYZ ".to_vec(),
        noise,
    ]
    .concat()
}

/// Changes a PNG file by its chunks (ISO/IEC 15948), and makes their check sums true.
fn change_chunks(bytes: &mut Vec<u8>, random: &mut Pcg64Mcg) {
    let mut chunks = chunks(bytes);
    if chunks.is_empty() {
        return;
    }
    let at = below(random, chunks.len());
    match below(random, 9) {
        0 if chunks[0].1.len() == 13 => {
            let side = size(random).to_be_bytes();
            let from = [0, 4][below(random, 2)];
            chunks[0].1[from..from + 4].copy_from_slice(&side);
        }
        1 if chunks[0].1.len() == 13 => {
            let at = 8 + below(random, 5);
            chunks[0].1[at] = [0, 1, 2, 3, 4, 6, 8, 16, 255][below(random, 9)];
        }
        2 => _ = chunks.remove(at),
        3 => {
            let copy = vec![chunks[at].clone(); 1 + below(random, 40)];
            chunks.splice(at..at, copy);
        }
        4 => chunks.insert(1.min(at), (b"eXIf".to_vec(), orientation(random))),
        5 => {
            let inside =
                [profile(random), vec![0; 8 << 20]][usize::from(below(random, 20) == 0)].clone();
            let data = [b"p\0\0".to_vec(), packed(&inside)].concat();
            chunks.insert(1.min(at), (b"iCCP".to_vec(), data));
        }
        6 => {
            let kinds = [
                b"gAMA", b"cHRM", b"sRGB", b"tRNS", b"PLTE", b"sBIT", b"acTL", b"fcTL", b"fdAT",
                b"zTXt", b"tEXt", b"IDAT", b"IEND", b"ABCD",
            ];
            let kind = kinds[below(random, kinds.len())].to_vec();
            let length = [0, 1, 2, 4, 26, 32, 256, 768][below(random, 8)];
            let noise = (0..length).map(|_| random.next_u64() as u8).collect();
            chunks.insert(at, (kind, noise));
        }
        7 => {
            let data = &mut chunks[at].1;
            data.truncate(below(random, data.len() + 1));
        }
        _ => {
            let data = &mut chunks[at].1;
            change_bytes(data, random);
        }
    }
    let rest = chunks.iter().flat_map(|(kind, data)| chunk(kind, data));
    *bytes = PNG.iter().copied().chain(rest).collect();
}

/// Kind and content of every whole chunk.
fn chunks(bytes: &[u8]) -> Vec<(Vec<u8>, Vec<u8>)> {
    let (mut all, mut at) = (Vec::new(), PNG.len());
    while let Some(head) = bytes.get(at..at + 8) {
        let length = u32::from_be_bytes([head[0], head[1], head[2], head[3]]) as usize;
        let Some(data) = bytes.get(at + 8..at + 8 + length) else {
            break;
        };
        all.push((head[4..].to_vec(), data.to_vec()));
        at += 12 + length;
    }
    all
}

fn below(random: &mut Pcg64Mcg, n: usize) -> usize {
    (random.next_u64() % n.max(1) as u64) as usize
}
