//! What reading may cost: at most 64 MB and 200 bytes for each byte of the file, at most a second and 10 µs
//! for each byte. Small files that ask for much more, one for each thing that can be multiplied.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::fmt::Write as _;
use std::sync::Mutex;
use std::time::{Duration, Instant};

use peak_alloc::PeakAlloc;
use warpwise::mould::Mould;
use warpwise::output::Picture;
use warpwise::pattern::inspect::Inspection;
use warpwise::pattern::{Hatches, Settings, see};
use warpwise::units::LengthUnit;

/// Counts what is taken of the heap; made for tests.
#[global_allocator]
static HEAP: PeakAlloc = PeakAlloc;

/// The counter is one for all threads.
static ALONE: Mutex<()> = Mutex::new(());

const MB: usize = 1 << 20;

/// How much slower than a release build on an idle machine the tests may be.
const SLACK: u32 = 30;

/// Reads a drawing and makes all that `inspect` can make of it, within the budget.
fn costs_what_it_is_worth(name: &str, text: &str) {
    let _alone = ALONE.lock().unwrap_or_else(|e| e.into_inner());
    let settings = Settings {
        hatches: Hatches::Outlines,
        ..Settings::default()
    };
    let before = HEAP.current_usage();
    HEAP.reset_peak_usage();
    let start = Instant::now();
    let seen = see(name, text.as_bytes(), &settings);
    let inspection = Inspection::of([(name, &seen)]);
    let mut written = inspection.table().len();
    written += serde_json::to_string_pretty(&inspection).unwrap().len();
    let files = [seen.as_ref().map_err(|problems| (name, problems))];
    let picture = Picture::of(&files);
    written += picture.svg().len();
    drop(picture);
    if let Ok(pattern) = &seen {
        written += pattern.problems().to_string().len();
    }
    let spent = (start.elapsed(), HEAP.peak_usage() - before);
    within_budget(&format!("{name} ({written} written)"), text.len(), spent);
}

/// Reads a mould and makes all that `inspect` can make of it, within the budget.
fn mould_costs_what_it_is_worth(name: &str, bytes: &[u8]) {
    let _alone = ALONE.lock().unwrap_or_else(|e| e.into_inner());
    let before = HEAP.current_usage();
    HEAP.reset_peak_usage();
    let start = Instant::now();
    let read = Mould::read(name, bytes.to_vec(), Some(LengthUnit::Millimetre));
    if let Ok((mould, _)) = read {
        let held = mould.inspect("mm", true);
        assert!(!held.table().is_empty());
        let picture = Picture::of(&[]).with_moulds(&[mould]).svg();
        assert!(
            picture.len() < 300_000,
            "{name}: a picture of {} bytes",
            picture.len()
        );
    }
    let spent = (start.elapsed(), HEAP.peak_usage() - before);
    within_budget(name, bytes.len(), spent);
}

/// Checks the time and the memory that a file of `n` bytes took.
fn within_budget(name: &str, n: usize, (took, peak): (Duration, usize)) {
    let most = 64 * MB + 200 * n;
    assert!(
        peak <= most,
        "{name}: {n} bytes take {} MB of {}",
        peak / MB,
        most / MB
    );
    let most = Duration::from_secs(1) + Duration::from_micros(10) * n as u32;
    assert!(took <= most * SLACK, "{name}: {n} bytes take {took:?}");
}

#[test]
fn moulds_have_a_budget() {
    let grid = |n: usize, height: &dyn Fn(usize) -> usize| {
        let points = each(n * n, |k| format!("v {} {} {}\n", k % n, k / n, height(k)));
        let cells = (0..n * (n - 1)).filter(|k| (k + 1) % n > 0).map(|k| k + 1);
        let faces = cells.map(|a| format!("f {a} {} {} {}\n", a + 1, a + n + 1, a + n));
        points + &faces.collect::<String>()
    };
    // Triangles as large as the mould, one above the other.
    let layers = each(4000, |k| {
        let at = 3 * k + 1;
        format!(
            "v 0 0 {k}\nv 900 0 {k}\nv 0 900 {k}\nf {at} {} {}\n",
            at + 1,
            at + 2
        )
    });
    // One edge of all triangles, one corner of all triangles.
    let book = each(20_000, |k| format!("v {} 9 {k}\nf 1 2 {}\n", k % 97, k + 3));
    let points = each(9000, |k| format!("v {} {} 0\n", k % 90, k / 90));
    let corners = each(9000, |k| format!(" {}", k + 1));
    let groups = each(9000, |k| format!("g group-{k}\nf 1 2 {}\n", k % 8000 + 3));
    for (name, text) in [
        ("grid.obj", grid(120, &|_| 0)),
        ("noise.obj", grid(120, &|k| k * 7919 % 31)),
        ("stairs.obj", grid(120, &|k| 9 * (k / 120 % 7))),
        ("layers.obj", layers),
        ("book.obj", format!("v 0 0 0\nv 0 1 0\n{book}")),
        ("polygon.obj", format!("{points}f{corners}\n")),
        ("groups.obj", format!("{points}{groups}")),
        ("near.obj", format!("{}f 1 2 3\n", each(20_000, |k| format!("v {}e-6 0 0\n", k * 37 % 911)))),
        ("one.obj", format!("v 0 0 0\nv 1 0 0\nv 0 1 0\n{}", "f 1 2 3\n".repeat(20_000))),
        (
            "promise.ply",
            "ply\nformat ascii 1.0\nelement vertex 4000000\nproperty float x\nend_header\n1\n".to_owned(),
        ),
        (
            "list.ply",
            "ply\nformat binary_little_endian 1.0\nelement face 1\nproperty list uint uint vertex_indices\n\
             end_header\n\u{7f}\u{7f}\u{7f}\u{7f}"
                .to_owned(),
        ),
        ("words.stl", format!("solid {}\n{}", "a".repeat(50_000), "facet normal 0 0 0\n".repeat(9000))),
    ] {
        mould_costs_what_it_is_worth(name, text.as_bytes());
    }
}

/// A PNG file of `side` × `side` pixels that are all alike, of so many bytes each.
fn plain_picture(side: u32, kind: image::ExtendedColorType, bytes: usize) -> Vec<u8> {
    let mut file = Vec::new();
    let encoder = image::codecs::png::PngEncoder::new(&mut file);
    let pixels = vec![90; side as usize * side as usize * bytes];
    image::ImageEncoder::write_image(encoder, &pixels, side, side, kind).unwrap();
    file
}

/// A photograph has as many pixels as it says, however small its file: 64 million at most, and beside what its bytes are
/// worth 20 bytes for each. What says more, or is cut short, costs no more than its bytes.
#[test]
fn photographs_have_a_budget_by_their_pixels() {
    // Making them takes memory too.
    let _alone = ALONE.lock().unwrap_or_else(|e| e.into_inner());
    use image::ExtendedColorType::{L8, Rgb8, Rgba16};
    let told = |width: u32, height: u32| {
        let mut file = plain_picture(200, L8, 1);
        file[16..20].copy_from_slice(&width.to_be_bytes());
        file[20..24].copy_from_slice(&height.to_be_bytes());
        file
    };
    let cut = |n: usize| {
        let mut file = plain_picture(2000, Rgb8, 3);
        file.truncate(n);
        file
    };
    // A frame of 65,535 × 65,535 pixels, and no scan (ISO/IEC 10918-1, annex B).
    let frame =
        b"\xff\xd8\xff\xc0\0\x11\x08\xff\xff\xff\xff\x03\x01\x22\0\x02\x11\x01\x03\x11\x01\xff\xd9"
            .to_vec();
    for (name, file, megapixels) in [
        ("grey", plain_picture(7900, L8, 1), 62.5),
        ("colours", plain_picture(6000, Rgb8, 3), 36.0),
        ("deep", plain_picture(4000, Rgba16, 8), 16.0),
        ("deep and large", plain_picture(6500, Rgba16, 8), 42.3),
        ("huge", told(60_000, 60_000), 0.0),
        ("endless", told(u32::MAX, 200), 0.0),
        ("long", told(16_000, 250), 4.0),
        ("cut", cut(60), 4.0),
        ("cut later", cut(3000), 4.0),
        ("frame", frame, 0.0),
    ] {
        let before = HEAP.current_usage();
        HEAP.reset_peak_usage();
        let start = Instant::now();
        let seen = see("picture.png", &file, &Settings::default());
        let (took, peak) = (start.elapsed(), HEAP.peak_usage() - before);
        assert!(seen.is_err(), "{name}: there is no board in it");
        let most = 64 * MB + 200 * file.len() + (megapixels * 20e6) as usize;
        assert!(peak <= most, "{name}: {} MB of {}", peak / MB, most / MB);
        let most = Duration::from_secs(1).mul_f64(1.0 + megapixels / 10.0);
        assert!(took <= most * SLACK, "{name}: {took:?}");
    }
}

fn svg(inside: &str) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"300mm\" height=\"300mm\" viewBox=\"0 0 300 300\">\
         <path id=\"lid\" d=\"M10 10H100V100H10Z\"/>{inside}</svg>"
    )
}

/// An element with the id `x`, shown n × n times.
fn copied(element: &str, n: usize) -> String {
    let inner = "<use href=\"#x\"/>".repeat(n);
    let outer = "<use href=\"#g\"/>".repeat(n);
    svg(&format!(
        "<defs>{element}<g id=\"g\">{inner}</g></defs>{outer}"
    ))
}

/// `one` of every number below `n`.
fn each(n: usize, one: impl Fn(usize) -> String) -> String {
    (0..n).map(one).collect()
}

#[test]
fn what_use_copies_has_one_budget() {
    let words = "word ".repeat(2000);
    let numbers = each(4000, |i| format!("{},{} ", i % 100, i * 7 % 100));
    for (name, element) in [
        ("shape", "<path id=\"x\" d=\"M0 0h9v9z\"/>".to_owned()),
        (
            "hidden-arc",
            "<path id=\"x\" visibility=\"hidden\" d=\"M0 0A9e5 9e5 0 1 1 1 1Z\"/>".to_owned(),
        ),
        (
            "ignored-arc",
            "<path class=\"ignore\" id=\"x\" d=\"M0 0A9e5 9e5 0 1 1 1 1Z\"/>".to_owned(),
        ),
        ("circle", "<circle id=\"x\" r=\"900000\"/>".to_owned()),
        ("far-circle", "<circle id=\"x\" r=\"9e7\"/>".to_owned()),
        (
            "polygon",
            format!("<polygon id=\"x\" visibility=\"hidden\" points=\"{numbers}\"/>"),
        ),
        (
            "polyline",
            format!("<polyline id=\"x\" points=\"{numbers}\"/>"),
        ),
        (
            "text",
            format!("<text id=\"x\" x=\"20\" y=\"20\">{words}</text>"),
        ),
        (
            "letter",
            "<text id=\"x\" x=\"20\" y=\"20\">w</text>".to_owned(),
        ),
        (
            "name",
            format!("<path id=\"x\" class=\"{words}\" d=\"M0 0h9v9z\"/>"),
        ),
        (
            "style",
            format!(
                "<path id=\"x\" style=\"{}\" d=\"M0 0h9v9z\"/>",
                "fill:red;".repeat(3000)
            ),
        ),
        (
            "transform",
            format!(
                "<rect id=\"x\" transform=\"{}\" width=\"5\" height=\"5\"/>",
                "scale(1)".repeat(3000)
            ),
        ),
        (
            "css-transform",
            format!(
                "<rect id=\"x\" style=\"transform:{}\" width=\"5\" height=\"5\"/>",
                "scale(1)".repeat(3000)
            ),
        ),
        (
            "bad-path",
            format!("<path id=\"x\" d=\"M0 0{}q\"/>", "h1".repeat(5000)),
        ),
        (
            "image",
            format!(
                "<image id=\"x\" href=\"data:image/png;base64,{}\"/>",
                "A".repeat(60_000)
            ),
        ),
        (
            "symbol",
            format!(
                "<symbol id=\"x\"><path d=\"{}\"/></symbol>",
                "M0 0h9v9z".repeat(500)
            ),
        ),
        ("unknown", format!("<{} id=\"x\"/>", "u".repeat(30_000))),
    ] {
        costs_what_it_is_worth(&format!("{name}.svg"), &copied(&element, 300));
    }
}

#[test]
fn styles_and_names_grow_with_the_file() {
    let shapes = "<path d=\"M0 0h9v9z\"/>".repeat(3000);
    let long = "L".repeat(60_000);
    let nested = format!("{}{shapes}{}", "<g>".repeat(150), "</g>".repeat(150));
    for (name, inside) in [
        (
            "rules",
            format!(
                "<style>{}</style>{}",
                "a{fill:x}".repeat(10_000),
                "<g/>".repeat(20_000)
            ),
        ),
        (
            "declarations",
            format!(
                "<style>*{{{}}}</style>{}",
                "fill:x;".repeat(10_000),
                "<g/>".repeat(20_000)
            ),
        ),
        (
            "descendants",
            format!(
                "<style>q {}path{{fill:red}}</style>{nested}",
                "g ".repeat(14)
            ),
        ),
        ("sheets", "<style>a{fill:b}</style>".repeat(6000)),
        (
            "classes",
            format!(
                "<style>{}</style><path class=\"{}\" d=\"M0 0h9v9z\"/>",
                each(60_000, |i| format!(".c{i}{{fill:red}}")),
                each(20_000, |i| format!("c{i} "))
            ),
        ),
        (
            "selectors",
            format!(
                "<style>{}a{{{}}}</style>{shapes}",
                "a,".repeat(10_000),
                "fill:x;".repeat(6000)
            ),
        ),
        (
            "declarations-of-one",
            format!(
                "<path style=\"{}\" d=\"M0 0h9v9z\"/>",
                "fill:x;".repeat(60_000)
            ),
        ),
        (
            "sheet-transform",
            format!(
                "<style>path{{transform:{}}}</style>{shapes}",
                "scale(1)".repeat(6000)
            ),
        ),
        (
            "colour",
            format!("<g stroke=\"rgb({}1)\">{shapes}</g>", " ".repeat(60_000)),
        ),
        ("layer", format!("<g id=\"{long}\">{shapes}</g>")),
        (
            "layer-of-texts",
            format!("<g id=\"{long}\">{}</g>", "<text>a</text>".repeat(4000)),
        ),
        (
            "plies",
            "<path d=\"M0 0h9v9z\"/><text x=\"7\" y=\"2\">PLIES 1-400</text>".repeat(3000),
        ),
        (
            "ply-list",
            format!(
                "<text x=\"20\" y=\"20\">PLIES {}</text>",
                "1-400,".repeat(15_000)
            ),
        ),
    ] {
        costs_what_it_is_worth(&format!("{name}.svg"), &svg(&inside));
    }
}

#[test]
fn curves_are_flattened_no_further_than_they_are_kept() {
    for (name, inside) in [
        (
            "arcs",
            format!("<path d=\"M0 0{}z\"/>", "A9e5 9e5 0 1 1 1 1".repeat(6000)),
        ),
        (
            "cubics",
            format!("<path d=\"M0 0{}z\"/>", "c9e5 0 0 9e5 9 9".repeat(6000)),
        ),
        (
            "circles",
            each(5000, |i| format!("<circle r=\"{}\"/>", 900_000 - i)),
        ),
        (
            "holes",
            each(5000, |i| {
                format!(
                    "<circle r=\"5\" cx=\"{}\" cy=\"{}\"/>",
                    i % 100 * 11,
                    i / 100 * 11
                )
            }),
        ),
        (
            "holes-on-holes",
            each(5000, |i| {
                format!("<circle r=\"5\" cx=\"{}\" cy=\"{}\"/>", i % 100, i / 100)
            }),
        ),
        (
            "strokes",
            format!("<path d=\"{}\"/>", "m9 1h1".repeat(30_000)),
        ),
        (
            "loops",
            format!("<path d=\"{}\"/>", "m9 0h1v1z".repeat(20_000)),
        ),
        (
            "in-each-other",
            each(5000, |i| format!("<path d=\"M-{i} -{i}H{i}V{i}H-{i}z\"/>")),
        ),
        (
            "zigzag",
            format!("<path d=\"M0 0{}V-10z\"/>", "l1 1000l1 -1000".repeat(8000)),
        ),
        (
            "huge",
            format!(
                "<g transform=\"scale(1e300)scale(1e-294)\">{}</g>",
                "<circle r=\"1\"/>".repeat(5000)
            ),
        ),
    ] {
        costs_what_it_is_worth(&format!("{name}.svg"), &svg(&inside));
    }
}

#[test]
fn xml_is_refused_before_the_parser_chokes_on_it() {
    let entity = |value: &str, inside: &str| {
        format!("<!DOCTYPE svg [<!ENTITY a \"{value}\">]>{}", svg(inside))
    };
    let prefixes = each(4000, |i| format!("<g xmlns:a{i}=\"u{i}\">"));
    let attributes = each(9000, |i| format!("a{i}=\"\" "));
    for (name, text) in [
        (
            "entity-text",
            entity(
                &"word ".repeat(5000),
                &format!("<text>{}</text>", "&a;".repeat(5000)),
            ),
        ),
        (
            "entity-elements",
            entity(&"<g/>".repeat(5000), &"&a;".repeat(5000)),
        ),
        (
            "entity-path",
            entity(
                &"h1".repeat(9000),
                &format!("<path d=\"M0 0{}\"/>", "&a;".repeat(5000)),
            ),
        ),
        ("prefixes", svg(&(prefixes + &"</g>".repeat(4000)))),
        ("attributes", svg(&format!("<g {attributes}/>").repeat(2))),
        (
            "deep",
            svg(&("<g>".repeat(20_000) + &"</g>".repeat(20_000))),
        ),
        ("texts", svg(&format!("<g>{}</g>", "<a/>x".repeat(40_000)))),
    ] {
        costs_what_it_is_worth(&format!("{name}.svg"), &text);
    }
}

fn dxf(block: &str, entities: &str) -> String {
    format!(
        "0\nSECTION\n2\nBLOCKS\n0\nBLOCK\n2\nB\n10\n0\n20\n0\n{block}0\nENDBLK\n0\nENDSEC\n\
         0\nSECTION\n2\nENTITIES\n0\nLWPOLYLINE\n70\n1\n10\n0\n20\n0\n10\n99\n20\n0\n10\n99\n20\n99\n\
         {entities}0\nENDSEC\n0\nEOF\n"
    )
}

#[test]
fn what_insert_copies_has_one_budget() {
    let bulges = each(300, |i| format!("10\n{i}\n20\n{}\n42\n1000000\n", i % 2));
    let mut spline = "0\nSPLINE\n8\nA\n71\n25\n".to_owned();
    for i in 0_usize..326 {
        _ = write!(spline, "40\n{}\n", i.clamp(25, 300));
    }
    for i in 0..300 {
        _ = write!(
            spline,
            "10\n{}\n20\n{}\n",
            i * 7919 % 900_000,
            i * 104_729 % 900_000
        );
    }
    let fit = each(300, |i| {
        format!("11\n{}\n21\n{}\n", i * 7919 % 900_000, i * 7 % 90)
    });
    let long = "w".repeat(20_000);
    for (name, entity) in [
        (
            "lines",
            "0\nLINE\n8\nA\n10\n0\n20\n0\n11\n9\n21\n5\n".to_owned(),
        ),
        (
            "outlines",
            "0\nLWPOLYLINE\n8\nA\n70\n1\n10\n0\n20\n0\n10\n9\n20\n0\n10\n9\n20\n9\n".to_owned(),
        ),
        (
            "circles",
            "0\nCIRCLE\n8\nA\n10\n0\n20\n0\n40\n900000\n".to_owned(),
        ),
        ("holes", "0\nCIRCLE\n8\nA\n10\n0\n20\n0\n40\n4\n".to_owned()),
        (
            "arcs",
            "0\nARC\n8\nA\n10\n0\n20\n0\n40\n9e9\n50\n0\n51\n359\n".to_owned(),
        ),
        (
            "ellipses",
            "0\nELLIPSE\n8\nA\n10\n0\n20\n0\n11\n900000\n21\n0\n40\n0.5\n41\n0\n42\n600000\n"
                .to_owned(),
        ),
        ("bulges", format!("0\nLWPOLYLINE\n8\nA\n70\n1\n{bulges}")),
        (
            "hatches",
            format!("0\nHATCH\n8\nA\n91\n1\n92\n2\n72\n1\n73\n1\n93\n300\n{bulges}"),
        ),
        ("splines", spline),
        ("fits", format!("0\nSPLINE\n8\nA\n70\n1\n{fit}")),
        ("texts", format!("0\nTEXT\n8\nA\n10\n5\n20\n5\n1\n{long}\n")),
        ("letters", "0\nTEXT\n8\nA\n10\n5\n20\n5\n1\nw\n".to_owned()),
        (
            "paragraphs",
            format!(
                "0\nMTEXT\n8\nA\n10\n5\n20\n5\n{}1\nw\n",
                "3\n{\\fArial;w}\n".repeat(900)
            ),
        ),
        (
            "handles",
            format!("0\nLINE\n5\n{long}\n8\nA\n10\n0\n20\n0\n11\n9\n21\n5\n"),
        ),
        ("unknown", format!("0\n{long}\n8\nA\n")),
        ("nothing", String::new()),
    ] {
        let array = "0\nINSERT\n8\nA\n2\nB\n10\n0\n20\n0\n70\n1000\n71\n1000\n44\n1\n45\n1\n";
        costs_what_it_is_worth(&format!("array-of-{name}.dxf"), &dxf(&entity, array));
        let ignored = entity.replace("\n8\nA", "\n8\nDEFPOINTS");
        costs_what_it_is_worth(
            &format!("array-of-ignored-{name}.dxf"),
            &dxf(&ignored, array),
        );
        let many = entity.repeat((100_000 / entity.len().max(1)).clamp(1, 4000));
        costs_what_it_is_worth(&format!("many-{name}.dxf"), &dxf("", &many));
    }
    let pairs = format!(
        "0\nHATCH\n91\n1\n92\n0\n93\n1\n72\n4\n94\n3\n{}",
        "40\n0\n".repeat(30_000)
    );
    costs_what_it_is_worth("knots.dxf", &dxf("", &pairs));
    let records = each(20_000, |i| format!("0\nX{i}\n"));
    costs_what_it_is_worth("records.dxf", &dxf("", &records));
}

/// Thousands of slivers side by side, each in the boxes of all that are larger: what lies in what is looked
/// for as long as the file is worth, and then that is said.
#[test]
fn piles_of_outlines_are_refused_in_time() {
    let sliver = |layer: &str| {
        format!(
            "0\nLWPOLYLINE\n8\n{layer}\n70\n1\n10\n0\n20\n400\n10\n1000\n20\n1400\n10\n999.999\n20\n1400.001\n"
        )
    };
    let text = "0\nTEXT\n8\n0\n10\n500\n20\n500\n1\nRIB\n";
    for (name, inside) in [
        ("outlines", sliver("0")),
        ("texts", sliver("0") + text),
        ("nets", sliver("NET") + &sliver("CUT")),
    ] {
        let block = |i: usize, inside: &str| {
            format!("0\nBLOCK\n2\nB{i}\n10\n500\n20\n500\n{inside}0\nENDBLK\n")
        };
        let insert = |i: usize, scale: f64| {
            format!("0\nINSERT\n8\n0\n2\nB{i}\n10\n500\n20\n500\n41\n{scale}\n42\n{scale}\n")
        };
        // Each holds the one before twice, once larger: 16,384 sizes.
        let scale = |i: usize| 1.0 + 0.5_f64.powi(i as i32 + 1);
        let twice = |i: usize| block(i + 1, &(insert(i, 1.0) + &insert(i, scale(i))));
        let text = format!(
            "0\nSECTION\n2\nBLOCKS\n{}{}0\nENDSEC\n0\nSECTION\n2\nENTITIES\n{}0\nENDSEC\n0\nEOF\n",
            block(0, &inside),
            each(14, twice),
            insert(14, 1.0)
        );
        let name = format!("pile-of-{name}.dxf");
        costs_what_it_is_worth(&name, &text);
        let told = match see(&name, text.as_bytes(), &Settings::default()) {
            Ok(pattern) => pattern.problems().to_string(),
            Err(problems) => problems.to_string(),
        };
        assert!(told.contains("lie over each other"), "{name}: {told}");
    }
}

/// Perforated sheets: nothing but small circles, or an outline around them.
#[test]
fn thousands_of_small_holes_are_read() {
    let spot = |i: usize| (10 + i % 200 * 10, 10 + i / 200 * 10);
    for n in [5000, 20_000] {
        let circles = each(n, |i| {
            let (x, y) = spot(i);
            format!("<circle cx=\"{x}\" cy=\"{y}\" r=\"3\"/>")
        });
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"2100mm\" height=\"1100mm\" \
             viewBox=\"0 0 2100 1100\">{circles}</svg>"
        );
        let sheet = svg.replace(
            &circles,
            &format!("<path d=\"M0 0H2100V1100H0Z\"/>{circles}"),
        );
        let entities = each(n, |i| {
            let (x, y) = spot(i);
            format!("0\nCIRCLE\n8\n0\n10\n{x}\n20\n{y}\n40\n3\n")
        });
        let dxf = format!("0\nSECTION\n2\nENTITIES\n{entities}0\nENDSEC\n0\nEOF\n");
        for (name, text, outlines) in [
            ("holes.svg", &svg, n),
            ("sheet.svg", &sheet, 1),
            ("holes.dxf", &dxf, n),
        ] {
            costs_what_it_is_worth(name, text);
            let _alone = ALONE.lock().unwrap_or_else(|e| e.into_inner());
            let seen = see(name, text.as_bytes(), &Settings::default()).unwrap();
            assert_eq!(
                seen.outlines().len(),
                outlines,
                "{name}: {}",
                seen.problems()
            );
            assert!(!seen.problems().has_errors(), "{name}");
            let holes = seen.outlines().iter().flat_map(|o| o.outline.rings());
            let areas: Vec<f64> = holes
                .map(|ring| ring.area())
                .filter(|&a| a < 100.0)
                .collect();
            let exact = 9.0 * std::f64::consts::PI;
            assert_eq!(areas.len(), n, "{name}");
            assert!(
                areas.iter().all(|a| (a / exact - 1.0).abs() < 0.01),
                "{name}"
            );
        }
    }
}

/// A drawing that people make is not refused for its size.
#[test]
fn a_panel_full_of_holes_is_read() {
    let holes = each(2400, |i| {
        format!(
            "0\nCIRCLE\n5\n{:X}\n8\nHOLES\n10\n{}\n20\n{}\n40\n3\n",
            256 + i,
            20 + i % 60 * 20,
            20 + i / 60 * 20
        )
    });
    let panel = "0\nLWPOLYLINE\n8\nHOLES\n70\n1\n10\n0\n20\n0\n10\n1240\n20\n0\n10\n1240\n20\n840\n10\n0\n20\n840\n";
    let text = dxf("", &format!("{panel}{holes}")).replacen("99\n", "5\n", 4);
    let seen = see("panel.dxf", text.as_bytes(), &Settings::default()).unwrap();
    let most = seen
        .outlines()
        .iter()
        .map(|o| o.outline.openings.len())
        .max();
    assert_eq!(most, Some(2400), "{}", seen.problems());
}

/// Long lines all over a small file are painted in the time that it is worth.
#[test]
fn scribbles_are_painted_in_time() {
    let points = each(20_000, |i| {
        format!("L{} {}", i * 7919 % 300, i * 104_729 % 299)
    });
    let text = svg(&format!("<path d=\"M0 0{points}\"/>"));
    let _alone = ALONE.lock().unwrap_or_else(|e| e.into_inner());
    let seen = see("scribbles.svg", text.as_bytes(), &Settings::default());
    let start = Instant::now();
    let files = [seen
        .as_ref()
        .map_err(|problems| ("scribbles.svg", problems))];
    assert!(Picture::of(&files).png().is_some());
    let took = start.elapsed();
    let most = Duration::from_secs(1) + Duration::from_micros(10) * text.len() as u32;
    assert!(took <= most * SLACK, "painting takes {took:?}");
}
