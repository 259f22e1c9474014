//! The picture of a circuit: well-formed, complete, and drawn where the numbers say.

use elbowroom::{
    hydraulics::{
        Coefficient, Coolant, Element, Pump,
        minor::{Bend, BendKind, Passage},
        network::{Network, NetworkError},
    },
    report::FlowPlot,
};

const L_MIN: f64 = 1.0 / 60_000.0;

fn circuit() -> Network {
    let mut network = Network::new(Coolant::water(25.0).expect("in range"));
    let pump = Pump::three_points([(0.0, 40e3), (6.0 * L_MIN, 30e3), (12.0 * L_MIN, 0.0)]).expect("falling");
    network.part("pump", "in", "out", vec![Element::Pump(pump)]).expect("new");
    let radiator = Coefficient::square(4.0 * L_MIN, 8e3).expect("valid");
    network.part("radiator <front>", "out", "mid", vec![Element::Coefficient(radiator)]).expect("new");
    let bends = vec![Bend::new(1.57, BendKind::Drilled); 2];
    let elbow = Passage::new(0.008, 0.06, bends).expect("valid");
    network.part("two elbows", "mid", "in", vec![Element::Passage(elbow)]).expect("new");
    network
}

#[test]
fn every_tag_is_closed_and_every_part_is_named() {
    let svg = FlowPlot::new("A & B", &circuit()).expect("solvable").to_svg();
    let mut open = Vec::new();
    for tag in svg.split('<').skip(1) {
        let (tag, _) = tag.split_once('>').expect("a closed bracket");
        let name = |tag: &str| tag.split(' ').next().map(str::to_owned);
        match tag.strip_prefix('/') {
            Some(closing) => assert_eq!(open.pop(), name(closing)),
            None if tag.ends_with('/') => {}
            None => open.push(name(tag).expect("a name")),
        }
    }
    assert!(open.is_empty(), "{open:?}");
    for text in ["A &amp; B", "radiator &lt;front&gt;", "two elbows", "flow in L/min", "kPa"] {
        assert!(svg.contains(text), "{text} is missing");
    }
    assert!(!svg.contains("NaN") && !svg.contains("inf"));
    assert!(svg.contains("prefers-color-scheme: dark"));
}

/// The point sits where the solved flow and gain fall on the axes, and in words above.
#[test]
fn the_point_is_where_the_circuit_settles() {
    let network = circuit();
    let outcome = network.solve().expect("solvable");
    let (flow, gain) = (outcome.circuit_flow_m3_s(), outcome.pumps[0].gain_pa);
    let svg = FlowPlot::new("loop", &network).expect("solvable").to_svg();
    assert!(svg.contains(&format!("{:.2} L/min at {:.1} kPa", flow / L_MIN, gain / 1e3)), "{svg}");
    let circle = svg.split("<circle").nth(1).expect("a point");
    let attribute = |name: &str| -> f64 {
        let value = circle.split(&format!("{name}=\"")).nth(1).and_then(|rest| rest.split('"').next());
        value.expect("there").parse().expect("a number")
    };
    let high = network.flow_bands().expect("solvable")[0].high_m3_s;
    let end = 1.08 * high.max(12.0 * L_MIN);
    assert!((attribute("cx") - (64.0 + 624.0 * flow / end)).abs() < 0.1);
    assert!((attribute("cy") - (104.0 + 320.0 * (1.0 - gain / (1.12 * 40e3)))).abs() < 0.1);
}

#[test]
fn a_circuit_without_a_pump_has_no_picture() {
    let mut network = Network::new(Coolant::water(25.0).expect("in range"));
    network.part("hose", "in", "out", vec![]).expect("new");
    assert_eq!(FlowPlot::new("loop", &network).err(), Some(NetworkError::NoPump { off: vec![] }));
    network.supply("in", 1e-5).expect("known");
    network.supply("out", -1e-5).expect("known");
    assert_eq!(FlowPlot::new("loop", &network).err(), Some(NetworkError::NoPump { off: vec![] }));
}
