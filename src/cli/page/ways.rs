//! Other ways to do the job, side by side, each with the change of the job file that takes it over.

use maud::{Markup, html};

use crate::cli::input::Prepared;
use crate::cli::plan::all_threads;
use crate::cli::{compare, progress};
use crate::cloth::Cloth;
use crate::job::edit::{Edit, PlaceStep, TableFields, in_degrees, place};
use crate::job::{Job, Part, Ply};
use crate::nest::{Continue, Effort};
use crate::output::compare_html;
use crate::plan::Settings;
use crate::plan::compare::{Variant, compare as plan_all, roll_width};
use crate::units::Angle;

const EFFORT: &str = "quick";

/// The page that compares them: planned at once, which takes a while. `state` is that of the job.
pub(super) fn page(prepared: &Prepared, fields: &TableFields, state: u64) -> String {
    let job = prepared.inputs.job();
    let ways = compare::all_ways(job, &prepared.pieces);
    let settings = Settings {
        effort: Effort::Quick,
        effort_name: EFFORT.to_owned(),
        threads: all_threads(),
        ..Settings::default()
    };
    let outcomes = plan_all(
        &ways,
        &prepared.inputs,
        &settings,
        &|_| match progress::was_stopped() {
            true => Continue::Stop,
            false => Continue::Yes,
        },
    );
    let whole = compare_html(job.title(), EFFORT, settings.seed, &outcomes);
    let possible = ways.iter().zip(&outcomes).skip(1);
    let possible = possible.filter(|(_, outcome)| outcome.figures.is_ok());
    let offers = possible.filter_map(|(way, _)| {
        let edits = edits(fields, job, way)?;
        Some(html! {
            li {
                button type="button" data-edits=(serde_json::to_string(&edits).expect("edits are JSON")) { (way.name) }
                " " (way.change)
            }
        })
    });
    let take: Markup = html! {
        section aria-labelledby="take" {
            h2 id="take" { "Take one over" }
            p { "The job file is changed so; it can be undone on the page of the job." }
            ul .take data-seen=(state) { @for offer in offers { (offer) } }
            p #told role="status" aria-live="polite" {}
            p { a href="/" { "Back to the job" } }
        }
    };
    let at = whole.rfind("</main>").unwrap_or(whole.len());
    [&whole[..at], &take.into_string(), &whole[at..]].concat()
}

/// The changes of the job file that make `way` of `job`; `None` if it is not made by keys of cloths and plies.
fn edits(fields: &TableFields, job: &Job, way: &Variant) -> Option<Vec<Edit>> {
    let mut edits = Vec::new();
    let cloths = job.cloths().iter().zip(way.job.cloths());
    for (old, new) in cloths {
        of_cloth(fields, old, new, &mut edits);
    }
    for new in &way.job.cloths()[job.cloths().len()..] {
        added(fields, new, &mut edits)?;
    }
    for table in fields.inner("part") {
        let called = |part: &&Part| Some(&part.name[..]) == table.value("name");
        let old = job.parts().iter().find(called)?;
        let new = way.job.parts().iter().find(called)?;
        of_plies(table, (job, old), (&way.job, new), &mut edits);
    }
    let tolerance = |job: &Job| {
        let plies = job.parts().iter().flat_map(|part| &part.plies);
        let all = plies.map(|ply| ply.cutting.angle_tolerance.to_degrees());
        all.reduce(f64::max)
    };
    if tolerance(job) != tolerance(&way.job) {
        let to = in_degrees(Angle::degrees(tolerance(&way.job)?));
        let at = place("cutting.angle_tolerance");
        edits.push(Edit::Set { at, to });
    }
    (way.times == 1 && !edits.is_empty()).then_some(edits)
}

fn cloth_key(cloth: &Cloth, key: &str) -> Vec<PlaceStep> {
    ["cloth", &cloth.name, key]
        .map(|step| PlaceStep::Key(step.to_owned()))
        .to_vec()
}

fn of_cloth(fields: &TableFields, old: &Cloth, new: &Cloth, edits: &mut Vec<Edit>) {
    let mut set = |key: &str, to: String| {
        edits.push(Edit::Set {
            at: cloth_key(new, key),
            to,
        });
    };
    if old.roll_width != new.roll_width {
        set("roll_width", roll_width(new.roll_width));
    }
    if let Some(price) = (new.price.as_ref()).filter(|price| old.price.as_ref() != Some(price)) {
        set("price", price.to_string());
    }
    if old.turns.turn_over != new.turns.turn_over {
        set("turn_over", new.turns.turn_over.to_string());
    }
    let own = fields.inner("cloth").find(|table| is_of(table, &new.name));
    let offers = own.is_some_and(|table| table.inner("offer").next().is_some());
    if offers && new.supply.offers.len() < old.supply.offers.len() {
        edits.push(Edit::Remove {
            at: cloth_key(new, "offer"),
        });
    }
}

/// Whether `table` describes what is called `name`.
fn is_of(table: &TableFields, name: &str) -> bool {
    table.at.last() == Some(&PlaceStep::Key(name.to_owned()))
}

/// A cloth that the job does not have: as the one whose name its own begins with, of another weave.
fn added(fields: &TableFields, new: &Cloth, edits: &mut Vec<Edit>) -> Option<()> {
    let mut cloths = fields.inner("cloth");
    let like = cloths.find(|table| {
        let name = table.at.last().map(ToString::to_string);
        name.is_some_and(|name| new.name.starts_with(&format!("{name}-")))
    })?;
    let set = |key: &str, to: &str| Edit::Set {
        at: cloth_key(new, key),
        to: to.to_owned(),
    };
    edits.push(set("weave", "biaxial"));
    /// What is so of one weave and not of another.
    const OF_THE_WEAVE: [&str; 6] = [
        "weave",
        "turn_over",
        "warp_share",
        "edge_tape",
        "warp_face",
        "lock",
    ];
    let others = like
        .fields
        .iter()
        .filter(|field| !OF_THE_WEAVE.contains(&&field.name[..]));
    edits.extend(others.map(|field| set(&field.name, &field.value)));
    Some(())
}

fn of_plies(
    table: &TableFields,
    (job, old): (&Job, &Part),
    (changed, new): (&Job, &Part),
    edits: &mut Vec<Edit>,
) {
    let cloth = |job: &Job, ply: &Ply| job.cloths()[ply.cloth].name.clone();
    let degrees = |ply: &Ply| in_degrees(ply.drawn_angle.on_drawing());
    let is_same = |old: &Ply, new: &Ply| {
        degrees(old) == degrees(new) && cloth(job, old) == cloth(changed, new)
    };
    let pairs = || old.plies.iter().zip(&new.plies).enumerate();
    if pairs().all(|(_, (old, new))| is_same(old, new)) {
        return;
    }
    if table.inner("ply").next().is_none() {
        let plies = new.plies.iter();
        let plies = plies.map(|ply| (cloth(changed, ply), ply.drawn_angle.on_drawing()));
        edits.extend(table.ply_tables(plies));
        return;
    }
    for (i, (_, new)) in pairs().filter(|(_, (old, new))| !is_same(old, new)) {
        for (key, to) in [("cloth", cloth(changed, new)), ("angle", degrees(new))] {
            let mut at = table.place_of("ply");
            at.extend([PlaceStep::Index(i), PlaceStep::Key(key.to_owned())]);
            edits.push(Edit::Set { at, to });
        }
    }
}
