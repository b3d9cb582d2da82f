//! Text broken into lines of a width, and how wide the columns of a table are.

use super::atoms::{Atom, Run, atoms};
use crate::output::drawing::face;
use crate::output::pages::prose::Prose;
use crate::output::pages::table::{ColumnKind, DataTable};
use crate::output::style::CAPITALS_PER_SIZE;

/// Side of a box to tick, in sizes of the font.
pub(super) const BOX: f64 = 0.8;
/// Room between a box and what comes before it, in sizes of the font.
const BEFORE_BOX: f64 = 1.0;
/// Length of a line to write on, in sizes of the font.
const BLANK: f64 = 7.0;
/// Room to the left and right of the text in a cell, mm.
pub(super) const PAD: f64 = 1.1;
/// Least width of a column to tick, and least and most of one to write in, mm.
const TICK: f64 = 6.5;
const WRITE: (f64, f64) = (18.0, 26.0);

/// A line of text: its runs with their left ends.
#[derive(Clone, Debug, Default)]
pub(super) struct LineOfText {
    pub(super) runs: Vec<(f64, Run)>,
    pub(super) width: f64,
}

/// How wide things are in letters of one size.
#[derive(Clone, Copy)]
pub(super) struct TextMeasure {
    /// Size of the font, mm.
    pub(super) size: f64,
}

impl TextMeasure {
    fn letters(&self, text: &str) -> f64 {
        face::width(text, self.size * CAPITALS_PER_SIZE)
    }

    pub(super) fn run(&self, run: &Run) -> f64 {
        match run {
            Run::Text { text, .. } => self.letters(text),
            Run::Box => BOX * self.size,
            Run::Line => BLANK * self.size,
        }
    }

    fn atom(&self, atom: &Atom) -> f64 {
        atom.runs.iter().map(|run| self.run(run)).sum()
    }

    /// `text` in lines no wider than `most` mm; at least one line.
    pub(super) fn lines(&self, text: &Prose, most: f64) -> Vec<LineOfText> {
        let space = self.letters(" ");
        let mut lines = vec![LineOfText::default()];
        for atom in atoms(text) {
            let width = self.atom(&atom);
            let last = lines.last_mut().expect("there is always a line");
            let space = match atom.runs.first() {
                _ if !atom.space || last.runs.is_empty() => 0.0,
                Some(Run::Box) => BEFORE_BOX * self.size,
                _ => space,
            };
            if last.width + space + width > most && !last.runs.is_empty() {
                lines.push(LineOfText::default());
            } else {
                last.width += space;
            }
            for run in atom.runs {
                self.put(&mut lines, run, most);
            }
        }
        lines
    }

    /// Adds `run` to the last line; one that is wider than a whole line is torn between letters.
    fn put(&self, lines: &mut Vec<LineOfText>, run: Run, most: f64) {
        let last = lines.last_mut().expect("there is always a line");
        let width = self.run(&run);
        let fits = last.width + width <= most;
        match run {
            Run::Text { text, is_strong } if !fits => {
                let mut rest = text.as_str();
                while !rest.is_empty() {
                    let last = lines.last_mut().expect("there is always a line");
                    let end = self.fitting(rest, most - last.width);
                    if end == 0 && !last.runs.is_empty() {
                        lines.push(LineOfText::default());
                        continue;
                    }
                    // A letter at least, or there would be no end.
                    let end = end.max(rest.chars().next().map_or(0, char::len_utf8));
                    let (head, tail) = rest.split_at(end);
                    let text = head.to_owned();
                    let width = self.letters(head);
                    last.runs.push((last.width, Run::Text { text, is_strong }));
                    last.width += width;
                    rest = tail;
                }
            }
            run => {
                last.runs.push((last.width, run));
                last.width += width;
            }
        }
    }

    /// How many bytes of `text` fit into `most` mm.
    fn fitting(&self, text: &str, most: f64) -> usize {
        let mut width = 0.0;
        for (i, c) in text.char_indices() {
            width += self.letters(c.encode_utf8(&mut [0; 4]));
            if width > most {
                return i;
            }
        }
        text.len()
    }

    /// The least width at which no atom of `text` is torn, and that of all of it in one line.
    fn least_and_whole(&self, text: &Prose) -> (f64, f64) {
        let space = self.letters(" ");
        let (mut least, mut whole) = (0.0_f64, 0.0);
        for atom in atoms(text) {
            let width = self.atom(&atom);
            least = least.max(width);
            whole += width
                + match atom.runs.first() {
                    _ if !atom.space => 0.0,
                    Some(Run::Box) => BEFORE_BOX * self.size,
                    _ => space,
                };
        }
        (least, whole)
    }

    /// Widths of the columns of `table`, in all `width` mm: figures in one line if there is room,
    /// then words, as far as they want it; what is left goes to the words.
    pub(super) fn columns(&self, table: &DataTable, width: f64) -> Vec<f64> {
        let mut wanted: Vec<ColumnWidth> = (0..table.columns.len())
            .map(|i| self.wanted(table, i))
            .collect();
        let sum = |wanted: &[ColumnWidth], of: fn(&ColumnWidth) -> f64| {
            wanted.iter().map(of).sum::<f64>()
        };
        if sum(&wanted, |w| w.least.max(w.in_line)) <= width {
            for column in &mut wanted {
                column.least = column.least.max(column.in_line);
            }
        }
        let least = sum(&wanted, |w| w.least);
        let whole = sum(&wanted, |w| w.whole);
        let mut stretched = sum(&wanted, |w| if w.stretches { w.whole } else { 0.0 });
        if stretched <= 0.0 {
            wanted.iter_mut().for_each(|column| column.stretches = true);
            stretched = whole;
        }
        let each = |w: &ColumnWidth| {
            if least >= width {
                w.least * width / least
            } else if whole >= width {
                w.least + (w.whole - w.least) * (width - least) / (whole - least)
            } else if w.stretches {
                w.whole + w.whole * (width - whole) / stretched
            } else {
                w.whole
            }
        };
        wanted.iter().map(each).collect()
    }

    fn wanted(&self, table: &DataTable, i: usize) -> ColumnWidth {
        let column = &table.columns[i];
        let head = self.least_and_whole(&column.title.made_strong());
        let (least, whole) = table
            .rows
            .iter()
            .filter_map(|row| Some(self.least_and_whole(row.cells.get(i)?)))
            .fold((0.0, 0.0), |(l, w): (f64, f64), (least, whole)| {
                (l.max(least), w.max(whole))
            });
        let padded = |width: f64| width + 2.0 * PAD;
        let kind = column.kind;
        let (least, whole) = match kind {
            ColumnKind::Tick => {
                let width = TICK.max(padded(head.0));
                (width, width)
            }
            ColumnKind::Write => (WRITE.0.max(padded(head.0)), WRITE.1),
            // A head of several words is not worth a wide column.
            _ if kind.is_number() => (padded(least.max(head.0)), padded(whole.max(head.0))),
            _ => (padded(least.max(head.0)), padded(whole.max(head.1))),
        };
        let whole = whole.max(least);
        ColumnWidth {
            least,
            whole,
            in_line: if kind.is_number() { whole } else { least },
            stretches: !kind.is_number() && kind != ColumnKind::Tick,
        }
    }
}

/// How wide a column should be, mm.
struct ColumnWidth {
    /// At which nothing is torn.
    least: f64,
    /// At which every cell is one line.
    whole: f64,
    /// The whole of figures, the least of others.
    in_line: f64,
    /// Whether it takes what no column wants.
    stretches: bool,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::pages::prose::prose;

    #[test]
    fn lines_hold_all_text_and_are_no_wider_than_asked() {
        let measure = TextMeasure { size: 3.0 };
        let text =
            prose! { "a few words and one that is " Strong { "muchtoolongforanyoftheselines" } };
        for most in [1.0, 12.0, 30.0, 500.0] {
            let lines = measure.lines(&text, most);
            let mut all = String::new();
            for line in &lines {
                // A single letter may be wider than a very narrow line.
                assert!(line.width <= most.max(3.0), "{} at {most}", line.width);
                for (_, run) in &line.runs {
                    if let Run::Text { text, .. } = run {
                        all.push_str(text);
                    }
                }
            }
            assert_eq!(all, "afewwordsandonethatismuchtoolongforanyoftheselines");
        }
        assert_eq!(measure.lines(&text, 500.0).len(), 1);
    }
}
