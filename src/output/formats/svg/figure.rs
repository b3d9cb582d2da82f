//! Drawings as SVG inside HTML, where the page's style sheet gives them their look.

use std::borrow::Cow;

use maud::{Markup, html};

use super::elements::Scale;
use crate::geometry::Point;
use crate::number::number;
use crate::output::drawing::figure::{Figure, Look};
use crate::output::drawing::shape::{Align, Drawing, Shape, TextLine};
use crate::output::style::CAPITALS_PER_SIZE;

/// How a shape looks: its classes in the style sheet, and one attribute that says what no sheet can know.
#[derive(Clone, Debug)]
pub(in crate::output) struct ClassLook {
    class: Cow<'static, str>,
    own: Option<(&'static str, String)>,
}

/// A drawing in a page: units with y down, written with so many decimals.
pub(in crate::output) struct ChartView<'a> {
    /// Its class in the style sheet.
    pub(in crate::output) class: &'a str,
    /// What of the drawing is shown: left, top, width, height.
    pub(in crate::output) shown: [f64; 4],
    pub(in crate::output) decimals: i32,
    /// Whether it fills its place whatever becomes of its proportions.
    pub(in crate::output) is_stretched: bool,
    /// What it shows, for those who cannot see it; none where the words beside it say so.
    pub(in crate::output) label: Option<String>,
}

impl From<&'static str> for ClassLook {
    fn from(class: &'static str) -> Self {
        let class = Cow::Borrowed(class);
        Self { class, own: None }
    }
}

impl From<String> for ClassLook {
    fn from(class: String) -> Self {
        let class = Cow::Owned(class);
        Self { class, own: None }
    }
}

impl From<Look> for ClassLook {
    fn from(look: Look) -> Self {
        let styled = Self::from(look.class());
        match look {
            Look::Region(shade) => styled.with("fill-opacity", format!("{shade:.2}")),
            // Opaque: bands lie over the white of the part, and lines over them.
            Look::Shear(shade) => {
                let percent = number(100.0 * shade, 0);
                styled.with(
                    "style",
                    format!("fill:color-mix(in srgb, var(--strong) {percent}%, var(--card))"),
                )
            }
            _ => styled,
        }
    }
}

impl ClassLook {
    /// With an attribute of its own.
    pub(in crate::output) fn with(self, name: &'static str, value: String) -> Self {
        let own = Some((name, value));
        Self { own, ..self }
    }

    /// Filled with the pattern `id`.
    pub(in crate::output) fn filled(self, id: &str) -> Self {
        self.with("style", format!("fill:url(#{id})"))
    }

    /// `shape` as elements of HTML.
    pub(in crate::output) fn markup(&self, scale: &Scale, shape: &Shape) -> Markup {
        let class = Some(("class", &*self.class)).filter(|(_, class)| !class.is_empty());
        let own = self.own.iter().map(|(name, value)| (*name, value.as_str()));
        scale.markup(shape, &class.into_iter().chain(own).collect::<Vec<_>>())
    }
}

impl Drawing<ClassLook> {
    /// Adds a level text in letters of this size, from `at` on; a class may put another end there.
    pub(in crate::output) fn words(
        &mut self,
        look: impl Into<ClassLook>,
        at: (f64, f64),
        size: f64,
        text: impl Into<String>,
    ) {
        let at = Point::new(at.0, at.1);
        let line = TextLine::level(text, at, Align::Left, size * CAPITALS_PER_SIZE);
        self.add(look.into(), None, Shape::Text(line));
    }
}

/// The scale of a page where y runs down.
pub(in crate::output) const fn on_page(decimals: i32) -> Scale {
    Scale {
        factor: 1.0,
        top: None,
        decimals,
        has_arcs: false,
    }
}

/// The shapes of `drawing`, in a scale of their own.
pub(in crate::output) fn shapes(drawing: &Drawing<ClassLook>, scale: &Scale) -> Markup {
    html! { @for item in &drawing.items { (item.layer.markup(scale, &item.shape)) } }
}

impl ChartView<'_> {
    /// `drawing` as an element of HTML.
    pub(in crate::output) fn svg(&self, drawing: &Drawing<ClassLook>) -> Markup {
        let [left, top, width, height] = self.shown;
        let hidden = self.label.is_none().then_some("true");
        html! {
            svg class=(self.class) viewBox=(format!("{left} {top} {width} {height}"))
                preserveAspectRatio=[self.is_stretched.then_some("none")]
                role=[self.label.as_ref().map(|_| "img")] aria-label=[&self.label] aria-hidden=[hidden] {
                (shapes(drawing, &on_page(self.decimals)))
            }
        }
    }
}

/// A pattern that fills areas, so long and so wide from one to the next, and turned.
pub(in crate::output) fn pattern(
    id: &str,
    (length, width): (f64, f64),
    turn: Option<String>,
    drawing: &Drawing<ClassLook>,
) -> Markup {
    html! {
        pattern id=(id) patternUnits="userSpaceOnUse" width=(number(length, 2)) height=(number(width, 2))
            patternTransform=[turn.map(|degrees| format!("rotate({degrees})"))] {
            (shapes(drawing, &on_page(2)))
        }
    }
}

/// Patterns for the drawings of a page.
pub(in crate::output) fn patterns(all: &[Markup]) -> Markup {
    html! {
        svg .defs width="0" height="0" aria-hidden="true" { defs { @for one in all { (one) } } }
    }
}

/// `figure` inside a page in HTML.
pub(in crate::output) fn svg_figure(figure: &Figure) -> Markup {
    html! {
        svg class=(figure.kind) role="img" viewBox=(format!("0 0 {:.0} {:.0}", figure.width, figure.height))
            style=(format!("--wide:{:.0}px", figure.width)) aria-label=(figure.title) {
            @for item in &figure.drawing.items { (of_figure(item.layer, &item.shape)) }
        }
    }
}

fn of_figure(look: Look, shape: &Shape) -> Markup {
    let mut styled = ClassLook::from(look);
    if let Shape::Text(line) = shape
        && line.height != look.size() * CAPITALS_PER_SIZE
    {
        let size = number(line.height / CAPITALS_PER_SIZE, 1);
        // The style sheet would overrule a size of the element's own.
        styled = styled.with("style", format!("font-size:{size}px"));
    }
    styled.markup(&on_page(1), shape)
}
