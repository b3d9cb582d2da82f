//! OBJ: points, faces, and the groups and materials they stand under.

use std::collections::HashMap;

use glam::dvec3;

use super::{ReadError, Soup};

pub(super) fn read(bytes: &[u8]) -> Result<Soup, ReadError> {
    let mut soup = Soup::default();
    let mut known: HashMap<Vec<String>, u32> = HashMap::from([(Vec::new(), 0)]);
    // An object, a group and a material hold side by side, each until the next of its kind.
    let mut under: [Option<String>; 3] = [None, None, None];
    let mut group = 0;
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
                soup.polygon(&corners, Some(group))?;
            }
            Some(kind @ ("o" | "g" | "usemtl")) => {
                let name = words.collect::<Vec<_>>().join(" ");
                let place = match kind {
                    "o" => 0,
                    "g" => 1,
                    _ => 2,
                };
                under[place] = Some(name).filter(|name| !name.is_empty());
                let next = known.len() as u32;
                let names: Vec<String> = under.iter().flatten().cloned().collect();
                group = *known.entry(names).or_insert(next);
            }
            _ => {}
        }
    }
    let mut names: Vec<(u32, Vec<String>)> = known.into_iter().map(|(of, k)| (k, of)).collect();
    names.sort_unstable();
    soup.names = names.into_iter().map(|(_, of)| of).collect();
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
