//! Style, as far as it hides, moves or colours things: attributes, style sheets, `style`.

use roxmltree::{Document, Node};
use simplecss::{AttributeOperator, DeclarationTokenizer, Element, PseudoClass, StyleSheet};

/// What style says of one element. Text is as written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Style<'a> {
    /// `display: none`: neither the element nor what is in it.
    pub(super) no_display: bool,
    /// `visibility`, if stated: what is in it may say otherwise.
    pub(super) visible: Option<bool>,
    /// The `transform` property, which overrules the attribute.
    pub(super) transform: Option<&'a str>,
    /// The `transform-origin` property or attribute.
    pub(super) transform_origin: Option<&'a str>,
    /// `stroke`, if stated here.
    pub(super) stroke: Option<&'a str>,
    /// `fill`, if stated here.
    pub(super) fill: Option<&'a str>,
}

/// Properties that are also presentation attributes (SVG 2, §6.6). `transform` is one too, but its
/// attribute has a grammar of its own.
const ATTRIBUTES: [&str; 5] = [
    "display",
    "visibility",
    "transform-origin",
    "stroke",
    "fill",
];

/// All style sheets of a document.
pub(super) struct Styles<'a>(StyleSheet<'a>);

impl<'a> Styles<'a> {
    pub(super) fn of(document: &'a Document<'_>) -> Self {
        let mut sheet = StyleSheet::new();
        let styles = document
            .descendants()
            .filter(|n| n.tag_name().name() == "style");
        for node in styles.flat_map(|n| n.children()) {
            sheet.parse_more(node.text().unwrap_or_default());
        }
        // Only the rules that say something of interest are worth matching.
        sheet.rules.retain(|rule| {
            let mut names = rule.declarations.iter().map(|d| d.name);
            names.any(|n| n == "transform" || ATTRIBUTES.contains(&n))
        });
        Self(sheet)
    }

    /// Attributes, then style sheets in the order of their weight, then the `style` attribute; then
    /// once more what is marked `!important` (CSS Cascade 3, §6.1).
    pub(super) fn style(&self, node: Node<'a, '_>) -> Style<'a> {
        let mut style = Style::default();
        for name in ATTRIBUTES {
            if let Some(value) = node.attribute(name) {
                style.set(name, value);
            }
        }
        let own = node.attribute("style").unwrap_or_default();
        if self.0.rules.is_empty() && own.is_empty() {
            return style;
        }
        let matching = self.0.rules.iter();
        let matching = matching.filter(|rule| rule.selector.matches(&Styled(node)));
        let declared = matching.flat_map(|rule| rule.declarations.iter().copied());
        let declared: Vec<_> = declared.chain(DeclarationTokenizer::from(own)).collect();
        for important in [false, true] {
            for declaration in declared.iter().filter(|d| d.important == important) {
                style.set(declaration.name, declaration.value);
            }
        }
        style
    }
}

impl<'a> Style<'a> {
    fn set(&mut self, name: &str, value: &'a str) {
        match (name, value.trim()) {
            (_, "inherit") => {}
            ("display", value) => self.no_display = value == "none",
            ("visibility", value) => self.visible = Some(value == "visible"),
            ("transform", value) => self.transform = Some(value),
            ("transform-origin", value) => self.transform_origin = Some(value),
            ("stroke", value) => self.stroke = Some(value),
            ("fill", value) => self.fill = Some(value),
            _ => {}
        }
    }
}

/// An element as style sheets see it.
struct Styled<'a, 'input>(Node<'a, 'input>);

impl Element for Styled<'_, '_> {
    fn parent_element(&self) -> Option<Self> {
        self.0.parent_element().map(Styled)
    }

    fn prev_sibling_element(&self) -> Option<Self> {
        self.0.prev_sibling_element().map(Styled)
    }

    fn has_local_name(&self, name: &str) -> bool {
        self.0.tag_name().name() == name
    }

    fn attribute_matches(&self, name: &str, operator: AttributeOperator<'_>) -> bool {
        self.0.attribute(name).is_some_and(|v| operator.matches(v))
    }

    fn pseudo_class_matches(&self, class: PseudoClass<'_>) -> bool {
        matches!(class, PseudoClass::FirstChild) && self.0.prev_sibling_element().is_none()
    }
}
