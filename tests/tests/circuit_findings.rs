//! What a circuit of a layout says that a builder must mind: heat that stays, pumps side by side, suction, priming,
//! heights, steps of bores, coolants other than water.

use elbowroom::{
    bridge::{Answer, Chain, Wishes, bridge},
    catalog::Catalog,
    circuit::{Circuit, CircuitFault, Operating},
    hydraulics::{Coolant, Glycol, network::Finding},
    layout::Layout,
};
use std::collections::BTreeSet;

const PARABOLA: &str = "pump: three_points([(0, 20), (5, 15), (10, 0)])";
const BLOCK: &str = "flow: (loss: coefficient(l_min: 4, kpa: 8))";

/// A component whose ports stand in a row, at a height.
fn component(name: &str, at: [i32; 2], ports: &[&str], rest: &str) -> String {
    let port = |(index, port): (usize, &&str)| {
        let x = 60 * index;
        format!(
            r#"(name: "{port}", at: ({x}, 0, 20), facing: "+z", thread: "G 1/4", thread_length_mm: 8, seat_mm: 20),"#
        )
    };
    let ports: String = ports.iter().enumerate().map(port).collect();
    let [x, z] = at;
    format!(
        r#"(name: "{name}", at: ({}, 0, {z}), solids: [(shape: box(size: (300, 40, 40)))], ports: [{ports}], {rest}),"#,
        400 * x
    )
}

fn tee(name: &str, id: &str, at: [i32; 2]) -> String {
    format!(r#"(name: "{name}", template: "{id}", at: ({}, 0, {})),"#, 400 * at[0], at[1])
}

fn layout_of(head: &str, components: &[String], gaps: &[(&str, &str)]) -> String {
    let gaps: String = gaps.iter().map(|(from, to)| format!("(from: \"{from}\", to: \"{to}\"),\n")).collect();
    format!("(version: 1, name: \"rig\", {head} components: [\n{}\n], gaps: [\n{gaps}])", components.join("\n"))
}

fn solved(text: &str) -> Result<(Circuit, Operating), CircuitFault> {
    let catalog = Catalog::builtin();
    let layout = Layout::parse(text, "rig.ron", &catalog).unwrap_or_else(|problems| panic!("{problems}"));
    let circuit = Circuit::new(&layout, &catalog, &vec![None; layout.gaps().len()])?;
    let operating = circuit.operating()?;
    Ok((circuit, operating))
}

fn in_ring(rest: &[(&str, String)]) -> String {
    let parts: Vec<String> = (0_i32..)
        .zip(rest)
        .map(|(index, (name, rest))| component(name, [index, 0], &["inlet", "outlet"], rest))
        .collect();
    let ends = |index: usize| {
        let next = rest[(index + 1) % rest.len()].0;
        (format!("{}.outlet", rest[index].0), format!("{next}.inlet"))
    };
    let gaps: Vec<(String, String)> = (0..rest.len()).map(ends).collect();
    let gaps: Vec<(&str, &str)> = gaps.iter().map(|(from, to)| (from.as_str(), to.as_str())).collect();
    layout_of("", &parts, &gaps)
}

fn flow_l_min(operating: &Operating, part: &str) -> f64 {
    operating.outcome.part(part).unwrap_or_else(|| panic!("no part {part}")).flow_m3_s * 60_000.0
}

fn assert_close(found: f64, expected: f64, share: f64) {
    assert!((found - expected).abs() <= share * expected.abs(), "{found} is not {expected}");
}

fn words(operating: &Operating) -> String {
    operating.outcome.findings.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

/// A branch that leads nowhere gives its heat to nothing: no kelvin are told, and it is a finding of its own.
#[test]
fn heat_that_no_flow_takes_is_a_finding_and_no_number() {
    let text = layout_of(
        "",
        &[
            component("pump", [0, 0], &["inlet", "outlet"], &format!("flow: ({PARABOLA})")),
            component("feed", [1, 0], &["in", "out", "spare"], r#"flow: (passages: [("in", "out"), ("in", "spare")])"#),
            component("stub", [2, 0], &["inlet", "outlet"], &format!("{BLOCK}, heat_w: 90")),
        ],
        &[("pump.outlet", "feed.in"), ("feed.out", "pump.inlet"), ("feed.spare", "stub.inlet")],
    );
    let (_, operating) = solved(&text).expect("solvable");
    let stays = |finding: &Finding| matches!(finding, Finding::HeatWithoutFlow { at, heat_w, .. } if at == "stub" && *heat_w == 90.0);
    assert!(operating.outcome.findings.iter().any(stays), "{:?}", operating.outcome.findings);
    assert_eq!(operating.rise_k, None);
    assert!(operating.outcome.parts.iter().all(|part| part.temperature_rise_k.is_none()));
}

/// A trickle that would boil is none either: 929 K once.
#[test]
fn heat_that_a_trickle_takes_is_no_number_beyond_boiling() {
    let text = in_ring(&[
        ("pump", format!("flow: ({PARABOLA})")),
        ("block", "flow: (loss: coefficient(l_min: 0.01, kpa: 20)), heat_w: 500".to_owned()),
    ]);
    let (_, operating) = solved(&text).expect("solvable");
    assert!(flow_l_min(&operating, "block") > 0.0);
    assert_eq!(operating.outcome.part("block").and_then(|part| part.temperature_rise_k), None);
    assert!(words(&operating).contains("`block` gives 500 W to coolant that does not take it away"));
}

/// Heat of a reservoir and of a tee counts; heat of what no gap joins is refused with its place.
#[test]
fn no_heat_is_dropped() {
    let rig = |reservoir_w: i32, tee_w: i32, stray: &str| {
        layout_of(
            "",
            &[
                component("pump", [0, 0], &["inlet", "outlet"], &format!("flow: ({PARABOLA})")),
                format!(r#"(name: "split", template: "tee-fff-g14", at: (400, 0, 0), heat_w: {tee_w}),"#),
                component("tank", [2, 0], &["in", "out"], &format!("flow: (reservoir: true), heat_w: {reservoir_w}")),
                component("stray", [3, 0], &["inlet", "outlet"], stray),
            ],
            &[("pump.outlet", "split.end-0"), ("split.end-1", "tank.in"), ("tank.out", "pump.inlet")],
        )
    };
    let (circuit, operating) = solved(&rig(40, 5, BLOCK)).expect("solvable");
    assert_close(circuit.heat_w(), 45.0, 1e-12);
    let water = Coolant::water(25.0).expect("in range");
    let flow = flow_l_min(&operating, "pump") / 60_000.0;
    let rise = 45.0 / (water.density_kg_m3 * water.heat_capacity_j_kg_k * flow);
    assert_close(operating.rise_k.expect("heated"), rise, 1e-9);
    let fault = solved(&rig(40, 5, &format!("{BLOCK}, heat_w: 7"))).expect_err("dropped");
    assert_eq!(fault.place, "components[3].heat_w");
    assert!(fault.message.contains("`stray` gives 7 W to the coolant, but no gap joins it"), "{}", fault.message);
}

/// Two equal pumps of 20 - 0.2 q² side by side, each with half of the flow, against 0.5 Q²: Q² = 20 / (0.5 + 0.05).
#[test]
fn pumps_side_by_side_are_told_by_what_they_move_together() {
    let text = layout_of(
        "",
        &[
            component("drain", [0, 0], &["in", "a", "b"], r#"flow: (passages: [("in", "a"), ("in", "b")])"#),
            component("one", [1, 0], &["inlet", "outlet"], &format!("flow: ({PARABOLA})")),
            component("two", [2, 0], &["inlet", "outlet"], &format!("flow: ({PARABOLA})")),
            component("feed", [3, 0], &["a", "b", "out"], r#"flow: (passages: [("a", "out"), ("b", "out")])"#),
            component("block", [4, 0], &["inlet", "outlet"], &format!("{BLOCK}, heat_w: 200")),
        ],
        &[
            ("drain.a", "one.inlet"),
            ("drain.b", "two.inlet"),
            ("one.outlet", "feed.a"),
            ("two.outlet", "feed.b"),
            ("feed.out", "block.inlet"),
            ("block.outlet", "drain.in"),
        ],
    );
    let (circuit, operating) = solved(&text).expect("solvable");
    let all = f64::sqrt(20.0 / 0.55);
    assert_close(operating.flow.likely_m3_s * 60_000.0, all, 1e-9);
    assert_close(circuit.flows().expect("solvable").circuit_l_min, all, 1e-9);
    for pump in &operating.outcome.pumps {
        assert_close(pump.flow_m3_s * 60_000.0, 0.5 * all, 1e-9);
    }
    let block = operating.outcome.part("block").and_then(|part| part.temperature_rise_k).expect("heated");
    assert_close(operating.rise_k.expect("heated"), block, 1e-9);
    let flow = &operating.flow;
    assert!(flow.low_m3_s < flow.combined_low_m3_s && flow.combined_low_m3_s < flow.likely_m3_s, "{flow:?}");
    assert!(flow.likely_m3_s < flow.combined_high_m3_s && flow.combined_high_m3_s < flow.high_m3_s, "{flow:?}");
    // At the design flow of 4 L/min each has half of it to move.
    assert_close(operating.margin.flow_m3_s * 60_000.0, 2.0, 1e-9);
}

/// The narrowest bore inside a pump says how fast coolant is there, and nothing about a gauge at either of its ports.
#[test]
fn a_narrow_bore_inside_is_not_charged_to_a_port() {
    let rig = |bore: &str| {
        layout_of(
            "",
            &[
                component("tank", [0, 0], &["in", "out"], "flow: (reservoir: true, bore_mm: 20), level_mm: 20"),
                component(
                    "block",
                    [1, 0],
                    &["inlet", "outlet"],
                    &format!("flow: (loss: coefficient(l_min: 4, kpa: 2){bore})"),
                ),
                component("pump", [2, 0], &["inlet", "outlet"], &format!("flow: ({PARABOLA})")),
            ],
            &[("tank.out", "block.inlet"), ("block.outlet", "pump.inlet"), ("pump.outlet", "tank.in")],
        )
    };
    let (_, wide) = solved(&rig("")).expect("solvable");
    let (_, narrow) = solved(&rig(", bore_mm: 5")).expect("solvable");
    assert_eq!(wide.outcome.nodes, narrow.outcome.nodes);
    assert_eq!(narrow.outcome.part("block").map(|part| part.bores.len()), Some(1));
    // The pump draws through the block: what a gauge reads there is below the surface's pressure by what is lost.
    let inlet = narrow.outcome.node("pump.inlet").expect("named");
    let lost: f64 = ["tank.out", "block"].iter().map(|part| narrow.outcome.part(part).expect("named").loss_pa).sum();
    assert_close(inlet.total_pa, -lost, 1e-9);
}

/// A tee on a shelf with the rest of its circuit: its middle is as high as its ends.
#[test]
fn the_middle_of_a_tee_is_as_high_as_the_tee() {
    let text = layout_of(
        "",
        &[
            component("tank", [0, 0], &["in", "out"], "flow: (reservoir: true, bore_mm: 20), level_mm: 20"),
            component("pump", [1, 0], &["inlet", "outlet"], &format!("flow: ({PARABOLA})")),
            // Lying: its run goes along x, half a metre up.
            r#"(name: "split", template: "tee-fff-g14", at: (800, 0, 1000), top: "+x", front: "-y"),"#.to_owned(),
            component("block", [3, 0], &["inlet", "outlet"], BLOCK),
        ],
        &[
            ("tank.out", "pump.inlet"),
            ("pump.outlet", "split.end-0"),
            ("split.end-1", "block.inlet"),
            ("block.outlet", "tank.in"),
        ],
    );
    let (_, operating) = solved(&text).expect("solvable");
    let total = |node: &str| operating.outcome.node(node).unwrap_or_else(|| panic!("no {node}")).total_pa;
    let leg = operating.outcome.part("split run a").expect("named").loss_pa;
    assert_close(total("split.end-0") - total("split"), leg, 1e-6);
    assert!(total("split.end-0") >= total("split") && total("split") >= total("split.end-1"));
}

/// A 45° branch is no right angle: coolant that keeps its direction loses less, coolant that turns back more.
#[test]
fn a_leaning_branch_is_computed_as_such() {
    let rig = |id: &str, ends: [&str; 2]| {
        layout_of(
            "",
            &[
                component("pump", [0, 0], &["inlet", "outlet"], &format!("flow: ({PARABOLA})")),
                tee("split", id, [1, 0]),
                component("one", [2, 0], &["inlet", "outlet"], BLOCK),
                component("two", [3, 0], &["inlet", "outlet"], BLOCK),
                component("drain", [4, 0], &["a", "b", "out"], r#"flow: (passages: [("a", "out"), ("b", "out")])"#),
            ],
            &[
                ("pump.outlet", ends[0]),
                (ends[1], "one.inlet"),
                ("split.branch", "two.inlet"),
                ("one.outlet", "drain.a"),
                ("two.outlet", "drain.b"),
                ("drain.out", "pump.inlet"),
            ],
        )
    };
    let branch = |id: &str, ends| flow_l_min(&solved(&rig(id, ends)).expect("solvable").1, "two");
    let (along, back) = (["split.end-0", "split.end-1"], ["split.end-1", "split.end-0"]);
    let square = branch("tee-fff-g14", along);
    assert!(branch("tee-45-fff-g14", along) > square, "{square}");
    assert!(branch("tee-45-fff-g14", back) < square, "{square}");
    assert_close(branch("tee-fff-g14", back), square, 1e-9);
}

/// A pump that stands above the surface is told with both heights, one below it is not.
#[test]
fn a_pump_above_the_surface_cannot_prime_itself() {
    let rig = |pump_z: i32, level: &str| {
        layout_of(
            "",
            &[
                component("tank", [0, 100], &["in", "out"], &format!("flow: (reservoir: true){level}")),
                component("pump", [1, pump_z], &["inlet", "outlet"], &format!("flow: ({PARABOLA})")),
            ],
            &[("tank.out", "pump.inlet"), ("pump.outlet", "tank.in")],
        )
    };
    // Ports stand 20 mm above each origin.
    let (_, operating) = solved(&rig(150, ", level_mm: 60")).expect("solvable");
    let told = words(&operating);
    assert!(
        told.contains(
            "the pump `pump` cannot prime itself: its inlet lies 170 mm high and the surface in the reservoir 160 mm"
        ),
        "{told}"
    );
    assert!(!words(&solved(&rig(130, ", level_mm: 60")).expect("solvable").1).contains("prime"));
    // Not stated: as if filled to its highest port, at 120 mm.
    assert!(words(&solved(&rig(130, "")).expect("solvable").1).contains("the reservoir 120 mm"));
    let low = words(&solved(&rig(0, ", level_mm: 10")).expect("solvable").1);
    assert!(
        low.contains("coolant is to leave the reservoir by `tank.out`, 120 mm high, above its surface, 110 mm"),
        "{low}"
    );
}

#[test]
fn no_second_pump_is_proposed_where_pumps_work_against_each_other() {
    let text = layout_of(
        "",
        &[
            component("strong", [0, 0], &["inlet", "outlet"], &format!("flow: ({PARABOLA})")),
            component("weak", [1, 0], &["inlet", "outlet"], "flow: (pump: table([(0, 5), (4, 3), (8, 0)]))"),
        ],
        &[("strong.outlet", "weak.outlet"), ("weak.inlet", "strong.inlet")],
    );
    let (_, operating) = solved(&text).expect("solvable");
    assert!(words(&operating).contains("it faces against a stronger one"));
    assert!(!operating.trials.iter().any(|trial| trial.what.contains("second")), "{:?}", operating.trials);
}

/// What tees take is lost in fittings.
#[test]
fn tees_count_among_the_fittings() {
    let text = layout_of(
        "",
        &[
            component("pump", [0, 0], &["inlet", "outlet"], &format!("flow: ({PARABOLA})")),
            tee("split", "tee-fff-g14", [1, 0]),
            component("one", [2, 0], &["inlet", "outlet"], BLOCK),
            component("two", [3, 0], &["inlet", "outlet"], BLOCK),
            tee("join", "tee-fff-g14", [4, 0]),
        ],
        &[
            ("pump.outlet", "split.end-0"),
            ("split.end-1", "one.inlet"),
            ("split.branch", "two.inlet"),
            ("one.outlet", "join.end-0"),
            ("two.outlet", "join.branch"),
            ("join.end-1", "pump.inlet"),
        ],
    );
    let (_, operating) = solved(&text).expect("solvable");
    let legs =
        operating.outcome.parts.iter().filter(|part| part.name.starts_with("split") || part.name.starts_with("join"));
    let share: f64 = legs.map(|part| part.share).sum();
    assert!(share > 0.05, "{share}");
    assert_close(operating.share_of_fittings, share, 1e-9);
}

/// Tables and coefficients are read at the same Reynolds number, and pumps are corrected. By hand: with cold glycol a
/// laminar block (power 1) loses in proportion to the viscosity, a turbulent one to the density.
#[test]
fn measurements_with_water_serve_for_cold_glycol() {
    let glycol = "coolant: (glycol: propylene, volume_percent: 30, celsius: 10),";
    let rig = |head: &str, power: &str, extra: &str| {
        let text = in_ring(&[
            ("pump", "flow: (pump: table([(0, 20), (4, 16), (8, 0)]))".to_owned()),
            ("block", format!("flow: (loss: coefficient(l_min: 4, kpa: 8, power: {power}){extra})")),
        ]);
        let text = text.replace("name: \"rig\",", &format!("name: \"rig\", {head}"));
        solved(&text).expect("solvable").1
    };
    let cold = Coolant::with_glycol(Glycol::Propylene, 30.0, 10.0).expect("in range");
    let water = Coolant::water(25.0).expect("in range");
    let loss = |operating: &Operating| operating.outcome.part("block").expect("named").loss_pa / 1e3;
    let laminar = rig(glycol, "1", "");
    let thicker = cold.viscosity_pa_s / water.viscosity_pa_s;
    assert_close(loss(&laminar), 8.0 * flow_l_min(&laminar, "block") / 4.0 * thicker, 1e-9);
    let turbulent = rig(glycol, "2", "");
    let denser = cold.density_kg_m3 / water.density_kg_m3;
    assert_close(loss(&turbulent), 8.0 * (flow_l_min(&turbulent, "block") / 4.0).powi(2) * denser, 1e-9);
    // What was measured with the very coolant is taken as it is, and so is the pump's curve.
    let measured = ", measured_with: (glycol: propylene, volume_percent: 30, celsius: 10)";
    let same = rig(glycol, "1", measured);
    assert_close(loss(&same), 8.0 * flow_l_min(&same, "block") / 4.0, 1e-9);
    // At equal Reynolds numbers the measured 4 L/min are that many times as many.
    assert!(words(&turbulent).contains("what was measured of it speaks for"), "{}", words(&turbulent));
    assert!(!words(&same).contains("what was measured"), "{}", words(&same));
    // The pump gains less than its curve.
    let pump = &turbulent.outcome.pumps[0];
    let flow = pump.flow_m3_s * 60_000.0;
    let curve = elbowroom::hydraulics::Pump::table(&[(0.0, 20e3), (4.0 / 60_000.0, 16e3), (8.0 / 60_000.0, 0.0)]);
    let water_gain = curve.expect("falling").gain_pa(flow / 60_000.0, &water);
    assert!(pump.gain_pa < 0.98 * water_gain, "{} {water_gain}", pump.gain_pa);
    // Its worst case takes in the curve of the maker, and the truth twice as far off.
    assert!(
        turbulent.flow.high_m3_s > turbulent.flow.likely_m3_s && turbulent.flow.low_m3_s < turbulent.flow.likely_m3_s
    );
}

/// Where chains of different bores meet, the step between them belongs to neither: each fitting has the velocity in its own
/// bore, and no other.
#[test]
fn velocities_are_those_in_the_bores_that_fittings_have() {
    let catalog = Catalog::builtin();
    let (name, text) = elbowroom_catalog::DEMO;
    let layout = Layout::parse(text, name, &catalog).unwrap_or_else(|problems| panic!("{problems}"));
    let wishes = Wishes { max_parts: 4, want: 1, ..Wishes::default() };
    let answers: Vec<Answer> = layout
        .gaps()
        .iter()
        .map(|gap| bridge(&catalog, &layout, gap, &wishes).unwrap_or_else(|bad| panic!("{bad}")))
        .collect();
    let chains: Vec<Option<&Chain>> = answers.iter().map(|answer| answer.chains.first()).collect();
    let circuit = Circuit::new(&layout, &catalog, &chains).unwrap_or_else(|fault| panic!("{fault:?}"));
    let operating = circuit.operating().unwrap_or_else(|fault| panic!("{fault:?}"));
    let mut widths = BTreeSet::new();
    for part in &operating.outcome.parts {
        let Some(fitting) = part.name.split(' ').next_back().and_then(|id| catalog.fitting(id)) else { continue };
        let bores: Vec<f64> = part.bores.iter().map(|bore| bore.bore_m * 1e3).collect();
        let [bore_mm] = bores[..] else { panic!("{}: bores of {bores:?} mm", part.name) };
        assert_close(bore_mm, fitting.bore_mm, 1e-9);
        widths.insert((fitting.bore_mm * 10.0).round() as i64);
    }
    assert!(widths.len() > 1, "all fittings of the demo's chains have one bore, so no step was seen: {widths:?}");
}
