//! A part's laminate schedule as the stack that cures.

use super::Part;
use crate::cloth::{Cloth, Weave};
use crate::laminate::StackPly;

impl Part {
    /// The plies as [`crate::laminate`] sees them, first against the mould; `cloths` are those of
    /// the job.
    #[must_use]
    pub fn stack(&self, cloths: &[Cloth]) -> Vec<StackPly> {
        self.plies
            .iter()
            .map(|ply| StackPly {
                n: ply.n,
                cloth: ply.cloth,
                construction: cloths[ply.cloth].weave.construction(),
                has_faces: cloths[ply.cloth].weave == Weave::Satin,
                angle: self.angle_of(ply).from_zero(),
                areal_weight: cloths[ply.cloth].areal_weight,
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
        assert_eq!(symmetry(&stack), Err(Asymmetry { ply: 1, mate: 4 }));
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
