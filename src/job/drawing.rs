//! How pattern files are read: the `[drawing]` table of a job, and of a part, which wins.

use super::reader::Reader;
use super::rules;
use super::table::Table;
use crate::pattern::{Colour, CrossingRule, Hatches, Role, Settings};

/// The settings in force where `table` may hold a `[drawing]` table inside something that has
/// `outer` in force.
pub(super) fn overridden_by(
    outer: &Settings,
    reader: &mut Reader,
    table: &Table<'_>,
    header: &str,
) -> Settings {
    let mut settings = outer.clone();
    let Some(drawing) = table.table(reader, "drawing", header) else {
        return settings;
    };
    drawing.check_keys(reader);
    for role in Role::ALL {
        if let Some(layers) = drawing.words(reader, role.word()) {
            settings.layers.name(role, layers.value);
        }
    }
    if let Some(layers) = drawing.words(reader, "layers") {
        settings.only.layers = layers.value;
    }
    if let Some(colours) = drawing.words(reader, "colours") {
        settings.only.colours = Vec::new();
        for word in &colours.value {
            match word.parse::<Colour>() {
                Ok(colour) => settings.only.colours.push(colour),
                Err(message) => {
                    let help = "write a name such as \"red\", a value such as \"#ff0000\", or a \
                                DXF colour number such as 1";
                    reader.error(&colours.place, message, help);
                }
            }
        }
    }
    if let Some(hatches) = drawing.flag(reader, "hatches") {
        settings.hatches = match hatches.value {
            true => Hatches::Outlines,
            false => Hatches::LeftOut,
        };
    }
    let rules = [
        ("refuse", CrossingRule::Refuse),
        ("split", CrossingRule::Split),
    ];
    if let Some(crossing) = drawing.choice(reader, "crossing", &rules) {
        settings.crossing = crossing.value;
    }
    if let Some(dpi) = drawing.number(reader, "dpi") {
        if dpi.value <= rules::MOST_DPI {
            settings.dpi = Some(dpi.value);
        } else {
            let help = "pixels in an inch: 96, 90 and 72 are common";
            reader.error(&dpi.place, "`dpi` is impossibly large", help);
        }
    }
    if let Some(gap) = drawing.length(reader, "join_gap") {
        settings.tolerance.join = gap.value.to_mm();
    }
    if let Some(chord) = drawing.length(reader, "chord") {
        settings.tolerance.chord = chord.value.to_mm();
    }
    settings
}
