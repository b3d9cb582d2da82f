//! Cores on paper and in the costs, and what the sheet says of cure, through the command.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

mod one_part;

use one_part::{RESIN, Shop, carbon, close, refused, words};

const FOAM: &str =
    "[[part.core]]\nname = \"foam\"\non_ply = 2\nthickness = \"10 mm\"\ndensity = \"80 kg/m3\"\n";

/// Two sets of 1000 × 500 mm of foam are 1 m². Sheets of 1200 × 800 mm are 0.96 m²: two are bought, for 60 USD. A
/// set bears 0.5/0.96 of one sheet of 30 USD: 15.63 USD.
#[test]
fn sheets_of_core_are_counted_and_priced_by_area() {
    let sheet = "sheet = [\"1200 mm\", \"800 mm\"]\nprice = \"30 USD\"\n";
    let shop = Shop::new(
        (1000, 500),
        &carbon("", &format!("sets = 2\n{FOAM}{sheet}")),
    );
    let item = shop.shopping().remove("foam 10 mm (0.39 in)").unwrap();
    close(&item["needed"], 1e6, 1e-9);
    close(&item["buy"], 2.0 * 0.96e6, 1e-9);
    assert_eq!(
        (item["packs"].as_u64(), item["cost"].as_f64()),
        (Some(2), Some(60.0))
    );
    let plan = shop.plan();
    assert_eq!(plan["costs"]["sets"][0]["core"].as_f64(), Some(15.63));
    assert_eq!(plan["costs"]["order"]["core"].as_f64(), Some(31.25));
    assert_eq!(plan["costs"]["order"]["total"].as_f64(), Some(31.25));
    assert!(words(&shop.read("report.html")).contains("Cores"));
    let said = refused(&carbon("", &format!("{FOAM}price = \"30 USD\"\n")));
    assert!(said.contains("`sheet` is missing"), "{said}");
}

/// A core as large as the part lies within it; one that is 5 mm larger all round reaches over it by
/// 1010 × 510 − 1000 × 500 mm² less four round corners of (4 − π)/4 · 25 mm²: 150.8 cm², 23.4 in².
#[test]
fn a_core_that_reaches_over_the_part_is_warned_of() {
    let said = |step: &str| {
        Shop::new(
            (1000, 500),
            &carbon("", &format!("{FOAM}step = \"{step}\"\n")),
        )
        .said
    };
    assert!(!said("0 mm").contains("reaches over") && !said("-20 mm").contains("reaches over"));
    let over = said("5 mm");
    assert!(
        over.contains(
            "core `foam` of part `PLATE` reaches over the edge of the part, by 151 cm² (23.4 in²)"
        ),
        "{over}"
    );
}

/// The stack draws the core between its plies: one shaded shape more than without.
#[test]
fn the_stack_draws_the_core() {
    let shapes = |core: &str| {
        let sheet = Shop::new((1000, 500), &carbon("", core)).read("layup/PLATE.html");
        let figure = sheet.split("class=\"stack\"").nth(1).unwrap();
        let figure = figure.split("</svg>").next().unwrap().to_owned();
        (figure.matches("region").count(), figure)
    };
    let (without, _) = shapes("");
    let (with, figure) = shapes(FOAM);
    assert_eq!(with, without + 1, "{figure}");
}

/// From 20 °C to 60 °C at 10 °C an hour are 4 h.
#[test]
fn demould_and_post_cure_stand_on_the_sheet_as_the_job_says() {
    let cure = "room = \"20 °C\"\ndemould_after = \"36 h\"\nhardness = \"Barcol 35\"\npost_cure = \"60 °C\"\n\
                post_cure_ramp = \"10 °C/h\"\npost_cure_soak = \"8 h\"\n";
    let sheet = words(
        &Shop::new((300, 200), &carbon(&format!("{RESIN}{cure}"), "")).read("layup/PLATE.html"),
    );
    let mut at = 0;
    for step in [
        "Demould after 36 h at least and from a hardness of Barcol 35 on",
        "Post-cure, the part held in shape: warm it by no more than 10 °C/h (18 °F/h) to 60 °C (140 °F) , in about 4 h",
        "hold it there 8 h",
        "Trim to the finished edge",
    ] {
        let next = sheet[at..].find(step);
        at += next.unwrap_or_else(|| panic!("{step} is missing or too early: {sheet}"));
    }
    for (keys, complaint) in [
        ("post_cure_soak = \"8 h\"\n", "`post_cure` is missing"),
        (
            "post_cure = \"20 °C\"\n",
            "nobody cures at such a `post_cure`",
        ),
        (
            "post_cure = \"60 °C\"\npost_cure_ramp = \"10 mm/h\"\n",
            "`mm/h` is not a unit of heating rate",
        ),
    ] {
        let said = refused(&carbon(&format!("{RESIN}{keys}"), ""));
        assert!(said.contains(complaint), "{said}");
    }
}

/// Carbon is warned of where there is some, and with an "if" where the job does not say what the fibre is.
#[test]
fn carbon_is_warned_of_where_it_may_be() {
    let told = |fibre: &str| {
        let job = carbon("", "").replace("fibre = \"carbon\"\n", fibre);
        let shop = Shop::new((300, 200), &job);
        words(&(shop.read("layup/PLATE.html") + &shop.read("report.html")))
    };
    let carbon = told("fibre = \"carbon\"\n");
    assert!(carbon.contains("Carbon dust conducts") && carbon.contains("touches carbon corrodes"));
    let unstated = told("");
    assert!(!unstated.contains("Carbon dust conducts"));
    for said in [
        "If the cloth is carbon, its dust conducts",
        "If the cloth is carbon, metal that touches it corrodes",
    ] {
        assert!(unstated.contains(said), "{said}");
    }
    let glass = told("fibre = \"e-glass\"\n");
    assert!(
        !glass.to_lowercase().contains("if the cloth is carbon") && !glass.contains("conducts")
    );
}
