//! What is wrong with a layout is said all at once, with line, column and remedy.
//!
//! Each case breaks the small layout of `data/layout/small.ron` in one place. The mark `¦` in the replacement stands
//! where the problem must be reported; it is taken out before reading.

use elbowroom::catalog::Catalog;
use elbowroom::layout::Layout;
use elbowroom::source::Problem;

const SMALL: &str = include_str!("../data/layout/small.ron");

/// What is replaced, by what, what the message says, and what the remedy says.
type Case = (&'static str, &'static str, &'static str, &'static str);

#[rustfmt::skip]
const SYNTAX: &[Case] = &[
    ("name: \"pump\",", "name: \"pump\"¦", "expected a comma", "separated by commas"),
    ("name: \"pump\",", "name: \"pump\"¦ // no comma", "expected a comma", "separated by commas"),
    ("clearance_mm: 1),", "clearance_mm: 1¦],", "mark that closes what is open, found `]`", "`(` is closed by `)`"),
    ("design_flow_l_min: 3,\n)", "design_flow_l_min: 3,¦\n", "found the end of the file", "close what is open"),
    ("name: \"pump\",", "name: ¦\"pump,", "expected a comma behind the text that starts here and ends in line 25", "closing `\"` missing?"),
    ("name: \"tank\"", "name: \"¦tank\\q\"", "expected an escape such as", ""),
    ("design_flow_l_min: 3,\n)", "design_flow_l_min: 3,\n)\n // more\n¦junk", "expected the end of the file", "nothing follows"),
    ("(\n    version: 1", "¦[\n    version: 1", "expected values in `(` and `)`, found `[`", ""),
    ("comes off", "comes off\n ¦/* never closed", "expected an end to what starts here", "a comment with `*/`"),
    ("design_flow_l_min: 3,\n)", "design_flow_l_min: 3,\n)\n ¦/* never closed", "expected an end to what starts here", "a comment with `*/`"),
    ("thickness: 2", "thickness: ¦)2", "expected a number", ""),
];

#[rustfmt::skip]
const DATA: &[Case] = &[
    ("version: 1,", "version: ¦2,", "expected `version` 1, found 2", "reads version 1"),
    ("version: 1,", "version: ¦-1,", "expected a whole number", ""),
    ("version: 1,", "version: ¦1.5,", "expected a whole number, found `1.5`", ""),
    ("version: 1,", "¦vresion: 1,", "unknown field `vresion`", "did you mean `version`?"),
    ("name: \"Bilge pump bench\"", "name: ¦\"\"", "expected the name of the machine, found \"\"", "1 to 80 characters"),
    ("name: \"Bilge pump bench\"", "name: ¦\"a\\nb\"", "expected the name of the machine", "without line breaks"),
    ("name: \"Bilge pump bench\",", "name: \"A\", ¦name: \"B\",", "field `name` is given twice", "keep one"),
    ("name: \"pump\",", "name: ¦'pump',", "expected text in double quotes, found `'pump'`", "put it in double quotes"),
    // Panels.
    ("at: (0, 0, 120)", "at: (0, ¦inf, 120)", "coordinate in mm from -10000 to 10000, found inf", "correct"),
    ("at: (0, 0, 120)", "at: (0, 0, ¦NaN)", "coordinate in mm from -10000 to 10000, found NaN", "correct"),
    ("at: (0, 0, 120)", "at: ¦(0, 0)", "expected 3 values, found 2", ""),
    ("at: (0, 0, 120)", "at: (0, 0, 120, ¦4)", "no more values belong here", ""),
    ("at: (0, 0, 120)", "at: (¦60,5, 0, 120)", "expected a number, found `60,5`: a comma separates values", "with a point: 60.5"),
    ("at: (0, 0, 120)", "at: (0, ¦-7,25, 120)", "expected a number, found `-7,25`", "with a point: -7.25"),
    ("at: (0, 0, 120)", "at: ¦[0, 0, 120]", "expected values in `(` and `)`, found `[0, 0, 120]`", "round brackets"),
    ("size: (200, 160)", "size: (200, ¦0)", "a height in mm from 0.001 to 10000, found 0", "correct"),
    ("size: (200, 160)", "size: (¦10001, 160)", "a width in mm from 0.001 to 10000, found 10001", "correct"),
    ("thickness: 2", "thickness: ¦-2", "a thickness in mm", "millimetres"),
    ("thickness: 2", "thickness: ¦\"2\"", "expected a number, found `\"2\"`", "without quotes"),
    ("removable: true", "removable: ¦yes", "expected `true` or `false`, found `yes`", ""),
    ("facing: \"+x\", across", "facing: ¦\"x\", across", "expected a direction such as \"+x\"", ""),
    ("facing: \"+x\", across", "facing: ¦\"0 0 0\", across", "not all zero", ""),
    ("across: \"+y\"", "across: ¦\"1 1 0\"", "`across` at a right angle to `facing` (\"+x\"), found \"1 1 0\"", "width runs"),
    ("facing: \"+x\", across: \"+y\"", "facing: ¦\"1 1 1\"", "expected `across` for a panel that faces", "width runs"),
    ("(-60, 40), diameter: 16", "(-60, ¦nan0), diameter: 16", "expected a number, found `nan0`", ""),
    ("(-60, 40), diameter: 16", "(-60, 40), diameter: ¦-16", "a diameter in mm", "correct"),
    ("(name: \"fill\", at: (-60, 40)", "¦(name: \"fill\", at: (-60, 73)", "between hole and panel edge, found -1.000", "panel's centre"),
    ("(name: \"drain\", at: (60, 40)", "¦(name: \"drain\", at: (-50, 40)", "between holes, found -8.000", "one larger hole"),
    ("(name: \"side\"", "(name: ¦\"deck\"", "the name `deck` is given twice", "rename one"),
    ("across: \"+y\"", "across: \"+y\", holes: ¦()", "expected a list in `[` and `]`, found `()`", "square brackets"),
    // Components.
    ("name: \"stop\"", "name: ¦\"st.op\"", "expected a name without `.`, found \"st.op\"", "write `-`"),
    ("box(size: (60, 60, 40))", "box(size: (60, ¦-60, 40))", "a side in mm", "correct"),
    ("box(size: (60, 60, 40))", "¦bax(size: (60, 60, 40))", "expected `box`, `cylinder`", "did you mean `box`?"),
    ("box(size: (60, 60, 40))", "box(¦sise: (60, 60, 40))", "unknown field `sise`", "did you mean `size`?"),
    ("cylinder(diameter: 40, length: 12)", "¦cylinder(diameter: 40)", "missing field `length` in `components[0].solids[1].shape`", "add `length`"),
    ("cylinder(diameter: 40, length: 12)", "cylinder(diameter: ¦1e9, length: 12)", "a diameter in mm", "correct"),
    ("cylinder(diameter: 40, length: 12)", "sphere(diameter: ¦0)", "a diameter in mm", "correct"),
    ("cylinder(diameter: 40, length: 12)", "capsule(diameter: 4, length: ¦0)", "a length in mm", "correct"),
    ("(40, 40, 0), (20, 20, 60)]", "(40, 40, 0), (20, ¦20000, 60)]", "a coordinate in mm", "correct"),
    ("points: [(0, 0, 0), (40, 0, 0), (0, 40, 0), (40, 40, 0), (20, 20, 60)]", "points: ¦[(0, 0, 0), (40, 0, 0), (0, 40, 0)]", "at least 4 points, found 3", "at least four corners"),
    ("points: [(0, 0, 0), (40, 0, 0), (0, 40, 0), (40, 40, 0), (20, 20, 60)]", "points: ¦[(0, 0, 0), (40, 0, 0), (0, 40, 0), (40, 40, 0), (20, 20, 0)]", "a hull at least 0.001 mm thick, found 0 mm", "not all in one plane"),
    ("at: (-50, 0, 0),", "¦att: (-50, 0, 0),", "unknown field `att`", "did you mean `at`?"),
    ("front: \"+x\",", "front: ¦\"+z\",", "`front` and `top` at a right angle, found \"+z\" and \"+z\"", "give both"),
    ("front: \"+x\",", "front: \"+x\", top: ¦\"up\",", "expected a direction", ""),
    ("play: (5, 5, 0)", "play: (5, ¦-5, 0)", "a play in mm from 0 to 10000, found -5", "correct"),
    ("play: (5, 5, 0)", "play_turn_deg: ¦181", "a play in degrees from 0 to 180", "correct"),
    ("play: (5, 5, 0)", "mounted_on: ¦\"tnak\"", "unknown component `tnak`", "did you mean `tank`?"),
    ("play: (5, 5, 0)", "mounted_on: ¦\"the hull itself\"", "unknown component `the hull itself`", "known components: `tank` or `stop`"),
    ("play: (5, 5, 0)", "mounted_on: ¦\"pump\"", "expected another component, found `pump` itself", "name what carries it"),
    ("play: (5, 5, 0)", "mounted_on: ¦\"deck\"", "expected a component, found the panel `deck`", "panels stay"),
    ("play: (5, 5, 0)", "mounted_on: ¦tank", "found `tank`", "double quotes"),
    ("template: \"plug-g14\"", "template: ¦\"plug-g41\"", "unknown template `plug-g41`", "did you mean `plug-g14`?"),
    ("(name: \"stop\", template: \"plug-g14\",", "¦(name: \"stop\",", "expected `template` or `solids`, found neither", "name a component"),
    ("template: \"plug-g14\",", "template: \"plug-g14\", solids: ¦[(shape: sphere(diameter: 3))],", "expected either `template` or `solids`, found both", "brings its own"),
    // Ports.
    ("name: \"vent\"", "name: ¦\"Out let\"", "expected a port name of lower-case letters", "pump-outlet-2"),
    ("name: \"inlet\", at: (0, 20, 0), facing: \"0 0 -1\", thread: \"G 1/4\"", "name: \"inlet\", at: (0, 20, 0), facing: \"0 0 -1\", thread: ¦\"G 1/2\"", "G 1/4", ""),
    ("thread: \"G 1/4\", thread_length_mm: 5", "thread: \"G 1/4\", gender: ¦mal, thread_length_mm: 5", "expected `male` or `female`, found `mal`", "did you mean `male`?"),
    ("thread_length_mm: 5", "thread_length_mm: ¦0", "a thread length in mm", "correct"),
    ("thread_length_mm: 5, seat_mm: 19", "thread_length_mm: 5, seat_mm: ¦13", "wider than the G 1/4 thread (13.157 mm), found 13", "flat face"),
    ("(name: \"outlet\", at: (20, 20, 60)", "¦(name: \"outlet\", at: (20, 20, 40)", "port `outlet` is covered by a solid of its own component", "facing out"),
    // Gaps, allowances, flow.
    ("from: \"tank.outlet\"", "from: ¦\"tank.outlit\"", "unknown port `tank.outlit`", "did you mean `tank.outlet`? `tank` has `tank.outlet`, `tank.inlet` or `tank.vent`"),
    ("from: \"tank.outlet\"", "from: ¦\"tnak.outlet\"", "unknown port `tnak.outlet`", "did you mean `tank.outlet`?"),
    ("from: \"tank.outlet\"", "from: ¦\"tank\"", "unknown port `tank`", "`tank` has"),
    ("to: \"pump.inlet\"", "to: ¦\"tank.outlet\"", "expected a gap between two ports, found `tank.outlet` twice", "other side"),
    ("to: \"pump.inlet\"", "to: ¦\"pump.outlet\"", "port `pump.outlet` is used by two gaps", "takes one fitting"),
    ("closure_mm: 0.3", "closure_mm: ¦0", "an allowance in mm from 0.001 to 10, found 0", "correct"),
    ("closure_deg: 0.5", "closure_deg: ¦11", "an allowance in degrees", "correct"),
    ("clearance_mm: 1", "clearance_mm: ¦-0.1", "a clearance in mm from 0 to 100", "correct"),
    ("clearance_mm: 1", "clearance_mm: 1, tool_mm: ¦-1", "room for a tool in mm from 0 to 100, found -1", "correct"),
    ("clearance_mm: 1", "clearance_mm: 1, tool_arc_deg: ¦200", "an arc in degrees from 5 to 180, found 200", "correct"),
    ("clearance_mm: 1", "¦clearence_mm: 1", "unknown field `clearence_mm`", "did you mean `clearance_mm`?"),
    ("design_flow_l_min: 3", "design_flow_l_min: ¦0", "a flow in L/min from 0.01 to 100, found 0", "correct"),
    ("design_flow_l_min: 3", "design_flow_l_min: ¦1e999", "a flow in L/min", "correct"),
];

/// How coolant goes through a component, and what it is.
#[rustfmt::skip]
const FLOW: &[Case] = &[
    ("play: (5, 5, 0)", "flow: (bore_mm: ¦-6)", "a bore in mm from 0.5 to 100, found -6", "correct"),
    ("play: (5, 5, 0)", "flow: (bore_mm: ¦NaN)", "a bore in mm", "correct"),
    ("play: (5, 5, 0)", "flow: (wall: ¦brss)", "expected `copper`", "did you mean `brass`?"),
    ("play: (5, 5, 0)", "flow: (passages: [(\"inlet\", ¦\"outlt\")])", "unknown port `outlt`", "did you mean `outlet`?"),
    ("play: (5, 5, 0)", "flow: (passages: [¦(\"inlet\", \"inlet\")])", "a way between two ports, found `inlet` twice", "leaves"),
    ("play: (5, 5, 0)", "flow: (loss: table(¦[]))", "1 to 1000 points of (L/min, kPa), found 0", "measure"),
    ("play: (5, 5, 0)", "flow: (loss: table([(2, 3), (4, ¦1)]))", "a loss of at least the one before (3 kPa), found 1", "loses more the more flows"),
    ("play: (5, 5, 0)", "flow: (loss: table([(4, 3), (¦2, 4)]))", "a flow above the one before (4 L/min), found 2", "from small flow to large"),
    ("play: (5, 5, 0)", "flow: (loss: table([(¦0, 1), (2, 3)]))", "a flow in L/min from 0.001 to 1000, found 0", "correct"),
    ("play: (5, 5, 0)", "flow: (loss: coefficient(l_min: 4, kpa: ¦0))", "a loss in kPa from 0.001", "correct"),
    ("play: (5, 5, 0)", "flow: (loss: coefficient(l_min: 4, kpa: 1, power: ¦3))", "a power of the flow from 1 to 2, found 3", "correct"),
    ("play: (5, 5, 0)", "flow: (pump: table([(0, 3), (4, ¦5)]))", "a pressure of at most the one before (3 kPa), found 5", "gains less the more flows"),
    ("play: (5, 5, 0)", "flow: (pump: table([(¦1, 20), (8, 0)]))", "the first point of a pump at no flow, found 1 L/min", "closed valve"),
    ("play: (5, 5, 0)", "flow: (pump: table([(0, 20), (8, ¦-1)]))", "a pressure in kPa from 0", "correct"),
    ("play: (5, 5, 0)", "flow: (pump: three_points(¦[(0, 20), (8, 0)]))", "three points of (L/min, kPa), found 2", "use `table`"),
    ("play: (5, 5, 0)", "flow: (passages: [(\"inlet\", \"outlet\"), (\"outlet\", \"inlet\")], pump: ¦table([(0, 20), (8, 0)]))", "one way through a pump, found 2", "with its own ports"),
    ("play: (5, 5, 0)", "flow: (reservoir: true, loss: ¦table([(2, 3)]))", "either `reservoir` or `loss`, found both", "two components"),
    ("play: (5, 5, 0)", "heat_w: ¦-1", "a heat in W from 0", "correct"),
    ("play: (5, 5, 0)", "pump_speed: ¦2", "0 (off) or a share of full speed from 0.1 to 1.5, found 2", "correct"),
    ("design_flow_l_min: 3", "coolant: (celsius: ¦120)", "water at 120 °C is outside the fit, which holds from 0 to 95 °C", "reaches in use"),
    ("design_flow_l_min: 3", "coolant: (glycol: ethylene, volume_percent: ¦60)", "a share in percent from 0 to 50, found 60", "correct"),
    ("design_flow_l_min: 3", "coolant: (volume_percent: ¦20)", "a glycol for this share, found none", "glycol: ethylene"),
    ("design_flow_l_min: 3", "coolant: (glycol: ¦glycerol)", "expected `none`", ""),
];

fn catalog() -> Catalog {
    Catalog::try_builtin().unwrap_or_else(|problems| panic!("{problems}"))
}

fn broken(from: &str, to: &str) -> String {
    assert_eq!(SMALL.matches(from).count(), 1, "{from:?} is meant to stand once in the file");
    SMALL.replace(from, to)
}

/// Takes the mark out of the text and says in which line and column it stood.
fn unmarked(text: &str) -> (String, Option<(usize, usize)>) {
    let spot = text.split_once('¦').map(|(before, _)| {
        (before.split('\n').count(), before.split('\n').next_back().map_or(0, |line| line.chars().count()) + 1)
    });
    (text.replace('¦', ""), spot)
}

fn check_one(cases: &[Case]) {
    let catalog = catalog();
    let mut wrong = Vec::new();
    for (from, to, message, remedy) in cases {
        let (text, spot) = unmarked(&broken(from, to));
        let Err(found) = Layout::parse(&text, "small.ron", &catalog) else {
            wrong.push(format!("{to}: taken for sound"));
            continue;
        };
        let list: Vec<&Problem> = found.iter().collect();
        let good = list.len() == 1
            && list[0].message().contains(message)
            && list[0].spot().line_and_column() == spot
            && list[0].remedy().unwrap_or_default().contains(remedy)
            && spot.is_some_and(|(line, column)| found.to_string().contains(&format!("small.ron:{line}:{column}")));
        if !good {
            wrong.push(format!("{to} should give {message:?} ({remedy:?}) at {spot:?}:\n{found}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

#[test]
fn the_small_layout_is_sound() {
    let layout = Layout::parse(SMALL, "small.ron", &catalog()).unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!((layout.bodies().len(), layout.ports().len(), layout.gaps().len()), (5, 6, 2));
}

/// A position is counted in lines and characters, whatever stands before it.
#[test]
fn positions_count_characters() {
    let text = broken("name: \"Bilge pump bench\"", "/* 漢字 ü */ name: \"Bänk 🛠\", ¦nmae: 3");
    let (text, spot) = unmarked(&text.replace('\n', "\r\n"));
    let found = Layout::parse(&text, "small.ron", &catalog()).expect_err("has an unknown field");
    let first = found.iter().next().expect("at least one problem");
    assert_eq!((first.spot().line_and_column(), first.spot().span().map(|span| &text[span])), (spot, Some("nmae")));
}

#[test]
fn malformed_text_is_shown_where_it_breaks() {
    check_one(SYNTAX);
}

#[test]
fn every_wrong_value_is_shown_with_its_remedy() {
    check_one(DATA);
    check_one(FLOW);
}

/// What carries each other in a circle is said once for each circle, at its first member in the file; what is only
/// mounted on one of them is not blamed.
#[test]
fn components_that_carry_each_other_are_refused() {
    let text = SMALL
        .replace("play: (5, 5, 0),", "mounted_on: \"tank\",")
        .replace("front: \"+x\",", "mounted_on: \"pump\",")
        .replace("template: \"plug-g14\",", "template: \"plug-g14\", mounted_on: \"pump\",");
    let found = Layout::parse(&text, "small.ron", &catalog()).expect_err("a circle");
    let [problem] = &found.iter().collect::<Vec<_>>()[..] else { panic!("{found}") };
    assert_eq!(
        (problem.message(), problem.spot().item()),
        (
            "expected something at the end that stands by itself, found `pump` on `tank` on `pump`",
            "components[0].mounted_on"
        )
    );
}

/// Breaks the small layout in several places at once and checks all that is found: each mark `¦` in the replacements is
/// where one problem must be reported, in the order of the file.
fn check_all(text: &str, name: &str, expected: &[&str]) {
    let mut spots = Vec::new();
    let mut rest = text.to_owned();
    while let (whole, Some(_)) = unmarked(&rest) {
        let (before, after) = rest.split_once('¦').unwrap_or_default();
        let (_, spot) = unmarked(&format!("{before}¦"));
        spots.extend(spot);
        rest = format!("{before}{after}");
        if !rest.contains('¦') {
            rest = whole;
            break;
        }
    }
    let found = Layout::parse(&rest, name, &catalog()).expect_err("several things are wrong");
    let places: Vec<_> = found.iter().filter_map(|problem| problem.spot().line_and_column()).collect();
    assert_eq!(places, spots, "{found}");
    assert_eq!(found.len(), expected.len(), "{found}");
    for (problem, expected) in found.iter().zip(expected) {
        assert!(problem.message().contains(expected), "{expected:?} is not in {:?}:\n{found}", problem.message());
    }
}

fn check_many(changes: &[(&str, &str)], expected: &[&str]) {
    let mut text = SMALL.to_owned();
    for (from, to) in changes {
        assert_eq!(SMALL.matches(from).count(), 1, "{from:?} is meant to stand once in the file");
        text = text.replace(from, to);
    }
    check_all(&text, "small.ron", expected);
}

/// A value that cannot be read hides nothing else: not in its own item, not elsewhere, and nothing follows from it.
#[test]
fn an_unreadable_value_hides_no_other_fault() {
    check_many(
        &[
            ("version: 1,", "version: ¦3,"),
            ("name: \"Bilge pump bench\"", "name: ¦5"),
            ("size: (200, 160)", "size: (200, ¦-160)"),
            ("thickness: 2,", "thickness: ¦\"two\","),
            ("(-60, 40), diameter: 16", "(-60, 40), ¦diametre: ¦-16"),
            ("removable: true", "removable: ¦yes, ¦colour: \"red\""),
            ("facing: \"+x\", across: \"+y\"", "facing: ¦\"-q\", across: \"+z\""),
        ],
        &[
            "expected `version` 1, found 3",
            "expected text in double quotes, found `5`",
            "a height in mm from 0.001 to 10000, found -160",
            "expected a number, found `\"two\"`",
            "unknown field `diametre`",
            "a diameter in mm from 0.001 to 10000, found -16",
            "expected `true` or `false`, found `yes`",
            "unknown field `colour`",
            "expected a direction such as \"+x\"",
        ],
    );
    check_many(
        &[
            ("box(size: (60, 60, 40))", "¦bxo(size: (60, ¦-60, ¦\"40\"))"),
            ("cylinder(diameter: 40, length: 12)", "¦cylinder(diameter: ¦0)"),
            ("at: (-50, 0, 0),", "at: (-50, ¦NaN, ¦0mm),"),
            ("play: (5, 5, 0)", "play: ¦5, play_turn_deg: ¦-1"),
            (
                "name: \"vent\", at: (0, 0, 0), facing: \"0 0 -1\", thread: \"G 1/8\", thread_length_mm: 7",
                "name: \"vent\", at: ¦(0, 0), facing: ¦\"0 0 0\", thread: ¦\"G 1\", gender: ¦mal, thread_length_mm: ¦-7",
            ),
            ("template: \"plug-g14\"", "template: ¦7, heat_w: ¦-1"),
            ("from: \"pump.outlet\"", "from: ¦\"pump.outlett\""),
            ("from: \"tank.outlet\"", "from: ¦tank"),
            ("clearance_mm: 1", "clearance_mm: ¦[1], tool_mm: ¦-1"),
            (
                "design_flow_l_min: 3",
                "design_flow_l_min: ¦0, coolant: (glycol: ¦rum, volume_percent: ¦60, celsius: ¦200)",
            ),
        ],
        &[
            "expected `box`, `cylinder`, `sphere`, `capsule` or `hull`, found `bxo`",
            "a side in mm from 0.001 to 10000, found -60",
            "expected a number, found `\"40\"`",
            "missing field `length`",
            "a diameter in mm from 0.001 to 10000, found 0",
            "a coordinate in mm from -10000 to 10000, found NaN",
            "expected a number, found `0mm`",
            "expected values in `(` and `)`, found `5`",
            "a play in degrees from 0 to 180, found -1",
            "expected 3 values, found 2",
            "expected a direction such as \"+x\"",
            "expected a thread size",
            "expected `male` or `female`, found `mal`",
            "a thread length in mm from 0.001 to 10000, found -7",
            "expected text in double quotes, found `7`",
            "a heat in W from 0 to 100000, found -1",
            "unknown port `pump.outlett`",
            "expected text in double quotes, found `tank`",
            "expected a number, found `[1]`",
            "room for a tool in mm",
            "a flow in L/min from 0.01 to 100, found 0",
            "expected `none`, `ethylene` or `propylene`, found `rum`",
            "a share in percent from 0 to 50, found 60",
            "200 °C is outside the fit",
        ],
    );
}

/// Signs out of order are put right for the rest of the reading.
#[test]
fn signs_out_of_order_hide_no_other_fault() {
    check_many(
        &[
            ("name: \"Bilge pump bench\",", "name: \"Bilge pump bench\"¦"),
            ("at: (0, 0, 120)", "at: (0, 0¦ ¦1e5)"),
            ("thickness: 2,", "thickness: 2,¦5,"),
            ("removable: true", "¦remov.able: true"),
            ("thickness: 3", "thickness ¦3, holes: [(at: ¦[0, 0], diameter: ¦0), ¦7]"),
            ("name: \"pump\"", "¦\"name\": \"pump\""),
            ("at: (0, -36, 20)", "at: (0, -36, 20, ¦4)"),
            ("at: (-50, 0, 0),", "at: (-50, ¦, 0),"),
            ("play: (5, 5, 0)", "play: (5, 5, ¦-1)"),
            ("shape: hull(points: [(0, 0, 0), (40, 0, 0), (0, 40, 0), (40, 40, 0), (20, 20, 60)])", "shape: ¦hull"),
            ("name: \"tank\",", "name: \"tank\", ¦name: \"vat\","),
            ("design_flow_l_min: 3,\n)", "design_flow_l_min: ¦-3,\n)\n¦junk"),
        ],
        &[
            "expected a comma",
            "expected a comma",
            "a coordinate in mm from -10000 to 10000, found 100000",
            "expected a field, such as `at: (0, 0, 0)`, found `5`",
            "expected a field, such as `at: (0, 0, 0)`, found `remov.able`",
            "expected `:` in front of `3`",
            "expected values in `(` and `)`, found `[0, 0]`",
            "a diameter in mm",
            "expected values in `(` and `)`, found `7`",
            "expected a name without quotes, found `\"name\"`",
            "no more values belong here",
            "expected a value",
            "a play in mm",
            "field `name` is given twice",
            "expected `hull` with something in it, found the name alone",
            "a flow in L/min",
            "expected the end of the file",
        ],
    );
}

/// What is wrong with names excuses only what may mean them.
#[test]
fn wrong_names_lead_to_no_follow_up() {
    let given_twice = [("name: \"tank\"", "name: ¦\"pump\"")];
    check_many(&given_twice, &["the name `pump` is given twice"]);
    check_many(&[("name: \"tank\"", "name: ¦\"\"")], &["expected a name, found \"\""]);
    check_many(&[("name: \"tank\"", "name: ¦7")], &["expected text in double quotes, found `7`"]);
    check_many(
        &[("name: \"tank\"", "name: ¦\"\""), ("from: \"pump.outlet\"", "from: ¦\"pomp.outlet\"")],
        &["expected a name, found \"\"", "unknown port `pomp.outlet`"],
    );
    check_many(
        &[("name: \"vent\"", "name: ¦\"inlet\""), ("to: \"pump.inlet\"", "to: ¦\"pump.inlett\"")],
        &["port `inlet` is defined twice in one component", "unknown port `pump.inlett`"],
    );
    let unknown = [("template: \"plug-g14\"", "template: ¦\"plug-g41\", flow: (bore_mm: ¦-1)")];
    check_many(&unknown, &["unknown template `plug-g41`", "a bore in mm"]);
    check_many(&[("template: \"plug-g14\"", "solids: ¦[]")], &["expected at least one solid, found none"]);
}

/// JSON is told of JSON, and goes on as RON does.
#[test]
fn json_faults_come_all_at_once() {
    let text = "{\"version\": 1, ¦name: \"x\", \"panels\": [\n\
                {\"name\": \"a\", \"at\": [0, ¦NaN, 0, ¦4], \"facing\": ¦\"w\", \"size\": ¦{\"x\": 1}, \"thickness\": ¦-2¦,},\n\
                ¦5], \"components\": [{\"name\": \"b\", \"solids\": [{\"shape\": {¦\"bxo\": {\"size\": [1, 1, ¦-1]}}}], \"at\": ¦[0, 0]}],\n\
                \"design_flow_l_min\" ¦3, \"gaps\": [{\"from\": ¦\"b.c\"¦ \"to\": ¦7}]}";
    check_all(
        text,
        "all.json",
        &[
            "expected a name in double quotes, found `name`",
            "expected a number, found `NaN`",
            "no more values belong here",
            "expected a direction such as",
            "expected 2 values in `[` and `]`, found `{\"x\": 1}`",
            "a thickness in mm",
            "expected another item behind the comma",
            "expected fields in `{` and `}`, found `5`",
            "expected `box`, `cylinder`, `sphere`, `capsule` or `hull`, found `bxo`",
            "a side in mm",
            "expected 3 values, found 2",
            "expected `:`",
            "unknown port `b.c`",
            "expected a comma",
            "expected text in double quotes, found `7`",
        ],
    );
}

/// What is no layout at all is told what one looks like, without a word of how it is read.
#[test]
fn files_that_are_something_else_are_told_what_was_wanted() {
    for (text, message) in [
        ("", "expected a layout or a catalog, found an empty file"),
        (" \n\t\n", "expected a layout or a catalog, found an empty file"),
        ("// nothing yet\n", "expected a layout or a catalog, found a file of nothing but comments"),
        ("null", "expected values in `(` and `)`, found `null`"),
        ("dear all, hello", "expected values in `(` and `)`, found `dear`"),
        ("[1, 2, 3]", "expected values in `(` and `)`, found `[1, 2, 3]`"),
    ] {
        let found = Layout::parse(text, "other.ron", &catalog()).expect_err("no layout");
        let [problem] = &found.iter().collect::<Vec<_>>()[..] else { panic!("{found}") };
        assert_eq!((problem.message(), problem.spot().line_and_column()), (message, Some((1, 1))), "{text:?}");
        assert!(
            problem.remedy().is_some_and(|help| help.contains("(version: 1,") && help.contains("{\"version\": 1,"))
        );
    }
}

/// Numbers are shown without rows of zeros, and units are spoken of only where they belong.
#[test]
fn numbers_and_units_are_told_as_they_are() {
    let remedy = |from: &str, to: &str| {
        let found = Layout::parse(&broken(from, to), "small.ron", &catalog()).expect_err("one number is wrong");
        let problem = found.iter().next().expect("at least one problem");
        (problem.message().to_owned(), problem.remedy().unwrap_or_default().to_owned())
    };
    let told = |message: &str, help: &str| (message.to_owned(), help.to_owned());
    assert_eq!(
        remedy("thickness: 2,", "thickness: 1e-300,"),
        told(
            "expected a thickness in mm from 0.001 to 10000, found 1e-300",
            "correct the number; lengths are in millimetres"
        )
    );
    assert_eq!(
        remedy("closure_deg: 0.5", "closure_deg: 1e300"),
        told(
            "expected an allowance in degrees from 0.001 to 10, found 1e300",
            "correct the number; angles are in degrees"
        )
    );
    assert_eq!(
        remedy("design_flow_l_min: 3", "design_flow_l_min: 0"),
        told("expected a flow in L/min from 0.01 to 100, found 0", "correct the number")
    );
}

/// Any two faults of the table are both found, and nothing besides, but where one is about what the other takes away.
#[test]
fn any_two_faults_are_both_found() {
    let catalog = catalog();
    let cases: Vec<&Case> = DATA.iter().chain(FLOW).collect();
    let (mut tried, mut wrong) = (0, Vec::new());
    for (index, (from, to, ..)) in cases.iter().enumerate() {
        for (other_from, other_to, ..) in cases.iter().skip(index + 1) {
            let once = broken(from, to);
            // Both must find what they replace, in places of their own.
            if once.matches(other_from).count() != 1 || !once.replace(other_from, "").contains(to) {
                continue;
            }
            let mut text = once.replace(other_from, other_to);
            let mut spots = Vec::new();
            while let (_, Some(spot)) = unmarked(&text) {
                spots.push(spot);
                text = text.replacen('¦', "", 1);
            }
            tried += 1;
            let found = Layout::parse(&text, "small.ron", &catalog).expect_err("two things are wrong");
            let places: Vec<_> = found.iter().filter_map(|problem| problem.spot().line_and_column()).collect();
            let explains = |one: &str, other: &str| {
                let explained = |(first, seconds): &(&str, &[&str])| {
                    one.contains(first) && seconds.iter().any(|second| other.contains(second))
                };
                EXPLAINED.iter().any(explained)
            };
            let excused = explains(to, other_to) || explains(other_to, to);
            let follow_up = places.iter().any(|place| !spots.contains(place));
            if follow_up || (places != spots) != excused {
                wrong.push(format!("{to}\n{other_to}\n{spots:?} instead of {places:?}\n{found}"));
            }
        }
    }
    assert!(tried > 1_000 && wrong.is_empty(), "{tried} tried, {} wrong\n{}", wrong.len(), wrong.join("\n\n"));
}

/// Changes after which others cannot be judged: of the second nothing is said until the first is put right.
#[rustfmt::skip]
const EXPLAINED: &[(&str, &[&str])] = &[
    // Without its name, nobody knows whether it is the component that is meant.
    ("name: ¦'pump'", &["mounted_on: ¦\"the hull itself\"", "mounted_on: ¦\"pump\"", "to: ¦\"pump.outlet\""]),
    ("name: ¦\"st.op\"", &["mounted_on: ¦\"tnak\"", "mounted_on: ¦\"the hull itself\"", "from: ¦\"tnak.outlet\""]),
    ("name: ¦\"Out let\"", &["from: ¦\"tank.outlit\"", "from: ¦\"tank\""]),
    ("name: ¦\"deck\"", &["mounted_on: ¦\"deck\""]),
    // Without its size, nobody knows what is in its way.
    ("size: (200, ¦0)", &["at: (-60, 73)"]),
    ("size: (¦10001, 160)", &["at: (-60, 73)"]),
    ("(-60, ¦nan0)", &["at: (-50, 40)"]),
    ("diameter: ¦-16", &["at: (-50, 40)"]),
    ("(20, ¦20000, 60)", &["at: (20, 20, 40)"]),
    ("points: ¦[", &["at: (20, 20, 40)"]),
    ("thread: ¦\"G 1/2\"", &["seat_mm: ¦13"]),
    // Moved away, the hole is not too near any more; renamed, the port is not the same any more.
    ("at: (-60, 73)", &["at: (-50, 40)"]),
    ("from: ¦\"tank.outlit\"", &["to: ¦\"tank.outlet\""]),
    ("from: ¦\"tnak.outlet\"", &["to: ¦\"tank.outlet\""]),
    ("from: ¦\"tank\"", &["to: ¦\"tank.outlet\""]),
];
