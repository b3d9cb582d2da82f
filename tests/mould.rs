//! Parts on a mould through the whole program: what is laid on triangles comes out as what a drawing would give.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use assert_cmd::Command;
use serde_json::Value;

type Point3 = [f64; 3];

/// A mould over a grid of squares of 5 mm, as an OBJ file; `keep` says which squares there are.
fn obj(
    [nu, nv]: [usize; 2],
    at: impl Fn(f64, f64) -> Point3,
    keep: impl Fn(f64, f64) -> bool,
) -> String {
    let mut text = String::new();
    for j in 0..=nv {
        for i in 0..=nu {
            let [x, y, z] = at(5.0 * i as f64, 5.0 * j as f64);
            _ = writeln!(text, "v {x:.6} {y:.6} {z:.6}");
        }
    }
    for j in 0..nv {
        for i in 0..nu {
            if keep(5.0 * i as f64 + 2.5, 5.0 * j as f64 + 2.5) {
                let a = j * (nu + 1) + i + 1;
                let (b, d) = (a + 1, a + nu + 1);
                let c = d + 1;
                _ = writeln!(text, "f {a} {b} {c}\nf {a} {c} {d}");
            }
        }
    }
    text
}

fn plan(folder: &Path, job: &str) -> Result<Value, String> {
    fs::write(folder.join("job.toml"), job).unwrap();
    let mut run = Command::cargo_bin("warpwise").unwrap();
    let run = run
        .current_dir(folder)
        .args(["plan", "job.toml", "--effort", "quick", "--threads", "1"])
        .output()
        .unwrap();
    match run.status.code() {
        Some(0) => {
            let text = fs::read_to_string(folder.join("job-plan/plan.json")).unwrap();
            Ok(serde_json::from_str(&text).unwrap())
        }
        Some(1 | 2) => Err(String::from_utf8(run.stderr).unwrap()),
        other => panic!("{other:?}: {}", String::from_utf8_lossy(&run.stderr)),
    }
}

fn job(part: &str, layup: &str) -> String {
    format!(
        "[cutting]\ntrim = \"0 mm\"\n\n[cloth.twill]\nweave = \"twill\"\nareal_weight = \"200 g/m2\"\n\
         roll_width = \"1 m\"\nturns = \"half\"\nturn_over = false\nlock = \"40 deg\"\n\n\
         [[part]]\nname = \"COVER\"\ncloth = \"twill\"\nlayup = \"{layup}\"\n{part}"
    )
}

/// Area and second moments of a piece in the frame of its roll: the moments tell how it is turned, and a
/// mirrored piece has another sign of the last; half a turn changes none.
fn moments(piece: &Value) -> [f64; 4] {
    let ring = piece["net"]["outer"].as_array().unwrap();
    let at = |k: usize| {
        let p = &ring[k % ring.len()];
        [p[0].as_f64().unwrap(), p[1].as_f64().unwrap()]
    };
    let mut sums = [0.0; 6];
    for k in 0..ring.len() {
        let ([x, y], [u, v]) = (at(k), at(k + 1));
        let cross = x * v - u * y;
        let terms = [
            1.0 / 2.0,
            (x + u) / 6.0,
            (y + v) / 6.0,
            (x * x + x * u + u * u) / 12.0,
            (y * y + y * v + v * v) / 12.0,
            (x * v + 2.0 * x * y + 2.0 * u * v + u * y) / 24.0,
        ];
        sums.iter_mut()
            .zip(terms)
            .for_each(|(sum, term)| *sum += cross * term);
    }
    let [area, x, y, xx, yy, xy] = sums;
    [
        area,
        xx / area - (x / area).powi(2),
        yy / area - (y / area).powi(2),
        xy / area - x * y / area / area,
    ]
}

/// A flat plate that leans in space: its plies are those of its drawing, at every angle.
#[test]
fn a_flat_mould_is_its_own_drawing() {
    let folder = tempfile::tempdir().unwrap();
    // An angle with legs of unlike length and width, which no mirror image fits.
    let keep = |p: f64, q: f64| q < 60.0 || p < 40.0;
    let (e1, e2) = ([0.6, 0.64, 0.48], [-0.8, 0.48, 0.36]);
    let at = |p: f64, q: f64| [0, 1, 2].map(|k| 300.0 + p * e1[k] + q * e2[k]);
    fs::write(folder.path().join("angle.obj"), obj([60, 40], at, keep)).unwrap();
    let svg = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"300mm\" height=\"200mm\" viewBox=\"0 0 300 200\">\
               <path d=\"M0 200H300V140H40V0H0Z\"/></svg>";
    fs::write(folder.path().join("angle.svg"), svg).unwrap();
    let drawn = plan(
        folder.path(),
        &job("pattern = \"angle.svg\"\n", "[0/30/-45]"),
    )
    .unwrap();
    let zero = "zero = [0.6, 0.64, 0.48]";
    let mould =
        format!("mould = \"angle.obj\"\nunits = \"mm\"\n[part.lay]\n{zero}\nnet = \"4 mm\"\n");
    let laid = plan(folder.path(), &job(&mould, "[0/30/-45]")).unwrap();
    for n in 1..=3 {
        let id = format!("COVER-{n}");
        let of = |plan: &Value| {
            let pieces = plan["layouts"].as_array().unwrap().iter();
            let mut pieces = pieces.flat_map(|layout| layout["pieces"].as_array().unwrap());
            moments(pieces.find(|piece| piece["id"] == id.as_str()).unwrap())
        };
        let (drawn, laid) = (of(&drawn), of(&laid));
        for (exact, found) in drawn.into_iter().zip(laid) {
            assert!(
                (found - exact).abs() < 2e-3 * drawn[0],
                "{id}: {laid:?} for {drawn:?}"
            );
        }
        assert!(drawn[3].abs() > 0.02 * drawn[0], "{drawn:?} tells no side");
    }
    let drapes = laid["parts"][0]["drapes"].as_array().unwrap();
    let angles: Vec<f64> = drapes
        .iter()
        .map(|d| d["angle_deg"].as_f64().unwrap())
        .collect();
    assert_eq!(angles, [0.0, 30.0, -45.0]);
    for drape in drapes {
        assert!(drape["max_shear_deg"].as_f64().unwrap() < 0.01, "{drape}");
        for key in ["mould_area_mm2", "flat_area_mm2"] {
            let area = drape[key].as_f64().unwrap();
            assert!((area - 23_600.0).abs() < 1.0, "{key} {area}");
        }
    }
    assert!(drawn["parts"][0].get("drapes").is_none());
}

/// A shallow dish, radius 120, of a ball of radius 150.
fn dish() -> String {
    let at = |p: f64, q: f64| {
        let (x, y) = (p - 130.0, q - 130.0);
        let z: f64 = 150.0 * 150.0 - x * x - y * y;
        [x, y, z.max(0.0).sqrt()]
    };
    obj([52, 52], at, |p, q| {
        f64::hypot(p - 130.0, q - 130.0) < 128.0
    })
}

/// The part is what lies above z = 90, where the ball's circle has a radius of 120: all papers carry its flat plies.
#[test]
fn a_dish_is_planned_with_all_its_papers() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("dish.obj"), dish()).unwrap();
    let mould = "mould = \"dish.obj\"\nunits = \"mm\"\n[part.area]\nabove = { z = \"90 mm\" }\n\
                 [part.lay]\nstart = [\"0 mm\", \"0 mm\", \"150 mm\"]\nsmooth = \"straight\"\nnet = \"3 mm\"\n";
    let text = job(mould, "[0/45]s");
    let plan = plan(folder.path(), &text).unwrap();
    let part = &plan["parts"][0];
    let drapes = part["drapes"].as_array().unwrap();
    assert_eq!(drapes.len(), 2);
    for drape in drapes {
        // 2 π R h, and the net of a ball where its edge on the bias is 53.13° from the pole: between the values
        // of 45° (16.11°) and 60° (26.95°).
        let area = drape["mould_area_mm2"].as_f64().unwrap();
        let exact = std::f64::consts::TAU * 150.0 * 60.0;
        assert!((area / exact - 1.0).abs() < 2e-3, "{area} for {exact}");
        let shear = drape["max_shear_deg"].as_f64().unwrap();
        assert!((20.0..23.5).contains(&shear), "{shear}");
        assert!(drape["flat_area_mm2"].as_f64().unwrap() > area);
    }
    // One thickness all over: plies in different directions are one part all the same.
    let regions = part["regions"]["regions"].as_array();
    assert_eq!(regions.map(Vec::len), Some(1), "{}", part["regions"]);
    let sheet = fs::read_to_string(folder.path().join("job-plan/layup/COVER.html")).unwrap();
    for word in ["On the mould", "(0, 0, 150) mm", "Watch for wrinkles"] {
        assert!(sheet.contains(word), "no word of {word}");
    }
    // Each direction seen slantwise and from three sides, on the sheet and as a file.
    assert_eq!(sheet.matches("class=\"surface\"").count(), 8);
    for angle in ["0", "45"] {
        let file = format!("job-plan/mould/COVER_{angle}.svg");
        let picture = fs::read_to_string(folder.path().join(file)).unwrap();
        for side in [
            "Slantwise",
            "From above",
            "From the side (−y)",
            "From the side (+x)",
        ] {
            assert!(picture.contains(side), "not seen {side}");
        }
    }
}

/// A bowl of a ball of 150 mm, 60 mm deep: over it a great circle of 2·150·53.130° = 278.19 mm, its rim 240 mm across. The
/// usual stack reaches 76.2 mm beyond and the tape 25 mm further; pleats of 15 mm give 30 mm each, and 1.05 · 38.19 mm want
/// two on each side.
#[test]
fn a_bag_comes_into_the_hollow_of_its_mould() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("dish.obj"), dish()).unwrap();
    let mould = "mould = \"dish.obj\"\nunits = \"mm\"\n[part.area]\nabove = { z = \"90 mm\" }\n[part.lay]\nnet = \"3 mm\"\n";
    let text = job(mould, "[0]") + "[bag]\npleat_height = \"15 mm\"\n";
    let plan = plan(folder.path(), &text).unwrap();
    let bag = &plan["bagging"]["parts"][0];
    let number = |value: &Value| value.as_f64().unwrap();
    let near = |found: f64, exact: f64, by: f64| {
        assert!((found - exact).abs() < by, "{found}, not {exact}")
    };
    let (rim, way) = (240.0, 300.0 * warpwise::geometry::trig::acos_radians(0.6));
    let line = rim + 2.0 * (76.2 + 25.0);
    for k in 0..2 {
        // As much beyond as the shears may be off.
        near(number(&bag["tape_line_mm"][k]), line + 2.0, 2.5);
        near(number(&bag["over_mould_mm"][k]), way - rim, 0.3);
        let film = number(&bag["film_mm"][k]) - number(&bag["tape_line_mm"][k]);
        near(film, 2.0 * 30.0 + 2.0 * 25.0, 1e-3);
    }
    assert_eq!(bag["pleats"], 8);
    assert_eq!(bag["pleats_on_sides"], serde_json::json!([2, 2]));
    let run =
        2.0 * (number(&bag["tape_line_mm"][0]) + number(&bag["tape_line_mm"][1])) + 8.0 * 30.0;
    near(number(&bag["tape_mm"]), run, 1e-2);
    // Peel ply, release film and breather reach as far over the bowl, and their margins beyond: none of them shears.
    let layers = plan["bagging"]["layers"].as_array().unwrap();
    for (layer, margin) in layers.iter().zip([25.4, 50.8, 76.2]) {
        let ring = layer["layout"]["pieces"][0]["cut"]["outer"]
            .as_array()
            .unwrap();
        let xs = ring.iter().map(|p| number(&p[0]));
        let [low, high] = [
            xs.clone().fold(f64::MAX, f64::min),
            xs.fold(f64::MIN, f64::max),
        ];
        near(
            high - low,
            rim + 1.05 * (way - rim) + 2.0 * margin + 2.0,
            2.5,
        );
    }
    let sheet = fs::read_to_string(folder.path().join("job-plan/layup/COVER.html")).unwrap();
    assert!(
        sheet.contains("8 pleats") && sheet.contains("2 on each long side"),
        "{sheet}"
    );
}

/// Two such bowls in one bag lie side by side: over both along the bag, over one across it.
#[test]
fn a_shared_bag_comes_into_the_hollows_on_each_line() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("dish.obj"), dish()).unwrap();
    let mould = "bag = \"pair\"\nmould = \"dish.obj\"\nunits = \"mm\"\n[part.area]\nabove = { z = \"90 mm\" }\n[part.lay]\nnet = \"4 mm\"\n";
    let one = job(mould, "[0]");
    let part = one.find("[[part]]").unwrap();
    let other = one[part..].replace("COVER", "OTHER");
    let text = format!("{one}{other}[bag]\npleat_height = \"15 mm\"\n");
    let plan = plan(folder.path(), &text).unwrap();
    let bag = &plan["bagging"]["parts"][0];
    let number = |value: &Value| value.as_f64().unwrap();
    let one_bowl = 300.0 * warpwise::geometry::trig::acos_radians(0.6) - 240.0;
    for (k, bowls) in [(0, 2.0), (1, 1.0)] {
        let over = number(&bag["over_mould_mm"][k]);
        assert!((over - bowls * one_bowl).abs() < 0.6, "{bag}");
    }
    assert_eq!(bag["pleats_on_sides"], serde_json::json!([3, 2]));
}

/// Where the cloth would lock it is cut: the piece on the roll has the V in it, and the trim does not fill it.
#[test]
fn darts_are_cut_into_the_piece() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("dish.obj"), dish()).unwrap();
    let mould = "mould = \"dish.obj\"\nunits = \"mm\"\n[part.area]\nabove = { z = \"90 mm\" }\n\
                 [part.lay]\nstart = [\"0 mm\", \"0 mm\", \"150 mm\"]\nnet = \"3 mm\"\ndarts = \"where needed\"\n";
    let text = job(mould, "[0]")
        .replace("40 deg", "18 deg")
        .replace("trim = \"0 mm\"", "trim = \"25 mm\"");
    let plan = plan(folder.path(), &text).unwrap();
    let drape = &plan["parts"][0]["drapes"][0];
    assert!(drape["max_shear_deg"].as_f64().unwrap() < 18.0, "{drape}");
    let darts = drape["darts"].as_array().unwrap();
    assert_eq!(darts.len(), 4, "{drape}");
    let piece = &plan["layouts"][0]["pieces"][0];
    let flat = drape["flat_area_mm2"].as_f64().unwrap();
    assert!((moments(piece)[0] / flat - 1.0).abs() < 1e-3, "{piece}");
    for dart in darts {
        let [a, b] = [0, 1].map(|k| dart["lips_mm"][k].as_f64().unwrap());
        assert!(a > 10.0 && (a - b).abs() < 0.02 * a, "{dart}");
        // A ball's circle at z = 90.
        let [x, y, z] = [0, 1, 2].map(|k| dart["mouth_mm"][k].as_f64().unwrap());
        assert!(
            (f64::hypot(x, y) - 120.0).abs() < 0.3 && (z - 90.0).abs() < 1e-6,
            "{dart}"
        );
    }
    // Each V makes two corners of a mouth and a tip: the cut line turns right at four tips.
    let ring = piece["cut"]["outer"].as_array().unwrap();
    let at = |k: usize| [0, 1].map(|d| ring[k % ring.len()][d].as_f64().unwrap());
    let turns_back = |k: usize| {
        let [a, b, c] = [at(k), at(k + 1), at(k + 2)];
        let (u, v) = ([b[0] - a[0], b[1] - a[1]], [c[0] - b[0], c[1] - b[1]]);
        u[0] * v[1] < u[1] * v[0] && u[0] * v[0] + u[1] * v[1] < 0.0
    };
    let sharp = (0..ring.len()).filter(|&k| turns_back(k)).count();
    assert_eq!(sharp, 4);
}

/// Where the mould is saddled the cloth is cut to the tip, and a gusset is cut, labelled, laid and counted as a lap.
#[test]
fn a_gusset_is_let_in_where_a_cut_opens() {
    let folder = tempfile::tempdir().unwrap();
    let at = |p: f64, q: f64| {
        let (x, y) = (p - 125.0, q - 125.0);
        [x, y, (x * x - y * y) / 160.0]
    };
    fs::write(
        folder.path().join("saddle.obj"),
        obj([50, 50], at, |_, _| true),
    )
    .unwrap();
    let corner = |k: u32| {
        let (x, y) = [
            (100, 40),
            (40, 100),
            (-40, 100),
            (-100, 40),
            (-100, -40),
            (-40, -100),
            (40, -100),
            (100, -40),
        ][k as usize];
        format!("[\"{x} mm\", \"{y} mm\"]")
    };
    let line: Vec<String> = (0..8).map(corner).collect();
    let mould = format!(
        "mould = \"saddle.obj\"\nunits = \"mm\"\n[part.area]\ninside = [{}]\n[part.lay]\nsmooth = \"straight\"\n\
         start = [\"0 mm\", \"0 mm\", \"0 mm\"]\nnet = \"3 mm\"\ndarts = \"where needed\"\ngusset_lap = \"15 mm\"\n",
        line.join(", ")
    );
    let text = job(&mould, "[0]")
        .replace("40 deg", "18 deg")
        .replace("trim = \"0 mm\"", "trim = \"10 mm\"");
    let plan = plan(folder.path(), &text).unwrap();
    let drape = &plan["parts"][0]["drapes"][0];
    assert!(drape["max_shear_deg"].as_f64().unwrap() < 18.0, "{drape}");
    assert!(drape["darts"].as_array().unwrap().is_empty(), "{drape}");
    let reliefs = drape["reliefs"].as_array().unwrap();
    assert_eq!(reliefs.len(), 4, "{drape}");
    let pieces = plan["layouts"][0]["pieces"].as_array().unwrap();
    let piece = |id: &str| pieces.iter().find(|piece| piece["id"] == id).unwrap();
    let mut net = moments(piece("COVER-1"))[0];
    let flat = drape["flat_area_mm2"].as_f64().unwrap();
    assert!((net / flat - 1.0).abs() < 1e-3, "{net} for {flat}");
    let (mut bare, mut laps) = (0.0, 0.0);
    for relief in reliefs {
        let id = format!("COVER-1-{}", relief["letter"].as_str().unwrap());
        let own = moments(piece(&id))[0];
        let covers = relief["flat_area_mm2"].as_f64().unwrap();
        assert!(
            own > 15.0 * relief["cut"]["length_mm"].as_f64().unwrap(),
            "{relief}"
        );
        (net, bare, laps) = (net + own, bare + covers, laps + own - covers);
        for file in ["job-plan/layup/COVER.html", "job-plan/report.html"] {
            let text = fs::read_to_string(folder.path().join(file)).unwrap();
            assert!(text.contains(&id), "no {id} in {file}");
        }
    }
    let ply = &plan["parts"][0]["plies"][0];
    let own = ply["area_mm2"].as_f64().unwrap();
    assert!(
        (own / (flat + bare) - 1.0).abs() < 1e-3,
        "{own} for {flat} and {bare}: {ply}"
    );
    assert!((net - own - laps).abs() < 1.0, "{net}, {own}, {laps}");
    for file in ["twill.svg", "twill.dxf"] {
        let text = fs::read_to_string(folder.path().join("job-plan/cut").join(file)).unwrap();
        assert!(text.contains("COVER-1-J"), "no gusset in {file}");
    }
}

/// A stitched biaxial bears one shear where it is pulled along its roll and another where it is pulled across: on a ball it
/// closes across the roll on the two sides that lie that way, along it on the two others, and has its darts there alone.
#[test]
fn a_biaxial_locks_by_the_way_it_is_pulled() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("dish.obj"), dish()).unwrap();
    let mould = "mould = \"dish.obj\"\nunits = \"mm\"\n[part.area]\nabove = { z = \"90 mm\" }\n\
                 [part.lay]\nstart = [\"0 mm\", \"0 mm\", \"150 mm\"]\nnet = \"3 mm\"\ndarts = \"where needed\"\n";
    // The edge shears by 20 to 23.5° on every side, see `a_dish_is_planned_with_all_its_papers`.
    let h = std::f64::consts::FRAC_1_SQRT_2;
    let cases = [
        (40, 15, 0, [h, h]),
        (15, 40, 0, [h, -h]),
        (40, 15, 45, [0.0, 1.0]),
        (15, 40, 45, [1.0, 0.0]),
    ];
    for (along, across, angle, side) in cases {
        let locks = format!("lock = \"{along} deg\"\nlock_across = \"{across} deg\"");
        let text = job(mould, &format!("[{angle}]"))
            .replace("lock = \"40 deg\"", &locks)
            .replace("weave = \"twill\"", "weave = \"biaxial\"");
        let plan = plan(folder.path(), &text).unwrap();
        let drape = &plan["parts"][0]["drapes"][0];
        let darts = drape["darts"].as_array().unwrap();
        assert_eq!(darts.len(), 2, "{along} {across} at {angle}°: {drape}");
        for dart in darts {
            let [x, y] = [0, 1].map(|k| dart["mouth_mm"][k].as_f64().unwrap());
            // The sine of how far off that side it lies: 3°.
            let off = (x * side[1] - y * side[0]) / f64::hypot(x, y);
            assert!(off.abs() < 0.0523, "{along} {across} at {angle}°: {dart}");
        }
    }
}

/// The part is what a drawing shows over the mould: of a circle of 60 mm over the middle of the ball its cap, of one of
/// 10 mm in it an opening; placed by the drawing's lower left corner.
#[test]
fn a_part_ends_along_a_drawn_line() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("dish.obj"), dish()).unwrap();
    let svg = |path: &str| {
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"200mm\" height=\"160mm\" viewBox=\"0 0 200 160\">{path}</svg>"
        );
        fs::write(folder.path().join("trim.svg"), svg).unwrap();
    };
    let mould = |more: &str| {
        format!(
            "mould = \"dish.obj\"\nunits = \"mm\"\n[part.area]\nline = \"trim.svg\"\n{more}[part.lay]\nnet = \"3 mm\"\n"
        )
    };
    let placed = mould("line_at = [\"-100 mm\", \"-60 mm\", \"0 mm\"]\n");
    svg("<circle cx=\"100\" cy=\"100\" r=\"60\"/><circle cx=\"100\" cy=\"100\" r=\"10\"/>");
    let plan = |part: &str| plan(folder.path(), &job(part, "[0]"));
    let drape = plan(&placed).unwrap()["parts"][0]["drapes"][0].clone();
    let cap = |r: f64| std::f64::consts::TAU * 150.0 * (150.0 - (150.0 * 150.0 - r * r).sqrt());
    let (area, exact) = (
        drape["mould_area_mm2"].as_f64().unwrap(),
        cap(60.0) - cap(10.0),
    );
    assert!((area / exact - 1.0).abs() < 2e-3, "{area} for {exact}");
    for (path, part, words) in [
        (
            "<circle cx=\"190\" cy=\"100\" r=\"60\"/>",
            &placed,
            "leaves the mould at",
        ),
        (
            "<path d=\"M60 60L140 140V60L60 140Z\"/>",
            &placed,
            "crosses itself",
        ),
        (
            "<path d=\"M60 60L140 140V60\" fill=\"none\"/>",
            &placed,
            "no closed outline",
        ),
        (
            "<circle cx=\"80\" cy=\"100\" r=\"9\"/><circle cx=\"120\" cy=\"100\" r=\"9\"/>",
            &placed,
            "is drawn as 2 closed lines",
        ),
        (
            "",
            &mould("").replace("trim.svg", "none.svg"),
            "the line around part `COVER` cannot be read",
        ),
        (
            "",
            &placed.replace("line = \"trim.svg\"\n", ""),
            "names no `line`",
        ),
    ] {
        svg(path);
        let told = plan(part).unwrap_err();
        assert!(told.contains(words), "{words}: {told}");
    }
}

/// A ply over a core of 10 mm lies on a ball that is so much larger: of 160 mm in place of 150 mm. The core is as large as the
/// ball there, 2 π R h, and adds its thickness to every place; a smaller one raises nothing, which is told.
#[test]
fn a_ply_over_a_core_is_larger() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("dish.obj"), dish()).unwrap();
    let mould = "mould = \"dish.obj\"\nunits = \"mm\"\n[part.area]\nabove = { z = \"90 mm\" }\n[part.lay]\nnet = \"4 mm\"\n\
                 [[part.core]]\non_ply = 1\nthickness = \"10 mm\"\ndensity = \"100 kg/m3\"\n";
    let job = |mould: &str| {
        let known = "areal_weight = \"200 g/m2\"\nfibre = \"carbon\"";
        job(mould, "[0/45]").replace("areal_weight = \"200 g/m2\"", known)
    };
    let whole = plan(folder.path(), &job(mould)).unwrap();
    let area = |plan: &Value, n: u32| {
        let id = format!("COVER-{n}");
        let layouts = plan["layouts"].as_array().unwrap().iter();
        let mut pieces = layouts.flat_map(|layout| layout["pieces"].as_array().unwrap());
        moments(pieces.find(|piece| piece["id"] == id.as_str()).unwrap())[0]
    };
    // A quarter of a turn and an eighth are two directions on one ball: each is held against itself without the core.
    let bare = plan(folder.path(), &job(&mould[..mould.find("[[").unwrap()])).unwrap();
    let ratio = area(&whole, 2) / area(&bare, 2);
    // What differs by less than 0.2 mm at the edge is laid alike.
    let exact = (160.0_f64 / 150.0).powi(2);
    assert!((ratio - exact).abs() < 4e-3, "{ratio} for {exact}");
    assert!((area(&whole, 1) / area(&bare, 1) - 1.0).abs() < 1e-9);
    let core = &whole["parts"][0]["cores"][0];
    let (own, exact) = (
        core["area_mm2"].as_f64().unwrap(),
        std::f64::consts::TAU * 150.0 * 60.0,
    );
    assert!((own / exact - 1.0).abs() < 2e-3, "{own} for {exact}");
    let thickness = |plan: &Value| {
        let places = plan["parts"][0]["places"].as_array().unwrap();
        (places.iter())
            .map(|place| place["thickness_mm"].as_f64().unwrap())
            .fold(f64::INFINITY, f64::min)
    };
    let more = thickness(&whole) - thickness(&bare);
    assert!((more - 10.0).abs() < 0.01, "{more}");
    let smaller = mould.replace("thickness", "step = \"-20 mm\"\nthickness");
    let smaller = plan(folder.path(), &job(&smaller)).unwrap();
    assert!((area(&smaller, 2) / area(&bare, 2) - 1.0).abs() < 1e-9);
}

/// A scan is smoothed where the job says that it is one, and by how much is told.
#[test]
fn a_scan_is_smoothed() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("dish.obj"), dish()).unwrap();
    let mould = "mould = \"dish.obj\"\nunits = \"mm\"\n[part.area]\nabove = { z = \"90 mm\" }\nscan = true\n";
    fs::write(folder.path().join("job.toml"), job(mould, "[0]")).unwrap();
    let mut run = Command::cargo_bin("warpwise").unwrap();
    let run = run.current_dir(folder.path()).args(["check", "job.toml"]);
    let told = String::from_utf8(run.output().unwrap().stderr).unwrap();
    let words = "the scan of part `COVER` was smoothed: its points moved by up to 0.";
    assert!(told.contains(words), "{told}");
}

/// Unidirectional cloth slips, a mat goes every way, each with an outline of its own at one angle; `check` tells how cloths
/// would lie by other directions and starts.
#[test]
fn cloths_lie_by_their_kind() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("dish.obj"), dish()).unwrap();
    let mould = "mould = \"dish.obj\"\nunits = \"mm\"\n[part.area]\nabove = { z = \"90 mm\" }\n\
                 [part.lay]\nstart = [\"0 mm\", \"0 mm\", \"150 mm\"]\nnet = \"3 mm\"\n";
    let ply = |cloth: &str| format!("[[part.ply]]\ncloth = \"{cloth}\"\nangle = \"0 deg\"\n");
    let plies = ["twill", "tape", "mat"].map(ply).concat();
    let cloths = "[cloth.tape]\nweave = \"unidirectional\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n\
                  [cloth.mat]\nweave = \"non-directional\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n";
    let text = job(mould, "[0]").replace("layup = \"[0]\"\n", "");
    let text = format!("{cloths}{text}{plies}");
    let plan = plan(folder.path(), &text).unwrap();
    let drapes = plan["parts"][0]["drapes"].as_array().unwrap();
    let of = |key: &str| {
        drapes
            .iter()
            .map(|d| d[key].as_f64().unwrap())
            .collect::<Vec<_>>()
    };
    let (shear, flat, area) = (
        of("max_shear_deg"),
        of("flat_area_mm2"),
        of("mould_area_mm2"),
    );
    assert_eq!(drapes.len(), 3);
    // The tangent of the largest slip on a ball as far as 53.13° from the start is λ sin φ at its most: 23.47° on the edge.
    assert!((shear[1] - 23.47).abs() < 0.5, "{shear:?}");
    assert!(shear[2] < 0.7 * shear[0], "{shear:?}");
    assert!(
        flat[0] > area[0] && (flat[1] / area[1] - 1.0).abs() < 1e-3,
        "{flat:?} {area:?}"
    );

    // The sheet says what each is computed for.
    let sheet = fs::read_to_string(folder.path().join("job-plan/layup/COVER.html")).unwrap();
    for model in [
        "turn where they cross",
        "slip along each other",
        "a mat that",
    ] {
        assert!(sheet.contains(model), "no word of {model}");
    }

    let mut run = Command::cargo_bin("warpwise").unwrap();
    let run = run
        .current_dir(folder.path())
        .args(["check", "job.toml"])
        .output()
        .unwrap();
    let told = String::from_utf8(run.stdout).unwrap();
    for words in [
        "COVER of twill on its mould",
        "COVER of tape on its mould",
        "start (0, 0, 150) mm: 0° ",
        "least at ",
    ] {
        assert!(told.contains(words), "no word of {words}: {told}");
    }
}

#[test]
fn what_is_wrong_with_a_mould_is_told() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("dish.obj"), dish()).unwrap();
    let wrong = |part: &str| plan(folder.path(), &job(part, "[0]")).unwrap_err();
    let mould = "mould = \"dish.obj\"\n";
    for (part, words) in [
        (mould.to_owned(), "states no unit"),
        (
            format!("{mould}units = \"mm\"\npattern = \"a.svg\"\n"),
            "both `pattern` and `mould`",
        ),
        (
            format!(
                "{mould}units = \"mm\"\n[part.area]\nabove = {{ z = \"90 mm\" }}\nlap = {{ x = \"9 mm\" }}\n"
            ),
            "`lap` names x, and the area has no limit there",
        ),
        (
            format!("{mould}units = \"mm\"\nseen_from = \"tool\"\n"),
            "has a mould, not a drawing",
        ),
        (
            "pattern = \"a.svg\"\n[part.lay]\nnet = \"2 mm\"\n".to_owned(),
            "names no mould",
        ),
        (String::new(), "has no `pattern`"),
        (
            "mould = \"none.stl\"\nunits = \"mm\"\n".to_owned(),
            "cannot be read",
        ),
        (
            format!("{mould}units = \"mm\"\n[part.area]\ngroup = \"skin\"\n"),
            "no group `skin`",
        ),
        (
            format!("{mould}units = \"mm\"\n[part.area]\nabove = {{ z = \"1 m\" }}\n"),
            "nothing of the mould",
        ),
        (
            format!("{mould}units = \"mm\"\n[part.lay]\nzero = [0, 0, 1]\n"),
            "stands upright",
        ),
        (
            format!("{mould}units = \"mm\"\n[part.lay]\nzero = [0, 0, 0]\n"),
            "`zero` is no direction",
        ),
        (
            format!("{mould}units = \"mm\"\n[part.lay]\nstart = [\"9 m\", \"0 mm\", \"0 mm\"]\n"),
            "lies 8870",
        ),
        (
            format!(
                "{mould}units = \"mm\"\n[part.lay]\ndart_lines = [[[\"0 mm\", \"0 mm\", \"0 mm\"]]]\n"
            ),
            "list of lines",
        ),
    ] {
        let said = wrong(&part);
        assert!(said.contains(words), "{part}: {said}");
        assert!(!folder.path().join("job-plan").exists());
    }
}

/// The examples plan, and what they tell is what their shapes give in closed form.
#[test]
fn the_moulds_of_the_examples_plan() {
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let largest = |job: &str, n: usize| {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("out");
        let mut run = Command::cargo_bin("warpwise").unwrap();
        run.arg("plan")
            .arg(examples.join(job))
            .arg("--out")
            .arg(&out);
        run.args(["--effort", "quick", "--threads", "1"])
            .assert()
            .success();
        let text = fs::read_to_string(out.join("plan.json")).unwrap();
        let plan: Value = serde_json::from_str(&text).unwrap();
        let drapes = plan["parts"][0]["drapes"].as_array().unwrap().clone();
        assert_eq!(drapes.len(), n, "{job}");
        ["max_shear_deg", "mould_area_mm2"].map(|key| drapes[0][key].as_f64().unwrap())
    };
    // A corner turns by 90° (1 − cos 60°), whatever its radius.
    let [shear, _] = largest("tray.toml", 1);
    assert!((shear - 45.0).abs() < 1.0, "{shear}");
    // 2 π R h of the ball.
    let [shear, area] = largest("bowl.toml", 2);
    let exact = std::f64::consts::TAU * 140.0 * 60.0;
    assert!((area / exact - 1.0).abs() < 5e-3, "{area} for {exact}");
    // On the bias, below the value at 60° from the pole; the edge is at 55°.
    assert!((20.0..26.95).contains(&shear), "{shear}");
    let [_, area] = largest("mirror-cover.toml", 2);
    // By hand: the paraboloids' area over the ellipses, halves of unlike length.
    let exact = [125.0, 95.0].map(|a| paraboloid(a, 70.0, 40.0) / 2.0);
    let exact = exact[0] + exact[1];
    assert!((area / exact - 1.0).abs() < 5e-3, "{area} for {exact}");
}

/// The area of z = h (1 − x²/a² − y²/b²) above its base, by the midpoint rule.
fn paraboloid(a: f64, b: f64, h: f64) -> f64 {
    const N: u32 = 1_000;
    let step = |n: u32| (f64::from(n) + 0.5) / f64::from(N);
    let mut sum = 0.0;
    for u in (0..N).map(step) {
        for v in (0..N).map(step).filter(|v| u * u + v * v < 1.0) {
            let (dx, dy) = (2.0 * h * u / a, 2.0 * h * v / b);
            sum += (1.0 + dx * dx + dy * dy).sqrt();
        }
    }
    sum * 4.0 * a * b / f64::from(N * N)
}

fn warpwise(folder: &Path, arguments: &[&str]) -> String {
    let mut run = Command::cargo_bin("warpwise").unwrap();
    let run = run.current_dir(folder).args(arguments).output().unwrap();
    let seen = [run.stderr, run.stdout].map(|bytes| String::from_utf8(bytes).unwrap());
    assert!(run.status.success(), "{arguments:?}: {seen:?}");
    seen[1].clone()
}

#[test]
fn inspect_tells_what_may_be_a_part_of_a_mould() {
    let patterns = Path::new(env!("CARGO_MANIFEST_DIR")).join("patterns");
    let out = tempfile::tempdir().unwrap();
    let picture = out.path().join("seen.svg");
    let arguments = [
        "inspect",
        "bowl.ply",
        "cover.obj",
        "--json",
        "--svg",
        picture.to_str().unwrap(),
    ];
    let held: Value = serde_json::from_str(&warpwise(&patterns, &arguments)).unwrap();
    assert_eq!(held["files"], serde_json::json!([]));
    let bowl = &held["moulds"][0];
    assert_eq!(bowl["unit_is_stated"], false);
    let part = &bowl["candidates"][0];
    // A ball of 140 mm, hollow, to 60° from its pole; 360° (1 − cos 60°) less its last corners.
    for key in ["smallest_hollow_mm", "largest_radius_mm"] {
        let radius = part[key].as_f64().unwrap();
        assert!((radius - 140.0).abs() < 4.0, "{key} {radius}");
    }
    assert_eq!(part["smallest_bulge_mm"], Value::Null);
    let curvature = part["bowl_deg"].as_f64().unwrap();
    assert!((150.0..180.0).contains(&curvature), "{curvature}");
    let rim = &bowl["candidates"][1];
    assert!(
        rim["bowl_deg"].as_f64().unwrap() < 0.1,
        "the rim is flat: {rim}"
    );
    let groups = held["moulds"][1]["groups"].as_array().unwrap();
    let names: Vec<&str> = groups
        .iter()
        .map(|group| group["name"].as_str().unwrap())
        .collect();
    assert_eq!(names, ["cover", "margin"]);
    let picture = fs::read_to_string(picture).unwrap();
    for words in ["bowl.ply", "cover.obj", "Slantwise", "From above", ">2<"] {
        assert!(picture.contains(words), "no {words}");
    }
}

#[test]
fn a_job_made_for_a_mould_plans_and_check_tells_its_sizes() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("dish.obj"), dish()).unwrap();
    warpwise(folder.path(), &["new", "dish.obj", "--quiet"]);
    let told = warpwise(folder.path(), &["check", "dish.toml"]);
    for words in [
        "cloth at 0°: ",
        "on the mould, flat ",
        "cloth at 45°: ",
        "shears by ",
    ] {
        assert!(told.contains(words), "{told}");
    }
    let held: Value =
        serde_json::from_str(&warpwise(folder.path(), &["check", "dish.toml", "--json"])).unwrap();
    let drapes = held["drapes"].as_array().unwrap();
    assert_eq!(drapes.len(), 2);
    assert!(
        drapes.iter().all(|drape| drape["part"] == "DISH"),
        "{drapes:?}"
    );
    warpwise(
        folder.path(),
        &["plan", "dish.toml", "--effort", "quick", "--quiet"],
    );
}

/// Ply upon ply each is as large as the surface that it lies on; where cloth is pushed out of square, it is heavier and
/// thicker by 1/cos of that, and its fibres have turned.
#[test]
fn plies_lie_on_plies_and_are_heavier_where_they_shear() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("dish.obj"), dish()).unwrap();
    let mould = "mould = \"dish.obj\"\nunits = \"mm\"\n[part.area]\nabove = { z = \"90 mm\" }\n\
                 [part.lay]\nstart = [\"0 mm\", \"0 mm\", \"150 mm\"]\nnet = \"3 mm\"\n";
    let text =
        job(mould, "[0/0/0/0/0/0/0/0]").replace("200 g/m2\"\n", "600 g/m2\"\nfibre = \"carbon\"\n");
    let plan = plan(folder.path(), &text).unwrap();
    let part = &plan["parts"][0];
    assert_eq!(part["drapes"].as_array().unwrap().len(), 1);
    let plies = part["plies"].as_array().unwrap();
    let number = |value: &Value, key: &str| {
        value[key]
            .as_f64()
            .unwrap_or_else(|| panic!("{key}: {value}"))
    };
    let first = number(&plies[0]["on_mould"], "flat_area_mm2");
    for (k, ply) in plies.iter().enumerate() {
        let beneath = k as f64 * number(ply, "thickness_mm");
        let on = &ply["on_mould"];
        let counted = number(on, "on_plies_mm");
        assert!((0.0..0.25).contains(&(beneath - counted)), "{ply}");
        // All of a ball grows as the square of its radius.
        let exact = ((150.0 + counted) / 150.0).powi(2);
        let found = number(on, "flat_area_mm2") / first;
        assert!(
            (found - exact).abs() < 5e-4,
            "ply {}: {found} for {exact}",
            k + 1
        );
        // The piece that is cut is that.
        let id = format!("COVER-{}", k + 1);
        let mut pieces = (plan["layouts"].as_array().unwrap().iter())
            .flat_map(|layout| layout["pieces"].as_array().unwrap());
        let piece = pieces.find(|piece| piece["id"] == id.as_str()).unwrap();
        let cut = moments(piece)[0];
        assert!(
            (cut / number(on, "flat_area_mm2") - 1.0).abs() < 5e-4,
            "{id}: {cut}"
        );
    }
    let places = part["places"].as_array().unwrap();
    assert!(places.len() >= 8, "{}", places.len());
    let thickness = number(&plies[0], "thickness_mm");
    for place in places {
        let mut all = 0.0;
        for ply in place["plies"].as_array().unwrap() {
            let between = (number(ply, "weft_deg") - number(ply, "warp_deg")).to_radians();
            let heavier = number(ply, "areal_weight_g_m2") / 600.0;
            let (sin, _) = warpwise::geometry::trig::sin_cos_radians(between);
            assert!((heavier * sin - 1.0).abs() < 1e-3, "{ply}");
            assert!(
                (number(ply, "thickness_mm") / thickness / heavier - 1.0).abs() < 1e-3,
                "{ply}"
            );
            all += number(ply, "thickness_mm");
        }
        assert!(
            (number(place, "thickness_mm") - all).abs() < 1e-3,
            "{place}"
        );
    }
    // At the start as designed; at the edge on the bias pushed out of square by as much as is told.
    let of = |k: usize| &places[k]["plies"][0];
    assert!(
        number(of(0), "warp_deg").abs() < 0.5 && (number(of(0), "weft_deg") - 90.0).abs() < 0.5
    );
    let sheared = 90.0 - number(of(1), "weft_deg") + number(of(1), "warp_deg");
    let told = number(&part["drapes"][0], "max_shear_deg");
    assert!(
        (sheared.abs() - told).abs() < 2.0,
        "{sheared} where {told} is told"
    );
    // Stiff along and across alike at the start; softer across the long diagonal than designed nowhere.
    let [ex, ey] = ["ex_mpa", "ey_mpa"].map(|key| number(&places[0], key));
    assert!((ex / ey - 1.0).abs() < 1e-2, "{ex} {ey}");
    let sheet = fs::read_to_string(folder.path().join("job-plan/report.html")).unwrap();
    assert!(sheet.contains("by place on its mould") || sheet.contains("By place on the mould"));
}
