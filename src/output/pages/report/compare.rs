//! The page of `warpwise compare`: every way of doing the job, as a table and a chart.

use maud::{Markup, html};

use super::page;
use super::waste;
use super::words::{UNKNOWN, cloth_area, mass, money, percent, running, width};
use crate::output::style::GENERATOR;
use crate::plan::compare::{Figures, Outcome, PartFigures};
use crate::units::{Modulus, Money};

/// The comparison of `outcomes`, of which the first is the job as designed, as one HTML file.
#[must_use]
pub fn compare_html(title: &str, effort: &str, seed: u64, outcomes: &[Outcome]) -> String {
    let body = html! {
        header {
            p .kind { "Ways to cut it" }
            h1 { (title) }
            p { "The same job done in " (outcomes.len()) " ways, each planned anew. Only what is said is not as in the job." }
        }
        main {
            (chart(outcomes))
            (table(outcomes))
            (lengths(outcomes))
            (stiffness(outcomes))
            (changes(outcomes))
        }
        footer { p { "Made by " (GENERATOR) ", seed " (seed) ", effort " (effort) ". A harder search may move each length by some per cent." } }
    };
    page(&format!("{title} – ways to cut it"), &body)
}

/// Width of a bar as long as the most cloth, and the height of a row, in the chart's units.
const BAR: f64 = 560.0;
const ROW: f64 = 34.0;
/// Room for the names on the left and the amounts on the right.
const NAMES: f64 = 210.0;
const AMOUNTS: f64 = 190.0;

/// A bar for each way: the cloth that is bought or cut from stock, by where it goes.
fn chart(outcomes: &[Outcome]) -> Markup {
    let most = (outcomes.iter())
        .filter_map(|o| Some(o.figures.as_ref().ok()?.cloth_in().to_mm2()))
        .fold(1.0, f64::max);
    let height = ROW * outcomes.len() as f64;
    let view = format!("0 0 {} {height}", NAMES + BAR + AMOUNTS);
    html! {
        section aria-labelledby="chart-title" {
            h2 #chart-title { "Where the cloth goes that is bought or cut from stock" }
            (waste::key())
            div .scroll tabindex="0" role="region" aria-label="Where the cloth goes" {
                svg .ways viewBox=(view) role="img" aria-label="Area of cloth for each way; the figures are in the table" {
                    @for (k, outcome) in outcomes.iter().enumerate() {
                        (row_of_chart(outcome, ROW * k as f64, most))
                    }
                }
            }
        }
    }
}

fn row_of_chart(outcome: &Outcome, top: f64, most: f64) -> Markup {
    let middle = format!("{:.1}", top + 0.5 * ROW + 4.5);
    let Ok(figures) = &outcome.figures else {
        return html! {
            text x=(NAMES - 10.0) y=(middle) text-anchor="end" { (outcome.name) }
            text .soft x=(NAMES) y=(middle) { "not possible, see below" }
        };
    };
    let mut x = NAMES;
    let parts: Vec<(&str, f64, f64)> = [
        ("net", figures.net),
        ("trim", figures.waste.trim),
        ("between", figures.waste.between),
        ("selvedge", figures.waste.selvedge),
        ("end", figures.waste.end),
        ("kept", figures.kept),
    ]
    .map(|(class, area)| {
        let part = (class, x, area.to_mm2().max(0.0) / most * BAR);
        x += part.2;
        part
    })
    .to_vec();
    let mut amount = format!("buy {:.2} m²", figures.bought.to_m2());
    if !figures.cost.is_empty() {
        amount = format!("{amount}, {}", cost(figures));
    }
    html! {
        text x=(NAMES - 10.0) y=(middle) text-anchor="end" { (outcome.name) }
        @for (class, x, length) in parts {
            rect class={ "share " (class) } x=(format!("{x:.1}")) y=(format!("{:.1}", top + 6.0))
                width=(format!("{length:.1}")) height=(ROW - 12.0) {}
        }
        text .soft x=(format!("{:.1}", x + 8.0)) y=(middle) { (amount) }
    }
}

fn cost(figures: &Figures) -> String {
    let sums: Vec<String> = (figures.cost.iter())
        .map(|(currency, sum)| money(*sum, currency))
        .collect();
    let sums = sums.join(" + ");
    match (figures.cost.is_empty(), figures.is_priced) {
        (true, _) => UNKNOWN.to_owned(),
        (false, true) => sums,
        (false, false) => format!("{sums} (not all priced)"),
    }
}

/// What the way costs more or less than the first, if both are in one currency.
fn difference(figures: &Figures, first: Option<&Figures>) -> Option<String> {
    let [(currency, own)] = &figures.cost[..] else {
        return None;
    };
    let [(same, other)] = &first?.cost[..] else {
        return None;
    };
    if currency != same {
        return None;
    }
    let cents = own.to_cents() - other.to_cents();
    let sign = if cents < 0 { "−" } else { "+" };
    Some(format!(
        "{sign}{}",
        money(Money::cents(cents.abs()), currency)
    ))
}

fn table(outcomes: &[Outcome]) -> Markup {
    let first = outcomes.first().and_then(|o| o.figures.as_ref().ok());
    html! {
        section aria-labelledby="table-title" {
            h2 #table-title { "In figures" }
            div .scroll tabindex="0" role="region" aria-label="Ways in figures" {
                table {
                    thead { tr {
                        th scope="col" { "Way" }
                        th scope="col" .n { "Cloth used" }
                        th scope="col" .n { "To buy" }
                        th scope="col" .n { "Cost" }
                        th scope="col" .n { "Than as designed" }
                        th scope="col" .n { "Waste" }
                        th scope="col" .n { "Dry cloth in the parts" }
                        th scope="col" .n { "Pieces" small { "on the bias" } }
                    } }
                    tbody {
                        @for (k, outcome) in outcomes.iter().enumerate() {
                            tr {
                                th scope="row" { (outcome.name) }
                                @match &outcome.figures {
                                    Ok(figures) => {
                                        td .n { (cloth_area(figures.used)) }
                                        td .n { (cloth_area(figures.bought)) }
                                        td .n { (cost(figures)) }
                                        td .n { @if k > 0 { (difference(figures, first).unwrap_or_default()) } }
                                        td .n { (percent(figures.wasted())) }
                                        td .n { (mass(figures.cloth_mass)) }
                                        td .n { (figures.n_pieces) small { (figures.n_on_bias) } }
                                    }
                                    Err(_) => td colspan="7" { "not possible, see below" }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Length by cloth.
fn lengths(outcomes: &[Outcome]) -> Markup {
    html! {
        section aria-labelledby="lengths-title" {
            h2 #lengths-title { "Cloth by cloth" }
            div .scroll tabindex="0" role="region" aria-label="Lengths by cloth" {
                table {
                    thead { tr {
                        th scope="col" { "Way" }
                        th scope="col" { "Cloth" }
                        th scope="col" .n { "Roll width" }
                        th scope="col" .n { "Used" }
                        th scope="col" .n { "To buy" }
                        th scope="col" .n { "Cost" }
                    } }
                    tbody {
                        @for outcome in outcomes {
                            @if let Ok(figures) = &outcome.figures {
                                @for (k, cloth) in figures.cloths.iter().enumerate() {
                                    tr {
                                        @if k == 0 { th scope="rowgroup" rowspan=(figures.cloths.len()) { (outcome.name) } }
                                        td { (cloth.name) }
                                        td .n { (width(cloth.roll_width)) }
                                        td .n { (running(cloth.used)) }
                                        td .n { (running(cloth.bought)) }
                                        td .n { @match &cloth.cost {
                                            Some((currency, sum)) => (money(*sum, currency)),
                                            None => (UNKNOWN),
                                        } }
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// What the laminates come to, where the job says enough of its fibres.
fn stiffness(outcomes: &[Outcome]) -> Markup {
    let known = |figures: &Figures| figures.parts.iter().any(|p| p.in_plane.is_some());
    let is_known = outcomes.iter().any(|o| o.figures.as_ref().is_ok_and(known));
    let gpa = |modulus: Option<Modulus>| {
        let text = |m: Modulus| format!("{:.1}", m.to_gpa());
        modulus.map_or_else(|| UNKNOWN.to_owned(), text)
    };
    html! {
        @if is_known {
            section aria-labelledby="stiffness-title" {
                h2 #stiffness-title { "Stiffness and mass" }
                p .lead { "By classical lamination theory, of the plies of full size, in GPa; x is the part's 0° direction. Mass is cloth and resin of one set." }
                div .scroll tabindex="0" role="region" aria-label="Stiffness and mass by part" {
                    table {
                        thead { tr {
                            th scope="col" { "Part" }
                            th scope="col" { "Way" }
                            th scope="col" .n { "Ex" }
                            th scope="col" .n { "Ey" }
                            th scope="col" .n { "Gxy" }
                            th scope="col" .n { "Thickness" }
                            th scope="col" .n { "Mass" }
                        } }
                        tbody {
                            @for (name, rows) in by_part(outcomes) {
                                @for (k, (way, part)) in rows.iter().enumerate() {
                                    tr {
                                        @if k == 0 { th scope="rowgroup" rowspan=(rows.len()) { (name) } }
                                        td { (way) }
                                        td .n { (gpa(part.in_plane.map(|p| p.ex))) }
                                        td .n { (gpa(part.in_plane.map(|p| p.ey))) }
                                        td .n { (gpa(part.in_plane.map(|p| p.gxy))) }
                                        td .n { @if let Some(t) = part.thickness { (format!("{:.2} mm", t.to_mm())) } @else { (UNKNOWN) } }
                                        td .n { @if let Some(m) = part.mass { (mass(m)) } @else { (UNKNOWN) } }
                                    }
                                }
                            }
                        }
                    }
                }
                p .note { "An estimate for comparing laminates, not a design approval." }
            }
        }
    }
}

/// The parts of the first way, each with the ways that change it.
fn by_part(outcomes: &[Outcome]) -> Vec<(&str, Vec<(&str, &PartFigures)>)> {
    let Some(Ok(first)) = outcomes.first().map(|o| o.figures.as_ref()) else {
        return Vec::new();
    };
    let parts = first.parts.iter().enumerate();
    parts
        .map(|(k, part)| {
            let mut rows = vec![(outcomes[0].name.as_str(), part)];
            for outcome in &outcomes[1..] {
                if let Ok(figures) = &outcome.figures
                    && let Some(other) = figures.parts.get(k)
                    && (other.in_plane != part.in_plane || other.mass != part.mass)
                {
                    rows.push((outcome.name.as_str(), other));
                }
            }
            (part.name.as_str(), rows)
        })
        .collect()
}

/// What each way changes, and why one is not possible.
fn changes(outcomes: &[Outcome]) -> Markup {
    html! {
        section aria-labelledby="changes-title" {
            h2 #changes-title { "What is changed" }
            dl .changes {
                @for outcome in outcomes.iter().skip(1) {
                    dt { (outcome.name) }
                    dd {
                        (outcome.change) "."
                        @if let Err(problems) = &outcome.figures {
                            @for problem in problems.iter() {
                                br; strong { "Not possible: " } (problem.message) "."
                            }
                        }
                    }
                }
            }
            p .note { "Whether a ply may lie in another direction, or in another cloth, is a matter of strength and stiffness, not of cloth alone: ask whoever answers for the laminate." }
        }
    }
}
