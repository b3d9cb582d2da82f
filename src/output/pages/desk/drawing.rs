//! The drawing of a part: its outlines to click on, its 0° and keep-out areas to draw.

use maud::{Markup, html};

use super::fields::{button, name_of};
use super::json;
use crate::geometry::{Bounds, Point, Ring, line_simplified};
use crate::inputs::Inputs;
use crate::job::Part;
use crate::job::edit::{Edit, PlaceStep, TableFields};
use crate::number::number;
use crate::output::formats::svg::elements::Scale;
use crate::output::pages::html::prose;
use crate::output::pages::words::sides;
use crate::pattern::{Pattern, PatternOutline, Role, UnitFound};
use crate::ply::{Pieces, chosen_outline};
use crate::units::{Angle, Length};

/// A drawing is written to this share of its size: finer cannot be seen.
const FINEST: f64 = 1.0 / 2000.0;

/// Outlines that are drawn; more only blacken the picture.
const MOST_OUTLINES: usize = 200;

/// The drawing of one part, ready to be written.
#[derive(Clone, Debug)]
pub(crate) struct DeskDrawing {
    part: String,
    file: String,
    outlines: Vec<DrawnOutline>,
    /// Keep-out areas and other marks, as SVG path data.
    keep_out: String,
    marks: String,
    bounds: Bounds,
    /// The part's 0° in the drawing, where it is known.
    zero: Option<Angle>,
    /// Whether the file states no unit.
    is_unit_assumed: bool,
}

#[derive(Clone, Debug)]
struct DrawnOutline {
    id: String,
    name: String,
    size: (Length, Length),
    is_taken: bool,
    path: String,
}

impl DeskDrawing {
    /// Those of the parts of a job; parts on moulds have none.
    pub(crate) fn all(inputs: &Inputs, pieces: &Pieces) -> Vec<Self> {
        let parts = inputs.job().parts().iter();
        let drawn = parts.filter(|part| part.on_mould.is_none());
        drawn
            .filter_map(|part| Self::of_part(part, inputs.pattern(part), pieces))
            .collect()
    }

    fn of_part(part: &Part, pattern: &Pattern, pieces: &Pieces) -> Option<Self> {
        let mut drawing = Self::of_pattern(&part.name, None, pattern)?;
        let chosen = part.plies.iter();
        let taken: Vec<&str> = chosen
            .filter_map(|ply| Some(&chosen_outline(part, ply, pattern)?.id[..]))
            .collect();
        for outline in &mut drawing.outlines {
            outline.is_taken = taken.contains(&&outline.id[..]);
        }
        let own = pieces.iter().find(|piece| piece.part().name == part.name);
        drawing.zero = own.map(|piece| part.view.turn().direction(piece.zero()));
        for area in &part.keep_out {
            drawing.keep_out += &path(&area.corners(), true, drawing.finest());
        }
        Some(drawing)
    }

    /// The drawing of a part that cannot be planned as it is, of which it says its `outline`; `None` of one without outlines.
    pub(crate) fn of_pattern(part: &str, outline: Option<&str>, pattern: &Pattern) -> Option<Self> {
        let all = pattern.outlines();
        if all.is_empty() {
            return None;
        }
        let around = |outline: &PatternOutline| outline.outline.bounds();
        let marks = pattern.marks().iter();
        let marks = marks.filter_map(|mark| Bounds::of(mark.points.iter().copied()));
        let bounds = (all.iter().map(around).chain(marks)).reduce(|a, b| a.union(&b))?;
        let mut drawing = Self {
            part: part.to_owned(),
            file: pattern.file().to_owned(),
            outlines: Vec::new(),
            keep_out: String::new(),
            marks: String::new(),
            bounds,
            zero: None,
            is_unit_assumed: pattern.unit() == UnitFound::Assumed,
        };
        let finest = drawing.finest();
        let is_only = all.len() == 1;
        drawing.outlines = (all.iter().take(MOST_OUTLINES))
            .map(|outline| DrawnOutline::of(outline, is_only, finest))
            .collect();
        for drawn in &mut drawing.outlines {
            drawn.is_taken =
                is_only || outline.is_some_and(|id| id == drawn.id || id == drawn.name);
        }
        for mark in pattern.marks() {
            let to = match mark.role {
                Role::KeepOut => &mut drawing.keep_out,
                _ => &mut drawing.marks,
            };
            *to += &path(&mark.points, mark.closed, finest);
        }
        Some(drawing)
    }

    fn finest(&self) -> f64 {
        self.bounds.width().max(self.bounds.height()) * FINEST
    }

    /// The drawing on the page, with what can be done on it to the part that `table` describes.
    pub(super) fn shown(&self, job: &TableFields, table: &TableFields) -> Markup {
        html! {
            figure .drawing {
                (self.picture(table))
                figcaption {
                    span .about { (self.file_of(table)) }
                    button type="button" aria-pressed="false" data-draw="zero" { "Draw 0°" }
                    button type="button" aria-pressed="false" data-draw="box" { "Draw a box without joints" }
                    button type="button" aria-pressed="false" data-draw="overlap" title="Click an edge: it gets the overlap of the part" { "Overlap along an edge" }
                    button type="button" aria-pressed="false" data-draw="notch" title="Click a place on the edge" { "Set a notch" }
                    button type="button" aria-pressed="false" data-draw="dart" title="Draw from the edge to the point of the dart" { "Draw a dart" }
                    (other_hand(job, table))
                }
                @if self.is_unit_assumed { (self.units(table)) }
                ul .outlines { @for outline in &self.outlines { (self.choice(outline, job, table)) } }
            }
        }
    }

    fn picture(&self, table: &TableFields) -> Markup {
        let Bounds { min, max } = self.bounds;
        let edge = 0.06 * (max.x - min.x).max(max.y - min.y).max(1.0);
        let [left, top] = [min.x - edge, -max.y - edge];
        let [width, height] = [max.x - min.x, max.y - min.y].map(|side| side + 2.0 * edge);
        let view = [left, top, width, height].map(|v| number(v, 3)).join(" ");
        let mut boxes = table.place_of("keep_out_box");
        boxes.push(PlaceStep::Index(table.inner("keep_out_box").count()));
        let others = ["zero_line"]
            .iter()
            .filter(|key| table.value(key).is_some());
        let others: Vec<Vec<PlaceStep>> = others.map(|key| table.place_of(key)).collect();
        let mut marks = table.place_of("mark");
        marks.push(PlaceStep::Index(table.inner("mark").count()));
        html! {
            svg viewBox=(view) role="group" aria-label={ "Drawing of " (self.part) }
                data-zero=(json(&table.place_of("zero_direction"))) data-in-place-of=(json(&others)) data-boxes=(json(&boxes))
                data-marks=(json(&marks)) data-overlap=[table.value("overlap").is_none().then(|| json(&table.place_of("overlap")))] {
                @for outline in &self.outlines {
                    path .taken[outline.is_taken] d=(outline.path) data-outline=(outline.id) {
                        title { (outline.name) }
                    }
                }
                path .marks d=(self.marks) {}
                path .keep-out d=(self.keep_out) {}
                @if let Some(zero) = self.zero { (self.arrow(zero, edge)) }
                line .drawn x1="0" y1="0" x2="0" y2="0" {}
                rect .drawn x="0" y="0" width="0" height="0" {}
            }
        }
    }

    /// The 0°, through the middle.
    fn arrow(&self, zero: Angle, size: f64) -> Markup {
        let Bounds { min, max } = self.bounds;
        let middle = Point::new((min.x + max.x) / 2.0, -(min.y + max.y) / 2.0);
        let degrees = number(-zero.to_degrees(), 3);
        let turn = format!(
            "translate({} {}) rotate({degrees})",
            number(middle.x, 3),
            number(middle.y, 3)
        );
        let [long, head] = [3.0 * size, 0.5 * size].map(|v| number(v, 3));
        let tip = number(3.0 * size - 0.8 * size, 3);
        let shape = format!("M-{long} 0H{long}M{tip} -{head}L{long} 0L{tip} {head}");
        html! { g transform=(turn) { path .zero d=(shape) { title { "0°" } } } }
    }

    /// What may be done with an outline.
    fn choice(&self, outline: &DrawnOutline, job: &TableFields, table: &TableFields) -> Markup {
        let take = Edit::Set {
            at: table.place_of("outline"),
            to: outline.id.clone(),
        };
        html! {
            li data-of=(outline.id) {
                strong { (outline.name) } " " (prose(&sides(outline.size))) " "
                @if outline.is_taken {
                    span .about { "of this part" }
                } @else {
                    (button(&format!("Take it for {}", name_of(table)), &take)) " "
                    (button("Make a part of it", &self.part_of(outline, job, table)))
                }
            }
        }
    }

    /// The change that makes a part of `outline`, like the one that `table` describes.
    fn part_of(&self, outline: &DrawnOutline, job: &TableFields, table: &TableFields) -> Edit {
        let like = |key: &str| Some((key.to_owned(), table.value(key)?.to_owned()));
        let is_free = |c: char| !(c.is_ascii_alphanumeric() || c == '-' || c == '_');
        let name = outline.name.replace(is_free, "_");
        let keys = [
            Some(("name".to_owned(), name)),
            Some(("pattern".to_owned(), self.file_of(table))),
            like("units"),
            Some(("outline".to_owned(), outline.id.clone())),
            like("cloth"),
            like("layup"),
        ];
        let mut at = job.place_of("part");
        at.push(PlaceStep::Index(job.inner("part").count()));
        Edit::Add {
            at,
            keys: keys.into_iter().flatten().collect(),
        }
    }

    fn file_of(&self, table: &TableFields) -> String {
        table.value("pattern").unwrap_or(&self.file).to_owned()
    }

    /// Asks in which unit a drawing is that states none: the outlines beside a sheet of paper.
    fn units(&self, table: &TableFields) -> Markup {
        /// The long and the short side of a sheet of A4 paper, mm (ISO 216).
        const PAPER: [f64; 2] = [297.0, 210.0];
        let size = [self.bounds.width(), self.bounds.height()];
        let at = table.place_of("units");
        html! {
            p .note { "The drawing states no unit. How large is it? The grey sheet is A4 paper, 210 × 297 mm." }
            ul .sizes {
                @for (unit, mm) in [("mm", 1.0), ("cm", 10.0), ("in", 25.4)] {
                    @let [w, h] = size.map(|side| side * mm);
                    @let view = format!("0 0 {} {}", number(w + PAPER[1] * 1.1, 1), number(h.max(PAPER[0]), 1));
                    li {
                        svg viewBox=(view) role="img" aria-label={ "In " (unit) ", beside a sheet of A4 paper" } {
                            rect .cloth x="0" y="0" width=(number(w, 1)) height=(number(h, 1)) {}
                            rect .sheet x=(number(w + PAPER[1] * 0.1, 1)) y="0" width=(PAPER[1]) height=(PAPER[0]) {}
                        }
                        (prose(&sides((Length::mm(w), Length::mm(h)))))
                        (button(unit, &Edit::Set { at: at.clone(), to: unit.to_owned() }))
                    }
                }
            }
        }
    }

    pub(super) fn part(&self) -> &str {
        &self.part
    }
}

/// One click makes the part as a pair, or leaves the pair out.
fn other_hand(job: &TableFields, table: &TableFields) -> Markup {
    let at = table.place_of("mirror");
    let name = table.value("name").unwrap_or("PART");
    match table.value("mirror") {
        Some(_) => button("Leave the other hand out", &Edit::Remove { at }),
        None => {
            let to = other_name(name);
            if job
                .inner("part")
                .any(|part| part.value("name") == Some(&to[..]))
            {
                // It is there already, with a table of its own.
                return html! {};
            }
            button(
                &format!("Make the other hand too, {to}"),
                &Edit::Set { at, to },
            )
        }
    }
}

/// What the other hand of `name` is called.
fn other_name(name: &str) -> String {
    const PAIRS: [[&str; 2]; 4] = [
        ["PORT", "STBD"],
        ["LEFT", "RIGHT"],
        ["left", "right"],
        ["_L", "_R"],
    ];
    let pairs = PAIRS.into_iter().flat_map(|[a, b]| [[a, b], [b, a]]);
    let mut others =
        pairs.filter_map(|[own, other]| Some(format!("{}{other}", name.strip_suffix(own)?)));
    others.next().unwrap_or_else(|| format!("{name}-MIRRORED"))
}

impl DrawnOutline {
    fn of(outline: &PatternOutline, is_only: bool, finest: f64) -> Self {
        let bounds = outline.outline.bounds();
        let rings = std::iter::once(&outline.outline.outer).chain(&outline.outline.openings);
        let name = outline.words.name.clone().or_else(|| {
            let has_layer = !is_only && !outline.layer.is_empty();
            has_layer.then(|| outline.layer.clone())
        });
        Self {
            name: name.unwrap_or_else(|| outline.id.clone()),
            id: outline.id.clone(),
            size: (Length::mm(bounds.width()), Length::mm(bounds.height())),
            is_taken: false,
            path: rings
                .map(|ring: &Ring| path(ring.points(), true, finest))
                .collect(),
        }
    }
}

/// SVG path data, y down; vertices that cannot be told from the line without them are left out.
fn path(points: &[Point], closed: bool, finest: f64) -> String {
    const SCALE: Scale = Scale {
        factor: 1.0,
        top: Some(0.0),
        decimals: 2,
        has_arcs: false,
    };
    SCALE.line(&line_simplified(points, finest), closed)
}
