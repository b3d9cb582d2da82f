//! Several jobs over one stock: their cloths, what is on hand and their parts in one job.
//!
//! What is a job's own (resin, gel coat, bag, mould, papers) stays with it: the job of all has none of that.

use std::collections::BTreeMap;
use std::path::Path;

use super::rules::MAX_NAME;
use super::wording::shown;
use super::{Job, JobMarks, Located, OutlineChoice, Part, StockEntry, StockShape};
use crate::cloth::Cloth;
use crate::diag::{Diagnostic, Diagnostics, Place};

/// A job among those that are planned together.
#[derive(Clone, Debug, PartialEq)]
pub struct NamedJob {
    /// A name that no other of them has and that can stand in a file name.
    pub name: String,
    /// The job. Together with others, its parts have names that are theirs alone.
    pub job: Job,
}

/// Several jobs that are planned together.
#[derive(Clone, Debug, PartialEq)]
pub struct JointJob {
    /// All cloths, all that is on hand and all parts.
    pub job: Job,
    /// The jobs, in their order.
    pub each: Vec<NamedJob>,
}

impl Job {
    /// The same job with its paths as they are seen from where its own folder is `folder`.
    #[must_use]
    pub fn in_folder(mut self, folder: &Path) -> Self {
        let seen_from = |path: &str| folder.join(path).to_string_lossy().into_owned();
        let moved = |path: &mut Located<String>| path.value = seen_from(&path.value);
        for part in &mut self.parts {
            moved(&mut part.pattern);
            let others = part.reading.photo.joined_with.iter_mut();
            others.for_each(|other| *other = seen_from(other));
        }
        for entry in &mut self.stock {
            if let StockShape::File { path, .. } | StockShape::Shelf { path } = &mut entry.shape {
                moved(path);
            }
        }
        self.shelf.iter_mut().for_each(moved);
        self
    }
}

impl JointJob {
    /// Joins jobs, each with the name of its file; paths are as seen from one folder
    /// ([`Job::in_folder`]).
    ///
    /// A cloth that two jobs name is one cloth, and stock that both list alike is there once. Where parts
    /// of two jobs have one name, both get that of their job before it.
    ///
    /// ```
    /// use warpwise::job::{Job, JointJob};
    /// let job = |title: &str, weight: &str| {
    ///     let text = format!("title = \"{title}\"\n[cloth.glass]\nweave = \"plain\"\nroll_width = \"1 m\"\n\
    ///         areal_weight = \"{weight}\"\nstock = [{{ length = \"2 m\" }}]\n\
    ///         [[part]]\nname = \"LID\"\npattern = \"lid.svg\"\ncloth = \"glass\"\nlayup = \"[0]\"\n");
    ///     Job::read("lid.toml", &text).unwrap().0
    /// };
    /// let of = |second| JointJob::of(vec![
    ///     ("bow.toml".into(), job("Bow", "200 g/m2")), ("stern.toml".into(), second)]);
    /// let (joint, _) = of(job("Stern", "200 g/m2")).unwrap();
    /// assert_eq!((joint.job.cloths().len(), joint.job.stock().len()), (1, 1));
    /// assert_eq!(joint.job.parts()[1].name, "stern.LID");
    /// // One name for two cloths is a slip.
    /// assert!(of(job("Stern", "300 g/m2")).is_err());
    /// ```
    ///
    /// # Errors
    /// Jobs of one title, cloths of one name that differ, one drawing that is read in two ways, two
    /// shelves.
    pub fn of(jobs: Vec<(String, Job)>) -> Result<(Self, Diagnostics), Diagnostics> {
        let mut said = Diagnostics::new();
        let files: Vec<String> = jobs.iter().map(|(file, _)| file.clone()).collect();
        let mut each = named(jobs);
        check_titles(&each, &files, &mut said);
        name_parts_apart(&mut each);
        let mut job = Job {
            title: String::new(),
            marks: JobMarks::default(),
            cloths: Vec::new(),
            laminae: Vec::new(),
            resin: None,
            bagging: None,
            mould: None,
            gel_coat: None,
            labour: None,
            parts: Vec::new(),
            outputs: each
                .first()
                .map(|first| first.job.outputs.clone())
                .unwrap_or_default(),
            stock: Vec::new(),
            pins: Vec::new(),
            shelf: None,
            from_shop: None,
        };
        let titles: Vec<&str> = each.iter().map(|one| one.job.title()).collect();
        job.title = titles.join(" + ");
        for (one, file) in each.iter_mut().zip(&files) {
            for part in &mut one.job.parts {
                part.of_job = Some(one.job.title.clone());
            }
            add(&mut job, &one.job, file, &mut said);
        }
        let others = each.iter().skip(1).zip(files.iter().skip(1));
        for (_, file) in others.filter(|(one, _)| one.job.outputs != job.outputs) {
            let message =
                "`[output]` is not that of the first job: for all jobs the first one's counts";
            said.push(Diagnostic::note(message).at(Place::File(file.clone())));
        }
        match said.has_errors() {
            true => Err(said),
            false => Ok((Self { job, each }, said)),
        }
    }
}

/// The jobs with the names of their files, made fit for names of parts and folders, and apart.
fn named(jobs: Vec<(String, Job)>) -> Vec<NamedJob> {
    let mut each: Vec<NamedJob> = Vec::new();
    for (file, job) in jobs {
        let stem = Path::new(&file).file_stem().unwrap_or_default();
        let plain = |c: char| if c.is_ascii_alphanumeric() { c } else { '_' };
        let stem: String = stem.to_string_lossy().chars().map(plain).collect();
        let stem = stem.trim_start_matches('_');
        let stem: String = stem.chars().take(MAX_NAME / 2).collect();
        let stem = if stem.is_empty() { "job" } else { &stem };
        let is_free = |name: &str| each.iter().all(|one| !one.name.eq_ignore_ascii_case(name));
        let names = (2..).map(|n| format!("{stem}_{n}"));
        let mut names = std::iter::once(stem.to_owned()).chain(names);
        let name = names.find(|name| is_free(name)).unwrap_or_default();
        each.push(NamedJob { name, job });
    }
    each
}

/// Complains about jobs that papers and the shelf could not tell apart.
fn check_titles(each: &[NamedJob], files: &[String], said: &mut Diagnostics) {
    for (idx, one) in each.iter().enumerate() {
        let title = one.job.title();
        let earlier = each[..idx]
            .iter()
            .position(|other| other.job.title() == title);
        if let Some(earlier) = earlier {
            let message = format!(
                "this job has the title of {}: {}",
                files[earlier],
                shown(title)
            );
            said.push(
                Diagnostic::error(message)
                    .at(Place::File(files[idx].clone()))
                    .help("jobs that are planned together need a `title` each; name no job twice"),
            );
        }
    }
}

/// Puts the job's name before the names of parts that are in several jobs.
fn name_parts_apart(each: &mut [NamedJob]) {
    let mut n_of: BTreeMap<String, usize> = BTreeMap::new();
    let names = each.iter().flat_map(|one| &one.job.parts);
    names.for_each(|part| *n_of.entry(part.name.to_lowercase()).or_default() += 1);
    for one in each {
        for part in &mut one.job.parts {
            let apart = |name: &mut String| {
                if n_of.get(&name.to_lowercase()).is_some_and(|n| *n > 1) {
                    *name = format!("{}.{name}", one.name);
                }
            };
            apart(&mut part.name);
            part.runs_on
                .iter_mut()
                .for_each(|from| apart(&mut from.part.value));
        }
    }
}

/// Adds what is of `one`, which stands in `file`, to the job of `all`.
fn add(all: &mut Job, one: &Job, file: &str, said: &mut Diagnostics) {
    let here = |problem: Diagnostic| problem.at(Place::File(file.to_owned()));
    let mut cloths = Vec::new();
    for (cloth, lamina) in one.cloths.iter().zip(&one.laminae) {
        let known = all.cloths.iter().position(|known| known.name == cloth.name);
        cloths.push(known.unwrap_or_else(|| all.add_cloth(cloth.clone(), *lamina)));
        let Some(known) = known else {
            continue;
        };
        let differ = differences(&all.cloths[known], cloth);
        if !differ.is_empty() {
            let message = format!(
                "cloth `{}` is not as in the jobs before: {} differ",
                cloth.name,
                differ.join(", ")
            );
            said.push(here(Diagnostic::error(message)).help(
                "say the same of it in each job, best in a shop file that all of them name; or give another \
                 cloth another name",
            ));
        }
        // How it cures may differ, and is told by each job.
        if all.laminae[known] != *lamina {
            all.laminae[known] = None;
        }
    }
    add_stock(all, one, &cloths);
    if let Some(pin) = one.pins.first() {
        let message = "this job pins pieces to places on rolls of its own";
        said.push(
            Diagnostic::error(message)
                .at(pin.place.clone())
                .help("plan it alone, or take its `[[pin]]` tables away"),
        );
    }
    match (&all.shelf, &one.shelf) {
        (Some(known), Some(shelf)) if known.value != shelf.value => said.push(
            Diagnostic::error("this job keeps another shelf than those before it")
                .at(shelf.place.clone())
                .help("jobs that are planned together take from one shelf"),
        ),
        (None, Some(shelf)) => all.shelf = Some(shelf.clone()),
        _ => {}
    }
    for part in &one.parts {
        let same_file = |other: &&Part| other.pattern.value == part.pattern.value;
        if all
            .parts
            .iter()
            .find(same_file)
            .is_some_and(|other| other.reading != part.reading)
        {
            let message = "this file is read in another way than by a job before";
            said.push(
                Diagnostic::error(message)
                    .at(part.pattern.place.clone())
                    .help("give both the same `units` and `[drawing]`, or a copy of the file each"),
            );
        }
        let mut part = part.clone();
        part.plies
            .iter_mut()
            .for_each(|ply| ply.cloth = cloths[ply.cloth]);
        all.parts.push(part);
    }
}

/// Adds the stock of `one`, whose cloths have these indices among all; what a job before lists alike is
/// the same.
fn add_stock(all: &mut Job, one: &Job, cloths: &[usize]) {
    let mut known: Vec<StockEntry> = all.stock.clone();
    for entry in &one.stock {
        let entry = StockEntry {
            cloth: cloths[entry.cloth],
            ..entry.clone()
        };
        match known.iter().position(|known| is_same(known, &entry)) {
            Some(idx) => _ = known.swap_remove(idx),
            None => all.stock.push(entry),
        }
    }
}

/// Whether both entries say the same, wherever they stand.
fn is_same(a: &StockEntry, b: &StockEntry) -> bool {
    let is_one_shape = match (&a.shape, &b.shape) {
        (StockShape::Shelf { path: a }, StockShape::Shelf { path: b }) => a.value == b.value,
        (
            StockShape::File { path, outline, .. },
            StockShape::File {
                path: other,
                outline: chosen,
                ..
            },
        ) => path.value == other.value && name_of(outline) == name_of(chosen),
        (a, b) => a == b,
    };
    is_one_shape && (a.cloth, &a.name, a.margin, &a.flaws) == (b.cloth, &b.name, b.margin, &b.flaws)
}

fn name_of(choice: &OutlineChoice) -> Option<&str> {
    match choice {
        OutlineChoice::Only => None,
        OutlineChoice::Named(name) => Some(&name.value),
    }
}

/// The keys in which cloths of one name differ.
fn differences(a: &Cloth, b: &Cloth) -> Vec<&'static str> {
    let (of_a, of_b) = (&a.supply, &b.supply);
    let told = [
        ("`weave`", a.weave == b.weave),
        ("the turns", a.turns == b.turns),
        ("`areal_weight`", a.areal_weight == b.areal_weight),
        ("`roll_width`", a.roll_width == b.roll_width),
        ("`price`", a.price == b.price),
        ("price breaks", a.price_breaks == b.price_breaks),
        (
            "how it is sold",
            (a.sold_by, a.least_sold) == (b.sold_by, b.least_sold),
        ),
        ("`spare`", a.spare == b.spare),
        ("`selvedge`", a.selvedge == b.selvedge),
        ("`end_margin`", a.end_margin == b.end_margin),
        ("`gap`", a.gap == b.gap),
        ("`edge_tape`", a.edge_tape == b.edge_tape),
        ("`warp_share`", a.warp_share == b.warp_share),
        ("`lock`", a.lock == b.lock),
        ("the face", a.warp_face == b.warp_face),
        (
            "`line`, `good_face`, `repeat` or `repeat_weft`",
            a.look == b.look,
        ),
        ("the fibre", a.is_carbon == b.is_carbon),
        ("offers", of_a.offers == of_b.offers),
        ("flaws", of_a.flaws == of_b.flaws),
        ("`table`", of_a.table == of_b.table),
        ("`least_remnant`", of_a.least_remnant == of_b.least_remnant),
    ];
    let differ = told.into_iter().filter(|(_, is_same)| !is_same);
    differ.map(|(key, _)| key).collect()
}
