//! Mixed resin: how it divides into its two parts, and into batches that can be laid in time.

use std::fmt;
use std::ops::Range;
use std::str::FromStr;

use crate::units::{Density, Duration, Mass, Temperature};

/// Parts A and B of a resin by weight, for example 100 : 30.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MixRatio {
    a: f64,
    b: f64,
}

/// An amount of mixed resin as it is weighed out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mixed {
    /// Part A, the resin.
    pub a: Mass,
    /// Part B, the hardener.
    pub b: Mass,
}

impl MixRatio {
    /// `a` parts of A to `b` parts of B by weight; `None` unless both are above zero.
    #[must_use]
    pub fn by_weight(a: f64, b: f64) -> Option<Self> {
        let is_amount = |x: f64| x.is_finite() && x > 0.0;
        (is_amount(a) && is_amount(b)).then_some(Self { a, b })
    }

    /// The ratio by weight of one that is given by volume, for parts of these densities.
    #[must_use]
    pub fn from_volumes(self, a: Density, b: Density) -> Self {
        Self {
            a: self.a * a.to_g_per_cm3(),
            b: self.b * b.to_g_per_cm3(),
        }
    }

    /// Parts of B to 100 parts of A by weight.
    #[must_use]
    pub fn hardener_to_100(self) -> f64 {
        100.0 * self.b / self.a
    }

    /// `mixed`, divided: A is mixed · a/(a + b).
    #[must_use]
    pub fn divide(self, mixed: Mass) -> Mixed {
        let whole = self.a + self.b;
        Mixed {
            a: Mass::grams(mixed.to_grams() * self.a / whole),
            b: Mass::grams(mixed.to_grams() * self.b / whole),
        }
    }
}

/// A text that is no mixing ratio.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct MixRatioError;

impl fmt::Display for MixRatioError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a ratio is two numbers above zero, for example `100:30`")
    }
}

impl std::error::Error for MixRatioError {}

impl FromStr for MixRatio {
    type Err = MixRatioError;

    /// Reads `100:30`, `3:1`.
    fn from_str(text: &str) -> Result<Self, MixRatioError> {
        let (a, b) = text.split_once(':').ok_or(MixRatioError)?;
        let number = |text: &str| text.trim().parse::<f64>().map_err(|_| MixRatioError);
        Self::by_weight(number(a)?, number(b)?).ok_or(MixRatioError)
    }
}

/// Resin that one step of the work (a ply) takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Demand {
    /// Mixed resin.
    pub mass: Mass,
    /// How long it takes to lay and wet out.
    pub time: Duration,
}

/// What bounds a batch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BatchLimits {
    /// The largest mass that is mixed at once.
    pub mass: Mass,
    /// How long a batch may be worked with.
    pub time: Duration,
}

/// Resin that is mixed at once.
#[derive(Clone, Debug, PartialEq)]
pub struct Batch {
    /// The steps it serves, by index.
    pub steps: Range<usize>,
    /// Which of how many batches for its only step it is; (1, 1) for whole steps.
    pub share: (usize, usize),
    /// How much is mixed.
    pub mass: Mass,
    /// How long the work with it takes.
    pub time: Duration,
}

/// Steps of one bag in the order of the work, divided into batches of whole steps: as few as the limits allow,
/// and those evened out, so that no small one is left over. A step that is too much for one batch gets
/// several of equal size, and shares none of them.
#[must_use]
pub fn batches(demands: &[Demand], limits: &BatchLimits) -> Vec<Batch> {
    let mut batches: Vec<Batch> = Vec::new();
    let mut from = 0;
    while from < demands.len() {
        let first = &demands[from];
        let share = shares_of(first, limits);
        if share > 1 {
            batches.extend((1..=share).map(|k| Batch {
                steps: from..from + 1,
                share: (k, share),
                mass: Mass::grams(first.mass.to_grams() / share as f64),
                time: first.time * (1.0 / share as f64),
            }));
            from += 1;
            continue;
        }
        let rest = &demands[from..];
        let run = rest.iter().take_while(|d| shares_of(d, limits) <= 1);
        let run = from..from + run.count();
        batches.extend(evened(demands, run.clone(), limits));
        from = run.end;
    }
    batches
}

/// How many batches a step takes that is alone in them.
fn shares_of(demand: &Demand, limits: &BatchLimits) -> usize {
    let times = (demand.mass.to_grams() / limits.mass.to_grams())
        .max(demand.time.to_minutes() / limits.time.to_minutes());
    times.ceil() as usize
}

/// The steps of `run`, none of which is too much for one batch, in as few batches as can be, the
/// largest of them as small as that allows.
fn evened(demands: &[Demand], run: Range<usize>, limits: &BatchLimits) -> Vec<Batch> {
    /// Halvings of the span in which the largest batch is looked for: to within a millionth.
    const HALVINGS: u32 = 20;
    let mut best = filled(demands, run.clone(), limits);
    let fewest = best.len();
    let (mut low, mut high) = (0.0, limits.mass.to_grams());
    for _ in 0..HALVINGS {
        let mass = (low + high) / 2.0;
        let tighter = BatchLimits {
            mass: Mass::grams(mass),
            ..*limits
        };
        let found = filled(demands, run.clone(), &tighter);
        let keeps = found.iter().all(|batch| batch.mass <= tighter.mass);
        if keeps && found.len() <= fewest {
            (best, high) = (found, mass);
        } else {
            low = mass;
        }
    }
    best
}

/// The steps of `run`, as many to a batch as go in; at least one.
fn filled(demands: &[Demand], run: Range<usize>, limits: &BatchLimits) -> Vec<Batch> {
    let mut batches: Vec<Batch> = Vec::new();
    for idx in run {
        let demand = &demands[idx];
        if demand.mass <= Mass::ZERO {
            continue;
        }
        if let Some(last) = batches.last_mut()
            && last.mass + demand.mass <= limits.mass
            && last.time + demand.time <= limits.time
        {
            last.steps.end = idx + 1;
            last.mass = last.mass + demand.mass;
            last.time = last.time + demand.time;
        } else {
            batches.push(Batch {
                steps: idx..idx + 1,
                share: (1, 1),
                mass: demand.mass,
                time: demand.time,
            });
        }
    }
    batches
}

/// The pot life in a room at `room` of a resin whose data sheet states `stated` at `at`: half as long for
/// each 10 °C more, and in a room above 90 °F at most half.
///
/// # Source
/// 10 °C: common practice for epoxies near room temperature, no source. 90 °F: US Army TM 1-1500-204-23-11,
/// p. 169, halves the listed pot life above it.
#[must_use]
pub fn pot_life_in(stated: Duration, at: Temperature, room: Temperature) -> Duration {
    const HALVES_EVERY: f64 = 10.0;
    /// 90 °F in °C.
    const HOT: f64 = (90.0 - 32.0) / 1.8;
    let (at, room) = (at.to_celsius(), room.to_celsius());
    let by_degrees = libm::exp2((at - room) / HALVES_EVERY);
    let is_hot = room > HOT && at <= HOT;
    stated
        * if is_hot {
            by_degrees.min(0.5)
        } else {
            by_degrees
        }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn ratio(text: &str) -> MixRatio {
        text.parse().expect("a ratio")
    }

    /// US Army TM 55-1905-223-SDC: 400 g of resin and 100 g of hardener make the 500 g can. The
    /// other: 80 g at 100:27 are 62.992 g and 17.00787402 g (worked out apart from this program).
    #[test]
    fn a_total_is_divided_not_one_of_its_parts() {
        let can = ratio("4:1").divide(Mass::grams(500.0));
        assert_eq!((can.a.to_grams(), can.b.to_grams()), (400.0, 100.0));
        let total = ratio("100:27").divide(Mass::grams(80.0));
        assert!((total.b.to_grams() / 17.007_874_02 - 1.0).abs() < 1e-9);
        let density = Density::g_per_cm3;
        let by_volume = ratio("2:1").from_volumes(density(1.15), density(0.95));
        assert!((by_volume.hardener_to_100() - 100.0 * 0.95 / 2.3).abs() < 1e-12);
        for bad in ["100", "100:0", "a:b", "-1:2", "1:2:3", "inf:1"] {
            assert!(bad.parse::<MixRatio>().is_err(), "{bad}");
        }
    }

    fn demand(grams: f64, minutes: f64) -> Demand {
        Demand {
            mass: Mass::grams(grams),
            time: Duration::minutes(minutes),
        }
    }

    const LIMITS: BatchLimits = BatchLimits {
        mass: Mass::grams(100.0),
        time: Duration::minutes(20.0),
    };

    #[test]
    fn batches_keep_to_whole_plies_and_pot_life() {
        let steps = [
            demand(40.0, 5.0), // all but the next two in one pot would be 90 g and 20 g
            demand(50.0, 5.0),
            demand(20.0, 5.0),
            demand(10.0, 16.0),  // too long for the pot before
            demand(250.0, 10.0), // three pots of its own
            demand(10.0, 1.0),   // none of them has room
        ];
        let found: Vec<_> = batches(&steps, &LIMITS)
            .into_iter()
            .map(|b| (b.steps, b.share, b.mass.to_grams().round()))
            .collect();
        assert_eq!(
            found,
            [
                (0..1, (1, 1), 40.0),
                (1..3, (1, 1), 70.0),
                (3..4, (1, 1), 10.0),
                (4..5, (1, 3), 83.0),
                (4..5, (2, 3), 83.0),
                (4..5, (3, 3), 83.0),
                (5..6, (1, 1), 10.0),
            ]
        );
    }

    /// Five plies of 4.42 g are 22.1 g: two pots of at most 20 g hold two and three of them, not
    /// four and one. Of 30 + 30 + 30 + 90 g the last takes a pot and the others another.
    #[test]
    fn no_small_batch_is_left_over() {
        let masses = |each: &[f64], most: f64| -> Vec<f64> {
            let steps: Vec<Demand> = each.iter().map(|&g| demand(g, 1.0)).collect();
            let mass = Mass::grams(most);
            let found = batches(&steps, &BatchLimits { mass, ..LIMITS });
            found
                .iter()
                .map(|b| (b.mass.to_grams() * 100.0).round() / 100.0)
                .collect()
        };
        assert_eq!(masses(&[4.42; 5], 20.0), [13.26, 8.84]);
        assert_eq!(masses(&[30.0, 30.0, 30.0, 90.0], 100.0), [90.0, 90.0]);
        assert_eq!(masses(&[10.0; 6], 35.0), [30.0, 30.0]);
    }

    /// 30 min at 25 °C: a quarter of an hour at 35 °C, an hour at 15 °C, 2^-0.5 of it at 30 °C.
    #[test]
    fn pot_life_halves_for_ten_degrees() {
        let life = |room: f64| {
            let at = Temperature::celsius(25.0);
            pot_life_in(Duration::minutes(30.0), at, Temperature::celsius(room)).to_minutes()
        };
        for (room, expected) in [(25.0, 30.0), (35.0, 15.0), (15.0, 60.0), (30.0, 21.213_203)] {
            assert!((life(room) - expected).abs() < 1e-5, "{room} °C");
        }
        // 89 °F are 31.67 °C, 2^-0.667 of it; at 91 °F, where that rule alone gives 17.5 min, half of it: US Army
        // TM 1-1500-204-23-11, p. 169.
        let fahrenheit = |f: f64| life((f - 32.0) / 1.8);
        assert!((fahrenheit(89.0) - 18.899).abs() < 1e-3);
        assert!((fahrenheit(91.0) - 15.0).abs() < 1e-9);
    }

    proptest! {
        #[test]
        fn batches_make_up_the_whole_and_keep_the_limits(
            steps in prop::collection::vec((0.1..300.0f64, 0.1..60.0f64), 0..20),
        ) {
            let demands: Vec<Demand> = steps.iter().map(|&(g, m)| demand(g, m)).collect();
            let found = batches(&demands, &LIMITS);
            let mixed: f64 = found.iter().map(|b| b.mass.to_grams()).sum();
            let wanted: f64 = steps.iter().map(|s| s.0).sum();
            prop_assert!((mixed - wanted).abs() < 1e-9 * wanted.max(1.0));
            for batch in &found {
                prop_assert!(batch.mass.to_grams() <= 100.0 + 1e-9);
                prop_assert!(batch.time.to_minutes() <= 20.0 + 1e-9);
            }
        }
    }
}
