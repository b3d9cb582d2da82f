//! Pattern files, read from the outside: cases with their expected tables and messages, closed
//! forms, and a property of chaining.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::f64::consts::{PI, TAU};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use proptest::prelude::*;
use warpwise::diag::{Diagnostics, TextColour};
use warpwise::geometry::trig::{atan2_radians, sin_cos_radians, tan_radians};
use warpwise::geometry::{Point, Ring, Tolerance};
use warpwise::inputs::{InputFile, Inputs};
use warpwise::job::Job;
use warpwise::pattern::inspect::Inspection;
use warpwise::pattern::{
    ChoiceError, CrossingRule, Hatches, Pattern, Selection, Settings, UnitFound, read,
};
use warpwise::ply::{self, MarkKind, Piece, Pieces};
use warpwise::units::LengthUnit;

/// Chords so fine that a closed form can be checked to seven digits.
fn fine() -> Settings {
    Settings {
        tolerance: Tolerance {
            chord: 1e-5,
            ..Tolerance::default()
        },
        ..Settings::default()
    }
}

fn svg(body: &str) -> String {
    format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='1000mm' height='1000mm' \
         viewBox='0 0 1000 1000'>{body}</svg>"
    )
}

/// A DXF in millimetres with `entities`, each given as `code value` pairs in one line per pair.
fn dxf(entities: &str) -> String {
    dxf_in("4", entities)
}

fn dxf_in(unit_code: &str, entities: &str) -> String {
    let head = format!(
        "0 SECTION\n2 HEADER\n9 $ACADVER\n1 AC1015\n9 $INSUNITS\n70 {unit_code}\n0 ENDSEC\n\
         0 SECTION\n2 ENTITIES\n{entities}\n0 ENDSEC\n0 EOF\n"
    );
    let lines = head.lines().map(str::trim).filter(|l| !l.is_empty());
    lines.fold(String::new(), |mut text, line| {
        let (code, value) = line.split_once(' ').unwrap_or((line, ""));
        writeln!(text, "{code}\n{value}").unwrap();
        text
    })
}

fn read_ok(file: &str, text: &str, settings: &Settings) -> Pattern {
    match read(file, text.as_bytes(), settings) {
        Ok(pattern) => pattern,
        Err(problems) => panic!("{}", rendered(&problems)),
    }
}

fn rendered(problems: &Diagnostics) -> String {
    problems
        .iter()
        .map(|p| p.render(TextColour::Plain))
        .collect()
}

fn near(value: f64, expected: f64, relative: f64) {
    let off = (value - expected).abs();
    assert!(
        off <= relative * expected.abs(),
        "{value} is not {expected}: off by {off:e}"
    );
}

// ---- Cases ---------------------------------------------------------------------------------

/// Every folder in tests/cases/pattern holds one input and what is to be said of it. Set
/// `RECORD_CASES=1` to write what is said now; the review is the diff.
#[test]
fn cases_read_as_recorded() {
    let root = Path::new("tests/cases/pattern");
    let mut folders: Vec<PathBuf> = std::fs::read_dir(root)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.is_dir())
        .collect();
    folders.sort();
    assert!(folders.len() > 10, "the cases are there");
    let mut wrong = Vec::new();
    for folder in folders {
        let said = say(&folder);
        let expected = folder.join("expected.txt");
        if std::env::var_os("RECORD_CASES").is_some() {
            std::fs::write(&expected, &said).unwrap();
        } else if std::fs::read_to_string(&expected).unwrap_or_default() != said {
            wrong.push(format!("{}:\n{said}", folder.display()));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The table and the messages for the input of a case.
fn say(folder: &Path) -> String {
    let mut inputs: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.file_stem().is_some_and(|stem| stem == "input"))
        .collect();
    inputs.sort();
    let mut said = String::new();
    for input in inputs {
        let name = input.file_name().unwrap().to_str().unwrap().to_owned();
        let result = read(&name, &std::fs::read(&input).unwrap(), &Settings::default());
        said += &Inspection::of([(name.as_str(), &result)]).table();
        said += &match &result {
            Ok(pattern) => rendered(pattern.problems()),
            Err(problems) => rendered(problems),
        };
    }
    said
}

// ---- Closed forms --------------------------------------------------------------------------

#[test]
fn a_rounded_square_of_bulges_has_the_area_of_its_closed_form() {
    // Bulge of a quarter circle: tan(22.5°) (Autodesk DXF reference, LWPOLYLINE group 42).
    let bulge = tan_radians(PI / 8.0);
    let corner = |x: f64, y: f64, b: f64| format!("10 {x}\n20 {y}\n42 {b}\n");
    let body = [
        corner(10.0, 0.0, 0.0),
        corner(90.0, 0.0, bulge),
        corner(100.0, 10.0, 0.0),
        corner(100.0, 90.0, bulge),
        corner(90.0, 100.0, 0.0),
        corner(10.0, 100.0, bulge),
        corner(0.0, 90.0, 0.0),
        corner(0.0, 10.0, bulge),
    ]
    .concat();
    let text = dxf(&format!("0 LWPOLYLINE\n5 A1\n8 CUT\n90 8\n70 1\n{body}"));
    let expected = 100.0 * 100.0 - (4.0 - PI) * 100.0;
    let exact = read_ok("a.dxf", &text, &fine());
    near(exact.only().unwrap().outline.area(), expected, 1e-7);
    let usual = read_ok("a.dxf", &text, &Settings::default());
    near(usual.only().unwrap().outline.area(), expected, 1e-4);
}

#[test]
fn the_last_bulge_acts_and_a_positive_one_turns_counter_clockwise() {
    // A half circle (bulge 1) from (0,0) to (2000,0) runs through (1000,−1000).
    let text = dxf("0 LWPOLYLINE\n5 A1\n8 CUT\n90 2\n70 1\n10 0\n20 0\n42 1\n10 2000\n20 0\n42 0");
    let pattern = read_ok("a.dxf", &text, &Settings::default());
    let outline = &pattern.only().unwrap().outline;
    near(outline.area(), 0.5 * PI * 1e6, 1e-4);
    near(outline.bounds().min.y, -1000.0, 1e-5);
    // Height of an arc over its chord: b·c/2 (geometry of the bulge): 0.5 · 100 / 2.
    let text =
        dxf("0 LWPOLYLINE\n5 A1\n8 CUT\n90 2\n70 1\n10 0\n20 0\n42 0\n10 100\n20 0\n42 -0.5");
    let pattern = read_ok("a.dxf", &text, &Settings::default());
    let bounds = pattern.only().unwrap().outline.bounds();
    assert!((bounds.min.y - -25.0).abs() < 0.005 || (bounds.max.y - 25.0).abs() < 0.005);
}

#[test]
fn ellipses_have_the_perimeter_of_the_elliptic_integral() {
    // a = 200, b = 120: numerical integral. The same ellipse from both formats.
    let from_svg = svg("<ellipse cx='500' cy='500' rx='200' ry='120'/>");
    let from_dxf =
        dxf("0 ELLIPSE\n5 A\n8 CUT\n10 0\n20 0\n11 0\n21 200\n40 0.6\n41 0\n42 6.283185307");
    for (file, text) in [("a.svg", from_svg), ("a.dxf", from_dxf)] {
        let pattern = read_ok(file, &text, &fine());
        let outline = &pattern.only().unwrap().outline;
        near(outline.outer.perimeter(), 1021.07995454, 1e-6);
        near(outline.area(), PI * 200.0 * 120.0, 1e-6);
    }
    // a = 5, b = 3: Ramanujan (1914), second formula.
    let pattern = read_ok("a.svg", &svg("<ellipse rx='5' ry='3'/>"), &fine());
    near(
        pattern.only().unwrap().outline.outer.perimeter(),
        25.5269988628,
        1e-6,
    );
}

#[test]
fn a_circle_of_four_cubics_is_larger_than_a_circle_by_the_known_ratio() {
    // Constant 4(√2−1)/3; area ratio 1.0002800105, greatest radial error 0.00027253.
    let k = 400.0 * (2.0_f64.sqrt() - 1.0) / 3.0;
    let d = format!(
        "M600,500 C600,{a} {a},600 500,600 S400,{a} 400,500 S{b},400 500,400 S600,{b} 600,500 Z",
        a = 500.0 + k,
        b = 500.0 - k,
    );
    let pattern = read_ok("a.svg", &svg(&format!("<path d='{d}'/>")), &fine());
    let outline = &pattern.only().unwrap().outline;
    near(outline.area() / (PI * 1e4), 1.0002800105, 1e-6);
    let centre = Point::new(500.0, 500.0);
    let furthest = outline
        .outer
        .points()
        .iter()
        .map(|p| p.distance(centre))
        .fold(0.0, f64::max);
    near(furthest / 100.0 - 1.0, 0.00027253, 1e-3);
}

#[test]
fn a_circle_is_a_circle_in_every_way_of_drawing_it() {
    let rational = "0 SPLINE\n5 A\n8 CUT\n70 5\n71 2\n72 12\n73 9\n74 0\n\
        40 0\n40 0\n40 0\n40 1\n40 1\n40 2\n40 2\n40 3\n40 3\n40 4\n40 4\n40 4\n\
        41 1\n41 0.7071067811865476\n41 1\n41 0.7071067811865476\n41 1\n41 0.7071067811865476\n\
        41 1\n41 0.7071067811865476\n41 1\n\
        10 100\n20 0\n10 100\n20 100\n10 0\n20 100\n10 -100\n20 100\n10 -100\n20 0\n\
        10 -100\n20 -100\n10 0\n20 -100\n10 100\n20 -100\n10 100\n20 0";
    let drawn = [
        ("a.dxf", dxf("0 CIRCLE\n5 A\n8 CUT\n10 0\n20 0\n40 100")),
        ("a.dxf", dxf(rational)),
        (
            "a.dxf",
            dxf("0 ARC\n5 A\n8 CUT\n10 0\n20 0\n40 100\n50 30\n51 200\n\
                       0 ARC\n5 B\n8 CUT\n10 0\n20 0\n40 100\n50 200\n51 30"),
        ),
        ("a.svg", svg("<circle cx='200' cy='300' r='100'/>")),
        (
            "a.svg",
            svg("<path d='M100 100a100 100 0 0 1 200 0 100 100 0 0 1-200 0'/>"),
        ),
        (
            "a.svg",
            svg("<g transform='rotate(30) scale(2)'><circle cx='200' r='50'/></g>"),
        ),
    ];
    for (file, text) in drawn {
        let exact = read_ok(file, &text, &fine());
        let outline = &exact.only().unwrap().outline;
        near(outline.area(), PI * 1e4, 1e-6);
        near(outline.outer.perimeter(), TAU * 100.0, 1e-6);
        // And with the usual chords to the hundredth of a millimetre, in the mean all round.
        let usual = read_ok(file, &text, &Settings::default());
        let outline = &usual.only().unwrap().outline;
        let inset = (PI * 1e4 - outline.area()) / (TAU * 100.0);
        assert!((0.0..0.005).contains(&inset), "{inset}");
        assert!((outline.bounds().width() - 200.0).abs() < 0.01);
    }
}

// ---- Frames and units ----------------------------------------------------------------------

#[test]
fn svg_shapes_are_seen_as_drawn_with_y_up_from_the_lower_left() {
    let text = "<svg xmlns='http://www.w3.org/2000/svg' width='4in' height='2in' viewBox='0 0 400 200'>\
                <path d='M0 0 L100 0 L0 50 Z'/></svg>";
    let pattern = read_ok("a.svg", text, &Settings::default());
    assert_eq!(pattern.unit(), UnitFound::File(LengthUnit::Inch));
    let b = pattern.only().unwrap().outline.bounds();
    // 100 units = 1 in; the right angle is at the page's upper left corner.
    near(b.width(), 25.4, 1e-12);
    near(b.max.y, 50.8, 1e-12);
    near(b.min.y, 38.1, 1e-12);
    assert!(
        pattern
            .only()
            .unwrap()
            .outline
            .contains(Point::new(1.0, 50.0))
    );
}

#[test]
fn every_css_unit_gives_the_true_size() {
    for (size, mm) in [
        ("100mm", 100.0),
        ("10cm", 100.0),
        ("4in", 101.6),
        ("72pt", 25.4),
        ("6pc", 25.4),
        ("96px", 25.4),
        ("96", 25.4),
    ] {
        let text = format!(
            "<svg xmlns='http://www.w3.org/2000/svg' width='{size}' height='{size}' \
             viewBox='0 0 10 10'><rect width='10' height='10'/></svg>"
        );
        let pattern = read_ok("a.svg", &text, &Settings::default());
        near(pattern.only().unwrap().outline.bounds().width(), mm, 1e-12);
        let physical = !size.ends_with("px") && size != "96";
        assert_eq!(pattern.unit() != UnitFound::Assumed, physical, "{size}");
    }
}

#[test]
fn the_unit_of_a_dxf_is_the_jobs_or_the_files_or_assumed_aloud() {
    let square =
        "0 LWPOLYLINE\n5 A\n8 0\n90 4\n70 1\n10 0\n20 0\n10 2\n20 0\n10 2\n20 2\n10 0\n20 2";
    let width = |pattern: &Pattern| pattern.only().unwrap().outline.bounds().width();
    let inches = read_ok("a.dxf", &dxf_in("1", square), &Settings::default());
    assert_eq!(
        (inches.unit(), width(&inches)),
        (UnitFound::File(LengthUnit::Inch), 50.8)
    );
    let unstated = read_ok("a.dxf", &dxf_in("0", square), &Settings::default());
    assert_eq!(
        (unstated.unit(), width(&unstated)),
        (UnitFound::Assumed, 2.0)
    );
    assert!(rendered(unstated.problems()).contains("does not say its unit"));
    let given = Settings {
        unit: Some(LengthUnit::Centimetre),
        ..Settings::default()
    };
    let given = read_ok("a.dxf", &dxf_in("1", square), &given);
    assert_eq!(
        (given.unit(), width(&given)),
        (UnitFound::Given(LengthUnit::Centimetre), 20.0)
    );
}

// ---- Choosing ------------------------------------------------------------------------------

#[test]
fn outlines_and_lines_are_chosen_by_layer_label_or_id() {
    let text = svg("<g id='skins'><rect id='left' width='90' height='90'/>\
                    <rect id='right' x='100' width='90' height='90'/>\
                    <text x='120' y='50'>Starboard</text></g>\
                    <g id='core'><rect id='web' x='300' width='90' height='90'/></g>\
                    <g id='zero'><path id='axis' d='M0 200h50'/></g>");
    let pattern = read_ok("a.svg", &text, &Settings::default());
    assert_eq!(pattern.choose("core").unwrap().id, "web");
    assert_eq!(pattern.choose("left").unwrap().layer, "skins");
    assert_eq!(pattern.choose("starboard").unwrap().id, "right");
    assert_eq!(pattern.line("zero").unwrap().id, "axis");
    assert_eq!(pattern.line("axis").unwrap().points[1].x, 50.0);
    let ids = vec!["left".to_owned(), "right".to_owned()];
    let name = "skins".to_owned();
    assert_eq!(
        pattern.choose("skins").unwrap_err(),
        ChoiceError::Ambiguous { name, ids }
    );
    let Err(ChoiceError::Unknown { known, .. }) = pattern.choose("cores") else {
        panic!("there is no layer cores");
    };
    assert_eq!(
        known,
        ["skins", "core", "Starboard", "left", "right", "web"]
    );
}

// ---- Settings ------------------------------------------------------------------------------

/// The area of every outline, to the hundredth of a mm², in the order of the file.
fn areas(pattern: &Pattern) -> Vec<f64> {
    let area = |o: &warpwise::pattern::PatternOutline| (o.outline.area() * 100.0).round() / 100.0;
    pattern.outlines().iter().map(area).collect()
}

fn case(name: &str) -> String {
    let folder = Path::new("tests/cases/pattern").join(name);
    let input = ["input.svg", "input.dxf"].map(|f| folder.join(f));
    std::fs::read_to_string(input.iter().find(|f| f.exists()).unwrap()).unwrap()
}

#[test]
fn pixels_take_another_size_if_asked_for() {
    let text = "<svg xmlns='http://www.w3.org/2000/svg' width='720' height='720'>\
                <rect width='72' height='36'/></svg>";
    let settings = Settings {
        dpi: Some(72.0),
        ..Settings::default()
    };
    let pattern = read_ok("a.svg", text, &settings);
    assert_eq!(pattern.unit(), UnitFound::Pixels(72.0));
    let b = pattern.only().unwrap().outline.bounds();
    near(b.width(), 25.4, 1e-12);
    near(b.max.y, 254.0, 1e-12);
    // A physical size needs no guess.
    let text = text.replace(
        "'720' height='720'",
        "'720mm' height='720mm' viewBox='0 0 720 720'",
    );
    let pattern = read_ok("a.svg", &text, &settings);
    near(
        pattern.only().unwrap().outline.bounds().width(),
        72.0,
        1e-12,
    );
}

#[test]
fn layers_and_colours_select_and_hatches_are_read_if_asked_for() {
    let text = case("dxf-hatch-points-and-colours");
    let only = |layers: &[&str], colours: &[&str], hatches: Hatches| Settings {
        hatches,
        only: Selection {
            layers: layers.iter().map(|&l| l.to_owned()).collect(),
            colours: colours.iter().map(|c| c.parse().unwrap()).collect(),
        },
        ..Settings::default()
    };
    let read = |settings: &Settings| read_ok("a.dxf", &text, settings);
    let all = read(&only(&[], &[], Hatches::Outlines));
    assert_eq!(areas(&all), [5000.0, 2500.0, 600.0]);
    let by_layer = read(&only(&["blue"], &[], Hatches::LeftOut));
    assert_eq!(areas(&by_layer), [2500.0]);
    // Marks are read in any case.
    assert_eq!(by_layer.marks().len(), 3);
    assert_eq!(
        areas(&read(&only(&[], &["red"], Hatches::LeftOut))),
        [5000.0]
    );
    assert_eq!(
        areas(&read(&only(&[], &["#0000ff"], Hatches::LeftOut))),
        [2500.0]
    );
    let text = svg("<g stroke='red'><rect width='90' height='10'/>\
                    <rect width='50' height='10' y='20' style='stroke: blue'/></g>\
                    <rect width='30' height='10' y='40' fill='#00f' stroke='none'/>");
    let blue = read_ok("a.svg", &text, &only(&[], &["blue"], Hatches::LeftOut));
    assert_eq!(areas(&blue), [500.0, 300.0]);
}

#[test]
fn outlines_that_cross_themselves_are_split_only_if_asked_for() {
    let text = case("svg-spikes-specks-and-every-crossing");
    let refused = read_ok("a.svg", &text, &Settings::default());
    assert_eq!((refused.outlines().len(), refused.refused().len()), (2, 1));
    assert!(refused.problems().has_errors());
    let split = Settings {
        crossing: CrossingRule::Split,
        ..Settings::default()
    };
    let split = read_ok("a.svg", &text, &split);
    assert_eq!(areas(&split), [1750.0, 1750.0, 3400.0, 3000.0]);
    assert_eq!((split.healing().split, split.healing().spikes), (1, 1));
    assert!(!split.problems().has_errors());
}

#[test]
fn the_deviation_told_is_that_of_the_chords() {
    let pattern = read_ok("a.svg", &svg("<circle r='100'/>"), &Settings::default());
    let n = pattern.only().unwrap().outline.outer.points().len() as f64;
    let (_, cos) = sin_cos_radians(PI / n);
    near(pattern.healing().largest_off_mm, 100.0 * (1.0 - cos), 1e-9);
    assert!(pattern.healing().largest_off_mm <= Tolerance::default().chord);
}

// ---- Hostile files -------------------------------------------------------------------------

#[test]
fn small_files_that_ask_for_much_get_little() {
    let begin = std::time::Instant::now();
    let block = "0 BLOCK\n2 A\n10 0\n20 0\n0 CIRCLE\n8 0\n10 0\n20 0\n40 900\n0 ENDBLK\n";
    let insert = "0 INSERT\n8 0\n2 A\n10 0\n20 0\n70 32767\n71 32767\n44 1\n45 1";
    let copies = dxf(insert).replace(
        "0\nSECTION\n2\nENTITIES",
        &format!(
            "0\nSECTION\n2\nBLOCKS\n{}0\nENDSEC\n0\nSECTION\n2\nENTITIES",
            block.replace(' ', "\n")
        ),
    );
    let nested = "<g>".repeat(100_000) + &"</g>".repeat(100_000);
    let doubling: String = (0..40)
        .map(|i| {
            format!(
                "<g id='g{}'><use href='#g{i}'/><use href='#g{i}'/></g>",
                i + 1
            )
        })
        .collect();
    let doubling = format!(
        "<defs><g id='g0'><rect width='9' height='9'/></g>{doubling}</defs><use href='#g40'/>"
    );
    let files = [
        ("a.dxf", copies),
        (
            "a.dxf",
            dxf("0 LWPOLYLINE\n90 1000000000\n70 1\n10 0\n20 0\n10 9\n20 0\n10 9\n20 9"),
        ),
        ("a.dxf", dxf("0 CIRCLE\n10 1e300\n20 0\n40 1e300")),
        ("a.dxf", dxf("0 SPLINE\n71 25\n10 0\n20 0")),
        (
            "a.dxf",
            "AutoCAD Binary DXF\r\n\u{1a}\0\0\0SECTION\0".to_owned(),
        ),
        ("a.svg", svg(&nested)),
        ("a.svg", svg(&doubling)),
        ("a.svg", svg("<path d='M0 0L1e300 1e300 1e309 0z'/>")),
        ("a.svg", svg("<path d='M0 0A1e300 1e300 0 1 1 5 5z'/>")),
        (
            "a.svg",
            format!(
                "<!DOCTYPE svg [<!ENTITY a '{0}'><!ENTITY b '{1}'>]>{2}",
                "&b;".repeat(99),
                "&a;".repeat(99),
                svg("&a;")
            ),
        ),
        (
            "a.svg",
            svg("<text x='1e999' y='nan'>QTY 4294967296</text>"),
        ),
    ];
    for (file, text) in files {
        // Whatever is said of them, it is said soon.
        _ = read(file, text.as_bytes(), &Settings::default());
    }
    assert!(begin.elapsed().as_secs() < 60, "{:?}", begin.elapsed());
}

#[test]
fn text_in_old_code_pages_and_broken_utf8_is_read() {
    let body = "0 LWPOLYLINE\n8 Fl\u{1}gel\n90 3\n70 1\n10 0\n20 0\n10 90\n20 0\n10 90\n20 90";
    let mut bytes = dxf(body).into_bytes();
    let at = bytes.iter().position(|&b| b == 1).unwrap();
    bytes[at] = 0xfc;
    let pattern = read("a.dxf", &bytes, &Settings::default()).unwrap();
    assert_eq!(pattern.only().unwrap().layer, "Flügel");
    let mut bytes = svg("<g id='x\u{1}'><rect width='90' height='9'/></g>").into_bytes();
    let at = bytes.iter().position(|&b| b == 1).unwrap();
    bytes[at] = 0xfc;
    assert!(read("a.svg", &bytes, &Settings::default()).is_ok());
}

// ---- From the drawing to the pieces --------------------------------------------------------

/// The pieces of a job with one part drawn in `drawing`; `more` are keys of the part.
fn pieces_of(drawing: &str, more: &str) -> Result<(Pieces, Diagnostics), Diagnostics> {
    let text = format!(
        "[cloth.g]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1.27 m\"\n\
         [[part]]\nname = \"P\"\npattern = \"a.svg\"\ncloth = \"g\"\ntrim = \"20 mm\"\n{more}\n"
    );
    let (job, _) = Job::read("job.toml", &text)?;
    let open = &mut |name: &str| Ok(vec![InputFile::new(name, drawing.as_bytes().to_vec())]);
    ply::pieces(&Inputs::read(job, open)?.0)
}

#[test]
fn what_is_drawn_beside_outlines_reaches_the_pieces() {
    let drawing = case("svg-marks-and-drawn-cut-lines");
    let (pieces, said) = pieces_of(&drawing, "layup = \"[0/45]\"").unwrap();
    let [skin, core] = &pieces[..] else {
        panic!("two plies, by the numbers in the drawing");
    };
    // The skin's cut line is drawn, 10 mm outside; the core gets 20 mm all round.
    near(skin.cut().area(), 220.0 * 120.0, 1e-9);
    near(skin.net().area(), 200.0 * 100.0, 1e-9);
    near(core.cut().bounds().width(), 240.0, 1e-6);
    assert_eq!((skin.sets(), core.sets()), (2, 2), "as QTY 2 says");
    let count = |piece: &Piece, kind| piece.marks().iter().filter(|m| m.kind == kind).count();
    // The notch as drawn, and a tick to the cut line; a circle and its cross.
    assert_eq!(
        (count(skin, MarkKind::Notch), count(skin, MarkKind::Drill)),
        (2, 3)
    );
    assert_eq!(
        (count(core, MarkKind::Notch), count(core, MarkKind::Drill)),
        (2, 3)
    );
    let said = rendered(&said);
    for part in [
        "0° direction of part `P` is that of the line",
        "2 sets",
        "drawn on layer CUT",
        "overlap",
    ] {
        assert!(said.contains(part), "{part}: {said}");
    }
    // The job's word counts more.
    let (pieces, _) = pieces_of(&drawing, "layup = \"[0]\"\nsets = 5").unwrap();
    assert_eq!(pieces[0].sets(), 5);
}

#[test]
fn a_drawing_seen_from_the_tool_side_turns_its_marks_over_too() {
    let drawing = case("svg-marks-and-drawn-cut-lines");
    let of = |side: &str| {
        let more = format!("layup = \"[0]\"\nseen_from = \"{side}\"");
        pieces_of(&drawing, &more).unwrap().0[0].clone()
    };
    let (bag, tool) = (of("bag"), of("tool"));
    assert_eq!(bag.marks().len(), tool.marks().len());
    for (a, b) in bag.marks().iter().zip(tool.marks()) {
        for (p, q) in a.points.iter().zip(&b.points) {
            assert!((p.x - q.x).abs() < 1e-9 && (p.y + q.y).abs() < 1e-9);
        }
    }
}

#[test]
fn a_layer_called_cut_alone_is_doubted_until_the_job_says_what_it_is() {
    let drawing = svg("<g id='CUT'><rect width='200' height='100'/></g>");
    let area = |more: &str| {
        let (pieces, said) = pieces_of(&drawing, &format!("layup = \"[0]\"\n{more}")).unwrap();
        (pieces[0].cut().area().round(), rendered(&said))
    };
    let (unsaid, doubt) = area("");
    assert!(
        unsaid > 20_000.0 && doubt.contains("taken for the finished edge"),
        "{doubt}"
    );
    let (cut, said) = area("[part.drawing]\ncut = \"CUT\"");
    assert_eq!(cut, 20_000.0);
    assert!(said.contains("no allowance is added"));
    let (net, said) = area("[part.drawing]\nnet = \"CUT\"");
    assert_eq!((net, said.as_str()), (unsaid, ""));
}

#[test]
fn quantities_that_disagree_are_a_question() {
    let drawing = svg(
        "<rect id='a' width='90' height='90'/><text x='9' y='50'>A QTY 2</text>\
                       <rect id='b' x='100' width='90' height='90'/><text x='109' y='50'>B QTY 3</text>",
    );
    let plies =
        "[[part.ply]]\nangle = 0\noutline = \"A\"\n[[part.ply]]\nangle = 0\noutline = \"B\"";
    let problems = pieces_of(&drawing, plies).unwrap_err();
    assert!(rendered(&problems).contains("different quantities"));
    let (pieces, _) = pieces_of(&drawing, &format!("sets = 2\n{plies}")).unwrap();
    assert_eq!(pieces.len(), 2);
}

// ---- The command ---------------------------------------------------------------------------

#[test]
fn inspect_draws_what_it_sees() {
    let temp = tempfile::tempdir().unwrap();
    let (svg, png) = (temp.path().join("seen.svg"), temp.path().join("seen.png"));
    assert_cmd::Command::cargo_bin("warpwise")
        .unwrap()
        .args(["inspect", "--quiet", "--svg"])
        .arg(&svg)
        .arg("--png")
        .arg(&png)
        .arg("tests/cases/pattern/svg-marks-and-drawn-cut-lines/input.svg")
        .assert()
        .success()
        .stdout("");
    let svg = std::fs::read_to_string(svg).unwrap();
    assert!(svg.contains("SKIN") && svg.contains("0°"));
    assert!(std::fs::read(png).unwrap().starts_with(b"\x89PNG"));
}

// ---- Chaining ------------------------------------------------------------------------------

/// A star-shaped boundary about the origin: radius, and bulge of the edge to the next vertex.
fn boundary() -> impl Strategy<Value = Vec<(f64, f64)>> {
    let bulge = prop_oneof![Just(0.0), -0.2..0.3];
    prop::collection::vec((50.0..400.0, bulge), 5..40)
}

fn vertices(boundary: &[(f64, f64)]) -> Vec<Point> {
    let n = boundary.len() as f64;
    boundary
        .iter()
        .enumerate()
        .map(|(i, &(r, _))| {
            let (sin, cos) = sin_cos_radians(i as f64 / n * TAU);
            Point::new(r * cos, r * sin)
        })
        .collect()
}

fn as_polyline(boundary: &[(f64, f64)]) -> String {
    let mut entity = format!("0 LWPOLYLINE\n8 CUT\n90 {}\n70 1\n", boundary.len());
    for (p, (_, bulge)) in vertices(boundary).iter().zip(boundary) {
        write!(entity, "10 {}\n20 {}\n42 {bulge}\n", p.x, p.y).unwrap();
    }
    dxf(&entity)
}

/// The boundary's edges as LINE and ARC entities in the order `order`, lines turned round by `turn`.
fn as_pieces(boundary: &[(f64, f64)], order: &[usize], turn: &[bool]) -> String {
    let vertices = vertices(boundary);
    let mut entities = String::new();
    for &i in order {
        let (a, b) = (vertices[i], vertices[(i + 1) % vertices.len()]);
        let bulge = boundary[i].1;
        if bulge == 0.0 {
            let (a, b) = if turn[i] { (b, a) } else { (a, b) };
            write!(
                entities,
                "0 LINE\n8 CUT\n10 {}\n20 {}\n11 {}\n21 {}\n",
                a.x, a.y, b.x, b.y
            )
        } else {
            // Centre and angles of a bulged edge; an ARC always runs counter-clockwise.
            let h = (1.0 - bulge * bulge) / (4.0 * bulge);
            let centre = Point::new(
                (a.x + b.x) / 2.0 - h * (b.y - a.y),
                (a.y + b.y) / 2.0 + h * (b.x - a.x),
            );
            let angle = |p: Point| atan2_radians(p.y - centre.y, p.x - centre.x).to_degrees();
            let (from, to) = if bulge > 0.0 { (a, b) } else { (b, a) };
            write!(
                entities,
                "0 ARC\n8 CUT\n10 {}\n20 {}\n40 {}\n50 {}\n51 {}\n",
                centre.x,
                centre.y,
                centre.distance(a),
                angle(from),
                angle(to)
            )
        }
        .unwrap();
    }
    dxf(&entities)
}

/// Vertices from the one furthest right on, so that two rings can be held against each other.
fn from_rightmost(ring: &Ring) -> Vec<Point> {
    let points = ring.points();
    let key = |p: &Point| (p.x * 1e5).round();
    let first = (0..points.len())
        .max_by(|&i, &j| key(&points[i]).total_cmp(&key(&points[j])).then(j.cmp(&i)))
        .unwrap();
    [&points[first..], &points[..first]].concat()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]

    #[test]
    fn a_boundary_cut_up_shuffled_and_turned_chains_back_to_itself(
        (boundary, order, turn) in boundary().prop_flat_map(|b| {
            let n = b.len();
            let order = Just((0..n).collect::<Vec<usize>>()).prop_shuffle();
            (Just(b), order, prop::collection::vec(any::<bool>(), n))
        })
    ) {
        let whole = read("whole.dxf", as_polyline(&boundary).as_bytes(), &Settings::default());
        // A boundary that crosses itself is another test's matter.
        prop_assume!(whole.is_ok());
        let whole = whole.unwrap();
        let pieces = read_ok("pieces.dxf", &as_pieces(&boundary, &order, &turn), &Settings::default());
        prop_assert_eq!(pieces.outlines().len(), 1);
        prop_assert!(pieces.lines().is_empty());
        let (a, b) = (&whole.outlines()[0].outline.outer, &pieces.outlines()[0].outline.outer);
        let (a, b) = (from_rightmost(a), from_rightmost(b));
        prop_assert_eq!(a.len(), b.len());
        for (p, q) in a.iter().zip(&b) {
            prop_assert!(p.distance(*q) < 1e-6, "{:?} {:?}", p, q);
        }
    }
}
