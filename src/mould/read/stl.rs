//! STL, binary and as text.

use std::io::Cursor;

use glam::dvec3;

use super::{ReadError, Soup};

/// Bytes before the triangles of a binary file, and of one triangle.
const HEAD: usize = 84;
const TRIANGLE: usize = 50;

pub(super) fn read(mut bytes: Vec<u8>) -> Result<Soup, ReadError> {
    // Many programs begin a binary file with the word of a text file; its length tells.
    if let Some(count) = bytes.get(80..84) {
        let count = u32::from_le_bytes([count[0], count[1], count[2], count[3]]) as usize;
        if bytes.len() == HEAD + TRIANGLE * count {
            bytes[..5].fill(0);
        }
    }
    let mut cursor = Cursor::new(bytes);
    let wrong = |e: std::io::Error| ReadError::new(format!("it is not as STL should be: {e}"));
    let mut soup = Soup::default();
    for triangle in stl_io::create_stl_reader(&mut cursor).map_err(wrong)? {
        let triangle = triangle.map_err(wrong)?;
        let first = soup.points.len() as u32;
        for corner in triangle.vertices {
            let [x, y, z] = corner.0.map(f64::from);
            soup.point(dvec3(x, y, z))?;
        }
        soup.polygon(&[first, first + 1, first + 2], None)?;
    }
    Ok(soup)
}
