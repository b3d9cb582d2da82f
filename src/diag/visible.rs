//! Text from files made fit for a terminal.

use std::borrow::Cow;

/// Longest stretch without a blank that a message shows of a text.
const LONGEST_WORD: usize = 400;

/// Whether a terminal would act on `c` instead of showing it: control characters but line break and
/// tab, and the marks that turn the direction of writing.
#[must_use]
pub fn is_active(c: char) -> bool {
    match c {
        '\n' | '\t' => false,
        '\u{200e}' | '\u{200f}' | '\u{061c}' => true,
        '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => true,
        '\u{2028}' | '\u{2029}' => true,
        c => c.is_control(),
    }
}

/// `text` with everything a terminal would act on written out, for example `<U+001B>`.
#[must_use]
pub fn visible(text: &str) -> Cow<'_, str> {
    if !text.contains(is_active) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len());
    for c in text.chars() {
        match is_active(c) {
            true => shown.push_str(&format!("<U+{:04X}>", u32::from(c))),
            false => shown.push(c),
        }
    }
    Cow::Owned(shown)
}

/// `text`, or its beginning and a mark of what is left out where it has more than `most` letters. Columns
/// are made of such texts: no name may push the others off the screen.
#[must_use]
pub fn shortened(text: &str, most: usize) -> Cow<'_, str> {
    match text.char_indices().nth(most) {
        None => Cow::Borrowed(text),
        Some(_) => Cow::Owned(
            text.chars()
                .take(most.saturating_sub(1))
                .chain(['…'])
                .collect(),
        ),
    }
}

/// `text` made visible, with endless words cut short: a name of kilobytes would hide the message around it.
pub(super) fn readable(text: &str) -> Cow<'_, str> {
    let shown = visible(text);
    if shown
        .split(char::is_whitespace)
        .all(|word| word.len() <= LONGEST_WORD)
    {
        return shown;
    }
    let mut cut = String::new();
    let mut word = 0;
    for c in shown.chars() {
        word = if c.is_whitespace() { 0 } else { word + 1 };
        match word {
            LONGEST_WORD => cut.push('…'),
            n if n > LONGEST_WORD => {}
            _ => cut.push(c),
        }
    }
    Cow::Owned(cut)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_that_acts_on_a_terminal_is_left() {
        let hostile = "a\x1b[31mb\u{9b}2Jc\u{202e}d\x07e\r\x7f\u{2066}\0";
        let shown = visible(hostile);
        assert!(!shown.contains(is_active), "{shown:?}");
        assert!(shown.starts_with("a<U+001B>[31mb<U+009B>2Jc<U+202E>d"));
        for plain in ["Köper 2/2", "one\n\ttwo", "45° · #3"] {
            assert!(matches!(visible(plain), Cow::Borrowed(_)), "{plain}");
        }
        assert!(readable(&"x".repeat(70_000)).chars().count() <= LONGEST_WORD);
    }
}
