//! A bag over several parts, drawn: how they lie in it.

use crate::geometry::{Point, Vector, trig};
use crate::output::drawing::figure::{Figure, Look};
use crate::output::drawing::shape::Drawing;
use crate::output::pages::model::Passage;
use crate::output::pages::prose::prose;
use crate::plan::{PartBag, Plan, SharedBag};

/// Largest width and height of the drawing, pixels, and what is left free round it.
const WIDTH: f64 = 480.0;
const HEIGHT: f64 = 320.0;
const FREE: f64 = 12.0;

/// How the parts of each shared bag lie in it; of all bags, or of that in which part `of` lies.
pub(super) fn section(plan: &Plan, of: Option<usize>) -> Vec<Passage> {
    let shared = plan.work().bagging.iter().flat_map(|bags| &bags.shared);
    let shared = shared.filter(|bag| of.is_none_or(|of| bag.parts.contains(&of)));
    shared
        .filter_map(|bag| Some((bag, plan.parts()[bag.parts[0]].bag.as_ref()?)))
        .flat_map(|(shared, bag)| {
            let about = prose! {
                "How " (names(plan, shared)) " lie in bag " Strong { (&shared.name) }
                ", seen from above. Outer line: the sealant tape. Dashed: 0° of each part."
            };
            [
                Passage::plain(about),
                Passage::Figure(figure(plan, shared, bag)),
            ]
        })
        .collect()
}

/// The parts of a shared bag: `A, B and C`.
pub(super) fn names(plan: &Plan, bag: &SharedBag) -> String {
    let names: Vec<&str> = bag
        .parts
        .iter()
        .map(|idx| plan.parts()[*idx].name())
        .collect();
    match names.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => names.concat(),
    }
}

fn figure(plan: &Plan, shared: &SharedBag, bag: &PartBag) -> Figure {
    let (length, width) = (bag.tape_line.0.to_mm(), bag.tape_line.1.to_mm());
    let scale = ((WIDTH - 2.0 * FREE) / length).min((HEIGHT - 2.0 * FREE) / width);
    let at = |p: Point| Point::new(FREE + p.x * scale, FREE + (width - p.y) * scale);
    let mut drawing = Drawing::default();
    let corners = [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)];
    drawing.area(
        Look::Whole,
        vec![corners.map(|(x, y)| at(Point::new(x, y))).to_vec()],
    );
    for ((idx, outline), zero) in shared.parts.iter().zip(&shared.lying).zip(&shared.zeros) {
        let ring = outline.outer.points().iter().map(|p| at(*p)).collect();
        drawing.area(Look::Ply, vec![ring]);
        let bounds = outline.bounds();
        let centre = at(bounds.centre());
        let (sin, cos) = trig::sin_cos(*zero);
        let reach = 0.35 * bounds.short_side() * scale;
        drawing.line(
            Look::Zero,
            &[centre, centre + Vector::new(cos, -sin) * reach],
        );
        drawing.text(
            Look::Inside,
            centre + Vector::new(0.0, -4.0),
            plan.parts()[*idx].name(),
        );
    }
    Figure {
        kind: "plan",
        width: 2.0 * FREE + length * scale,
        height: 2.0 * FREE + width * scale,
        title: format!("How {} lie in bag {}", names(plan, shared), shared.name),
        drawing,
    }
}
