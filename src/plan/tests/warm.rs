//! A job that is changed again and again: what is remembered of it changes nothing.

use rand_pcg::Pcg32;
use rand_pcg::rand_core::Rng;

use crate::inputs::{InputFile, Inputs};
use crate::job::Job;
use crate::memo;
use crate::nest::{Continue, Effort};
use crate::output::ProvenPlan;
use crate::plan::{Settings, build};
use crate::ply;

const DRAWING: &[u8] = br#"<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="0 0 400 300">
    <path id="skin" d="M20 20C150 -20 250 60 380 20V200C300 260 200 180 20 230ZM120 90H220V150H120Z"/>
    <path id="rib" d="M20 250H380V290H250L230 270H170L150 290H20Z"/></svg>"#;

/// What is typed into the job, one after the other.
#[derive(Clone, Copy)]
struct Typed {
    angles: [u32; 4],
    trim: u32,
    gap: u32,
    step: u32,
    sets: u32,
    flaw: u32,
}

impl Typed {
    fn job(&self) -> String {
        let Self {
            angles: [a, b, c, d],
            trim,
            gap,
            step,
            sets,
            flaw,
        } = self;
        format!(
            "[cutting]\ntrim = \"{trim} mm\"\ngap = \"{gap} mm\"\n\
            [cloth.twill]\nweave = \"twill\"\nareal_weight = \"200 g/m2\"\nfibre = \"carbon\"\nroll_width = \"1 m\"\n\
            price = \"20 EUR/m\"\nflaw = [{{ from = \"{flaw} mm\", length = \"20 mm\" }}]\n\
            [cloth.biax]\nweave = \"biaxial\"\nareal_weight = \"400 g/m2\"\nfibre = \"e-glass\"\nroll_width = \"1.27 m\"\n\
            [[part]]\nname = \"SKIN\"\npattern = \"a.svg\"\noutline = \"skin\"\nsets = {sets}\n\
            [[part.ply]]\ncloth = \"twill\"\nangle = {a}\n[[part.ply]]\ncloth = \"biax\"\nangle = {b}\nstep = \"-{step} mm\"\n\
            [[part]]\nname = \"RIB\"\npattern = \"a.svg\"\noutline = \"rib\"\nmirror = \"RIB-M\"\n\
            [[part.ply]]\ncloth = \"twill\"\nangle = {c}\n[[part.ply]]\ncloth = \"biax\"\nangle = {d}\n"
        )
    }

    /// With one thing changed.
    fn changed(mut self, random: &mut Pcg32) -> Self {
        let which = random.next_u32() % 9;
        let value = random.next_u32() % 7;
        match which {
            0..4 => self.angles[which as usize] = 15 * value,
            4 => self.trim = value,
            5 => self.gap = value,
            6 => self.step = value,
            7 => self.sets = 1 + value % 3,
            _ => self.flaw = 100 * value,
        }
        self
    }
}

fn planned(job: &str) -> String {
    let (job, _) = Job::read("job.toml", job).unwrap();
    let open = &mut |name: &str| Ok(vec![InputFile::new(name, DRAWING.to_vec())]);
    let (inputs, _) = Inputs::read(job, open).unwrap();
    let (pieces, _) = ply::pieces(&inputs).unwrap();
    // The first layout, as the page shows it after each change.
    let settings = Settings {
        effort: Effort::Seconds(0.0),
        ..Settings::default()
    };
    let plan = build(&pieces, &settings, &|_| Continue::Stop).unwrap();
    ProvenPlan::prove(plan).unwrap().plan_json().to_owned()
}

#[test]
fn random_changes_are_planned_alike_whatever_is_remembered() {
    let mut random = Pcg32::new(22, 1);
    let mut typed = Typed {
        angles: [0, 45, 0, 45],
        trim: 5,
        gap: 3,
        step: 2,
        sets: 1,
        flaw: 300,
    };
    for n in 0..30 {
        typed = typed.changed(&mut random);
        let job = typed.job();
        let warm = planned(&job);
        let cold = memo::cold(|| planned(&job));
        assert_eq!(warm, cold, "change {n}");
    }
}
