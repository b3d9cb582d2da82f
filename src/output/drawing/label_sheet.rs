//! Label sheets: a label for every piece, to cut out or to print on label paper, in cutting order.
//!
//! Each label has the piece's id large, what it is in words, job and id once more as a QR code
//! (ISO/IEC 18004), so that a phone or a scanner can tick it off, and its warp and fibres as a picture
//! in which the part's 0° points right; of a ply on a mould a picture of the piece with its start. What is left of the cloth and kept gets a label too.

use qrcodegen::{QrCode, QrCodeEcc};

use super::compass::draw_compass;
use super::directions::Directions;
use super::face;
use super::label::SEPARATOR;
use super::page::Page;
use super::shape::{Align, Shape};
use super::start::StartPicture;
use crate::cloth::Weave;
use crate::geometry::{Bounds, Point, Vector};
use crate::number::number;
use crate::output::notes::Note;
use crate::output::style::{Pen, ink};
use crate::plan::{Layout, PlacedPiece, Plan, StockLeft};
use crate::units::{Angle, PlyAngle};

/// Smallest label, mm.
const SIZE: (f64, f64) = (62.0, 30.0);
/// Side of the QR code with its quiet zone, mm.
const CODE: f64 = 18.5;
/// Radius of the picture of warp and fibres, mm.
const COMPASS: f64 = 4.8;
/// Modules that stay white around a QR code (ISO/IEC 18004 §5.3.8).
const QUIET: f64 = 4.0;
/// Least and usual heights of capitals of a fact and of the job, mm.
const FACT: [f64; 2] = [1.35, 2.1];
const JOB: [f64; 2] = [1.2, 1.6];
/// Room below the last line, mm.
const FOOT: f64 = 1.3;
/// Room inside the edge of a label, mm.
const INSET: f64 = 2.5;
/// Height of a page of a paper roll, mm.
const ROLL_PAGE: f64 = 297.0;

/// The pages of the labels of `plan`: for every piece, and for every remnant that is kept.
pub(in crate::output) fn pages(plan: &Plan) -> Vec<Page> {
    let outputs = plan.outputs();
    let (width, height) = outputs.paper.size();
    let height = height.unwrap_or(ROLL_PAGE);
    let margin = outputs.paper_margin.to_mm();
    let (free_x, free_y) = (width - 2.0 * margin, height - 2.0 * margin);
    let fit = |free: f64, size: f64| (free / size).floor().max(1.0);
    let (columns, rows) = (fit(free_x, SIZE.0), fit(free_y, SIZE.1));
    let (label_x, label_y) = (free_x / columns, free_y / rows);
    let placed = plan.layouts().iter().flat_map(|layout| {
        let pieces = layout.pieces().iter();
        pieces.map(move |piece| Label::of_piece(plan, layout, piece))
    });
    let left = plan.stock_left().iter();
    let labels: Vec<Label> = (placed.chain(left.map(|left| Label::of_stock(plan, left)))).collect();
    let sheets = labels.chunks((columns * rows) as usize);
    sheets
        .map(|labels| {
            let mut page = Page::new(width, height);
            for (i, label) in labels.iter().enumerate() {
                let (column, row) = (i as f64 % columns, (i as f64 / columns).floor());
                let min = Point::new(
                    margin + column * label_x,
                    height - margin - (row + 1.0) * label_y,
                );
                let bounds = Bounds {
                    min,
                    max: min + Vector::new(label_x, label_y),
                };
                label.draw(&mut page, &bounds);
            }
            page
        })
        .collect()
}

/// What a label says, whatever it is stuck to.
struct Label {
    /// In large letters, never cut short; also in the code.
    name: String,
    /// Line by line below the name.
    facts: Vec<String>,
    /// Number, revision, date and title of the job.
    job: String,
    /// What its code holds.
    code: String,
    directions: Directions,
    start: Option<StartPicture>,
}

impl Label {
    fn of_piece(plan: &Plan, layout: &Layout, piece: &PlacedPiece) -> Self {
        let cloth = layout.cloth();
        let degrees = |angle: PlyAngle| format!("{}°", number(angle.to_degrees(), 1));
        let designed = degrees(piece.angle_design());
        let mut ply = format!("ply {}, {designed}, {}", piece.ply(), cloth.name);
        if piece.is_off_design() {
            ply.push_str(&format!(", cut at {}", degrees(piece.angle_cut())));
        }
        let sets = plan.parts().iter().find(|part| part.name() == piece.part());
        let set = match sets.map_or(1, |part| part.sets) {
            0 | 1 => String::new(),
            of => format!(", set {} of {of}", piece.set()),
        };
        let face = if piece.turned_over() { "down" } else { "up" };
        let notes = Note::of_cutting(piece).into_iter();
        let notes = notes.filter(|note| *note != Note::FaceDown);
        let line = piece
            .line()
            .map(|line| format!("line at {}°", number(line.to_degrees(), 1)));
        let heed: Vec<String> = notes
            .map(|note| note.word().to_owned())
            .chain(line)
            .collect();
        let batch = match batches(plan, piece).as_str() {
            "" => String::new(),
            numbers => format!("resin batch {numbers}"),
        };
        let facts = vec![
            format!("part {}{set}", piece.part()),
            ply,
            format!(
                "face {face}, cut no. {} on {}",
                piece.sequence(),
                layout.roll()
            ),
            heed.join(", "),
            batch,
        ];
        let start = piece.piece().and_then(|piece| {
            let lines = piece.start_lines()?;
            Some(StartPicture::new(piece.cut(), &lines, piece.zero()))
        });
        Self {
            start,
            directions: Directions {
                weave: cloth.weave,
                angle: piece.angle_design(),
                zero: Angle::ZERO,
            },
            ..Self::new(plan.of_job(piece.part()), piece.id(), facts)
        }
    }

    /// The label of a remnant that is kept: its warp points right.
    fn of_stock(plan: &Plan, left: &StockLeft) -> Self {
        let cloth = plan.cloths().iter().map(|used| &used.cloth);
        let weave = cloth.into_iter().find(|cloth| cloth.name == left.cloth);
        // Never more than there is.
        let side = |mm: f64| {
            format!(
                "{:.0} mm ({:.1} in)",
                mm.floor(),
                (mm / 2.54).floor() / 10.0
            )
        };
        let from = left.from.as_deref();
        let facts = vec![
            format!("remnant of {}", left.cloth),
            from.map_or_else(String::new, |roll| format!("cut from {roll}")),
            format!("along {}", side(left.rectangle.width())),
            format!("across {}", side(left.rectangle.height())),
            (left.stock.lot.as_ref()).map_or_else(String::new, |lot| format!("lot {lot}")),
        ];
        let weave = weave.map_or(Weave::NonDirectional, |cloth| cloth.weave);
        // At this angle the warp points right.
        let straight = weave.fibres().first().copied().unwrap_or(0.0);
        Self {
            directions: Directions {
                weave,
                angle: PlyAngle::degrees(straight),
                zero: Angle::ZERO,
            },
            ..Self::new(plan, &left.stock.name, facts)
        }
    }

    fn new(plan: &Plan, name: &str, facts: Vec<String>) -> Self {
        // The title comes last, as it is what may be cut short.
        let mut job = plan.marks().in_words();
        job.push(plan.title().to_owned());
        Self {
            name: name.to_owned(),
            facts,
            job: job.join(SEPARATOR),
            code: code(plan, name),
            directions: Directions {
                weave: Weave::NonDirectional,
                angle: PlyAngle::default(),
                zero: Angle::ZERO,
            },
            start: None,
        }
    }

    fn draw(&self, page: &mut Page, bounds: &Bounds) {
        page.draw(Shape::Rectangle(*bounds), Pen::solid(ink::PALE, 0.1));
        let middle = bounds.centre().y;
        let right = bounds.max.x - INSET;
        let top = middle + CODE / 2.0 + COMPASS;
        draw_code(page, &self.code, Point::new(right - CODE, top - CODE));
        let below = Point::new(right - CODE / 2.0, top - CODE - COMPASS);
        match &self.start {
            None => draw_compass(page, &self.directions, below, COMPASS),
            Some(start) => {
                let half = Vector::new(CODE / 2.0, COMPASS);
                let room = Bounds {
                    min: below + -half,
                    max: below + half,
                };
                start.draw(page, &self.directions, &room);
            }
        }
        let left = bounds.min.x + INSET;
        let most = right - CODE - 1.0 - left;
        // The name is never cut short; it gets smaller instead.
        let name = 4.0_f64.min(most / face::width(&self.name, 1.0));
        let facts = self.facts.iter();
        let facts = facts.flat_map(|fact| face::divided(fact, FACT[0], most));
        let facts = facts.map(|fact| (fact, FACT, ink::BLACK));
        let lines: Vec<_> = (facts.chain([(self.job.clone(), JOB, ink::GREY)]))
            .filter(|(text, ..)| !text.is_empty())
            .map(|(text, heights, colour)| (face::set_within(&text, heights, most), colour))
            .collect();
        let mut y = middle + 12.0;
        // Closer together where there are many.
        let high: f64 = name + lines.iter().map(|((_, height), _)| height).sum::<f64>();
        let room = y - (bounds.min.y + FOOT) - high;
        let gap = 1.6_f64.min(room / lines.len() as f64);
        y -= name;
        page.words(&self.name, Point::new(left, y), name);
        for ((text, height), colour) in lines {
            y -= gap + height;
            page.text(&text, Point::new(left, y), height, Align::Left, colour);
        }
    }
}

/// Letters of a title in a code: with more, its squares get too small for a phone.
const LONGEST_IN_CODE: usize = 40;

/// What the code of a label holds: job and `id`, with `/` between them, which no id has. The job is
/// its number, or its title where it has none.
fn code(plan: &Plan, id: &str) -> String {
    let job = plan.marks().number().unwrap_or_else(|| plan.title());
    let job: String = job.chars().take(LONGEST_IN_CODE).collect();
    format!("{job}/{id}")
}

/// The numbers of the resin batches for `piece`, for people.
fn batches(plan: &Plan, piece: &PlacedPiece) -> String {
    let plies = plan.parts().iter();
    let ply = plies
        .filter(|part| part.name() == piece.part())
        .flat_map(|part| &part.plies)
        .find(|ply| ply.n() == piece.ply());
    let resin = plan.of_job(piece.part()).work().resin.as_ref().zip(ply);
    resin.map_or_else(String::new, |(resin, ply)| {
        resin.batch_numbers(ply, piece.set())
    })
}

/// The QR code of `text` in a square of [`CODE`] mm with its lower left corner at `at`.
fn draw_code(page: &mut Page, text: &str, at: Point) {
    // A text too long for the largest code gets none.
    let Ok(code) = QrCode::encode_text(text, QrCodeEcc::Medium) else {
        return;
    };
    let n = code.size();
    let module = CODE / (f64::from(n) + 2.0 * QUIET);
    let corner = Point::new(at.x + QUIET * module, at.y + CODE - QUIET * module);
    let at = |column: i32, row: i32| {
        corner + Vector::new(f64::from(column) * module, -f64::from(row) * module)
    };
    let mut bars: Vec<Vec<Point>> = Vec::new();
    for row in 0..n {
        let mut column = 0;
        while column < n {
            let first = column;
            while column < n && code.get_module(column, row) {
                column += 1;
            }
            if column > first {
                let (min, max) = (at(first, row + 1), at(column, row));
                bars.push(Bounds { min, max }.corners().to_vec());
            }
            column += 1;
        }
    }
    page.fill(Shape::rings(bars), ink::PRINT);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::drawing::shape::TextLine;
    use crate::plan::tests::plan_of;

    /// Long names, all there is to say, and the smallest label: nothing is cut short, nothing leaves the label or runs into
    /// the code, and no line stands on the next.
    #[test]
    fn a_full_label_holds_all_that_is_to_be_said() {
        let job = "title = \"Hatch\"\nnumber = \"2041\"\nrevision = \"C\"\ndate = \"2031-04-05\"\n\
            [output]\npaper = \"A4\"\n[resin]\nratio = \"100:30\"\npot_life = \"40 min\"\n[cutting]\ntrim = \"8 mm\"\n\
            [cloth.satin-carbon-285]\nweave = \"satin\"\nareal_weight = \"285 g/m2\"\nfibre = \"carbon\"\nroll_width = \"1 m\"\n\
            good_face = \"up\"\nline = 72\n[[part]]\nname = \"STARBOARD_HATCH\"\npattern = \"p.svg\"\nsets = 12\n\
            seen = \"tool\"\n[[part.ply]]\ncloth = \"satin-carbon-285\"\nangle = -33.5\nappearance = true\n";
        let plan = plan_of(job, r#"<path d="M10 10H190L150 60H10Z"/>"#);
        let pages = pages(&plan);
        let items = || pages.iter().flat_map(|page| &page.drawing().items);
        let labels: Vec<(usize, Bounds)> = (items().enumerate())
            .filter_map(|(idx, item)| match item.shape {
                Shape::Rectangle(bounds) => Some((idx, bounds)),
                _ => None,
            })
            .collect();
        let n_pieces = plan
            .layouts()
            .iter()
            .map(|l| l.pieces().len())
            .sum::<usize>();
        assert_eq!((n_pieces, labels.len() >= 12), (12, true));
        let ends = labels
            .iter()
            .skip(1)
            .map(|(idx, _)| *idx)
            .chain([usize::MAX]);
        for ((from, label), to) in labels.iter().zip(ends).take(n_pieces) {
            let own: Vec<&TextLine> = (items().take(to).skip(*from))
                .filter_map(|item| match &item.shape {
                    Shape::Text(line) => Some(line),
                    _ => None,
                })
                .collect();
            let left: Vec<&&TextLine> = own
                .iter()
                .filter(|line| line.align == Align::Left)
                .collect();
            let all: Vec<&str> = left.iter().map(|line| line.text.as_str()).collect();
            let said = all.join("|");
            for words in [
                "STARBOARD_HATCH-1#",
                "part STARBOARD_HATCH, set ",
                "ply 1, -33.5°, satin-carbon-285",
                "face down, cut no. ",
                " on satin-carbon-285",
                "will be seen",
                "line at ",
                "resin batch ",
                "2041",
                "Hatch",
            ] {
                assert!(said.contains(words), "{words:?} of {said}");
            }
            assert!(!said.contains('…'), "{said}");
            let free = label.max.x - INSET - CODE;
            for line in &left {
                let end = line.at.x + face::width(&line.text, line.height);
                assert!(
                    line.at.x >= label.min.x && end <= free,
                    "{} ends at {end}, {label:?}",
                    line.text
                );
                assert!(
                    line.at.y - 0.3 * line.height >= label.min.y,
                    "{}",
                    line.text
                );
                assert!(line.at.y + line.height <= label.max.y, "{}", line.text);
                assert!(line.height >= 1.2, "{}", line.text);
            }
            for pair in left.windows(2) {
                let room = pair[0].at.y - pair[1].at.y - pair[1].height;
                assert!(
                    room >= 0.3 * pair[0].height,
                    "{} on {}",
                    pair[0].text,
                    pair[1].text
                );
            }
        }
    }
}
