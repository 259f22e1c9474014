//! How long it takes to say what comes nearest where nothing bridges a gap.

use criterion::{Criterion, criterion_group, criterion_main};
use elbowroom::bridge::{NearMissWishes, Wishes, bridge, near_misses};
use elbowroom::{catalog::Catalog, layout::Layout};
use std::hint::black_box;

/// The gaps of the demo that nothing bridges, with the whole catalog and up to four parts.
fn demo(criterion: &mut Criterion) {
    let catalog = Catalog::builtin();
    let (name, text) = elbowroom_catalog::DEMO;
    let layout = Layout::parse(text, name, &catalog).expect("the demo is valid");
    let wishes = NearMissWishes::default();
    let asked = Wishes { max_parts: wishes.max_parts, want: 1, ..Wishes::default() };
    let mut group = criterion.benchmark_group("near misses of a gap of the demo");
    group.sample_size(10);
    for (number, gap) in layout.gaps().iter().enumerate() {
        if bridge(&catalog, &layout, gap, &asked).chains.is_empty() {
            group.bench_function(format!("gap {}", number + 1), |bencher| {
                bencher.iter(|| near_misses(&catalog, &layout, black_box(gap), &wishes));
            });
        }
    }
    group.finish();
}

criterion_group!(benches, demo);
criterion_main!(benches);
