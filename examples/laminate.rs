//! Thickness and stiffness of [0/45]s from a generic carbon tape: `cargo run --example laminate`.

use warpwise::laminate::{Construction, CuredCloth, Fibre, Layup, Process};
use warpwise::units::{ArealWeight, PlyAngle};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let tape = CuredCloth::generic(
        Construction::Unidirectional,
        &Fibre::CARBON,
        ArealWeight::g_per_m2(300.0),
        Process::VacuumBag,
    );
    let layup = Layup::default()
        .ply(&tape, PlyAngle::degrees(0.0))
        .ply(&tape, PlyAngle::degrees(45.0))
        .mirrored();
    let sheet = layup.plate().and_then(|plate| plate.in_plane());
    let sheet = sheet.ok_or("no plies")?;
    anstream::println!("{:.2} mm thick", layup.thickness().to_mm());
    anstream::println!("Ex {:.1} GPa", sheet.ex.to_gpa());
    Ok(())
}
