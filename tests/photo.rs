//! Photographs of templates on their board, rendered by a lens that works the other way round than the one that is fitted:
//! outlines in true size, and what must be refused. Many more cases: `examples/photo_bench.rs`.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

#[path = "photograph/cases.rs"]
#[allow(dead_code, unreachable_pub, reason = "shared by a test and an example")]
mod cases;
#[path = "photograph/render.rs"]
#[allow(dead_code, unreachable_pub, reason = "shared by a test and an example")]
mod render;
#[path = "photograph/scene.rs"]
#[allow(dead_code, unreachable_pub, reason = "shared by a test and an example")]
mod scene;
#[path = "photograph/shapes.rs"]
#[allow(dead_code, unreachable_pub, reason = "shared by a test and an example")]
mod shapes;
#[path = "photograph/usual.rs"]
mod usual;

// What is not of the whole program, by what it is about.
#[path = "photograph/accurate.rs"]
mod accurate;
#[path = "photograph/joined.rs"]
mod joined;
#[path = "photograph/refused.rs"]
mod refused;
#[path = "photograph/scanned.rs"]
mod scanned;

use std::fs;
use std::path::Path;
use std::process::Command;

use render::{Polygon, Shot};
use scene::{Table, deviation, jpeg};
use usual::{EDGE, ORANGE, refused as is_refused, seen, shot, table};
use warpwise::inputs::{InputFile, Inputs};
use warpwise::job::Job;
use warpwise::pattern;
use warpwise::photo::board::{Board, BoardPaper};
use warpwise::{output, ply};

#[test]
fn a_template_comes_out_in_true_size_with_what_is_drawn_on_it() {
    let mut table = table();
    // The printer is off by 4 mm in a metre one way and 2 the other.
    table.print = [0.996, 1.002];
    let sight = seen(&table, &shot()).unwrap();
    let [template] = &sight.templates[..] else {
        panic!("{} templates", sight.templates.len());
    };
    let [rms, most] = deviation(&template.edge, table.template.rings());
    assert!(rms < 0.15 && most < 0.4, "{rms} {most}");
    assert!(most < 3.0 * sight.error, "{most} {}", sight.error);
    assert_eq!(template.openings.len(), 1);
    let [rms, most] = deviation(&template.openings[0], table.template.rings());
    assert!(rms < 0.15 && most < 0.4, "{rms} {most}");
    let [[from, to]] = &template.lines[..] else {
        panic!("{:?}", template.lines);
    };
    let slope = (to.y - from.y) / (to.x - from.x);
    assert!((slope - 10.0 / 120.0).abs() < 0.005, "{slope}");
    let [cross] = &template.crosses[..] else {
        panic!("{:?}", template.crosses);
    };
    assert!((cross.x - 420.0).hypot(cross.y - 330.0) < 0.6, "{cross:?}");
}

#[test]
fn a_job_takes_a_photograph_as_it_takes_a_drawing() {
    let table = table();
    let picture = jpeg(&shot(), &table, 90);
    let [width, height] = table.true_lengths();
    let text = format!(
        "[cloth.glass]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n[[part]]\nname = \"LID\"\n\
         pattern = \"lid.jpg\"\ndrawing = {{ board_width = \"{width:.3} mm\", board_height = \"{height:.3} mm\" }}\n\
         cloth = \"glass\"\nlayup = \"[0]\"\n"
    );
    let (job, _) = Job::read("lid.toml", &text).unwrap();
    let open = &mut |name: &str| Ok(vec![InputFile::new(name, picture.clone())]);
    let (inputs, _) = Inputs::read(job, open).unwrap();
    let (pieces, _) = ply::pieces(&inputs).unwrap();
    assert_eq!(pieces.len(), 1);
    let rings = table.template.rings();
    let area = enclosed(&rings[0]) - enclosed(&rings[1]);
    let got = pieces[0].net().area();
    assert!((got / area - 1.0).abs() < 0.001, "{got} {area}");
}

#[test]
fn what_cannot_be_right_is_refused() {
    let table = table();
    let quick = Shot {
        rays: 1,
        width: 1400,
        height: 1050,
        ..shot()
    };
    let over = Polygon::new(vec![EDGE.map(|[x, y]| [x + 180.0, y]).to_vec()]);
    let over = Table::new(table.board, over, ORANGE);
    is_refused(&over, &quick, "over the border");
    let grey = Table::new(
        table.board,
        Polygon::new(vec![EDGE.to_vec()]),
        [0.4, 0.4, 0.39],
    );
    is_refused(&grey, &quick, "no coloured template");
    let slanting = Shot {
        tilt_deg: 42.0,
        distance: 700.0,
        ..quick.clone()
    };
    is_refused(&table, &slanting, "leaned");
    let blurred = Shot {
        blur: 5.5,
        ..quick.clone()
    };
    let said = seen(&table, &blurred).expect_err("a blurred picture");
    assert!(said.contains("blurred") || said.contains("marks"), "{said}");
    let elsewhere = Shot {
        aim: [3000.0, 3000.0],
        ..quick
    };
    is_refused(&table, &elsewhere, "no marks");
}

#[test]
fn hostile_pictures_are_refused_by_name_and_within_limits() {
    let said = |name: &str, bytes: &[u8]| -> String {
        let problems = pattern::read(name, bytes, &pattern::Settings::default()).unwrap_err();
        problems.iter().map(|p| p.message.clone()).collect()
    };
    assert!(said("a.heic", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic").contains("HEIC"));
    assert!(said("a.webp", b"RIFF\x10\0\0\0WEBPVP8 ").contains("WebP"));
    assert!(said("a.jpg", b"\xff\xd8\xff\xe0\0\x10JFIF\0").contains("cut short"));
    // A PNG that says it is 60,000 pixels wide and high.
    let mut bomb = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec();
    bomb.extend(60_000_u32.to_be_bytes());
    bomb.extend(60_000_u32.to_be_bytes());
    bomb.extend([8, 2, 0, 0, 0, 0, 0, 0, 0]);
    assert!(said("bomb.png", &bomb).contains("picture"));
    let whole = jpeg(
        &Shot {
            width: 400,
            height: 300,
            rays: 1,
            ..shot()
        },
        &table(),
        80,
    );
    for part in [10, 200, whole.len() / 2, whole.len() - 1] {
        let said = said("cut.jpg", &whole[..part]);
        assert!(said.contains("cut short"), "{said}");
    }
}

#[test]
fn a_board_is_a_sheet_for_each_tile_and_one_that_says_what_to_do() {
    let pages = |paper: BoardPaper, size: [f64; 2]| {
        let board = Board::of_size(paper, size[0], size[1]).unwrap();
        let pdf = output::board_pdf(&board, size);
        let text = String::from_utf8_lossy(&pdf).into_owned();
        text.matches("/Type /Page\n").count()
    };
    assert_eq!(pages(BoardPaper::A4, [1200.0, 900.0]), 6 * 4 + 1);
    assert_eq!(pages(BoardPaper::Tabloid, [800.0, 800.0]), 3 * 2 + 1);
    assert_eq!(pages(BoardPaper::One, [1500.0, 1200.0]), 1);
    assert_eq!(Board::of_size(BoardPaper::A4, 1600.0, 900.0), None);
    assert_eq!(Board::of_size(BoardPaper::One, 150.0, 900.0), None);
    // Every mark of every board is another.
    let board = Board::of_size(BoardPaper::A4, 1500.0, 1200.0).unwrap();
    let bits = |m| {
        let label = board.label(m);
        (0..64)
            .map(|i| label.is_black(i % 8, i / 8))
            .collect::<Vec<bool>>()
    };
    let marks: Vec<_> = board
        .tiles()
        .flat_map(|t| board.marks(t))
        .map(bits)
        .collect();
    for (i, mark) in marks.iter().enumerate() {
        assert!(!marks[..i].contains(mark));
    }
}

/// What the program prints; it must end well.
fn warpwise(folder: &Path, arguments: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_warpwise"))
        .args(arguments)
        .current_dir(folder)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{arguments:?}: {said}");
    String::from_utf8(output.stdout).unwrap()
}

/// The area within a ring.
fn enclosed(ring: &[[f64; 2]]) -> f64 {
    let next = ring.iter().cycle().skip(1);
    let twice = ring
        .iter()
        .zip(next)
        .map(|(a, b)| a[0] * b[1] - a[1] * b[0]);
    twice.sum::<f64>().abs() / 2.0
}

/// The area (mm²) of the first piece of a plan, and how many openings it has.
fn planned(folder: &Path) -> (f64, usize) {
    let plan = fs::read_to_string(folder.join("plan/plan.json")).unwrap();
    let plan: serde_json::Value = serde_json::from_str(&plan).unwrap();
    let net = &plan["layouts"][0]["pieces"][0]["net"];
    let area = |ring: &serde_json::Value| -> f64 {
        let at = |p: &serde_json::Value| [p[0].as_f64().unwrap(), p[1].as_f64().unwrap()];
        let ring: Vec<[f64; 2]> = ring.as_array().unwrap().iter().map(at).collect();
        enclosed(&ring)
    };
    let openings = net["openings"].as_array().unwrap();
    let holes: f64 = openings.iter().map(area).sum();
    (area(&net["outer"]) - holes, openings.len())
}

#[test]
fn an_outline_is_corrected_by_hand_and_planned() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("photo-by-hand");
    _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    let table = table();
    fs::write(folder.join("lid.jpg"), jpeg(&shot(), &table, 90)).unwrap();
    let [width, height] = table.true_lengths().map(|mm| format!("{mm:.3} mm"));
    let job = |pattern: &str, drawing: &str| {
        let text = format!(
            "[cloth.glass]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n[[part]]\nname = \"LID\"\n\
             pattern = \"{pattern}\"\n{drawing}cloth = \"glass\"\nlayup = \"[0]\"\n"
        );
        fs::write(folder.join("lid.toml"), text).unwrap();
        _ = fs::remove_dir_all(folder.join("plan"));
        let plan = [
            "plan", "lid.toml", "--out", "plan", "--effort", "quick", "--quiet",
        ];
        warpwise(&folder, &plan);
        planned(&folder)
    };
    let drawing =
        format!("drawing = {{ board_width = \"{width}\", board_height = \"{height}\" }}\n");
    let seen = job("lid.jpg", &drawing);
    let lines = ["--board-width", &width, "--board-height", &height];
    let mut inspect = vec![
        "inspect",
        "lid.jpg",
        "--quiet",
        "--outline",
        "lid.svg",
        "--over",
        "over.png",
    ];
    inspect.extend(lines);
    warpwise(&folder, &inspect);
    let over = fs::read(folder.join("over.png")).unwrap();
    assert!(over.starts_with(b"\x89PNG"));
    // As it was written it is the same part, its opening too.
    let drawn = job("lid.svg", "");
    assert!((drawn.0 / seen.0 - 1.0).abs() < 1e-4, "{drawn:?} {seen:?}");
    assert_eq!((drawn.1, seen.1), (1, 1));
    // The lower right corner is at (520, 150) on the board, the furthest one to the right and down.
    let svg = fs::read_to_string(folder.join("lid.svg")).unwrap();
    let corner = (svg.split(['M', 'L', ' ', 'Z', '"', '\n']))
        .filter_map(|pair| {
            let (x, y) = pair.split_once(',')?;
            Some((pair, x.parse::<f64>().ok()?, y.parse::<f64>().ok()?))
        })
        .max_by(|a, b| (a.1 + a.2).total_cmp(&(b.1 + b.2)))
        .unwrap();
    let moved = format!("{},{}", corner.1 + 20.0, corner.2);
    assert_eq!(svg.matches(corner.0).count(), 1, "{corner:?}");
    fs::write(folder.join("lid.svg"), svg.replace(corner.0, &moved)).unwrap();
    // Between its neighbours, which are 170 mm apart up the board, it adds a triangle.
    let mended = job("lid.svg", "");
    let more = mended.0 - drawn.0;
    assert!((more - 0.5 * 20.0 * 170.0).abs() < 10.0, "{more}");
}
