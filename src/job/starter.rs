//! A job file to start from, written for the outlines of some pattern files.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use super::rules::MAX_NAME;
use crate::pattern::{Pattern, PatternOutline, UnitFound};
use crate::units::LengthUnit;

/// What a starting job is to say, in the words of a job file.
#[derive(Clone, Debug, PartialEq)]
pub struct StartingJob {
    /// What the job is called.
    pub title: String,
    /// A weave.
    pub weave: String,
    /// Mass per area of the cloth.
    pub areal_weight: String,
    /// Width of the roll.
    pub roll_width: String,
    /// A price by running length, if known.
    pub price: Option<String>,
    /// The laminate of every part in laminate code.
    pub layup: String,
    /// How many of every part; what the drawing says, or one, if `None`.
    pub sets: Option<u32>,
    /// Allowance outside the finished edge.
    pub trim: String,
    /// Unit of the drawings that do not state one.
    pub units: Option<LengthUnit>,
}

/// The job file for `patterns`, each with its path as the job file is to give it.
///
/// Outlines that say for which plies they are (`PLY 2`) become the plies of one part; every other
/// outline becomes a part of its own.
#[must_use]
pub fn starting_job(start: &StartingJob, patterns: &[(String, Pattern)]) -> String {
    let cloth = cloth_name(&start.weave);
    let mut text = head(start, &cloth);
    let mut names = BTreeSet::new();
    for (path, pattern) in patterns {
        let of_plies: Vec<&PatternOutline> = (pattern.outlines().iter())
            .filter(|o| !o.words.plies.is_empty())
            .collect();
        if !of_plies.is_empty() {
            let name = free_name(&stem(path), &mut names);
            part(&mut text, start, path, pattern, &name);
            plies(&mut text, &cloth, pattern, &of_plies);
        }
        let others: Vec<&PatternOutline> = (pattern.outlines().iter())
            .filter(|o| o.words.plies.is_empty())
            .collect();
        if others.len() > 1 {
            _ = write!(
                text,
                "\n# {path} holds {} outlines. Each is a part of its own here; where some are plies \
                 of one\n# part, take them together as [[part.ply]] with an `outline` each.\n",
                others.len()
            );
        }
        for outline in others {
            let called = match (pattern.outlines().len(), &outline.words.name) {
                (1, None) => stem(path),
                (_, Some(name)) => name.clone(),
                (_, None) if outline.layer.is_empty() => outline.id.clone(),
                (_, None) => outline.layer.clone(),
            };
            let name = free_name(&called, &mut names);
            part(&mut text, start, path, pattern, &name);
            if pattern.outlines().len() > 1 {
                _ = writeln!(text, "outline = {}", quoted(&key_of(pattern, outline)));
            }
            _ = writeln!(text, "cloth = {}", quoted(&cloth));
            _ = writeln!(
                text,
                "layup = {}      # first ply against the mould; degrees from 0°; s: and its mirror image",
                quoted(&start.layup)
            );
        }
    }
    text
}

fn head(start: &StartingJob, cloth: &str) -> String {
    let StartingJob {
        title,
        weave,
        areal_weight,
        roll_width,
        trim,
        ..
    } = start;
    let quote = |text: &String| quoted(text);
    let price = match &start.price {
        Some(price) => format!("price = {}\n", quoted(price)),
        None => "# price = \"12.50 USD/yd\"   # by running length\n".to_owned(),
    };
    format!(
        "# A job to start from: change what is not so. Paths are relative to this file. Lengths, weights\n\
         # and prices carry their unit: 50 in, 1.27 m, 5.7 oz/yd2, 193 g/m2.\n\
         \n\
         title = {}\n\
         \n\
         [cutting]\n\
         trim = {}              # cloth beyond the finished edge, all round\n\
         gap = \"3 mm\"                # between cut lines\n\
         end_margin = \"10 mm\"        # unused at both ends of the cloth\n\
         openings = \"cut\"            # or \"after cure\"\n\
         \n\
         [cloth.{cloth}]\n\
         weave = {}            # plain, twill, basket, satin, unidirectional, biaxial, non-directional\n\
         areal_weight = {}\n\
         roll_width = {}         # selvedge to selvedge\n\
         selvedge = \"10 mm\"          # unused along both selvedges\n\
         {price}\
         # sold_by = \"1/2 yd\"\n",
        quote(title),
        quote(trim),
        quote(weave),
        quote(areal_weight),
        quote(roll_width),
    )
}

/// The head of a part: all but its plies.
fn part(text: &mut String, start: &StartingJob, path: &str, pattern: &Pattern, name: &str) {
    _ = write!(
        text,
        "\n[[part]]\nname = {}\npattern = {}\n",
        quoted(name),
        quoted(path)
    );
    match start.units {
        Some(unit) => {
            _ = writeln!(
                text,
                "units = \"{unit}\"               # whatever the drawing says"
            )
        }
        None if pattern.unit() == UnitFound::Assumed => {
            text.push_str(
                "units = \"mm\"               # the drawing does not say: check a size\n",
            );
        }
        None => {}
    }
    if pattern.zero_lines().next().is_none() {
        text.push_str("zero_direction = \"0 deg\"    # the part's 0°, from +x of the drawing\n");
    }
    if let Some(sets) = start.sets {
        _ = writeln!(text, "sets = {sets}");
    }
}

/// The plies that the outlines name, in the order of their numbers.
fn plies(text: &mut String, cloth: &str, pattern: &Pattern, outlines: &[&PatternOutline]) {
    let mut numbered: Vec<(u32, &PatternOutline)> = (outlines.iter())
        .flat_map(|&outline| outline.words.plies.iter().map(move |&n| (n, outline)))
        .collect();
    numbered.sort_by_key(|(n, _)| *n);
    numbered.dedup_by_key(|(n, _)| *n);
    for (n, outline) in numbered {
        _ = write!(
            text,
            "\n[[part.ply]]\nnumber = {n}\ncloth = {}\nangle = \"0 deg\"             # of the warp against 0°\n\
             outline = {}\n",
            quoted(cloth),
            quoted(&key_of(pattern, outline))
        );
    }
}

/// What names `outline` and no other: its layer, else its id.
fn key_of(pattern: &Pattern, outline: &PatternOutline) -> String {
    let is_own = |name: &str| {
        pattern
            .choose(name)
            .is_ok_and(|found| found.id == outline.id)
    };
    let layer = Some(&outline.layer).filter(|layer| !layer.is_empty() && is_own(layer));
    layer.unwrap_or(&outline.id).clone()
}

/// The cloth's name: its weave, as far as that is a name.
fn cloth_name(weave: &str) -> String {
    let plain: String = weave.chars().filter(char::is_ascii_alphanumeric).collect();
    if plain.is_empty() {
        "cloth".to_owned()
    } else {
        plain
    }
}

/// A part's name as near to `wanted` as may be, and not yet in `taken`.
fn free_name(wanted: &str, taken: &mut BTreeSet<String>) -> String {
    let may = |c: char| c.is_ascii_alphanumeric() || c == '_';
    let words: Vec<String> = wanted
        .split(|c: char| !may(c))
        .filter(|word| !word.is_empty())
        .map(str::to_uppercase)
        .collect();
    let mut name = words.join("-");
    if !name.starts_with(|c: char| c.is_ascii_alphanumeric()) {
        name.insert_str(0, "PART");
    }
    // Room for a number behind it.
    name.truncate(MAX_NAME - 6);
    let mut free = name.clone();
    let mut n = 1;
    while !taken.insert(free.clone()) {
        n += 1;
        free = format!("{name}-{n}");
    }
    free
}

/// The file name in `path` without its ending.
fn stem(path: &str) -> String {
    let file = path.rsplit('/').next().unwrap_or(path);
    let stem = file.rsplit_once('.').map_or(file, |(stem, _)| stem);
    stem.to_owned()
}

/// `text` as a TOML string.
fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}
