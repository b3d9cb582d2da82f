use std::io::{BufRead as _, BufReader, ErrorKind, Read as _, Write as _};
use std::net::TcpStream;
use std::time::Duration;

use axum::body::Bytes;
use axum::routing::{get, post};
use axum::{Extension, Router};
use tokio::sync::watch;

use super::*;

/// Longer than anything here takes, shorter than any deadline of the server but that for a head.
const SOON: Duration = Duration::from_secs(8);

/// What a request is answered with.
pub(in crate::cli) struct Answer {
    pub(in crate::cli) status: u16,
    pub(in crate::cli) head: String,
    pub(in crate::cli) body: String,
}

/// Somebody who was given the address.
pub(in crate::cli) struct Visitor {
    pub(in crate::cli) host: String,
    pub(in crate::cli) key: String,
}

impl Visitor {
    /// Of the page at `address`.
    pub(in crate::cli) fn of(address: &str) -> Self {
        let (place, key) = address.split_once("?key=").unwrap();
        let host = place.split('/').nth(2).unwrap();
        Self {
            host: host.to_owned(),
            key: key.to_owned(),
        }
    }

    pub(in crate::cli) fn cookie(&self) -> String {
        let (_, port) = self.host.split_once(':').unwrap();
        format!("Cookie: warpwise-{port}={}\r\n", self.key)
    }

    pub(in crate::cli) fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(&self.host).unwrap();
        stream.set_read_timeout(Some(SOON)).unwrap();
        stream
    }

    /// Sends `request` as it is.
    pub(in crate::cli) fn send(&self, request: &str) -> Answer {
        let mut stream = self.connect();
        stream.write_all(request.as_bytes()).unwrap();
        let mut text = String::new();
        stream.read_to_string(&mut text).unwrap();
        let (head, body) = text.split_once("\r\n\r\n").unwrap();
        Answer {
            status: head["HTTP/1.1 ".len()..][..3].parse().unwrap(),
            head: head.to_lowercase(),
            body: body.to_owned(),
        }
    }

    /// Asks for `path` as a browser that was here before.
    pub(in crate::cli) fn get(&self, path: &str) -> Answer {
        self.send(&self.request("GET", path))
    }

    pub(in crate::cli) fn request(&self, method: &str, path: &str) -> String {
        let (host, cookie) = (&self.host, self.cookie());
        format!("{method} {path} HTTP/1.1\r\nHost: {host}\r\n{cookie}\r\n")
    }

    /// What is heard at `path`, event by event.
    pub(in crate::cli) fn listen(
        &self,
        path: &str,
    ) -> impl Iterator<Item = serde_json::Value> + use<> {
        let mut stream = self.connect();
        stream
            .write_all(self.request("GET", path).as_bytes())
            .unwrap();
        let lines = BufReader::new(stream).lines().map(Result::unwrap);
        lines.filter_map(|line| {
            let data = line.strip_prefix("data: ")?;
            Some(serde_json::from_str(data).unwrap())
        })
    }
}

/// A server with a page at `/page`, changes at `/events`, and handlers of all kinds.
fn server() -> (Visitor, watch::Sender<u32>) {
    server_within(Limits::usual())
}

fn server_within(limits: Limits) -> (Visitor, watch::Sender<u32>) {
    let (changes, seen) = watch::channel(0_u32);
    let listen = async move |Extension(deadline): Extension<events::Deadline>| {
        events::tell(seen.clone(), &deadline, |n| serde_json::json!(n))
    };
    let routes = Router::new()
        .route("/page", get(async || "the page"))
        .route(
            "/fault",
            get(async || -> &'static str { panic!("a fault of a handler") }),
        )
        .route("/large", get(async || vec![0; 64 << 20]))
        .route("/sent", post(async |body: Bytes| body))
        .route("/events", get(listen));
    let server = Server::start_within(limits, 0, routes).unwrap();
    assert!(server.address.ip().is_loopback());
    (Visitor::of(&server.address("/page")), changes)
}

#[test]
fn nothing_is_answered_without_the_key() {
    let (visitor, _changes) = server();
    let Visitor { host, key } = &visitor;
    let (_, port) = host.split_once(':').unwrap();
    assert_eq!(key.len(), 64);
    assert_ne!(*key, server().0.key);
    let cookie = visitor.cookie();
    let wrong = format!("Cookie: warpwise-{port}={}\r\n", "0".repeat(64));
    let shorter = format!("Cookie: warpwise-{port}={}\r\n", &key[..63]);
    let among = format!("Cookie: a=b; warpwise-{port}={key}; c\r\n");
    let other_port = format!("Cookie: warpwise-1={key}\r\n");
    let keyed = format!("/page?x=1&key={key}");
    let local = format!("localhost:{port}");
    let foreign = format!("example.org:{port}");
    let behind = format!("127.0.0.1.example.org:{port}");
    let origin = |of: &str| format!("{cookie}Origin: {of}\r\n");
    let own_origin = origin(&format!("http://{host}"));
    for (path, host, headers, status) in [
        ("/page", &host[..], "", 403),
        ("/nothing", host, "", 403),
        ("/events", host, "", 403),
        ("/page?key=", host, "", 403),
        (&format!("/page?key={}", &key[1..]), host, "", 403),
        (&format!("/page?key={key}0"), host, "", 403),
        ("/page", host, &wrong, 403),
        ("/page", host, &shorter, 403),
        ("/page", host, &other_port, 403),
        (&keyed, host, "", 200),
        ("/page", host, &cookie, 200),
        ("/page", host, &among, 200),
        ("/page", &local, &cookie, 200),
        ("/nothing", host, &cookie, 404),
        // Another name that was made to point here.
        (&keyed, &foreign, &cookie, 403),
        (&keyed, &behind, &cookie, 403),
        (&keyed, "127.0.0.1", &cookie, 403),
        (&keyed, "", &cookie, 403),
        (&format!("http://{host}{keyed}"), host, &cookie, 403),
        (&keyed, host, "Host: example.org\r\n", 403),
        // Another page asks.
        ("/page", host, &own_origin, 200),
        ("/page", host, &origin("http://example.org"), 403),
        ("/page", host, &origin("http://127.0.0.1:1"), 403),
        ("/page", host, &origin(&format!("https://{host}")), 403),
        ("/page", host, &origin("null"), 403),
    ] {
        for method in ["GET", "HEAD"] {
            let answer = visitor.send(&format!(
                "{method} {path} HTTP/1.1\r\nHost: {host}\r\n{headers}\r\n"
            ));
            assert_eq!(answer.status, status, "{method} {path} {host} {headers}");
            assert_eq!(
                answer.body.contains("the page"),
                status == 200 && method == "GET"
            );
            let is_first = answer.head.contains("\r\nset-cookie: ");
            assert_eq!(is_first, path == keyed && status == 200, "{}", answer.head);
            if is_first {
                let end = "; path=/; httponly; samesite=strict\r\n";
                assert!(
                    answer.head.contains(&format!("warpwise-{port}={key}{end}")),
                    "{}",
                    answer.head
                );
            }
            for safe in [
                "cache-control: no-store",
                "x-content-type-options: nosniff",
                "referrer-policy: no-referrer",
                "frame-ancestors 'none'",
                "default-src 'none'",
            ] {
                assert!(answer.head.contains(safe), "{safe}: {}", answer.head);
            }
        }
    }
    let without_host = visitor.send(&format!("GET {keyed} HTTP/1.1\r\n\r\n"));
    assert_eq!(without_host.status, 403);
    for method in ["POST", "PUT", "DELETE", "OPTIONS"] {
        assert_eq!(
            visitor.send(&visitor.request(method, "/page")).status,
            405,
            "{method}"
        );
    }
    let long = visitor.send(&visitor.request("GET", &format!("/{}", "x".repeat(20 << 10))));
    assert!((400..500).contains(&long.status), "{}", long.head);
}

#[test]
fn changes_are_told_in_order_to_all_who_listen() {
    let (visitor, changes) = server();
    let mut listening: Vec<_> = (0..3).map(|_| visitor.listen("/events")).collect();
    for n in 0..5 {
        for heard in &mut listening {
            assert_eq!(heard.next().unwrap(), n);
        }
        changes.send_replace(n + 1);
    }
}

#[test]
fn connections_are_bounded_and_those_that_end_make_room() {
    let (visitor, _changes) = server();
    let idle: Vec<_> = (0..100).map(|_| visitor.connect()).collect();
    let mut late = visitor.connect();
    late.write_all(visitor.request("GET", "/page").as_bytes())
        .unwrap();
    late.set_read_timeout(Some(Duration::from_millis(500)))
        .unwrap();
    let waits = late.read(&mut [0]).unwrap_err().kind();
    assert!(
        [ErrorKind::WouldBlock, ErrorKind::TimedOut].contains(&waits),
        "{waits}"
    );
    drop(idle);
    late.set_read_timeout(Some(SOON)).unwrap();
    let mut answer = String::new();
    late.read_to_string(&mut answer).unwrap();
    assert!(answer.ends_with("the page"), "{answer}");

    // Who listens and goes away is noticed at once, not at its deadline.
    for _ in 0..3 {
        let mut listening: Vec<_> = (0..60).map(|_| visitor.listen("/events")).collect();
        for heard in &mut listening {
            heard.next().unwrap();
        }
        drop(listening);
    }
    assert_eq!(visitor.get("/page").body, "the page");
}

#[test]
fn a_fault_of_a_handler_ends_its_own_answer_alone() {
    let (visitor, changes) = server();
    let mut heard = visitor.listen("/events");
    assert_eq!(heard.next().unwrap(), 0);
    for _ in 0..100 {
        let mut stream = visitor.connect();
        stream
            .write_all(visitor.request("GET", "/fault").as_bytes())
            .unwrap();
        assert_eq!(stream.read(&mut [0]).unwrap(), 0);
    }
    assert_eq!(visitor.get("/page").body, "the page");
    changes.send_replace(1);
    assert_eq!(heard.next().unwrap(), 1);
}

#[test]
fn who_takes_too_long_loses_the_place() {
    let most = 4;
    let short = |head, whole| Limits {
        most,
        head: Duration::from_millis(head),
        whole: Duration::from_millis(whole),
    };
    // Longer than the test may take: only the other deadline can end a connection.
    const NEVER: u64 = 3_600_000;
    let in_head = "GET /page HTTP/1.1\r\nX-More: ".to_owned();
    for (limits, method, path, end) in [
        (short(300, NEVER), "GET", "/page", "silent"),
        (short(300, NEVER), "GET", "/page", "endless head"),
        (short(NEVER, 1500), "GET", "/page", "endless head"),
        (short(NEVER, 1500), "POST", "/sent", "endless body"),
        (short(NEVER, 1500), "GET", "/large", "deaf"),
    ] {
        let (visitor, _changes) = server_within(limits);
        let request = visitor.request(method, path);
        let request = match end {
            "silent" => "",
            "endless head" => &in_head,
            "endless body" => &request.replace("\r\n\r\n", "\r\nContent-Length: 1000000\r\n\r\n"),
            _ => &request,
        };
        let mut slow: Vec<TcpStream> = (0..most).map(|_| visitor.connect()).collect();
        for stream in &mut slow {
            stream.write_all(request.as_bytes()).unwrap();
        }
        // All places are taken; this one is answered once they are lost, and drips do not keep them.
        let mut late = visitor.connect();
        late.write_all(visitor.request("GET", "/page").as_bytes())
            .unwrap();
        late.set_read_timeout(Some(Duration::from_millis(50)))
            .unwrap();
        let begin = std::time::Instant::now();
        while late.peek(&mut [0]).is_err() {
            assert!(
                begin.elapsed() < Duration::from_secs(60),
                "{end}: they keep their places"
            );
            for stream in &mut slow {
                _ = stream.write(if end.starts_with("endless") {
                    b"x"
                } else {
                    b""
                });
            }
        }
        late.set_read_timeout(Some(SOON)).unwrap();
        let mut answer = String::new();
        late.read_to_string(&mut answer).unwrap();
        assert!(answer.ends_with("the page"), "{end}: {answer}");
    }
}
