//! JSON values and their layout as text: keys in a useful order, short members packed into lines.

use crate::output::number::{ANGLE, COORDINATE, number};
use crate::units::{Angle, Area, Length, Mass, Modulus, Money, PlyAngle};

/// A JSON value on its way to text.
pub(super) enum Json {
    /// Text that is valid JSON already and stays on one line.
    Raw(String),
    Object(Vec<(&'static str, Json)>),
    List(Vec<Json>),
}

/// Lines are filled up to about this many characters.
const LINE: usize = 110;

impl Json {
    pub(super) fn raw(value: impl ToString) -> Self {
        Self::Raw(value.to_string())
    }

    pub(super) fn null() -> Self {
        Self::raw("null")
    }

    pub(super) fn text(text: &str) -> Self {
        Self::Raw(quoted(text))
    }

    /// A number; `null` if it is not finite, which JSON cannot say.
    pub(super) fn number(value: f64, decimals: i32) -> Self {
        if value.is_finite() {
            Self::Raw(number(value, decimals))
        } else {
            Self::null()
        }
    }

    pub(super) fn length(length: Length) -> Self {
        Self::number(length.to_mm(), COORDINATE)
    }

    pub(super) fn area(area: Area) -> Self {
        Self::number(area.to_mm2(), 2)
    }

    pub(super) fn mass(mass: Mass) -> Self {
        Self::number(mass.to_grams(), 3)
    }

    pub(super) fn ply_angle(angle: PlyAngle) -> Self {
        Self::angle(angle.from_zero())
    }

    pub(super) fn angle(angle: Angle) -> Self {
        Self::number(angle.to_degrees(), ANGLE)
    }

    /// To 0.1 MPa.
    pub(super) fn modulus(modulus: Modulus) -> Self {
        Self::number(modulus.to_mpa(), 1)
    }

    /// `null` for what is not known.
    pub(super) fn known<T>(value: Option<T>, write: impl FnOnce(T) -> Self) -> Self {
        value.map_or_else(Self::null, write)
    }

    pub(super) fn money(money: Option<Money>) -> Self {
        money.map_or_else(Self::null, |m| Self::number(m.to_decimal(), 2))
    }

    pub(super) fn list(items: impl IntoIterator<Item = Self>) -> Self {
        Self::List(items.into_iter().collect())
    }

    pub(super) fn object(members: impl IntoIterator<Item = (&'static str, Self)>) -> Self {
        Self::Object(members.into_iter().collect())
    }

    /// Appends the value: on one line if it fits, else its members packed into indented lines.
    pub(super) fn write(&self, out: &mut String, indent: usize) {
        match self.one_line() {
            Some(line) if line.len() + indent <= LINE || self.is_raw() => out.push_str(&line),
            _ => self.write_lines(out, indent),
        }
    }

    fn is_raw(&self) -> bool {
        matches!(self, Self::Raw(_))
    }

    /// The value on one line, or `None` once it is clear that no line will hold it.
    fn one_line(&self) -> Option<String> {
        let (open, close, members): (_, _, Vec<String>) = match self {
            Self::Raw(text) => return Some(text.clone()),
            Self::List(items) => (
                '[',
                ']',
                items.iter().map(Self::one_line).collect::<Option<_>>()?,
            ),
            Self::Object(members) => (
                '{',
                '}',
                members
                    .iter()
                    .map(|(key, value)| value.one_line().map(|v| format!("\"{key}\": {v}")))
                    .collect::<Option<_>>()?,
            ),
        };
        let line = format!("{open}{}{close}", members.join(", "));
        (line.len() <= LINE).then_some(line)
    }

    fn write_lines(&self, out: &mut String, indent: usize) {
        let (open, close, members): (_, _, Vec<(&str, &Self)>) = match self {
            Self::Raw(text) => return out.push_str(text),
            Self::List(items) => ('[', ']', items.iter().map(|i| ("", i)).collect()),
            Self::Object(members) => ('{', '}', members.iter().map(|(k, v)| (*k, v)).collect()),
        };
        out.push(open);
        let inner = indent + 1;
        // Characters on the current line; over-full to begin with, so that a new line starts.
        let mut filled = LINE + 1;
        for (i, (key, value)) in members.iter().enumerate() {
            if i > 0 {
                out.push(',');
            }
            let mut text = String::new();
            if !key.is_empty() {
                text = format!("\"{key}\": ");
            }
            value.write(&mut text, inner);
            let is_block = text.contains('\n') || text.len() > LINE;
            if is_block || filled + text.len() + 2 > LINE {
                out.push('\n');
                out.extend(std::iter::repeat_n(' ', inner));
                filled = inner + text.len();
            } else {
                out.push(' ');
                filled += text.len() + 2;
            }
            if is_block {
                filled = LINE + 1;
            }
            out.push_str(&text);
        }
        out.push('\n');
        out.extend(std::iter::repeat_n(' ', indent));
        out.push(close);
    }
}

fn quoted(text: &str) -> String {
    serde_json::to_string(text).expect("a string is always valid JSON")
}
