//! A part on a mould: what of the mould it is, and how it is laid there.

use super::keys::{
    Direction, Flag, Lengths, Lines, NameList, OneOf, Places, Section, SomeText, keys,
};
use super::part::{PartKeys, UNITS};
use super::reader::JobReader;
use super::rules::{AngleRule, LengthRule};
use super::table::JobTable;
use crate::drape::{Darts, LayChoice, Smoothing};
use crate::mould::{AreaChoice, ClosedLine};
use crate::units::{Angle, Length, LengthUnit};
use crate::words::words;

/// What the job says of a part whose mould is a file of triangles.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct OnMould {
    /// What of the mould is the part, without what the drawing of its line says.
    pub area: AreaChoice,
    /// The drawing of a closed line around it.
    pub line: Option<LineDrawing>,
    /// How its plies are laid.
    pub lay: LayChoice,
}

/// The drawing of a closed line around a part on a mould.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct LineDrawing {
    /// Its file, as written.
    pub file: String,
    /// Its unit where the file does not say.
    pub unit: Option<LengthUnit>,
    /// The way from the drawing to the mould.
    pub along: [f64; 3],
    /// Where its origin lies, mm.
    pub at: [f64; 3],
}

/// A drawing lies over its mould if nothing else is said.
const FROM_ABOVE: [f64; 3] = [0.0, 0.0, -1.0];

words! {
    /// What becomes of holes in a part.
    pub(super) enum Holes {
        /// The cloth covers them.
        Covered = "covered",
        /// They are openings of the part.
        Cut = "cut",
    }
}

words! {
    /// On which side of the triangles the cloth lies.
    pub(super) enum TriangleSide {
        /// Where their corners are seen counter-clockwise.
        Front = "front",
        /// The other.
        Back = "back",
    }
}

words! {
    /// An axis of the mould's file.
    pub(super) enum Axis {
        /// x.
        X = "x",
        /// y.
        Y = "y",
        /// z.
        Z = "z",
    }
}

/// No mould reaches further (mm) from the origin of its file.
const FARTHEST: f64 = 1e6;
const POINT: Lengths = Lengths {
    most: FARTHEST,
    is_good: |_| true,
};
const HEIGHT: LengthRule = LengthRule::any("place of the plane")
    .likely(-FARTHEST..=FARTHEST)
    .most(FARTHEST);
const LAP: LengthRule = LengthRule::positive("lap")
    .help("it is measured on the mould, from the limit on")
    .likely(1.0..=200.0)
    .most(2000.0);
const GUSSET_LAP: LengthRule = LengthRule::positive("lap of a gusset")
    .help("it is measured on the mould, from the lips of the cut on")
    .likely(5.0..=100.0)
    .most(1000.0);
const NET: LengthRule = LengthRule::positive("width of the net")
    .help(
        "it is the distance of the yarns that are computed, a third of the smallest radius or less",
    )
    .likely(0.2..=20.0)
    .most(100.0);

keys! {
    /// What `[part.area]` says.
    AreaKeys: "an area", "[part.area]", "What of its mould the part is; all that hangs together, if left out. Every key narrows it further.";
    seed: [Length; 3] = POINT, Means("the largest piece"), "[\"0 mm\", \"0 mm\", \"120 mm\"]", "a point of the part: all that hangs together with it";
    crease: Angle = AngleRule::Corner, Means("no limit"), "30 deg", "edges of the mould that bend more than this end it";
    above: JobTable<'t> = Section(PlaneKeys::keys), Means("no limit"), "{ z = \"12 mm\" }", "what lies above these values of x, y, z";
    below: JobTable<'t> = Section(PlaneKeys::keys), Means("no limit"), "{ z = \"80 mm\" }", "what lies below these values";
    lap: JobTable<'t> = Section(LapKeys::keys), Means("ends at its limits"), "{ x = \"20 mm\" }", "how far it goes on beyond its limits along these axes, measured on the mould: half the lap, where the part beside it does the same";
    group: Vec<String> = NameList, Means("all"), "\"skin\"", "groups, materials or colours (`#rrggbb`) of the file, one or a list";
    inside: Vec<[Length; 2]> = Places, Means("no limit"), "[[\"0 mm\", \"0 mm\"], [\"200 mm\", \"0 mm\"], [\"0 mm\", \"90 mm\"]]", "corners of a closed line around it, seen along `along`";
    along: Axis = OneOf, Is("z"), "x", "the axis along which `inside` is seen; its corners are by the two other axes: x y, y z or z x";
    line: String = SomeText, Means("no limit"), "trim.svg", "a drawing of one closed line around it (SVG or DXF, relative to the job file), seen along `line_along`; all of it lies on the mould, and closed lines within it are openings";
    line_along: [f64; 3] = Direction, Means("[0, 0, -1], from above"), "[0, 1, 0]", "the way from the drawing to the mould, as a direction in space; up on the drawing is z, or y where the way is along z";
    line_at: [Length; 3] = POINT, Means("the mould's origin"), "[\"20 mm\", \"0 mm\", \"0 mm\"]", "where the drawing's origin lies: of an SVG the lower left corner of its page";
    line_units: LengthUnit = UNITS, Means("as in the file"), "in", "unit of a `line` whose drawing does not state one";
    holes: Holes = OneOf, Is("covered"), "cut", "whether the cloth covers holes of the mould, or they are openings of the part";
    side: TriangleSide = OneOf, Is("front"), "back", "on which side of the triangles the cloth lies; `front` is where the file's corners run counter-clockwise";
    scan: bool = Flag, Is("false"), "true", "the mould was scanned: its noise is smoothed, and the first yarns run steadily over what is left of it; folds are rounded with it";
}

keys! {
    /// What `above` and `below` say.
    PlaneKeys: "a limit", "[part.area.above]", "Values of the mould's axes.";
    x: Length = HEIGHT, Means("no limit"), "10 mm", "along x";
    y: Length = HEIGHT, Means("no limit"), "10 mm", "along y";
    z: Length = HEIGHT, Means("no limit"), "10 mm", "along z";
}

keys! {
    /// What `lap` says.
    LapKeys: "a lap", "[part.area.lap]", "How far a part goes on beyond its limits.";
    x: Length = LAP, Means("ends at its limits"), "20 mm", "beyond those along x";
    y: Length = LAP, Means("ends at its limits"), "20 mm", "beyond those along y";
    z: Length = LAP, Means("ends at its limits"), "20 mm", "beyond those along z";
}

keys! {
    /// What `[part.lay]` says.
    LayKeys: "a way to lay", "[part.lay]", "How the plies of a part are laid on its mould.";
    start: [Length; 3] = POINT, Means("the middle of the part"), "[\"0 mm\", \"0 mm\", \"118 mm\"]", "where the cloth is put down first";
    zero: [f64; 3] = Direction, Means("the mould's x axis, or y where x stands upright"), "[1, 0, 0]", "the part's 0° at the start, as a direction in space";
    smooth: Smoothing = OneOf, Is("evenly"), "straight", "`evenly` as a patient person smooths the cloth out, `straight` along warp and weft from the start";
    darts: Darts = OneOf, Is("no"), "where needed", "`where needed` cuts the cloth where it would shear beyond its `lock`: darts, and where the mould is saddled cuts that open on it, into which gussets are let";
    dart_lines: Vec<Vec<[Length; 3]>> = Lines, Means("none"), "[[[\"80 mm\", \"0 mm\", \"20 mm\"], [\"120 mm\", \"0 mm\", \"0 mm\"]]]", "lines on the mould along which darts are cut in any case: each from the tip over its other points and straight on through the edge";
    gusset_lap: Length = GUSSET_LAP, Is("25 mm"), "20 mm", "where a cut opens on the mould a gusset is let in: how far it laps onto the cloth on both sides and past the tip, measured on the mould";
    net: Length = NET, Means("by the size of the part"), "2 mm", "distance of the yarns that are computed";
}

/// What a part on a mould says of it; `None` for one that is drawn flat. Complains of a part that is neither, or both,
/// and of what only drawings have.
pub(super) fn on_mould(
    reader: &mut JobReader,
    table: &JobTable<'_>,
    keys: &PartKeys<'_>,
) -> Option<OnMould> {
    let Some(at) = &keys.mould.at else {
        if !keys.pattern.is_there() {
            table.require(reader, keys.pattern.key);
        }
        for at in [&keys.area.at, &keys.lay.at].into_iter().flatten() {
            let help = "they go with `mould`, a file of triangles; a drawing is flat already";
            reader.error(&at.key, format!("{} names no mould", table.what), help);
        }
        return None;
    };
    if keys.pattern.is_there() {
        let message = format!("{} has both `pattern` and `mould`", table.what);
        let help = "its outlines are drawn, or computed on a mould: keep one";
        reader.error(&at.key, message, help);
    }
    let drawn = [
        &keys.drawing.at,
        &keys.seen_from.at,
        &keys.zero_direction.at,
        &keys.zero_line.at,
        &keys.outline.at,
        &keys.overlap_edges.at,
        &keys.keep_out_box.at,
        &keys.mark.at,
    ];
    for at in drawn.into_iter().flatten() {
        let message = format!("{} has a mould, not a drawing", table.what);
        let help = "this key is for drawings; `[part.area]` and `[part.lay]` say what of the mould \
                    it is, and how it is laid";
        reader.error(&at.key, message, help);
    }
    Some(read_mould(
        reader,
        keys.area.value.as_ref(),
        keys.lay.value.as_ref(),
    ))
}

/// Reads what it says of area and lay.
fn read_mould(
    reader: &mut JobReader,
    area: Option<&JobTable<'_>>,
    lay: Option<&JobTable<'_>>,
) -> OnMould {
    let area = AreaKeys::read(reader, area);
    let lay = LayKeys::read(reader, lay);
    let mm = |point: [Length; 3]| point.map(Length::to_mm);
    let along = match area.along.value {
        Axis::X => 0,
        Axis::Y => 1,
        Axis::Z => 2,
    };
    let line = |points: Vec<[Length; 2]>| ClosedLine {
        axis: along,
        points: points.into_iter().map(|p| p.map(Length::to_mm)).collect(),
    };
    let of_line = [&area.line_along.at, &area.line_at.at, &area.line_units.at];
    if !area.line.is_there() {
        for at in of_line.into_iter().flatten() {
            let help = "it says how the drawing of `line` lies: name that too";
            reader.error(&at.key, "`[part.area]` names no `line`".to_owned(), help);
        }
    }
    let above = limits(reader, area.above.value.as_ref());
    let below = limits(reader, area.below.value.as_ref());
    let laps = laps(reader, area.lap.value.as_ref(), [above, below]);
    let drawing = area.line.value.map(|file| LineDrawing {
        file,
        unit: area.line_units.value,
        along: area.line_along.value.unwrap_or(FROM_ABOVE),
        at: area.line_at.value.map_or([0.0; 3], mm),
    });
    OnMould {
        area: AreaChoice {
            seed: area.seed.value.map(mm),
            crease_deg: area.crease.value.map(Angle::to_degrees),
            above,
            below,
            laps,
            groups: area.group.value.unwrap_or_default(),
            inside: area.inside.value.map(line),
            keep_openings: area.holes.value == Holes::Cut,
            on_back: area.side.value == TriangleSide::Back,
            is_scan: area.scan.value,
            line: None,
        },
        line: drawing,
        lay: LayChoice {
            start: lay.start.value.map(mm),
            zero: lay.zero.value,
            smoothing: lay.smooth.value,
            darts: lay.darts.value,
            dart_lines: (lay.dart_lines.value.unwrap_or_default().into_iter())
                .map(|line| line.into_iter().map(mm).collect())
                .collect(),
            gusset_lap: lay.gusset_lap.value.to_mm(),
            spacing: lay.net.value.map(Length::to_mm),
        },
    }
}

fn limits(reader: &mut JobReader, table: Option<&JobTable<'_>>) -> [Option<f64>; 3] {
    let Some(table) = table else {
        return [None; 3];
    };
    let keys = PlaneKeys::read(reader, Some(table));
    [keys.x.value, keys.y.value, keys.z.value].map(|at| at.map(Length::to_mm))
}

/// The laps along the axes; complains of one where the area has no limit.
fn laps(
    reader: &mut JobReader,
    table: Option<&JobTable<'_>>,
    limits: [[Option<f64>; 3]; 2],
) -> [Option<f64>; 3] {
    let Some(table) = table else {
        return [None; 3];
    };
    let keys = LapKeys::read(reader, Some(table));
    let laps = [keys.x, keys.y, keys.z];
    for (axis, lap) in laps.iter().enumerate() {
        if let Some(at) = &lap.at
            && limits.iter().all(|limits| limits[axis].is_none())
        {
            let name = ["x", "y", "z"][axis];
            let message = format!("`lap` names {name}, and the area has no limit there");
            let help =
                format!("say with `above` or `below` at which {name} it ends but for its lap");
            reader.error(&at.key, message, &help);
        }
    }
    laps.map(|lap| lap.value.map(Length::to_mm))
}
