//! The picture as SVG 1.1.

use std::fmt::Write as _;

use super::{Colour, Item, Paint, Picture, WIDTH};

impl Picture {
    /// The picture as an SVG file.
    #[must_use]
    pub fn svg(&self) -> String {
        let mut text = format!(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" \
             width=\"{WIDTH}\" height=\"{h}\" viewBox=\"0 0 {WIDTH} {h}\" \
             font-family=\"'DejaVu Sans', Verdana, sans-serif\">\n\
             <rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>\n",
            h = self.height
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
                Item::Text {
                    at: (x, y),
                    size,
                    text: words,
                    colour,
                    centred,
                } => {
                    let anchor = if *centred {
                        " text-anchor=\"middle\""
                    } else {
                        ""
                    };
                    _ = writeln!(
                        text,
                        "<text x=\"{x:.2}\" y=\"{y:.2}\" font-size=\"{size}\" fill=\"{}\"{anchor} \
                         stroke=\"#ffffff\" stroke-width=\"3\" paint-order=\"stroke\">{}</text>",
                        hex(*colour),
                        escaped(words)
                    );
                }
            }
        }
        text.push_str("</svg>\n");
        text
    }
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
    let dashes = if paint.dashed {
        " stroke-dasharray=\"10 5\""
    } else {
        ""
    };
    format!(
        "fill=\"{area}\" fill-rule=\"evenodd\" stroke=\"{}\" stroke-width=\"{}\"{dashes}",
        hex(paint.line),
        paint.width
    )
}

fn hex([r, g, b]: Colour) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
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
