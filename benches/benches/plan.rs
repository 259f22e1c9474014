//! Planning: the demo as a whole, and the cheapest set among many chains.

use criterion::{Criterion, criterion_group, criterion_main};
use elbowroom::{
    bridge::Wishes,
    catalog::Catalog,
    layout::Layout,
    plan::{Candidate, Choices, Cost, MOST_STEPS, Pick, PlanWishes, Selection, plan, select},
};
use rand::{Rng, SeedableRng, rngs::StdRng};
use std::collections::HashSet;

/// So many gaps with so many chains each, of which this share clashes with a chain of another gap.
fn machine(gaps: usize, chains: usize, share: f64) -> (Vec<Vec<Candidate>>, HashSet<(Pick, Pick)>) {
    let mut random = StdRng::seed_from_u64(5);
    let mut candidate = || {
        let cost = Cost { parts: random.random_range(1..=5), loss_upa: random.random_range(0..5_000_000_000) };
        Candidate { cost, pieces: Vec::new() }
    };
    let lists: Vec<Vec<Candidate>> = (0..gaps).map(|_| (0..chains).map(|_| candidate()).collect()).collect();
    let mut clashes = HashSet::new();
    for one in 0..gaps {
        for other in one + 1..gaps {
            for pair in 0..chains * chains {
                if random.random_bool(share) {
                    let (first, second) = (pair / chains, pair % chains);
                    clashes.insert((Pick { gap: one, candidate: first }, Pick { gap: other, candidate: second }));
                }
            }
        }
    }
    (lists, clashes)
}

fn planning(c: &mut Criterion) {
    let catalog = Catalog::builtin();
    let (name, text) = elbowroom_catalog::DEMO;
    let layout = Layout::parse(text, name, &catalog).unwrap_or_else(|problems| panic!("{problems}"));
    let wishes = PlanWishes { search: Wishes { max_parts: 5, ..Wishes::default() }, ..PlanWishes::default() };
    let mut group = c.benchmark_group("plan");
    group.sample_size(10);
    group.bench_function("the demo, up to 5 parts", |b| {
        b.iter(|| plan(&catalog, &layout, &wishes).expect("sound wishes").cost);
    });
    for (gaps, chains, share) in [(20, 200, 0.05), (12, 200, 0.2)] {
        let (lists, clashes) = machine(gaps, chains, share);
        let clash = |one: Pick, other: Pick| clashes.contains(&(one.min(other), one.max(other)));
        let choices = Choices { gaps: &lists, stock: &[], clash: &clash, barred: &[] };
        group.bench_function(format!("a set for {gaps} gaps of {chains} chains, {share} of pairs clash"), |b| {
            b.iter(|| {
                let found = select(&choices, MOST_STEPS);
                assert!(matches!(found, Selection::Best { .. }), "{found:?}");
                found
            });
        });
    }
    group.finish();
}

criterion_group!(benches, planning);
criterion_main!(benches);
