//! One line of the journal: `NUMBER | WHEN | DEED | JOB | WHO`, then `off:` and `on:` with remnants
//! (`NAME CLOTH AREA lot=LOT`, more after `;`) and `cloth:` with accounts (`CLOTH FRESH IN-PARTS WASTE
//! lot=LOT`). Areas are in mm².

use super::fault::ShelfFault;
use super::{Account, Deed, Event, Remnant};
use crate::number::number;
use crate::units::Area;

/// Decimals of an area in mm². An area of a roll 1 km long, written so, is true to 0.01 mm².
const AREA: i32 = 4;

/// Longest text in letters.
const LONGEST: usize = 120;

/// Longest line in bytes: a job with some thousand remnants.
const LONGEST_LINE: usize = 1 << 20;

/// What stands between the fields, and between the entries of one.
const FIELD: &str = " | ";
const ENTRY: &str = "; ";

/// `text` as it stands in a journal: on one line, without the signs that divide it, not too long.
#[must_use]
pub fn plain(text: &str) -> String {
    let kept = text.chars().map(|c| match c {
        '|' | ';' => ' ',
        c if c.is_control() => ' ',
        c => c,
    });
    let kept: String = kept.take(LONGEST).collect();
    kept.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Whether a remnant or a cloth can be called so: its name stands on a label and names a file.
#[must_use]
pub fn is_name(text: &str) -> bool {
    let is_plain = |c: char| c.is_ascii_alphanumeric() || "-_.".contains(c);
    text.starts_with(|c: char| c.is_ascii_alphanumeric())
        && !text.ends_with('.')
        && text.len() <= LONGEST
        && text.chars().all(is_plain)
}

pub(super) fn write(event: &Event, n: usize) -> String {
    let mut fields = vec![
        n.to_string(),
        event.when.clone(),
        event.deed.word().to_owned(),
        event.job.clone(),
        event.who.clone(),
    ];
    let mut list = |word: &str, entries: Vec<String>| {
        if !entries.is_empty() {
            fields.push(format!("{word}: {}", entries.join(ENTRY)));
        }
    };
    list("off", event.off.iter().map(remnant).collect());
    list("on", event.on.iter().map(remnant).collect());
    list("cloth", event.accounts.iter().map(account).collect());
    fields.join(FIELD) + "\n"
}

fn remnant(remnant: &Remnant) -> String {
    let area = number(remnant.area.to_mm2(), AREA);
    with_lot(
        format!("{} {} {area}", remnant.name, remnant.cloth),
        &remnant.lot,
    )
}

fn account(account: &Account) -> String {
    let areas = [account.fresh, account.in_parts, account.waste];
    let areas = areas.map(|area| number(area.to_mm2(), AREA)).join(" ");
    with_lot(format!("{} {areas}", account.cloth), &account.lot)
}

fn with_lot(entry: String, lot: &Option<String>) -> String {
    match lot {
        Some(lot) => format!("{entry} lot={}", plain(lot)),
        None => entry,
    }
}

/// The event written in `line`, the `n`-th.
pub(super) fn read(line: &str, n: usize) -> Result<Event, ShelfFault> {
    let no_event = |why: &str| ShelfFault::NoEvent(why.to_owned());
    if line.len() > LONGEST_LINE {
        return Err(no_event("it is too long"));
    }
    let mut fields = line.split('|').map(str::trim);
    let number: Option<usize> = fields.next().and_then(|number| number.parse().ok());
    match number {
        Some(number) if number == n => {}
        Some(number) => return Err(ShelfFault::Number(number)),
        None => return Err(no_event("it has no number")),
    }
    let mut field = || fields.next().ok_or_else(|| no_event("it ends too early"));
    let (when, deed, job, who) = (field()?, field()?, field()?, field()?);
    let known = Deed::ALL.into_iter().find(|known| known.word() == deed);
    let deed = known.ok_or_else(|| no_event("it says nothing that is known to be done"))?;
    let mut event = Event::new(deed, job, who, when);
    for field in fields {
        let (word, entries) = field
            .split_once(':')
            .ok_or_else(|| no_event("a list has no name"))?;
        for entry in entries.split(';') {
            let (entry, lot) = match entry.split_once("lot=") {
                Some((entry, lot)) => (entry, Some(plain(lot))),
                None => (entry, None),
            };
            let words: Vec<&str> = entry.split_whitespace().collect();
            match (word, &words[..]) {
                ("off" | "on", [name, cloth, area]) if is_name(name) && is_name(cloth) => {
                    let remnant = Remnant::new(name, cloth, read_area(area)?, lot);
                    match word {
                        "off" => event.off.push(remnant),
                        _ => event.on.push(remnant),
                    }
                }
                ("cloth", [cloth, fresh, parts, waste]) if is_name(cloth) => {
                    let areas = [read_area(fresh)?, read_area(parts)?, read_area(waste)?];
                    let account = Account::new(cloth, areas);
                    event.accounts.push(Account { lot, ..account });
                }
                _ => return Err(no_event("an entry of a list cannot be read")),
            }
        }
    }
    Ok(event)
}

fn read_area(text: &str) -> Result<Area, ShelfFault> {
    let mm2: Option<f64> = text.parse().ok();
    let mm2 = mm2.filter(|mm2| mm2.is_finite() && *mm2 >= 0.0);
    (mm2.map(Area::mm2)).ok_or_else(|| ShelfFault::NoEvent("an area cannot be read".to_owned()))
}
