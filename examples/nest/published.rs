//! The best published lengths to compare with.

use std::path::Path;

use super::Failure;

/// A jigsaw with a known optimum, not a record: it is left out of means.
pub(crate) const JIGSAW: &str = "dighe1";

/// Best published length of each instance, by name.
#[derive(Default)]
pub(crate) struct Published(Vec<(String, f64)>);

impl Published {
    /// Reads a CSV file with the columns `name` and `length`, among others.
    pub(crate) fn read(path: &Path) -> Result<Self, Failure> {
        let text = std::fs::read_to_string(path).map_err(|e| format!("{}: {e}", path.display()))?;
        let mut lines = text.lines();
        let header = split_cells(lines.next().unwrap_or_default());
        let column = |name| header.iter().position(|h| h == name);
        let (Some(name), Some(length)) = (column("name"), column("length")) else {
            return Err(format!("{}: no columns name and length", path.display()).into());
        };
        Ok(Self(
            lines
                .filter_map(|line| {
                    let cells = split_cells(line);
                    Some((cells.get(name)?.clone(), cells.get(length)?.parse().ok()?))
                })
                .collect(),
        ))
    }

    /// The best published length of the instance `name`.
    pub(crate) fn length(&self, name: &str) -> Option<f64> {
        (self.0.iter().find(|(n, _)| n == name)).map(|&(_, length)| length)
    }
}

/// The cells of a line of CSV; commas between quotes stay.
fn split_cells(line: &str) -> Vec<String> {
    let mut cells = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            c => {
                if let Some(cell) = cells.last_mut() {
                    cell.push(c);
                }
            }
        }
    }
    cells
}
