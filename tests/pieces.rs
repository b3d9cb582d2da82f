//! From job and drawing to the pieces: splices worked by hand, marked edges, darts, tapers.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::sync::Arc;

use warpwise::diag::{Diagnostics, TextColour};
use warpwise::geometry::{Bounds, Point};
use warpwise::inputs::{InputFile, Inputs};
use warpwise::job::{Job, JointKind};
use warpwise::ply::{self, Lies, Piece, Pieces};

/// A drawing of 3 × 3 m with y upwards: closed lines in a layer called `skin`, and `more`.
fn drawing(rings: &[&[(f64, f64)]], more: &str) -> String {
    let ring = |points: &&[(f64, f64)]| -> String {
        let corners = points.iter().map(|(x, y)| format!("{x},{}", 3000.0 - y));
        format!("M{}Z", corners.collect::<Vec<_>>().join(" L"))
    };
    let data: Vec<String> = rings.iter().map(ring).collect();
    format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="3000mm" height="3000mm" viewBox="0 0 3000 3000">
<g id="skin"><path d="{}"/></g><g transform="matrix(1 0 0 -1 0 3000)">{more}</g></svg>"#,
        data.join(" ")
    )
}

const RECTANGLE: [(f64, f64); 4] = [(0.0, 0.0), (1500.0, 0.0), (1500.0, 1200.0), (0.0, 1200.0)];

/// A job with one part on one cloth; usable width 1000 mm unless `cloth` says otherwise.
fn job(cutting: &str, cloth: &str, part: &str) -> String {
    let width = if cloth.contains("roll_width") {
        ""
    } else {
        "roll_width = \"1020 mm\""
    };
    let weave = if cloth.contains("weave") {
        ""
    } else {
        "weave = \"plain\""
    };
    format!(
        "[cutting]\ntrim = \"10 mm\"\nlap = \"20 mm\"\n{cutting}\n\
         [cloth.c]\nareal_weight = \"200 gsm\"\n{width}\n{weave}\n{cloth}\n\
         [[part]]\nname = \"P\"\npattern = \"p.svg\"\noutline = \"skin\"\ncloth = \"c\"\n{part}\n"
    )
}

fn made(job: &str, drawing: &str) -> Result<(Pieces, Diagnostics), Diagnostics> {
    let (job, mut said) = Job::read("job.toml", job)?;
    let open = &mut |name: &str| Ok(vec![InputFile::new(name, drawing.as_bytes().to_vec())]);
    let (inputs, more) = Inputs::read(job, open)?;
    said.append(more);
    let (pieces, more) = ply::pieces(&inputs)?;
    said.append(more);
    Ok((pieces, said))
}

fn pieces(job: &str, drawing: &str) -> Pieces {
    match made(job, drawing) {
        Ok((pieces, _)) => pieces,
        Err(problems) => panic!("{}", text(&problems)),
    }
}

fn text(problems: &Diagnostics) -> String {
    let shown: Vec<String> = problems
        .iter()
        .map(|p| p.render(TextColour::Plain))
        .collect();
    shown.join("\n")
}

/// x from, y from, x to, y to.
type Corners = [f64; 4];

fn corners(bounds: Bounds) -> Corners {
    [bounds.min.x, bounds.min.y, bounds.max.x, bounds.max.y]
}

fn assert_near(found: &[f64], expected: &[f64], what: &str) {
    let near = found
        .iter()
        .zip(expected)
        .all(|(a, b)| (a - b).abs() < 1e-4);
    assert!(
        near && found.len() == expected.len(),
        "{what}: {found:?} is not {expected:?}"
    );
}

/// What a piece of a divided rectangle must be.
struct Expected {
    letter: char,
    net: Corners,
    cut: Corners,
    lies: Lies,
    mate: char,
    line: [(f64, f64); 2],
}

fn check(piece: &Piece, expected: &Expected) {
    let what = format!("piece {}", expected.letter);
    let splice = piece.splice().unwrap();
    assert_eq!(splice.letter, expected.letter);
    assert_near(&corners(piece.net().bounds()), &expected.net, &what);
    assert_near(&corners(piece.cut().bounds()), &expected.cut, &what);
    let [x0, y0, x1, y1] = expected.net;
    assert_near(&[piece.net().area()], &[(x1 - x0) * (y1 - y0)], &what);
    let [joint] = &splice.joints[..] else {
        panic!("{what}: {} joints", splice.joints.len());
    };
    assert_eq!((joint.mate, joint.lies), (expected.mate, expected.lies));
    let mut ends = joint.line.map(|p| (p.x, p.y));
    ends.sort_by(|a, b| a.partial_cmp(b).unwrap());
    for (found, wanted) in ends.iter().zip(expected.line) {
        assert_near(&[found.0, found.1], &[wanted.0, wanted.1], &what);
    }
}

#[test]
fn the_only_closed_outline_is_not_taken_for_one_that_is_open() {
    let plate = [(0.0, 0.0), (500.0, 0.0), (500.0, 400.0), (0.0, 400.0)];
    let open = r#"<path id="lid" d="M900 0H1400V400H900V1"/>"#;
    let named = job("", "", "layup = \"[0]\"");
    assert_eq!(pieces(&named, &drawing(&[&plate], open)).len(), 1);
    let unnamed = named.replace("outline = \"skin\"\n", "");
    assert_eq!(pieces(&unnamed, &drawing(&[&plate], "")).len(), 1);
    let said = text(&made(&unnamed, &drawing(&[&plate], open)).unwrap_err());
    assert!(said.contains("is not closed: `lid`"), "{said}");
    assert!(said.contains("its gap of 1 mm"), "{said}");
    assert!(said.contains("or add `outline"), "{said}");
}

#[test]
fn a_hole_is_never_offered_as_the_outline_of_a_part_left_open() {
    let hole = [
        (1000.0, 100.0),
        (1200.0, 100.0),
        (1200.0, 300.0),
        (1000.0, 300.0),
    ];
    let open = r#"<path id="lid" d="M900 0H1400V400H900V2.3"/>"#;
    let unnamed = job("", "", "layup = \"[0/90]\"").replace("outline = \"skin\"\n", "");
    let said = text(&made(&unnamed, &drawing(&[&hole], open)).unwrap_err());
    assert_eq!(
        said.matches("error:").count(),
        1,
        "once for all plies: {said}"
    );
    assert!(said.contains("its gap of 2.3 mm"), "{said}");
    assert!(said.contains("lies inside it"), "{said}");
    assert!(!said.contains("add `outline"), "{said}");
}

/// A square opening of `side` mm in a plate, and the rule that says which openings are cut.
fn with_opening(side: f64, trim: &str, rule: &str) -> (usize, String) {
    let plate = [(0.0, 0.0), (500.0, 0.0), (500.0, 400.0), (0.0, 400.0)];
    let (low, high) = (200.0, 200.0 + side);
    let opening = [(low, low), (high, low), (high, high), (low, high)];
    let cutting = format!("openings = \"{rule}\"");
    let job = job(&cutting, "", "layup = \"[0]\"")
        .replace("trim = \"10 mm\"", &format!("trim = \"{trim}\""));
    let (pieces, said) = made(&job, &drawing(&[&plate, &opening], "")).unwrap();
    assert_eq!(
        pieces[0].net().openings.len(),
        1,
        "the finished part keeps it"
    );
    (pieces[0].cut().openings.len(), text(&said))
}

#[test]
fn an_opening_is_cut_only_if_what_the_trim_leaves_of_it_is_large_enough() {
    // 57 mm less twice 25.4 mm is 6.2 mm: no hole for a knife, whatever the rule.
    for rule in ["cut", "from 40 mm"] {
        let (n_cut, said) = with_opening(57.0, "25.4 mm", rule);
        assert_eq!(n_cut, 0, "{rule}");
        // Who gives a size knows that smaller ones are left.
        let is_told = said.contains("leaves a hole of 6.2 mm");
        assert_eq!(is_told, rule == "cut", "{said}");
    }
    // 91 mm leaves 40.2 mm, 90 mm leaves 39.2 mm.
    assert_eq!(with_opening(91.0, "25.4 mm", "from 40 mm").0, 1);
    assert_eq!(with_opening(90.0, "25.4 mm", "from 40 mm").0, 0);
    assert_eq!(with_opening(90.0, "25.4 mm", "cut").0, 1);
    // Without a trim the hole is the opening.
    assert_eq!(with_opening(41.0, "0 mm", "from 40 mm").0, 1);
    assert_eq!(with_opening(6.0, "0 mm", "cut").0, 1);
    // What the trim closes is told in other words.
    let (n_cut, said) = with_opening(50.0, "25.4 mm", "cut");
    assert!(n_cut == 0 && said.contains("closes it"), "{said}");
}

#[test]
fn shapes_that_the_trim_would_swallow_are_refused() {
    let ring = |width: f64| {
        let (low, high) = (width, 400.0 - width);
        let outer = [(0.0, 0.0), (400.0, 0.0), (400.0, 400.0), (0.0, 400.0)];
        let inner = [(low, low), (high, low), (high, high), (low, high)];
        let job = job("", "", "layup = \"[0]\"");
        made(&job, &drawing(&[&outer, &inner], ""))
            .map(|(pieces, _)| pieces.len())
            .map_err(|problems| text(&problems))
    };
    // The trim is 10 mm: a ring of 3 mm is a frame, one of 1.5 mm or less a line drawn twice.
    assert_eq!(ring(3.0), Ok(1));
    for width in [1.5, 1.0, 0.2] {
        let said = ring(width).unwrap_err();
        assert!(said.contains(&format!("{width:.2} mm apart")), "{said}");
    }
    let speck = [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0)];
    let said = text(&made(&job("", "", "layup = \"[0]\""), &drawing(&[&speck], "")).unwrap_err());
    assert!(said.contains("is only 4.00 × 3.00 mm"), "{said}");
    let wide = job("", "", "layup = \"[0]\"").replace("trim = \"10 mm\"", "trim = \"40 mm\"");
    let (outer, inner) = (
        [(0.0, 0.0), (400.0, 0.0), (400.0, 400.0), (0.0, 400.0)],
        [(5.0, 5.0), (395.0, 5.0), (395.0, 395.0), (5.0, 395.0)],
    );
    let said = text(&made(&wide, &drawing(&[&outer, &inner], "")).unwrap_err());
    assert!(
        said.contains("is a ring only 5 mm (0.20 in) wide"),
        "{said}"
    );
}

/// The plate of [`a_lap_along_the_warp_worked_by_hand`] with an opening whose cut line, 10 mm inside
/// the one drawn, ends at the upper edge of the lower piece.
#[test]
fn a_lap_that_ends_at_an_opening_is_a_joint_of_both_pieces() {
    let job = job(
        "splice = \"lap\"\nsplice_lines = \"along\"",
        "turns = \"half\"",
        "layup = \"[0]\"",
    );
    let opening = [
        (600.0, 120.0),
        (900.0, 120.0),
        (900.0, 240.0),
        (600.0, 240.0),
    ];
    let pieces = pieces(&job, &drawing(&[&RECTANGLE, &opening], ""));
    for (piece, (height, mate)) in pieces.iter().zip([(240.0, 'B'), (1000.0, 'A')]) {
        let splice = piece.splice().unwrap();
        assert_near(&[piece.cut().bounds().height()], &[height], "cut");
        let mates: Vec<char> = splice.joints.iter().map(|joint| joint.mate).collect();
        assert!(
            !mates.is_empty() && mates.iter().all(|&m| m == mate),
            "{mates:?}"
        );
    }
}

/// A plate of 1500 × 1200 mm, warp along its long side, from 1000 mm of usable width with 10 mm
/// trim and laps of 20 mm along the warp.
///
/// The cut line is 1220 mm high. Whatever the place of the line, the pieces are 1240 mm together
/// and lie one after the other; least of the rest is broken up when one of them is 1000 mm wide:
/// the upper one, 1210 − 1000 = 210 mm up to 1210 mm. The lower one reaches 20 mm further, to 230.
#[test]
fn a_lap_along_the_warp_worked_by_hand() {
    let job = job(
        "splice = \"lap\"\nsplice_lines = \"along\"",
        "turns = \"half\"",
        "layup = \"[0]\"",
    );
    let pieces = pieces(&job, &drawing(&[&RECTANGLE], ""));
    assert_eq!(pieces.len(), 2);
    check(
        &pieces[0],
        &Expected {
            letter: 'A',
            net: [0.0, 0.0, 1500.0, 230.0],
            cut: [-10.0, -10.0, 1510.0, 230.0],
            lies: Lies::Under,
            mate: 'B',
            line: [(-10.0, 210.0), (1510.0, 210.0)],
        },
    );
    check(
        &pieces[1],
        &Expected {
            letter: 'B',
            net: [0.0, 210.0, 1500.0, 1200.0],
            cut: [-10.0, 210.0, 1510.0, 1210.0],
            lies: Lies::Over,
            mate: 'A',
            line: [(-10.0, 230.0), (1510.0, 230.0)],
        },
    );
    // Net areas of the pieces: the ply's and one lap.
    let nets: f64 = pieces.iter().map(|p| p.net().area()).sum();
    assert_near(&[nets], &[1500.0 * 1200.0 + 1500.0 * 20.0], "net areas");
    let laps: Vec<f64> = pieces
        .iter()
        .map(|p| p.splice().unwrap().lap_area)
        .collect();
    assert_near(&laps, &[0.0, 30_000.0], "laps");
}

/// The same plate on a cloth whose warp and weft are alike, divided across the warp: the pieces lie
/// on the roll turned by 90°, so their extent along x has to fit. The cut line runs from −10 to
/// 1510; the right piece takes the whole 1000 mm, from 510 on; the left one reaches to 530.
#[test]
fn a_lap_across_the_warp_worked_by_hand() {
    let job = job(
        "splice = \"lap\"\nsplice_lines = \"across\"",
        "",
        "layup = \"[0]\"",
    );
    let pieces = pieces(&job, &drawing(&[&RECTANGLE], ""));
    assert_eq!(pieces.len(), 2);
    check(
        &pieces[0],
        &Expected {
            letter: 'A',
            net: [0.0, 0.0, 530.0, 1200.0],
            cut: [-10.0, -10.0, 530.0, 1210.0],
            lies: Lies::Under,
            mate: 'B',
            line: [(510.0, -10.0), (510.0, 1210.0)],
        },
    );
    check(
        &pieces[1],
        &Expected {
            letter: 'B',
            net: [510.0, 0.0, 1500.0, 1200.0],
            cut: [510.0, -10.0, 1510.0, 1210.0],
            lies: Lies::Over,
            mate: 'A',
            line: [(530.0, -10.0), (530.0, 1210.0)],
        },
    );
}

/// A plate of 900 × 600 mm with unidirectional fibres along its short side, from 500 mm of usable
/// width: the fibres run along y, so the butt joint does too, and cuts none. The cut line runs from
/// x = −10 to 910; one piece takes the whole 500 mm, from −10 to 490.
#[test]
fn a_butt_along_the_fibres_worked_by_hand() {
    let plate = [(0.0, 0.0), (900.0, 0.0), (900.0, 600.0), (0.0, 600.0)];
    let job = job(
        "splice = \"butt\"",
        "weave = \"unidirectional\"\nroll_width = \"520 mm\"",
        "layup = \"[90]\"",
    );
    let pieces = pieces(&job, &drawing(&[&plate], ""));
    assert_eq!(pieces.len(), 2);
    // Turned by −90° to lie on the roll, the right end of the plate comes first.
    check(
        &pieces[0],
        &Expected {
            letter: 'A',
            net: [490.0, 0.0, 900.0, 600.0],
            cut: [490.0, -10.0, 910.0, 610.0],
            lies: Lies::Beside,
            mate: 'B',
            line: [(490.0, -10.0), (490.0, 610.0)],
        },
    );
    check(
        &pieces[1],
        &Expected {
            letter: 'B',
            net: [0.0, 0.0, 490.0, 600.0],
            cut: [-10.0, -10.0, 490.0, 610.0],
            lies: Lies::Beside,
            mate: 'A',
            line: [(490.0, -10.0), (490.0, 610.0)],
        },
    );
    let joint = &pieces[0].splice().unwrap().joints[0];
    assert_eq!(joint.kind, JointKind::Butt);
    assert_near(&[joint.inward.x, joint.inward.y], &[1.0, 0.0], "inward");
}

/// Heights of the lap's middle for each ply of the plate, from the net lines of its pieces.
fn lap_middles(pieces: &Pieces) -> Vec<f64> {
    pieces
        .windows(2)
        .filter(|w| w[0].ply_idx() == w[1].ply_idx())
        .map(|w| (w[0].net().bounds().max.y + w[1].net().bounds().min.y) / 2.0)
        .collect()
}

#[test]
fn splices_of_neighbouring_plies_are_staggered_and_may_coincide_beyond_four_plies() {
    let job = job(
        "splice = \"lap\"\nsplice_lines = \"along\"\nstagger = \"60 mm\"",
        "turns = \"half\"",
        "layup = \"[0_6]\"",
    );
    let middles = lap_middles(&pieces(&job, &drawing(&[&RECTANGLE], "")));
    assert_eq!(middles.len(), 6);
    for (i, a) in middles.iter().enumerate() {
        for (j, b) in middles.iter().enumerate().skip(i + 1) {
            // 60 mm clear beside two halves of a lap.
            let clear = (a - b).abs() >= 80.0 - 1e-6;
            assert!(clear || j - i > 4, "plies {i} and {j}: {middles:?}");
        }
    }
    // MIL-HDBK-17-3F rule A-30: with four plies between them, two splices may coincide.
    assert_eq!(middles[0], middles[5]);
}

#[test]
fn splices_keep_clear_of_keep_out_areas() {
    let splice = "splice = \"lap\"\nsplice_lines = \"along\"";
    let middle = |part: &str, more: &str| {
        let job = job(
            splice,
            "turns = \"half\"",
            &format!("layup = \"[0]\"\n{part}"),
        );
        lap_middles(&pieces(&job, &drawing(&[&RECTANGLE], more)))
    };
    let keep_out = |y: f64, height: f64| {
        format!(
            "[[part.keep_out_box]]\nx = \"1 m\"\ny = \"{y} mm\"\nwidth = \"1 m\"\nheight = \"{height} mm\""
        )
    };
    assert_eq!(middle("", ""), [220.0]);
    // The line at 220 would run through the box; the other end of the ply does as well.
    assert_eq!(middle(&keep_out(100.0, 200.0), ""), [980.0]);
    // Both are barred, so the lap, 20 mm wide, goes right beside one of the boxes.
    let both = [keep_out(100.0, 200.0), keep_out(900.0, 200.0)].join("\n");
    assert_eq!(middle(&both, ""), [310.0]);
    // A box beside the ply bars nothing.
    let beside = keep_out(100.0, 200.0).replace("1 m\"\ny", "1600 mm\"\ny");
    assert_eq!(middle(&beside, ""), [220.0]);
    // The same from the drawing, by the name of its layer.
    let area = r#"<g id="keep out"><path d="M700 100 H900 V300 H700 Z"/></g>"#;
    assert_eq!(middle("", area), [980.0]);
}

#[test]
fn a_ply_that_cannot_be_divided_says_why() {
    let refused = |cutting: &str, cloth: &str, part: &str| {
        let job = job(cutting, cloth, part);
        match made(&job, &drawing(&[&RECTANGLE], "")) {
            Ok(_) => panic!("it was divided"),
            Err(problems) => text(&problems),
        }
    };
    let everywhere = "layup = \"[0]\"\n[[part.keep_out_box]]\nx = \"0 mm\"\ny = \"-1 m\"\n\
                      width = \"2 m\"\nheight = \"3 m\"";
    insta::assert_snapshot!(
        "splice_kept_out",
        refused("splice = \"lap\"", "turns = \"half\"", everywhere)
    );
    insta::assert_snapshot!(
        "splice_staggered_away",
        refused(
            "splice = \"lap\"\nstagger = \"450 mm\"\nsplice_lines = \"along\"",
            "turns = \"half\"",
            "layup = \"[0_3]\""
        )
    );
    insta::assert_snapshot!(
        "splice_butt_of_woven",
        refused("splice = \"butt\"", "", "layup = \"[0]\"")
    );
    // Wider than the roll both ways, and its strips are longer than the table.
    let both_ways = refused(
        "splice = \"lap\"",
        "table_length = \"500 mm\"",
        "layup = \"[0]\"",
    );
    assert!(both_ways.contains("too wide for `"), "{both_ways}");
    assert!(
        both_ways.contains("and a ply is divided in one direction only")
            && both_ways.contains("help: divide it in the drawing"),
        "{both_ways}"
    );
    insta::assert_snapshot!(
        "splice_lap_too_large",
        refused("splice = \"lap\"", "", "layup = \"[0]\"\nlap = \"990 mm\"")
    );
}

/// 1520 × 1220 mm with its trim, on a roll of which 1000 mm are usable and a table of 1100 mm less 10 mm; it may lie turned by a quarter.
#[test]
fn a_ply_too_wide_and_too_long_is_told_both_and_what_helps() {
    let square = [(0.0, 0.0), (1500.0, 0.0), (1500.0, 1200.0), (0.0, 1200.0)];
    for cutting in [
        "",
        "splice = \"lap\"",
        "splice = \"lap\"\nsplice_lines = \"across\"",
    ] {
        let job = job(cutting, "table_length = \"1100 mm\"", "layup = \"[0]\"");
        let said = text(&made(&job, &drawing(&[&square], "")).unwrap_err());
        for words in [
            "220 mm (8.66 in) too wide for `c`",
            "130 mm (5.12 in) too long for its cutting table",
            "divide it in the drawing",
            "`table_length`",
            "use a wider roll",
        ] {
            assert!(
                said.contains(words),
                "{cutting}: {words:?} is not in {said}"
            );
        }
        assert_eq!(said.matches("error").count(), 1, "{said}");
    }
    // With a table that is long enough or a roll that is wide enough a splice helps, and says so or is made.
    for cloth in [
        "",
        "table_length = \"1300 mm\"",
        "table_length = \"1100 mm\"\nroll_width = \"1400 mm\"",
    ] {
        let divided = pieces(
            &job("splice = \"lap\"", cloth, "layup = \"[0]\""),
            &drawing(&[&square], ""),
        );
        assert_eq!(divided.len(), 2, "{cloth}");
    }
}

#[test]
fn a_unidirectional_is_cut_across_its_fibres_only_where_that_is_said() {
    // Fibres along x, 1220 mm across them: one cut along them would do.
    let cloth = "weave = \"unidirectional\"";
    let along = job("splice = \"lap\"", cloth, "layup = \"[0]\"");
    let (pieces, said) = made(&along, &drawing(&[&RECTANGLE], "")).unwrap();
    assert!(pieces.iter().all(|p| p.net().bounds().width() == 1500.0));
    assert!(!text(&said).contains("warning"), "{}", text(&said));

    // A diagonal strip, so that cuts across the fibres help as well.
    let strip = [(0.0, 0.0), (100.0, 0.0), (1500.0, 1400.0), (1400.0, 1400.0)];
    let across = job(
        "splice = \"lap\"\nsplice_lines = \"across\"",
        cloth,
        "layup = \"[0]\"",
    );
    let (pieces, said) = made(&across, &drawing(&[&strip], "")).unwrap();
    assert_eq!(pieces.len(), 2);
    assert!(text(&said).contains("cuts the fibres"), "{}", text(&said));
}

#[test]
fn a_concave_ply_with_an_opening_keeps_all_of_its_area() {
    // A U with an opening in one leg: across both legs a line leaves three pieces.
    let u = [
        (0.0, 0.0),
        (1500.0, 0.0),
        (1500.0, 1800.0),
        (1000.0, 1800.0),
        (1000.0, 500.0),
        (400.0, 500.0),
        (400.0, 1800.0),
        (0.0, 1800.0),
    ];
    let hole = [
        (1100.0, 600.0),
        (1400.0, 600.0),
        (1400.0, 900.0),
        (1100.0, 900.0),
    ];
    for lines in ["along", "across", "either"] {
        let job = job(
            &format!("splice = \"lap\"\nsplice_lines = \"{lines}\""),
            "",
            "layup = \"[0/45]\"",
        );
        let pieces = pieces(&job, &drawing(&[&u, &hole], ""));
        let whole = 1500.0 * 1800.0 - 600.0 * 1300.0 - 300.0 * 300.0;
        for ply in 0..2 {
            let of_ply: Vec<&Arc<Piece>> = pieces.iter().filter(|p| p.ply_idx() == ply).collect();
            let net: f64 = of_ply.iter().map(|p| p.net().area()).sum();
            let laps: f64 = of_ply
                .iter()
                .filter_map(|p| p.splice())
                .map(|s| s.lap_area)
                .sum();
            assert!((net - laps - whole).abs() < 1.0, "{lines}: {net} {laps}");
            // Every joint is known on both sides.
            for piece in &of_ply {
                let splice = piece.splice().unwrap();
                for joint in &splice.joints {
                    let mate = of_ply
                        .iter()
                        .filter_map(|p| p.splice())
                        .find(|s| s.letter == joint.mate)
                        .unwrap();
                    assert!(mate.joints.iter().any(|j| j.mate == splice.letter));
                }
            }
        }
    }
}

// ---- edges --------------------------------------------------------------------------------------

const PLATE: [(f64, f64); 4] = [(0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0)];

fn only(job: &str, drawing: &str) -> Arc<Piece> {
    let pieces = pieces(job, drawing);
    assert_eq!(pieces.len(), 1);
    Arc::clone(&pieces[0])
}

/// Area of the plate with `allowance` all round (Steiner 1840).
fn plate_with(allowance: f64) -> f64 {
    20_000.0 + 600.0 * allowance + std::f64::consts::PI * allowance * allowance
}

#[test]
fn marked_edges_carry_overlap_beyond_the_trim() {
    let right = r#"<g id="overlap"><path id="flange" d="M200 0 V100"/></g>"#;
    let job_of = |part: &str| job("overlap = \"40 mm\"", "", part);
    let piece = only(&job_of("layup = \"[0]\""), &drawing(&[&PLATE], right));
    assert_near(
        &corners(piece.cut().bounds()),
        &[-10.0, -10.0, 250.0, 110.0],
        "cut",
    );
    // Square at the ends of the edge: 40 × 100 mm more than the trim alone.
    assert!((piece.cut().area() - plate_with(10.0) - 4000.0).abs() < 0.6);

    // The same edge named by the job, on a layer that means nothing by itself.
    let named = right.replace("overlap", "other");
    let job_text = job_of("layup = \"[0]\"\noverlap_edges = \"flange\"");
    let same = only(&job_text, &drawing(&[&PLATE], &named));
    assert_eq!(same.cut(), piece.cut());

    // Round an outer corner the overlap is round, and it follows a step.
    let corner = r#"<g id="overlap"><path d="M0 100 H200 V0"/></g>"#;
    let stepped = job_of("[[part.ply]]\nangle = 0\nstep = \"-5 mm\"");
    let piece = only(&stepped, &drawing(&[&PLATE], corner));
    assert_near(
        &corners(piece.cut().bounds()),
        &[-5.0, -5.0, 245.0, 145.0],
        "cut",
    );
    let quarter = |r: f64| std::f64::consts::PI * r * r / 4.0;
    let trim = 190.0 * 90.0 + 560.0 * 10.0 + 4.0 * quarter(10.0);
    let expected = trim + 40.0 * (190.0 + 90.0) + quarter(50.0) - quarter(10.0);
    assert!(
        (piece.cut().area() - expected).abs() < 1.2,
        "{} {expected}",
        piece.cut().area()
    );
}

#[test]
fn overlap_that_cannot_be_added_is_told() {
    let right = r#"<g id="overlap"><path id="flange" d="M200 0 V100"/></g>"#;
    let (pieces, said) = made(&job("", "", "layup = \"[0]\""), &drawing(&[&PLATE], right)).unwrap();
    assert!((pieces[0].cut().area() - plate_with(10.0)).abs() < 0.6);
    assert!(
        text(&said).contains("the job states no overlap"),
        "{}",
        text(&said)
    );
    let leaving = right.replace("V100", "L190 100");
    let with_overlap = job("overlap = \"40 mm\"", "", "layup = \"[0]\"");
    let (pieces, said) = made(&with_overlap, &drawing(&[&PLATE], &leaving)).unwrap();
    assert!((pieces[0].cut().area() - plate_with(10.0)).abs() < 0.6);
    assert!(text(&said).contains("leaves the edge"), "{}", text(&said));
    let unknown = job(
        "overlap = \"40 mm\"",
        "",
        "layup = \"[0]\"\noverlap_edges = \"flang\"",
    );
    let problems = made(&unknown, &drawing(&[&PLATE], right)).unwrap_err();
    assert!(
        text(&problems).contains("did you mean `flange`"),
        "{}",
        text(&problems)
    );
}

/// A dart 40 mm wide at the edge and 60 mm deep. Its legs run on through 10 mm of trim, where it is
/// 40 · 70/60 mm wide; without that the trim would close its mouth.
#[test]
fn a_dart_survives_the_allowance() {
    let job = job("", "", "layup = \"[0]\"");
    for dart in [
        "M80 0 L100 60 L120 0",
        "M80 0 L100 60 L120 0 Z",
        "M120 0 L100 60 L80 0",
    ] {
        let more = format!(r#"<g id="dart"><path d="{dart}"/></g>"#);
        let piece = only(&job, &drawing(&[&PLATE], &more));
        let lost = |depth: f64| 40.0 * depth / 60.0 * depth / 2.0;
        assert!((piece.net().area() - (20_000.0 - lost(60.0))).abs() < 1e-3);
        assert!((piece.cut().area() - (plate_with(10.0) - lost(70.0))).abs() < 0.6);
        assert!(!piece.cut().contains(Point::new(100.0, -5.0)));
    }
    let lost = r#"<g id="dart"><path d="M80 20 L100 60 L120 20"/></g>"#;
    let (_, said) = made(&job, &drawing(&[&PLATE], lost)).unwrap();
    assert!(text(&said).contains("it is not cut"), "{}", text(&said));
}

#[test]
fn a_notch_is_marked_out_square_to_the_cut_line() {
    let notch =
        r#"<g id="notch"><path d="M200 30 H190"/></g><g id="overlap"><path d="M200 0 V100"/></g>"#;
    let piece = only(
        &job("overlap = \"40 mm\"", "", "layup = \"[0]\""),
        &drawing(&[&PLATE], notch),
    );
    let ticks: Vec<_> = piece.marks().iter().map(|m| m.points.clone()).collect();
    let out = [Point::new(200.0, 30.0), Point::new(250.0, 30.0)];
    assert!(
        ticks
            .iter()
            .any(|t| t.iter().zip(out).all(|(a, b)| a.distance(b) < 1e-3)),
        "{ticks:?}"
    );
}

/// The worked example of a stepped repair: a hole of 2.0 in, a first ply 1.0 in larger on every
/// side, three more by 0.5 in each: 7.0 in (practice of light aircraft repair manuals).
#[test]
fn a_taper_makes_the_plies_of_a_stepped_patch() {
    let n = 720;
    let hole: Vec<(f64, f64)> = (0..n)
        .map(|k| {
            let turn = warpwise::units::Angle::degrees(360.0 * f64::from(k) / f64::from(n));
            let (sin, cos) = warpwise::geometry::trig::sin_cos(turn);
            (100.0 + 25.4 * cos, 100.0 + 25.4 * sin)
        })
        .collect();
    let stated = "step = \"1 in\"\ntaper = \"0.5 in\"";
    for part in [
        format!("{stated}\nlayup = \"[0/45/0/45]\""),
        format!("[[part.ply]]\nangle = 0\nlayers = 4\n{stated}"),
    ] {
        let pieces = pieces(&job("", "", &part), &drawing(&[&hole], ""));
        let inches: Vec<f64> = pieces
            .iter()
            .map(|p| p.net().bounds().width() / 25.4)
            .collect();
        for (found, expected) in inches.iter().zip([4.0, 5.0, 6.0, 7.0]) {
            assert!((found - expected).abs() < 0.002, "{inches:?}");
        }
    }
}
