//! The parts, their plies and what those make.

use super::{degrees, grams, mm, mm2, mpa};
use crate::drape::{Dart, Drape, Relief};
use crate::geometry::Point;
use crate::job::{Core, JointKind};
use crate::json::record;
use crate::laminate::{InPlane, Lamina, LayerStiffness, Plate, Symmetric};
use crate::number::rounded;
use crate::plan::{
    CoreUse, Laminate, PartUse, PlaceOnMould, PlyAtPlace, PlyUse, StackAsCut, ThicknessMap,
    ThicknessRegion,
};
use crate::ply::gusset::letters;
use crate::units::Length;

record! {
    /// A part.
    pub struct PartRecord of (part: &PartUse) {
        /// Its name.
        name: String = part.name().to_owned(),
        /// How many are made.
        sets: u32 = part.sets,
        /// Dry cloth in one set, inside the net lines.
        cloth_mass_g: f64 = grams(part.cloth_mass()),
        /// Resin that stays in one set.
        resin_mass_g: Option<f64> = part.resin_mass().map(grams),
        /// Cores and inserts of one set, dry; left out where there are none.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        core_mass_g: Option<f64> = (!part.cores.is_empty()).then(|| grams(part.core_mass())),
        /// Gel coat that one set keeps, as it is put on; left out where there is none.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        gel_coat_mass_g: Option<f64> = part.coat.is_some().then(|| grams(part.coat_mass())),
        /// All of it together.
        mass_g: Option<f64> = part.mass().map(grams),
        /// Its laminate; where sets are not cut alike, that of the first of `as_cut`.
        #[serde(flatten)]
        stack: StackRecord = StackRecord::of(&part.stack),
        /// The different stacks, where sets are not cut alike.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        as_cut: Vec<StackAsCutRecord> = (std::iter::once(&part.stack).chain(&part.other_stacks))
            .filter(|_| !part.other_stacks.is_empty())
            .map(StackAsCutRecord::of)
            .collect(),
        /// Thickness by region, where that is known.
        regions: Option<RegionsRecord> = part.thickness.as_ref().map(RegionsRecord::of),
        /// Its plies, first against the mould.
        plies: Vec<PlyRecord> =
            part.plies.iter().map(|ply| PlyRecord::of(ply, ply.lamina())).collect(),
        /// How its plies lie on the mould, by direction; left out for a part that is drawn flat.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        drapes: Vec<DrapeRecord> = part.drapes().into_iter().map(DrapeRecord::of).collect(),
        /// What it is at some places of its mould; left out for a part that is drawn flat.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        places: Vec<PlaceRecord> = part.places().iter().map(PlaceRecord::of).collect(),
        /// Its cores and inserts; left out where there are none.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        cores: Vec<CoreRecord> = part.cores.iter().map(|of| CoreRecord::of(of, of.core())).collect(),
    }

    /// How cloth in one direction lies on the mould.
    pub struct DrapeRecord of (drape: &Drape) {
        /// Its warp, from the part's 0° at the start.
        angle_deg: f64 = rounded(drape.angle(), 6),
        /// Where it is put down first.
        start_mm: [f64; 3] = drape.start().map(|at| rounded(at, 3)),
        /// Largest shear as it is laid.
        max_shear_deg: f64 = rounded(drape.shear().degrees, 3),
        /// Where that is, on the mould.
        max_shear_at_mm: [f64; 3] = drape.shear().at.map(|at| rounded(at, 3)),
        /// Largest shear if it is laid straight from the start.
        max_shear_straight_deg: f64 = rounded(drape.straight().degrees, 3),
        /// Largest shear if it is smoothed out evenly.
        max_shear_evened_deg: f64 = rounded(drape.evened().degrees, 3),
        /// Area of the part on the mould.
        mould_area_mm2: f64 = rounded(drape.mould_area(), 3),
        /// Area of its flat outline.
        flat_area_mm2: f64 = rounded(drape.outline().area(), 3),
        /// The same by another way: the area of the mould, each bit of it over the cosine of its shear; null for a mat,
        /// which is stretched.
        area_by_shear_mm2: Option<f64> = drape.area_by_shear().map(|area| rounded(area, 3)),
        /// By which share of their length yarns lie longer or shorter on the mould than flat, at most.
        yarns_off: f64 = rounded(drape.yarns_off(), 6),
        /// Between the crossings of the net by which it was computed.
        net_mm: f64 = rounded(drape.spacing(), 3),
        /// The darts that are cut into it.
        darts: Vec<DartRecord> = drape.darts().iter().map(DartRecord::of).collect(),
        /// The cuts that open on the mould; left out where there are none.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        reliefs: Vec<ReliefRecord> = (drape.reliefs().iter().zip(letters()))
            .map(|(relief, letter)| ReliefRecord::of(relief, letter))
            .collect(),
    }

    /// A place on a mould.
    pub struct PlaceRecord of (place: &PlaceOnMould) {
        /// Where, in the axes of the mould.
        at_mm: [f64; 3] = place.at.map(|at| rounded(at, 3)),
        /// Cured thickness there.
        thickness_mm: Option<f64> = place.thickness.map(|t| rounded(t.to_mm(), 6)),
        /// Dry cloth of all plies by area of the mould, g/m².
        areal_weight_g_m2: f64 = rounded(place.areal_weight.to_g_per_m2(), 3),
        /// What the plies as laid act as in their plane.
        #[serde(flatten)]
        in_plane: InPlaneRecord = InPlaneRecord::of(place.in_plane.as_ref()),
        /// The plies there.
        plies: Vec<PlyAtPlaceRecord> = place.plies.iter().map(PlyAtPlaceRecord::of).collect(),
    }

    /// How a ply lies at a place on a mould; angles from the part's 0° as it comes there straight over the mould.
    pub struct PlyAtPlaceRecord of (ply: &PlyAtPlace) {
        /// Its number.
        n: u32 = ply.n,
        /// Direction of its warp.
        warp_deg: f64 = rounded(ply.directions[0].to_degrees(), 3),
        /// Direction of its weft.
        weft_deg: f64 = rounded(ply.directions[1].to_degrees(), 3),
        /// Cured thickness.
        thickness_mm: Option<f64> = ply.thickness.map(|t| rounded(t.to_mm(), 6)),
        /// Dry cloth by area of the mould, g/m².
        areal_weight_g_m2: f64 = rounded(ply.areal_weight.to_g_per_m2(), 3),
    }

    /// How a ply of its own height lies on a mould.
    pub struct LaidPlyRecord of (drape: &Drape) {
        /// How thick the plies beneath are counted.
        on_plies_mm: f64 = rounded(drape.under(), 3),
        /// Area of the surface that it covers.
        mould_area_mm2: f64 = rounded(drape.mould_area(), 3),
        /// Area of its flat outline.
        flat_area_mm2: f64 = rounded(drape.outline().area(), 3),
        /// Largest shear as it is laid.
        max_shear_deg: f64 = rounded(drape.shear().degrees, 3),
    }

    /// A dart: a V cut out of a cloth, whose lips meet on the mould.
    pub struct DartRecord of (dart: &Dart) {
        /// Its inner end on the mould.
        tip_mm: [f64; 3] = dart.tip.map(|at| rounded(at, 3)),
        /// Where it leaves the part there.
        mouth_mm: [f64; 3] = dart.mouth.map(|at| rounded(at, 3)),
        /// The length of its line there.
        length_mm: f64 = rounded(dart.length, 3),
        /// Its tip on the flat cloth: along the part's 0° at the start and across it, from the start.
        flat_tip_mm: [f64; 2] = flat_point(dart.lips[0].last()),
        /// The ends of its two lips there.
        flat_mouth_mm: [[f64; 2]; 2] = [0, 1].map(|k| flat_point(dart.lips[k].first())),
        /// The lengths of its two lips on the flat cloth.
        lips_mm: [f64; 2] = dart.lip_lengths.map(|length| rounded(length, 3)),
    }

    /// A cut that opens on the mould to a V, and the gusset that is let in there.
    pub struct ReliefRecord of (relief: &Relief, letter: char) {
        /// The cut; flat its lips lie side by side.
        cut: DartRecord = DartRecord::of(&relief.cut),
        /// The letter of the gusset in the ids of its pieces.
        letter: String = letter.to_string(),
        /// How wide the cut opens on the mould where it leaves the part.
        opens_mm: f64 = rounded(relief.gusset.opens, 3),
        /// How far the gusset laps onto the cloth on both sides and past the tip, on the mould.
        lap_mm: f64 = rounded(relief.gusset.lap, 3),
        /// What of the mould it covers alone.
        mould_area_mm2: f64 = rounded(relief.gusset.mould_area, 3),
        /// As much of it, flat.
        flat_area_mm2: f64 = rounded(relief.gusset.bare.area(), 3),
        /// Largest shear of that.
        max_shear_deg: f64 = rounded(relief.gusset.shear.degrees, 3),
    }

    /// A core or an insert.
    pub struct CoreRecord of (of: &CoreUse, core: &Core) {
        /// Its name.
        name: String = core.name.clone(),
        /// Number of the ply that it is laid on.
        on_ply: u32 = core.on_ply,
        /// Its thickness.
        thickness_mm: f64 = mm(core.thickness),
        /// Its area.
        area_mm2: f64 = mm2(of.area()),
        /// Its mass by area, g/m².
        areal_weight_g_m2: f64 = rounded(core.areal_weight.to_g_per_m2(), 3),
        /// Its mass, dry.
        mass_g: f64 = grams(of.mass()),
        /// Resin that its two faces take up.
        resin_mass_g: f64 = grams(of.resin_mass()),
        /// Modulus in its plane, MPa, if the job says.
        e_mpa: Option<f64> = core.elastic.map(|elastic| mpa(elastic.e1)),
        /// Shear modulus, MPa, if the job says.
        g_mpa: Option<f64> = core.elastic.map(|elastic| mpa(elastic.g12)),
    }

    /// All plies of a part, one upon the other.
    pub struct StackRecord of (stack: &StackAsCut) {
        /// As where all of them lie.
        #[serde(flatten)]
        laminate: LaminateRecord = LaminateRecord::of(&stack.laminate),
        /// Those that cover the whole part, where there are others.
        full_plies: Option<FullPliesRecord> = stack.full_plies.as_ref().map(FullPliesRecord::of),
    }

    /// The plies that cover a whole part.
    pub struct FullPliesRecord of (full: &Laminate) {
        /// Their numbers, from the mould up.
        plies: Vec<u32> = full.plies.clone(),
        /// What they make.
        #[serde(flatten)]
        laminate: LaminateRecord = LaminateRecord::of(full),
    }

    /// A stack, and the sets that are cut so.
    pub struct StackAsCutRecord of (stack: &StackAsCut) {
        /// Numbers of the sets.
        sets: Vec<u32> = stack.sets.clone(),
        /// Angles of the plies as cut; of a biaxial that of the layer against the mould.
        plies_deg: Vec<f64> = stack.angles.iter().map(|angle| degrees(angle.from_zero())).collect(),
        /// What they make.
        #[serde(flatten)]
        stack: StackRecord = StackRecord::of(stack),
    }

    /// What is known of a laminate.
    pub struct LaminateRecord of (laminate: &Laminate) {
        /// Cured thickness.
        thickness_mm: Option<f64> = laminate.thickness.map(mm),
        /// Whether it mirrors itself about its middle.
        symmetric: bool = laminate.symmetry.is_ok(),
        /// Whether fibre at every angle has its opposite.
        balanced: bool = laminate.balance.is_ok(),
        /// What it acts as in its plane.
        #[serde(flatten)]
        in_plane: InPlaneRecord = InPlaneRecord::of(laminate.in_plane.as_ref()),
        /// Its stiffness matrices.
        stiffness: Option<StiffnessRecord> = laminate.plate.as_ref().map(StiffnessRecord::of),
    }

    /// Engineering constants of a laminate in its plane, along and across the part's 0°.
    pub struct InPlaneRecord of (known: Option<&InPlane>) {
        /// Modulus along 0°, MPa.
        ex_mpa: Option<f64> = known.map(|sheet| mpa(sheet.ex)),
        /// Modulus across, MPa.
        ey_mpa: Option<f64> = known.map(|sheet| mpa(sheet.ey)),
        /// Shear modulus, MPa.
        gxy_mpa: Option<f64> = known.map(|sheet| mpa(sheet.gxy)),
        /// Poisson's ratio.
        nu_xy: Option<f64> = known.map(|sheet| rounded(sheet.nu_xy, 6)),
    }

    /// Stiffness matrices of a laminate, six entries each.
    pub struct StiffnessRecord of (plate: &Plate) {
        /// Which entries: `11`, `12`, `16`, `22`, `26`, `66`.
        order: [String; 6] = ["11", "12", "16", "22", "26", "66"].map(str::to_owned),
        /// In the plane, N/mm.
        a_n_per_mm: [f64; 6] = six(&plate.a),
        /// Coupling, N.
        b_n: [f64; 6] = six(&plate.b),
        /// Bending, N·mm.
        d_n_mm: [f64; 6] = six(&plate.d),
    }

    /// A ply.
    pub struct PlyRecord of (ply: &PlyUse, lamina: Option<&Lamina>) {
        /// Its number, from 1.
        n: u32 = ply.n(),
        /// Name of its cloth.
        cloth: String = ply.cloth().name.clone(),
        /// Designed angle, seen from the bag side.
        angle_deg: f64 = degrees(ply.angle().from_zero()),
        /// How much its net line was grown or (negative) shrunk.
        step_mm: f64 = mm(ply.step()),
        /// Net area, laps counted once.
        area_mm2: f64 = mm2(ply.net_area()),
        /// Cut area of all its pieces.
        cut_area_mm2: f64 = mm2(ply.cut_area()),
        /// Areal weight in g/m².
        areal_weight_g_m2: f64 = rounded(ply.areal_weight().to_g_per_m2(), 3),
        /// Share of a woven cloth's fibre in the warp, where it is not half.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        warp_share: Option<f64> =
            ply.cloth().is_uneven().then(|| rounded(ply.cloth().warp_share, 6)),
        /// Density of the fibre in g/cm³.
        fibre_density_g_cm3: Option<f64> =
            lamina.map(|l| rounded(l.constituents.fibre.to_g_per_cm3(), 6)),
        /// Density of the cured resin in g/cm³.
        resin_density_g_cm3: Option<f64> =
            lamina.map(|l| rounded(l.constituents.resin.to_g_per_cm3(), 6)),
        /// Share of fibre by volume.
        fibre_volume_fraction: Option<f64> = lamina.map(|l| rounded(l.fraction.get(), 6)),
        /// Share of fibre by weight.
        fibre_weight_fraction: Option<f64> =
            lamina.map(|l| rounded(l.constituents.by_weight(l.fraction).get(), 6)),
        /// Cured thickness.
        thickness_mm: Option<f64> = lamina.map(|l| rounded(l.thickness.to_mm(), 6)),
        /// Dry cloth inside the net line, laps counted twice.
        cloth_mass_g: f64 = grams(ply.cloth_mass()),
        /// Resin that stays in it.
        resin_mass_g: Option<f64> = ply.resin_mass().map(grams),
        /// Its elastic constants.
        elastic: Option<ElasticRecord> = lamina.and_then(|l| l.stiffness).map(ElasticRecord::of),
        /// How it lies on the mould; left out for one that is drawn flat.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        on_mould: Option<LaidPlyRecord> = ply.drape().map(LaidPlyRecord::of),
        /// Whether it will be seen.
        appearance: bool = ply.appearance(),
        /// Whether it lies on the bias.
        on_bias: bool = ply.on_bias(),
        /// How it is divided, if it is.
        #[serde(flatten)]
        joined: Option<PlyJointRecord> =
            ply.joint().map(|(kind, lap)| PlyJointRecord::of(ply, kind, lap)),
    }

    /// How a ply is divided.
    pub struct PlyJointRecord of (ply: &PlyUse, kind: JointKind, lap: Length) {
        /// Letters of its pieces.
        pieces: Vec<String> = ply.letters().iter().map(char::to_string).collect(),
        /// `lap` or `butt`.
        joint: String = kind.word().to_owned(),
        /// How far they lap.
        lap_mm: f64 = mm(lap),
        /// Net area that lies twice.
        lap_area_mm2: f64 = mm2(ply.lap_area()),
    }

    /// Elastic constants of a layer.
    pub struct ElasticRecord of (stiffness: LayerStiffness) {
        /// What they are of.
        of: String = match stiffness {
            LayerStiffness::Fibres(_) => "a layer with all fibres one way",
            LayerStiffness::Cloth(_) => "the cured cloth",
        }
        .to_owned(),
        /// Along the fibres (the warp), MPa.
        e1_mpa: f64 = mpa(stiffness.elastic().e1),
        /// Across, MPa.
        e2_mpa: f64 = mpa(stiffness.elastic().e2),
        /// In shear, MPa.
        g12_mpa: f64 = mpa(stiffness.elastic().g12),
        /// Poisson's ratio.
        nu12: f64 = rounded(stiffness.elastic().nu12, 6),
    }

    /// A part by which plies lie where.
    pub struct RegionsRecord of (map: &ThicknessMap) {
        /// The regions.
        regions: Vec<RegionRecord> = map.regions.iter().map(RegionRecord::of).collect(),
        /// Numbers of plies of which the drawing does not show where they lie.
        apart: Vec<u32> = map.apart.clone(),
    }

    /// Where the same plies lie.
    pub struct RegionRecord of (region: &ThicknessRegion) {
        /// Their numbers, from the mould up.
        plies: Vec<u32> = region.plies.clone(),
        /// Indices of the cores between them in `cores`; left out where there are none.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        cores: Vec<usize> = region.cores.clone(),
        /// Cured thickness.
        thickness_mm: Option<f64> = region.thickness.map(|t| rounded(t.to_mm(), 6)),
        /// Area of the region.
        area_mm2: f64 = mm2(region.area),
        /// What they act as in their plane.
        #[serde(flatten)]
        in_plane: InPlaneRecord = InPlaneRecord::of(region.in_plane.as_ref()),
    }
}

fn flat_point(at: Option<&Point>) -> [f64; 2] {
    let at = at.copied().unwrap_or_default();
    [at.x, at.y].map(|v| rounded(v, 3))
}

fn six(matrix: &Symmetric) -> [f64; 6] {
    matrix.to_array().map(|entry| rounded(entry, 3))
}
