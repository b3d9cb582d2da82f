//! Text as DXF writes it → plain text: code pages, `%%` and `\U+` codes, MTEXT formatting.

use encoding_rs::{Encoding, UTF_8, WINDOWS_1252};

/// How the bytes of a file's texts are to be read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum CodePage {
    /// UTF-8: files of release 2007 (AC1021) and later.
    Utf8,
    /// The code page named by `$DWGCODEPAGE`.
    Named(&'static Encoding),
}

impl CodePage {
    /// From the header's `$ACADVER` and `$DWGCODEPAGE`.
    pub(super) fn of(version: &[u8], code_page: &[u8]) -> Self {
        if version >= b"AC1021".as_slice() {
            return Self::Utf8;
        }
        let name = String::from_utf8_lossy(code_page).to_ascii_lowercase();
        let label = match name.strip_prefix("ansi_") {
            Some("932") => "shift_jis".to_owned(),
            Some("936") => "gbk".to_owned(),
            Some("949") => "euc-kr".to_owned(),
            Some("950") => "big5".to_owned(),
            Some(number) => format!("windows-{number}"),
            None => name,
        };
        Self::Named(Encoding::for_label(label.as_bytes()).unwrap_or(WINDOWS_1252))
    }

    pub(super) fn decode(self, bytes: &[u8]) -> String {
        match self {
            // Many writers put UTF-8 into old versions; valid UTF-8 is hardly ever anything else.
            _ if bytes.is_ascii() => String::from_utf8_lossy(bytes).into_owned(),
            Self::Utf8 => UTF_8.decode_without_bom_handling(bytes).0.into_owned(),
            Self::Named(encoding) => match str::from_utf8(bytes) {
                Ok(text) => text.to_owned(),
                Err(_) => encoding.decode_without_bom_handling(bytes).0.into_owned(),
            },
        }
    }
}

/// A TEXT's content without its codes.
pub(super) fn plain_text(text: &str) -> String {
    let plain = decoded(text, |c, rest, plain| {
        plain.push(c);
        rest
    });
    plain.trim().to_owned()
}

/// `text` with its character codes decoded; `other` takes each other character, with what follows
/// it, and answers what is still to be read.
fn decoded(text: &str, other: impl for<'t> Fn(char, &'t str, &mut String) -> &'t str) -> String {
    let mut plain = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        if let Some((decoded, after)) = unicode_code(rest).or_else(|| percent_code(rest)) {
            plain.extend(decoded);
            rest = after;
        } else {
            rest = other(c, &rest[c.len_utf8()..], &mut plain);
        }
    }
    plain
}

/// An MTEXT's content on one line, without its formatting.
pub(super) fn plain_mtext(text: &str) -> String {
    let plain = decoded(text, |c, rest, plain| {
        match c {
            '{' | '}' => {}
            '\\' => return mtext_code(rest, plain),
            '^' => {
                // ^I, ^J, ^M: tab and line ends.
                plain.push(' ');
                return rest.strip_prefix(['I', 'J', 'M']).unwrap_or(rest);
            }
            c => plain.push(c),
        }
        rest
    });
    plain.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Takes one code behind a backslash from the front of `rest`; returns what follows it.
fn mtext_code<'a>(rest: &'a str, plain: &mut String) -> &'a str {
    let Some(c) = rest.chars().next() else {
        return rest;
    };
    let after = &rest[c.len_utf8()..];
    match c {
        'P' | 'N' | 'X' | '~' => plain.push(' '),
        '\\' | '{' | '}' => plain.push(c),
        'L' | 'l' | 'O' | 'o' | 'K' | 'k' => {}
        // Height, width, slant, tracking, colour, alignment, font, paragraph: up to a semicolon.
        'H' | 'W' | 'Q' | 'T' | 'C' | 'c' | 'A' | 'f' | 'F' | 'p' => {
            return after.split_once(';').map_or("", |(_, after)| after);
        }
        'S' => {
            let (stacked, after) = after.split_once(';').unwrap_or((after, ""));
            plain.push_str(&stacked.replace(['^', '#'], "/").replace(' ', ""));
            return after;
        }
        c => plain.push(c),
    }
    after
}

/// `\U+00B0` at the front of `text`, and what follows.
fn unicode_code(text: &str) -> Option<(Option<char>, &str)> {
    let digits = text
        .strip_prefix("\\U+")
        .or_else(|| text.strip_prefix("\\u+"))?;
    let code = u32::from_str_radix(digits.get(..4)?, 16).ok()?;
    Some((char::from_u32(code), &digits[4..]))
}

/// `%%d` and its like at the front of `text`, and what follows.
fn percent_code(text: &str) -> Option<(Option<char>, &str)> {
    let code = text.strip_prefix("%%")?;
    let c = code.chars().next()?;
    let decoded = match c.to_ascii_lowercase() {
        'd' => Some('°'),
        'p' => Some('±'),
        'c' => Some('Ø'),
        '%' => Some('%'),
        'u' | 'o' | 'k' => None,
        '0'..='9' => {
            let number = code.get(..3)?.parse::<u8>().ok()?;
            return Some((Some(char::from(number)), &code[3..]));
        }
        _ => return None,
    };
    Some((decoded, &code[c.len_utf8()..]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_in_texts_are_decoded() {
        assert_eq!(plain_text("%%uPLY 3%%u +45%%d"), "PLY 3 +45°");
        assert_eq!(plain_text("\\U+00D820 %%p0.1 100%%%"), "Ø20 ±0.1 100%");
        assert_eq!(plain_text("50%% off"), "50%% off");
    }

    #[test]
    fn mtext_formatting_is_dropped() {
        let text = r"{\fArial|b0;\H2.5x;SKIN}\PQTY \{2\} \S1/2; in \A1;\LA\l";
        assert_eq!(plain_mtext(text), "SKIN QTY {2} 1/2 in A");
    }

    #[test]
    fn old_files_use_their_code_page() {
        let page = CodePage::of(b"AC1015", b"ANSI_1252");
        assert_eq!(page.decode(b"Fl\xfcgel"), "Flügel");
        assert_eq!(
            CodePage::of(b"AC1021", b"ANSI_1252").decode("Flügel".as_bytes()),
            "Flügel"
        );
    }
}
