//! The report on a page of this machine that refreshes itself.
//!
//! A server for one person at one machine: it listens on 127.0.0.1 only, answers GET and HEAD only,
//! and hands out the files of the last plan from memory, by their exact names, so that no request
//! can reach the disk. A request must name this address as its host: a foreign page whose name is
//! made to point here is turned away. What pages get beside what the plan says is the script that
//! loads them again ([`REFRESH`]).

use std::collections::BTreeMap;
use std::io::{self, Read as _, Write as _};
use std::net::{Ipv4Addr, SocketAddr, TcpListener, TcpStream};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use crate::output::OutputFile;

const REFRESH: &str = include_str!("refresh.js");

/// The page that is opened.
const REPORT: &str = "report.html";

/// Where pages hear of new plans.
const EVENTS: &str = "/-/events";

/// Longest head of a request that is read.
const LONGEST_HEAD: usize = 16 << 10;

/// Most requests at a time; pages that listen count.
const MOST_AT_ONCE: usize = 64;

/// A request must have come within this time.
const PATIENCE: Duration = Duration::from_secs(10);

/// A listening page hears something this often, so that one that has gone is noticed.
const SIGN_OF_LIFE: Duration = Duration::from_secs(15);

/// A running server.
pub(super) struct Server {
    address: SocketAddr,
    shown: Arc<Shown>,
}

/// What the pages see.
struct Shown {
    state: Mutex<State>,
    changed: Condvar,
    n_open: AtomicUsize,
}

#[derive(Clone, Default)]
struct State {
    /// Which plan it is; empty before the first. Differs between runs too.
    plan: String,
    files: Arc<BTreeMap<String, Vec<u8>>>,
    /// Why there is no newer plan.
    problem: Option<String>,
    /// Counts changes.
    turn: u64,
}

impl Server {
    /// Listens on `port` of this machine, or on a free one if it is 0.
    pub(super) fn start(port: u16) -> io::Result<Self> {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port))?;
        let address = listener.local_addr()?;
        let shown = Arc::new(Shown {
            state: Mutex::default(),
            changed: Condvar::new(),
            n_open: AtomicUsize::new(0),
        });
        let ours = Arc::clone(&shown);
        thread::spawn(move || {
            for stream in listener.incoming().flatten() {
                let shown = Arc::clone(&ours);
                thread::spawn(move || {
                    let n_before = shown.n_open.fetch_add(1, Ordering::SeqCst);
                    if n_before < MOST_AT_ONCE {
                        // A page that has gone away is no fault.
                        _ = answer(stream, address.port(), &shown);
                    }
                    shown.n_open.fetch_sub(1, Ordering::SeqCst);
                });
            }
        });
        Ok(Self { address, shown })
    }

    /// Where the report is.
    pub(super) fn address(&self) -> String {
        format!("http://{}/{REPORT}", self.address)
    }

    /// Shows a new plan.
    pub(super) fn show(&self, files: Vec<OutputFile>) {
        let files = files.into_iter().map(|file| (file.path, file.bytes));
        let files = Arc::new(files.collect());
        let now = SystemTime::now().duration_since(UNIX_EPOCH);
        let now = now.map_or(0, |since| since.as_millis());
        self.shown.change(|state| {
            state.plan = format!("{now}-{}", state.turn);
            state.files = files;
            state.problem = None;
        });
    }

    /// Says why there is no new plan; the last one stays.
    pub(super) fn tell_problem(&self, problem: String) {
        self.shown.change(|state| state.problem = Some(problem));
    }
}

impl Shown {
    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn change(&self, change: impl FnOnce(&mut State)) {
        let mut state = self.state();
        change(&mut state);
        state.turn += 1;
        self.changed.notify_all();
    }
}

/// A request as far as it matters.
struct Request {
    method: String,
    /// Decoded, without what follows a `?`.
    path: String,
    host: String,
}

fn answer(mut stream: TcpStream, port: u16, shown: &Shown) -> io::Result<()> {
    stream.set_read_timeout(Some(PATIENCE))?;
    stream.set_write_timeout(Some(PATIENCE))?;
    let Some(request) = read_head(&mut stream)?.as_deref().and_then(parse) else {
        return refuse(&mut stream, "400 Bad Request", "");
    };
    let own = [format!("127.0.0.1:{port}"), format!("localhost:{port}")];
    if !own.iter().any(|own| request.host.eq_ignore_ascii_case(own)) {
        return refuse(&mut stream, "403 Forbidden", "");
    }
    let with_body = match request.method.as_str() {
        "GET" => true,
        "HEAD" => false,
        _ => {
            return refuse(
                &mut stream,
                "405 Method Not Allowed",
                "Allow: GET, HEAD\r\n",
            );
        }
    };
    let state = shown.state().clone();
    match request.path.as_str() {
        "/" => refuse(
            &mut stream,
            "302 Found",
            &format!("Location: /{REPORT}\r\n"),
        ),
        EVENTS if with_body => tell_of_changes(&mut stream, shown),
        path => {
            let name = &path[1..];
            match state.files.get(name) {
                Some(bytes) if name.ends_with(".html") => {
                    let page = with_refresh(bytes, &state);
                    send(&mut stream, "200 OK", name, &page, with_body)
                }
                Some(bytes) => send(&mut stream, "200 OK", name, bytes, with_body),
                None if name == REPORT => {
                    let page = with_refresh(&waiting(&state), &state);
                    send(&mut stream, "200 OK", name, &page, with_body)
                }
                None => refuse(&mut stream, "404 Not Found", ""),
            }
        }
    }
}

/// The head of a request; `None` if it is too long or breaks off.
fn read_head(stream: &mut TcpStream) -> io::Result<Option<String>> {
    let mut head = Vec::new();
    let mut buffer = [0; 2048];
    while !head.windows(4).any(|end| end == b"\r\n\r\n") {
        let n = stream.read(&mut buffer)?;
        if n == 0 || head.len() > LONGEST_HEAD {
            return Ok(None);
        }
        head.extend_from_slice(&buffer[..n]);
    }
    Ok(String::from_utf8(head).ok())
}

/// The request in `head`, if it is one of HTTP/1 with one host.
fn parse(head: &str) -> Option<Request> {
    let mut lines = head.split("\r\n");
    let mut first = lines.next()?.split(' ');
    let (method, target, version) = (first.next()?, first.next()?, first.next()?);
    if first.next().is_some() || !version.starts_with("HTTP/1.") || !target.starts_with('/') {
        return None;
    }
    let mut hosts = lines.filter_map(|line| {
        let (name, value) = line.split_once(':')?;
        name.eq_ignore_ascii_case("host").then(|| value.trim())
    });
    let host = hosts.next()?.to_owned();
    if hosts.next().is_some() {
        return None;
    }
    let path = target.split(['?', '#']).next()?;
    Some(Request {
        method: method.to_owned(),
        path: decoded(path)?,
        host,
    })
}

/// `text` with `%20` and the like as what they stand for.
fn decoded(text: &str) -> Option<String> {
    let mut bytes = Vec::new();
    let mut rest = text.as_bytes();
    while let [first, after @ ..] = rest {
        if *first == b'%' {
            let digits = std::str::from_utf8(after.get(..2)?).ok()?;
            bytes.push(u8::from_str_radix(digits, 16).ok()?);
            rest = &after[2..];
        } else {
            bytes.push(*first);
            rest = after;
        }
    }
    String::from_utf8(bytes).ok()
}

/// `page` with the script that loads it again.
fn with_refresh(page: &[u8], state: &State) -> Vec<u8> {
    let text = String::from_utf8_lossy(page);
    let script = REFRESH
        .replace("@PLAN@", &state.plan)
        .replace("@TURN@", &state.turn.to_string());
    let script = format!("<script>{script}</script>");
    let at = text.rfind("</body>").unwrap_or(text.len());
    [&text[..at], &script, &text[at..]].concat().into_bytes()
}

/// The page before the first plan.
fn waiting(state: &State) -> Vec<u8> {
    let page = maud::html! {
        (maud::DOCTYPE)
        html lang="en" {
            head { meta charset="utf-8"; title { "warpwise" } }
            body style="font:16px/1.5 system-ui,sans-serif;max-width:60em;margin:2em auto;padding:0 1em" {
                @match &state.problem {
                    Some(problem) => {
                        h1 { "The job cannot be planned yet" }
                        pre style="white-space:pre-wrap" { (problem) }
                    }
                    None => h1 { "The first plan is being made" }
                }
            }
        }
    };
    page.into_string().into_bytes()
}

/// Tells a page of every change as it comes, until it goes away.
fn tell_of_changes(stream: &mut TcpStream, shown: &Shown) -> io::Result<()> {
    let head = format!(
        "HTTP/1.1 200 OK\r\nContent-Type: text/event-stream\r\n{SAFE}Connection: close\r\n\r\n"
    );
    stream.write_all(head.as_bytes())?;
    stream.write_all(b"retry: 1000\n\n")?;
    let mut told = None;
    loop {
        let state = shown.state();
        let is_old = |state: &mut State| told == Some(state.turn);
        let (state, _) = (shown.changed)
            .wait_timeout_while(state, SIGN_OF_LIFE, is_old)
            .unwrap_or_else(PoisonError::into_inner);
        let event = if told == Some(state.turn) {
            ":\n\n".to_owned()
        } else {
            told = Some(state.turn);
            let (plan, problem) = (&state.plan, &state.problem);
            let turn = state.turn;
            let data = serde_json::json!({ "plan": plan, "turn": turn, "problem": problem });
            format!("data: {data}\n\n")
        };
        drop(state);
        stream.write_all(event.as_bytes())?;
    }
}

/// What every answer says: kept by nobody, taken for nothing else, shown in no other page.
const SAFE: &str = "Cache-Control: no-store\r\n\
    X-Content-Type-Options: nosniff\r\n\
    X-Frame-Options: DENY\r\n\
    Cross-Origin-Resource-Policy: same-origin\r\n\
    Referrer-Policy: no-referrer\r\n";

fn send(
    stream: &mut TcpStream,
    status: &str,
    name: &str,
    bytes: &[u8],
    with_body: bool,
) -> io::Result<()> {
    let kind = match name.rsplit_once('.').map(|(_, ending)| ending) {
        Some("html") => "text/html; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("json") => "application/json",
        Some("csv") => "text/csv; charset=utf-8",
        Some("pdf") => "application/pdf",
        _ => "application/octet-stream",
    };
    let head = format!(
        "HTTP/1.1 {status}\r\nContent-Type: {kind}\r\nContent-Length: {}\r\n{SAFE}Connection: close\r\n\r\n",
        bytes.len()
    );
    stream.write_all(head.as_bytes())?;
    if with_body {
        stream.write_all(bytes)?;
    }
    stream.flush()
}

/// An answer without content.
fn refuse(stream: &mut TcpStream, status: &str, header: &str) -> io::Result<()> {
    let head = format!(
        "HTTP/1.1 {status}\r\nContent-Length: 0\r\n{header}{SAFE}Connection: close\r\n\r\n"
    );
    stream.write_all(head.as_bytes())?;
    stream.flush()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The status and the text that a request is answered with.
    fn ask(server: &Server, request: &str) -> (String, String) {
        let mut stream = TcpStream::connect(server.address).unwrap();
        let port = server.address.port();
        let request = request.replace("PORT", &port.to_string());
        stream.write_all(request.as_bytes()).unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        let (head, body) = answer.split_once("\r\n\r\n").unwrap();
        (head["HTTP/1.1 ".len()..][..3].to_owned(), body.to_owned())
    }

    #[test]
    fn only_files_of_the_plan_are_handed_out_and_only_to_this_machine() {
        let server = Server::start(0).unwrap();
        assert!(server.address.ip().is_loopback());
        let get = |path: &str| {
            ask(
                &server,
                &format!("GET {path} HTTP/1.1\r\nHost: 127.0.0.1:PORT\r\n\r\n"),
            )
        };
        let (status, waiting) = get("/report.html");
        assert_eq!(status, "200");
        assert!(waiting.contains("The first plan is being made") && waiting.contains("<script>"));
        server.tell_problem("no <weave>".to_owned());
        assert!(get("/report.html").1.contains("no &lt;weave&gt;"));

        let file = |path: &str, text: &str| OutputFile {
            path: path.to_owned(),
            bytes: text.as_bytes().to_vec(),
        };
        let page = "<body>plan</body>";
        server.show(vec![file(REPORT, page), file("cut/a b.svg", "<svg/>")]);
        let (_, report) = get("/report.html?x=1");
        assert!(report.starts_with("<body>plan<script>") && report.ends_with("</script></body>"));
        assert_eq!(get("/cut/a%20b.svg").1, "<svg/>");
        assert_eq!(get("/").0, "302");
        for no in [
            "/cut/../report.html",
            "/../Cargo.toml",
            "/%2e%2e/Cargo.toml",
            "//report.html",
            "/cut",
            "/.warpwise",
            "/etc/passwd",
            "/-/",
            "/%",
        ] {
            assert!(["404", "400"].contains(&&get(no).0[..]), "{no}");
        }
        for (method, host, status) in [
            ("GET", "localhost:PORT", "200"),
            ("HEAD", "127.0.0.1:PORT", "200"),
            ("POST", "127.0.0.1:PORT", "405"),
            ("DELETE", "127.0.0.1:PORT", "405"),
            ("GET", "example.org:PORT", "403"),
            ("GET", "127.0.0.1.example.org:PORT", "403"),
            ("GET", "127.0.0.1", "403"),
            ("GET", "", "403"),
        ] {
            let request = format!("{method} /report.html HTTP/1.1\r\nHost: {host}\r\n\r\n");
            assert_eq!(ask(&server, &request).0, status, "{method} {host}");
        }
        let two = "GET / HTTP/1.1\r\nHost: 127.0.0.1:PORT\r\nHost: example.org\r\n\r\n";
        assert_eq!(ask(&server, two).0, "400");
        assert_eq!(ask(&server, "GET / HTTP/1.1\r\n\r\n").0, "400");
        assert_eq!(
            ask(
                &server,
                "GET http://a/ HTTP/1.1\r\nHost: 127.0.0.1:PORT\r\n\r\n"
            )
            .0,
            "400"
        );
    }

    #[test]
    fn pages_hear_of_problems_and_plans_in_order() {
        use std::io::{BufRead as _, BufReader};

        let server = Server::start(0).unwrap();
        let mut stream = TcpStream::connect(server.address).unwrap();
        let request = format!("GET {EVENTS} HTTP/1.1\r\nHost: {}\r\n\r\n", server.address);
        stream.write_all(request.as_bytes()).unwrap();
        let mut lines = BufReader::new(stream).lines().map(Result::unwrap);
        let mut heard = || {
            let data = lines.find_map(|line| line.strip_prefix("data: ").map(str::to_owned));
            let state: serde_json::Value = serde_json::from_str(&data.unwrap()).unwrap();
            let text = |key: &str| state[key].as_str().unwrap_or_default().to_owned();
            (text("plan"), text("problem"))
        };
        assert_eq!(heard(), (String::new(), String::new()));
        server.show(Vec::new());
        let (first, problem) = heard();
        assert!(!first.is_empty() && problem.is_empty());
        server.tell_problem("gap has\nno unit".to_owned());
        assert_eq!(heard(), (first.clone(), "gap has\nno unit".to_owned()));
        server.show(Vec::new());
        let (second, problem) = heard();
        assert!(second != first && problem.is_empty());
    }
}
