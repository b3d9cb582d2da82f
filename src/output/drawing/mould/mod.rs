//! A part on its mould as a person sees it: the mould, the part on it, its cloth with yarns and shear, where to begin and
//! where to watch.

mod bands;
mod mask;
mod view;
mod whole;

pub(in crate::output) use whole::candidates;

use glam::DVec3;

use self::bands::ShearBands;
use self::view::{Eye, MouldView, Sides};
use super::figure::{Figure, Look};
use super::shape::{Drawing, Shape, TextLine};
use crate::drape::{Drape, OnArea};
use crate::geometry::{Point, Vector};
use crate::mould::surface::Surface;
use crate::output::drawing::shape::Align;
use crate::output::style::{CAPITALS_PER_SIZE, hatch};
use crate::ply::gusset::letters;
use crate::units::Angle;

/// Width of a drawing and its greatest height, pixels; room around what is drawn.
const WIDTH: f64 = 345.0;
const HIGHEST: f64 = 260.0;
const AROUND: f64 = 10.0;
/// Room above for a name.
const ABOVE: f64 = 24.0;
/// Room below for the key: a row of swatches, and two lines of words.
const KEY: f64 = 56.0;
/// From line to line where the cloth locks, pixels.
const LOCKED: f64 = 4.0;
/// Length of the 0° line at the start, and of its head, pixels.
const ZERO: f64 = 46.0;
/// Radius of the ring around a place to watch.
const WATCH: f64 = 9.0;
/// Distances of the yarns that are drawn, mm; the first that leaves fewer than this many in the longest line.
const APART: [f64; 4] = [50.0, 100.0, 200.0, 500.0];
const MOST_YARNS: f64 = 24.0;

/// From where a part is seen.
struct Side {
    from: DVec3,
    name: String,
}

/// A cloth on its part, seen slantwise and from three sides; `lock` is the shear (degrees) from which it wrinkles.
pub(in crate::output) fn figures(drape: &Drape, lock: Option<f64>) -> Vec<Figure> {
    let OnArea { area, net, .. } = drape.on();
    let reach = area.edges.iter().flatten().map(|side| side.from);
    let reach = reach.fold([DVec3::INFINITY, DVec3::NEG_INFINITY], |[low, high], p| {
        [low.min(p), high.max(p)]
    });
    let long = (reach[1] - reach[0]).max_element();
    let apart = APART.into_iter().find(|apart| long / apart < MOST_YARNS);
    let (yarns, apart) = net.yarns(apart.unwrap_or(long / MOST_YARNS));
    let bands = ShearBands::up_to(drape.shear().degrees);
    let drawn = OnMould {
        drape,
        bands,
        lock: lock.filter(|lock| drape.shear().degrees > *lock),
        yarns,
        apart,
    };
    let of_part = (0..area.surface.n_faces()).filter(|&face| area.inside[face as usize]);
    let sides = sides(&area.surface, of_part).into_iter().enumerate();
    sides
        .filter_map(|(k, side)| drawn.figure(&side, k == 0))
        .collect()
}

/// Slantwise and along the three axes, so that the front of `faces` is seen.
fn sides(surface: &Surface, faces: impl Iterator<Item = u32>) -> Vec<Side> {
    let whole: DVec3 = faces
        .map(|face| surface.normal(face) * surface.area(face))
        .sum();
    let most = whole.abs().max_element();
    let usual = [1.0, -1.0, 1.0];
    let signs = [0, 1, 2].map(|k| {
        let own = whole.to_array()[k];
        if own.abs() > 0.05 * most {
            own.signum()
        } else {
            usual[k]
        }
    });
    let name = |k: usize| {
        format!(
            "{}{}",
            if signs[k] > 0.0 { '+' } else { '−' },
            ['x', 'y', 'z'][k]
        )
    };
    let slant = DVec3::new(0.45 * signs[0], 0.65 * signs[1], 0.62 * signs[2]);
    let along = |k: usize| {
        let mut from = DVec3::ZERO;
        from[k] = signs[k];
        let side = match (k, signs[k] > 0.0) {
            (2, true) => format!("From above ({})", name(k)),
            (2, false) => format!("From below ({})", name(k)),
            _ => format!("From the side ({})", name(k)),
        };
        Side { from, name: side }
    };
    let slantwise = Side {
        from: slant,
        name: format!("Slantwise, from {} {} {}", name(0), name(1), name(2)),
    };
    vec![slantwise, along(2), along(1), along(0)]
}

/// What all drawings of a cloth on its part share.
struct OnMould<'a> {
    drape: &'a Drape,
    bands: ShearBands,
    lock: Option<f64>,
    yarns: Vec<Vec<DVec3>>,
    /// How far the yarns are apart, mm.
    apart: f64,
}

impl OnMould<'_> {
    fn figure(&self, side: &Side, has_key: bool) -> Option<Figure> {
        let OnArea { area, .. } = self.drape.on();
        let room = (WIDTH - 2.0 * AROUND, HIGHEST);
        let view = MouldView::new(&area.surface, Eye::from(side.from), Sides::Front, room)?;
        let (wide, high) = view.size();
        let mut drawing = Drawing::default();
        let title = format!("{} at {}", side.name, self.drape.name());
        drawing.text(Look::Name, Point::new(0.0, 14.0), side.name.as_str());
        let corner = Vector::new((WIDTH - wide) / 2.0, ABOVE);
        let mut on_view = Drawing::default();
        self.cloth(&view, &mut on_view);
        self.marks(&view, &mut on_view);
        for item in on_view.items {
            drawing.add(item.layer, None, item.shape.mapped(|p| p + corner, 1.0));
        }
        let mut height = ABOVE + high + AROUND;
        if has_key {
            self.key(height, &mut drawing);
            height += KEY;
        }
        Some(Figure {
            kind: "surface",
            width: WIDTH,
            height,
            title,
            drawing,
        })
    }

    /// The mould, the part, its shear, its yarns.
    fn cloth(&self, view: &MouldView<'_>, drawing: &mut Drawing<Look>) {
        let OnArea { area, net, .. } = self.drape.on();
        let is_part = |face: u32| area.inside[face as usize];
        drawing.area(Look::Mould, view.area(|_| true));
        drawing.area(Look::Ply, view.area(is_part));
        let cells = net
            .cells()
            .map(|cell| cell.map(|node| (node.at, node.shear)));
        let values = view.values(cells, is_part);
        let mut numbers = Vec::new();
        for band in self.bands.all() {
            let is_in = |at: usize| values[at].is_some_and(|shear| band.holds(shear));
            let mask = view.mask(is_in);
            let rings = view.rings(&mask);
            if rings.is_empty() {
                continue;
            }
            drawing.area(Look::Shear(band.shade), rings);
            let inside = mask
                .innermost()
                .map(|(p, off)| (MouldView::drawn(p), MouldView::drawn_length(off)));
            // White needs no number, and the start lies in it.
            let number = inside.filter(|_| band.is_shaded());
            numbers.extend(number.map(|(p, off)| (p, off, band.name())));
        }
        if let Some(lock) = self.lock {
            let is_locked = |at: usize| values[at].is_some_and(|shear| shear > lock);
            let rings = view.rings(&view.mask(is_locked));
            let lines = hatch::lines(&rings, Angle::degrees(45.0), LOCKED);
            drawing.lines(
                Look::Locked,
                lines.into_iter().map(|line| line.to_vec()).collect(),
            );
        }
        drawing.lines(Look::Whole, view.edges());
        let on_part = |p: DVec3| view.seen_on(p, is_part);
        let seen = |lines: &[Vec<DVec3>]| -> Vec<Vec<Point>> {
            lines
                .iter()
                .flat_map(|line| view.seen_of(line, on_part))
                .collect()
        };
        drawing.lines(Look::Yarn, seen(&self.yarns));
        let edges: Vec<Vec<DVec3>> = area
            .edges
            .iter()
            .map(|edge| {
                let points = edge.iter().map(|side| side.from);
                points.chain(edge.first().map(|side| side.from)).collect()
            })
            .collect();
        let seen_edges = edges
            .iter()
            .flat_map(|edge| view.seen_of(edge, |p| view.is_seen(p)));
        drawing.lines(Look::Rim, seen_edges.collect());
        let [warp, weft] = net.first_yarns();
        drawing.lines(Look::Edge, seen(&weft));
        drawing.lines(Look::Warp, seen(&warp));
        for (at, room, name) in numbers {
            if room > NUMBER / 2.0 + 3.0 {
                number(at, name, drawing);
            }
        }
    }

    /// The start, the 0° line through it, and the place of the largest shear.
    fn marks(&self, view: &MouldView<'_>, drawing: &mut Drawing<Look>) {
        let OnArea { zero, .. } = self.drape.on();
        let start = DVec3::from_array(self.drape.start());
        if view.is_seen(start) {
            let at = view.at(start);
            let along = view.at(start + *zero) - view.at(start);
            let length = along.length();
            // Not where it runs toward the eye.
            if length > 1e-9 {
                let tip = at + along * (ZERO / length.max(1e-9));
                drawing.line(Look::Zero, &[at, tip]);
                drawing.text(
                    Look::OfFibres,
                    tip + along * (9.0 / length) + Vector::new(0.0, 4.0),
                    "0°",
                );
            }
            drawing.dot(Look::End, at, 4.0);
        }
        for (relief, letter) in self.drape.reliefs().iter().zip(letters()) {
            let [tip, mouth] = [relief.cut.tip, relief.cut.mouth].map(DVec3::from_array);
            // Near the mouth, where there is room.
            let at = tip.lerp(mouth, 0.8);
            if view.is_seen(at) {
                number(view.at(at), letter.to_string(), drawing);
            }
        }
        let shear = self.drape.shear();
        let place = DVec3::from_array(shear.at);
        if shear.degrees >= 1.0 && view.is_seen(place) {
            drawing.dot(Look::Watch, view.at(place), WATCH);
        }
    }

    /// What the shades mean, below the drawing.
    fn key(&self, top: f64, drawing: &mut Drawing<Look>) {
        let bands: Vec<_> = self.bands.all().collect();
        let wide = (WIDTH / bands.len().max(1) as f64).min(52.0);
        for (k, band) in bands.iter().enumerate() {
            let left = wide * k as f64;
            drawing.rectangle(Look::Shear(band.shade), (left, top), (wide, 14.0));
            number(
                Point::new(left + wide / 2.0, top + 7.0),
                band.name(),
                drawing,
            );
        }
        let locked = self.lock.map_or(String::new(), |lock| {
            format!(" Hatched: beyond its lock of {lock:.0}°.")
        });
        let let_in = match self.drape.reliefs().is_empty() {
            true => "",
            false => " Letters: gussets.",
        };
        let lines = [
            format!("Shear in degrees. Ring: most shear.{locked}{let_in}"),
            format!("Thin lines: yarns each {:.0} mm.", self.apart),
        ];
        for (k, words) in lines.into_iter().enumerate() {
            let below = top + 30.0 + 16.0 * k as f64;
            drawing.text(Look::Small, Point::new(0.0, below), words);
        }
    }
}

impl Figure {
    /// Names the cloth in place of the side that it is seen from.
    pub(in crate::output) fn name_cloth(&mut self, cloth: &str) {
        for item in &mut self.drawing.items {
            if let (Look::Name, Shape::Text(line)) = (item.layer, &mut item.shape) {
                line.text = format!("Cloth at {cloth}");
            }
        }
    }
}

/// Size of numbers on the cloth, pixels.
const NUMBER: f64 = 10.0;

fn number(at: Point, text: String, drawing: &mut Drawing<Look>) {
    let height = NUMBER * CAPITALS_PER_SIZE;
    let at = at + Vector::new(0.0, height / 2.0);
    let line = TextLine::level(text, at, Align::Middle, height);
    drawing.add(Look::OfFibres, None, Shape::Text(line));
}
