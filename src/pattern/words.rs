//! What a text in an outline says of it: name, quantity, ply numbers.

/// Ply numbers that one text may list: `PLIES 1-9999999` is no laminate.
const MOST_PLIES: u32 = 400;

/// What texts say of an outline.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LabelWords {
    /// What is left when quantity and ply numbers are taken out: the piece's name.
    pub name: Option<String>,
    /// How many are to be made (`QTY 2`, `2 OFF`, `x2`).
    pub quantity: Option<u32>,
    /// Which plies have this outline (`PLY 3`, `PLIES 1-4`, `PLY 2, 5`).
    pub plies: Vec<u32>,
}

impl LabelWords {
    /// What the text `text` says.
    pub(super) fn of(text: &str) -> Self {
        let tokens = tokens(text);
        let mut words = Self::default();
        let mut name: Vec<&str> = Vec::new();
        let mut i = 0;
        while i < tokens.len() {
            let rest = &tokens[i..];
            if let Some((quantity, used)) = quantity(rest) {
                words.quantity.get_or_insert(quantity);
                i += used;
            } else if let Some((plies, used)) = plies(rest) {
                words.plies.extend(plies);
                i += used;
            } else {
                name.push(tokens[i]);
                i += 1;
            }
        }
        // A dash that stood between name and number stands for nothing now.
        name.retain(|t| !matches!(*t, "-" | "–" | "/" | "|"));
        let name = name.join(" ");
        let name = name.trim_matches([' ', ',', ';', ':', '-', '–', '/', '|']);
        // A fibre angle or a bare number names nothing.
        if name.chars().any(char::is_alphabetic) {
            words.name = Some(name.to_owned());
        }
        words
    }

    /// Adds what another text of the same outline says; what was said first stays.
    pub(super) fn add(&mut self, other: Self) {
        self.name = self.name.take().or(other.name);
        self.quantity = self.quantity.or(other.quantity);
        self.plies.extend(other.plies);
        self.plies.sort_unstable();
        self.plies.dedup();
    }
}

/// Words and numbers; `QTY:2` is two of them, `x2` and `1-4` are one.
fn tokens(text: &str) -> Vec<&str> {
    text.split(|c: char| c.is_whitespace() || matches!(c, ':' | '=' | '(' | ')' | ';' | '#'))
        .filter(|t| !t.is_empty())
        .collect()
}

/// A quantity at the front of `tokens`, and how many of them it takes.
fn quantity(tokens: &[&str]) -> Option<(u32, usize)> {
    let word = |i: usize| tokens.get(i).map(|t: &&str| t.to_lowercase());
    let first = word(0)?;
    let trimmed = first.trim_matches(['.', ',']);
    if matches!(trimmed, "qty" | "quantity" | "qnty") {
        // `QTY 2`, `QTY. OF 2`
        let at = if word(1).as_deref() == Some("of") {
            2
        } else {
            1
        };
        return Some((count(tokens.get(at)?)?, at + 1));
    }
    for glued in ["qty", "x", "×"] {
        // `QTY2`, `x2`, `×2`
        if let Some(n) = trimmed.strip_prefix(glued).and_then(count) {
            return Some((n, 1));
        }
    }
    if matches!(trimmed, "x" | "×") {
        return Some((count(tokens.get(1)?)?, 2));
    }
    if let Some(n) = trimmed.strip_suffix(['x', '×']).and_then(count) {
        return Some((n, 1));
    }
    // `2 OFF`, `2 PCS`
    let n = count(trimmed)?;
    let unit = word(1)?;
    matches!(
        unit.trim_matches(['.', ',']),
        "off" | "pcs" | "pc" | "pieces" | "req'd"
    )
    .then_some((n, 2))
}

/// Ply numbers at the front of `tokens`, and how many of them they take.
fn plies(tokens: &[&str]) -> Option<(Vec<u32>, usize)> {
    let first = tokens.first()?.to_lowercase();
    let first = first.trim_matches(['.', ',']);
    let glued = first.strip_prefix("ply");
    let mut numbers = Vec::new();
    if !matches!(first, "ply" | "plies" | "plys") {
        // `PLY3`; `P3` is a name as often as not.
        let n = glued.and_then(count)?;
        return Some((vec![n], 1));
    }
    let mut used = 1;
    // `PLY NO 3`
    if tokens.get(used).is_some_and(|t| {
        let t = t.to_lowercase();
        matches!(t.trim_matches('.'), "no" | "nr" | "number")
    }) {
        used += 1;
    }
    while let Some(&token) = tokens.get(used) {
        let goes_on = token.ends_with([',', '+', '&']);
        if matches!(token, "&" | "+" | "and" | "AND" | ",") && !numbers.is_empty() {
            used += 1;
            continue;
        }
        let Some(more) = list(token) else { break };
        let expected = numbers.is_empty()
            || tokens[used - 1].ends_with([',', '+', '&'])
            || matches!(tokens[used - 1], "and" | "AND");
        if !expected {
            break;
        }
        numbers.extend(more);
        used += 1;
        if !goes_on && !matches!(tokens.get(used), Some(&("&" | "+" | "and" | "AND" | ","))) {
            break;
        }
    }
    // `PLY 3 OF 8`
    if tokens
        .get(used)
        .is_some_and(|t| t.eq_ignore_ascii_case("of"))
        && tokens.get(used + 1).is_some_and(|t| count(t).is_some())
    {
        used += 2;
    }
    (!numbers.is_empty()).then_some((numbers, used))
}

/// `3`, `1-4`, `2,5,7`.
fn list(token: &str) -> Option<Vec<u32>> {
    let mut numbers = Vec::new();
    let token = token.trim_end_matches([',', '.', '+', '&']);
    for part in token.split([',', '+', '&', '/']) {
        match part.split_once(['-', '–']) {
            Some((from, to)) => {
                let (from, to) = (count(from)?, count(to)?);
                if from > to || to - from > MOST_PLIES {
                    return None;
                }
                numbers.extend(from..=to);
            }
            None => numbers.push(count(part)?),
        }
        if numbers.len() > MOST_PLIES as usize {
            return None;
        }
    }
    Some(numbers)
}

/// A whole number from 1, of at most six digits.
fn count(text: &str) -> Option<u32> {
    let text = text.trim_end_matches(['.', ',']);
    let is_number = !text.is_empty() && text.len() <= 6 && text.bytes().all(|b| b.is_ascii_digit());
    is_number
        .then(|| text.parse().ok())
        .flatten()
        .filter(|&n| n > 0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(text: &str) -> (Option<String>, Option<u32>, Vec<u32>) {
        let words = LabelWords::of(text);
        (words.name, words.quantity, words.plies)
    }

    #[test]
    fn quantities_and_ply_numbers_are_read_as_people_write_them() {
        for text in [
            "QTY 2",
            "Qty: 2",
            "QTY=2",
            "qty. 2",
            "quantity 2",
            "QTY2",
            "x2",
            "x 2",
            "2x",
            "×2",
            "2 OFF",
            "2 pcs",
            "QTY (2)",
        ] {
            assert_eq!(said(text), (None, Some(2), vec![]), "{text}");
        }
        for (text, plies) in [
            ("PLY 3", vec![3]),
            ("Ply: 3", vec![3]),
            ("ply no. 3", vec![3]),
            ("PLY #3", vec![3]),
            ("PLY3", vec![3]),
            ("PLY 3 OF 8", vec![3]),
            ("PLIES 1-4", vec![1, 2, 3, 4]),
            ("PLIES 2, 5", vec![2, 5]),
            ("plies 2,5 and 7", vec![2, 5, 7]),
        ] {
            assert_eq!(said(text), (None, None, plies), "{text}");
        }
    }

    #[test]
    fn what_is_left_is_the_name() {
        assert_eq!(
            said("SKIN QTY 2"),
            (Some("SKIN".to_owned()), Some(2), vec![])
        );
        assert_eq!(
            said("Rib 4 - ply 2 - 3 off"),
            (Some("Rib 4".to_owned()), Some(3), vec![2])
        );
        assert_eq!(said("PLY 1 ±45°"), (None, None, vec![1]));
        assert_eq!(said("KNEE"), (Some("KNEE".to_owned()), None, vec![]));
        assert_eq!(
            said("Fin x-ply"),
            (Some("Fin x-ply".to_owned()), None, vec![])
        );
        assert_eq!(
            said("PLIES 1-99999999 QTY 0"),
            (Some("PLIES 1-99999999 QTY 0".to_owned()), None, vec![])
        );
    }
}
