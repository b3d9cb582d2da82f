//! Where a ply lies on its part, and how large the part's tool is.

use super::reader::Reader;
use super::table::Table;
use super::wording::{shown, unit_complaint};
use crate::units::Length;

/// How far a ply's outline is from its place on the part, x and y of the drawing; `None` if the
/// drawing shows it in place.
pub(super) fn read_shift(reader: &mut Reader, table: &Table<'_>) -> Option<[Length; 2]> {
    read_two(reader, table, "shift", |_| true)
}

/// Length and width of the tool.
pub(super) fn read_tool(reader: &mut Reader, table: &Table<'_>) -> Option<[Length; 2]> {
    let is_size = |length: Length| length > Length::ZERO;
    read_two(reader, table, "tool", is_size)
}

/// Furthest shift and largest tool, mm.
const MOST: f64 = 100_000.0;

fn read_two(
    reader: &mut Reader,
    table: &Table<'_>,
    key: &str,
    is_good: impl Fn(Length) -> bool,
) -> Option<[Length; 2]> {
    let texts = table.words(reader, key)?;
    let help = format!("write two lengths, for example {}", table.example(key));
    let [first, second] = texts.value.as_slice() else {
        reader.error(&texts.place, format!("`{key}` is not two lengths"), &help);
        return None;
    };
    let mut read = |text: &str| match text.parse::<Length>() {
        Ok(length) if is_good(length) && length.to_mm().abs() <= MOST => Some(length),
        Ok(_) => {
            let message = format!("`{key}` cannot have a length of {}", shown(text));
            reader.error(&texts.place, message, &help);
            None
        }
        Err(error) => {
            let complaint = unit_complaint(key, &error, "60 mm");
            reader.error(&texts.place, complaint.message, &help);
            None
        }
    };
    let (first, second) = (read(first), read(second));
    Some([first?, second?])
}
