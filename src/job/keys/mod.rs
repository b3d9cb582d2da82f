//! Every key of the job file: what it holds, what is so if it is left out, an example.
//!
//! The reader takes the keys it knows, its examples and its rules from here, and each of its getters
//! insists (in debug builds) that a key holds what it is read as. The JSON Schema and the reference
//! are written from the same tables, so that none of the four can say what the others do not.

mod cloth;
mod output;
mod part;
mod reference;
mod schema;
mod work;

use std::sync::LazyLock;

use super::rules::{AngleRule, LengthRule};
use crate::units::{Angle, Form, Length, Written as _};

pub use reference::reference;
pub use schema::schema;

/// The keys of one table of the job file.
pub(super) struct Keys {
    /// What messages call such a table: `a cloth`.
    pub kind: &'static str,
    /// How it begins in the file; tells tables apart.
    pub header: &'static str,
    /// What it is for.
    pub about: &'static str,
    /// Its keys, some of which it shares with others.
    pub groups: &'static [&'static [Key]],
}

/// One key.
pub(super) struct Key {
    pub name: &'static str,
    pub holds: Holds,
    pub absent: Absent,
    /// A good value: bare where a text is held, else as TOML has it.
    pub example: &'static str,
    /// What it says.
    pub about: &'static str,
}

/// What a key holds.
pub(super) enum Holds {
    /// A text that is not empty.
    Text,
    /// A name that can stand on a label and in a file name.
    Name,
    /// A text of a form of its own, some of whose values are plain words.
    Form(Form, &'static [&'static str]),
    /// One of a few words.
    Choice(fn() -> Vec<&'static str>),
    /// A text or a whole number, or a list of them.
    Words,
    /// A list of such words, whatever their capitals.
    WordsOf(fn() -> Vec<&'static str>),
    /// A length.
    Length(&'static LengthRule),
    /// Two lengths.
    TwoLengths,
    /// Pairs of lengths.
    Places,
    /// A quantity with its unit.
    Quantity(Form),
    /// An angle, in quotes or as a bare number of degrees.
    Angle(AngleRule),
    /// A number.
    Number { least: f64, most: Option<f64> },
    /// A whole number from 1.
    Count { most: u32 },
    /// `true` or `false`.
    Flag,
    /// One table.
    Table(&'static Keys),
    /// Tables with names.
    Named(&'static Keys),
    /// Tables in double brackets.
    Listed(&'static Keys),
}

/// What is so if a key is left out.
pub(super) enum Absent {
    /// It cannot be.
    Required,
    /// The same as this value, written like the example.
    Is(&'static str),
    /// In words.
    Means(&'static str),
}

impl Keys {
    /// All keys in the order of messages and of the reference.
    pub(super) fn all(&self) -> impl Iterator<Item = &'static Key> {
        self.groups.iter().copied().flatten()
    }

    /// Their names.
    pub(super) fn names(&self) -> Vec<&'static str> {
        self.all().map(|key| key.name).collect()
    }

    /// The key called `name`.
    ///
    /// # Panics
    /// If there is none: what is read must be listed here.
    pub(super) fn key(&self, name: &str) -> &'static Key {
        let found = self.all().find(|key| key.name == name);
        found.unwrap_or_else(|| panic!("{} lists no key `{name}`", self.header))
    }
}

impl Key {
    /// Whether it holds a text, which stands in quotes.
    fn is_quoted(&self) -> bool {
        match &self.holds {
            Holds::Text
            | Holds::Name
            | Holds::Form(..)
            | Holds::Choice(_)
            | Holds::Length(_)
            | Holds::Quantity(_)
            | Holds::Angle(_) => true,
            Holds::Words
            | Holds::WordsOf(_)
            | Holds::TwoLengths
            | Holds::Places
            | Holds::Number { .. }
            | Holds::Count { .. }
            | Holds::Flag
            | Holds::Table(_)
            | Holds::Named(_)
            | Holds::Listed(_) => false,
        }
    }

    /// `value`, written like the example, as it stands in the file.
    fn written(&self, value: &str) -> String {
        if self.is_quoted() {
            format!("\"{}\"", value.replace('\n', "\\n"))
        } else {
            value.to_owned()
        }
    }

    /// The example as it stands in the file.
    pub(super) fn quoted_example(&self) -> String {
        self.written(self.example)
    }

    /// The keys of the table or tables it holds.
    pub(super) fn inner(&self) -> Option<&'static Keys> {
        match self.holds {
            Holds::Table(keys) | Holds::Named(keys) | Holds::Listed(keys) => Some(keys),
            _ => None,
        }
    }
}

/// Every table of the job file, each once, from the outermost inwards.
fn tables() -> Vec<&'static Keys> {
    let mut tables = vec![&JOB];
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

/// A list of keys, one a line: name, what it holds, what if it is left out, example, meaning.
macro_rules! keys {
    ($($name:literal, $holds:expr, $absent:expr, $example:literal, $about:literal;)*) => {
        &[$($crate::job::keys::Key {
            name: $name,
            holds: $holds,
            absent: $absent,
            example: $example,
            about: $about,
        }),*]
    };
}
use keys;

use Absent::Means;
use Holds::{Listed, Named, Table, Text};

/// The job file itself.
pub(super) static JOB: Keys = Keys {
    kind: "a job",
    header: "the job file",
    about: "What is made, of which cloths, and how.",
    groups: &[keys! {
        "title", Text, Means("the name of the file"), "Tender: rudder", "what the job is called in the report and on labels";
        "cutting", Table(&work::CUTTING), Means("the defaults"), "{ trim = \"20 mm\" }", "cutting for the whole job";
        "drawing", Table(&part::DRAWING), Means("the usual layer names"), "{ hatches = true }", "how pattern files are read";
        "laminate", Table(&work::LAMINATE), Means("the defaults"), "{ process = \"hand layup\" }", "how the plies cure";
        "resin", Table(&work::RESIN), Means("no resin is worked out"), "{ ratio = \"100:30\", pot_life = \"25 min\" }", "what is mixed";
        "bag", Table(&work::BAG), Means("no bag"), "{ vacuum = \"25 inHg\" }", "the vacuum bag of each part; an empty table takes the usual stack";
        "mould", Table(&work::MOULD), Means("no mould preparation"), "{ wax_coats = 3 }", "release before the first ply";
        "output", Table(&output::OUTPUT), Means("DXF, SVG, templates and labels"), "{ files = [\"dxf\"] }", "which files are written, and how";
        "cloth", Named(&cloth::CLOTH), Absent::Required, "{ glass = { weave = \"plain\", areal_weight = \"200 g/m2\", roll_width = \"50 in\" } }", "the cloths, each with a name of its own";
        "part", Listed(&part::PART), Absent::Required, "[{ name = \"HATCH\", pattern = \"hatch.dxf\", cloth = \"glass\", layup = \"[0/45]s\" }]", "the parts, one table for each";
    }],
};

/// Names of parts, cloths, stock: a regular expression, for those who check a file before it is
/// read.
static NAME_PATTERN: LazyLock<String> = LazyLock::new(|| {
    let most = super::rules::MAX_NAME;
    format!(r"^(?=.{{1,{most}}}$)[A-Za-z0-9](?:[A-Za-z0-9_.\-]*[A-Za-z0-9_\-])?$")
});
