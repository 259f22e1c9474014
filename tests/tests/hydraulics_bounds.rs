//! Bounds of flows against what they claim: whatever the doubts turn out to be, within them the flows stay inside the
//! worst case, and of errors that are normal 95 % lie inside the combined bounds.

use elbowroom::hydraulics::{
    Band, Coefficient, Coolant, Element, Formula, Glycol, LossTable, Pump,
    minor::{Bend, BendKind, Edge, Entrance, Exit, Passage, Tee},
    network::{Bands, Doubt, Finding, FlowBand, Network},
};
use rand::{Rng, SeedableRng, rngs::StdRng};
use std::collections::HashMap;

const L_MIN: f64 = 1.0 / 60_000.0;

fn pump(shut_off_kpa: f64, last_l_min: f64) -> Vec<Element> {
    let [shut_off, last] = [shut_off_kpa * 1e3, last_l_min * L_MIN];
    let pump = Pump::three_points([(0.0, shut_off), (0.5 * last, 0.75 * shut_off), (last, 0.0)]);
    let pump = pump.and_then(|pump| pump.with_bands(Band::plus_minus(0.07), Band::plus_minus(0.09)));
    vec![Element::Pump(pump.expect("falling"))]
}

fn block(kpa_at_4_l_min: f64) -> Vec<Element> {
    let loss = Coefficient::square(4.0 * L_MIN, 1e3 * kpa_at_4_l_min);
    vec![Element::Coefficient(loss.and_then(|loss| loss.with_band(Band::plus_minus(0.1))).expect("valid"))]
}

fn elbows(bore_m: f64, kinds: &[BendKind]) -> Vec<(String, Vec<Element>)> {
    let passage = |&kind: &BendKind| Passage::new(bore_m, 0.03, vec![Bend::new(1.57, kind)]).expect("valid");
    kinds.iter().map(|kind| (String::new(), vec![Element::Passage(passage(kind))])).collect()
}

/// Adds parts in a row, named after where they start.
fn row(network: &mut Network, from: &str, to: &str, mut parts: Vec<(String, Vec<Element>)>) {
    for (index, (name, _)) in parts.iter_mut().enumerate() {
        *name = format!("{from} to {to} {index}");
    }
    network.series(from, to, parts).expect("new");
}

/// Two blocks fed by a tee and gathered by another, as in a layout.
fn two_blocks_on_tees() -> Network {
    let mut network = Network::new(Coolant::water(25.0).expect("in range"));
    network.part("pump", "in", "out", pump(20.0, 10.0)).expect("new");
    let tee = Tee::new(0.0085, 0.0085).expect("valid");
    network.tee("split", tee, ["out", "straight", "side"]).expect("new");
    network.tee("join", tee, ["straight end", "in", "side end"]).expect("new");
    network.part("one", "straight", "straight end", block(8.0)).expect("new");
    network.part("two", "side", "side end", block(8.0)).expect("new");
    network
}

/// A ladder of tees that feeds unequal blocks.
fn ladder(rungs: usize, coolant: Coolant) -> Network {
    let mut network = Network::new(coolant);
    network.part("pump", "drain 0", "feed 0", pump(40.0, 15.0)).expect("new");
    let (tee, last) = (Tee::new(0.010, 0.0085).expect("valid"), rungs - 1);
    for index in 0..rungs {
        let (mut start, mut end) = (format!("feed {index}"), format!("drain {index}"));
        if index < last {
            let [next_feed, next_drain] = ["feed", "drain"].map(|line| format!("{line} {}", index + 1));
            let [own_start, own_end] = ["start", "end"].map(|end| format!("{end} {index}"));
            network.tee(&format!("split {index}"), tee, [&start, &next_feed, &own_start]).expect("new");
            network.tee(&format!("join {index}"), tee, [&next_drain, &end, &own_end]).expect("new");
            (start, end) = (own_start, own_end);
        }
        network.part(&format!("part {index}"), &start, &end, block(2.0 + 3.0 * (index % 3) as f64)).expect("new");
    }
    network
}

/// A machine as they are built: a reservoir, a pump, chains of fittings between components, perhaps two branches.
fn any_machine(random: &mut StdRng) -> Network {
    let coolant = match random.random_range(0..3) {
        0 => Coolant::water(random.random_range(5.0..60.0)),
        1 => Coolant::with_glycol(Glycol::Propylene, 30.0, random.random_range(5.0..60.0)),
        _ => Coolant::with_glycol(Glycol::Ethylene, 20.0, random.random_range(5.0..60.0)),
    };
    let mut network = Network::new(coolant.expect("in range"));
    let bore = random.random_range(0.007..0.011);
    network
        .part("pump", "pump.in", "pump.out", pump(random.random_range(10.0..50.0), random.random_range(6.0..16.0)))
        .expect("new");
    let entrance = Entrance::new(bore, Edge::Sharp).map(Element::Entrance).expect("valid");
    network.part("leaves", "reservoir", "reservoir.out", vec![entrance]).expect("new");
    network
        .part("enters", "reservoir.in", "reservoir", vec![Element::Exit(Exit::new(bore).expect("valid"))])
        .expect("new");
    network.reservoir("reservoir", 0.0).expect("first");
    let chain = |network: &mut Network, from: &str, to: &str, random: &mut StdRng| {
        let kinds: Vec<BendKind> = (0..random.random_range(1..4))
            .map(|_| match random.random_range(0..3) {
                0 => BendKind::Swept { radius_over_bore: 1.5 },
                1 => BendKind::Threaded,
                _ => BendKind::Drilled,
            })
            .collect();
        let narrow = if random.random_bool(0.3) { 0.8 } else { 1.0 };
        row(network, from, to, elbows(bore * narrow, &kinds));
    };
    chain(&mut network, "reservoir.out", "pump.in", random);
    let table = |random: &mut StdRng| {
        let kpa = random.random_range(0.3..3.0);
        let points =
            [(1.0, 0.3), (2.0, 1.0), (4.0, 3.4), (8.0, 12.0)].map(|(l_min, share)| (l_min * L_MIN, share * kpa * 1e3));
        let table = LossTable::new(&points).and_then(|table| table.with_band(Band::plus_minus(0.1)));
        vec![Element::Table(table.expect("rising"))]
    };
    match random.random_range(0..3) {
        0 => {
            chain(&mut network, "pump.out", "a.in", random);
            network.part("a", "a.in", "a.out", table(random)).expect("new");
            chain(&mut network, "a.out", "b.in", random);
            network.part("b", "b.in", "b.out", block(random.random_range(1.0..12.0))).expect("new");
            chain(&mut network, "b.out", "reservoir.in", random);
        }
        kind => {
            let ports = if kind == 1 { ["pump.out"; 3] } else { ["feed", "feed a", "feed b"] };
            let ends = if kind == 1 { ["reservoir.in"; 3] } else { ["drain", "drain a", "drain b"] };
            if kind == 2 {
                let tee = Tee::new(bore, bore).expect("valid");
                chain(&mut network, "pump.out", "feed", random);
                network.tee("split", tee, [ports[0], ports[1], ports[2]]).expect("new");
                network.tee("join", tee, [ends[1], ends[0], ends[2]]).expect("new");
                chain(&mut network, "drain", "reservoir.in", random);
            }
            chain(&mut network, ports[1], "a.in", random);
            network.part("a", "a.in", "a.out", table(random)).expect("new");
            chain(&mut network, "a.out", ends[1], random);
            chain(&mut network, ports[2], "b.in", random);
            network.part("b", "b.in", "b.out", block(random.random_range(1.0..12.0))).expect("new");
            chain(&mut network, "b.out", ends[2], random);
        }
    }
    network
}

/// Places of all doubts: each on its own, or one for all doubts of a formula.
fn drawn(doubts: &[Doubt], is_shared: bool, mut one: impl FnMut() -> f64) -> Vec<f64> {
    let mut shared: HashMap<Formula, f64> = HashMap::new();
    let mut place = |doubt: &Doubt| {
        if is_shared && doubt.formula.is_shared() {
            *shared.entry(doubt.formula).or_insert_with(&mut one)
        } else {
            one()
        }
    };
    doubts.iter().map(&mut place).collect()
}

fn normal(random: &mut StdRng) -> f64 {
    let [a, b] = [(); 2].map(|()| random.random_range(f64::MIN_POSITIVE..1.0));
    (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
}

/// Whether a flow lies in bounds that count in the direction of the likely flow.
fn lies_in(flow: f64, [low, high]: [f64; 2], slack: f64) -> bool {
    (low.min(high) - slack..=low.max(high) + slack).contains(&flow)
}

/// Draws within the doubts, of which none may leave the worst case.
fn check_worst_case(what: &str, network: &Network, bands: &Bands, draws: usize, random: &mut StdRng) {
    let doubts = network.doubts();
    for draw in 0..draws {
        // The ends are where the extremes are, so half of the draws are ends.
        let at_ends = draw % 2 == 0;
        let places = drawn(&doubts, draw % 4 < 2, || {
            if at_ends { if random.random() { 1.0 } else { -1.0 } } else { random.random_range(-1.0..=1.0) }
        });
        let flows = network.flows_at(&places).expect("solvable");
        let slack = 1e-7 * flows.iter().copied().map(f64::abs).fold(0.0, f64::max);
        for (part, (flow, band)) in flows.iter().zip(&bands.parts).enumerate() {
            let inside = lies_in(*flow, [band.low_m3_s, band.high_m3_s], slack);
            assert!(inside, "{what}, draw {draw}, part {part}: {flow:e} outside {band:?}");
        }
    }
}

/// The share of normal draws inside the combined bounds, for the part for which it is least.
fn least_inside(network: &Network, bands: &Bands, draws: usize, is_shared: bool, random: &mut StdRng) -> f64 {
    let doubts = network.doubts();
    let mut inside = vec![0_usize; bands.parts.len()];
    for _ in 0..draws {
        let places = drawn(&doubts, is_shared, || 0.5 * normal(random));
        let flows = network.flows_at(&places).expect("solvable");
        for ((count, flow), band) in inside.iter_mut().zip(&flows).zip(&bands.parts) {
            *count += usize::from(lies_in(*flow, [band.combined_low_m3_s, band.combined_high_m3_s], 1e-12));
        }
    }
    inside.into_iter().min().expect("parts") as f64 / draws as f64
}

fn width(band: &FlowBand) -> f64 {
    (band.high_m3_s - band.low_m3_s).abs() / band.likely_m3_s.abs()
}

/// Both legs and every other doubt count: as printed once, `4.11, between 4.11 and 4.11`.
#[test]
fn blocks_on_tees_are_in_doubt() {
    let network = two_blocks_on_tees();
    let bands = network.bands().expect("solvable");
    assert!(bands.parts.iter().all(|band| width(band) > 0.02), "{bands:#?}");
    check_worst_case("two blocks", &network, &bands, 10_000, &mut StdRng::seed_from_u64(1));
}

/// Each leg of a tee is off on its own, the last rung of a ladder included.
#[test]
fn ladders_of_tees_stay_inside_their_worst_case() {
    let mut random = StdRng::seed_from_u64(2);
    for rungs in [3, 6] {
        let network = ladder(rungs, Coolant::water(25.0).expect("in range"));
        let bands = network.bands().expect("solvable");
        let last = &bands.parts[network.solve().expect("solvable").parts.len() - 1];
        assert!(width(last) > 0.05, "{last:?}");
        check_worst_case(&format!("{rungs} rungs"), &network, &bands, 3_000, &mut random);
    }
}

#[test]
fn random_machines_stay_inside_their_worst_case() {
    let mut random = StdRng::seed_from_u64(3);
    for machine in 0..50 {
        let network = any_machine(&mut random);
        let bands = network.bands().expect("solvable");
        check_worst_case(&format!("machine {machine}"), &network, &bands, 200, &mut random);
    }
}

/// With doubts as two standard deviations of normal errors 95 % lie inside, whether the errors of one formula are the same
/// everywhere or not; for the part for which it is least, in each of several machines.
#[test]
fn of_normal_errors_95_percent_lie_inside_the_combined_bounds() {
    let mut random = StdRng::seed_from_u64(4);
    let cold = Coolant::with_glycol(Glycol::Propylene, 30.0, 10.0).expect("in range");
    let mut machines = vec![two_blocks_on_tees(), ladder(3, Coolant::water(25.0).expect("in range")), ladder(3, cold)];
    machines.extend((0..9).map(|_| any_machine(&mut random)));
    for (machine, network) in machines.iter().enumerate() {
        let bands = network.bands().expect("solvable");
        for is_shared in [true, false] {
            let inside = least_inside(network, &bands, 10_000, is_shared, &mut random);
            assert!(inside >= 0.95, "machine {machine}, shared {is_shared}: {inside}");
        }
        // It says more than the worst case does.
        let circuit = &bands.circuit;
        let combined = circuit.combined_high_m3_s - circuit.combined_low_m3_s;
        assert!(combined < circuit.high_m3_s - circuit.low_m3_s, "machine {machine}: {circuit:?}");
    }
}

/// A long ladder of tees settles, with bounds for each of its branches; nothing is asked of how fast.
#[test]
fn a_ladder_of_forty_rungs_settles() {
    let network = ladder(40, Coolant::water(25.0).expect("in range"));
    let outcome = network.solve().expect("solvable");
    let unsettled = outcome.findings.iter().find(|found| matches!(found, Finding::TeeUnsettled { .. }));
    assert_eq!(unsettled, None);
    for (band, part) in network.flow_bands().expect("solvable").iter().zip(&outcome.parts) {
        assert!(width(band) > 0.02, "{}: {band:?}", part.name);
    }
}
