//! A chain of six fittings in an enclosure of 300 mm with 200 solids: is it clear, and what is nearest?

use criterion::{Criterion, criterion_group, criterion_main};
use elbowroom::geometry::{Pose, Scene, Shape, Solid, Vector, along, bent, closer_than, separation, turned};
use nalgebra::Translation3;
use std::hint::black_box;

fn collision(criterion: &mut Criterion) {
    let scene = Scene::new(enclosure());
    let chains = chains(&scene);

    let mut group = criterion.benchmark_group("chain of 6 parts, 18 solids, against 200");
    for (name, chain) in &chains {
        group.bench_function(format!("any within 1 mm, {name}"), |bencher| {
            bencher.iter(|| chain.iter().find_map(|solid| scene.any_within(black_box(solid), 1.0, |_| false)));
        });
        group.bench_function(format!("blocker at 1 mm, {name}"), |bencher| {
            bencher.iter(|| chain.iter().find_map(|solid| scene.blocker(black_box(solid), 1.0, |_| false)));
        });
        group.bench_function(format!("nearest within 100 mm, {name}"), |bencher| {
            bencher.iter(|| {
                let mut horizon = 100.0;
                for solid in chain {
                    if let Some((_, found)) = scene.nearest(black_box(solid), horizon, |_| false) {
                        horizon = found.signed_mm;
                    }
                }
                horizon
            });
        });
    }
    let (_, chain) = &chains[0];
    group.bench_function("moving the chain to another pose", |bencher| {
        let by = Pose::translation(1.0, 2.0, 3.0);
        bencher.iter(|| chain.iter().map(|solid| solid.moved(black_box(&by))).collect::<Vec<_>>());
    });
    group.finish();

    let mut group = criterion.benchmark_group("one pair");
    let bar = cylinder(9.0, 20.0);
    let askew = turned(0.4) * bent(0.7);
    let slab = solid(Shape::Box { size: [30.0, 40.0, 10.0] }, askew);
    for (name, other, gap) in [
        ("cylinders askew, 2 mm apart", cylinder(8.0, 25.0).moved(&askew), 2.0),
        ("cylinders askew, 2 mm deep", cylinder(8.0, 25.0).moved(&askew), -2.0),
        ("cylinder and box askew, 2 mm apart", slab.clone(), 2.0),
        ("cylinder and box askew, 2 mm deep", slab, -2.0),
        ("parallel cylinders, 2 mm apart", cylinder(8.0, 25.0), 2.0),
        ("balls, 2 mm apart", solid(Shape::Sphere { diameter: 20.0 }, Pose::identity()), 2.0),
    ] {
        // Slide it along a slanted line to the gap that is wanted.
        let way = Vector::new(2.0, 1.0, 0.5).normalize();
        let at = |mm: f64| other.moved(&Translation3::from(way * mm).into());
        let (mut low, mut high) = (0.0, 200.0);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if separation(&bar, &at(middle)).signed_mm < gap { low = middle } else { high = middle }
        }
        let other = at(high);
        group.bench_function(format!("separation, {name}"), |bencher| {
            bencher.iter(|| separation(black_box(&bar), black_box(&other)));
        });
        group.bench_function(format!("closer than 1 mm, {name}"), |bencher| {
            bencher.iter(|| closer_than(black_box(&bar), black_box(&other), 1.0));
        });
    }
    group.finish();
}

/// 200 boxes and cylinders of 10 to 60 mm in a cube of 300 mm, square to it and askew in equal parts.
fn enclosure() -> Vec<Solid> {
    let mut dice = Dice(1);
    (0..200)
        .map(|index| {
            let place =
                Pose::translation(dice.within(-150.0, 150.0), dice.within(-150.0, 150.0), dice.within(-150.0, 150.0));
            let turn = if index % 4 < 2 {
                Pose::identity()
            } else {
                turned(dice.within(0.0, 6.0)) * bent(dice.within(0.0, 3.0))
            };
            let [x, y, z] = [0; 3].map(|_| dice.within(10.0, 60.0));
            let shape = if index % 2 == 0 {
                Shape::Box { size: [x, y, z] }
            } else {
                Shape::Cylinder { diameter: x / 2.0, length: z }
            };
            solid(shape, place * turn)
        })
        .collect()
}

/// Chains of six elbows, each two legs and a ball between them, picked from many: one that is just clear, the one
/// with most room, and one that collides as badly as a quarter of them.
fn chains(scene: &Scene) -> [(&'static str, Vec<Solid>); 3] {
    let mut dice = Dice(2);
    let mut many: Vec<(f64, Vec<Solid>)> = (0..4000)
        .map(|_| {
            let chain = chain(&mut dice);
            let nearest = chain.iter().filter_map(|solid| scene.nearest(solid, 100.0, |_| false));
            (nearest.map(|(_, found)| found.signed_mm).fold(100.0, f64::min), chain)
        })
        .collect();
    many.sort_by(|a, b| a.0.total_cmp(&b.0));
    // The first of the clear ones has most in its way that must be looked at closely.
    let tight = many.iter().position(|(clearance, _)| *clearance > 1.0).unwrap_or_default();
    let (tight, open) = (many[tight].clone(), many[many.len() - 1].clone());
    let (_, deep) = many.swap_remove(many.len() / 4);
    assert!(tight.0 > 1.0 && tight.0 < 2.0, "a tight chain, found one with {} mm", tight.0);
    [("tight", tight.1), ("wide open", open.1), ("colliding", deep)]
}

fn chain(dice: &mut Dice) -> Vec<Solid> {
    let mut here =
        Pose::translation(dice.within(-100.0, 100.0), dice.within(-100.0, 100.0), dice.within(-100.0, 100.0))
            * turned(dice.within(0.0, 6.0))
            * bent(dice.within(0.0, 3.0));
    let mut solids = Vec::new();
    for _ in 0..6 {
        let (first, second) = (dice.within(5.0, 15.0), dice.within(5.0, 15.0));
        solids.push(cylinder(8.0, first).moved(&(here * along(first / 2.0))));
        here *= along(first) * turned(dice.within(0.0, 6.0)) * bent(std::f64::consts::FRAC_PI_4);
        solids.push(solid(Shape::Sphere { diameter: 16.0 }, here));
        solids.push(cylinder(9.0, second).moved(&(here * along(second / 2.0))));
        here *= along(second);
    }
    solids
}

fn cylinder(radius: f64, length: f64) -> Solid {
    solid(Shape::Cylinder { diameter: 2.0 * radius, length }, Pose::identity())
}

fn solid(shape: Shape, pose: Pose) -> Solid {
    Solid::new(&shape, pose).expect("the bench makes legal solids")
}

/// A small generator, so that the scene is the same wherever the bench runs.
struct Dice(u64);

impl Dice {
    /// The next number of Knuth's linear congruential sequence (MMIX constants, from memory), scaled.
    fn within(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        low + (high - low) * ((self.0 >> 11) as f64 / (1u64 << 53) as f64)
    }
}

criterion_group!(benches, collision);
criterion_main!(benches);
