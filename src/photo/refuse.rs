//! What is not taken for true, and what to do about it.

use super::board::Board;
use super::locate::LocatedMarks;
use super::picture::{DecodedPicture, PictureFault};
use super::template::FoundTemplate;
use crate::diag::Diagnostic;
use crate::units::Length;

/// What dots may leave (root mean square, mm) before the board is no flat paper.
const LEFT: f64 = 0.3;
/// Steepest camera, degrees: beyond it a template's thickness and a lifted edge count half and more.
const STEEPEST: f64 = 35.0;
/// Coarsest picture, mm to a pixel.
const COARSEST: f64 = 0.65;
/// Softest edge, mm from a quarter to three quarters of the step, and in pixels.
const SOFTEST: f64 = 2.5;
const SOFTEST_PIXELS: f64 = 5.0;
/// What an edge may be off at most, mm.
const MOST_ERROR: f64 = 1.0;
/// Highest waves of the board, mm.
const WAVES: f64 = 12.0;
/// How far sheets may be taped off, mm and radians.
const ASKEW: [f64; 2] = [8.0, 0.04];
/// A measured length may differ so much from the true one (parts).
const PRINTED: f64 = 0.03;

pub(super) fn picture(fault: &PictureFault) -> Diagnostic {
    match fault {
        PictureFault::Format("HEIC") => Diagnostic::error("the photograph is a HEIC file, which is not read").help(
            "save or export it as JPEG; phones that make HEIC can be set to JPEG (\"most compatible\")",
        ),
        PictureFault::Format(name) => {
            Diagnostic::error(format!("the picture is a {name} file, which is not read"))
                .help("save or export it as JPEG or PNG, in full size")
        }
        PictureFault::Size(width, height) => {
            let message = format!("the picture has {width} × {height} pixels");
            Diagnostic::error(message).help(
                "give it as the camera made it: 200 pixels along each side or more, 64 million in all or fewer",
            )
        }
        PictureFault::Broken(why) => Diagnostic::error(format!("the picture cannot be read: {why}"))
            .help("copy it from the camera again"),
    }
}

pub(super) fn few_marks(n: usize) -> Diagnostic {
    let message = match n {
        0 => "no marks of the board are seen in the picture".to_owned(),
        n => format!("only {n} marks of the board are seen in the picture"),
    };
    Diagnostic::error(message).help(
        "lay the template on the printed board (`warpwise board`) so that marks show on all sides of it, and take the whole \
         board from above, sharp, in even light",
    )
}

pub(super) fn no_dots() -> Diagnostic {
    Diagnostic::error("the dots of the board are not where its marks say").help(
        "print the board without scaling, tape its sheets in their order, lay it flat, and take a sharp picture",
    )
}

pub(super) fn no_template() -> Diagnostic {
    Diagnostic::error("no coloured template is seen on the board").help(
        "the board is black and white: use card, paper or film in a strong colour, or paint the template",
    )
}

/// Refuses a board that was not located as well as it must be.
pub(super) fn board(
    board: &Board,
    located: &LocatedMarks,
    measured: [Option<f64>; 2],
    picture: &DecodedPicture,
) -> Result<(), Diagnostic> {
    let both = |mm: f64| Length::mm(mm).in_mm_and_inches();
    let true_lengths = board.true_lengths();
    for (i, measured) in measured.iter().enumerate() {
        let Some(measured) = measured else { continue };
        let off = (measured / true_lengths[i] - 1.0).abs();
        if off > PRINTED {
            let message = format!(
                "the {} line of the board is said to be {} long, but is {} on a true print",
                ["level", "upright"][i],
                both(*measured),
                both(true_lengths[i])
            );
            let help =
                "measure it again, from cross to cross; or print the board anew, at 100 % scale";
            return Err(Diagnostic::error(message).help(help));
        }
    }
    let tilt = located.scene.tilt().to_degrees();
    if tilt > STEEPEST {
        let message = format!("the camera leaned by {tilt:.0}° from straight down");
        return Err(Diagnostic::error(message).help(format!(
            "take the picture from above: at most {STEEPEST:.0}°, better 15°"
        )));
    }
    let pixel = located.pixel;
    let left = located.left_pixels * pixel;
    if left > LEFT {
        let message = format!(
            "the dots of the board are off by {} on the mean",
            both(left)
        );
        let help =
            "the board is bent or torn, its sheets are taped loosely, or the picture is not sharp";
        return Err(Diagnostic::error(message).help(help));
    }
    if pixel > COARSEST {
        let message = format!(
            "the picture has {} × {} pixels: each shows {} of the board",
            picture.width,
            picture.height,
            both(pixel)
        );
        return Err(Diagnostic::error(message).help("take it in full size, or nearer"));
    }
    let waves = located.scene.waves(&located.dots);
    if waves > WAVES {
        let message = format!("the board is not flat: it waves by {}", both(waves));
        return Err(Diagnostic::error(message).help("lay it on a flat table and tape it down"));
    }
    let [off, turn] = located.scene.askew();
    if off > ASKEW[0] || turn > ASKEW[1] {
        let message = format!("a sheet of the board lies {} from its place", both(off));
        return Err(Diagnostic::error(message).help("tape the sheets edge to edge, in their order"));
    }
    Ok(())
}

pub(super) fn over_border(n_pictures: usize) -> Diagnostic {
    let (message, help) = match n_pictures {
        1 => (
            "the template reaches over the border of the board or of the picture",
            "print a larger board, so that dots show on all sides of the template, and take all of it; or take several pictures and \
             join them (`joined_with`)",
        ),
        _ => (
            "the pictures do not show the whole edge of the template",
            "take them so that every place of the edge is in one of them, and some of the edge in two that follow each other",
        ),
    };
    Diagnostic::error(message).help(help)
}

pub(super) fn lifted(why: &str) -> Diagnostic {
    Diagnostic::error(format!("the template does not lie flat: {why}")).help(
        "weigh it down or tape it to the board, so that no edge is up, and take the picture again; where pictures are joined, leave the \
         template as it lies between them",
    )
}

pub(super) fn many_pictures(most: usize) -> Diagnostic {
    Diagnostic::error(format!("more than {most} pictures are too many to join"))
        .help("take the template in fewer pictures, or in smaller ones: 100 million pixels in all")
}

pub(super) fn joined_scans() -> Diagnostic {
    Diagnostic::error("a scan has no marks of the board, so that nothing tells where it belongs")
        .help("join photographs of the template on its board; a scan is read alone")
}

pub(super) fn other_board() -> Diagnostic {
    Diagnostic::error("this picture shows another board than the first")
        .help("join pictures of one template on one board")
}

pub(super) fn apart() -> Diagnostic {
    Diagnostic::error("no sheet of the board is seen in this picture and in those before it")
        .help("let pictures overlap by a third, so that both show some dots of the same sheet")
}

pub(super) fn moved() -> Diagnostic {
    Diagnostic::error(
        "this picture does not fit those before it: the board was moved, or its sheets were",
    )
    .help("tape the board down, leave it and the template as they lie, and take all pictures again")
}

pub(super) fn template_moved() -> Diagnostic {
    Diagnostic::error(
        "the template lies elsewhere in one picture than in another: it was moved between them",
    )
    .help("tape the template and the board down, and take all pictures again without touching them")
}

/// Refuses pictures too soft for an edge.
pub(super) fn templates(found: &[FoundTemplate], located: &LocatedMarks) -> Result<(), Diagnostic> {
    let Some(first) = found.first() else {
        return Err(no_template());
    };
    let pixel = located.pixel;
    // Colour shows it further than brightness is looked at.
    let soft = first.softness.max(first.edge.weak_softness);
    if soft > SOFTEST_PIXELS || soft * pixel > SOFTEST {
        let message = format!(
            "the picture is blurred: an edge is seen over {} pixels, {}",
            soft.round(),
            Length::mm(soft * pixel).in_mm_and_inches()
        );
        return Err(Diagnostic::error(message)
            .help("hold the camera still, wait until it has focused, and use more light"));
    }
    Ok(())
}

/// Refuses what is off by more than a cut can bear.
pub(super) fn error(error: f64) -> Result<(), Diagnostic> {
    if error <= MOST_ERROR {
        return Ok(());
    }
    // To a hundredth, so that it does not read as the limit.
    let both = |mm: f64| format!("{mm:.2} mm ({:.3} in)", mm / 25.4);
    let message = format!(
        "the template's edges may be off by {}, more than {}",
        both(error),
        both(MOST_ERROR)
    );
    Err(Diagnostic::error(message).help(
        "use a template in a stronger colour, more light, a sharp picture in full size and finest quality, nearer or of a \
         smaller board; cut corners sharp, and edges longer than 10 mm",
    ))
}
