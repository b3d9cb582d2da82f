//! The look as custom properties of CSS, which the pages' own style sheets use.

use std::fmt::Write as _;

use super::palette::{DARK, LIGHT, PRINT, Scheme, hex};
use super::stroke::{self, pixels};

/// Properties of pages for screens, light or dark as the reader has it, and for print.
pub(in crate::output) fn screen_css() -> String {
    let (light, dark, print) = (colours(&LIGHT), colours(&DARK), colours(&PRINT));
    let scale = scale();
    format!(
        ":root {{ color-scheme: light dark; {light}{scale}}}\n\
         @media screen and (prefers-color-scheme: dark) {{ :root {{ {dark}}} }}\n\
         @media print {{ :root {{ color-scheme: light; {print}}} }}\n"
    )
}

/// Properties of sheets that are paper wherever they are shown.
pub(in crate::output) fn paper_css() -> String {
    let (print, scale) = (colours(&PRINT), scale());
    format!(":root {{ color-scheme: light; {print}{scale}}}\n")
}

fn colours(scheme: &Scheme) -> String {
    let named = [
        ("paper", scheme.paper),
        ("card", scheme.card),
        ("ink", scheme.ink),
        ("soft", scheme.soft),
        ("rule", scheme.rule),
        ("accent", scheme.accent),
        ("warn", scheme.warn),
        ("cloth", scheme.cloth),
        ("unused", scheme.unused),
        ("cut", scheme.cut),
        ("net", scheme.net),
        ("fibre", scheme.fibre),
        ("mark", scheme.mark),
        ("splice", scheme.splice),
        ("flaw", scheme.flaw),
        ("keep", scheme.keep),
        ("hatch", scheme.hatch),
        ("strong", scheme.strong),
        ("mid", scheme.mid),
    ];
    let mut text = String::new();
    for (name, colour) in named {
        _ = write!(text, "--{name}: {}; ", hex(colour));
    }
    for (n, tint) in scheme.tints.iter().enumerate() {
        _ = write!(text, "--t{n}: {}; ", hex(*tint));
    }
    text
}

/// Sizes of text, widths of lines, dashes: the same in every scheme.
fn scale() -> String {
    let mut text = String::from(
        "--font: system-ui, \"Segoe UI\", Roboto, \"Helvetica Neue\", Arial, sans-serif; \
         --title: clamp(1.7rem, 5vw, 2.4rem); --heading: 1.375rem; --subheading: 1.125rem; \
         --note: .875rem; --small: .8125rem; ",
    );
    for (name, width) in [
        ("hatch", stroke::HATCH),
        ("thin", stroke::THIN),
        ("line", stroke::LINE),
        ("bold", stroke::BOLD),
    ] {
        _ = write!(text, "--{name}-width: {:.2}px; ", pixels(width));
    }
    let (net, frame, keep) = (stroke::NET_DASH, stroke::FRAME_DASH, stroke::KEEP_DASH);
    let [dash, gap, dot, gap_after] = stroke::SPLICE_DASH;
    _ = write!(
        text,
        "--net-dash: {} {}; --frame-dash: {} {}; --keep-dash: {} {}; \
         --splice-dash: {dash} {gap} {dot} {gap_after}; ",
        net[0], net[1], frame[0], frame[1], keep[0], keep[1]
    );
    text
}
