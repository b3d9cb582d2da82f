use std::fmt::Write as _;

use super::*;
use crate::geometry::{Outline, Point, Ring, trig};

/// A box without its top: 12 × 8 × 5, by its triangles' corners, all seen from inside.
fn open_box() -> Vec<[[f32; 3]; 3]> {
    let (x, y, z) = (12.0, 8.0, 5.0);
    let quads = [
        [[0.0, 0.0, 0.0], [x, 0.0, 0.0], [x, y, 0.0], [0.0, y, 0.0]],
        [[0.0, 0.0, 0.0], [0.0, 0.0, z], [x, 0.0, z], [x, 0.0, 0.0]],
        [[x, y, 0.0], [x, y, z], [0.0, y, z], [0.0, y, 0.0]],
        [[0.0, y, 0.0], [0.0, y, z], [0.0, 0.0, z], [0.0, 0.0, 0.0]],
        [[x, 0.0, 0.0], [x, 0.0, z], [x, y, z], [x, y, 0.0]],
    ];
    quads
        .into_iter()
        .flat_map(|[a, b, c, d]| [[a, b, c], [a, c, d]])
        .collect()
}

fn binary_stl(head: &str, triangles: &[[[f32; 3]; 3]]) -> Vec<u8> {
    let mut bytes = head.as_bytes().to_vec();
    bytes.resize(80, b' ');
    bytes.extend((triangles.len() as u32).to_le_bytes());
    for triangle in triangles {
        bytes.extend([0; 12]);
        bytes.extend(triangle.iter().flatten().flat_map(|v| v.to_le_bytes()));
        bytes.extend([0, 0]);
    }
    bytes
}

fn text_stl(triangles: &[[[f32; 3]; 3]]) -> String {
    let mut text = "solid box\n".to_owned();
    for triangle in triangles {
        text += "facet normal 0 0 0\nouter loop\n";
        for [x, y, z] in triangle {
            _ = writeln!(text, "vertex {x} {y} {z}");
        }
        text += "endloop\nendfacet\n";
    }
    text + "endsolid box\n"
}

/// The corners each once, and the triangles by their numbers.
fn indexed(triangles: &[[[f32; 3]; 3]]) -> (Vec<[f32; 3]>, Vec<[usize; 3]>) {
    let mut points: Vec<[f32; 3]> = Vec::new();
    let mut number = |p: [f32; 3]| {
        points.iter().position(|&q| q == p).unwrap_or_else(|| {
            points.push(p);
            points.len() - 1
        })
    };
    let faces = triangles.iter().map(|t| t.map(&mut number)).collect();
    (points, faces)
}

fn obj(triangles: &[[[f32; 3]; 3]]) -> String {
    let (points, faces) = indexed(triangles);
    let mut text = "# a box\n".to_owned();
    for [x, y, z] in &points {
        _ = writeln!(text, "v {x} {y} {z}");
    }
    let n = points.len();
    for (k, [a, b, c]) in faces.iter().enumerate() {
        match k {
            0 => text += "g bottom\n",
            2 => text += "g walls\nusemtl gel\n",
            _ => {}
        }
        // Numbers from the end, and with those of textures and normals.
        _ = writeln!(text, "f -{} {}/7 {}//3", n - a, b + 1, c + 1);
    }
    text
}

fn ply(triangles: &[[[f32; 3]; 3]], binary: bool) -> Vec<u8> {
    let (points, faces) = indexed(triangles);
    let format = if binary {
        "binary_little_endian"
    } else {
        "ascii"
    };
    let mut bytes = format!(
        "ply\nformat {format} 1.0\nelement vertex {}\nproperty float x\nproperty float y\nproperty float z\n\
         element face {}\nproperty list uchar int vertex_indices\nend_header\n",
        points.len(),
        faces.len()
    )
    .into_bytes();
    for p in &points {
        match binary {
            true => bytes.extend(p.iter().flat_map(|v| v.to_le_bytes())),
            false => bytes.extend(format!("{} {} {}\n", p[0], p[1], p[2]).bytes()),
        }
    }
    for face in &faces {
        match binary {
            true => {
                bytes.push(3);
                bytes.extend(face.iter().flat_map(|&k| (k as i32).to_le_bytes()));
            }
            false => bytes.extend(format!("3 {} {} {}\n", face[0], face[1], face[2]).bytes()),
        }
    }
    bytes
}

fn read(file: &str, bytes: impl Into<Vec<u8>>) -> Result<Mould, String> {
    let read = Mould::read(file, bytes.into(), Some(LengthUnit::Centimetre));
    read.map(|(mould, _)| mould).map_err(|problems| {
        let texts: Vec<String> = problems.iter().map(|p| p.message.clone()).collect();
        texts.join("; ")
    })
}

/// In all formats the same mould: 2 (12 + 8) · 5 + 12 · 8 cm².
#[test]
fn one_mould_in_every_format() {
    let triangles = open_box();
    let files = [
        ("box.stl", binary_stl("a box", &triangles)),
        (
            "BOX.STL",
            binary_stl("solid, says many a program", &triangles),
        ),
        ("text.stl", text_stl(&triangles).into_bytes()),
        ("box.obj", obj(&triangles).into_bytes()),
        ("text.ply", ply(&triangles, false)),
        ("box.ply", ply(&triangles, true)),
    ];
    for (name, bytes) in files {
        let mould = read(name, bytes).unwrap();
        assert_eq!(mould.n_triangles(), 10, "{name}");
        assert_eq!(mould.bounds(), [[0.0; 3], [120.0, 80.0, 50.0]], "{name}");
        assert!(
            (mould.area() - 29_600.0).abs() < 1e-6,
            "{name}: {}",
            mould.area()
        );
        let edges = mould.part(&AreaChoice::default()).unwrap().edges;
        assert_eq!(edges.len(), 1, "{name}");
        let length: f64 = edges[0]
            .iter()
            .map(|side| side.from.distance(side.to))
            .sum();
        assert!((length - 400.0).abs() < 1e-9, "{name}: {length}");
    }
}

#[test]
fn what_is_mended_is_counted() {
    let mut triangles = open_box();
    triangles[3].swap(1, 2);
    triangles[7].swap(0, 1);
    triangles.push(triangles[4]);
    triangles.push([[5.0; 3], [6.0, 6.0, 5.0], [7.0, 7.0, 5.0]]);
    triangles.push([[0.0; 3], [f32::NAN, 1.0, 0.0], [2.0, 2.0, 0.0]]);
    // Nearly the same corner.
    triangles[0][0][0] = 5e-6;
    let (mould, said) = Mould::read(
        "box.stl",
        binary_stl("", &triangles),
        Some(LengthUnit::Centimetre),
    )
    .unwrap();
    let mended = mould.mended();
    assert_eq!(
        (
            mended.turned,
            mended.duplicate,
            mended.degenerate,
            mended.unreadable
        ),
        (2, 1, 1, 1)
    );
    assert_eq!((mended.forked_edges, mended.one_sided_edges), (0, 0));
    assert_eq!(mould.n_triangles(), 10);
    let told = &said.iter().next().unwrap().message;
    assert!(told.contains("2 triangles turned over"), "{told}");
    // As before: from inside.
    let bottom = mould.part(&AreaChoice::default()).unwrap();
    let spot = bottom
        .surface
        .nearest(DVec3::new(60.0, 40.0, 0.0), |_| true)
        .unwrap();
    assert!(bottom.surface.normal(spot.face).z > 0.99);
}

#[test]
fn what_of_it_is_the_part() {
    let mould = read("box.obj", obj(&open_box())).unwrap();
    let area = |choice: AreaChoice| mould.part(&choice).map(|area| area.on_mould());
    let near = |found: Result<f64, AreaError>, exact: f64| {
        let found = found.unwrap();
        assert!((found - exact).abs() < 1e-6, "{found} in place of {exact}");
    };
    let all = AreaChoice::default;
    near(area(all()), 29_600.0);
    // A plane cuts exactly.
    let above = [None, None, Some(20.0)];
    near(
        area(AreaChoice {
            below: above,
            ..all()
        }),
        9_600.0 + 400.0 * 20.0,
    );
    // What is left is a ring of walls, cut nowhere: two edges.
    near(area(AreaChoice { above, ..all() }), 400.0 * 30.0);
    near(
        area(AreaChoice {
            above: [Some(30.0), None, None],
            ..all()
        }),
        7_200.0 + 9_000.0 + 4_000.0,
    );
    let bottom = AreaChoice {
        crease_deg: Some(30.0),
        seed: Some([10.0, 10.0, 0.0]),
        ..all()
    };
    near(area(bottom), 9_600.0);
    near(
        area(AreaChoice {
            groups: vec!["bottom".into()],
            ..all()
        }),
        9_600.0,
    );
    near(
        area(AreaChoice {
            groups: vec!["gel".into()],
            ..all()
        }),
        20_000.0,
    );
    // A material holds beside a group.
    for (groups, exact) in [
        (vec!["walls".into()], 20_000.0),
        (vec!["gel".into(), "bottom".into()], 29_600.0),
    ] {
        near(area(AreaChoice { groups, ..all() }), exact);
    }
    let disc = (0..60).map(|k| {
        let (sin, cos) = trig::sin_cos_radians((f64::from(k) * 6.0).to_radians());
        [60.0 + 30.0 * cos, 40.0 + 30.0 * sin]
    });
    let inside = Some(ClosedLine {
        axis: 2,
        points: disc.collect(),
    });
    let polygon = 0.5 * 60.0 * 30.0 * 30.0 * trig::sin_cos_radians(6.0_f64.to_radians()).0;
    near(area(AreaChoice { inside, ..all() }), polygon);

    let none = AreaChoice {
        above: [None, None, Some(60.0)],
        ..all()
    };
    assert_eq!(area(none), Err(AreaError::Nothing));
    let far = AreaChoice {
        seed: Some([60.0, 40.0, 90.0]),
        ..all()
    };
    assert!(
        matches!(area(far), Err(AreaError::FarSeed(off)) if (off - 3200.0_f64.sqrt()).abs() < 1e-9)
    );
    let unknown = AreaChoice {
        groups: vec!["wals".into()],
        ..all()
    };
    assert_eq!(area(unknown), Err(AreaError::NoGroup("wals".into())));
}

/// Seen from above a plane that slopes by 45° takes √2 times the area of a line around it, and so seen along x; of a slab the
/// side that is seen is the part; an opening is none of it; and all of the line lies on the mould.
#[test]
fn a_line_is_seen_on_the_mould() {
    let slab: Vec<[[f32; 3]; 3]> = {
        let at = |x: f32, y: f32, low: f32| [x, y, x - low];
        let quads = [
            [
                at(0., 0., 0.),
                at(10., 0., 0.),
                at(10., 10., 0.),
                at(0., 10., 0.),
            ],
            [
                at(0., 0., 1.),
                at(0., 10., 1.),
                at(10., 10., 1.),
                at(10., 0., 1.),
            ],
            [
                at(0., 0., 1.),
                at(10., 0., 1.),
                at(10., 0., 0.),
                at(0., 0., 0.),
            ],
            [
                at(10., 0., 1.),
                at(10., 10., 1.),
                at(10., 10., 0.),
                at(10., 0., 0.),
            ],
            [
                at(10., 10., 1.),
                at(0., 10., 1.),
                at(0., 10., 0.),
                at(10., 10., 0.),
            ],
            [
                at(0., 10., 1.),
                at(0., 0., 1.),
                at(0., 0., 0.),
                at(0., 10., 0.),
            ],
        ];
        let halves = |[a, b, c, d]: [[f32; 3]; 4]| [[a, b, c], [a, c, d]];
        quads.into_iter().flat_map(halves).collect()
    };
    let mould = read("slab.stl", binary_stl("", &slab)).unwrap();
    let ring = |radius: f64, n: u32| {
        let corner = |k: u32| {
            let angle = std::f64::consts::TAU * f64::from(k) / f64::from(n);
            let (sin, cos) = trig::sin_cos_radians(angle);
            Point::new(radius * cos, radius * sin)
        };
        Ring::new((0..n).map(corner)).unwrap()
    };
    let flat = |radius: f64, n: u32| {
        let angle = std::f64::consts::TAU / f64::from(n);
        0.5 * f64::from(n) * radius * radius * trig::sin_cos_radians(angle).0
    };
    let part = |along: [f64; 3], at: [f64; 3], openings: Vec<Ring>| {
        let outline = Outline {
            outer: ring(30.0, 40),
            openings,
        };
        let line = Some(LineSeen { along, at, outline });
        let choice = AreaChoice {
            line,
            ..AreaChoice::default()
        };
        mould.part(&choice)
    };
    let exact = std::f64::consts::SQRT_2 * flat(30.0, 40);
    let middle = [50.0, 50.0, 50.0];
    for (along, side) in [
        ([0.0, 0.0, -1.0], 1.0),
        ([0.0, 0.0, 2.0], -1.0),
        ([-1.0, 0.0, 0.0], -1.0),
        ([1.0, 0.0, 0.0], 1.0),
    ] {
        let area = part(along, middle, Vec::new()).unwrap();
        let off = area.on_mould() - exact;
        assert!(off.abs() < 1e-6, "{along:?}: {off}");
        // The upper side faces up and to −x.
        let first = area.inside.iter().position(|&inside| inside).unwrap();
        let normal = area.surface.normal(first as u32);
        assert!(normal.z * side > 0.7, "{along:?}: {normal}");
        // Its edge is the line, corner by corner.
        for side in &area.edges[0] {
            let off = side.from - DVec3::from_array(middle);
            let radius = (off - off.project_onto(DVec3::from_array(along))).length();
            assert!((29.9..30.0 + 1e-6).contains(&radius), "{radius}");
        }
    }
    let opening = part([0.0, 0.0, -1.0], middle, vec![ring(10.0, 12)]).unwrap();
    let off = opening.on_mould() - exact + std::f64::consts::SQRT_2 * flat(10.0, 12);
    assert!(off.abs() < 1e-6 && opening.edges.len() == 2, "{off}");
    // Over the edge of the slab, and of its upper side alone.
    let off = part([0.0, 0.0, -1.0], [75.0, 50.0, 0.0], Vec::new()).err();
    assert!(matches!(off, Some(AreaError::LineLeaves(_))), "{off:?}");
    let mould = read("slab.stl", binary_stl("", &slab[..2])).unwrap();
    let line = Some(LineSeen {
        along: [0.0, 0.0, -1.0],
        at: [75.0, 50.0, 0.0],
        outline: Outline::solid(ring(30.0, 40)),
    });
    let choice = AreaChoice {
        line,
        ..AreaChoice::default()
    };
    match mould.part(&choice).err() {
        Some(AreaError::LineLeaves([x, ..])) => assert!((x - 100.0).abs() < 1e-6, "{x}"),
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_closed_mould_has_no_edge() {
    let mut triangles = open_box();
    let (x, y, z) = (12.0, 8.0, 5.0);
    triangles.push([[0.0, 0.0, z], [0.0, y, z], [x, y, z]]);
    triangles.push([[0.0, 0.0, z], [x, y, z], [x, 0.0, z]]);
    let mould = read("box.stl", binary_stl("", &triangles)).unwrap();
    assert_eq!(
        mould.part(&AreaChoice::default()).unwrap_err(),
        AreaError::NoEdge
    );
}

#[test]
fn what_is_no_mould_is_refused() {
    let triangles = open_box();
    let stl = binary_stl("", &triangles);
    let ply = ply(&triangles, true);
    let many =
        b"ply\nformat binary_little_endian 1.0\nelement vertex 4000000000\nproperty float x\n\
                 property float y\nproperty float z\nend_header\n";
    let nothing = b"ply\nformat ascii 1.0\nelement vertex 99\nelement face 99\nend_header\n";
    let files: Vec<(&str, Vec<u8>)> = vec![
        ("box.svg", stl.clone()),
        ("box.stl", Vec::new()),
        ("box.stl", stl[..stl.len() - 30].to_vec()),
        ("box.stl", b"solid nothing\nendsolid nothing\n".to_vec()),
        (
            "box.stl",
            b"solid x\nfacet normal 0 0 0\nouter loop\nvertex 1 2\n".to_vec(),
        ),
        ("box.obj", b"v 1 2\n".to_vec()),
        ("box.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 x\n".to_vec()),
        ("box.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 9\n".to_vec()),
        (
            "box.obj",
            b"v 0 0 0\nv 1 0 0\nv 1e300 1 0\nf 1 2 3\n".to_vec(),
        ),
        ("box.obj", vec![0xff; 4096]),
        ("box.ply", ply[..ply.len() - 30].to_vec()),
        ("box.ply", many.to_vec()),
        ("box.ply", nothing.to_vec()),
        ("box.ply", b"plx\n".to_vec()),
    ];
    for (name, bytes) in files {
        let n = bytes.len();
        let why = read(name, bytes).unwrap_err();
        assert!(!why.is_empty(), "{name}, {n} bytes");
    }
    let unit = Mould::read("box.stl", stl, None).unwrap_err();
    let told = &unit.iter().next().unwrap().message;
    assert!(
        told.contains("12 mm") && told.contains("304.8 mm"),
        "{told}"
    );
}

/// A PLY is grouped by the colours of its faces, or of their corners where all of a face are alike.
#[test]
fn colours_of_a_ply_are_groups() {
    let of_faces = "ply\nformat ascii 1.0\nelement vertex 5\nproperty float x\nproperty float y\nproperty float z\n\
                    element face 2\nproperty list uchar int vertex_indices\nproperty uchar red\nproperty uchar green\n\
                    property uchar blue\nend_header\n0 0 0\n1 0 0\n1 1 0\n0 1 0\n3 1 0\n\
                    4 0 1 2 3 255 0 16\n3 1 4 2 0 128 0\n";
    let of_points = "ply\nformat ascii 1.0\nelement vertex 5\nproperty float x\nproperty float y\nproperty float z\n\
                     property uchar red\nproperty uchar green\nproperty uchar blue\nelement face 2\n\
                     property list uchar int vertex_indices\nend_header\n0 0 0 255 0 16\n1 0 0 255 0 16\n\
                     1 1 0 255 0 16\n0 1 0 255 0 16\n3 1 0 9 9 9\n4 0 1 2 3\n3 1 4 2\n";
    for text in [of_faces, of_points] {
        let mould = read("marked.ply", text).unwrap();
        assert!(mould.groups().contains(&"#ff0010"), "{:?}", mould.groups());
        let choice = AreaChoice {
            groups: vec!["#ff0010".into()],
            ..AreaChoice::default()
        };
        let area = mould.part(&choice).unwrap().on_mould();
        assert!((area - 100.0).abs() < 1e-9, "{area}");
    }
}

/// A part with a hole that stays open, cut from the middle of one side: the edge of the hole is where it was, on triangles
/// of the part.
#[test]
fn a_cut_leaves_openings_where_they_are() {
    let mut points = Vec::new();
    let mut faces = Vec::new();
    for j in 0..=20_u32 {
        for i in 0..=20_u32 {
            points.push(DVec3::new(5.0 * f64::from(i), 5.0 * f64::from(j), 0.0));
            let is_hole = (12..15).contains(&i) && (12..15).contains(&j);
            if i < 20 && j < 20 && !is_hole {
                let a = j * 21 + i;
                faces.extend([[a, a + 1, a + 22], [a, a + 22, a + 21]]);
            }
        }
    }
    let choice = AreaChoice {
        below: [Some(80.0), None, None],
        keep_openings: true,
        ..AreaChoice::default()
    };
    let area = area::Area::of(&Surface::new(points, faces), &[], &[], &choice).unwrap();
    // What lies further than 1 mm beyond the part is left out, so that triangles get other numbers.
    let line = vec![DVec3::new(30.0, 40.0, 0.0), DVec3::new(31.0, 5.0, 0.0)];
    let slit = area.slit(&[line], 1.0).unwrap();
    assert_eq!(slit.edges.len(), 2);
    assert!((slit.on_mould() - area.on_mould()).abs() < 1e-6);
    let length: f64 = slit.edges[1]
        .iter()
        .map(|side| side.from.distance(side.to))
        .sum();
    assert!((length - 60.0).abs() < 1e-9, "{length}");
    for side in &slit.edges[1] {
        let corners = slit.surface.corners(side.face);
        let off = |p: DVec3| {
            corners
                .iter()
                .map(|c| c.distance(p))
                .fold(f64::INFINITY, f64::min)
        };
        assert!(off(side.from) < 1e-9 && off(side.to) < 1e-9, "{side:?}");
        assert!(slit.inside[side.face as usize] && !slit.over_openings()[side.face as usize]);
    }
}
