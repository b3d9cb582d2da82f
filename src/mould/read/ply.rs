//! PLY, text and binary: points, faces, and the colours of either.

use std::io::{BufReader, Cursor};

use glam::dvec3;
use ply_rs_bw::parser::{Parser, Reader};
use ply_rs_bw::ply::{DefaultElement, Property, PropertyAccess, PropertyAccessResult};

use super::{MOST, ReadError, Soup};

/// Of a point or a face: what is of use.
#[derive(Default)]
struct PlyElement {
    at: [f64; 3],
    colour: [Option<u8>; 3],
    corners: Vec<u32>,
}

impl PropertyAccess for PlyElement {
    fn new() -> Self {
        Self::default()
    }

    fn set_property(&mut self, name: &str, property: Property) -> PropertyAccessResult {
        let number = match property {
            Property::Char(v) => f64::from(v),
            Property::UChar(v) => f64::from(v),
            Property::Short(v) => f64::from(v),
            Property::UShort(v) => f64::from(v),
            Property::Int(v) => f64::from(v),
            Property::UInt(v) => f64::from(v),
            Property::Float(v) => f64::from(v),
            Property::Double(v) => v,
            _ if name != "vertex_indices" && name != "vertex_index" => {
                return PropertyAccessResult::Ignored;
            }
            Property::ListChar(v) => {
                self.corners = v.into_iter().map(|v| v as u32).collect();
                return PropertyAccessResult::Set;
            }
            Property::ListUChar(v) => {
                self.corners = v.into_iter().map(u32::from).collect();
                return PropertyAccessResult::Set;
            }
            Property::ListShort(v) => {
                self.corners = v.into_iter().map(|v| v as u32).collect();
                return PropertyAccessResult::Set;
            }
            Property::ListUShort(v) => {
                self.corners = v.into_iter().map(u32::from).collect();
                return PropertyAccessResult::Set;
            }
            Property::ListInt(v) => {
                self.corners = v.into_iter().map(|v| v as u32).collect();
                return PropertyAccessResult::Set;
            }
            Property::ListUInt(v) => {
                self.corners = v;
                return PropertyAccessResult::Set;
            }
            _ => return PropertyAccessResult::Ignored,
        };
        match name {
            "x" => self.at[0] = number,
            "y" => self.at[1] = number,
            "z" => self.at[2] = number,
            "red" => self.colour[0] = Some(number as u8),
            "green" => self.colour[1] = Some(number as u8),
            "blue" => self.colour[2] = Some(number as u8),
            _ => return PropertyAccessResult::Ignored,
        }
        PropertyAccessResult::Set
    }
}

pub(super) fn read(bytes: &[u8]) -> Result<Soup, ReadError> {
    let wrong =
        |e: &dyn std::fmt::Display| ReadError::new(format!("it is not as PLY should be: {e}"));
    let mut reader = Reader::new(BufReader::new(Cursor::new(bytes)));
    let header = Parser::<DefaultElement>::new()
        .read_header(&mut reader)
        .map_err(|e| wrong(&e))?;
    let parser = Parser::<PlyElement>::new();
    let mut soup = Soup::default();
    let mut of_points: Vec<Option<[u8; 3]>> = Vec::new();
    let mut of_faces: Vec<Option<[u8; 3]>> = Vec::new();
    for (name, element) in &header.elements {
        // Every element takes at least a byte.
        if element.count > bytes.len() || element.properties.is_empty() {
            return Err(ReadError::new(format!(
                "it promises more of `{name}` than it holds"
            )));
        }
        if element.count > MOST {
            return Err(ReadError::too_many());
        }
        let elements = parser
            .read_payload_for_element(&mut reader, element, &header)
            .map_err(|e| wrong(&e))?;
        match name.as_str() {
            "vertex" => {
                for point in elements {
                    let [x, y, z] = point.at;
                    soup.point(dvec3(x, y, z))?;
                    of_points.push(point.colour());
                }
            }
            "face" => {
                for face in elements {
                    soup.polygon(&face.corners, None)?;
                    let corners = face.corners.iter();
                    let mut around = corners.map(|&k| of_points.get(k as usize).copied().flatten());
                    let first = around.next().flatten();
                    let same = first.filter(|_| around.all(|colour| colour == first));
                    of_faces.resize(soup.faces.len(), face.colour().or(same));
                }
            }
            _ => {}
        }
    }
    by_colour(&mut soup, &of_faces);
    Ok(soup)
}

/// With more colours than this it was photographed, not marked.
const MOST_COLOURS: usize = 64;

/// Groups by colour, `#rrggbb`: that of a face, or of all its corners.
fn by_colour(soup: &mut Soup, of_faces: &[Option<[u8; 3]>]) {
    let mut colours: Vec<[u8; 3]> = of_faces.iter().copied().flatten().collect();
    colours.sort_unstable();
    colours.dedup();
    if colours.is_empty() || colours.len() > MOST_COLOURS {
        return;
    }
    let number = |colour: &Option<[u8; 3]>| {
        let found = colour.and_then(|colour| colours.binary_search(&colour).ok());
        found.map_or(0, |k| k as u32 + 1)
    };
    soup.groups = of_faces.iter().map(number).collect();
    let name = |[r, g, b]: &[u8; 3]| vec![format!("#{r:02x}{g:02x}{b:02x}")];
    soup.names = std::iter::once(Vec::new())
        .chain(colours.iter().map(name))
        .collect();
}

impl PlyElement {
    fn colour(&self) -> Option<[u8; 3]> {
        let [r, g, b] = self.colour;
        Some([r?, g?, b?])
    }
}
