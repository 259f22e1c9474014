//! Bridging a gap: the best chain and the best 20 of every gap of the demo, and proofs that nothing fits.
//!
//! Throughput is in candidate sequences of parts, those that the threads allow. In test mode the searches go one part
//! less deep.

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use elbowroom_benches::cases::{Case, blocked, demo_gaps, facing_away, far_apart, two_wells, under_a_lid};
use elbowroom_benches::dense::dense_gaps;
use std::hint::black_box;

/// Whether every bench is only to be run once, to see that it runs.
fn is_test() -> bool {
    std::env::args().any(|argument| argument == "--test")
}

fn answered(criterion: &mut Criterion) {
    for want in [1, 20] {
        let mut group = criterion.benchmark_group(format!("best {want} of up to 4 parts"));
        for case in demo_gaps(want) {
            let case = if is_test() { case.up_to(3) } else { case };
            group.bench_function(&case.name, |bencher| bencher.iter(|| black_box(&case).answer()));
        }
        group.finish();
    }
}

fn proven(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("nothing fits");
    group.sample_size(10);
    for nothing in [blocked(), facing_away(), under_a_lid()] {
        let depths = if is_test() { 2..=3 } else { 3..=5 };
        for case in depths.map(|parts| nothing.up_to(parts)) {
            throughput(&mut group, &case);
        }
    }
    group.finish();
}

fn deep(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("nothing shorter than 6 parts fits");
    group.sample_size(10);
    for deep in [far_apart(), two_wells()] {
        throughput(&mut group, &deep.up_to(if is_test() { 3 } else { 6 }));
    }
    group.finish();
}

fn dense(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("dense gaps");
    group.sample_size(10);
    for case in dense_gaps().iter().flat_map(Case::wanting_one_and_all) {
        let case = if is_test() { case.up_to(3) } else { case };
        throughput(&mut group, &case);
    }
    group.finish();
}

fn throughput(group: &mut criterion::BenchmarkGroup<'_, criterion::measurement::WallTime>, case: &Case) {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count below 2^53")]
    let sequences = case.answer().counts.sequences as u64;
    group.throughput(Throughput::Elements(sequences));
    group.bench_function(BenchmarkId::from_parameter(&case.name), |bencher| bencher.iter(|| black_box(case).answer()));
}

criterion_group!(benches, answered, proven, deep, dense);
criterion_main!(benches);
