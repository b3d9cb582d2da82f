//! Pictures that were read wrongly once.

use super::cases;
use super::scene::{deviation, jpeg, laid_on};
use super::usual::{measured, messages};
use warpwise::photo;
use warpwise::units::Length;

/// The largest deviation of case `seed`, as a part of the error that is said; and that error.
fn off(seed: u64) -> [f64; 2] {
    let (table, shot, quality) = cases::case(seed);
    let mut settings = measured(&table);
    settings.thickness = (shot.thickness > 0.0).then_some(Length::mm(shot.thickness));
    let sight = photo::read("case.jpg", &jpeg(&shot, &table, quality), &settings);
    let sight = sight.map_err(|problems| messages(&problems)).unwrap();
    let truth = table.template.rings();
    assert_eq!(sight.templates[0].openings.len() + 1, truth.len());
    let lines = laid_on(&sight.templates[0], truth);
    let most = lines.iter().map(|line| deviation(line, truth)[1]);
    [most.fold(0.0, f64::max), sight.error]
}

/// A template that leaned out of the picture's middle, of which one side was 3 mm off while 0.3 mm was said.
#[test]
fn a_notched_template_far_from_the_middle_is_as_true_as_is_said() {
    let [most, said] = off(5008);
    assert!(most < 0.4 && most < 3.0 * said, "{most} {said}");
}

/// The near edges of a thick template, whose lower rim is what a slanting camera sees outermost, were 0.6 mm off.
#[test]
fn a_thick_template_under_a_slanting_camera_is_as_true_as_is_said() {
    let [most, said] = off(68);
    assert!(most < 0.4 && most < 3.0 * said, "{most} {said}");
}

/// A rounded corner that was given a point, which stood out by 1.1 mm while 0.3 mm was said. Beside ink it pulled the long edge before it
/// half a millimetre off its own points.
#[test]
fn a_rounded_corner_gets_no_point() {
    let [most, said] = off(7102);
    assert!(most < 0.4 && most < 3.0 * said, "{most} {said}");
}

/// A round opening that was lost without a word.
#[test]
fn a_round_opening_is_not_lost() {
    let [most, said] = off(10_108);
    assert!(most < 0.4 && most < 3.0 * said, "{most} {said}");
}
