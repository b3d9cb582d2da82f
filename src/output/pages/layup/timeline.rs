//! The time under one bag, drawn: batches mixed and laid, the bag, and when the first batch gels.

use crate::geometry::Point;
use crate::job::ResinSystem;
use crate::output::drawing::face;
use crate::output::drawing::figure::{Figure, Look};
use crate::output::drawing::shape::Drawing;
use crate::output::pages::model::Passage;
use crate::output::pages::prose::prose;
use crate::output::pages::words::{counted, minutes};
use crate::output::style::CAPITALS_PER_SIZE;
use crate::plan::{PartCoat, PartUse, Timeline};
use crate::units::Duration;

/// Width of the drawing and of the room for the axis, pixels.
const WIDTH: f64 = 720.0;
const AXIS: f64 = 690.0;
const LEFT: f64 = 10.0;
/// Top and bottom of the bars, pixels.
const TOP: f64 = 34.0;
const BOTTOM: f64 = 60.0;
const HEIGHT: f64 = 84.0;

/// The time of one set of a stage of `part`, on the `coat` that comes before it.
pub(super) fn section(
    part: &PartUse,
    timeline: &Timeline,
    system: &ResinSystem,
    coat: Option<&PartCoat>,
) -> Vec<Passage> {
    let gels = minutes(timeline.open_until);
    let told = prose! {
        (counted(system.people as usize, "person", "people")) " laying " (system.laying_speed.to_string())
        if (system.people > 1) { " each" } ", " (minutes(system.mixing_time)) " to mix a batch. "
        if let (Some(coat) = coat) {
            "Gel coat on after " Strong { (minutes(coat.on)) }
            if let (Some(tacky) = coat.tacky) { ", tacky after about " Strong { (minutes(tacky)) } }
            ": only then the first mix of resin. "
        }
        "From the start of the first mix: last ply wetted out after " Strong { (minutes(timeline.last_ply())) }
        if let (Some(bag) = timeline.bag) {
            ", full vacuum after " Strong { (minutes(bag.full_vacuum)) } ", leak check done after "
            (minutes(bag.leak_checked))
        }
        ". In a thin film at " (system.room.to_string()) " the first batch gels after about " Strong { (gels) }
        ". Pale: a batch is mixed; dark: it is laid."
    };
    let title = match part.bag.as_ref().and_then(|bag| bag.shared) {
        Some(_) => format!("Time for all parts of bag {}", part.bag_name()),
        None => "Time for one set".to_owned(),
    };
    let mut passages = vec![
        Passage::heading(title),
        Passage::plain(told),
        Passage::Figure(figure(part.name(), timeline, coat)),
    ];
    if let Some(ways) = part.ways_out().filter(|_| !timeline.is_in_time()) {
        passages.push(Passage::note(prose! {
            Strong { "Do not start like this: the first batch gels before the bag presses. " }
            "What helps: " (ways) "."
        }));
    }
    passages
}

fn figure(name: &str, timeline: &Timeline, coat: Option<&PartCoat>) -> Figure {
    // What is before the first mix of resin.
    let lead = coat.map_or(Duration::ZERO, |coat| coat.tacky.unwrap_or(coat.on));
    let end = timeline
        .bag
        .map_or(timeline.last_ply(), |bag| bag.leak_checked);
    let end = lead.to_minutes() + end.to_minutes().max(timeline.open_until.to_minutes());
    let place = |minutes: f64| LEFT + minutes / end * AXIS;
    let x = |time: Duration| place((lead + time).to_minutes());
    let mut drawing = Drawing::default();
    let mut bar = |from: f64, to: f64, shade: f64, text: &str| {
        let corners = [(from, TOP), (to, TOP), (to, BOTTOM), (from, BOTTOM)];
        let corners = corners.map(|(x, y)| Point::new(x, y)).to_vec();
        drawing.area(Look::Region(shade), vec![corners]);
        let height = Look::Inside.size() * CAPITALS_PER_SIZE;
        if !text.is_empty() && to - from > face::width(text, height) {
            let middle = Point::new((from + to) / 2.0, BOTTOM - 8.0);
            drawing.text(Look::Inside, middle, text);
        }
    };
    for timed in &timeline.batches {
        let (begun, mixed, laid) = (x(timed.begun), x(timed.mixed), x(timed.laid));
        bar(begun, mixed, 0.08, "");
        bar(mixed, laid, 0.35, &(timed.batch + 1).to_string());
    }
    if let Some(coat) = coat {
        let on = place(coat.on.to_minutes());
        bar(LEFT, on, 0.2, "gel coat");
        bar(on, x(Duration::ZERO), 0.0, "tacky?");
    }
    if let Some(bag) = timeline.bag {
        bar(x(timeline.last_ply()), x(bag.full_vacuum), 0.0, "bag");
        bar(x(bag.full_vacuum), x(bag.leak_checked), 0.0, "leak check");
    }
    let gels = x(timeline.open_until);
    let line = [TOP - 12.0, BOTTOM + 4.0].map(|y| Point::new(gels, y));
    drawing.line(Look::Edge, &line);
    let text = "first batch gels";
    let left = (gels - 50.0).clamp(LEFT, LEFT + AXIS - 100.0);
    drawing.text(Look::Small, Point::new(left, TOP - 17.0), text);
    let step = step(end);
    let ticks = (0_u32..)
        .map(|i| f64::from(i) * step)
        .take_while(|t| *t <= end);
    for minutes in ticks {
        let at = place(minutes);
        let tick = [BOTTOM, BOTTOM + 5.0].map(|y| Point::new(at, y));
        drawing.line(Look::Leader, &tick);
        let text = format!("{}:{:02}", (minutes / 60.0) as u32, (minutes % 60.0) as u32);
        let left = (at - 10.0).clamp(0.0, WIDTH - 30.0);
        drawing.text(Look::Small, Point::new(left, BOTTOM + 18.0), text);
    }
    Figure {
        kind: "timeline",
        width: WIDTH,
        height: HEIGHT,
        title: format!("Time for one set of {name}: batches, bag, and when the first batch gels"),
        drawing,
    }
}

/// From tick to tick, minutes: at most a dozen.
fn step(end: f64) -> f64 {
    const STEPS: [f64; 8] = [5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 240.0, 480.0];
    let wide = STEPS.into_iter().find(|step| end / step <= 12.0);
    wide.unwrap_or_else(|| (end / 12.0 / 60.0).ceil() * 60.0)
}
