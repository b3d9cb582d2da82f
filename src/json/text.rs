//! The one way JSON is written: members packed into lines, every ring of points on one line.

use std::io;

use serde::Serialize;
use serde_json::ser::Formatter;

/// Lines are filled up to about this many characters.
const LINE: usize = 110;

/// `value` as JSON, ending with a line break.
///
/// What fits a line is written in one, else its members are packed into indented lines. A list of
/// points stays on one line, however long. Numbers have no exponent; one that is not finite, which
/// JSON cannot say, is `null`.
pub(crate) fn text(value: &impl Serialize) -> String {
    let mut lines = JsonLines::default();
    let mut writer = serde_json::Serializer::with_formatter(&mut lines, PlainNumbers);
    value
        .serialize(&mut writer)
        .expect("records hold only texts, numbers, lists, and members with names");
    lines.now.push(b'\n');
    String::from_utf8(lines.now).expect("the serialiser writes UTF-8")
}

struct PlainNumbers;

impl Formatter for PlainNumbers {
    fn write_f64<W: ?Sized + io::Write>(&mut self, out: &mut W, value: f64) -> io::Result<()> {
        // Adding nothing takes away the minus of a minus zero.
        write!(out, "{}", value + 0.0)
    }
}

/// Lays out compact JSON as it comes.
#[derive(Default)]
struct JsonLines {
    /// Lists and objects that are not closed yet, from the outermost in.
    open: Vec<Block>,
    /// The member of the last of them that is being written.
    now: Vec<u8>,
    in_quotes: bool,
    after_backslash: bool,
}

struct Block {
    bracket: u8,
    /// What stands before it in its own line: its name.
    before: Vec<u8>,
    members: Vec<Vec<u8>>,
}

impl io::Write for JsonLines {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        for &byte in bytes {
            if self.in_quotes {
                self.now.push(byte);
                self.in_quotes = self.after_backslash || byte != b'"';
                self.after_backslash = !self.after_backslash && byte == b'\\';
                continue;
            }
            match byte {
                b'{' | b'[' => self.open.push(Block {
                    bracket: byte,
                    before: std::mem::take(&mut self.now),
                    members: Vec::new(),
                }),
                b',' => self.end_member(),
                b'}' | b']' => self.close(byte),
                b':' => self.now.extend(b": "),
                _ => {
                    self.now.push(byte);
                    self.in_quotes = byte == b'"';
                }
            }
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl JsonLines {
    fn end_member(&mut self) {
        let member = std::mem::take(&mut self.now);
        if let Some(block) = self.open.last_mut() {
            block.members.push(member);
        }
    }

    fn close(&mut self, bracket: u8) {
        if !self.now.is_empty() {
            self.end_member();
        }
        if let Some(block) = self.open.pop() {
            let inner = block.laid_out(self.open.len());
            self.now = block.before;
            self.now.extend(inner);
            self.now.push(bracket);
        }
    }
}

impl Block {
    /// All of it but the closing bracket, at this depth.
    fn laid_out(&self, depth: usize) -> Vec<u8> {
        let mut out = vec![self.bracket];
        let length: usize = self.members.iter().map(|m| m.len() + 2).sum();
        if self.bracket == b'['
            && !self.members.is_empty()
            && self.members.iter().all(|m| is_point(m))
        {
            out.extend(self.members.join(&b','));
            out.retain(|&byte| byte != b' ');
        } else if length.max(2) + depth <= LINE && self.members.iter().all(|m| is_one_line(m)) {
            out.extend(self.members.join(&b", "[..]));
        } else {
            self.fill_lines(&mut out, depth);
        }
        out
    }

    fn fill_lines(&self, out: &mut Vec<u8>, depth: usize) {
        let new_line = |out: &mut Vec<u8>, indent: usize| {
            out.push(b'\n');
            out.extend(std::iter::repeat_n(b' ', indent));
        };
        // Characters on the current line; over-full to begin with, so that a new line starts.
        let mut filled = LINE + 1;
        for (i, member) in self.members.iter().enumerate() {
            if i > 0 {
                out.push(b',');
            }
            let is_block = member.len() > LINE || !is_one_line(member);
            if is_block || filled + member.len() + 2 > LINE {
                new_line(out, depth + 1);
                filled = depth + 1 + member.len();
            } else {
                out.push(b' ');
                filled += member.len() + 2;
            }
            if is_block {
                filled = LINE + 1;
            }
            out.extend(member);
        }
        new_line(out, depth);
    }
}

fn is_one_line(member: &[u8]) -> bool {
    !member.contains(&b'\n')
}

/// Whether `member` is a pair of numbers.
fn is_point(member: &[u8]) -> bool {
    let is_of_numbers = |bytes: &[u8]| !bytes.iter().any(|byte| b"[]{}\"".contains(byte));
    match member {
        [b'[', inner @ .., b']'] => {
            is_of_numbers(inner) && inner.iter().filter(|&&byte| byte == b',').count() == 1
        }
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn short_things_take_a_line_and_rings_never_more() {
        assert_eq!(
            text(&json!({"a": [], "b": [1, 2.0, -0.0]})),
            "{\"a\": [], \"b\": [1, 2, 0]}\n"
        );
        let ring: Vec<[f64; 2]> = (0..60).map(|n| [f64::from(n), 1e-7]).collect();
        let told = text(&json!({"a": "x,[ \\\" {:", "ring": ring}));
        let lines: Vec<&str> = told.lines().collect();
        assert_eq!(lines[0], "{");
        assert_eq!(lines[1], r#" "a": "x,[ \\\" {:","#);
        assert!(
            lines[2].starts_with(" \"ring\": [[0,0.0000001],[1,"),
            "{told}"
        );
        assert_eq!(lines[3..], ["}"]);
        let back: serde_json::Value = serde_json::from_str(&told).unwrap();
        assert_eq!(back["ring"].as_array().unwrap().len(), 60);
    }
}
