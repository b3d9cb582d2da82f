//! HATCH entities → the closed lines around their areas, where the job asks for them.

use super::document::Record;
use super::nurbs::Spline;
use super::reader::{EntityReader, RawEntity, take_vertex};
use super::tags::{Tag, TagFault};
use crate::geometry::{Point, Vector};
use crate::pattern::affine::Affine;
use crate::pattern::flatten::{Arc, CurvePen, Vertex};
use crate::pattern::shape::{Stroke, Strokes};

/// Boundary path flag (group 92): vertices with bulges instead of edges.
const POLYLINE: i64 = 2;

/// Boundary path flag (group 92): the box around a text that the hatch leaves free.
const TEXT_BOX: i64 = 8;

impl<'a> EntityReader<'_, 'a> {
    /// Draws the boundary paths of a HATCH (Autodesk DXF reference, "Boundary Path Data").
    pub(super) fn hatch(&mut self, entity: &RawEntity<'_, 'a>) -> Result<(), TagFault> {
        let record = entity.record;
        let Some(plane) = self.plane(entity.frame, &entity.common) else {
            return Ok(());
        };
        let Some(mut tags) = Pairs::behind(record, 91) else {
            return Err(record.fault("it has no boundary"));
        };
        let mut strokes = Vec::new();
        while let Some(path) = tags.skip_to(92) {
            let flags = path.integer()?;
            let stroke = if flags & POLYLINE != 0 {
                self.bulged_path(&mut tags, plane)?
            } else {
                self.edges(record, &mut tags, plane)?
            };
            if flags & TEXT_BOX == 0 && stroke.points.len() > 2 {
                strokes.push(stroke);
            }
        }
        if strokes.is_empty() {
            return Err(record.fault("it has no boundary"));
        }
        self.push_strokes("HATCH", &entity.common, Strokes::Many(strokes));
        Ok(())
    }

    fn bulged_path(&self, tags: &mut Pairs<'_, 'a>, plane: Affine) -> Result<Stroke, TagFault> {
        let mut vertices: Vec<Vertex> = Vec::new();
        while let Some(tag) = tags.next_in(&[72, 73, 93, 10, 20, 42]) {
            take_vertex(&mut vertices, &tag)?;
        }
        let mut pen = CurvePen::new(plane, self.chords);
        pen.polyline(&vertices, true);
        Ok(Stroke {
            points: pen.take(),
            closed: true,
        })
    }

    /// A path of lines, arcs and curves, one behind the other.
    fn edges(
        &self,
        record: &Record<'a>,
        tags: &mut Pairs<'_, 'a>,
        plane: Affine,
    ) -> Result<Stroke, TagFault> {
        let n_edges = tags.next_in(&[93]).map_or(Ok(0), |t| t.integer())?;
        let mut points: Vec<Point> = Vec::new();
        for _ in 0..n_edges {
            let Some(kind) = tags.next_in(&[72]) else {
                break;
            };
            let mut pen = CurvePen::new(plane, self.chords);
            match kind.integer()? {
                1 => {
                    let [x, y, to_x, to_y] = tags.reals([10, 20, 11, 21])?;
                    pen.move_to(Point::new(x, y));
                    pen.line_to(Point::new(to_x, to_y));
                }
                2 => {
                    let [x, y, radius, from, to] = tags.reals([10, 20, 40, 50, 51])?;
                    let v = Vector::new(0.0, radius) * tags.sense()?;
                    let u = Vector::new(radius, 0.0);
                    pen.arc(&Arc::between(Point::new(x, y), u, v, (from, to)));
                }
                3 => {
                    let [x, y, u, v, ratio] = tags.reals([10, 20, 11, 21, 40])?;
                    let [from, to] = tags.reals([50, 51])?;
                    let minor = Vector::new(-v, u) * ratio * tags.sense()?;
                    let major = Vector::new(u, v);
                    pen.arc(&Arc::between(Point::new(x, y), major, minor, (from, to)));
                }
                4 => spline(record, tags)?.draw(&mut pen),
                other => return Err(record.fault(format!("its edge type {other} is not known"))),
            }
            join(&mut points, pen.take());
        }
        Ok(closed(points))
    }
}

/// A spline edge: its groups 94 to 97 in the words of a SPLINE entity.
fn spline<'a>(record: &Record<'a>, tags: &mut Pairs<'_, 'a>) -> Result<Spline, TagFault> {
    let mut pairs: Vec<Tag<'a>> = Vec::new();
    let (mut n_fit, mut n_read) = (0, 0);
    while let Some(tag) = tags.next_in(&[
        94, 73, 74, 95, 96, 40, 10, 20, 42, 97, 11, 21, 12, 22, 13, 23,
    ]) {
        let code = match tag.code {
            94 => 71,
            42 => 41,
            code @ (40 | 10 | 20 | 11 | 21) => code,
            97 => {
                n_fit = tag.integer()?;
                // Without fit points this is the last pair of the edge, and what follows may be
                // the 97 of the path.
                if n_fit == 0 {
                    break;
                }
                continue;
            }
            _ => continue,
        };
        pairs.push(Tag { code, ..tag });
        n_read += i64::from(code == 21);
        if n_fit > 0 && n_read >= n_fit && tags.peek() != Some(12) {
            break;
        }
    }
    Spline::read(&Record {
        name: record.name,
        place: record.place,
        bytes: record.bytes,
        tags: pairs,
    })
}

/// Adds an edge's points to the path, turned round if that is how it follows.
fn join(path: &mut Vec<Point>, mut edge: Vec<Point>) {
    let (Some(&end), Some(&first), Some(&last)) = (path.last(), edge.first(), edge.last()) else {
        return path.extend(edge);
    };
    if end.distance(last) < end.distance(first) {
        edge.reverse();
    }
    path.extend_from_slice(&edge[1..]);
}

/// The path as a closed stroke; its last point comes back to the first.
fn closed(mut points: Vec<Point>) -> Stroke {
    if points.len() > 1 && points[0].distance(points[points.len() - 1]) < 1e-6 {
        points.pop();
    }
    Stroke {
        points,
        closed: true,
    }
}

/// The pairs of a record one after the other.
struct Pairs<'r, 'a> {
    rest: &'r [Tag<'a>],
    /// The one that was taken last.
    last: Tag<'a>,
}

impl<'r, 'a> Pairs<'r, 'a> {
    /// The pairs behind the first one with `code`, if there is one.
    fn behind(record: &'r Record<'a>, code: i32) -> Option<Self> {
        let at = record.tags.iter().position(|t| t.code == code)?;
        Some(Self {
            rest: &record.tags[at + 1..],
            last: record.tags[at],
        })
    }

    fn peek(&self) -> Option<i32> {
        self.rest.first().map(|t| t.code)
    }

    /// The next pair, if its code is one of `codes`.
    fn next_in(&mut self, codes: &[i32]) -> Option<Tag<'a>> {
        let (first, rest) = self.rest.split_first()?;
        codes.contains(&first.code).then(|| {
            self.rest = rest;
            self.last = *first;
            *first
        })
    }

    /// The next pair with `code`, others skipped.
    fn skip_to(&mut self, code: i32) -> Option<Tag<'a>> {
        let at = self.rest.iter().position(|t| t.code == code)?;
        self.last = self.rest[at];
        self.rest = &self.rest[at + 1..];
        Some(self.last)
    }

    /// 1 for an edge that runs counter-clockwise, −1 for one that runs clockwise: its angles are
    /// written negated, so they count from the mirrored axis.
    fn sense(&mut self) -> Result<f64, TagFault> {
        let ccw = self.next_in(&[73]).map_or(Ok(1), |t| t.integer())? != 0;
        Ok(if ccw { 1.0 } else { -1.0 })
    }

    /// The numbers of the next pairs, which must have `codes`.
    fn reals<const N: usize>(&mut self, codes: [i32; N]) -> Result<[f64; N], TagFault> {
        let mut numbers = [0.0; N];
        for (number, code) in numbers.iter_mut().zip(codes) {
            match self.next_in(&[code]) {
                Some(tag) => *number = tag.real()?,
                None => {
                    let tag = self.rest.first().unwrap_or(&self.last);
                    return Err(tag.fault("stands where another group is due"));
                }
            }
        }
        Ok(numbers)
    }
}
