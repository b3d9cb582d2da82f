//! Jobs made by chance and run through the whole program: drawing → pieces → plan → proof → files, and what
//! is left on the shelf once more as stock.
//!
//! Sizes, margins, tables, stock and flaws are drawn from lists in which they meet exactly, miss each
//! other by a hair, or are nothing at all. Case number and seed decide everything.

use std::fmt::Write as _;

use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::{Rng as _, SeedableRng as _};
use warpwise::cloth::read_remnant;
use warpwise::diag::{Diagnostics, Severity};
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
    /// It was refused for a reason that is the job's: the first error, numbers and names left out.
    Refused(String),
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
    let trim = c.one(&["0", "0", "5", "25", "0.001"]);
    let margin = c.one(&["0", "0", "10", "100"]);
    let mut text = format!(
        "[cutting]\ntrim = \"{trim} mm\"\ngap = \"{} mm\"\nend_margin = \"{margin} mm\"\njoin = \"{}\"\n",
        c.one(&["0", "2", "3", "25"]),
        c.one(&["round", "mitre", "bevel"]),
    );
    let table = c.one(&["", "", "", "600", "1200", "1250", "2500"]);
    if !table.is_empty() {
        _ = writeln!(text, "table_length = \"{table} mm\"");
    }
    let spliced = !c.rarely(3);
    if spliced {
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
    let bagged = c.rarely(4);
    if bagged {
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
    let n_cloths = 1 + c.below(3);
    let widths: Vec<f64> = (0..n_cloths)
        .map(|i| cloth(c, &format!("c{i}"), &mut text, &mut files))
        .collect();
    let number = |text: &str| text.parse::<f64>().unwrap_or(1200.0);
    for part in 0..1 + c.below(3) {
        let cloth = c.below(n_cloths);
        let angled = c.rarely(3);
        let layup = if angled {
            c.one(&["[0/90]", "[0/45]s", "[30]", "[-12.5]"])
        } else {
            c.one(&["[0]", "[0]", "[0_3]"])
        };
        let name = format!("p{part}.svg");
        _ = write!(
            text,
            "[[part]]\nname = \"P{part}\"\npattern = \"{name}\"\ncloth = \"c{cloth}\"\nlayup = \"{layup}\"\nzero_direction = 0\nsets = {}\n",
            1 + c.below(4),
        );
        if c.rarely(6) {
            let step = c.one(&["-5", "5", "-0.5", "-40"]);
            _ = writeln!(text, "step = \"{step} mm\"");
        }
        if c.rarely(8) {
            let taper = c.one(&["-5", "-12.5"]);
            _ = writeln!(text, "taper = \"{taper} mm\"");
        }
        if c.rarely(4) {
            text.push_str("seen_from = \"tool\"\n");
        }
        if c.rarely(5) {
            _ = writeln!(text, "mirror = \"M{part}\"");
        }
        let around = 2.0 * number(trim);
        let mut room = Room {
            along: number(table) - number(margin) - around,
            across: widths[cloth] - around,
        };
        // Turned, a part needs its diagonal in both directions, now and then in vain.
        if angled && !c.rarely(8) {
            let less = 0.6 * room.along.min(room.across);
            (room.along, room.across) = (less, less);
        }
        files.push((name, drawing(c, &room).into_bytes()));
    }
    WholeJob { text, files }
}

/// The largest part that its cloth and its table hold, mm.
struct Room {
    along: f64,
    across: f64,
}

/// A cloth, and what is on hand of it; returns its usable width in mm.
fn cloth(c: &mut Chance, name: &str, text: &mut String, files: &mut Vec<(String, Vec<u8>)>) -> f64 {
    let (width, selvedge) = (
        c.one(&[300.0, 1000.0, 1270.0, 1270.0]),
        c.one(&[0.0, 0.0, 10.0]),
    );
    _ = write!(
        text,
        "[cloth.{name}]\nweave = \"{}\"\nareal_weight = \"200 g/m2\"\nroll_width = \"{width} mm\"\nselvedge = \"{selvedge} mm\"\nfibre = \"carbon\"\n",
        c.one(&[
            "plain",
            "twill",
            "satin",
            "unidirectional",
            "biaxial",
            "non-directional"
        ]),
    );
    for _ in 0..c.below(3) {
        _ = writeln!(text, "[[cloth.{name}.stock]]");
        match c.below(3) {
            0 => {
                let length = c.one(&["600", "1200", "2500", "2502", "5000"]);
                _ = writeln!(text, "length = \"{length} mm\"");
            }
            1 => {
                let (length, width) = (
                    c.one(&["350", "900", "1250"]),
                    c.one(&["100", "400", "1250"]),
                );
                _ = write!(text, "length = \"{length} mm\"\nwidth = \"{width} mm\"\n");
            }
            _ => {
                let file = format!("left-{}.json", files.len());
                _ = writeln!(text, "file = \"{file}\"");
                files.push((file, remnant(c, name).into_bytes()));
            }
        }
        if c.rarely(2) {
            let margin = c.one(&["0", "0", "10"]);
            _ = writeln!(text, "margin = \"{margin} mm\"");
        }
        if c.rarely(5) {
            let from = c.one(&["0", "300", "590", "1199"]);
            _ = write!(
                text,
                "[[cloth.{name}.stock.flaw]]\nfrom = \"{from} mm\"\nlength = \"20 mm\"\n"
            );
        }
    }
    if c.rarely(4) {
        let (from, length) = (c.one(&["0", "300", "1200"]), c.one(&["1", "60"]));
        _ = write!(
            text,
            "[[cloth.{name}.flaw]]\nfrom = \"{from} mm\"\nlength = \"{length} mm\"\n"
        );
    }
    width - 2.0 * selvedge
}

fn remnant(c: &mut Chance, cloth: &str) -> String {
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
        "{{\"warpwise_remnant\":1,\"units\":\"mm\",\"cloth\":\"{cloth}\",\"name\":\"r\",\"outline\":{{\"outer\":{outer}}},\"flaws\":[{flaws}]}}"
    )
}

/// An extent that meets `room` exactly, misses it by a hair, or is well within it.
fn extent(c: &mut Chance, room: f64) -> f64 {
    match c.below(16) {
        0 => room + c.one(&[1e-7, 1e-3, 1.0, 500.0]),
        1 => c.one(&[0.6, 5.0]),
        2..=4 => room,
        5..=7 => room / 2.0 - c.one(&[0.0, 1.0, 1.5, 12.5]),
        8..=10 => room * 0.3,
        _ => c.one(&[40.0_f64, 100.0, 300.0]).min(room),
    }
    .max(0.1)
}

/// A drawing of one outline, with or without openings.
fn drawing(c: &mut Chance, room: &Room) -> String {
    let (w, h) = (extent(c, room.along), extent(c, room.across));
    let kind = c.below(10);
    let path = match kind {
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
        5..=7 => {
            // A spike or a slit with legs that nearly meet, or a needle.
            let thin = c.one(&[1e-6, 3e-6, 1e-5, 1e-4, 1e-3, 0.1]);
            let out = c.one(&[5.0, 40.0, -5.0, -0.4 * w]);
            let (half, rest) = (h / 2.0, h / 2.0 - 2.0 * thin);
            format!(
                "M0 0h{w}v{half:.7}l{out:.7} {thin:.7}l{back:.7} {thin:.7}v{rest:.7}h-{w}Z",
                back = -out
            )
        }
        8 => {
            // A star of noise.
            let mut path = String::new();
            let n = 5 + c.below(40);
            for i in 0..n {
                let turn = i as f64 / n as f64 * 4.0;
                let (x, y) = diamond(turn);
                let r = 0.2 + 0.3 * c.below(1000) as f64 / 1000.0;
                let letter = if i == 0 { 'M' } else { 'L' };
                _ = write!(path, "{letter}{:.6} {:.6}", w * x * r, h * y * r);
            }
            path + "Z"
        }
        _ => format!("M0 0c{0} {h} {w} -{h} {w} {h}l-{0} {h}Z", w / 2.0),
    };
    let mut openings = String::new();
    // In other outlines they cross the edge now and then.
    if kind < 2 || c.rarely(8) {
        for i in 0..c.below(3) {
            let (x, y) = (w * (0.1 + 0.4 * i as f64), h * 0.1);
            let (a, b) = (w * c.one(&[0.01, 0.1, 0.3]), h * c.one(&[0.01, 0.1, 0.6]));
            _ = write!(openings, "M{x} {y}h{a}v{b}h-{a}Z");
        }
    }
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"6000mm\" height=\"6000mm\" viewBox=\"-3000 -3000 6000 6000\">\
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
    let refused = |problems: Diagnostics| match own(&problems) {
        Some(fault) => Err(fault),
        None => Ok(Outcome::Refused(reason(&problems))),
    };
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

/// The first error of `problems` without what differs from job to job.
fn reason(problems: &Diagnostics) -> String {
    let errors = problems.at_least(Severity::Error).to_string();
    let first = errors.lines().next().unwrap_or_default();
    let mut reason = String::new();
    for (i, part) in first.split('`').enumerate() {
        if i % 2 == 1 {
            reason.push('…');
            continue;
        }
        for word in part.split_inclusive(' ') {
            let differs = word.contains(|c: char| c.is_ascii_digit());
            reason.push_str(if differs { "# " } else { word });
        }
    }
    reason.chars().take(60).collect()
}

/// `job` with what it left as all the stock there is.
pub(super) fn again(job: &WholeJob, left: &[(String, Vec<u8>)]) -> WholeJob {
    let mut next = job.clone();
    for (path, bytes) in left {
        let remnant: serde_json::Value = serde_json::from_slice(bytes).unwrap_or_default();
        let cloth = remnant["cloth"].as_str().unwrap_or_default();
        _ = write!(next.text, "[[cloth.{cloth}.stock]]\nfile = \"{path}\"\n");
        next.files.push((path.clone(), bytes.clone()));
    }
    next
}
