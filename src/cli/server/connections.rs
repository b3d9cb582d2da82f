//! Connections: a bounded number, each with a deadline.

use std::pin::pin;
use std::sync::Arc;
use std::time::Duration;

use axum::{Extension, Router};
use futures_util::future::{self, Either};
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, watch};
use tokio::time::{self, Instant};

/// What connections may take.
#[derive(Clone, Copy)]
pub(super) struct Limits {
    /// Most connections at a time; pages that listen count.
    pub(super) most: usize,
    /// The head of a request must have come within this time.
    pub(super) head: Duration,
    /// A connection is over after this time: head, body and answer.
    pub(super) whole: Duration,
}

impl Limits {
    /// For one person with some browsers, as far as the system has descriptors.
    pub(super) fn usual() -> Self {
        Self {
            most: most_by_descriptors().clamp(2, 64),
            head: Duration::from_secs(10),
            whole: Duration::from_secs(30),
        }
    }
}

/// Longest head of a request.
const LONGEST_HEAD: usize = 16 << 10;

/// How long to wait when no connection can be taken, for example for want of descriptors.
const REST: Duration = Duration::from_millis(200);

/// When a connection must be over. A handler whose answer takes long may ask for more.
#[derive(Clone)]
pub(in crate::cli) struct Deadline(Arc<watch::Sender<Instant>>);

impl Deadline {
    /// The connection may last for `time` from now on.
    pub(in crate::cli) fn extend(&self, time: Duration) {
        self.0.send_replace(Instant::now() + time);
    }

    /// Returns when it has passed.
    async fn passed(&self) {
        let mut at = self.0.subscribe();
        loop {
            let now = *at.borrow_and_update();
            if time::timeout_at(now, at.changed()).await.is_err() {
                return;
            }
        }
    }
}

/// Answers by `routes` whoever connects.
pub(super) async fn serve(listener: TcpListener, routes: Router, limits: Limits) {
    let places = Arc::new(Semaphore::new(limits.most));
    loop {
        let place = Arc::clone(&places).acquire_owned().await;
        match listener.accept().await {
            Ok((stream, _)) => {
                let routes = routes.clone();
                tokio::spawn(async move {
                    attend(stream, routes, limits).await;
                    drop(place);
                });
            }
            // It is tried again: what is missing may be there later.
            Err(_) => time::sleep(REST).await,
        }
    }
}

/// Answers one request. Who has gone away, or takes too long, is no fault.
async fn attend(stream: TcpStream, routes: Router, limits: Limits) {
    let deadline = Deadline(Arc::new(watch::Sender::new(Instant::now() + limits.whole)));
    let service = TowerToHyperService::new(routes.layer(Extension(deadline.clone())));
    let answered = http1::Builder::new()
        .keep_alive(false)
        .max_buf_size(LONGEST_HEAD)
        .timer(TokioTimer::new())
        .header_read_timeout(limits.head)
        .serve_connection(TokioIo::new(stream), service);
    let over = pin!(deadline.passed());
    match future::select(answered, over).await {
        Either::Left(_) | Either::Right(_) => {}
    }
}

/// As many connections as there are descriptors for, when everything else has its own.
#[cfg(unix)]
fn most_by_descriptors() -> usize {
    const ALL_ELSE: u64 = 32;
    let limit = rustix::process::getrlimit(rustix::process::Resource::Nofile);
    let free = limit.current.map(|all| all.saturating_sub(ALL_ELSE));
    free.and_then(|free| usize::try_from(free).ok())
        .unwrap_or(usize::MAX)
}

#[cfg(not(unix))]
fn most_by_descriptors() -> usize {
    usize::MAX
}
