//! From a layout to the circuit of its coolant: branches, tees, pumps, and layouts that make none.

use elbowroom::{
    catalog::Catalog,
    circuit::{Circuit, CircuitFault, Operating},
    hydraulics::network::{Finding, NoFlowReason},
    layout::Layout,
    source::Source,
};
use elbowroom_tests::circuits::{circuit_faults, layout_text};
use proptest::prelude::*;
use rand::{Rng, SeedableRng, rngs::StdRng};

/// A pump of 20 - 0.2 Q² kPa, Q in L/min: its three points lie on that parabola.
const PARABOLA: &str = "pump: three_points([(0, 20), (5, 15), (10, 0)])";

fn component(name: &str, at: usize, ports: &[&str], flow: &str) -> String {
    let ports: String = ports
        .iter()
        .enumerate()
        .map(|(index, port)| {
            let x = 60 * index;
            format!(
                r#"(name: "{port}", at: ({x}, 0, 20), facing: "+z", thread: "G 1/4", thread_length_mm: 8, seat_mm: 20),"#
            )
        })
        .collect();
    format!(
        r#"(name: "{name}", at: ({}, 0, 0), solids: [(shape: box(size: (300, 40, 40)))], ports: [{ports}], {flow}),"#,
        400 * at
    )
}

fn layout_of(components: &[String], gaps: &[(&str, &str)]) -> String {
    let gaps: String = gaps.iter().map(|(from, to)| format!("(from: \"{from}\", to: \"{to}\"),\n")).collect();
    format!("(version: 1, name: \"rig\", components: [\n{}\n], gaps: [\n{gaps}])", components.join("\n"))
}

/// The circuit with ideal joints.
fn solved(text: &str) -> Result<(Circuit, Operating), CircuitFault> {
    let catalog = Catalog::builtin();
    let layout = Layout::parse(text, "rig.ron", &catalog).unwrap_or_else(|problems| panic!("{problems}"));
    let circuit = Circuit::new(&layout, &catalog, &vec![None; layout.gaps().len()])?;
    let operating = circuit.operating()?;
    Ok((circuit, operating))
}

fn flow_l_min(operating: &Operating, part: &str) -> f64 {
    operating.outcome.part(part).unwrap_or_else(|| panic!("no part {part}")).flow_m3_s * 60_000.0
}

fn assert_close(found: f64, expected: f64, share: f64) {
    assert!((found - expected).abs() <= share * expected.abs(), "{found} is not {expected}");
}

/// Two blocks side by side between two manifolds, by hand: the flows are as the roots of the losses are inverse, and
/// 20 - 0.2 Q² meets k Q² with 1/√k = 1/√k₁ + 1/√k₂.
#[test]
fn blocks_side_by_side_meet_the_closed_form() {
    let text = layout_of(
        &[
            component("pump", 0, &["inlet", "outlet"], &format!("flow: ({PARABOLA})")),
            component("feed", 1, &["in", "a", "b"], r#"flow: (passages: [("in", "a"), ("in", "b")])"#),
            component("one", 2, &["inlet", "outlet"], "flow: (loss: coefficient(l_min: 4, kpa: 8)), heat_w: 90"),
            component("two", 3, &["inlet", "outlet"], "flow: (loss: coefficient(l_min: 4, kpa: 2))"),
            component("drain", 4, &["a", "b", "out"], r#"flow: (passages: [("a", "out"), ("b", "out")])"#),
        ],
        &[
            ("pump.outlet", "feed.in"),
            ("feed.a", "one.inlet"),
            ("feed.b", "two.inlet"),
            ("one.outlet", "drain.a"),
            ("two.outlet", "drain.b"),
            ("drain.out", "pump.inlet"),
        ],
    );
    let (circuit, operating) = solved(&text).expect("solvable");
    let (one, two) = (8.0 / 16.0, 2.0 / 16.0);
    let both = (f64::sqrt(one).recip() + f64::sqrt(two).recip()).powi(-2);
    let all = (20.0 / (0.2 + both)).sqrt();
    assert_close(flow_l_min(&operating, "pump"), all, 1e-9);
    assert_close(flow_l_min(&operating, "one"), all * (both / one).sqrt(), 1e-9);
    assert_close(flow_l_min(&operating, "two"), all * (both / two).sqrt(), 1e-9);
    // The branches are told apart, and each gap has the flow of its own.
    assert_eq!(operating.outcome.branches.len(), 3);
    let flows = circuit.flows().expect("solvable");
    let want = [all, all / 3.0, 2.0 * all / 3.0, all / 3.0, 2.0 * all / 3.0, all];
    assert_eq!(flows.gaps_l_min.len(), want.len());
    flows.gaps_l_min.iter().zip(want).for_each(|(found, want)| assert_close(*found, want, 1e-9));
    // 90 W warm the third that passes block one three times as much as all of it together.
    let hot = operating.outcome.part("one").and_then(|part| part.temperature_rise_k).expect("heated");
    assert_close(hot, 3.0 * operating.rise_k.expect("heated"), 1e-9);
}

/// Tees placed like components: what divides in the first is what combines in the second.
#[test]
fn placed_tees_divide_and_combine() {
    let tee =
        |name: &str, at: usize| format!(r#"(name: "{name}", template: "tee-fff-g14", at: ({}, 0, 0)),"#, 200 * at);
    let block = "flow: (loss: coefficient(l_min: 4, kpa: 8))";
    let text = layout_of(
        &[
            component("pump", 0, &["inlet", "outlet"], &format!("flow: ({PARABOLA})")),
            tee("split", 1),
            component("one", 2, &["inlet", "outlet"], block),
            component("two", 3, &["inlet", "outlet"], block),
            tee("join", 4),
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
    let [all, one, two] = ["pump", "one", "two"].map(|part| flow_l_min(&operating, part));
    assert_close(one + two, all, 1e-9);
    // The branch turns and so loses more.
    assert!(one > two && two > 0.8 * one, "{one} {two}");
    assert!(operating.outcome.part("split branch").is_some(), "{:?}", operating.outcome.parts);
    assert!(!operating.outcome.findings.iter().any(|finding| matches!(finding, Finding::TeeUnsettled { .. })));
}

#[test]
fn a_branch_that_leads_nowhere_is_named() {
    let text = layout_of(
        &[
            component("pump", 0, &["inlet", "outlet"], &format!("flow: ({PARABOLA})")),
            component("feed", 1, &["in", "out", "spare"], r#"flow: (passages: [("in", "out"), ("in", "spare")])"#),
            component("stub", 2, &["inlet", "outlet"], "flow: (loss: coefficient(l_min: 4, kpa: 8))"),
        ],
        &[("pump.outlet", "feed.in"), ("feed.out", "pump.inlet"), ("feed.spare", "stub.inlet")],
    );
    let (_, operating) = solved(&text).expect("solvable");
    let dead = operating.outcome.findings.iter().find_map(|finding| match finding {
        Finding::NoFlow { parts, reason: NoFlowReason::DeadEnd } => Some(parts.join(", ")),
        _ => None,
    });
    assert_eq!(dead.as_deref(), Some("feed in to spare, gap 3 ideal joint, stub"));
}

#[test]
fn a_pump_that_faces_a_stronger_one_is_named() {
    let text = layout_of(
        &[
            component("strong", 0, &["inlet", "outlet"], &format!("flow: ({PARABOLA})")),
            component("weak", 1, &["inlet", "outlet"], "flow: (pump: table([(0, 5), (4, 3), (8, 0)]))"),
        ],
        &[("strong.outlet", "weak.outlet"), ("weak.inlet", "strong.inlet")],
    );
    let (_, operating) = solved(&text).expect("solvable");
    let found = operating.outcome.findings.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n");
    assert!(found.contains("coolant runs backwards through the pump `weak`"), "{found}");
    assert!(found.contains("it faces against a stronger one"), "{found}");
}

/// Two equal pumps of 20 - 0.2 Q² against 0.5 Q²: in series Q² = 40 / 0.9, at half speed (a quarter of the pressure
/// and the same parabola) 5 / 0.7, by the affinity laws.
#[test]
fn pumps_in_series_add_up_and_slow_down() {
    let rig = |speed: &str| {
        layout_of(
            &[
                component("first", 0, &["inlet", "outlet"], &format!("flow: ({PARABOLA})")),
                component("second", 1, &["inlet", "outlet"], &format!("flow: ({PARABOLA}), pump_speed: {speed}")),
                component("block", 2, &["inlet", "outlet"], "flow: (loss: coefficient(l_min: 4, kpa: 8))"),
            ],
            &[("first.outlet", "second.inlet"), ("second.outlet", "block.inlet"), ("block.outlet", "first.inlet")],
        )
    };
    let (_, operating) = solved(&rig("1")).expect("solvable");
    assert_close(flow_l_min(&operating, "block"), f64::sqrt(40.0 / 0.9), 1e-9);
    let (_, operating) = solved(&rig("0.5")).expect("solvable");
    assert_close(flow_l_min(&operating, "block"), f64::sqrt(25.0 / 0.9), 1e-6);
}

#[test]
fn parts_that_hang_together_with_nothing_are_told_with_their_place() {
    let text = layout_of(
        &[
            component("pump", 0, &["inlet", "outlet"], &format!("flow: ({PARABOLA})")),
            component("one", 1, &["inlet", "outlet"], ""),
            component("two", 2, &["inlet", "outlet"], ""),
            component("three", 3, &["inlet", "outlet"], ""),
        ],
        &[
            ("pump.outlet", "one.inlet"),
            ("one.outlet", "pump.inlet"),
            ("two.outlet", "three.inlet"),
            ("three.outlet", "two.inlet"),
        ],
    );
    let fault = solved(&text).expect_err("two circuits");
    let shown = fault.in_file(&Source::new("rig.ron", text.as_str())).render(false);
    // The third component is on line 4 of the file, and the first of its circuit.
    assert!(shown.contains("rig.ron:4:") && fault.message.contains("`two`"), "{shown}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    /// Any layout makes a circuit whose numbers hold together, or a fault with a place.
    #[test]
    fn odd_circuits_hold_together_or_are_refused(bytes in prop::collection::vec(any::<u8>(), 0..120)) {
        let faults = circuit_faults(&bytes);
        prop_assert!(faults.is_empty(), "{faults:#?}\n{}", layout_text(&bytes));
    }
}

/// The random circuits above are worth their name: a good share of them is solved.
#[test]
fn many_odd_circuits_are_solved() {
    let mut random = StdRng::seed_from_u64(4);
    let solvable = (0..200).filter(|_| {
        let bytes: Vec<u8> = (0..80).map(|_| random.random()).collect();
        let text = layout_text(&bytes);
        let catalog = Catalog::builtin();
        let Ok(layout) = Layout::parse(&text, "odd.ron", &catalog) else { return false };
        Circuit::new(&layout, &catalog, &vec![None; layout.gaps().len()])
            .is_ok_and(|circuit| circuit.operating().is_ok())
    });
    let count = solvable.count();
    assert!(count >= 20, "only {count} of 200");
}
