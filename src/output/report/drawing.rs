//! A roll drawn to scale as inline SVG, a long one in several rows.
//!
//! User units are millimetres with y down. Sizes that are a matter of reading, not of cloth (text,
//! arrows, margins), are given in pixels of the size at which a wide screen shows the drawing.

use maud::{Markup, html};

use crate::cloth::{Cloth, Weave};
use crate::geometry::{Bounds, Point};
use crate::output::joint;
use crate::output::label::{Compass, TextLine, TextSize, lay_out};
use crate::output::layers::{drawn_flaw, drawn_kept, frame_borders};
use crate::output::number::number;
use crate::output::style::CAPITALS_PER_SIZE;
use crate::output::svg::Sheet;
use crate::plan::{Layout, PlacedPiece, Plan};
use crate::units::Length;

/// Pixels that a row of a roll may take on a wide screen.
const ROW: f64 = 880.0;
/// A short roll is drawn no higher than this, pixels.
const HIGHEST: f64 = 620.0;
/// A long roll is drawn no lower than this, pixels; it goes on in further rows.
const LOWEST: f64 = 230.0;
/// A row that goes on in the next is at least this part of a full one …
const SHORTEST_ROW: f64 = 0.75;
/// … and ends at the best of so many places and one.
const N_BREAKS: u32 = 40;
/// Room for the notes around the roll, pixels: left, top, right, bottom.
const MARGIN: [f64; 4] = [34.0, 24.0, 8.0, 62.0];
/// The notes below a roll need this many pixels at least.
const NOTES: f64 = 460.0;
/// Fills for parts; further parts begin again.
const N_TINTS: usize = 6;

/// The figure of `layout`.
pub(super) fn drawing(plan: &Plan, layout: &Layout, layout_idx: usize) -> Markup {
    let picture = Picture::new(plan, layout, layout_idx);
    let rows = picture.rows();
    // All rows get the same page width, so that they keep the same scale when it shrinks.
    let widest = rows.iter().map(|[from, to]| to - from).fold(0.0, f64::max);
    html! {
        figure {
            @for (i, &row) in rows.iter().enumerate() {
                @let name = if rows.len() == 1 {
                    layout.roll.clone()
                } else {
                    format!("{}, row {} of {}", layout.roll, i + 1, rows.len())
                };
                (picture.row(row, widest, &name))
            }
            (picture.legend())
        }
    }
}

struct Picture<'a> {
    plan: &'a Plan,
    layout: &'a Layout,
    /// Tells this roll's patterns from those of others.
    layout_idx: usize,
    sheet: Sheet,
    /// Millimetres per pixel on a wide screen.
    px: f64,
    length: f64,
    width: f64,
}

impl<'a> Picture<'a> {
    fn new(plan: &'a Plan, layout: &'a Layout, layout_idx: usize) -> Self {
        let (length, width) = (layout.drawn_length().to_mm(), layout.roll_width.to_mm());
        Self {
            plan,
            layout,
            layout_idx,
            sheet: Sheet {
                scale: 1.0,
                width,
                decimals: 1,
            },
            px: (length / ROW)
                .clamp(width / HIGHEST, width / LOWEST)
                .max(0.01),
            length,
            width,
        }
    }

    /// Where the rows begin and end along the roll.
    ///
    /// A roll that is too long for one row goes on in the next at a place that cuts through few
    /// pieces, and above all through few labels.
    fn rows(&self) -> Vec<[f64; 2]> {
        let longest = ROW * self.px;
        let mut rows = Vec::new();
        let mut from = 0.0;
        while self.length - from > longest * 1.001 {
            let candidates = (0..=N_BREAKS).map(|i| {
                let back = f64::from(i) / f64::from(N_BREAKS) * (1.0 - SHORTEST_ROW);
                from + longest * (1.0 - back)
            });
            let to = candidates
                .min_by_key(|&x| self.cost_of_break(x))
                .expect("there is at least one candidate");
            rows.push([from, to]);
            from = to;
        }
        rows.push([from, self.length]);
        rows
    }

    /// How much a break at `x` cuts through.
    fn cost_of_break(&self, x: f64) -> usize {
        let crosses = |from: f64, to: f64| usize::from(from < x && x < to);
        let pieces = self.layout.pieces.iter();
        pieces
            .map(|piece| {
                let Bounds { min, max } = piece.cut.bounds();
                let half = piece.label.width.max(piece.label.height) / 2.0;
                let middle = piece.label.centre.x;
                crosses(min.x, max.x) + 10 * crosses(middle - half, middle + half)
            })
            .sum()
    }

    fn row(&self, [from, to]: [f64; 2], widest: f64, name: &str) -> Markup {
        let step = to - from;
        let px = self.px;
        let [left, top, right, bottom] = MARGIN.map(|m| m * px);
        let full_width = (left + widest + right).max(NOTES * px);
        let full_height = top + self.width + bottom;
        html! {
            div .scroll tabindex="0" role="region" aria-label={ "Drawing of " (name) } {
                svg .roll role="img" data-roll=(self.layout.roll)
                    viewBox=(format!("{} {} {} {}", f(-left), f(-top), f(full_width), f(full_height)))
                    preserveAspectRatio="xMinYMin"
                    style=(format!("--px:{};--wide:{}px", f(px), f(full_width / px)))
                    aria-label={ (name) " to scale with its pieces; the table below lists them" } {
                    @if from == 0.0 { (self.patterns()) }
                    svg x="0" y="0" width=(f(step)) height=(f(self.width))
                        viewBox=(format!("{} 0 {} {}", f(from), f(step), f(self.width))) {
                        (self.cloth())
                        @for piece in self.pieces_between(from, to) { (self.piece(piece)) }
                        (self.edges())
                    }
                    (self.notes(from, to))
                }
            }
        }
    }

    fn pieces_between(&self, from: f64, to: f64) -> impl Iterator<Item = &'a PlacedPiece> {
        self.layout.pieces.iter().filter(move |piece| {
            let Bounds { min, max } = piece.cut.bounds();
            min.x < to && max.x > from
        })
    }

    fn tint(&self, part: &str) -> usize {
        let position = self.plan.parts.iter().position(|p| p.name == part);
        position.unwrap_or(0) % N_TINTS
    }

    /// Fills of the pieces, one per tint: the cloth's own fibres over the part's tint.
    fn patterns(&self) -> Markup {
        let weave = self.cloth_used().map_or(Weave::NonDirectional, |c| c.weave);
        let cell = 9.0 * self.px;
        let d = match weave {
            Weave::NonDirectional => None,
            Weave::Unidirectional => Some(format!("M0,{h}H{c}", h = f(cell / 2.0), c = f(cell))),
            Weave::Biaxial => Some(format!("M0,0L{c},{c}M0,{c}L{c},0", c = f(cell))),
            Weave::Plain | Weave::Twill | Weave::Basket | Weave::Satin => Some(format!(
                "M0,{h}H{c}M{h},0V{c}",
                h = f(cell / 2.0),
                c = f(cell)
            )),
        };
        let mut tints: Vec<usize> = self
            .layout
            .pieces
            .iter()
            .map(|p| self.tint(&p.part))
            .collect();
        tints.sort_unstable();
        tints.dedup();
        html! {
            defs {
                @for tint in tints {
                    pattern id=(self.pattern_id(tint)) patternUnits="userSpaceOnUse"
                        width=(f(cell)) height=(f(cell)) {
                        rect class={ "tint-" (tint) } width=(f(cell)) height=(f(cell)) {}
                        @if let Some(d) = &d { path .fibres d=(d) {} }
                    }
                }
            }
        }
    }

    fn pattern_id(&self, tint: usize) -> String {
        format!("fibres-{}-{tint}", self.layout_idx)
    }

    fn cloth_used(&self) -> Option<&'a Cloth> {
        let used = self.plan.cloths.iter();
        used.map(|c| &c.cloth).find(|c| c.name == self.layout.cloth)
    }

    /// The roll with what is not used of it.
    fn cloth(&self) -> Markup {
        let (low, high) = self.layout.usable_y;
        let margin = self.layout.end_margin.to_mm();
        let used = self.layout.used_length.to_mm();
        let whole = self.sheet.path_data(&self.layout.whole);
        let is_stock = self.layout.stock.is_some();
        let mut unused = vec![(used - margin, 0.0, self.length - used + margin, self.width)];
        if !self.is_odd() {
            unused.push((0.0, 0.0, used, self.width - high));
            unused.push((0.0, self.width - low, used, low));
            unused.push((0.0, 0.0, margin, self.width));
        }
        let clip = format!("whole-{}", self.layout_idx);
        html! {
            @if is_stock { clipPath id=(clip) { path d=(whole) clip-rule="evenodd" {} } }
            g clip-path=[is_stock.then(|| format!("url(#{clip})"))] {
                rect .cloth x="0" y="0" width=(f(self.length)) height=(f(self.width)) {}
                @for (x, y, w, h) in unused {
                    rect .unused x=(f(x)) y=(f(y)) width=(f(w)) height=(f(h)) {}
                }
                @for kept in drawn_kept(self.plan, self.layout) {
                    path .kept d=(self.sheet.path_data(&kept)) {}
                }
                @for flaw in &self.layout.flaws {
                    @for part in drawn_flaw(self.layout, flaw) {
                        path .flaw d=(self.sheet.path_data(&part)) {}
                    }
                }
            }
        }
    }

    /// Whether the cloth is a remnant of odd outline.
    fn is_odd(&self) -> bool {
        let whole = &self.layout.whole;
        let bounds = whole.bounds();
        bounds.width() * bounds.height() - whole.area() > 1.0
    }

    fn edges(&self) -> Markup {
        let whole = self.sheet.path_data(&self.layout.whole);
        html! {
            @if self.layout.stock.is_some() {
                path .edge d=(whole) {}
            } @else {
                rect .edge x="0" y="0" width=(f(self.length)) height=(f(self.width)) {}
            }
            @for (i, x) in frame_borders(self.layout).enumerate() {
                path .frame d=(format!("M{},0V{}", f(x), f(self.width))) {}
                (self.frame_number(i + 2, x))
                @if i == 0 { (self.frame_number(1, self.layout.frames[0][0])) }
            }
            @for left in self.plan.left_of(self.layout) {
                @let place = left.place();
                @if place.max.x <= self.length + 0.01 {
                    text .left-name x=(f(place.centre().x)) y=(f(self.width - place.centre().y))
                        font-size=(f(10.0 * self.px)) { (left.stock.name) }
                }
            }
        }
    }

    fn frame_number(&self, n: usize, x: f64) -> Markup {
        html! {
            text .frame-name x=(f(x + 4.0 * self.px)) y=(f(11.0 * self.px))
                font-size=(f(10.0 * self.px)) { "frame " (n) }
        }
    }

    fn piece(&self, piece: &PlacedPiece) -> Markup {
        let tint = self.tint(&piece.part);
        let size = TextSize {
            least: 5.5 * self.px,
            most: 9.0 * self.px,
        };
        let label = lay_out(piece, size);
        html! {
            g class={ "piece on-" (tint) } data-piece=(piece.id) {
                title {
                    (piece.id) ", number " (piece.sequence) ", "
                    (super::words::angle(piece.angle_design))
                }
                path .cut d=(self.sheet.path_data(&piece.cut)) fill-rule="evenodd"
                    style=(format!("fill:url(#{})", self.pattern_id(tint))) {}
                path .net d=(self.sheet.path_data(&piece.net)) {}
                @for joined in piece.splice.iter().flat_map(|s| &s.joints) {
                    path .splice d=(self.sheet.line(&joined.joint.line, false)) {}
                    @if let Some(line) = joint::text(joined, size) { (self.text(&line)) }
                }
                @if let Some(compass) = &label.compass { (self.compass(compass)) }
                @for line in label.texts() { (self.text(line)) }
            }
        }
    }

    fn compass(&self, compass: &Compass) -> Markup {
        let segment = |[a, b]: [Point; 2]| {
            let ((x1, y1), (x2, y2)) = (self.sheet.xy(a), self.sheet.xy(b));
            format!("M{x1},{y1}L{x2},{y2}")
        };
        html! {
            @if let Some(tick) = compass.zero { path .zero d=(segment(tick)) {} }
            path .arrow d=(segment(compass.shaft)) {}
            path .head d=(self.sheet.closed(&compass.head)) {}
        }
    }

    fn text(&self, line: &TextLine) -> Markup {
        let (x, y) = self.sheet.xy(line.baseline());
        let degrees = line.angle.to_degrees();
        let turn = (degrees != 0.0).then(|| format!("rotate({} {x} {y})", number(-degrees, 2)));
        html! {
            text x=(x) y=(y) font-size=(f(line.height / CAPITALS_PER_SIZE)) transform=[turn] {
                (line.text)
            }
        }
    }

    /// Dimensions, warp direction and scale bars around one row.
    fn notes(&self, from: f64, to: f64) -> Markup {
        let px = self.px;
        let length = to - from;
        let below = self.width + 13.0 * px;
        let used = self.layout.used_length.in_metres_and_yards();
        let length_text = if self.layout.stock.is_some() && length == self.length {
            let all = Length::mm(self.length).in_metres_and_yards();
            format!("{all} on hand, {used} used")
        } else if length == self.length {
            format!("used length {used}")
        } else {
            format!(
                "{} to {} of {used} used",
                Length::mm(from).in_metres_and_yards(),
                Length::mm(to).in_metres_and_yards(),
            )
        };
        let width_text = format!("roll width {}", self.layout.roll_width.in_mm_and_inches());
        let tick = 4.0 * px;
        let left = -12.0 * px;
        html! {
            g .notes font-size=(f(11.0 * px)) {
                path .line d=(format!(
                    "M0,{b}H{l}M0,{b0}V{b1}M{l},{b0}V{b1}",
                    b = f(below), l = f(length), b0 = f(below - tick), b1 = f(below + tick),
                )) {}
                text x="0" y=(f(below + 14.0 * px)) { (length_text) }
                path .line d=(format!(
                    "M{x},0V{w}M{x0},0H{x1}M{x0},{w}H{x1}",
                    x = f(left), w = f(self.width), x0 = f(left - tick), x1 = f(left + tick),
                )) {}
                text .middle x=(f(left - 7.0 * px)) y=(f(self.width / 2.0))
                    transform=(format!("rotate(-90 {} {})", f(left - 7.0 * px), f(self.width / 2.0))) {
                    (width_text)
                }
                (self.warp_arrow())
                (self.scale_bars(self.width + 44.0 * px))
            }
        }
    }

    fn warp_arrow(&self) -> Markup {
        let px = self.px;
        let y = -10.0 * px;
        html! {
            path .arrow d=(format!("M0,{y}H{x}", y = f(y), x = f(58.0 * px))) {}
            path .head d=(format!(
                "M{x},{y}l{b},{u}v{v}Z",
                x = f(60.0 * px), y = f(y), b = f(-10.0 * px), u = f(-4.0 * px), v = f(8.0 * px),
            )) {}
            text x=(f(66.0 * px)) y=(f(y + 4.0 * px)) { "warp" }
        }
    }

    /// One bar in each unit system, side by side.
    fn scale_bars(&self, y: f64) -> Markup {
        let metric = nice(
            &[
                (100.0, "100 mm"),
                (200.0, "200 mm"),
                (500.0, "0.5 m"),
                (1000.0, "1 m"),
                (2000.0, "2 m"),
            ],
            self.px,
        );
        let inches = nice(
            &[
                (101.6, "4 in"),
                (203.2, "8 in"),
                (304.8, "1 ft"),
                (914.4, "1 yd"),
                (1828.8, "2 yd"),
            ],
            self.px,
        );
        let second = metric.0 + 70.0 * self.px;
        html! { (self.scale_bar(0.0, y, metric)) (self.scale_bar(second, y, inches)) }
    }

    fn scale_bar(&self, x: f64, y: f64, (length, name): (f64, &str)) -> Markup {
        let height = 5.0 * self.px;
        html! {
            rect .bar-frame x=(f(x)) y=(f(y)) width=(f(length)) height=(f(height)) {}
            rect .bar-half x=(f(x)) y=(f(y)) width=(f(length / 2.0)) height=(f(height)) {}
            text x=(f(x + length + 6.0 * self.px)) y=(f(y + 7.0 * self.px)) { (name) }
        }
    }

    fn legend(&self) -> Markup {
        let mut parts: Vec<&str> = Vec::new();
        for piece in &self.layout.pieces {
            if !parts.contains(&piece.part.as_str()) {
                parts.push(&piece.part);
            }
        }
        html! {
            figcaption {
                ul .key aria-label="Key to the drawing" {
                    @for part in parts {
                        li {
                            svg .chip viewBox="0 0 28 16" aria-hidden="true" {
                                rect class={ "chip-cut tint-" (self.tint(part)) }
                                    x="1" y="1" width="26" height="14" {}
                            }
                            (part)
                        }
                    }
                    li {
                        svg .chip viewBox="0 0 28 16" aria-hidden="true" { path .chip-cut d="M1,8H27" {} }
                        "cut line"
                    }
                    li {
                        svg .chip viewBox="0 0 28 16" aria-hidden="true" { path .chip-net d="M1,8H27" {} }
                        "net line"
                    }
                    @if self.layout.pieces.iter().any(|p| p.splice.is_some()) {
                        li {
                            svg .chip viewBox="0 0 28 16" aria-hidden="true" { path .chip-splice d="M1,8H27" {} }
                            "splice: edge of the neighbour"
                        }
                    }
                    @if drawn_kept(self.plan, self.layout).next().is_some() {
                        li {
                            svg .chip viewBox="0 0 28 16" aria-hidden="true" {
                                rect .kept x="1" y="1" width="26" height="14" {}
                            }
                            "kept as stock"
                        }
                    }
                    @if !self.layout.flaws.is_empty() {
                        li {
                            svg .chip viewBox="0 0 28 16" aria-hidden="true" {
                                rect .flaw x="1" y="1" width="26" height="14" {}
                            }
                            "flaw"
                        }
                    }
                    li {
                        svg .chip viewBox="0 0 28 16" aria-hidden="true" {
                            rect .unused x="1" y="1" width="26" height="14" {}
                        }
                        "not used"
                    }
                }
            }
        }
    }
}

/// The longest of `lengths` that takes no more than 120 pixels, or the first.
fn nice<'a>(lengths: &[(f64, &'a str)], px: f64) -> (f64, &'a str) {
    let fitting = lengths.iter().rev().find(|(mm, _)| *mm <= 120.0 * px);
    *fitting.unwrap_or(&lengths[0])
}

/// A coordinate of the drawing.
fn f(value: f64) -> String {
    number(value, 2)
}
