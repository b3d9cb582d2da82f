//! Pages for one person at one machine.
//!
//! A server listens on 127.0.0.1 only. That is the machine's, not one user's, so nothing is answered
//! without the [`Secret`](access::Secret) in the address that is printed. What is served are the
//! routes that its maker hands in; access, deadlines and the number of connections are the same for
//! all of them. It runs in a thread of its own, and nothing outside this module is asynchronous but
//! the routes.

mod access;
mod connections;
pub(super) mod events;
pub(super) mod files;

use std::io;
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::sync::Arc;
use std::thread;

use axum::{Router, middleware};

use self::access::{Access, Secret};
use self::connections::Limits;
use super::{Failure, messages};
use crate::diag::{Diagnostic, Place};

/// A running server; it serves until the process ends.
pub(super) struct Server {
    address: SocketAddr,
    secret: Secret,
}

/// What `offer` makes of the port that is asked for, else of the `usual` one, or of any that is free; tells
/// why `page` cannot be offered.
pub(super) fn offered<T>(
    port: Option<u16>,
    usual: u16,
    page: &str,
    offer: impl Fn(u16) -> io::Result<T>,
) -> Result<T, Failure> {
    let offered = match port {
        Some(port) => offer(port),
        None => offer(usual).or_else(|_| offer(0)),
    };
    offered.map_err(|e| {
        messages::show(
            &Diagnostic::error(format!("{page} cannot be offered: {e}"))
                .at(Place::File("--port".to_owned()))
                .help("name another port, or 0 for any that is free"),
        );
        Failure::Output
    })
}

impl Server {
    /// Serves `routes` on `port` of this machine, or on a free one if it is 0.
    pub(super) fn start(port: u16, routes: Router) -> io::Result<Self> {
        Self::start_within(Limits::usual(), port, routes)
    }

    fn start_within(limits: Limits, port: u16, routes: Router) -> io::Result<Self> {
        let secret = Secret::new()?;
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port))?;
        listener.set_nonblocking(true)?;
        let address = listener.local_addr()?;
        let access = Arc::new(Access::new(secret.clone(), address.port()));
        let routes = routes.layer(middleware::from_fn_with_state(access, access::guard));
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()?;
        let listener = {
            let _entered = runtime.enter();
            tokio::net::TcpListener::from_std(listener)?
        };
        thread::Builder::new()
            .name("server".to_owned())
            .spawn(move || runtime.block_on(connections::serve(listener, routes, limits)))?;
        Ok(Self { address, secret })
    }

    /// The address of the page at `path`, with the secret.
    pub(super) fn address(&self, path: &str) -> String {
        format!("http://{}{path}?{}", self.address, self.secret.as_query())
    }
}

#[cfg(test)]
pub(super) mod tests;
