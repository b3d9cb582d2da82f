//! Jobs made by chance and run through the whole program: drawing → pieces → plan → proof → files, and what
//! is left on the shelf once more as stock.
//!
//! Sizes, margins, tables, stock and flaws are drawn from lists in which they meet exactly, miss each
//! other by a hair, or are nothing at all. Case number and seed decide everything.

use std::fmt::Write as _;

use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::{Rng as _, SeedableRng as _};
use warpwise::cloth::read_remnant;
use warpwise::diag::Diagnostics;
use warpwise::inputs::{InputFile, Inputs};
use warpwise::job::Job;
use warpwise::nest::{Continue, Effort};
use warpwise::output::{ProvenPlan, all, recheck};
use warpwise::plan::{Settings, build};
use warpwise::ply;
use warpwise::units::Length;

/// A job with the files it names.
#[derive(Clone, Debug)]
pub(super) struct WholeJob {
    pub(super) text: String,
    pub(super) files: Vec<(String, Vec<u8>)>,
}

/// What became of a job.
#[derive(Clone, Debug)]
pub(super) enum Outcome {
    /// It was refused for a reason that is the job's.
    Refused,
    /// It was planned; the files, and the remnants among them.
    Planned {
        bytes: usize,
        pieces: usize,
        left: Vec<(String, Vec<u8>)>,
    },
}

struct Chance(Pcg64Mcg);

impl Chance {
    fn below(&mut self, n: usize) -> usize {
        // The bias is of no matter here.
        (self.0.next_u64() % n.max(1) as u64) as usize
    }

    fn one<T: Copy>(&mut self, list: &[T]) -> T {
        list[self.below(list.len())]
    }

    /// True once in `n` times.
    fn rarely(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }
}

/// Job `n`.
pub(super) fn job(seed: u64, n: u64) -> WholeJob {
    let stream = n.wrapping_mul(0x9e37_79b9_7f4a_7c15);
    let mut chance = Chance(Pcg64Mcg::seed_from_u64(seed ^ stream));
    let c = &mut chance;
    let mut files = Vec::new();
    let mut text = format!(
        "[cutting]\ntrim = \"{} mm\"\ngap = \"{} mm\"\nend_margin = \"{} mm\"\njoin = \"{}\"\n",
        c.one(&["0", "0", "5", "25", "0.001"]),
        c.one(&["0", "2", "3", "25"]),
        c.one(&["0", "0", "10", "100"]),
        c.one(&["round", "mitre", "bevel"]),
    );
    if c.rarely(2) {
        let table = c.one(&["600", "1200", "1250", "2500"]);
        _ = writeln!(text, "table_length = \"{table} mm\"");
    }
    if c.rarely(3) {
        let splice = c.one(&["lap", "butt"]);
        _ = writeln!(text, "splice = \"{splice}\"");
    }
    if c.rarely(4) {
        let openings = c.one(&["after cure", "from 40 mm"]);
        _ = writeln!(text, "openings = \"{openings}\"");
    }
    if c.rarely(6) {
        text.push_str("angle_tolerance = \"2 deg\"\n");
    }
    if c.rarely(4) {
        text.push_str("[bag]\n");
    }
    if c.rarely(4) {
        text.push_str("[resin]\nratio = \"100:30\"\npot_life = \"25 min\"\n");
    }
    if c.rarely(3) {
        text.push_str("[output]\nfiles = [\"dxf\", \"svg\", \"hpgl\", \"gcode\", \"labels\", \"templates\"]\narcs = true\n");
        if c.rarely(2) {
            let frame = c.one(&["600", "1000"]);
            _ = writeln!(text, "frame = \"{frame} mm\"");
        }
    }
    cloth(c, &mut text, &mut files);
    for part in 0..1 + c.below(3) {
        let name = format!("p{part}.svg");
        _ = write!(
            text,
            "[[part]]\nname = \"P{part}\"\npattern = \"{name}\"\ncloth = \"c\"\nlayup = \"{}\"\nsets = {}\n",
            c.one(&["[0]", "[0/90]", "[0/45]s", "[30]", "[-12.5]", "[0_3]"]),
            1 + c.below(4),
        );
        if c.rarely(4) {
            let step = c.one(&["-5", "5", "-0.5", "-40"]);
            _ = writeln!(text, "step = \"{step} mm\"");
        }
        if c.rarely(5) {
            let taper = c.one(&["-5", "-12.5"]);
            _ = writeln!(text, "taper = \"{taper} mm\"");
        }
        if c.rarely(4) {
            text.push_str("seen_from = \"tool\"\n");
        }
        if c.rarely(5) {
            _ = writeln!(text, "mirror = \"M{part}\"");
        }
        files.push((name, drawing(c).into_bytes()));
    }
    WholeJob { text, files }
}

/// A cloth, and what is on hand of it.
fn cloth(c: &mut Chance, text: &mut String, files: &mut Vec<(String, Vec<u8>)>) {
    _ = write!(
        text,
        "[cloth.c]\nweave = \"{}\"\nareal_weight = \"200 g/m2\"\nroll_width = \"{} mm\"\nselvedge = \"{} mm\"\nfibre = \"carbon\"\n",
        c.one(&[
            "plain",
            "twill",
            "satin",
            "unidirectional",
            "biaxial",
            "non-directional"
        ]),
        c.one(&["300", "1000", "1270", "1270"]),
        c.one(&["0", "10"]),
    );
    for _ in 0..c.below(3) {
        match c.below(3) {
            0 => {
                let length = c.one(&["600", "1200", "2500", "5000"]);
                _ = write!(text, "[[cloth.c.stock]]\nlength = \"{length} mm\"\n");
            }
            1 => {
                let (length, width) = (
                    c.one(&["350", "900", "1250"]),
                    c.one(&["100", "400", "1250"]),
                );
                _ = write!(
                    text,
                    "[[cloth.c.stock]]\nlength = \"{length} mm\"\nwidth = \"{width} mm\"\n"
                );
            }
            _ => {
                let name = format!("left-{}.json", files.len());
                _ = write!(text, "[[cloth.c.stock]]\nfile = \"{name}\"\n");
                files.push((name, remnant(c).into_bytes()));
            }
        }
        if c.rarely(2) {
            let margin = c.one(&["0", "0", "10"]);
            _ = writeln!(text, "margin = \"{margin} mm\"");
        }
    }
    if c.rarely(4) {
        let (from, length) = (c.one(&["0", "300", "1200"]), c.one(&["1", "60"]));
        _ = write!(
            text,
            "[[cloth.c.flaw]]\nfrom = \"{from} mm\"\nlength = \"{length} mm\"\n"
        );
    }
}

fn remnant(c: &mut Chance) -> String {
    let (w, h) = (c.one(&[320.0, 900.0, 1250.0]), c.one(&[110.0, 400.0]));
    let outer = match c.below(3) {
        0 => format!("[[0,0],[{w},0],[{w},{h}],[0,{h}]]"),
        1 => format!("[[0,0],[{w},0],[{},{h}],[0,{h}]]", w / 2.0),
        _ => format!(
            "[[0,0],[{w},0],[{w},{}],[60,{}],[60,{h}],[0,{h}]]",
            h / 2.0,
            h / 2.0
        ),
    };
    let flaws = match c.below(3) {
        0 => "{\"outer\":[[100,20],[150,20],[120,60]],\"margin\":10}",
        1 => "{\"outer\":[[-50,-50],[5,-50],[5,600],[-50,600]],\"margin\":0}",
        _ => "",
    };
    format!(
        "{{\"warpwise_remnant\":1,\"units\":\"mm\",\"cloth\":\"c\",\"name\":\"r\",\"outline\":{{\"outer\":{outer}}},\"flaws\":[{flaws}]}}"
    )
}

/// A drawing of one outline, with or without openings.
fn drawing(c: &mut Chance) -> String {
    const SIZES: [f64; 12] = [
        0.6, 5.0, 40.0, 100.0, 300.0, 300.0, 580.0, 600.0, 1000.0, 1200.0, 1250.0, 1250.001,
    ];
    let (w, h) = (c.one(&SIZES), c.one(&SIZES));
    let path = match c.below(8) {
        0 | 1 => format!("M0 0h{w}v{h}h-{w}Z"),
        2 => format!("M0 0h{w}l-{} {h}Z", w * 0.7),
        3 => format!(
            "M0 0h{w}v{}h-{}v{}h-{}Z",
            h / 2.0,
            w / 2.0,
            h / 2.0,
            w / 2.0
        ),
        4 => format!("M0 0h{w}a{0} {0} 0 0 1 -{w} 0Z", w / 2.0),
        5 => {
            // A spike with legs that nearly meet, or a needle.
            let thin = c.one(&[1e-3, 0.1]);
            let (half, rest) = (h / 2.0, h / 2.0 - 2.0 * thin);
            format!("M0 0h{w}v{half}l5 {thin}l-5 {thin}v{rest}h-{w}Z")
        }
        6 => {
            // A star of noise.
            let mut path = String::new();
            let n = 5 + c.below(40);
            for i in 0..n {
                let turn = i as f64 / n as f64 * 4.0;
                let (x, y) = diamond(turn);
                let r = 0.4 + 0.6 * c.below(1000) as f64 / 1000.0;
                let letter = if i == 0 { 'M' } else { 'L' };
                _ = write!(path, "{letter}{:.3} {:.3}", w * x * r, h * y * r);
            }
            path + "Z"
        }
        _ => format!("M0 0c{0} {h} {w} -{h} {w} {h}l-{0} {h}Z", w / 2.0),
    };
    let mut openings = String::new();
    for i in 0..c.below(3) {
        let (x, y) = (w * (0.1 + 0.4 * i as f64), h * 0.1);
        let (a, b) = (w * c.one(&[0.01, 0.1, 0.3]), h * c.one(&[0.01, 0.1, 0.6]));
        _ = write!(openings, "M{x} {y}h{a}v{b}h-{a}Z");
    }
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"3000mm\" height=\"3000mm\" viewBox=\"-1500 -1500 3000 3000\">\
         <path id=\"o\" d=\"{path}{openings}\"/></svg>"
    )
}

/// A place on the edge of a diamond, a quarter of it for each unit of `turn`.
fn diamond(turn: f64) -> (f64, f64) {
    let t = turn.fract();
    match turn as usize % 4 {
        0 => (1.0 - t, t),
        1 => (-t, 1.0 - t),
        2 => (t - 1.0, -t),
        _ => (t, t - 1.0),
    }
}

/// Runs `job` through the program.
///
/// # Errors
/// What is the program's own fault.
pub(super) fn run(job: &WholeJob) -> Result<Outcome, String> {
    let own = |problems: &Diagnostics| {
        let text = problems.to_string();
        text.contains("fault of warpwise").then_some(text)
    };
    let refused = |problems: Diagnostics| own(&problems).map_or(Ok(Outcome::Refused), Err);
    let (read, _) = match Job::read("fuzz.toml", &job.text) {
        Ok(read) => read,
        Err(problems) => return Err(format!("the job is not understood: {problems}")),
    };
    let open = &mut |name: &str| {
        let file = job.files.iter().find(|(own, _)| own == name);
        let (name, bytes) = file.ok_or("there is no such file")?;
        Ok(vec![InputFile::new(name, bytes.clone())])
    };
    let made = Inputs::read(read, open).and_then(|(inputs, _)| ply::pieces(&inputs));
    let pieces = match made {
        Ok((pieces, _)) => pieces,
        Err(problems) => return refused(problems),
    };
    let settings = Settings {
        effort: Effort::Quick,
        effort_name: "quick".to_owned(),
        seed: 1,
        threads: 1,
    };
    // The first layout that the search finds will do.
    let plan = match build(&pieces, &settings, &|_| Continue::Stop) {
        Ok(plan) => plan,
        Err(problems) => return refused(problems),
    };
    let proven = ProvenPlan::prove(plan).map_err(|problems| problems.to_string())?;
    let files = all(&proven);
    let written = |path: &str| files.iter().find(|f| f.path == path).map(|f| &f.bytes[..]);
    let json = written("plan.json").ok_or("there is no plan.json")?;
    recheck(&String::from_utf8_lossy(json), &pieces).map_err(|problems| problems.to_string())?;
    let list = String::from_utf8_lossy(written("pieces.csv").ok_or("there is no pieces.csv")?);
    if let Some(piece) = pieces.iter().find(|p| !list.contains(&p.id(1))) {
        return Err(format!("piece {} is not in the list", piece.id(1)));
    }
    let is_remnant = |path: &str| path.starts_with("stock/") && path.ends_with(".json");
    let left: Vec<(String, Vec<u8>)> = (files.iter())
        .filter(|f| is_remnant(&f.path))
        .map(|f| (f.path.clone(), f.bytes.clone()))
        .collect();
    for (path, bytes) in &left {
        read_remnant(bytes, Length::ZERO).map_err(|e| format!("{path}: {e}"))?;
    }
    Ok(Outcome::Planned {
        bytes: files.iter().map(|f| f.bytes.len()).sum(),
        pieces: pieces.iter().count(),
        left,
    })
}

/// `job` with what it left as all the stock there is.
pub(super) fn again(job: &WholeJob, left: &[(String, Vec<u8>)]) -> WholeJob {
    let mut next = job.clone();
    for (path, bytes) in left {
        _ = write!(next.text, "[[cloth.c.stock]]\nfile = \"{path}\"\n");
        next.files.push((path.clone(), bytes.clone()));
    }
    next
}
