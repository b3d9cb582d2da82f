//! A part's laminate schedule as the stack that cures.

use super::Part;
use crate::cloth::{Cloth, Faces};
use crate::geometry::Face;
use crate::laminate::{Construction, Facing, StackPly};
use crate::units::Angle;

/// A layer of a part, by its index among the part's plies or cores.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum StackLayer {
    /// A ply.
    Ply(usize),
    /// A core or an insert.
    Core(usize),
}

impl Part {
    /// Its plies and cores from the mould up.
    #[must_use]
    pub fn layers(&self) -> Vec<StackLayer> {
        let mut layers = Vec::new();
        for (idx, ply) in self.plies.iter().enumerate() {
            layers.push(StackLayer::Ply(idx));
            let on_it = self.cores.iter().enumerate();
            let on_it = on_it.filter(|(_, core)| core.on_ply == ply.n);
            layers.extend(on_it.map(|(core, _)| StackLayer::Core(core)));
        }
        layers
    }

    /// The layers as [`crate::laminate`] sees them, in the order of [`Part::layers`]; `cloths` are those
    /// of the job.
    #[must_use]
    pub fn stack(&self, cloths: &[Cloth]) -> Vec<StackPly> {
        let layers = self.layers().into_iter();
        layers
            .map(|layer| match layer {
                StackLayer::Ply(idx) => {
                    let ply = &self.plies[idx];
                    let cloth = &cloths[ply.cloth];
                    StackPly {
                        n: Some(ply.n),
                        cloth: ply.cloth,
                        construction: cloth.weave.construction(),
                        facing: match (cloth.weave.faces(), ply.face) {
                            (Faces::WarpAndWeft, Some(Face::Down)) => Facing::Down,
                            (Faces::WarpAndWeft, _) => Facing::Up,
                            _ => Facing::Alike,
                        },
                        warp_share: cloth.warp_share,
                        angle: self.angle_of(ply).from_zero(),
                        areal_weight: cloth.areal_weight,
                    }
                }
                StackLayer::Core(idx) => {
                    let core = &self.cores[idx];
                    let like = self.cores.iter().position(|other| other.is_like(core));
                    StackPly {
                        n: None,
                        cloth: cloths.len() + like.unwrap_or(idx),
                        construction: Construction::NonDirectional,
                        facing: Facing::Alike,
                        warp_share: 0.5,
                        angle: Angle::ZERO,
                        areal_weight: core.areal_weight,
                    }
                }
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::super::Job;
    use crate::laminate::{Asymmetry, balance, symmetry};

    fn job(layup: &str, weave: &str) -> Job {
        let text = format!(
            "[cloth.c]\nweave = \"{weave}\"\nareal_weight = \"200 gsm\"\nroll_width = \"1 m\"\n\
             [[part]]\nname = \"A\"\npattern = \"a.svg\"\ncloth = \"c\"\nlayup = \"{layup}\"\n"
        );
        let (job, _) = Job::read("job.toml", &text).expect("a good job");
        job
    }

    #[test]
    fn a_layup_with_s_is_symmetric_and_one_without_names_the_plies() {
        let good = job("[0/±45/90]s", "unidirectional");
        let stack = good.parts()[0].stack(good.cloths());
        assert_eq!((symmetry(&stack), balance(&stack)), (Ok(()), Ok(())));
        let bad = job("[0/45]2", "unidirectional");
        let stack = bad.parts()[0].stack(bad.cloths());
        assert_eq!(
            symmetry(&stack),
            Err(Asymmetry {
                ply: Some(1),
                mate: Some(4)
            })
        );
        assert_eq!(balance(&stack).map_err(|found| found.ply), Err(4));
    }

    /// The stack takes a biaxial apart as [`crate::cloth::Weave::fibres`] describes it.
    #[test]
    fn directions_agree_with_the_cloth() {
        for weave in ["plain", "satin", "unidirectional", "biaxial"] {
            let job = job("[30]", weave);
            let cloth = job.cloths()[0].weave;
            let part = &job.parts()[0];
            let fibres = cloth.fibres_of(part.angle_of(&part.plies[0]));
            let mut expected: Vec<f64> = fibres.map(|f| f.from_zero().to_degrees()).collect();
            let stack = job.parts()[0].stack(job.cloths());
            let directions = stack[0].directions();
            let mut found: Vec<f64> = directions.iter().map(|d| d.to_degrees()).collect();
            expected.sort_by(f64::total_cmp);
            found.sort_by(f64::total_cmp);
            assert_eq!(found, expected, "{weave}");
        }
    }
}
