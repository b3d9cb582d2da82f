//! `warpwise shop`: the shop file, written to start from or looked at.

use std::fmt::Write as _;
use std::path::Path;

use super::args::ShopOptions;
use super::writing::{Existing, write_file};
use super::{Failure, input, messages};
use crate::diag::{Diagnostic, Place, counted};
use crate::job::{STARTING_SHOP, Shop};

pub(super) fn run(options: &ShopOptions) -> Result<(), Failure> {
    let path = &options.file;
    if options.new {
        return write_new(path, options.quiet);
    }
    let text = input::read_text(path, "shop file").map_err(|problem| {
        let help = format!("write one with: warpwise shop --new {}", path.display());
        messages::show(&problem.help(help));
        Failure::Input
    })?;
    let read = Shop::read(&path.display().to_string(), &text);
    let (shop, warnings) = read.map_err(|problems| {
        messages::show_all(&problems);
        Failure::Input
    })?;
    messages::show_all(&warnings);
    if !options.quiet {
        messages::print(&told(path, &shop));
    }
    Ok(())
}

fn write_new(path: &Path, quiet: bool) -> Result<(), Failure> {
    if path.exists() {
        let problem = Diagnostic::error("the file is there already and was left as it is");
        messages::show(
            &problem
                .at(Place::File(path.display().to_string()))
                .help("name another"),
        );
        return Err(Failure::Output);
    }
    write_file(path, STARTING_SHOP.as_bytes(), Existing::Own, &[])?;
    if !quiet {
        let path = path.display();
        messages::print(&format!(
            "{path} was written. Its figures are usual values: put yours in their place, then:\n  \
             warpwise shop {path}\n  warpwise new DRAWING.svg --shop {path} --cloth NAME\n"
        ));
    }
    Ok(())
}

/// What is in the shop file.
fn told(path: &Path, shop: &Shop) -> String {
    let head = ["cloth", "weave", "weight", "roll", "price"].map(str::to_owned);
    let cloths = shop.cloths.iter().map(|cloth| {
        let price = cloth.price.as_ref().map(ToString::to_string);
        [
            cloth.name.clone(),
            cloth.weave.word().to_owned(),
            cloth.areal_weight.to_string(),
            cloth.roll_width.in_mm_and_inches(),
            price.unwrap_or_else(|| "not priced".to_owned()),
        ]
    });
    let rows: Vec<[String; 5]> = std::iter::once(head).chain(cloths).collect();
    let mut text = format!(
        "{}: {}, {}\n\n{}",
        path.display(),
        counted(shop.cloths.len(), "cloth", "cloths"),
        counted(shop.resins.len(), "resin", "resins"),
        messages::columns(&rows)
    );
    for (idx, (name, resin)) in shop.resins.iter().enumerate() {
        let usual = if idx == 0 {
            ", taken where a job does not say"
        } else {
            ""
        };
        _ = write!(text, "\n  resin {name}: {}{usual}", resin.name);
    }
    if let Some(shelf) = &shop.shelf {
        _ = write!(text, "\n  shelf: {shelf}");
    }
    text.truncate(text.trim_end().len());
    text.push('\n');
    text
}
