//! What the browser asks for.

use std::sync::Arc;
use std::time::Duration;

use axum::body::Bytes;
use axum::extract::{DefaultBodyLimit, Path, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Extension, Router};
use serde::Deserialize;
use serde_json::json;

use super::file::{JobFile, NotChanged};
use super::hand::ByHand;
use super::shown::{PageShown, READING, Shared, ShownPart};
use crate::cli::server::events::{self, Deadline};
use crate::cli::server::files;
use crate::cli::shelf;
use crate::cli::writing::{self, OutFolder};
use crate::job::edit::Edit;
use crate::output::record::PlanRecord;
use crate::output::{OutputFile, Print, prints_page};

const SCRIPT: &str = include_str!("desk.js");
const DRAWING: &str = include_str!("drawing.js");
const CONTACT: &str = include_str!("contact.js");
const HAND: &str = include_str!("hand.js");
const WAYS: &str = include_str!("ways.js");
const BRING: &str = include_str!("bring.js");
const AT_THE_MOULD: &str = include_str!("sheet.js");

/// Largest file that is taken from the page, bytes.
const LARGEST_BROUGHT: usize = 256 << 20;

type Known = State<Arc<Shared>>;

pub(super) fn routes(shared: Arc<Shared>) -> Router {
    Router::new()
        .route("/", get(page))
        .route("/-/desk.js", get(async || files::script(SCRIPT)))
        .route("/-/bring.js", get(async || files::script(BRING)))
        .route("/-/drawing.js", get(async || files::script(DRAWING)))
        .route("/-/sheet.js", get(async || files::script(AT_THE_MOULD)))
        .route("/-/record/{*sheet}", get(recorded).post(note))
        .route("/-/report.js", get(async || files::script(files::REPORT)))
        .route("/-/events", get(tell_of_changes))
        .route("/-/parts", get(parts))
        .route("/-/parts/since/{turn}", get(parts_since))
        .route("/-/edit", post(edit))
        .route("/-/contact.js", get(async || files::script(CONTACT)))
        .route("/-/hand.js", get(async || files::script(HAND)))
        .route("/-/hand", get(laid).post(by_hand))
        .route(
            "/-/bring/{name}",
            post(bring).layer(DefaultBodyLimit::max(LARGEST_BROUGHT)),
        )
        .route(
            "/-/undo",
            post(async |s: Known| step(s, JobFile::undo).await),
        )
        .route(
            "/-/redo",
            post(async |s: Known| step(s, JobFile::redo).await),
        )
        .route("/-/write", post(write))
        .route("/-/ways", get(ways))
        .route("/-/ways.js", get(async || files::script(WAYS)))
        .route("/-/prints", get(prints))
        .route("/-/prints/{paper}/{page}", get(print_page))
        .route("/{*name}", get(file))
        .with_state(shared)
}

fn now(shared: &Shared) -> PageShown {
    shared.shown.borrow().clone()
}

async fn page(State(shared): Known) -> impl IntoResponse {
    let shown = now(&shared);
    let page =
        shown.desk(|desk| desk.page(&["/-/desk.js", "/-/drawing.js", "/-/bring.js", "/-/hand.js"]));
    ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], page)
}

async fn tell_of_changes(
    State(shared): Known,
    Extension(deadline): Extension<Deadline>,
) -> impl IntoResponse {
    events::tell(shared.shown.subscribe(), &deadline, |shown| {
        let is_reading = shown.standing == READING;
        json!({ "turn": shown.turn, "standing": shown.standing, "isReading": is_reading })
    })
}

/// Every part of the page as it is now.
async fn parts(State(shared): Known) -> Response {
    parts_where(&shared, |_| true)
}

/// The parts of the page that were changed after a turn.
async fn parts_since(State(shared): Known, Path(turn): Path<u64>) -> Response {
    parts_where(&shared, |part| part.turn > turn)
}

fn parts_where(shared: &Shared, is_wanted: impl Fn(&ShownPart) -> bool) -> Response {
    let shown = now(shared);
    let parts = shown.parts.iter().filter(|part| is_wanted(part));
    let parts: serde_json::Map<String, serde_json::Value> = parts
        .map(|part| (part.name.to_owned(), (*part.text).into()))
        .collect();
    let text = json!({ "turn": shown.turn, "state": shown.state, "parts": parts }).to_string();
    ([(header::CONTENT_TYPE, "application/json")], text).into_response()
}

/// What a page sends when something was changed on it.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Changes {
    /// The state of the job that the page showed.
    seen: u64,
    edits: Vec<Edit>,
}

async fn edit(State(shared): Known, body: Bytes) -> Response {
    let changes: Changes = match serde_json::from_slice(&body) {
        Ok(changes) => changes,
        Err(e) => return (StatusCode::BAD_REQUEST, e.to_string()).into_response(),
    };
    let changed = shared.file().change(changes.seen, &changes.edits);
    answer(&shared, changed)
}

/// What lies where, for laying by hand.
async fn laid(State(shared): Known) -> Response {
    let Some(planned) = now(&shared).view.planned.clone() else {
        return (StatusCode::NOT_FOUND, NO_PLAN).into_response();
    };
    match beside(move || planned.laid()).await {
        Some(laid) => ([(header::CONTENT_TYPE, files::kind("plan.json"))], laid).into_response(),
        None => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    }
}

/// What a page sends when something was done to the rolls by hand.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Handwork {
    /// The state of the job that the page showed.
    seen: u64,
    #[serde(rename = "do")]
    what: ByHand,
}

async fn by_hand(State(shared): Known, body: Bytes) -> Response {
    let handwork: Handwork = match serde_json::from_slice(&body) {
        Ok(handwork) => handwork,
        Err(e) => return (StatusCode::BAD_REQUEST, e.to_string()).into_response(),
    };
    let view = shared.view();
    let edits = match (&view.planned, &view.job) {
        (Some(planned), Some(job)) => {
            let plan = PlanRecord::of(planned.proven.plan());
            handwork.what.edits(job, &plan)
        }
        _ => Err(NO_PLAN.to_owned()),
    };
    let edits = match edits {
        Ok(edits) => edits,
        Err(why) => return answer(&shared, Err(NotChanged::Impossible(why))),
    };
    let held = match handwork.what.puts() {
        Some(piece) => {
            let (shared, piece, edits) = (Arc::clone(&shared), piece.to_owned(), edits.clone());
            beside(move || shared.would_hold(&piece, &edits)).await
        }
        None => Some(Ok(())),
    };
    let changed = held.unwrap_or(Ok(()));
    let changed = changed.and_then(|()| shared.file().change(handwork.seen, &edits));
    answer(&shared, changed)
}

async fn step(State(shared): Known, go: fn(&mut JobFile) -> Result<(), NotChanged>) -> Response {
    let changed = go(&mut shared.file());
    answer(&shared, changed)
}

/// Takes in a file that was dropped on the page.
async fn bring(State(shared): Known, Path(name): Path<String>, body: Bytes) -> Response {
    let brought = {
        let shared = Arc::clone(&shared);
        beside(move || super::bring::bring(&mut shared.file(), &name, &body)).await
    };
    shared.tell_changed();
    match brought {
        Some(Ok(told)) => told.into_response(),
        Some(Err(why)) => (StatusCode::UNPROCESSABLE_ENTITY, why).into_response(),
        None => {
            let told = "The file could not be read: the terminal says why.";
            (StatusCode::INTERNAL_SERVER_ERROR, told).into_response()
        }
    }
}

fn answer(shared: &Shared, changed: Result<(), NotChanged>) -> Response {
    shared.tell_changed();
    match changed {
        Ok(()) => json!({ "state": shared.file().number() })
            .to_string()
            .into_response(),
        Err(NotChanged::Impossible(why)) => (StatusCode::UNPROCESSABLE_ENTITY, why).into_response(),
        Err(NotChanged::Outdated(why)) => (StatusCode::CONFLICT, why).into_response(),
    }
}

/// What is ticked on a sheet.
async fn recorded(State(shared): Known, Path(sheet): Path<String>) -> impl IntoResponse {
    let text = json!(shared.record().on(&sheet)).to_string();
    ([(header::CONTENT_TYPE, "application/json")], text)
}

/// A tick, or something written into a blank.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SentNote {
    what: String,
    is: String,
}

async fn note(State(shared): Known, Path(sheet): Path<String>, body: Bytes) -> Response {
    let noted: SentNote = match serde_json::from_slice(&body) {
        Ok(noted) => noted,
        Err(e) => return (StatusCode::BAD_REQUEST, e.to_string()).into_response(),
    };
    let kept = (shared.record()).note(shelf::now(), &sheet, noted.what, noted.is);
    match kept {
        Ok(()) => StatusCode::NO_CONTENT.into_response(),
        Err(e) => {
            let told = format!("The record could not be written: {e}");
            (StatusCode::INTERNAL_SERVER_ERROR, told).into_response()
        }
    }
}

/// Does what takes a while beside the answers to others.
async fn beside<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Option<T> {
    tokio::task::spawn_blocking(work).await.ok()
}

const NO_PLAN: &str = "There is no plan of the job as it is; the page says why.";

/// Writes the files of the plan where `plan` does.
async fn write(State(shared): Known) -> Response {
    let shown = now(&shared);
    let Some(planned) = shown
        .view
        .planned
        .clone()
        .filter(|_| !shown.view.is_earlier)
    else {
        return (StatusCode::CONFLICT, NO_PLAN).into_response();
    };
    let job = shared.file().path().to_owned();
    let written = beside(move || {
        let stem = job.file_stem().unwrap_or_default().to_string_lossy();
        let out = job.with_file_name(format!("{stem}-plan"));
        let all = planned.files().iter().map(|(path, bytes)| OutputFile {
            path: path.clone(),
            bytes: bytes.to_vec(),
        });
        let folder = OutFolder::hold(&out)?;
        folder.check_inputs(&[job])?;
        folder.write(&all.collect::<Vec<_>>())?;
        writing::go_on();
        if let Some(shelf) = &planned.shelf {
            shelf::reserve(planned.proven.plan(), shelf)?;
        }
        Ok::<_, crate::cli::Failure>(out.display().to_string())
    });
    match written.await {
        Some(Ok(out)) => format!("All files of the plan are in {out}").into_response(),
        _ => {
            let told = "The files could not be written; the terminal says why.";
            (StatusCode::INTERNAL_SERVER_ERROR, told).into_response()
        }
    }
}

/// The longest that a comparison of ways may take.
const COMPARING: Duration = Duration::from_secs(600);

/// Other ways to do the job.
async fn ways(State(shared): Known, Extension(deadline): Extension<Deadline>) -> Response {
    let PageShown { view, state, .. } = now(&shared);
    let prepared = view.prepared.clone().filter(|_| !view.is_earlier);
    let (Some(prepared), Some(job)) = (prepared, view.job.clone()) else {
        return (StatusCode::NOT_FOUND, NO_PLAN).into_response();
    };
    deadline.extend(COMPARING);
    let page = beside(move || super::ways::page(&prepared, &job, state)).await;
    let script = "<script src=\"/-/ways.js\"></script>";
    let page = page.map(|page| files::as_served(page.as_bytes(), script));
    html_or_fault(page)
}

fn html_or_fault(page: Option<Vec<u8>>) -> Response {
    let kind = [(header::CONTENT_TYPE, files::kind("page.html"))];
    match page {
        Some(page) => (kind, page).into_response(),
        None => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    }
}

/// Pictures of all that can be printed and sent.
async fn prints(State(shared): Known) -> Response {
    let view = now(&shared).view;
    let Some(planned) = view.planned.clone() else {
        return (StatusCode::NOT_FOUND, NO_PLAN).into_response();
    };
    let page = beside(move || {
        let papers = planned.papers().iter().enumerate();
        let mut prints: Vec<Print> = papers
            .map(|(i, paper)| Print {
                path: paper.path.clone(),
                title: paper.title.clone(),
                pictures: (0..paper.pictures.len())
                    .map(|page| format!("/-/prints/{i}/{page}"))
                    .collect(),
                n_pages: paper.n_pages,
            })
            .collect();
        let (drawn, others): (Vec<&String>, Vec<&String>) = (planned.files().keys())
            .filter(|path| prints.iter().all(|print| print.path != **path))
            .partition(|path| path.ends_with(".svg"));
        let others: Vec<String> = others.into_iter().cloned().collect();
        prints.extend(drawn.into_iter().map(|path| Print {
            path: path.clone(),
            title: format!("Drawing {path}"),
            pictures: vec![format!("/{path}")],
            n_pages: 1,
        }));
        prints_page(planned.proven.plan().title(), &prints, &others)
    });
    html_or_fault(page.await.map(String::into_bytes))
}

async fn print_page(State(shared): Known, Path((paper, page)): Path<(usize, usize)>) -> Response {
    let planned = now(&shared).view.planned.clone();
    let picture = beside(move || {
        let planned = planned?;
        let paper = planned.papers().get(paper)?;
        paper.pictures.get(page).cloned()
    });
    match picture.await.flatten() {
        Some(picture) => {
            ([(header::CONTENT_TYPE, files::kind("page.svg"))], picture).into_response()
        }
        None => StatusCode::NOT_FOUND.into_response(),
    }
}

/// A file of the plan, made when it is first asked for.
async fn file(State(shared): Known, Path(name): Path<String>) -> Response {
    let Some(planned) = now(&shared).view.planned.clone() else {
        return (StatusCode::NOT_FOUND, NO_PLAN).into_response();
    };
    let found = beside(move || {
        let bytes = planned.files().get(&name)?;
        let is_sheet = name.starts_with("layup/");
        let script = is_sheet.then_some("<script src=\"/-/sheet.js\"></script>");
        Some(files::served(&name, bytes, script.unwrap_or_default()))
    });
    match found.await.flatten() {
        Some(found) => found.into_response(),
        None => StatusCode::NOT_FOUND.into_response(),
    }
}
