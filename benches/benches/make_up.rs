//! Can the chains of a demo gap be made up? Verdicts for the 20 best of each gap.

use criterion::{Criterion, criterion_group, criterion_main};
use elbowroom::bridge::{MakeUpWishes, Wishes, bridge, make_up};
use elbowroom::catalog::Catalog;
use elbowroom::layout::Layout;
use std::hint::black_box;

fn verdicts(criterion: &mut Criterion) {
    let catalog = Catalog::try_builtin().expect("the built-in catalog loads");
    let (name, text) = elbowroom_catalog::DEMO;
    let layout = Layout::parse(text, name, &catalog).expect("the demo loads");
    let mut group = criterion.benchmark_group("verdicts for the 20 best chains");
    group.sample_size(10);
    for gap in layout.gaps() {
        let answer = bridge(&catalog, &layout, gap, &Wishes { max_parts: 4, want: 20, ..Wishes::default() })
            .expect("sound wishes");
        let [from, to] = [gap.from, gap.to].map(|id| layout.port_by_id(id).map_or("", |port| port.name.as_str()));
        group.bench_function(format!("{from} to {to}, {} chains", answer.chains.len()), |bencher| {
            bencher.iter(|| {
                let wishes = MakeUpWishes::default();
                let made =
                    |chain| make_up(&catalog, &layout, gap, black_box(chain), &wishes).expect("a chain that was found");
                answer.chains.iter().filter(|chain| made(*chain).verdict.can_be_made_up()).count()
            });
        });
    }
    group.finish();
}

criterion_group!(benches, verdicts);
criterion_main!(benches);
