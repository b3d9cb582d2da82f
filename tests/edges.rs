//! Edges that ravel and their tape, and the faces of satins, through the command.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

mod one_part;

use one_part::{Shop, carbon, refused, words};
use serde_json::Value;

/// The job of a plate of 1000 × 500 mm from a cloth of `weave`, with these keys of the cloth and of the part.
fn job(weave: &str, cloth: &str, layup: &str, part: &str) -> String {
    carbon("", part)
        .replace(
            "weave = \"twill\"",
            &format!("weave = \"{weave}\"\n{cloth}"),
        )
        .replace("[0/45]s", layup)
}

fn plate(weave: &str, cloth: &str, layup: &str, part: &str) -> Shop {
    Shop::new((1000, 500), &job(weave, cloth, layup, part))
}

/// Tape on the shopping list, mm.
fn tape(shop: &Shop) -> f64 {
    let tape = shop.shopping().remove("masking tape for edges that fray");
    tape.map_or(0.0, |item| item["needed"].as_f64().unwrap())
}

/// Trim of 15 mm, square corners: a cut line of 1030 × 530 mm, 3120 mm around. At 0° all of it runs along warp
/// or weft and ravels where the weave is loose; at 45° none does; at 15° (no nearer than 20°) all does.
#[test]
fn straight_edges_of_a_loose_weave_are_taped_and_bias_edges_are_not() {
    let trim = "trim = \"15 mm\"\njoin = \"mitre\"\n";
    for (weave, cloth, layup, expected) in [
        ("satin", "", "[0]", 3120.0),
        ("basket", "", "[90]", 3120.0),
        ("satin", "", "[45]", 0.0),
        ("satin", "", "[15]", 3120.0),
        ("satin", "", "[25]", 0.0),
        ("twill", "", "[45]", 0.0),
        ("twill", "", "[0]", 0.0),
        ("twill", "ravels = true", "[0]", 3120.0),
        ("twill", "ravels = true", "[45]", 0.0),
        ("satin", "ravels = false", "[0]", 0.0),
        ("unidirectional", "", "[0]", 0.0),
    ] {
        let found = tape(&plate(weave, cloth, layup, trim));
        assert!(
            (found - expected).abs() < 0.5,
            "{weave} {cloth} {layup}: {found}"
        );
    }
    // A bias piece is told to stretch, a straight one of satin to be taped; neither of the other.
    let list = |layup: &str| words(&plate("satin", "", layup, trim).read("layup/kit-list.html"));
    let (straight, bias) = (list("[0]"), list("[45]"));
    assert!(
        straight.contains("tape the edge along the cut line before cutting")
            && !straight.contains("bias")
    );
    assert!(bias.contains("bias") && !bias.contains("tape the edge"));
    let sheet = words(&plate("satin", "", "[45]", trim).read("layup/PLATE.html"));
    assert!(sheet.contains("edges stretch, do not pull") && !sheet.contains("taped edges"));
}

/// Half of a tape of 25 mm is 12.5 mm: with 12.5 mm of trim it is cut through its middle, with 12 mm it would end
/// in the part by half a millimetre, without trim by all of it.
#[test]
fn no_tape_ends_in_the_part() {
    let with_trim = |trim: &str, more: &str| {
        let part = format!("trim = \"{trim}\"\njoin = \"mitre\"\n");
        let job = job("satin", "", "[0]", &part);
        let job = job.replacen("[cutting]\n", &format!("[cutting]\n{more}"), 1);
        Shop::new((1000, 500), &job)
    };
    let wide = with_trim("12.5 mm", "");
    assert!(!wide.said.contains("tape"), "{}", wide.said);
    let narrow = with_trim("12 mm", "");
    assert!(
        narrow.said.contains(
            "half of the tape on edges of `twill` is wider than the trim of part `PLATE`"
        )
    );
    assert!(
        narrow.said.contains("beside the finished edge"),
        "{}",
        narrow.said
    );
    assert!((tape(&narrow) - 2.0 * (1024.0 + 524.0)).abs() < 0.5);
    assert!(
        words(&narrow.read("layup/kit-list.html"))
            .contains("beside the finished edge, none over it")
    );
    let thin_tape = with_trim("12 mm", "edge_tape = \"19 mm\"\n");
    assert!(!thin_tape.said.contains("tape"), "{}", thin_tape.said);
    let none = with_trim("0 mm", "");
    assert!(
        none.said
            .contains("`twill` ravels at its edges in part `PLATE`, and has no trim for tape")
    );
    assert!(tape(&none) == 0.0, "none is bought");
    assert!(words(&none.read("layup/PLATE.html")).contains("no tape may lie in the part"));
    // A cloth that does not ravel says nothing of tape, whatever the trim.
    assert!(
        !plate("twill", "", "[0/45]", "trim = \"0 mm\"\n")
            .said
            .contains("tape")
    );
}

/// A satin shows mostly warp on one face and weft on the other (MIL-HDBK-17, from memory). The mirror image of a
/// ply with its warp face up is one with its warp face down: a stack all one way up is not symmetric, one whose lower
/// half lies face down is, and a middle ply mirrors itself never.
#[test]
fn a_stack_of_satins_is_symmetric_if_their_faces_mirror_each_other() {
    let symmetric = |weave: &str, layup: &str, part: &str| {
        let plan = plate(weave, "", layup, part).plan();
        plan["parts"][0]["symmetric"].as_bool().unwrap()
    };
    assert!(!symmetric("satin", "[0/45]s", ""));
    assert!(!symmetric("satin", "[0/45]s", "face = \"up\"\n"));
    assert!(!symmetric("satin", "[0/45]s", "face = \"down\"\n"));
    assert!(symmetric("satin", "[0/45]s", "face = \"mirrored\"\n"));
    assert!(!symmetric("satin", "[0/45/0]", "face = \"mirrored\"\n"));
    assert!(symmetric("twill", "[0/45]s", "face = \"mirrored\"\n"));
    let plies = |faces: [&str; 4]| {
        let plies = faces.map(|face| format!("[[part.ply]]\nangle = 0\nface = \"{face}\"\n"));
        let job = job("satin", "", "", &plies.concat()).replace("layup = \"\"\n", "");
        let plan = Shop::new((1000, 500), &job).plan();
        plan["parts"][0]["symmetric"].as_bool().unwrap()
    };
    assert!(plies(["up", "down", "up", "down"]));
    assert!(plies(["down", "down", "up", "up"]));
    assert!(!plies(["up", "down", "down", "up"]));
}

/// Laid face down, a piece is cut as its mirror image about the warp: a step that is low on the part comes to lie
/// high on the roll, and the sheet says so.
#[test]
fn a_satin_that_is_laid_face_down_is_cut_turned_over() {
    let shop = plate(
        "satin",
        "warp_face = \"up\"",
        "[0/0]",
        "face = \"mirrored\"\n",
    );
    let plan = shop.plan();
    let pieces = plan["layouts"][0]["pieces"].as_array().unwrap();
    let over = |ply: i32| -> &Value {
        let own = pieces.iter().find(|piece| piece["ply"] == ply);
        &own.unwrap()["turned_over"]
    };
    assert_eq!(
        (over(1), over(2)),
        (&Value::Bool(true), &Value::Bool(false))
    );
    let sheet = words(&shop.read("layup/PLATE.html"));
    let [first, second] =
        ["warp face to the mould", "warp face to the bag"].map(|w| sheet.find(w).unwrap());
    assert!(first < second);
    assert!(sheet.contains("turn the piece over before laying: PLATE-1"));
    for (weave, cloth, part, complaint) in [
        (
            "satin",
            "warp_face = \"left\"",
            "",
            "`warp_face` cannot be `left`",
        ),
        ("satin", "", "face = \"over\"\n", "`face` cannot be `over`"),
    ] {
        let said = refused(&job(weave, cloth, "[0]", part));
        assert!(said.contains(complaint), "{said}");
    }
    let twill = job(
        "twill",
        "",
        "",
        "[[part.ply]]\nangle = 0\nface = \"down\"\n",
    );
    let twill = Shop::new((1000, 500), &twill.replace("layup = \"\"\n", ""));
    assert!(twill.said.contains("`face` says nothing of a twill cloth"));
    let named = plate("twill", "warp_face = \"up\"", "[0]", "");
    assert!(
        named
            .said
            .contains("`warp_face` says nothing of a twill cloth")
    );
}
