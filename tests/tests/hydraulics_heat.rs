//! Temperatures against independent solutions, closed forms, and what must hold in any circuit.

use crate::hydraulics_table::{assert_close, rows};
use elbowroom::hydraulics::{
    Coefficient, Coolant, Element, Glycol, Liquid, Pump,
    heat::{Air, Arrangement, Conductance, ConductanceError, Resistance},
    minor::{Passage, Tee},
    network::{Network, NetworkError, Radiator, Warm},
};
use proptest::prelude::*;
use serde_json::Value;

const L_MIN: f64 = 1.0 / 60_000.0;

/// Source: `L_heat.csv`, ht 1.2.0 `effectiveness_from_NTU`. The same formulas to the digits printed there, but for two
/// streams across each other, neither mixed: there the series against the usual approximation, which is up to 4 % off.
#[test]
fn effectiveness_meets_the_grid() {
    let mut checked = 0;
    for row in rows("L_heat").iter().filter(|row| row.text("kind") == "effectiveness") {
        let inputs: Value = serde_json::from_str(row.text("inputs_json")).expect("JSON");
        let outputs: Value = serde_json::from_str(row.text("outputs_json")).expect("JSON");
        let (arrangement, tolerance) = match inputs["arrangement"].as_str().expect("a name") {
            "counterflow" => (Arrangement::Counterflow, 1e-7),
            "parallel" => (Arrangement::Parallel, 1e-7),
            "crossflow" => (Arrangement::Crossflow, 0.04),
            "crossflow approximate" => (Arrangement::Crossflow, 1e-7),
            "crossflow, mixed Cmin" => (Arrangement::CrossflowLesserMixed, 1e-7),
            "crossflow, mixed Cmax" => (Arrangement::CrossflowGreaterMixed, 1e-7),
            other => panic!("{other}"),
        };
        let found = arrangement.effectiveness(number(&inputs["NTU"]), number(&inputs["Cr"]));
        assert_close(found, number(&outputs["effectiveness"]), tolerance, row.text("id"));
        checked += 1;
    }
    assert_eq!(checked, 256);
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

/// A pressure so small that neither pumps nor friction warm anything.
const NEXT_TO_NOTHING_PA: f64 = 1e-7;

/// Something that carries this flow at next to no pressure.
fn carries(flow_m3_s: f64) -> Vec<Element> {
    vec![Element::Coefficient(Coefficient::square(flow_m3_s, NEXT_TO_NOTHING_PA).expect("above zero"))]
}

/// A pump that gains `times` next to nothing at any flow.
fn pump(times: f64) -> Vec<Element> {
    let gain = times * NEXT_TO_NOTHING_PA;
    vec![Element::Pump(Pump::table(&[(0.0, gain), (1.0, gain)]).expect("not rising"))]
}

/// A conductance that is the same at any flow.
fn constant(w_k: f64) -> Conductance {
    Conductance::new(&[[1e-9, 1.0, w_k], [1.0, 1.0, w_k]]).expect("a grid")
}

fn radiator(w_k: f64, celsius: f64, flow_m3_s: f64) -> Radiator {
    Radiator { conductance: constant(w_k), arrangement: Arrangement::Crossflow, air: Air { flow_m3_s, celsius } }
}

/// Adds the parts of a reference circuit in a row; air is of constant temperature, which is what endless air is.
fn add_row(network: &mut Network, from: &str, to: &str, parts: &Value, flow: f64, ambient: f64) -> Vec<usize> {
    let parts = parts.as_array().expect("a list");
    let mut here = from.to_owned();
    let mut ids = Vec::new();
    for (index, part) in parts.iter().enumerate() {
        let next = if index + 1 == parts.len() { to.to_owned() } else { format!("{from}>{index}") };
        let name = format!("{from} to {to} {index}");
        ids.push(network.part(&name, &here, &next, carries(flow)).expect("new").index());
        let value = number(&part[1]);
        if part[0] == "heat" {
            network.heat(&name, value).expect("known");
        } else {
            network.radiator(&name, radiator(value, ambient, 1e12)).expect("known");
        }
        here = next;
    }
    ids
}

/// Source: `L_heat.csv`, 20 loops and 20 circuits with branches at given flows, solved with numpy: temperatures to a
/// hundred-thousandth of a kelvin.
#[test]
fn temperatures_meet_an_independent_solution() {
    const DENSITY: f64 = 1000.0;
    let mut checked = 0;
    for row in rows("L_heat").iter().filter(|row| row.text("kind") != "effectiveness") {
        let inputs: Value = serde_json::from_str(row.text("inputs_json")).expect("JSON");
        let outputs: Value = serde_json::from_str(row.text("outputs_json")).expect("JSON");
        let (ambient, flow) = (number(&inputs["ambient"]), number(&inputs["m"]) / DENSITY);
        let capacity = number(&inputs["cp"]);
        let coolant = Coolant { density_kg_m3: DENSITY, viscosity_pa_s: 1e-3, heat_capacity_j_kg_k: capacity };
        let mut network = Network::new(coolant);
        let mut wanted: Vec<(usize, f64)> = Vec::new();
        let mut want = |ids: Vec<usize>, values: &Value| {
            let values = values.as_array().expect("a list");
            assert_eq!(ids.len(), values.len());
            wanted.extend(ids.into_iter().zip(values.iter().map(number)));
        };
        let count = |parts: &Value| parts.as_array().map_or(0, Vec::len) as f64;
        let losses = if row.text("kind") == "loop" {
            want(add_row(&mut network, "out", "in", &inputs["parts"], flow, ambient), &outputs["after_each"]);
            count(&inputs["parts"])
        } else {
            want(add_row(&mut network, "out", "fork", &inputs["before"], flow, ambient), &outputs["before"]);
            let branches = inputs["branches"].as_array().expect("a list");
            // Branches of more parts than others would take less: each part of a branch has its share of one loss.
            for (index, branch) in branches.iter().enumerate() {
                let own = number(&branch["m"]) / DENSITY * count(&branch["parts"]).sqrt();
                let start = format!("start {index}");
                network.part(&format!("fork {index}"), "fork", &start, Vec::new()).expect("new");
                want(
                    add_row(&mut network, &start, "join", &branch["parts"], own, ambient),
                    &outputs["branches"][index],
                );
            }
            let after = count(&inputs["after"]);
            if after > 0.0 {
                want(add_row(&mut network, "join", "in", &inputs["after"], flow, ambient), &outputs["after"]);
            } else {
                network.part("back", "join", "in", Vec::new()).expect("new");
            }
            count(&inputs["before"]) + 1.0 + after
        };
        network.part("pump", "in", "out", pump(losses)).expect("new");
        network.shaft_power("pump", 0.0).expect("known");
        let outcome = network.solve().expect("solvable");
        let found = network.temperatures(&outcome).expect("steady");
        for (part, celsius) in wanted {
            let out = found.parts[part].expect("flows").out_celsius;
            let name = &outcome.parts[part].name;
            assert!((out - celsius).abs() < 1e-5, "{}, {name}: {out} is not {celsius}", row.text("id"));
        }
        assert!(found.imbalance_w().abs() < 1e-6 * found.heat_w, "{}: {}", row.text("id"), found.imbalance_w());
        checked += 1;
    }
    assert_eq!(checked, 40);
}

/// A pump, a long hose and a radiator so large that the coolant is as warm as the air.
fn as_warm_as_the_air(celsius: f64, liquid: &Liquid) -> Warm {
    let mut network = Network::new(Coolant::water(25.0).expect("in range"));
    network
        .part("pump", "in", "out", vec![Element::Pump(Pump::table(&[(0.0, 200.0), (1.0, 200.0)]).expect("flat"))])
        .expect("new");
    let hose = Passage::new(0.004, 2.0, Vec::new()).expect("valid");
    network.part("hose", "out", "in", vec![Element::Passage(hose)]).expect("new");
    network.radiator("hose", radiator(1e6, celsius, 1e12)).expect("known");
    network.shaft_power("pump", 0.0).expect("known");
    network.warm(liquid, 25.0).expect("in range").expect("steady")
}

/// Source: the grids of water and glycol (iapws 1.5.5, CoolProp 8.0.0) and Poiseuille's law: in a narrow hose the flow of
/// a constant pressure is as the viscosity is inverse, so each pair of temperature and viscosity gives one of temperature
/// and flow. Glycol within the 7 % by which its tables differ among each other.
#[test]
fn flow_follows_the_viscosity_at_the_temperature_that_is_reached() {
    let flow = |viscosity: f64| 200.0 * std::f64::consts::PI * 0.004_f64.powi(4) / (128.0 * viscosity * 2.0);
    let mut checked = 0;
    for row in rows("C_water") {
        let celsius = row.number("T_C");
        let warm = as_warm_as_the_air(celsius, &Liquid::WATER);
        let viscosity = row.number("mu_IAPWS");
        assert!((warm.mean_celsius - celsius).abs() < 1e-3, "{celsius}: {}", warm.mean_celsius);
        assert_close(warm.outcome.circuit_flow_m3_s(), flow(viscosity), 5e-3, "water");
        checked += 1;
    }
    assert!(checked >= 10);
    let glycol = Liquid::with_glycol(Glycol::Propylene, 30.0).expect("in range");
    let cold = as_warm_as_the_air(10.0, &glycol);
    let viscosity = Coolant::with_glycol(Glycol::Propylene, 30.0, 10.0).expect("in range").viscosity_pa_s;
    assert_close(cold.outcome.circuit_flow_m3_s(), flow(viscosity), 1e-5, "glycol");
}

/// A machine of two branches joined by tees or ports, with a radiator in the return and perhaps one in a branch. `turned`
/// parts are stated the other way round; `order` is that in which parts are named.
#[derive(Clone, Debug)]
struct Machine {
    heats_w: [f64; 3],
    w_k: [f64; 2],
    air_m3_s: f64,
    ambient: f64,
    tees: bool,
    turned: [bool; 5],
    backwards: bool,
}

impl Machine {
    fn network(&self) -> Network {
        let mut network = Network::new(Coolant::water(25.0).expect("in range"));
        let pump = Pump::three_points([(0.0, 30e3), (5.0 * L_MIN, 22e3), (10.0 * L_MIN, 0.0)]).expect("falling");
        let block = |kpa: f64| vec![Element::Coefficient(Coefficient::square(4.0 * L_MIN, kpa * 1e3).expect("valid"))];
        let hose = || vec![Element::Passage(Passage::new(0.008, 0.6, Vec::new()).expect("valid"))];
        let [a, b] = if self.tees { ["a.in", "b.in"] } else { ["fork"; 2] };
        let [a_end, b_end] = if self.tees { ["a.end", "b.end"] } else { ["join"; 2] };
        let mut parts = vec![
            ("one", a, "a.mid", block(6.0)),
            ("two", "a.mid", a_end, hose()),
            ("three", b, b_end, block(9.0)),
            ("radiator", "back", "in", hose()),
            ("small", "a.start", "fork", hose()),
        ];
        if self.tees {
            let tee = Tee::new(0.008, 0.008).expect("valid");
            network.tee("split", tee, ["fork", "a.in", "b.in"]).expect("new");
            network.tee("union", tee, ["a.end", "back", "b.end"]).expect("new");
        } else {
            parts.push(("line", "join", "back", hose()));
        }
        if self.backwards {
            parts.reverse();
        }
        network.part("pump", "in", "a.start", vec![Element::Pump(pump)]).expect("new");
        for (name, from, to, elements) in parts {
            let index = ["one", "two", "three", "radiator", "small"].iter().position(|other| *other == name);
            let turned = index.is_some_and(|index| self.turned[index]);
            let (from, to) = if turned { (to, from) } else { (from, to) };
            network.part(name, from, to, elements).expect("new");
        }
        for (name, heat_w) in ["one", "two", "three"].into_iter().zip(self.heats_w) {
            network.heat(name, heat_w).expect("known");
        }
        for (name, w_k) in ["radiator", "small"].into_iter().zip(self.w_k) {
            network.radiator(name, radiator(w_k, self.ambient, self.air_m3_s)).expect("known");
        }
        network
    }

    fn warm(&self) -> Result<Warm, NetworkError> {
        Ok(self.network().warm(&Liquid::WATER, 25.0)?.expect("there is a radiator"))
    }
}

fn any_machine() -> impl Strategy<Value = Machine> {
    let heat = 1.0..300.0_f64;
    (
        prop::array::uniform3(heat),
        prop::array::uniform2(2.0..40.0_f64),
        0.01..0.2_f64,
        5.0..40.0_f64,
        any::<bool>(),
        prop::array::uniform5(any::<bool>()),
        any::<bool>(),
    )
        .prop_map(|(heats_w, w_k, air_m3_s, ambient, tees, turned, backwards)| Machine {
            heats_w,
            w_k,
            air_m3_s,
            ambient,
            tees,
            turned,
            backwards,
        })
}

/// The coolant in a part, by its name.
fn ends(warm: &Warm, name: &str) -> [f64; 2] {
    let index = warm.outcome.parts.iter().position(|part| part.name == name).expect("named");
    let at = warm.temperatures.parts[index].expect("flows");
    [at.in_celsius, at.out_celsius]
}

const NAMES: [&str; 6] = ["one", "two", "three", "radiator", "small", "pump"];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// What comes in goes out, to a millionth, with friction and the pump's losses in it; what no liquid water can be is
    /// refused by name.
    #[test]
    fn heat_in_is_heat_out(machine in any_machine()) {
        match machine.warm() {
            Ok(warm) => {
                let at = &warm.temperatures;
                let heat: f64 = machine.heats_w.iter().sum();
                prop_assert!((at.heat_w - heat).abs() < 1e-9 * heat);
                prop_assert!(at.imbalance_w().abs() <= 1e-6 * (at.heat_w + at.shaft_w), "{at:?}");
                prop_assert!(at.shaft_w > warm.outcome.pumps[0].gain_pa * warm.outcome.pumps[0].flow_m3_s);
                prop_assert!(warm.change_k < 1e-8, "{} after {}", warm.change_k, warm.rounds);
                // Nothing is colder than the air, and each block warms its coolant by its heat and its friction.
                prop_assert!(at.coldest_celsius().expect("flows") >= machine.ambient - 1e-9);
                let rate = warm.network.coolant().density_kg_m3 * warm.network.coolant().heat_capacity_j_kg_k;
                for (name, heat_w) in ["one", "two", "three"].into_iter().zip(machine.heats_w) {
                    let part = warm.outcome.part(name).expect("named");
                    let [enters, leaves] = ends(&warm, name);
                    let want = (heat_w + part.loss_pa * part.flow_m3_s) / (rate * part.flow_m3_s.abs());
                    prop_assert!((leaves - enters - want).abs() < 1e-6 * want.max(1.0), "{name}");
                }
            }
            Err(NetworkError::OutsideLiquid { part, to, .. }) => prop_assert!(!part.is_empty() && to == 95.0),
            Err(other) => prop_assert!(false, "{other}"),
        }
    }

    /// At fixed flows of coolant more air heats no part.
    #[test]
    fn more_air_heats_nothing(machine in any_machine(), more in 1.0..4.0_f64) {
        let network = machine.network();
        let outcome = network.solve().expect("solvable");
        let windy = Machine { air_m3_s: more * machine.air_m3_s, ..machine.clone() }.network();
        let before = network.temperatures(&outcome).expect("steady");
        let after = windy.temperatures(&outcome).expect("steady");
        for (before, after) in before.parts.iter().zip(&after.parts) {
            let (Some(before), Some(after)) = (before, after) else { continue };
            prop_assert!(after.out_celsius <= before.out_celsius + 1e-9 && after.in_celsius <= before.in_celsius + 1e-9);
        }
    }

    /// Nothing depends on the order in which parts are named, nor on the direction in which they are stated.
    #[test]
    fn neither_order_nor_direction_matters(machine in any_machine()) {
        let plain = Machine { turned: [false; 5], backwards: false, ..machine.clone() };
        match (machine.warm(), plain.warm()) {
            (Ok(warm), Ok(plain)) => for name in NAMES {
                let (found, wanted) = (ends(&warm, name), ends(&plain, name));
                for (found, wanted) in found.into_iter().zip(wanted) {
                    prop_assert!((found - wanted).abs() < 1e-6, "{name}: {found} {wanted}");
                }
            },
            (found, wanted) => prop_assert!(found.is_err() && wanted.is_err()),
        }
    }
}

/// Two equal loads in a row: which comes first changes nothing in the sum.
#[test]
fn equal_loads_may_change_places() {
    let row = |heats: [f64; 2]| {
        let mut network = Network::new(Coolant::water(25.0).expect("in range"));
        let pump = Pump::three_points([(0.0, 30e3), (5.0 * L_MIN, 22e3), (10.0 * L_MIN, 0.0)]).expect("falling");
        network.part("pump", "a", "b", vec![Element::Pump(pump)]).expect("new");
        for (name, [from, to]) in [("first", ["b", "c"]), ("second", ["c", "d"]), ("radiator", ["d", "a"])] {
            let loss = Coefficient::square(4.0 * L_MIN, 5e3).expect("valid");
            network.part(name, from, to, vec![Element::Coefficient(loss)]).expect("new");
        }
        network.heat("first", heats[0]).expect("known");
        network.heat("second", heats[1]).expect("known");
        network.radiator("radiator", radiator(12.0, 20.0, 0.05)).expect("known");
        network.warm(&Liquid::WATER, 25.0).expect("in range").expect("steady")
    };
    let (one, other) = (row([150.0, 50.0]), row([50.0, 150.0]));
    let back = |warm: &Warm| ends(warm, "second")[1];
    assert!((back(&one) - back(&other)).abs() < 0.02, "{} {}", back(&one), back(&other));
    assert_close(one.temperatures.given_off_w, other.temperatures.given_off_w, 1e-9, "given off");
}

#[test]
fn heat_without_a_way_out_is_not_steady() {
    let mut network = Network::new(Coolant::water(25.0).expect("in range"));
    let pump = Pump::three_points([(0.0, 30e3), (5.0 * L_MIN, 22e3), (10.0 * L_MIN, 0.0)]).expect("falling");
    network.part("pump", "a", "b", vec![Element::Pump(pump)]).expect("new");
    network.part("block", "b", "c", carries(4.0 * L_MIN)).expect("new");
    network.part("radiator", "c", "a", carries(4.0 * L_MIN)).expect("new");
    network.heat("block", 100.0).expect("known");
    assert!(network.warm(&Liquid::WATER, 25.0).expect("solvable").is_none());
    // Nor does a radiator without air take anything.
    network.radiator("radiator", radiator(10.0, 20.0, 0.0)).expect("known");
    assert!(network.warm(&Liquid::WATER, 25.0).expect("solvable").is_none());
    // One that takes too little would have the water boil.
    network.radiator("radiator", radiator(0.5, 20.0, 1.0)).expect("known");
    let error = network.warm(&Liquid::WATER, 25.0).expect_err("boils");
    assert!(matches!(&error, NetworkError::OutsideLiquid { part, .. } if part == "block"), "{error}");
    assert!(error.to_string().contains("0 to 95 °C"), "{error}");
}

/// Heat given at a port, as in a reservoir, warms what leaves it.
#[test]
fn heat_at_a_port_warms_what_leaves_it() {
    let mut network = Network::new(Coolant::water(25.0).expect("in range"));
    let pump = Pump::three_points([(0.0, 30e3), (5.0 * L_MIN, 22e3), (10.0 * L_MIN, 0.0)]).expect("falling");
    network.part("pump", "tank", "out", vec![Element::Pump(pump)]).expect("new");
    let loss = Coefficient::square(4.0 * L_MIN, 5e3).expect("valid");
    network.part("radiator", "out", "tank", vec![Element::Coefficient(loss)]).expect("new");
    network.heat_at("tank", 80.0).expect("known");
    network.radiator("radiator", radiator(12.0, 20.0, 0.05)).expect("known");
    let warm = network.warm(&Liquid::WATER, 25.0).expect("in range").expect("steady");
    let rate = warm.network.coolant().density_kg_m3 * warm.network.coolant().heat_capacity_j_kg_k;
    let rise = ends(&warm, "pump")[0] - ends(&warm, "radiator")[1];
    assert_close(rise, 80.0 / (rate * warm.outcome.circuit_flow_m3_s()), 1e-6, "rise");
    assert_close(warm.temperatures.heat_w, 80.0, 1e-12, "heat");
}

/// Points of a grid are met, and between them values lie between; a point is continued by its law and never falls.
#[test]
fn conductance_meets_its_points() {
    let points = [[1e-5, 0.01, 4.0], [1e-5, 0.02, 6.0], [4e-5, 0.01, 7.0], [4e-5, 0.02, 11.0]];
    let grid = Conductance::new(&points).expect("a grid");
    for [coolant, air, w_k] in points {
        assert_close(grid.w_k(coolant, air), w_k, 1e-12, "point");
        assert!(grid.is_measured(coolant, air));
    }
    assert_close(grid.w_k(2.5e-5, 0.015), 7.0, 1e-12, "the middle of all");
    assert_close(grid.w_k(1.0, 1.0), 11.0, 1e-12, "beyond");
    assert!(!grid.is_measured(1.0, 0.015));
    assert_eq!(grid.w_k(0.0, 1.0), 0.0);
    let point = Conductance::new(&[[4e-5, 0.02, 10.0]]).expect("a point");
    assert_close(point.w_k(4e-5, 0.02), 10.0, 1e-12, "point");
    assert!(point.w_k(4e-5, 0.04) > 10.0 && point.w_k(8e-5, 0.02) > 10.0);
    assert!(matches!(Conductance::new(&points[..3]), Err(ConductanceError::NoGrid { found: 3, wanted: 4 })));
    assert!(matches!(Conductance::new(&[[1e-5, 0.0, 4.0]]), Err(ConductanceError::NotPositive { index: 0 })));
    let falls = [[1e-5, 0.01, 4.0], [1e-5, 0.02, 3.0]];
    assert!(matches!(Conductance::new(&falls), Err(ConductanceError::Falls { .. })));
    let resistance = Resistance::table(&[(1e-5, 0.2), (4e-5, 0.1)]).expect("falling");
    assert_close(resistance.k_w(2.5e-5), 0.15, 1e-12, "between");
    assert_close(resistance.k_w(1.0), 0.1, 1e-12, "beyond");
    assert!(Resistance::constant(0.0).is_err());
}
