//! Choosing an outline or a line of a pattern by the name that the job gives.

use std::fmt;

use super::chain::length;
use super::{Pattern, PatternLine, PatternMark, PatternOutline, Role};

/// Why a name does not choose one outline or line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ChoiceError {
    /// Nothing is called so.
    Unknown {
        /// The name asked for.
        name: String,
        /// All names there are: layers, ids and labels, in order, each once.
        known: Vec<String>,
    },
    /// Several are.
    Ambiguous {
        /// The name asked for.
        name: String,
        /// Ids of the ones that it fits.
        ids: Vec<String>,
    },
    /// The only outline was asked for and there are several.
    NotOnly {
        /// The ids of all outlines.
        ids: Vec<String>,
    },
}

impl fmt::Display for ChoiceError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unknown { name, known } => match known.join(", ").as_str() {
                "" => write!(
                    f,
                    "nothing is called \"{name}\", there is nothing to choose from"
                ),
                known => write!(f, "nothing is called \"{name}\"; there are {known}"),
            },
            Self::Ambiguous { name, ids } => {
                let (n, ids) = (ids.len(), ids.join(", "));
                write!(f, "\"{name}\" fits {n} of them: {ids}")
            }
            Self::NotOnly { ids } => {
                write!(f, "there are {} outlines: {}", ids.len(), ids.join(", "))
            }
        }
    }
}

impl std::error::Error for ChoiceError {}

impl Pattern {
    /// The outline that `name` means: the only one on the layer of this name (or whose cut line is),
    /// else the only one with this label or name inside, else the one with this id. Capitals matter
    /// only where two names differ by nothing else.
    ///
    /// # Errors
    /// [`ChoiceError::Unknown`] or [`ChoiceError::Ambiguous`].
    pub fn choose(&self, name: &str) -> Result<&PatternOutline, ChoiceError> {
        let by_id = |o: &PatternOutline, same: Same| same(&o.id, name);
        let by_layer = |o: &PatternOutline, same: Same| {
            let cut = o.drawn_cut.as_ref();
            same(&o.layer, name) || cut.is_some_and(|cut| same(&cut.layer, name))
        };
        let by_label = |o: &PatternOutline, same: Same| {
            o.labels.iter().any(|l| same(l, name))
                || o.words.name.as_ref().is_some_and(|n| same(n, name))
        };
        let found = pick(&self.outlines, &[&by_layer, &by_label, &by_id]);
        one(found, name, |o| &o.id, || self.outline_names())
    }

    /// The file's only outline.
    ///
    /// # Errors
    /// [`ChoiceError::NotOnly`] if there are several.
    pub fn only(&self) -> Result<&PatternOutline, ChoiceError> {
        match self.outlines.as_slice() {
            [outline] => Ok(outline),
            _ => Err(ChoiceError::NotOnly { ids: self.ids() }),
        }
    }

    /// The ids of all outlines.
    #[must_use]
    pub fn ids(&self) -> Vec<String> {
        self.outlines.iter().map(|o| o.id.clone()).collect()
    }

    /// The only one of the outlines with these `ids` that says it is for ply `n`.
    #[must_use]
    pub fn for_ply(&self, ids: &[String], n: u32) -> Option<&PatternOutline> {
        let mut found = self
            .outlines
            .iter()
            .filter(|o| o.words.plies.contains(&n) && ids.contains(&o.id));
        let first = found.next()?;
        found.next().is_none().then_some(first)
    }

    /// The open line that `name` means: the longest on the layer of this name (the others may be
    /// the head of an arrow), else the one with this id.
    ///
    /// # Errors
    /// [`ChoiceError::Unknown`].
    pub fn line(&self, name: &str) -> Result<&PatternLine, ChoiceError> {
        let length = |l: &PatternLine| length(&l.points);
        self.lines_called(name)
            .into_iter()
            .reduce(|a, b| if length(b) > length(a) { b } else { a })
            .ok_or_else(|| ChoiceError::Unknown {
                name: name.to_owned(),
                known: distinct(self.lines.iter().flat_map(|l| [&l.layer, &l.id])),
            })
    }

    /// The lines along the 0° direction that the drawing shows; those shorter than half the longest
    /// are the heads of arrows and left out.
    pub fn zero_lines(&self) -> impl Iterator<Item = &PatternMark> {
        let lines = || {
            self.marks
                .iter()
                .filter(|m| m.role == Role::Zero && m.is_line())
        };
        let longest = lines().map(PatternMark::length).fold(0.0, f64::max);
        lines().filter(move |m| m.length() > longest / 2.0)
    }

    /// All open lines that `name` means: those on the layer of this name, else the one with this
    /// id.
    #[must_use]
    pub fn lines_called(&self, name: &str) -> Vec<&PatternLine> {
        let by_id = |l: &PatternLine, same: Same| same(&l.id, name);
        let by_layer = |l: &PatternLine, same: Same| same(&l.layer, name);
        let on_layer: Vec<_> = self.lines.iter().filter(|l| l.layer == name).collect();
        if on_layer.is_empty() {
            pick(&self.lines, &[&by_layer, &by_id])
        } else {
            on_layer
        }
    }

    /// Every name that [`Pattern::choose`] knows: layers, then labels, then ids.
    fn outline_names(&self) -> Vec<String> {
        let layers = self.outlines.iter().map(|o| &o.layer);
        let labels = self.outlines.iter().flat_map(|o| &o.labels);
        let ids = self.outlines.iter().map(|o| &o.id);
        distinct(layers.chain(labels).chain(ids))
    }
}

/// Whether two names are the same, exactly or apart from capitals.
type Same = fn(&str, &str) -> bool;

/// A way in which a name may mean an item.
type Way<'a, T> = &'a dyn Fn(&T, Same) -> bool;

/// What the first way that fits just one item fits; else what the first that fits any does.
fn pick<'a, T>(items: &'a [T], ways: &[Way<'_, T>]) -> Vec<&'a T> {
    let exactly: Same = |a, b| a == b;
    let in_any_case: Same = |a, b| a.to_lowercase() == b.to_lowercase();
    let mut several = Vec::new();
    for same in [exactly, in_any_case] {
        for way in ways {
            let found: Vec<&T> = items.iter().filter(|i| way(i, same)).collect();
            match found.len() {
                0 => {}
                1 => return found,
                _ if several.is_empty() => several = found,
                _ => {}
            }
        }
    }
    several
}

fn one<'a, T>(
    found: Vec<&'a T>,
    name: &str,
    id: impl Fn(&T) -> &String,
    known: impl Fn() -> Vec<String>,
) -> Result<&'a T, ChoiceError> {
    match found.as_slice() {
        [only] => Ok(only),
        [] => Err(ChoiceError::Unknown {
            name: name.to_owned(),
            known: known(),
        }),
        several => Err(ChoiceError::Ambiguous {
            name: name.to_owned(),
            ids: several.iter().map(|&i| id(i).clone()).collect(),
        }),
    }
}

/// Each name once, where it first comes.
fn distinct<'a>(names: impl Iterator<Item = &'a String>) -> Vec<String> {
    let mut seen = std::collections::BTreeSet::new();
    names
        .filter(|n| !n.is_empty() && seen.insert(n.as_str()))
        .cloned()
        .collect()
}
