//! How pattern files are read: the `[drawing]` table of a job, and of a part, which wins.

use super::keys::{Checked, Flag, NameList, Number, OneOf, keys};
use super::reader::JobReader;
use super::rules::LengthRule;
use super::table::JobTable;
use crate::pattern::{Colour, CrossingRule, Hatches, Role, Settings};
use crate::units::Length;

const JOIN_GAP: LengthRule = LengthRule::positive("gap that is closed")
    .help("ends of lines nearer than this are joined: 0.001 mm or more")
    .likely(0.001..=2.0)
    .most(20.0);
const CHORD: LengthRule = LengthRule::positive("distance of chords from curves")
    .help("curves become chords that leave them by no more than this")
    .likely(0.0005..=0.1)
    .most(1.0);

const BOARD_LINE: LengthRule = LengthRule::positive("measured line of the board")
    .help("it is printed from cross to cross along the board, and its true length beside it")
    .likely(50.0..=1_600.0)
    .most(2_000.0);
const THICKNESS: LengthRule = LengthRule::positive("thickness of the template")
    .help("it is that of the card or film that was photographed")
    .likely(0.05..=5.0)
    .most(50.0);

/// Pixels in an inch.
const DPI: Checked<Number, f64> = Checked {
    kind: Number {
        least: 1.0,
        most: Some(MOST_DPI),
    },
    check: |reader, _, dpi| {
        let help = "pixels in an inch: 96, 90 and 72 are common";
        reader.insist(
            dpi.value <= MOST_DPI,
            &dpi.place,
            "there are impossibly many pixels in an inch",
            help,
        )
    },
};
const MOST_DPI: f64 = 10_000.0;

keys! {
    /// What `[drawing]` says.
    DrawingKeys: "a drawing", "[drawing]", "How drawings are read; `[part.drawing]` for that of one part. Layers are named by one name or a list; capitals, blanks, `-` and `_` do not count. Files of one name are read once, so parts that share one read it alike.";
    cut: Vec<String> = NameList, Means("`cut`, beside a `net` layer"), "\"KNIFE\"", "layers of cut lines, allowance included: nothing is added to them";
    net: Vec<String> = NameList, Means("`net`"), "\"FINISHED\"", "layers of finished edges";
    zero: Vec<String> = NameList, Means("`zero`, `0 deg`, `warp`, `fibre`, `grain`"), "\"ZERO\"", "layers of the part's 0° direction, from the start of a line to its end";
    overlap: Vec<String> = NameList, Means("`overlap`, `lap`"), "\"flange\"", "layers of open lines on finished edges that carry `overlap`";
    notch: Vec<String> = NameList, Means("`notch`"), "\"NOTCHES\"", "layers of notches; they go to layer `NOTCH` of the cut files";
    drill: Vec<String> = NameList, Means("`drill`, `locate`"), "\"HOLES\"", "layers of points or circles to drill or locate by; likewise";
    keep_out: Vec<String> = NameList, Means("`keep out`, `no splice`"), "\"SPAR\"", "layers of closed lines in which no splice may lie";
    dart: Vec<String> = NameList, Means("`dart`"), "\"DARTS\"", "layers of darts: a V, or a triangle, from the finished edge to its point; its legs run on through the allowance";
    ignore: Vec<String> = NameList, Means("`defpoints`"), "[\"DIMENSIONS\", \"NOTES\"]", "layers that are not read";
    layers: Vec<String> = NameList, Means("all"), "[\"SKIN\", \"CORE\"]", "read only these layers";
    colours: Vec<String> = NameList, Means("all"), "\"red\"", "read only these colours: `\"red\"`, `\"#ff0000\"`, or DXF numbers";
    hatches: bool = Flag, Is("false"), "true", "read the boundaries of DXF hatches";
    crossing: CrossingRule = OneOf, Is("refuse"), "split", "outlines that cross themselves: refused, or split into loops";
    dpi: f64 = DPI, Means("96"), "96", "pixels in an inch, for SVG without a physical size";
    join_gap: Length = JOIN_GAP, Is("0.1 mm"), "0.1 mm", "gaps up to this are closed";
    chord: Length = CHORD, Is("0.005 mm"), "0.01 mm", "how far chords may leave a curve";
    board_width: Length = BOARD_LINE, Means("printed true"), "1207.5 mm", "of a photograph: the level line of the board, measured on the print from cross to cross";
    board_height: Length = BOARD_LINE, Means("as true as the width"), "1129 mm", "of a photograph: the upright line of the board, measured likewise";
    joined_with: Vec<String> = NameList, Means("one picture shows it all"), "[\"left.jpg\", \"middle.jpg\"]", "of a photograph: further pictures of the same template, which lies still on the same board; relative to the job file";
    scan_dpi: f64 = DPI, Means("as the file says, or a photograph"), "300", "of a scanner's image, which needs no board: its pixels in an inch";
    template_thickness: Length = THICKNESS, Means("thin"), "1.5 mm", "of a photograph: how thick the template is";
}

/// What a colour may look like in a job.
pub(super) const COLOURS: &str =
    "write a name such as \"red\", a value such as \"#ff0000\", or a DXF colour number such as";

/// The settings in force where `[drawing]` may stand inside something that has `outer` in force.
pub(super) fn overridden_by(
    outer: &Settings,
    reader: &mut JobReader,
    drawing: Option<JobTable<'_>>,
) -> Settings {
    let mut settings = outer.clone();
    let Some(table) = drawing else {
        return settings;
    };
    let keys = DrawingKeys::read(reader, Some(&table));
    for role in Role::ALL {
        if let Some(layers) = layers_of(&keys, role) {
            settings.layers.name(role, layers.clone());
        }
    }
    if let Some(layers) = keys.layers.value {
        settings.only.layers = layers;
    }
    if let Some(colours) = keys.colours.located() {
        settings.only.colours = Vec::new();
        for word in &colours.value {
            match word.parse::<Colour>() {
                Ok(colour) => settings.only.colours.push(colour),
                Err(error) => {
                    reader.error(&colours.place, error.to_string(), &format!("{COLOURS} 1"))
                }
            }
        }
    }
    if keys.hatches.is_there() {
        settings.hatches = match keys.hatches.value {
            true => Hatches::Outlines,
            false => Hatches::LeftOut,
        };
    }
    if keys.crossing.is_there() {
        settings.crossing = keys.crossing.value;
    }
    settings.dpi = keys.dpi.value.or(settings.dpi);
    if keys.join_gap.is_there() {
        settings.tolerance.join = keys.join_gap.value.to_mm();
    }
    if keys.chord.is_there() {
        settings.tolerance.chord = keys.chord.value.to_mm();
    }
    let photo = &mut settings.photo;
    for (line, key) in photo
        .measured
        .iter_mut()
        .zip([&keys.board_width, &keys.board_height])
    {
        *line = key.value.or(*line);
    }
    photo.thickness = keys.template_thickness.value.or(photo.thickness);
    photo.scan_dpi = keys.scan_dpi.value.or(photo.scan_dpi);
    if let Some(others) = keys.joined_with.value {
        photo.joined_with = others;
    }
    settings
}

fn layers_of<'k>(keys: &'k DrawingKeys<'_>, role: Role) -> Option<&'k Vec<String>> {
    let entry = match role {
        Role::Cut => &keys.cut,
        Role::Net => &keys.net,
        Role::Zero => &keys.zero,
        Role::Overlap => &keys.overlap,
        Role::Notch => &keys.notch,
        Role::Drill => &keys.drill,
        Role::KeepOut => &keys.keep_out,
        Role::Dart => &keys.dart,
        Role::Ignore => &keys.ignore,
    };
    entry.value.as_ref()
}
