//! Keys to drawings and charts: a chip of what is drawn, and what it means.

use maud::{Markup, html};

/// The key called `name`.
pub(in crate::output::pages) fn key(name: &str, entries: &[(Markup, String)]) -> Markup {
    html! {
        ul .key aria-label=(name) { @for (chip, words) in entries { li { (chip) (words) } } }
    }
}

/// A chip that shows `within`, in a box of 28 × 16.
pub(in crate::output::pages) fn chip(within: &Markup) -> Markup {
    html! { svg .chip viewBox="0 0 28 16" aria-hidden="true" { (within) } }
}

/// A chip of an area with the look of `class`.
pub(in crate::output::pages) fn area(class: &str) -> Markup {
    chip(&html! { rect class=(class) x="1" y="1" width="26" height="14" {} })
}

/// A chip of a line with the look of `class`.
pub(in crate::output::pages) fn line(class: &str) -> Markup {
    chip(&html! { path class=(class) d="M1,8H27" {} })
}
