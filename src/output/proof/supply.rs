//! What the written plan says of rolls, remnants, flaws and the table, against the job.

use super::{TOLERANCE_MM, fault, follows};
use crate::cloth::{Cloth, Flaw, Stock};
use crate::diag::Diagnostics;
use crate::geometry::{Bounds, Outline, Vector, distance};
use crate::output::record::{LayoutRecord, OutlineRecord, PlanRecord};

/// Largest area in mm² that may be missing or counted twice in one cloth.
const BALANCE_MM2: f64 = 1.0;

/// What a written layout is cut from, as the job says.
pub(super) struct ProofSource<'a> {
    stock: Option<&'a Stock>,
    flaws: &'a [Flaw],
    /// Length of the table, mm.
    table: Option<f64>,
    pub width: f64,
    /// Lowest and highest usable y, mm.
    pub usable_y: (f64, f64),
    /// Strip at the ends that is not used, mm.
    pub margin: f64,
}

impl<'a> ProofSource<'a> {
    /// The stock that `layout` names, or the roll on offer that it says is bought.
    pub(super) fn of(layout: &LayoutRecord, cloth: &'a Cloth) -> Option<Self> {
        let table = cloth.supply.table.map(|table| table.to_mm());
        if let Some(name) = &layout.stock {
            let stock = cloth.supply.stock.iter().find(|s| s.name == *name)?;
            let whole = layout.whole.as_ref()?;
            return is_outline(whole, &stock.outline).then(|| Self {
                stock: Some(stock),
                flaws: &stock.flaws,
                table,
                width: stock.width(),
                usable_y: stock.usable_y(cloth.selvedge),
                margin: stock.margin.to_mm(),
            });
        }
        let mut ways = cloth.ways_to_buy();
        let way = match layout.offer {
            Some(n) => ways.nth(n.checked_sub(1)?)?,
            None => ways.next()?,
        };
        Some(Self {
            stock: None,
            flaws: &cloth.supply.flaws,
            table,
            width: way.roll_width.to_mm(),
            usable_y: way.usable_y(),
            margin: way.end_margin.to_mm(),
        })
    }

    /// Whether a piece keeps off an odd remnant's edges, off flaws and off the ends of the table.
    pub(super) fn check_piece(
        &self,
        id: &str,
        cut: &Outline,
        layout: &LayoutRecord,
        faults: &mut Diagnostics,
    ) {
        let mut say = |what: &str| {
            let roll = &layout.roll;
            faults.push(fault(format!("piece {id} on roll {roll} {what}")));
        };
        if let Some(stock) = self.stock {
            let around = stock.outline.outside(1000.0);
            // A rectangle's own margins differ by edge; its box was checked already.
            let margin = if stock.is_rectangle() {
                0.0
            } else {
                self.margin
            };
            if !around.iter().all(|outside| keeps_off(cut, outside, margin)) {
                say("leaves the remnant");
            }
        }
        if !(self.flaws.iter()).all(|flaw| keeps_off(cut, &flaw.area, flaw.margin.to_mm())) {
            say("is too near to a flaw");
        }
        if let Some(table) = self.table {
            let Bounds { min, max } = cut.bounds();
            let is_on_table = layout.frames.iter().any(|[from, to]| {
                min.x >= from - TOLERANCE_MM
                    && max.x <= to + TOLERANCE_MM
                    && to - from <= table + TOLERANCE_MM
            });
            if !is_on_table {
                say("lies across the end of the table");
            }
        }
    }

    /// Whether what is kept lies on the cloth, off the pieces, and is there once.
    pub(super) fn check_kept(
        &self,
        layout: &LayoutRecord,
        placed: &[(&str, Outline, Bounds)],
        faults: &mut Diagnostics,
    ) {
        let mut earlier: Vec<Outline> = Vec::new();
        for kept in &layout.kept {
            let Some(outline) = kept.outline.outline() else {
                faults.push(fault(format!("remnant {} is no outline", kept.name)));
                continue;
            };
            let bounds = outline.bounds();
            let on_cloth = match self.stock {
                Some(stock) => stock
                    .outline
                    .outside(1000.0)
                    .iter()
                    .all(|outside| keeps_off(&outline, outside, 0.0)),
                None => bounds.min.y >= -TOLERANCE_MM && bounds.max.y <= self.width + TOLERANCE_MM,
            };
            let off_pieces = placed
                .iter()
                .filter(|(_, _, other)| other.meets(&bounds))
                .all(|(_, cut, _)| keeps_off(&outline, cut, 0.0));
            let off_others = earlier.iter().all(|other| keeps_off(&outline, other, 0.0));
            if !(on_cloth && off_pieces && off_others) {
                let message = format!("remnant {} is not all of it left over", kept.name);
                faults.push(fault(message));
            }
            earlier.push(outline);
        }
    }
}

/// Whether `written` is `outline`, in the same place.
fn is_outline(written: &OutlineRecord, outline: &Outline) -> bool {
    let openings = outline.openings.iter().map(|o| o.points());
    written.openings.len() == openings.len()
        && follows(
            written.outer.iter(),
            outline.outer.points(),
            Vector::default(),
        )
        && (written.openings.iter().zip(openings))
            .all(|(written, shape)| follows(written.iter().rev(), shape, Vector::default()))
}

/// Whether `outline` is `margin` mm away from `other`; it may touch where there is no margin.
fn keeps_off(outline: &Outline, other: &Outline, margin: f64) -> bool {
    let gap = distance::between(outline, other);
    if gap < margin - TOLERANCE_MM {
        return false;
    }
    let size = outline.bounds();
    gap > 0.0
        || distance::shared_area(outline, other)
            <= TOLERANCE_MM * 2.0 * (size.width() + size.height())
}

/// Whether what comes in of each cloth is what goes into pieces, waste and stock, and whether the
/// stated areas are those of the outlines.
pub(super) fn check_balance(written: &PlanRecord, faults: &mut Diagnostics) {
    for cloth in &written.cloths {
        let of_cloth = || written.layouts.iter().filter(|l| l.cloth == cloth.name);
        let area = |o: &OutlineRecord| o.outline().map_or(0.0, |o| o.area());
        let cut: f64 = of_cloth()
            .flat_map(|l| &l.pieces)
            .map(|p| area(&p.cut))
            .sum();
        let stock: f64 = of_cloth().filter_map(|l| l.whole.as_ref()).map(area).sum();
        let kept: f64 = (of_cloth().flat_map(|l| &l.kept))
            .map(|kept| area(&kept.outline))
            .sum();
        let bought_width = of_cloth()
            .find(|l| l.stock.is_none())
            .map_or(0.0, |l| l.roll_width);
        let bought: f64 = (written.purchase.iter())
            .filter(|p| p.cloth == cloth.name)
            .map(|p| p.length_mm * bought_width)
            .sum();
        let came_in = cloth.bought_area_mm2 + cloth.stock_area_mm2;
        let went = cloth.net_area_mm2 + cloth.waste.total_mm2 + cloth.kept_area_mm2;
        let same = |a: f64, b: f64| (a - b).abs() <= BALANCE_MM2 + 1e-6 * a.abs();
        if (came_in - went).abs() > BALANCE_MM2
            || !same(cloth.cut_area_mm2, cut)
            || !same(cloth.stock_area_mm2, stock)
            || !same(cloth.kept_area_mm2, kept)
            || !same(cloth.bought_area_mm2, bought)
        {
            faults.push(fault(format!(
                "of `{}` {came_in:.1} mm² come in and {went:.1} mm² are accounted for",
                cloth.name
            )));
        }
    }
}

/// Whether no stock is cut twice.
pub(super) fn check_used_once(written: &PlanRecord, faults: &mut Diagnostics) {
    let of_stock = |l: &&LayoutRecord| l.stock.is_some();
    let used: Vec<&LayoutRecord> = written.layouts.iter().filter(of_stock).collect();
    for (i, layout) in used.iter().enumerate() {
        let same =
            |other: &&LayoutRecord| other.cloth == layout.cloth && other.stock == layout.stock;
        if used[..i].iter().any(same) {
            let message = format!("the stock of roll {} is cut twice", layout.roll);
            faults.push(fault(message));
        }
    }
}
