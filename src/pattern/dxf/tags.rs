//! The flat sequence of (group code, value) pairs that every DXF file is, ASCII or binary.
//!
//! One pass, no recursion, nothing copied: text values point into the file. What a value means is
//! for the reader of the entity.

/// The first bytes of a binary DXF file (Autodesk DXF reference, "Binary DXF files").
pub(super) const BINARY_SENTINEL: &[u8] = b"AutoCAD Binary DXF\r\n\x1a\0";

/// One pair.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Tag<'a> {
    pub(super) code: i32,
    pub(super) value: Value<'a>,
    pub(super) place: TagPlace,
}

/// A value as written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Value<'a> {
    /// Text, or a number in an ASCII file.
    Text(&'a [u8]),
    Integer(i64),
    Real(f64),
}

/// Where in the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum TagPlace {
    /// Line number from 1.
    Line(usize),
    /// Offset in a binary file.
    Byte(usize),
}

/// What is wrong with the pairs.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct TagFault {
    pub(super) at: TagPlace,
    pub(super) message: String,
}

impl TagFault {
    fn new(at: TagPlace, message: impl Into<String>) -> Self {
        Self {
            at,
            message: message.into(),
        }
    }
}

impl<'a> Tag<'a> {
    /// The value as bytes of text; empty for a binary number.
    pub(super) fn text(&self) -> &'a [u8] {
        match self.value {
            Value::Text(text) => text,
            Value::Integer(_) | Value::Real(_) => b"",
        }
    }

    /// Whether this starts a record (code 0) called `name`.
    pub(super) fn starts(&self, name: &[u8]) -> bool {
        self.code == 0 && self.text() == name
    }

    /// The value as a finite number.
    pub(super) fn real(&self) -> Result<f64, TagFault> {
        let number = match self.value {
            Value::Real(r) => Some(r),
            Value::Integer(i) => Some(i as f64),
            Value::Text(t) => str::from_utf8(t).ok().and_then(|t| t.trim().parse().ok()),
        };
        match number {
            Some(n) if n.is_finite() => Ok(n),
            Some(_) => Err(self.fault("is not a finite number")),
            None if self.text().contains(&b',') => Err(self.fault(
                "has a decimal comma; DXF numbers take a point: export the file again with it",
            )),
            None => Err(self.fault("is not a number")),
        }
    }

    /// The value as a whole number.
    pub(super) fn integer(&self) -> Result<i64, TagFault> {
        match self.value {
            Value::Integer(i) => Ok(i),
            Value::Real(r) => Ok(r as i64),
            Value::Text(t) => str::from_utf8(t)
                .ok()
                .and_then(|t| t.trim().parse().ok())
                .ok_or_else(|| self.fault("is not a whole number")),
        }
    }

    pub(super) fn fault(&self, what: &str) -> TagFault {
        let written = match self.value {
            Value::Text(t) => String::from_utf8_lossy(&t[..t.len().min(40)])
                .trim()
                .to_owned(),
            Value::Integer(i) => i.to_string(),
            Value::Real(r) => r.to_string(),
        };
        TagFault::new(
            self.place,
            format!("`{written}` (group code {}) {what}", self.code),
        )
    }
}

/// Reads pairs one after the other; cheap to copy, so a place in the file can be kept.
#[derive(Clone, Copy, Debug)]
pub(super) struct TagReader<'a> {
    bytes: &'a [u8],
    position: usize,
    line: usize,
    form: FileForm,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum FileForm {
    Ascii,
    /// Group codes of two bytes (R13 and later).
    Binary,
    /// Group codes of one byte (R12 and before).
    OldBinary,
}

impl<'a> TagReader<'a> {
    pub(super) fn new(bytes: &'a [u8]) -> Self {
        let (form, position) = if bytes.starts_with(BINARY_SENTINEL) {
            // The first pair is 0 SECTION, so the second byte tells how wide codes are.
            let wide = bytes.get(BINARY_SENTINEL.len() + 1) == Some(&0);
            let form = if wide {
                FileForm::Binary
            } else {
                FileForm::OldBinary
            };
            (form, BINARY_SENTINEL.len())
        } else if bytes.starts_with(b"\xef\xbb\xbf") {
            (FileForm::Ascii, 3)
        } else {
            (FileForm::Ascii, 0)
        };
        Self {
            bytes,
            position,
            line: 1,
            form,
        }
    }

    /// How many bytes of the file have been read.
    pub(super) const fn position(&self) -> usize {
        self.position
    }

    pub(super) fn place(&self) -> TagPlace {
        match self.form {
            FileForm::Ascii => TagPlace::Line(self.line),
            FileForm::Binary | FileForm::OldBinary => TagPlace::Byte(self.position),
        }
    }

    /// The next pair, or `None` at the end of the bytes.
    pub(super) fn next(&mut self) -> Result<Option<Tag<'a>>, TagFault> {
        if self.form == FileForm::Ascii {
            self.next_ascii()
        } else {
            self.next_binary()
        }
    }

    /// Skips to behind the next pair with code 0 and returns its value, or `None` at the end.
    ///
    /// In text only the lines with codes are looked at, and only for being zero: the pairs of
    /// interest are read properly later.
    pub(super) fn skip_to_record(&mut self) -> Result<Option<&'a [u8]>, TagFault> {
        if self.form != FileForm::Ascii {
            while let Some(tag) = self.next_binary()? {
                if tag.code == 0 {
                    return Ok(Some(tag.text()));
                }
            }
            return Ok(None);
        }
        loop {
            let place = self.place();
            let Some(code) = self.text_line() else {
                return Ok(None);
            };
            let is_zero = matches!(code, b"0" | b"  0") || code.trim_ascii() == b"0";
            let Some(value) = self.text_line() else {
                if code.trim_ascii().is_empty() || code.trim_ascii() == b"\x1a" {
                    return Ok(None);
                }
                return Err(TagFault::new(
                    place,
                    "the file ends in the middle of a pair",
                ));
            };
            if is_zero {
                return Ok(Some(value.trim_ascii()));
            }
        }
    }

    fn next_ascii(&mut self) -> Result<Option<Tag<'a>>, TagFault> {
        let place = self.place();
        let Some(code_line) = self.text_line() else {
            return Ok(None);
        };
        let Some(code) = small_integer(code_line) else {
            if code_line.iter().all(u8::is_ascii_whitespace) && self.rest_is_blank() {
                return Ok(None);
            }
            let written = String::from_utf8_lossy(&code_line[..code_line.len().min(40)]);
            let written = written.trim();
            return Err(TagFault::new(
                place,
                format!("a group code (a whole number) is expected here, not `{written}`"),
            ));
        };
        let place = self.place();
        let Some(value) = self.text_line() else {
            return Err(TagFault::new(
                place,
                "the file ends in the middle of a pair",
            ));
        };
        // Names and numbers may be indented; only text proper keeps its blanks.
        let value = if matches!(code, 1 | 3) {
            value
        } else {
            value.trim_ascii()
        };
        Ok(Some(Tag {
            code,
            value: Value::Text(value),
            place,
        }))
    }

    fn text_line(&mut self) -> Option<&'a [u8]> {
        let rest = self.bytes.get(self.position..).filter(|r| !r.is_empty())?;
        let end = line_end(rest);
        self.position += end + 1;
        self.line += 1;
        let line = &rest[..end];
        Some(line.strip_suffix(b"\r").unwrap_or(line))
    }

    fn rest_is_blank(&self) -> bool {
        let rest = self.bytes.get(self.position..).unwrap_or_default();
        rest.iter().all(|b| b.is_ascii_whitespace() || *b == 0x1a)
    }

    fn next_binary(&mut self) -> Result<Option<Tag<'a>>, TagFault> {
        if self.position >= self.bytes.len() {
            return Ok(None);
        }
        let place = self.place();
        let code = match self.form {
            FileForm::OldBinary => match self.take::<1>()?[0] {
                255 => i32::from(i16::from_le_bytes(self.take()?)),
                code => i32::from(code),
            },
            _ => i32::from(i16::from_le_bytes(self.take()?)),
        };
        let value = match code {
            10..=59 | 110..=149 | 210..=239 | 460..=469 | 1010..=1059 => {
                Value::Real(f64::from_le_bytes(self.take()?))
            }
            60..=79 | 170..=179 | 270..=289 | 370..=389 | 400..=409 | 1060..=1070 => {
                Value::Integer(i16::from_le_bytes(self.take()?).into())
            }
            90..=99 | 420..=429 | 440..=459 | 1071 => {
                Value::Integer(i32::from_le_bytes(self.take()?).into())
            }
            160..=169 => Value::Integer(i64::from_le_bytes(self.take()?)),
            290..=299 => Value::Integer(self.take::<1>()?[0].into()),
            310..=319 | 1004 => {
                let length = self.take::<1>()?[0].into();
                Value::Text(self.take_slice(length)?)
            }
            0..=9
            | 100..=109
            | 300..=309
            | 320..=369
            | 390..=399
            | 410..=419
            | 430..=439
            | 470..=481
            | 999..=1009 => {
                let rest = &self.bytes[self.position..];
                let Some(end) = rest.iter().position(|&b| b == 0) else {
                    return Err(TagFault::new(
                        place,
                        "the file ends in the middle of a text",
                    ));
                };
                self.position += end + 1;
                Value::Text(&rest[..end])
            }
            _ => {
                return Err(TagFault::new(place, format!("{code} is no DXF group code")));
            }
        };
        Ok(Some(Tag { code, value, place }))
    }

    fn take<const N: usize>(&mut self) -> Result<[u8; N], TagFault> {
        let slice = self.take_slice(N)?;
        Ok(slice
            .try_into()
            .expect("take_slice returns what is asked for"))
    }

    fn take_slice(&mut self, n: usize) -> Result<&'a [u8], TagFault> {
        let place = self.place();
        let slice = self.bytes.get(self.position..self.position + n);
        self.position += n;
        slice.ok_or_else(|| TagFault::new(place, "the file ends in the middle of a pair"))
    }
}

/// Where the first line of `bytes` ends. Lines of DXF are short, so eight bytes at a time beat both
/// one and many.
fn line_end(bytes: &[u8]) -> usize {
    const LOW: u64 = 0x0101_0101_0101_0101;
    let mut at = 0;
    while let Some(eight) = bytes.get(at..at + 8) {
        let eight = u64::from_le_bytes(eight.try_into().expect("eight bytes were taken"));
        // A byte of zero marks a line feed (Mycroft's test).
        let folded = eight ^ (LOW * u64::from(b'\n'));
        let found = folded.wrapping_sub(LOW) & !folded & (LOW << 7);
        if found != 0 {
            return at + found.trailing_zeros() as usize / 8;
        }
        at += 8;
    }
    let rest = &bytes[at..];
    at + rest.iter().position(|&b| b == b'\n').unwrap_or(rest.len())
}

/// A whole number of up to six digits with blanks around it.
fn small_integer(line: &[u8]) -> Option<i32> {
    // Most codes have one or two digits and nothing around them.
    if let [a @ b'0'..=b'9'] = line {
        return Some(i32::from(a - b'0'));
    }
    if let [a @ b'0'..=b'9', b @ b'0'..=b'9'] = line {
        return Some(i32::from(a - b'0') * 10 + i32::from(b - b'0'));
    }
    let line = line.trim_ascii();
    let (negative, digits) = match line.strip_prefix(b"-") {
        Some(digits) => (true, digits),
        None => (false, line),
    };
    if digits.is_empty() || digits.len() > 6 {
        return None;
    }
    let mut n = 0;
    for &d in digits {
        if !d.is_ascii_digit() {
            return None;
        }
        n = n * 10 + i32::from(d - b'0');
    }
    Some(if negative { -n } else { n })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_decimal_comma_is_named_with_its_line() {
        let mut tags = TagReader::new(b" 10\n1,5\n");
        let fault = tags.next().unwrap().unwrap().real().unwrap_err();
        assert_eq!(fault.at, TagPlace::Line(2));
        assert!(fault.message.contains("decimal comma"), "{}", fault.message);
        let mut tags = TagReader::new(b" 10\nnan\n");
        assert!(tags.next().unwrap().unwrap().real().is_err());
    }

    #[test]
    fn lines_end_where_they_end() {
        let text = b"1\n22\n333333333333333333\n\n4444444\n5";
        let mut rest = &text[..];
        let mut lines = Vec::new();
        while !rest.is_empty() {
            let end = line_end(rest);
            lines.push(end);
            rest = rest.get(end + 1..).unwrap_or_default();
        }
        assert_eq!(lines, [1, 2, 18, 0, 7, 1]);
        assert_eq!(line_end(b"\xff\x0b\x09\x8a\x0a-------"), 4);
    }

    #[test]
    fn both_binary_forms_give_the_same_pairs_as_text() {
        let wide = b"\0\0SECTION\0\x0a\0\0\0\0\0\0\0\xf8\x3f\x46\0\x07\0";
        let narrow = b"\0SECTION\0\x0a\0\0\0\0\0\0\xf8\x3f\x46\x07\0";
        for body in [&wide[..], &narrow[..]] {
            let file = [BINARY_SENTINEL, body].concat();
            let mut tags = TagReader::new(&file);
            assert!(tags.next().unwrap().unwrap().starts(b"SECTION"));
            assert_eq!(tags.next().unwrap().unwrap().real(), Ok(1.5));
            assert_eq!(tags.next().unwrap().unwrap().integer(), Ok(7));
            assert_eq!(tags.next(), Ok(None));
        }
    }
}
