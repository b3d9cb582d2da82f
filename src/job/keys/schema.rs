//! The job file as a JSON Schema, for editors and for whoever checks a job without this program.

use serde_json::{Map, Value, json};

use super::{Absent, Holds, Key, Keys, NAME_PATTERN, forms, tables};
use crate::job::part::PartKeys;
use crate::job::read::JobKeys;
use crate::job::rules::AngleRule;
use crate::job::shop::ShopKeys;
use crate::units::{Angle, Form, Length, WithUnit as _};

/// The JSON Schema (draft 2020-12) of the job file.
///
/// It takes every job that [`Job::read`](crate::job::Job::read) takes and refuses what can be seen
/// key by key: keys that do not exist or are missing, values of the wrong kind, malformed quantities,
/// unknown words. What depends on several keys (a layup without a cloth) or on files is left to the
/// program.
///
/// ```
/// let schema = warpwise::job::schema();
/// assert_eq!(schema["properties"]["title"]["type"], "string");
/// assert_eq!(schema["additionalProperties"], false);
/// ```
#[must_use]
pub fn schema() -> Value {
    let mut root = table_schema(JobKeys::keys());
    root.insert("title".to_owned(), json!("warpwise job file"));
    // What the job names a shop file for may be said there.
    let mut alone = Map::new();
    let mut required = Vec::new();
    for key in JobKeys::keys().all().filter(|key| is_shared(key)) {
        if let Some(own) = key.inner().map(required_of).filter(|own| !own.is_empty()) {
            let own = json!({ "required": own });
            let own = match key.holds {
                Holds::Named(_) => json!({ "minProperties": 1, "additionalProperties": own }),
                _ => own,
            };
            alone.insert(key.name.to_owned(), own);
        }
        required.extend(Some(key.name).filter(|_| matches!(key.absent, Absent::Required)));
    }
    root.insert(
        "anyOf".to_owned(),
        json!([{ "required": ["shop"] }, { "required": required, "properties": alone }]),
    );
    with_definitions(root)
}

/// The JSON Schema (draft 2020-12) of the shop file. Its tables lack nothing: jobs may say the rest.
///
/// ```
/// let schema = warpwise::job::shop_schema();
/// assert_eq!(schema["properties"]["shelf"]["type"], "string");
/// ```
#[must_use]
pub fn shop_schema() -> Value {
    let mut root = table_schema(ShopKeys::keys());
    root.insert("title".to_owned(), json!("warpwise shop file"));
    with_definitions(root)
}

/// Whether the shop file has the key too.
fn is_shared(key: &Key) -> bool {
    ShopKeys::keys().names().contains(&key.name)
}

fn with_definitions(mut root: Map<String, Value>) -> Value {
    root.insert(
        "$schema".to_owned(),
        json!("https://json-schema.org/draft/2020-12/schema"),
    );
    let inner = tables()
        .into_iter()
        .filter(|keys| keys.header.starts_with('['));
    let of_tables = inner.map(|keys| (definition(keys), Value::Object(table_schema(keys))));
    let of_forms = forms().into_iter().map(|form| {
        let pattern = format!(r"^\s*(?:{})\s*$", (form.pattern)());
        (
            form_name(&form),
            json!({ "type": "string", "pattern": pattern }),
        )
    });
    let defs: Map<String, Value> = of_tables.chain(of_forms).collect();
    root.insert("$defs".to_owned(), Value::Object(defs));
    Value::Object(root)
}

/// A regular expression for `word` in any capitals.
pub(in crate::job) fn any_capitals(word: &str) -> String {
    let signs = word.chars().map(|c| match c {
        'a'..='z' | 'A'..='Z' => {
            format!("[{}{}]", c.to_ascii_lowercase(), c.to_ascii_uppercase())
        }
        c => c.to_string(),
    });
    signs.collect()
}

/// Name of the schema of one table among the definitions.
fn definition(keys: &Keys) -> String {
    keys.header.replace(['[', ']'], "")
}

fn reference_to(keys: &Keys) -> Value {
    json!({ "$ref": format!("#/$defs/{}", definition(keys)) })
}

fn table_schema(keys: &Keys) -> Map<String, Value> {
    let properties: Map<String, Value> = keys
        .all()
        .map(|key| (key.name.to_owned(), key_schema(key)))
        .collect();
    let is_of_shop = ShopKeys::keys().all().filter_map(Key::inner);
    let is_of_shop = is_of_shop
        .into_iter()
        .any(|of_shop| of_shop.header == keys.header);
    let is_job = keys.header == JobKeys::keys().header;
    let mut required = match is_of_shop {
        true => Vec::new(),
        false => required_of(keys),
    };
    required.retain(|name| !(is_job && ShopKeys::keys().names().contains(name)));
    let mut schema = Map::new();
    schema.insert("type".to_owned(), json!("object"));
    schema.insert("description".to_owned(), json!(keys.about));
    schema.insert("properties".to_owned(), Value::Object(properties));
    schema.insert("additionalProperties".to_owned(), json!(false));
    if !required.is_empty() {
        schema.insert("required".to_owned(), json!(required));
    }
    if keys.header == PartKeys::keys().header {
        let either = [["pattern"], ["mould"]].map(|names| json!({ "required": names }));
        schema.insert("oneOf".to_owned(), json!(either));
    }
    schema
}

/// The keys that such a table must have.
fn required_of(keys: &Keys) -> Vec<&'static str> {
    let all = keys.all();
    let required = all.filter(|key| matches!(key.absent, Absent::Required));
    required.map(|key| key.name).collect()
}

fn key_schema(key: &Key) -> Value {
    let mut schema = value_schema(&key.holds);
    let about = match key.absent {
        Absent::Required => format!("{} (required)", key.about),
        Absent::Is(value) => format!("{}; if left out: {}", key.about, key.written(value)),
        Absent::Means(words) => format!("{}; if left out: {words}", key.about),
    };
    schema["description"] = json!(about);
    schema["examples"] = json!([key.value_of(key.example)]);
    if let Absent::Is(value) = key.absent {
        schema["default"] = key.value_of(value);
    }
    let is_required = matches!(key.absent, Absent::Required);
    match key.holds {
        Holds::Listed(_) if is_required => schema["minItems"] = json!(1),
        _ => {}
    }
    schema
}

fn value_schema(holds: &Holds) -> Value {
    match holds {
        Holds::Text => json!({ "type": "string", "pattern": r"\S" }),
        Holds::Name => json!({ "type": "string", "pattern": *NAME_PATTERN }),
        Holds::Form(form, []) => text_of_form(form),
        Holds::Form(form, words) => json!({ "anyOf": [{ "enum": words }, text_of_form(form)] }),
        Holds::Choice(words) => json!({ "enum": words }),
        Holds::Words => one_or_more(json!({ "type": ["string", "integer"], "pattern": r"\S" })),
        Holds::WordsOf(words) => {
            let any = words
                .iter()
                .map(|word| any_capitals(word))
                .collect::<Vec<_>>();
            let pattern = format!("^(?:{})$", any.join("|"));
            let loose = json!({ "type": "string", "pattern": pattern });
            one_or_more(json!({ "anyOf": [{ "enum": words }, loose] }))
        }
        Holds::Lengths(n) => {
            let length = json!({ "anyOf": [text_of_form(&Length::FORM), { "const": 0 }] });
            json!({ "type": "array", "items": length, "minItems": n, "maxItems": n })
        }
        Holds::Direction => {
            let number = json!({ "type": ["number", "string"] });
            json!({ "type": "array", "items": number, "minItems": 3, "maxItems": 3 })
        }
        Holds::Places => {
            let length = text_of_form(&Length::FORM);
            let pair = json!({ "type": "array", "items": length, "minItems": 2, "maxItems": 2 });
            json!({ "type": "array", "items": pair, "minItems": 3 })
        }
        Holds::Lines => {
            let length = text_of_form(&Length::FORM);
            let place = json!({ "type": "array", "items": length, "minItems": 3, "maxItems": 3 });
            let line = json!({ "type": "array", "items": place, "minItems": 2, "maxItems": 100 });
            json!({ "type": "array", "items": line })
        }
        Holds::Quantity(form) => text_of_form(form),
        Holds::Angle(rule) => json!({ "anyOf": [degrees(rule), text_of_form(&Angle::FORM)] }),
        Holds::Number { least, most: None } => json!({ "type": "number", "minimum": least }),
        Holds::Number {
            least,
            most: Some(most),
        } => json!({ "type": "number", "minimum": least, "maximum": most }),
        Holds::Count { most } => count(*most),
        Holds::Counts { most } => json!({ "type": "array", "items": count(*most), "minItems": 1 }),
        Holds::Flag => json!({ "type": "boolean" }),
        Holds::Table(keys) => reference_to(keys()),
        Holds::Named(keys) => json!({
            "type": "object",
            "propertyNames": { "pattern": *NAME_PATTERN },
            "additionalProperties": reference_to(keys()),
        }),
        Holds::Listed(keys) => json!({ "type": "array", "items": reference_to(keys()) }),
    }
}

/// Name of the schema of a form among the definitions.
fn form_name(form: &Form) -> String {
    format!("quantity.{}", form.what.replace(' ', "-"))
}

fn text_of_form(form: &Form) -> Value {
    json!({ "$ref": format!("#/$defs/{}", form_name(form)) })
}

fn one_or_more(word: Value) -> Value {
    json!({ "anyOf": [word.clone(), { "type": "array", "items": word }] })
}

fn count(most: u32) -> Value {
    json!({ "type": "integer", "minimum": 1, "maximum": most })
}

/// A bare number of degrees that keeps `rule`.
fn degrees(rule: &AngleRule) -> Value {
    match rule {
        AngleRule::Ply => json!({ "type": "number", "exclusiveMinimum": -90, "maximum": 90 }),
        AngleRule::Direction => json!({ "type": "number", "minimum": -360, "maximum": 360 }),
        AngleRule::Tolerance => json!({ "type": "number", "minimum": 0, "exclusiveMaximum": 45 }),
        AngleRule::Corner => {
            json!({ "type": "number", "exclusiveMinimum": 0, "exclusiveMaximum": 180 })
        }
    }
}

impl Key {
    /// `value`, written like the example, as JSON.
    fn value_of(&self, value: &str) -> Value {
        let line = format!("it = {}", self.written(value));
        let table: toml::Table = line.parse().expect("examples and defaults are TOML");
        serde_json::to_value(&table["it"]).expect("texts, numbers and tables only")
    }
}
