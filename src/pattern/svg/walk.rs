//! The tree of elements → shapes and texts, with transforms, layers, `use` and what is hidden.

use std::collections::{BTreeMap, HashMap};

use roxmltree::{Document, Node};
use svgtypes::Transform;

use super::size::{DrawingPage, nested, user_units};
use super::style::{Style, Styles};
use super::{SVG, path, shapes, transform};
use crate::diag::{Diagnostic, Place, counted, shortened};
use crate::geometry::Point;
use crate::pattern::PatternText;
use crate::pattern::affine::Affine;
use crate::pattern::flatten::{Chords, CurvePen};
use crate::pattern::settings::Colour;
use crate::pattern::shape::{Id, Quota, RawDrawing, RawShape, Stroke};

/// The namespace in which layers are marked: an open convention of SVG editors.
const LAYERS: &str = "http://www.inkscape.org/namespaces/inkscape";
const XLINK: &str = "http://www.w3.org/1999/xlink";

/// How deep elements may be nested, `use` counted in.
const MOST_LEVELS: usize = 200;

/// Elements that may be visited beyond twice those of the file; `use` can ask for more than any file
/// could hold.
const COPIED_ELEMENTS: usize = 200_000;

/// Bytes of attributes, texts and styles that may be read for the sake of `use` and style sheets, beyond
/// three times the file's size.
const COPIED_BYTES: usize = 16 << 20;

/// Longest text that can be a colour.
const LONGEST_COLOUR: usize = 100;

/// Letters of the user's text that a message shows.
const LETTERS_SHOWN: usize = 80;

/// Draws everything that `document` shows into `drawing`.
pub(super) fn walk(
    document: &Document<'_>,
    page: &DrawingPage,
    chords: &Chords,
    drawing: RawDrawing,
) -> RawDrawing {
    let mut by_id = HashMap::new();
    let mut elements = 0;
    for node in document.descendants().filter(Node::is_element) {
        elements += 1;
        if let Some(id) = node.attribute("id") {
            by_id.entry(id).or_insert(node);
        }
    }
    let mut walker = Walker {
        document,
        view: page.view,
        chords,
        styles: Styles::of(document, document.input_text().len()),
        by_id,
        drawing,
        unnamed: BTreeMap::new(),
        hidden: 0,
        visits: Quota::new(COPIED_ELEMENTS + 2 * elements),
        bytes: Quota::new(COPIED_BYTES + 3 * document.input_text().len()),
    };
    let top = Inherited {
        to_mm: page.to_mm,
        layer: None,
        group: None,
        named: None,
        visible: true,
        stroke: None,
        fill: None,
        depth: 0,
    };
    walker.children(document.root_element(), &top);
    walker.finish()
}

/// What an element inherits.
#[derive(Clone, Debug)]
struct Inherited<'a> {
    to_mm: Affine,
    /// Label of the nearest layer group.
    layer: Option<&'a str>,
    /// Id of the outermost group that has one.
    group: Option<&'a str>,
    /// Id of the `use` that shows this, for shapes it refers to directly.
    named: Option<&'a str>,
    visible: bool,
    stroke: Option<&'a str>,
    fill: Option<&'a str>,
    depth: usize,
}

impl<'a> Inherited<'a> {
    fn layer_name(&self) -> &'a str {
        self.layer.or(self.group).unwrap_or_default()
    }
}

struct Walker<'a, 'input> {
    document: &'a Document<'input>,
    view: (f64, f64),
    chords: &'a Chords,
    styles: Styles<'a>,
    by_id: HashMap<&'a str, Node<'a, 'input>>,
    drawing: RawDrawing,
    /// How many elements of a name had no id.
    unnamed: BTreeMap<&'static str, usize>,
    hidden: usize,
    /// Elements that may be visited.
    visits: Quota,
    /// Bytes of the file that may be read.
    bytes: Quota,
}

impl<'a, 'input> Walker<'a, 'input> {
    fn children(&mut self, parent: Node<'a, 'input>, context: &Inherited<'a>) {
        for child in parent.children().filter(Node::is_element) {
            self.element(child, context);
        }
    }

    fn element(&mut self, node: Node<'a, 'input>, outer: &Inherited<'a>) {
        let name = node.tag_name();
        if name.namespace().is_some_and(|n| n != SVG) {
            return;
        }
        if !self.pay_for(node) {
            return;
        }
        if outer.depth > MOST_LEVELS {
            let message = format!("elements are nested more than {MOST_LEVELS} deep; left out");
            return self.fault(node, message);
        }
        let style = self.styles.style(node);
        if style.no_display {
            self.hidden += 1;
            return;
        }
        let Some(context) = self.inside(node, outer, &style) else {
            return;
        };
        match name.name() {
            "g" | "a" | "switch" => self.group(node, context),
            "svg" => self.viewport(node, context, None),
            "use" => self.reference(node, &context),
            "path" => self.path(node, &context),
            "rect" => self.basic_shape("rect", node, &context),
            "circle" => self.basic_shape("circle", node, &context),
            "ellipse" => self.basic_shape("ellipse", node, &context),
            "line" => self.basic_shape("line", node, &context),
            "polyline" => self.basic_shape("polyline", node, &context),
            "polygon" => self.basic_shape("polygon", node, &context),
            "text" => self.text(node, &context),
            // Shown only where something refers to them, or not at all.
            "defs" | "symbol" | "clipPath" | "mask" | "pattern" | "marker" | "linearGradient"
            | "radialGradient" | "filter" | "style" | "script" | "metadata" | "title" | "desc"
            | "view" | "cursor" | "color-profile" | "font" | "animate" | "animateTransform"
            | "animateMotion" | "set" => {}
            other => self.drawing.pass_over(other),
        }
    }

    /// Pays for a visit of `node` and its attributes; whether there was enough.
    fn pay_for(&mut self, node: Node<'a, 'input>) -> bool {
        let attributes = node.attributes();
        let bytes: usize = attributes.map(|a| a.name().len() + a.value().len()).sum();
        let may = self.visits.spend(1) && self.bytes.spend(bytes + node.tag_name().name().len());
        may && !self.styles.is_over() && !self.drawing.is_full()
    }

    /// What holds inside `node`, or `None` if its transform cannot be read.
    fn inside(
        &mut self,
        node: Node<'a, 'input>,
        outer: &Inherited<'a>,
        style: &Style<'a>,
    ) -> Option<Inherited<'a>> {
        let mut context = Inherited {
            visible: style.visible.unwrap_or(outer.visible),
            stroke: style.stroke.or(outer.stroke),
            fill: style.fill.or(outer.fill),
            depth: outer.depth + 1,
            ..outer.clone()
        };
        match self.own_transform(node, style) {
            Ok(Some(own)) => context.to_mm = outer.to_mm.after(&own),
            Ok(None) => {}
            Err(fault) => {
                self.fault(node, fault);
                return None;
            }
        }
        if !context.to_mm.is_finite() {
            self.fault(node, "its transform is too large".to_owned());
            return None;
        }
        Some(context)
    }

    /// The element's own map: the `transform` property, else the attribute.
    fn own_transform(
        &mut self,
        node: Node<'a, 'input>,
        style: &Style<'a>,
    ) -> Result<Option<Affine>, String> {
        let unreadable = |text: &str, error: String| {
            let (text, error) = (
                shortened(text, LETTERS_SHOWN),
                shortened(&error, LETTERS_SHOWN),
            );
            format!("its transform \"{text}\" cannot be read: {error}")
        };
        // A style sheet may give one to every element.
        let sheet = [style.transform, style.transform_origin];
        let bytes: usize = sheet.into_iter().flatten().map(str::len).sum();
        if !self.bytes.spend(bytes) {
            return Ok(None);
        }
        if let Some(text) = style.transform {
            return transform::css(text, style.transform_origin, self.view)
                .map(Some)
                .map_err(|error| unreadable(text, error));
        }
        let Some(text) = node.attribute("transform") else {
            return Ok(None);
        };
        let own = match text.parse::<Transform>() {
            Ok(t) => Affine::new(t.a, t.b, t.c, t.d, t.e, t.f),
            Err(error) => return Err(unreadable(text, error.to_string())),
        };
        let (x, y) = match style.transform_origin {
            Some(origin) => transform::origin(origin, self.view)?,
            None => (0.0, 0.0),
        };
        let about = Affine::shift(x, y).after(&own);
        Ok(Some(about.after(&Affine::shift(-x, -y))))
    }

    fn group(&mut self, node: Node<'a, 'input>, mut context: Inherited<'a>) {
        if node.attribute((LAYERS, "groupmode")) == Some("layer") {
            let label = node.attribute((LAYERS, "label")).or(node.attribute("id"));
            context.layer = label.map(|l| self.drawing.short_name(l));
        }
        if context.group.is_none() {
            context.group = node.attribute("id").map(|id| self.drawing.short_name(id));
        }
        context.named = None;
        self.children(node, &context);
    }

    /// An inner `svg` or, shown by a `use`, a `symbol`: a viewport of its own (SVG 1.1, §7.9).
    fn viewport(
        &mut self,
        node: Node<'a, 'input>,
        mut context: Inherited<'a>,
        size: Option<[Option<&'a str>; 2]>,
    ) {
        let of = |attribute: &str, whole: f64| {
            let text = node.attribute(attribute)?;
            user_units(text, whole).ok()
        };
        let (x, y) = (of("x", self.view.0), of("y", self.view.1));
        let mut width = of("width", self.view.0).unwrap_or(self.view.0);
        let mut height = of("height", self.view.1).unwrap_or(self.view.1);
        if let Some([w, h]) = size {
            let stated = |text: Option<&str>, whole| text.and_then(|t| user_units(t, whole).ok());
            width = stated(w, self.view.0).unwrap_or(width);
            height = stated(h, self.view.1).unwrap_or(height);
        }
        context.to_mm = context
            .to_mm
            .after(&Affine::shift(x.unwrap_or(0.0), y.unwrap_or(0.0)))
            .after(&nested(node, (width, height)));
        context.named = None;
        self.children(node, &context);
    }

    fn reference(&mut self, node: Node<'a, 'input>, context: &Inherited<'a>) {
        let href = node.attribute("href").or(node.attribute((XLINK, "href")));
        let target = href
            .and_then(|h| h.trim().strip_prefix('#'))
            .and_then(|id| self.by_id.get(id).copied());
        let Some(target) = target else {
            let href = shortened(href.unwrap_or_default(), LETTERS_SHOWN);
            return self.fault(
                node,
                format!("it refers to \"{href}\", which is not in the file"),
            );
        };
        let at = |name: &str, whole: f64| {
            let text = node.attribute(name).unwrap_or("0");
            user_units(text, whole).unwrap_or(0.0)
        };
        let shift = Affine::shift(at("x", self.view.0), at("y", self.view.1));
        let inner = Inherited {
            to_mm: context.to_mm.after(&shift),
            named: node.attribute("id"),
            ..context.clone()
        };
        if matches!(target.tag_name().name(), "symbol" | "svg") {
            if !self.pay_for(target) {
                return;
            }
            let size = [node.attribute("width"), node.attribute("height")];
            let style = self.styles.style(target);
            if let (false, Some(inner)) = (style.no_display, self.inside(target, &inner, &style)) {
                if inner.depth > MOST_LEVELS {
                    let message = format!("`use` is nested more than {MOST_LEVELS} deep");
                    return self.fault(node, message);
                }
                self.viewport(target, inner, Some(size));
            }
        } else {
            self.element(target, &inner);
        }
    }

    fn path(&mut self, node: Node<'a, 'input>, context: &Inherited<'a>) {
        let Some(layer) = self.layer_if_wanted(context) else {
            return;
        };
        let d = node.attribute("d").unwrap_or_default();
        let drawn = path::draw(d, CurvePen::new(context.to_mm, self.chords));
        if let Some(fault) = drawn.fault {
            self.fault(node, format!("its data (attribute d) is broken: {fault}"));
        }
        self.push("path", node, context, layer, drawn.strokes);
    }

    fn basic_shape(&mut self, kind: &'static str, node: Node<'a, 'input>, context: &Inherited<'a>) {
        let Some(layer) = self.layer_if_wanted(context) else {
            return;
        };
        match shapes::draw(node, self.view, CurvePen::new(context.to_mm, self.chords)) {
            Ok(strokes) => self.push(kind, node, context, layer, strokes),
            Err(fault) => self.fault(node, fault),
        }
    }

    /// The layer of a shape; `None` for one that is hidden or left out, which is counted and never
    /// drawn.
    fn layer_if_wanted(&mut self, context: &Inherited<'a>) -> Option<usize> {
        if !context.visible {
            self.hidden += 1;
            return None;
        }
        let layer = self.drawing.layer(context.layer_name());
        (self.drawing.takes(layer, colour(context))).then_some(layer)
    }

    fn push(
        &mut self,
        kind: &'static str,
        node: Node<'a, 'input>,
        context: &Inherited<'a>,
        layer: usize,
        strokes: Vec<Stroke>,
    ) {
        if strokes.is_empty() {
            return;
        }
        let named = context.named.or(node.attribute("id"));
        let named = named.filter(|id| !id.is_empty());
        let named = named.map(|id| self.drawing.short_name(id));
        let role = match named {
            Some(id) => self.drawing.role_by_id(layer, id),
            None => self.drawing.layers[layer].role,
        };
        let id = named.map_or_else(
            || {
                let n = self.unnamed.entry(kind).or_default();
                *n += 1;
                format!("{kind}-{n}")
            },
            str::to_owned,
        );
        self.drawing.push(RawShape {
            kind,
            id: Id::Named(id.into()),
            layer,
            role,
            strokes: strokes.into(),
        });
    }

    fn text(&mut self, node: Node<'a, 'input>, context: &Inherited<'a>) {
        if !context.visible {
            return;
        }
        let parts = || node.descendants().filter(Node::is_text);
        let bytes: usize = parts().map(|n| n.text().map_or(0, str::len)).sum();
        if !self.bytes.spend(bytes + node.descendants().count()) {
            return;
        }
        let is_blank = |n: &Node<'_, '_>| n.text().unwrap_or_default().trim().is_empty();
        let first = parts().find(|n| !is_blank(n)).unwrap_or(node);
        // The nearest element around the first letter that has a position gives it.
        let stated = |name: &str, whole: f64| {
            let around = first.ancestors().take_while(|n| Some(*n) != node.parent());
            let value = around.filter_map(|n| n.attribute(name)).next();
            let value = value.and_then(|t| t.split([',', ' ']).find(|t| !t.is_empty()));
            value.and_then(|t| user_units(t, whole).ok()).unwrap_or(0.0)
        };
        let at = Point::new(stated("x", self.view.0), stated("y", self.view.1));
        let mut words: Vec<&str> = Vec::new();
        for part in parts() {
            words.extend(part.text().unwrap_or_default().split_whitespace());
        }
        let at = context.to_mm.point(at);
        if !words.is_empty() && at.is_finite() {
            self.drawing.push_text(PatternText {
                text: words.join(" "),
                layer: context.layer_name().to_owned(),
                at,
            });
        }
    }

    fn fault(&mut self, node: Node<'a, 'input>, what: String) {
        let document = self.document;
        self.drawing.fault(|drawing| {
            let name = node.tag_name().name();
            let name = shortened(name, LETTERS_SHOWN);
            let element = match node.attribute("id") {
                Some(id) => format!("{name} \"{}\"", shortened(id, LETTERS_SHOWN)),
                None => name.into_owned(),
            };
            Diagnostic::error(format!("{element}: {what}")).at(Place::Line {
                file: drawing.file.clone(),
                line: document.text_pos_at(node.range().start).row as usize,
            })
        });
    }

    /// The drawing, with a word on everything that was not read.
    fn finish(self) -> RawDrawing {
        let mut drawing = self.drawing;
        drawing.tell_more_faults("more element", "more elements");
        for (is_over, message) in [
            (
                self.visits.is_over(),
                "`use` makes too many elements of this file, so only a part was read",
            ),
            (
                self.bytes.is_over(),
                "`use` and styles copy so much of this file that only a part of it was read",
            ),
            (
                self.styles.is_over(),
                "the style sheets have too many rules for so many elements, so only a part was read",
            ),
        ] {
            if is_over {
                drawing.problem(Diagnostic::error(message));
            }
        }
        drawing.tell_not_read();
        drawing.note_if_any(self.hidden, |n| {
            counted(n, "hidden element", "hidden elements") + " left out"
        });
        drawing
    }
}

/// The colour of a shape's line, or of its area if it has none.
fn colour(context: &Inherited<'_>) -> Option<Colour> {
    let read = |paint: Option<&str>| {
        let paint = paint.filter(|&p| p.len() <= LONGEST_COLOUR && p != "none")?;
        paint.parse().ok().or_else(|| {
            // The initial value of `color` is black for all that is known here.
            (paint == "currentColor").then_some(Colour::Rgb([0, 0, 0]))
        })
    };
    // What is not stated is filled black and has no line (SVG 1.1, §11.3 and §11.4).
    read(context.stroke).or_else(|| read(Some(context.fill.unwrap_or("black"))))
}
