//! Two of each of three polygons in a strip of cloth: `cargo run --example nest_polygons`

use warpwise::geometry::{Outline, Point, Ring};
use warpwise::nest::{Continue, Problem, SearchSettings, Shape, nest};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut shapes = Vec::new();
    for size in [300.0, 250.0, 180.0] {
        let corners = [(0.0, 0.0), (size, 0.0), (size, 50.0), (99.0, size)];
        let ring = Ring::new(corners.map(|(x, y)| Point::new(x, y)))?;
        shapes.push(Shape::new(Outline::solid(ring), &[0.0, 180.0], 2));
    }
    // Each in two turns, twice, at least 3 mm apart on cloth 500 mm wide.
    let problem = Problem::strip(shapes, 500.0, 3.0);
    let found = nest(&problem, &SearchSettings::default(), &|_| Continue::Yes)?;
    for placed in found.placed() {
        let outline = placed.outline(&problem.shapes);
        anstream::println!("polygon {} from {:?}", placed.shape, outline.bounds().min);
    }
    anstream::println!("{:.1} mm of cloth", found.length());
    Ok(())
}
