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
        if bridge(&catalog, &layout, gap, &asked).expect("sound wishes").chains.is_empty() {
            group.bench_function(format!("gap {}", number + 1), |bencher| {
                bencher.iter(|| near_misses(&catalog, &layout, black_box(gap), &wishes));
            });
        }
    }
    group.finish();
}

/// Two boxes whose ports face each other, and what is between them.
fn boxes(at: &str, between: &str) -> String {
    let port = |x: i32, facing: &str| {
        format!(
            r#"[(name: "p", at: ({x}, 0, 0), facing: "{facing}", thread: "G 1/4", thread_length_mm: 8, seat_mm: 24)]"#
        )
    };
    let cube = "[(shape: box(size: (40, 40, 40)))]";
    format!(
        r#"(version: 1, name: "Two boxes", components: [
            (name: "a", solids: {cube}, ports: {}, at: (0, 0, 0)),
            (name: "b", solids: {cube}, ports: {}, at: {at}), {between}
        ])"#,
        port(20, "+x"),
        port(-20, "-x")
    )
}

/// Gaps that nothing near opens: everything up to the farthest look is gone through, with the whole catalog.
fn far(criterion: &mut Criterion) {
    let catalog = Catalog::builtin();
    let wall = r#"(name: "wall", solids: [(shape: box(size: (15, 200, 200)))], at: (30, 0, 0)),"#;
    let cases = [
        ("20 mm aside at 6 mm", boxes("(46, 20, 7)", "")),
        ("a wall between", boxes("(60, 0, 0)", wall)),
        ("400 mm apart", boxes("(440, 0, 0)", "")),
    ];
    let mut group = criterion.benchmark_group("near misses of a gap that nothing near opens");
    group.sample_size(10);
    for (name, text) in cases {
        let layout = Layout::parse(&text, name, &catalog).expect("the layout is valid");
        let gap = layout.gap("a.p", "b.p").expect("both ports exist");
        group.bench_function(name, |bencher| {
            bencher.iter(|| near_misses(&catalog, &layout, black_box(&gap), &NearMissWishes::default()));
        });
    }
    group.finish();
}

criterion_group!(benches, demo, far);
criterion_main!(benches);
