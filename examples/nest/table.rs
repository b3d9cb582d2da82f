//! Tables of kept results: lengths against the best published ones, and what they cost.

use std::cmp::Ordering;
use std::fmt::Write as _;

use super::clock::OF_PROCESSOR;
use super::published::{JIGSAW, Published};
use super::results::{Key, Record};

/// How a table is written.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Form {
    /// Columns lined up with spaces.
    Text,
    /// For a Markdown page.
    Markdown,
}

/// What the runs of one group of columns have in common.
#[derive(Clone, PartialEq)]
struct Setup {
    effort: String,
    threads: usize,
    tolerance_deg: f64,
}

impl Setup {
    fn of(key: &Key) -> Self {
        Self {
            effort: key.effort.clone(),
            threads: key.threads,
            tolerance_deg: key.tolerance_deg,
        }
    }

    /// Named efforts first, then by seconds; then by what else differs.
    fn order(&self, other: &Self) -> Ordering {
        let rank = |s: &Self| match s.effort.as_str() {
            "quick" => -3.0,
            "normal" => -2.0,
            "thorough" => -1.0,
            seconds => (seconds.trim_end_matches(OF_PROCESSOR))
                .trim_end_matches('s')
                .parse()
                .unwrap_or(f64::MAX),
        };
        (rank(self).total_cmp(&rank(other)))
            .then(self.tolerance_deg.total_cmp(&other.tolerance_deg))
            .then(self.threads.cmp(&other.threads))
    }

    /// Its name, with only what is not the same in `all` of them beside the effort.
    fn title(&self, all: &[Self]) -> String {
        let mut title = self.effort.clone();
        let (seconds, of_processor) = match self.effort.strip_suffix(OF_PROCESSOR) {
            Some(seconds) => (seconds, OF_PROCESSOR),
            None => (self.effort.as_str(), ""),
        };
        if let Some(seconds) = seconds.strip_suffix('s') {
            title = format!("{seconds} s{of_processor}");
        }
        if all.iter().any(|s| s.tolerance_deg != self.tolerance_deg) {
            _ = write!(title, " ±{}°", self.tolerance_deg);
        }
        if all.iter().any(|s| s.threads != self.threads) {
            _ = write!(title, " ×{}", self.threads);
        }
        title
    }
}

/// The runs of one instance with one setup, seeds apart.
struct Group<'a>(Vec<&'a Record>);

impl Group<'_> {
    fn mean(&self, of: impl Fn(&Record) -> f64) -> Option<f64> {
        let n = self.0.len();
        (n > 0).then(|| self.0.iter().map(|r| of(r)).sum::<f64>() / n as f64)
    }

    /// Mean of those that have the value.
    fn mean_of_some(&self, of: impl Fn(&Record) -> Option<f64>) -> Option<f64> {
        let values: Vec<f64> = self.0.iter().filter_map(|r| of(r)).collect();
        (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
    }

    /// Mean density and, of several runs, its standard error.
    fn density(&self) -> String {
        let mean = cell(self.mean(|r| r.density_percent), 2);
        match standard_error(&self.0) {
            Some(error) => format!("{mean} ± {error:.2}"),
            None => mean,
        }
    }

    fn most(&self, of: impl Fn(&Record) -> Option<f64>) -> Option<f64> {
        self.0.iter().filter_map(|r| of(r)).reduce(f64::max)
    }
}

/// Standard error of the mean density, if there are several runs.
fn standard_error(runs: &[&Record]) -> Option<f64> {
    let n = runs.len() as f64;
    let mean = runs.iter().map(|r| r.density_percent).sum::<f64>() / n;
    let squares = runs.iter().map(|r| (r.density_percent - mean).powi(2));
    (runs.len() > 1).then(|| (squares.sum::<f64>() / (n - 1.0) / n).sqrt())
}

/// Records in rows (instances) and columns (setups).
struct Grid<'a> {
    setups: Vec<Setup>,
    rows: Vec<(String, Vec<Group<'a>>)>,
}

impl<'a> Grid<'a> {
    fn new(records: &'a [Record]) -> Self {
        let mut setups: Vec<Setup> = Vec::new();
        let mut names: Vec<(&str, f64)> = Vec::new();
        for record in records {
            let setup = Setup::of(&record.key);
            if !setups.contains(&setup) {
                setups.push(setup);
            }
            let name = (record.key.name.as_str(), record.key.gap);
            if !names.contains(&name) {
                names.push(name);
            }
        }
        setups.sort_by(Setup::order);
        let rows = names
            .iter()
            .map(|&(name, gap)| {
                let groups = setups.iter().map(|setup| {
                    let is_here = |r: &&Record| {
                        r.key.name == name && r.key.gap == gap && Setup::of(&r.key) == *setup
                    };
                    Group(records.iter().filter(is_here).collect())
                });
                let is_twice = names.iter().filter(|n| n.0 == name).count() > 1;
                let title = if is_twice {
                    format!("{name}, gap {gap}")
                } else {
                    name.to_owned()
                };
                (title, groups.collect())
            })
            .collect();
        Self { setups, rows }
    }
}

/// The efforts of the records, shortest first.
pub(crate) fn by_effort(records: &[Record]) -> Vec<String> {
    let mut efforts: Vec<String> = Vec::new();
    for setup in Grid::new(records).setups {
        if efforts.last() != Some(&setup.effort) {
            efforts.push(setup.effort);
        }
    }
    efforts
}

/// Length (mean of the seeds), density and what it is above the best published length, for each
/// instance and effort; below it the mean and the worst instance.
pub(crate) fn lengths(records: &[Record], published: &Published, form: Form) -> String {
    let grid = Grid::new(records);
    let mut head = vec!["instance".to_owned(), "best published".to_owned()];
    for setup in &grid.setups {
        head.push(format!("length, {}", setup.title(&grid.setups)));
        head.extend(["density %", "above best %"].map(str::to_owned));
    }
    head.push("seeds".to_owned());
    let mut rows = Vec::new();
    // For each setup, how far each instance with a record is above it.
    let mut above: Vec<Vec<f64>> = vec![Vec::new(); grid.setups.len()];
    for (title, groups) in &grid.rows {
        let name = title.split(',').next().unwrap_or_default();
        let best = published.length(name);
        let mut row = vec![title.clone(), cell(best, 2)];
        for (group, above) in groups.iter().zip(&mut above) {
            let length = group.mean(|r| r.length);
            let over = length.zip(best).map(|(l, b)| 100.0 * (l / b - 1.0));
            if name != JIGSAW {
                above.extend(over);
            }
            let mark = if group.0.iter().all(|r| r.valid) {
                ""
            } else {
                " INVALID"
            };
            row.push(cell(length, 2) + mark);
            row.push(group.density());
            row.push(cell(over, 2));
        }
        let seeds = groups.iter().map(|g| g.0.len());
        row.push(
            if seeds.clone().is_sorted() && seeds.clone().rev().is_sorted() {
                groups[0].0.len().to_string()
            } else {
                seeds.map(|n| n.to_string()).collect::<Vec<_>>().join("/")
            },
        );
        rows.push(row);
    }
    if above.iter().any(|a| !a.is_empty()) {
        let mean = |a: &Vec<f64>| (!a.is_empty()).then(|| a.iter().sum::<f64>() / a.len() as f64);
        let worst = |a: &Vec<f64>| a.iter().copied().reduce(f64::max);
        rows.push(summary("mean", &above, mean));
        rows.push(summary("worst", &above, worst));
    }
    let mut text = written(&head, &rows, form);
    if grid.rows.iter().any(|(title, _)| title == JIGSAW) {
        _ = writeln!(
            text,
            "\n{JIGSAW} has a known optimum and is in neither mean nor worst."
        );
    }
    text
}

fn summary(title: &str, above: &[Vec<f64>], of: impl Fn(&Vec<f64>) -> Option<f64>) -> Vec<String> {
    let mut row = vec![title.to_owned(), String::new()];
    for column in above {
        row.extend([String::new(), String::new(), cell(of(column), 2)]);
    }
    row.push(String::new());
    row
}

/// Density of each family whose instances have a seed: mean with its standard error, and the worst
/// run, over instances and seeds of the search; empty if there is none.
pub(crate) fn families(records: &[Record], form: Form) -> String {
    let family = |r: &Record| {
        let (family, seed) = r.key.name.rsplit_once('-')?;
        let is_judged = seed.parse::<u64>().ok()? >= 100;
        let kind = family.split('-').next()?;
        let use_ = if is_judged { "judged" } else { "tuned on" };
        ["bays", "lattice", "production"]
            .contains(&kind)
            .then(|| format!("{family}, {use_}"))
    };
    let mut names: Vec<String> = records.iter().filter_map(family).collect();
    names.sort();
    names.dedup();
    if names.is_empty() {
        return String::new();
    }
    let setups = Grid::new(records).setups;
    let mut head = vec!["family".to_owned()];
    for setup in &setups {
        head.push(format!("density %, {}", setup.title(&setups)));
        head.extend(["worst", "runs"].map(str::to_owned));
    }
    let rows: Vec<Vec<String>> = (names.into_iter())
        .map(|name| {
            let mut row = vec![name.clone()];
            for setup in &setups {
                let is_here =
                    |r: &&Record| family(r).as_ref() == Some(&name) && Setup::of(&r.key) == *setup;
                let group = Group(records.iter().filter(is_here).collect());
                let worst = group.0.iter().map(|r| r.density_percent).reduce(f64::min);
                row.extend([group.density(), cell(worst, 2), group.0.len().to_string()]);
            }
            row
        })
        .collect();
    written(&head, &rows, form)
}

/// Pieces, time to the first layout and peak memory, the worst over the seeds, how fast the search
/// was and how it saw the shapes, for each instance and effort.
pub(crate) fn costs(records: &[Record], form: Form) -> String {
    let grid = Grid::new(records);
    let mut head = vec!["instance".to_owned(), "pieces".to_owned()];
    for setup in &grid.setups {
        head.push(format!("first layout s, {}", setup.title(&grid.setups)));
        head.push("peak MiB".to_owned());
        head.push("M evaluations/s".to_owned());
        head.push("rounds/s".to_owned());
        let views = ["coarse view +%", "its parts", "fine view +%", "its parts"];
        head.extend(views.map(str::to_owned));
    }
    let rows: Vec<Vec<String>> = grid
        .rows
        .iter()
        .map(|(title, groups)| {
            let pieces = groups.iter().find_map(|g| g.0.first()).map(|r| r.pieces);
            let mut row = vec![
                title.clone(),
                pieces.map_or(String::new(), |n| n.to_string()),
            ];
            for group in groups {
                row.push(cell(group.most(|r| Some(r.first_seconds)), 3));
                row.push(cell(group.most(|r| r.peak_mib), 0));
                let millions = |r: &Record| r.evaluations_per_second.map(|e| e / 1e6);
                row.push(cell(group.mean_of_some(millions), 2));
                row.push(cell(group.mean_of_some(|r| r.rounds_per_second), 0));
                let views = group.0.iter().find_map(|r| r.views);
                for view in 0..2 {
                    row.push(cell(views.map(|v| v[view].0), 2));
                    row.push(cell(views.map(|v| v[view].1), 1));
                }
            }
            row
        })
        .collect();
    written(&head, &rows, form)
}

fn cell(value: Option<f64>, decimals: usize) -> String {
    value.map_or(String::new(), |v| format!("{v:.decimals$}"))
}

/// The table with its first column to the left and all others to the right.
fn written(head: &[String], rows: &[Vec<String>], form: Form) -> String {
    let mut widths: Vec<usize> = head.iter().map(|c| c.chars().count()).collect();
    for row in rows {
        for (width, cell) in widths.iter_mut().zip(row) {
            *width = cell.chars().count().max(*width);
        }
    }
    let line = |row: &[String]| -> String {
        let cells: Vec<String> = row
            .iter()
            .zip(&widths)
            .enumerate()
            .map(|(k, (cell, width))| match k {
                0 => format!("{cell:<width$}"),
                _ => format!("{cell:>width$}"),
            })
            .collect();
        match form {
            Form::Text => format!("{}\n", cells.join("  ").trim_end()),
            Form::Markdown => format!("| {} |\n", cells.join(" | ")),
        }
    };
    let mut text = line(head);
    if form == Form::Markdown {
        text += "|---|";
        text += &"---:|".repeat(head.len() - 1);
        text.push('\n');
    }
    for row in rows {
        text += &line(row);
    }
    text
}
