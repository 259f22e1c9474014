//! From a layout to its temperatures: fans and radiators, limits, what has no steady state, warm-up, faults.

use elbowroom::{
    catalog::Catalog,
    circuit::{Circuit, CircuitFault, Heat, Operating, Rising, Steady},
    hydraulics::Coolant,
    layout::Layout,
};

const PUMP: &str = "flow: (pump: three_points([(0, 20), (5, 15), (10, 0)]))";
const BLOCK: &str = "flow: (loss: coefficient(l_min: 4, kpa: 4))";

fn component(name: &str, at: usize, rest: &str) -> String {
    let port = |name: &str, x: i32| {
        format!(
            r#"(name: "{name}", at: ({x}, 0, 20), facing: "+z", thread: "G 1/4", thread_length_mm: 8, seat_mm: 20),"#
        )
    };
    let ports = [port("inlet", 0), port("outlet", 60)].concat();
    let x = 400 * at;
    format!(
        r#"(name: "{name}", at: ({x}, 0, 0), solids: [(shape: box(size: (300, 40, 40)))], ports: [{ports}], {rest}),"#
    )
}

/// A ring of these components in order, with others that only stand there.
fn ring(head: &str, parts: &[(&str, String)], others: &str) -> String {
    let components: String =
        parts.iter().enumerate().map(|(index, (name, rest))| component(name, index, rest) + "\n").collect();
    let gap = |index: usize| {
        let next = parts[(index + 1) % parts.len()].0;
        format!("(from: \"{}.outlet\", to: \"{next}.inlet\"),", parts[index].0)
    };
    let gaps: String = (0..parts.len()).map(gap).collect();
    format!("(version: 1, name: \"rig\", {head} components: [\n{components}{others}], gaps: [{gaps}])")
}

fn solved(text: &str) -> Result<(Circuit, Operating), CircuitFault> {
    let catalog = Catalog::builtin();
    let layout = Layout::parse(text, "rig.ron", &catalog).unwrap_or_else(|problems| panic!("{problems}"));
    let circuit = Circuit::new(&layout, &catalog, &vec![None; layout.gaps().len()])?;
    let operating = circuit.operating()?;
    Ok((circuit, operating))
}

fn steady(text: &str) -> (Steady, Operating) {
    let (_, operating) = solved(text).expect("solvable");
    match operating.heat.clone() {
        Some(Heat::Steady(steady)) => (steady, operating),
        other => panic!("not steady: {other:?}"),
    }
}

fn rising(text: &str) -> Rising {
    match solved(text).expect("solvable").1.heat {
        Some(Heat::Rising(rising)) => rising,
        other => panic!("not rising: {other:?}"),
    }
}

fn assert_close(found: f64, expected: f64, share: f64) {
    assert!((found - expected).abs() <= share * expected.abs(), "{found} is not {expected}");
}

/// A block of 200 W, a radiator with a fan on it, a pump of 10 W.
fn rig(head: &str, block: &str, radiator: &str, fan: &str) -> String {
    let fan = format!(
        r#"(name: "fan", at: (0, 300, 0), solids: [(shape: box(size: (120, 25, 120)))], mounted_on: "radiator", {fan}),"#
    );
    ring(
        head,
        &[
            ("pump", format!("{PUMP}, heat: (shaft_w: 10, volume_ml: 60)")),
            ("block", format!("{BLOCK}, heat_w: 200, {block}")),
            ("radiator", format!("{BLOCK}, {radiator}")),
        ],
        &fan,
    )
}

const AIR: &str = "ambient_celsius: 25,";
const RESISTANCE: &str = "heat: (resistance: constant(0.05), volume_ml: 40, heat_capacity_j_k: 300)";
const RADIATOR: &str = "heat: (conductance: [(4, 100, 15)], volume_ml: 300, heat_capacity_j_k: 400)";
const FAN: &str = "heat: (air_m3_h: 100)";

/// By hand: the radiator's conductance from its law, its effectiveness from the approximation for crossflow, the coolant
/// where 210 W go out.
#[test]
fn a_radiator_settles_where_it_gives_off_what_comes_in() {
    let (steady, operating) = steady(&rig(AIR, RESISTANCE, RADIATOR, FAN));
    let coolant = Coolant::water(steady.mean_celsius).expect("in range");
    let flow = operating.flow.likely_m3_s;
    let conductance = 15.0 / (0.8 + 0.2 * (4.0 / (flow * 60_000.0)).powf(0.4));
    let air = 100.0 / 3600.0 * 1.2041 * 293.15 / 298.15 * 1006.0;
    let water = flow * coolant.density_kg_m3 * coolant.heat_capacity_j_kg_k;
    assert!(air < water);
    let (units, rates) = (conductance / air, air / water);
    let effectiveness = 1.0 - ((units.powf(0.22) / rates) * ((-rates * units.powf(0.78)).exp() - 1.0)).exp();
    let [radiator] = steady.radiators.as_slice() else { panic!("one: {:?}", steady.radiators) };
    assert_close(radiator.w_k, conductance, 1e-6);
    assert_close(radiator.effectiveness, effectiveness, 1e-6);
    assert_close(radiator.given_off_w, 210.0, 1e-6);
    assert_close(radiator.air_out_celsius - 25.0, 210.0 / air, 1e-6);
    assert!(steady.temperatures.imbalance_w().abs() < 1e-6 * 210.0);
    // The block: what enters it is what leaves the pump; its hot side is 10 K above the mean.
    let [block] = steady.parts.as_slice() else { panic!("one: {:?}", steady.parts) };
    assert_close(block.celsius - 0.5 * (block.in_celsius + block.out_celsius), 10.0, 1e-9);
    // What enters the radiator leaves the block, which is where its effectiveness puts it.
    assert_close(block.out_celsius - 25.0, 210.0 / (effectiveness * air), 0.02);
    assert!(block.least_celsius < block.celsius && block.celsius < block.most_celsius, "{block:?}");
    assert!(block.in_celsius > 25.0 && block.most_celsius < 95.0);
    // The closed form of one lump: 95 % after three time constants, ln 20 of them.
    let capacity = 400e-6 * coolant.density_kg_m3 * coolant.heat_capacity_j_kg_k + 700.0;
    assert_close(steady.capacity.j_k, capacity, 1e-6);
    let constant = capacity / (210.0 / (steady.mean_celsius - 25.0));
    let left = (-steady.warm_up_s / constant).exp();
    assert_close(left, 0.05, 1e-6);
}

/// Warm coolant is thinner: flows and losses are those at the temperatures that are reached, not at the stated one.
#[test]
fn flows_are_those_of_the_warm_coolant() {
    let laminar = "flow: (loss: coefficient(l_min: 4, kpa: 8, power: 1))";
    let glycol = "coolant: (glycol: propylene, volume_percent: 40, celsius: 10),";
    let with = |head: &str| rig(&format!("{head} {glycol}"), RESISTANCE, RADIATOR, FAN).replace(BLOCK, laminar);
    let (warm, operating) = steady(&with(AIR));
    let (_, cold) = solved(&with("")).expect("solvable");
    assert!(warm.mean_celsius > 25.0);
    assert!(operating.flow.likely_m3_s > 1.1 * cold.flow.likely_m3_s, "{:?} {:?}", operating.flow, cold.flow);
    assert_eq!(cold.heat, None);
}

#[test]
fn faster_fans_and_a_second_one_cool() {
    let celsius = |text: &str| steady(text).0.parts[0].celsius;
    let plain = celsius(&rig(AIR, RESISTANCE, RADIATOR, FAN));
    assert!(celsius(&rig(AIR, RESISTANCE, RADIATOR, "heat: (air_m3_h: 100), fan_speed: 1.2")) < plain);
    assert!(celsius(&rig(AIR, RESISTANCE, RADIATOR, "heat: (air_m3_h: 100), fan_speed: 0.5")) > plain);
    let own_air = RADIATOR.replace("volume_ml", "air_m3_h: 200, volume_ml");
    assert!(celsius(&rig(AIR, RESISTANCE, &own_air, FAN)) < plain);
}

#[test]
fn limits_are_kept_or_exceeded() {
    let at = |limit: &str| steady(&rig(AIR, &format!("{RESISTANCE}, limit_celsius: {limit}"), RADIATOR, FAN));
    let (cool, operating) = at("90");
    let margin = cool.parts[0].margin_k().expect("has a limit");
    assert_close(margin, 90.0 - cool.parts[0].celsius, 1e-12);
    assert!(margin > 0.0 && !operating.heat.expect("heated").exceeds_a_limit());
    let (hot, operating) = at("30");
    assert!(hot.parts[0].margin_k().expect("has a limit") < 0.0);
    assert!(operating.heat.expect("heated").exceeds_a_limit());
}

/// No radiator: kelvin a minute from what comes in and what there is to be warmed, and when a limit is reached.
#[test]
fn without_a_radiator_temperatures_rise() {
    let limited = format!("{RESISTANCE}, limit_celsius: 65");
    let text = rig("", &limited, "heat: (volume_ml: 300, heat_capacity_j_k: 400)", FAN);
    let rising = rising(&text);
    let water = Coolant::water(25.0).expect("in range");
    let capacity = 400e-6 * water.density_kg_m3 * water.heat_capacity_j_kg_k + 700.0;
    assert_close(rising.heat_w, 210.0, 1e-9);
    let pace = rising.k_per_min.expect("volumes are stated");
    assert_close(pace, 60.0 * 210.0 / capacity, 1e-9);
    // 200 W through 0.05 K/W are 10 K, so 30 of 40 K are left.
    let (name, minutes) = rising.first_limit.clone().expect("has a limit");
    assert_eq!(name, "block");
    assert_close(minutes.expect("volumes are stated"), 30.0 / pace, 1e-9);
    assert_close(rising.coolant_end.1.expect("volumes are stated"), 70.0 / pace, 1e-9);
    assert!(rising.capacity.without_volume.is_empty());
    // With air but nothing to give heat to it, it is the same.
    let aired = self::rising(&text.replace("name: \"rig\",", "name: \"rig\", ambient_celsius: 25,"));
    assert_eq!(aired.k_per_min, rising.k_per_min);
    // Where no volume is stated and no bore is there, how fast is not known; that a limit is reached is.
    let text = text.replace("volume_ml: 300, heat_capacity_j_k: 400", "").replace(", volume_ml: 60", "");
    let unknown = self::rising(&text.replace(", volume_ml: 40, heat_capacity_j_k: 300", ""));
    assert_eq!((unknown.k_per_min, unknown.coolant_end.1), (None, None));
    assert_eq!(unknown.first_limit, Some(("block".to_owned(), None)));
}

/// A radiator that no fan blows through takes nothing.
#[test]
fn a_radiator_without_air_takes_nothing() {
    let text = rig(AIR, RESISTANCE, RADIATOR, "heat: (air_m3_h: 100), fan_speed: 0");
    assert!(rising(&text).k_per_min.expect("volumes are stated") > 0.0);
}

/// What would boil is refused, with the part in the file.
#[test]
fn what_would_boil_is_refused_with_its_place() {
    let weak = RADIATOR.replace("100, 15", "100, 0.5");
    let fault = solved(&rig(AIR, RESISTANCE, &weak, FAN)).expect_err("boils");
    assert!(fault.message.contains("0 to 95 °C"), "{}", fault.message);
    assert!(fault.place.starts_with("components["), "{}", fault.place);
    assert!(!fault.help.is_empty());
}

#[test]
fn wrong_numbers_are_refused_with_their_place() {
    let catalog = Catalog::builtin();
    for (right, wrong, words) in [
        ("constant(0.05)", "constant(-0.05)", "expected a resistance in K/W"),
        ("constant(0.05)", "table([(2, 0.05), (4, 0.06)])", "rises from 0.05 to 0.06"),
        ("constant(0.05)", "table([(2, 0.05)])", "1 points: expected at least 2"),
        ("(4, 100, 15)", "(4, 0, 15)", "expected a flow of air in m³/h"),
        ("(4, 100, 15)", "(4, 100, 15), (6, 50, 12)", "2 points where 4 would fill the grid"),
        ("(4, 100, 15)", "(4, 100, 15), (4, 200, 12)", "the conductance falls from 15 to 12 W/K"),
        ("volume_ml: 300", "volume_ml: -1", "expected a volume in mL"),
        ("air_m3_h: 100", "air_m3_h: -1", "expected a flow of air in m³/h"),
        ("shaft_w: 10", "shaft_w: -10", "expected a power in W"),
        ("ambient_celsius: 25", "ambient_celsius: 250", "expected a temperature of air in °C"),
        ("heat_w: 200", "heat_w: 200, limit_celsius: 1000", "expected a temperature in °C"),
        ("heat_w: 200", "heat_w: 200, fan_speed: 9", "expected a share of full speed"),
    ] {
        let text = rig(AIR, RESISTANCE, RADIATOR, FAN);
        assert!(text.contains(right), "{right}");
        let problems = Layout::parse(&text.replace(right, wrong), "rig.ron", &catalog).expect_err(wrong);
        let shown = problems.render(false);
        assert!(shown.contains(words), "no `{words}` in {shown}");
        assert!(shown.contains("rig.ron:"), "{shown}");
    }
}
