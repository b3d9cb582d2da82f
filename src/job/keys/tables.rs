//! Keys that hold tables: one, named ones, or a list of them.

use toml::de::DeValue;

use super::kinds::{FoundValue, ValueKind};
use super::{Holds, Keys};
use crate::job::Located;
use crate::job::reader::JobReader;
use crate::job::table::JobTable;
use crate::job::wording::{Complaint, shown, type_name};

/// A table, whose keys these are.
pub(in crate::job) struct Section(pub fn() -> &'static Keys);

impl<'t> ValueKind<'t, JobTable<'t>> for Section {
    fn holds(&self) -> Holds {
        Holds::Table(self.0)
    }

    fn read(&self, reader: &mut JobReader, found: &FoundValue<'_, 't>) -> Option<JobTable<'t>> {
        let key = found.key.name;
        let entries = found.with(
            reader,
            found.value.as_table().ok_or_else(|| {
                Complaint::new(
                    format!("`{key}` is {}, not a table", type_name(found.value)),
                    format!("write `[{key}]` on a line of its own and the keys below it"),
                )
            }),
        )?;
        let keys = (self.0)();
        Some(JobTable {
            what: keys.kind.to_owned(),
            path: inside(found.path, key),
            header: found.place.clone(),
            keys,
            entries,
        })
    }
}

/// Tables with names, whose keys these are.
pub(in crate::job) struct Named(pub fn() -> &'static Keys);

impl<'t> ValueKind<'t, Vec<(Located<String>, JobTable<'t>)>> for Named {
    fn holds(&self) -> Holds {
        Holds::Named(self.0)
    }

    fn read(
        &self,
        reader: &mut JobReader,
        found: &FoundValue<'_, 't>,
    ) -> Option<Vec<(Located<String>, JobTable<'t>)>> {
        let key = found.key.name;
        let help = format!("give each {key} a name in its header, for example `[{key}.twill]`");
        let DeValue::Table(tables) = found.value else {
            reader.error(&found.place, format!("a {key} has no name"), &help);
            return None;
        };
        let mut named = Vec::new();
        let mut complained = false;
        for (name, value) in tables {
            let place = reader.place(name.span());
            let Some(entries) = value.get_ref().as_table() else {
                // Once is enough: the others most likely stand under the same bare header.
                if !complained {
                    let message = format!("{} stands in no named {key}", shown(name.get_ref()));
                    reader.error(&place, message, &help);
                    complained = true;
                }
                continue;
            };
            let table = JobTable {
                what: format!("{key} {}", shown(name.get_ref())),
                path: format!("{}.{}", inside(found.path, key), name.get_ref()),
                header: reader.place(value.span()),
                keys: (self.0)(),
                entries,
            };
            let name = Located {
                value: name.get_ref().to_string(),
                place,
            };
            named.push((name, table));
        }
        Some(named)
    }
}

/// Tables in double brackets, whose keys these are.
pub(in crate::job) struct Listed(pub fn() -> &'static Keys);

impl<'t> ValueKind<'t, Vec<JobTable<'t>>> for Listed {
    fn holds(&self) -> Holds {
        Holds::Listed(self.0)
    }

    fn read(
        &self,
        reader: &mut JobReader,
        found: &FoundValue<'_, 't>,
    ) -> Option<Vec<JobTable<'t>>> {
        let key = found.key.name;
        let path = inside(found.path, key);
        let help = format!("start each with `[[{path}]]`, in double brackets");
        let DeValue::Array(list) = found.value else {
            reader.error(
                &found.place,
                format!("`{key}` is not a list of tables"),
                &help,
            );
            return None;
        };
        let mut tables = Vec::new();
        for (index, element) in list.iter().enumerate() {
            let place = reader.place(element.span());
            let Some(entries) = element.get_ref().as_table() else {
                let message = format!("{} in the list of `{key}`", type_name(element.get_ref()));
                reader.error(&place, message, &help);
                continue;
            };
            tables.push(JobTable {
                what: format!("{key} {}", index + 1),
                path: path.clone(),
                header: place,
                keys: (self.0)(),
                entries,
            });
        }
        Some(tables)
    }
}

/// The header of a table inside another.
fn inside(path: &str, key: &str) -> String {
    if path.is_empty() {
        key.to_owned()
    } else {
        format!("{path}.{key}")
    }
}
