//! What keys hold: for each kind of value how it is read, and what schema and reference say of it.

use toml::de::DeValue;

use super::{Holds, Key};
use crate::diag::Place;
use crate::job::Located;
use crate::job::reader::JobReader;
use crate::job::rules::{AngleRule, FARTHEST_MM, LengthRule};
use crate::job::wording::{
    Complaint, bare_number, finite, number_text, shown, suggestion, text_of, unit_complaint,
    wrong_type,
};
use crate::units::{Angle, Form, Length, PERCENT, UnitError, WithUnit, read_percent};
use crate::words::Word;

/// A kind of value, held as a `T`.
pub(in crate::job) trait ValueKind<'t, T> {
    /// What schema and reference say of it.
    fn holds(&self) -> Holds;

    /// The value, or a complaint.
    fn read(&self, reader: &mut JobReader, found: &FoundValue<'_, 't>) -> Option<T>;
}

/// A key with the value that stands in the file.
pub(in crate::job) struct FoundValue<'a, 't> {
    pub key: &'static Key,
    pub value: &'t DeValue<'t>,
    pub place: Place,
    /// The table it stands in, as in its header: `cloth.twill`.
    pub path: &'a str,
}

impl<'t> FoundValue<'_, 't> {
    /// What `read` makes of the value, or a complaint.
    pub(super) fn with<T>(&self, reader: &mut JobReader, read: Result<T, Complaint>) -> Option<T> {
        read.map_err(|complaint| reader.error(&self.place, complaint.message, &complaint.help))
            .ok()
    }

    /// A text in quotes.
    fn text(&self) -> Result<&'t str, Complaint> {
        text_of(self.key.name, self.value, &self.example())
    }

    fn example(&self) -> String {
        self.key.written(self.key.example)
    }

    /// `write for example ...`.
    fn for_example(&self) -> String {
        format!("write for example {}", self.key.shown_example())
    }

    fn wrong_type(&self, wanted: &str) -> Complaint {
        wrong_type(self.key.name, self.value, wanted, &self.example())
    }

    /// A text in quotes, read by `read`.
    fn parsed<T>(&self, read: impl FnOnce(&str) -> Result<T, UnitError>) -> Result<T, Complaint> {
        let Key {
            name,
            holds,
            example,
            ..
        } = self.key;
        if let Some(number) = number_text(self.value) {
            return Err(bare_number(name, number, example));
        }
        read(self.text()?).map_err(|error| match (holds, &error) {
            // A misspelt word is no number that lacks something.
            (Holds::Form(form, [_, ..]), UnitError::NoNumber { text, .. }) => Complaint::new(
                format!("`{name}` cannot be {}", shown(text)),
                format!("it is {}", form.units),
            ),
            _ => unit_complaint(name, &error, example),
        })
    }

    /// The elements of a list of at most `most`.
    fn list(&self, most: usize, of: &str) -> Result<Option<&'t [Element<'t>]>, Complaint> {
        let Some(list) = self.value.as_array() else {
            return Ok(None);
        };
        if list.len() > most {
            let message = format!("`{}` lists more than {most} {of}", self.key.name);
            return Err(Complaint::new(message, "shorten the list"));
        }
        Ok(Some(list))
    }
}

type Element<'t> = toml::Spanned<DeValue<'t>>;

/// A text that says something.
pub(in crate::job) struct SomeText;

impl SomeText {
    fn read_text(found: &FoundValue<'_, '_>) -> Result<String, Complaint> {
        let text = found.text()?;
        if text.trim().is_empty() {
            let message = format!("`{}` is empty", found.key.name);
            return Err(Complaint::new(message, found.for_example()));
        }
        Ok(text.to_owned())
    }
}

impl ValueKind<'_, String> for SomeText {
    fn holds(&self) -> Holds {
        Holds::Text
    }

    fn read(&self, reader: &mut JobReader, found: &FoundValue<'_, '_>) -> Option<String> {
        found.with(reader, Self::read_text(found))
    }
}

/// A name that can stand on a label and in a file name; who takes it checks it.
pub(in crate::job) struct Name;

impl ValueKind<'_, String> for Name {
    fn holds(&self) -> Holds {
        Holds::Name
    }

    fn read(&self, reader: &mut JobReader, found: &FoundValue<'_, '_>) -> Option<String> {
        SomeText.read(reader, found)
    }
}

/// Why a text of a form of its own is refused.
pub(in crate::job) enum Refused {
    /// A quantity in it is badly written.
    Unit(UnitError),
    /// It is none of what there is: message and help.
    Other(String, String),
}

/// A text of a form of its own, some of whose values are plain words.
pub(in crate::job) struct OfForm<T> {
    pub form: Form,
    pub words: &'static [&'static str],
    pub read: fn(&str) -> Result<T, Refused>,
}

impl<T> ValueKind<'_, T> for OfForm<T> {
    fn holds(&self) -> Holds {
        Holds::Form(self.form, self.words)
    }

    fn read(&self, reader: &mut JobReader, found: &FoundValue<'_, '_>) -> Option<T> {
        let text = found.with(reader, SomeText::read_text(found))?;
        let read = (self.read)(&text).or_else(|refused| match refused {
            Refused::Unit(error) => found.parsed(|_| Err(error)),
            Refused::Other(message, help) => Err(Complaint::new(message, help)),
        });
        found.with(reader, read)
    }
}

/// A quantity of a form of its own.
pub(in crate::job) struct Parsed<T> {
    pub form: Form,
    pub words: &'static [&'static str],
    pub read: fn(&str) -> Result<T, UnitError>,
}

/// A share in per cent.
pub(in crate::job) const PER_CENT: Parsed<f64> = Parsed {
    form: PERCENT,
    words: &[],
    read: read_percent,
};

impl<T> ValueKind<'_, T> for Parsed<T> {
    fn holds(&self) -> Holds {
        Holds::Form(self.form, self.words)
    }

    fn read(&self, reader: &mut JobReader, found: &FoundValue<'_, '_>) -> Option<T> {
        found.with(reader, found.parsed(self.read))
    }
}

/// A kind whose values have to keep a rule.
pub(in crate::job) struct Checked<K, T> {
    pub kind: K,
    /// Whether a value can stand; complains if not.
    pub check: fn(&mut JobReader, &'static Key, &Located<T>) -> bool,
}

impl<'t, T, K: ValueKind<'t, T>> ValueKind<'t, T> for Checked<K, T> {
    fn holds(&self) -> Holds {
        self.kind.holds()
    }

    fn read(&self, reader: &mut JobReader, found: &FoundValue<'_, 't>) -> Option<T> {
        let value = Located {
            value: self.kind.read(reader, found)?,
            place: found.place.clone(),
        };
        (self.check)(reader, found.key, &value).then_some(value.value)
    }
}

/// One of a few words.
pub(in crate::job) struct OneOf;

impl<T: Word> ValueKind<'_, T> for OneOf {
    fn holds(&self) -> Holds {
        Holds::Choice(words_of::<T>())
    }

    fn read(&self, reader: &mut JobReader, found: &FoundValue<'_, '_>) -> Option<T> {
        let key = found.key.name;
        let words = words_of::<T>();
        let read = text_of(key, found.value, &format!("\"{}\"", words[0])).and_then(|text| {
            let known = T::words().into_iter().find(|(word, _)| *word == text);
            known.map(|(_, choice)| choice).ok_or_else(|| {
                Complaint::new(
                    format!("`{key}` cannot be {}", shown(text)),
                    suggestion(text, &words, "it is one of"),
                )
            })
        });
        found.with(reader, read)
    }
}

fn words_of<T: Word>() -> Vec<&'static str> {
    T::words().into_iter().map(|(word, _)| word).collect()
}

/// A text or a whole number, or a list of them: names of layers, colours.
pub(in crate::job) struct NameList;

impl NameList {
    fn read_words(found: &FoundValue<'_, '_>) -> Result<Vec<String>, Complaint> {
        let one = |value: &DeValue<'_>| match value {
            DeValue::String(text) if !text.trim().is_empty() => Ok(text.to_string()),
            DeValue::Integer(integer) => Ok(integer.as_str().to_owned()),
            _ => {
                let wanted = "a name in quotes, or a list of them";
                Err(wrong_type(found.key.name, value, wanted, &found.example()))
            }
        };
        match found.list(200, "names")? {
            Some(list) => list.iter().map(|element| one(element.get_ref())).collect(),
            None => Ok(vec![one(found.value)?]),
        }
    }
}

impl ValueKind<'_, Vec<String>> for NameList {
    fn holds(&self) -> Holds {
        Holds::Words
    }

    fn read(&self, reader: &mut JobReader, found: &FoundValue<'_, '_>) -> Option<Vec<String>> {
        found.with(reader, Self::read_words(found))
    }
}

/// Some of a few words, whatever their capitals, in the order of the declaration.
pub(in crate::job) struct SomeOf {
    /// What messages call one of them.
    pub what: &'static str,
    /// How messages begin the list of all.
    pub all_are: &'static str,
}

impl<T: Word> ValueKind<'_, Vec<T>> for SomeOf {
    fn holds(&self) -> Holds {
        Holds::WordsOf(words_of::<T>())
    }

    fn read(&self, reader: &mut JobReader, found: &FoundValue<'_, '_>) -> Option<Vec<T>> {
        let words = NameList.read(reader, found)?;
        let wanted: Vec<String> = words.iter().map(|word| word.to_lowercase()).collect();
        let known = words_of::<T>();
        for word in wanted.iter().filter(|w| !known.contains(&w.as_str())) {
            let message = format!("{} is no {}", shown(word), self.what);
            let help = suggestion(word, &known, self.all_are);
            reader.error(&found.place, message, &help);
        }
        let all = T::words().into_iter();
        let chosen = all.filter(|(word, _)| wanted.iter().any(|w| w == word));
        Some(chosen.map(|(_, choice)| choice).collect())
    }
}

impl ValueKind<'_, Length> for LengthRule {
    fn holds(&self) -> Holds {
        Holds::Quantity(Length::FORM)
    }

    fn read(&self, reader: &mut JobReader, found: &FoundValue<'_, '_>) -> Option<Length> {
        let length = Located {
            value: found.with(reader, found.parsed(str::parse))?,
            place: found.place.clone(),
        };
        self.check(reader, found.key.name, &length)
            .then_some(length.value)
    }
}

/// A quantity with its unit, in quotes.
pub(in crate::job) struct Quantity;

impl<T: WithUnit> ValueKind<'_, T> for Quantity {
    fn holds(&self) -> Holds {
        Holds::Quantity(T::FORM)
    }

    fn read(&self, reader: &mut JobReader, found: &FoundValue<'_, '_>) -> Option<T> {
        found.with(reader, found.parsed(str::parse))
    }
}

/// An amount, whose size in its unit the function tells.
pub(in crate::job) enum Amount<T> {
    /// More than nothing.
    AboveZero(fn(T) -> f64),
    /// What is on hand: it may be nothing.
    OnHand(fn(T) -> f64),
    /// What something takes: it may take none.
    OrNone(fn(T) -> f64),
}

impl<T: WithUnit + Copy> ValueKind<'_, T> for Amount<T> {
    fn holds(&self) -> Holds {
        Holds::Quantity(T::FORM)
    }

    fn read(&self, reader: &mut JobReader, found: &FoundValue<'_, '_>) -> Option<T> {
        let value: T = Quantity.read(reader, found)?;
        let (is_good, wrong, help) = match self {
            Self::AboveZero(size) => (size(value) > 0.0, "not above zero", found.for_example()),
            Self::OnHand(size) => {
                let help = "write what is there, or leave it out";
                (size(value) >= 0.0, "negative", help.to_owned())
            }
            Self::OrNone(size) => {
                let help = "write what it takes, 0 if it takes none";
                (size(value) >= 0.0, "negative", help.to_owned())
            }
        };
        let message = format!("`{}` is {wrong}", found.key.name);
        let stands = reader.insist(is_good, &found.place, message, &help);
        stands.then_some(value)
    }
}

/// A share from zero to `most`, in per cent.
pub(in crate::job) struct ShareUpTo {
    pub most: f64,
}

impl ValueKind<'_, f64> for ShareUpTo {
    fn holds(&self) -> Holds {
        Holds::Form(PERCENT, &[])
    }

    fn read(&self, reader: &mut JobReader, found: &FoundValue<'_, '_>) -> Option<f64> {
        let share = PER_CENT.read(reader, found)?;
        let is_good = (0.0..=self.most).contains(&share);
        let most = self.most * 100.0;
        let help = format!("{}; at most {most:.0} % is taken", found.for_example());
        let message = format!("`{}` cannot be {:.0} %", found.key.name, share * 100.0);
        let stands = reader.insist(is_good, &found.place, message, &help);
        stands.then_some(share)
    }
}

/// A few lengths, each of at most so many mm and good for its key.
pub(in crate::job) struct Lengths {
    pub most: f64,
    pub is_good: fn(Length) -> bool,
}

impl<const N: usize> ValueKind<'_, [Length; N]> for Lengths {
    fn holds(&self) -> Holds {
        Holds::Lengths(N)
    }

    fn read(&self, reader: &mut JobReader, found: &FoundValue<'_, '_>) -> Option<[Length; N]> {
        let texts = NameList.read(reader, found)?;
        let (key, place) = (found.key.name, &found.place);
        let count = count_word(N);
        let help = format!(
            "write {count} lengths, for example {}",
            found.key.shown_example()
        );
        let Ok(texts) = <[String; N]>::try_from(texts) else {
            reader.error(place, format!("`{key}` is not {count} lengths"), &help);
            return None;
        };
        let mut read = |text: &str| match text.parse::<Length>() {
            Ok(length) if (self.is_good)(length) && length.to_mm().abs() <= self.most => {
                Some(length)
            }
            Ok(_) => {
                let message = format!("`{key}` cannot have a length of {}", shown(text));
                reader.error(place, message, &help);
                None
            }
            Err(error) => {
                let complaint = unit_complaint(key, &error, "60 mm");
                reader.error(place, complaint.message, &help);
                None
            }
        };
        let lengths = texts.map(|text| read(&text));
        let whole = lengths.iter().all(Option::is_some);
        whole.then(|| lengths.map(Option::unwrap_or_default))
    }
}

/// A small number in words.
pub(super) const fn count_word(n: usize) -> &'static str {
    match n {
        2 => "two",
        3 => "three",
        _ => "so many",
    }
}

/// A direction in space: three numbers, not all zero.
pub(in crate::job) struct Direction;

impl Direction {
    fn read_numbers(found: &FoundValue<'_, '_>) -> Result<[f64; 3], Complaint> {
        let key = found.key.name;
        let wrong = || found.wrong_type("a list of three numbers");
        let one = |value: &DeValue<'_>| match value {
            DeValue::String(text) => text.trim().parse().map_err(|_| wrong()),
            _ => finite(key, value, number_text(value).ok_or_else(wrong)?),
        };
        let list = found.list(3, "numbers")?.ok_or_else(wrong)?;
        let numbers = list.iter().map(|number| one(number.get_ref()));
        let numbers: Vec<f64> = numbers.collect::<Result<_, _>>()?;
        let direction = <[f64; 3]>::try_from(numbers).map_err(|_| wrong())?;
        let is_good = direction.iter().all(|v| v.is_finite() && v.abs() <= 1e6)
            && direction.iter().any(|v| v.abs() >= 1e-6);
        let message = format!("`{key}` is no direction");
        is_good
            .then_some(direction)
            .ok_or_else(|| Complaint::new(message, found.for_example()))
    }
}

impl ValueKind<'_, [f64; 3]> for Direction {
    fn holds(&self) -> Holds {
        Holds::Direction
    }

    fn read(&self, reader: &mut JobReader, found: &FoundValue<'_, '_>) -> Option<[f64; 3]> {
        found.with(reader, Self::read_numbers(found))
    }
}

/// A list of places, each two lengths: along the roll and across it.
pub(in crate::job) struct Places;

/// A place of `N` lengths in a list of `what`.
fn place<const N: usize>(
    found: &FoundValue<'_, '_>,
    value: &DeValue<'_>,
    what: &str,
) -> Result<[Length; N], Complaint> {
    let key = found.key.name;
    let wrong = |value: &DeValue<'_>| wrong_type(key, value, what, found.key.example);
    let one = |value: &DeValue<'_>| {
        let text = value.as_str().ok_or_else(|| wrong(value))?;
        let length: Length = (text.parse()).map_err(|e| unit_complaint(key, &e, "60 mm"))?;
        if length.to_mm().abs() > FARTHEST_MM {
            let message = format!("{} is impossibly far", shown(text));
            let help = "a roll is at most some hundred metres long";
            return Err(Complaint::new(message, help));
        }
        Ok(length)
    };
    let lengths = value.as_array().ok_or_else(|| wrong(value))?;
    let lengths = lengths.iter().map(|length| one(length.get_ref()));
    let lengths: Vec<Length> = lengths.collect::<Result<_, _>>()?;
    <[Length; N]>::try_from(lengths).map_err(|_| wrong(value))
}

impl Places {
    fn read_places(found: &FoundValue<'_, '_>) -> Result<Vec<[Length; 2]>, Complaint> {
        const WHAT: &str = "a list of pairs of lengths";
        let list = found.list(10_000, "places")?;
        let list = list.ok_or_else(|| found.wrong_type(WHAT))?;
        list.iter()
            .map(|pair| place(found, pair.get_ref(), WHAT))
            .collect()
    }
}

/// A list of lines in space, each a list of places of three lengths.
pub(in crate::job) struct Lines;

impl Lines {
    fn read_lines(found: &FoundValue<'_, '_>) -> Result<Vec<Vec<[Length; 3]>>, Complaint> {
        const WHAT: &str = "a list of lines, each of two points or more, of three lengths";
        let wrong = || found.wrong_type(WHAT);
        let line = |line: &DeValue<'_>| {
            let points = line
                .as_array()
                .filter(|points| (2..=100).contains(&points.len()));
            let points = points.ok_or_else(wrong)?.iter();
            points.map(|p| place(found, p.get_ref(), WHAT)).collect()
        };
        let list = found.list(100, "lines")?.ok_or_else(wrong)?;
        list.iter().map(|own| line(own.get_ref())).collect()
    }
}

impl ValueKind<'_, Vec<Vec<[Length; 3]>>> for Lines {
    fn holds(&self) -> Holds {
        Holds::Lines
    }

    fn read(
        &self,
        reader: &mut JobReader,
        found: &FoundValue<'_, '_>,
    ) -> Option<Vec<Vec<[Length; 3]>>> {
        found.with(reader, Self::read_lines(found))
    }
}

impl ValueKind<'_, Vec<[Length; 2]>> for Places {
    fn holds(&self) -> Holds {
        Holds::Places
    }

    fn read(&self, reader: &mut JobReader, found: &FoundValue<'_, '_>) -> Option<Vec<[Length; 2]>> {
        found.with(reader, Self::read_places(found))
    }
}

/// `"45 deg"`, or a bare number of degrees.
impl ValueKind<'_, Angle> for AngleRule {
    fn holds(&self) -> Holds {
        Holds::Angle(*self)
    }

    fn read(&self, reader: &mut JobReader, found: &FoundValue<'_, '_>) -> Option<Angle> {
        let key = found.key.name;
        let read = match number_text(found.value) {
            Some(text) => finite(key, found.value, text).map(Angle::degrees),
            None => text_of(key, found.value, "\"45 deg\"").and_then(|text| {
                if text.contains('±') || text.contains("+-") || text.contains("+/-") {
                    return Err(Complaint::new(
                        format!("{} is two angles; a ply has one", shown(text)),
                        "write \"45 deg\": a biaxial at 45 deg carries fibres at 45 and -45 deg, \
                         and so does a woven cloth",
                    ));
                }
                text.parse()
                    .map_err(|error| unit_complaint(key, &error, "45 deg"))
            }),
        };
        let angle = Located {
            value: found.with(reader, read)?,
            place: found.place.clone(),
        };
        self.check(reader, key, &angle).then_some(angle.value)
    }
}

/// A number without a unit; one above the most is for who takes it to refuse.
pub(in crate::job) struct Number {
    pub least: f64,
    pub most: Option<f64>,
}

impl ValueKind<'_, f64> for Number {
    fn holds(&self) -> Holds {
        Holds::Number {
            least: self.least,
            most: self.most,
        }
    }

    fn read(&self, reader: &mut JobReader, found: &FoundValue<'_, '_>) -> Option<f64> {
        let key = found.key.name;
        let read = number_text(found.value)
            .ok_or_else(|| found.wrong_type("a number without quotes"))
            .and_then(|text| finite(key, found.value, text));
        let number = found.with(reader, read)?;
        let message = format!("`{key}` is below {}", self.least);
        let is_good = number >= self.least;
        let stands = reader.insist(is_good, &found.place, message, &found.for_example());
        stands.then_some(number)
    }
}

/// A whole number from 1.
pub(in crate::job) struct Count {
    pub most: u32,
}

impl Count {
    fn read_count(&self, key: &str, value: &DeValue<'_>, example: &str) -> Result<u32, Complaint> {
        let DeValue::Integer(integer) = value else {
            let wanted = "a whole number without quotes";
            return Err(wrong_type(key, value, wanted, example));
        };
        // A number that does not even fit i64 is too large in any case.
        let count = i64::from_str_radix(integer.as_str(), integer.radix()).unwrap_or(i64::MAX);
        let count = u32::try_from(count).ok();
        let good = count.filter(|count| (1..=self.most).contains(count));
        good.ok_or_else(|| {
            Complaint::new(
                format!("`{key}` cannot be {}", shown(integer.as_str())),
                format!("write a whole number from 1 to {}", self.most),
            )
        })
    }
}

impl ValueKind<'_, u32> for Count {
    fn holds(&self) -> Holds {
        Holds::Count { most: self.most }
    }

    fn read(&self, reader: &mut JobReader, found: &FoundValue<'_, '_>) -> Option<u32> {
        found.with(reader, self.read_count(found.key.name, found.value, "2"))
    }
}

/// A list of whole numbers from 1.
pub(in crate::job) struct Counts {
    pub most: u32,
}

impl Counts {
    fn read_counts(&self, found: &FoundValue<'_, '_>) -> Result<Vec<u32>, Complaint> {
        let list = found.list(self.most as usize, "numbers")?;
        let list = list.ok_or_else(|| found.wrong_type("a list of whole numbers"))?;
        let each = Count { most: self.most };
        let read = |element: &Element<'_>| {
            each.read_count(found.key.name, element.get_ref(), &found.example())
        };
        list.iter().map(read).collect()
    }
}

impl ValueKind<'_, Vec<u32>> for Counts {
    fn holds(&self) -> Holds {
        Holds::Counts { most: self.most }
    }

    fn read(&self, reader: &mut JobReader, found: &FoundValue<'_, '_>) -> Option<Vec<u32>> {
        found.with(reader, self.read_counts(found))
    }
}

/// `true` or `false`.
pub(in crate::job) struct Flag;

impl ValueKind<'_, bool> for Flag {
    fn holds(&self) -> Holds {
        Holds::Flag
    }

    fn read(&self, reader: &mut JobReader, found: &FoundValue<'_, '_>) -> Option<bool> {
        let DeValue::Boolean(flag) = found.value else {
            let wanted = "true or false without quotes";
            let complaint = wrong_type(found.key.name, found.value, wanted, "true");
            return found.with(reader, Err(complaint));
        };
        Some(*flag)
    }
}
