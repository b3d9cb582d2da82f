//! The kit list in the order of laying, and the cutting list in the order of cutting.

use super::Sheets;
use crate::geometry::{Point, Ring, trig};
use crate::output::made::off_the_roll;
use crate::output::notes::{Note, head};
use crate::output::pages::model::{Handout, Passage};
use crate::output::pages::prose::{Prose, prose};
use crate::output::pages::table::{About, TableOf};
use crate::output::pages::words::{angle, angle_and_warp, counted, extent, running, width};
use crate::plan::{Layout, PartUse, PlacedPiece};
use crate::units::Length;

pub(super) fn lists(sheets: &Sheets<'_>) -> Handout {
    let plan = sheets.plan;
    let mut passages = vec![Passage::plain(
        "Cut roll by roll, in the order of the numbers on the cut files (a number behind the name of a piece, as in KNEE-1#2, is its set). Then put the pieces of each set \
         together, ply 1 on top. Angle: the fibres on the part, counter-clockwise from 0°, seen from the bag \
         side, the one away from the mould; for a stitched biaxial its first layer, with the warp beside it. Turn: how far the piece is \
         turned from the part to the roll, counter-clockwise. To mark out by hand: along is from the cut end of \
         the roll, across from the selvedge nearest to you with the cut end on your left. Points are corners of \
         the cut line in order, counter-clockwise; of a round piece where it comes nearest to the end, the \
         selvedge and their opposites.",
    )];
    // What is cut of common rolls is listed once for all jobs, and each has its kits.
    let common = plan.layouts().iter().filter(|_| !plan.is_share());
    for layout in common {
        passages.extend(cutting_list(layout));
        passages.extend(by_hand(layout));
    }
    let own = plan.parts().iter().filter(|_| plan.jobs().is_empty());
    for part in own {
        passages.extend(kit(sheets, part));
    }
    let bags = plan.work().bagging.iter().flat_map(|bags| &bags.rolls);
    for roll in bags.filter(|roll| !roll.layout.pieces().is_empty()) {
        passages.extend(cutting_list(&roll.layout));
    }
    Handout {
        kind: head(plan, plan.title()),
        title: "Cutting and kit lists".to_owned(),
        beside: String::new(),
        about: Vec::new(),
        passages,
    }
}

fn kit(sheets: &Sheets<'_>, part: &PartUse) -> [Passage; 2] {
    let title = format!("Kit of {} in the order of laying", part.name());
    let laid = (1..=part.sets)
        .flat_map(|set| part.plies.iter().map(move |ply| (set, ply)))
        .flat_map(|(set, ply)| {
            let pieces = sheets.index.of(part.name(), ply.n(), set);
            pieces.iter().map(move |&piece| (piece, ply))
        });
    let table = TableOf::new(title.as_str(), laid)
        .about(|(piece, _)| About::Kit(piece.id().to_owned()))
        .tick("Done")
        .number("Set", |(piece, _)| piece.set())
        .number("Ply", |(piece, _)| piece.ply())
        .name("Piece", |(piece, _)| piece.id())
        .words("Cloth", |(_, ply)| &ply.cloth().name)
        .number("Angle", |(_, ply)| angle_and_warp(ply.weave(), ply.angle()))
        .words(
            "Face",
            |(piece, _)| if piece.turned_over() { "down" } else { "up" },
        )
        .words("Batch", |(piece, ply)| sheets.batches(ply, piece.set()));
    [Passage::heading(title), table.done()]
}

fn cutting_list(layout: &Layout) -> [Passage; 3] {
    let weave = layout.cloth().weave;
    let taped: Length = layout.pieces().iter().map(PlacedPiece::taped_edge).sum();
    let is_bought = layout.stock().is_none() && layout.pieces().iter().any(|piece| piece.ply() > 0);
    let about = prose! {
        (counted(layout.pieces().len(), "piece", "pieces")) " on " (running(layout.used_length()))
        " of the roll, " (width(layout.roll_width())) " wide, face up."
        if (taped > Length::ZERO) {
            " Tape edges along warp and weft before cutting where it says so, and cut through the tape: "
            (running(taped)) " in all."
        }
        if (is_bought) { Blank(off_the_roll(&layout.cloth().name)) }
    };
    let title = format!("Cut from {} in the order of cutting", layout.roll());
    // Layers of a bag have no angle and nothing to heed.
    let is_cloth = layout.pieces().iter().any(|piece| piece.ply() > 0);
    let table = TableOf::new(title.as_str(), layout.pieces())
        .about(|piece| About::Cut(piece.id().to_owned()))
        .tick("Cut")
        .number("#", |piece| piece.sequence())
        .name("Piece", |piece| piece.id())
        .when(is_cloth, |t| {
            t.number("Angle", |piece| angle_and_warp(weave, piece.angle_cut()))
        })
        .number("Turn", |piece| angle(piece.turn()))
        .number("Along × across", |piece| extent(piece.cut()))
        .when(is_cloth, |t| {
            t.words("Watch for", |piece| heed(piece, &Note::of_cutting(piece)))
        });
    [Passage::heading(title), Passage::plain(about), table.done()]
}

/// Corners sharper than this are measured, degrees; with more of them than this many, or with none, the
/// outermost points are.
const CORNER_DEG: f64 = 12.0;
const MOST_CORNERS: usize = 8;

/// Where to chalk each piece without a template: from the cut end and from the lower selvedge.
fn by_hand(layout: &Layout) -> [Passage; 2] {
    let title = format!("Mark out on {} by hand", layout.roll());
    let mm_and_inches = |mm: f64| format!("{mm:.0} ({:.2})", Length::mm(mm).to_inches());
    let range = |low: f64, high: f64| format!("{} to {}", mm_and_inches(low), mm_and_inches(high));
    let table = TableOf::new(title.as_str(), layout.pieces())
        .number("#", |piece| piece.sequence())
        .name("Piece", |piece| piece.id())
        .words("Along, mm (in)", |piece| {
            let bounds = piece.cut().bounds();
            range(bounds.min.x, bounds.max.x)
        })
        .words("Across, mm (in)", |piece| {
            let bounds = piece.cut().bounds();
            range(bounds.min.y, bounds.max.y)
        })
        .words("Points: along / across, mm (in)", |piece| {
            let points = measured_points(&piece.cut().outer);
            let words = points.into_iter().map(|p| {
                let (x, y) = (Length::mm(p.x).to_inches(), Length::mm(p.y).to_inches());
                Prose::quantity(format!("{:.0} / {:.0} ({x:.2} / {y:.2})", p.x, p.y))
            });
            Prose::joined(words, "; ")
        });
    [Passage::heading(title), table.done()]
}

/// The corners of `line` if they are few, else its outermost points: lowest x, y, highest x, y.
fn measured_points(line: &Ring) -> Vec<Point> {
    let points = line.points();
    let n = points.len();
    let turn_at = |i: usize| {
        let (into, out) = (
            points[i] - points[(i + n - 1) % n],
            points[(i + 1) % n] - points[i],
        );
        let turn = trig::direction(out.x, out.y) - trig::direction(into.x, into.y);
        let degrees = turn.to_degrees().rem_euclid(360.0);
        degrees.min(360.0 - degrees)
    };
    let corners = (0..n)
        .filter(|&i| turn_at(i) > CORNER_DEG)
        .map(|i| points[i]);
    let corners: Vec<Point> = corners.collect();
    if (3..=MOST_CORNERS).contains(&corners.len()) {
        return corners;
    }
    let outermost = |of: fn(&Point) -> f64| {
        let points = points.iter().copied();
        points.reduce(|best, p| if of(&p) < of(&best) { p } else { best })
    };
    let outermost = [
        outermost(|p| p.x),
        outermost(|p| p.y),
        outermost(|p| -p.x),
        outermost(|p| -p.y),
    ];
    outermost.into_iter().flatten().collect()
}

/// What to heed before cutting; a slip with the face costs the piece.
fn heed(piece: &PlacedPiece, notes: &[Note]) -> Prose {
    let words = |note: &Note| match note {
        Note::FaceDown => Prose::from(note.laying()).made_strong(),
        Note::Taped => {
            prose! { "tape the edge along the cut line before cutting, " (running(piece.taped_edge())) }
        }
        Note::TapedBeside => prose! {
            "tape the edge before cutting, beside the finished edge, none over it, " (running(piece.taped_edge()))
        },
        _ => note.word().into(),
    };
    prose! { for (note in notes) { Mark { (words(note)) } } }
}
