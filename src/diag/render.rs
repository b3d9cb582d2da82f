//! Problems as text for a person.

use std::borrow::Cow;
use std::fmt::Write as _;

use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};

use super::{Diagnostic, Place, Severity, is_active, visible::readable};

/// Whether rendered text carries terminal colours.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TextColour {
    /// Plain text.
    Plain,
    /// ANSI colours.
    Ansi,
}

impl Diagnostic {
    /// The problem as a few lines of text, ending with a line break.
    #[must_use]
    pub fn render(&self, colour: TextColour) -> String {
        let renderer = match colour {
            TextColour::Plain => Renderer::plain(),
            TextColour::Ansi => Renderer::styled(),
        };
        let level = match self.severity {
            Severity::Error => Level::ERROR,
            Severity::Warning => Level::WARNING,
            Severity::Note => Level::NOTE,
        };
        let message = readable(&self.message);
        let help = self.help.as_deref().map(readable);
        let (name, text) = match &self.place {
            Some(Place::Text { source, .. }) => {
                (readable(&source.name), shown_source(&source.text))
            }
            _ => Default::default(),
        };
        let mut group = match &self.place {
            Some(Place::Text { span, .. }) => {
                let span = clamp(&text, span.clone());
                level.primary_title(&*message).element(
                    Snippet::source(&*text)
                        .path(&*name)
                        .annotation(AnnotationKind::Primary.span(span)),
                )
            }
            _ => Group::with_title(level.primary_title(&*message)),
        };
        if let Some(Place::Text { .. }) = self.place
            && let Some(help) = &help
        {
            group = group.element(Level::HELP.message(&**help));
        }
        let mut text = renderer.render(&[group]);
        match &self.place {
            Some(Place::File(file)) => _ = write!(text, "\n  at {}", readable(file)),
            Some(Place::Line { file, line }) => {
                _ = write!(text, "\n  at {}, line {line}", readable(file))
            }
            Some(Place::Entity {
                file,
                entity,
                at_mm,
            }) => {
                _ = write!(text, "\n  at {}, {}", readable(file), readable(entity));
                if let Some((x, y)) = at_mm {
                    _ = write!(text, " ({x:.2}, {y:.2} mm)");
                }
            }
            Some(Place::Text { .. }) | None => {}
        }
        if !matches!(self.place, Some(Place::Text { .. }))
            && let Some(help) = &help
        {
            _ = write!(text, "\n  help: {help}");
        }
        text.push('\n');
        text
    }
}

/// `text` with each character that a terminal would act on replaced by one as long in bytes, so that
/// spans stay true. The renderer draws those of one byte itself.
fn shown_source(text: &str) -> Cow<'_, str> {
    if !text.contains(is_active) {
        return Cow::Borrowed(text);
    }
    let shown = text.chars().map(|c| match c.len_utf8() {
        2 if is_active(c) => '¿',
        3 if is_active(c) => char::REPLACEMENT_CHARACTER,
        _ => c,
    });
    Cow::Owned(shown.collect())
}

/// A span inside the text and on character boundaries, so that the renderer cannot trip over it.
fn clamp(text: &str, span: std::ops::Range<usize>) -> std::ops::Range<usize> {
    let floor = |mut at: usize| {
        at = at.min(text.len());
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        at
    };
    let start = floor(span.start);
    start..floor(span.end).max(start)
}
