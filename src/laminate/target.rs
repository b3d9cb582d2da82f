//! What a laminate shall be as stiff as: a sheet of another material, or a stated stiffness.

use std::fmt;
use std::str::FromStr;

use super::plate::{FreeStrip, Plate};
use crate::units::{
    Angle, BeamStiffness, BendingStiffness, Density, Length, Modulus, StretchStiffness,
};
use crate::words::{Word, words};

words! {
    /// In what a laminate shall be as stiff.
    pub enum StiffIn {
        /// When it is bent.
        Bending = "bending",
        /// When it is pulled.
        Tension = "tension",
        /// In both.
        Both = "both",
    }
}

words! {
    /// In which directions of the part a laminate shall be as stiff.
    pub enum StiffAlong {
        /// Along 0° and along 90°.
        Both = "both",
        /// Along 0°.
        Zero = "0",
        /// Along 90°.
        Ninety = "90",
    }
}

impl StiffAlong {
    /// The directions.
    #[must_use]
    pub fn directions(self) -> &'static [Angle] {
        const BOTH: [Angle; 2] = [Angle::degrees(0.0), Angle::degrees(90.0)];
        match self {
            Self::Both => &BOTH,
            Self::Zero => &BOTH[..1],
            Self::Ninety => &BOTH[1..],
        }
    }
}

/// A material that sheet is made of, alike in all directions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SheetMaterial {
    /// What it is called.
    pub word: &'static str,
    /// Young's modulus.
    pub modulus: Modulus,
    /// Density.
    pub density: Density,
}

impl SheetMaterial {
    /// Those that are known.
    ///
    /// # Source
    /// Steel: E = 210 000 N/mm², EN 1993-1-1, 3.2.6. Aluminium: E = 70 000 N/mm² and 2700 kg/m³,
    /// EN 1999-1-1, 3.2.5 (both from memory). Plywood: a mean of along and across the face grain, which
    /// differ several times (common practice, no source).
    pub const ALL: [Self; 3] = [
        Self {
            word: "aluminium",
            modulus: Modulus::gpa(70.0),
            density: Density::g_per_cm3(2.70),
        },
        Self {
            word: "steel",
            modulus: Modulus::gpa(210.0),
            density: Density::g_per_cm3(7.85),
        },
        Self {
            word: "plywood",
            modulus: Modulus::gpa(8.0),
            density: Density::g_per_cm3(0.68),
        },
    ];
}

/// What is wanted.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Wanted {
    /// As a strip of a sheet of this thickness and modulus.
    Sheet(Length, Modulus, Option<Density>),
    /// As a strip with this EI by width.
    Strip(BendingStiffness),
    /// As a wide plate with this D.
    Wide(BendingStiffness),
}

/// The stiffness that a laminate shall reach.
#[derive(Clone, Debug, PartialEq)]
pub struct StiffAs {
    told: String,
    wanted: Wanted,
}

impl StiffAs {
    /// As stiff as a sheet of `modulus` that is `thickness` thick.
    #[must_use]
    pub fn sheet(thickness: Length, modulus: Modulus) -> Self {
        Self {
            told: format!(
                "{} of {}",
                thickness.in_mm_and_inches(),
                modulus.in_gpa_and_msi()
            ),
            wanted: Wanted::Sheet(thickness, modulus, None),
        }
    }

    /// What is wanted in bending, by width: E·h³/12 of a sheet, EI/b of a beam, D.
    ///
    /// # Source
    /// S. Timoshenko and S. Woinowsky-Krieger, *Theory of Plates and Shells*, 2nd ed. 1959, section 1
    /// (from memory): a strip has E·h³/12 by width, a wide plate 1/(1 − ν²) times that.
    #[must_use]
    pub fn bend(&self) -> BendingStiffness {
        match self.wanted {
            Wanted::Sheet(h, modulus, _) => {
                BendingStiffness::n_mm(modulus.to_mpa() * h.to_mm().powi(3) / 12.0)
            }
            Wanted::Strip(bend) | Wanted::Wide(bend) => bend,
        }
    }

    /// What is wanted in tension, by width: E·h of a sheet; `None` where only bending is stated.
    #[must_use]
    pub fn stretch(&self) -> Option<StretchStiffness> {
        match self.wanted {
            Wanted::Sheet(h, modulus, _) => {
                Some(StretchStiffness::n_per_mm(modulus.to_mpa() * h.to_mm()))
            }
            Wanted::Strip(_) | Wanted::Wide(_) => None,
        }
    }

    /// What a square metre of the sheet weighs, g, if it is one of a known material.
    #[must_use]
    pub fn g_per_m2(&self) -> Option<f64> {
        match self.wanted {
            Wanted::Sheet(h, _, density) => Some(density?.to_g_per_cm3() * h.to_mm() * 1000.0),
            Wanted::Strip(_) | Wanted::Wide(_) => None,
        }
    }

    /// How `plate` stands to it along `direction` (0° or 90°); `None` if its stiffness cannot be told.
    #[must_use]
    pub fn shares(&self, plate: &Plate, direction: Angle) -> Option<Shares> {
        let FreeStrip { stretch, bend } = plate.strip(direction)?;
        let bend = match self.wanted {
            Wanted::Sheet(..) | Wanted::Strip(_) => bend,
            Wanted::Wide(_) => {
                let [along, across] = plate.wide()?;
                if direction == Angle::ZERO {
                    along
                } else {
                    across
                }
            }
        };
        Some(Shares {
            bend: bend.to_n_mm() / self.bend().to_n_mm(),
            stretch: (self.stretch()).map(|wanted| stretch.to_n_per_mm() / wanted.to_n_per_mm()),
        })
    }
}

impl fmt::Display for StiffAs {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.told)
    }
}

/// How stiff a laminate is along one direction, as a share of what is wanted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shares {
    /// In bending.
    pub bend: f64,
    /// In tension; `None` where no tension is stated.
    pub stretch: Option<f64>,
}

impl Shares {
    /// The smaller of those that count.
    #[must_use]
    pub fn least(&self, stiff_in: StiffIn) -> f64 {
        let stretch = self.stretch.unwrap_or(f64::INFINITY);
        match stiff_in {
            StiffIn::Bending => self.bend,
            StiffIn::Tension => stretch,
            StiffIn::Both => self.bend.min(stretch),
        }
    }
}

/// How a wish is written.
const FORMS: &str = "write for example `2 mm aluminium`, `3 mm plywood`, `2 mm of 45 GPa`, \
                     `D 40 N m` (a wide plate) or `EI 4.6 N m2 on 100 mm` (a beam and its width)";

impl FromStr for StiffAs {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let text = text.trim();
        let wanted = wanted(text)?;
        Ok(Self {
            told: text.to_owned(),
            wanted,
        })
    }
}

fn wanted(text: &str) -> Result<Wanted, String> {
    let wrong = |problem: String| format!("{problem}; {FORMS}");
    if let Some(d) = text.strip_prefix("D ") {
        let d = d.parse().map_err(|e| wrong(format!("{e}")))?;
        return insist_positive(Wanted::Wide(d), d.to_n_mm());
    }
    if let Some(ei) = text.strip_prefix("EI ") {
        let Some((ei, width)) = ei.split_once(" on ") else {
            return Err(wrong("a beam needs its width".to_owned()));
        };
        let ei: BeamStiffness = ei.parse().map_err(|e| wrong(format!("{e}")))?;
        let width: Length = width.parse().map_err(|e| wrong(format!("{e}")))?;
        if width <= Length::ZERO {
            return Err(wrong("the width of a beam is more than zero".to_owned()));
        }
        let by_width = ei.by_width(width);
        return insist_positive(Wanted::Strip(by_width), by_width.to_n_mm());
    }
    if let Some((thickness, modulus)) = text.split_once(" of ")
        && let Ok(modulus) = modulus.parse::<Modulus>()
    {
        let thickness: Length = thickness.parse().map_err(|e| wrong(format!("{e}")))?;
        let wanted = Wanted::Sheet(thickness, modulus, None);
        return insist_positive(wanted, modulus.to_mpa().min(thickness.to_mm()));
    }
    let of_material = SheetMaterial::ALL.iter().find_map(|material| {
        let thickness = text.strip_suffix(material.word)?.trim_end();
        let thickness = thickness.strip_suffix(" of").unwrap_or(thickness);
        Some((material, thickness))
    });
    let Some((material, thickness)) = of_material else {
        return Err(wrong("that is no sheet and no stiffness".to_owned()));
    };
    let thickness: Length = thickness.parse().map_err(|e| wrong(format!("{e}")))?;
    let wanted = Wanted::Sheet(thickness, material.modulus, Some(material.density));
    insist_positive(wanted, thickness.to_mm())
}

fn insist_positive(wanted: Wanted, value: f64) -> Result<Wanted, String> {
    if value > 0.0 {
        Ok(wanted)
    } else {
        Err(format!("that has no stiffness; {FORMS}"))
    }
}

/// The value that a word stands for.
fn of_word<W: Word>(text: &str) -> Result<W, String> {
    let words = W::words();
    let found = words.iter().find(|(word, _)| *word == text);
    found.map(|(_, value)| *value).ok_or_else(|| {
        let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
        format!("write {}", known.join(", "))
    })
}

impl FromStr for StiffIn {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        of_word(text)
    }
}

impl FromStr for StiffAlong {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        of_word(text)
    }
}

#[cfg(test)]
mod tests {
    use super::super::elastic::Elastic;
    use super::super::plate::Layer;
    use super::*;

    fn layer(mm: f64, gpa: f64, nu: f64) -> Layer {
        let modulus = Modulus::gpa(gpa);
        let elastic = Elastic {
            e1: modulus,
            e2: modulus,
            g12: Modulus::gpa(gpa / (2.0 * (1.0 + nu))),
            nu12: nu,
        };
        Layer {
            thickness: Length::mm(mm),
            stiffness: elastic.reduced(),
        }
    }

    /// A sheet is as stiff as itself, in whatever direction; D of a wide plate is 1/(1 − ν²) of a strip's.
    #[test]
    fn a_sheet_is_as_stiff_as_itself() {
        let plate = Plate::of(&[layer(2.0, 70.0, 0.33)]).expect("a plate");
        let sheet: StiffAs = "2 mm aluminium".parse().expect("a sheet");
        for degrees in [0.0, 90.0] {
            let shares = sheet
                .shares(&plate, Angle::degrees(degrees))
                .expect("known");
            assert!((shares.bend - 1.0).abs() < 1e-9);
            assert!((shares.stretch.expect("known") - 1.0).abs() < 1e-9);
        }
        // 70 000 · 2³ / 12 = 46 666.7 N·mm; /(1 − 0.33²) = 52 369.7 N·mm.
        assert!((sheet.bend().to_n_mm() - 46_666.667).abs() < 0.001);
        let wide: StiffAs = "D 52.3697 N m".parse().expect("a stiffness");
        let share = wide.shares(&plate, Angle::ZERO).expect("known").bend;
        assert!((share - 1.0).abs() < 1e-5, "{share}");
        // A strip 100 mm wide: EI = 46.6667 · 0.1 N·m².
        let beam: StiffAs = "EI 4.66667 N m2 on 100 mm".parse().expect("a stiffness");
        let share = beam.shares(&plate, Angle::ZERO).expect("known").bend;
        assert!((share - 1.0).abs() < 1e-5, "{share}");
    }

    /// A beam of two layers, 1 mm of steel on 3 mm of aluminium, by the transformed section: the neutral
    /// axis and EI by width worked out by hand. Both with ν = 0.3, so that neither hinders the other.
    #[test]
    fn a_strip_of_two_materials_bends_about_its_neutral_axis() {
        let plate = Plate::of(&[layer(3.0, 70.0, 0.3), layer(1.0, 210.0, 0.3)]).expect("a plate");
        let strip = plate.strip(Angle::ZERO).expect("known");
        let (ea_soft, ea_hard): (f64, f64) = (70_000.0 * 3.0, 210_000.0 * 1.0);
        let neutral = (ea_soft * 1.5 + ea_hard * 3.5) / (ea_soft + ea_hard);
        let ei = ea_soft * (9.0 / 12.0 + (1.5 - neutral).powi(2))
            + ea_hard * (1.0 / 12.0 + (3.5 - neutral).powi(2));
        assert!((strip.bend.to_n_mm() / ei - 1.0).abs() < 1e-9);
        // Pulled through its middle surface and free to curl: EA/(1 + EA·e²/EI), e off the middle.
        let (ea, e) = (ea_soft + ea_hard, neutral - 2.0);
        let pulled = ea / (1.0 + ea * e * e / ei);
        assert!((strip.stretch.to_n_per_mm() / pulled - 1.0).abs() < 1e-9);
    }

    #[test]
    fn wishes_that_cannot_be_read_say_how_to_write_them() {
        for wrong in [
            "",
            "2 mm",
            "aluminium",
            "-2 mm steel",
            "0 mm steel",
            "2 aluminium",
            "D 40",
            "D -1 N m",
            "EI 4 N m2",
            "EI 4 N m2 on 0 mm",
            "2 mm of 0 GPa",
            "2 mm of cheese",
            "nan mm steel",
        ] {
            let told = wrong.parse::<StiffAs>().expect_err(wrong);
            assert!(told.contains("2 mm aluminium"), "{wrong}: {told}");
        }
    }
}
