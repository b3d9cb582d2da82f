//! The picture as SVG 1.1.

use std::fmt::Write as _;

use super::png::HALO;
use super::{Item, Paint, Picture, WIDTH, Words};
use crate::output::style::{hex, ink};

impl Picture {
    /// The picture as an SVG file.
    #[must_use]
    pub fn svg(&self) -> String {
        let mut text = format!(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" \
             width=\"{WIDTH}\" height=\"{h}\" viewBox=\"0 0 {WIDTH} {h}\" \
             font-family=\"'DejaVu Sans', Verdana, sans-serif\">\n\
             <rect width=\"100%\" height=\"100%\" fill=\"{ground}\"/>\n",
            h = self.height,
            ground = hex(ink::WHITE)
        );
        for item in &self.items {
            match item {
                Item::Lines {
                    runs,
                    closed,
                    paint,
                } => {
                    let data: String = runs.iter().map(|run| data(run, *closed)).collect();
                    _ = writeln!(text, "<path d=\"{data}\" {}/>", attributes(paint));
                }
                Item::Circle {
                    centre: (x, y),
                    radius,
                    paint,
                } => {
                    _ = writeln!(
                        text,
                        "<circle cx=\"{x:.2}\" cy=\"{y:.2}\" r=\"{radius}\" {}/>",
                        attributes(paint)
                    );
                }
                Item::Text(words) => _ = writeln!(text, "{}", element(words)),
                Item::Within([left, top, right, bottom]) => {
                    let (width, height) = (right - left, bottom - top);
                    let extent = format!("{left:.2} {top:.2} {width:.2} {height:.2}");
                    _ = writeln!(
                        text,
                        "<svg x=\"{left:.2}\" y=\"{top:.2}\" width=\"{width:.2}\" \
                         height=\"{height:.2}\" viewBox=\"{extent}\">"
                    );
                }
                Item::Everywhere => text.push_str("</svg>\n"),
            }
        }
        text.push_str("</svg>\n");
        text
    }
}

fn element(words: &Words) -> String {
    let (x, y) = words.at;
    let anchor = if words.centred {
        " text-anchor=\"middle\""
    } else {
        ""
    };
    let turn = if words.turn == 0.0 {
        String::new()
    } else {
        format!(" transform=\"rotate({} {x:.2} {y:.2})\"", -words.turn)
    };
    format!(
        "<text x=\"{x:.2}\" y=\"{y:.2}\" font-size=\"{}\" fill=\"{}\"{anchor}{turn} \
         stroke=\"{}\" stroke-width=\"{HALO}\" paint-order=\"stroke\">{}</text>",
        words.size,
        hex(words.colour),
        hex(words.halo),
        escaped(&words.text)
    )
}

fn data(run: &[(f32, f32)], closed: bool) -> String {
    let mut data = String::new();
    for (i, (x, y)) in run.iter().enumerate() {
        let command = if i == 0 { 'M' } else { 'L' };
        _ = write!(data, "{command}{x:.2} {y:.2}");
    }
    if closed {
        data.push('Z');
    }
    data
}

fn attributes(paint: &Paint) -> String {
    let area = paint.area.map_or_else(|| "none".to_owned(), hex);
    if paint.width == 0.0 {
        return format!("fill=\"{area}\" fill-rule=\"evenodd\"");
    }
    let dashes: Vec<String> = paint.dash.iter().map(f32::to_string).collect();
    let dashes = if dashes.is_empty() {
        String::new()
    } else {
        format!(" stroke-dasharray=\"{}\"", dashes.join(" "))
    };
    format!(
        "fill=\"{area}\" fill-rule=\"evenodd\" stroke=\"{}\" stroke-width=\"{}\"{dashes}",
        hex(paint.line),
        paint.width
    )
}

/// `text` for XML, without the characters XML 1.0 cannot hold.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => out.push(' '),
            c => out.push(c),
        }
    }
    out
}
