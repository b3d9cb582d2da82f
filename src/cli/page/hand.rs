//! What is done to a layout by hand, as changes of the job file.

use std::collections::BTreeSet;

use serde::Deserialize;

use crate::job::edit::{Edit, PlaceStep, TableFields};
use crate::number::{ANGLE, COORDINATE, number};
use crate::output::record::{LayoutRecord, PieceRecord, PlanRecord};

/// Something that a person does to the pieces and rolls of a plan; lengths in mm, angles in degrees.
#[derive(Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub(in crate::cli) enum ByHand {
    /// A piece stays where it was put.
    Put {
        piece: String,
        along: f64,
        across: f64,
        turn: f64,
        turned_over: bool,
    },
    /// A pinned piece may lie anywhere again.
    LetGo { piece: String },
    /// All pieces of a roll stay where they lie.
    PinAll { roll: String },
    /// Pieces were lost to bad cuts: their cloth is spoilt, all others of it stay where they lie.
    Again { pieces: Vec<String> },
    /// An area of a roll cannot be used.
    Flaw {
        roll: String,
        from: f64,
        length: f64,
        across: f64,
        width: f64,
    },
}

impl ByHand {
    /// The piece that it puts somewhere.
    pub(super) fn puts(&self) -> Option<&str> {
        match self {
            Self::Put { piece, .. } => Some(piece),
            _ => None,
        }
    }

    /// The changes of the job file that it stands for, where `plan` is the plan that the person sees.
    pub(in crate::cli) fn edits(
        &self,
        job: &TableFields,
        plan: &PlanRecord,
    ) -> Result<Vec<Edit>, String> {
        let mut pins = Pins::of(job);
        match self {
            Self::Put {
                piece,
                along,
                across,
                turn,
                turned_over,
            } => {
                let (layout, _) = found(plan, piece)?;
                let place = PinPlace {
                    stock: layout.stock.as_deref(),
                    at: [*along, *across],
                    turn: *turn,
                    turned_over: *turned_over,
                };
                Ok(pins.put(piece, &place))
            }
            Self::LetGo { piece } => match pins.of_piece(piece) {
                Some(pin) => Ok(vec![Edit::Remove { at: pin.at.clone() }]),
                None => Err(format!("piece {piece} is not pinned")),
            },
            Self::PinAll { roll } => {
                let layouts = plan.layouts.iter().filter(|layout| layout.roll == *roll);
                Ok(layouts
                    .flat_map(|layout| pins.put_all(layout, &[]))
                    .collect())
            }
            Self::Again { pieces } => again(job, plan, pins, pieces),
            Self::Flaw {
                roll,
                from,
                length,
                across,
                width,
            } => {
                let layout = plan.layouts.iter().find(|layout| layout.roll == *roll);
                let layout = layout.ok_or_else(|| format!("there is no roll {roll}"))?;
                let [low, high] = layout.usable_y;
                let mut keys = vec![key("from", *from), key("length", *length)];
                // One that leaves nothing beside it goes all across.
                if *across > low || across + width < high {
                    keys.extend([key("across", *across), key("width", *width)]);
                }
                Ok(vec![flaw(job, layout, keys)?])
            }
        }
    }
}

/// The changes after which all `lost` are cut again from what is left.
fn again(
    job: &TableFields,
    plan: &PlanRecord,
    mut pins: Pins<'_>,
    lost: &[String],
) -> Result<Vec<Edit>, String> {
    let mut edits = Vec::new();
    let mut cloths = BTreeSet::new();
    for id in lost {
        let (on, piece) = found(plan, id)?;
        let corners: Vec<String> = (piece.cut.outer.iter())
            .map(|[x, y]| format!("[\"{}\", \"{}\"]", mm(*x), mm(*y)))
            .collect();
        let spoilt = vec![("points".to_owned(), format!("[{}]", corners.join(", ")))];
        edits.push(flaw(job, on, spoilt)?);
        cloths.insert(&on.cloth);
    }
    let same_cloth = plan
        .layouts
        .iter()
        .filter(|layout| cloths.contains(&layout.cloth));
    edits.extend(same_cloth.flat_map(|layout| pins.put_all(layout, lost)));
    // From the last, so that places in the list stay true.
    let is_lost = |pin: &TableFields| {
        let piece = pin.value("piece");
        lost.iter().any(|id| piece == Some(&id[..]))
    };
    let gone = pins.all.iter().rev().filter(|pin| is_lost(pin));
    edits.extend(gone.map(|pin| Edit::Remove { at: pin.at.clone() }));
    Ok(edits)
}

fn found<'p>(
    plan: &'p PlanRecord,
    id: &str,
) -> Result<(&'p LayoutRecord, &'p PieceRecord), String> {
    let all = plan.layouts.iter();
    let mut all = all.flat_map(|layout| layout.pieces.iter().map(move |piece| (layout, piece)));
    all.find(|(_, piece)| piece.id == id)
        .ok_or_else(|| format!("the plan has no piece {id}"))
}

/// A flaw of the roll of `layout`, where the job says what that is.
fn flaw(
    job: &TableFields,
    layout: &LayoutRecord,
    keys: Vec<(String, String)>,
) -> Result<Edit, String> {
    let mut cloths = job.inner("cloth");
    let cloth = cloths.find(
        |table| matches!(table.at.last(), Some(PlaceStep::Key(name)) if *name == layout.cloth),
    );
    let (mut at, n) = match (&layout.stock, cloth) {
        (None, Some(cloth)) => (cloth.place_of("flaw"), cloth.inner("flaw").count()),
        (None, None) => {
            let mut at = job.place_of("cloth");
            at.extend([&layout.cloth[..], "flaw"].map(|key| PlaceStep::Key(key.to_owned())));
            (at, 0)
        }
        (Some(stock), cloth) => {
            let mut entries = cloth.into_iter().flat_map(|cloth| cloth.inner("stock"));
            let entry = entries.find(|entry| entry.value("name") == Some(stock));
            let entry = entry.ok_or_else(|| {
                format!("`{stock}` is not described in the job file by this `name`: write the flaw into its own file, or into the `stock` table that names the file")
            })?;
            (entry.place_of("flaw"), entry.inner("flaw").count())
        }
    };
    at.push(PlaceStep::Index(n));
    Ok(Edit::Add { at, keys })
}

fn mm(value: f64) -> String {
    format!("{} mm", number(value, COORDINATE))
}

fn key(name: &str, value: f64) -> (String, String) {
    (name.to_owned(), mm(value))
}

/// Where a piece is pinned.
struct PinPlace<'a> {
    stock: Option<&'a str>,
    at: [f64; 2],
    turn: f64,
    turned_over: bool,
}

/// The pins of a job, and how many there are once the changes so far are made.
struct Pins<'a> {
    job: &'a TableFields,
    all: Vec<&'a TableFields>,
    n: usize,
}

impl<'a> Pins<'a> {
    fn of(job: &'a TableFields) -> Self {
        let all: Vec<&TableFields> = job.inner("pin").collect();
        let n = all.len();
        Self { job, all, n }
    }

    fn of_piece(&self, piece: &str) -> Option<&'a TableFields> {
        let mut all = self.all.iter();
        all.find(|pin| pin.value("piece") == Some(piece)).copied()
    }

    /// Pins all pieces of a roll as they lie, but some.
    fn put_all(&mut self, layout: &LayoutRecord, but: &[String]) -> Vec<Edit> {
        let pieces = layout
            .pieces
            .iter()
            .filter(|piece| !but.contains(&piece.id));
        pieces
            .filter_map(|piece| {
                let least = |axis: usize| {
                    let all = piece.cut.outer.iter().map(|point| point[axis]);
                    all.fold(f64::INFINITY, f64::min)
                };
                let place = PinPlace {
                    stock: layout.stock.as_deref(),
                    at: [least(0), least(1)],
                    turn: piece.turn,
                    turned_over: piece.turned_over,
                };
                // One that is pinned lies there already.
                self.of_piece(&piece.id)
                    .is_none()
                    .then(|| self.put(&piece.id, &place))
            })
            .flatten()
            .collect()
    }

    /// Pins `piece` at `place`.
    fn put(&mut self, piece: &str, place: &PinPlace<'_>) -> Vec<Edit> {
        let [along, across] = place.at;
        let mut keys = vec![
            ("piece".to_owned(), piece.to_owned()),
            key("along", along),
            key("across", across),
            (
                "turn".to_owned(),
                format!("{} deg", number(place.turn, ANGLE)),
            ),
        ];
        keys.extend(
            place
                .stock
                .map(|stock| ("stock".to_owned(), stock.to_owned())),
        );
        if place.turned_over {
            keys.push(("turned_over".to_owned(), "true".to_owned()));
        }
        let Some(known) = self.of_piece(piece) else {
            let mut at = self.job.place_of("pin");
            at.push(PlaceStep::Index(self.n));
            self.n += 1;
            return vec![Edit::Add { at, keys }];
        };
        let gone = ["stock", "turned_over"].into_iter();
        let gone = gone.filter(|name| keys.iter().all(|(key, _)| key != name));
        let gone: Vec<Edit> = gone
            .filter(|name| known.value(name).is_some())
            .map(|name| Edit::Remove {
                at: known.place_of(name),
            })
            .collect();
        let set = keys.into_iter().map(|(name, to)| Edit::Set {
            at: known.place_of(&name),
            to,
        });
        set.chain(gone).collect()
    }
}
