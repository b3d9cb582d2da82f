//! Text with what stands out in it.

use super::model::Svg;

/// A run of text on a page.
#[derive(Clone, Debug)]
pub(super) enum Span {
    Words(String),
    Strong(Prose),
    /// A quantity in two units, such as `12.7 mm (0.50 in)`: a line ends between them at most.
    Quantity(String),
    /// What a person types or finds in a file.
    Code(String),
    /// Words that lead to another place: a file beside the page, or `#` and an anchor of it.
    Link(String, String),
    /// A remark beneath the rest of a cell, smaller.
    Small(Prose),
    /// On a line of its own.
    Line(Prose),
    /// What matters less than the rest.
    Aside(Prose),
    /// One of several short notes, with a dot between them.
    Mark(Prose),
    /// A box to tick and what it is for, in one line.
    Tick(String),
    /// A name and a line to write on.
    Blank(String),
    /// A small drawing before its name.
    Picture(Svg, String),
}

/// Text in runs, put together from left to right; [`prose!`] writes it.
#[derive(Clone, Debug, Default)]
pub(super) struct Prose(pub(super) Vec<Span>);

/// Text of a page, read from left to right:
///
/// - `"words"`, and `(value)` for anything that becomes [`Prose`];
/// - a [`Span`] by its name: around more text, as in `Strong { … }`, or with what it is made of, as in
///   `Link(to, "words")`;
/// - `if (condition) { … } else { … }`, `if let (pattern = value) { … }`, `for (pattern in values) { … }`.
macro_rules! prose {
    (@ $p:ident) => {};
    (@ $p:ident $words:literal $($rest:tt)*) => {
        $p.push($words);
        prose!(@ $p $($rest)*);
    };
    (@ $p:ident ($value:expr) $($rest:tt)*) => {
        $p.push($value);
        prose!(@ $p $($rest)*);
    };
    (@ $p:ident if let ($pattern:pat = $value:expr) { $($then:tt)* } else { $($other:tt)* } $($rest:tt)*) => {
        if let $pattern = $value { prose!(@ $p $($then)*); } else { prose!(@ $p $($other)*); }
        prose!(@ $p $($rest)*);
    };
    (@ $p:ident if let ($pattern:pat = $value:expr) { $($then:tt)* } $($rest:tt)*) => {
        if let $pattern = $value { prose!(@ $p $($then)*); }
        prose!(@ $p $($rest)*);
    };
    (@ $p:ident if ($is_so:expr) { $($then:tt)* } else { $($other:tt)* } $($rest:tt)*) => {
        if $is_so { prose!(@ $p $($then)*); } else { prose!(@ $p $($other)*); }
        prose!(@ $p $($rest)*);
    };
    (@ $p:ident if ($is_so:expr) { $($then:tt)* } $($rest:tt)*) => {
        if $is_so { prose!(@ $p $($then)*); }
        prose!(@ $p $($rest)*);
    };
    (@ $p:ident for ($pattern:pat in $values:expr) { $($each:tt)* } $($rest:tt)*) => {
        for $pattern in $values { prose!(@ $p $($each)*); }
        prose!(@ $p $($rest)*);
    };
    (@ $p:ident $what:ident { $($within:tt)* } $($rest:tt)*) => {
        $p.0.push($crate::output::pages::prose::Span::$what(prose! { $($within)* }));
        prose!(@ $p $($rest)*);
    };
    (@ $p:ident $what:ident ($($of:expr),*) $($rest:tt)*) => {
        $p.0.push($crate::output::pages::prose::Span::$what($($of.into()),*));
        prose!(@ $p $($rest)*);
    };
    ($($all:tt)*) => {{
        #[allow(unused_mut, reason = "there may be nothing in it")]
        let mut prose = $crate::output::pages::prose::Prose::default();
        prose!(@ prose $($all)*);
        prose
    }};
}
pub(super) use prose;

impl Prose {
    /// A quantity in two units.
    pub(super) fn quantity(text: impl Into<String>) -> Self {
        Self(vec![Span::Quantity(text.into())])
    }

    pub(super) fn push(&mut self, more: impl Into<Self>) {
        self.0.extend(more.into().0);
    }

    /// `items` with `between` them.
    pub(super) fn joined<P: Into<Self>>(items: impl IntoIterator<Item = P>, between: &str) -> Self {
        let mut all = Self::default();
        for item in items {
            if !all.0.is_empty() {
                all.push(between);
            }
            all.push(item);
        }
        all
    }

    pub(super) fn made_strong(&self) -> Self {
        Self(vec![Span::Strong(self.clone())])
    }
}

impl From<&str> for Prose {
    fn from(words: &str) -> Self {
        words.to_owned().into()
    }
}

impl From<String> for Prose {
    fn from(words: String) -> Self {
        if words.is_empty() {
            return Self::default();
        }
        Self(vec![Span::Words(words)])
    }
}

impl From<&String> for Prose {
    fn from(words: &String) -> Self {
        words.clone().into()
    }
}

impl<P: Into<Prose>> From<Option<P>> for Prose {
    fn from(some: Option<P>) -> Self {
        some.map_or_else(Self::default, P::into)
    }
}

/// Numbers as they are counted.
macro_rules! counted {
    ($($number:ty),*) => { $(
        impl From<$number> for Prose {
            fn from(n: $number) -> Self {
                n.to_string().into()
            }
        }
    )* };
}
counted!(u32, u64, usize, char);

/// A box to tick, where there is a letter for it.
pub(super) const TICK: &str = "☐";
