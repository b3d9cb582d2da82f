//! What the files of the out directory are called.

use std::collections::BTreeSet;

use crate::plan::{Plan, RollUse};

/// One file of the out directory.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OutputFile {
    /// Path inside the out directory, with `/` between folders.
    pub path: String,
    /// What is in it.
    pub bytes: Vec<u8>,
}

/// Path of the label sheets.
pub(super) const LABELS: &str = "labels.pdf";

/// Path of the paper patterns.
pub(super) fn templates_path(plan: &Plan) -> String {
    format!("templates/templates-{}.pdf", plan.outputs().paper.name())
}

/// Path of the templates of the finished parts.
pub(super) fn trim_path(plan: &Plan) -> String {
    format!("templates/trim-{}.pdf", plan.outputs().paper.name())
}

/// The folder of a job that is planned together with others.
pub(super) fn job_folder(name: &str) -> String {
    format!("jobs/{name}")
}

/// Path of the pictures of each cloth on its mould without the extension, part by part, for example
/// `mould/COVER_45`.
pub(super) fn mould_stems(plan: &Plan) -> Vec<String> {
    let drapes = plan.parts().iter().flat_map(|part| {
        let drapes = part.drapes().into_iter();
        drapes.map(|drape| format!("{}_{}", part.name(), drape.angle()))
    });
    let names: Vec<String> = drapes.collect();
    let apart = apart(names.iter().map(String::as_str));
    apart.map(|name| format!("mould/{name}")).collect()
}

/// Path of a bag layer's cut files without the extension; the job takes only names that are safe.
pub(super) fn bag_file_stem(roll: &RollUse) -> String {
    format!("bag/{}", safe_name(&roll.layer.roll.name))
}

/// Path of each layout's cut files without the extension, for example `cut/twill-1`.
pub(super) fn cut_file_stems(plan: &Plan) -> Vec<String> {
    let names = plan.layouts().iter().map(|layout| layout.roll());
    apart(names).map(|name| format!("cut/{name}")).collect()
}

/// Path of the remnant file of each piece of stock that is left, for example
/// `stock/twill-r1.json`.
pub(super) fn remnant_files(plan: &Plan) -> Vec<String> {
    let names = plan
        .stock_left()
        .iter()
        .map(|left| left.stock.name.as_str());
    apart(names)
        .map(|name| format!("stock/{name}.json"))
        .collect()
}

/// Names as safe file names, no two the same.
fn apart<'a>(names: impl Iterator<Item = &'a str>) -> impl Iterator<Item = String> {
    let mut taken = BTreeSet::new();
    names.map(move |name| unique_name(name, &mut taken))
}

/// `name` as a safe file name that is not in `taken`, to which it is added.
pub(super) fn unique_name(name: &str, taken: &mut BTreeSet<String>) -> String {
    let name = safe_name(name);
    let mut unique = name.clone();
    let mut n = 2;
    // Some file systems do not tell capitals from small letters.
    while !taken.insert(unique.to_lowercase()) {
        unique = format!("{name}_{n}");
        n += 1;
    }
    unique
}

/// Longest file name without extension.
const LONGEST: usize = 80;

/// `name` as a file name that every common file system takes: ASCII letters, digits and `-_.`,
/// no dot at either end, not a device name of Windows, never empty.
fn safe_name(name: &str) -> String {
    let safe: String = name
        .chars()
        .map(|c| match c {
            c if c.is_ascii_alphanumeric() => c,
            '-' | '_' | '.' => c,
            _ => '_',
        })
        .take(LONGEST)
        .collect();
    let safe = safe.trim_matches('.');
    let stem = safe.split('.').next().unwrap_or_default();
    if safe.is_empty() {
        "roll".to_owned()
    } else if is_device(stem) {
        format!("_{safe}")
    } else {
        safe.to_owned()
    }
}

/// Whether Windows takes `stem` for a device, whatever the extension.
fn is_device(stem: &str) -> bool {
    let stem = stem.to_ascii_uppercase();
    matches!(stem.as_str(), "CON" | "PRN" | "AUX" | "NUL")
        || stem
            .strip_prefix("COM")
            .or_else(|| stem.strip_prefix("LPT"))
            .is_some_and(|n| n.len() == 1 && n.bytes().all(|b| b.is_ascii_digit()))
}

#[cfg(test)]
mod tests {
    use super::safe_name;

    #[test]
    fn file_names_are_safe_everywhere() {
        assert_eq!(safe_name("twill-1"), "twill-1");
        assert_eq!(safe_name("../Köper 2/2"), "_K_per_2_2");
        assert_eq!(safe_name("con.x"), "_con.x");
        assert_eq!(safe_name("…"), "_");
        assert_eq!(safe_name(".."), "roll");
        assert!(safe_name(&"x".repeat(500)).len() < 100);
    }
}
