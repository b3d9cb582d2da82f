//! The outlines of cores and inserts.

use super::select::{self, WantedOutlines};
use crate::diag::Diagnostic;
use crate::geometry::{Join, Outline, offset};
use crate::job::{Core, OutlineChoice, Part};
use crate::pattern::Pattern;

/// A core of a part with its outline.
#[derive(Clone, Debug)]
pub struct CoreShape {
    pub(super) part: usize,
    pub(super) core: usize,
    pub(super) outline: Outline,
}

impl CoreShape {
    /// Index into [`Job::parts`](crate::job::Job::parts).
    #[must_use]
    pub const fn part_idx(&self) -> usize {
        self.part
    }

    /// Index into the part's cores.
    #[must_use]
    pub const fn core_idx(&self) -> usize {
        self.core
    }

    /// Its edge, stepped; the frame of the pieces: the drawing's axes, seen from the bag side, mm.
    #[must_use]
    pub const fn outline(&self) -> &Outline {
        &self.outline
    }
}

/// The edge of `core`, which is drawn in `pattern`; on a mould that of its part, `edge`, unless it names another.
///
/// # Errors
/// An outline that is not there, or that vanishes under its step.
pub(super) fn outline(
    part: &Part,
    core: &Core,
    pattern: &Pattern,
    edge: Option<&Outline>,
) -> Result<Outline, Diagnostic> {
    let name = format!("core `{}` of part `{}`", core.name, part.name);
    let drawn = match (&core.outline, edge) {
        (OutlineChoice::Only, Some(edge)) => edge,
        _ => {
            let wanted = WantedOutlines {
                choice: &core.outline,
                ply: None,
                name: &name,
                place: &core.place,
            };
            &select::outline(part, &wanted, pattern)?.outline
        }
    };
    let drawn = part.view.turn().outline(drawn);
    let stepped = offset(&drawn, core.step.to_mm(), Join::Round);
    stepped.map_err(|error| {
        Diagnostic::error(format!("nothing is left of {name} under its step: {error}"))
            .at(core.place.clone())
            .help("make its `step` smaller")
    })
}
