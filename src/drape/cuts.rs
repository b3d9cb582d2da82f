//! A cloth cut along lines: on the mould where darts are, in the flat cloth where the cut opens.

use glam::DVec3;

use super::DrapeError;
use super::lay::{LaidCloth, Task};
use super::relief::{FlatCut, flat_near, is_saddled};
use crate::mould::area::Area;
use crate::mould::slit::GapArea;

/// Cuts that open on the mould, and what of it lies in each.
#[derive(Clone, Default)]
pub(super) struct Reliefs {
    pub(super) cuts: Vec<FlatCut>,
    pub(super) gaps: Vec<GapArea>,
}

/// Lines on the mould along which darts are cut, and cuts of the flat cloth that open there.
#[derive(Clone, Debug, Default)]
pub(super) struct Cuts {
    pub(super) darts: Vec<Vec<DVec3>>,
    pub(super) reliefs: Vec<FlatCut>,
}

/// What comes of cutting.
pub(super) struct CutCloth {
    pub(super) area: Area,
    pub(super) laid: LaidCloth,
    pub(super) gaps: Vec<GapArea>,
}

/// Why a cloth cannot be cut so.
pub(super) enum NotCut {
    /// This relief does not open.
    Closed(usize),
    Nothing,
}

impl Cuts {
    /// The cloth of `task` on `area`, which is not cut, with these.
    pub(super) fn made(&self, task: &Task<'_>, area: &Area) -> Result<CutCloth, NotCut> {
        let task = Task {
            cuts: &self.reliefs,
            ..*task
        };
        let beyond = task.beyond();
        let lay = |area: &Area| task.lay(area, task.smoothing()).ok_or(NotCut::Nothing);
        let slit = area.slit(&self.darts, beyond).ok_or(NotCut::Nothing)?;
        let laid = lay(&slit)?;
        if self.reliefs.is_empty() {
            let gaps = Vec::new();
            return Ok(CutCloth {
                area: slit,
                laid,
                gaps,
            });
        }
        let mut lines = Vec::new();
        for (k, cut) in self.reliefs.iter().enumerate() {
            lines.push(task.gap(&laid.net, cut).ok_or(NotCut::Closed(k))?);
        }
        let opened = area.opened(&self.darts, &lines, beyond);
        let (area, gaps) = opened.ok_or(NotCut::Nothing)?;
        let laid = lay(&area)?;
        Ok(CutCloth { area, laid, gaps })
    }
}

/// What is cut along the lines of the job, and the cloth with it.
pub(super) struct ToldCuts {
    pub(super) cuts: Cuts,
    pub(super) made: Option<CutCloth>,
}

/// Cuts `area` along the lines told: darts, or reliefs where the lips of a dart would lie over one another.
pub(super) fn told_cuts(
    task: &Task<'_>,
    area: &Area,
    lines: Vec<Vec<DVec3>>,
) -> Result<ToldCuts, DrapeError> {
    let mut cuts = Cuts {
        darts: lines,
        reliefs: Vec::new(),
    };
    if cuts.darts.is_empty() {
        return Ok(ToldCuts { cuts, made: None });
    }
    let refused = |_: NotCut| DrapeError::NoDart;
    let slit = cuts.made(task, area).map_err(refused)?;
    let laps = slit.laid.laps();
    let is_flat = slit.laid.edges.is_ok();
    if laps.is_empty() && is_flat {
        let made = Some(slit);
        return Ok(ToldCuts { cuts, made });
    }
    let uncut = task.lay(area, task.smoothing());
    let uncut = uncut.ok_or(DrapeError::FarStart(f64::INFINITY))?.net;
    let lines = std::mem::take(&mut cuts.darts);
    for (k, line) in lines.into_iter().enumerate() {
        let [Some(tip), Some(mouth)] =
            [line.first(), line.last()].map(|at| at.and_then(|at| flat_near(&uncut, *at)))
        else {
            return Err(DrapeError::NoDart);
        };
        let relief = FlatCut::out(tip, mouth - tip, uncut.spacing);
        let opens = laps.contains(&k) || !is_flat && is_saddled(&uncut, mouth);
        match relief.filter(|_| opens) {
            Some(relief) => cuts.reliefs.push(relief),
            None => cuts.darts.push(line),
        }
    }
    let made = Some(cuts.made(task, area).map_err(refused)?);
    Ok(ToldCuts { cuts, made })
}
