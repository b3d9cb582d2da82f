//! What can be asked for on the command line.

use std::path::PathBuf;
use std::str::FromStr;

use clap::{Args, Parser, Subcommand};

use super::compare::{read_tolerance, read_width};
use crate::job::MAX_SETS;
use crate::laminate::{StiffAlong, StiffAs, StiffIn};
use crate::nest::Effort;
use crate::photo::board::BoardPaper;
use crate::units::{Angle, Length};

/// What the exit codes mean: in the help, and as a table in the man pages and the README.
pub(super) const EXIT_CODES: &str = "\
Exit codes:
  0    done; also if Ctrl-C ended the search early and the best plan so far was written
  1    the job or a file it needs is wrong; every problem was shown
  2    the command line is wrong
  3    something could not be written
  130  stopped by Ctrl-C before there was a plan, or by a second Ctrl-C: nothing was written";

/// From ply outlines and a laminate schedule to cut files and the cloth to buy.
///
/// warpwise lays every ply of a job on its cloth in the right direction, with its allowance, and
/// says how much of each cloth to buy.
#[derive(Debug, Parser)]
#[command(version, max_term_width = 100, after_help = EXIT_CODES)]
pub(super) struct Arguments {
    #[command(subcommand)]
    pub command: Command,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Start a job: write a job file for your drawings, asking for what the options leave open
    #[command(
        after_help = "Example: warpwise new rudder.svg hatch.dxf --layup \"[0/45]s\" --out rudder.toml"
    )]
    New(NewOptions),
    /// Open a job, or drawings to make a job of, on a page in the browser
    #[command(
        after_help = "Examples:\n  warpwise open rudder.toml\n  warpwise open rudder.svg hatch.dxf"
    )]
    Open(OpenOptions),
    /// Write a shop file to start from, or check one: cloths, resins and the bag, written down once for all jobs
    #[command(after_help = "Examples:\n  warpwise shop --new\n  warpwise shop shop.toml")]
    Shop(ShopOptions),
    /// Plan the job: every piece on its roll, what to buy, cut files, templates, sheets for the wall
    #[command(
        after_help = "Example: warpwise plan rudder.toml --out rudder-plan --effort thorough"
    )]
    Plan(PlanOptions),
    /// Book a job that was cut: what it used goes off the shelf that is kept, what is left comes onto it
    #[command(after_help = "Example: warpwise cut rudder.toml --lot twill=B1207")]
    Cut(CutOptions),
    /// Cut pieces again that were lost to a bad cut: writes into the job file where the others lie and which cloth is spoilt
    #[command(
        after_help = "Example: warpwise again rudder.toml RUD-3#1 && warpwise plan rudder.toml"
    )]
    Again(AgainOptions),
    /// List a shelf of rolls and remnants that is kept, put cloth on it, see who used what
    #[command(after_help = "Examples:\n  \
        warpwise shelf shelf --cloth twill --length \"900 mm\" --width \"400 mm\" --lot B1207\n  \
        warpwise shelf shelf\n  warpwise shelf shelf --journal")]
    Shelf(ShelfOptions),
    /// Check a job and its drawings before planning it: quick, nothing is laid out
    #[command(after_help = "Example: warpwise check rudder.toml")]
    Check(CheckOptions),
    /// Compare other ways to cut the job (straight plies, biaxial, roll widths), or find a layup as stiff as a given sheet
    #[command(after_help = "Examples:\n  \
                      warpwise compare rudder.toml --all --widths \"38 in, 60 in\" --html ways.html\n  \
                      warpwise compare rudder.toml --as-stiff-as \"2 mm aluminium\"")]
    Compare(CompareOptions),
    /// Show what pattern files, photographs or moulds hold: outlines, sizes, layers, units, faults; of a mould what may be a part
    #[command(
        after_help = "Examples:\n  warpwise inspect rudder.svg hatch.dxf --svg seen.svg\n  \
                      warpwise inspect bowl.stl --units mm --svg bowl.svg"
    )]
    Inspect(InspectOptions),
    /// Write the board to photograph templates on, as a PDF to print
    #[command(after_help = "Examples:\n  \
        warpwise board board.pdf --width \"1.2 m\" --height \"900 mm\" --paper a4\n  \
        warpwise board board.pdf --paper one\n  \
        warpwise board --check template.jpg --board-width \"1207.5 mm\" --board-height \"1129 mm\"")]
    Board(BoardOptions),
    /// Hold what was ticked and written on the layup sheets against the plan: hours, weights, resin, cloth; and what the
    /// next job should say
    #[command(after_help = "Example: warpwise made rudder.toml")]
    Made(MadeOptions),
    /// Print all keys of the job file or the shop file: as JSON Schema for editors, or to read
    #[command(after_help = "Example: warpwise schema > job.schema.json\n\
        Many editors check a job file against it if its first line is: #:schema job.schema.json")]
    Schema(SchemaOptions),
    /// Print the completions of a shell: what the tab key offers
    #[command(after_help = "Examples:\n  \
        bash:  warpwise completions bash > ~/.local/share/bash-completion/completions/warpwise\n  \
        zsh:   warpwise completions zsh > _warpwise, in a folder of $fpath\n  \
        fish:  warpwise completions fish > ~/.config/fish/completions/warpwise.fish")]
    Completions(CompletionsOptions),
    /// Write the man pages into a folder
    #[command(after_help = "Example: warpwise man ~/.local/share/man/man1")]
    Man(ManOptions),
}

#[derive(Args, Debug)]
pub(super) struct BoardOptions {
    /// The PDF to write
    #[arg(value_name = "FILE.pdf", required_unless_present = "check")]
    pub file: Option<PathBuf>,
    /// Check your camera instead: print the lengths of the edges of the template in this photograph, to hold a steel rule
    /// against
    #[arg(long, value_name = "PHOTO", conflicts_with_all = ["file", "width", "height"])]
    pub check: Option<PathBuf>,
    /// With --check: the level line of the board, measured on the print from cross to cross
    #[arg(long, value_name = "LENGTH", requires = "check")]
    pub board_width: Option<Length>,
    /// With --check: the upright line of the board, measured likewise
    #[arg(long, value_name = "LENGTH", requires = "check")]
    pub board_height: Option<Length>,
    /// With --check: how thick the template is
    #[arg(long, value_name = "LENGTH", requires = "check")]
    pub template_thickness: Option<Length>,
    /// Width of the board, up to 1.5 m [default: 1.2 m]
    #[arg(long, value_name = "LENGTH")]
    pub width: Option<Length>,
    /// Height of the board, up to 1.2 m [default: 900 mm]
    #[arg(long, value_name = "LENGTH")]
    pub height: Option<Length>,
    /// Paper: sheets of a4, a3, letter or tabloid that are taped together, or one page of its own size
    #[arg(long, value_name = "PAPER", default_value = "a4", value_parser = board_paper)]
    pub paper: BoardPaper,
    /// Overwrite the file if it exists
    #[arg(long)]
    pub replace: bool,
    /// Print nothing but problems
    #[arg(long, short)]
    pub quiet: bool,
}

fn board_paper(text: &str) -> Result<BoardPaper, String> {
    let known = BoardPaper::ALL.into_iter();
    let mut named = known.filter(|paper| paper.word().eq_ignore_ascii_case(text));
    named
        .next()
        .ok_or_else(|| "known are a4, a3, letter, tabloid, and one for a single page".to_owned())
}

#[derive(Args, Debug)]
pub(super) struct MadeOptions {
    /// The job file (TOML); its record lies beside it
    #[arg(value_name = "JOB.toml")]
    pub job: PathBuf,
    /// Folder of its plan [default: NAME-plan in the current folder]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Print as JSON, for other programs
    #[arg(long)]
    pub json: bool,
}

#[derive(Args, Debug)]
pub(super) struct SchemaOptions {
    /// Print the keys of both files as a reference to read (Markdown)
    #[arg(long)]
    pub markdown: bool,
    /// Print the schema of the shop file
    #[arg(long, conflicts_with = "markdown")]
    pub shop: bool,
}

#[derive(Args, Debug)]
pub(super) struct CompletionsOptions {
    /// The shell
    #[arg(value_name = "SHELL")]
    pub shell: clap_complete::Shell,
}

#[derive(Args, Debug)]
pub(super) struct ManOptions {
    /// The folder; it is made if it is not there
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,
}

#[derive(Args, Debug)]
pub(super) struct OpenOptions {
    /// A job file, or drawings, photographs and moulds to make a job of [default: job.toml in the current folder]
    #[arg(value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// Print the address of the page and start no browser
    #[arg(long)]
    pub no_browser: bool,
    /// The port of the page on this machine; 0 takes any that is free
    #[arg(long, value_name = "PORT")]
    pub port: Option<u16>,
}

#[derive(Args, Debug, Default)]
pub(super) struct NewOptions {
    /// Pattern files (SVG or DXF) and moulds (STL, OBJ or PLY)
    #[arg(value_name = "PATTERN", required = true)]
    pub patterns: Vec<PathBuf>,
    /// The job file to write [default: NAME.toml in the current folder]
    #[arg(long, value_name = "JOB.toml")]
    pub out: Option<PathBuf>,
    /// Take the cloth from this shop file
    #[arg(long, value_name = "SHOP.toml", conflicts_with_all = ["weave", "areal_weight", "roll_width", "price"])]
    pub shop: Option<PathBuf>,
    /// Which cloth of the shop file [default: its first]
    #[arg(long, value_name = "NAME", requires = "shop")]
    pub cloth: Option<String>,
    /// plain, twill, basket, satin, unidirectional, biaxial or non-directional [default: plain]
    #[arg(long, value_name = "WEAVE")]
    pub weave: Option<String>,
    /// Areal weight of the cloth, such as "5.7 oz/yd2" [default: 200 g/m2]
    #[arg(long, value_name = "WEIGHT")]
    pub areal_weight: Option<String>,
    /// Width of the roll, such as "50 in" [default: 50 in]
    #[arg(long, value_name = "WIDTH")]
    pub roll_width: Option<String>,
    /// Price by running length, such as "12.50 USD/yd"
    #[arg(long, value_name = "PRICE")]
    pub price: Option<String>,
    /// The plies of every part in laminate code, first against the mould [default: [0/45]s]
    #[arg(long, value_name = "LAYUP")]
    pub layup: Option<String>,
    /// How many of every part [default: as the drawing says, else 1]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=i64::from(MAX_SETS)))]
    pub sets: Option<u32>,
    /// Cloth beyond the finished edge [default: 25 mm]
    #[arg(long, value_name = "LENGTH")]
    pub trim: Option<String>,
    /// Unit of drawings that do not state one: mm, cm, m, in, ft [default: mm for DXF, pixels of 1/96 in for SVG]
    #[arg(long, value_name = "UNIT", value_parser = unit)]
    pub units: Option<crate::units::LengthUnit>,
    /// Ask nothing and print nothing but problems
    #[arg(long, short)]
    pub quiet: bool,
}

#[derive(Args, Debug)]
pub(super) struct ShopOptions {
    /// The shop file (TOML)
    #[arg(value_name = "SHOP.toml", default_value = "shop.toml")]
    pub file: PathBuf,
    /// Write it: ten common cloths, an epoxy with two hardeners, a usual bag
    #[arg(long)]
    pub new: bool,
    /// Print nothing but problems
    #[arg(long, short)]
    pub quiet: bool,
}

#[derive(Args, Debug)]
pub(super) struct CutOptions {
    /// The job file (TOML), or all those that were planned together
    #[arg(value_name = "JOB.toml", required = true)]
    pub jobs: Vec<PathBuf>,
    /// The maker's lot of a cloth that was bought for it
    #[arg(long, value_name = "CLOTH=LOT", value_parser = lot)]
    pub lot: Vec<(String, String)>,
    /// Who cut it [default: the user of the machine]
    #[arg(long, value_name = "NAME")]
    pub who: Option<String>,
    /// Print nothing but problems
    #[arg(long, short)]
    pub quiet: bool,
}

#[derive(Args, Debug)]
pub(super) struct AgainOptions {
    /// The job file (TOML); it is changed
    #[arg(value_name = "JOB.toml")]
    pub job: PathBuf,
    /// The pieces that were lost, as their labels name them
    #[arg(value_name = "PIECE", required = true)]
    pub pieces: Vec<String>,
    /// Folder of the plan that was cut by [default: NAME-plan in the current folder]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Print nothing but problems
    #[arg(long, short)]
    pub quiet: bool,
}

#[derive(Args, Debug)]
pub(super) struct ShelfOptions {
    /// The folder of the shelf; it is made when something is put there
    #[arg(value_name = "FOLDER")]
    pub folder: PathBuf,
    /// Put these remnant files on the shelf, such as those in `stock/` of an earlier plan
    #[arg(long, value_name = "FILE", num_args = 1..)]
    pub put: Vec<PathBuf>,
    /// Put a piece of this cloth on the shelf, as it was measured or drawn
    #[arg(long, value_name = "NAME", requires = "size")]
    pub cloth: Option<String>,
    /// Its shape as a drawing (SVG, DXF) of one outline, warp along x
    #[arg(long, value_name = "FILE", requires = "cloth", group = "size", conflicts_with_all = ["length", "roll"])]
    pub drawing: Option<PathBuf>,
    /// Its length along the warp, such as "3.2 m"
    #[arg(
        long,
        value_name = "LENGTH",
        requires = "cloth",
        requires = "width",
        group = "size"
    )]
    pub length: Option<Length>,
    /// Its width across the warp, such as "400 mm"
    #[arg(long, value_name = "WIDTH", requires = "length")]
    pub width: Option<Length>,
    /// It is the rest of a roll: both its long edges are selvedges
    #[arg(long, requires = "cloth")]
    pub roll: bool,
    /// What its label says [default: the next free name of its cloth]
    #[arg(long, value_name = "NAME", requires = "cloth")]
    pub name: Option<String>,
    /// The maker's lot of what is put there
    #[arg(long, value_name = "LOT")]
    pub lot: Option<String>,
    /// Give all that is put there the next free names
    #[arg(long)]
    pub rename: bool,
    /// Book out what was thrown away, sold or lost
    #[arg(long, value_name = "NAME", num_args = 1.., conflicts_with_all = ["put", "cloth"])]
    pub scrap: Vec<String>,
    /// Give up the plan of a job: what it reserves is free again
    #[arg(long, value_name = "JOB", conflicts_with_all = ["put", "cloth", "scrap"])]
    pub release: Option<String>,
    /// Print who used what, line by line
    #[arg(long)]
    pub journal: bool,
    /// Who does it [default: the user of the machine]
    #[arg(long, value_name = "NAME")]
    pub who: Option<String>,
    /// Print nothing but problems
    #[arg(long, short)]
    pub quiet: bool,
    /// Print it as JSON, for other programs
    #[arg(long)]
    pub json: bool,
}

impl ShelfOptions {
    /// Whether something is put on the shelf.
    pub(super) fn puts(&self) -> bool {
        self.cloth.is_some() || !self.put.is_empty()
    }
}

fn lot(text: &str) -> Result<(String, String), String> {
    let pair = text
        .split_once('=')
        .map(|(cloth, lot)| (cloth.trim(), lot.trim()));
    match pair {
        Some((cloth, lot)) if !cloth.is_empty() && !lot.is_empty() => {
            Ok((cloth.to_owned(), lot.to_owned()))
        }
        _ => Err("write it as CLOTH=LOT, for example twill=B1207".to_owned()),
    }
}

#[derive(Args, Debug)]
pub(super) struct PlanOptions {
    /// The job file (TOML); several are planned together, on one layout for each cloth
    #[arg(value_name = "JOB.toml", required = true)]
    pub jobs: Vec<PathBuf>,
    /// Folder for the results [default: NAME-plan in the current folder]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// How long to look for a tighter layout: quick, normal, thorough, until-stuck (until twice the work makes a layout less than 0.1 % shorter), or a time such as 60s (which may find another plan each time) [default: normal; with --watch quick]
    #[arg(long, value_name = "EFFORT")]
    pub effort: Option<NamedEffort>,
    /// Plan again whenever you save the job or a drawing, and show the report in the browser, where it
    /// refreshes itself; Ctrl-C ends it. It reserves nothing on a shelf
    #[arg(long, conflicts_with = "json")]
    pub watch: bool,
    /// Port of that page on this machine (127.0.0.1); 0 takes a free one
    /// [default: 8417, or a free one]
    #[arg(long, value_name = "PORT", requires = "watch")]
    pub port: Option<u16>,
    /// Where the search begins: another number may find another plan, the same one finds the same
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// How many processor threads to use [default: all there are]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    pub threads: Option<u16>,
    /// Work out the cost of one set if 1, 2, 3 … N are made at once (a short search for each)
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1000))]
    pub cost_per_set: Option<u32>,
    /// Print nothing but problems and, with --watch, the address of the page
    #[arg(long, short)]
    pub quiet: bool,
    /// Print the summary as JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Args, Debug)]
pub(super) struct CompareOptions {
    /// The job file (TOML)
    #[arg(value_name = "JOB.toml")]
    pub job: PathBuf,
    /// Other roll widths to try, for example "38 in, 1.5 m"; where widths, times or a tolerance are
    /// given, nothing else is tried [default: 38 in, 50 in, 60 in]
    #[arg(long, value_name = "WIDTHS", value_delimiter = ',', value_parser = read_width)]
    pub widths: Vec<Length>,
    /// The cloth to try these widths for [default: the cloth that most is cut from]
    #[arg(long, value_name = "NAME")]
    pub cloth: Option<String>,
    /// Larger orders to try: 2,5 is twice the order and five times [default: 2]
    #[arg(long, value_name = "TIMES", value_delimiter = ',',
          value_parser = clap::value_parser!(u32).range(1..=i64::from(MAX_SETS)))]
    pub times: Vec<u32>,
    /// How far hidden plies may be cut off their angle, to try [default: 3 deg]
    #[arg(long, value_name = "ANGLE", value_parser = read_tolerance)]
    pub tolerance: Option<Angle>,
    /// Find layups of the job's cloths that are as stiff as this sheet: "2 mm aluminium", "3 mm plywood",
    /// "2 mm steel", "2 mm of 45 GPa", "D 40 N m", "EI 4.6 N m2 on 100 mm"
    #[arg(long, value_name = "SHEET", conflicts_with_all = ["widths", "cloth", "times", "tolerance", "all"])]
    pub as_stiff_as: Option<StiffAs>,
    /// The part to find layups for [default: the one that takes most cloth]
    #[arg(long, value_name = "NAME", requires = "as_stiff_as")]
    pub part: Option<String>,
    /// As stiff in bending, in tension, or in both
    #[arg(
        long,
        value_name = "LOAD",
        default_value = "bending",
        requires = "as_stiff_as"
    )]
    pub stiff_in: StiffIn,
    /// As stiff along the part's 0°, along its 90°, or along both
    #[arg(
        long,
        value_name = "DIRECTION",
        default_value = "both",
        requires = "as_stiff_as"
    )]
    pub along: StiffAlong,
    /// Try everything, also where widths, times or a tolerance are given
    #[arg(long)]
    pub all: bool,
    /// How hard to search for each: quick, normal, thorough, until-stuck, or seconds such as 60s
    #[arg(long, value_name = "EFFORT", default_value = "quick")]
    pub effort: NamedEffort,
    /// Where the search begins: another number may find another plan
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// How many processor threads to use [default: all there are]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    pub threads: Option<u16>,
    /// Write the comparison with a chart as a web page
    #[arg(long, value_name = "FILE")]
    pub html: Option<PathBuf>,
    /// Overwrite the file if it exists (never one that the command reads)
    #[arg(long)]
    pub replace: bool,
    /// Print nothing but problems
    #[arg(long, short)]
    pub quiet: bool,
    /// Print it as JSON, for other programs
    #[arg(long)]
    pub json: bool,
}

#[derive(Args, Debug)]
pub(super) struct CheckOptions {
    /// The job file (TOML); several are checked as one
    #[arg(value_name = "JOB.toml", required = true)]
    pub jobs: Vec<PathBuf>,
    /// Print nothing but problems
    #[arg(long, short)]
    pub quiet: bool,
    /// Print the pieces as JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Args, Debug)]
pub(super) struct InspectOptions {
    /// Pattern files (SVG or DXF), photographs of templates on their board (JPEG or PNG), moulds (STL, OBJ or PLY)
    #[arg(value_name = "PATTERN", required = true)]
    pub patterns: Vec<PathBuf>,
    /// Unit of the file, where it does not state one (no mould does): mm, cm, m, in, ft
    #[arg(long, value_name = "UNIT", value_parser = unit)]
    pub units: Option<crate::units::LengthUnit>,
    /// Pixels to the inch, for an SVG that states no size in mm or inches [default: 96]
    #[arg(long, value_name = "DPI", value_parser = dpi)]
    pub dpi: Option<f64>,
    /// Read the boundaries of hatches (DXF) as outlines
    #[arg(long)]
    pub hatches: bool,
    /// Split outlines that cross themselves, instead of refusing them
    #[arg(long)]
    pub split: bool,
    /// Of a photograph: the level line of the board, measured on the print from cross to cross
    #[arg(long, value_name = "LENGTH")]
    pub board_width: Option<Length>,
    /// Of a photograph: the upright line of the board, measured likewise
    #[arg(long, value_name = "LENGTH")]
    pub board_height: Option<Length>,
    /// Of a photograph: how thick the template is
    #[arg(long, value_name = "LENGTH")]
    pub template_thickness: Option<Length>,
    /// The photographs show one template, each a part of it, on one board: join them
    #[arg(long)]
    pub join: bool,
    /// Of a scanner's image, which needs no board: its pixels to the inch [default: as the file says]
    #[arg(long, value_name = "DPI", value_parser = dpi)]
    pub scan_dpi: Option<f64>,
    /// Draw what was found, with faults circled, as SVG
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Draw what was found, with faults circled, as PNG
    #[arg(long, value_name = "FILE")]
    pub png: Option<PathBuf>,
    /// Write the outlines as a drawing (SVG, true size), to correct by hand and take as pattern
    #[arg(long, value_name = "FILE")]
    pub outline: Option<PathBuf>,
    /// Draw the outline over the photograph, made true to scale, as PNG; of one that is refused, where
    #[arg(long, value_name = "FILE")]
    pub over: Option<PathBuf>,
    /// Overwrite the file if it exists (never one that the command reads)
    #[arg(long)]
    pub replace: bool,
    /// Print nothing but problems
    #[arg(long, short)]
    pub quiet: bool,
    /// Print it as JSON, for other programs
    #[arg(long)]
    pub json: bool,
}

fn dpi(text: &str) -> Result<f64, String> {
    let dpi = text.parse::<f64>().ok();
    dpi.filter(|dpi| (1.0..=10_000.0).contains(dpi))
        .ok_or_else(|| "write a number such as 96, 90 or 72".to_owned())
}

fn unit(text: &str) -> Result<crate::units::LengthUnit, String> {
    crate::units::LengthUnit::from_symbol(text)
        .ok_or_else(|| "known units are mm, cm, m, in, ft, yd".to_owned())
}

/// An effort with the name the user gave it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct NamedEffort {
    pub effort: Effort,
    pub name: String,
}

/// The longest search that can be asked for, in seconds: a day.
const LONGEST_S: f64 = 86_400.0;

impl FromStr for NamedEffort {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let effort = match text {
            "quick" => Effort::Quick,
            "normal" => Effort::Normal,
            "thorough" => Effort::Thorough,
            "until-stuck" => Effort::UntilStuck,
            _ => {
                let seconds: Option<f64> =
                    text.strip_suffix('s').and_then(|s| s.trim().parse().ok());
                match seconds {
                    Some(s) if s > 0.0 && s <= LONGEST_S => Effort::Seconds(s),
                    _ => {
                        return Err(
                            "write quick, normal, thorough, until-stuck, or seconds up to a day such as 60s"
                                .to_owned(),
                        );
                    }
                }
            }
        };
        Ok(Self {
            effort,
            name: text.to_owned(),
        })
    }
}

impl PlanOptions {
    /// The effort that was asked for, else the usual one.
    pub(super) fn effort(&self) -> NamedEffort {
        let usual = || {
            let (effort, name) = match self.watch {
                true => (Effort::Quick, "quick"),
                false => (Effort::Normal, "normal"),
            };
            let name = name.to_owned();
            NamedEffort { effort, name }
        };
        self.effort.clone().unwrap_or_else(usual)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn arguments_are_well_formed() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn efforts_are_names_or_seconds() {
        let read = |text: &str| text.parse::<NamedEffort>().map(|e| e.effort);
        assert_eq!(read("quick"), Ok(Effort::Quick));
        assert_eq!(read("until-stuck"), Ok(Effort::UntilStuck));
        assert_eq!(read("2.5s"), Ok(Effort::Seconds(2.5)));
        for wrong in ["", "s", "-1s", "0s", "nans", "infs", "1e9s", "60", "Quick"] {
            assert!(read(wrong).is_err(), "{wrong}");
        }
    }
}
