//! `warpwise new`: a job file to start from.

use std::io::{BufRead as _, IsTerminal as _};
use std::path::{Component, Path, PathBuf};

use super::args::NewOptions;
use super::writing::{Existing, write_file};
use super::{Failure, input, messages};
use crate::diag::{Diagnostic, Place, Severity, counted};
use crate::job::{Shop, ShopCloth, StartingJob, starting_job};
use crate::mould::MouldInspection;
use crate::pattern::{Format, PX_MM, Pattern, Settings, UnitFound};
use crate::units::LengthUnit;

pub(super) fn run(options: &NewOptions) -> Result<(), Failure> {
    let out = out_file(options);
    if out.exists() {
        messages::show(
            &Diagnostic::error("the file is there already and was left as it is")
                .at(Place::File(out.display().to_string()))
                .help("delete it, or name another with `--out`"),
        );
        return Err(Failure::Output);
    }
    let Sources { patterns, moulds } = read_sources(options, &out)?;
    let from_shop = match &options.shop {
        Some(shop) => Some(shop_cloth(options, shop, &out)?),
        None => None,
    };
    let start = answers(options, &patterns, from_shop);
    let (text, remarks) = starting_job(&start, &patterns, &moulds);
    messages::show_all(&remarks);
    write_file(&out, text.as_bytes(), Existing::Own, &options.patterns)?;
    // What was written must plan; if it does not, the problems say where it is to be changed.
    let prepared =
        input::prepare_and_show(std::slice::from_ref(&out), options.quiet, Severity::Warning).inspect_err(|_| {
            if options.quiet {
                return;
            }
            let out = out.display();
            messages::print(&format!(
                "{out} was written, with the faults above. Mend them there, then:\n  warpwise check {out}\n"
            ));
        })?;
    if !options.quiet {
        let n: usize = prepared.pieces.iter().map(|p| p.sets() as usize).sum();
        messages::print(&format!(
            "{} was written: {}, {}. Read it through, then:\n  warpwise plan {}\n",
            out.display(),
            counted(prepared.inputs.job().parts().len(), "part", "parts"),
            counted(n, "piece", "pieces"),
            out.display()
        ));
    }
    Ok(())
}

/// `--out`, or the first pattern's name with `.toml` in the current folder.
pub(super) fn out_file(options: &NewOptions) -> PathBuf {
    options.out.clone().unwrap_or_else(|| {
        let stem = options.patterns[0].file_stem().unwrap_or_default();
        PathBuf::from(format!("{}.toml", stem.to_string_lossy()))
    })
}

/// What the job is made for, each with its path as seen from the job file.
#[derive(Default)]
struct Sources {
    patterns: Vec<(String, Pattern)>,
    moulds: Vec<(String, MouldInspection)>,
}

/// The drawings and moulds.
fn read_sources(options: &NewOptions, out: &Path) -> Result<Sources, Failure> {
    let mut sources = Sources::default();
    let mut failed = false;
    for (i, path) in options.patterns.iter().enumerate() {
        // A drawing that is named twice makes its parts once.
        if options.patterns[..i].contains(path) {
            continue;
        }
        let Some(from_job) = from_job(path, out) else {
            messages::show(
                &Diagnostic::error("its path is not UTF-8 text, and a job file can hold no other")
                    .at(Place::File(path.display().to_string()))
                    .help("rename the file, or the folder it lies in"),
            );
            failed = true;
            continue;
        };
        if input::is_mould(path) {
            match input::read_mould_file(path, options.units) {
                Ok((mould, _)) => {
                    let unit = options.units.unwrap_or(LengthUnit::Millimetre);
                    let held = mould.inspect(unit.symbol(), options.units.is_some());
                    sources.moulds.push((from_job, held));
                }
                Err(problems) => {
                    messages::show_all(&problems);
                    failed = true;
                }
            }
            continue;
        }
        match input::read_pattern_file(path, &Settings::default()) {
            // What is wrong with it otherwise is told once, with the job.
            Ok(pattern) if !pattern.outlines().is_empty() => {
                sources.patterns.push((from_job, pattern));
            }
            Ok(pattern) => {
                messages::show_all(pattern.problems());
                failed = true;
            }
            Err(problems) => {
                messages::show_all(&problems);
                failed = true;
            }
        }
    }
    if failed {
        Err(Failure::Input)
    } else {
        Ok(sources)
    }
}

/// The cloth that is taken from the shop file at `shop`.
fn shop_cloth(options: &NewOptions, shop: &Path, out: &Path) -> Result<ShopCloth, Failure> {
    let refuse = |problem: Diagnostic| {
        messages::show(&problem.at(Place::File(shop.display().to_string())));
        Failure::Input
    };
    let text = input::read_text(shop, "shop file").map_err(refuse)?;
    let (known, _) = Shop::read(&shop.display().to_string(), &text).map_err(|problems| {
        messages::show_all(&problems);
        Failure::Input
    })?;
    let file = from_job(shop, out)
        .ok_or_else(|| refuse(Diagnostic::error("its path is not UTF-8 text")))?;
    let names: Vec<&str> = known.cloths.iter().map(|c| c.name.as_str()).collect();
    let cloth = match (&options.cloth, names.first()) {
        (_, None) => {
            let problem = Diagnostic::error("the shop file has no cloth");
            return Err(refuse(
                problem.help("describe one in a table such as `[cloth.twill]`"),
            ));
        }
        (None, Some(first)) => asked_cloth(options, &names).unwrap_or_else(|| (*first).to_owned()),
        (Some(cloth), _) if names.contains(&cloth.as_str()) => cloth.clone(),
        (Some(cloth), _) => {
            let problem = Diagnostic::error(format!("the shop file has no cloth `{cloth}`"));
            return Err(refuse(
                problem.help(format!("there are {}", names.join(", "))),
            ));
        }
    };
    Ok(ShopCloth { file, text, cloth })
}

/// Asks which cloth it is; `None` where nobody answers.
fn asked_cloth(options: &NewOptions, names: &[&str]) -> Option<String> {
    if !is_asked(options) {
        return None;
    }
    loop {
        let typed = answer(&format!("Cloth: {}", names.join(", ")), names[0])?;
        if names.contains(&typed.as_str()) {
            return Some(typed);
        }
        complain(&Diagnostic::error(format!("the shop has no cloth {typed}")));
    }
}

/// Whether a person at the terminal is asked.
fn is_asked(options: &NewOptions) -> bool {
    !options.quiet && std::io::stdin().is_terminal() && std::io::stderr().is_terminal()
}

/// The path of `pattern` as a job file at `job` gives it, with `/` between the folders; `None` if it
/// is not UTF-8.
fn from_job(pattern: &Path, job: &Path) -> Option<String> {
    let parent = match job.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let (Some(target), Some(from)) = (whole(pattern), whole(parent)) else {
        return pattern.to_str().map(str::to_owned);
    };
    let target: Vec<Component> = target.components().collect();
    let from: Vec<Component> = from.components().collect();
    let common = (target.iter().zip(&from))
        .take_while(|(a, b)| a == b)
        .count();
    // Nothing in common, not even the drive: only the whole path will do.
    if common == 0 {
        return pattern.to_str().map(str::to_owned);
    }
    let up = from[common..].iter().map(|_| Some(".."));
    let down = target[common..].iter().map(|c| c.as_os_str().to_str());
    let path: Option<Vec<&str>> = up.chain(down).collect();
    Some(path?.join("/"))
}

/// The whole path of `path`, of which the last folders need not be there yet.
fn whole(path: &Path) -> Option<PathBuf> {
    path.canonicalize().ok().or_else(|| {
        let parent = match path.parent()? {
            parent if parent.as_os_str().is_empty() => Path::new("."),
            parent => parent,
        };
        Some(whole(parent)?.join(path.file_name()?))
    })
}

/// A question, which option answers it, and the word of the job that it is about.
type Question<'o> = (
    &'o Option<String>,
    &'static str,
    fn(&mut StartingJob) -> &mut String,
);

/// What the options say, and where they do not, what a person at the terminal answers.
fn answers(
    options: &NewOptions,
    patterns: &[(String, Pattern)],
    from_shop: Option<ShopCloth>,
) -> StartingJob {
    let is_asked = is_asked(options);
    let stem = out_file(options);
    let mut start = StartingJob::usual(&stem.file_stem().unwrap_or_default().to_string_lossy());
    start.layup_is_stated = is_asked || options.layup.is_some();
    (start.sets, start.units) = (options.sets, options.units);
    let has_cloth = from_shop.is_some();
    start.from_shop = from_shop;
    if has_cloth {
        start.trim.clear();
    }
    if is_asked && start.units.is_none() {
        start.units = asked_unit(patterns);
    }
    let questions: [Question<'_>; 6] = [
        (
            &options.weave,
            "Weave of the cloth: plain, twill, basket, satin, unidirectional, biaxial",
            |start| &mut start.weave,
        ),
        (&options.areal_weight, "Its areal weight", |start| {
            &mut start.areal_weight
        }),
        (&options.roll_width, "Width of the roll", |start| {
            &mut start.roll_width
        }),
        (
            &options.price,
            "Its price by running length, such as 12.50 USD/yd; nothing if you do not know it",
            |start| &mut start.price,
        ),
        (
            &options.layup,
            "Plies in laminate code, first against the mould",
            |start| &mut start.layup,
        ),
        (&options.trim, "Cloth beyond the finished edge", |start| {
            &mut start.trim
        }),
    ];
    for (stated, question, word) in questions {
        // The shop has said the rest.
        let is_open = !has_cloth || std::ptr::eq(stated, &raw const options.layup);
        match stated {
            Some(stated) => word(&mut start).clone_from(stated),
            None if is_asked && is_open => ask(&mut start, question, word),
            None => {}
        }
    }
    start
}

/// Asks until the answer is one that a job takes.
fn ask(start: &mut StartingJob, question: &str, word: fn(&mut StartingJob) -> &mut String) {
    let before = start.fault();
    let usual = word(start).clone();
    while let Some(typed) = answer(question, &usual) {
        *word(start) = typed;
        match start.fault() {
            // What an option says wrong is told with the job.
            Some(fault) if Some(&fault) != before.as_ref() => complain(&fault),
            _ => return,
        }
    }
    *word(start) = usual;
}

/// The units that drawings are made in.
const LIKELY_UNITS: [LengthUnit; 4] = [
    LengthUnit::Millimetre,
    LengthUnit::Centimetre,
    LengthUnit::Metre,
    LengthUnit::Inch,
];

/// Asks which unit the drawings are in that do not say; `None` for that in which they were read.
fn asked_unit(patterns: &[(String, Pattern)]) -> Option<LengthUnit> {
    let (path, pattern) = patterns
        .iter()
        .find(|(_, pattern)| pattern.unit() == UnitFound::Assumed)?;
    let (read_in, mm_of_one) = match pattern.format() {
        Some(Format::Svg) => ("px", PX_MM),
        Some(Format::Dxf | Format::Photo) | None => ("mm", 1.0),
    };
    let sizes = pattern.outlines().iter();
    let sizes = sizes.map(|o| o.outline.bounds().long_side());
    let units = sizes.fold(0.0, f64::max) / mm_of_one;
    let stated = LIKELY_UNITS.map(|unit| (unit.symbol(), unit.in_mm()));
    let px = Some(("px", PX_MM)).filter(|_| read_in == "px");
    let sizes: Vec<String> = (px.into_iter().chain(stated))
        .map(|(unit, mm)| format!("{unit}: {:.0} mm", units * mm))
        .collect();
    messages::ask(&format!(
        "{path} does not state its unit. Its longest outline would be\n  {}\n",
        sizes.join(", ")
    ));
    loop {
        match answer("Its unit", read_in)?.as_str() {
            typed if typed == read_in => return None,
            "px" => complain(&Diagnostic::error("pixels are for SVG only")),
            typed => match LengthUnit::from_symbol(typed) {
                Some(unit) => return Some(unit),
                None => complain(&Diagnostic::error(format!("there is no unit {typed}"))),
            },
        }
    }
}

/// Says what is wrong with an answer.
fn complain(fault: &Diagnostic) {
    let help = fault
        .help
        .as_deref()
        .map_or(String::new(), |help| format!(" ({help})"));
    messages::ask(&format!("  {}{help}\n", fault.message));
}

/// What is typed after `question`, `usual` if that is nothing; `None` at the end of the input.
fn answer(question: &str, usual: &str) -> Option<String> {
    messages::ask(&format!("{question} [{usual}]: "));
    let mut line = String::new();
    let n_read = std::io::stdin().lock().read_line(&mut line).ok()?;
    match line.trim() {
        _ if n_read == 0 => None,
        "" => Some(usual.to_owned()),
        typed => Some(typed.to_owned()),
    }
}
