//! The whole machine as one plan: a chain for each gap, with room beside each other, in one order of work.

use elbowroom::{
    bridge::{Blocker, Chain, Neighbour, Verdict, Wishes, bridge, make_up, make_up_beside},
    catalog::{Catalog, PartSolid},
    geometry::{Solid, separation},
    layout::Layout,
    plan::{Cost, Plan, PlanWishes, Proof, plan},
    report::{Outcome, PlanReport},
};
use elbowroom_tests::parts::straight;
use rand::{Rng, SeedableRng, rngs::StdRng};

/// Rounding of distances that are measured twice, in millimetres.
const SAME_MM: f64 = 1e-6;

fn read(text: &str, catalog: &Catalog) -> Layout {
    Layout::parse(text, "machine.ron", catalog).unwrap_or_else(|problems| panic!("{problems}"))
}

fn planned(catalog: &Catalog, layout: &Layout, max_parts: usize) -> Plan {
    let search = Wishes { max_parts, ..Wishes::default() };
    plan(catalog, layout, &PlanWishes { search, ..PlanWishes::default() }).expect("sound wishes")
}

fn outcome(catalog: &Catalog, layout: &Layout, plan: &Plan) -> Outcome {
    PlanReport::new(catalog, layout, &PlanWishes::default(), plan).expect("a plan of this layout").outcome()
}

fn chosen(plan: &Plan) -> Vec<Option<&Chain>> {
    plan.gaps.iter().map(elbowroom::plan::PlannedGap::chain).collect()
}

fn solids(catalog: &Catalog, chain: &Chain) -> Vec<Solid> {
    let placed = chain.parts.iter().flat_map(|part| {
        let fitting = catalog.fitting(&part.fitting).expect("a part of the catalog");
        let bodies = fitting.body(part.stretch_mm).into_iter();
        bodies.map(|body| Solid::new(&body.shape, part.pose * body.pose).expect("a sound part"))
    });
    placed.collect()
}

/// What every plan must be, worked out from its parts: chains keep the clearance from each other, the sum is that of the chains,
/// each gap that is bridged has its turn once, and each chain can be made up beside those before it.
fn audit(catalog: &Catalog, layout: &Layout, plan: &Plan) {
    let chains = chosen(plan);
    let needed_mm = layout.allowances().clearance_mm;
    for (gap, one) in chains.iter().enumerate() {
        for (later, other) in chains.iter().enumerate().skip(gap + 1) {
            let (Some(one), Some(other)) = (one, other) else { continue };
            for first in solids(catalog, one) {
                for second in solids(catalog, other) {
                    let mm = separation(&first, &second).signed_mm;
                    assert!(mm >= needed_mm - SAME_MM, "chains of gaps {gap} and {later} are {mm} mm apart");
                }
            }
        }
    }
    let sum: Cost = chains.iter().flatten().map(|chain| Cost::of(chain)).sum();
    assert_eq!(sum, plan.cost);
    let mut turns = plan.order.clone();
    turns.sort_unstable();
    let bridged: Vec<usize> = (0..chains.len()).filter(|gap| chains[*gap].is_some()).collect();
    assert_eq!(turns, bridged, "each gap once");
    for (place, gap) in plan.order.iter().enumerate() {
        let neighbour = |gap: &usize| Some(Neighbour { gap: layout.gaps()[*gap], chain: chains[*gap]? });
        let standing: Vec<Neighbour<'_>> = plan.order[..place].iter().filter_map(neighbour).collect();
        let chain = chains[*gap].expect("a chain in the order of work");
        let wishes = PlanWishes::default().make_up;
        let made = make_up_beside(catalog, layout, &layout.gaps()[*gap], chain, &standing, &wishes);
        let made = made.expect("sound wishes");
        assert!(made.verdict.can_be_made_up(), "gap {gap}: {:?}", made.verdict);
        assert_eq!(plan.gaps[*gap].make_up.as_ref(), Some(&made));
        // A component that is offered up is joined to nothing that stands already.
        if let Verdict::OfferedUp { component, .. } = &made.verdict {
            let joined = |neighbour: &Neighbour<'_>| {
                let ports = [neighbour.gap.from, neighbour.gap.to];
                ports.map(|port| {
                    layout.body(layout.port_by_id(port).expect("a port").body).expect("a body").name.clone()
                })
            };
            assert!(standing.iter().all(|neighbour| !joined(neighbour).contains(component)), "{component} is held");
        }
    }
}

#[test]
fn the_demo_is_planned_but_for_the_gap_that_nothing_bridges() {
    let catalog = Catalog::builtin();
    let (_, text) = elbowroom_catalog::DEMO;
    let layout = read(text, &catalog);
    let plan = planned(&catalog, &layout, 4);
    audit(&catalog, &layout, &plan);
    let open: Vec<usize> = (0..plan.gaps.len()).filter(|gap| plan.gaps[*gap].chosen.is_none()).collect();
    assert_eq!(open, [7], "the gap that is too short for every part");
    assert_eq!((plan.proof, outcome(&catalog, &layout, &plan)), (Proof::Best, Outcome::DoesNotFit));
    assert!(plan.conflicts.is_empty());
    // No set can cost less than the cheapest chain of each gap that can be made up.
    let least = |gap: &elbowroom::plan::PlannedGap| gap.candidates().iter().map(Cost::of).min();
    let bound: Cost = plan.gaps.iter().filter_map(least).sum();
    assert!(bound <= plan.cost, "{bound:?} {:?}", plan.cost);
}

/// Two gaps on one line: `one`, `filter` and `two` above each other, 20 mm between them, and one part that is long enough, with a
/// collar that swivels at each end: whoever screws it in must hold a component back.
fn tower(under: &str, over: &str) -> (Catalog, Layout) {
    let catalog = Catalog::from_parts(vec![straight("nipple", ['M', 'M'], 20.0)], Vec::new()).expect("a sound part");
    let disc = |name: &str, from: f64, to: f64, ports: &str| {
        format!(
            "(name: \"{name}\", at: (0, 0, {}), solids: [(shape: box(size: (60, 60, {})))], ports: [{ports}]),",
            f64::midpoint(from, to),
            to - from
        )
    };
    let port = |name: &str, z: f64, facing: &str| {
        format!(
            "(name: \"{name}\", at: (0, 0, {z}), facing: \"{facing}\", thread: \"G 1/4\", thread_length_mm: 8, seat_mm: 22),"
        )
    };
    let text = format!(
        "(version: 1, name: \"tower\", allowances: (tool_mm: 0), components: [{}{}{}{under}{over}], gaps: [(from: \
         \"one.out\", to: \"filter.in\"), (from: \"filter.out\", to: \"two.in\")])",
        disc("one", 0.0, 10.0, &port("out", 5.0, "+z")),
        disc("filter", 30.0, 60.0, &(port("in", -15.0, "-z") + &port("out", 15.0, "+z"))),
        disc("two", 80.0, 90.0, &port("in", -5.0, "-z")),
    );
    let layout = read(&text, &catalog);
    (catalog, layout)
}

const FLOOR: &str = "(name: \"floor\", at: (0, 0, -2), solids: [(shape: box(size: (80, 80, 4)))]),";
const ROOF: &str = "(name: \"roof\", at: (0, 0, 92), solids: [(shape: box(size: (80, 80, 4)))]),";

/// The filter would have to be offered up along -z for one gap and along +z for the other, and what is joined once does not
/// move: each gap has a chain, and no order builds both.
#[test]
fn a_component_that_must_be_offered_up_both_ways_is_a_conflict() {
    let (catalog, layout) = tower(FLOOR, ROOF);
    let plan = planned(&catalog, &layout, 1);
    for (gap, planned) in layout.gaps().iter().zip(&plan.gaps) {
        let chain = &planned.answer.chains[0];
        let alone = make_up(&catalog, &layout, gap, chain, &PlanWishes::default().make_up).expect("sound wishes");
        assert!(
            matches!(&alone.verdict, Verdict::OfferedUp { component, .. } if component == "filter"),
            "alone: {:?}",
            alone.verdict
        );
    }
    audit(&catalog, &layout, &plan);
    let [conflict] = &plan.conflicts[..] else { panic!("one conflict: {:?}", plan.conflicts) };
    assert_eq!((&conflict.gaps[..], conflict.proven), (&[0, 1][..], true));
    assert!(conflict.too_near.is_empty(), "{:?}", conflict.too_near);
    let held: Vec<&str> = conflict
        .stuck
        .iter()
        .filter_map(|stuck| match &stuck.make_up.verdict {
            Verdict::CannotBeMadeUp { blocker: Blocker::Joined { component, .. }, .. } => Some(component.as_str()),
            _ => None,
        })
        .collect();
    assert!(held.contains(&"filter"), "{:?}", conflict.stuck);
    assert_eq!(outcome(&catalog, &layout, &plan), Outcome::DoesNotFit);
    assert_eq!(plan.gaps.iter().filter(|gap| gap.chosen.is_some()).count(), 1, "the other gap is bridged all the same");
}

/// Where one of the outer components can be held back instead, its gap comes last, whichever of the two it is.
#[test]
fn the_order_of_work_follows_what_can_still_be_held_back() {
    for (under, over, order) in [(FLOOR, "", [0, 1]), ("", ROOF, [1, 0])] {
        let (catalog, layout) = tower(under, over);
        let plan = planned(&catalog, &layout, 1);
        audit(&catalog, &layout, &plan);
        assert_eq!((&plan.order[..], plan.proof), (&order[..], Proof::Best));
        assert_eq!(outcome(&catalog, &layout, &plan), Outcome::Fits);
    }
}

/// Two pairs of ports so near each other that a chain between either pair stands in the way of one between the other.
#[test]
fn chains_that_fit_singly_and_not_together_are_a_conflict() {
    let mut nipple = straight("nipple", ['M', 'M'], 20.0);
    for solid in &mut nipple.solids {
        // As wide as its collars.
        if let PartSolid::Sleeve { diameter, .. } = solid {
            *diameter = 20.0;
        }
    }
    let catalog = Catalog::from_parts(vec![nipple], Vec::new()).expect("a sound part");
    let part = |name: &str, x: f64, z: f64, facing: &str, behind: f64| {
        format!(
            "(name: \"{name}\", at: ({x}, 0, {z}), solids: [(shape: box(size: (6, 6, 6)), at: (0, 0, {behind}))], ports: \
             [(name: \"p\", at: (0, 0, 0), facing: \"{facing}\", thread: \"G 1/4\", thread_length_mm: 8, seat_mm: 22)]),"
        )
    };
    let machine = |apart: f64| {
        format!(
            "(version: 1, name: \"pairs\", allowances: (tool_mm: 0), components: [{}{}{}{}], gaps: [(from: \"a.p\", to: \
             \"b.p\"), (from: \"c.p\", to: \"d.p\")])",
            part("a", 0.0, 0.0, "+z", -3.0),
            part("b", 0.0, 20.0, "-z", 3.0),
            part("c", apart, 0.0, "+z", -3.0),
            part("d", apart, 20.0, "-z", 3.0),
        )
    };
    let near = read(&machine(17.0), &catalog);
    let plan_near = planned(&catalog, &near, 1);
    audit(&catalog, &near, &plan_near);
    let [conflict] = &plan_near.conflicts[..] else { panic!("one conflict: {plan_near:?}") };
    assert_eq!((&conflict.gaps[..], conflict.proven), (&[0, 1][..], true));
    let [(0, 1, mm)] = conflict.too_near[..] else { panic!("{:?}", conflict.too_near) };
    let [one, other] = [0, 1].map(|gap: usize| solids(&catalog, &plan_near.gaps[gap].answer.chains[0]));
    let pairs = one.iter().flat_map(|first| other.iter().map(move |second| separation(first, second).signed_mm));
    let least = pairs.fold(f64::INFINITY, f64::min);
    assert!((mm - least).abs() < SAME_MM, "{mm} told, {least} measured");
    let far = read(&machine(40.0), &catalog);
    let plan_far = planned(&catalog, &far, 1);
    audit(&catalog, &far, &plan_far);
    assert_eq!((outcome(&catalog, &far, &plan_far), plan_far.cost.parts), (Outcome::Fits, 2));
}

/// Machines of 2 or 3 gaps side by side under one roof or several, so near each other that chains stand in each other's way and
/// components are held.
fn row_of_gaps(random: &mut StdRng) -> String {
    let count = random.random_range(2..=3);
    let shared = [random.random_bool(0.5), random.random_bool(0.3)];
    let block = |name: &str, x: f64, z: f64, ports: &str| {
        format!("(name: \"{name}\", at: ({x}, 0, {z}), solids: [(shape: box(size: (8, 8, 8)))], ports: [{ports}]),")
    };
    let port = |name: &str, x: f64, z: f64, facing: &str| {
        format!(
            "(name: \"{name}\", at: ({x}, 0, {z}), facing: \"{facing}\", thread: \"G 1/4\", thread_length_mm: 8, seat_mm: 22),"
        )
    };
    let mut components = String::new();
    let (mut lower, mut upper, mut gaps) = (String::new(), String::new(), String::new());
    let mut x = 0.0;
    for gap in 0..count {
        let height = *[25.0, 31.0, 36.0].get(random.random_range(0..3)).expect("one of three");
        let aside = *[0.0, 0.0, 0.0, 5.0].get(random.random_range(0..4)).expect("one of four");
        let from = if shared[0] { format!("base.p{gap}") } else { format!("low{gap}.p") };
        let to = if shared[1] { format!("roof.p{gap}") } else { format!("top{gap}.p") };
        let roof_z = if shared[1] { 36.0 } else { height };
        lower += &port(&format!("p{gap}"), x, 4.0, "+z");
        upper += &port(&format!("p{gap}"), x + aside, -4.0, "-z");
        if !shared[0] {
            components += &block(&format!("low{gap}"), x, -4.0, &port("p", 0.0, 4.0, "+z"));
        }
        if !shared[1] {
            components += &block(&format!("top{gap}"), x + aside, roof_z + 4.0, &port("p", 0.0, -4.0, "-z"));
        }
        gaps += &format!("(from: \"{from}\", to: \"{to}\"),");
        x += random.random_range(15.0..21.0);
    }
    if shared[0] {
        components += &block("base", 0.0, -4.0, &lower).replace("(8, 8, 8)", "(160, 8, 8)");
    }
    if shared[1] {
        components += &block("roof", 0.0, 40.0, &upper).replace("(8, 8, 8)", "(160, 8, 8)");
    }
    format!("(version: 1, name: \"row\", allowances: (tool_mm: 0), components: [{components}], gaps: [{gaps}])")
}

/// Whether some order builds all of a set, by trying every order.
fn can_be_built(catalog: &Catalog, layout: &Layout, set: &[&Chain]) -> bool {
    fn rest(catalog: &Catalog, layout: &Layout, set: &[&Chain], done: &mut Vec<usize>) -> bool {
        if done.len() == set.len() {
            return true;
        }
        (0..set.len()).any(|gap| {
            if done.contains(&gap) {
                return false;
            }
            let neighbour = |gap: &usize| Neighbour { gap: layout.gaps()[*gap], chain: set[*gap] };
            let standing: Vec<Neighbour<'_>> = done.iter().map(neighbour).collect();
            let wishes = PlanWishes::default().make_up;
            let made = make_up_beside(catalog, layout, &layout.gaps()[gap], set[gap], &standing, &wishes);
            if !made.expect("sound wishes").verdict.can_be_made_up() {
                return false;
            }
            done.push(gap);
            let built = rest(catalog, layout, set, done);
            done.pop();
            built
        })
    }
    rest(catalog, layout, set, &mut Vec::new())
}

/// The least cost of a set for all gaps, by trying all sets from the cheapest on.
fn cheapest(catalog: &Catalog, layout: &Layout, max_parts: usize) -> Option<Cost> {
    let wishes = Wishes { max_parts, want: 10_000, ..Wishes::default() };
    let flow_l_min = Some(layout.design_flow_l_min());
    let lists: Vec<Vec<Chain>> = layout
        .gaps()
        .iter()
        .map(|gap| bridge(catalog, layout, gap, &Wishes { flow_l_min, ..wishes }).expect("sound wishes").chains)
        .collect();
    let solids: Vec<Vec<Vec<Solid>>> =
        lists.iter().map(|chains| chains.iter().map(|chain| solids(catalog, chain)).collect()).collect();
    let mut sets: Vec<(Cost, Vec<usize>)> = vec![(Cost::default(), Vec::new())];
    for list in &lists {
        let longer = |(cost, set): &(Cost, Vec<usize>)| {
            let (cost, set) = (*cost, set.clone());
            let with = list.iter().enumerate().map(move |(index, chain)| {
                let mut set = set.clone();
                set.push(index);
                (cost + Cost::of(chain), set)
            });
            with.collect::<Vec<_>>()
        };
        sets = sets.iter().flat_map(longer).collect();
    }
    sets.sort();
    let needed_mm = layout.allowances().clearance_mm;
    let clear = |one: &[Solid], other: &[Solid]| {
        one.iter().all(|first| other.iter().all(|second| separation(first, second).signed_mm >= needed_mm))
    };
    let goes_together = |set: &[usize]| {
        (0..set.len())
            .all(|gap| (gap + 1..set.len()).all(|next| clear(&solids[gap][set[gap]], &solids[next][set[next]])))
    };
    let built = |set: &[usize]| {
        let chains: Vec<&Chain> = set.iter().enumerate().map(|(gap, index)| &lists[gap][*index]).collect();
        can_be_built(catalog, layout, &chains)
    };
    sets.into_iter().find(|(_, set)| goes_together(set) && built(set)).map(|(cost, _)| cost)
}

/// Random machines against trying all sets in all orders; `ELBOWROOM_PLANTED=300` takes as many.
#[test]
fn random_machines_have_the_plan_of_trying_all_sets() {
    let machines = std::env::var("ELBOWROOM_PLANTED").ok().and_then(|count| count.parse().ok()).unwrap_or(40);
    let all = Catalog::builtin();
    let kept = ["joiner", "link-g14", "extension-g14-5", "extension-g14-10", "offset-5", "bend-30-g14"];
    let parts = all.fittings().iter().filter(|fitting| kept.iter().any(|id| fitting.id.starts_with(id)));
    let catalog = Catalog::from_parts(parts.cloned().collect(), Vec::new()).expect("sound parts");
    let mut random = StdRng::seed_from_u64(2);
    let mut kinds = [0; 3];
    for machine in 0..machines {
        let text = row_of_gaps(&mut random);
        let layout = read(&text, &catalog);
        let plan = planned(&catalog, &layout, 2);
        audit(&catalog, &layout, &plan);
        let expected = cheapest(&catalog, &layout, 2);
        let open = plan.gaps.iter().filter(|gap| gap.chosen.is_none()).count();
        let without = plan.gaps.iter().any(|gap| gap.candidates().is_empty());
        match expected {
            Some(cost) => {
                assert_eq!((plan.cost, plan.proof, open), (cost, Proof::Best, 0), "machine {machine}: {text}");
                let first: Cost = plan.gaps.iter().filter_map(|gap| gap.candidates().first()).map(Cost::of).sum();
                kinds[usize::from(first < cost)] += 1;
            }
            None => {
                assert!(open > 0, "machine {machine}: a set that there is not: {text}");
                assert!(without || !plan.conflicts.is_empty(), "machine {machine}: {text}");
                kinds[2] += usize::from(!without);
            }
        }
    }
    assert!(kinds.iter().all(|kind| *kind > 0), "the best of each, another set, and none: {kinds:?}");
}
