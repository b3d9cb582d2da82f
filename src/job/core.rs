//! Cores and inserts: layers of a part that are not cut from cloth, `[[part.core]]`.

use super::keys::{Amount, Checked, Count, Quantity, SomeText, keys};
use super::part::{OutlineChoice, SHIFT, STEP, TOOL};
use super::reader::JobReader;
use super::rules::{LengthRule, MAX_PLIES};
use super::supplies::{PACK_PRICE, Packs};
use super::table::JobTable;
use super::wording::shown;
use crate::diag::Place;
use crate::laminate::{Elastic, Layer};
use crate::units::{Area, ArealWeight, Density, Length, Modulus, Price};

/// A core or an insert: foam, balsa, plywood, a metal plate. It is cut from a sheet, not from cloth.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Core {
    /// What it is called on the sheets.
    pub name: String,
    /// Number of the ply that it is laid on.
    pub on_ply: u32,
    /// Which outline it takes.
    pub outline: OutlineChoice,
    /// Outline grown (positive) or shrunk by this.
    pub step: Length,
    /// As for a ply.
    pub shift: Option<[Length; 2]>,
    /// Its thickness, the same before and after cure.
    pub thickness: Length,
    /// Its mass by area.
    pub areal_weight: ArealWeight,
    /// Resin that each of its two faces takes up.
    pub face_resin: ArealWeight,
    /// Its constants, alike in all directions of its plane; `None` if the job does not say.
    pub elastic: Option<Elastic>,
    /// The sheets it is cut from, by area; `None` if the job does not say.
    pub supply: Option<Packs<Area>>,
    /// Where it is written.
    pub place: Place,
}

impl Core {
    /// Whether the other is of the same material and thickness.
    #[must_use]
    pub fn is_like(&self, other: &Self) -> bool {
        (self.thickness, self.areal_weight, self.elastic)
            == (other.thickness, other.areal_weight, other.elastic)
    }

    /// The layer that it is in a laminate. Without constants it bears nothing itself, but holds what lies
    /// on either side of it apart.
    #[must_use]
    pub fn layer(&self) -> Layer {
        let stiffness = self.elastic.as_ref().map(Elastic::reduced);
        Layer {
            thickness: self.thickness,
            stiffness: stiffness.unwrap_or_default(),
        }
    }
}

const THICKNESS: LengthRule = LengthRule::positive("thickness of the core")
    .help("write how thick the sheet is, for example \"10 mm\"")
    .likely(1.0..=100.0)
    .most(1_000.0);

/// A density of a core: from foam to metal.
const DENSITY: Checked<Quantity, Density> = Checked {
    kind: Quantity,
    check: |reader, _, density| {
        let help = "write for example \"80 kg/m3\" for a foam, \"150 kg/m3\" for balsa";
        let is_possible = (0.01..=25.0).contains(&density.value.to_g_per_cm3());
        reader.insist(
            is_possible,
            &density.place,
            "no core is of that density",
            help,
        )
    },
};

// Resin by face is common practice, no source: open cells of a foam, end grain of balsa and the film that
// bonds the skin together; sheets of core makers give 0.1 to 0.5 kg/m2 by cell size (from memory).
keys! {
    /// What `[[part.core]]` says.
    CoreKeys: "a core", "[[part.core]]", "A core or an insert: foam, balsa, plywood, a metal plate. Not cut from cloth; it counts in thickness, mass and stiffness, and is a step on the layup sheet.";
    name: String = SomeText, Is("core"), "foam", "what the sheets and the shopping list call it";
    on_ply: u32 = Count { most: MAX_PLIES }, Required, "2", "number of the ply that it is laid on";
    outline: String = SomeText, Means("the part's"), "core", "layer, id or inner label of its outline";
    step: Length = STEP, Is("0 mm"), "-20 mm", "how much larger (smaller, if negative) its outline is made";
    shift: [Length; 2] = SHIFT, Means("drawn in place"), "[\"-250 mm\", \"60 mm\"]", "how far (x, y) from where it is drawn to where it lies on the part";
    thickness: Length = THICKNESS, Required, "10 mm", "of the sheet";
    density: Density = DENSITY, Means("`areal_weight`"), "80 kg/m3", "of the sheet, dry";
    areal_weight: ArealWeight = Amount::AboveZero(ArealWeight::to_g_per_m2), Means("`density`"), "800 g/m2", "its mass by area, in place of the density";
    face_resin: ArealWeight = Amount::OnHand(ArealWeight::to_g_per_m2), Is("200 g/m2"), "300 g/m2", "resin that each of its two faces takes up (the default is common practice; measure an offcut)";
    sheet: [Length; 2] = TOOL, Means("not in the costs"), "[\"1200 mm\", \"800 mm\"]", "length and width of a sheet as it is sold; sheets are counted by area, so add for offcuts";
    price: Price = PACK_PRICE, Means("not in the costs"), "28.00 USD", "of one sheet; needs `sheet`";
    modulus: Modulus = Quantity, Means("its stiffness is left out, its thickness counts"), "75 MPa", "in its plane; needs `shear_modulus`";
    shear_modulus: Modulus = Quantity, Means("its stiffness is left out, its thickness counts"), "28 MPa", "in its plane; needs `modulus`";
}

/// Reads a `[[part.core]]`; `None` after a complaint. `of_part` is the outline of plies that name none.
pub(super) fn read_core(
    reader: &mut JobReader,
    table: &JobTable<'_>,
    of_part: &OutlineChoice,
) -> Option<Core> {
    let keys = CoreKeys::read(reader, Some(table));
    let elastic = match (keys.modulus.value, keys.shear_modulus.value) {
        (Some(e), Some(g)) => elastic(reader, table, e, g),
        (None, None) => None,
        _ => {
            let help = "give `modulus` and `shear_modulus`, or neither";
            reader.error(&table.header, "a core has one modulus of two", help);
            None
        }
    };
    let thickness = keys.thickness.value?;
    let from_density = keys
        .density
        .value
        .map(|density| ArealWeight::of_layer(thickness, density));
    let areal_weight = match (from_density, keys.areal_weight.value) {
        (Some(one), None) | (None, Some(one)) => one,
        (both, _) => {
            // A value that was complained about is no missing one.
            if !reader.has_errors() {
                let how = if both.is_some() { "twice" } else { "nowhere" };
                let message = format!(
                    "the mass of core {} is given {how}",
                    shown(&keys.name.value)
                );
                let help = "give its `density` or its `areal_weight`";
                reader.error(&table.header, message, help);
            }
            return None;
        }
    };
    if let (None, Some(at)) = (&keys.sheet.at, &keys.price.at) {
        let help = format!(
            "add {}: the price is that of one sheet",
            keys.sheet.example()
        );
        reader.error(&at.key, "`sheet` is missing", &help);
    }
    let price = keys.price.value;
    let supply = keys.sheet.value.map(|[length, width]| Packs {
        pack: length * width,
        price,
        on_hand: Area::ZERO,
    });
    let outline = keys.outline.located().map(OutlineChoice::Named);
    Some(Core {
        supply,
        name: keys.name.value,
        on_ply: keys.on_ply.value?,
        outline: outline.unwrap_or_else(|| of_part.clone()),
        step: keys.step.value,
        shift: keys.shift.value,
        thickness,
        areal_weight,
        face_resin: keys.face_resin.value,
        elastic,
        place: table.header.clone(),
    })
}

/// The constants of a sheet alike in all directions: ν = E / 2G − 1.
fn elastic(
    reader: &mut JobReader,
    table: &JobTable<'_>,
    e: Modulus,
    g: Modulus,
) -> Option<Elastic> {
    let nu12 = e.to_mpa() / (2.0 * g.to_mpa()) - 1.0;
    // Moduli of data sheets are of different tests, so ν may well come out above 0.5.
    let help = "a sheet alike in all directions has a shear modulus of a quarter to half its modulus; are the \
                two exchanged? For honeycomb and balsa leave both out";
    let is_sheet = g.to_mpa() > 0.0 && (0.0..1.0).contains(&nu12);
    let message = "no core is like that in its plane";
    let stands = reader.insist(is_sheet, &table.header, message, help);
    stands.then_some(Elastic {
        e1: e,
        e2: e,
        g12: g,
        nu12,
    })
}
