//! What can be printed and sent, with a picture of each.

use maud::{Markup, html};

use super::written;
use crate::output::style::GENERATOR;

/// A document with pictures of its pages.
pub(crate) struct Print {
    /// Its file.
    pub(crate) path: String,
    /// What it is.
    pub(crate) title: String,
    /// Pictures of its first pages, each an address.
    pub(crate) pictures: Vec<String>,
    pub(crate) n_pages: usize,
}

/// The page that shows `prints` and lists `others`, the files without a picture.
pub(crate) fn prints_page(title: &str, prints: &[Print], others: &[String]) -> String {
    let body = html! {
        body .desk {
            header {
                p .kind { "Print and send" }
                h1 { (title) }
                p { a href="/" { "Back to the job" } }
            }
            main .prints {
                @for print in prints { (shown(print)) }
                section aria-labelledby="others" {
                    h2 id="others" { "All other files" }
                    ul .files { @for path in others { li { (link(path)) } } }
                }
            }
            footer { p { "Made by " (GENERATOR) ". Print at 100 %, and measure the squares on the first page." } }
        }
    };
    written(title, &body)
}

fn shown(print: &Print) -> Markup {
    let left = print.n_pages - print.pictures.len();
    html! {
        section {
            h2 { (print.title) }
            p { a href={ "/" (print.path) } { "Open " (print.path) } @if print.path.ends_with(".pdf") { " to print it" } }
            div .pages {
                @for (i, picture) in print.pictures.iter().enumerate() {
                    img src=(picture) loading="lazy" alt={ "Page " (i + 1) " of " (print.path) };
                }
            }
            @if left > 0 { p .about { "and " (left) " more" } }
        }
    }
}

fn link(path: &str) -> Markup {
    html! { a href={ "/" (path) } { (path) } }
}
