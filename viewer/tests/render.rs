//! The demo drawn without a window and compared with stored pictures.
//!
//! `UPDATE_PICTURES=1 cargo test -p elbowroom-viewer render::` renews them; look at each before you commit it.
//! Without a Vulkan driver the tests say loudly that they were skipped; where `CI` is set they fail instead.

use crate::likeness::unlike;
use bevy::math::Vec3;
use elbowroom_viewer::{
    desk::{Asked, Desk, Stage, view::Covers},
    look::{Section, Show, eye::View},
    output::{
        driver,
        picture::{Shot, Studio, choose, model, write},
    },
};
use image::RgbImage;
use std::{collections::BTreeMap, io::Write, path::PathBuf};

/// Size of the stored pictures.
const SIZE: [u32; 2] = [320, 240];

#[test]
fn six_standard_views_of_the_demo() {
    let Some(desk) = demo() else { return };
    let mut studio = Studio::new(&desk, &shot(View::Isometric)).unwrap();
    for view in View::ALL.into_iter().filter(|view| *view != View::Isometric) {
        studio.look_from(view);
        check(view.word(), &studio.take(desk.stage()).unwrap());
    }
}

#[test]
fn five_moments_of_making_up() {
    let Some(mut desk) = demo() else { return };
    choose(&mut desk, Some(("flow-meter.outlet", "processor.inlet")), Some(1)).unwrap();
    let timeline = desk.timeline();
    assert!(timeline.is_proven() && timeline.seconds() > 1.0);
    let show = Show { covers: Covers::Off, only_chain: true, names: false, ..Show::default() };
    let mut studio = Studio::new(&desk, &Shot { close: true, show, ..shot(View::Isometric) }).unwrap();
    for (number, share) in [0.1, 0.25, 0.45, 0.75, 1.0].into_iter().enumerate() {
        let picture = studio.take(timeline.at(share * timeline.seconds())).unwrap();
        check(&format!("moment-{}", number + 1), &picture);
    }
}

#[test]
fn a_section_shows_what_lies_within() {
    let Some(desk) = demo() else { return };
    let mut studio = Studio::new(&desk, &shot(View::Isometric)).unwrap();
    let whole = studio.take(desk.stage()).unwrap();
    // Through the axis of the filter, from above.
    studio.cut(Some(Section { axis: 2, at_mm: 122.0, flipped: false }));
    let cut = studio.take(desk.stage()).unwrap();
    let differs = unlike(&whole, &cut);
    assert!(differs.share > 0.01, "the cut is seen: {differs:?}");
    check("section", &cut);
}

#[test]
fn covers_are_lifted() {
    let Some(desk) = demo() else { return };
    let show = Show { covers: Covers::Lifted, names: false, ..Show::default() };
    let mut studio = Studio::new(&desk, &Shot { show, ..shot(View::Isometric) }).unwrap();
    check("lifted", &studio.take(desk.stage()).unwrap());
}

/// Measured in the picture as a person does, against what the layout says.
#[test]
fn a_distance_is_measured_in_the_picture() {
    let Some(desk) = demo() else { return };
    let mut studio = Studio::new(&desk, &Shot { size: [640, 400], ..shot(View::Top) }).unwrap();
    let top = |name: &str| {
        let body = desk.layout().bodies().iter().find(|body| body.name == name).unwrap();
        let bounds = body.solids.iter().map(|solid| solid.bounds()).reduce(|all, next| all.union(&next)).unwrap();
        let middle = elbowroom::geometry::Point::from((bounds.min.coords + bounds.max.coords) / 2.0);
        (Vec3::new(middle.x as f32, middle.y as f32, bounds.max.z as f32), bounds.max.z)
    };
    let ((one, one_z), (other, other_z)) = (top("power-supply"), top("sounder"));
    let measured = studio.measure([one, other]).expect("both are seen from above");
    assert!((f64::from(measured.mm) - (one_z - other_z).abs()).abs() < 0.01, "{measured:?}, not {one_z} and {other_z}");
    assert_eq!(measured.angle_deg, 0.0);
    studio.look_from(View::Front);
    check("measured", &studio.take(desk.stage()).unwrap());
}

/// Where nothing bridges a gap the nearest miss is drawn, and every mark of what touches, overlaps or lies within.
#[test]
fn misses_and_marks_are_seen() {
    let Some(mut desk) = demo() else { return };
    choose(&mut desk, Some(("probe.outlet", "radiator-a.inlet")), None).unwrap();
    let near = desk.near().expect("a move opens it").by().expect("a move");
    assert_eq!(near.shift_mm[2], 0.0);
    let show = Show { covers: Covers::Off, only_chain: true, names: false, ..Show::default() };
    let mut studio = Studio::new(&desk, &Shot { close: true, show, ..shot(View::Isometric) }).unwrap();
    check("nearest-miss", &studio.take(desk.stage()).unwrap());
    let text = r#"(version: 1, name: "Marks", components: [
        (name: "left", solids: [(shape: box(size: (30, 30, 30)))], at: (0, 0, 0)),
        (name: "touches it", solids: [(shape: box(size: (30, 30, 30)))], at: (30, 0, 0)),
        (name: "one", solids: [(shape: box(size: (30, 30, 30)))], at: (90, 0, 0)),
        (name: "overlaps it", solids: [(shape: box(size: (30, 30, 30)))], at: (110, 10, 5)),
        (name: "holds", solids: [(shape: box(size: (40, 40, 40)))], at: (180, 0, 0)),
        (name: "within", solids: [(shape: box(size: (15, 10, 10)))], at: (180, 0, 0)),
    ])"#;
    let desk = Desk::new("marks.ron", text, elbowroom::catalog::Catalog::builtin(), Asked::default()).unwrap();
    let mut studio = Studio::new(&desk, &shot(View::Isometric)).unwrap();
    check("marks", &studio.take(desk.stage()).unwrap());
}

/// A picture is the same on every run, and another without the chain.
#[test]
fn the_same_scene_is_the_same_picture() {
    let Some(mut desk) = demo() else { return };
    choose(&mut desk, Some(("reservoir.outlet", "pump.inlet")), Some(1)).unwrap();
    let mut studio = Studio::new(&desk, &shot(View::Front)).unwrap();
    let with = studio.take(desk.stage()).unwrap();
    assert_eq!(with, studio.take(desk.stage()).unwrap(), "the same scene twice in one program");
    let mut again = Studio::new(&desk, &shot(View::Front)).unwrap();
    assert_eq!(with, again.take(desk.stage()).unwrap(), "the same scene in another");
    check_seen("the chain", &with, &studio.take(Stage::default()).unwrap());
}

/// One line or one label fewer is another picture.
#[test]
fn one_line_or_label_fewer_is_seen() {
    let Some(mut desk) = demo() else { return };
    choose(&mut desk, Some(("reservoir.outlet", "pump.inlet")), Some(1)).unwrap();
    let with = shot(View::Front);
    let draw = |desk: &Desk, shot: &Shot, show: Show| {
        Studio::new(desk, &Shot { show, ..shot.clone() }).unwrap().take(desk.stage()).unwrap()
    };
    let all = draw(&desk, &with, with.show.clone());
    check_seen("the line of the path", &all, &draw(&desk, &with, Show { path: false, ..with.show.clone() }));
    let bare = Show { dimensions: false, ..with.show.clone() };
    check_seen("the dimension", &all, &draw(&desk, &with, bare));
    let text = r#"(version: 1, name: "One", components: [(name: "pump", at: (0, 0, 0),
        solids: [(shape: box(size: (60, 30, 30)))],
        ports: [(name: "p", at: (0, 0, 15), facing: "+z", thread: "G 1/4", thread_length_mm: 7, seat_mm: 20)])])"#;
    let other = text.replace("pump", "pum");
    let [desk, other] = [text, &other]
        .map(|text| Desk::new("one.ron", text, elbowroom::catalog::Catalog::builtin(), Asked::default()).unwrap());
    let with = Show { names: true, ..with.show };
    let shot = shot(View::Isometric);
    let all = draw(&desk, &shot, with.clone());
    check_seen("the name", &all, &draw(&desk, &shot, Show { names: false, ..with.clone() }));
    check_seen("the port", &all, &draw(&desk, &shot, Show { ports: false, ..with.clone() }));
    check_seen("one letter of a name", &all, &draw(&other, &shot, with));
}

/// The exported model is read by another program's reader: everything on stage is in it, in its place.
#[test]
fn the_model_is_read_elsewhere() {
    let (name, text) = elbowroom_catalog::DEMO;
    let mut desk = Desk::new(name, text, elbowroom::catalog::Catalog::builtin(), Asked::default()).unwrap();
    desk.solve();
    choose(&mut desk, Some(("reservoir.outlet", "pump.inlet")), Some(1)).unwrap();
    let file = gltf::Gltf::from_slice(&model(&desk, &Show::default())).unwrap();
    let bytes = file.blob.as_deref().unwrap();
    let root = file.document.default_scene().unwrap().nodes().next().unwrap();
    let mut places: BTreeMap<String, [Vec<f32>; 3]> = BTreeMap::new();
    let mut triangles = 0;
    for node in root.children() {
        let node_to_root = node.transform().matrix();
        let place = places.entry(node.name().unwrap().to_owned()).or_default();
        for primitive in node.mesh().unwrap().primitives() {
            let reader = primitive.reader(|buffer| (buffer.index() == 0).then_some(bytes));
            let normals = reader.read_normals().map(|normals| normals.map(|n| n.map(f32::abs)).collect::<Vec<_>>());
            assert!(normals.iter().flatten().all(|n| (n[0].hypot(n[1]).hypot(n[2]) - 1.0).abs() < 1e-3));
            triangles += reader.read_indices().map_or(0, |indices| indices.into_u32().count() / 3);
            for at in reader.read_positions().unwrap() {
                for (axis, place) in place.iter_mut().enumerate() {
                    let along = (0..3).map(|k| node_to_root[k][axis] * at[k]).sum::<f32>() + node_to_root[3][axis];
                    place.push(along);
                }
            }
        }
    }
    assert!(triangles > 10_000, "{triangles}");
    // Every component is where the solver has it.
    for body in desk.layout().bodies() {
        let bounds = body.solids.iter().map(|solid| solid.bounds()).reduce(|all, next| all.union(&next)).unwrap();
        for (axis, along) in places[&body.name].iter().enumerate() {
            let [low, high] = [f32::min, f32::max].map(|pick| along.iter().copied().reduce(pick).unwrap());
            let expected = [bounds.min[axis], bounds.max[axis]];
            // Round bodies are drawn with corners on them, which stay inside by a hundredth of their radius.
            assert!((f64::from(low) - expected[0]).abs() < 0.3, "{}: {low}, not {expected:?}", body.name);
            assert!((f64::from(high) - expected[1]).abs() < 0.3, "{}: {high}, not {expected:?}", body.name);
        }
    }
    let chain = desk.chain().unwrap();
    for part in &chain.parts {
        let name = &desk.catalog().fitting(&part.fitting).unwrap().name;
        assert!(places.contains_key(name), "{name} is missing");
    }
}

fn shot(view: View) -> Shot {
    Shot { view, size: SIZE, parallel: true, close: false, show: Show { names: false, ..Show::default() } }
}

/// The demo with its first gap solved, or `None` where nothing can draw.
fn demo() -> Option<Desk> {
    if let Err(why) = driver() {
        assert!(std::env::var_os("CI").is_none(), "{why}");
        // Past the capture of the test harness, so that it is seen.
        let told = format!("\n*** SKIPPED, nothing was drawn: {why}\n\n");
        std::io::stderr().write_all(told.as_bytes()).unwrap();
        return None;
    }
    let mut desk = Desk::open(None, &[], Asked { want: 1, ..Asked::default() }).unwrap();
    choose(&mut desk, Some(("reservoir.outlet", "pump.inlet")), Some(1)).unwrap();
    Some(desk)
}

fn check(name: &str, found: &RgbImage) {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/pictures");
    let path = folder.join(format!("{name}.png"));
    if std::env::var_os("UPDATE_PICTURES").is_some() {
        write(found, &path).unwrap();
        return;
    }
    let stored = image::open(&path).unwrap_or_else(|why| panic!("{}: {why}", path.display())).to_rgb8();
    assert_eq!(found.dimensions(), stored.dimensions(), "{name}");
    let unlike = unlike(found, &stored);
    if !unlike.is_nothing() {
        let other = std::env::temp_dir().join(format!("{name}.png"));
        write(found, &other).unwrap();
        panic!("{name} differs: {unlike:?}; see {}", other.display());
    }
}

/// Something is in one picture and not in the other, and that does not go unnoticed.
fn check_seen(what: &str, with: &RgbImage, without: &RgbImage) {
    let unlike = unlike(with, without);
    assert!(!unlike.is_nothing(), "{what} went unnoticed: {unlike:?}");
}
