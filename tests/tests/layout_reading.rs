//! From the text of a layout or catalog to what it means: everything wrong at once, RON and JSON alike.

use elbowroom::catalog::{Catalog, CatalogFile};
use elbowroom::geometry::{Point, Vector, axis, origin};
use elbowroom::layout::{BodyKind, Layout, LayoutFile};
use elbowroom::source::{Problems, Source};

const SMALL: &str = include_str!("../data/layout/small.ron");

fn catalog() -> Catalog {
    Catalog::try_builtin().unwrap_or_else(|problems| panic!("{problems}"))
}

fn small() -> Layout {
    Layout::parse(SMALL, "small.ron", &catalog()).unwrap_or_else(|problems| panic!("{problems}"))
}

fn small_file() -> LayoutFile {
    let options = ron::Options::default().with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME);
    options.from_str(SMALL).expect("the small layout is sound")
}

/// Line and first words of every problem.
fn summary(problems: &Problems, words: usize) -> Vec<(usize, String)> {
    let line = |problem: &elbowroom::source::Problem| problem.spot().line_and_column().map_or(0, |(line, _)| line);
    let message = |text: &str| text.split(' ').take(words).collect::<Vec<_>>().join(" ");
    problems.iter().map(|problem| (line(problem), message(problem.message()))).collect()
}

#[test]
fn all_problems_come_at_once() {
    let text = SMALL
        .replace("thickness: 2", "thickness: 0")
        .replace("box(size: (60, 60, 40))", "box(size: (inf, 60, -40))")
        .replace("front: \"+x\"", "front: \"+z\"")
        .replace("tank.outlet", "tank.oulet")
        .replace("closure_deg: 0.5", "closure_deg: 90");
    let found = Layout::parse(&text, "small.ron", &catalog()).expect_err("six things are wrong");
    let expected = [
        (11, "expected a thickness in"),
        (24, "expected a side in"),
        (24, "expected a side in"),
        (43, "expected `front` and `top`"),
        (49, "unknown port `tank.oulet`"),
        (51, "expected an allowance in"),
    ];
    assert_eq!(summary(&found, 4), expected.map(|(line, words)| (line, words.to_owned())), "{found}");
}

/// Faults of reading and of sense are found in one go, and none is a mere consequence of another: nothing is said of
/// the hole beside the bad one, of the gap at the port that could not be read, or of ports in a bad component.
#[test]
fn faults_of_reading_do_not_hide_faults_of_sense() {
    let text = SMALL
        .replace("diameter: 16", "diametre: 16")
        .replace("across: \"+y\"", "acros: \"+y\"")
        .replace("at: (15, 0, 40)", "at: (15, 0)")
        .replace("(from: \"tank.outlet\", to: \"pump.inlet\")", "(from: \"tank.outlet\", to: \"tank.outlet\")")
        .replace("clearance_mm: 1", "clearance_mm: -1")
        .replace("design_flow_l_min: 3", "design_flow_l_min: \"3\"");
    let found = Layout::parse(&text, "small.ron", &catalog()).expect_err("six things are wrong");
    let expected = [
        (13, "unknown field `diametre`"),
        (18, "unknown field `acros`"),
        (28, "expected 3 values,"),
        (49, "expected a gap"),
        (51, "expected a clearance"),
        (52, "expected a number,"),
    ];
    assert_eq!(summary(&found, 3), expected.map(|(line, words)| (line, words.to_owned())), "{found}");
}

/// With an element left out of a list, later elements are still found where they stand in the text.
#[test]
fn places_hold_behind_a_part_left_out() {
    let text = SMALL.replace("removable: true", "removable: maybe").replace("thickness: 3", "thickness: -3");
    let found = Layout::parse(&text, "small.ron", &catalog()).expect_err("two things are wrong");
    assert_eq!(summary(&found, 3).iter().map(|(line, _)| *line).collect::<Vec<_>>(), [16, 18], "{found}");
    let items: Vec<&str> = found.iter().map(|problem| problem.spot().item()).collect();
    assert_eq!(items, ["panels[0].removable", "panels[1].thickness"]);
}

#[test]
fn ron_and_json_mean_the_same() {
    let file = small_file();
    let pretty = serde_json::to_string_pretty(&file).expect("plain data");
    let dense = serde_json::to_string(&file).expect("plain data");
    let written = ron::ser::to_string_pretty(&file, ron::ser::PrettyConfig::default()).expect("plain data");
    for text in [pretty.as_str(), dense.as_str(), written.as_str(), &format!("\u{feff}{SMALL}")] {
        let again = Layout::parse(text, "again", &catalog()).unwrap_or_else(|problems| panic!("{problems}"));
        assert_eq!(again, small());
    }
    let in_memory = Layout::from_file(&file, &catalog()).unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!(in_memory, small());
}

/// The same mistakes in JSON, where readers report other positions and other words.
#[test]
fn json_problems_have_places_too() {
    let text = serde_json::to_string_pretty(&small_file()).expect("plain data");
    let broken = text
        .replace("\"thickness\": 2.0", "\"thickness\": \"2\"")
        .replace("\"across\": \"+y\"", "\"acros\": \"+y\"")
        .replace("\"cylinder\": {", "\"cylindre\": {")
        .replace("\"thread_length_mm\": 5.0", "\"thread_length_mm\": -5.0")
        .replace("\"closure_deg\": 0.5", "\"closure_deg\": 90");
    let found = Layout::parse(&broken, "small.json", &catalog()).expect_err("five things are wrong");
    let messages: Vec<&str> = found.iter().map(|problem| problem.message()).collect();
    assert_eq!(messages.len(), 5, "{found}");
    for (problem, (message, place)) in found.iter().zip([
        ("expected a number, found `\"2\"`", "\"2\""),
        ("unknown field `acros`", "\"acros\""),
        ("expected `box`, `cylinder`, `sphere`, `capsule` or `hull`, found `cylindre`", "\"cylindre\""),
        ("expected a thread length in mm from 0.001 to 10000, found -5", "-5.0"),
        ("expected an allowance in degrees from 0.001 to 10, found 90", "90"),
    ]) {
        let at = problem.spot().span().map(|span| &broken[span]);
        assert_eq!((problem.message(), at), (message, Some(place)), "{found}");
    }
    for cut in ["", "{", "{\"version\": 1", "{\"version\": 1, \"name\": \"x\",}", "[]", "{\"name\": \"x"] {
        let found = Layout::parse(cut, "small.json", &catalog()).expect_err("not a layout");
        assert_eq!(found.len(), 1, "{found}");
    }
}

#[test]
fn a_program_is_told_the_place_in_its_data() {
    let mut file = small_file();
    file.components[1].at[2] = f64::NAN;
    file.gaps[0].from.clear();
    let found = Layout::from_file(&file, &catalog()).expect_err("two things are wrong");
    let lines: Vec<String> = found.iter().map(ToString::to_string).collect();
    assert_eq!(lines.len(), 2, "{found}");
    assert!(lines[0].starts_with("layout in memory: components[1].at[2]: expected a coordinate"), "{}", lines[0]);
    assert!(lines[1].starts_with("layout in memory: gaps[0].from: unknown port ``"), "{}", lines[1]);
    assert!(found.render(false).contains("components[1].at[2]"), "{found}");
}

/// Front and top say how a component stands: its own -y looks at the front, its own +z at the top.
#[test]
fn components_stand_as_written() {
    let layout = small();
    let near = |found: Point, expected: [f64; 3]| (found - Point::from(expected)).norm() < 1e-12;
    // The tank looks at +x: seen from above it is turned a quarter left, so its own +x runs along world +y.
    let outlet = layout.port("tank.outlet").expect("in the file");
    assert!(near(origin(&outlet.pose), [40.0 - 20.0, 20.0, 70.0]), "{}", outlet.pose);
    assert!((axis(&outlet.pose) - Vector::z()).norm() < 1e-12);
    let inlet = layout.port("tank.inlet").expect("in the file");
    assert!(near(origin(&inlet.pose), [40.0 - 20.0, 0.0, 10.0]), "{}", inlet.pose);
    assert!((axis(&inlet.pose) + Vector::z()).norm() < 1e-12);
    // A port's own x axis turns with its component.
    let turn = |name: &str| {
        let port = layout.port(name).expect("in the file");
        let body = layout.body(port.body).expect("of this layout");
        body.pose.inverse() * port.pose * Vector::x()
    };
    assert!((turn("tank.outlet") - turn("pump.outlet")).norm() < 1e-12);
    // A fitting placed like a component brings its ends as ports.
    let stop = layout.port("stop.end-0").expect("a plug has one end");
    let plug = catalog();
    let plug = plug.fitting("plug-g14").expect("built in");
    assert_eq!((stop.seat_mm, stop.gender), (plug.ends[0].collar_mm, plug.ends[0].gender));
}

#[test]
fn bodies_come_in_order_and_panels_say_whether_they_come_off() {
    let layout = small();
    let names: Vec<&str> = layout.bodies().iter().map(|body| body.name.as_str()).collect();
    assert_eq!(names, ["deck", "side", "pump", "tank", "stop"]);
    let kinds: Vec<BodyKind> = layout.bodies().iter().map(|body| body.kind).collect();
    let panel = |removable| BodyKind::Panel { removable };
    assert_eq!(kinds[..3], [panel(true), panel(false), BodyKind::Component]);
    // The side lies outside its inner face at x = 100 and is 160 wide along y, 120 high along z.
    let [sheet] = &layout.bodies()[1].solids[..] else { panic!("a sheet without holes is one solid") };
    let bounds = sheet.bounds();
    let (min, max) = (Point::new(100.0, -80.0, 0.0), Point::new(103.0, 80.0, 120.0));
    assert!((bounds.min - min).norm() < 1e-9 && (bounds.max - max).norm() < 1e-9, "{bounds:?}");
}

#[test]
fn what_is_mounted_travels_with_what_carries_it() {
    let mut file = small_file();
    file.components[2].mounted_on = Some("tank".to_owned());
    file.components[1].mounted_on = Some("pump".to_owned());
    let written = ron::ser::to_string_pretty(&file, ron::ser::PrettyConfig::default()).expect("plain data");
    let json = serde_json::to_string(&file).expect("plain data");
    for text in [written, json] {
        let layout = Layout::parse(&text, "mounted", &catalog()).unwrap_or_else(|problems| panic!("{problems}"));
        let travelling = |name: &str| {
            let (id, _) = layout.bodies_by_id().find(|(_, body)| body.name == name).expect("in the file");
            let bodies = layout.travelling_with(id).into_iter().filter_map(|id| layout.body(id));
            bodies.map(|body| body.name.clone()).collect::<Vec<_>>()
        };
        assert_eq!(travelling("pump"), ["pump", "tank", "stop"]);
        assert_eq!(travelling("tank"), ["tank", "stop"]);
        assert_eq!((travelling("stop"), travelling("deck")), (vec!["stop".to_owned()], vec!["deck".to_owned()]));
    }
}

#[test]
fn gaps_are_found_by_name_or_the_nearest_name_is_told() {
    let layout = small();
    let gap = layout.gap("pump.outlet", "tank.vent").expect("both exist");
    assert_eq!(layout.port_by_id(gap.to).map(|port| port.name.as_str()), Some("tank.vent"));
    assert_eq!(layout.gap("pump.outlet", "tank.inlet").ok(), layout.gaps().first().copied());
    let error = layout.gap("pump.outlet", "tank.inlt").expect_err("mistyped").to_string();
    assert_eq!(
        error,
        "unknown port `tank.inlt`; did you mean `tank.inlet`? `tank` has `tank.outlet`, `tank.inlet` or `tank.vent`"
    );
    let error = layout.gap("pump.outlet", "pump.outlet").expect_err("the same").to_string();
    assert_eq!(error, "expected two different ports, found `pump.outlet` twice");
    assert!(layout.port("").is_err() && layout.port(".").is_err() && layout.port(&"x".repeat(100_000)).is_err());
}

#[test]
fn a_clash_of_catalogs_names_both_places() {
    let one = "(version: 1, components: [(id: \"cell\", name: \"Cell\", solids: [(shape: sphere(diameter: 30))])])";
    let two = "(\n  version: 1,\n  components: [\n    (id: \"cell\", name: \"Cell\", solids: [(shape: sphere(diameter: 40))]),\n    (id: \"plug-g14\", name: \"Plug\", solids: [(shape: sphere(diameter: 40))]),\n  ],\n)";
    let sources = [Source::new("one.ron", one), Source::new("two.ron", two)];
    let found = Catalog::builtin_with(&sources).expect_err("two ids clash");
    let places: Vec<_> = found
        .iter()
        .map(|problem| {
            let (_, other) = problem.other_spot().expect("a clash has two places");
            (problem.spot().file(), problem.spot().line_and_column(), other.file().to_owned())
        })
        .collect();
    let expected =
        [("two.ron", Some((4, 10)), "one.ron".to_owned()), ("two.ron", Some((5, 10)), "built-in plugs.ron".to_owned())];
    assert_eq!(places, expected, "{found}");
    let shown = found.render(false);
    assert!(shown.contains("two.ron:4:10") && shown.contains("one.ron:1:32"), "{shown}");
    let merged = Catalog::builtin_with(&sources[..1]).expect("one alone is sound");
    assert!(merged.component("cell").is_some() && merged.fittings() == catalog().fittings());
}

#[test]
fn files_that_cannot_be_read_are_named() {
    let found = Catalog::read_files(&["no/such/file.ron", "nor/this.ron"]).expect_err("neither exists");
    let lines: Vec<String> = found.iter().map(ToString::to_string).collect();
    assert_eq!(lines.len(), 2);
    assert!(lines[0].starts_with("no/such/file.ron: cannot open the file:"), "{}", lines[0]);
    let found = Source::from_reader("pipe", &b"(version: 1,\n \xff"[..]).expect_err("not UTF-8");
    assert!(found.to_string().contains("expected UTF-8 text, found the byte 0xFF\n --> pipe:2:2\n"), "{found}");
    let found = Source::from_reader("endless", std::io::repeat(b' ')).expect_err("too long");
    assert!(found.to_string().contains("at most 8 MiB"), "{found}");
}

#[test]
fn schemas_describe_the_files() {
    let layout = elbowroom::layout::schema();
    assert_eq!(layout["additionalProperties"], false);
    let written = serde_json::to_value(small_file()).expect("plain data");
    for field in written.as_object().expect("a layout has fields").keys() {
        assert!(layout["properties"][field].is_object(), "{field} is not in the schema");
    }
    let catalog = elbowroom::catalog::schema();
    let written = serde_json::to_value(CatalogFile::default()).expect("plain data");
    for field in written.as_object().expect("a catalog has fields").keys() {
        assert!(catalog["properties"][field].is_object(), "{field} is not in the schema");
    }
}
