//! Scene queries against a plain loop over all solids.

use super::{cylinder, grid_pose, pose, shape, solid};
use elbowroom::geometry::{Pose, Scene, Separation, Shape, Solid, SolidId, State, separation};
use rand::{SeedableRng, rngs::StdRng};

#[test]
fn queries_agree_with_asking_every_solid() {
    let mut random = StdRng::seed_from_u64(31);
    for case in 0..60 {
        let gridded = case % 2 == 0;
        let count = [0, 1, 2, 3, 40, 120][case % 6];
        let mut any = || {
            let shape = shape(&mut random, gridded);
            let place = if gridded { grid_pose(&mut random) } else { pose(&mut random, 150.0) };
            solid(shape, place)
        };
        let scene = Scene::new((0..count).map(|_| any()).collect());
        for _ in 0..12 {
            let query = any();
            for (horizon, modulus) in [(0.0, 1000), (1.0, 1000), (20.0, 3), (f64::INFINITY, 1000), (-2.0, 1000)] {
                let skip = |id: SolidId| id.0 % modulus == modulus - 1;
                check(&scene, &query, horizon, skip);
            }
        }
    }
}

fn check(scene: &Scene, query: &Solid, horizon: f64, skip: impl Fn(SolidId) -> bool) {
    let all: Vec<(SolidId, Separation)> = (0u32..)
        .map(SolidId)
        .zip(scene.solids())
        .filter(|(id, _)| !skip(*id))
        .map(|(id, other)| (id, separation(query, other)))
        .collect();
    let least = all.iter().map(|(_, found)| found.signed_mm).fold(f64::INFINITY, f64::min);
    let nearest = scene.nearest(query, horizon, &skip);
    // Nothing is asserted of a solid that is at the horizon to within rounding error.
    if (least - horizon).abs() > 1e-5 {
        assert_eq!(nearest.is_some(), least < horizon, "nearest at {least}, horizon {horizon}");
        let blocked = scene.any_within(query, horizon, &skip);
        assert_eq!(blocked.is_some(), least < horizon, "nearest at {least}, clearance {horizon}");
        assert_eq!(blocked.map(|(id, _)| id), scene.blocker(query, horizon, &skip));
        if let Some((id, found)) = blocked {
            assert!(found.signed_mm < horizon && !skip(id), "{found:?}");
            assert_eq!(all.iter().find(|(other, _)| *other == id), Some(&(id, found)));
        }
    }
    if let Some((id, found)) = nearest {
        assert!((found.signed_mm - least).abs() < 1e-5, "{found:?}, but {least} is the least");
        assert!(!skip(id));
    }
}

#[test]
fn among_equals_the_lowest_number_is_nearest() {
    let plate = || solid(Shape::Box { size: [10.0, 10.0, 2.0] }, Pose::translation(0.0, 0.0, -6.0));
    let far = solid(Shape::Box { size: [10.0, 10.0, 2.0] }, Pose::translation(0.0, 0.0, -60.0));
    let query = cylinder(4.0, 2.0, Pose::identity());
    for at in 0..9 {
        let mut solids = vec![far.clone(); 9];
        for solid in solids.iter_mut().skip(at) {
            *solid = plate();
        }
        let scene = Scene::new(solids);
        let (id, found) = scene.nearest(&query, 100.0, |_| false).expect("a plate is near");
        assert_eq!((id, found.state), (SolidId(at as u32), State::Clear));
        assert!((found.signed_mm - 3.0).abs() < 1e-12);
    }
}

#[test]
fn a_misplaced_solid_blocks() {
    let scene = Scene::new(vec![solid(Shape::Sphere { diameter: 5.0 }, Pose::translation(500.0, 0.0, 0.0))]);
    let lost = solid(Shape::Sphere { diameter: 5.0 }, Pose::identity()).at(Pose::translation(f64::NAN, 0.0, 0.0));
    assert_eq!(scene.blocker(&lost, 1.0, |_| false), Some(SolidId(0)));
    let (id, found) = scene.nearest(&lost, 100.0, |_| false).expect("a misplaced solid is near everything");
    assert_eq!((id, found.state), (SolidId(0), State::Overlapping));
    // And the other way round, among others that are where they should be.
    let mut solids: Vec<Solid> = (0..30)
        .map(|at| solid(Shape::Sphere { diameter: 5.0 }, Pose::translation(0.0, 10.0 * f64::from(at), 0.0)))
        .collect();
    let count = solids.len() as u32;
    solids.extend([lost.clone(), lost]);
    let scene = Scene::new(solids);
    let query = solid(Shape::Sphere { diameter: 5.0 }, Pose::translation(0.0, 103.0, 0.0));
    let (id, _) = scene.nearest(&query, 100.0, |_| false).expect("a misplaced solid is near everything");
    assert_eq!(id, SolidId(count));
    assert!(scene.blocker(&query, 1.0, |id| id.0 < count).is_some());
    assert_eq!(scene.nearest(&query, 100.0, |id| id.0 >= count).map(|(id, _)| id), Some(SolidId(10)));
}
