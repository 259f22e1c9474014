//! The built-in catalog: enough parts of every family, threads as published, solids where the coolant runs.

use elbowroom::catalog::{BodySolid, Catalog, ComponentDef, Family, FittingDef, Gender, Thread};
use elbowroom::geometry::{Point, Pose, Shape, Vector, along, axis, facing, origin, turned};
use std::collections::{BTreeMap, BTreeSet};

/// Covers rounding in the poses, and the five decimals that a place on a slant is written with.
const ROUNDING_MM: f64 = 1e-4;

#[test]
fn every_family_is_there() {
    let mut counts = BTreeMap::new();
    for fitting in fittings() {
        *counts.entry(fitting.family).or_insert(0) += 1;
    }
    let total: usize = counts.values().sum();
    assert!((80..=100).contains(&total), "{total} fittings");
    for (family, least) in [
        (Family::Extension, 10),
        (Family::Joiner, 6),
        (Family::Swivel, 4),
        (Family::Bend, 24),
        (Family::Offset, 2),
        (Family::Link, 3),
        (Family::Reducer, 4),
        (Family::Bulkhead, 3),
        (Family::Plug, 3),
        (Family::Tee, 3),
    ] {
        let found = counts.get(&family).copied().unwrap_or(0);
        assert!(found >= least, "{family:?}: {found} of at least {least}");
    }
}

#[test]
fn extensions_run_from_5_to_60_mm() {
    let lengths: BTreeSet<_> = fittings()
        .iter()
        .filter(|part| part.family == Family::Extension && part.ends[0].thread == Thread::G14)
        .map(|part| (part.legs[0] * 10.0) as u32)
        .collect();
    assert!(lengths.len() >= 10, "{lengths:?}");
    assert_eq!((lengths.first(), lengths.last()), (Some(&50), Some(&600)));
}

#[test]
fn bends_come_in_every_angle_body_and_number_of_swivels() {
    let mut kinds = BTreeMap::new();
    for part in fittings() {
        if part.family == Family::Bend && part.ends[0].thread == Thread::G14 && !part.swept {
            let swivels = part.ends.iter().filter(|end| end.swivel).count();
            let long = part.legs[1] > 15.0;
            *kinds.entry((part.bends[0].angle_deg as u32, swivels, long)).or_insert(0) += 1;
        }
    }
    for angle in [30, 45, 60, 90] {
        for swivels in 0..=2 {
            for long in [false, true] {
                assert!(kinds.contains_key(&(angle, swivels, long)), "{angle}°, {swivels} swivels, long legs: {long}");
            }
        }
    }
}

#[test]
fn ids_are_unique_words() {
    let mut seen = BTreeSet::new();
    let fittings = fittings().into_iter().map(|part| part.id);
    let ids = fittings.chain(components().into_iter().map(|part| part.id));
    for id in ids {
        assert!(
            id.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-') && !id.starts_with('-'),
            "{id}"
        );
        assert!(seen.insert(id.clone()), "{id} is there twice");
    }
}

/// Source: `data/threads/A_threads_G.csv`, whose last column names where each number comes from.
#[test]
fn thread_sizes_are_the_published_ones() {
    let table = include_str!("../data/threads/A_threads_G.csv");
    let mut rows = 0;
    for line in table.lines().skip(1) {
        let cells: Vec<&str> = line.splitn(16, ',').collect();
        let number = |column: usize| cells[column].parse::<f64>().expect("a number");
        let thread = Thread::ALL.into_iter().find(|thread| thread.designation() == cells[0]).expect("a known size");
        for (what, ours, published) in [
            ("threads per inch", thread.threads_per_inch(), number(1)),
            ("pitch", thread.pitch_mm(), number(2)),
            ("major diameter", thread.major_diameter_mm(), number(3)),
            ("pitch diameter", thread.pitch_diameter_mm(), number(4)),
            ("minor diameter", thread.minor_diameter_mm(), number(5)),
        ] {
            assert!((ours - published).abs() <= 0.002, "{thread} {what}: {ours} against {published}");
        }
        rows += 1;
    }
    assert_eq!(rows, Thread::ALL.len());
}

/// Any male end screws home in any female end of its size, but for the one part that says so in its name.
#[test]
fn one_part_alone_bottoms_out() {
    let fittings = fittings();
    let bottoms = |part: &&FittingDef| {
        part.ends.iter().filter(|end| end.gender == Gender::Male).any(|male| {
            fittings.iter().flat_map(|other| &other.ends).any(|female| {
                female.gender == Gender::Female
                    && female.thread == male.thread
                    && female.thread_length_mm < male.thread_length_mm
            })
        })
    };
    let found: Vec<_> = fittings.iter().filter(bottoms).map(|part| part.id.as_str()).collect();
    assert_eq!(found, ["extension-g14-15-long-thread"]);
}

#[test]
fn fittings_are_consistent() {
    for part in fittings() {
        let id = &part.id;
        let ends = match part.family {
            Family::Plug => 1,
            Family::Tee => 3,
            _ => 2,
        };
        assert_eq!(part.ends.len(), ends, "{id}: ends");
        assert_eq!(part.legs.len(), part.bends.len() + 1, "{id}: legs and bends");
        assert_eq!(part.branch.is_some(), part.family == Family::Tee, "{id}: branch");
        assert_eq!(part.stretch_mm.is_some(), part.family == Family::Link, "{id}: stretch");
        for end in &part.ends {
            // The bore runs through the core of a male thread; a collar closes around the thread.
            assert!(part.bore_mm < end.thread.minor_diameter_mm(), "{id}: bore");
            assert!(end.collar_mm > end.thread.major_diameter_mm() + 2.0, "{id}: collar");
        }
        let swivels = part.ends.iter().any(|end| end.swivel);
        match part.family {
            Family::Swivel => assert!(swivels, "{id}: no swivel"),
            Family::Extension => assert_ne!(part.ends[0].gender, part.ends[1].gender, "{id}: genders"),
            Family::Joiner => assert_eq!(part.ends[0].gender, part.ends[1].gender, "{id}: genders"),
            Family::Reducer => assert_ne!(part.ends[0].thread, part.ends[1].thread, "{id}: sizes"),
            _ => {}
        }
    }
}

#[test]
fn solids_cover_the_centreline() {
    for part in fittings() {
        for stretch in [0.0, part.stretch_mm.unwrap_or(0.0)] {
            let body = part.body(stretch);
            for (leg, frame) in part.leg_frames(stretch)[..part.legs.len()].iter().enumerate() {
                assert_covered(&part.id, &body, frame, part.leg_length(leg, stretch));
            }
            if let Some(branch) = part.branch {
                let out = part.end_frames(stretch)[2];
                assert_covered(&part.id, &body, &(out * along(-branch.leg)), branch.leg);
            }
        }
    }
}

/// The first `length` millimetres along a frame's `z` axis lie inside the body.
fn assert_covered(id: &str, body: &[BodySolid], frame: &Pose, length: f64) {
    for step in 0..=100 {
        let at = length * f64::from(step) / 100.0;
        let point = origin(&(frame * along(at)));
        let nearest =
            body.iter().map(|solid| signed_distance(&solid.shape, &solid.pose, &point)).fold(f64::MAX, f64::min);
        assert!(nearest <= ROUNDING_MM, "{id}: bare centreline {at} mm along a leg");
    }
}

#[test]
fn solids_stay_behind_the_seats_and_within_the_collars() {
    for part in fittings() {
        for stretch in [0.0, part.stretch_mm.unwrap_or(0.0)] {
            let frames = part.end_frames(stretch);
            assert_eq!(frames.len(), part.ends.len(), "{}", part.id);
            for (end, frame) in part.ends.iter().zip(&frames) {
                for solid in part.body(stretch) {
                    let out = axis(frame);
                    let beyond = (origin(&solid.pose) - origin(frame)).dot(&out) + reach(&solid, &out);
                    assert!(beyond <= ROUNDING_MM, "{}: {:?} stands {beyond} mm beyond a seat", part.id, solid.shape);
                    // What meets the seat must be the collar, or the collar's size would not be the truth.
                    if let Shape::Cylinder { diameter, .. } = solid.shape
                        && beyond > -ROUNDING_MM
                    {
                        assert!(diameter <= end.collar_mm, "{}: {diameter} mm at a seat", part.id);
                    }
                }
            }
        }
    }
}

/// How far a solid of a fitting reaches from its centre along a direction.
fn reach(solid: &BodySolid, direction: &Vector) -> f64 {
    match &solid.shape {
        Shape::Sphere { diameter } => diameter / 2.0,
        Shape::Cylinder { diameter, length } => {
            let cosine = axis(&solid.pose).dot(direction).abs();
            length / 2.0 * cosine + diameter / 2.0 * (1.0 - cosine * cosine).max(0.0).sqrt()
        }
        other => panic!("fittings are made of bars and balls, not {other:?}"),
    }
}

#[test]
fn there_are_templates_for_a_whole_circuit() {
    let components = components();
    let ported = components.iter().filter(|template| !template.ports.is_empty()).count();
    assert!(ported >= 15, "{ported} templates with ports");
    for template in &components {
        assert!(!template.note.is_empty(), "{}: no word about its origin", template.id);
        assert!(!template.solids.is_empty(), "{}: no solids", template.id);
        let names: BTreeSet<_> = template.ports.iter().map(|port| &port.name).collect();
        assert_eq!(names.len(), template.ports.len(), "{}: port names", template.id);
    }
}

/// Just in front of its face a port is in the open, just behind it is material, over the whole of its seat.
#[test]
fn ports_lie_on_flat_faces_as_wide_as_their_seats() {
    const STEP_MM: f64 = 0.01;
    for template in components() {
        for port in &template.ports {
            let frame = facing(Point::from(port.at), port.facing.direction());
            let depth = |pose: Pose| {
                let point = origin(&pose);
                let solids = template.solids.iter();
                let distances = solids.map(|solid| {
                    signed_distance(&solid.shape, &facing(Point::from(solid.at), solid.facing.direction()), &point)
                });
                distances.fold(f64::MAX, f64::min)
            };
            for (radius, turns) in [(0.0, 1), (0.45 * port.seat_mm, 12), (0.499 * port.seat_mm, 12)] {
                for turn in 0..turns {
                    let angle = std::f64::consts::TAU * f64::from(turn) / f64::from(turns);
                    let spot = frame * turned(angle) * Pose::translation(radius, 0.0, 0.0);
                    let (front, behind) = (depth(spot * along(STEP_MM)), depth(spot * along(-STEP_MM)));
                    assert!(front > 0.0, "{}.{}: covered {radius} mm from its centre", template.id, port.name);
                    assert!(behind < 0.0, "{}.{}: no face {radius} mm from its centre", template.id, port.name);
                }
            }
            let collar = match port.thread {
                Thread::G18 => 13.0,
                Thread::G14 => 16.0,
                Thread::G38 => 20.0,
            };
            assert!(port.seat_mm >= collar, "{}.{}: no collar fits on its seat", template.id, port.name);
        }
    }
}

/// Signed distance from a point to a shape by closed form, for shapes without corners exact outside too.
fn signed_distance(shape: &Shape, pose: &Pose, point: &Point) -> f64 {
    let local = pose.inverse_transform_point(point);
    let box_like = |outside: &[f64]| {
        let apart = outside.iter().map(|d| d.max(0.0).powi(2)).sum::<f64>().sqrt();
        apart + outside.iter().copied().fold(f64::MIN, f64::max).min(0.0)
    };
    match shape {
        Shape::Sphere { diameter } => local.coords.norm() - diameter / 2.0,
        Shape::Cylinder { diameter, length } => {
            box_like(&[local.coords.xy().norm() - diameter / 2.0, local.z.abs() - length / 2.0])
        }
        Shape::Capsule { diameter, length } => {
            let on_axis = local.z.clamp(-length / 2.0, length / 2.0);
            (local.coords - Vector::z() * on_axis).norm() - diameter / 2.0
        }
        Shape::Box { size } => {
            box_like(&[local.x.abs() - size[0] / 2.0, local.y.abs() - size[1] / 2.0, local.z.abs() - size[2] / 2.0])
        }
        Shape::Hull { .. } => panic!("the built-in catalog uses no hulls"),
    }
}

fn fittings() -> Vec<FittingDef> {
    catalog().fittings().to_vec()
}

fn components() -> Vec<ComponentDef> {
    catalog().components().to_vec()
}

fn catalog() -> Catalog {
    Catalog::try_builtin().unwrap_or_else(|problems| panic!("{problems}"))
}
