//! How the search grows with the catalog and with the part count: the gap that nothing bridges, asked of catalogs of
//! 20, 40, 80 and 160 parts.
//!
//! Throughput is in candidate sequences of parts. The counts themselves are in the table that the `figures` program
//! of this crate prints. In test mode the searches go less deep.

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use elbowroom_benches::cases::{blocked, catalog_of};
use std::hint::black_box;

fn growth(criterion: &mut Criterion) {
    let is_test = std::env::args().any(|argument| argument == "--test");
    let depths = if is_test { 2..=2 } else { 3..=4 };
    let mut group = criterion.benchmark_group("catalog size");
    group.sample_size(10);
    for size in [20, 40, 80, 160] {
        let sized = blocked().asked_of(catalog_of(size), format!("{size} parts in the catalog"));
        for case in depths.clone().map(|parts| sized.up_to(parts)) {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count below 2^53")]
            let sequences = case.answer().counts.sequences as u64;
            group.throughput(Throughput::Elements(sequences));
            group.bench_function(BenchmarkId::from_parameter(&case.name), |bencher| {
                bencher.iter(|| black_box(&case).answer());
            });
        }
    }
    group.finish();
}

criterion_group!(benches, growth);
criterion_main!(benches);
