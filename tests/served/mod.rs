//! A page that the program serves, ended with the test.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

pub(crate) struct Served {
    child: Child,
    host: String,
    key: String,
    n_lines: Arc<AtomicUsize>,
}

impl Drop for Served {
    fn drop(&mut self) {
        _ = self.child.kill();
        _ = self.child.wait();
    }
}

impl Served {
    /// Runs the program, whose first line holds the address of a page at `path`.
    pub(crate) fn start(folder: &Path, arguments: &[&str], path: &str) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_warpwise"))
            .args(arguments)
            .current_dir(folder)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let first = lines.next().unwrap().unwrap();
        let n_lines = Arc::new(AtomicUsize::new(1));
        let counted = Arc::clone(&n_lines);
        // Read on, so that the pipe never fills.
        std::thread::spawn(move || lines.for_each(|_| _ = counted.fetch_add(1, Ordering::SeqCst)));
        let (_, rest) = first.split_once("http://").unwrap();
        let (host, rest) = rest.split_once(&format!("{path}?key=")).unwrap();
        let key = rest.split(' ').next().unwrap();
        Self {
            child,
            host: host.to_owned(),
            key: key.to_owned(),
            n_lines,
        }
    }

    /// How many lines it has printed.
    pub(crate) fn n_lines(&self) -> usize {
        self.n_lines.load(Ordering::SeqCst)
    }

    /// Status and body of the answer.
    pub(crate) fn ask(&self, method: &str, path: &str, body: &str) -> (u16, String) {
        let mut stream = TcpStream::connect(&self.host).unwrap();
        let Self { host, key, .. } = self;
        let n = body.len();
        let request = format!(
            "{method} {path}?key={key} HTTP/1.1\r\nHost: {host}\r\nContent-Length: {n}\r\n\r\n{body}"
        );
        stream.write_all(request.as_bytes()).unwrap();
        let mut answer = Vec::new();
        stream.read_to_end(&mut answer).unwrap();
        let answer = String::from_utf8_lossy(&answer).into_owned();
        let (head, body) = answer.split_once("\r\n\r\n").unwrap();
        (
            head["HTTP/1.1 ".len()..][..3].parse().unwrap(),
            body.to_owned(),
        )
    }
}
