//! Style sheets → rules, as far as they say something of interest.
//!
//! `simplecss` reads selectors and declarations, one at a time. Given a whole sheet it would count the
//! lines from its start at every declaration and copy all declarations of a rule for every selector:
//! time and memory would grow with the square of the sheet. So rules, selectors and declarations are
//! told apart here. At-rules are passed over.

use std::ops::Range;

use simplecss::{Declaration, DeclarationTokenizer, Selector};

use super::style::is_of_interest;

/// Rules, lightest first.
#[derive(Default)]
pub(super) struct Sheet<'a> {
    rules: Vec<Rule<'a>>,
    declarations: Vec<Declaration<'a>>,
}

struct Rule<'a> {
    selector: Selector<'a>,
    /// Places in the sheet's declarations; rules with several selectors share them.
    declarations: Range<usize>,
}

impl<'a> Sheet<'a> {
    /// The rules of `texts`, each a sheet; later ones go before earlier ones of the same weight.
    pub(super) fn of(texts: impl Iterator<Item = &'a str>) -> Self {
        let mut sheet = Self::default();
        for text in texts {
            sheet.read(text);
        }
        sheet.rules.sort_by_cached_key(|r| r.selector.specificity());
        sheet
    }

    pub(super) fn is_empty(&self) -> bool {
        self.rules.is_empty()
    }

    /// Selectors with their declarations.
    pub(super) fn rules(&self) -> impl Iterator<Item = (&Selector<'a>, &[Declaration<'a>])> {
        let declarations = |r: &Rule<'_>| &self.declarations[r.declarations.clone()];
        self.rules
            .iter()
            .map(move |r| (&r.selector, declarations(r)))
    }

    fn read(&mut self, text: &'a str) {
        let mut rest = text;
        while let Some((prelude, after)) = cut(rest, b"{") {
            // An at-rule may end without a block.
            let prelude = trimmed(prelude);
            if prelude.starts_with('@')
                && let Some((statement, _)) = cut(prelude, b";")
            {
                let end = statement.as_ptr() as usize - rest.as_ptr() as usize + statement.len();
                rest = &rest[end + 1..];
                continue;
            }
            let block = block(after);
            rest = after.get(block.len() + 1..).unwrap_or_default();
            if !prelude.starts_with('@') {
                self.rule(prelude, block);
            }
        }
    }

    fn rule(&mut self, prelude: &'a str, block: &'a str) {
        let from = self.declarations.len();
        self.declarations.extend(declarations(block));
        let declarations = from..self.declarations.len();
        if declarations.is_empty() {
            return;
        }
        self.rules.extend(split(prelude, b",").filter_map(|text| {
            Some(Rule {
                selector: Selector::parse(trimmed(text))?,
                declarations: declarations.clone(),
            })
        }));
    }
}

/// What `block` (also: the text of a `style` attribute) declares of interest.
pub(super) fn declarations(block: &str) -> impl Iterator<Item = Declaration<'_>> {
    split(block, b";")
        .filter_map(|text| DeclarationTokenizer::from(text).next())
        .filter(|declaration| is_of_interest(declaration.name))
}

/// `text` without blanks and comments at its start and blanks at its end.
fn trimmed(text: &str) -> &str {
    let mut text = text.trim();
    while let Some(comment) = text.strip_prefix("/*") {
        text = comment
            .split_once("*/")
            .map_or("", |(_, rest)| rest.trim_start());
    }
    text
}

/// The parts of `text` between separators.
fn split<'a>(text: &'a str, separator: &'static [u8; 1]) -> impl Iterator<Item = &'a str> {
    let mut rest = Some(text);
    std::iter::from_fn(move || {
        let text = rest?;
        let (part, after) = cut(text, separator).unzip();
        rest = after;
        Some(part.unwrap_or(text))
    })
}

/// `text` before and after the first `separator` that is in no string, comment or parentheses.
fn cut<'a>(text: &'a str, separator: &[u8; 1]) -> Option<(&'a str, &'a str)> {
    let at = marks(text).find(|&at| text.as_bytes()[at] == separator[0])?;
    Some((&text[..at], &text[at + 1..]))
}

/// What of `text` lies before the brace that closes it.
fn block(text: &str) -> &str {
    let mut open = 0_usize;
    for at in marks(text) {
        match text.as_bytes()[at] {
            b'{' => open += 1,
            b'}' if open == 0 => return &text[..at],
            b'}' => open -= 1,
            _ => {}
        }
    }
    text
}

/// Where in `text` the bytes are that may separate something: not those in strings, in comments and in
/// parentheses, which are skipped as a whole.
fn marks(text: &str) -> impl Iterator<Item = usize> {
    let mut at = 0;
    std::iter::from_fn(move || {
        loop {
            let rest = &text.as_bytes()[at..];
            let here = at;
            let within = match rest.first()? {
                b'/' if rest.starts_with(b"/*") => text[at + 2..].find("*/").map(|n| n + 4),
                b'(' => text[at..].find(')').map(|n| n + 1),
                b'"' => text[at + 1..].find(['"', '\n']).map(|n| n + 2),
                b'\'' => text[at + 1..].find(['\'', '\n']).map(|n| n + 2),
                _ => {
                    at += 1;
                    return Some(here);
                }
            };
            // What is not closed takes all that follows with it.
            at += within.unwrap_or(rest.len());
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Each rule as its selector and what it declares.
    fn rules(text: &str) -> Vec<String> {
        let sheet = Sheet::of([text].into_iter());
        let shown = |d: &Declaration<'_>| {
            format!(
                "{}:{}{}",
                d.name,
                d.value,
                if d.important { "!" } else { "" }
            )
        };
        let rules = sheet.rules();
        rules
            .map(|(selector, declared)| {
                let declared: Vec<String> = declared.iter().map(shown).collect();
                format!("{selector} {}", declared.join(" "))
            })
            .collect()
    }

    #[test]
    fn rules_are_told_apart() {
        assert_eq!(
            rules(
                "/* don't {fill:blue} */ @import url('x;y');\n@media print { .a { fill: red } }\n\
                 #one, .a.b { fill: red; font-family: 'a;}b'; stroke: rgb(1, 2, 3) !important }\
                 g > path{ width: 3px }path{/* ; */display:none;;fill:url(data:a;b)}"
            ),
            [
                "path display:none fill:url(data:a;b)",
                ".a.b fill:red stroke:rgb(1, 2, 3)!",
                "#one fill:red stroke:rgb(1, 2, 3)!",
            ]
            .map(|rule| rule
                .replace(".a.b", "*[class~='a'][class~='b']")
                .replace("#one", "*[id='one']"))
        );
    }

    #[test]
    fn a_bad_rule_or_declaration_leaves_the_others() {
        assert_eq!(
            rules("<!{fill:red} a{fill red;stroke:blue} b{fill:green"),
            ["a stroke:blue", "b fill:green"]
        );
        assert_eq!(rules("a{fill:'x"), Vec::<String>::new());
    }
}
