//! What cures: the table `[laminate]` and the keys of a cloth that say what it is made of.

use super::Located;
use super::reader::Reader;
use super::table::Table;
use crate::cloth::Weave;
use crate::laminate::{
    Constituents, Construction, Elastic, Fibre, FractionError, FractionFrom, Lamina,
    LayerStiffness, Process, Resin, VolumeFraction, WeightFraction, fraction_from_thickness,
    unidirectional,
};
use crate::units::{ArealWeight, Density, Length, Modulus, read_percent};

/// Keys of `[cloth.NAME]` that say nothing without the density of the fibre.
const NEED_FIBRE: [&str; 4] = [
    "fibre_volume_fraction",
    "fibre_weight_fraction",
    "ply_thickness",
    "stiffness",
];

/// Densities in g/cm³ outside of which nothing that cures or reinforces lies.
const POSSIBLE_DENSITY: std::ops::RangeInclusive<f64> = 0.5..=10.0;

/// Resin more than this times the cloth by weight is more often a slip, mat apart.
const LIKELY_RESIN: f64 = 1.5;

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
    /// Reads `[laminate]` of the job; the defaults if there is none.
    pub(super) fn read(reader: &mut Reader, job: &Table<'_>) -> Self {
        let mut curing = Self {
            process: Process::VacuumBag,
            fraction: None,
            resin: Resin::default(),
        };
        let Some(table) = job.table(reader, "laminate", "`[laminate]`") else {
            return curing;
        };
        table.check_keys(reader);
        let processes = [Process::VacuumBag, Process::HandLayup].map(|p| (p.word(), p));
        if let Some(process) = table.choice(reader, "process", &processes) {
            curing.process = process.value;
        }
        curing.fraction = read_fraction(reader, &table);
        if let Some(density) = read_density(reader, &table, "resin_density") {
            curing.resin.density = density;
        }
        if let Some(modulus) = read_modulus(reader, &table, "resin_modulus") {
            curing.resin.modulus = modulus;
        }
        curing
    }

    /// What a ply of the cloth in `table` becomes; `None` if the job does not say what its fibre
    /// is, or after a complaint.
    pub(super) fn lamina(
        &self,
        reader: &mut Reader,
        table: &Table<'_>,
        weave: Option<Weave>,
        areal_weight: Option<ArealWeight>,
    ) -> Option<Lamina> {
        let fibres = Fibre::ALL.map(|fibre| (fibre.word, fibre));
        let fibre = table.choice(reader, "fibre", &fibres).map(|f| f.value);
        let density = read_density(reader, table, "fibre_density");
        let stated = read_fraction(reader, table);
        let thickness = table.quantity::<Length>(reader, "ply_thickness");
        let measured = read_stiffness(reader, table);
        if let (Some(_), Some(thickness)) = (&stated, &thickness) {
            let help = "give the fraction or the measured thickness: each follows from the other";
            reader.error(&thickness.place, "the fibre fraction is given twice", help);
        }
        let Some(fibre_density) = density.or(fibre.map(|f| f.density)) else {
            self.complain_of_no_fibre(reader, table);
            return None;
        };
        let construction = weave?.construction();
        let constituents = Constituents {
            fibre: fibre_density,
            resin: self.resin.density,
        };
        let areal_weight = areal_weight?;
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
        reader: &mut Reader,
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

    fn complain_of_no_fibre(&self, reader: &mut Reader, table: &Table<'_>) {
        let given = NEED_FIBRE.iter().find(|key| table.has(key));
        if let Some(place) = given.and_then(|key| table.key_place(reader, key)) {
            let message = format!("{} does not say what its fibre is", table.what);
            let help = "add `fibre = \"carbon\"` (or \"e-glass\", \"aramid\"), or `fibre_density`";
            reader.error(&place, message, help);
        }
    }
}

/// The fraction, or a complaint at the place of what it was worked out from.
fn accepted<T>(
    reader: &mut Reader,
    from: &Located<T>,
    found: Result<VolumeFraction, FractionError>,
) -> Option<VolumeFraction> {
    match found {
        Ok(fraction) => Some(fraction),
        Err(error) => {
            let help =
                "by volume, more than 91 % cannot be packed; 30 to 55 % is usual for wet layup";
            reader.error(&from.place, error.to_string(), help);
            None
        }
    }
}

fn read_fraction(reader: &mut Reader, table: &Table<'_>) -> Option<Stated> {
    let (by_volume, by_weight) = ("fibre_volume_fraction", "fibre_weight_fraction");
    let volume = table.read_with(reader, by_volume, read_percent);
    let weight = table.read_with(reader, by_weight, read_percent);
    if let (Some(_), Some(weight)) = (&volume, &weight) {
        let help = "give one of the two: each follows from the other";
        reader.error(&weight.place, "the fibre fraction is given twice", help);
    }
    if let Some(share) = volume {
        let fraction = accepted(reader, &share, VolumeFraction::new(share.value))?;
        return Some(Stated::Volume(Located {
            value: fraction,
            place: share.place,
        }));
    }
    let share = weight?;
    match WeightFraction::new(share.value) {
        Ok(value) => Some(Stated::Weight(Located {
            value,
            place: share.place,
        })),
        Err(error) => {
            let help = "by weight, 40 to 65 % is usual for wet layup";
            reader.error(&share.place, error.to_string(), help);
            None
        }
    }
}

/// Queries what wet layup hardly reaches, and what drowns the cloth.
fn check_resin(
    reader: &mut Reader,
    table: &Table<'_>,
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

fn read_density(reader: &mut Reader, table: &Table<'_>, key: &str) -> Option<Density> {
    let density = table.quantity::<Density>(reader, key)?;
    if POSSIBLE_DENSITY.contains(&density.value.to_g_per_cm3()) {
        return Some(density.value);
    }
    let help = format!(
        "write for example {}; is the unit right?",
        table.example(key)
    );
    reader.error(&density.place, format!("`{key}` is impossible"), &help);
    None
}

fn read_modulus(reader: &mut Reader, table: &Table<'_>, key: &str) -> Option<Modulus> {
    let modulus = table.quantity::<Modulus>(reader, key)?;
    if (1.0..=2e6).contains(&modulus.value.to_mpa()) {
        return Some(modulus.value);
    }
    let help = format!(
        "write for example {}; is the unit right?",
        table.example(key)
    );
    reader.error(&modulus.place, format!("`{key}` is impossible"), &help);
    None
}

/// Reads `[cloth.NAME.stiffness]`.
fn read_stiffness(reader: &mut Reader, cloth: &Table<'_>) -> Option<Elastic> {
    let table = cloth.table(reader, "stiffness", "`stiffness`")?;
    table.check_keys(reader);
    for key in ["e1", "e2", "g12", "nu12"] {
        table.require(reader, key);
    }
    let e1 = read_modulus(reader, &table, "e1");
    let e2 = read_modulus(reader, &table, "e2");
    let g12 = read_modulus(reader, &table, "g12");
    let nu12 = table.number(reader, "nu12");
    let elastic = Elastic {
        e1: e1?,
        e2: e2?,
        g12: g12?,
        nu12: nu12?.value,
    };
    if elastic.is_possible() {
        return Some(elastic);
    }
    let help = "`nu12` must be below the square root of e1/e2; are e1 and e2 the right way round?";
    reader.error(&table.header, "no material is like that", help);
    None
}
