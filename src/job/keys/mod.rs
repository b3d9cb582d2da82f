//! How the keys of the job file are declared: each once, beside the code that takes its value.
//!
//! [`keys!`] makes of one list of keys a struct with an [`KeyEntry`] for each, the reading of that
//! struct from a table, and the rows of the JSON Schema and of the reference. So name, type, rule,
//! default, example and meaning cannot disagree; a key that is read must be declared; and the
//! compiler warns of a field, that is of a key, that nobody takes.

mod kinds;
mod reference;
mod schema;
mod tables;

use std::sync::LazyLock;

use super::rules::AngleRule;
use crate::diag::Place;
use crate::units::{Angle, Form, Length, WithUnit as _};

pub(super) use kinds::{
    Amount, Checked, Count, Counts, Direction, Flag, FoundValue, Lengths, Lines, Name, NameList,
    Number, OfForm, OneOf, PER_CENT, Parsed, Places, Quantity, Refused, ShareUpTo, SomeOf,
    SomeText, ValueKind,
};
pub use reference::reference;
pub(super) use schema::any_capitals;
pub use schema::{schema, shop_schema};
pub(super) use tables::{Listed, Named, Section};

/// The keys of one table of the job file.
pub(crate) struct Keys {
    /// What messages call such a table: `a cloth`.
    pub kind: &'static str,
    /// How it begins in the file; tells tables apart.
    pub header: &'static str,
    /// What it is for.
    pub about: &'static str,
    /// Its own keys.
    pub own: &'static [Key],
    /// Those that it shares with others, which inherit them.
    pub shared: &'static [Key],
}

/// One key.
pub(crate) struct Key {
    pub name: &'static str,
    pub holds: Holds,
    pub absent: Absent,
    /// A good value: bare where a text is held, else as TOML has it.
    pub example: &'static str,
    /// What it says.
    pub about: &'static str,
}

/// What a key holds.
pub(crate) enum Holds {
    /// A text that is not empty.
    Text,
    /// A name that can stand on a label and in a file name.
    Name,
    /// A text of a form of its own, some of whose values are plain words.
    Form(Form, &'static [&'static str]),
    /// One of a few words.
    Choice(Vec<&'static str>),
    /// A text or a whole number, or a list of them.
    Words,
    /// A list of such words, whatever their capitals.
    WordsOf(Vec<&'static str>),
    /// So many lengths.
    Lengths(usize),
    /// A direction in space.
    Direction,
    /// Pairs of lengths.
    Places,
    /// Lines in space, of places of three lengths.
    Lines,
    /// A quantity with its unit.
    Quantity(Form),
    /// An angle, in quotes or as a bare number of degrees.
    Angle(AngleRule),
    /// A number.
    Number { least: f64, most: Option<f64> },
    /// A whole number from 1.
    Count { most: u32 },
    /// A list of whole numbers from 1.
    Counts { most: u32 },
    /// `true` or `false`.
    Flag,
    /// One table.
    Table(fn() -> &'static Keys),
    /// Tables with names.
    Named(fn() -> &'static Keys),
    /// Tables in double brackets.
    Listed(fn() -> &'static Keys),
}

/// What is so if a key is left out.
pub(crate) enum Absent {
    /// It cannot be.
    Required,
    /// The same as this value, written like the example.
    Is(&'static str),
    /// In words.
    Means(&'static str),
}

/// What a table says under one key: `V` is the value where the declaration gives a default, and an
/// option of it where it does not. A value that was complained about counts as left out.
#[derive(Clone)]
pub(super) struct KeyEntry<V> {
    pub key: &'static Key,
    pub value: V,
    /// Where it is written, well or not; `None` if it is left out.
    pub at: Option<KeyPlaces>,
}

/// Where an entry is written.
#[derive(Clone)]
pub(super) struct KeyPlaces {
    pub key: Place,
    pub value: Place,
}

impl<V> KeyEntry<V> {
    /// Whether the key is there, well written or not.
    pub(super) const fn is_there(&self) -> bool {
        self.at.is_some()
    }

    /// `key = example`, in back quotes.
    pub(super) fn example(&self) -> String {
        self.key.shown_example()
    }

    /// The value's place, if it is written.
    pub(super) fn place(&self) -> Option<&Place> {
        self.at.as_ref().map(|at| &at.value)
    }
}

impl<T> KeyEntry<Option<T>> {
    /// The value with its place, if it is there.
    pub(super) fn located(self) -> Option<super::Located<T>> {
        let (value, at) = self.value.zip(self.at)?;
        Some(super::Located {
            value,
            place: at.value,
        })
    }
}

impl Keys {
    /// All keys in the order of messages and of the reference.
    pub(super) fn all(&self) -> impl Iterator<Item = &'static Key> {
        self.own.iter().chain(self.shared)
    }

    /// Their names.
    pub(super) fn names(&self) -> Vec<&'static str> {
        self.all().map(|key| key.name).collect()
    }
}

impl Key {
    /// Whether it holds a text, which stands in quotes.
    fn is_quoted(&self) -> bool {
        matches!(
            self.holds,
            Holds::Text
                | Holds::Name
                | Holds::Form(..)
                | Holds::Choice(_)
                | Holds::Quantity(_)
                | Holds::Angle(_)
        )
    }

    /// `value`, written like the example, as it stands in the file.
    pub(super) fn written(&self, value: &str) -> String {
        if self.is_quoted() {
            format!("\"{}\"", value.replace('\n', "\\n"))
        } else {
            value.to_owned()
        }
    }

    /// `key = example`, in back quotes.
    pub(super) fn shown_example(&self) -> String {
        format!("`{} = {}`", self.name, self.written(self.example))
    }

    /// The keys of the table or tables it holds.
    pub(in crate::job) fn inner(&self) -> Option<&'static Keys> {
        match self.holds {
            Holds::Table(keys) | Holds::Named(keys) | Holds::Listed(keys) => Some(keys()),
            _ => None,
        }
    }
}

/// Every table of the job file and of the shop file, each once, from the outermost inwards: first the
/// files as wholes.
fn tables() -> Vec<&'static Keys> {
    let mut tables = vec![super::read::JobKeys::keys(), super::shop::ShopKeys::keys()];
    let mut at = 0;
    while let Some(keys) = tables.get(at) {
        for inner in keys.all().filter_map(Key::inner) {
            if !tables.iter().any(|known| known.header == inner.header) {
                tables.push(inner);
            }
        }
        at += 1;
    }
    tables
}

/// How quantities and the like are written, each kind once.
fn forms() -> Vec<Form> {
    let mut forms = vec![Length::FORM, Angle::FORM];
    for key in tables().into_iter().flat_map(Keys::all) {
        if let Holds::Quantity(form) | Holds::Form(form, _) = key.holds
            && !forms.iter().any(|known| known.what == form.what)
        {
            forms.push(form);
        }
    }
    forms
}

/// Declares the keys of a table: its kind, header and meaning, then for each key
///
/// `name: type = kind, what if it is left out, example, meaning;`
///
/// Examples and defaults are bare where a text is held, else as TOML has them. Keys that several
/// tables share, one inside the other, are `inherited` instead of having a header.
///
/// Fields are set in one struct literal: the compiler takes an assignment for a use, and would not
/// report a key that nobody takes. Only inherited keys are assigned.
macro_rules! keys {
    (
        $(#[$doc:meta])*
        $name:ident: $kind:literal, $header:literal, $about:literal $(, and $shared:ident)?;
        $($lines:tt)*
    ) => {
        $crate::job::keys::keys! { @list $(#[$doc])* $name; $($lines)* }

        impl $name<'_> {
            /// The keys of such a table.
            pub(in crate::job) fn keys() -> &'static $crate::job::keys::Keys {
                use $crate::job::keys::Keys;
                static KEYS: std::sync::OnceLock<Keys> = std::sync::OnceLock::new();
                KEYS.get_or_init(|| Keys {
                    kind: $kind,
                    header: $header,
                    about: $about,
                    own: Self::own(),
                    shared: $crate::job::keys::keys!(@shared $($shared)?),
                })
            }
        }
    };
    (
        $(#[$doc:meta])*
        $name:ident: inherited;
        $($key:ident: $T:ty = $held:expr, $absent:ident $(($said:literal))?, $example:literal, $meaning:literal;)*
    ) => {
        $crate::job::keys::keys! { @list
            $(#[$doc])*
            #[derive(Clone)]
            $name;
            $($key: $T = $held, $absent $(($said))?, $example, $meaning;)*
        }

        impl<'t> $name<'t> {
            /// What is in force where `table` is read inside something that has `self` in force.
            pub(in crate::job) fn overridden_by(
                mut self,
                reader: &mut $crate::job::reader::JobReader,
                table: &$crate::job::table::JobTable<'t>,
            ) -> Self {
                $(
                    let (value, at): (Option<$T>, _) = table.entry(reader, self.$key.key, &$held);
                    self.$key.at = at;
                    if let Some(value) = value {
                        self.$key.value = value.into();
                    }
                )*
                self
            }
        }
    };
    (
        @list
        $(#[$attribute:meta])*
        $name:ident;
        $($key:ident: $T:ty = $held:expr, $absent:ident $(($said:literal))?, $example:literal, $meaning:literal;)*
    ) => {
        $(#[$attribute])*
        pub(in crate::job) struct $name<'t> {
            $(pub(in crate::job) $key: $crate::job::keys::keys!(@entry $absent, $T),)*
            _borrows: std::marker::PhantomData<&'t ()>,
        }

        impl<'t> $name<'t> {
            /// The keys of this list, without those that are shared.
            pub(in crate::job) fn own() -> &'static [$crate::job::keys::Key] {
                use $crate::job::keys::{Absent, Key, ValueKind};
                static OWN: std::sync::OnceLock<Vec<Key>> = std::sync::OnceLock::new();
                OWN.get_or_init(|| vec![$(Key {
                    name: stringify!($key),
                    holds: ValueKind::<'t, $T>::holds(&$held),
                    absent: Absent::$absent $(($said))?,
                    example: $example,
                    about: $meaning,
                },)*])
            }

            /// What `table` says, or an empty one; complains of keys that it does not have or that
            /// are missing.
            pub(in crate::job) fn read(
                reader: &mut $crate::job::reader::JobReader,
                table: Option<&$crate::job::table::JobTable<'t>>,
            ) -> Self {
                let [$($key),*] = Self::own() else {
                    unreachable!("made of the same list");
                };
                if let Some(table) = table {
                    table.check_keys(reader);
                }
                Self {
                    $($key: {
                        let (value, at): (Option<$T>, _) = match table {
                            Some(table) => table.entry(reader, $key, &$held),
                            None => (None, None),
                        };
                        let value = $crate::job::keys::keys!(@value $absent, value: $T, $key, $held);
                        $crate::job::keys::KeyEntry { key: $key, value, at }
                    },)*
                    _borrows: std::marker::PhantomData,
                }
            }
        }
    };
    (@entry Is, $T:ty) => { $crate::job::keys::KeyEntry<$T> };
    (@entry $absent:ident, $T:ty) => { $crate::job::keys::KeyEntry<Option<$T>> };
    (@value Is, $value:ident: $T:ty, $key:ident, $held:expr) => {{
        // Read once: a job may have thousands of plies that do not say.
        static USUAL: std::sync::OnceLock<$T> = std::sync::OnceLock::new();
        let usual = || USUAL.get_or_init(|| $crate::job::table::usual($key, &$held));
        $value.unwrap_or_else(|| usual().clone())
    }};
    (@value $absent:ident, $value:ident: $T:ty, $key:ident, $held:expr) => { $value };
    (@shared) => { &[] };
    (@shared $shared:ident) => { $shared::own() };
}
pub(in crate::job) use keys;

/// Names of parts, cloths, stock: a regular expression, for those who check a file before it is
/// read.
static NAME_PATTERN: LazyLock<String> = LazyLock::new(|| {
    let most = super::rules::MAX_NAME;
    format!(r"^(?=.{{1,{most}}}$)[A-Za-z0-9](?:[A-Za-z0-9_.\-]*[A-Za-z0-9_\-])?$")
});
