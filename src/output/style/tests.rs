//! The look, held to its promises by computation.

use std::fs;
use std::path::Path;

use super::palette::{Colour, DARK, LIGHT, PRINT, Scheme};

/// Light of a channel, 0 … 1 (IEC 61966-2-1).
fn linear(channel: u8) -> f64 {
    let c = f64::from(channel) / 255.0;
    if c <= 0.04045 {
        c / 12.92
    } else {
        ((c + 0.055) / 1.055).powf(2.4)
    }
}

/// Contrast ratio of two colours (WCAG 2.2).
fn contrast(a: Colour, b: Colour) -> f64 {
    let light = |[r, g, b]: Colour| 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
    let (a, b) = (light(a), light(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

type Matrix = [[f64; 3]; 3];

/// How linear light is seen: by all cones, and without the red, green and blue ones. Machado,
/// Oliveira and Fernandes 2009, severity 1 (from memory).
const SEEN: [(&str, Matrix); 4] = [
    ("usual", [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]),
    (
        "protan",
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ],
    ),
    (
        "deutan",
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ],
    ),
    (
        "tritan",
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ],
    ),
];

fn times(matrix: &Matrix, v: [f64; 3]) -> [f64; 3] {
    matrix.map(|row| row.iter().zip(v).map(|(m, x)| m * x).sum())
}

/// CIE L*a*b* under D65 of `colour` as it is seen.
fn lab(colour: Colour, seen: &Matrix) -> [f64; 3] {
    const TO_XYZ: Matrix = [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ];
    let light = times(seen, colour.map(linear)).map(|c| c.clamp(0.0, 1.0));
    let [x, y, z] = times(&TO_XYZ, light);
    let f = |t: f64| {
        if t > 216.0 / 24389.0 {
            t.cbrt()
        } else {
            (24389.0 / 27.0 * t + 16.0) / 116.0
        }
    };
    let (x, y, z) = (f(x / 0.95047), f(y), f(z / 1.08883));
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

/// The least difference (CIE 1976) of any two of `colours`, for anybody.
fn least_difference(colours: &[Colour]) -> f64 {
    let mut least = f64::INFINITY;
    for (_, seen) in &SEEN {
        let labs: Vec<[f64; 3]> = colours.iter().map(|&c| lab(c, seen)).collect();
        for (i, a) in labs.iter().enumerate() {
            for b in &labs[i + 1..] {
                let off: f64 = a.iter().zip(b).map(|(p, q)| (p - q).powi(2)).sum();
                least = least.min(off.sqrt());
            }
        }
    }
    least
}

fn schemes() -> [(&'static str, &'static Scheme); 3] {
    [("light", &LIGHT), ("dark", &DARK), ("print", &PRINT)]
}

/// Grounds on which pieces and what belongs to them are drawn.
fn drawn_on(scheme: &Scheme) -> Vec<Colour> {
    let mut grounds = scheme.tints.to_vec();
    grounds.extend([scheme.cloth, scheme.card]);
    grounds
}

#[test]
fn black_on_white_is_21_to_1_and_two_reds_are_alike_without_red_cones() {
    assert!((contrast([0; 3], [255; 3]) - 21.0).abs() < 1e-9);
    let green_red = [[150, 130, 40], [190, 110, 40]];
    let (usual, protan) = (&SEEN[0].1, &SEEN[1].1);
    let off = |seen| (lab(green_red[0], seen)[1] - lab(green_red[1], seen)[1]).abs();
    assert!(off(protan) < 0.5 * off(usual));
}

#[test]
fn text_stands_out_from_every_ground_it_is_written_on() {
    for (name, s) in schemes() {
        let mut pairs: Vec<(Colour, Colour)> = Vec::new();
        for text in [s.ink, s.soft, s.accent, s.warn] {
            pairs.extend([s.paper, s.card].map(|ground| (text, ground)));
        }
        let unused = [s.unused];
        pairs.extend(drawn_on(s).iter().chain(&unused).map(|&g| (s.ink, g)));
        for (text, ground) in pairs {
            let ratio = contrast(text, ground);
            assert!(
                ratio >= 4.5,
                "{name}: {text:02x?} on {ground:02x?}: {ratio:.2}"
            );
        }
    }
}

#[test]
fn lines_stand_out_from_every_ground_they_are_drawn_on() {
    for (name, s) in schemes() {
        let lines = [
            s.cut, s.net, s.fibre, s.mark, s.splice, s.flaw, s.keep, s.hatch,
        ];
        let mut pairs: Vec<(Colour, Colour)> = Vec::new();
        for ground in drawn_on(s) {
            pairs.extend(lines.map(|line| (line, ground)));
        }
        pairs.extend([s.soft, s.strong, s.mid, s.warn, s.accent].map(|c| (c, s.card)));
        pairs.push((s.soft, s.cloth));
        pairs.push((s.accent, s.paper));
        for (line, ground) in pairs {
            let ratio = contrast(line, ground);
            assert!(
                ratio >= 3.0,
                "{name}: {line:02x?} on {ground:02x?}: {ratio:.2}"
            );
        }
    }
}

#[test]
fn parts_and_kinds_of_line_stay_apart_for_everybody() {
    for (name, s) in [("light", &LIGHT), ("dark", &DARK)] {
        let tints = least_difference(&s.tints);
        assert!(tints >= 8.0, "{name}: fills {tints:.1}");
        let lines = [s.net, s.fibre, s.mark, s.splice, s.flaw, s.keep];
        let lines = least_difference(&lines);
        assert!(lines >= 15.0, "{name}: lines {lines:.1}");
    }
    let greys = least_difference(&PRINT.tints);
    assert!(greys >= 2.5, "print: fills {greys:.1}");
}

#[test]
fn no_other_file_names_a_colour() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/output");
    let mut n_files = 0;
    let mut folders = vec![root.clone()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() && path != root.join("style") {
                folders.push(path);
            } else if let Ok(text) = fs::read_to_string(&path) {
                n_files += 1;
                let found = colours_in(&text);
                assert!(found.is_empty(), "{}: {found:?}", path.display());
            }
        }
    }
    assert!(n_files > 50, "{n_files} files");
    assert_eq!(colours_in("a { fill: #1b6E3c; } b { c: #fff }").len(), 2);
    assert_eq!(
        colours_in("[0x1b, 0x6e, 0x3c] rgb(1, 2, 3) color: white;").len(),
        3
    );
    assert!(colours_in("&#169; href=\"#bag\" set_rgb(r, g, b) {n:02x}").is_empty());
}

/// Everything in `text` that looks like a colour.
fn colours_in(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    let bytes = text.as_bytes();
    for (i, _) in text.match_indices('#') {
        let digits = bytes[i + 1..].iter().take_while(|b| b.is_ascii_hexdigit());
        let n = digits.count();
        let end = bytes.get(i + 1 + n).copied().unwrap_or(b' ');
        let is_entity = i > 0 && bytes[i - 1] == b'&';
        if matches!(n, 3 | 4 | 6 | 8) && !end.is_ascii_alphanumeric() && !is_entity {
            found.push(text[i..=i + n].to_owned());
        }
    }
    for (i, _) in text.match_indices("[0x") {
        let list = text[i + 1..].split(']').next().unwrap_or_default();
        if list.split(',').count() == 3 {
            found.push(list.to_owned());
        }
    }
    for name in ["rgb(", "rgba(", "hsl(", "Color::WHITE", "Color::BLACK"] {
        let is_whole = |&(i, _): &(usize, &str)| {
            let before = text[..i].chars().next_back();
            !before.is_some_and(|c| c.is_alphanumeric() || c == '_')
        };
        let whole = text.match_indices(name).filter(is_whole);
        found.extend(whole.map(|(_, name)| name.to_owned()));
    }
    for name in [": white;", ": black;", ": grey;", ": red;"] {
        found.extend(text.match_indices(name).map(|(_, name)| name.to_owned()));
    }
    found
}
