//! What cannot be right: each is refused with its own message.

use super::render::{Polygon, Shot};
use super::scene::{Table, jpeg};
use super::usual::{EDGE, ORANGE, measured, messages, refused, seen, shot, table};
use warpwise::photo::board::{Board, BoardPaper};
use warpwise::photo::{self, PhotoFile};
use warpwise::units::Length;

fn quick() -> Shot {
    Shot {
        rays: 1,
        width: 1400,
        height: 1050,
        ..shot()
    }
}

#[test]
fn too_few_marks_are_refused() {
    let near = Shot {
        aim: [90.0, 90.0],
        distance: 150.0,
        ..quick()
    };
    let said = seen(&table(), &near).err().unwrap();
    assert!(
        said.contains("only ") && said.contains("marks of the board are seen"),
        "{said}"
    );
}

#[test]
fn a_blurred_picture_is_refused() {
    let blurred = Shot {
        blur: 5.0,
        width: 2800,
        height: 2100,
        ..quick()
    };
    refused(&table(), &blurred, "the picture is blurred");
}

#[test]
fn a_crumpled_board_is_refused() {
    let mut table = table();
    table.crumpled = 1.4;
    refused(&table, &quick(), "the dots of the board are off by");
}

#[test]
fn a_wavy_board_is_refused() {
    let wavy = Shot {
        waves: 20.0,
        ..quick()
    };
    refused(&table(), &wavy, "it waves by");
}

#[test]
fn sheets_taped_far_off_are_refused() {
    let board = Board::of_size(BoardPaper::A4, 630.0, 594.0).unwrap();
    let mut table = Table::new(board, Polygon::new(vec![EDGE.to_vec()]), ORANGE);
    table.askew[0] = [-9.0, 7.0, 1.0];
    table.askew[5] = [8.0, -9.0, -1.0];
    let whole = Shot {
        aim: [315.0, 297.0],
        distance: 640.0,
        ..quick()
    };
    refused(&table, &whole, "from its place");
}

#[test]
fn a_coarse_picture_is_refused() {
    let far = Shot {
        distance: 1000.0,
        ..quick()
    };
    refused(&table(), &far, "each shows");
}

#[test]
fn a_line_measured_wrong_is_refused() {
    let table = table();
    let mut settings = measured(&table);
    settings.measured[1] = Some(Length::mm(420.0));
    let said = photo::read("a.jpg", &jpeg(&shot(), &table, 90), &settings)
        .err()
        .unwrap();
    let said = messages(&said);
    assert!(
        said.contains("the upright line of the board is said to be"),
        "{said}"
    );
}

#[test]
fn an_edge_that_noise_hides_is_refused_and_where_is_said() {
    let mut table = table();
    table.colour = [0.62, 0.56, 0.5];
    let noisy = Shot {
        noise: 0.09,
        blur: 1.8,
        ..quick()
    };
    let problems = photo::read("a.jpg", &jpeg(&noisy, &table, 60), &measured(&table))
        .err()
        .unwrap();
    let said = messages(&problems);
    assert!(said.contains("may be off by"), "{said}");
}

/// A template whose right end is 8 mm up.
fn lifted() -> Shot {
    Shot {
        lift: Some((420.0, 8.0)),
        ..quick()
    }
}

#[test]
fn a_lifted_edge_is_refused_by_its_shadow() {
    refused(&table(), &lifted(), "does not lie flat");
}

#[test]
fn a_lifted_edge_is_refused_by_a_second_picture() {
    let table = table();
    let pictures = [0.0, 180.0].map(|tilt_to_deg| {
        let shot = Shot {
            tilt_deg: 16.0,
            tilt_to_deg,
            ..lifted()
        };
        jpeg(&shot, &table, 90)
    });
    let files = [&pictures[0], &pictures[1]].map(|picture| PhotoFile::new("a.jpg", picture));
    let said = messages(&photo::read_all(&files, &measured(&table)).err().unwrap());
    assert!(said.contains("does not lie flat"), "{said}");
}
