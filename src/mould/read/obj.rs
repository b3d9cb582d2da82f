//! OBJ: points, faces, and the groups and materials they stand under.

use std::collections::HashMap;

use glam::dvec3;

use super::{ReadError, Soup};

pub(super) fn read(bytes: &[u8]) -> Result<Soup, ReadError> {
    let mut soup = Soup::default();
    let mut known: HashMap<String, u32> = HashMap::new();
    let mut group = None;
    let mut corners = Vec::new();
    for (n, line) in (1..).zip(bytes.split(|b| *b == b'\n')) {
        let line = String::from_utf8_lossy(line);
        let mut words = line.split_whitespace();
        match words.next() {
            Some("v") => {
                let mut next = || words.next().and_then(|w| w.parse::<f64>().ok());
                let (Some(x), Some(y), Some(z)) = (next(), next(), next()) else {
                    return Err(ReadError::at(n, "a point needs three numbers"));
                };
                soup.point(dvec3(x, y, z))?;
            }
            Some("f") => {
                corners.clear();
                for word in words {
                    corners.push(corner(word, soup.points.len()).ok_or_else(|| {
                        ReadError::at(n, "a face names a corner that is not a number of a point")
                    })?);
                }
                soup.polygon(&corners, Some(group.unwrap_or(0)))?;
            }
            Some("g" | "o" | "usemtl") => {
                let name = words.collect::<Vec<_>>().join(" ");
                let next = known.len() as u32 + 1;
                group = Some(*known.entry(name).or_insert(next));
            }
            _ => {}
        }
    }
    let mut names: Vec<(u32, String)> = known.into_iter().map(|(name, k)| (k, name)).collect();
    names.sort();
    soup.names = std::iter::once(String::new())
        .chain(names.into_iter().map(|(_, n)| n))
        .collect();
    Ok(soup)
}

/// `7`, `7/1`, `7//3`, `-1` counted back from the last point.
fn corner(word: &str, n_points: usize) -> Option<u32> {
    let number = word.split('/').next()?.parse::<i64>().ok()?;
    let index = match number {
        1.. => number - 1,
        0 => return None,
        _ => n_points as i64 + number,
    };
    u32::try_from(index).ok()
}
