//! What does a chain absorb? 1,000 builds of a chain of the demo machine, on one thread's worth of work.

use criterion::{Criterion, criterion_group, criterion_main};
use elbowroom::{
    bridge::{SlackWishes, Wishes, bridge, slack},
    catalog::Catalog,
    layout::Layout,
};
use std::hint::black_box;

fn slacks(criterion: &mut Criterion) {
    let catalog = Catalog::builtin();
    let (name, text) = elbowroom_catalog::DEMO;
    let Ok(layout) = Layout::parse(text, name, &catalog) else { return };
    let mut group = criterion.benchmark_group("slack of 1,000 builds");
    for (index, gap) in layout.gaps().iter().enumerate() {
        let answer = bridge(&catalog, &layout, gap, &Wishes { want: 1, ..Wishes::default() }).expect("sound wishes");
        let Some(chain) = answer.chains.first() else { continue };
        let name = format!("gap {} of the demo, {} parts", index + 1, chain.parts.len());
        group.bench_function(name, |bencher| {
            bencher.iter(|| slack(&catalog, &layout, black_box(gap), black_box(chain), &SlackWishes::default()));
        });
    }
    group.finish();
}

criterion_group!(benches, slacks);
criterion_main!(benches);
