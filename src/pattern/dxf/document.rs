//! The parts of a DXF file around its entities: sections, header variables, layers and blocks.

use std::collections::HashMap;

use super::tags::{Tag, TagFault, TagPlace, TagReader};
use super::text::CodePage;
use crate::geometry::Point;

/// A DXF file, taken apart.
pub(super) struct Document<'a> {
    /// The size of the file.
    pub(super) bytes: usize,
    /// `$INSUNITS`, if the file has it.
    pub(super) unit_code: Option<i64>,
    pub(super) code_page: CodePage,
    /// By name in capitals: DXF names do not depend on case.
    layers: HashMap<String, LayerEntry>,
    blocks: HashMap<String, BlockDefinition<'a>>,
    /// The start of the ENTITIES section, if there is one.
    pub(super) entities: Option<TagReader<'a>>,
}

/// What the layer table says of a layer.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct LayerEntry {
    pub(super) off: bool,
    pub(super) frozen: bool,
    /// Its colour index, and its true colour if it has one.
    pub(super) colour: (i64, Option<i64>),
}

/// A block definition. Its entities are read anew for every insertion, so that a file takes no
/// memory by its pairs.
#[derive(Clone, Copy, Debug)]
pub(super) struct BlockDefinition<'a> {
    pub(super) base: Point,
    /// Just behind the BLOCK record.
    pub(super) entities: TagReader<'a>,
}

/// An entity's pairs: its name, then the rest.
#[derive(Clone, Debug)]
pub(super) struct Record<'a> {
    pub(super) name: &'a [u8],
    pub(super) place: TagPlace,
    /// How many bytes it takes in the file.
    pub(super) bytes: usize,
    pub(super) tags: Vec<Tag<'a>>,
}

impl<'a> Record<'a> {
    /// The first pair with `code`.
    pub(super) fn first(&self, code: i32) -> Option<&Tag<'a>> {
        self.tags.iter().find(|tag| tag.code == code)
    }

    /// The text in group `code`; empty without it.
    pub(super) fn text(&self, code: i32, code_page: CodePage) -> String {
        self.first(code)
            .map_or_else(String::new, |tag| code_page.decode(tag.text()))
    }

    pub(super) fn real(&self, code: i32) -> Result<f64, TagFault> {
        match self.first(code) {
            Some(tag) => tag.real(),
            None => Err(self.fault(format!("its group code {code} is missing"))),
        }
    }

    pub(super) fn real_or(&self, code: i32, default: f64) -> Result<f64, TagFault> {
        self.first(code).map_or(Ok(default), Tag::real)
    }

    pub(super) fn integer_or(&self, code: i32, default: i64) -> Result<i64, TagFault> {
        self.first(code).map_or(Ok(default), Tag::integer)
    }

    /// The point with x in group `code` and y ten above.
    pub(super) fn point(&self, code: i32) -> Result<Point, TagFault> {
        Ok(Point::new(self.real(code)?, self.real(code + 10)?))
    }

    pub(super) fn fault(&self, message: impl Into<String>) -> TagFault {
        TagFault {
            at: self.place,
            message: message.into(),
        }
    }
}

impl<'a> Document<'a> {
    /// Takes `bytes` apart.
    ///
    /// # Errors
    /// The first pair that cannot be read, or a file that ends too soon.
    pub(super) fn read(bytes: &'a [u8]) -> Result<Self, TagFault> {
        let sections = Sections::find(bytes)?;
        let mut document = Self {
            bytes: bytes.len(),
            unit_code: None,
            code_page: CodePage::Utf8,
            layers: HashMap::new(),
            blocks: HashMap::new(),
            entities: sections.entities,
        };
        if let Some(header) = sections.header {
            document.read_header(header)?;
        }
        if let Some(tables) = sections.tables {
            document.read_layers(tables)?;
        }
        if let Some(blocks) = sections.blocks {
            document.read_blocks(blocks)?;
        }
        Ok(document)
    }

    /// What the layer table says of `name`; colour 7 and shown if it says nothing.
    pub(super) fn layer(&self, name: &str) -> LayerEntry {
        let known = self.layers.get(&name.to_uppercase()).copied();
        known.unwrap_or(LayerEntry {
            colour: (7, None),
            ..LayerEntry::default()
        })
    }

    pub(super) fn block(&self, name: &str) -> Option<&BlockDefinition<'a>> {
        self.blocks.get(&name.to_uppercase())
    }

    fn read_header(&mut self, mut tags: TagReader<'a>) -> Result<(), TagFault> {
        let mut variable: &[u8] = b"";
        let mut version: &[u8] = b"";
        let mut code_page: &[u8] = b"";
        while let Some(tag) = tags.next()? {
            match (tag.code, variable) {
                (0, _) => break,
                (9, _) => variable = tag.text(),
                (1, b"$ACADVER") => version = tag.text(),
                (3, b"$DWGCODEPAGE") => code_page = tag.text(),
                (70, b"$INSUNITS") => self.unit_code = Some(tag.integer()?),
                _ => {}
            }
        }
        self.code_page = CodePage::of(version, code_page);
        Ok(())
    }

    fn read_layers(&mut self, tags: TagReader<'a>) -> Result<(), TagFault> {
        let mut records = Records::new(tags);
        while let Some(record) = records.next()? {
            if record.name != b"LAYER" {
                continue;
            }
            let index = record.integer_or(62, 0)?;
            let true_colour = record.first(420).map(Tag::integer).transpose()?;
            let layer = LayerEntry {
                off: index < 0,
                frozen: record.integer_or(70, 0)? & 1 != 0,
                colour: (index.saturating_abs(), true_colour),
            };
            let name = record.text(2, self.code_page);
            self.layers.insert(name.to_uppercase(), layer);
        }
        Ok(())
    }

    fn read_blocks(&mut self, tags: TagReader<'a>) -> Result<(), TagFault> {
        let mut records = Records::new(tags);
        while let Some(record) = records.next()? {
            if record.name != b"BLOCK" {
                continue;
            }
            let name = record.text(2, self.code_page);
            let base = Point::new(record.real_or(10, 0.0)?, record.real_or(20, 0.0)?);
            let entities = records.behind();
            self.blocks
                .insert(name.to_uppercase(), BlockDefinition { base, entities });
        }
        Ok(())
    }
}

/// Reads the records of a section one after the other, into one buffer.
pub(super) struct Records<'a> {
    tags: TagReader<'a>,
    /// The code-0 pair of the record to come, and where it starts.
    head: Option<(Tag<'a>, TagReader<'a>)>,
    record: Record<'a>,
}

impl<'a> Records<'a> {
    /// The records from `tags` (just behind the section's name, or a BLOCK record) to the end of
    /// the section or block.
    pub(super) fn new(tags: TagReader<'a>) -> Self {
        Self {
            record: Record {
                name: b"",
                place: tags.place(),
                bytes: 0,
                tags: Vec::new(),
            },
            head: None,
            tags,
        }
    }

    /// The next record; its application data (groups 102, 1000 and up) are left out.
    pub(super) fn next(&mut self) -> Result<Option<&Record<'a>>, TagFault> {
        let (head, start) = match self.head.take() {
            Some(head) => head,
            None => loop {
                let start = self.tags;
                match self.tags.next()? {
                    Some(tag) if tag.code == 0 => break (tag, start),
                    Some(_) => {}
                    None => return Ok(None),
                }
            },
        };
        if head.text() == b"ENDSEC" {
            self.head = Some((head, start));
            return Ok(None);
        }
        self.record.name = head.text();
        self.record.place = head.place;
        self.record.tags.clear();
        let begin = start.position();
        let mut in_group = false;
        loop {
            let start = self.tags;
            let Some(tag) = self.tags.next()? else { break };
            match tag.code {
                0 => {
                    self.head = Some((tag, start));
                    break;
                }
                102 => in_group = tag.text().starts_with(b"{"),
                1000.. => {}
                _ if in_group => {}
                _ => self.record.tags.push(tag),
            }
        }
        let end = self
            .head
            .map_or(self.tags.position(), |(_, start)| start.position());
        self.record.bytes = end - begin;
        Ok(Some(&self.record))
    }

    /// The pairs behind the record that came last.
    fn behind(&self) -> TagReader<'a> {
        self.head.map_or(self.tags, |(_, start)| start)
    }
}

/// Where the sections start that matter here.
#[derive(Default)]
struct Sections<'a> {
    header: Option<TagReader<'a>>,
    tables: Option<TagReader<'a>>,
    blocks: Option<TagReader<'a>>,
    entities: Option<TagReader<'a>>,
}

impl<'a> Sections<'a> {
    /// Goes through the whole file once, which also proves that it is complete.
    fn find(bytes: &'a [u8]) -> Result<Self, TagFault> {
        let mut found = Self::default();
        let mut tags = TagReader::new(bytes);
        if tags.clone().next()?.is_none() {
            return Err(cut_short(tags.place(), "first"));
        }
        let mut section: Option<String> = None;
        while let Some(record) = tags.skip_to_record()? {
            match record {
                b"EOF" => {
                    return match section {
                        None => Ok(found),
                        Some(name) => Err(cut_short(tags.place(), &name)),
                    };
                }
                b"SECTION" => {
                    let mut inside = tags;
                    let Some(name) = inside.next()?.filter(|t| t.code == 2) else {
                        continue;
                    };
                    section = Some(String::from_utf8_lossy(name.text()).into_owned());
                    let slot = match name.text() {
                        b"HEADER" => &mut found.header,
                        b"TABLES" => &mut found.tables,
                        b"BLOCKS" => &mut found.blocks,
                        b"ENTITIES" => &mut found.entities,
                        _ => continue,
                    };
                    slot.get_or_insert(inside);
                }
                b"ENDSEC" => section = None,
                _ => {}
            }
        }
        Err(cut_short(
            tags.place(),
            section.as_deref().unwrap_or("last"),
        ))
    }
}

fn cut_short(at: TagPlace, section: &str) -> TagFault {
    TagFault {
        at,
        message: format!("the file ends inside its {section} section: it is cut short"),
    }
}
