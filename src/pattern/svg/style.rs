//! Style sheets, as far as they hide things.

use roxmltree::{Document, Node};
use simplecss::{AttributeOperator, DeclarationTokenizer, Element, PseudoClass, StyleSheet};

/// What style says of one element.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Shown {
    /// `display: none`: neither the element nor what is in it.
    pub(super) no_display: bool,
    /// `visibility`, if stated: what is in it may say otherwise.
    pub(super) visible: Option<bool>,
}

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
        // Only the rules that can hide something are worth matching.
        sheet.rules.retain(|rule| {
            let mut names = rule.declarations.iter().map(|d| d.name);
            names.any(|n| n == "display" || n == "visibility")
        });
        Self(sheet)
    }

    /// Attribute, then style sheets in the order of their weight, then the `style` attribute.
    pub(super) fn shown(&self, node: Node<'_, '_>) -> Shown {
        let mut shown = Shown::default();
        for name in ["display", "visibility"] {
            if let Some(value) = node.attribute(name) {
                shown.set(name, value);
            }
        }
        for rule in &self.0.rules {
            if rule.selector.matches(&Styled(node)) {
                for declaration in &rule.declarations {
                    shown.set(declaration.name, declaration.value);
                }
            }
        }
        if let Some(style) = node.attribute("style") {
            for declaration in DeclarationTokenizer::from(style) {
                shown.set(declaration.name, declaration.value);
            }
        }
        shown
    }
}

impl Shown {
    fn set(&mut self, name: &str, value: &str) {
        match (name, value.trim()) {
            (_, "inherit") => {}
            ("display", value) => self.no_display = value == "none",
            ("visibility", value) => self.visible = Some(value == "visible"),
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
