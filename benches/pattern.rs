//! How long reading and chaining takes, by the number of entities: it should grow in proportion.
//!
//! `cargo bench --bench pattern`

use std::fmt::Write as _;

use divan::counter::ItemsCount;
use warpwise::pattern::{Settings, read};

fn main() {
    divan::main();
}

/// Rounded rectangles of four LINEs and four ARCs each, their entities strewn over the file.
fn strewn_dxf(n_entities: usize) -> String {
    let rectangles = n_entities / 8;
    let columns = rectangles.isqrt().max(1);
    let mut text = String::from("0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n");
    text.push_str("0\nSECTION\n2\nENTITIES\n");
    // A step without a common divisor visits every entity once, far from the one before.
    let step = 7919;
    assert!(
        !(8 * rectangles).is_multiple_of(step),
        "the step must not divide the number"
    );
    for i in (0..8 * rectangles).map(|i| i * step % (8 * rectangles)) {
        let (rectangle, side) = (i / 8, i % 8);
        let (x, y) = (
            (rectangle % columns * 30) as f64,
            (rectangle / columns * 30) as f64,
        );
        entity(&mut text, i, side, x, y);
    }
    text.push_str("0\nENDSEC\n0\nEOF\n");
    text
}

/// One of the eight sides and corners of a rectangle of 20 × 15 mm with corners of 3 mm.
fn entity(text: &mut String, handle: usize, side: usize, x: f64, y: f64) {
    let (w, h, r) = (20.0, 15.0, 3.0);
    let kind = if side < 4 { "LINE" } else { "ARC" };
    _ = write!(text, "0\n{kind}\n5\n{:X}\n8\nCUT\n", handle + 256);
    let line = match side {
        0 => [r, 0.0, w - r, 0.0],
        1 => [w, r, w, h - r],
        2 => [w - r, h, r, h],
        _ => [0.0, h - r, 0.0, r],
    };
    let (cx, cy) = (
        [r, w - r, w - r, r][side % 4],
        [r, r, h - r, h - r][side % 4],
    );
    _ = if side < 4 {
        let [a, b, c, d] = line;
        write!(
            text,
            "10\n{}\n20\n{}\n11\n{}\n21\n{}\n",
            x + a,
            y + b,
            x + c,
            y + d
        )
    } else {
        let start = [180, 270, 0, 90][side % 4];
        let (cx, cy) = (x + cx, y + cy);
        write!(
            text,
            "10\n{cx}\n20\n{cy}\n40\n{r}\n50\n{start}\n51\n{}\n",
            start + 90
        )
    };
}

#[divan::bench(args = [10_000, 100_000, 1_000_000], sample_count = 3, sample_size = 1)]
fn dxf_of_loose_lines_and_arcs(bencher: divan::Bencher, n_entities: usize) {
    let text = strewn_dxf(n_entities);
    let settings = Settings::default();
    bencher.counter(ItemsCount::new(n_entities)).bench(|| {
        let pattern = read("strewn.dxf", text.as_bytes(), &settings).ok();
        let outlines = pattern.map(|p| p.outlines().len());
        assert_eq!(outlines, Some(n_entities / 8));
        outlines
    });
}
