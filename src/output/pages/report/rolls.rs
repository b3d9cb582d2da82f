//! Every roll to scale with its pieces, and the pieces in cutting order.

use super::drawing::drawing;
use crate::job::FileKind;
use crate::output::files::{LABELS, templates_path, trim_path};
use crate::output::notes::Note;
use crate::output::pages::model::{Group, Passage};
use crate::output::pages::prose::{Prose, prose};
use crate::output::pages::table::{About, TableOf};
use crate::output::pages::words::{against_mould, angle, counted, extent, percent, running, width};
use crate::plan::{Layout, PlacedPiece, Plan};
use crate::ply::Lies;
use crate::units::Length;

pub(super) fn section(plan: &Plan, cut_files: &[String]) -> Vec<Passage> {
    let mut passages = vec![
        Passage::section("What to cut", "rolls", "Cut"),
        Passage::lead(
            "The rolls lie face up, warp from left to right. A number with # is the place \
             in the cutting order; behind the name of a piece it is the set that the piece is for. The arrow \
             points along the warp; the short tick beside it is the part's 0°. Hatching shows the fibres as \
             they lie on the roll; on the layup sheets, as they lie on the part. Face down: cut as \
             drawn, roll face up; turn the piece over before laying. In the tables, angle: as in the \
             laminate; as cut: the angle after the small turn the tolerance allows; turn: how far the piece \
             is turned from the part to the roll, counter-clockwise.",
        ),
    ];
    passages.extend(paper(plan));
    let rolls = plan.layouts().iter().zip(cut_files).enumerate();
    passages.extend(rolls.map(|(i, (layout, file))| roll(plan, layout, i, file)));
    passages
}

fn roll(plan: &Plan, layout: &Layout, layout_idx: usize, file: &str) -> Passage {
    let roll = layout.roll().to_owned();
    let facts = prose! {
        (counted(layout.pieces().len(), "piece", "pieces")) " on " (running(layout.used_length()))
        " of " (&layout.cloth().name)
        if let (Some(stock) = layout.stock()) { ", from stock " Strong { (&stock.name) } }
        ", " (width(layout.roll_width())) " wide; " (percent(layout.utilisation())) " used; gap " (width(layout.gap())) ". "
        if (!layout.frames().is_empty()) { (frames(layout)) " " }
        (self::cut_files(plan, file))
    };
    let mut within = vec![Passage::Subheading((&roll).into()), Passage::facts(facts)];
    within.extend(cut_order(layout));
    within.push(Passage::Drawing(drawing(plan, layout, layout_idx)));
    within.push(pieces(layout));
    Passage::Group(
        Group::Roll {
            roll,
            is_for_bag: false,
        },
        within,
    )
}

/// Links to the files for paper.
fn paper(plan: &Plan) -> Option<Passage> {
    let outputs = &plan.outputs();
    let templates = outputs.wants(FileKind::Templates).then(|| {
        prose! {
            Link(templates_path(plan), "true-scale templates") " on " (outputs.paper.name()) "; "
            Link(trim_path(plan), "templates to trim and drill the finished parts by")
        }
    });
    let labels = outputs.wants(FileKind::Labels).then(|| {
        prose! {
            Link(LABELS, "labels") " for every piece"
        }
    });
    let files: Vec<Prose> = templates.into_iter().chain(labels).collect();
    let is_any = !files.is_empty();
    is_any.then(|| {
        Passage::plain(prose! {
            "For scissors and printer: " (Prose::joined(files, "; ")) "."
        })
    })
}

/// Links to the files that cut this roll.
pub(super) fn cut_files(plan: &Plan, stem: &str) -> Prose {
    let wanted = plan
        .outputs()
        .files
        .iter()
        .filter_map(|kind| kind.cut_file());
    let links = wanted.map(|(ending, name)| prose! { Link(format!("{stem}.{ending}"), name) });
    let links: Vec<Prose> = links.collect();
    prose! { if (!links.is_empty()) { "Files: " (Prose::joined(links, ", ")) "." } }
}

/// How far the blade travels between cuts, and how far it would in the order along the roll.
fn cut_order(layout: &Layout) -> Option<Passage> {
    let travel = layout.order().cut_travel;
    let n_cuts: usize = layout.order().frames.iter().map(|f| f.cuts.len()).sum();
    let n_frames = layout.order().frames.len();
    (travel.as_placed > Length::ZERO).then(|| Passage::facts(prose! {
        (counted(n_cuts, "cut", "cuts"))
        if (n_frames > layout.frames().len().max(1)) { " in " (counted(n_frames, "frame", "frames")) }
        ". The knife travels " (running(travel.ordered)) " between them; piece by piece along the roll it would be "
        (running(travel.as_placed)) "."
    }))
}

/// In how many frames the roll goes over the table.
fn frames(layout: &Layout) -> Prose {
    let lengths = layout.frames().iter().map(|[from, to]| to - from);
    let longest = lengths.fold(0.0, f64::max);
    prose! {
        "It goes over the table in " (counted(layout.frames().len(), "frame", "frames"))
        ", the longest " (running(Length::mm(longest))) "; no piece lies across a border."
    }
}

fn pieces(layout: &Layout) -> Passage {
    let about = |piece: &&PlacedPiece| About::Piece {
        id: piece.id().to_owned(),
        part: piece.part().to_owned(),
        ply: piece.ply(),
        cloth: layout.cloth().name.clone(),
    };
    TableOf::new(format!("Pieces on {}", layout.roll()), layout.pieces())
        .caption(format!("Pieces on {} in cutting order", layout.roll()))
        .class("pieces")
        .about(about)
        .number("#", |piece| piece.sequence())
        .when(!layout.frames().is_empty(), |t| {
            t.number("Frame", |piece| layout.frame_of(piece))
        })
        .name("Piece", |piece| piece.id())
        .number("Angle", |piece| angle(piece.angle_design()))
        .number("As cut", |piece| angle(piece.angle_cut()))
        .number("Turn", |piece| angle(piece.turn()))
        .words(
            "Watch for",
            |piece| prose! { (marks(piece)) (joints(piece)) },
        )
        .number("Along × across the roll", |piece| extent(piece.cut()))
        .done()
}

/// What to heed with this piece; a slip with the face costs the piece.
fn marks(piece: &PlacedPiece) -> Prose {
    let words = |note: Note| match note {
        Note::FaceDown => Prose::from(note.word()).made_strong(),
        _ => note.word().into(),
    };
    let notes = Note::of_piece(piece);
    prose! {
        for (note in notes) { Mark { (words(note)) } }
        if let (Some(layers) = piece.layers()) { Mark { (against_mould(layers)) } }
    }
}

/// What a piece of a divided ply is joined to.
fn joints(piece: &PlacedPiece) -> Prose {
    let lies = |lies: Lies| match lies {
        Lies::Under => "lap under ",
        Lies::Over => "lap over ",
        Lies::Beside => "butt to ",
    };
    prose! { for (placed in piece.joints()) { Mark { (lies(placed.joint.lies)) (&placed.mate) } } }
}
