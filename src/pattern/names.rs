//! What outlines are called: ids of their own, and the texts in them.

use std::collections::HashMap;

use super::openings::{Piled, smallest_around};
use super::{LabelWords, Pattern};
use crate::geometry::{Outline, Point};

/// Gives each text to the smallest outline around its anchor, unless too many lie over each other.
pub(super) fn label(pattern: &mut Pattern) -> Result<(), Piled> {
    let outlines: Vec<&Outline> = pattern.outlines.iter().map(|o| &o.outline).collect();
    let anchors: Vec<Point> = pattern.texts.iter().map(|t| t.at).collect();
    let around = smallest_around(&outlines, &anchors)?;
    for (text, outline) in pattern.texts.iter().zip(around) {
        if let Some(i) = outline {
            let outline = &mut pattern.outlines[i];
            outline.words.add(LabelWords::of(&text.text));
            outline.labels.push(text.text.clone());
        }
    }
    Ok(())
}

/// Ids given out so far, to make each unique.
#[derive(Default)]
pub(super) struct Ids(HashMap<String, usize>);

impl Ids {
    /// `id`, with a number behind it if it was given out before.
    pub(super) fn unique(&mut self, id: &str) -> String {
        let mut n = self.0.get(id).copied().unwrap_or(0);
        loop {
            n += 1;
            let name = if n == 1 {
                id.to_owned()
            } else {
                format!("{id}-{n}")
            };
            self.0.insert(id.to_owned(), n);
            if n == 1 || !self.0.contains_key(&name) {
                self.0.entry(name.clone()).or_insert(1);
                return name;
            }
        }
    }
}
