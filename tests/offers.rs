//! A roll on offer never makes a job dearer: generated jobs, with plies that some of the rolls hold whole and
//! others only in pieces.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::fmt::Write as _;
use std::thread;

use warpwise::inputs::{InputFile, Inputs};
use warpwise::job::Job;
use warpwise::nest::{Continue, Effort};
use warpwise::plan::{Settings, build};
use warpwise::ply;

/// Numbers that look like chance, the same each time.
struct Chance(u64);

impl Chance {
    fn from(&mut self, low: u64, high: u64) -> u64 {
        let next = self.0.wrapping_mul(6_364_136_223_846_793_005);
        self.0 = next.wrapping_add(1_442_695_040_888_963_407);
        low + (self.0 >> 33) % (high - low)
    }
}

/// A roll as it is sold: width in mm, hundredths of a euro by the metre, and by how many mm.
type Roll = (u64, u64, u64);

/// Three rolls, of which the wider cost more by length, but not always by area.
fn rolls(chance: &mut Chance) -> Vec<Roll> {
    let widths = [
        chance.from(600, 1000),
        chance.from(1000, 1300),
        chance.from(1300, 1700),
    ];
    let sold = [1, 100, 500];
    widths
        .into_iter()
        .map(|width| {
            let price = width * chance.from(80, 130) / 100;
            (width, price, sold[chance.from(0, 3) as usize])
        })
        .collect()
}

/// A drawing and the parts of a job: four-cornered, up to 1.4 m wide.
fn parts(chance: &mut Chance) -> (String, String) {
    let (mut drawing, mut parts) = (String::new(), String::new());
    for n in 0..chance.from(1, 4) {
        let (long, wide) = (chance.from(250, 1900), chance.from(120, 1400));
        let (a, b) = (chance.from(0, long / 3), chance.from(0, wide / 3));
        let _ = write!(
            drawing,
            "<path id=\"p{n}\" d=\"M{} {}H{}L{} {}H0Z\"/>",
            a,
            2000 * n,
            long,
            long - b.min(long / 2),
            2000 * n + wide
        );
        let layup = ["[0]", "[0/90]", "[45/0]", "[0/0]"][chance.from(0, 4) as usize];
        let _ = write!(
            parts,
            "[[part]]\nname = \"P{n}\"\npattern = \"d.svg\"\noutline = \"p{n}\"\ncloth = \"twill\"\n\
             layup = \"{layup}\"\nsets = {}\n",
            chance.from(1, 3)
        );
    }
    let svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"2000mm\" height=\"8000mm\" viewBox=\"0 0 2000 8000\">\
         {drawing}</svg>"
    );
    (svg, parts)
}

/// What the cloth costs where it is sold on the first of `rolls` and offered on the others, in hundredths.
fn cost(drawing: &str, parts: &str, rolls: &[Roll]) -> i64 {
    let told = |&(width, price, sold): &Roll| {
        format!(
            "roll_width = \"{width} mm\"\nprice = \"{}.{:02} EUR/m\"\nsold_by = \"{sold} mm\"\n",
            price / 100,
            price % 100
        )
    };
    let offers = rolls[1..]
        .iter()
        .map(|roll| format!("[[cloth.twill.offer]]\n{}", told(roll)));
    let text = format!(
        "[cutting]\ntrim = \"10 mm\"\nsplice = \"lap\"\n[cloth.twill]\nweave = \"twill\"\n\
         areal_weight = \"200 g/m2\"\n{}{}{parts}",
        told(&rolls[0]),
        offers.collect::<String>()
    );
    let (job, _) = Job::read("job.toml", &text).unwrap();
    let open = &mut |name: &str| Ok(vec![InputFile::new(name, drawing.as_bytes().to_vec())]);
    let (inputs, _) = Inputs::read(job, open).unwrap();
    let (pieces, _) = ply::pieces(&inputs).unwrap();
    let settings = Settings {
        effort: Effort::Quick,
        ..Settings::default()
    };
    let plan = build(&pieces, &settings, &|_| Continue::Yes).unwrap();
    plan.cloths()[0].purchase.cost.unwrap().to_cents()
}

/// How often all offers together make the job of a `seed` cheaper than the roll that it names first.
fn n_cheaper(seed: u64) -> u32 {
    let mut n_cheaper = 0;
    let mut chance = Chance(seed);
    let rolls = rolls(&mut chance);
    let (drawing, parts) = parts(&mut chance);
    let alone: Vec<i64> = rolls
        .iter()
        .map(|&roll| cost(&drawing, &parts, &[roll]))
        .collect();
    let least = *alone.iter().min().unwrap();
    // Whichever of them the job names first, and whichever are offered beside it.
    for first in 0..rolls.len() {
        let others: Vec<usize> = (0..rolls.len()).filter(|&other| other != first).collect();
        for &other in &others {
            let two = cost(&drawing, &parts, &[rolls[first], rolls[other]]);
            let best = alone[first].min(alone[other]);
            assert!(
                two <= best,
                "job {seed}, {first} and {other}: {two}, alone {alone:?}"
            );
        }
        let all = [rolls[first], rolls[others[0]], rolls[others[1]]];
        let all = cost(&drawing, &parts, &all);
        assert!(
            all <= least,
            "job {seed}, {first} first: {all}, alone {alone:?}"
        );
        n_cheaper += u32::from(all < alone[first]);
    }
    n_cheaper
}

#[test]
fn no_offer_makes_any_of_two_generated_jobs_dearer() {
    let n_cheaper = thread::scope(|scope| {
        let other = scope.spawn(|| n_cheaper(2));
        n_cheaper(1) + other.join().unwrap()
    });
    // Else there would be nothing to choose.
    assert!(n_cheaper > 0, "{n_cheaper}");
}
