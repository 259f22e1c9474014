//! `flow` as its users run it: operating point, open circuits, faults with their place in the file.

use elbowroom::hydraulics::{Coolant, Glycol};
use serde_json::Value;
use std::{fs, path::Path, process::Command};

/// A pump and a block face to face, 40 mm apart on both sides: two straight gaps that close a circuit.
const LOOP: &str = r#"(
    version: 1,
    name: "Loop",
    components: [
        (
            name: "pump",
            solids: [(shape: box(size: (40, 120, 40)))],
            ports: [
                (name: "outlet", at: (20, 40, 0), facing: "+x", thread: "G 1/4", thread_length_mm: 8, seat_mm: 24),
                (name: "inlet", at: (20, -40, 0), facing: "+x", thread: "G 1/4", thread_length_mm: 8, seat_mm: 24),
            ],
            at: (0, 0, 0),
            flow: (pump: table([(0, 20), (4, 16), (8, 0)]), bore_mm: 8),
        ),
        (
            name: "block",
            solids: [(shape: box(size: (40, 120, 40)))],
            ports: [
                (name: "inlet", at: (-20, 40, 0), facing: "-x", thread: "G 1/4", thread_length_mm: 8, seat_mm: 24),
                (name: "outlet", at: (-20, -40, 0), facing: "-x", thread: "G 1/4", thread_length_mm: 8, seat_mm: 24),
            ],
            at: (65, 0, 0),
            flow: (loss: coefficient(l_min: 4, kpa: 8), bore_mm: 6),
            heat_w: 100,
        ),
    ],
    gaps: [
        (from: "pump.outlet", to: "block.inlet"),
        (from: "block.outlet", to: "pump.inlet"),
    ],
)"#;

#[test]
fn a_closed_circuit_settles_where_pump_and_losses_meet() {
    let document = solved(LOOP, &[]);
    let operating = &document["circuits"][0]["operating"];
    let flow = number(&operating["flow"]["likely_l_min"]);
    assert!(number(&operating["flow"]["low_l_min"]) < flow && flow < number(&operating["flow"]["high_l_min"]));
    // By hand: the block loses 8 kPa at 4 L/min, with the square of the flow.
    let block = part(operating, "block");
    assert_close(number(&block["loss_kpa"]), 8.0 * (flow / 4.0).powi(2), 1e-6);
    // What all parts lose is what the pump gains.
    let lost: f64 = operating["parts"].as_array().unwrap().iter().map(|part| number(&part["loss_kpa"])).sum();
    assert_close(lost, number(&operating["pumps"][0]["gain_kpa"]), 1e-4);
    // 100 W into the coolant: water at 25 °C has 997 kg/m³ and 4.18 kJ/(kg K).
    let rise = 100.0 / (997.05 * 4181.0 * flow / 60_000.0);
    assert_close(number(&block["temperature_rise_k"]), rise, 1e-3);
    assert_close(number(&operating["temperature_rise_k"]), rise, 1e-3);
    // 6 mm bore by hand.
    let velocity = flow / 60_000.0 / (std::f64::consts::PI / 4.0 * 0.006 * 0.006);
    assert_close(number(&block["bores"][0]["velocity_m_s"]), velocity, 1e-5);
    let shown = run(LOOP, &[]).0;
    assert!(shown.contains("TOO FAST, commonly kept to 2.0 m/s in brass"), "{shown}");
}

/// The demo by hand: the pump's table between 3 and 6 L/min, and the sum of what all parts lose at the flow that is
/// told.
#[test]
fn the_demos_losses_add_up_to_its_pump_curve() {
    let demo = elbowroom_catalog::DEMO.1;
    let (_, errors, code) = run(demo, &["--max-parts", "4"]);
    assert_eq!(code, 1, "{errors}");
    let document = solved(demo, &["--max-parts", "4", "--assume-joined"]);
    let circuit = &document["circuits"][0];
    assert_eq!(circuit["assumes_joined"], true);
    assert_eq!(circuit["joints"][7]["state"], "open");
    let operating = &circuit["operating"];
    let (flow, gain) = (number(&operating["flow"]["likely_l_min"]), number(&operating["pumps"][0]["gain_kpa"]));
    assert!((3.0..6.0).contains(&flow), "{flow}");
    // (3, 40) and (6, 35) are points of the pump's table; the smooth curve stays between them, above their chord
    // where it bends down.
    // The glycol takes a little of it.
    assert!(gain < 40.0 && gain >= 0.97 * (40.0 - 5.0 / 3.0 * (flow - 3.0)), "{gain} kPa at {flow} L/min");
    let lost: f64 = operating["parts"].as_array().unwrap().iter().map(|part| number(&part["loss_kpa"])).sum();
    assert_close(lost, gain, 1e-4);
    // The filter loses 1.4 kPa at 4 L/min of water, with the square of the flow and the density.
    let coolant = Coolant::with_glycol(Glycol::Propylene, 25.0, 35.0).unwrap();
    let denser = coolant.density_kg_m3 / Coolant::water(25.0).unwrap().density_kg_m3;
    assert_close(number(&part(operating, "filter")["loss_kpa"]), 1.4 * denser * (flow / 4.0).powi(2), 1e-6);
    // The pump hangs above its reservoir.
    let findings = operating["findings"].as_array().unwrap();
    let prime =
        findings.iter().any(|finding| finding.as_str().unwrap().contains("the pump `pump` cannot prime itself"));
    assert!(prime, "{findings:#?}");
    // Heats of the blocks.
    assert_close(number(&circuit["heat_w"]), 120.0 + 180.0 + 25.0, 1e-9);
    let shares: f64 = operating["parts"].as_array().unwrap().iter().map(|part| number(&part["share"])).sum();
    assert_close(shares, 1.0, 1e-5);
}

#[test]
fn an_open_circuit_is_told_and_can_be_assumed_joined() {
    let open = LOOP.replace("at: (65, 0, 0)", "at: (41, 0, 0)");
    let (text, _, code) = run(&open, &["--max-parts", "2"]);
    assert_eq!(code, 1, "{text}");
    let text = one_line(&text);
    assert!(
        text.contains("The circuit is open, so nothing flows: gap 1 (pump.outlet to block.inlet), gap 2"),
        "{text}"
    );
    let (text, _, code) = run(&open, &["--max-parts", "2", "--assume-joined"]);
    // What was assumed comes first, and does not make it fit.
    assert_eq!(code, 1, "{text}");
    let line = one_line(&text);
    let said = line.find("Assumed: gaps 1 and 2 are joined without loss, though nothing bridges them");
    assert!(said.is_some() && said < line.find("Operating point"), "{text}");
}

/// Heat that next to nothing carries away is no number and no success.
#[test]
fn heat_without_flow_ends_with_1() {
    let stuck = LOOP.replace("l_min: 4, kpa: 8", "l_min: 0.01, kpa: 20");
    let (text, errors, code) = run(&stuck, &[]);
    assert_eq!(code, 1, "{text}{errors}");
    let text = one_line(&text);
    assert!(text.contains("`block` gives 100 W to coolant that does not take it away"), "{text}");
    assert!(!text.contains("warm the coolant by"), "{text}");
    let (out, errors, code) = run(&stuck, &["--format", "json"]);
    assert_eq!(code, 1, "{errors}");
    let document: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(document["outcome"], "does_not_fit");
    assert_eq!(document["circuits"][0]["operating"]["temperature_rise_k"], Value::Null);
}

#[test]
fn what_is_less_than_wanted_or_too_fast_is_warned_of() {
    let text = one_line(&run(&LOOP.replace("name: \"Loop\",", "name: \"Loop\", design_flow_l_min: 7,"), &[]).0);
    assert!(text.contains("L/min flow, less than the design flow of 7 L/min"), "{text}");
    assert!(text.contains("a second pump behind the first"), "{text}");
    assert!(text.contains("m/s wears the wall in time"), "{text}");
    let text = one_line(&run(&LOOP.replace("bore_mm: 6", "bore_mm: 6, wall: plastic"), &[]).0);
    assert!(text.contains("m/s is loud and costs pressure") && !text.contains("wears"), "{text}");
    assert!(!text.contains("less than the design flow"), "{text}");
}

/// Nobody who has more flow than they want needs a second pump.
#[test]
fn more_than_is_wanted_is_told_with_what_would_do() {
    let much = LOOP.replace("name: \"Loop\",", "name: \"Loop\", design_flow_l_min: 2,");
    let document = solved(&much, &[]);
    let times = number(&document["circuits"][0]["operating"]["flow"]["likely_l_min"]) / 2.0;
    assert!(times > 1.5, "{times}");
    let text = one_line(&run(&much, &[]).0);
    let said = format!(
        "{times:.1} times the design flow comes round: a smaller pump would do, or this one at about {:.2} of",
        1.0 / times
    );
    assert!(text.contains(&said), "{said} in {text}");
    assert!(!text.contains("a second pump"), "{text}");
    let enough = one_line(&run(LOOP, &[]).0);
    assert!(!enough.contains("times the design flow"), "{enough}");
}

/// A tee's legs run against the direction in which they are stated; what is printed of them is the flow and its loss.
#[test]
fn flows_and_losses_are_told_along_the_flow() {
    let tee = |name: &str, x: i32| format!(r#"(name: "{name}", template: "tee-fff-g14", at: ({x}, 0, 300)),"#);
    let doubled = LOOP
        .replace("    ],\n    gaps: [", &format!("{}{}    ],\n    gaps: [", tee("split", 200), tee("join", 300)))
        .replace("to: \"block.inlet\"),", "to: \"split.end-0\"), (from: \"split.end-1\", to: \"block.inlet\"), (from: \"split.branch\", to: \"join.branch\"),")
        .replace("(from: \"block.outlet\", to: \"pump.inlet\"),", "(from: \"block.outlet\", to: \"join.end-0\"), (from: \"join.end-1\", to: \"pump.inlet\"),");
    let document = solved(&doubled, &["--max-parts", "1", "--assume-joined"]);
    let operating = &document["circuits"][0]["operating"];
    for part in operating["parts"].as_array().unwrap() {
        assert!(number(&part["flow"]["likely_l_min"]) >= 0.0, "{part:#}");
        assert!(number(&part["least_loss_kpa"]) <= number(&part["loss_kpa"]) + 1e-9, "{part:#}");
        assert!(number(&part["loss_kpa"]) <= number(&part["most_loss_kpa"]) + 1e-9, "{part:#}");
    }
    assert_eq!(part(operating, "split branch")["against_its_direction"], true);
    assert!(number(&operating["share_of_fittings"]) > 0.0);
}

#[test]
fn faults_name_their_place_in_the_file() {
    let tank = |name: &str, x: f64| {
        format!(
            r#"(name: "{name}", solids: [(shape: box(size: (10, 10, 10)))], at: ({x}, 0, 200), flow: (reservoir: true),
            ports: [(name: "in", at: (0, 0, 5), facing: "+z", thread: "G 1/4", thread_length_mm: 8, seat_mm: 20),
            (name: "out", at: (0, 0, -5), facing: "-z", thread: "G 1/4", thread_length_mm: 8, seat_mm: 20)]),"#
        )
    };
    let two_tanks = LOOP
        .replace(
            "    ],\n    gaps: [",
            &format!("{}{}    ],\n    gaps: [", tank("first", 100.0), tank("second", 150.0)),
        )
        .replace(
            "to: \"pump.inlet\"),",
            "to: \"first.in\"), (from: \"first.out\", to: \"second.in\"), (from: \"second.out\", to: \"pump.inlet\"),",
        );
    let apart = LOOP.replace("(from: \"block.outlet\", to: \"pump.inlet\"),", "");
    for (text, line, words) in [
        (LOOP.replace("bore_mm: 6", "bore_mm: -6"), 23, "expected a bore in mm from 0.5 to 100, found -6"),
        (LOOP.replace("(4, 16)", "(4, 21)"), 13, "expected a pressure of at most the one before (20 kPa), found 21"),
        (LOOP.replace("[(0, 20), (4, 16), (8, 0)]", "[(20, 0), (16, 4), (0, 8)]"), 13, "expected a flow above the one"),
        (LOOP.replace("[(0, 20), (4, 16), (8, 0)]", "[(1, 20), (4, 16), (8, 0)]"), 13, "at no flow, found 1 L/min"),
        (LOOP.replace("table([(0, 20), (4, 16)", "three_points([(0, 20)"), 13, "expected three points of (L/min, kPa)"),
        (LOOP.replace("kpa: 8)", "kpa: -8)"), 23, "expected a loss in kPa"),
        (LOOP.replace("heat_w: 100", "heat_w: -100"), 24, "expected a heat in W"),
        (LOOP.replace("pump: table([(0, 20), (4, 16), (8, 0)]), ", ""), 28, "no pump is in the circuit"),
        (LOOP.replace("bore_mm: 8),", "bore_mm: 8), pump_speed: 0,"), 13, "the pump `pump` is off"),
        (LOOP.replace("name: \"Loop\",", "name: \"Loop\", coolant: (celsius: 120),"), 3, "outside the fit"),
        (LOOP.replace("name: \"Loop\",", "name: \"Loop\", coolant: (volume_percent: 20),"), 3, "expected a glycol"),
        (two_tanks, 28, "`second` is a second reservoir besides `first`"),
        (apart, 6, "is in no closed loop"),
    ] {
        let (out, errors, code) = run(&text, &["--max-parts", "1"]);
        assert_eq!((code, out.as_str()), (2, ""), "{errors}");
        assert!(errors.contains(words), "no `{words}` in {errors}");
        assert!(errors.contains(&format!("loop.ron:{line}:")), "not in line {line}: {errors}");
    }
}

#[test]
fn two_layouts_stand_side_by_side_and_a_picture_is_drawn() {
    let folder = tempfile::tempdir().unwrap();
    let [a, b, svg] = ["a.ron", "b.ron", "loop.svg"].map(|name| folder.path().join(name));
    fs::write(&a, LOOP).unwrap();
    fs::write(&b, LOOP.replace("kpa: 8)", "kpa: 16)").replace("\"Loop\"", "\"Narrow\"")).unwrap();
    let arguments = ["flow", path(&a), "--compare", path(&b), "--plot", path(&svg)];
    let ran = Command::new(env!("CARGO_BIN_EXE_elbowroom")).args(arguments).output().unwrap();
    let text = String::from_utf8(ran.stdout).unwrap();
    assert_eq!(ran.status.code(), Some(0), "{text}");
    assert!(text.starts_with("Side by side: first Loop, second Narrow\n"), "{text}");
    let row = text.lines().find(|line| line.starts_with("  flow L/min")).unwrap();
    let numbers: Vec<f64> = row.split_whitespace().skip(2).map(|number| number.parse().unwrap()).collect();
    assert!(numbers[1] < numbers[0] && (numbers[1] - numbers[0] - numbers[2]).abs() < 0.011, "{row}");
    assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
    assert!(fs::read_to_string(&svg).unwrap().contains("L/min"));
    // A picture that exists is not replaced unasked.
    let again = Command::new(env!("CARGO_BIN_EXE_elbowroom")).args(arguments).output().unwrap();
    assert_eq!(again.status.code(), Some(2));
    let forced = Command::new(env!("CARGO_BIN_EXE_elbowroom")).args(arguments).arg("--force").output().unwrap();
    assert_eq!(forced.status.code(), Some(0));
}

/// Losses in `bridge` are those at the flow that `flow` finds; `--flow` overrides it.
#[test]
fn bridge_ranks_at_the_operating_flow() {
    let flow = number(&solved(LOOP, &[])["circuits"][0]["chosen_at_l_min"]);
    assert!(flow > 0.0 && flow != 4.0, "{flow}");
    let bridged = |options: &[&str]| -> Value {
        let (out, errors, code) = run_command("bridge", LOOP, options);
        assert_eq!(code, 0, "{errors}");
        serde_json::from_str(&out).unwrap()
    };
    assert_close(number(&bridged(&["--format", "json"])["flow_l_min"]), flow, 1e-9);
    assert_close(number(&bridged(&["--format", "json", "--flow", "2"])["flow_l_min"]), 2.0, 1e-9);
}

fn solved(layout: &str, options: &[&str]) -> Value {
    let (out, errors, code) = run(layout, &[options, &["--format", "json"]].concat());
    // What is worked out as if open gaps were joined does not fit.
    assert_eq!(code, i32::from(options.contains(&"--assume-joined")), "{errors}");
    let document: Value = serde_json::from_str(&out).unwrap();
    let schema = Path::new(env!("CARGO_MANIFEST_DIR")).join("schema/flow.schema.json");
    let schema: Value = serde_json::from_str(&fs::read_to_string(schema).unwrap()).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let wrong: Vec<String> = validator.iter_errors(&document).map(|error| error.to_string()).collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
    document
}

fn run(layout: &str, options: &[&str]) -> (String, String, i32) {
    run_command("flow", layout, options)
}

fn run_command(command: &str, layout: &str, options: &[&str]) -> (String, String, i32) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("loop.ron");
    fs::write(&file, layout).unwrap();
    let mut program = Command::new(env!("CARGO_BIN_EXE_elbowroom"));
    let ran = program.arg(command).arg(&file).args(options).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (text(ran.stdout), text(ran.stderr), ran.status.code().unwrap())
}

fn part<'a>(operating: &'a Value, name: &str) -> &'a Value {
    operating["parts"].as_array().unwrap().iter().find(|part| part["name"] == name).unwrap()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

fn assert_close(found: f64, expected: f64, share: f64) {
    assert!((found - expected).abs() <= share * expected.abs(), "{found} is not {expected}");
}

fn path(path: &Path) -> &str {
    path.to_str().unwrap()
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
