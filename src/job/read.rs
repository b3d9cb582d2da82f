//! From the text of a job file to a checked job.

use std::path::Path;

use super::bagging::{BagKeys, read_bagging};
use super::cloths::{ClothKeys, Cloths, MarginKeys};
use super::coat::{GelCoatKeys, read_gel_coat};
use super::cutting::CuttingKeys;
use super::drawing::DrawingKeys;
use super::keys::{KeyEntry, Listed, Named, Section, SomeOf, SomeText, keys};
use super::labour::{LabourKeys, read_labour};
use super::laminate::{Curing, LaminateKeys};
use super::marks::JobMarks;
use super::outputs::OutputKeys;
use super::part::PartKeys;
use super::parts::{Around, read_parts};
use super::pins::{PinKeys, read_pins};
use super::reader::JobReader;
use super::resin::{ResinKeys, read_resin};
use super::rules::{MAX_NAME, MAX_TITLE};
use super::shop::{FromShop, OpenShop, ShopTable};
use super::supplies::{MouldKeys, read_mould};
use super::table::JobTable;
use super::wording::shown;
use super::{Job, Located, drawing, outputs, shop, syntax};
use crate::diag::{Diagnostics, shortened};
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
    /// A job that names a shop file is read with [`Job::read_with_shop`].
    ///
    /// # Errors
    /// Every problem that could be found, in the order of the file, each with its place. A text
    /// that is no TOML yields its first fault only, for the rest would mostly follow from it.
    pub fn read(file_name: &str, text: &str) -> Result<(Self, Diagnostics), Diagnostics> {
        Self::read_with_shop(file_name, text, &mut |_| {
            Err("nobody opens files here".to_owned())
        })
    }

    /// The same for a job that may name a shop file, which `open` opens: what the job does not say
    /// itself is as the shop file has it, key by key.
    ///
    /// ```
    /// use warpwise::diag::SourceText;
    /// use warpwise::job::Job;
    /// let shop = "[cloth.glass]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"50 in\"\n";
    /// let job = "shop = \"../shop.toml\"\n[cloth.glass]\nroll_width = \"38 in\"\n[[part]]\nname = \"LID\"\n\
    ///     pattern = \"lid.svg\"\ncloth = \"glass\"\nlayup = \"[0]\"\n";
    /// let open = &mut |path: &str| Ok(SourceText { name: path.to_owned(), text: shop.to_owned() });
    /// let (job, _) = Job::read_with_shop("lid.toml", job, open).unwrap();
    /// assert_eq!(job.cloths()[0].roll_width.to_mm(), 38.0 * 25.4);
    /// assert_eq!(job.from_shop().unwrap().tables[0].from_shop, ["weave", "areal_weight"]);
    /// ```
    ///
    /// # Errors
    /// As [`Job::read`]; a place may be in the shop file.
    pub fn read_with_shop(
        file_name: &str,
        text: &str,
        open: &mut OpenShop<'_>,
    ) -> Result<(Self, Diagnostics), Diagnostics> {
        let mut reader = JobReader::of(file_name, text)?;
        let source = reader.source();
        match read_both(&mut reader, &source.text, file_name, open) {
            Some(job) if !reader.has_errors() => Ok((job, reader.finish())),
            _ => Err(reader.finish()),
        }
    }
}

/// The job in `text` with what it takes from its shop file; `None` after a complaint.
fn read_both(
    reader: &mut JobReader,
    text: &str,
    file_name: &str,
    open: &mut OpenShop<'_>,
) -> Option<Job> {
    let mut entries = syntax::tables(reader, text)?;
    let shop = shop::opened(reader, &entries, open).ok()?;
    let mut from_shop = None;
    if let Some(shop) = &shop {
        let tables = shop.tables(reader)?;
        from_shop = Some(shop.fill(reader, &mut entries, tables));
    }
    let table = JobTable {
        what: "the job".to_owned(),
        path: String::new(),
        header: reader.file(),
        keys: JobKeys::keys(),
        entries: &entries,
    };
    if table.is_empty() {
        let help = "a job has cloths `[cloth.NAME]` and parts `[[part]]`";
        reader.error(&table.header, "the job file holds nothing", help);
        return None;
    }
    Some(read_job(reader, &table, (file_name, from_shop)))
}

keys! {
    /// What `the job file` says.
    JobKeys: "a job", "the job file", "What is made, of which cloths, and how.";
    title: String = SomeText, Means("the name of the file"), "Tender: rudder", "what the job is called in the report and on labels";
    number: String = SomeText, Means("not on the papers"), "2041", "number of the job, in the head of every paper, on labels and in their codes";
    date: String = SomeText, Means("not on the papers"), "2025-03-01", "date that the papers carry, as written here: never the day of the run, so that the same job gives the same papers";
    revision: String = SomeText, Means("not on the papers"), "B", "revision that the papers carry";
    shop: String = SomeText, Means("the job says everything itself"), "shop.toml", "the [shop file](#the-shop-file): what the job does not say is as there, key by key; relative to the job file";
    without: Vec<ShopTable> = SomeOf { what: "table of the shop file", all_are: "they are" }, Means("all of it"), "[\"bag\", \"mould\"]", "what is not taken from the shop file";
    shelf: String = SomeText, Means("no shelf is kept"), "shelf", "the folder of remnants and rolls on hand that `warpwise cut` keeps; used first, of every cloth";
    cutting: JobTable<'t> = Section(MarginKeys::keys), Means("the defaults"), "{ trim = \"20 mm\" }", "cutting for the whole job";
    drawing: JobTable<'t> = Section(DrawingKeys::keys), Means("the usual layer names"), "{ hatches = true }", "how pattern files are read";
    laminate: JobTable<'t> = Section(LaminateKeys::keys), Means("the defaults"), "{ process = \"hand layup\" }", "how the plies cure";
    resin: JobTable<'t> = Section(ResinKeys::keys), Means("no resin is worked out"), "{ ratio = \"100:30\", pot_life = \"25 min\" }", "what is mixed";
    bag: JobTable<'t> = Section(BagKeys::keys), Means("no bag"), "{ vacuum = \"25 inHg\" }", "the vacuum bag of each part; an empty table takes the usual stack";
    mould: JobTable<'t> = Section(MouldKeys::keys), Means("no mould preparation"), "{ wax_coats = 3 }", "release before the first ply";
    gel_coat: JobTable<'t> = Section(GelCoatKeys::keys), Means("none"), "{ areal_weight = \"600 g/m2\" }", "gel coat or wet coat before ply 1";
    labour: JobTable<'t> = Section(LabourKeys::keys), Means("no price of a part is worked out"), "{ hourly_rate = \"45.00 EUR\" }", "what a part must be sold for";
    output: JobTable<'t> = Section(OutputKeys::keys), Means("DXF, SVG, templates and labels"), "{ files = [\"dxf\"] }", "which files are written, and how";
    cloth: Vec<(Located<String>, JobTable<'t>)> = Named(ClothKeys::keys), Required, "{ glass = { weave = \"plain\", areal_weight = \"200 g/m2\", roll_width = \"50 in\" } }", "the cloths, each with a name of its own";
    part: Vec<JobTable<'t>> = Listed(PartKeys::keys), Required, "[{ name = \"HATCH\", pattern = \"hatch.dxf\", cloth = \"glass\", layup = \"[0/45]s\" }]", "the parts, one table for each";
    pin: Vec<JobTable<'t>> = Listed(PinKeys::keys), Means("none"), "[{ piece = \"HATCH-1\", along = \"1.2 m\", across = \"100 mm\" }]", "pieces that stay where they are put by hand";
}

/// The job as far as it can be read; whole if `reader` has no errors afterwards.
fn read_job(
    reader: &mut JobReader,
    table: &JobTable<'_>,
    (file_name, from_shop): (&str, Option<FromShop>),
) -> Job {
    let keys = JobKeys::read(reader, Some(table));
    check_without(reader, &keys);
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
    let gel_coat =
        (keys.gel_coat.value).and_then(|table| read_gel_coat(reader, &table, resin.as_ref()));
    let labour = (keys.labour.value).and_then(|table| read_labour(reader, &table, resin.as_ref()));
    let (has_cloth, has_part) = (keys.cloth.is_there(), keys.part.is_there());
    let named = keys.cloth.value.unwrap_or_default();
    let mut cloths = Cloths::read(reader, named, &margins, &curing);
    let shelf = (keys.shelf.located()).map(|path| reader.path_from_job(path));
    if let Some(path) = &shelf {
        cloths.put_shelf(path);
    }
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
    let pins = read_pins(reader, keys.pin.value.unwrap_or_default());
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
        marks: JobMarks::of(reader, [keys.number, keys.date, keys.revision]),
        cloths,
        laminae,
        resin,
        bagging,
        mould,
        gel_coat,
        labour,
        parts,
        outputs,
        stock,
        pins,
        shelf,
        from_shop,
    }
}

/// Complains of what can only be said beside a shop file.
fn check_without(reader: &mut JobReader, keys: &JobKeys<'_>) {
    if let (Some(place), false) = (keys.without.place(), keys.shop.is_there()) {
        let help = "name the file: `shop = \"shop.toml\"`, or leave `without` out";
        reader.error(
            place,
            "`without` speaks of a shop file, and there is none",
            help,
        );
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
