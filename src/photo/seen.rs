//! A picture that was looked at: its board located, and what lies on it brought to millimetres.

use std::collections::BTreeMap;

use super::board::Board;
use super::join::{LaidLine, LaidTemplate};
use super::light::Light;
use super::locate::{self, LocatedMarks, locate};
use super::marks::{self, FoundMark};
use super::picture::DecodedPicture;
use super::template::{self, FoundLine, FoundTemplate};
use super::{PhotoFile, PhotoSettings, pen, refuse, scan};
use crate::diag::Diagnostic;
use crate::geometry::{Point, Vector};
use crate::units::Length;

/// A picture whose board was located, or a scan.
pub(super) struct SeenPicture {
    pub(super) picture: DecodedPicture,
    pub(super) board: Board,
    pub(super) located: LocatedMarks,
    /// Pixels to the inch, of a scan.
    pub(super) dpi: Option<f64>,
}

/// How sharply templates are seen.
pub(super) struct Sharpness {
    /// Millimetres to a pixel, at their edges at most.
    pub(super) pixel: f64,
    /// How wide an edge is seen, from a quarter of the step to three quarters, mm.
    pub(super) soft: f64,
    /// The same near ink, where only colour tells.
    pub(super) soft_weak: f64,
    /// How far off an edge is seen that is a millimetre up, mm.
    pub(super) by_height: f64,
    /// How far an edge may be off by what the dots leave and what a pixel is worth, mm.
    pub(super) error: f64,
}

/// Most pictures that are joined, and most pixels of all of them.
const MOST_PICTURES: usize = 12;
const MOST_PIXELS: usize = 100_000_000;
/// So many dots of one sheet of paper show where it lies.
const DOTS_OF_SHEET: usize = 5;

/// Looks at all pictures; the number of the one that cannot be used comes with the problem.
pub(super) fn all(
    files: &[PhotoFile<'_>],
    settings: &PhotoSettings,
) -> Result<Vec<SeenPicture>, (usize, Diagnostic)> {
    if files.len() > MOST_PICTURES {
        return Err((MOST_PICTURES, refuse::many_pictures(MOST_PICTURES)));
    }
    let mut all: Vec<SeenPicture> = Vec::with_capacity(files.len());
    let mut pixels = 0;
    for (n, file) in files.iter().enumerate() {
        let seen = SeenPicture::of(file.bytes, settings).map_err(|problem| (n, problem))?;
        pixels += seen.picture.width * seen.picture.height;
        if pixels > MOST_PIXELS {
            return Err((n, refuse::many_pictures(n)));
        }
        all.push(seen);
    }
    if all.len() > 1 {
        join(&mut all)?;
    }
    for (n, seen) in all.iter().enumerate() {
        if seen.dpi.is_none() {
            let measured = settings.measured.map(|length| length.map(Length::to_mm));
            refuse::board(&seen.board, &seen.located, measured, &seen.picture)
                .map_err(|problem| (n, problem))?;
        }
    }
    Ok(all)
}

/// Locates the one board of all pictures.
fn join(all: &mut [SeenPicture]) -> Result<(), (usize, Diagnostic)> {
    if let Some(n) = all.iter().position(|seen| seen.dpi.is_some()) {
        return Err((n, refuse::joined_scans()));
    }
    if let Some(n) = all.iter().position(|seen| seen.board != all[0].board) {
        return Err((n, refuse::other_board()));
    }
    // Each must show a sheet that those before it show: only that tells where the sheets of one lie beside those of another.
    let sheets = |seen: &SeenPicture| {
        let mut counts = BTreeMap::new();
        for dot in &seen.located.dots {
            *counts.entry(dot.tile).or_insert(0) += 1;
        }
        let shown = counts.into_iter().filter(|(_, n)| *n >= DOTS_OF_SHEET);
        shown.map(|(sheet, _)| sheet).collect::<Vec<_>>()
    };
    let mut known = sheets(&all[0]);
    let mut left: Vec<usize> = (1..all.len()).collect();
    while let Some(&first) = left.first() {
        let next = left
            .iter()
            .position(|&n| sheets(&all[n]).iter().any(|sheet| known.contains(sheet)));
        let Some(next) = next else {
            return Err((first, refuse::apart()));
        };
        known.extend(sheets(&all[left.remove(next)]));
    }
    let alone: Vec<LocatedMarks> = all.iter().map(|seen| seen.located.clone()).collect();
    let joined = locate::joined(&alone).ok_or_else(|| (1, refuse::no_dots()))?;
    for (n, (seen, located)) in all.iter_mut().zip(joined).enumerate() {
        // Where pictures do not fit one board, it was moved between them.
        if located.left_pixels > 2.0 * seen.located.left_pixels + 0.1
            || located.dots.len() * 2 < seen.located.dots.len()
        {
            return Err((n, refuse::moved()));
        }
        seen.located = located;
    }
    Ok(())
}

impl SeenPicture {
    fn of(bytes: &[u8], settings: &PhotoSettings) -> Result<Self, Diagnostic> {
        let picture = DecodedPicture::decoded(bytes).map_err(|fault| refuse::picture(&fault))?;
        if let Some(dpi) = settings.scan_dpi {
            return Ok(scan::seen(picture, dpi));
        }
        let marks = marks::find(&picture.small());
        if marks.is_empty()
            && let Some(dpi) = scan::resolution(bytes)
        {
            return Ok(scan::seen(picture, dpi));
        }
        let (board, marks) = most_common(marks);
        let Some(board) = board.filter(|_| marks.len() >= locate::LEAST_MARKS) else {
            return Err(refuse::few_marks(marks.len()));
        };
        let measured = settings.measured.map(|length| length.map(Length::to_mm));
        let located = locate(&picture, board, &marks, measured).ok_or_else(refuse::no_dots)?;
        Ok(Self {
            picture,
            board,
            located,
            dpi: None,
        })
    }

    /// The templates that it shows, the largest first.
    pub(super) fn templates(&self) -> Vec<FoundTemplate> {
        let light = match self.dpi {
            Some(_) => Some(scan::light(&self.picture)),
            None => Light::around(&self.picture, &self.located.scene, &self.located.dots),
        };
        let board = self.dpi.is_none().then_some(&self.board);
        light.map_or_else(Vec::new, |light| {
            template::find(&self.picture, board, &self.located, light)
        })
    }

    /// Millimetres of the board to a pixel at a place in pixels.
    fn pixel_at(&self, p: Point) -> f64 {
        let at = |dx: f64, dy: f64| {
            self.located
                .scene
                .place(Point::new(p.x + dx, p.y + dy), 0.0)
        };
        match (at(0.0, 0.0), at(1.0, 0.0), at(0.0, 1.0)) {
            (Some(o), Some(x), Some(y)) => o.distance(x).max(o.distance(y)),
            _ => 1.0,
        }
    }

    /// The largest of that over the places of a line.
    fn pixel_along(&self, line: &[Point]) -> f64 {
        let step = line.len().div_ceil(40).max(1);
        line.iter()
            .step_by(step)
            .map(|&p| self.pixel_at(p))
            .fold(0.0, f64::max)
    }

    /// How far off (mm) it shows an edge that is a millimetre up, at most.
    pub(super) fn off_by_height(&self, found: &[FoundTemplate]) -> f64 {
        let off = |&p: &Point| {
            let [flat, up] = [0.0, 1.0].map(|height| self.located.scene.place(p, height));
            flat.zip(up).map_or(0.0, |(flat, up)| flat.distance(up))
        };
        let edges = found.iter().flat_map(|template| &template.edge.points);
        edges.map(off).fold(0.0, f64::max)
    }

    /// How sharply it shows `found`.
    pub(super) fn sharpness(&self, found: &[FoundTemplate]) -> Sharpness {
        let pixel = found
            .iter()
            .map(|t| self.pixel_along(&t.edge.points))
            .fold(0.0, f64::max);
        let soft = found.iter().map(|t| t.softness).fold(0.0, f64::max);
        let weak = found
            .iter()
            .map(|t| t.edge.weak_softness)
            .fold(soft, f64::max);
        let dots = self.located.left_pixels * pixel;
        let is_bright = found.iter().all(|t| t.edge.is_bright);
        // By colour alone an edge is off by a part of the blocks that colour is kept for.
        let block = if is_bright {
            1
        } else {
            self.picture.colour_block
        };
        let edge = pixel * (0.28 + 0.06 * soft) * (block as f64).sqrt();
        Sharpness {
            pixel,
            soft: soft * pixel,
            soft_weak: weak * pixel,
            by_height: self.off_by_height(found),
            error: (0.05_f64.powi(2) + (2.0 * dots).powi(2) + edge * edge).sqrt(),
        }
    }

    /// Templates of such a thickness (mm), in millimetres.
    pub(super) fn laid(&self, found: &[FoundTemplate], thickness: f64) -> Vec<LaidTemplate> {
        let on_board = |p: Point| self.located.scene.place(p, thickness);
        let line = |line: &FoundLine| self.laid_line(line, thickness);
        let marks = |template: &FoundTemplate| {
            let area =
                (self.pixel_along(&template.edge.points) * self.picture.scale() as f64).powi(2);
            let read = |inked: &Vec<Point>| {
                let points: Vec<Point> = inked.iter().filter_map(|&p| on_board(p)).collect();
                pen::read(&points, area)
            };
            template.inked.iter().map(read).collect()
        };
        let laid = found.iter().map(|template| LaidTemplate {
            lines: std::iter::once(&template.edge)
                .chain(&template.holes)
                .map(line)
                .collect(),
            pen: marks(template),
        });
        laid.collect()
    }
}

impl SeenPicture {
    /// A line in millimetres. Where an edge faces the camera, its lower rim is the outermost that is seen, on the board;
    /// elsewhere that is its upper one.
    fn laid_line(&self, line: &FoundLine, thickness: f64) -> LaidLine {
        let scene = &self.located.scene;
        let pairs = line.points.iter().zip(&line.at_border);
        let placed = pairs
            .zip(&line.is_weak)
            .filter_map(|((&p, &border), &weak)| {
                let both = [scene.place(p, thickness)?, scene.place(p, 0.0)?];
                Some((both, (border, weak)))
            });
        let (points, kinds): (Vec<[Point; 2]>, Vec<(bool, bool)>) = placed.unzip();
        let (at_border, is_weak): (Vec<bool>, Vec<bool>) = kinds.into_iter().unzip();
        let n = points.len();
        let eye = scene.eye();
        let seen = |k: usize| {
            let [upper, lower] = points[k];
            let along = points[(k + 3) % n][0] - points[(k + n.saturating_sub(3)) % n][0];
            // The template lies to the right of the way.
            let faces = along.cross(eye - upper) > 0.0;
            if faces { lower } else { upper }
        };
        let points: Vec<Point> = (0..n).map(seen).collect();
        let weak = points.iter().zip(is_weak).filter(|(_, weak)| *weak);
        LaidLine {
            weak: weak.map(|(p, _)| *p).collect(),
            points,
            at_border,
        }
    }
}

/// How far out (mm) a shadow of an edge that is up is looked for, and where there is none any more.
const SHADOW: [f64; 4] = [1.5, 2.5, 3.5, 4.5];
const LIT: [f64; 4] = [12.0, 14.0, 16.0, 18.0];
/// Board as dark as this part of what lies further out is in a shadow.
const SHADED: f64 = 0.82;
/// So long a shadow along an edge (mm) is none of a speck.
const LEAST_SHADOW: f64 = 40.0;

impl SeenPicture {
    /// A place (mm) of an edge that throws a shadow on the board: there it is up. A flat template of such a thickness throws one
    /// no wider than a few times that.
    pub(super) fn shadow(&self, found: &[FoundTemplate], thickness: f64) -> Option<Point> {
        let edges = found.iter().filter(|_| self.dpi.is_none());
        let mut lines = edges.map(|template| self.laid_line(&template.edge, 0.0));
        lines.find_map(|line| {
            let n = line.points.len();
            let mut length = 0.0;
            (0..n).step_by(2).find_map(|k| {
                let next = line.points[(k + 2) % n];
                length = if !line.at_border[k] && self.is_shaded(&line.points, k, thickness) {
                    length + line.points[k].distance(next)
                } else {
                    0.0
                };
                (length > LEAST_SHADOW).then_some(next)
            })
        })
    }

    /// Whether the board just outside point `k` of an edge is darker than further out.
    fn is_shaded(&self, edge: &[Point], k: usize, thickness: f64) -> bool {
        let n = edge.len();
        let along = edge[(k + 4) % n] - edge[(k + n - 4.min(n)) % n];
        let out = Vector::new(-along.y, along.x) * (1.0 / along.length().max(1e-9));
        // A dot of the board is dark too, but not at all four places.
        let lightest = |far: [f64; 4], more: f64| {
            let seen = far.iter().filter_map(|mm| {
                let p = self.located.scene.pixel_of(edge[k] + out * (mm + more))?;
                self.picture.colour_of(p)?;
                Some(self.picture.brightness_at(p))
            });
            seen.fold(0.0, f64::max)
        };
        lightest(SHADOW, 2.0 * thickness) < SHADED * lightest(LIT, 0.0)
    }
}

/// The board that most of the marks belong to, and those.
fn most_common(marks: Vec<FoundMark>) -> (Option<Board>, Vec<FoundMark>) {
    let key = |board: &Board| (board.paper, board.columns, board.rows);
    let mut counts = BTreeMap::new();
    for mark in &marks {
        *counts.entry(key(&mark.label.board)).or_insert(0) += 1;
    }
    let most = counts.into_iter().max_by_key(|&(_, n)| n).map(|(k, _)| k);
    let marks: Vec<FoundMark> = (marks.into_iter())
        .filter(|mark| Some(key(&mark.label.board)) == most)
        .collect();
    (marks.first().map(|mark| mark.label.board), marks)
}
