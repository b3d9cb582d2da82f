//! What cures: the table `[laminate]` and the keys of a cloth that say what it is made of.

use super::Located;
use super::cloths::ClothKeys;
use super::keys::{Checked, Key, KeyEntry, Number, OneOf, PER_CENT, Quantity, keys};
use super::reader::JobReader;
use super::table::JobTable;
use crate::diag::Place;
use crate::laminate::{
    Constituents, Construction, Elastic, Fibre, FractionError, FractionFrom, Lamina,
    LayerStiffness, Process, Resin, VolumeFraction, WeightFraction, fraction_from_thickness,
    unidirectional,
};
use crate::units::{Density, Modulus};
use crate::words::Word;

/// Resin more than this times the cloth by weight is more often a slip, mat apart.
const LIKELY_RESIN: f64 = 1.5;

impl Word for Fibre {
    fn words() -> Vec<(&'static str, Self)> {
        Self::ALL.map(|fibre| (fibre.word, fibre)).to_vec()
    }
}

/// A density of something that cures or reinforces.
pub(super) const DENSITY: Checked<Quantity, Density> = Checked {
    kind: Quantity,
    check: |reader, key, density| {
        let is_possible = (0.5..=10.0).contains(&density.value.to_g_per_cm3());
        insist_possible(reader, key, is_possible, &density.place)
    },
};

/// A modulus of something that cures or reinforces.
const MODULUS: Checked<Quantity, Modulus> = Checked {
    kind: Quantity,
    check: |reader, key, modulus| {
        let is_possible = (1.0..=2e6).contains(&modulus.value.to_mpa());
        insist_possible(reader, key, is_possible, &modulus.place)
    },
};

fn insist_possible(reader: &mut JobReader, key: &Key, is_possible: bool, place: &Place) -> bool {
    let message = format!("`{}` is impossible", key.name);
    let help = format!(
        "write for example {}; is the unit right?",
        key.shown_example()
    );
    reader.insist(is_possible, place, message, &help)
}

// Density and modulus of a typical cured epoxy: see [`Resin`].
keys! {
    /// What `[laminate]` says.
    LaminateKeys: "`[laminate]`", "[laminate]", "How the plies cure. Stiffness is an estimate for comparing layups, not a design approval.";
    process: Process = OneOf, Means("vacuum bag with `[bag]`, hand layup without"), "hand layup", "45 % fibre by volume under a bag, 35 % by hand, mat 20 % (common practice)";
    fibre_volume_fraction: f64 = PER_CENT, Means("by `process`"), "45 %", "share of fibre by volume, for all cloths but mat";
    fibre_weight_fraction: f64 = PER_CENT, Means("by `process`"), "55 %", "the same by weight";
    resin_density: Density = DENSITY, Is("1.20 g/cm3"), "1.20 g/cm3", "of the cured resin, not of the liquid";
    resin_modulus: Modulus = MODULUS, Is("3.4 GPa"), "3.4 GPa", "of the cured resin";
}

keys! {
    /// What `[cloth.NAME.stiffness]` says.
    StiffnessKeys: "`stiffness`", "[cloth.NAME.stiffness]", "Elastic constants of the cured ply.";
    e1: Modulus = MODULUS, Required, "115 GPa", "modulus along the warp";
    e2: Modulus = MODULUS, Required, "7 GPa", "modulus across it";
    g12: Modulus = MODULUS, Required, "3 GPa", "shear modulus";
    nu12: f64 = Number { least: 0.0, most: None }, Required, "0.3", "Poisson's ratio, stretched along the warp";
}

/// A fibre fraction as the job states it.
#[derive(Clone, Debug)]
enum Stated {
    Volume(Located<VolumeFraction>),
    Weight(Located<WeightFraction>),
}

/// How the job's plies cure.
pub(super) struct Curing {
    process: Process,
    fraction: Option<Stated>,
    resin: Resin,
}

impl Curing {
    /// Reads `[laminate]` of the job; the defaults if there is none. Without a bag nothing presses
    /// the resin out, unless the job says that one goes on which it does not plan.
    pub(super) fn read(
        reader: &mut JobReader,
        table: Option<&JobTable<'_>>,
        has_bag: bool,
    ) -> Self {
        let keys = LaminateKeys::read(reader, table);
        let usual = if has_bag {
            Process::VacuumBag
        } else {
            Process::HandLayup
        };
        Self {
            process: keys.process.value.unwrap_or(usual),
            fraction: stated(
                reader,
                keys.fibre_volume_fraction,
                keys.fibre_weight_fraction,
            ),
            resin: Resin {
                density: keys.resin_density.value,
                modulus: keys.resin_modulus.value,
                ..Resin::default()
            },
        }
    }

    /// What a ply of the cloth in `table` becomes; `None` if the job does not say what its fibre
    /// is, or after a complaint.
    pub(super) fn lamina(
        &self,
        reader: &mut JobReader,
        table: &JobTable<'_>,
        cloth: ClothKeys<'_>,
    ) -> Option<Lamina> {
        let fibre = cloth.fibre.value;
        let needs_fibre = [
            &cloth.fibre_volume_fraction.at,
            &cloth.fibre_weight_fraction.at,
            &cloth.ply_thickness.at,
            &cloth.stiffness.at,
        ];
        let needs_fibre = needs_fibre.into_iter().find_map(Clone::clone);
        let stated = stated(
            reader,
            cloth.fibre_volume_fraction,
            cloth.fibre_weight_fraction,
        );
        let thickness = cloth.ply_thickness.located();
        let measured = (cloth.stiffness.value).and_then(|table| read_stiffness(reader, &table));
        if let (Some(_), Some(thickness)) = (&stated, &thickness) {
            let help = "give the fraction or the measured thickness: each follows from the other";
            reader.error(&thickness.place, "the fibre fraction is given twice", help);
        }
        let of_fibre = cloth.fibre_density.value.or(fibre.map(|f| f.density));
        let Some(fibre_density) = of_fibre else {
            if let Some(at) = needs_fibre {
                let message = format!("{} does not say what its fibre is", table.what);
                reader.error(&at.key, message, FIBRE_HELP);
            }
            return None;
        };
        let construction = cloth.weave.value?.construction();
        let constituents = Constituents {
            fibre: fibre_density,
            resin: self.resin.density,
        };
        let areal_weight = cloth.areal_weight.value?;
        let (fraction, from) = if let Some(thickness) = thickness {
            let found = fraction_from_thickness(areal_weight, fibre_density, thickness.value);
            (
                accepted(reader, &thickness, found)?,
                FractionFrom::Thickness,
            )
        } else {
            self.fraction(reader, stated.as_ref(), &constituents, construction)?
        };
        check_resin(reader, table, &constituents, fraction, construction);
        let stiffness = measured.map(|elastic| match construction {
            Construction::Woven | Construction::NonDirectional => LayerStiffness::Cloth(elastic),
            Construction::Unidirectional | Construction::Biaxial => LayerStiffness::Fibres(elastic),
        });
        let from_library = || {
            Some(LayerStiffness::Fibres(unidirectional(
                &fibre?,
                &self.resin,
                fraction,
            )))
        };
        Some(Lamina::new(
            areal_weight,
            constituents,
            fraction,
            from,
            stiffness.or_else(from_library),
        ))
    }

    /// The fraction of the cloth, else of the job, else what is usual for the process.
    fn fraction(
        &self,
        reader: &mut JobReader,
        of_cloth: Option<&Stated>,
        constituents: &Constituents,
        construction: Construction,
    ) -> Option<(VolumeFraction, FractionFrom)> {
        // A job's fraction is that of its cloths; mat holds far more resin.
        let of_job = self
            .fraction
            .as_ref()
            .filter(|_| construction != Construction::NonDirectional);
        match of_cloth.or(of_job) {
            Some(Stated::Volume(volume)) => Some((volume.value, FractionFrom::Volume)),
            Some(Stated::Weight(weight)) => {
                let found = constituents.by_volume(weight.value);
                Some((accepted(reader, weight, found)?, FractionFrom::Weight))
            }
            None => {
                let usual = self.process.usual_fraction(construction);
                let fraction =
                    VolumeFraction::new(usual).expect("the usual fractions are possible");
                Some((fraction, FractionFrom::Process(self.process)))
            }
        }
    }
}

/// How a cloth can say what its fibre is.
pub(super) const FIBRE_HELP: &str =
    "add `fibre = \"carbon\"` (or \"e-glass\", \"aramid\"), or `fibre_density`";

/// The fraction, or a complaint at the place of what it was worked out from.
fn accepted<T>(
    reader: &mut JobReader,
    from: &Located<T>,
    found: Result<VolumeFraction, FractionError>,
) -> Option<VolumeFraction> {
    let help = "by volume, more than 91 % cannot be packed; 30 to 55 % is usual for wet layup";
    found
        .map_err(|error| reader.error(&from.place, error.to_string(), help))
        .ok()
}

/// The fraction that is given one way or the other.
fn stated(
    reader: &mut JobReader,
    volume: KeyEntry<Option<f64>>,
    weight: KeyEntry<Option<f64>>,
) -> Option<Stated> {
    let (volume, weight) = (volume.located(), weight.located());
    if let (Some(_), Some(weight)) = (&volume, &weight) {
        let help = "give one of the two: each follows from the other";
        reader.error(&weight.place, "the fibre fraction is given twice", help);
    }
    if let Some(share) = volume {
        let value = accepted(reader, &share, VolumeFraction::new(share.value))?;
        let place = share.place;
        return Some(Stated::Volume(Located { value, place }));
    }
    let Located { value, place } = weight?;
    match WeightFraction::new(value) {
        Ok(value) => Some(Stated::Weight(Located { value, place })),
        Err(error) => {
            let help = "by weight, 40 to 65 % is usual for wet layup";
            reader.error(&place, error.to_string(), help);
            None
        }
    }
}

/// Queries what wet layup hardly reaches, and what drowns the cloth.
fn check_resin(
    reader: &mut JobReader,
    table: &JobTable<'_>,
    constituents: &Constituents,
    fraction: VolumeFraction,
    construction: Construction,
) {
    if fraction.get() > VolumeFraction::LIKELY_WET {
        let message = format!(
            "{} is {:.0} % fibre by volume when cured",
            table.what,
            fraction.get() * 100.0
        );
        let help = "wet layup under a bag reaches 40 to 55 %; the part would come out thicker";
        reader.warn(&table.header, message, help);
    }
    let weight = constituents.by_weight(fraction).get();
    let ratio = (1.0 - weight) / weight;
    if ratio > LIKELY_RESIN && construction != Construction::NonDirectional {
        let message = format!("{} takes {ratio:.1} times its weight in resin", table.what);
        let help = "0.6 to 1.2 times is usual; is the fraction by volume or by weight?";
        reader.warn(&table.header, message, help);
    }
}

/// Reads `[cloth.NAME.stiffness]`.
fn read_stiffness(reader: &mut JobReader, table: &JobTable<'_>) -> Option<Elastic> {
    let keys = StiffnessKeys::read(reader, Some(table));
    let elastic = Elastic {
        e1: keys.e1.value?,
        e2: keys.e2.value?,
        g12: keys.g12.value?,
        nu12: keys.nu12.value?,
    };
    if !elastic.is_possible() {
        let help =
            "`nu12` must be below the square root of e1/e2; are e1 and e2 the right way round?";
        reader.error(&table.header, "no material has such figures", help);
        return None;
    }
    Some(elastic)
}
