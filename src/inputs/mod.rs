//! A job with all that it names: its drawings, read, and the stock of its cloths.
//!
//! [`Inputs`] is the only way from a job to its pieces, so no drawing can be missing there and no
//! stock can be forgotten.
//!
//! # Example
//!
//! ```
//! use warpwise::inputs::{InputFile, Inputs};
//! use warpwise::job::Job;
//!
//! let text = "[cloth.glass]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n\
//!     stock = [{ length = \"2 m\" }]\n\
//!     [[part]]\nname = \"LID\"\npattern = \"lid.svg\"\ncloth = \"glass\"\nlayup = \"[0]\"\n";
//! let (job, _) = Job::read("lid.toml", text).unwrap();
//! // No file is left out unsaid.
//! assert!(Inputs::read(job.clone(), &mut |_| Err("there is none".into())).is_err());
//!
//! let drawing = br#"<svg xmlns="http://www.w3.org/2000/svg" width="600mm" height="400mm"
//!     viewBox="0 0 600 400"><path d="M10 10H510V310H10Z"/></svg>"#;
//! let open = &mut |name: &str| Ok(vec![InputFile::new(name, drawing.to_vec())]);
//! let (inputs, _) = Inputs::read(job, open).unwrap();
//! assert_eq!(inputs.job().cloths()[0].supply.stock.len(), 1);
//! ```
//!
//! Pieces are not made of a job alone:
//!
//! ```compile_fail,E0308
//! # use warpwise::{job::Job, ply};
//! # let (job, _) = Job::read("lid.toml", "").unwrap();
//! ply::pieces(&job);
//! ```

mod on_mould;
mod stock;

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::sync::Arc;

use crate::cloth::Cloth;
use crate::diag::{Diagnostic, Diagnostics, Place, Severity, counted};
use crate::drape::{Drape, Trial};
use crate::job::{DrawnMark, Job, LineDrawing, Located, OnMould, Part, Ply};
use crate::mould::{LineSeen, Mould};
use crate::pattern::{self, Pattern};
use crate::photo::PhotoFile;
use on_mould::LaidOnMould;
pub(crate) use on_mould::trim_on_mould;

/// A file that a job names.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct InputFile {
    /// Its name for messages.
    pub name: String,
    /// What is in it; nothing yet for one that is [`InputFile::in_folder`].
    pub bytes: Vec<u8>,
    /// Whether the job names its folder, not the file itself.
    pub in_folder: bool,
}

impl InputFile {
    /// A file that the job names itself.
    #[must_use]
    pub fn new(name: &str, bytes: Vec<u8>) -> Self {
        Self {
            name: name.to_owned(),
            bytes,
            in_folder: false,
        }
    }

    /// A file in a folder that the job names, to be opened by this name when its turn comes.
    #[must_use]
    pub fn in_folder(name: &str) -> Self {
        Self {
            in_folder: true,
            ..Self::new(name, Vec::new())
        }
    }
}

/// Why a file could not be opened.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Unopened {
    /// Why, in a person's words.
    pub why: String,
    /// Where it was looked for, if that helps.
    pub help: Option<String>,
}

impl Unopened {
    /// With where it was looked for.
    #[must_use]
    pub fn help(mut self, help: String) -> Self {
        self.help = Some(help);
        self
    }

    fn diagnostic(self, what: &str, path: &Located<String>) -> Diagnostic {
        let problem = Diagnostic::error(format!("{what} cannot be read: {}", self.why))
            .at(path.place.clone());
        match self.help {
            Some(help) => problem.help(help),
            None => problem,
        }
    }
}

impl From<&str> for Unopened {
    fn from(why: &str) -> Self {
        Self {
            why: why.to_owned(),
            help: None,
        }
    }
}

impl From<std::io::Error> for Unopened {
    fn from(error: std::io::Error) -> Self {
        Self::from(error.to_string().as_str())
    }
}

/// Opens what the job names, by the path as it is written there: one file, or the names of those in a
/// folder of stock, which are opened one by one.
pub type Open<'a> = dyn FnMut(&str) -> Result<Vec<InputFile>, Unopened> + 'a;

/// A job with its drawings and its stock.
#[derive(Clone, Debug)]
pub struct Inputs {
    job: Arc<Job>,
    patterns: Arc<BTreeMap<String, Pattern>>,
    /// Those with marks of the job: its file, the marks, and the pattern with both.
    marked: Arc<Vec<Marked>>,
    laid: Arc<BTreeMap<String, LaidOnMould>>,
}

impl Inputs {
    /// Reads all that `job` names with `open`; returns it with warnings.
    ///
    /// # Errors
    /// Every file that cannot be opened or used.
    pub fn read(mut job: Job, open: &mut Open<'_>) -> Result<(Self, Diagnostics), Diagnostics> {
        let mut said = Diagnostics::new();
        let whole = stock::put_on_shelves(&mut job, open, &mut said);
        let patterns = match whole {
            true => read_patterns(&job, open, &mut said),
            false => None,
        };
        let laid = patterns
            .as_ref()
            .and_then(|_| read_moulds(&job, open, &mut said));
        match patterns.zip(laid) {
            Some((patterns, laid)) => Ok((
                Self {
                    marked: Arc::new(marked(&job, &patterns)),
                    job: Arc::new(job),
                    patterns: Arc::new(patterns),
                    laid: Arc::new(laid),
                },
                said,
            )),
            None => Err(said),
        }
    }

    /// The job.
    #[must_use]
    pub fn job(&self) -> &Arc<Job> {
        &self.job
    }

    /// The drawing of a part of the job, or the flat outlines of its plies.
    pub(crate) fn pattern(&self, part: &Part) -> &Pattern {
        match &part.on_mould {
            Some(on) => self.laid[&on_mould::key(part, on)].pattern(),
            None => {
                let is_its =
                    |one: &&Marked| one.file == part.pattern.value && one.marks == part.marks;
                let marked = self.marked.iter().find(is_its).map(|one| &one.pattern);
                marked.unwrap_or_else(|| &self.patterns[&part.pattern.value])
            }
        }
    }

    /// How `ply` lies in its part, how it would on the mould itself, and how the first ply does; `None` for a part that is drawn flat.
    pub(crate) fn drapes(&self, part: &Part, ply: &Ply) -> Option<[&Arc<Drape>; 3]> {
        let on = part.on_mould.as_ref()?;
        let laid = self.laid.get(&on_mould::key(part, on))?;
        let [drape, on_mould] = laid.drape(&self.job, part, ply)?;
        Some([drape, on_mould, laid.first()?])
    }

    /// How `cloth` would lie on the mould of a part by other directions and from other starts; empty for a part that is
    /// drawn flat.
    #[must_use]
    pub fn trials(&self, part: &Part, cloth: &Cloth) -> Vec<Trial> {
        let on = part.on_mould.as_ref();
        let laid = on.and_then(|on| self.laid.get(&on_mould::key(part, on)));
        laid.map_or_else(Vec::new, |laid| laid.trials(cloth))
    }

    /// The same drawings and moulds for the job in another way, which names no others; a ply that cannot be
    /// laid at its new angle has no outline.
    pub(crate) fn with_job(&self, job: Job) -> Self {
        let mut laid = Arc::clone(&self.laid);
        if !laid.is_empty() {
            on_mould::lay_all(Arc::make_mut(&mut laid), &job, &mut Diagnostics::new());
        }
        Self {
            job: Arc::new(job),
            patterns: Arc::clone(&self.patterns),
            marked: Arc::clone(&self.marked),
            laid,
        }
    }
}

/// A drawing with the marks that the job adds to it.
#[derive(Clone, Debug)]
struct Marked {
    file: String,
    marks: Vec<DrawnMark>,
    pattern: Pattern,
}

/// The drawings of the parts that have marks of their own.
fn marked(job: &Job, patterns: &BTreeMap<String, Pattern>) -> Vec<Marked> {
    let parts = job.parts().iter();
    let parts = parts.filter(|part| part.on_mould.is_none() && !part.marks.is_empty());
    let marked = parts.filter_map(|part| {
        let pattern = patterns.get(&part.pattern.value)?;
        let marks = part.marks.iter();
        let more = marks.map(|mark| (mark.is.role(), mark.points.clone(), mark.place.clone()));
        Some(Marked {
            file: part.pattern.value.clone(),
            marks: part.marks.clone(),
            pattern: pattern.with_marks(more),
        })
    });
    marked.collect()
}

/// The one file at `path`.
fn one_file(
    open: &mut Open<'_>,
    path: &Located<String>,
    what: &str,
) -> Result<InputFile, Diagnostics> {
    let refused = |why: Unopened| Diagnostics::from(why.diagnostic(what, path));
    let mut files = open(&path.value).map_err(refused)?;
    match files.pop() {
        Some(file) if files.is_empty() && !file.in_folder => Ok(file),
        _ => Err(refused(Unopened::from("it is a folder"))),
    }
}

/// Every part on a mould with its plies laid, or `None` if one cannot be; problems go to `said`.
fn read_moulds(
    job: &Job,
    open: &mut Open<'_>,
    said: &mut Diagnostics,
) -> Option<BTreeMap<String, LaidOnMould>> {
    let parts = job.parts().iter();
    let parts: Vec<(&Part, &OnMould)> = parts
        .filter_map(|part| Some((part, part.on_mould.as_ref()?)))
        .collect();
    let mut all = BTreeMap::new();
    let mut failed = false;
    let mut moulds: Vec<&str> = parts
        .iter()
        .map(|(part, _)| &part.pattern.value[..])
        .collect();
    moulds.sort_unstable();
    moulds.dedup();
    // One after another: a mould is large, what is made of it is not.
    for path in moulds {
        let mut of_it = parts
            .iter()
            .filter(|(part, _)| part.pattern.value == path)
            .peekable();
        let Some((first, _)) = of_it.peek() else {
            continue;
        };
        let what = format!("the mould of part `{}`", first.name);
        let read = one_file(open, &first.pattern, &what)
            .and_then(|file| Mould::read(&file.name, file.bytes, first.reading.unit));
        let mould = match read {
            Ok((mould, told)) => {
                said.append(told);
                mould
            }
            Err(problems) => {
                failed = true;
                said.append(problems);
                continue;
            }
        };
        for (part, on) in of_it {
            let Entry::Vacant(place) = all.entry(on_mould::key(part, on)) else {
                continue;
            };
            let line = (on.line.as_ref())
                .map(|line| read_line(open, part, line, said))
                .transpose();
            let laid = match line {
                Ok(line) => LaidOnMould::on(&mould, part, (on, line), said),
                Err(problems) => {
                    said.append(problems);
                    None
                }
            };
            match laid {
                Some(laid) => _ = place.insert(laid),
                None => failed = true,
            }
        }
    }
    on_mould::lay_all(&mut all, job, said);
    (!failed && !said.has_errors()).then_some(all)
}

/// The closed line around a part on a mould, as it is drawn; warnings go to `said`.
fn read_line(
    open: &mut Open<'_>,
    part: &Part,
    line: &LineDrawing,
    said: &mut Diagnostics,
) -> Result<LineSeen, Diagnostics> {
    let what = format!("the line around part `{}`", part.name);
    let path = Located {
        value: line.file.clone(),
        place: part.pattern.place.clone(),
    };
    let file = one_file(open, &path, &what)?;
    let settings = pattern::Settings {
        unit: line.unit,
        ..pattern::Settings::default()
    };
    let drawing = pattern::read(&file.name, &file.bytes, &settings)?;
    said.append(drawing.problems().at_least(Severity::Warning));
    match drawing.outlines() {
        [only] => Ok(LineSeen {
            along: line.along,
            at: line.at,
            outline: only.outline.clone(),
        }),
        all => {
            let n = counted(all.len(), "closed line", "closed lines");
            let message = format!("{what} is drawn as {n} side by side");
            let help = "keep one in the drawing; only openings may lie within it";
            let problem = Diagnostic::error(message).at(Place::File(file.name));
            Err(problem.help(help).into())
        }
    }
}

/// The drawing of a part, or the photographs that show it together.
fn read_pattern(open: &mut Open<'_>, part: &Part, what: &str) -> Result<Pattern, Diagnostics> {
    let first = one_file(open, &part.pattern, what)?;
    let others = &part.reading.photo.joined_with;
    if others.is_empty() {
        return pattern::read(&first.name, &first.bytes, &part.reading);
    }
    let mut files = vec![first];
    for other in others {
        let path = Located {
            value: other.clone(),
            place: part.pattern.place.clone(),
        };
        files.push(one_file(open, &path, what)?);
    }
    let files: Vec<PhotoFile<'_>> = (files.iter())
        .map(|file| PhotoFile::new(&file.name, &file.bytes))
        .collect();
    pattern::read_joined(&files, &part.reading)
}

/// Every drawing of the job, or `None` if one cannot be used; problems go to `said`.
fn read_patterns(
    job: &Job,
    open: &mut Open<'_>,
    said: &mut Diagnostics,
) -> Option<BTreeMap<String, Pattern>> {
    let mut patterns = BTreeMap::new();
    let mut is_whole = true;
    for part in job.parts().iter().filter(|part| part.on_mould.is_none()) {
        let path = &part.pattern;
        if patterns.contains_key(&path.value) {
            continue;
        }
        let what = format!("the pattern file of part `{}`", part.name);
        match read_pattern(open, part, &what) {
            Ok(pattern) => {
                // Notes on a drawing (its open lines, say) are for `inspect`.
                said.append(pattern.problems().at_least(Severity::Warning));
                patterns.insert(path.value.clone(), pattern);
            }
            Err(problems) => {
                is_whole = false;
                said.append(problems);
            }
        }
    }
    is_whole.then_some(patterns)
}
