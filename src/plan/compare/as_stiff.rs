//! How many layers: the stacks of the cloths at hand that are as stiff as a stated sheet.
//!
//! Not every order of plies is tried. A stack is one pattern of angles of one cloth, over and over, or the
//! outer plies of one and the inner ones of another; mirrored about its middle or not. Of each such family
//! the thinnest that reaches the stiffness is taken. More plies of a pattern are stiffer, so
//! nothing between is missed.

use super::variants::Variant;
use crate::job::{Job, Part, Ply};
use crate::laminate::{Construction, Shares, StiffAlong, StiffAs, StiffIn};
use crate::plan::process::Laminate;
use crate::units::{Angle, ArealWeight, Length, PlyAngle};

/// What stiffness is asked for, and of what.
#[derive(Clone, Debug, PartialEq)]
pub struct StiffnessWish {
    /// As stiff as this.
    pub target: StiffAs,
    /// In bending, in tension, or in both.
    pub stiff_in: StiffIn,
    /// In these directions of the part.
    pub along: StiffAlong,
    /// Index of the part.
    pub part: usize,
    /// How many stacks to plan.
    pub most: usize,
}

/// A stack of plies beside a [`StiffnessWish`].
#[derive(Clone, Debug, PartialEq)]
pub struct StackFigures {
    /// In laminate code, cloth by cloth from the mould up: `twill [0/45]s`.
    pub code: String,
    /// Number of plies.
    pub n_plies: usize,
    /// Cured thickness.
    pub thickness: Length,
    /// Mass of the cured laminate by area.
    pub areal_weight: ArealWeight,
    /// How it stands to the wish, by direction asked for.
    pub shares: Vec<(Angle, Shares)>,
    /// The smallest of them that counts.
    pub least: f64,
    /// Whether it mirrors itself about its middle.
    pub is_symmetric: bool,
}

impl StackFigures {
    /// How stiff it is along each direction, as a share of what is asked for, in bending and, if that is
    /// stated, in tension: `0° 112 % / 95 %`.
    #[must_use]
    pub fn shares_told(&self) -> String {
        let told = self.shares.iter().map(|(direction, shares)| {
            let bend = format!("{}° {:.0} %", direction.to_degrees(), 100.0 * shares.bend);
            match shares.stretch {
                Some(stretch) => format!("{bend} / {:.0} %", 100.0 * stretch),
                None => bend,
            }
        });
        told.collect::<Vec<_>>().join(", ")
    }
}

/// A ply of a stack: index of its cloth, and its angle on the part in whole degrees.
type StackEntry = (usize, i32);

/// Most plies that a stack may have.
const MOST_PLIES: usize = 60;

/// Patterns of angles, degrees, that are tried of a cloth; of a biaxial the angle is that of the layer
/// against the mould.
fn patterns(construction: Construction) -> &'static [&'static [i32]] {
    match construction {
        Construction::Woven => &[&[0], &[45], &[0, 45]],
        Construction::Unidirectional => &[&[0], &[90], &[0, 90], &[0, 45, -45, 90]],
        Construction::Biaxial => &[&[45], &[0], &[0, 45]],
        Construction::NonDirectional => &[&[0]],
    }
}

/// The job with its part laid up in each of the stacks that reach the wish: those that promise to be
/// the cheapest and the lightest, symmetric ones and others, at most as many as are wished. The job as
/// designed stands before them.
///
/// Cloths of which the job does not say what they are made of are left out.
#[must_use]
pub fn stacks_as_stiff(job: &Job, wish: &StiffnessWish) -> Vec<Variant> {
    let search = StackSearch::new(job, wish);
    let mut all = vec![Variant {
        stack: search.figures(search.part),
        ..Variant::designed(job)
    }];
    all.extend(search.best().into_iter().map(|stack| search.variant(stack)));
    all
}

/// The angle of a ply on its part.
fn whole_degrees(part: &Part, ply: &Ply) -> i32 {
    part.angle_of(ply).from_zero().to_degrees().round() as i32
}

/// A stack that reaches the wish.
struct Candidate {
    part: Part,
    figures: StackFigures,
    /// What its cloth costs by area, hundredths for a square metre, if all is priced.
    price: Option<f64>,
}

struct StackSearch<'j> {
    job: &'j Job,
    wish: &'j StiffnessWish,
    part: &'j Part,
    /// The ply against the mould, if it will be seen: it stays.
    seen: Option<StackEntry>,
}

impl<'j> StackSearch<'j> {
    fn new(job: &'j Job, wish: &'j StiffnessWish) -> Self {
        let part = &job.parts()[wish.part];
        let first = part.plies.first().filter(|ply| ply.appearance);
        Self {
            job,
            wish,
            part,
            seen: first.map(|ply| (ply.cloth, whole_degrees(part, ply))),
        }
    }

    fn construction(&self, cloth: usize) -> Construction {
        self.job.cloths()[cloth].weave.construction()
    }

    /// The part with these plies, each cut as the first one is now.
    fn part_of(&self, entries: &[StackEntry]) -> Part {
        let first = &self.part.plies[0];
        let plies = (1..).zip(entries).map(|(n, &(cloth, degrees))| {
            let angle = PlyAngle::degrees(f64::from(degrees)).in_range();
            Ply {
                n,
                cloth,
                drawn_angle: self.part.view.drawn(angle),
                appearance: n == 1 && self.seen.is_some(),
                ..first.clone()
            }
        });
        Part {
            plies: plies.collect(),
            ..self.part.clone()
        }
    }

    /// How the laminate of `part` stands to the wish; `None` if its stiffness is not known.
    fn figures(&self, part: &Part) -> Option<StackFigures> {
        let angles: Vec<PlyAngle> = part.plies.iter().map(|ply| part.angle_of(ply)).collect();
        let laminate = Laminate::of(self.job, part, &angles, |_| true);
        let plate = laminate.plate?;
        let directions = self.wish.along.directions().iter();
        let shares: Option<Vec<(Angle, Shares)>> = directions
            .map(|&direction| Some((direction, self.wish.target.shares(&plate, direction)?)))
            .collect();
        let shares = shares?;
        let least = (shares.iter())
            .map(|(_, share)| share.least(self.wish.stiff_in))
            .fold(f64::INFINITY, f64::min);
        let cured = part.plies.iter().map(|ply| self.cured_g_per_m2(ply.cloth));
        Some(StackFigures {
            code: self.code(part),
            n_plies: part.plies.len(),
            thickness: laminate.thickness?,
            areal_weight: ArealWeight::g_per_m2(cured.sum::<Option<f64>>()?),
            shares,
            least,
            is_symmetric: laminate.symmetry.is_ok(),
        })
    }

    /// What a ply of a cloth weighs when it has cured, by area.
    fn cured_g_per_m2(&self, cloth: usize) -> Option<f64> {
        let lamina = self.job.laminae()[cloth].as_ref()?;
        let dry = self.job.cloths()[cloth].areal_weight.to_g_per_m2();
        Some(dry / lamina.constituents.by_weight(lamina.fraction).get())
    }

    /// What the plies' cloth costs, hundredths for a square metre, waste apart.
    fn price(&self, entries: &[StackEntry]) -> Option<f64> {
        let each = entries.iter().map(|&(cloth, _)| {
            let cloth = &self.job.cloths()[cloth];
            let metre = cloth.price.as_ref()?.of(Length::mm(1000.0)).to_cents();
            Some(metre as f64 / (cloth.roll_width.to_mm() / 1000.0))
        });
        each.sum()
    }

    /// In laminate code, each run of one cloth by its name.
    fn code(&self, part: &Part) -> String {
        let runs = part.plies.chunk_by(|a, b| a.cloth == b.cloth);
        let told = runs.map(|run| {
            let angles: Vec<i32> = run.iter().map(|ply| whole_degrees(part, ply)).collect();
            let cloth = &self.job.cloths()[run[0].cloth].name;
            format!("{cloth} {}", laminate_code(&angles))
        });
        told.collect::<Vec<_>>().join(" + ")
    }

    /// The thinnest of a family of ever thicker stacks that reaches the wish, and its number in it.
    fn thinnest(&self, stack: impl Fn(usize) -> Vec<StackEntry>) -> Option<(usize, Candidate)> {
        let candidate = |n: usize| -> Option<Candidate> {
            let entries = stack(n);
            let part = self.part_of(&entries);
            let figures = self.figures(&part)?;
            (figures.least >= 1.0).then(|| Candidate {
                price: self.price(&entries),
                part,
                figures,
            })
        };
        let numbers: Vec<usize> = (1..=MOST_PLIES)
            .take_while(|&n| stack(n).len() <= MOST_PLIES)
            .collect();
        // What is thicker is stiffer.
        let n = numbers.partition_point(|&n| candidate(n).is_none());
        let n = *numbers.get(n)?;
        Some((n, candidate(n)?))
    }

    /// `half` with its mirror image on it, the last ply in the middle or twice; a biaxial's upper
    /// layer comes to lie below.
    fn mirrored(&self, half: &[StackEntry], has_middle: bool) -> Vec<StackEntry> {
        let mirror = half.iter().rev().skip(usize::from(has_middle));
        let mirror = mirror.map(|&(cloth, angle)| match self.construction(cloth) {
            Construction::Biaxial if angle > 0 => (cloth, angle - 90),
            Construction::Biaxial => (cloth, angle + 90),
            _ => (cloth, angle),
        });
        half.iter().copied().chain(mirror).collect()
    }

    /// Of every cloth and pattern, alone or with another inside, what none of its kind betters.
    fn candidates(&self) -> Vec<Candidate> {
        let laminae = self.job.laminae();
        let known = (0..laminae.len()).filter(|&cloth| laminae[cloth].is_some());
        let runs: Vec<StackRun> = known
            .flat_map(|cloth| {
                let patterns = patterns(self.construction(cloth)).iter();
                patterns.map(move |&pattern| StackRun { cloth, pattern })
            })
            .collect();
        let mut all = Vec::new();
        for outer in &runs {
            // What is seen lies before the pattern.
            let half =
                |n| -> Vec<StackEntry> { self.seen.into_iter().chain(outer.plies(n)).collect() };
            let mirrored = self.thinnest(|n| self.mirrored(&half(n), false));
            let alone = mirrored.as_ref().map_or(MOST_PLIES / 2, |(n, _)| *n);
            let middle = self.thinnest(|n| self.mirrored(&half(n), true));
            let of_kind = mirrored
                .into_iter()
                .chain(middle)
                .chain(self.thinnest(half));
            all.extend(unbettered(of_kind.map(|(_, found)| found).collect()));
            for inner in runs.iter().filter(|inner| inner.cloth != outer.cloth) {
                let each = (1..alone).flat_map(|n| [(n, false), (n, true)]);
                let of_kind = each.filter_map(|(n_outer, has_middle)| {
                    let found = self.thinnest(|n| {
                        let mut both = half(n_outer);
                        both.extend(inner.plies(n));
                        self.mirrored(&both, has_middle)
                    });
                    found.map(|(_, found)| found)
                });
                all.extend(unbettered(of_kind.collect()));
            }
        }
        all
    }

    /// The candidates that promise most, at most as many as are wished: by turns the cheapest and the
    /// lightest of those left, among the symmetric ones and among all.
    fn best(&self) -> Vec<Candidate> {
        let mut left = self.candidates();
        left.sort_by(|a, b| a.figures.code.cmp(&b.figures.code));
        left.dedup_by(|a, b| a.figures.code == b.figures.code);
        let mass = |c: &Candidate| c.figures.areal_weight.to_g_per_m2();
        let price = |c: &Candidate| c.price.unwrap_or(f64::INFINITY);
        let mut best = Vec::new();
        let turns = [(true, true), (false, true), (true, false), (false, false)];
        for (by_price, only_symmetric) in turns.into_iter().cycle() {
            if left.is_empty() || best.len() >= self.wish.most {
                break;
            }
            let key = |c: &Candidate| match by_price {
                true => [price(c), mass(c)],
                false => [mass(c), price(c)],
            };
            let wanted = left.iter().enumerate();
            let wanted = wanted.filter(|(_, c)| c.figures.is_symmetric || !only_symmetric);
            let least = wanted.min_by(|(_, a), (_, b)| {
                let by_key = key(a).into_iter().zip(key(b));
                let by_key = by_key.map(|(a, b)| a.total_cmp(&b));
                by_key.fold(std::cmp::Ordering::Equal, std::cmp::Ordering::then)
            });
            if let Some((index, _)) = least {
                best.push(left.remove(index));
            }
        }
        best
    }

    fn variant(&self, stack: Candidate) -> Variant {
        let name = stack.figures.code.clone();
        let change = format!("{} laid up as {name}", self.part.name);
        let job = self.job.clone().with_part(self.wish.part, stack.part);
        Variant {
            stack: Some(stack.figures),
            ..Variant::other(name, change, job)
        }
    }
}

/// Those of one kind that no other is cheaper than, lighter than and as symmetric as.
fn unbettered(of_kind: Vec<Candidate>) -> Vec<Candidate> {
    let figures = |c: &Candidate| {
        let price = c.price.unwrap_or(0.0);
        let asymmetry = if c.figures.is_symmetric { 0.0 } else { 1.0 };
        [price, c.figures.areal_weight.to_g_per_m2(), asymmetry]
    };
    let all: Vec<[f64; 3]> = of_kind.iter().map(figures).collect();
    let is_bettered = |own: &[f64; 3]| {
        let no_worse = |other: &&[f64; 3]| other.iter().zip(own).all(|(other, own)| other <= own);
        all.iter().filter(no_worse).any(|other| other != own)
    };
    let kept = of_kind.into_iter().zip(&all);
    let kept = kept.filter(|(_, own)| !is_bettered(own));
    kept.map(|(candidate, _)| candidate).collect()
}

/// A cloth laid in a pattern of angles, over and over.
#[derive(Clone, Copy)]
struct StackRun {
    cloth: usize,
    pattern: &'static [i32],
}

impl StackRun {
    fn plies(self, n: usize) -> impl Iterator<Item = StackEntry> {
        let angles = self.pattern.iter().cycle().take(n);
        angles.map(move |&angle| (self.cloth, angle))
    }
}

/// Angles in laminate code: a mirrored stack by its half, what repeats by its count.
fn laminate_code(angles: &[i32]) -> String {
    let (half, rest) = angles.split_at(angles.len() / 2);
    let is_mirrored = half.len() == rest.len() && half.iter().eq(rest.iter().rev());
    let listed = if is_mirrored { half } else { angles };
    let n = listed.len();
    let repeats_after = |unit: &usize| {
        n.is_multiple_of(*unit) && listed.iter().eq(listed[..*unit].iter().cycle().take(n))
    };
    let unit = (1..n).find(repeats_after).unwrap_or(n);
    // Plies all alike are plainer by their count.
    let (times, mirror) = match (is_mirrored, unit) {
        (true, 1) => (2 * n, ""),
        (true, _) => (n / unit, "s"),
        (false, _) => (n / unit, ""),
    };
    let runs = listed[..unit].chunk_by(|a, b| a == b);
    let runs = runs.map(|run| match run.len() {
        1 => run[0].to_string(),
        n => format!("{}_{n}", run[0]),
    });
    let count = if times > 1 {
        times.to_string()
    } else {
        String::new()
    };
    let runs: Vec<String> = runs.collect();
    format!("[{}]{count}{mirror}", runs.join("/"))
}

#[cfg(test)]
mod tests {
    use super::laminate_code;
    use super::*;
    use crate::job::Job;

    #[test]
    fn a_stack_is_named_by_its_half_and_its_count() {
        for (angles, code) in [
            (&[0][..], "[0]"),
            (&[0, 0, 0], "[0]3"),
            (&[0, 0, 0, 0], "[0]4"),
            (&[0, 45, 45, 0], "[0/45]s"),
            (&[0, 45, 0, 45, 45, 0, 45, 0], "[0/45]2s"),
            (&[0, 45, 0, 45], "[0/45]2"),
            (&[0, 90, 0], "[0/90/0]"),
            (&[45, -45], "[45/-45]"),
            (&[0, 0, 0, 90, 90, 0, 0, 0], "[0_3/90]s"),
        ] {
            assert_eq!(laminate_code(angles), code, "{angles:?}");
            let job = format!(
                "[cloth.c]\nweave = \"unidirectional\"\nareal_weight = \"200 gsm\"\nroll_width = \"1 m\"\n\
                 [[part]]\nname = \"A\"\npattern = \"a.svg\"\ncloth = \"c\"\nlayup = \"{code}\"\n"
            );
            let (job, _) = Job::read("job.toml", &job).expect("a laminate code");
            let part = &job.parts()[0];
            let read: Vec<i32> = (part.plies.iter())
                .map(|ply| whole_degrees(part, ply))
                .collect();
            assert_eq!(read, angles, "{code}");
        }
    }
}
