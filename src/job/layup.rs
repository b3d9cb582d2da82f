//! Standard laminate code: `[0/45/-45/90]s`, `[0_2/±45]`, `[(0/90)2/45]2s`.
//!
//! Angles in degrees, first ply against the mould, separated by slashes. `±45` is two plies, 45
//! then −45. A subscript repeats: written `_2` after an angle, as a bare count after a bracket.
//! `s` after the closing bracket means that one half of a symmetric stack is listed, the other half
//! being its mirror image (the convention of US Army TM 1-1500-204-23-11, Advanced Composite
//! Material General Maintenance and Practices). What follows the bracket applies from left to
//! right: `2s` repeats, then mirrors. An odd stack, which the convention marks by a line over the
//! centre ply, is written out in full instead.

use std::ops::Range;

use super::rules::MAX_PLIES;

/// A ply of a laminate code.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct LayupPly {
    /// Angle in degrees, as written; not checked for range.
    pub degrees: f64,
    /// Where the angle stands in the code, bytes.
    pub span: Range<usize>,
    /// Whether it was written with `±`.
    pub paired: bool,
}

/// Why a laminate code cannot be read.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct LayupFault {
    /// Where, bytes of the code.
    pub span: Range<usize>,
    /// What is wrong.
    pub message: &'static str,
    /// What would be right.
    pub help: &'static str,
}

/// Deepest nesting of round brackets.
const MAX_DEPTH: usize = 8;

/// The plies that `code` stands for, first against the mould.
///
/// # Errors
/// The first place where the code does not follow the rules, or expands beyond [`MAX_PLIES`].
pub(super) fn parse(code: &str) -> Result<Vec<LayupPly>, LayupFault> {
    let mut parser = Parser { code, at: 0 };
    parser.skip_spaces();
    if !parser.take('[') {
        return Err(parser.fault(
            "a laminate code starts with `[`",
            "write for example \"[0/45/-45/90]s\"",
        ));
    }
    let mut plies = parser.group(']', 0)?;
    parser.suffix(&mut plies)?;
    Ok(plies)
}

struct Parser<'c> {
    code: &'c str,
    at: usize,
}

impl Parser<'_> {
    fn rest(&self) -> &str {
        &self.code[self.at..]
    }

    fn skip_spaces(&mut self) {
        self.at = self.code.len() - self.rest().trim_start().len();
    }

    fn take(&mut self, c: char) -> bool {
        let there = self.rest().starts_with(c);
        if there {
            self.at += c.len_utf8();
        }
        there
    }

    /// A fault at the next character.
    fn fault(&self, message: &'static str, help: &'static str) -> LayupFault {
        let width = self.rest().chars().next().map_or(0, char::len_utf8);
        LayupFault {
            span: self.at..self.at + width,
            message,
            help,
        }
    }

    /// Items between slashes up to and including `close`.
    fn group(&mut self, close: char, depth: usize) -> Result<Vec<LayupPly>, LayupFault> {
        let mut plies = Vec::new();
        loop {
            self.skip_spaces();
            let from = self.at;
            let item = self.item(depth)?;
            self.extend(&mut plies, item, from)?;
            self.skip_spaces();
            if self.take(close) {
                return Ok(plies);
            }
            if !(self.take('/') || self.take(',')) {
                return Err(self.group_fault(close));
            }
        }
    }

    fn group_fault(&self, close: char) -> LayupFault {
        if self.rest().starts_with(['\u{304}', '\u{305}', '~']) {
            self.fault(
                "a mark over the centre ply is not read",
                "write the whole stack out, for example \"[0/90/0]\"",
            )
        } else if close == ']' {
            self.fault(
                "expected `/` or `]`",
                "separate the angles with `/` and close with `]`, for example \"[0/45/-45/90]s\"",
            )
        } else {
            self.fault(
                "expected `/` or `)`",
                "close the bracket, for example \"[(0/90)2/45]s\"",
            )
        }
    }

    /// An angle or a bracketed group, with its count.
    fn item(&mut self, depth: usize) -> Result<Vec<LayupPly>, LayupFault> {
        let from = self.at;
        let plies = if self.rest().starts_with('(') {
            if depth == MAX_DEPTH {
                return Err(self.fault("too many brackets inside one another", "write it out"));
            }
            self.at += 1;
            let plies = self.group(')', depth + 1)?;
            self.take('_');
            plies
        } else {
            let plies = self.angle()?;
            // A bare number after an angle would belong to the angle.
            if !self.take('_') && !self.rest().starts_with(|c| subscript_digit(c).is_some()) {
                return Ok(plies);
            }
            if !self.rest().starts_with(|c| digit(c).is_some()) {
                return Err(self.fault("expected a count after `_`", "write for example \"0_2\""));
            }
            plies
        };
        match self.count()? {
            Some(n) => self.repeated(&plies, n, from),
            None => Ok(plies),
        }
    }

    /// An angle, or two for `±`.
    fn angle(&mut self) -> Result<Vec<LayupPly>, LayupFault> {
        let from = self.at;
        let signs: &[f64] = self.signs();
        self.skip_spaces();
        let digits = self.at;
        let length = self
            .rest()
            .find(|c: char| !c.is_ascii_digit() && c != '.')
            .unwrap_or(self.rest().len());
        self.at += length;
        let Ok(size) = self.code[digits..self.at].parse::<f64>() else {
            self.at = digits;
            return Err(self.fault(
                "expected an angle",
                "write angles in degrees, for example \"[0/45/-45/90]s\"",
            ));
        };
        let span = from..self.at;
        self.take('°');
        let paired = signs.len() == 2;
        Ok(signs
            .iter()
            .map(|sign| LayupPly {
                degrees: if size == 0.0 { 0.0 } else { sign * size },
                span: span.clone(),
                paired,
            })
            .collect())
    }

    fn signs(&mut self) -> &'static [f64] {
        const SIGNS: [(&str, &[f64]); 9] = [
            ("±", &[1.0, -1.0]),
            ("∓", &[-1.0, 1.0]),
            ("+/-", &[1.0, -1.0]),
            ("-/+", &[-1.0, 1.0]),
            ("+-", &[1.0, -1.0]),
            ("-+", &[-1.0, 1.0]),
            ("+", &[1.0]),
            ("-", &[-1.0]),
            ("−", &[-1.0]),
        ];
        for (written, signs) in SIGNS {
            if self.rest().starts_with(written) {
                self.at += written.len();
                return signs;
            }
        }
        &[1.0]
    }

    /// A whole number from 1, if a digit follows.
    fn count(&mut self) -> Result<Option<usize>, LayupFault> {
        let from = self.at;
        let mut count: usize = 0;
        while let Some((c, value)) = self
            .rest()
            .chars()
            .next()
            .and_then(|c| Some((c, digit(c)?)))
        {
            count = count.saturating_mul(10).saturating_add(value);
            self.at += c.len_utf8();
        }
        if self.at == from {
            Ok(None)
        } else if count == 0 {
            Err(LayupFault {
                span: from..self.at,
                message: "a count of zero",
                help: "leave the ply out, or write a count from 1",
            })
        } else {
            Ok(Some(count))
        }
    }

    /// Count and `s` after the closing bracket, from left to right.
    fn suffix(&mut self, plies: &mut Vec<LayupPly>) -> Result<(), LayupFault> {
        let mut mirrored = false;
        let mut counted = false;
        loop {
            self.skip_spaces();
            self.take('_');
            let from = self.at;
            if self.rest().is_empty() {
                return Ok(());
            }
            if !mirrored && (self.take('s') || self.take('S')) {
                mirrored = true;
                let mirror = plies.iter().rev().cloned().collect();
                self.extend(plies, mirror, from)?;
            } else if !counted && let Some(n) = self.count()? {
                counted = true;
                *plies = self.repeated(plies, n, from)?;
            } else {
                return Err(self.fault(
                    "nothing may follow here",
                    "after `]` stand a repeat count, an `s` for symmetric, or both: \"[0/90]2s\"",
                ));
            }
        }
    }

    fn repeated(
        &self,
        plies: &[LayupPly],
        n: usize,
        from: usize,
    ) -> Result<Vec<LayupPly>, LayupFault> {
        if plies.len().saturating_mul(n) > MAX_PLIES as usize {
            return Err(self.too_many(from));
        }
        Ok((0..n).flat_map(|_| plies.iter().cloned()).collect())
    }

    fn extend(
        &self,
        plies: &mut Vec<LayupPly>,
        more: Vec<LayupPly>,
        from: usize,
    ) -> Result<(), LayupFault> {
        if plies.len() + more.len() > MAX_PLIES as usize {
            return Err(self.too_many(from));
        }
        plies.extend(more);
        Ok(())
    }

    fn too_many(&self, from: usize) -> LayupFault {
        LayupFault {
            span: from..self.at,
            message: "the laminate has more than 10000 plies",
            help: "is the count right?",
        }
    }
}

fn digit(c: char) -> Option<usize> {
    c.to_digit(10)
        .map(|value| value as usize)
        .or_else(|| subscript_digit(c))
}

/// The value of `₀` … `₉`.
fn subscript_digit(c: char) -> Option<usize> {
    ('₀'..='₉').position(|d| d == c)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn angles(code: &str) -> Vec<f64> {
        let plies = parse(code).unwrap_or_else(|fault| panic!("{code}: {fault:?}"));
        plies.into_iter().map(|ply| ply.degrees).collect()
    }

    #[test]
    fn lists_plies_from_the_mould_up() {
        assert_eq!(angles("[0/45/-45/90]"), [0.0, 45.0, -45.0, 90.0]);
        assert_eq!(angles(" [ 0 / 22.5° / −45 ] "), [0.0, 22.5, -45.0]);
    }

    #[test]
    fn s_adds_the_mirror_image_and_a_count_repeats_before_it() {
        assert_eq!(angles("[0/90]s"), [0.0, 90.0, 90.0, 0.0]);
        let repeated_then_mirrored = [0.0, 90.0, 0.0, 90.0, 90.0, 0.0, 90.0, 0.0];
        for code in ["[0/90]2s", "[0/90]_2S", "[0/90]₂s"] {
            assert_eq!(angles(code), repeated_then_mirrored, "{code}");
        }
        let mirrored_then_repeated = [0.0, 90.0, 90.0, 0.0, 0.0, 90.0, 90.0, 0.0];
        assert_eq!(angles("[0/90]s2"), mirrored_then_repeated);
    }

    #[test]
    fn plus_minus_is_two_plies_and_subscripts_repeat() {
        for code in ["[0_2/±45]", "[0₂/+-45]", "[0_2/+/-45]", "[0/0/45/-45]"] {
            assert_eq!(angles(code), [0.0, 0.0, 45.0, -45.0], "{code}");
        }
        assert_eq!(angles("[-+30]"), [-30.0, 30.0]);
        assert_eq!(angles("[±45_2]"), [45.0, -45.0, 45.0, -45.0]);
        assert_eq!(angles("[(0/90)2/45]"), [0.0, 90.0, 0.0, 90.0, 45.0]);
    }

    #[test]
    fn faults_point_at_the_place() {
        for (code, at, message) in [
            ("0/90", 0, "a laminate code starts with `[`"),
            ("", 0, "a laminate code starts with `[`"),
            ("[0/90", 5, "expected `/` or `]`"),
            ("[]", 1, "expected an angle"),
            ("[0//90]", 3, "expected an angle"),
            ("[0/x]", 3, "expected an angle"),
            ("[0 45]", 3, "expected `/` or `]`"),
            ("[0/90]t", 6, "nothing may follow here"),
            ("[0/90]ss", 7, "nothing may follow here"),
            ("[0_/90]", 3, "expected a count after `_`"),
            ("[0_0]", 3, "a count of zero"),
            ("[(0/90]", 6, "expected `/` or `)`"),
            ("[0/90/0~]s", 7, "a mark over the centre ply is not read"),
            (
                "[((((((((((0))))))))))]",
                9,
                "too many brackets inside one another",
            ),
            (
                "[0_99999999999999999999999]",
                1,
                "the laminate has more than 10000 plies",
            ),
            (
                "[((0_99)_99)_99]",
                1,
                "the laminate has more than 10000 plies",
            ),
        ] {
            let fault = parse(code).expect_err(code);
            assert_eq!((fault.span.start, fault.message), (at, message), "{code}");
        }
    }
}
