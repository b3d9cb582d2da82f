//! Style, as far as it hides, moves or colours things: attributes, style sheets, `style`.

use std::cell::Cell;

use roxmltree::{Document, Node};
use simplecss::{AttributeOperator, Element, PseudoClass};

use super::sheet::{Sheet, declarations};
use crate::pattern::shape::Quota;

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

/// Whether the property `name` is one that is read.
pub(super) fn is_of_interest(name: &str) -> bool {
    name == "transform" || ATTRIBUTES.contains(&name)
}

/// Questions of style sheets to elements that are answered in any file.
const STEPS_OF_ANY_FILE: usize = 8_000_000;

/// Questions beyond that for each byte of the file. Larger: sheets of many rules for many elements take
/// longer than a file of that size is worth; smaller: a drawing with a rule for each element is refused.
const STEPS_PER_BYTE: usize = 40;

/// What a letter of a `style` attribute costs.
const STEPS_OF_A_LETTER: usize = 20;

/// All style sheets of a document.
pub(super) struct Styles<'a> {
    sheet: Sheet<'a>,
    /// Questions that may still be asked.
    steps: Cell<Quota>,
}

impl<'a> Styles<'a> {
    /// Those of `document`, which comes of a file of `bytes`.
    pub(super) fn of(document: &'a Document<'_>, bytes: usize) -> Self {
        let styles = document
            .descendants()
            .filter(|n| n.tag_name().name() == "style");
        let texts = styles.flat_map(|n| n.children());
        Self {
            sheet: Sheet::of(texts.filter_map(|node| node.text())),
            steps: Cell::new(Quota::new(STEPS_OF_ANY_FILE + STEPS_PER_BYTE * bytes)),
        }
    }

    /// Whether there was more to be asked than a file of that size is worth.
    pub(super) fn is_over(&self) -> bool {
        self.steps.get().is_over()
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
        if self.sheet.is_empty() && own.is_empty() {
            return style;
        }
        let styled = Styled {
            node,
            steps: &self.steps,
        };
        if !styled.ask(own.len() * STEPS_OF_A_LETTER) {
            return style;
        }
        let matching = self.sheet.rules();
        let matching = matching.filter(|(selector, _)| selector.matches(&styled));
        let matching = matching.filter(|(_, declared)| styled.ask(declared.len()));
        let declared = matching.flat_map(|(_, declared)| declared.iter().copied());
        let declared: Vec<_> = declared.chain(declarations(own)).collect();
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

/// An element as style sheets see it. When there is nothing left to pay with, it answers no to
/// everything, which ends every search.
struct Styled<'a, 'input, 's> {
    node: Node<'a, 'input>,
    steps: &'s Cell<Quota>,
}

impl Styled<'_, '_, '_> {
    /// Pays for an answer that takes `work`; whether there was enough.
    fn ask(&self, work: usize) -> bool {
        let mut steps = self.steps.get();
        let may = steps.spend(work);
        self.steps.set(steps);
        may
    }
}

impl Element for Styled<'_, '_, '_> {
    fn parent_element(&self) -> Option<Self> {
        let node = self.node.parent_element().filter(|_| self.ask(1))?;
        Some(Self { node, ..*self })
    }

    fn prev_sibling_element(&self) -> Option<Self> {
        let node = self.node.prev_sibling_element().filter(|_| self.ask(1))?;
        Some(Self { node, ..*self })
    }

    fn has_local_name(&self, name: &str) -> bool {
        self.ask(1) && self.node.tag_name().name() == name
    }

    fn attribute_matches(&self, name: &str, operator: AttributeOperator<'_>) -> bool {
        let value = self.node.attribute(name);
        self.ask(1 + value.map_or(0, str::len) / 8) && value.is_some_and(|v| operator.matches(v))
    }

    fn pseudo_class_matches(&self, class: PseudoClass<'_>) -> bool {
        let is_first = || self.node.prev_sibling_element().is_none();
        self.ask(1) && matches!(class, PseudoClass::FirstChild) && is_first()
    }
}
