//! How long moulds take: read, mended and draped.
//!
//! ```text
//! cargo run --release --example drape_bench -- [--largest]
//! ```
//!
//! A bowl of 450 × 450 mm, z = −(x² + y²) / 900, of 100,352 triangles, laid at nets of 5 and 1 mm, straight and evenly;
//! then of 1,003,520 triangles; with `--largest` of 2,000,000 too. Everything from the bytes of the file to the flat
//! outline counts, and what proves it.

#![allow(clippy::print_stdout, reason = "a bench prints what it finds")]

use std::time::Instant;

use warpwise::inputs::{InputFile, Inputs};
use warpwise::job::Job;
use warpwise::mould::Mould;
use warpwise::units::LengthUnit;

/// A binary STL of `n` by `n` squares.
fn bowl(n: usize) -> Vec<u8> {
    let at = |i: usize, j: usize| {
        let [x, y] = [i, j].map(|k| 450.0 * (k as f64 / n as f64 - 0.5));
        [x, y, -(x * x + y * y) / 900.0].map(|v| v as f32)
    };
    let mut bytes = vec![b' '; 80];
    bytes.extend((2 * n * n).to_le_bytes().into_iter().take(4));
    for j in 0..n {
        for i in 0..n {
            let [a, b, c, d] = [at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)];
            for triangle in [[a, b, c], [a, c, d]] {
                bytes.extend([0; 12]);
                bytes.extend(triangle.iter().flatten().flat_map(|v| v.to_le_bytes()));
                bytes.extend([0; 2]);
            }
        }
    }
    bytes
}

/// Seconds from the bytes to the flat outline.
fn laid(bytes: &[u8], net: &str, smooth: &str) -> f64 {
    let text = format!(
        "[cloth.twill]\nweave = \"twill\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n\
         [[part]]\nname = \"BOWL\"\nmould = \"bowl.stl\"\nunits = \"mm\"\ncloth = \"twill\"\nlayup = \"[0]\"\n\
         [part.lay]\n{net}smooth = \"{smooth}\"\n"
    );
    let (job, _) = Job::read("bowl.toml", &text).expect("the job is good");
    let began = Instant::now();
    let open = &mut |name: &str| Ok(vec![InputFile::new(name, bytes.to_vec())]);
    let read = Inputs::read(job, open);
    let seconds = began.elapsed().as_secs_f64();
    if let Err(problems) = read {
        println!(
            "  refused: {:?}",
            problems.iter().next().map(|p| &p.message)
        );
    }
    seconds
}

fn main() {
    let is_largest = std::env::args().any(|argument| argument == "--largest");
    let sizes: &[usize] = if is_largest {
        &[224, 708, 1000]
    } else {
        &[224, 708]
    };
    for &n in sizes {
        let bytes = bowl(n);
        let began = Instant::now();
        let read = Mould::read("bowl.stl", bytes.clone(), Some(LengthUnit::Millimetre));
        let seconds = began.elapsed().as_secs_f64();
        println!(
            "{} triangles: read and mended in {seconds:.2} s{}",
            2 * n * n,
            if read.is_err() { ", refused" } else { "" }
        );
        drop(read);
        let ways: &[(&str, &str)] = match n {
            224 => &[
                ("net = \"5 mm\"\n", "straight"),
                ("net = \"5 mm\"\n", "evenly"),
                ("net = \"1 mm\"\n", "straight"),
                ("net = \"1 mm\"\n", "evenly"),
            ],
            _ => &[("", "evenly")],
        };
        for (net, smooth) in ways {
            let all = laid(&bytes, net, smooth);
            let net = net.trim_end();
            let net = if net.is_empty() { "usual net" } else { net };
            println!(
                "  {net}, {smooth}: {all:.2} s from the bytes to the flat outline, {:.2} s of it after mending",
                all - seconds
            );
        }
    }
}
