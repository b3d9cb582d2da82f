//! Broken files made from good ones: a small deterministic mutation fuzzer.
//!
//! Used by `examples/fuzz.rs` for long runs and by `tests/fuzz.rs` for a short one with overflow
//! checks on. Case number and seed decide every byte, so each case can be had again.

use std::path::{Path, PathBuf};

use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::{Rng, SeedableRng};
use warpwise::diag::Diagnostics;
use warpwise::job::Job;
use warpwise::mould::Mould;
use warpwise::output::Picture;
use warpwise::pattern::inspect::Inspection;
use warpwise::pattern::{CrossingRule, Hatches, Settings, see};
use warpwise::units::LengthUnit;

use crate::meshes;

/// What is fed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Target {
    Dxf,
    Svg,
    Job,
    Stl,
    Obj,
    Ply,
}

impl Target {
    pub(super) const ALL: [Self; 6] = [
        Self::Dxf,
        Self::Svg,
        Self::Job,
        Self::Stl,
        Self::Obj,
        Self::Ply,
    ];

    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Dxf => "dxf",
            Self::Svg => "svg",
            Self::Job => "job",
            Self::Stl | Self::Obj | Self::Ply => self.ending(),
        }
    }

    const fn is_mesh(self) -> bool {
        matches!(self, Self::Stl | Self::Obj | Self::Ply)
    }

    fn ending(self) -> &'static str {
        match self {
            Self::Dxf => "dxf",
            Self::Svg => "svg",
            Self::Job => "toml",
            Self::Stl => "stl",
            Self::Obj => "obj",
            Self::Ply => "ply",
        }
    }

    /// Words that make the readers turn corners that chance alone would not find.
    fn words(self) -> &'static [&'static str] {
        match self {
            Self::Dxf => &[
                "0\nINSERT\n2\nA\n10\n0\n20\n0\n70\n32767\n71\n32767\n",
                "0\nENDSEC\n",
                "0\nSECTION\n2\nENTITIES\n",
                "0\nPOLYLINE\n66\n1\n70\n1\n",
                "0\nVERTEX\n10\n1\n20\n2\n42\n1\n",
                "0\nSEQEND\n",
                "0\nSPLINE\n71\n3\n",
                "0\nHATCH\n91\n1\n92\n1\n93\n1\n72\n4\n",
                "0\nCIRCLE\n10\n0\n20\n0\n40\n1e9\n",
                "102\n{ACAD\n",
                "1001\nX\n",
                "210\n0\n220\n0\n230\n-1\n",
                "42\n1e17\n",
                "8\nNOTCH\n",
                "8\nZERO\n",
                "\\U+00",
                "%%",
            ],
            Self::Svg => &[
                "<g>",
                "</g>",
                "<use href=\"#a\"/>",
                "<use xlink:href='#a' transform='scale(2)'/>",
                "<path d=\"M0 0",
                "A1e9 1 0 0 1 5 5",
                "A 0 0 0 1 1 3 3",
                "C1 2 3 4 5 6",
                "Z",
                " transform=\"rotate(1e300)\"",
                " style=\"transform: scale(1e9)\"",
                " viewBox=\"0 0 1e-300 1\"",
                " preserveAspectRatio=\"none\"",
                "<!DOCTYPE svg [<!ENTITY a \"&b;&b;\"><!ENTITY b \"&a;\">]>",
                "&a;",
                "&#0;",
                "<style>*{display:none !important}</style>",
                "<![CDATA[",
                "]]>",
                "<text x=\"1\">QTY 99999999 PLY 1-999999</text>",
                " id=\"zero\"",
                " id=\"a\"",
                "%",
            ],
            Self::Stl => &[
                "solid ",
                "facet normal ",
                "vertex 1 2 ",
                "endloop",
                "endsolid",
            ],
            Self::Obj => &[
                "f 1 2 3\n",
                "f -1 -2 -3 -4 -5\n",
                "f 1//9 0/0/0 2\n",
                "v 1e300 nan 0\n",
                "v 1 2 3 0.5 0.5 0.5\n",
                "usemtl ",
                "g ",
                "o a b\n",
                "\\\n",
            ],
            Self::Ply => &[
                "element vertex 4000000\n",
                "element face 99999999999999999999\n",
                "property list uchar int vertex_indices\n",
                "property list int double x\n",
                "property double z\n",
                "property uchar red\n",
                "end_header\n",
                "format binary_big_endian 1.0\n",
                "comment ",
            ],
            Self::Job => &[
                "[[part]]\n",
                "[[part.ply]]\n",
                "[cutting]\n",
                "[drawing]\n",
                "[part.drawing]\n",
                "layup = \"[0/±45]9999999s\"\n",
                "angle = \"1e400 deg\"\n",
                "sets = 99999999999999999999\n",
                "\"\"\"",
                "'''",
                "inf",
                "nan",
                " = ",
                "\"",
                "{",
                "[",
                "1/0 in",
                "±",
            ],
        }
    }
}

const NUMBERS: [&str; 22] = [
    "0",
    "-0",
    "1",
    "-1",
    "1e300",
    "-1e300",
    "1e-300",
    "nan",
    "inf",
    "-inf",
    "1e999",
    "999999",
    "2147483647",
    "-2147483648",
    "9223372036854775808",
    "0.0000001",
    "1,5",
    "32767",
    "65536",
    "",
    "1e9",
    "360",
];

/// Good files of one kind, and the broken ones made of them.
pub(super) struct Fuzzer {
    pub(super) target: Target,
    corpus: Vec<Vec<u8>>,
    seed: u64,
}

impl Fuzzer {
    /// The fuzzer of `target` with every file of the corpus and of the test cases.
    pub(super) fn new(target: Target, tests: &Path, seed: u64) -> Self {
        let mut files = Vec::new();
        let kinds = ["cases/pattern", "cases/job", "fuzz/corpus"];
        for folder in kinds.map(|k| tests.join(k)) {
            collect(&folder, target.ending(), &mut files);
        }
        files.sort();
        let mut corpus: Vec<Vec<u8>> = files.iter().filter_map(|f| std::fs::read(f).ok()).collect();
        if target.is_mesh() {
            corpus.extend(meshes::corpus(target.ending()));
        }
        assert!(!corpus.is_empty(), "there is a corpus");
        Self {
            target,
            corpus,
            seed,
        }
    }

    /// The input of case `n`.
    pub(super) fn case(&self, n: u64) -> Vec<u8> {
        let stream = n ^ (self.target as u64) << 60;
        let mut random =
            Pcg64Mcg::seed_from_u64(self.seed ^ stream.wrapping_mul(0x9e37_79b9_7f4a_7c15));
        let mut bytes = self.corpus[below(&mut random, self.corpus.len())].clone();
        // Half of the cases keep their grammar, so that what lies behind the parsers is reached.
        let keeps_grammar = below(&mut random, 2) == 0;
        for _ in 0..1 << below(&mut random, 4) {
            if keeps_grammar {
                self.mutate_inside(&mut bytes, &mut random);
            } else {
                self.mutate(&mut bytes, &mut random);
            }
        }
        bytes.truncate(1 << 16);
        bytes
    }

    fn mutate(&self, bytes: &mut Vec<u8>, random: &mut Pcg64Mcg) {
        let at = below(random, bytes.len() + 1);
        match below(random, 10) {
            0 => {
                if let Some(byte) = bytes.get_mut(at) {
                    *byte ^= 1 << below(random, 8);
                }
            }
            1 => bytes.truncate(at),
            2 => {
                let end = (at + below(random, 200)).min(bytes.len());
                bytes.drain(at..end);
            }
            3 => {
                let end = (at + below(random, 400)).min(bytes.len());
                let copy = bytes[at..end].to_vec();
                let to = below(random, bytes.len() + 1);
                for _ in 0..1 + below(random, 4) {
                    insert(bytes, to, &copy);
                }
            }
            4 => {
                let other = &self.corpus[below(random, self.corpus.len())];
                let from = below(random, other.len() + 1);
                let end = (from + below(random, 600)).min(other.len());
                insert(bytes, at, &other[from..end]);
            }
            5 | 6 => {
                let words = self.target.words();
                insert(bytes, at, words[below(random, words.len())].as_bytes());
            }
            7 | 8 => {
                // A number becomes another.
                let is_digit = |b: &u8| b.is_ascii_digit() || matches!(b, b'.' | b'-');
                let Some(start) = bytes[at..].iter().position(is_digit) else {
                    return;
                };
                let start = at + start;
                let length = bytes[start..].iter().take_while(|b| is_digit(b)).count();
                let number = NUMBERS[below(random, NUMBERS.len())];
                bytes.splice(start..start + length, number.bytes());
            }
            _ => {
                let length = 1 + below(random, 8);
                let noise: Vec<u8> = (0..length).map(|_| random.next_u64() as u8).collect();
                insert(bytes, at, &noise);
            }
        }
    }

    /// Changes values and whole records, elements or lines, and leaves the grammar as it is.
    fn mutate_inside(&self, bytes: &mut Vec<u8>, random: &mut Pcg64Mcg) {
        match (self.target, below(random, 4)) {
            (_, 0 | 1) if bytes.is_ascii() => replace_number(bytes, random, self.target),
            (Target::Svg, 2) => {
                // An attribute behind a tag's name, or an element behind a tag.
                let words = self.target.words();
                let word = words[below(random, words.len())].as_bytes();
                let behind = if word.starts_with(b" ") { b' ' } else { b'>' };
                let places = places_of(bytes, behind);
                if !places.is_empty() {
                    let at = places[below(random, places.len())];
                    insert(bytes, at + usize::from(behind == b'>'), word);
                }
            }
            (Target::Svg, _) => {
                // A path, shape or `use` again, elsewhere.
                let starts = places_of(bytes, b'<');
                let Some(&from) = starts.get(below(random, starts.len())) else {
                    return;
                };
                let Some(length) = bytes[from..].iter().position(|&b| b == b'>') else {
                    return;
                };
                let element = bytes[from..=from + length].to_vec();
                if element.ends_with(b"/>") {
                    let to = places_of(bytes, b'<');
                    insert(bytes, to[below(random, to.len())], &element);
                }
            }
            _ => {
                // Runs of lines: pairs of DXF start at even ones.
                let step = if self.target == Target::Dxf { 2 } else { 1 };
                let mut starts = vec![0];
                starts.extend(places_of(bytes, b'\n').iter().map(|at| at + 1));
                let at = |random: &mut Pcg64Mcg| starts[below(random, starts.len() / step) * step];
                let (from, to, end) = (at(random), at(random), at(random));
                let end = end.clamp(from, (from + 500).min(bytes.len()));
                let end = starts.iter().step_by(step).copied().rfind(|&s| s <= end);
                let run = bytes[from..end.unwrap_or(from).max(from)].to_vec();
                if below(random, 3) == 0 {
                    bytes.drain(from..from + run.len());
                } else {
                    insert(bytes, to, &run);
                }
            }
        }
    }

    /// Feeds `bytes` to the program; answers something of what came out, so that nothing is left
    /// out by the compiler.
    pub(super) fn feed(&self, n: u64, bytes: &[u8]) -> usize {
        if self.target == Target::Job {
            return match Job::read("fuzz.toml", &String::from_utf8_lossy(bytes)) {
                Ok((job, warnings)) => job.parts().len() + said(&warnings),
                Err(problems) => said(&problems),
            };
        }
        let file = format!("fuzz.{}", self.target.ending());
        if self.target.is_mesh() {
            return match Mould::read(&file, bytes.to_vec(), Some(LengthUnit::Millimetre)) {
                Ok((mould, warnings)) => {
                    let told = mould.inspect("mm", false).table().len() + said(&warnings);
                    let drawn = n.is_multiple_of(16);
                    let picture = drawn.then(|| Picture::of(&[]).with_moulds(&[mould]).svg());
                    told + picture.map_or(0, |svg| svg.len())
                }
                Err(problems) => said(&problems),
            };
        }
        let settings = Settings {
            hatches: [Hatches::Outlines, Hatches::LeftOut][n as usize % 2],
            crossing: [CrossingRule::Split, CrossingRule::Refuse][n as usize / 2 % 2],
            ..Settings::default()
        };
        let seen = see(&file, bytes, &settings);
        let mut sum = Inspection::of([(file.as_str(), &seen)]).table().len();
        if n.is_multiple_of(16) {
            let files = [seen.as_ref().map_err(|problems| (file.as_str(), problems))];
            sum += Picture::of(&files).svg().len();
        }
        sum + match &seen {
            Ok(pattern) => said(pattern.problems()),
            Err(problems) => said(problems),
        }
    }
}

fn said(problems: &Diagnostics) -> usize {
    problems.iter().map(|p| p.message.len()).sum()
}

fn below(random: &mut Pcg64Mcg, n: usize) -> usize {
    // The bias is of no matter here.
    (random.next_u64() % n.max(1) as u64) as usize
}

fn insert(bytes: &mut Vec<u8>, at: usize, what: &[u8]) {
    let at = at.min(bytes.len());
    bytes.splice(at..at, what.iter().copied());
}

/// Puts another number in the place of one; in DXF never in that of a group code.
fn replace_number(bytes: &mut Vec<u8>, random: &mut Pcg64Mcg, target: Target) {
    let is_digit = |b: &u8| b.is_ascii_digit() || matches!(b, b'.' | b'-');
    let mut starts: Vec<usize> = (0..bytes.len())
        .filter(|&i| is_digit(&bytes[i]) && (i == 0 || !is_digit(&bytes[i - 1])))
        .collect();
    if target == Target::Dxf {
        let mut line = 0;
        let mut is_value = vec![false; bytes.len()];
        for (i, &b) in bytes.iter().enumerate() {
            is_value[i] = line % 2 == 1;
            line += usize::from(b == b'\n');
        }
        starts.retain(|&i| is_value[i]);
    }
    let Some(&start) = starts.get(below(random, starts.len())) else {
        return;
    };
    let length = bytes[start..].iter().take_while(|b| is_digit(b)).count();
    let number = match below(random, 3) {
        0 => NUMBERS[below(random, NUMBERS.len())].to_owned(),
        1 => below(random, 2000).to_string(),
        _ => format!("{}", below(random, 1 << 20) as f64 / 1024.0 - 200.0),
    };
    bytes.splice(start..start + length, number.bytes());
}

/// Where `byte` stands.
fn places_of(bytes: &[u8], byte: u8) -> Vec<usize> {
    let places = bytes.iter().enumerate().filter(|(_, b)| **b == byte);
    places.map(|(i, _)| i).collect()
}

fn collect(folder: &Path, ending: &str, files: &mut Vec<PathBuf>) {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return;
    };
    for path in entries.filter_map(|e| Some(e.ok()?.path())) {
        if path.is_dir() {
            collect(&path, ending, files);
        } else if path.extension().is_some_and(|e| e == ending) {
            files.push(path);
        }
    }
}
