//! The panels with synthetic pointer and keys, without Bevy, a window or a graphics card.

use super::{Panels, show};
use crate::desk::{
    Asked, Desk, GapState, NearChoice, labels,
    playback::Show,
    view::{Axis, Background, Section},
};
use egui::accesskit::Role;
use egui_kittest::{
    Harness,
    kittest::{NodeT as _, Queryable as _},
};
use elbowroom::catalog::Catalog;
use std::{sync::OnceLock, time::Duration};

struct Window {
    desk: Desk,
    panels: Panels,
    free: egui::Rect,
}

fn window(desk: Desk) -> Harness<'static, Window> {
    window_of(desk, [1280.0, 800.0])
}

fn window_of(desk: Desk, size: [f32; 2]) -> Harness<'static, Window> {
    let state = Window { desk, panels: Panels::default(), free: egui::Rect::NOTHING };
    let mut harness = Harness::builder().with_size(size).build_ui_state(
        |ui, window: &mut Window| {
            window.desk.poll();
            window.free = show(ui, &mut window.desk, &mut window.panels);
        },
        state,
    );
    harness.run();
    harness
}

/// The demo with everything solved: found out once for all tests.
fn solved() -> Desk {
    static SOLVED: OnceLock<Vec<(usize, crate::desk::Solved)>> = OnceLock::new();
    let mut desk = unsolved();
    let answers = SOLVED.get_or_init(|| {
        let mut desk = unsolved();
        desk.solve();
        assert!(desk.wait(Duration::from_secs(3600)));
        (0..desk.layout().gaps().len()).filter_map(|gap| Some((gap, desk.solved(gap)?.clone()))).collect()
    });
    desk.know(answers);
    desk
}

fn unsolved() -> Desk {
    let (name, text) = elbowroom_catalog::DEMO;
    Desk::new(name, text, Catalog::builtin(), Asked::default()).expect("the demo is sound")
}

fn body(desk: &Desk, name: &str) -> elbowroom::layout::BodyId {
    desk.layout().bodies_by_id().find(|(_, body)| body.name == name).map(|(id, _)| id).expect("there")
}

#[test]
fn a_gap_and_a_chain_are_chosen_by_clicking() {
    let mut window = window(solved());
    window.get_by_label_contains("pump.outlet to filter.inlet").click();
    window.run();
    assert_eq!(window.state().desk.gap(), Some(1));
    window.get_by_label("chain 2").click();
    window.run();
    assert_eq!(window.state().desk.chosen_chain(), Some(1));
    window.get_by_label("Undo").click();
    window.run();
    assert_eq!(window.state().desk.chosen_chain(), Some(0));
}

#[test]
fn the_bar_plays_pauses_steps_and_scrubs() {
    let mut window = window(solved());
    window.get_by_label("Play").click();
    window.run();
    assert!(window.state().desk.playback().is_playing());
    assert_eq!(window.state().desk.playback().seconds(), 0.0);
    window.get_by_label("Pause").click();
    window.run();
    assert!(!window.state().desk.playback().is_playing());
    let stops = window.state().desk.stops();
    window.get_by_label("Next").click();
    window.run();
    assert_eq!(window.state().desk.playback().seconds(), stops[1]);
    window.get_by_label("moment").click();
    window.run();
    let playback = *window.state().desk.playback();
    assert!((playback.seconds() / playback.total() - 0.5).abs() < 0.1, "a click in the middle goes to the middle");
    window.get_by_label("Candidates").click();
    window.run();
    assert_eq!(window.state().desk.playback().show(), Show::Candidates);
}

#[test]
fn keys_do_what_the_list_says() {
    let mut window = window(solved());
    window.key_press(egui::Key::F1);
    window.run();
    for (key, what) in super::keys::KEYS {
        assert!(window.query_by_label(key).is_some() && window.query_by_label(what).is_some(), "{key}: {what}");
    }
    window.key_press(egui::Key::F1);
    window.run();
    assert!(window.query_by_label("this list").is_none());
    window.key_press(egui::Key::PageDown);
    window.run();
    assert_eq!(window.state().desk.gap(), Some(1));
    window.key_press(egui::Key::Num2);
    window.run();
    assert_eq!(window.state().desk.chosen_chain(), Some(1));
    window.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::Z);
    window.run();
    assert_eq!(window.state().desk.chosen_chain(), Some(0));
    window.key_press_modifiers(egui::Modifiers::COMMAND | egui::Modifiers::SHIFT, egui::Key::Z);
    window.run();
    assert_eq!(window.state().desk.chosen_chain(), Some(1));
    window.key_press(egui::Key::Space);
    window.run();
    assert!(window.state().desk.playback().is_playing());
}

#[test]
fn a_component_is_placed_by_steps_and_typed_numbers() {
    let mut desk = solved();
    let pump = body(&desk, "pump");
    desk.select(Some(pump));
    let mut window = window(desk);
    let place = |window: &Harness<'_, Window>| crate::desk::placing::place(window.state().desk.layout(), pump);
    window.get_by_label("x plus 0.5").click();
    window.run();
    assert_eq!(place(&window), Some([330.0, 4.5, 122.0]));
    window.get_by_label("z of component").click();
    window.run();
    window.get_by_label("z of component").type_text("121.3");
    window.key_press(egui::Key::Enter);
    window.run();
    assert_eq!(place(&window), Some([330.0, 4.5, 121.3]), "typed numbers are taken as they are");
    assert!(window.state().desk.is_changed());
    window.get_by_label("Undo").click();
    window.run();
    window.get_by_label("Undo").click();
    window.run();
    assert_eq!(place(&window), Some([329.5, 4.5, 122.0]));
}

#[test]
fn a_number_is_dragged_on_the_grid_and_is_one_change() {
    let mut desk = solved();
    let pump = body(&desk, "pump");
    desk.select(Some(pump));
    let mut window = window(desk);
    let field = window.get_by_label("x of component").rect().center();
    window.drag_at(field);
    window.step();
    for moved in 1..=30 {
        window.hover_at(field + egui::vec2(2.0 * moved as f32, 0.0));
        window.step();
    }
    let by = window.state().desk.dragged_by().expect("it is dragged");
    assert!(by[0] >= 2.0 && by[0] % 0.5 == 0.0, "{by:?}");
    window.drop_at(field + egui::vec2(60.0, 0.0));
    window.step();
    window.step();
    assert_eq!(window.state().desk.dragged(), None);
    let at = crate::desk::placing::place(window.state().desk.layout(), pump).expect("there");
    assert_eq!(at[0], 329.5 + by[0]);
    window.state_mut().desk.undo();
    assert_eq!(window.state().desk.undoes(), None, "one step takes it back");
}

#[test]
fn an_open_gap_says_what_comes_nearest_and_a_move_can_be_made() {
    let mut desk = solved();
    assert_eq!(desk.state(7), GapState::Nearly);
    desk.choose_gap(7);
    let mut window = window(desk);
    for (title, items) in labels::near_misses(&window.state().desk) {
        assert!(window.query_by_label(title).is_some(), "{title}");
        for item in items {
            assert!(window.query_by_label(&item).is_some(), "{item}");
        }
    }
    // What comes nearest is shown in the scene: the first move, until another is chosen.
    let choices = window.state().desk.near_choices();
    assert!(choices.len() > 1 && window.state().desk.near_choice() == Some(NearChoice::Move(0)), "{choices:?}");
    let second = labels::near_misses(&window.state().desk)
        .into_iter()
        .flat_map(|(title, items)| items.into_iter().map(move |item| (title, item)))
        .filter(|(title, _)| [labels::MOVES, labels::STIFF_MOVES].contains(title))
        .nth(1);
    let (title, item) = second.expect("there are two moves");
    window.get_by_label(&format!("show {}: {item}", title.to_lowercase())).click();
    window.run();
    assert_eq!(window.state().desk.near_choice(), Some(NearChoice::Move(1)));
    let by = window.state().desk.near().and_then(|near| near.by());
    let found = window.state().desk.solved(7).and_then(|solved| solved.report.near_misses.clone());
    assert_eq!(by, found.map(|near| near.found.moves[1].by));
    window.get_by_label("Move 1").click();
    window.step();
    assert_eq!(window.state().desk.near(), None, "those of before are none of the layout as it is");
    assert!(window.state().desk.is_changed());
    assert_eq!(window.state().desk.undoes(), Some("moving probe"));
}

#[test]
fn empty_states_are_in_words() {
    let mut desk = unsolved();
    let (head, _) = desk.text().split_once("    // In the order the coolant flows.").expect("the gaps");
    let without = format!("{head})\n");
    let none = Desk::new("no gaps", &without, Catalog::builtin(), Asked::default()).expect("sound");
    let window_without = window(none);
    assert!(window_without.query_by_label_contains("This layout lists no gaps").is_some());
    desk.choose_gap(2);
    let mut window = window(desk);
    assert!(window.query_by_label_contains("This gap is not solved").is_some());
    window.get_by_label("Solve").click();
    window.step();
    window.step();
    assert!(window.state().desk.progress().is_some());
    window.get_by_label("Stop").click();
    window.step();
    assert!(window.state().desk.progress().is_none());
}

#[test]
fn a_broken_file_is_shown_over_the_last_good_layout() {
    let mut desk = solved();
    let broken = desk.text().replacen("thickness: 3", "thickness: \"three\"", 1);
    desk.reload(&broken);
    let window = window(desk);
    assert!(window.query_by_label_contains("1 problem in").is_some());
    let place = window.state().desk.problems().and_then(|problems| problems.iter().next()).map(ToString::to_string);
    assert!(window.query_by_label(&place.expect("there is one")).is_some(), "file, line, column and what is wrong");
    assert!(window.query_by_label_contains("pump.outlet to filter.inlet").is_some());
}

#[test]
fn saving_asks_for_a_name_and_refuses_to_replace() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("boat.ron");
    std::fs::write(&path, "mine").expect("written");
    let mut window = window(solved());
    window.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::S);
    window.run();
    window.get_by_role(Role::TextInput).focus();
    window.run();
    window.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::A);
    window.run();
    window.get_by_role(Role::TextInput).type_text(&path.display().to_string());
    window.run();
    window.get_by_label("Save").click();
    window.run();
    assert!(window.query_by_label_contains("choose another name").is_some());
    assert_eq!(std::fs::read_to_string(&path).expect("there"), "mine");
    window.get_by_label("Replace the file if it exists").click();
    window.run();
    window.get_by_label("Save").click();
    window.run();
    assert_eq!(std::fs::read_to_string(&path).expect("there"), window.state().desk.text());
    assert!(window.query_by_label("Save this layout as").is_none());
}

#[test]
fn panels_leave_room_and_idle_costs_nothing() {
    let mut window = window(solved());
    let free = window.state().free;
    assert!(free.width() > 400.0 && free.height() > 500.0, "{free:?}");
    for (label, light) in [("Light", true), ("Dark", false)] {
        window.get_by_label(label).click();
        window.run();
        assert_eq!(window.state().desk.view_options().background == Background::Light, light);
    }
    window.get_by_label("A+").click();
    // `run` fails if the panels ask to be drawn again and again.
    assert!(window.run() < 6);
    assert!(window.state().desk.view_options().text_scale > 1.0);
    let revision = window.state().desk.revision();
    window.run();
    assert_eq!(window.state().desk.revision(), revision, "drawing changes nothing");
}

/// In a small window the scene keeps its room, and no button lies over another or out of the window.
#[test]
fn small_windows_have_room_for_everything() {
    for (size, least) in [([800.0, 600.0], 420.0), ([1240.0, 800.0], 480.0), ([1440.0, 900.0], 560.0)] {
        for selects in [false, true] {
            let mut desk = solved();
            if selects {
                let pump = body(&desk, "pump");
                desk.select(Some(pump));
                let section = Section { axis: Axis::X, at_mm: 120.0, keep_above: false };
                desk.look(|view| view.section = Some(section));
            }
            let mut window = window_of(desk, size);
            for unfolds in [None, Some("Chains"), Some("Gaps")] {
                if let Some(side) = unfolds.filter(|_| size[0] < 1_000.0) {
                    window.get_by_label(side).click();
                    window.run();
                }
                let free = window.state().free;
                assert!(free.width() >= least && free.height() >= 0.6 * size[1], "{size:?}: {free:?}");
                let buttons = [Role::Button, Role::CheckBox, Role::SpinButton, Role::ComboBox];
                let nodes = buttons.into_iter().flat_map(|role| window.query_all_by_role(role));
                // A list's entries, of several lines each, go on out of sight where it scrolls.
                let nodes =
                    nodes.filter(|node| node.accesskit_node().label().is_none_or(|label| !label.contains('\n')));
                let places: Vec<_> = nodes.map(|node| (node.accesskit_node().label(), node.rect())).collect();
                assert!(places.len() > 12, "{places:?}");
                for (index, (name, place)) in places.iter().enumerate() {
                    // What a list scrolls out of sight stays under its edge.
                    let seen = place.intersect(egui::Rect::from_min_size(egui::Pos2::ZERO, size.into()));
                    assert!(
                        seen.width() + 0.5 >= place.width(),
                        "{size:?}: {name:?} at {place:?} is out of the window"
                    );
                    for (other, beside) in &places[index + 1..] {
                        let over = place.intersect(*beside);
                        assert!(over.width() < 1.0 || over.height() < 1.0, "{size:?}: {name:?} lies over {other:?}");
                    }
                }
            }
        }
    }
}

#[test]
fn saying_that_something_is_not_saved_moves_nothing() {
    let mut desk = solved();
    let pump = body(&desk, "pump");
    desk.select(Some(pump));
    let mut window = window_of(desk, [800.0, 600.0]);
    let place = |window: &Harness<'_, Window>| {
        ["Save as…", "Redo", "Names", "Keys"].map(|name| window.get_by_label(name).rect())
    };
    let before = place(&window);
    assert!(window.query_by_label("not saved").is_none());
    window.get_by_label("x plus 0.5").click();
    window.step();
    window.step();
    assert!(window.query_by_label("not saved").is_some());
    assert_eq!(place(&window), before);
}

/// The chain that the solver took is not said to be taken once another one is chosen, and what clashes is said.
#[test]
fn what_is_said_of_chains_side_by_side_is_about_those_that_are_chosen() {
    let part = |name: &str, y: f64, z: f64, facing: &str, towards: f64| {
        format!(
            "(name: \"{name}\", at: (0, {y}, {z}), solids: [(shape: box(size: (4, 4, 4)), at: (0, 0, {towards}))], \
             ports: [(name: \"p\", at: (0, 0, 0), facing: \"{facing}\", thread: \"G 1/4\", thread_length_mm: 7, \
             seat_mm: 20)]),"
        )
    };
    // Two gaps side by side whose straight chains leave no room for each other.
    let ends = [
        ("a", 0.0, 0.0, "+z", -2.0),
        ("b", 0.0, 30.0, "-z", 2.0),
        ("c", 14.0, 0.0, "+z", -2.0),
        ("d", 14.0, 30.0, "-z", 2.0),
    ];
    let parts: String = ends.map(|(name, y, z, facing, towards)| part(name, y, z, facing, towards)).concat();
    let text = format!(
        "(version: 1, name: \"pairs\", components: [{parts}], gaps: [(from: \"a.p\", to: \"b.p\"), (from: \"c.p\", to: \"d.p\")])"
    );
    let asked = Asked { max_parts: 2, ..Asked::default() };
    let mut desk = Desk::new("pairs.ron", &text, Catalog::builtin(), asked).expect("sound");
    desk.solve();
    assert!(desk.wait(Duration::from_secs(3600)));
    let clash = labels::clash(&desk, 0).expect("14 mm is too near");
    assert!(clash.contains("the chain of gap 2 overlap by"), "{clash}");
    assert!(desk.clashes(0).iter().all(|clash| clash.gap == 1 && clash.mm < 0.0));
    let taken = labels::side_by_side(&desk).expect("two gaps");
    desk.choose_chain(1);
    let chosen = labels::side_by_side(&desk).expect("two gaps");
    assert!(
        taken.starts_with("NOT TOGETHER: the best chains") && chosen.starts_with("NOT TOGETHER: the chains chosen"),
        "{chosen}"
    );
    let window = window(desk);
    assert!(window.query_by_label(&chosen).is_some() && window.query_by_label(&taken).is_none());
    assert!(window.query_by_label("chain 1, stands in the way of another gap").is_some());
}

#[test]
fn a_state_is_said_with_what_makes_it_less_than_it_seems() {
    let mut desk = solved();
    let few = (0..10).filter_map(|gap| Some((gap, labels::few_builds(&desk, gap)?)));
    let (gap, few) = few.into_iter().next().expect("one chain of the demo closes in few builds");
    let share = desk.solved(gap).map(|solved| solved.report.slack[desk.chosen_of(gap).unwrap_or(0)].share.share);
    assert!(share.is_some_and(|share| share < 0.8 && few.contains(&format!("{:.0} of 100", share * 100.0))), "{few}");
    desk.choose_gap(0);
    let along = labels::slack_along_axes(&desk).expect("a chain");
    assert!(["x by ", "y by ", "z by "].iter().all(|axis| along.contains(axis)), "{along}");
    let window = window(desk);
    assert!(window.query_by_label_contains(&few).is_some());
    assert!(window.query_by_label_contains("move `probe`").is_some(), "what opens a gap that is nearly bridged");
    assert!(window.query_by_label(&along).is_some());
}

#[test]
fn every_collar_to_aim_is_drawn() {
    let mut desk = solved();
    let aims = |desk: &Desk| labels::aims(desk).len();
    let gap = (0..10).find(|gap| {
        desk.choose_gap(*gap);
        aims(&desk) >= 2
    });
    assert!(gap.is_some(), "a chain with two bends");
    let parts: Vec<String> = desk
        .parts()
        .iter()
        .enumerate()
        .filter(|(_, part)| part.aim.is_some())
        .filter_map(|(index, part)| Some(format!("part {} turned {}°", index + 1, labels::turn(part.turn_deg?))))
        .collect();
    let window = window(desk);
    for part in parts {
        assert!(window.query_by_label_contains(&part).is_some(), "{part}");
    }
}

/// Every body in the way is in the table, with the figures of the solver.
#[test]
fn what_is_in_the_way_stands_in_a_table() {
    let text = r#"(version: 1, name: "Wall", components: [
        (name: "low", at: (0, 0, 0), solids: [(shape: box(size: (24, 24, 10)), at: (0, 0, -5))], ports: [(name: "p",
            at: (0, 0, 0), facing: "+z", thread: "G 1/4", thread_length_mm: 7, seat_mm: 20)]),
        (name: "high", at: (0, 0, 30), solids: [(shape: box(size: (24, 24, 10)), at: (0, 0, 5))], ports: [(name: "p",
            at: (0, 0, 0), facing: "-z", thread: "G 1/4", thread_length_mm: 7, seat_mm: 20)]),
        (name: "wall", at: (0, 0, 15), solids: [(shape: box(size: (300, 300, 2)))]),
    ], gaps: [(from: "low.p", to: "high.p")])"#;
    let asked = Asked { max_parts: 2, ..Asked::default() };
    let mut desk = Desk::new("wall.ron", text, Catalog::builtin(), asked).expect("sound");
    desk.solve();
    assert!(desk.wait(Duration::from_secs(3600)));
    let rows = labels::blocker_rows(&desk);
    assert!(rows.iter().any(|row| row[0] == "wall"), "{rows:?}");
    assert_eq!(rows.len(), desk.blockers().len());
    desk.choose_near(NearChoice::InTheWay);
    let subject = crate::follow::Followed::default().subject(&desk);
    let marks = crate::scene::marks::marks(&subject);
    assert_eq!(marks.get("wall"), Some(&crate::scene::marks::Mark::InTheWay), "it is hatched in the scene");
    let window = window(desk);
    for cell in rows.iter().flatten() {
        assert!(window.query_all_by_label(cell).count() > 0, "{cell}");
    }
}
