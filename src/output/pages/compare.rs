//! The page of `warpwise compare`: every way of doing the job, as a table and a chart.

use super::charts::bars::{Way, key, shares, ways};
use super::html::Medium;
use super::model::{Handout, Passage};
use super::prose::{Prose, prose};
use super::table::{ColumnKind, TableOf};
use super::words::{
    NOT_PRICED, cloth_area, cost as priced, known, mass, money, percent, running, width,
};
use crate::plan::compare::{Figures, Outcome, PartFigures};
use crate::units::{Area, Modulus, Money};

/// The comparison of `outcomes`, of which the first is the job as designed, as one HTML file.
#[must_use]
pub fn compare_html(title: &str, effort: &str, seed: u64, outcomes: &[Outcome]) -> String {
    let mut passages = vec![
        Passage::section("Where the cloth goes", "chart", ""),
        Passage::Drawing(key()),
        Passage::Drawing(chart(outcomes)),
        Passage::section("In figures", "table", ""),
        table(outcomes),
        Passage::section("Cloth by cloth", "lengths", ""),
        lengths(outcomes),
    ];
    passages.extend(stacks(outcomes));
    passages.extend(stiffness(outcomes));
    passages.extend(changes(outcomes));
    let comparison = Handout {
        kind: "Ways to cut it".to_owned(),
        title: title.to_owned(),
        beside: String::new(),
        about: vec![prose! {
            "The same job in " (outcomes.len()) " ways, each planned anew. All else is as in the job."
        }],
        passages,
    };
    let foot = format!(
        ", seed {seed}, effort {effort}. A longer search can change each length by a few per cent."
    );
    let name = format!("{title} – ways to cut it");
    comparison.html(&name, &foot, &Medium::Screen { script: "" })
}

/// The ways that are possible, with their figures.
fn possible(outcomes: &[Outcome]) -> impl Iterator<Item = (&Outcome, &Figures)> {
    outcomes
        .iter()
        .filter_map(|outcome| Some((outcome, outcome.figures.as_ref().ok()?)))
}

/// A bar for each way: the cloth that is bought or cut from stock, by where it goes.
fn chart(outcomes: &[Outcome]) -> super::model::Svg {
    let areas = possible(outcomes).map(|(_, figures)| figures.cloth_in().to_mm2());
    let most = Area::mm2(areas.fold(1.0, f64::max));
    let bars = outcomes.iter().map(|outcome| Way {
        name: &outcome.name,
        cloth: outcome.figures.as_ref().ok().map(|figures| {
            let mut amount = format!("buy {:.2} m²", figures.bought.to_m2());
            if !figures.cost.is_empty() {
                amount = format!("{amount}, {}", cost(figures));
            }
            (shares(figures.net, &figures.waste, figures.kept), amount)
        }),
    });
    ways(&bars.collect::<Vec<_>>(), most)
}

fn cost(figures: &Figures) -> String {
    let sums: Vec<String> = (figures.cost.iter())
        .map(|(currency, sum)| money(*sum, currency))
        .collect();
    let sums = sums.join(" + ");
    match (figures.cost.is_empty(), figures.is_priced) {
        (true, _) => NOT_PRICED.to_owned(),
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

fn table(outcomes: &[Outcome]) -> Passage {
    let first = outcomes.first().and_then(|o| o.figures.as_ref().ok());
    let on_bias = prose! { "Pieces" Small { "on the bias" } };
    TableOf::new("Ways in figures", outcomes.iter().enumerate())
        .name("Way", |(_, outcome)| &outcome.name)
        .narrowed(|(k, outcome)| match &outcome.figures {
            Ok(figures) => Ok((k, figures)),
            Err(_) => Err("not possible, see below".into()),
        })
        .number("Cloth used", |(_, figures)| cloth_area(figures.used))
        .number("To buy", |(_, figures)| cloth_area(figures.bought))
        .number("Cost", |(_, figures)| cost(figures))
        .words("Laminate", |&(k, _)| match &outcomes[k].laminate_change {
            None => "as designed",
            Some(change) if change.may_be_less_stiff => "less stiff",
            Some(_) => "another",
        })
        .number("Than as designed", |&(k, figures)| {
            (k > 0).then(|| difference(figures, first)).flatten()
        })
        .number("Waste", |(_, figures)| percent(figures.wasted()))
        .number("Dry cloth in the parts", |(_, figures)| {
            mass(figures.cloth_mass)
        })
        .column(ColumnKind::Number, on_bias, |(_, figures)| {
            prose! {
                (figures.n_pieces) Small { (figures.n_on_bias) }
            }
        })
        .done()
}

/// Length by cloth.
fn lengths(outcomes: &[Outcome]) -> Passage {
    let cloths = possible(outcomes)
        .flat_map(|(outcome, figures)| figures.cloths.iter().map(move |cloth| (outcome, cloth)));
    TableOf::new("Lengths by cloth", cloths)
        .group("Way", |(outcome, _)| &outcome.name)
        .words("Cloth", |(_, cloth)| &cloth.name)
        .number("Roll width", |(_, cloth)| width(cloth.roll_width))
        .number("Used", |(_, cloth)| running(cloth.used))
        .number("To buy", |(_, cloth)| running(cloth.bought))
        .number("Cost", |(_, cloth)| {
            let (sum, currency) = cloth
                .cost
                .as_ref()
                .map_or((None, ""), |(c, sum)| (Some(*sum), c));
            priced(sum, currency)
        })
        .done()
}

/// The stacks whose stiffness is asked for, if one is.
fn stacks(outcomes: &[Outcome]) -> Vec<Passage> {
    let stacks = outcomes
        .iter()
        .filter_map(|outcome| Some((outcome, outcome.stack.as_ref()?)));
    if stacks.clone().next().is_none() {
        return Vec::new();
    }
    let said = "Bending and, if it counts, tension along the directions asked for, 100 % being as \
                stiff as the sheet. Stiffness is not strength: a laminate may be as stiff and break sooner.";
    let table = TableOf::new("Stacks as stiff as the sheet", stacks)
        .name("Layup", |(outcome, _)| outcome.layup())
        .number("Plies", |(_, stack)| stack.n_plies)
        .number("Thickness", |(_, stack)| {
            format!("{:.2} mm", stack.thickness.to_mm())
        })
        .number("Cured, by area", |(_, stack)| {
            format!("{:.2} kg/m²", stack.areal_weight.to_g_per_m2() / 1000.0)
        })
        .words("Stiffness", |(_, stack)| stack.shares_told())
        .words(
            "Symmetric",
            |(_, stack)| if stack.is_symmetric { "yes" } else { "no" },
        )
        .done();
    vec![
        Passage::section("Layers and stiffness", "stacks", ""),
        Passage::lead(said),
        table,
    ]
}

/// What the laminates come to, where the job says enough of its fibres.
fn stiffness(outcomes: &[Outcome]) -> Vec<Passage> {
    let mut parts = possible(outcomes).flat_map(|(_, figures)| &figures.parts);
    if parts.all(|part| part.in_plane.is_none()) {
        return Vec::new();
    }
    let gpa = |modulus: Option<Modulus>| known(modulus, |m| format!("{:.1}", m.to_gpa()));
    let table = TableOf::new("Stiffness and mass by part", by_part(outcomes))
        .group("Part", |(name, ..)| *name)
        .words("Way", |(_, way, _)| *way)
        .number("Ex", |(.., part)| gpa(part.in_plane.map(|p| p.ex)))
        .number("Ey", |(.., part)| gpa(part.in_plane.map(|p| p.ey)))
        .number("Gxy", |(.., part)| gpa(part.in_plane.map(|p| p.gxy)))
        .number("Thickness", |(.., part)| {
            known(part.thickness, |t| format!("{:.2} mm", t.to_mm()))
        })
        .number("Mass", |(.., part)| known(part.mass, mass));
    vec![
        Passage::section("Stiffness and mass", "stiffness", ""),
        Passage::lead(
            "By classical lamination theory, from the plies that cover the whole part, in GPa; x is the part's 0° direction. Mass is cloth and resin of one set.",
        ),
        table.done(),
        Passage::note("An estimate for comparing laminates, not a design approval."),
    ]
}

/// The parts of the first way, each with the ways that change it.
fn by_part(outcomes: &[Outcome]) -> Vec<(&str, &str, &PartFigures)> {
    let Some(Ok(first)) = outcomes.first().map(|o| o.figures.as_ref()) else {
        return Vec::new();
    };
    let is_changed = |part: &PartFigures, other: &PartFigures| {
        other.in_plane != part.in_plane || other.mass != part.mass
    };
    let parts = first.parts.iter().enumerate();
    let rows = parts.flat_map(|(k, part)| {
        let ways = possible(outcomes)
            .enumerate()
            .filter_map(move |(i, (way, figures))| {
                let other = figures.parts.get(k)?;
                (i == 0 || is_changed(part, other)).then_some((way.name.as_str(), other))
            });
        ways.map(|(way, other)| (part.name.as_str(), way, other))
    });
    rows.collect()
}

/// What each way changes, and why one is not possible.
fn changes(outcomes: &[Outcome]) -> [Passage; 3] {
    let terms = outcomes.iter().skip(1).map(|outcome| {
        let mut said: Prose = format!("{}.", outcome.change).into();
        if let Some(change) = &outcome.laminate_change {
            said.push(prose! { Line { Strong { "Not the same laminate: " } (&change.told) "." } });
        }
        for problem in outcome
            .figures
            .as_ref()
            .err()
            .into_iter()
            .flat_map(|p| p.iter())
        {
            said.push(prose! { Line { Strong { "Not possible: " } (&problem.message) "." } });
        }
        ((&outcome.name).into(), said)
    });
    [
        Passage::section("What is changed", "changes", ""),
        Passage::Terms {
            is_caution: false,
            terms: terms.collect(),
        },
        Passage::note(
            "Another direction or another cloth changes strength and stiffness, not only the price: ask whoever answers for the laminate.",
        ),
    ]
}
