//! Small moulds: good files of every kind for the mutator to break, and jobs on moulds made by chance.

use std::fmt::Write as _;

use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::{Rng as _, SeedableRng as _};

use crate::whole::WholeJob;

type Mesh = (Vec<[f64; 3]>, Vec<[usize; 3]>);

/// A grid of squares with sides of 10 mm, each cut in two, at the heights that `height` tells.
fn grid(n: usize, height: impl Fn(usize, usize) -> f64) -> Mesh {
    let place = |k: usize| {
        let (i, j) = (k % (n + 1), k / (n + 1));
        [10.0 * i as f64, 10.0 * j as f64, height(i, j)]
    };
    let mut faces = Vec::new();
    for j in 0..n {
        for i in 0..n {
            let a = j * (n + 1) + i;
            let (b, d) = (a + 1, a + n + 1);
            faces.extend([[a, b, d + 1], [a, d + 1, d]]);
        }
    }
    ((0..(n + 1) * (n + 1)).map(place).collect(), faces)
}

pub(super) fn stl((points, faces): &Mesh) -> Vec<u8> {
    let mut bytes = vec![0; 80];
    bytes.extend((faces.len() as u32).to_le_bytes());
    for face in faces {
        let corners = face.iter().flat_map(|&k| points[k]);
        for v in [0.0; 3].into_iter().chain(corners) {
            bytes.extend((v as f32).to_le_bytes());
        }
        bytes.extend([0, 0]);
    }
    bytes
}

fn stl_text((points, faces): &Mesh) -> Vec<u8> {
    let mut text = String::from("solid a\n");
    for face in faces {
        text.push_str("facet normal 0 0 1\nouter loop\n");
        for &k in face {
            let [x, y, z] = points[k];
            _ = writeln!(text, "vertex {x} {y} {z}");
        }
        text.push_str("endloop\nendfacet\n");
    }
    (text + "endsolid a\n").into_bytes()
}

fn obj((points, faces): &Mesh) -> Vec<u8> {
    let mut text = String::new();
    for [x, y, z] in points {
        _ = writeln!(text, "v {x} {y} {z}");
    }
    for (n, [a, b, c]) in faces.iter().enumerate() {
        if n % 5 == 0 {
            _ = writeln!(text, "g part{n}\nusemtl m{}", n % 2);
        }
        let back = points.len() - c;
        _ = writeln!(text, "f {}/1/1 {}//2 -{back}", a + 1, b + 1);
    }
    text.into_bytes()
}

fn ply((points, faces): &Mesh, format: &str) -> Vec<u8> {
    let mut bytes = format!(
        "ply\nformat {format} 1.0\nelement vertex {}\nproperty float x\nproperty float y\nproperty float z\n\
         element face {}\nproperty list uchar int vertex_indices\nproperty uchar red\nproperty uchar green\n\
         property uchar blue\nend_header\n",
        points.len(),
        faces.len()
    )
    .into_bytes();
    let is_big = format == "binary_big_endian";
    let float = |v: f64| {
        if is_big {
            (v as f32).to_be_bytes()
        } else {
            (v as f32).to_le_bytes()
        }
    };
    let int = |v: usize| {
        if is_big {
            (v as i32).to_be_bytes()
        } else {
            (v as i32).to_le_bytes()
        }
    };
    for [x, y, z] in points {
        match format {
            "ascii" => bytes.extend(format!("{x} {y} {z}\n").bytes()),
            _ => bytes.extend([*x, *y, *z].into_iter().flat_map(float)),
        }
    }
    for face @ [a, b, c] in faces {
        match format {
            "ascii" => bytes.extend(format!("3 {a} {b} {c} 9 200 9\n").bytes()),
            _ => {
                bytes.push(3);
                bytes.extend(face.iter().copied().flat_map(int));
                bytes.extend([9, 200, 9]);
            }
        }
    }
    bytes
}

/// Good files with this ending.
pub(super) fn corpus(ending: &str) -> Vec<Vec<u8>> {
    let dome = |i: usize, j: usize| (i * (4 - i) + j * (4 - j)) as f64;
    let meshes = [grid(4, dome), grid(2, |_, _| 0.0)];
    let of = |mesh: &Mesh| match ending {
        "stl" => vec![stl(mesh), stl_text(mesh)],
        "obj" => vec![obj(mesh)],
        _ => ["ascii", "binary_little_endian", "binary_big_endian"]
            .map(|format| ply(mesh, format))
            .to_vec(),
    };
    meshes.iter().flat_map(of).collect()
}

/// Job `n` on a mould made by chance: bumps, spikes, holes, steps, doubles, triangles of no area.
pub(super) fn job(seed: u64, n: u64) -> WholeJob {
    let stream = n.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x5a;
    let mut random = Pcg64Mcg::seed_from_u64(seed ^ stream);
    let mut below = |n: usize| (random.next_u64() % n.max(1) as u64) as usize;
    let size = 3 + below(12);
    let (kind, steep) = (below(6), [0.02, 0.1, 0.3, 1.0][below(4)]);
    let noise: Vec<f64> = (0..(size + 1) * (size + 1))
        .map(|_| below(1000) as f64 / 1000.0)
        .collect();
    let middle = size as f64 / 2.0;
    let height = |i: usize, j: usize| {
        let (x, y) = (i as f64 - middle, j as f64 - middle);
        let dent = noise[j * (size + 1) + i];
        match kind {
            0 => 0.0,
            1 => -steep * (x * x + y * y),
            2 => steep * (x * x - y * y),
            3 => 10.0 * steep * dent,
            4 => 10.0 * steep * (i / 3) as f64,
            _ => -steep * x * x * x.abs() + 3.0 * dent * steep,
        }
    };
    let (mut points, mut faces) = grid(size, height);
    for _ in 0..[0, 0, 1, 4][below(4)] {
        let face = below(faces.len());
        match below(6) {
            0 => _ = faces.swap_remove(face),
            1 => faces[face].swap(0, 1),
            2 => faces.push(faces[face]),
            3 => faces[face][1] = faces[face][0],
            4 => faces[face][2] = below(points.len()),
            _ => {
                let (at, axis) = (below(points.len()), below(3));
                points[at][axis] += [1e-5, 3.0, 40.0][below(3)];
            }
        }
    }
    let (name, bytes) = match below(3) {
        0 => ("m.stl", stl(&(points, faces))),
        1 => ("m.obj", obj(&(points, faces))),
        _ => ("m.ply", ply(&(points, faces), "binary_little_endian")),
    };
    let layup = ["[0]", "[0/45]s", "[30/-30]", "[90]"][below(4)];
    let weave = [
        "plain",
        "twill",
        "unidirectional",
        "biaxial",
        "non-directional",
    ][below(5)];
    let mut text = format!(
        "[cutting]\ntrim = \"{} mm\"\n[output]\nfiles = [\"dxf\", \"svg\"]\n[cloth.c]\nweave = \"{weave}\"\n\
         areal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\nlock = \"30 deg\"\n[[part]]\nname = \"P\"\n\
         mould = \"{name}\"\nunits = \"mm\"\ncloth = \"c\"\nlayup = \"{layup}\"\n",
        [0, 10][below(2)]
    );
    let area = [
        "",
        "",
        "crease = \"20 deg\"\n",
        "above = { z = \"-3 mm\" }\n",
        "holes = \"cut\"\n",
        "side = \"back\"\n",
        "inside = [[\"5 mm\", \"5 mm\"], [\"60 mm\", \"10 mm\"], [\"20 mm\", \"70 mm\"]]\n",
        "seed = [\"10 mm\", \"10 mm\", \"0 mm\"]\n",
    ][below(8)];
    if !area.is_empty() {
        _ = write!(text, "[part.area]\n{area}");
    }
    let lay = [
        "",
        "smooth = \"straight\"\n",
        "net = \"7 mm\"\n",
        "zero = [0, 1, 0.2]\n",
    ][below(4)];
    if !lay.is_empty() {
        _ = write!(text, "[part.lay]\n{lay}");
    }
    WholeJob {
        text,
        files: vec![(name.to_owned(), bytes)],
    }
}
