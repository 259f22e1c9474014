//! Chains of neighbouring gaps must leave room for each other.

use elbowroom::{
    bridge::{Answer, Chain, Wishes, bridge, choose_together, together},
    catalog::Catalog,
    geometry::{Solid, separation},
    layout::Layout,
};

/// Two pairs of ports side by side, `apart` millimetres from one pair to the other, each 30 mm from face to face.
fn two_pairs(apart: f64) -> String {
    let part = |name: &str, y: f64, z: f64, facing: &str, towards: f64| {
        format!(
            "(name: \"{name}\", at: (0, {y}, {z}), solids: [(shape: box(size: (4, 4, 4)), at: (0, 0, {towards}))], \
             ports: [(name: \"p\", at: (0, 0, 0), facing: \"{facing}\", thread: \"G 1/4\", thread_length_mm: 7, \
             seat_mm: 20)]),"
        )
    };
    format!(
        "(version: 1, name: \"pairs\", components: [{}{}{}{}], gaps: [(from: \"a.p\", to: \"b.p\"), \
         (from: \"c.p\", to: \"d.p\")])",
        part("a", 0.0, 0.0, "+z", -2.0),
        part("b", 0.0, 30.0, "-z", 2.0),
        part("c", apart, 0.0, "+z", -2.0),
        part("d", apart, 30.0, "-z", 2.0),
    )
}

fn answers(catalog: &Catalog, layout: &Layout) -> Vec<Answer> {
    let wishes = Wishes { max_parts: 2, want: 6, ..Wishes::default() };
    layout.gaps().iter().map(|gap| bridge(catalog, layout, gap, &wishes).expect("sound wishes")).collect()
}

#[test]
fn straight_chains_side_by_side_keep_their_distance() {
    let catalog = Catalog::builtin();
    let layout = Layout::parse(&two_pairs(25.0), "pairs.ron", &catalog).expect("a sound layout");
    let answers = answers(&catalog, &layout);
    let chains: Vec<_> = answers.iter().map(|answer| &answer.chains[..]).collect();
    assert!(chains.iter().all(|chains| !chains.is_empty()), "30 mm can be bridged");
    let set = together(&catalog, &chains, 1.0).expect("chains that were found");
    assert!(set.agree);
    assert_eq!(set.chosen, [Some(0), Some(0)], "nothing keeps the best of each from being built");
    let (.., mm) = set.nearest.expect("they stand side by side");
    let solids = |chain: &Chain| -> Vec<Solid> {
        let parts = chain.parts.iter().map(|part| (part, catalog.fitting(&part.fitting).expect("a known part")));
        let placed = parts.flat_map(|(part, fitting)| {
            fitting.body(part.stretch_mm).into_iter().map(|body| Solid::new(&body.shape, part.pose * body.pose))
        });
        placed.collect::<Result<_, _>>().expect("sound parts")
    };
    let [one, other] = [0, 1].map(|gap: usize| solids(&chains[gap][0]));
    let pairs = one.iter().flat_map(|first| other.iter().map(move |second| separation(first, second).signed_mm));
    let least = pairs.fold(f64::INFINITY, f64::min);
    assert!((mm - least).abs() < 1e-6, "{mm} told, {least} measured pair by pair");
}

#[test]
fn chains_in_each_others_place_do_not_agree() {
    let catalog = Catalog::builtin();
    let layout = Layout::parse(&two_pairs(14.0), "pairs.ron", &catalog).expect("a sound layout");
    let answers = answers(&catalog, &layout);
    let chains: Vec<_> = answers.iter().map(|answer| &answer.chains[..]).collect();
    // 14 mm from axis to axis, and no collar is narrower than 15 mm.
    if chains.iter().all(|chains| !chains.is_empty()) {
        let set = together(&catalog, &chains, 1.0).expect("chains that were found");
        assert!(!set.agree, "{set:?}");
        assert!(set.nearest.is_some_and(|(.., mm)| mm < 1.0), "{:?}", set.nearest);
    } else {
        panic!("each gap alone can be bridged: {answers:#?}");
    }
}

#[test]
fn the_demos_best_chains_can_be_built_together() {
    let catalog = Catalog::builtin();
    let (name, text) = elbowroom_catalog::DEMO;
    let layout = Layout::parse(text, name, &catalog).expect("the demo is sound");
    let wishes = Wishes { max_parts: 4, want: 20, ..Wishes::default() };
    let answers: Vec<_> =
        layout.gaps().iter().map(|gap| bridge(&catalog, &layout, gap, &wishes).expect("sound wishes")).collect();
    let chains: Vec<_> = answers.iter().map(|answer| &answer.chains[..]).collect();
    let set = together(&catalog, &chains, layout.allowances().clearance_mm).expect("chains that were found");
    assert!(set.agree, "{set:?}");
    assert_eq!(set.chosen.iter().filter(|chosen| chosen.is_none()).count(), 1, "one gap of the demo has no chain");
}

/// From the best chain of each gap alone, which cannot be built side by side in the demo, more are asked for of just
/// the gaps that conflict.
#[test]
fn more_chains_are_asked_for_where_the_best_ones_collide() {
    let catalog = Catalog::builtin();
    let (name, text) = elbowroom_catalog::DEMO;
    let layout = Layout::parse(text, name, &catalog).expect("the demo is sound");
    let find = |gap: usize, want: usize| -> Vec<Chain> {
        bridge(&catalog, &layout, &layout.gaps()[gap], &Wishes { max_parts: 4, want, ..Wishes::default() })
            .expect("sound wishes")
            .chains
    };
    let mut chains: Vec<_> = (0..layout.gaps().len()).map(|gap| find(gap, 1)).collect();
    let alone: Vec<_> = chains.iter().map(Vec::as_slice).collect();
    let clearance_mm = layout.allowances().clearance_mm;
    let first = together(&catalog, &alone, clearance_mm).expect("chains that were found");
    let (one, other, mm) = first.nearest.expect("chains stand side by side");
    assert!(!first.agree && mm < clearance_mm, "{first:?}");
    let mut asked = Vec::new();
    let set = choose_together(&catalog, &mut chains, clearance_mm, 100, |gap, want| {
        asked.push(gap);
        Some(find(gap, want))
    })
    .expect("chains that were found");
    assert!(set.agree, "{set:?}");
    assert!(asked.contains(&one) && asked.contains(&other), "{asked:?}");
    assert!(asked.len() < chains.len(), "{asked:?}");
    assert!(set.nearest.is_some_and(|(.., mm)| mm >= clearance_mm), "{set:?}");
    // Without any more to be had, the answer says that they do not agree.
    let mut alone: Vec<_> = (0..layout.gaps().len()).map(|gap| find(gap, 1)).collect();
    let set = choose_together(&catalog, &mut alone, clearance_mm, 100, |_, _| None).expect("chains that were found");
    assert!(!set.agree);
}
