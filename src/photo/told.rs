//! What is to be known of an outline that was read of pictures.

use super::seen::SeenPicture;
use super::shape::TOLERANCE;
use super::{PhotoSettings, Shapes};
use crate::diag::{Diagnostic, counted};
use crate::units::Length;

/// An edge that may be off by more (mm) is told of by its place.
const DOUBTFUL: f64 = 0.4;

pub(super) fn notes(
    pictures: &[SeenPicture],
    error: f64,
    shapes: &Shapes,
    settings: &PhotoSettings,
) -> Vec<Diagnostic> {
    let scan = pictures.iter().find_map(|seen| seen.dpi);
    let mut message = format!(
        "edges to about {} {} (figures from rendered pictures: check your own {} with a steel rule)",
        Length::mm(error).in_mm_and_inches(),
        match scan {
            Some(dpi) => format!("if the scan has {dpi:.0} pixels to the inch"),
            None => by_what(pictures),
        },
        if scan.is_some() { "scanner" } else { "camera" },
    );
    message.push_str(&match settings.thickness {
        Some(thickness) => format!(
            "; the template is {} thick and lies flat",
            thickness.in_mm_and_inches()
        ),
        None => "; the template is taken to be thin and to lie flat".to_owned(),
    });
    if scan.is_none() {
        message.push_str(&format!(
            " (where an edge is up it is seen off by up to {:.1} of its height, which one picture in soft light does not show)",
            shapes.by_height
        ));
    }
    let mut all = vec![Diagnostic::note(message), Diagnostic::note(shapes.told())];
    if error > DOUBTFUL && shapes.error > 0.7 * error {
        let message = format!(
            "the edge is least sure at {:.0}, {:.0} mm, where it may be off by {}: what is seen there is short, noisy, or a corner that may be \
             sharp or round",
            shapes.worst.x,
            shapes.worst.y,
            Length::mm(error).in_mm_and_inches()
        );
        let help = "hold a rule against it there; a nearer or larger picture, or the template shifted on the board so that no mark is \
                    beside that place, shows it better";
        all.push(Diagnostic::warning(message).help(help));
    }
    if settings.measured == [None, None] && scan.is_none() {
        let message =
            "the board is taken to be printed true; printers are off by up to 5 mm in a metre";
        let help = "measure the two long lines of the board, and give their lengths as `board_width` and `board_height`";
        all.push(Diagnostic::warning(message).help(help));
    }
    if scan.is_some() && settings.scan_dpi.is_none() {
        let message = "no board is seen, and the file states its resolution: it is taken for a scanner's image";
        let help =
            "hold a rule against an edge; give the resolution as `scan_dpi` if it is another";
        all.push(Diagnostic::warning(message).help(help));
    }
    if shapes.other > 0 {
        let message = format!(
            "{} on the template {} neither a line nor a cross, and left out",
            counted(shapes.other, "mark", "marks"),
            if shapes.other == 1 { "is" } else { "are" }
        );
        all.push(Diagnostic::note(message));
    }
    all
}

fn by_what(pictures: &[SeenPicture]) -> String {
    let dots = pictures.iter().map(|seen| seen.located.dots.len()).sum();
    let dots = counted(dots, "dot", "dots");
    match pictures.len() {
        1 => format!("by what {dots} of the board say"),
        n => format!("by what {dots} of the board say in {n} pictures"),
    }
}

impl Shapes {
    fn told(&self) -> String {
        let edges = [
            (self.straight, "straight edge", "straight edges"),
            (self.arcs, "arc", "arcs"),
        ];
        let edges = edges.iter().filter(|e| e.0 > 0);
        let edges: Vec<String> = edges.map(|e| counted(e.0, e.1, e.2)).collect();
        format!(
            "{}, each within {} of what is seen, its noise averaged out",
            edges.join(", "),
            Length::mm(TOLERANCE).in_mm_and_inches()
        )
    }
}
