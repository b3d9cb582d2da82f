use super::*;

const JOB: &str = "\
# A lid and a rib.
title = \"Lid\"

[cutting]          # for all parts
gap = \"4 mm\"       # shears
# of the table
margin = \"10 mm\"

# ---- parts ----

# the lid
[[part]]
name = \"LID\"
layup = \"[0/45]s\" # first against the mould

[[part.ply]]
angle = 0   # warp

# the second
[[part.ply]]
angle = \"45 deg\"
step = \"-4 mm\"

[[part.ply]]
angle = 90

# ---- rib ----

[[part]]
name = \"RIB\"
sets = 2
";

fn set(at: &str, to: &str) -> Edit {
    Edit::Set {
        at: place(at),
        to: to.to_owned(),
    }
}

fn after(edit: Edit) -> String {
    edited(JOB, &[edit]).unwrap()
}

/// The job after `from` became `to` in an editor.
fn by_hand(from: &str, to: &str) -> String {
    assert_eq!(JOB.matches(from).count(), 1, "{from}");
    JOB.replace(from, to)
}

#[test]
fn a_value_is_changed_where_it_stands() {
    assert_eq!(
        after(set("cutting.gap", "6 mm")),
        by_hand("\"4 mm\" ", "\"6 mm\" ")
    );
    assert_eq!(
        after(set("part.0.layup", "[0/90]s")),
        by_hand("[0/45]s", "[0/90]s")
    );
    assert_eq!(
        after(set("part.0.ply.0.angle", "30")),
        by_hand("angle = 0 ", "angle = 30 ")
    );
    assert_eq!(
        after(set("part.0.ply.0.angle", "30 deg")),
        by_hand("angle = 0 ", "angle = \"30 deg\" ")
    );
    assert_eq!(
        after(set("part.1.sets", "3")),
        by_hand("sets = 2", "sets = 3")
    );
}

#[test]
fn a_key_is_added_at_the_end_of_its_table() {
    assert_eq!(
        after(set("part.1.hands", "true")),
        by_hand("sets = 2\n", "sets = 2\nhands = true\n")
    );
    assert_eq!(
        after(set("resin.name", "slow \"A\"")),
        format!("{JOB}\n[resin]\nname = 'slow \"A\"'\n")
    );
    assert_eq!(
        after(set("cloth.twill.weave", "twill")),
        format!("{JOB}\n[cloth.twill]\nweave = \"twill\"\n")
    );
}

#[test]
fn what_is_removed_leaves_the_comments_of_others() {
    assert_eq!(
        after(Edit::Remove {
            at: place("cutting.gap")
        }),
        by_hand("gap = \"4 mm\"       # shears\n", "")
    );
    assert_eq!(
        after(Edit::Remove {
            at: place("part.0.ply.1")
        }),
        by_hand(
            "\n# the second\n[[part.ply]]\nangle = \"45 deg\"\nstep = \"-4 mm\"\n",
            ""
        )
    );
    let without_rib = after(Edit::Remove {
        at: place("part.1"),
    });
    assert_eq!(
        without_rib,
        by_hand("[[part]]\nname = \"RIB\"\nsets = 2\n", "")
    );
    let without_parts = edited(
        &without_rib,
        &[Edit::Remove {
            at: place("part.0"),
        }],
    )
    .unwrap();
    assert!(!without_parts.contains("part]") && without_parts.contains("# ---- parts ----\n"));
    assert!(!without_parts.contains("# the lid"));
}

#[test]
fn a_ply_moves_with_its_comment_and_a_part_with_its_plies() {
    let moved = after(Edit::Move {
        at: place("part.0.ply.1"),
        to: 0,
    });
    let (first, second) = (
        "[[part.ply]]\nangle = 0   # warp\n",
        "# the second\n[[part.ply]]\nangle = \"45 deg\"\nstep = \"-4 mm\"\n",
    );
    assert_eq!(
        moved,
        by_hand(&format!("{first}\n{second}"), &format!("{second}\n{first}"))
    );
    let moved = after(Edit::Move {
        at: place("part.1"),
        to: 0,
    });
    let rib = "[[part]]\nname = \"RIB\"\nsets = 2\n";
    let (head, parts) = JOB.split_once("# the lid\n").unwrap();
    let (lid, _) = parts.split_once("\n# ---- rib ----\n\n").unwrap();
    assert_eq!(
        moved,
        format!("{head}{rib}\n# ---- rib ----\n\n# the lid\n{lid}")
    );
}

#[test]
fn tables_are_added_and_repeated() {
    let ply = Edit::Add {
        at: place("part.0.ply.3"),
        keys: vec![("angle".to_owned(), "-45".to_owned())],
    };
    assert_eq!(
        after(ply),
        by_hand("angle = 90\n", "angle = 90\n\n[[part.ply]]\nangle = -45\n")
    );
    assert_eq!(
        after(Edit::Repeat {
            at: place("part.0.ply.1")
        }),
        by_hand(
            "step = \"-4 mm\"\n",
            "step = \"-4 mm\"\n\n[[part.ply]]\nangle = \"45 deg\"\nstep = \"-4 mm\"\n"
        )
    );
    let first = Edit::Add {
        at: place("part.1.ply.0"),
        keys: vec![("cloth".to_owned(), "twill".to_owned())],
    };
    assert_eq!(
        after(first),
        format!("{JOB}\n[[part.ply]]\ncloth = \"twill\"\n")
    );
}

#[test]
fn what_is_not_there_is_told() {
    for edit in [
        set("part.2.name", "X"),
        set("part", "X"),
        set("part.0.ply", "X"),
        set("title.x", "X"),
        Edit::Remove {
            at: place("cutting.x"),
        },
        Edit::Remove { at: Vec::new() },
        Edit::Remove {
            at: place("part.7"),
        },
        Edit::Move {
            at: place("part.0"),
            to: 2,
        },
        Edit::Move {
            at: place("cutting"),
            to: 0,
        },
        Edit::Repeat {
            at: place("part.0.ply.9"),
        },
        Edit::Add {
            at: place("title.0"),
            keys: Vec::new(),
        },
        Edit::Add {
            at: place("part.4"),
            keys: Vec::new(),
        },
    ] {
        let told = edited(JOB, std::slice::from_ref(&edit)).unwrap_err();
        assert!(told.len() > 10, "{edit:?}: {told}");
    }
    assert!(edited("a = = 1", &[set("a", "1")]).is_err());
}

/// Random changes, made in the text and in the values that it holds: both come to the same, no comment is
/// lost that stands apart, and the file still parses.
#[test]
fn random_changes_come_to_the_same_as_in_the_values() {
    use rand_pcg::Pcg64Mcg;
    use rand_pcg::rand_core::Rng as _;
    let mut random = Pcg64Mcg::new(22);
    let mut below = |n: usize| (random.next_u64() % n.max(1) as u64) as usize;
    let mut text = JOB.to_owned();
    for round in 0..1000 {
        let mut values: toml::Table = text.parse().unwrap();
        let n_parts = values
            .get("part")
            .and_then(|p| p.as_array())
            .map_or(0, Vec::len);
        let part = below(n_parts);
        let edit = match below(7) {
            _ if n_parts < 2 => {
                let at = place(&format!("part.{n_parts}"));
                let keys = vec![("name".to_owned(), format!("P{round}"))];
                Edit::Add { at, keys }
            }
            0 => set(&format!("part.{part}.name"), &format!("N{round}")),
            1 => set("cutting.gap", &format!("{round} mm")),
            2 => set(&format!("part.{part}.sets"), &format!("{}", 1 + below(9))),
            3 => Edit::Move {
                at: place(&format!("part.{part}")),
                to: below(n_parts),
            },
            4 if n_parts < 6 => Edit::Repeat {
                at: place(&format!("part.{part}")),
            },
            5 => Edit::Remove {
                at: place(&format!("part.{part}")),
            },
            _ => {
                let keys = vec![("angle".to_owned(), below(90).to_string())];
                let plies = values["part"][part].get("ply").and_then(|p| p.as_array());
                let at = place(&format!(
                    "part.{part}.ply.{}",
                    below(plies.map_or(0, Vec::len) + 1)
                ));
                Edit::Add { at, keys }
            }
        };
        apply(&mut values, &edit);
        text = edited(&text, std::slice::from_ref(&edit)).unwrap();
        let found: toml::Table = text.parse().unwrap();
        assert_eq!(found, values, "{edit:?}\n{text}");
        for kept in [
            "# A lid and a rib.",
            "# ---- parts ----",
            "# shears",
            "# of the table",
            "# for all parts",
        ] {
            assert_eq!(
                text.matches(kept).count(),
                1,
                "{kept} after {edit:?}\n{text}"
            );
        }
    }
}

#[test]
fn tables_on_one_line_are_added_and_removed_too() {
    let text = "pin = [{ piece = \"A-1\", along = \"1 mm\" }] # by hand\n";
    let add = |n: usize| Edit::Add {
        at: place(&format!("pin.{n}")),
        keys: vec![("piece".to_owned(), "B-1".to_owned())],
    };
    let more = edited(text, &[add(1)]).unwrap();
    let expected = "pin = [{ piece = \"A-1\", along = \"1 mm\" }, { piece = \"B-1\" }] # by hand\n";
    assert_eq!(more, expected);
    let gone = Edit::Remove { at: place("pin.1") };
    assert_eq!(edited(&more, &[gone]).unwrap(), text);
    assert!(edited(text, &[add(2)]).is_err());
    let fields = TableFields::of(&more).unwrap();
    let pieces: Vec<Option<&str>> = fields.inner("pin").map(|pin| pin.value("piece")).collect();
    assert_eq!(pieces, [Some("A-1"), Some("B-1")]);
}

/// The same change in the values: lists are lists here.
fn apply(values: &mut toml::Table, edit: &Edit) {
    use toml::Value;
    fn within<'v>(mut at: &'v mut Value, steps: &[PlaceStep]) -> &'v mut Value {
        for step in steps {
            at = match step {
                PlaceStep::Key(key) => (at.as_table_mut().unwrap().entry(key.clone()))
                    .or_insert_with(|| Value::Array(Vec::new())),
                PlaceStep::Index(i) => &mut at.as_array_mut().unwrap()[*i],
            };
        }
        at
    }
    fn number_or_text(text: &str) -> Value {
        text.parse()
            .map_or_else(|_| Value::String(text.to_owned()), Value::Integer)
    }
    let mut root = Value::Table(std::mem::take(values));
    let (last, outer) = edit.at().split_last().unwrap();
    let holder = within(&mut root, outer);
    match (edit, last) {
        (Edit::Set { to, .. }, PlaceStep::Key(key)) => {
            holder
                .as_table_mut()
                .unwrap()
                .insert(key.clone(), number_or_text(to));
        }
        (Edit::Remove { .. }, PlaceStep::Index(i)) => {
            holder.as_array_mut().unwrap().remove(*i);
        }
        (Edit::Add { keys, .. }, PlaceStep::Index(i)) => {
            let table = keys
                .iter()
                .map(|(key, to)| (key.clone(), number_or_text(to)));
            holder
                .as_array_mut()
                .unwrap()
                .insert(*i, Value::Table(table.collect()));
        }
        (Edit::Repeat { .. }, PlaceStep::Index(i)) => {
            let list = holder.as_array_mut().unwrap();
            list.insert(i + 1, list[*i].clone());
        }
        (Edit::Move { to, .. }, PlaceStep::Index(i)) => {
            let list = holder.as_array_mut().unwrap();
            let moved = list.remove(*i);
            list.insert(*to, moved);
        }
        _ => unreachable!(),
    }
    let Value::Table(back) = root else {
        unreachable!()
    };
    *values = back;
}

#[test]
fn a_cloth_takes_another_name_and_plies_follow() {
    let job = "\
[cloth.thin]       # on the shelf
weave = \"plain\"

[cloth.thin.stiffness]
e1 = \"20 GPa\"

[[part]]
cloth = \"thin\"     # all of it
ply = [{ cloth = \"thin\", angle = 0 }, { cloth = \"other\", angle = 45 }]

[cloth.other]
weave = \"twill\"
";
    let rename = |from: &str, to: &str| {
        let at = place(&format!("cloth.{from}"));
        edited(
            job,
            &[Edit::Rename {
                at,
                to: to.to_owned(),
            }],
        )
    };
    let same_but_the_name = job.replace("thin", "light");
    assert_eq!(rename("thin", "light").unwrap(), same_but_the_name);
    let taken = rename("thin", "other").unwrap_err();
    assert!(taken.contains("already"), "{taken}");
    assert!(rename("thick", "light").is_err());
}

#[test]
fn a_laminate_code_may_be_typed_without_its_brackets() {
    let typed =
        |to: &str| edited("[[part]]\nname = \"LID\"\n", &[set("part.0.layup", to)]).unwrap();
    assert!(
        typed("0/45/0").ends_with("layup = \"[0/45/0]\"\n"),
        "{}",
        typed("0/45/0")
    );
    assert!(typed("[0/45]s").ends_with("layup = \"[0/45]s\"\n"));
}
