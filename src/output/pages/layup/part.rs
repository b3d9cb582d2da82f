//! The sheet of one part: from the bare mould to the finished part, in the order of the work.

use super::bag::bag;
use super::finish::finish;
use super::{Sheets, flat, joints, mould, stack, timeline};
use crate::output::drawing::label::SEPARATOR;
use crate::output::notes::{Note, head};
use crate::output::pages::model::{Handout, Passage};
use crate::output::pages::prose::{Prose, prose};
use crate::output::pages::report::resin::{pieces_of_batch, ratio};
use crate::output::pages::table::TableOf;
use crate::output::pages::words::{
    against_mould, angle, angle_and_warp, counted, drawn_angle, list, mass, minutes, piece_area,
    quantity, running, sets, sides, step_in_words, thickness as thick, weighed, weighed_by,
    what_is_drawn, width,
};
use crate::plan::{
    CoatUse, CoreUse, MouldUse, PartCoat, PartUse, PlacedPiece, PlyUse, ResinUse, RunsOn, Stage,
};
use crate::units::{Area, Length, Mass};

pub(super) fn sheet(sheets: &Sheets<'_>, part: &PartUse) -> Handout {
    let plan = sheets.plan;
    let mut passages = vec![
        Passage::plain(prose! {
            Blank("Date") Blank("Laid by") Blank("Room °C / °F") Blank("Humidity %")
        }),
        cautions(part, plan.work().bagging.is_some()),
        Passage::heading("Make the mould ready"),
        Passage::Steps(mould_steps(sheets, part)),
        Passage::heading("Lay up, from the mould up"),
        Passage::plain(
            "Dashed: the part's 0°. Arrow: the warp, as on labels and templates. Thin line: the weft. Grey lines \
             with an angle: the two fibre layers of a stitched biaxial. Plies are drawn in perspective; true \
             angles are below. Angles count counter-clockwise from 0°, seen from the bag side, the one away from the mould.",
        ),
    ];
    passages.extend(what_is_drawn(part).map(Passage::plain));
    let figures = stack::figures(part);
    passages.extend(figures.into_iter().map(Passage::Figure));
    flat::section(part, &mut passages);
    mould::section(part, &mut passages);
    joints::section(part, &mut passages);
    passages.extend([
        Passage::heading("Lay and tick"),
        Passage::plain(
            "For each ply: lay it, line it up with 0°, wet it out with the roller from the middle \
             outwards, tick it off.",
        ),
    ]);
    let stages = part.part().stages();
    for (idx, plies) in stages.iter().enumerate() {
        let stage = StageOfSheet {
            idx,
            of: stages.len(),
            plies: &part.plies[plies.clone()],
        };
        stage.passages(sheets, part, &mut passages);
    }
    finish(sheets, part, &mut passages);
    Handout {
        kind: head(plan, format!("{}: layup sheet", plan.title())),
        title: part.name().to_owned(),
        beside: sets(part.sets),
        about: Vec::new(),
        passages,
    }
}

/// What is laid wet in wet, and its place among the stages of the part.
struct StageOfSheet<'a> {
    idx: usize,
    of: usize,
    plies: &'a [PlyUse],
}

impl StageOfSheet<'_> {
    /// Its plies, resin, time and bag; and what follows before the next.
    fn passages(&self, sheets: &Sheets<'_>, part: &PartUse, passages: &mut Vec<Passage>) {
        let work = sheets.plan.work();
        if self.of > 1 {
            passages.push(Passage::heading(format!(
                "Stage {} of {}",
                self.idx + 1,
                self.of
            )));
            if self.idx > 0 {
                passages.push(Passage::Steps(stage_steps(work.bagging.is_some())));
            }
        }
        passages.push(ply_table(sheets, part, self.plies));
        let cores = core_steps(part, self.plies);
        if !cores.is_empty() {
            passages.push(Passage::heading("Lay the core"));
            passages.push(Passage::Steps(cores));
        }
        if let Some((resin, stage)) = work.resin.as_ref().zip(part.stages.get(self.idx)) {
            batches(sheets, resin, (part, stage), passages);
            if let Some(timeline) = &stage.timeline {
                let coat = part.coat.as_ref().filter(|_| self.idx == 0);
                passages.extend(timeline::section(part, timeline, &resin.system, coat));
            }
        }
        if let (Some(bags), Some(own)) = (&work.bagging, &part.bag) {
            bag(sheets.plan, bags, part, own, passages);
        }
        if self.idx + 1 < self.of {
            passages.push(Passage::heading(format!("Cure stage {}", self.idx + 1)));
            passages.push(Passage::Steps(vec![cure_step(work.bagging.is_some())]));
        }
    }
}

/// How a stage begins on the one that has cured. Peel ply leaves a surface that bonds as it is; whatever
/// else is done to it may leave dust or grease (common practice, no source), so the data sheet decides.
fn stage_steps(has_bag: bool) -> Vec<Prose> {
    vec![
        prose! {
            Tick("") "Only when the stage before has cured: " if (has_bag) { "bag and " } "peel ply off, right before laying. Tear the peel ply "
            "off slowly, all of it: none may stay in the part."
        },
        prose! {
            Tick("") "Keep the surface clean: no hands, no grease. Abrade or wipe it only if the data sheet asks for "
            "that, and let solvent dry off."
            Blank("Surface ready at")
        },
        prose! {
            Tick("") if (has_bag) { "Old sealant tape off, its line clean, new tape on it. " } "Is 0° still to be seen on the flange?"
        },
    ]
}

/// How a stage ends that another follows.
fn cure_step(has_bag: bool) -> Prose {
    prose! {
        Tick("")
        if (!has_bag) { "Peel ply over all of it, wetted out without air under it. " }
        "Let this stage cure as the data sheet says"
        if (has_bag) { ", under vacuum" }
        ". The peel ply stays on until the next stage begins."
        Blank("Cured from") Blank("to")
    }
}

/// What can hurt, once and short. Gloves, goggles, sleeves, eyewash and the filter of the respirator:
/// US Army TM 1-1500-204-23-11, p. 32. The rest is common practice, no source.
fn cautions(part: &PartUse, has_bag: bool) -> Passage {
    let lead = prose! {
        Strong { "Data sheets, local code and licensed practice come first." }
        " This sheet does sums with the numbers it was given; it approves no design."
    };
    let mut points = vec![
        prose! {
            Strong { "Dust:" }
            " respirator with a filter for 0.3 µm (HEPA; P100 or P3), gloves, goggles."
            if let (Some(said) = if_carbon(part, [
                " Carbon dust conducts: keep it out of sockets and machines.",
                " If the cloth is carbon, its dust conducts: keep it out of sockets and machines.",
            ])) { (said) }
        },
        prose! {
            Strong { "Resin:" }
            " nitrile gloves, taped sleeves, splash goggles; eyewash within 30 m (100 ft); fresh air. Soap and "
            "water, never solvent, on skin."
        },
        prose! {
            Strong { "Heat:" }
            " a full pot heats itself and can burn. Mix one batch at a time, pour it out flat. Leave waste pots "
            "and soaked rags spread out in the open until cold."
        },
        prose! { Strong { "Vapour:" } " solvent, alcohol and PVA burn: lids on, no flame, no spark." },
    ];
    if has_bag {
        points.push(prose! {
            Strong { "Vacuum:" }
            " resin trap before the pump, exhaust to the outside; no glass vessel under vacuum."
        });
    }
    points.push(prose! {
        Strong { "Blades:" } " cut away from hands; cover the blade when you put it down."
    });
    Passage::Cautions(lead, points)
}

/// From this area inside the tape on, a bag that leaks costs more than a dry rehearsal (common practice,
/// no source).
const TRIAL_BAG_M2: f64 = 0.5;

fn mould_steps(sheets: &Sheets<'_>, part: &PartUse) -> Vec<Prose> {
    let mut steps = Vec::new();
    if part.sets > 1 {
        steps.push(prose! {
            (sets(part.sets)) " in " (counted(part.moulds() as usize, "mould", "moulds"))
            if (part.moulds() < part.sets) {
                ": go through this sheet " (part.sets.div_ceil(part.moulds()))
                " times; mix no resin for a mould that is still in use"
            }
            "."
        });
    }
    steps.push(prose! {
        Tick("") "Data sheets first: read those of release, resin and hardener. Where they differ from this sheet, do as "
        "they say."
    });
    steps.push(prose! {
        Tick("") "Clean the mould: no dust, no old release, no fingerprints."
    });
    steps.push(prose! {
        Tick("") "Mark the part's 0° on the flange, outside the part, before any wax."
        if (flat::is_measured(part)) { " Mark the datums A and B there too (see below)." }
    });
    let bag = part.bag.as_ref();
    if let Some(bag) = bag {
        steps.push(prose! {
            Tick("") "Mask the line of the sealant tape, " (sides(bag.tape_line))
            if (bag.shared.is_some()) { ", round all parts of bag " (part.bag_name()) " as they are drawn below" }
            ": keep wax, PVA and resin off this line."
        });
    }
    match (&sheets.plan.work().mould, part.released) {
        (Some(mould), Some(area)) => release_steps(mould, area, &mut steps),
        _ => steps.push(prose! {
            Tick("") "Release the mould as its data sheet says, beyond the part all round"
            if (bag.is_some()) { ", up to the masked line" } "."
            Blank("Release") Blank("Coats") Blank("Wait")
        }),
    }
    if let Some(bag) = bag {
        steps.push(prose! {
            Tick("") "Peel the masking off. Stick the sealant tape on the clean line: " (running(bag.tape))
            ", pleats included. Leave its backing paper on."
        });
    }
    steps.push(prose! {
        Tick("") "Lay out pieces, " if (bag.is_some()) { "bag layers, " } "rollers, brushes and gloves before any resin is mixed."
        if (bag.is_some()) { " Pump, hose, gauge and heater ready." }
    });
    if bag.is_some_and(|bag| (bag.tape_line.0 * bag.tape_line.1).to_m2() > TRIAL_BAG_M2) {
        steps.push(prose! {
            Tick("") "Trial bag before any resin: whole bag over the dry mould, full vacuum, leak check."
            Blank("lost in 5 min")
        });
    }
    match sheets.plan.work().coat.as_ref().zip(part.coat.as_ref()) {
        Some((coat, of_part)) => coat_steps(coat, of_part, &mut steps),
        None => steps.push(prose! {
            Tick("") "Gel coat, or a thin wet coat of resin, if the job wants one." Blank("What") Blank("Tacky at")
        }),
    }
    steps
}

/// Gel coat or wet coat. That a finger marks it and comes away clean is common practice, no source.
fn coat_steps(coat: &CoatUse, part: &PartCoat, steps: &mut Vec<Prose>) {
    let setup = &coat.setup;
    let step = coat.scale_step(part);
    let batch = &part.batches[0];
    let mixed = coat.divide(batch.mass);
    let each = match part.batches.len() {
        1 => "mix ".to_owned(),
        n => format!("mix {n} batches, one after the other, each of "),
    };
    let what = if setup.is_own {
        "."
    } else {
        ", the laminating resin."
    };
    steps.push(prose! {
        Tick("") Strong { (&setup.name) } " for one set: " (each) (weighed_by(batch.mass, step)) ": A "
        Strong { (weighed_by(mixed.a, step)) } " + B " Strong { (weighed_by(mixed.b, step)) } (what)
    });
    steps.push(prose! {
        Tick("") "Put it on evenly, " (quantity(setup.areal_weight))
        if let (Some(film) = setup.film) { ", " (thick(film)) " wet (film gauge)" }
        ": the part" if (setup.margin > Length::ZERO) { " and " (width(setup.margin)) " all round" }
        ", " (piece_area(part.area)) ", about " (minutes(part.on)) " with mixing."
        Blank("On at")
    });
    steps.push(prose! {
        Tick("") "Ply 1 only when it is tacky: the data sheet says when"
        if let (Some(wait) = setup.tacky_after) { ", about " (minutes(wait)) " after it is on" }
        ". A finger leaves a mark and comes away clean. Do not let it cure through."
        Blank("Tacky at")
    });
}

fn release_steps(mould: &MouldUse, area: Area, steps: &mut Vec<Prose>) {
    let setup = &mould.setup;
    let wax = Mass::grams((setup.wax * area).to_grams() * f64::from(setup.wax_coats));
    if setup.wax_coats > 0 {
        steps.push(prose! {
            "Wax " (piece_area(area)) ", the part and " (width(setup.margin)) " all round: "
            (counted(setup.wax_coats as usize, "coat", "coats")) ", about " (mass(wax))
            " in all; wait " (minutes(setup.wax_wait)) " after each, then buff. "
            for (coat in 1..=setup.wax_coats) { Tick(format!("coat {coat}")) }
        });
    }
    if let Some(coverage) = setup.pva {
        steps.push(prose! {
            Tick("") "PVA film over the wax: "
            (Prose::quantity(coverage.volume_for(area).in_litres_and_ounces()))
            " at " (quantity(coverage)) "; let it dry " (minutes(setup.pva_drying)) "."
        });
    }
}

fn ply_table(sheets: &Sheets<'_>, part: &PartUse, plies: &[PlyUse]) -> Passage {
    let running = stack::running_thickness(part);
    let running = |ply: &PlyUse| {
        let idx = part.plies.iter().position(|other| other.n() == ply.n())?;
        running[idx]
    };
    TableOf::new(format!("Plies of {}", part.name()), plies)
        .name("Ply", |ply| ply.n())
        .words("Pieces, a tick for each", |ply| {
            prose! {
                for (piece in pieces(sheets, part, ply)) { Tick(piece.id()) }
            }
        })
        .words("Cloth", |ply| &ply.cloth().name)
        .number("Angle", |ply| {
            let weave = ply.weave();
            prose! { Strong { (angle_and_warp(weave, ply.angle())) } (drawn_angle(ply)) }
        })
        .number("Thickness so far", |ply| running(ply).map(thick))
        .when(sheets.plan.work().resin.is_some(), |table| {
            table
                .number("Resin in it", |ply| {
                    ply.resin_in(ply.cut_area()).map(weighed)
                })
                .words("Batch", |ply| batch_numbers(sheets, part, ply))
        })
        .words("Watch for", |ply| heed(sheets, part, ply))
        .done()
}

/// How each core on these plies goes on, in their order.
fn core_steps(part: &PartUse, plies: &[PlyUse]) -> Vec<Prose> {
    let on = |ply: &PlyUse| part.cores_on(ply.n()).collect::<Vec<_>>();
    let cores = plies.iter().flat_map(on);
    let step = |of: &CoreUse| {
        let core = of.core();
        prose! {
            Tick("") "On ply " (core.on_ply) ", while it is wet: " Strong { (&core.name) } ", "
            (thick(core.thickness)) ", " (piece_area(of.area())) ", " (mass(of.mass())) ". Cut it and try it dry first. Wet both faces, with "
            (weighed(of.resin_mass())) " of resin in all; press it down with no air under it and no gaps at its edges."
        }
    };
    cores.map(step).collect()
}

/// The pieces of a ply, set by set.
fn pieces<'a>(
    sheets: &Sheets<'a>,
    part: &'a PartUse,
    ply: &'a PlyUse,
) -> impl Iterator<Item = &'a PlacedPiece> {
    let sets = 1..=part.sets;
    sets.flat_map(|set| sheets.index.of(part.name(), ply.n(), set).iter().copied())
}

/// The batches of a ply over all sets, first to last.
fn batch_numbers(sheets: &Sheets<'_>, part: &PartUse, ply: &PlyUse) -> String {
    let mut seen: Vec<String> = Vec::new();
    for set in 1..=part.sets {
        let text = sheets.batches(ply, set);
        if !seen.contains(&text) {
            seen.push(text);
        }
    }
    list(seen)
}

fn heed(sheets: &Sheets<'_>, part: &PartUse, ply: &PlyUse) -> String {
    let notes = Note::of_ply(ply).into_iter();
    let mut remarks: Vec<String> = notes.map(|note| note.laying().to_owned()).collect();
    let turned = pieces(sheets, part, ply).filter(|piece| piece.turned_over());
    let turned: Vec<&str> = turned.map(|piece| piece.id()).collect();
    if !turned.is_empty() {
        remarks.push(format!("{}: {}", Note::FaceDown.laying(), list(turned)));
    }
    let off = pieces(sheets, part, ply)
        .filter(|piece| piece.is_off_design())
        .map(|piece| format!("{} cut at {}", piece.id(), angle(piece.angle_cut())));
    remarks.extend(ply.shows_warp().map(|shows| {
        let side = if shows { "bag" } else { "mould" };
        format!("warp face to the {side}")
    }));
    remarks.extend(look_in_words(ply));
    remarks.extend(how_lines_run_on(ply, pieces(sheets, part, ply)));
    let cores = part.cores_on(ply.n());
    remarks.extend(cores.map(|of| format!("then {}", of.core().name)));
    remarks.extend(layers_in_words(pieces(sheets, part, ply)));
    remarks.extend(off);
    remarks.join(SEPARATOR)
}

/// What is seen of a ply that will be: its face, its line.
fn look_in_words(ply: &PlyUse) -> Vec<String> {
    let face = ply.shows_good_face().map(|shows| {
        let side = if shows { "bag" } else { "mould" };
        format!("good face to the {side}")
    });
    let line = ply.line().map(|line| format!("line at {}", angle(line)));
    face.into_iter().chain(line).collect()
}

/// How lines run on from piece to piece: as they are cut, or by how much each is to be moved.
fn how_lines_run_on<'a>(
    ply: &PlyUse,
    pieces: impl Iterator<Item = &'a PlacedPiece>,
) -> Vec<String> {
    let run_on: Vec<(&PlacedPiece, &RunsOn)> = pieces
        .filter_map(|piece| Some((piece, piece.runs_on()?)))
        .collect();
    let (meet, apart): (Vec<_>, Vec<_>) = run_on.into_iter().partition(|(_, on)| on.meets());
    let together = meet.first().map(|(piece, _)| {
        // In the ply itself, or from that of the part before it.
        let own = ply.letters().len() > 1 && piece.splice().is_some_and(|own| own.letter != 'A');
        match own {
            true => "lines run on across the joint as cut: lay to the marks and sight along a line"
                .to_owned(),
            false => {
                let from: Vec<&str> = meet.iter().map(|(_, on)| &on.from[..]).collect();
                format!(
                    "lines run on as cut from {}: lay it as drawn beside it and sight along a line",
                    list(from)
                )
            }
        }
    });
    let shown = |off: Length| Length::mm(off.to_mm().abs()).in_mm_and_inches();
    let apart = apart.into_iter().map(|(piece, on)| match on.off {
        Some([along, across]) => format!(
            "move {} by {} along its warp and {} along its weft until lines meet those of {}",
            piece.id(),
            shown(along),
            shown(across),
            on.from
        ),
        None => format!(
            "cut {} last, to the lines of {} as that lies",
            piece.id(),
            on.from
        ),
    });
    together.into_iter().chain(apart).collect()
}

/// Which layer of a biaxial lies against the mould; of which `pieces`, where they differ.
fn layers_in_words<'a>(pieces: impl Iterator<Item = &'a PlacedPiece>) -> Vec<String> {
    let mut told: Vec<(String, Vec<&str>)> = Vec::new();
    for piece in pieces {
        let Some(words) = piece.layers().map(against_mould) else {
            continue;
        };
        match told.iter_mut().find(|(same, _)| *same == words) {
            Some((_, ids)) => ids.push(piece.id()),
            None => told.push((words, vec![piece.id()])),
        }
    }
    if let [(words, _)] = &told[..] {
        return vec![words.clone()];
    }
    let differ = told.into_iter();
    differ
        .map(|(words, ids)| format!("{words}: {}", list(ids)))
        .collect()
}

fn batches(
    sheets: &Sheets<'_>,
    resin: &ResinUse,
    (part, stage): (&PartUse, &Stage),
    passages: &mut Vec<Passage>,
) {
    let system = &resin.system;
    let own = (1_usize..).zip(&resin.batches).filter(|(_, batch)| {
        let first = &resin.steps[batch.steps.start];
        first.part == part.index() && stage.plies.contains(&first.ply)
    });
    let weigh = |mass: Mass| weighed_by(mass, resin.scale_step()).made_strong();
    let table = TableOf::new(format!("Batches of {}", system.name), own)
        .name("Batch", |(n, _)| prose! { Tick(n.to_string()) })
        .words("For", |(_, batch)| {
            pieces_of_batch(sheets.plan, &sheets.index, resin, batch)
        })
        .number("Part A", |(_, batch)| weigh(resin.divide(batch.mass).a))
        .number("Part B", |(_, batch)| weigh(resin.divide(batch.mass).b))
        .number("Work time", |(_, batch)| minutes(batch.time))
        .write("Mixed at")
        .write("Lot A / B");
    let one = &stage.resin;
    let what = match part.stages.len() {
        1 => "One set",
        _ => "This stage of one set",
    };
    let shared = one.take_up + one.left_over;
    passages.extend([
        Passage::heading(format!("Mix {}", system.title())),
        Passage::plain(prose! {
            (ratio(system)) " by weight, to within 0.5 %: use a scale that shows " (step_in_words(resin.scale_step()))
            ". Scrape the sides, fold and do not whip. Pot life " (minutes(system.hardener.pot_life)) " at "
            (system.pot_life_at.to_string())
            if (system.room != system.pot_life_at) {
                ", about " Strong { (minutes(system.pot_life_in_room())) } " in a room at "
                (system.room.to_string())
            } else { "; half of it above " (Prose::quantity("32 °C (90 °F)")) }
            "."
        }),
        Passage::plain(prose! {
            (what) " takes " Strong { (weighed(one.mixed())) } ": " (weighed(one.in_part + one.in_trim))
            " in the plies"
            if (one.in_cores > Mass::ZERO) { ", " (weighed(one.in_cores)) " on faces of the core" }
            if (one.take_up > Mass::ZERO) { ", " (weighed(one.take_up)) " in peel ply and breather" }
            if (one.left_over > Mass::ZERO) { ", " (weighed(one.left_over)) " in pots and brushes" }
            if (shared > Mass::ZERO) { ". Each batch below holds its share of this" }
            "."
        }),
        table.done(),
    ]);
}

/// What is said of carbon, and what where nobody says whether there is some.
pub(super) fn if_carbon(part: &PartUse, [is, may_be]: [&'static str; 2]) -> Option<&'static str> {
    match part.is_carbon() {
        Some(true) => Some(is),
        Some(false) => None,
        None => Some(may_be),
    }
}
