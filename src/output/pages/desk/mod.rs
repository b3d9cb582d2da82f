//! The page on which a job is worked on: what it says, as fields to fill in, and beside it what comes of it.
//!
//! The page is made of parts that are replaced one by one when the job changes. Every field and button carries
//! the change of the job file that it stands for (`data-at`, `data-edit`); a script sends it.

mod drawing;
mod fields;
mod hand;
mod prints;
mod results;
mod stack;

use maud::{Markup, PreEscaped, html};

use crate::cloth::Cloth;
use crate::diag::{Diagnostic, Place, Remedy, visible};
use crate::job::edit::{Edit, TableFields};
use crate::job::{Absent, Key};
use crate::output::pages::html::document;
use crate::output::style::{GENERATOR, screen_css};
use crate::plan::{Foreseen, PartUse, Plan};

pub(crate) use self::drawing::DeskDrawing;
pub(crate) use self::hand::{laid, rolls};
pub(crate) use self::prints::{Print, prints_page};

/// What the page shows.
pub(crate) struct Desk<'a> {
    /// The name of the job file.
    pub(crate) file: &'a str,
    /// What it says; `None` if it is not TOML.
    pub(crate) job: Option<&'a TableFields>,
    /// The newest plan.
    pub(crate) plan: Option<&'a Plan>,
    /// The cloths of the job, those of its shop file too, as far as they are known.
    pub(crate) cloths: &'a [Cloth],
    /// The drawings of the parts.
    pub(crate) drawings: &'a [DeskDrawing],
    /// Whether that plan is of an earlier state of the job.
    pub(crate) is_earlier: bool,
    /// What is known of the present state before its plan is made.
    pub(crate) foreseen: Option<&'a Foreseen>,
    /// The rolls of the plan, as [`rolls`] writes them.
    pub(crate) rolls: &'a str,
    /// What is wrong with the job.
    pub(crate) problems: &'a [Diagnostic],
    /// What may be permitted to mend it.
    pub(crate) remedies: &'a [Remedy],
    /// How the search stands, in words.
    pub(crate) standing: &'a str,
    /// Whether there are changes to undo, and undone ones to redo.
    pub(crate) steps: [bool; 2],
}

/// The names of the parts of the page, in their order.
const PARTS: [&str; 6] = ["head", "problem", "figures", "job", "rolls", "pins"];

impl Desk<'_> {
    /// The whole page with its `scripts`.
    pub(crate) fn page(&self, scripts: &[&str]) -> String {
        let [head, problem, figures, job, rolls, pins] =
            self.parts().map(|(_, part)| PreEscaped(part));
        let body = html! {
            body .desk {
                header id="head" { (head) }
                div id="problem" role="alert" { (problem) }
                p id="told" role="status" aria-live="polite" {}
                main {
                    section id="figures" aria-label="What comes of it" { (figures) }
                    div id="job" { (job) }
                    section id="rolls" aria-label="Rolls" { (rolls) }
                    section id="pins" aria-label="Pinned pieces" { (pins) }
                }
                footer { p { "Made by " (GENERATOR) ". Every change is written into " code { (self.file) } " at once." } }
                @for script in scripts { script src=(script) type=[script.ends_with("hand.js").then_some("module")] {} }
            }
        };
        written(self.title(), &body)
    }

    /// The parts of the job, foreseen or planned.
    fn part_uses(&self) -> &[PartUse] {
        let planned = self.plan.map_or(&[][..], Plan::parts);
        self.foreseen.map_or(planned, Foreseen::parts)
    }

    /// Every part of the page with its name.
    pub(crate) fn parts(&self) -> [(&'static str, String); 6] {
        let [head, problem, figures, job, rolls, pins] = PARTS;
        [
            (head, self.head().into_string()),
            (problem, self.problem().into_string()),
            (figures, results::figures(self).into_string()),
            (job, self.job().into_string()),
            (rolls, self.rolls.to_owned()),
            (
                pins,
                self.job.map(hand::pins).unwrap_or_default().into_string(),
            ),
        ]
    }

    fn title(&self) -> &str {
        let title = self.job.and_then(|job| job.value("title"));
        title.unwrap_or(self.file)
    }

    /// Whether nothing was brought in yet: then nothing is wrong either.
    fn is_empty(&self) -> bool {
        self.job.is_some_and(|job| {
            job.inner("part").next().is_none() && job.inner("cloth").next().is_none()
        })
    }

    fn head(&self) -> Markup {
        let [undo, redo] = self.steps;
        html! {
            p .kind { "Job " (self.file) }
            h1 { (self.title()) }
            div .commands {
                button type="button" data-post="/-/undo" disabled[!undo] { "Undo" }
                button type="button" data-post="/-/redo" disabled[!redo] { "Redo" }
                span .standing { (self.standing) }
            }
        }
    }

    /// What is wrong, where it is seen from wherever one is on the page.
    fn problem(&self) -> Markup {
        let missing = self.missing();
        if !missing.is_empty() && missing.len() == self.problems.len() {
            return html! { p .note { "Still to be told: " (missing.join(", ")) "." } };
        }
        html! {
            @if !self.problems.is_empty() && !self.is_empty() {
                div .problem {
                    strong { "The job cannot be planned as it is" }
                    @for remedy in self.remedies { (self.remedy(remedy)) }
                    ul { @for problem in self.problems { (told(problem)) } }
                }
            }
        }
    }

    /// What cloths cannot be without and do not tell.
    fn missing(&self) -> Vec<String> {
        let cloths = self.job.into_iter().flat_map(|job| job.inner("cloth"));
        let of_cloth = |cloth: &TableFields| {
            let keys = cloth.others.iter();
            let needed = keys.filter(|key| matches!(key.absent, Absent::Required));
            let told = |key: &&Key| {
                format!(
                    "{} of {}",
                    key.name.replace('_', " "),
                    fields::name_of(cloth)
                )
            };
            needed.map(told).collect::<Vec<String>>()
        };
        cloths.flat_map(of_cloth).collect()
    }

    /// The button that permits what mends the job.
    fn remedy(&self, remedy: &Remedy) -> Markup {
        let mut parts = self.job.into_iter().flat_map(|job| job.inner("part"));
        let is_its = |part: &&TableFields| {
            let names = ["name", "mirror"].map(|key| part.value(key));
            names.contains(&Some(&remedy.part[..]))
        };
        let edits = parts.find(is_its).map(|part| permitted(part, remedy));
        html! {
            @if let Some(edits) = edits {
                p .remedy { (remedy.about) ". " button type="button" data-edit=(json(&edits)) { (remedy.label) } }
            }
        }
    }

    fn job(&self) -> Markup {
        match self.job {
            Some(_) if self.is_empty() => bring(true),
            Some(job) => html! {
                (bring(job.inner("part").next().is_none()))
                (stack::parts(job, self.cloths, self.drawings, self.part_uses()))
                (fields::cloths(job, self.cloths))
                (fields::rest(job))
            },
            None => {
                html! { p .note { "The job file is not TOML at the moment: mend it in the editor; the page follows." } }
            }
        }
    }
}

/// A problem, the next step, and where it is.
fn told(problem: &Diagnostic) -> Markup {
    html! {
        li {
            (said(&visible(&problem.message)))
            @if let Some(help) = &problem.help { ". " em { (said(&visible(help))) } }
            @if let Some(place) = &problem.place { " " span .about { (where_it_is(place)) } }
        }
    }
}

fn where_it_is(place: &Place) -> String {
    let name = |file: &str| visible(file.rsplit('/').next().unwrap_or(file)).into_owned();
    match place {
        Place::File(file) => name(file),
        Place::Line { file, line } => format!("{}, line {line}", name(file)),
        Place::Entity { file, entity, .. } => format!("{}, {}", name(file), visible(entity)),
        Place::Text { source, span } => {
            let before = source.text.get(..span.start).unwrap_or(&source.text);
            let n = before.matches('\n').count();
            let line = source.text.lines().nth(n).unwrap_or("");
            format!(
                "{}, line {}: {}",
                name(&source.name),
                n + 1,
                visible(line.trim())
            )
        }
    }
}

/// The changes that write `remedy` into the table of its part, and into plies that say otherwise.
fn permitted(part: &TableFields, remedy: &Remedy) -> Vec<Edit> {
    let keys = remedy.keys.iter();
    let of_key = keys.flat_map(|(key, to)| {
        let plies = part.inner("ply").filter(|ply| ply.value(key).is_some());
        std::iter::once(part).chain(plies).map(|table| Edit::Set {
            at: table.place_of(key),
            to: (*to).to_owned(),
        })
    });
    of_key.collect()
}

/// A page called `title`, in the style of all pages to work on.
fn written(title: &str, body: &Markup) -> String {
    let styles = [
        &screen_css(),
        include_str!("../screen.css"),
        include_str!("desk.css"),
    ];
    document(title, "light dark", &styles, body)
}

/// Where drawings are dropped; the way to begin if there is no part yet.
fn bring(is_first: bool) -> Markup {
    html! {
        section .bring aria-labelledby="bring-title" {
            h2 id="bring-title" { @if is_first { "Begin with a drawing" } @else { "Bring in" } }
            p {
                "Drop a drawing (SVG, DXF), a photograph of a template on its board (JPEG, PNG) or a mould (STL, OBJ, PLY) anywhere \
                 on this page, or choose it: "
                label { span { "files " } input type="file" multiple accept=".svg,.dxf,.jpg,.jpeg,.png,.stl,.obj,.ply"; }
            }
            @if is_first { p .about { "Each closed outline becomes a part. The file is kept beside the job file." } }
        }
    }
}

/// The text of a declaration or of a problem, in which keys and values stand in back quotes.
fn said(about: &str) -> Markup {
    let runs = about.split('`').enumerate();
    html! { @for (i, run) in runs { @if i % 2 == 1 { code { (run) } } @else { (run) } } }
}

/// The places of a job file as the script sends them.
fn json(value: &impl serde::Serialize) -> String {
    serde_json::to_string(value).expect("places and texts are JSON")
}
