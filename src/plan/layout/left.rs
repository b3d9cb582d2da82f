//! What is left of a roll or remnant once its pieces are cut, and where the rest went.
//!
//! The cloth is cut straight across where the layout ends; what lies beyond is the first thing to
//! keep. In the used part the largest rectangles that are off all pieces follow. What holds no
//! rectangle with sides of the least length is waste.

use super::rolls::Roll;
use crate::cloth::{Cloth, Flaw, Selvedges, Stock, usable_rectangle};
use crate::geometry::{Bounds, Outline, Point, Vector, clip, largest_rectangles, surrounding};
use crate::plan::{StockLeft, Waste};
use crate::units::Area;

/// Rectangles kept of the used part of one roll at most. More are not worth the measuring.
const MOST_RECTANGLES: usize = 8;

/// An offset may be off by this much, mm; the gap is kept all the same.
const OFFSET_MM: f64 = 0.02;

/// The whole of what a roll is cut from.
pub(in crate::plan) struct Whole<'a> {
    /// Its cloth.
    pub cloth: &'a Cloth,
    /// Its outline in the roll frame; of bought cloth, the length that is bought.
    pub outline: Outline,
    pub selvedges: Selvedges,
    pub flaws: &'a [Flaw],
    /// The lot of the stock.
    lot: Option<String>,
    /// How far along the warp it is used, mm.
    pub used: f64,
}

impl<'a> Whole<'a> {
    /// The stock that `roll` is cut from, or `bought` mm of new cloth.
    pub(in crate::plan) fn of(cloth: &'a Cloth, roll: &Roll, bought: f64) -> Option<Self> {
        let stock = roll.stock.map(|idx| &cloth.supply.stock[idx]);
        let (outline, selvedges, flaws) = match stock {
            Some(stock) => (stock.outline.clone(), stock.selvedges, &stock.flaws),
            None => {
                let bounds = Bounds {
                    min: Point::default(),
                    max: Point::new(bought, cloth.roll_width.to_mm()),
                };
                let outline = bounds.outline()?;
                (outline, Selvedges::BOTH, &cloth.supply.flaws)
            }
        };
        Some(Self {
            cloth,
            outline,
            selvedges,
            flaws,
            lot: stock.and_then(|stock| stock.lot.clone()),
            used: roll.used,
        })
    }

    fn parts(&self, from: f64, to: f64) -> Vec<Outline> {
        let own = self.outline.bounds();
        let slice = Bounds {
            min: Point::new(from, own.min.y),
            max: Point::new(to.min(own.max.x), own.max.y),
        };
        if slice.max.x <= slice.min.x {
            return Vec::new();
        }
        clip::within(&self.outline, &slice)
    }

    /// What is worth keeping once `cuts` are cut out of it; names are still to be given.
    pub(in crate::plan) fn left(&self, cuts: &[&Outline]) -> Vec<StockLeft> {
        let least = self.cloth.supply.least_remnant.to_mm();
        let mut kept: Vec<StockLeft> = (self.parts(self.used, f64::INFINITY).into_iter())
            .filter_map(|part| self.keep(part, least))
            .collect();
        let own = self.outline.bounds();
        let in_the_way: Vec<Outline> = (cuts.iter())
            .map(|cut| grown(cut, self.cloth.gap.to_mm() + OFFSET_MM))
            .chain(self.flaws.iter().map(Flaw::grown))
            .collect();
        for part in self.parts(own.min.x, self.used) {
            let found = largest_rectangles(&part, &in_the_way, least, MOST_RECTANGLES);
            let outlines = found.iter().filter_map(Bounds::outline);
            kept.extend(outlines.filter_map(|outline| self.keep(outline.rounded(), least)));
        }
        kept
    }

    /// `part` as stock of its own, if a rectangle in it is large enough.
    fn keep(&self, part: Outline, least: f64) -> Option<StockLeft> {
        let part = part.rounded();
        let (own, bounds) = (self.outline.bounds(), part.bounds());
        let shift = bounds.min - Point::default();
        let touches = |flaw: &&Flaw| {
            let (area, by) = (flaw.area.bounds(), flaw.margin.to_mm());
            area.min.x - by < bounds.max.x
                && area.max.x + by > bounds.min.x
                && area.min.y - by < bounds.max.y
                && area.max.y + by > bounds.min.y
        };
        let stock = Stock {
            name: String::new(),
            outline: part.shifted(-shift).rounded(),
            selvedges: Selvedges {
                low: self.selvedges.low && bounds.min.y <= own.min.y,
                high: self.selvedges.high && bounds.max.y >= own.max.y,
            },
            margin: self.cloth.end_margin,
            flaws: (self.flaws.iter().filter(touches))
                .map(|flaw| Flaw {
                    area: flaw.area.shifted(-shift).rounded(),
                    margin: flaw.margin,
                })
                .collect(),
            lot: self.lot.clone(),
            is_on_shelf: false,
        };
        let rectangle = usable_rectangle(&stock, least)?;
        Some(StockLeft {
            cloth: self.cloth.name.clone(),
            from: None,
            shift,
            stock,
            rectangle,
        })
    }

    /// Where the cloth went that is in no piece's net line and is not `kept`; `cut` and `net` are
    /// the areas inside the pieces' lines, mm².
    pub(in crate::plan) fn waste(&self, (cut, net): (f64, f64), kept: &[StockLeft]) -> Waste {
        let own = self.outline.bounds();
        let used: f64 = (self.parts(own.min.x, self.used).iter())
            .map(Outline::area)
            .sum();
        let usable = self.usable_band();
        // An odd remnant has no strips along its selvedges that could be told from the rest.
        let strips = match &usable {
            Some(band) => used - (band.max.y - band.min.y) * self.used.min(own.max.x),
            None => 0.0,
        };
        let (mut end, mut selvedge, mut between) =
            (self.outline.area() - used, strips, used - strips - cut);
        for left in kept {
            let area = left.stock.outline.area();
            if left.shift.x >= self.used - END_MM {
                end -= area;
                continue;
            }
            let place = left.place();
            let inside = usable.map_or(area, |band| {
                let across = place.max.y.min(band.max.y) - place.min.y.max(band.min.y);
                across.max(0.0) * place.width()
            });
            between -= inside;
            selvedge -= area - inside;
        }
        /// What is kept is written to 0.0001 mm, so along the edges of a long roll it may come out larger
        /// than what was there by this, mm². Larger: areas taken off twice would not be seen.
        const DUST_MM2: f64 = 1.0;
        // What rounding leaves of nothing is nothing.
        let is_dust = |mm2: f64| mm2.abs() < 1e-3 || (-DUST_MM2..0.0).contains(&mm2);
        let area = |mm2: f64| Area::mm2(if is_dust(mm2) { 0.0 } else { mm2 });
        Waste {
            selvedge: area(selvedge),
            between: area(between),
            trim: area(cut - net),
            end: area(end),
        }
    }

    /// The usable band along a rectangular roll; `None` for an odd outline.
    fn usable_band(&self) -> Option<Bounds> {
        let own = self.outline.bounds();
        let is_box = (own.width() * own.height() - self.outline.area()).abs() < 1e-6;
        let strip = |is_selvedge| {
            if is_selvedge {
                self.cloth.selvedge.to_mm()
            } else {
                0.0
            }
        };
        is_box.then(|| Bounds {
            min: Point::new(own.min.x, own.min.y + strip(self.selvedges.low)),
            max: Point::new(own.max.x, own.max.y - strip(self.selvedges.high)),
        })
    }
}

/// What begins less than this (mm) before the end of the used length lies beyond it.
const END_MM: f64 = 1e-3;

impl StockLeft {
    /// Its box in the frame of the roll it comes from.
    #[must_use]
    pub fn place(&self) -> Bounds {
        let own = self.stock.outline.bounds();
        Bounds {
            min: own.min + self.shift,
            max: own.max + self.shift,
        }
    }

    /// Its outline in the frame of the roll it comes from.
    #[must_use]
    pub fn outline_on_roll(&self) -> Outline {
        self.stock.outline.shifted(self.shift)
    }

    /// Stock that was not touched.
    pub(in crate::plan) fn untouched(cloth: &Cloth, stock: &Stock) -> Self {
        let bounds = stock.outline.bounds();
        Self {
            cloth: cloth.name.clone(),
            from: None,
            shift: Vector::default(),
            // As it was found when it was kept, so that its file stays the same.
            rectangle: usable_rectangle(stock, cloth.supply.least_remnant.to_mm())
                .or_else(|| usable_rectangle(stock, 0.0))
                .unwrap_or(bounds),
            stock: stock.clone(),
        }
    }
}

/// Curves are followed with chords this far off, mm: a remnant may end that much earlier.
const CHORD_MM: f64 = 0.2;

/// What keeps `by` mm away from `cut`, or a little more.
fn grown(cut: &Outline, by: f64) -> Outline {
    let coarse = cut.simplified(CHORD_MM);
    surrounding(&coarse, by + CHORD_MM)
}
