//! A job file to start from, written for the outlines of some pattern files.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use super::rules::MAX_NAME;
use super::{Job, layup};
use crate::diag::{Diagnostic, Diagnostics, Place, Severity, SourceText, counted};
use crate::mould::MouldInspection;
use crate::pattern::{CSS_DPI, Format, Pattern, PatternOutline, UnitFound};
use crate::units::{Area, LengthUnit};

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
    /// A price by running length; empty if it is not known.
    pub price: String,
    /// The laminate of every part in laminate code.
    pub layup: String,
    /// Whether a person said so: then plies that the outlines number take its angles too.
    pub layup_is_stated: bool,
    /// How many of every part; what the drawing says, or one, if `None`.
    pub sets: Option<u32>,
    /// Allowance outside the finished edge; empty if the shop file says it.
    pub trim: String,
    /// Unit of the drawings that do not state one.
    pub units: Option<LengthUnit>,
    /// The cloth of a shop file to use in place of one of the job's own.
    pub from_shop: Option<ShopCloth>,
    /// The name of the cloth, where the job has it already.
    pub called: Option<String>,
}

/// A cloth of a shop file.
#[derive(Clone, Debug, PartialEq)]
pub struct ShopCloth {
    /// The shop file's path as the job is to give it.
    pub file: String,
    /// The shop file's text.
    pub text: String,
    /// The name of the cloth.
    pub cloth: String,
}

impl StartingJob {
    /// What a job says where nobody says otherwise.
    #[must_use]
    pub fn usual(title: &str) -> Self {
        Self {
            title: title.to_owned(),
            weave: "plain".to_owned(),
            areal_weight: "200 g/m2".to_owned(),
            roll_width: "50 in".to_owned(),
            price: String::new(),
            layup: "[0/45]s".to_owned(),
            layup_is_stated: false,
            sets: None,
            trim: "25 mm".to_owned(),
            units: None,
            from_shop: None,
            called: None,
        }
    }

    /// What the job calls its cloth.
    fn cloth(&self) -> String {
        match (&self.called, &self.from_shop) {
            (Some(called), _) => called.clone(),
            (None, Some(shop)) => shop.cloth.clone(),
            (None, None) => cloth_name(&self.weave),
        }
    }

    /// The first thing that a job with these words would be refused for.
    #[must_use]
    pub fn fault(&self) -> Option<Diagnostic> {
        let cloth = self.cloth();
        let part = format!(
            "[[part]]\nname = \"A\"\npattern = \"a.svg\"\ncloth = {}\nlayup = {}\n",
            quoted(&cloth),
            quoted(&self.layup)
        );
        let text = head(self, &cloth) + &part;
        let open = &mut |file: &str| match &self.from_shop {
            Some(shop) => Ok(SourceText {
                name: file.to_owned(),
                text: shop.text.clone(),
            }),
            None => Err("there is none".to_owned()),
        };
        let problems = Job::read_with_shop("answers", &text, open).err()?;
        problems
            .iter()
            .find(|p| p.severity == Severity::Error)
            .cloned()
    }
}

/// The job file for `patterns` and `moulds`, each with its path as the job file is to give it, and what a person
/// should know of it.
///
/// Outlines that say for which plies they are (`PLY 2`) become the plies of one part; every other
/// outline becomes a part of its own. What of a mould hangs together without a sharp edge becomes a part, the
/// largest such piece; the others stand there as comments.
#[must_use]
pub fn starting_job(
    start: &StartingJob,
    patterns: &[(String, Pattern)],
    moulds: &[(String, MouldInspection)],
) -> (String, Diagnostics) {
    let (parts, remarks) = parts(start, BTreeSet::new(), patterns, moulds);
    (head(start, &start.cloth()) + &parts, remarks)
}

/// The text that adds `patterns` and `moulds` to a job which has parts of the names `taken`, as [`starting_job`] has them
/// in a new one; with a cloth if it has none.
#[must_use]
pub fn further_parts(
    start: &StartingJob,
    taken: BTreeSet<String>,
    patterns: &[(String, Pattern)],
    moulds: &[(String, MouldInspection)],
) -> (String, Diagnostics) {
    let (parts, remarks) = parts(start, taken, patterns, moulds);
    let cloth = match start.called {
        Some(_) => String::new(),
        None => cloth_table(start, &start.cloth()),
    };
    (cloth + &parts, remarks)
}

/// The parts of a starting job.
fn parts(
    start: &StartingJob,
    mut names: BTreeSet<String>,
    patterns: &[(String, Pattern)],
    moulds: &[(String, MouldInspection)],
) -> (String, Diagnostics) {
    let cloth = start.cloth();
    let mut remarks = Diagnostics::new();
    let mut text = String::new();
    for (path, pattern) in patterns {
        let of_plies: Vec<&PatternOutline> = (pattern.outlines().iter())
            .filter(|o| !o.words.plies.is_empty())
            .collect();
        if !of_plies.is_empty() {
            let name = free_name(&stem(path), &mut names);
            part(&mut text, start, path, pattern, &name);
            let numbered = numbered(&of_plies);
            let angles = angles(start, path, numbered.len(), &mut remarks);
            plies(&mut text, &cloth, pattern, &numbered, &angles);
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
    for (path, mould) in moulds {
        let name = free_name(&stem(path), &mut names);
        on_mould(&mut text, start, &cloth, (path, mould), &name);
    }
    if start.units.is_none() {
        units_taken(patterns).for_each(|taken| remarks.push(taken));
    }
    (text, remarks)
}

/// The head of the job: all but its parts.
fn head(start: &StartingJob, cloth: &str) -> String {
    let title = quoted(&start.title);
    let trim = match start.trim.as_str() {
        "" => String::new(),
        trim => format!(
            "trim = {}              # cloth beyond the finished edge, all round\n",
            quoted(trim)
        ),
    };
    let said = match &start.from_shop {
        Some(shop) => {
            let cutting = match trim.as_str() {
                "" => String::new(),
                trim => format!("\n[cutting]\n{trim}"),
            };
            format!(
                "shop = {}         # cloths, resin, bag: what is not said here is as there\n\
                 title = {title}\n\
                 {cutting}",
                quoted(&shop.file)
            )
        }
        None => format!(
            "title = {title}\n\
             \n\
             [cutting]\n\
             {trim}\
             gap = \"3 mm\"                # between cut lines\n\
             end_margin = \"10 mm\"        # unused at both ends of the cloth\n\
             openings = \"cut\"            # or \"after cure\"\n\
             {}",
            cloth_table(start, cloth)
        ),
    };
    format!(
        "# A job to start from: change what is not so. Paths are relative to this file. Lengths, weights\n\
         # and prices carry their unit: 50 in, 1.27 m, 5.7 oz/yd2, 193 g/m2.\n\
         \n\
         {said}"
    )
}

/// The table of the job's own cloth.
fn cloth_table(start: &StartingJob, cloth: &str) -> String {
    let price = match start.price.as_str() {
        "" => "# price = \"12.50 USD/yd\"   # by running length\n".to_owned(),
        price => format!("price = {}\n", quoted(price)),
    };
    format!(
        "\n\
         [cloth.{cloth}]\n\
         weave = {}            # plain, twill, basket, satin, unidirectional, biaxial, non-directional\n\
         areal_weight = {}\n\
         roll_width = {}         # selvedge to selvedge\n\
         selvedge = \"10 mm\"          # unused along both selvedges\n\
         {price}\
         # sold_by = \"1/2 yd\"\n",
        quoted(&start.weave),
        quoted(&start.areal_weight),
        quoted(&start.roll_width),
    )
}

/// Says once for each format in which unit the drawings were taken that state none.
fn units_taken(patterns: &[(String, Pattern)]) -> impl Iterator<Item = Diagnostic> {
    let formats = [
        (Format::Svg, "its pixels are taken as 96 to the inch", "dpi"),
        (Format::Dxf, "it is taken to be in mm", "units"),
    ];
    formats.into_iter().filter_map(|(format, taken, key)| {
        let files: Vec<&str> = (patterns.iter())
            .filter(|(_, pattern)| {
                pattern.unit() == UnitFound::Assumed && pattern.format() == Some(format)
            })
            .map(|(path, _)| path.as_str())
            .collect();
        let message = format!("the drawing states no unit; {taken}");
        (!files.is_empty()).then(|| {
            Diagnostic::warning(message)
                .at(Place::File(files.join(", ")))
                .help(format!(
                    "compare a size; if it is wrong, change `{key}` in the job or say `--units`"
                ))
        })
    })
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
        // As `inspect` shows it: what was looked at is what is planned.
        None if pattern.unit() == UnitFound::Assumed => match pattern.format() {
            Some(Format::Svg) => {
                _ = writeln!(
                    text,
                    "drawing = {{ dpi = {CSS_DPI} }}      # pixels: the drawing states no unit, so check a size"
                );
            }
            Some(Format::Dxf | Format::Photo) | None => text.push_str(
                "units = \"mm\"               # the drawing does not say: check a size\n",
            ),
        },
        None => {}
    }
    if pattern.zero_lines().next().is_none() {
        text.push_str("zero_direction = \"0 deg\"    # the part's 0°, from +x of the drawing\n");
    }
    if let Some(sets) = start.sets {
        _ = writeln!(text, "sets = {sets}");
    }
}

/// A part on a mould.
fn on_mould(
    text: &mut String,
    start: &StartingJob,
    cloth: &str,
    (path, mould): (&str, &MouldInspection),
    name: &str,
) {
    let [name, path, cloth, layup] = [name, path, cloth, &start.layup].map(quoted);
    let unit = &mould.unit;
    let checked = match mould.unit_is_stated {
        true => "",
        false => "               # no such file states it: check a size",
    };
    _ = write!(
        text,
        "\n[[part]]\nname = {name}\nmould = {path}\nunits = \"{unit}\"{checked}\ncloth = {cloth}\n\
         layup = {layup}      # first ply against the mould; degrees from 0°; s: and its mirror image\n",
    );
    if let Some(sets) = start.sets {
        _ = writeln!(text, "sets = {sets}");
    }
    let seed = |at: [f64; 3]| {
        let [x, y, z] = at.map(|v| format!("\"{:.1} mm\"", v + 0.0).replace("\"-0.0", "\"0.0"));
        format!("seed = [{x}, {y}, {z}]")
    };
    text.push_str(
        "\n[part.area]                # what of the mould is the part: all that hangs together with `seed`\n",
    );
    for (k, candidate) in mould.candidates.iter().enumerate() {
        let off = if k == 0 { "" } else { "# " };
        let mm2 = Area::mm2(candidate.area_mm2).in_m2_and_yd2();
        _ = writeln!(text, "{off}{}   # {mm2}", seed(candidate.seed_mm));
    }
    text.push_str(
        "crease = \"30 deg\"            # edges that bend more end it; or above = { z = \"…\" }\n",
    );
}

/// The plies that the outlines name, in the order of their numbers.
fn numbered<'p>(outlines: &[&'p PatternOutline]) -> Vec<(u32, &'p PatternOutline)> {
    let mut numbered: Vec<(u32, &PatternOutline)> = (outlines.iter())
        .flat_map(|&outline| outline.words.plies.iter().map(move |&n| (n, outline)))
        .collect();
    numbered.sort_by_key(|(n, _)| *n);
    numbered.dedup_by_key(|(n, _)| *n);
    numbered
}

/// The angles (degrees) of `n` numbered plies: those of a stated layup, if it has as many.
fn angles(start: &StartingJob, path: &str, n: usize, remarks: &mut Diagnostics) -> Vec<f64> {
    let stated = Some(&start.layup).filter(|_| start.layup_is_stated);
    // A layup that cannot be read is told when the job is.
    let Some(listed) = stated.and_then(|code| layup::parse(code).ok()) else {
        return vec![0.0; n];
    };
    if listed.len() == n {
        return listed.iter().map(|ply| ply.degrees).collect();
    }
    let message = format!(
        "the layup {} is not used for {path}: it has {}, and the drawing numbers {n}",
        start.layup,
        counted(listed.len(), "ply", "plies")
    );
    remarks.push(
        Diagnostic::warning(message)
            .at(Place::File(path.to_owned()))
            .help("all of them are at 0° now: write each `angle` into the job"),
    );
    vec![0.0; n]
}

/// The plies of a part whose outlines number them.
fn plies(
    text: &mut String,
    cloth: &str,
    pattern: &Pattern,
    numbered: &[(u32, &PatternOutline)],
    angles: &[f64],
) {
    for ((n, outline), angle) in numbered.iter().zip(angles) {
        _ = write!(
            text,
            "\n[[part.ply]]\nnumber = {n}\ncloth = {}\nangle = \"{angle} deg\"             # of the warp against 0°\n\
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
