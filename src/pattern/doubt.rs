//! A word where the size of what is drawn makes its unit doubtful.

use super::shape::RawDrawing;
use super::{Format, PatternOutline, UnitFound};
use crate::diag::{Diagnostic, Diagnostics};

/// Parts larger than this (mm) are worth a second look at the unit.
const LARGE_MM: f64 = 2000.0;

/// Larger than this (mm) is beyond a small part, whatever unit the drawing states.
const HUGE_MM: f64 = 10_000.0;

/// Drawings in which nothing is larger than this (mm) are worth a second look at the unit.
const SMALL_MM: f64 = 10.0;

/// A word on outlines whose size makes the unit doubtful.
pub(super) fn doubt_size(
    drawing: &RawDrawing,
    outlines: &[PatternOutline],
    problems: &mut Diagnostics,
) {
    let longer = |o: &PatternOutline| o.outline.bounds().long_side();
    let Some(largest) = outlines
        .iter()
        .max_by(|a, b| longer(a).total_cmp(&longer(b)))
    else {
        return;
    };
    let size = longer(largest);
    if (SMALL_MM..LARGE_MM).contains(&size) {
        return;
    }
    let bounds = largest.outline.bounds();
    let in_metres = |mm: f64| format!("{:.2}", mm / 1000.0);
    let message = if size < SMALL_MM {
        format!(
            "the largest outline is only {:.2} × {:.2} mm",
            bounds.width(),
            bounds.height()
        )
    } else {
        format!(
            "an outline is {} × {} m ({:.0} × {:.0} in)",
            in_metres(bounds.width()),
            in_metres(bounds.height()),
            bounds.width() / 25.4,
            bounds.height() / 25.4
        )
    };
    let other = match drawing.unit {
        UnitFound::Pixels(_) => "`dpi`",
        UnitFound::Assumed if drawing.format == Format::Svg => "`dpi` or `units`",
        _ => "`units`",
    };
    let help = format!(
        "is the unit right? If not, state {other} in the job; it goes before what the file says"
    );
    // A stated unit is more likely right, and large parts are made; tiny and huge ones are not.
    let is_doubtful = drawing.unit == UnitFound::Assumed || !(SMALL_MM..HUGE_MM).contains(&size);
    let problem = if is_doubtful {
        Diagnostic::warning(message)
    } else {
        Diagnostic::note(message)
    };
    problems.push(problem.at(largest.place.clone()).help(help));
}
