//! The shop file: what a shop keeps once for all its jobs, and what a job takes from it.
//!
//! Both files become one table before anything is read from it: whatever the job does not say, the
//! shop does, key by key. The shop's text is parsed behind as many blanks as the job is long, so a
//! span alone tells in which of the two files it is.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::bagging::BagKeys;
use super::cloths::{ClothKeys, Cloths, MarginKeys};
use super::coat::{GelCoatKeys, read_gel_coat};
use super::cutting::CuttingKeys;
use super::drawing::DrawingKeys;
use super::keys::{Named, Section, SomeText, keys};
use super::labour::{LabourKeys, read_labour};
use super::laminate::{Curing, LaminateKeys};
use super::outputs::{self, OutputKeys};
use super::reader::JobReader;
use super::resin::{ResinKeys, ResinSystem, read_resin};
use super::supplies::{MouldKeys, read_mould};
use super::table::JobTable;
use super::wording::{shown, suggestion};
use super::{Located, syntax};
use crate::diag::{Diagnostics, SourceText};
use crate::words::words;

/// A shop file to start from: ten common cloths, a resin with two hardeners and a usual bag.
pub const STARTING_SHOP: &str = include_str!("starting-shop.toml");

/// Opens a shop file by its path as the job writes it; `Err` says why that cannot be.
pub type OpenShop<'a> = dyn FnMut(&str) -> Result<SourceText, String> + 'a;

/// What a job has from its shop file.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct FromShop {
    /// The shop file's path as the job writes it.
    pub file: String,
    /// The tables of which something is from the shop file.
    pub tables: Vec<SharedTable>,
}

/// A table whose keys are from the shop file, in whole or in part.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct SharedTable {
    /// As in its header in the shop file: `cloth.twill`; empty for the file itself.
    pub table: String,
    /// The keys that are from the shop file.
    pub from_shop: Vec<String>,
    /// The keys that the job says itself.
    pub from_job: Vec<String>,
}

words! {
    /// What a job can do without, though its shop has it.
    pub(super) enum ShopTable {
        Cutting = "cutting",
        Drawing = "drawing",
        Laminate = "laminate",
        Resin = "resin",
        Bag = "bag",
        Mould = "mould",
        GelCoat = "gel_coat",
        Labour = "labour",
        Output = "output",
        Shelf = "shelf",
    }
}

keys! {
    /// What the shop file says.
    ShopKeys: "the shop file", "the shop file", "What a shop keeps once for all its jobs, which name it as `shop`. What a job says itself goes before it, key by key; paths are relative to the shop file.";
    cutting: JobTable<'t> = Section(MarginKeys::keys), Means("the defaults"), "{ trim = \"20 mm\" }", "how the shop cuts";
    drawing: JobTable<'t> = Section(DrawingKeys::keys), Means("the usual layer names"), "{ hatches = true }", "how pattern files are read";
    laminate: JobTable<'t> = Section(LaminateKeys::keys), Means("the defaults"), "{ process = \"hand layup\" }", "how plies cure";
    resin: Vec<(Located<String>, JobTable<'t>)> = Named(ResinKeys::keys), Means("no resin"), "{ slow = { ratio = \"100:30\", pot_life = \"25 min\" } }", "the resins, each with a name of its own; jobs that do not say `take` have the first";
    bag: JobTable<'t> = Section(BagKeys::keys), Means("no bag"), "{ vacuum = \"25 inHg\" }", "the vacuum bag of every job";
    mould: JobTable<'t> = Section(MouldKeys::keys), Means("no mould preparation"), "{ wax_coats = 3 }", "release before the first ply";
    gel_coat: JobTable<'t> = Section(GelCoatKeys::keys), Means("none"), "{ areal_weight = \"600 g/m2\", ratio = \"100:2\", pot_life = \"15 min\" }", "gel coat or wet coat of every job";
    labour: JobTable<'t> = Section(LabourKeys::keys), Means("no price of a part is worked out"), "{ hourly_rate = \"45.00 EUR\" }", "what the shop's work costs, and what is put on top";
    output: JobTable<'t> = Section(OutputKeys::keys), Means("DXF, SVG, templates and labels"), "{ paper = \"letter\" }", "files, paper and machines";
    cloth: Vec<(Located<String>, JobTable<'t>)> = Named(ClothKeys::keys), Means("each job has its own"), "{ glass = { weave = \"plain\", areal_weight = \"200 g/m2\", roll_width = \"50 in\" } }", "the cloths, each with a name of its own";
    shelf: String = SomeText, Means("no shelf is kept"), "shelf", "the folder of remnants and rolls on hand, which `warpwise cut` keeps";
}

/// Keys of a cloth that only make sense together: where a job says one of them, the others are not
/// taken from the shop.
const TOGETHER: [&[&str]; 2] = [
    &["price", "price_break", "offer"],
    &[
        "fibre_volume_fraction",
        "fibre_weight_fraction",
        "ply_thickness",
    ],
];

/// The shop file that a job names, as it was opened: its text stands behind the job's.
pub(super) struct ShopText {
    path: String,
    text: String,
}

/// The shop file that `job` names, if it names one; `Err` after a complaint.
pub(super) fn opened(
    reader: &mut JobReader,
    job: &DeTable<'_>,
    open: &mut OpenShop<'_>,
) -> Result<Option<ShopText>, ()> {
    let Some((_, path)) = job.get_key_value("shop") else {
        return Ok(None);
    };
    // What is no text is complained of as any other key.
    let Some(written) = path.get_ref().as_str().filter(|p| !p.trim().is_empty()) else {
        return Ok(None);
    };
    match open(written) {
        Ok(source) => {
            let text = reader.add_shop(written, source);
            let path = written.to_owned();
            Ok(Some(ShopText { path, text }))
        }
        Err(why) => {
            let help =
                "the path is taken from the job file's folder; write one with: warpwise shop --new";
            let message = format!("the shop file cannot be read: {why}");
            reader.error(&reader.place(path.span()), message, help);
            Err(())
        }
    }
}

impl ShopText {
    /// The tables of the file; `None` after a complaint.
    pub(super) fn tables(&self, reader: &mut JobReader) -> Option<DeTable<'_>> {
        syntax::tables(reader, &self.text)
    }

    /// Puts into `job` what it does not say itself; says what that is.
    pub(super) fn fill<'t>(
        &self,
        reader: &mut JobReader,
        job: &mut DeTable<'t>,
        mut shop: DeTable<'t>,
    ) -> FromShop {
        whole(reader, &shop).check_keys(reader);
        for left_out in words_in(job, "without") {
            shop.remove(left_out.as_str());
        }
        let resin = chosen_resin(reader, job, &mut shop);
        let mut tables = Vec::new();
        fill(job, shop, "", &mut tables);
        if let Some(name) = resin {
            let of_resin = tables.iter_mut().find(|shared| shared.table == "resin");
            of_resin
                .into_iter()
                .for_each(|shared| shared.table = format!("resin.{name}"));
        }
        FromShop {
            file: self.path.clone(),
            tables,
        }
    }
}

/// The shop file as the table that it is.
fn whole<'t>(reader: &JobReader, entries: &'t DeTable<'t>) -> JobTable<'t> {
    JobTable {
        what: "the shop file".to_owned(),
        path: String::new(),
        header: reader.file(),
        keys: ShopKeys::keys(),
        entries,
    }
}

/// The texts in the list under `key`, or the one text there.
fn words_in(table: &DeTable<'_>, key: &str) -> Vec<String> {
    let value = table.get(key).map(Spanned::get_ref);
    let list = value.and_then(DeValue::as_array);
    let texts = match list {
        Some(list) => list
            .iter()
            .filter_map(|text| text.get_ref().as_str())
            .collect(),
        None => value
            .and_then(DeValue::as_str)
            .into_iter()
            .collect::<Vec<_>>(),
    };
    texts.into_iter().map(str::to_lowercase).collect()
}

/// Leaves of the resins of `shop` the one that `job` takes, as its table `resin`; returns its name.
fn chosen_resin<'t>(
    reader: &mut JobReader,
    job: &DeTable<'t>,
    shop: &mut DeTable<'t>,
) -> Option<String> {
    let own = job
        .get("resin")
        .and_then(|resin| resin.get_ref().as_table());
    let taken = own.and_then(|own| own.get("take"));
    let (key, all) = shop.remove_entry("resin")?;
    let DeValue::Table(mut all) = all.into_inner() else {
        let help = "give each a name of its own: `[resin.slow]`";
        reader.error(
            &reader.place(key.span()),
            "the shop's resin has no name",
            help,
        );
        return None;
    };
    let names: Vec<String> = all.keys().map(|name| name.get_ref().to_string()).collect();
    let name = match taken.and_then(|taken| Some((taken, taken.get_ref().as_str()?))) {
        Some((taken, name)) if !all.contains_key(name) => {
            let names: Vec<&str> = names.iter().map(String::as_str).collect();
            let help = suggestion(name, &names, "resins of the shop file are");
            let message = format!("the shop file has no resin {}", shown(name));
            reader.error(&reader.place(taken.span()), message, &help);
            return None;
        }
        Some((_, name)) => name.to_owned(),
        None if own.is_some_and(is_own_resin) => return None,
        None => names.first()?.clone(),
    };
    let (called, mut resin) = all.remove_entry(name.as_str())?;
    let Some(entries) = resin_entries(&mut resin) else {
        let help = "give each a name of its own: `[resin.slow]`";
        let place = reader.place(called.span());
        reader.error(
            &place,
            format!("{} stands in no named resin", shown(&name)),
            help,
        );
        return None;
    };
    if !entries.contains_key("name") {
        let (span, words) = (called.span(), called.get_ref().clone());
        entries.insert(
            Spanned::new(span.clone(), "name".into()),
            Spanned::new(span, DeValue::String(words)),
        );
    }
    shop.insert(key, resin);
    Some(name)
}

/// Whether `resin` says a mixing ratio, itself or for a hardener: then it is none of the shop's.
fn is_own_resin(resin: &DeTable<'_>) -> bool {
    let hardeners = resin
        .get("hardener")
        .and_then(|all| all.get_ref().as_table());
    let mut hardeners = hardeners.into_iter().flat_map(DeTable::values);
    let has_ratio = |hardener: &Spanned<DeValue<'_>>| hardener.get_ref().get("ratio").is_some();
    resin.contains_key("ratio") || hardeners.any(has_ratio)
}

fn resin_entries<'a, 't>(resin: &'a mut Spanned<DeValue<'t>>) -> Option<&'a mut DeTable<'t>> {
    match resin.get_mut() {
        DeValue::Table(entries) => Some(entries),
        _ => None,
    }
}

/// Puts into `job`, the table at `path`, what it does not say and `shop` does.
fn fill<'t>(job: &mut DeTable<'t>, shop: DeTable<'t>, path: &str, tables: &mut Vec<SharedTable>) {
    let is_cloth = path
        .strip_prefix("cloth.")
        .is_some_and(|name| !name.contains('.'));
    let together = TOGETHER.iter().filter(|_| is_cloth);
    let own: Vec<&&[&str]> = together
        .filter(|group| group.iter().any(|key| job.contains_key(*key)))
        .collect();
    let is_left = |key: &str| own.iter().any(|group| group.contains(&key));
    let at = tables.len();
    let (mut from_shop, from_job) = (Vec::new(), values_of(job));
    for (key, value) in shop {
        let name = key.get_ref().to_string();
        let below = if path.is_empty() {
            name.clone()
        } else {
            format!("{path}.{name}")
        };
        match (
            job.get_mut(name.as_str()).map(Spanned::get_mut),
            value.get_ref(),
        ) {
            (None, _) if is_left(&name) => {}
            (None, DeValue::Table(_)) => {
                let span = value.span();
                let DeValue::Table(inner) = value.into_inner() else {
                    continue;
                };
                let mut whole = DeTable::new();
                fill(&mut whole, inner, &below, tables);
                job.insert(key, Spanned::new(span, DeValue::Table(whole)));
            }
            (None, _) => {
                from_shop.push(name);
                job.insert(key, value);
            }
            (Some(DeValue::Table(own)), DeValue::Table(_)) => {
                if let DeValue::Table(inner) = value.into_inner() {
                    fill(own, inner, &below, tables);
                }
            }
            (Some(_), _) => {}
        }
    }
    if !from_shop.is_empty() {
        let table = path.to_owned();
        tables.insert(
            at,
            SharedTable {
                table,
                from_shop,
                from_job,
            },
        );
    }
}

/// The keys of `table` that hold no table of their own.
fn values_of(table: &DeTable<'_>) -> Vec<String> {
    let values = table
        .iter()
        .filter(|(_, value)| !value.get_ref().is_table());
    values.map(|(key, _)| key.get_ref().to_string()).collect()
}

/// A shop file by itself.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Shop {
    /// Its cloths, in the order of the file.
    pub cloths: Vec<crate::cloth::Cloth>,
    /// Its resins with their names, in the order of the file.
    pub resins: Vec<(String, super::ResinSystem)>,
    /// The folder of the shelf as written, if one is kept.
    pub shelf: Option<String>,
}

impl Shop {
    /// The shop written in `text`, with the warnings that came up.
    ///
    /// ```
    /// use warpwise::job::Shop;
    /// let text = "[cloth.glass]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"50 in\"\n\
    ///     [resin.slow]\nratio = \"100:30\"\npot_life = \"60 min\"\n";
    /// let (shop, warnings) = Shop::read("shop.toml", text).unwrap();
    /// assert!(warnings.is_empty());
    /// assert_eq!((shop.cloths.len(), shop.resins[0].0.as_str()), (1, "slow"));
    /// ```
    ///
    /// # Errors
    /// Every problem that could be found, each with its place.
    pub fn read(file_name: &str, text: &str) -> Result<(Self, Diagnostics), Diagnostics> {
        let mut reader = JobReader::of(file_name, text)?;
        let source = reader.source();
        let Some(entries) = syntax::tables(&mut reader, &source.text) else {
            return Err(reader.finish());
        };
        let shop = read_shop(&mut reader, &entries);
        if reader.has_errors() {
            return Err(reader.finish());
        }
        Ok((shop, reader.finish()))
    }
}

fn read_shop<'t>(reader: &mut JobReader, entries: &'t DeTable<'t>) -> Shop {
    let keys = ShopKeys::read(reader, Some(&whole(reader, entries)));
    let margins = MarginKeys::read(reader, keys.cutting.value.as_ref());
    let mut cutting = CuttingKeys::read(reader, None);
    if let Some(table) = &keys.cutting.value {
        cutting = cutting.overridden_by(reader, table);
    }
    cutting.check(reader);
    super::drawing::overridden_by(&Default::default(), reader, keys.drawing.value);
    let curing = Curing::read(reader, keys.laminate.value.as_ref(), keys.bag.is_there());
    if let Some(bag) = keys.bag.value {
        super::bagging::read_bagging(reader, &bag);
    }
    if let Some(mould) = keys.mould.value {
        read_mould(reader, &mould);
    }
    outputs::read(reader, keys.output.value.as_ref());
    let resins = keys.resin.value.unwrap_or_default().into_iter();
    let resins = resins.filter_map(|(name, table)| Some((name.value, read_resin(reader, &table)?)));
    let resins: Vec<(String, ResinSystem)> = resins.collect();
    if let Some(coat) = keys.gel_coat.value {
        read_gel_coat(reader, &coat, resins.first().map(|(_, resin)| resin));
    }
    if let Some(labour) = keys.labour.value {
        read_labour(reader, &labour, None);
    }
    let cloths = Cloths::read(
        reader,
        keys.cloth.value.unwrap_or_default(),
        &margins,
        &curing,
    );
    Shop {
        cloths: cloths.into_cloths().0,
        resins,
        shelf: keys.shelf.value,
    }
}
