//! What can be told of a job before anything is laid out.

use std::sync::Arc;

use super::process::laminate::AnglesAsCut;
use super::{ClothUse, PartUse, Plan, Work, parts};
use crate::cloth::{Cloth, Purchase};
use crate::ply::Pieces;
use crate::units::{Area, Length};

/// Parts as they will be if every piece is cut as designed, and how much cloth goes into them.
#[derive(Clone, Debug)]
pub struct Foreseen {
    parts: Vec<PartUse>,
    cloths: Vec<ForeseenCloth>,
}

/// A cloth that pieces are cut from.
#[derive(Clone, Debug)]
pub struct ForeseenCloth {
    cloth: Cloth,
    cut_area: Area,
}

impl Foreseen {
    /// What `pieces` will become. Bags are left out.
    #[must_use]
    pub fn of(pieces: &Pieces) -> Self {
        let job = Arc::clone(pieces.job());
        let mut parts = parts::parts(pieces, &AnglesAsCut::of(&job, &[]));
        Work::before_bags(&job, pieces, &mut parts);
        let cut_from = |idx: usize| {
            let own = pieces.iter().filter(|piece| piece.cloth_idx() == idx);
            let areas = own.map(|piece| f64::from(piece.sets()) * piece.cut().area());
            areas.reduce(|a, b| a + b)
        };
        let cloths = job.cloths().iter().enumerate();
        let cloths = cloths.filter_map(|(idx, cloth)| {
            let cut_area = Area::mm2(cut_from(idx)?);
            let cloth = cloth.clone();
            Some(ForeseenCloth { cloth, cut_area })
        });
        let cloths = cloths.collect();
        Self { parts, cloths }
    }

    /// The parts, in the order of the job.
    #[must_use]
    pub fn parts(&self) -> &[PartUse] {
        &self.parts
    }

    /// The cloths, in the order of the job.
    #[must_use]
    pub fn cloths(&self) -> &[ForeseenCloth] {
        &self.cloths
    }
}

impl ForeseenCloth {
    /// The cloth as the job describes it.
    #[must_use]
    pub fn cloth(&self) -> &Cloth {
        &self.cloth
    }

    /// Σ cut area.
    #[must_use]
    pub fn cut_area(&self) -> Area {
        self.cut_area
    }

    /// What to buy of it if it is used as well as in `plan`; `None` if nothing is cut from it there.
    #[must_use]
    pub fn purchase_like(&self, plan: &Plan) -> Option<Purchase> {
        let is_same = |used: &&ClothUse| used.cloth.name == self.cloth.name;
        let used = plan.cloths().iter().find(is_same)?;
        let is_as_bought = |way: &Cloth| way.roll_width == used.cloth.roll_width;
        let way = self.cloth.ways_to_buy().find(is_as_bought);
        let cloth = way.as_ref().unwrap_or(&self.cloth);
        let along = self.cut_area.to_mm2() / used.utilisation / cloth.roll_width.to_mm();
        Some(Purchase::of(cloth, Length::mm(along)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::tests::plan_of;

    #[test]
    fn what_is_foreseen_comes_true() {
        let text = "[cloth.glass]\nweave = \"twill\"\nareal_weight = \"200 g/m2\"\nfibre = \"e-glass\"\n\
            roll_width = \"1 m\"\nprice = \"10 EUR/m\"\nsold_by = \"0.1 m\"\n\
            [resin]\nratio = \"100:30\"\npot_life = \"40 min\"\n\
            [[part]]\nname = \"P\"\npattern = \"p.svg\"\nsets = 2\ncloth = \"glass\"\nlayup = \"[0/45]s\"\n";
        let plan = plan_of(text, r#"<path d="M10 10H290V190H10Z"/>"#);
        let foreseen = Foreseen::of(plan.pieces());
        let [part] = foreseen.parts() else {
            panic!("one part");
        };
        let planned = &plan.parts()[0];
        assert!(part.mass().is_some());
        assert_eq!(part.mass(), planned.mass());
        assert_eq!(part.stack.laminate, planned.stack.laminate);
        let [glass] = foreseen.cloths() else {
            panic!("one cloth");
        };
        let areas = [glass.cut_area(), plan.cloths()[0].cut_area].map(Area::to_mm2);
        assert!((areas[0] - areas[1]).abs() < 1e-6 * areas[0], "{areas:?}");
        let about = glass.purchase_like(&plan).unwrap();
        assert_eq!(about.cost, plan.cloths()[0].purchase.cost);
        assert!((about.used - plan.cloths()[0].purchase.used).to_mm().abs() < 1e-6);
    }
}
