//! Who is answered: the browser that was given the address, and nobody else.

use std::io;
use std::sync::Arc;

use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode, Uri, header};
use axum::middleware::Next;
use axum::response::{IntoResponse as _, Response};
use subtle::ConstantTimeEq as _;

/// What only those know who were given the address; another one in each run.
#[derive(Clone)]
pub(super) struct Secret(String);

/// The name of the secret in an address.
const KEY: &str = "key";

impl Secret {
    const N_BYTES: usize = 32;

    /// A secret from the randomness of the operating system.
    pub(super) fn new() -> io::Result<Self> {
        let mut bytes = [0; Self::N_BYTES];
        getrandom::fill(&mut bytes).map_err(io::Error::other)?;
        Ok(Self(bytes.iter().map(|b| format!("{b:02x}")).collect()))
    }

    pub(super) fn as_query(&self) -> String {
        format!("{KEY}={}", self.0)
    }

    /// Whether `text` is the secret. Takes as long for a good guess as for a bad one.
    fn is(&self, text: &str) -> bool {
        self.0.as_bytes().ct_eq(text.as_bytes()).into()
    }
}

/// What a request must show.
pub(super) struct Access {
    secret: Secret,
    /// As requests may name this server.
    hosts: [String; 2],
    /// Cookies hold for all ports of a machine, so two servers need two names.
    cookie: String,
}

/// How a request that is answered knows the secret.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Caller {
    /// By the address.
    First,
    /// By the cookie that the first one was given.
    Later,
}

const NO_SUCH_HOST: &str = "This page is reached by its own address only.\n";
const NO_KEY: &str = "This page opens by the address that warpwise printed when it was started: \
    it holds a key, another one each time.\n";

impl Access {
    pub(super) fn new(secret: Secret, port: u16) -> Self {
        Self {
            secret,
            hosts: ["127.0.0.1", "localhost"].map(|name| format!("{name}:{port}")),
            cookie: format!("warpwise-{port}"),
        }
    }

    /// How the request knows the secret, or what to tell whoever does not.
    fn visit(&self, uri: &Uri, headers: &HeaderMap) -> Result<Caller, &'static str> {
        if !self.is_for_us(uri, headers) {
            return Err(NO_SUCH_HOST);
        }
        let in_address = uri.query().unwrap_or_default().split('&');
        let mut in_address = in_address.filter_map(|pair| pair.split_once('='));
        if in_address.any(|(name, value)| name == KEY && self.secret.is(value)) {
            return Ok(Caller::First);
        }
        let cookies = headers.get_all(header::COOKIE).iter();
        let cookies = cookies.filter_map(|line| line.to_str().ok());
        let mut cookies = (cookies.flat_map(|line| line.split(';')))
            .filter_map(|cookie| cookie.trim().split_once('='));
        match cookies.any(|(name, value)| name == self.cookie && self.secret.is(value)) {
            true => Ok(Caller::Later),
            false => Err(NO_KEY),
        }
    }

    /// Whether the request names this server, once, and comes from no foreign page: a foreign name
    /// may be made to point here.
    fn is_for_us(&self, uri: &Uri, headers: &HeaderMap) -> bool {
        let mut named = headers.get_all(header::HOST).iter();
        let (Some(host), None) = (named.next(), named.next()) else {
            return false;
        };
        let is_ours = |host: &str| self.hosts.iter().any(|own| own.eq_ignore_ascii_case(host));
        let from_here = |origin: &HeaderValue| {
            let origin = origin.to_str().unwrap_or_default();
            origin.strip_prefix("http://").is_some_and(is_ours)
        };
        host.to_str().is_ok_and(is_ours)
            && uri.authority().is_none()
            && headers.get_all(header::ORIGIN).iter().all(from_here)
    }

    fn as_cookie(&self) -> HeaderValue {
        let Self { cookie, secret, .. } = self;
        let text = format!("{cookie}={}; Path=/; HttpOnly; SameSite=Strict", secret.0);
        HeaderValue::from_str(&text).expect("digits and letters")
    }
}

/// What every answer says: kept by nobody, taken for nothing else, shown in no other page, told to
/// no other server.
const SAFE: [(HeaderName, &str); 7] = [
    (header::CACHE_CONTROL, "no-store"),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (header::REFERRER_POLICY, "no-referrer"),
    (
        HeaderName::from_static("cross-origin-resource-policy"),
        "same-origin",
    ),
    (
        HeaderName::from_static("cross-origin-opener-policy"),
        "same-origin",
    ),
    // Styles are written in the pages; scripts are not.
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'none'; script-src 'self'; style-src 'unsafe-inline'; img-src 'self' data:; \
         font-src data:; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    ),
];

/// Lets through who knows the secret, and puts on every answer what keeps it safe.
pub(super) async fn guard(
    State(access): State<Arc<Access>>,
    request: Request,
    next: Next,
) -> Response {
    let visit = access.visit(request.uri(), request.headers());
    let mut response = match visit {
        Ok(_) => next.run(request).await,
        Err(why) => (StatusCode::FORBIDDEN, why).into_response(),
    };
    let headers = response.headers_mut();
    for (name, value) in SAFE {
        headers.insert(name, HeaderValue::from_static(value));
    }
    if visit == Ok(Caller::First) {
        headers.insert(header::SET_COOKIE, access.as_cookie());
    }
    response
}
