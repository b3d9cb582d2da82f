//! Several pictures of one template on one board.

use super::render::{Polygon, Shot, circle};
use super::scene::{Table, deviation, jpeg, laid_on};
use super::usual::{ORANGE, measured, messages};
use warpwise::photo::board::{Board, BoardPaper};
use warpwise::photo::{self, PhotoFile, Sight};

/// Four A4 sheets, taped askew and printed not quite true, with a template that no picture shows whole: a V notch, an opening in
/// both pictures, one in the first alone, a 0° line and a cross.
fn table() -> Table {
    table_with_template_slid([0.0; 2])
}

/// The same, its template slid by so much.
fn table_with_template_slid(by: [f64; 2]) -> Table {
    let board = Board::of_size(BoardPaper::A4, 420.0, 594.0).unwrap();
    let edge = vec![
        [85.0, 70.0],
        [335.0, 60.0],
        [340.0, 200.0],
        [320.0, 211.0],
        [340.0, 222.0],
        [338.0, 420.0],
        [270.0, 530.0],
        [90.0, 520.0],
    ];
    let rings = [
        edge,
        circle(210.0, 297.0, 40.0, 720),
        circle(150.0, 140.0, 25.0, 720),
    ];
    let slid = |p: &[f64; 2]| [p[0] + by[0], p[1] + by[1]];
    let rings = rings.iter().map(|ring| ring.iter().map(slid).collect());
    let mut table = Table::new(board, Polygon::new(rings.collect()), ORANGE);
    table.print = [0.997, 1.002];
    table.tape(0.8, 0.25, 11);
    table.pen = vec![
        ([200.0, 120.0], [320.0, 130.0], 2.0),
        ([209.0, 470.0], [231.0, 470.0], 2.0),
        ([220.0, 459.0], [220.0, 481.0], 2.0),
    ];
    table
}

/// The lower part of it, or the upper one.
fn shot(y: f64) -> Shot {
    Shot {
        width: 1600,
        height: 1200,
        aim: [210.0, y],
        distance: 420.0,
        rays: 2,
        tilt_deg: 8.0,
        tilt_to_deg: 0.3 * y,
        seed: y as u64,
        ..Shot::default()
    }
}

fn read(table: &Table, pictures: &[Vec<u8>]) -> Result<Sight, String> {
    let files: Vec<PhotoFile<'_>> = (pictures.iter())
        .map(|picture| PhotoFile::new("part.jpg", picture))
        .collect();
    photo::read_all(&files, &measured(table)).map_err(|problems| messages(&problems))
}

#[test]
fn pictures_of_parts_of_a_template_make_one_outline() {
    let table = table();
    let pictures = [200.0, 390.0].map(|y| jpeg(&shot(y), &table, 90));
    for picture in &pictures {
        let alone = read(&table, std::slice::from_ref(picture)).unwrap_err();
        assert!(alone.contains("reaches over the border"), "{alone}");
    }
    let sight = read(&table, &pictures).unwrap();
    let [template] = &sight.templates[..] else {
        panic!("{} templates", sight.templates.len());
    };
    assert_eq!(template.openings.len(), 2);
    for line in laid_on(template, table.template.rings()) {
        let [rms, most] = deviation(&line, table.template.rings());
        assert!(rms < 0.15 && most < 0.4, "{rms} {most}");
        assert!(most < 3.0 * sight.error, "{most} {}", sight.error);
    }
    let ([line], [cross]) = (&template.lines[..], &template.crosses[..]) else {
        panic!("{:?} {:?}", template.lines, template.crosses);
    };
    let slope = (line[1].y - line[0].y) / (line[1].x - line[0].x);
    assert!((slope - 10.0 / 120.0).abs() < 0.005, "{slope}");
    assert!((cross.x - 220.0).hypot(cross.y - 470.0) < 0.6, "{cross:?}");
    // The other way round it is the same template.
    let [first, second] = pictures;
    let turned = read(&table, &[second, first]).unwrap();
    let ring: Vec<[f64; 2]> = template.edge.iter().map(|p| [p.x, p.y]).collect();
    let [_, most] = deviation(&turned.templates[0].edge, &[ring]);
    assert!(most < 0.2, "{most}");
}

#[test]
fn pictures_that_do_not_show_one_board_are_refused_by_name() {
    let table = table();
    let lower = jpeg(&shot(200.0), &table, 90);
    // Part of the edge is in neither.
    let said = read(&table, &[lower.clone(), lower.clone()]).unwrap_err();
    assert!(said.contains("do not show the whole edge"), "{said}");
    // A sheet was taped anew between the pictures.
    let mut moved = self::table();
    for sheet in &mut moved.askew {
        sheet[0] += 3.0 * sheet[1].signum();
    }
    let said = read(&table, &[lower.clone(), jpeg(&shot(390.0), &moved, 90)]).unwrap_err();
    assert!(said.contains("does not fit those before it"), "{said}");
    let other = Board::of_size(BoardPaper::A4, 630.0, 594.0).unwrap();
    let other = Table::new(other, Polygon::new(table.template.rings().to_vec()), ORANGE);
    let said = read(&table, &[lower, jpeg(&shot(390.0), &other, 90)]).unwrap_err();
    assert!(said.contains("another board"), "{said}");
}

#[test]
fn a_template_that_was_moved_between_the_pictures_is_refused() {
    let lower = jpeg(&shot(200.0), &table(), 90);
    // Seen in two places, or going on nowhere.
    for (by, why) in [
        ([0.8, -0.3], "seen in two places"),
        ([2.5, 1.5], "lies elsewhere"),
    ] {
        let slid = table_with_template_slid(by);
        let said = read(&table(), &[lower.clone(), jpeg(&shot(390.0), &slid, 90)]).unwrap_err();
        assert!(said.contains(why), "{by:?} {said}");
    }
}

/// Both pictures show all of the template: what the second shows is held against the first, and made no second template.
#[test]
fn a_whole_template_that_is_seen_twice_is_one_unless_it_was_moved() {
    let whole = |tilt_to_deg: f64, table: &Table| {
        let shot = Shot {
            turn_deg: 90.0,
            aim: [210.0, 297.0],
            distance: 500.0,
            rays: 1,
            width: 1100,
            height: 825,
            tilt_to_deg,
            ..shot(tilt_to_deg)
        };
        jpeg(&shot, table, 90)
    };
    let table = table();
    let first = whole(60.0, &table);
    let sight = read(&table, &[first.clone(), whole(240.0, &table)]).unwrap();
    let [template] = &sight.templates[..] else {
        panic!("{} templates", sight.templates.len());
    };
    let marks = [&template.lines.len(), &template.crosses.len()];
    assert_eq!((template.openings.len(), marks), (2, [&1, &1]));
    for line in laid_on(template, table.template.rings()) {
        let [_, most] = deviation(&line, table.template.rings());
        assert!(
            most < 0.4 && most < 3.0 * sight.error,
            "{most} {}",
            sight.error
        );
    }
    // By little, and so far that nothing of one edge lies on the other.
    for (by, why) in [
        ([0.8, -0.3], "seen in two places"),
        ([5.0, 4.0], "lies elsewhere"),
    ] {
        let slid = whole(240.0, &table_with_template_slid(by));
        let said = read(&table, &[first.clone(), slid])
            .map(|_| ())
            .unwrap_err();
        assert!(said.contains(why), "{by:?} {said}");
    }
}
