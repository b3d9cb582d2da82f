//! Length against time as a picture: a panel for each instance, a line for each run.

use std::fmt::Write as _;

use super::published::Published;
use super::results::Record;
use super::table::by_effort;

/// Inside of a panel in px, for one panel and for several.
const LARGE: (f64, f64) = (620.0, 320.0);
const SMALL: (f64, f64) = (230.0, 150.0);
/// Room around the inside of a panel for its title and its numbers.
const LEFT: f64 = 44.0;
const RIGHT: f64 = 12.0;
const TOP: f64 = 26.0;
const BOTTOM: f64 = 24.0;
/// Room for the axes' names and the legend.
const MARGIN: f64 = 26.0;
/// Dashes of the longest effort, the next, …: told apart without colour.
const DASHES: [&str; 4] = ["", "6 3", "1.5 2.5", "8 3 1.5 3"];

/// The axes that all panels share.
struct Axes {
    /// Panel's inside in px.
    size: (f64, f64),
    /// Seconds at the left and the right edge.
    time: (f64, f64),
    /// Percent at the lower and the upper edge.
    above: (f64, f64),
}

impl Axes {
    fn x(&self, seconds: f64) -> f64 {
        let share = (seconds / self.time.0).ln() / (self.time.1 / self.time.0).ln();
        self.size.0 * share.clamp(0.0, 1.0)
    }

    fn y(&self, percent: f64) -> f64 {
        self.size.1 * (self.above.1 - percent) / (self.above.1 - self.above.0)
    }
}

/// The runs of one instance and the length they are compared with.
struct Panel<'a> {
    name: &'a str,
    runs: Vec<&'a Record>,
    reference: f64,
    is_published: bool,
}

impl Panel<'_> {
    fn above(&self, length: f64) -> f64 {
        100.0 * (length / self.reference - 1.0)
    }
}

/// The picture of all `records`, as SVG.
pub(crate) fn to_svg(records: &[Record], published: &Published) -> String {
    let panels = panels(records, published);
    let n_columns = match panels.len() {
        0 | 1 => 1,
        2 | 4 => 2,
        _ => 3,
    };
    let axes = axes(&panels);
    let (width, height) = (LEFT + axes.size.0 + RIGHT, TOP + axes.size.1 + BOTTOM);
    let n_rows = panels.len().div_ceil(n_columns);
    let whole = (
        MARGIN + n_columns as f64 * width,
        2.0 * MARGIN + n_rows as f64 * height,
    );
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0:.0}\" height=\"{1:.0}\" \
         viewBox=\"0 0 {0:.0} {1:.0}\" font-family=\"sans-serif\" font-size=\"11\">\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n\
         <clipPath id=\"inside\"><rect width=\"{2}\" height=\"{3}\"/></clipPath>\n",
        whole.0, whole.1, axes.size.0, axes.size.1
    );
    svg += &legend(records);
    for (k, panel) in panels.iter().enumerate() {
        let at = (
            MARGIN + (k % n_columns) as f64 * width + LEFT,
            MARGIN + (k / n_columns) as f64 * height + TOP,
        );
        _ = write!(
            svg,
            "<g transform=\"translate({:.1} {:.1})\">\n{}{}</g>\n",
            at.0,
            at.1,
            grid(&axes),
            lines(&axes, panel, records)
        );
    }
    let what = match panels.iter().filter(|p| p.is_published).count() {
        0 => "length above the shortest run (%)",
        n if n == panels.len() => "length above best published (%)",
        _ => "length above best published or shortest run (%)",
    };
    let middle = MARGIN + 0.5 * n_rows as f64 * height;
    _ = write!(
        svg,
        "<text x=\"{:.0}\" y=\"{:.0}\" text-anchor=\"middle\" font-size=\"12\">time (s)</text>\n\
         <text transform=\"translate(16 {middle:.0}) rotate(-90)\" text-anchor=\"middle\" \
         font-size=\"12\">{what}</text>\n</svg>\n",
        0.5 * whole.0,
        whole.1 - 10.0
    );
    svg
}

fn panels<'a>(records: &'a [Record], published: &Published) -> Vec<Panel<'a>> {
    let mut panels: Vec<Panel<'a>> = Vec::new();
    for record in records {
        match panels.iter_mut().find(|p| p.name == record.key.name) {
            Some(panel) => panel.runs.push(record),
            None => panels.push(Panel {
                name: &record.key.name,
                runs: vec![record],
                reference: 0.0,
                is_published: false,
            }),
        }
    }
    for panel in &mut panels {
        let best = published.length(panel.name);
        let shortest = panel
            .runs
            .iter()
            .map(|r| r.length)
            .fold(f64::INFINITY, f64::min);
        panel.is_published = best.is_some();
        panel.reference = best.unwrap_or(shortest);
    }
    panels
}

fn axes(panels: &[Panel<'_>]) -> Axes {
    let runs = || {
        panels
            .iter()
            .flat_map(|p| p.runs.iter().map(move |r| (p, *r)))
    };
    let first = runs().map(|(_, r)| r.first_seconds).fold(1.0, f64::min);
    let last = runs().map(|(_, r)| r.seconds).fold(1.0, f64::max);
    // What happens in the first hundredth of a run may stick out at the top.
    let early = |r: &Record| {
        let seen = r.trace.iter().rfind(|(t, _)| *t <= 0.01 * r.seconds);
        seen.or(r.trace.first()).map_or(r.length, |s| s.1)
    };
    let most = runs().map(|(p, r)| p.above(early(r))).fold(0.5, f64::max);
    let least = runs().map(|(p, r)| p.above(r.length)).fold(0.0, f64::min);
    let nice = |x: f64| {
        let steps = [0.5, 1.0, 2.0, 4.0, 6.0, 8.0, 10.0, 15.0, 20.0, 30.0];
        steps.into_iter().find(|s| *s >= x).unwrap_or(40.0)
    };
    Axes {
        size: if panels.len() > 1 { SMALL } else { LARGE },
        time: (10_f64.powf(first.log10().floor()).max(0.01), last),
        above: (if least < -0.01 { -nice(-least) } else { 0.0 }, nice(most)),
    }
}

/// Frame, grid and numbers of a panel.
fn grid(axes: &Axes) -> String {
    let (width, height) = axes.size;
    let mut svg = String::new();
    let mut marks = vec![axes.time.0];
    while let Some(&last) = marks.last()
        && last < axes.time.1
    {
        // Powers of ten, without the rounding of repeated products; the end of the longest run
        // closes the row, in place of a power of ten that is too near for both numbers.
        let next = 10_f64.powf((10.0 * last).log10().round());
        if next > axes.time.1 && axes.x(axes.time.1) - axes.x(last) < 24.0 {
            marks.pop();
        }
        marks.push(next.min(axes.time.1));
    }
    for t in marks {
        _ = writeln!(
            svg,
            "<path d=\"M{0:.1} 0V{height}\" stroke=\"#ddd\"/>\
             <text x=\"{0:.1}\" y=\"{1}\" text-anchor=\"middle\">{2}</text>",
            axes.x(t),
            height + 15.0,
            short(t)
        );
    }
    let (lo, hi) = axes.above;
    let step = [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .find(|s| (hi - lo) / s <= 6.0)
        .unwrap_or(20.0);
    let mut k = (lo / step).ceil();
    while k * step <= hi + 1e-9 {
        let percent = k * step;
        let stroke = if k == 0.0 { "#000" } else { "#ddd" };
        _ = writeln!(
            svg,
            "<path d=\"M0 {0:.1}H{width}\" stroke=\"{stroke}\"/>\
             <text x=\"-6\" y=\"{1:.1}\" text-anchor=\"end\">{percent}</text>",
            axes.y(percent),
            axes.y(percent) + 4.0
        );
        k += 1.0;
    }
    svg + &format!("<rect width=\"{width}\" height=\"{height}\" fill=\"none\" stroke=\"#888\"/>\n")
}

/// Seconds in as few digits as the axis needs.
fn short(seconds: f64) -> f64 {
    let unit = match seconds {
        10.0.. => 1.0,
        1.0.. => 10.0,
        _ => 100.0,
    };
    (seconds * unit).round() / unit
}

/// Title of a panel and its runs: the best length so far is a staircase.
fn lines(axes: &Axes, panel: &Panel<'_>, records: &[Record]) -> String {
    let reference = if panel.is_published {
        "best published"
    } else {
        "shortest run"
    };
    let mut svg = format!(
        "<text y=\"-7\"><tspan font-weight=\"bold\" font-size=\"12\">{}</tspan>\
         <tspan dx=\"8\" fill=\"#555\">{reference} {:.2}</tspan></text>\n\
         <g clip-path=\"url(#inside)\" fill=\"none\" stroke=\"#000\" stroke-width=\"1.2\">\n",
        panel.name, panel.reference
    );
    let mut ends = String::new();
    for run in &panel.runs {
        let mut path = String::new();
        for &(t, length) in &run.trace {
            let (x, y) = (axes.x(t), axes.y(panel.above(length)));
            if path.is_empty() {
                _ = write!(path, "M{x:.1} {y:.1}");
            } else {
                _ = write!(path, "H{x:.1}V{y:.1}");
            }
        }
        let (x, y) = (axes.x(run.seconds), axes.y(panel.above(run.length)));
        _ = writeln!(
            svg,
            "<path d=\"{path}H{x:.1}V{y:.1}\" stroke-dasharray=\"{}\"/>",
            dashes(&run.key.effort, records)
        );
        _ = writeln!(ends, "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"2\"/>");
    }
    svg + "</g>\n" + &ends
}

/// One sample line for each effort.
fn legend(records: &[Record]) -> String {
    let mut svg = String::new();
    let mut x = MARGIN + LEFT;
    for effort in by_effort(records).iter().rev() {
        let runs = || records.iter().filter(|r| r.key.effort == *effort);
        let mut seeds: Vec<u64> = runs().map(|r| r.key.seed).collect();
        seeds.sort_unstable();
        seeds.dedup();
        let runs = match seeds.len() {
            1 => "1 run".to_owned(),
            n => format!("{n} runs"),
        };
        let text = format!("effort {effort}, {runs} each");
        _ = writeln!(
            svg,
            "<path d=\"M{x:.0} 18h32\" stroke=\"#000\" stroke-width=\"1.2\" stroke-dasharray=\"{}\"/>\
             <text x=\"{:.0}\" y=\"22\">{text}</text>",
            dashes(effort, records),
            x + 38.0
        );
        x += 62.0 + 6.2 * text.len() as f64;
    }
    svg
}

fn dashes(effort: &str, records: &[Record]) -> &'static str {
    let efforts = by_effort(records);
    let from_longest = efforts.iter().rev().position(|e| e == effort).unwrap_or(0);
    DASHES[from_longest.min(DASHES.len() - 1)]
}
