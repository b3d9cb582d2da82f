//! Classical lamination theory against worked examples with all the digits that were printed, and
//! against what must hold of any laminate.

use proptest::prelude::*;
use warpwise::laminate::{Elastic, Layer, Plate, Symmetric};
use warpwise::units::{Angle, Length, Modulus};

/// The graphite/epoxy of the textbooks.
const G: Elastic = elastic(181.0, 10.3, 7.17, 0.28);

const fn elastic(e1: f64, e2: f64, g12: f64, nu12: f64) -> Elastic {
    Elastic {
        e1: Modulus::gpa(e1),
        e2: Modulus::gpa(e2),
        g12: Modulus::gpa(g12),
        nu12,
    }
}

fn plate(of: &Elastic, mm: f64, angles: &[f64]) -> Plate {
    let layers: Vec<Layer> = angles
        .iter()
        .map(|&degrees| Layer {
            thickness: Length::mm(mm),
            stiffness: of.reduced_at(Angle::degrees(degrees)),
        })
        .collect();
    Plate::of(&layers).expect("a plate with thickness")
}

/// `angles` and their mirror image.
fn mirrored(angles: &[f64]) -> Vec<f64> {
    angles.iter().chain(angles.iter().rev()).copied().collect()
}

/// Each angle `n` times.
fn repeated(angles: &[f64], n: usize) -> Vec<f64> {
    let times = |a: &f64| std::iter::repeat_n(*a, n);
    angles.iter().flat_map(times).collect()
}

#[track_caller]
fn close(found: f64, expected: f64) {
    let off = (found / expected - 1.0).abs();
    assert!(off < 1e-6, "found {found}, expected {expected}");
}

/// Kaw, *Mechanics of Composite Materials*, 2nd ed. 2006, ch. 2: prints 181.8, 2.897, 10.35, 7.17.
#[test]
fn reduced_stiffness_kaw_chapter_2() {
    let q = G.reduced();
    close(q.m11, 181_811.138_844);
    close(q.m12, 2_896.924_44);
    close(q.m22, 10_346.158_7);
    close(q.m66, 7_170.0);
}

/// Kaw 2006, example 2.7 (from memory): prints 23.65, 32.46, 109.4, 20.05, 54.19, 36.74 at 60°.
#[test]
fn turned_stiffness_kaw_example_2_7() {
    let q = G.reduced_at(Angle::degrees(60.0));
    for (found, expected) in q.to_array().into_iter().zip([
        23_646.757_1,
        32_462.571_1,
        20_053.523_1,
        109_379.247,
        54_192.991_2,
        36_735.646_6,
    ]) {
        close(found, expected);
    }
    let other = G.reduced_at(Angle::degrees(30.0));
    close(other.m11, q.m22);
    close(other.m16, q.m26);
}

/// Tsai and Hahn, *Introduction to Composite Materials*, 1980, ch. 3 (from memory): 76.37, 85.73,
/// 19.71, 22.61, 26.88.
#[test]
fn invariants_tsai_hahn_chapter_3() {
    for (found, expected) in G.reduced().invariants().into_iter().zip([
        76_368.217_7,
        85_732.490_1,
        19_710.431_1,
        22_607.355_5,
        26_880.431_1,
    ]) {
        close(found, expected);
    }
}

/// Kaw 2006, ch. 4, \[0/90/0\] of 5 mm plies: prints 1.870e9, 4.345e7, 1.013e9, 1.076e8 Pa·m; 4.935e4,
/// 8.148e2, 4.696e3, 2.017e3 Pa·m³; 124.5, 67.43, 0.04292, 175.0, 16.65 GPa.
#[test]
fn cross_ply_kaw_chapter_4() {
    let plate = plate(&G, 5.0, &[0.0, 90.0, 0.0]);
    close(plate.a.m11, 1_869_842.182);
    close(plate.a.m12, 43_453.866_67);
    close(plate.a.m22, 1_012_517.282);
    close(plate.a.m66, 107_550.0);
    close(plate.d.m11, 49_348_289.26);
    close(plate.d.m12, 814_760.0);
    close(plate.d.m22, 4_695_950.686);
    close(plate.d.m66, 2_016_562.5);
    assert!(plate.b.to_array().iter().all(|b| b.abs() < 1e-6));
    let sheet = plate.in_plane().expect("it can be turned round");
    close(sheet.ex.to_gpa(), 124.531_819_1);
    close(sheet.ey.to_gpa(), 67.433_829_54);
    close(sheet.nu_xy, 0.042_916_666_67);
    close(sheet.gxy.to_gpa(), 7.17);
    let (ex, ey) = plate.in_bending().expect("it can be turned round");
    close(ex.to_gpa(), 174.957_959_9);
    close(ey.to_gpa(), 16.648_884_17);
}

/// Kaw 2006, example 4.2 (from memory), \[0/30/−45\] of 5 mm plies: prints 1.739e9, 3.884e8, 5.663e7,
/// 4.533e8, −1.141e8, 4.525e8; −3.129e6, 9.855e5, −1.072e6, 1.158e6, B26 = B16, B66 = B12; 3.343e4,
/// 6.461e3, −5.240e3, 9.320e3, −5.596e3, 7.663e3.
#[test]
fn general_laminate_kaw_example_4_2() {
    let plate = plate(&G, 5.0, &[0.0, 30.0, -45.0]);
    let expected = [
        (
            plate.a,
            [
                1_739_240.863,
                388_386.410_7,
                56_633.730_85,
                453_253.512_4,
                -114_063.609_5,
                452_482.544,
            ],
        ),
        (
            plate.b,
            [
                -3_128_833.806,
                985_521.554_3,
                -1_071_656.126,
                1_157_790.697,
                -1_071_656.126,
                985_521.554_3,
            ],
        ),
        (
            plate.d,
            [
                33_432_034.15,
                6_460_977.238,
                -5_240_293.689,
                9_319_771.319,
                -5_595_913.148,
                7_662_779.738,
            ],
        ),
    ];
    for (matrix, expected) in expected {
        for (found, expected) in matrix.to_array().into_iter().zip(expected) {
            close(found, expected);
        }
    }
}

/// A public set of worked laminates (the textbook is not named there): \[0₁₀/45₁₀\], 0.1 mm plies, E1
/// 148, E2 9.65, G12 4.55 GPa, ν12 0.3: prints 194.52, 34.79, −51.61, 17.40, 64.84, 14.25.
#[test]
fn two_thick_layers() {
    let angles = repeated(&[0.0, 45.0], 10);
    let plate = plate(&elastic(148.0, 9.65, 4.55, 0.3), 0.1, &angles);
    close(plate.a.m11, 194_524.818_4);
    close(plate.a.m16, 34_791.666);
    close(plate.b.m11, -51_611.217_4);
    close(plate.b.m16, 17_395.833);
    close(plate.d.m11, 64_841.606_2);
    close(plate.d.m66, 14_246.367_6);
}

/// A university's lamination worksheet, \[0₅/45₅/−45₅/90₅\]s of aramid, 0.1 mm plies: prints 129.8, 42.15,
/// 43.81; 288.317, 75.033, 17.774.
#[test]
fn thick_quasi_isotropic_aramid() {
    let angles = mirrored(&repeated(&[0.0, 45.0, -45.0, 90.0], 5));
    let plate = plate(&elastic(76.0, 5.5, 2.3, 0.34), 0.1, &angles);
    close(plate.a.m11, 129_767.121_8);
    close(plate.a.m12, 42_151.109_9);
    close(plate.a.m66, 43_808.005_9);
    close(plate.d.m11, 288_316.976);
    close(plate.d.m22, 75_032.684_8);
    close(plate.d.m16, 17_773.691);
}

/// Tsai and Hahn 1980, tables 4.7 and 4.9 and eq. 5.70 (book from memory): A/h prints 96.08, 124.65,
/// 67.50, 160.4, 32.46 GPa; D11 106.9, D16 10.716 N·m for 0.125 mm plies.
#[test]
fn tables_of_tsai_and_hahn() {
    let mean = |half: &[f64]| {
        let plate = plate(&G, 0.125, &mirrored(half));
        plate.a.times(1.0 / plate.thickness.to_mm())
    };
    close(mean(&[0.0, 90.0]).m11, 96_078.648_79);
    close(mean(&[0.0, 0.0, 90.0]).m11, 124_656.145_5);
    close(mean(&[0.0, 0.0, 90.0]).m22, 67_501.152_1);
    close(mean(&[15.0, -15.0]).m11, 160_469.947_6);
    close(mean(&[30.0, -30.0]).m12, 32_462.571_1);
    let cross = mirrored(&repeated(&[0.0, 90.0], 4));
    close(plate(&G, 0.125, &cross).d.m11, 106_918.678);
    let angle = mirrored(&repeated(&[45.0, -45.0, 45.0, -45.0], 2));
    close(plate(&G, 0.125, &angle).d.m16, 10_716.561_3);
}

/// Kaw 2006, example 5.1 (from memory): about 69.7 GPa, 0.296, 26.88 GPa.
#[test]
fn quasi_isotropic_stacks_are_alike_in_all_directions() {
    for angles in [
        vec![0.0, 60.0, -60.0],
        mirrored(&[0.0, 45.0, -45.0, 90.0]),
        mirrored(&[90.0, 30.0, -30.0]),
    ] {
        let sheet = plate(&G, 0.125, &angles).in_plane().expect("a sheet");
        close(sheet.ex.to_gpa(), 69.675_740_916_6);
        close(sheet.nu_xy, 0.296_030_943);
        close(sheet.gxy.to_gpa(), 26.880_431_1);
        for degrees in 0..180 {
            close(
                sheet.along(Angle::degrees(f64::from(degrees))).to_gpa(),
                69.675_740_916_6,
            );
        }
    }
    close(G.scattered().e1.to_gpa(), 69.675_740_916_6);
}

/// What a layer keeps of its stiffness a few degrees off (worked out apart from this program).
#[test]
fn misalignment_costs_stiffness() {
    for (degrees, kept) in [
        (3.0, 0.941_542_442_827),
        (5.0, 0.853_272_614_882),
        (10.0, 0.595_787_122_973),
    ] {
        let sheet = plate(&G, 1.0, &[degrees]).in_plane().expect("a sheet");
        close(sheet.ex.to_gpa() / 181.0, kept);
    }
}

/// Worked out apart from this program.
#[test]
fn angle_ply_couples_stretch_and_twist() {
    close(plate(&G, 1.0, &[45.0, -45.0]).b.m16, -42_866.245_03);
}

fn any_elastic() -> impl Strategy<Value = Elastic> {
    (20.0..250.0f64, 2.0..19.0f64, 1.0..10.0f64, 0.05..0.4f64)
        .prop_map(|(e1, e2, g12, nu12)| elastic(e1, e2, g12, nu12))
}

fn largest(matrix: &Symmetric) -> f64 {
    matrix
        .to_array()
        .into_iter()
        .map(f64::abs)
        .fold(0.0, f64::max)
}

proptest! {
    #[test]
    fn turning_keeps_the_invariants(of in any_elastic(), degrees in -180.0..180.0f64) {
        let [u1, _, _, u4, u5] = of.reduced().invariants();
        let [v1, _, _, v4, v5] = of.reduced_at(Angle::degrees(degrees)).invariants();
        for (u, v) in [(u1, v1), (u4, v4), (u5, v5)] {
            prop_assert!((u - v).abs() < 1e-9 * u1);
        }
    }

    /// A. T. Nettles, NASA RP-1351, 1994: no coupling in symmetric stacks, no shear coupling in
    /// balanced ones.
    #[test]
    fn symmetric_and_balanced_stacks_do_not_couple(
        of in any_elastic(),
        angles in prop::collection::vec(-89.0..90.0f64, 1..8),
    ) {
        let symmetric = plate(&of, 0.2, &mirrored(&angles));
        let size = largest(&symmetric.a) * symmetric.thickness.to_mm();
        prop_assert!(largest(&symmetric.b) < 1e-12 * size);
        let paired: Vec<f64> = angles.iter().flat_map(|a| [*a, -a]).collect();
        let a = plate(&of, 0.2, &paired).a;
        prop_assert!(a.m16.abs().max(a.m26.abs()) < 1e-12 * largest(&a));
    }

    #[test]
    fn turning_the_part_turns_the_plot_and_turning_the_list_turns_b(
        of in any_elastic(),
        angles in prop::collection::vec(-89.0..90.0f64, 1..8),
        by in -90.0..90.0f64,
    ) {
        let one = plate(&of, 0.2, &angles);
        let turned: Vec<f64> = angles.iter().map(|a| a + by).collect();
        let along = one.in_plane().expect("a sheet").along(Angle::degrees(by)).to_mpa();
        let back: Vec<f64> = angles.iter().map(|a| a - by).collect();
        let ex = plate(&of, 0.2, &back).in_plane().expect("a sheet").ex.to_mpa();
        prop_assert!((along / ex - 1.0).abs() < 1e-9);
        let invariant = |p: &Plate| p.a.m11 + p.a.m22 + 2.0 * p.a.m12;
        prop_assert!((invariant(&one) / invariant(&plate(&of, 0.2, &turned)) - 1.0).abs() < 1e-12);
        let reversed: Vec<f64> = angles.iter().rev().copied().collect();
        let other = plate(&of, 0.2, &reversed);
        prop_assert!(largest(&other.b.plus(&one.b)) < 1e-9 * largest(&one.a));
        prop_assert!(largest(&other.d.plus(&one.d.times(-1.0))) < 1e-9 * largest(&one.d));
    }
}
