//! The embedded demo: it loads, nothing in it is in the way of anything else, and every gap but one is bridged.

use elbowroom::bridge::{Completeness, Wishes, bridge};
use elbowroom::catalog::Catalog;
use elbowroom::geometry::separation;
use elbowroom::layout::{Body, BodyKind, Gap, Layout};
use std::collections::BTreeSet;

/// The gap that is too short for every part.
const UNBRIDGED: [&str; 2] = ["probe.outlet", "radiator-a.inlet"];

#[test]
fn has_the_promised_size() {
    let (_, layout) = demo();
    let components = layout.bodies().iter().filter(|body| body.kind == BodyKind::Component).count();
    assert!(components >= 10, "{components} components");
    assert!(layout.gaps().len() >= 9, "{} gaps", layout.gaps().len());
    assert!(layout.bodies().iter().any(|body| body.kind == BodyKind::Panel { removable: true }));
}

/// Every component is left once, by another port than the coolant came in by, and the last gap ends where the first
/// began.
#[test]
fn is_one_closed_circuit() {
    let (_, layout) = demo();
    let port = |id| layout.port_by_id(id).expect("a port of the layout");
    let mut left = BTreeSet::new();
    for (gap, next) in layout.gaps().iter().zip(layout.gaps().iter().cycle().skip(1)) {
        assert_eq!(port(gap.to).body, port(next.from).body, "the circuit breaks after {}", port(gap.to).name);
        assert_ne!(gap.to, next.from);
        assert!(left.insert(port(gap.from).body), "{} is left twice", port(gap.from).name);
    }
}

/// Nothing overlaps, and nothing comes nearer than the layout's own allowance.
#[test]
fn components_have_room() {
    let (_, layout) = demo();
    let is_panel = |body: &Body| matches!(body.kind, BodyKind::Panel { .. });
    for (index, a) in layout.bodies().iter().enumerate() {
        for b in &layout.bodies()[index + 1..] {
            // Panels meet at the edges of the case.
            if is_panel(a) && is_panel(b) {
                continue;
            }
            let pairs = a.solids.iter().flat_map(|one| b.solids.iter().map(move |other| separation(one, other)));
            let least = pairs.map(|apart| apart.signed_mm).fold(f64::INFINITY, f64::min);
            assert!(least >= layout.allowances().clearance_mm, "{} and {}: {least} mm", a.name, b.name);
        }
    }
}

/// The plan behind the layout, worked out by hand from the legs of the parts: the search must do as well, to the part.
#[test]
fn every_gap_but_one_is_bridged_by_as_many_parts_as_planned() {
    let (catalog, layout) = demo();
    let planned = [2, 2, 1, 4, 3, 3, 3, 0, 2, 3];
    assert_eq!(planned.len(), layout.gaps().len());
    for (gap, parts) in layout.gaps().iter().zip(planned) {
        let [from, to] = names(&layout, gap);
        let answer = bridge(&catalog, &layout, gap, &Wishes { max_parts: 4, want: 1, ..Wishes::default() })
            .expect("sound wishes");
        // One entry, all of whose chains have as many parts.
        let mut found: Vec<_> = answer.chains.iter().map(|chain| chain.parts.len()).collect();
        found.dedup();
        if [from, to] == UNBRIDGED {
            assert_eq!((found, answer.completeness), (vec![], Completeness::Complete { parts: 4 }), "{from} to {to}");
        } else {
            assert_eq!(found, [parts], "{from} to {to}: {:?}", answer.completeness);
        }
    }
}

fn names<'a>(layout: &'a Layout, gap: &Gap) -> [&'a str; 2] {
    [gap.from, gap.to].map(|id| layout.port_by_id(id).map_or("", |port| port.name.as_str()))
}

fn demo() -> (Catalog, Layout) {
    let catalog = Catalog::try_builtin().unwrap_or_else(|problems| panic!("{problems}"));
    let (name, text) = elbowroom_catalog::DEMO;
    let layout = Layout::parse(text, name, &catalog).unwrap_or_else(|problems| panic!("{problems}"));
    (catalog, layout)
}
