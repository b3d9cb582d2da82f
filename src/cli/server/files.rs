//! Files of a plan as they are served: with their kind, and pages without a script in them.

use axum::body::Bytes;
use axum::http::header;
use axum::response::IntoResponse;

pub(in crate::cli) use crate::output::REPORT_SCRIPT as REPORT;

/// A script of the program.
pub(in crate::cli) fn script(text: &'static str) -> impl IntoResponse {
    let kind = "text/javascript; charset=utf-8";
    ([(header::CONTENT_TYPE, kind)], text)
}

/// What the file `name` holds.
pub(in crate::cli) fn kind(name: &str) -> &'static str {
    match name.rsplit_once('.').map(|(_, ending)| ending) {
        Some("html") => "text/html; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("png") => "image/png",
        Some("json") => "application/json",
        Some("csv") => "text/csv; charset=utf-8",
        Some("pdf") => "application/pdf",
        _ => "application/octet-stream",
    }
}

/// `page` with its own script from a file, and `at_end` at its end.
pub(in crate::cli) fn as_served(page: &[u8], at_end: &str) -> Vec<u8> {
    let text = String::from_utf8_lossy(page);
    let own = format!("<script>{REPORT}</script>");
    let text = text.replacen(&own, "<script src=\"/-/report.js\"></script>", 1);
    let at = text.rfind("</body>").unwrap_or(text.len());
    [&text[..at], at_end, &text[at..]].concat().into_bytes()
}

/// The answer that holds the file `name`, with `at_end` at the end of a page.
pub(in crate::cli) fn served(name: &str, bytes: &Bytes, at_end: &str) -> impl IntoResponse + use<> {
    let bytes = match name.ends_with(".html") {
        true => Bytes::from(as_served(bytes, at_end)),
        false => bytes.clone(),
    };
    ([(header::CONTENT_TYPE, kind(name))], bytes)
}
