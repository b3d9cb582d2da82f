//! The photograph as it would be from straight above, true to scale, for the eye.

use super::seen::{self, SeenPicture};
use super::{PhotoFile, PhotoSettings, Sight, picture::DecodedPicture, read_seen};
use crate::diag::Diagnostics;
use crate::geometry::{Bounds, Point};

/// Photographs made true to scale, and what was read of them.
#[derive(Debug)]
#[non_exhaustive]
pub struct Rectified {
    /// Pixels across and down.
    pub size: [usize; 2],
    /// Red, green and blue of each pixel, row by row.
    pub pixels: Vec<u8>,
    /// What of the board it shows, mm; `None` where no board was located, and the picture is as the camera made it.
    pub shows: Option<Bounds>,
    /// What was read, or why it was refused.
    pub sight: Result<Sight, Diagnostics>,
}

/// Board around the template that is shown, mm.
const AROUND: f64 = 40.0;
/// Pixels along the side of a square that is looked up in one picture.
const SQUARE: usize = 16;
/// A place that is seen where no lens shows it (mm).
const ASTRAY: f64 = 1.0;
/// What no picture shows.
const NOTHING: [u8; 3] = [238, 236, 232];

/// Shows the photographs from above, in no more than so many pixels across and down.
///
/// # Errors
/// Why the first of them is no picture.
pub fn rectified(
    files: &[PhotoFile<'_>],
    settings: &PhotoSettings,
    most: [usize; 2],
) -> Result<Rectified, Diagnostics> {
    match seen::all(files, settings) {
        Ok(pictures) => {
            let sight = read_seen(&pictures, files, settings);
            let shows = shown(&pictures, sight.as_ref().ok());
            let (size, pixels) = from_above(&pictures, shows, most);
            Ok(Rectified {
                size,
                pixels,
                shows: Some(shows),
                sight,
            })
        }
        Err((n, problem)) => {
            let problem = super::refused(files, n, problem);
            let file = files.get(n).or(files.first());
            let picture = file.and_then(|file| DecodedPicture::decoded(file.bytes).ok());
            let Some(picture) = picture else {
                return Err(problem);
            };
            let (size, pixels) = as_it_is(&picture, most);
            Ok(Rectified {
                size,
                pixels,
                shows: None,
                sight: Err(problem),
            })
        }
    }
}

/// What is worth showing: the templates with some board around them, or all that was seen.
fn shown(pictures: &[SeenPicture], sight: Option<&Sight>) -> Bounds {
    let seen = pictures.iter().filter_map(SeenPicture::shows);
    let all = seen.reduce(|a, b| a.union(&b));
    let all = all.unwrap_or(Bounds {
        min: Point::default(),
        max: Point::new(1.0, 1.0),
    });
    let edges = sight.iter().flat_map(|sight| &sight.templates);
    let own = Bounds::of(edges.flat_map(|template| template.edge.iter().copied()));
    own.map_or(all, |own| Bounds {
        min: Point::new(
            (own.min.x - AROUND).max(all.min.x),
            (own.min.y - AROUND).max(all.min.y),
        ),
        max: Point::new(
            (own.max.x + AROUND).min(all.max.x),
            (own.max.y + AROUND).min(all.max.y),
        ),
    })
}

fn from_above(pictures: &[SeenPicture], shows: Bounds, most: [usize; 2]) -> ([usize; 2], Vec<u8>) {
    let sides = [shows.width().max(1e-6), shows.height().max(1e-6)];
    let mm = (sides[0] / most[0] as f64).max(sides[1] / most[1] as f64);
    let size = sides.map(|side| ((side / mm).round() as usize).max(1));
    let place = |x: usize, y: usize| {
        let right = (x as f64 + 0.5) * sides[0] / size[0] as f64;
        let down = (y as f64 + 0.5) * sides[1] / size[1] as f64;
        Point::new(shows.min.x + right, shows.max.y - down)
    };
    let squares = size[0].div_ceil(SQUARE);
    // For each square the picture that shows its middle.
    let of_square: Vec<Option<&SeenPicture>> = (0..squares * size[1].div_ceil(SQUARE))
        .map(|k| {
            let middle = |n: usize| n * SQUARE + SQUARE / 2;
            let at = place(middle(k % squares), middle(k / squares));
            pictures.iter().find(|seen| seen.shows_place(at, ASTRAY))
        })
        .collect();
    let mut pixels = Vec::with_capacity(3 * size[0] * size[1]);
    for y in 0..size[1] {
        for x in 0..size[0] {
            let seen = of_square[y / SQUARE * squares + x / SQUARE];
            let pixel = seen.and_then(|seen| seen.pixel_of(place(x, y)));
            pixels.extend(pixel.unwrap_or(NOTHING));
        }
    }
    (size, pixels)
}

/// The picture made smaller.
fn as_it_is(picture: &DecodedPicture, most: [usize; 2]) -> ([usize; 2], Vec<u8>) {
    let (width, height) = (picture.width, picture.height);
    let scale = width.div_ceil(most[0]).max(height.div_ceil(most[1])).max(1);
    let size = [width / scale, height / scale];
    let mut pixels = Vec::with_capacity(3 * size[0] * size[1]);
    for y in 0..size[1] {
        for x in 0..size[0] {
            pixels.extend(picture.coded(x * scale + scale / 2, y * scale + scale / 2));
        }
    }
    (size, pixels)
}

impl SeenPicture {
    /// What of the board it shows, mm: of a scan all, of a photograph what lies around its dots.
    fn shows(&self) -> Option<Bounds> {
        let (w, h) = (self.picture.width as f64, self.picture.height as f64);
        let corners = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)].map(|(x, y)| Point::new(x, y));
        let dots = self.located.dots.iter().map(|dot| dot.pixel);
        let seen: Vec<Point> = match self.dpi {
            Some(_) => corners.to_vec(),
            None => dots.collect(),
        };
        let places = seen
            .iter()
            .filter_map(|&p| self.located.scene.place(p, 0.0));
        Bounds::of(places)
    }

    /// Whether it shows a place of the board, which its lens shows nowhere else.
    fn shows_place(&self, at: Point, astray: f64) -> bool {
        let scene = &self.located.scene;
        let pixel = scene
            .pixel_of(at)
            .filter(|p| self.picture.colour_of(*p).is_some());
        pixel
            .and_then(|p| scene.place(p, 0.0))
            .is_some_and(|p| p.distance(at) < astray)
    }

    /// Red, green and blue that it shows at a place of the board.
    fn pixel_of(&self, at: Point) -> Option<[u8; 3]> {
        let p = self.located.scene.pixel_of(at)?;
        self.picture.colour_of(p)?;
        Some(self.picture.coded(p.x as usize, p.y as usize))
    }
}
