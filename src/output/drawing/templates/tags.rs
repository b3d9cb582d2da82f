//! Tags beside templates that are too small for their labels.

use super::labels::{LABEL, LabelPlace, draw_label, headline};
use super::shape::Template;
use crate::geometry::{Bounds, Outline, largest_box};
use crate::output::drawing::label::SEPARATOR;
use crate::output::drawing::page::Page;
use crate::output::drawing::tag::{self, Tag};
use crate::output::style::{Pen, ink, stroke};

/// The line from a tag to its template.
const LEADER: Pen = Pen::solid(ink::BLACK, stroke::HAIR);

/// The tags of one sheet.
pub(super) struct Tags<'a> {
    templates: &'a [Template],
    frame: Bounds,
    taken: Vec<Bounds>,
}

impl<'a> Tags<'a> {
    /// For the sheet that shows `templates` within `frame`.
    pub(super) const fn new(templates: &'a [Template], frame: Bounds) -> Self {
        Self {
            templates,
            frame,
            taken: Vec::new(),
        }
    }

    /// Writes what template number `i` of the sheet is: in it at `place`, else beside it, else its number
    /// in it. Returns the box that is taken of the template.
    pub(super) fn name(
        &mut self,
        page: &mut Page,
        i: usize,
        place: Option<LabelPlace>,
    ) -> Option<Bounds> {
        if place.is_none_or(|place| place.is_number())
            && let Some(tag) = self.beside(i)
        {
            page.edge(tag.line, LEADER);
            page.write(tag.text, ink::BLACK);
            self.taken.push(tag.bounds);
            return None;
        }
        let place = place?;
        draw_label(page, &self.templates[i], &place);
        Some(place.bounds)
    }

    fn beside(&self, i: usize) -> Option<Tag> {
        let template = &self.templates[i];
        let others: Vec<&Outline> = (self.templates.iter().enumerate())
            .filter(|&(other, _)| other != i)
            .map(|(_, other)| &other.cut)
            .collect();
        let room = |words: &Bounds| {
            self.frame.holds(words, 0.0) && !self.taken.iter().any(|other| other.meets(words))
        };
        let name = headline(template);
        let texts = [format!("{name}{SEPARATOR}{}", template.facts()), name];
        let middle = largest_box(&template.cut, 1.0).centre;
        texts.iter().find_map(|text| {
            tag::aims(&template.cut, middle)
                .find_map(|at| tag::beside((at, &template.cut), text, LABEL, &room, &others))
        })
    }
}

#[cfg(test)]
mod tests {
    use crate::output::drawing::shape::{Shape, TextLine};
    use crate::output::drawing::templates::{Purpose, patterns};
    use crate::plan::tests::plan_of;

    /// A strip 3 mm high has no room for its name; the paper beside it has.
    #[test]
    fn a_template_too_low_for_its_label_has_a_tag() {
        let job = "[cutting]\ntrim = \"0 mm\"\n[cloth.c]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\n\
            roll_width = \"1 m\"\n[[part]]\nname = \"STRIP\"\npattern = \"p.svg\"\ncloth = \"c\"\n\
            layup = \"[0]\"\n";
        let plan = plan_of(job, r#"<path d="M10 10H90V13H10Z"/>"#);
        let pages = patterns(&plan, Purpose::Cut).pages;
        let items = || pages.iter().flat_map(|page| &page.drawing().items);
        let shapes = || items().map(|item| &item.shape);
        let tags: Vec<&TextLine> = shapes()
            .filter_map(|shape| match shape {
                Shape::Text(line) => Some(line),
                _ => None,
            })
            .filter(|line| line.text.starts_with("1  STRIP") && line.text.ends_with("cut 1"))
            .collect();
        let [tag] = tags[..] else {
            panic!("{tags:?}");
        };
        assert!(tag.height >= 1.5, "{tag:?}");
        // A line leads from the words into the strip, which is as large as drawn.
        let strips = shapes().filter_map(|shape| match shape {
            Shape::Line {
                points,
                closed: true,
            } => crate::geometry::Bounds::of(points.clone()),
            _ => None,
        });
        let mut strips =
            strips.filter(|b| (b.long_side() - 80.0).abs() < 0.01 && b.short_side() < 3.1);
        let strip = strips.next_back().unwrap();
        assert!(strip.distance(tag.at) > 1.0);
        let leads = |[from, to]: [crate::geometry::Point; 2]| {
            from.distance(tag.at) < 40.0 && strip.distance(from) > 0.5 && strip.distance(to) == 0.0
        };
        assert!(
            shapes().any(|shape| matches!(shape, Shape::Edge(ends) if leads(*ends))),
            "no line leads from {tag:?} to {strip:?}"
        );
    }
}
