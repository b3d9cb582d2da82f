//! What comes of the job: what to buy, what the parts will be, the rolls.

use maud::{Markup, html};

use super::Desk;
use crate::output::pages::html::prose;
use crate::output::pages::layup::{KIT, part_sheet_paths};
use crate::output::pages::words::{cost, currency, known, mass, percent, running, thickness};
use crate::plan::{ClothUse, ForeseenCloth, PartUse, Plan};

/// The figures that a person looks at while changing the job.
pub(super) fn figures(desk: &Desk<'_>) -> Markup {
    html! {
        @match (desk.foreseen, desk.plan) {
            (None, None) => p .about { "There is no plan yet." },
            (None, Some(_)) if desk.is_earlier => p .note { "These figures are of the job as it was before." },
            (Some(_), _) => p .note { "Lengths and costs are estimates until the layout is there." },
            _ => {}
        }
        @if let Some(plan) = desk.plan { (papers(plan)) }
        div .strip {
            @match desk.foreseen {
                Some(foreseen) => @for cloth in foreseen.cloths() { (foreseen_cloth(cloth, desk.plan)) },
                None => @for used in desk.plan.map_or(&[][..], Plan::cloths) { (planned_cloth(used)) },
            }
            @for part in desk.part_uses() { (part_figures(part)) }
        }
    }
}

fn planned_cloth(used: &ClothUse) -> Markup {
    html! {
        dl {
            dt { (used.cloth.name) }
            dd { strong { (prose(&running(used.purchase.length))) } }
            dd { (prose(&cost(used.purchase.cost, currency(&used.cloth)))) ", " (percent(used.utilisation)) " used" }
        }
    }
}

fn foreseen_cloth(cloth: &ForeseenCloth, before: Option<&Plan>) -> Markup {
    let purchase = before.and_then(|plan| cloth.purchase_like(plan));
    html! {
        dl {
            dt { (cloth.cloth().name) }
            @match purchase {
                Some(purchase) => {
                    dd { "about " strong { (prose(&running(purchase.length))) } }
                    dd { (prose(&cost(purchase.cost, currency(cloth.cloth())))) ", as well used as before" }
                }
                None => dd { "being laid out" },
            }
        }
    }
}

/// What the plan is made for.
fn papers(plan: &Plan) -> Markup {
    html! {
        ul .papers {
            li { a href="/-/prints" { "Templates, labels, cut files" } }
            li { a href="/report.html#shopping" { "Shopping list" } }
            li { a href={ "/" (KIT) } { "Cutting and kit lists" } }
            li { "Sheets at the mould: "
                @for (part, path) in plan.parts().iter().zip(part_sheet_paths(plan.parts())) { a href={ "/" (path) } { (part.name()) } " " }
            }
            li { a href="/report.html" { "Whole report" } }
            li { a href="/-/ways" { "Other ways to do the job" } }
            li { button type="button" data-post="/-/write" title="into a folder beside the job" { "Write all files" } }
        }
        (not_bought(plan))
    }
}

/// What a list of things to buy would hold if the job told of it.
fn not_bought(plan: &Plan) -> Markup {
    let work = plan.work();
    let none = match (work.resin.is_none(), work.bagging.is_none()) {
        (true, true) => "neither a resin nor a bag",
        (true, false) => "no resin",
        (false, true) => "no bag",
        (false, false) => return Markup::default(),
    };
    html! { p .about { "The job tells " (none) ": nothing of that is in the shopping list." } }
}

fn part_figures(part: &PartUse) -> Markup {
    let laminate = &part.stack.laminate;
    let symmetric = match &laminate.symmetry {
        Ok(()) => "symmetric",
        Err(_) => "not symmetric",
    };
    html! {
        dl {
            dt { (part.name()) }
            dd { strong { (prose(&known(laminate.thickness, thickness))) } " thick" }
            dd { (prose(&known(part.mass(), mass))) ", " (symmetric) }
            @if let Some(in_plane) = &laminate.in_plane { dd { "along 0°: " (in_plane.ex.in_gpa_and_msi()) } }
        }
    }
}
