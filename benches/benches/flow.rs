//! Solving a circuit for its flow, and ranking chains by what they cost.

use criterion::{Criterion, criterion_group, criterion_main};
use elbowroom::hydraulics::{
    Coefficient, Coolant, Element, Liquid, LossTable, Pump,
    heat::{Air, Arrangement, Conductance},
    minor::{Bend, BendKind, Edge, Entrance, Exit, Passage, Tee, chain_loss_pa},
    network::{Network, Radiator},
};
use std::hint::black_box;

const L_MIN: f64 = 1.0 / 60_000.0;

fn water() -> Coolant {
    Coolant::water(30.0).expect("in range")
}

/// A fitting; `number` picks one of nine.
fn fitting(number: usize) -> Passage {
    let right = 90_f64.to_radians();
    let bends = match number % 9 {
        0 | 1 => vec![],
        2 | 3 => vec![Bend::new(right, BendKind::Drilled)],
        4 => vec![Bend::new(0.5 * right, BendKind::Drilled)],
        5 => vec![Bend::new(right, BendKind::Swept { radius_over_bore: 1.0 })],
        6 => vec![Bend::new(right, BendKind::Drilled), Bend::new(right, BendKind::Drilled)],
        7 => vec![Bend::new(right, BendKind::Threaded)],
        _ => vec![Bend::new(0.5 * right, BendKind::Swept { radius_over_bore: 2.0 })],
    };
    let bore = if number.is_multiple_of(5) { 0.008 } else { 0.010 };
    Passage::new(bore, 0.010 + 0.002 * (number % 7) as f64, bends).expect("valid")
}

fn chain(from: usize, count: usize) -> Vec<(String, Vec<Element>)> {
    (from..from + count).map(|number| (format!("fitting {number}"), vec![Element::Passage(fitting(number))])).collect()
}

/// A pump, a reservoir and four branches, each with a component between two chains: 60 elements. With `tees` the
/// branches part and meet in tees, otherwise at ports.
fn circuit(tees: bool) -> Network {
    let mut network = Network::new(water());
    let pump = Pump::three_points([(0.0, 40e3), (6.0 * L_MIN, 30e3), (12.0 * L_MIN, 0.0)]).expect("falling");
    network.part("pump", "pump.inlet", "pump.outlet", vec![Element::Pump(pump)]).expect("new");
    let exit = Element::Exit(Exit::new(0.010).expect("valid"));
    network.part("reservoir inlet", "reservoir.inlet", "reservoir", vec![exit]).expect("new");
    let entrance = Element::Entrance(Entrance::new(0.010, Edge::Sharp).expect("valid"));
    network.part("reservoir outlet", "reservoir", "reservoir.outlet", vec![entrance]).expect("new");
    network.reservoir("reservoir", 0.0).expect("first");
    network.series("reservoir.outlet", "pump.inlet", chain(0, 4)).expect("new");
    network.series("pump.outlet", "feed 0", chain(4, 4)).expect("new");
    network.series("drain 0", "reservoir.inlet", chain(8, 4)).expect("new");
    let tee = Tee::new(0.010, 0.010).expect("valid");
    for branch in 0..4 {
        let (mut start, mut end) = ("feed 0".to_owned(), "drain 0".to_owned());
        if tees {
            (start, end) = (format!("feed {branch}"), format!("drain {branch}"));
            if branch < 3 {
                let next = branch + 1;
                let feed = [start.as_str(), &format!("feed {next}"), &format!("start {branch}")];
                network.tee(&format!("split {branch}"), tee, feed).expect("new");
                let drain = [&format!("drain {next}"), end.as_str(), &format!("end {branch}")];
                network.tee(&format!("join {branch}"), tee, drain).expect("new");
                (start, end) = (format!("start {branch}"), format!("end {branch}"));
            }
        }
        let (inlet, outlet) = (format!("part {branch}.inlet"), format!("part {branch}.outlet"));
        network.series(&start, &inlet, chain(20 + 20 * branch, 5)).expect("new");
        network.series(&outlet, &end, chain(30 + 20 * branch, 5)).expect("new");
        let element = if branch % 2 == 0 {
            let points = [(1.0 * L_MIN, 0.6e3), (2.0 * L_MIN, 2.1e3), (4.0 * L_MIN, 7.5e3)];
            Element::Table(LossTable::new(&points).expect("rising"))
        } else {
            Element::Coefficient(Coefficient::power(4.0 * L_MIN, 6e3, 1.8).expect("valid"))
        };
        network.part(&format!("part {branch}"), &inlet, &outlet, vec![element]).expect("new");
    }
    network
}

fn solve_a_circuit(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("circuit of 60 elements in 4 branches");
    for (name, tees) in [("joined at ports", false), ("joined by tees", true)] {
        let network = circuit(tees);
        group.bench_function(format!("{name}, likely flow"), |bencher| {
            bencher.iter(|| black_box(&network).solve().expect("solvable"));
        });
        group.bench_function(format!("{name}, bounds of every branch"), |bencher| {
            bencher.iter(|| black_box(&network).flow_bands().expect("solvable"));
        });
        let heated = heated(network);
        group.bench_function(format!("{name}, with temperatures"), |bencher| {
            bencher.iter(|| black_box(&heated).warm(&Liquid::WATER, 25.0).expect("in range").expect("steady"));
        });
    }
    group.finish();
}

/// The same circuit, a component heated in two of its branches and a radiator in each of the others.
fn heated(mut network: Network) -> Network {
    for branch in 0..4 {
        let part = format!("part {branch}");
        if branch % 2 == 0 {
            network.heat(&part, 150.0).expect("known");
        } else {
            let conductance = Conductance::new(&[[2.0 * L_MIN, 0.03, 15.0]]).expect("a point");
            let air = Air { flow_m3_s: 0.03, celsius: 25.0 };
            let radiator = Radiator { conductance, arrangement: Arrangement::Crossflow, air };
            network.radiator(&part, radiator).expect("known");
        }
    }
    network
}

/// A ladder of tees that feeds forty equal blocks and gathers their flows.
fn ladder() -> Network {
    const LAST: usize = 39;
    let mut network = Network::new(water());
    let pump = Pump::three_points([(0.0, 40e3), (7.5 * L_MIN, 30e3), (15.0 * L_MIN, 0.0)]).expect("falling");
    network.part("pump", "drain 0", "feed 0", vec![Element::Pump(pump)]).expect("new");
    let tee = Tee::new(0.010, 0.0085).expect("valid");
    for rung in 0..=LAST {
        let (mut start, mut end) = (format!("feed {rung}"), format!("drain {rung}"));
        if rung < LAST {
            let [next_feed, next_drain] = ["feed", "drain"].map(|line| format!("{line} {}", rung + 1));
            let [own_start, own_end] = ["start", "end"].map(|port| format!("{port} {rung}"));
            network.tee(&format!("split {rung}"), tee, [&start, &next_feed, &own_start]).expect("new");
            network.tee(&format!("join {rung}"), tee, [&next_drain, &end, &own_end]).expect("new");
            (start, end) = (own_start, own_end);
        }
        let block = Coefficient::square(4.0 * L_MIN, 5e3).expect("valid");
        network.part(&format!("part {rung}"), &start, &end, vec![Element::Coefficient(block)]).expect("new");
    }
    network
}

fn solve_a_ladder(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("ladder of tees with 40 rungs");
    let network = ladder();
    group.sample_size(10);
    group.bench_function("likely flow", |bencher| bencher.iter(|| black_box(&network).solve().expect("solvable")));
    group.bench_function("bounds of every branch", |bencher| {
        bencher.iter(|| black_box(&network).flow_bands().expect("solvable"));
    });
    group.finish();
}

fn rank_chains(criterion: &mut Criterion) {
    let water = water();
    let chains: Vec<Vec<Passage>> =
        (0..10_000).map(|number| (0..5).map(|part| fitting(number / 7 + part * (number % 13))).collect()).collect();
    criterion.bench_function("rank 10,000 chains of 5 fittings by loss", |bencher| {
        bencher.iter(|| {
            let mut order: Vec<(f64, usize)> = black_box(&chains)
                .iter()
                .enumerate()
                .map(|(index, chain)| (chain_loss_pa(chain, 4.0 * L_MIN, &water), index))
                .collect();
            order.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            order
        });
    });
}

criterion_group!(benches, solve_a_circuit, solve_a_ladder, rank_chains);
criterion_main!(benches);
