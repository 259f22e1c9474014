//! The clearance of a chain, the components that it joins apart from everything else.

use elbowroom::{
    bridge::{CLEARANCE_HORIZON_MM, Chain, Wishes, bridge, clearances},
    catalog::Catalog,
    geometry::{Solid, separation},
    layout::{BodyId, Layout},
};

/// Rounding of distances that are measured twice, in millimetres.
const SAME_MM: f64 = 1e-6;

/// The least distance from a chain to the solids of the bodies that count, each pair measured by itself.
fn least_mm(catalog: &Catalog, layout: &Layout, chain: &Chain, counts: impl Fn(BodyId) -> bool) -> f64 {
    let mut least = f64::INFINITY;
    for part in &chain.parts {
        let fitting = catalog.fitting(&part.fitting).expect("a part of the catalog");
        for solid in fitting.body(part.stretch_mm) {
            let placed = Solid::new(&solid.shape, part.pose * solid.pose).expect("a sound part");
            for (_, body) in layout.bodies_by_id().filter(|(id, _)| counts(*id)) {
                least = body.solids.iter().map(|other| separation(&placed, other).signed_mm).fold(least, f64::min);
            }
        }
    }
    least
}

#[test]
fn in_the_demo_each_is_the_least_of_its_kind() {
    let catalog = Catalog::builtin();
    let (name, text) = elbowroom_catalog::DEMO;
    let layout = Layout::parse(text, name, &catalog).expect("the demo is sound");
    let mut told_apart = 0;
    for gap in layout.gaps() {
        let answer = bridge(&catalog, &layout, gap, &Wishes { max_parts: 4, want: 5, ..Wishes::default() });
        let chains = answer.expect("sound wishes").chains;
        let joined = [gap.from, gap.to].map(|port| layout.port_by_id(port).expect("a port of the layout").body);
        let apart = clearances(&catalog, &layout, gap, &chains).expect("chains of this gap");
        assert_eq!(apart.len(), chains.len());
        for (chain, apart) in chains.iter().zip(&apart) {
            let mm = |clearance: &Option<_>| {
                clearance.as_ref().map_or(f64::INFINITY, |c: &elbowroom::bridge::Clearance| c.mm)
            };
            let (others, own) = (mm(&apart.to_others), mm(&apart.to_joined));
            assert!((others.min(own) - mm(&chain.clearance)).abs() < SAME_MM, "{apart:?} of {:?}", chain.clearance);
            let by_pairs = least_mm(&catalog, &layout, chain, |body| !joined.contains(&body));
            if by_pairs < CLEARANCE_HORIZON_MM {
                assert!((by_pairs - others).abs() < SAME_MM, "{by_pairs} by pairs, {others} told");
            } else {
                assert_eq!(apart.to_others, None);
            }
            let names = joined.map(|id| layout.body(id).expect("a body").name.clone());
            assert!(apart.to_others.as_ref().is_none_or(|clearance| !names.contains(&clearance.body)), "{apart:?}");
            assert!(apart.to_joined.as_ref().is_none_or(|clearance| names.contains(&clearance.body)), "{apart:?}");
            told_apart += usize::from(own < others);
        }
    }
    assert!(told_apart > 0, "no chain of the demo is nearest to what it joins, so nothing was told apart");
}

/// Nothing stands beside the way between two blocks but a door 30 mm from the axis of the ports, and an arm of the first
/// block 11 mm from it: the door is told, though the arm is nearer.
#[test]
fn a_door_is_told_where_the_components_joined_are_nearer() {
    let block = |name: &str, x: f64, facing: &str, port_x: f64| {
        format!(
            "(name: \"{name}\", at: ({x}, 0, 0), solids: [(shape: box(size: (40, 40, 40))), (shape: box(size: (10, 10, 10)), \
             at: (35, 0, -16))], ports: [(name: \"p\", at: \
             ({port_x}, 0, 0), facing: \"{facing}\", thread: \"G 1/4\", thread_length_mm: 10, seat_mm: 24)])"
        )
    };
    let text = format!(
        "(version: 1, name: \"two blocks\", components: [{}, {}, (name: \"door\", at: (40, 0, 31), solids: [(shape: \
         box(size: (300, 300, 2)))])], gaps: [(from: \"one.p\", to: \"two.p\")])",
        block("one", 0.0, "+x", 20.0),
        block("two", 71.0, "-x", -20.0),
    );
    let catalog = Catalog::builtin();
    let layout = Layout::parse(&text, "two.ron", &catalog).unwrap_or_else(|problems| panic!("{problems}"));
    let gap = layout.gaps().first().expect("a gap");
    let answer = bridge(&catalog, &layout, gap, &Wishes { want: 1, ..Wishes::default() }).expect("sound wishes");
    let apart = clearances(&catalog, &layout, gap, &answer.chains).expect("a chain of this gap");
    let apart = apart.first().expect("a chain that fits");
    let door = apart.to_others.as_ref().expect("the door");
    assert_eq!(door.body, "door");
    let thickest_mm = 2.0 * (30.0 - door.mm);
    assert!((10.0..=24.0).contains(&thickest_mm), "the thickest part is {thickest_mm} mm across");
    let arm = apart.to_joined.as_ref().expect("the arm");
    assert_eq!(arm.body, "one");
    assert!((arm.mm - (door.mm - 19.0)).abs() < SAME_MM, "the arm is 19 mm nearer: {arm:?} and {door:?}");
}
