//! Against exact mathematics of the pin-jointed net. Shear is the total curvature between the start lines and the
//! yarns through a place (Hazzidakis' formula); the closed forms that follow from it are derived in each test.

mod darts;
mod extent;
mod kinds;
mod proof;
mod reliefs;
mod trim;

use glam::{DVec3, dvec3};

use super::net::{Ground, Net, NetStart, Rules, YarnTurns};
use super::*;
use crate::mould::surface::Surface;
use crate::mould::{AreaChoice, ClosedLine};

/// A surface over a grid of (u, v) from 0 to 1, each square cut in two; `side` says which way.
fn grid(
    (nu, nv): (usize, usize),
    side: impl Fn(usize, usize) -> bool,
    at: impl Fn(f64, f64) -> DVec3,
) -> Surface {
    let (points, faces) = triangles((nu, nv), side, at);
    Surface::new(points, faces)
}

fn triangles(
    (nu, nv): (usize, usize),
    side: impl Fn(usize, usize) -> bool,
    at: impl Fn(f64, f64) -> DVec3,
) -> (Vec<DVec3>, Vec<[u32; 3]>) {
    let mut points = Vec::new();
    for j in 0..=nv {
        for i in 0..=nu {
            points.push(at(i as f64 / nu as f64, j as f64 / nv as f64));
        }
    }
    let id = |i: usize, j: usize| (j * (nu + 1) + i) as u32;
    let mut faces = Vec::new();
    for j in 0..nv {
        for i in 0..nu {
            let (a, b, c, d) = (id(i, j), id(i + 1, j), id(i + 1, j + 1), id(i, j + 1));
            match side(i, j) {
                true => faces.extend([[a, b, c], [a, c, d]]),
                false => faces.extend([[a, b, d], [b, c, d]]),
            }
        }
    }
    (points, faces)
}

fn crossed(i: usize, j: usize) -> bool {
    (i + j).is_multiple_of(2)
}

fn part(surface: &Surface, choice: &AreaChoice) -> Arc<Area> {
    Arc::new(Area::of(surface, &[], &[], choice).unwrap())
}

fn lay(start: [f64; 3], spacing: f64) -> LayChoice {
    LayChoice {
        start: Some(start),
        zero: None,
        smoothing: Smoothing::Straight,
        darts: Darts::No,
        dart_lines: Vec::new(),
        gusset_lap: 25.0,
        spacing: Some(spacing),
    }
}

fn flat(area: &Arc<Area>, lay: &LayChoice, angle_deg: f64) -> Result<Drape, DrapeError> {
    drape(
        area,
        lay,
        angle_deg,
        ClothGive::endless(Fibres::Crossed),
        String::new(),
    )
}

/// On the mould itself.
fn drape(
    area: &Arc<Area>,
    lay: &LayChoice,
    angle_deg: f64,
    give: ClothGive,
    name: String,
) -> Result<Drape, DrapeError> {
    let lies = PlyLies {
        angle_deg,
        give,
        under: 0.0,
    };
    super::drape(area, lay, lies, name, &[])
}

fn bears(lock: f64) -> ClothGive {
    ClothGive {
        locks: [lock; 2],
        ..ClothGive::endless(Fibres::Crossed)
    }
}

/// The largest distance of a vertex of one outline from the other.
fn apart(one: &Outline, other: &Outline) -> f64 {
    let from = |a: &Ring, b: &Ring| {
        a.points()
            .iter()
            .map(|&p| b.distance(p))
            .fold(0.0, f64::max)
    };
    from(&one.outer, &other.outer).max(from(&other.outer, &one.outer))
}

/// A sphere as a cap about +z as far as `polar` degrees: a square pushed onto it.
fn cap(radius: f64, n: usize, polar: f64) -> Surface {
    grid((n, n), crossed, |u, v| {
        let (x, y) = (2.0 * u - 1.0, 2.0 * v - 1.0);
        let length = f64::hypot(x, y);
        let (x, y, share) = match length {
            0.0 => (1.0, 0.0, 0.0),
            _ => (x / length, y / length, x.abs().max(y.abs())),
        };
        let (sin, cos) = trig::sin_cos_radians(polar.to_radians() * share);
        radius * dvec3(sin * x, sin * y, cos)
    })
}

/// A hemisphere cut out of a cap that reaches a little below its equator.
fn hemisphere(radius: f64) -> Arc<Area> {
    let choice = AreaChoice {
        above: [None, None, Some(0.0)],
        ..AreaChoice::default()
    };
    part(&cap(radius, 146, 95.0), &choice)
}

/// A tray: a flat bottom of 200 × 140 mm with corners of 15 mm, and walls that rise at `wall` degrees after a fillet
/// of 4 mm.
fn tray(wall: f64, h: f64) -> Surface {
    let (sin, cos) = trig::sin_cos_radians(wall.to_radians());
    let (corner, fillet) = (15.0, 4.0);
    let (x, y) = (180.0, 150.0);
    grid(
        ((2.0 * x / h) as usize, (2.0 * y / h) as usize),
        crossed,
        |u, v| {
            let p = [2.0 * x * (u - 0.5), 2.0 * y * (v - 0.5)];
            let q = [p[0].abs() - (100.0 - corner), p[1].abs() - (70.0 - corner)];
            let beyond =
                f64::hypot(q[0].max(0.0), q[1].max(0.0)) - corner + q[0].max(q[1]).min(0.0);
            let z = if beyond <= 0.0 {
                0.0
            } else if beyond < fillet * sin {
                fillet - (fillet * fillet - beyond * beyond).sqrt()
            } else {
                fillet * (1.0 - cos) + (beyond - fillet * sin) * sin / cos
            };
            dvec3(p[0], p[1], z)
        },
    )
}

/// On what can be unrolled cloth does not shear, and its flat outline is the unrolled part, whatever the angle.
#[test]
fn a_cylinder_unrolls() {
    let (radius, width, length) = (100.0, 3.0, 300.0);
    let surface = grid((150, 150), crossed, |u, v| {
        let (sin, cos) = trig::sin_cos_radians(width * (u - 0.5));
        dvec3(radius * sin, length * (v - 0.5), radius * cos)
    });
    let area = part(&surface, &AreaChoice::default());
    for angle in [0.0, 30.0, 45.0] {
        let laid = flat(&area, &lay([0.0, 0.0, radius], 5.0), angle).unwrap();
        assert!(
            laid.straight().degrees < 0.1,
            "{angle}°: {:?}",
            laid.straight()
        );
        let (x, y) = (radius * width / 2.0, length / 2.0);
        let unrolled = [(-x, -y), (x, -y), (x, y), (-x, y)].map(|(x, y)| Point::new(x, y));
        let off = apart(
            laid.outline(),
            &Outline::solid(Ring::new(unrolled).unwrap()),
        );
        assert!(off < 0.05, "{angle}°: {off}");
    }
}

/// A cone beside its apex unrolls to a sector: its polar angle is that round the axis times the sine of the half angle.
#[test]
fn a_cone_unrolls() {
    let (half, near, far, round) = (35.0_f64, 90.0, 300.0, 2.4);
    let (sin, cos) = trig::sin_cos_radians(half.to_radians());
    let on = |along: f64, angle: f64| {
        let (y, x) = trig::sin_cos_radians(angle);
        along * dvec3(sin * x, sin * y, -cos)
    };
    let surface = grid((100, 160), crossed, |u, v| {
        on(near + (far - near) * u, round * (v - 0.5))
    });
    let area = part(&surface, &AreaChoice::default());
    let at = 200.0;
    let start = LayChoice {
        zero: Some(on(1.0, 0.0).to_array()),
        ..lay(on(at, 0.0).to_array(), 5.0)
    };
    let arc = |along: f64, ways: f64| {
        (-100..=100).map(move |k| {
            let (y, x) = trig::sin_cos_radians(ways * round / 2.0 * sin * f64::from(k) / 100.0);
            Point::new(along * x - at, along * y)
        })
    };
    let sector = Ring::new(arc(far, 1.0).chain(arc(near, -1.0))).unwrap();
    for angle in [0.0, 30.0, 45.0] {
        let laid = flat(&area, &start, angle).unwrap();
        let shear = laid.straight().degrees;
        assert!(shear < 0.1, "{angle}°: {shear}");
        let off = apart(laid.outline(), &Outline::solid(sector.clone()));
        assert!(off < 0.05, "{angle}°: {off}");
    }
}

/// All the curvature of a cone lies in its apex: 360° (1 − sin of the half angle). Beyond it, between the yarns
/// through it, cloth shears by just that.
#[test]
fn the_apex_of_a_cone_shears_the_cloth_beyond_it() {
    for half in [80.0_f64, 70.0, 60.0] {
        let (sin, cos) = trig::sin_cos_radians(half.to_radians());
        let surface = grid((120, 120), crossed, |u, v| {
            let (x, y) = (300.0 * (u - 0.5), 300.0 * (v - 0.5));
            dvec3(x, y, -f64::hypot(x, y) * cos / sin)
        });
        let area = part(&surface, &AreaChoice::default());
        let start = [-40.3, -30.2, -f64::hypot(40.3, 30.2) * cos / sin];
        let exact = 360.0 * (1.0 - sin);
        let spot = area
            .surface
            .nearest(DVec3::from_array(start), |_| true)
            .unwrap();
        let ground = Ground {
            surface: &area.surface,
            inside: &area.inside,
            laid: &area.inside,
            by_slits: &[],
            slits: &[],
            cuts: &[],
        };
        let start = NetStart {
            spot,
            warp: zero(&area, &lay(start, 5.0), spot).unwrap(),
        };
        let rules = Rules {
            spacing: 5.0,
            limit: LIMIT_DEG,
            lines: FirstYarns::Unfolded,
            over_bends: true,
        };
        let net = Net::lay(&ground, start, &rules, &YarnTurns::default());
        // Well beyond the yarns through the apex, which is some 9 and 7 cells from the start, and before them.
        let mut n = [0; 2];
        for (cell, _) in net.cells() {
            let exact = match cell.at {
                (17.., 15..) => exact,
                (..4, ..3) => 0.0,
                _ => continue,
            };
            n[usize::from(exact > 0.0)] += 1;
            let off = (cell.shear.abs() - exact).abs();
            assert!(
                off < 0.05,
                "{half}°: {} in place of {exact} at {:?}",
                cell.shear,
                cell.at
            );
        }
        assert!(n.iter().all(|&n| n > 20), "{n:?}");
    }
}

/// The shear w of a net on a sphere with great circles as start lines depends on t = u v / R² alone:
/// t w″ + w′ = −sin w, w(0) = 90°, w′(0) = −1 (w the angle between the yarns). Its edge on the bias, at the
/// equator, shears by 52.425°, and lies 0.980507 R along either yarn; along a yarn it is a quarter of a circle
/// away.
#[test]
fn a_hemisphere_shears_as_the_equation_of_its_net_says() {
    let radius = 100.0;
    let area = hemisphere(radius);
    let on_bias = 0.980_507 * radius * std::f64::consts::SQRT_2;
    let on_yarn = radius * std::f64::consts::FRAC_PI_2;
    for angle in [0.0, 20.0, 45.0] {
        let laid = flat(&area, &lay([0.0, 0.0, radius], 5.0), angle).unwrap();
        let off = (laid.straight().degrees - 52.425).abs();
        assert!(off < 0.15, "{angle}°: {}", laid.straight().degrees);
        let edge = &laid.outline().outer;
        let reach = |degrees: f64| {
            let (sin, cos) = trig::sin_cos_radians((angle + degrees).to_radians());
            let along = Vector::new(cos, sin);
            let ends = edge.edges().filter_map(|(a, b)| {
                let (from, to) = (a - Point::default(), b - Point::default());
                let (x, y) = (along.cross(from), along.cross(to));
                let at = a.towards(b, x / (x - y)) - Point::default();
                ((x > 0.0) != (y > 0.0)).then(|| along.dot(at))
            });
            ends.fold(0.0, f64::max)
        };
        for quarter in [0.0, 90.0, 180.0, 270.0] {
            let (bias, yarn) = (reach(quarter + 45.0), reach(quarter));
            assert!(
                (bias - on_bias).abs() < 0.1,
                "{angle}°: {bias} on the bias, {on_bias}"
            );
            assert!(
                (yarn - on_yarn).abs() < 0.1,
                "{angle}°: {yarn} along a yarn, {on_yarn}"
            );
        }
    }
}

/// Where z = f(x) + g(y), f and g even, the net from the origin along x is x = x(u), y = y(v) by the arc lengths of the
/// two profiles. Evened out a start off the middle does nearly as well.
#[test]
fn the_outline_on_a_translation_surface_is_that_of_its_profiles() {
    let a = 150.0;
    let arc = |x: f64| {
        let t: f64 = x / a;
        a / 2.0 * (t * (1.0 + t * t).sqrt() + t.asinh())
    };
    let height = |x: f64, y: f64| (x * x + y * y) / (2.0 * a);
    let surface = grid((150, 150), crossed, |u, v| {
        let (x, y) = (300.0 * (u - 0.5), 300.0 * (v - 0.5));
        dvec3(x, y, height(x, y))
    });
    let circle = (0..720).map(|k| {
        let (sin, cos) = trig::sin_cos_radians((f64::from(k) / 2.0).to_radians());
        [120.0 * cos, 120.0 * sin]
    });
    let choice = AreaChoice {
        inside: Some(ClosedLine {
            axis: 2,
            points: circle.collect(),
        }),
        ..AreaChoice::default()
    };
    let area = part(&surface, &choice);
    // By which of its points an edge is exact: the place of its profiles.
    let off = |laid: &Drape, (x0, y0): (f64, f64)| {
        let exact = (0..7200).map(|k| {
            let (sin, cos) = trig::sin_cos_radians((f64::from(k) / 20.0).to_radians());
            Point::new(arc(120.0 * cos) - arc(x0), arc(120.0 * sin) - arc(y0))
        });
        let exact = Outline::solid(Ring::new(exact).unwrap());
        apart(laid.outline(), &exact)
    };
    let middle = flat(&area, &lay([0.0; 3], 5.0), 0.0).unwrap();
    assert!(
        off(&middle, (0.0, 0.0)) < 0.2,
        "{}",
        off(&middle, (0.0, 0.0))
    );
    let evenly = LayChoice {
        smoothing: Smoothing::Evenly,
        ..lay([0.0; 3], 5.0)
    };
    let evened = off(&flat(&area, &evenly, 0.0).unwrap(), (0.0, 0.0));
    assert!(evened < 0.08, "{evened}");
    // sin(shear) = sin(slope of f) sin(slope of g), largest where x = y = 84.85 mm: 14.0°.
    assert!(
        (middle.straight().degrees - 14.0).abs() < 0.25,
        "{:?}",
        middle.straight()
    );
    let start = (40.0, 25.0);
    let evenly = LayChoice {
        smoothing: Smoothing::Evenly,
        ..lay([start.0, start.1, height(start.0, start.1)], 5.0)
    };
    let laid = flat(&area, &evenly, 0.0).unwrap();
    let best = 14.0;
    assert!(
        laid.straight().degrees > best + 5.0,
        "{:?}",
        laid.straight()
    );
    assert!(
        (laid.evened().degrees - best).abs() < 0.7,
        "{:?}",
        laid.evened()
    );
}

/// A start on a corner of the triangles, on a side of theirs, where two diagonals would cross, and inside one: on the same
/// ball with the same edge the flat outline is the same.
#[test]
fn the_triangle_of_the_start_makes_no_difference() {
    const R: f64 = 120.0;
    let corners = [
        (-50.0, -40.0),
        (45.0, -55.0),
        (55.0, 20.0),
        (10.0, 30.0),
        (-5.0, 55.0),
        (-55.0, 35.0),
    ];
    let choice = AreaChoice {
        inside: Some(ClosedLine {
            axis: 2,
            points: corners.map(|(x, y)| [x, y]).to_vec(),
        }),
        ..AreaChoice::default()
    };
    // Corners lie at even numbers of mm, moved by so much.
    let outline = |dx: f64, dy: f64, side: fn(usize, usize) -> bool| {
        let at = |u: f64, v: f64| {
            let (x, y) = (140.0 * u - 70.0 + dx, 140.0 * v - 70.0 + dy);
            dvec3(x, y, (R * R - x * x - y * y).sqrt())
        };
        let area = part(&grid((70, 70), side, at), &choice);
        let laid = flat(&area, &lay([0.0, 0.0, R], 3.0), 30.0).unwrap();
        laid.outline().clone()
    };
    let on_corner = outline(0.0, 0.0, crossed);
    for (where_to, other) in [
        ("on a side", outline(1.0, 0.0, crossed)),
        ("on a diagonal", outline(1.0, 1.0, |_, _| true)),
        ("on the other diagonal", outline(1.0, 1.0, |_, _| false)),
        ("inside", outline(0.7, 0.4, crossed)),
        ("beside a corner", outline(1e-9, -1e-9, crossed)),
        ("on a corner of others", outline(0.0, 0.0, |_, _| true)),
    ] {
        let off = apart(&on_corner, &other);
        assert!(off < 0.1, "{where_to}: {off} mm");
    }
}

/// The noise of a scanner (by so much in the mean square, along z) on triangles of 2 mm hardly moves the outline, once it
/// is smoothed; the outline is that of the profiles of the mould without it.
#[test]
fn the_noise_of_a_scan_is_smoothed() {
    let a = 150.0;
    let arc = |x: f64| {
        let t: f64 = x / a;
        a / 2.0 * (t * (1.0 + t * t).sqrt() + t.asinh())
    };
    let on_circle = |degrees: f64| {
        let (sin, cos) = trig::sin_cos_radians(degrees.to_radians());
        [120.0 * cos, 120.0 * sin]
    };
    let choice = AreaChoice {
        inside: Some(ClosedLine {
            axis: 2,
            points: (0..720).map(|k| on_circle(f64::from(k) / 2.0)).collect(),
        }),
        is_scan: true,
        ..AreaChoice::default()
    };
    let exact = (0..7200).map(|k| {
        let [x, y] = on_circle(f64::from(k) / 20.0);
        Point::new(arc(x), arc(y))
    });
    let exact = Outline::solid(Ring::new(exact).unwrap());
    let evenly = LayChoice {
        smoothing: Smoothing::Evenly,
        ..lay([0.0; 3], 5.0)
    };
    for (noise, most) in [(0.0, 0.1), (0.05, 0.1), (0.2, 0.4)] {
        for seed in [1, 2, 3] {
            let mut state: u64 = seed;
            // The sum of twelve numbers from 0 to 1 strays by 1.
            let mut stray = || {
                let one = |_| {
                    state = state
                        .wrapping_mul(6_364_136_223_846_793_005)
                        .wrapping_add(1_442_695_040_888_963_407);
                    (state >> 11) as f64 / (1_u64 << 53) as f64
                };
                (0..12).map(one).sum::<f64>() - 6.0
            };
            let (mut points, faces) = triangles((150, 150), crossed, |u, v| {
                let (x, y) = (300.0 * (u - 0.5), 300.0 * (v - 0.5));
                dvec3(x, y, (x * x + y * y) / (2.0 * a))
            });
            points.iter_mut().for_each(|p| p.z += noise * stray());
            let area = part(&Surface::new(points, faces), &choice);
            let moved = area.smoothed.unwrap();
            assert!(moved < 5.0 * noise + 0.02, "{noise}: moved by {moved}");
            let laid = flat(&area, &evenly, 0.0).unwrap();
            let off = apart(laid.outline(), &exact);
            assert!(off < most, "{noise}, {seed}: {off}");
        }
    }
}

/// A square corner of a tray has the curvature 90° (1 − cos of the wall's slope), whatever its radius.
#[test]
fn the_corner_of_a_tray_shears_by_its_curvature() {
    for wall in [30.0_f64, 45.0, 50.0, 60.0] {
        let surface = tray(wall, 1.0);
        let choice = AreaChoice {
            below: [None, None, Some(25.0)],
            ..AreaChoice::default()
        };
        let laid = flat(&part(&surface, &choice), &lay([0.0; 3], 2.5), 0.0).unwrap();
        let exact = 90.0 * (1.0 - trig::sin_cos_radians(wall.to_radians()).1);
        let off = (laid.straight().degrees - exact).abs();
        assert!(
            off < 0.1,
            "{wall}°: {} in place of {exact}",
            laid.straight().degrees
        );
    }
}

/// The flat area by another way: a cloth keeps its threads, so a part that shears by γ takes 1 / cos γ times its area.
#[test]
fn the_flat_area_is_that_of_the_mould_by_the_shear_of_its_places() {
    let surface = cap(100.0, 146, 95.0);
    let choice = AreaChoice {
        above: [None, None, Some(30.0)],
        ..AreaChoice::default()
    };
    let area = part(&surface, &choice);
    let laid = flat(&area, &lay([0.0, 0.0, 100.0], 2.5), 0.0).unwrap();
    // By the equation of its net, over the flat outline, in squares of 0.5 mm.
    let shear = sphere_shear();
    let (h, mut on_mould) = (0.5, 0.0);
    for i in -320..320 {
        for j in -320..320 {
            let at = Point::new((f64::from(i) + 0.5) * h, (f64::from(j) + 0.5) * h);
            if laid.outline().contains(at) {
                let t = (at.x * at.y / 1e4).abs();
                on_mould += h * h * trig::sin_cos_radians(shear(t).to_radians()).1;
            }
        }
    }
    // What lies above z = 30 on a sphere of 100: 2 π R (R − z).
    let exact = std::f64::consts::TAU * 100.0 * 70.0;
    assert!(
        (on_mould / exact - 1.0).abs() < 5e-4,
        "{on_mould} for {exact}"
    );
    assert!(
        (laid.mould_area() / exact - 1.0).abs() < 5e-4,
        "{}",
        laid.mould_area()
    );
}

/// Shear in degrees by t, from the power series of the net's equation by steps of Runge and Kutta.
fn sphere_shear() -> impl Fn(f64) -> f64 {
    let step = 1e-3;
    let slope = |x: f64, w: f64, d: f64| (d, (-trig::sin_cos_radians(w).0 - d) / x);
    let (mut x, mut w, mut d) = (1e-6, std::f64::consts::FRAC_PI_2 - 1e-6, -1.0);
    let mut table = vec![w];
    while x < 1.2 {
        for _ in 0..20 {
            let h = step / 20.0;
            let k1 = slope(x, w, d);
            let k2 = slope(x + h / 2.0, w + h / 2.0 * k1.0, d + h / 2.0 * k1.1);
            let k3 = slope(x + h / 2.0, w + h / 2.0 * k2.0, d + h / 2.0 * k2.1);
            let k4 = slope(x + h, w + h * k3.0, d + h * k3.1);
            w += h / 6.0 * (k1.0 + 2.0 * k2.0 + 2.0 * k3.0 + k4.0);
            d += h / 6.0 * (k1.1 + 2.0 * k2.1 + 2.0 * k3.1 + k4.1);
            x += h;
        }
        table.push(w);
    }
    move |t: f64| {
        let k = (t / step) as usize;
        let share = t / step - k as f64;
        let w = table[k] * (1.0 - share) + table[k + 1] * share;
        90.0 - w.to_degrees()
    }
}

/// Whatever does not change the mould does not change the flat outline: its triangles, their order, where it stands;
/// and the mirror image of a mould has the mirror image of the outline.
#[test]
fn the_outline_is_that_of_the_shape() {
    let (nu, nv) = (120, 90);
    let shape = |u: f64, v: f64| {
        let (x, y) = (240.0 * (u - 0.45), 180.0 * (v - 0.55));
        dvec3(
            x,
            y,
            30.0 * (-(x * x) / 6000.0 - y * y / 3500.0).exp() + x * y / 900.0,
        )
    };
    let start = shape(0.45, 0.55);
    let laid = |surface: &Surface, start: DVec3, zero: DVec3, angle: f64| {
        let lay = LayChoice {
            zero: Some(zero.to_array()),
            ..lay(start.to_array(), 3.0)
        };
        flat(&part(surface, &AreaChoice::default()), &lay, angle).unwrap()
    };
    let (points, faces) = triangles((nu, nv), crossed, shape);
    let first = laid(
        &Surface::new(points.clone(), faces.clone()),
        start,
        DVec3::X,
        30.0,
    );
    assert!(first.straight().degrees > 5.0, "{:?}", first.straight());

    let others = grid((nu + 17, nv + 8), |_, _| true, shape);
    let other = laid(&others, start, DVec3::X, 30.0);
    assert!(
        apart(first.outline(), other.outline()) < 0.1,
        "other triangles"
    );

    let n = faces.len();
    let shuffled = (0..n)
        .map(|k| faces[(k * 7919 + 13) % n])
        .map(|[a, b, c]| [b, c, a]);
    let other = laid(
        &Surface::new(points.clone(), shuffled.collect()),
        start,
        DVec3::X,
        30.0,
    );
    assert!(
        apart(first.outline(), other.outline()) < 0.1,
        "another order"
    );

    let turn = glam::DMat3::from_axis_angle(dvec3(0.3, -0.5, 0.8).normalize(), 1.1);
    let move_ = |p: DVec3| turn * p + dvec3(800.0, -300.0, 120.0);
    let turned = Surface::new(points.iter().map(|&p| move_(p)).collect(), faces.clone());
    let other = laid(&turned, move_(start), turn * DVec3::X, 30.0);
    assert!(apart(first.outline(), other.outline()) < 0.1, "turned");

    let mirror = |p: DVec3| dvec3(p.x, -p.y, p.z);
    let mirrored = faces.iter().map(|&[a, b, c]| [a, c, b]).collect();
    let mirrored = Surface::new(points.iter().map(|&p| mirror(p)).collect(), mirrored);
    let other = laid(&mirrored, mirror(start), DVec3::X, -30.0);
    let back = other
        .outline()
        .map_rings(|ring| Ring::new(ring.points().iter().map(|p| Point::new(p.x, -p.y))).unwrap());
    assert!(apart(first.outline(), &back) < 0.1, "mirrored");
}

/// A hole in the mould is covered, and the cloth behind it lies as if it were not there; or it is an opening.
#[test]
fn holes_are_covered_or_cut() {
    let shape = |u: f64, v: f64| {
        let (x, y) = (200.0 * (u - 0.5), 200.0 * (v - 0.5));
        dvec3(x, y, -(x * x + y * y) / 400.0)
    };
    let (points, faces) = triangles((100, 100), crossed, shape);
    let whole = Surface::new(points.clone(), faces.clone());
    let is_hole = |face: &[u32; 3]| {
        let at = face.map(|c| points[c as usize]).iter().sum::<DVec3>() / 3.0;
        f64::hypot(at.x - 40.0, at.y - 10.0) < 9.0
    };
    let holed: Vec<[u32; 3]> = faces
        .iter()
        .copied()
        .filter(|face| !is_hole(face))
        .collect();
    let holed = Surface::new(points.clone(), holed);
    let of = |surface: &Surface, keep_openings| {
        let choice = AreaChoice {
            keep_openings,
            ..AreaChoice::default()
        };
        let area = part(surface, &choice);
        let laid = flat(&area, &lay([0.0; 3], 2.5), 0.0).unwrap();
        (area.n_covered, laid)
    };
    let (_, whole) = of(&whole, false);
    let (n, covered) = of(&holed, false);
    assert_eq!(n, 1);
    assert!(covered.outline().openings.is_empty());
    assert!(apart(whole.outline(), covered.outline()) < 0.75);
    let (n, cut) = of(&holed, true);
    assert_eq!((n, cut.outline().openings.len()), (0, 1));
    let opening = cut.outline().openings[0].bounds();
    let middle = opening.min.towards(opening.max, 0.5);
    assert!(middle.distance(Point::new(40.5, 10.2)) < 1.5, "{middle:?}");
    assert!((opening.width() - 18.5).abs() < 2.5, "{opening:?}");
}

/// What cannot be laid is told, and why.
#[test]
fn what_cannot_be_laid_is_told() {
    let tube = grid((90, 40), crossed, |u, v| {
        let (sin, cos) = trig::sin_cos_radians(std::f64::consts::TAU * u * 0.999);
        dvec3(50.0 * sin, 100.0 * v, 50.0 * cos)
    });
    let area = part(&tube, &AreaChoice::default());
    let far = flat(&area, &lay([0.0, 0.0, 500.0], 5.0), 0.0);
    assert!(matches!(far, Err(DrapeError::FarStart(off)) if (off - 450.0).abs() < 5.0));
    let upright = LayChoice {
        zero: Some([0.0, 0.0, 1.0]),
        ..lay([0.0, 50.0, 50.0], 5.0)
    };
    assert_eq!(
        flat(&area, &upright, 0.0).unwrap_err(),
        DrapeError::UprightZero
    );
    let fine = LayChoice {
        spacing: Some(0.01),
        ..lay([0.0, 50.0, 50.0], 5.0)
    };
    assert!(matches!(
        flat(&area, &fine, 0.0),
        Err(DrapeError::TooFine(_))
    ));
    // Beyond the equator the net of a sphere closes.
    let ball = cap(50.0, 80, 170.0);
    let all = flat(
        &part(&ball, &AreaChoice::default()),
        &lay([0.0, 0.0, 50.0], 2.0),
        0.0,
    );
    assert!(
        matches!(
            all,
            Err(DrapeError::NotCovered(_) | DrapeError::Closes(_) | DrapeError::Overlaps)
        ),
        "{all:?}"
    );
}
