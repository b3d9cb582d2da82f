//! Where the camera was: marks, then dots, then everything.

use super::board::Board;
use super::board::MARK;
use super::camera::Camera;
use super::dots;
use super::fit::{BoardPose, DOT_NOISE, Freedom, SeenPoint};
use super::marks::FoundMark;
use super::picture::DecodedPicture;
use super::solve::homography;
use crate::geometry::{Point, Vector};

/// Fewer marks than this do not tell where the camera was.
pub(super) const LEAST_MARKS: usize = 4;
/// Focal length of a usual phone, in longer sides of the picture.
const USUAL_FOCAL: f64 = 0.75;
/// Dots that are off by more than this many pixels, or several times the usual, are something else.
const FAR_OFF: f64 = 1.5;

/// A board located in a picture.
#[derive(Clone)]
pub(super) struct LocatedMarks {
    pub(super) scene: BoardPose,
    /// The dots that were found and fit.
    pub(super) dots: Vec<SeenPoint>,
    /// Root mean square of what is left between dots and scene, pixels.
    pub(super) left_pixels: f64,
    /// Millimetres of the board to a pixel, in the middle of what was seen.
    pub(super) pixel: f64,
}

/// Millimetres of the board to a pixel, in the middle of what `scene` shows as `dots`.
fn pixel_size(scene: &BoardPose, dots: &[SeenPoint]) -> f64 {
    let mut sizes: Vec<f64> = (dots.iter())
        .filter_map(|dot| {
            let at = |dx: f64| scene.place(Point::new(dot.pixel.x + dx, dot.pixel.y), 0.0);
            Some(at(0.0)?.distance(at(1.0)?))
        })
        .collect();
    sizes.sort_by(f64::total_cmp);
    sizes.get(sizes.len() / 2).copied().unwrap_or(f64::INFINITY)
}

/// Locates `board` by its `marks` and dots. `measured` are the lengths of its two lines, where they were measured.
pub(super) fn locate(
    picture: &DecodedPicture,
    board: Board,
    marks: &[FoundMark],
    measured: [Option<f64>; 2],
) -> Option<LocatedMarks> {
    let corners: Vec<SeenPoint> = marks.iter().flat_map(corners).collect();
    let middle = Point::new(picture.width as f64 / 2.0, picture.height as f64 / 2.0);
    let focal = USUAL_FOCAL * picture.width.max(picture.height) as f64;
    let pairs: Vec<(Point, Point)> = corners
        .iter()
        .map(|seen| (board.middle(seen.tile) + seen.at, seen.pixel))
        .collect();
    let camera = Camera::of_homography(focal, middle, &homography(&pairs)?)?;
    let mut scene = BoardPose::new(board, camera, focal, middle, measured);
    scene.fit(&corners, Freedom::Rough);
    let mut found = dots::find(picture, &board, &scene);
    if found.len() < 3 * LEAST_MARKS {
        return None;
    }
    scene.fit(&found, Freedom::Full);
    found = dots::find(picture, &board, &scene);
    settled(scene, found)?.into_iter().next()
}

/// Locates a board in several pictures at once, each of which was located by itself: its sheets lie as they lie,
/// whatever picture shows them.
pub(super) fn joined(located: &[LocatedMarks]) -> Option<Vec<LocatedMarks>> {
    let poses: Vec<BoardPose> = located.iter().map(|l| l.scene.clone()).collect();
    let dots = located.iter().enumerate().flat_map(|(view, located)| {
        let dots = located.dots.iter().copied();
        dots.map(move |dot| SeenPoint { view, ..dot })
    });
    settled(BoardPose::of_all(&poses)?, dots.collect())
}

/// Fits `scene` to the dots and leaves out those that fit badly, again and again; the result for each picture.
fn settled(mut scene: BoardPose, mut found: Vec<SeenPoint>) -> Option<Vec<LocatedMarks>> {
    for _ in 0..4 {
        if found.len() < 3 * LEAST_MARKS {
            return None;
        }
        scene.fit(&found, Freedom::Full);
        let off = |scene: &BoardPose, found: &[SeenPoint]| {
            let mut all: Vec<f64> = found.iter().map(|s| scene.off(s)).collect();
            all.sort_by(f64::total_cmp);
            all[all.len() / 2]
        };
        let limit = (6.0 * off(&scene, &found)).clamp(0.15, FAR_OFF);
        found.retain(|seen| scene.off(seen) < limit);
        if found.len() < 3 * LEAST_MARKS {
            return None;
        }
        scene.noise = (1.5 * off(&scene, &found)).max(DOT_NOISE);
    }
    let of_view = |view: usize| {
        let dots: Vec<SeenPoint> = found.iter().copied().filter(|s| s.view == view).collect();
        let sum: f64 = dots.iter().map(|seen| scene.off(seen).powi(2)).sum();
        let scene = scene.seen_in(view);
        LocatedMarks {
            pixel: pixel_size(&scene, &dots),
            scene,
            left_pixels: (sum / dots.len().max(1) as f64).sqrt(),
            dots,
        }
    };
    Some((0..scene.n_views()).map(of_view).collect())
}

/// The corners of a mark, as places that were seen.
fn corners(mark: &FoundMark) -> [SeenPoint; 4] {
    let half = MARK / 2.0;
    let own = mark.label.mark;
    let middle = mark.label.board.mark_at(own.corner);
    let at = [(-half, half), (half, half), (half, -half), (-half, -half)];
    std::array::from_fn(|i| SeenPoint {
        tile: own.tile,
        at: middle + Vector::new(at[i].0, at[i].1),
        pixel: mark.corners[i],
        view: 0,
    })
}
