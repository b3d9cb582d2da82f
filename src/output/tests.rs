//! Every file of the out directory, read back by other means than those that wrote it.

mod machine;

use std::collections::{BTreeMap, BTreeSet};

use crate::diag::Diagnostics;
use crate::output;
use crate::plan::tests::sample;
use crate::plan::{Layout, PlacedPiece, Plan};

/// Areas must agree to this many mm²: along the sample's longest boundary that is a shift of less
/// than 0.001 mm, and the formats may differ by 0.01 mm.
const AREA: f64 = 1.0;

fn pieces(plan: &Plan) -> impl Iterator<Item = (&Layout, &PlacedPiece)> {
    let layouts = plan.layouts().iter();
    layouts.flat_map(|layout| layout.pieces().iter().map(move |piece| (layout, piece)))
}

/// Twice the signed area is summed, then halved: positive for counter-clockwise.
fn signed_area(points: &[(f64, f64)]) -> f64 {
    let next = points.iter().cycle().skip(1);
    let twice: f64 = points
        .iter()
        .zip(next)
        .map(|(a, b)| a.0 * b.1 - a.1 * b.0)
        .sum();
    twice / 2.0
}

fn assert_close(what: &str, found: f64, expected: f64) {
    assert!(
        (found - expected).abs() < AREA,
        "{what}: {found} instead of {expected}"
    );
}

mod json {
    use super::*;
    use serde_json::Value;

    fn ring(value: &Value) -> Vec<(f64, f64)> {
        let points = value.as_array().unwrap().iter();
        points
            .map(|p| (p[0].as_f64().unwrap(), p[1].as_f64().unwrap()))
            .collect()
    }

    #[test]
    fn coordinates_give_back_areas_and_directions() {
        let plan = sample::plan();
        let json: Value = serde_json::from_str(&output::proof::plan_json(&plan)).unwrap();
        let mut n_pieces = 0;
        for (layout, written) in plan
            .layouts()
            .iter()
            .zip(json["layouts"].as_array().unwrap())
        {
            for (piece, written) in layout
                .pieces()
                .iter()
                .zip(written["pieces"].as_array().unwrap())
            {
                assert_eq!(written["id"], piece.id());
                for (outline, key) in [(piece.cut(), "cut"), (piece.net(), "net")] {
                    let outer = signed_area(&ring(&written[key]["outer"]));
                    assert_close(piece.id(), outer, outline.outer.area());
                    for (opening, written) in outline
                        .openings
                        .iter()
                        .zip(written[key]["openings"].as_array().unwrap())
                    {
                        assert_close(piece.id(), signed_area(&ring(written)), -opening.area());
                    }
                }
                n_pieces += 1;
            }
        }
        assert_eq!(n_pieces, 24);
    }

    #[test]
    fn snapshot_of_a_small_plan() {
        let plan = sample::with_pieces(|p| p.set() == 1 && p.cut().outer.points().len() < 10);
        let text = output::proof::plan_json(&plan).replace(env!("CARGO_PKG_VERSION"), "VERSION");
        insta::assert_snapshot!(text);
    }
}

mod csv {
    use super::*;

    #[test]
    fn snapshot() {
        insta::assert_snapshot!(output::formats::csv::pieces_csv(&sample::plan()));
    }
}

mod svg {
    use super::*;
    use roxmltree::{Document, Node};

    fn layer<'a>(document: &'a Document<'a>, name: &str) -> Node<'a, 'a> {
        let mut groups = document.root_element().children();
        groups
            .find(|n| n.attribute("id") == Some(name))
            .unwrap_or_else(|| panic!("no layer {name}"))
    }

    /// The rings of a path made of M, L and Z alone.
    fn rings(d: &str) -> Vec<Vec<(f64, f64)>> {
        d.split_inclusive('Z')
            .map(|ring| {
                ring.trim()
                    .trim_end_matches('Z')
                    .split(['M', 'L'])
                    .filter(|p| !p.trim().is_empty())
                    .map(|p| {
                        let (x, y) = p.trim().split_once(',').unwrap();
                        (x.parse().unwrap(), y.parse().unwrap())
                    })
                    .collect()
            })
            .collect()
    }

    #[test]
    fn reads_back_in_true_size_layer_by_layer() {
        let plan = sample::plan();
        for layout in plan.layouts() {
            let text = output::formats::svg::layout_svg(&plan, layout);
            let document = Document::parse(&text).unwrap();
            let root = document.root_element();
            let view: Vec<&str> = root.attribute("viewBox").unwrap().split(' ').collect();
            assert_eq!(view[..2], ["0", "0"]);
            assert_eq!(root.attribute("width").unwrap(), format!("{}mm", view[2]));
            assert_eq!(root.attribute("height").unwrap(), format!("{}mm", view[3]));
            for name in ["CUT", "NET", "FIBRE", "LABEL", "CLOTH", "NOTCH"] {
                layer(&document, name);
            }
            for piece in layout.pieces() {
                for (name, outline) in [("CUT", piece.cut()), ("NET", piece.net())] {
                    let group = layer(&document, name)
                        .children()
                        .find(|n| n.attribute("data-piece") == Some(piece.id()))
                        .unwrap();
                    let path = group.first_element_child().unwrap();
                    let rings = rings(path.attribute("d").unwrap());
                    let areas: Vec<f64> = rings.iter().map(|r| signed_area(r).abs()).collect();
                    assert_close(piece.id(), areas[0], outline.outer.area());
                    assert_close(
                        piece.id(),
                        areas[0] - areas[1..].iter().sum::<f64>(),
                        outline.area(),
                    );
                }
            }
        }
    }

    #[test]
    fn ids_are_unique_and_a_plain_piece_id_is_itself() {
        let plan = sample::plan();
        for layout in plan.layouts() {
            let text = output::formats::svg::layout_svg(&plan, layout);
            let document = Document::parse(&text).unwrap();
            let mut seen = BTreeSet::new();
            for id in document.descendants().filter_map(|n| n.attribute("id")) {
                assert!(seen.insert(id), "{id} twice");
                assert!(!id.contains(char::is_whitespace), "{id}");
            }
        }
        let text = output::formats::svg::layout_svg(&plan, &plan.layouts()[0]);
        assert!(text.contains("id=\"RUD-1#1\""));
    }

    #[test]
    fn labels_are_upright_text_with_the_piece_id_where_there_is_room() {
        let plan = sample::plan();
        let text = output::formats::svg::layout_svg(&plan, &plan.layouts()[1]);
        let document = Document::parse(&text).unwrap();
        let texts: BTreeSet<&str> = layer(&document, "LABEL")
            .descendants()
            .filter(|n| n.has_tag_name("text"))
            .filter_map(|n| n.text())
            .collect();
        assert!(texts.contains("RUD-2#1"), "{texts:?}");
        assert!(texts.iter().any(|t| t.starts_with("#1 · 0°")), "{texts:?}");
    }
}

mod dxf {
    use super::*;
    use ::dxf::entities::{Entity, EntityType};
    use ::dxf::{Drawing, XDataItem};

    /// The piece an entity belongs to.
    fn piece_of(entity: &Entity) -> Option<&str> {
        let data = entity.common.x_data.iter();
        data.filter(|d| d.application_name == "WARPWISE")
            .flat_map(|d| &d.items)
            .find_map(|item| match item {
                XDataItem::Str(id) => Some(id.as_str()),
                _ => None,
            })
    }

    #[test]
    fn reads_back_in_true_size_layer_by_layer() {
        let plan = sample::plan();
        for layout in plan.layouts() {
            let bytes = output::formats::dxf::layout_dxf(&plan, layout);
            let drawing = Drawing::load(&mut bytes.as_slice()).unwrap();
            assert_eq!(
                drawing.header.default_drawing_units,
                ::dxf::enums::Units::Millimeters
            );
            let layers: BTreeSet<&str> = drawing.layers().map(|l| l.name.as_str()).collect();
            for name in ["CUT", "NET", "FIBRE", "LABEL", "CLOTH", "NOTCH"] {
                assert!(layers.contains(name), "no layer {name}");
            }
            let mut areas: BTreeMap<(&str, &str), Vec<f64>> = BTreeMap::new();
            for entity in drawing.entities() {
                let EntityType::LwPolyline(line) = &entity.specific else {
                    continue;
                };
                assert!(line.is_closed());
                let points: Vec<(f64, f64)> = line.vertices.iter().map(|v| (v.x, v.y)).collect();
                let key = (entity.common.layer.as_str(), piece_of(entity).unwrap_or(""));
                areas.entry(key).or_default().push(signed_area(&points));
            }
            let roll = layout.roll_width() * layout.used_length();
            assert_close("roll", areas[&("CLOTH", "")][0], roll.to_mm2());
            for piece in layout.pieces() {
                for (name, outline) in [("CUT", piece.cut()), ("NET", piece.net())] {
                    let found = &areas[&(name, piece.id())];
                    assert_close(piece.id(), found[0], outline.outer.area());
                    assert_close(
                        piece.id(),
                        found[0] - found[1..].iter().sum::<f64>(),
                        outline.area(),
                    );
                }
                assert!(areas.contains_key(&("FIBRE", piece.id())) || piece.cut().area() < 7e3);
            }
        }
    }
}

mod report {
    use super::*;

    #[test]
    fn shows_every_piece_escaped_and_fetches_nothing() {
        let plan = sample::plan();
        let html = output::pages::report_html(&plan, &Diagnostics::new());
        for (_, piece) in pieces(&plan) {
            let escaped = piece
                .id()
                .replace('&', "&amp;")
                .replace('<', "&lt;")
                .replace('>', "&gt;")
                .replace('"', "&quot;");
            // Once in a table, and in each row of the drawing that it reaches into.
            let attribute = format!("data-piece=\"{escaped}\"");
            let marked = |tag: &str| {
                let of = |part: &&str| {
                    part.starts_with(tag)
                        && part
                            .split('>')
                            .next()
                            .is_some_and(|t| t.contains(&attribute))
                };
                html.split('<').filter(of).count()
            };
            let (in_tables, in_drawings) = (marked("tr "), marked("g "));
            assert_eq!(in_tables, 1, "{}", piece.id());
            assert!((1..=2).contains(&in_drawings), "{}", piece.id());
            let all = html.matches(&attribute).count();
            assert_eq!(all, in_tables + in_drawings, "{}", piece.id());
        }
        assert!(!html.contains("<ü&"), "a name got through unescaped");
        for outside in [
            "http:", "https:", "=\"//", "@import", "src=", "fetch(", "XMLHttp", "<link",
        ] {
            assert!(!html.contains(outside), "{outside}");
        }
    }

    #[test]
    fn a_long_roll_goes_on_in_further_rows() {
        let plan = sample::with_length_used(crate::units::Length::metres(9.0));
        let html = output::pages::report_html(&plan, &Diagnostics::new());
        assert!(html.contains("row 1 of 8"));
    }
}

mod files {
    use super::*;

    fn files_of(plan: &Plan) -> Vec<output::OutputFile> {
        output::folder::all_of(
            plan,
            &output::proof::plan_json(plan),
            &mut Diagnostics::new(),
        )
    }

    #[test]
    fn all_are_there_under_safe_names_and_the_same_every_time() {
        let plan = sample::plan();
        let files = files_of(&plan);
        let paths: Vec<&str> = files.iter().map(|f| f.path.as_str()).collect();
        assert_eq!(
            paths,
            [
                "plan.json",
                "report.html",
                "pieces.csv",
                "cut/twill-1.dxf",
                "cut/twill-1.svg",
                "cut/ud-300-1.dxf",
                "cut/ud-300-1.svg",
                "cut/Glas__45___E_-1.dxf",
                "cut/Glas__45___E_-1.svg",
                "layup/RUD.html",
                "layup/Klappe________.html",
                "layup/kit-list.html",
                "layup/sheets.pdf",
                "templates/templates-A4.pdf",
                "labels.pdf",
            ]
        );
        assert_eq!(files, files_of(&sample::plan()));
    }

    #[test]
    fn rolls_of_the_same_name_get_files_of_their_own() {
        let plan = sample::with_rolls(["Roll", "roll", "Roll"]);
        let paths: BTreeSet<String> = files_of(&plan)
            .into_iter()
            .map(|f| f.path.to_lowercase())
            .collect();
        assert_eq!(paths.len(), 15);
    }

    #[test]
    fn a_plan_without_pieces_is_still_written() {
        let plan = sample::without_pieces();
        assert_eq!(files_of(&plan).len(), 7);
    }
}
