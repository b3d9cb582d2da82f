//! Reads the `[output]` table.

use super::{
    Arcs, DxfVersion, FileKind, Gcode, Knife, Layer, LayerSetting, MOST_PENS, Outputs, Paper,
    PieceForm, TextForm,
};
use crate::job::Located;
use crate::job::reader::Reader;
use crate::job::rules;
use crate::job::table::Table;
use crate::job::wording::{shown, suggestion};
use crate::units::{Angle, Length, LengthUnit, Speed};

/// Longest name of a layer: R12 takes 31 characters.
const MOST_LAYER_NAME: usize = 31;
/// Where the line turns by more than this, a drag knife is swivelled. Common practice, no source.
const SWIVEL_FROM: Angle = Angle::degrees(15.0);
/// Where the line turns by more than this, a tangential knife is lifted. Common practice, no source.
const LIFT_FROM: Angle = Angle::degrees(30.0);

/// What `job` says of the files it wants.
pub(in crate::job) fn read(reader: &mut Reader, job: &Table<'_>) -> Outputs {
    let mut outputs = Outputs::default();
    let Some(table) = job.table(reader, "output", "`[output]`") else {
        return outputs;
    };
    table.check_keys(reader);
    if let Some(files) = table.words(reader, "files") {
        outputs.files = kinds(reader, &files);
    }
    if let Some(frame) = table.length(reader, "frame") {
        outputs.frame = Some(frame.value);
    }
    read_drawing(reader, &table, &mut outputs);
    read_paper(reader, &table, &mut outputs);
    if let Some(layers) = table.table(reader, "layers", "`[output.layers]`") {
        read_layers(reader, &layers, &mut outputs);
    }
    if let Some(knife) = table.table(reader, "knife", "`[output.knife]`") {
        read_knife(reader, &knife, &mut outputs);
    }
    if let Some(gcode) = table.table(reader, "gcode", "`[output.gcode]`") {
        read_gcode(reader, &gcode, &mut outputs.gcode);
    }
    outputs
}

fn kinds(reader: &mut Reader, files: &Located<Vec<String>>) -> Vec<FileKind> {
    let known = FileKind::ALL.map(FileKind::word);
    let wanted: Vec<String> = files.value.iter().map(|w| w.to_lowercase()).collect();
    for word in wanted.iter().filter(|w| !known.contains(&w.as_str())) {
        let message = format!("{} is no kind of file", shown(word));
        reader.error(
            &files.place,
            message,
            &suggestion(word, &known, "kinds are"),
        );
    }
    FileKind::ALL
        .into_iter()
        .filter(|kind| wanted.iter().any(|w| w == kind.word()))
        .collect()
}

/// Keys of DXF and SVG.
fn read_drawing(reader: &mut Reader, table: &Table<'_>, outputs: &mut Outputs) {
    let units = [("mm", LengthUnit::Millimetre), ("in", LengthUnit::Inch)];
    if let Some(units) = table.choice(reader, "units", &units) {
        outputs.units = units.value;
    }
    let forms = [
        ("exploded", PieceForm::Exploded),
        ("blocks", PieceForm::Blocks),
    ];
    if let Some(pieces) = table.choice(reader, "pieces", &forms) {
        outputs.pieces = pieces.value;
    }
    let forms = [("text", TextForm::Text), ("strokes", TextForm::Strokes)];
    if let Some(text) = table.choice(reader, "text", &forms) {
        outputs.text = text.value;
    }
    if let Some(arcs) = table.flag(reader, "arcs") {
        outputs.arcs = match arcs.value {
            true => Arcs::Kept,
            false => Arcs::Chords,
        };
    }
    let versions = [("R2000", DxfVersion::R2000), ("R12", DxfVersion::R12)];
    if let Some(version) = table.choice(reader, "dxf", &versions) {
        outputs.dxf = version.value;
    }
}

fn read_paper(reader: &mut Reader, table: &Table<'_>, outputs: &mut Outputs) {
    if let Some(paper) = table.read_with(reader, "paper", str::parse::<Paper>) {
        let is_good = match paper.value {
            Paper::Roll(width) => {
                let width = Located {
                    value: width,
                    place: paper.place,
                };
                rules::PAPER_ROLL.check(reader, "paper", &width)
            }
            _ => true,
        };
        if is_good {
            outputs.paper = paper.value;
        }
    }
    if let Some(margin) = table.length(reader, "paper_margin") {
        outputs.paper_margin = margin.value;
    }
    if let Some(overlap) = table.length(reader, "paper_overlap") {
        outputs.paper_overlap = overlap.value;
    }
}

fn read_layers(reader: &mut Reader, table: &Table<'_>, outputs: &mut Outputs) {
    table.check_keys(reader);
    for (layer, setting) in Layer::ALL.into_iter().zip(&mut outputs.layers) {
        let what = format!("layer `{}`", layer.word());
        if let Some(entry) = table.table(reader, layer.word(), &what) {
            entry.check_keys(reader);
            *setting = layer_setting(reader, &entry);
        }
    }
    for layer in Layer::ALL {
        let name = outputs.layer_name(layer).to_lowercase();
        let same = |other: &Layer| outputs.layer_name(*other).to_lowercase() == name;
        if let Some(other) = Layer::ALL
            .iter()
            .take_while(|&&l| l != layer)
            .find(|l| same(l))
        {
            let message = format!(
                "the layers `{}` and `{}` have one name",
                other.word(),
                layer.word()
            );
            let help = "give each layer a name of its own, or the cutter cannot tell them apart";
            reader.error(&table.header, message, help);
        }
    }
}

fn layer_setting(reader: &mut Reader, table: &Table<'_>) -> LayerSetting {
    let mut setting = LayerSetting::default();
    if let Some(name) = table.word(reader, "name") {
        let is_plain = name.value.len() <= MOST_LAYER_NAME
            && name
                .value
                .chars()
                .all(|c| c.is_ascii_alphanumeric() || "-_$".contains(c));
        if is_plain {
            setting.name = Some(name.value);
        } else {
            let help = "use letters a to z and A to Z, digits, `-`, `_` and `$`, at most 31 in all";
            let message = format!("{} cannot name a layer", shown(&name.value));
            reader.error(&name.place, message, help);
        }
    }
    if let Some(colour) = table.word(reader, "colour") {
        match colour.value.parse() {
            Ok(parsed) => setting.colour = Some(parsed),
            Err(message) => {
                let help = "write a name such as \"red\", a value such as \"#ff0000\", or a DXF \
                            colour number such as \"1\"";
                reader.error(&colour.place, message, help);
            }
        }
    }
    if let Some(pen) = table.number(reader, "pen") {
        if pen.value <= f64::from(MOST_PENS) && pen.value.fract() == 0.0 {
            setting.pen = Some(pen.value as u8);
        } else {
            let help = "write a whole number from 1 to 8, or 0 if the layer is not to be drawn";
            reader.error(&pen.place, "there is no such pen", help);
        }
    }
    setting
}

fn read_knife(reader: &mut Reader, table: &Table<'_>, outputs: &mut Outputs) {
    #[derive(Clone, Copy, PartialEq)]
    enum Kind {
        Plain,
        Drag,
        Tangential,
    }
    table.check_keys(reader);
    table.require(reader, "kind");
    let kinds = [
        ("plain", Kind::Plain),
        ("drag", Kind::Drag),
        ("tangential", Kind::Tangential),
    ];
    let kind = table.choice(reader, "kind", &kinds).map(|kind| kind.value);
    let offset = table.length(reader, "offset");
    let swivel_from = table.angle(reader, "swivel_from");
    let lift_from = table.angle(reader, "lift_from");
    if let Some(overcut) = table.length(reader, "overcut") {
        outputs.overcut = overcut.value;
    }
    if kind == Some(Kind::Drag) {
        table.require(reader, "offset");
    }
    let useless = [
        ("offset", Kind::Drag),
        ("swivel_from", Kind::Drag),
        ("lift_from", Kind::Tangential),
    ];
    for (key, of) in useless {
        if let (Some(kind), Some(place)) = (kind, table.key_place(reader, key))
            && kind != of
        {
            let message = format!("`{key}` does nothing with this kind of knife");
            reader.warn(&place, message, "leave it out, or change `kind`");
        }
    }
    outputs.knife = match kind {
        Some(Kind::Drag) => Knife::Drag {
            offset: offset.map_or(Length::mm(0.5), |offset| offset.value),
            swivel_from: swivel_from.map_or(SWIVEL_FROM, |angle| angle.value),
        },
        Some(Kind::Tangential) => Knife::Tangential {
            lift_from: lift_from.map_or(LIFT_FROM, |angle| angle.value),
        },
        Some(Kind::Plain) | None => Knife::Plain,
    };
}

fn read_gcode(reader: &mut Reader, table: &Table<'_>, gcode: &mut Gcode) {
    table.check_keys(reader);
    for (key, height) in [("up", &mut gcode.up), ("down", &mut gcode.down)] {
        if let Some(length) = table.length(reader, key) {
            *height = length.value;
        }
    }
    gcode.swivel = table.length(reader, "swivel").map(|height| height.value);
    let is_low = |height: Length| height >= gcode.up;
    if is_low(gcode.down) || gcode.swivel.is_some_and(is_low) {
        let message = "the knife travels no higher than it cuts";
        let help = "`up` must be above `down` and `swivel`";
        reader.error(&table.header, message, help);
    }
    if let Some(feed) = table.quantity::<Speed>(reader, "feed") {
        if feed.value.to_mm_per_min() > 0.0 {
            gcode.feed = feed.value;
        } else {
            let help = "write the speed of cutting, for example \"3000 mm/min\"";
            reader.error(&feed.place, "the feed is not above zero", help);
        }
    }
    if let Some(header) = table.word(reader, "header") {
        gcode.header = header.value;
    }
    if let Some(footer) = table.word(reader, "footer") {
        gcode.footer = footer.value;
    }
    for (key, lines) in [("pen", &mut gcode.pen), ("knife", &mut gcode.knife)] {
        if let Some(written) = table.word(reader, key) {
            *lines = Some(written.value);
        }
    }
    let axes = [("A", 'A'), ("B", 'B'), ("C", 'C')];
    if let Some(axis) = table.choice(reader, "axis", &axes) {
        gcode.axis = axis.value;
    }
}
