//! Pattern files, read from the outside: cases with their expected tables and messages, closed
//! forms, and a property of chaining.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::f64::consts::{PI, TAU};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use proptest::prelude::*;
use warpwise::diag::{Colour, Diagnostics};
use warpwise::geometry::trig::{atan2_radians, sin_cos_radians, tan_radians};
use warpwise::geometry::{Point, Ring, Tolerance};
use warpwise::pattern::inspect::Inspection;
use warpwise::pattern::{ChoiceError, Pattern, Settings, UnitFound, read};
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
    problems.iter().map(|p| p.render(Colour::Plain)).collect()
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
            Ok(pattern) => rendered(&pattern.problems),
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
    assert_eq!(pattern.unit, UnitFound::File(LengthUnit::Millimetre));
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
        assert_eq!(pattern.unit != UnitFound::Assumed, physical, "{size}");
    }
}

#[test]
fn the_unit_of_a_dxf_is_the_jobs_or_the_files_or_assumed_aloud() {
    let square =
        "0 LWPOLYLINE\n5 A\n8 0\n90 4\n70 1\n10 0\n20 0\n10 2\n20 0\n10 2\n20 2\n10 0\n20 2";
    let width = |pattern: &Pattern| pattern.only().unwrap().outline.bounds().width();
    let inches = read_ok("a.dxf", &dxf_in("1", square), &Settings::default());
    assert_eq!(
        (inches.unit, width(&inches)),
        (UnitFound::File(LengthUnit::Inch), 50.8)
    );
    let unstated = read_ok("a.dxf", &dxf_in("0", square), &Settings::default());
    assert_eq!((unstated.unit, width(&unstated)), (UnitFound::Assumed, 2.0));
    assert!(rendered(&unstated.problems).contains("does not say its unit"));
    let given = Settings {
        unit: Some(LengthUnit::Centimetre),
        ..Settings::default()
    };
    let given = read_ok("a.dxf", &dxf_in("1", square), &given);
    assert_eq!(
        (given.unit, width(&given)),
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
        prop_assert_eq!(pieces.outlines.len(), 1);
        prop_assert!(pieces.lines.is_empty());
        let (a, b) = (&whole.outlines[0].outline.outer, &pieces.outlines[0].outline.outer);
        let (a, b) = (from_rightmost(a), from_rightmost(b));
        prop_assert_eq!(a.len(), b.len());
        for (p, q) in a.iter().zip(&b) {
            prop_assert!(p.distance(*q) < 1e-6, "{:?} {:?}", p, q);
        }
    }
}
