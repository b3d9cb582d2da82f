//! From the text of a job file to a checked job.

use std::path::Path;

use toml::de::DeTable;

use super::bagging::{BagKeys, read_bagging};
use super::cloths::{ClothKeys, Cloths, MarginKeys};
use super::cutting::CuttingKeys;
use super::drawing::DrawingKeys;
use super::keys::{KeyEntry, Listed, Named, Section, SomeText, keys};
use super::laminate::{Curing, LaminateKeys};
use super::outputs::OutputKeys;
use super::part::PartKeys;
use super::parts::{Around, read_parts};
use super::reader::JobReader;
use super::resin::{ResinKeys, read_resin};
use super::rules::{MAX_NAME, MAX_TEXT, MAX_TITLE};
use super::supplies::{MouldKeys, read_mould};
use super::table::JobTable;
use super::wording::shown;
use super::{Job, Located, drawing, outputs, syntax};
use crate::diag::{Diagnostic, Diagnostics, Place, shortened};
use crate::pattern::Settings;

impl Job {
    /// The job written in `text`, with the warnings that came up.
    ///
    /// `file_name` is the job file's name as the user gave it: it names places and, without its
    /// ending, the job if that has no title. No file is opened.
    ///
    /// ```
    /// let (job, warnings) = warpwise::job::Job::read("tender.toml", r#"
    ///     [cloth.twill]
    ///     weave = "twill"
    ///     areal_weight = "5.7 oz/yd2"
    ///     roll_width = "50 in"
    ///
    ///     [[part]]
    ///     name = "RUD"
    ///     pattern = "rudder.svg"
    ///     cloth = "twill"
    ///     layup = "[0/45]s"
    /// "#).expect("a good job");
    /// assert!(warnings.is_empty());
    /// assert_eq!(job.title(), "tender");
    /// assert_eq!(job.parts()[0].plies.len(), 4);
    /// ```
    ///
    /// # Errors
    /// Every problem that could be found, in the order of the file, each with its place. A text
    /// that is no TOML yields its first fault only, for the rest would mostly follow from it.
    pub fn read(file_name: &str, text: &str) -> Result<(Self, Diagnostics), Diagnostics> {
        if text.len() > MAX_TEXT {
            return Err(Diagnostic::error("the file is too large for a job file")
                .at(Place::File(file_name.to_owned()))
                .help("at most 4 MiB are read; is this the right file?")
                .into());
        }
        // Some editors start a file with a byte order mark; nobody sees it.
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let mut reader = JobReader::new(file_name, text);
        let (document, errors) = DeTable::parse_recoverable(text);
        if !errors.is_empty() {
            syntax::note_faults(&mut reader, text, &errors);
            return Err(reader.finish());
        }
        let table = JobTable {
            what: "the job".to_owned(),
            path: String::new(),
            header: reader.file(),
            keys: JobKeys::keys(),
            entries: document.get_ref(),
        };
        if table.is_empty() {
            let help = "a job has cloths `[cloth.NAME]` and parts `[[part]]`";
            reader.error(&table.header, "the job file holds nothing", help);
            return Err(reader.finish());
        }
        let job = read_job(&mut reader, &table, file_name);
        if reader.has_errors() {
            Err(reader.finish())
        } else {
            Ok((job, reader.finish()))
        }
    }
}

keys! {
    /// What `the job file` says.
    JobKeys: "a job", "the job file", "What is made, of which cloths, and how.";
    title: String = SomeText, Means("the name of the file"), "Tender: rudder", "what the job is called in the report and on labels";
    cutting: JobTable<'t> = Section(MarginKeys::keys), Means("the defaults"), "{ trim = \"20 mm\" }", "cutting for the whole job";
    drawing: JobTable<'t> = Section(DrawingKeys::keys), Means("the usual layer names"), "{ hatches = true }", "how pattern files are read";
    laminate: JobTable<'t> = Section(LaminateKeys::keys), Means("the defaults"), "{ process = \"hand layup\" }", "how the plies cure";
    resin: JobTable<'t> = Section(ResinKeys::keys), Means("no resin is worked out"), "{ ratio = \"100:30\", pot_life = \"25 min\" }", "what is mixed";
    bag: JobTable<'t> = Section(BagKeys::keys), Means("no bag"), "{ vacuum = \"25 inHg\" }", "the vacuum bag of each part; an empty table takes the usual stack";
    mould: JobTable<'t> = Section(MouldKeys::keys), Means("no mould preparation"), "{ wax_coats = 3 }", "release before the first ply";
    output: JobTable<'t> = Section(OutputKeys::keys), Means("DXF, SVG, templates and labels"), "{ files = [\"dxf\"] }", "which files are written, and how";
    cloth: Vec<(Located<String>, JobTable<'t>)> = Named(ClothKeys::keys), Required, "{ glass = { weave = \"plain\", areal_weight = \"200 g/m2\", roll_width = \"50 in\" } }", "the cloths, each with a name of its own";
    part: Vec<JobTable<'t>> = Listed(PartKeys::keys), Required, "[{ name = \"HATCH\", pattern = \"hatch.dxf\", cloth = \"glass\", layup = \"[0/45]s\" }]", "the parts, one table for each";
}

/// The job as far as it can be read; whole if `reader` has no errors afterwards.
fn read_job(reader: &mut JobReader, table: &JobTable<'_>, file_name: &str) -> Job {
    let keys = JobKeys::read(reader, Some(table));
    let of_cutting = keys.cutting.value;
    let margins = MarginKeys::read(reader, of_cutting.as_ref());
    let mut cutting = CuttingKeys::read(reader, None);
    if let Some(table) = &of_cutting {
        cutting = cutting.overridden_by(reader, table);
    }
    cutting.check(reader);
    let curing = Curing::read(reader, keys.laminate.value.as_ref(), keys.bag.is_there());
    let resin = (keys.resin.value).and_then(|table| read_resin(reader, &table));
    let bagging = keys.bag.value.map(|table| read_bagging(reader, &table));
    let mould = keys.mould.value.map(|table| read_mould(reader, &table));
    let (has_cloth, has_part) = (keys.cloth.is_there(), keys.part.is_there());
    let named = keys.cloth.value.unwrap_or_default();
    let mut cloths = Cloths::read(reader, named, &margins, &curing);
    if !has_cloth || cloths.is_empty() && !reader.has_errors() {
        let help = "describe each in a table such as `[cloth.twill]` with `weave`, \
                    `areal_weight` and `roll_width`";
        reader.error(&table.header, "the job has no cloth", help);
    }
    let around = Around {
        cutting,
        drawing: &drawing::overridden_by(&Settings::default(), reader, keys.drawing.value),
        bagging: bagging.as_ref(),
    };
    let parts = read_parts(
        reader,
        keys.part.value.unwrap_or_default(),
        &mut cloths,
        &around,
    );
    if !has_part || parts.is_empty() && !reader.has_errors() {
        let help = "start each with `[[part]]`, then `name`, `pattern`, `cloth` and `layup`";
        reader.error(&table.header, "the job has no part", help);
    }
    let outputs = outputs::read(reader, keys.output.value.as_ref());
    // After an error, cloths may only seem unused.
    if !reader.has_errors() {
        cloths.warn_of_unused(reader);
        if resin.is_some() {
            cloths.warn_of_unknown_resin(reader);
        }
    }
    let (cloths, laminae, stock) = cloths.into_cloths();
    Job {
        title: title(reader, &keys.title, file_name),
        cloths,
        laminae,
        resin,
        bagging,
        mould,
        parts,
        outputs,
        stock,
    }
}

/// The job's title; that of its file where it has none.
fn title(reader: &mut JobReader, stated: &KeyEntry<Option<String>>, file_name: &str) -> String {
    let Some(title) = &stated.value else {
        let stem = stem(file_name);
        return shortened(&stem, MAX_TITLE).into_owned();
    };
    if title.chars().count() > MAX_TITLE {
        let message = format!("the title {} is too long", shown(title));
        let help = format!("at most {MAX_TITLE} letters fit on a label");
        let place = stated.place().unwrap_or(&reader.file()).clone();
        reader.error(&place, message, &help);
    }
    title.clone()
}

fn stem(file_name: &str) -> String {
    Path::new(file_name).file_stem().map_or_else(
        || file_name.to_owned(),
        |stem| stem.to_string_lossy().into_owned(),
    )
}

/// Complains about a name that cannot stand on a label and in a file name on every machine.
pub(super) fn check_name(reader: &mut JobReader, kind: &str, name: &Located<String>) {
    let text = &name.value;
    let is_plain = text
        .chars()
        .all(|c| c.is_ascii_alphanumeric() || "-_.".contains(c))
        && text.starts_with(|c: char| c.is_ascii_alphanumeric())
        && !text.ends_with('.');
    let fault = if text.is_empty() {
        "is empty"
    } else if text.len() > MAX_NAME {
        "is too long"
    } else if !is_plain {
        "holds a character that cannot stand in a file name"
    } else {
        return;
    };
    let help = format!(
        "use the letters a to z and A to Z, digits, `-`, `_` and `.`, first a letter or digit, at \
         most {MAX_NAME} in all"
    );
    let message = format!("the name of {kind} {} {fault}", shown(text));
    reader.error(&name.place, message, &help);
}
