//! The report of the last plan on a page that loads itself again when there is a newer one.
//!
//! The files of the plan are handed out from memory, by their exact names, so that no request can
//! reach the disk. What pages get beside what the plan says is the script that loads them again
//! ([`REFRESH`]). Scripts are files of their own here, so that the browser runs nothing that stands
//! in a page.

use std::collections::BTreeMap;
use std::io;
use std::sync::Arc;

use axum::body::Bytes;
use axum::extract::{Path, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use axum::{Extension, Router};
use tokio::sync::watch;

use crate::cli::server::Server;
use crate::cli::server::events::{self, Deadline};
use crate::cli::server::files;
use crate::output::OutputFile;

const REFRESH: &str = include_str!("refresh.js");

/// The page that is opened.
const REPORT: &str = "report.html";

/// The page, as long as the program runs.
pub(super) struct WatchPage {
    server: Server,
    shown: watch::Sender<Shown>,
    /// Differs between runs: an open page may meet the next one.
    run: u64,
}

/// What is on the page.
#[derive(Default)]
struct Shown {
    /// Which plan it is; empty before the first.
    plan: String,
    files: Arc<BTreeMap<String, Bytes>>,
    /// Why there is no newer plan.
    problem: Option<String>,
    /// Counts changes.
    turn: u64,
}

/// Where handlers see what is shown.
type Seen = watch::Receiver<Shown>;

impl WatchPage {
    /// Offers the page on `port` of this machine, or on a free one if it is 0.
    pub(super) fn offer(port: u16) -> io::Result<Self> {
        let (shown, seen) = watch::channel(Shown::default());
        let run = getrandom::u64().map_err(io::Error::other)?;
        let server = Server::start(port, routes(seen))?;
        Ok(Self { server, shown, run })
    }

    /// Where the report is.
    pub(super) fn address(&self) -> String {
        self.server.address(&format!("/{REPORT}"))
    }

    /// Shows a new plan.
    pub(super) fn show(&self, files: Vec<OutputFile>) {
        self.shown.send_modify(|shown| {
            shown.turn += 1;
            shown.plan = format!("{:x}-{}", self.run, shown.turn);
            let script = script(&shown.plan, shown.turn);
            let ready = files.into_iter().map(|file| {
                let is_page = file.path.ends_with(".html");
                let bytes = match is_page {
                    true => files::as_served(&file.bytes, &script),
                    false => file.bytes,
                };
                (file.path, Bytes::from(bytes))
            });
            shown.files = Arc::new(ready.collect());
            shown.problem = None;
        });
    }

    /// Says why there is no new plan; the last one stays.
    pub(super) fn tell_problem(&self, problem: String) {
        self.shown.send_modify(|shown| {
            shown.turn += 1;
            shown.problem = Some(problem);
        });
    }
}

fn routes(seen: Seen) -> Router {
    Router::new()
        .route("/", get(Redirect::temporary("/report.html")))
        .route("/-/events", get(tell_of_changes))
        .route("/-/refresh.js", get(async || files::script(REFRESH)))
        .route("/-/report.js", get(async || files::script(files::REPORT)))
        .route("/{*name}", get(file))
        .with_state(seen)
}

async fn tell_of_changes(
    State(seen): State<Seen>,
    Extension(deadline): Extension<Deadline>,
) -> impl IntoResponse {
    events::tell(seen, &deadline, |shown| {
        let (plan, turn, problem) = (&shown.plan, shown.turn, &shown.problem);
        serde_json::json!({ "plan": plan, "turn": turn, "problem": problem })
    })
}

/// A file of the plan, or what takes the place of the report before the first.
async fn file(State(seen): State<Seen>, Path(name): Path<String>) -> Response {
    let shown = seen.borrow();
    let bytes = match shown.files.get(&name) {
        Some(bytes) => bytes.clone(),
        None if name == REPORT => waiting(&shown).into(),
        None => return StatusCode::NOT_FOUND.into_response(),
    };
    ([(header::CONTENT_TYPE, files::kind(&name))], bytes).into_response()
}

/// What makes a page load itself again when `plan` is no longer the last one.
fn script(plan: &str, turn: u64) -> String {
    let tag = maud::html! { script src="/-/refresh.js" data-plan=(plan) data-turn=(turn) {} };
    tag.into_string()
}

/// The page before the first plan.
fn waiting(shown: &Shown) -> String {
    let page = maud::html! {
        (maud::DOCTYPE)
        html lang="en" {
            head { meta charset="utf-8"; title { "warpwise" } }
            body style="font:16px/1.5 system-ui,sans-serif;max-width:60em;margin:2em auto;padding:0 1em" {
                @match &shown.problem {
                    Some(problem) => {
                        h1 { "The job cannot be planned yet" }
                        pre style="white-space:pre-wrap" { (problem) }
                    }
                    None => h1 { "The first plan is being made" }
                }
                (maud::PreEscaped(script("", shown.turn)))
            }
        }
    };
    page.into_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::server::tests::Visitor;
    use crate::output::REPORT_SCRIPT;

    fn file(path: &str, text: &str) -> OutputFile {
        OutputFile {
            path: path.to_owned(),
            bytes: text.as_bytes().to_vec(),
        }
    }

    #[test]
    fn only_files_of_the_plan_are_handed_out() {
        let page = WatchPage::offer(0).unwrap();
        let visitor = Visitor::of(&page.address());
        let first = visitor.get("/report.html");
        assert_eq!(first.status, 200);
        assert!(first.body.contains("The first plan is being made"));
        assert!(first.body.contains("<script src=\"/-/refresh.js\""));
        assert!(visitor.get("/-/refresh.js").body.contains("EventSource"));
        page.tell_problem("no <weave>".to_owned());
        assert!(
            visitor
                .get("/report.html")
                .body
                .contains("no &lt;weave&gt;")
        );

        let report = format!("<body>plan<script>{REPORT_SCRIPT}</script></body>");
        page.show(vec![file(REPORT, &report), file("cut/a b.svg", "<svg/>")]);
        let told = visitor.get("/report.html?x=1").body;
        assert!(told.starts_with("<body>plan<script src=") && told.ends_with("></script></body>"));
        assert!(!told.contains("<script>") && told.contains("/-/refresh.js"));
        assert_eq!(visitor.get("/-/report.js").body, REPORT_SCRIPT);
        assert_eq!(visitor.get("/cut/a%20b.svg").body, "<svg/>");
        let start = visitor.get("/");
        assert!(start.status == 307 && start.head.contains("location: /report.html"));
        for no in [
            "/cut/../report.html",
            "/../Cargo.toml",
            "/%2e%2e/Cargo.toml",
            "/%2e%2e%2fCargo.toml",
            "//report.html",
            "/cut",
            "/cut/",
            "/.warpwise",
            "/etc/passwd",
            "/-/",
            "/%",
            "/%ff",
        ] {
            assert!([404, 400].contains(&visitor.get(no).status), "{no}");
        }
    }

    #[test]
    fn pages_hear_of_problems_and_plans_in_order() {
        let page = WatchPage::offer(0).unwrap();
        let mut events = Visitor::of(&page.address()).listen("/-/events");
        let mut heard = || {
            let state = events.next().unwrap();
            let text = |key: &str| state[key].as_str().unwrap_or_default().to_owned();
            (text("plan"), text("problem"))
        };
        assert_eq!(heard(), (String::new(), String::new()));
        page.show(Vec::new());
        let (first, problem) = heard();
        assert!(!first.is_empty() && problem.is_empty());
        page.tell_problem("gap has\nno unit".to_owned());
        assert_eq!(heard(), (first.clone(), "gap has\nno unit".to_owned()));
        page.show(Vec::new());
        let (second, problem) = heard();
        assert!(second != first && problem.is_empty());
    }
}
