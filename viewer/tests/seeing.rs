//! The chain that is looked at is seen: the eye turns to it, what still stands before it is faded, and a section takes the
//! labels of what it cuts away.

use crate::program::Program;
use bevy::prelude::*;
use elbowroom_viewer::{
    app::DeskResource,
    desk::{Asked, Desk, Stage},
    follow::Followed,
    look::{
        Section, Show,
        camera::Watch,
        eye::{Eye, View},
        seeing::{in_front, places},
    },
    scene::{Item, Troupe, cast::cast, drawings::Drawings, joints, notes::notes},
};
use std::{collections::BTreeSet, time::Duration};

/// Everything that stands before the chain that is looked at, seen from an eye.
fn before_chain(program: &Program, eye: &Eye) -> BTreeSet<Item> {
    let actors = program.app.world().resource::<Troupe>().actors();
    assert!(!places(&actors).is_empty(), "there is something to see");
    in_front(eye, &actors, None)
}

#[test]
fn the_chain_that_is_looked_at_is_never_hidden() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut program = Program::demo(folder.path());
    program.solved();
    program.updates(6);
    let mut at_first = program.app.world().resource::<Watch>().0;
    at_first.look_from(View::Isometric);
    at_first.fit(program.app.world().resource::<Troupe>().bounds().expect("a machine"), 1.0);
    assert!(!before_chain(&program, &at_first).is_empty(), "the chain of gap 1 is not seen from where the eye begins");
    let gaps = program.desk().layout().gaps().len();
    let mut turned = 0;
    for gap in 0..gaps {
        assert_eq!(program.desk().gap(), Some(gap));
        let eye = program.app.world().resource::<Watch>().0;
        let faded = &program.app.world().resource::<Show>().faded;
        let hides = before_chain(&program, &eye);
        assert!(hides.is_subset(faded), "gap {}: {hides:?} stand before it, {faded:?} are faded", gap + 1);
        let looks = program.app.world().resource::<Troupe>().actors();
        for actor in looks.iter().filter(|actor| hides.contains(&actor.item)) {
            assert!(actor.look.faded, "{} hides the chain of gap {}", actor.name, gap + 1);
        }
        let side = |eye: &Eye| [eye.heading, eye.elevation];
        turned += usize::from(side(&eye) != side(&at_first));
        program.key(KeyCode::PageDown, &[]);
        program.updates(6);
    }
    assert!(turned > 0, "the eye turns");
    // What whoever sits before the screen turns it to afterwards is left so.
    program.key(KeyCode::KeyT, &[]);
    let top = program.app.world().resource::<Watch>().0;
    program.updates(6);
    assert_eq!(program.app.world().resource::<Watch>().0, top);
    let hides = before_chain(&program, &top);
    assert!(hides.is_subset(&program.app.world().resource::<Show>().faded), "{hides:?}");
}

#[test]
fn a_section_takes_the_labels_of_what_it_cuts_away() {
    let (name, text) = elbowroom_catalog::DEMO;
    let mut desk = Desk::new(name, text, elbowroom::catalog::Catalog::builtin(), Asked::default()).expect("sound");
    desk.solve();
    assert!(desk.wait(Duration::from_secs(3600)));
    let subject = Followed::default().subject(&desk);
    let stage = Stage::home(desk.chain());
    let written = |section: Option<Section>| {
        let show = Show { section, ..Show::default() };
        let actors = cast(&subject, &stage, &show, &mut Drawings::default());
        notes(&subject, &stage, &actors.iter().collect::<Vec<_>>(), &show)
    };
    let whole = written(None);
    let clearance = whole.iter().find(|note| note.line.is_some()).expect("the least clearance is dimensioned");
    for flipped in [false, true] {
        let section = Section { axis: 0, at_mm: clearance.at.x - if flipped { -1.0 } else { 1.0 }, flipped };
        let left = written(Some(section));
        assert!(!left.contains(clearance), "the clearance of a chain that is cut away");
        assert!(left.len() < whole.len() && !left.is_empty());
        for note in left {
            let spots = note.named.map_or_else(|| vec![note.at], |(_, spots)| spots);
            assert!(!spots.is_empty() && spots.iter().all(|at| section.cut().beyond(*at) <= 0.0), "{}", note.text);
        }
    }
}

/// Whoever turns the view before the eye has turned to a chain keeps the side that was chosen.
#[test]
fn a_side_that_was_chosen_meanwhile_is_kept() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut program = Program::demo(folder.path());
    program.solved();
    program.updates(6);
    let choose = |program: &mut Program, gap| {
        program.app.world_mut().resource_mut::<DeskResource>().0.choose_gap(gap);
        program.updates(1);
    };
    let side = |program: &Program| {
        let eye = program.app.world().resource::<Watch>().0;
        [eye.heading, eye.elevation]
    };
    // In the frame after a gap is chosen the eye turns; unless a key turns it first.
    choose(&mut program, 2);
    program.key(KeyCode::KeyT, &[]);
    program.updates(6);
    let (heading, elevation) = View::Top.angles();
    assert_eq!(side(&program), [heading, elevation]);
}

/// While a chain is made up, the joint that stands open is ringed and measured; the finished chain has none.
#[test]
fn the_open_joint_stands_out() {
    let (name, text) = elbowroom_catalog::DEMO;
    let mut desk = Desk::new(name, text, elbowroom::catalog::Catalog::builtin(), Asked::default()).expect("sound");
    desk.solve();
    assert!(desk.wait(Duration::from_secs(3600)));
    let subject = Followed::default().subject(&desk);
    let chain = desk.chain().expect("gap 1 is bridged");
    assert!(joints::open(&subject, &Stage::home(Some(chain))).is_empty(), "everything is tight");
    let timeline = desk.timeline();
    assert!(timeline.is_proven());
    let mut seen = BTreeSet::new();
    for step in 0..100 {
        let stage = timeline.at(timeline.seconds() * f64::from(step) / 100.0);
        let actors = cast(&subject, &stage, &Show::default(), &mut Drawings::default());
        for open in joints::open(&subject, &stage) {
            assert!(actors.iter().any(|actor| actor.item == Item::Joint(open.joint)), "it is drawn");
            let notes = notes(&subject, &stage, &actors.iter().collect::<Vec<_>>(), &Show::default());
            assert!(notes.iter().any(|note| note.text.starts_with("open by ") && note.at == open.middle()), "{open:?}");
            seen.insert(open.joint);
        }
    }
    assert!(!seen.is_empty() && seen.iter().all(|joint| *joint <= chain.parts.len()), "{seen:?}");
}

/// The zero of a port is drawn where the layout's mark is: turns are counted from there.
#[test]
fn turns_are_counted_from_the_mark_of_the_port() {
    let text = r#"(version: 1, name: "Mark", components: [
        (name: "low", at: (0, 0, 0), solids: [(shape: box(size: (24, 24, 10)), at: (0, 0, -5))], ports: [(name: "p",
            at: (0, 0, 0), facing: "+z", mark: "-y", thread: "G 1/4", thread_length_mm: 7, seat_mm: 20)]),
        (name: "high", at: (0, 0, 30), solids: [(shape: box(size: (24, 24, 10)), at: (0, 0, 5))], ports: [(name: "p",
            at: (0, 0, 0), facing: "-z", thread: "G 1/4", thread_length_mm: 7, seat_mm: 20)]),
    ], gaps: [(from: "low.p", to: "high.p")])"#;
    let catalog = elbowroom::catalog::Catalog::builtin();
    let desk = Desk::new("mark.ron", text, catalog, Asked::default()).expect("sound");
    let subject = Followed::default().subject(&desk);
    let actors = cast(&subject, &Stage::default(), &Show::default(), &mut Drawings::default());
    let zeros: Vec<Vec3> = actors.iter().filter_map(joints::zero_at).collect();
    assert_eq!(zeros.len(), 2, "one at each port of the gap");
    assert!(zeros[0].y < -10.0 && zeros[0].x.abs() < 1e-3, "towards -y: {}", zeros[0]);
    // The axis of the component most nearly square to the port, x before y, where no mark is stated.
    assert!(zeros[1].x > 10.0 && zeros[1].y.abs() < 1e-3, "towards +x: {}", zeros[1]);
    let notes = notes(&subject, &Stage::default(), &actors.iter().collect::<Vec<_>>(), &Show::default());
    assert!(notes.iter().any(|note| note.text == "zero" && note.at.distance(zeros[0]) < 1e-3));
}
