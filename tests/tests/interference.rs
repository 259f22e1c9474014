//! The interference check against closed forms that know nothing of it: upright boxes, whose overlap is that of
//! intervals, and balls, whose distance is that of their centres.

use elbowroom::{
    catalog::Catalog,
    geometry::{State, TOUCHING_MM},
    interference::{Interference, Meeting, check},
    layout::Layout,
};
use rand::{Rng, SeedableRng, rngs::SmallRng};
use std::fmt::Write as _;

/// The accuracy that the separation of solids states, with a little to spare.
const ACCURACY_MM: f64 = 1e-4;

#[derive(Clone, Copy, Debug)]
struct Block {
    at: [f64; 3],
    size: [f64; 3],
}

impl Block {
    fn random(random: &mut SmallRng) -> Self {
        Self {
            at: std::array::from_fn(|_| random.random_range(0.0..100.0)),
            size: std::array::from_fn(|_| random.random_range(1.0..40.0)),
        }
    }

    /// For each axis, how far this block must move up and down along it to free `other`; negative where apart.
    fn moves(&self, other: &Self) -> [[f64; 2]; 3] {
        std::array::from_fn(|axis| {
            let reach = (self.size[axis] + other.size[axis]) / 2.0;
            let ahead = other.at[axis] - self.at[axis];
            [reach + ahead, reach - ahead]
        })
    }

    /// Signed distance: in overlap the least move, apart the distance of the nearest points.
    fn signed_mm(&self, other: &Self) -> f64 {
        let depths = self.moves(other).map(|[up, down]| up.min(down));
        let least = depths.into_iter().fold(f64::INFINITY, f64::min);
        if least > 0.0 { -least } else { depths.map(|depth| depth.min(0.0).powi(2)).iter().sum::<f64>().sqrt() }
    }
}

fn machine(components: &str, panels: &str) -> Interference {
    let text = format!(
        "#![enable(implicit_some)]\n(version: 1, name: \"Test\", panels: [{panels}], components: [{components}], \
         allowances: (clearance_mm: 2))"
    );
    let layout = Layout::parse(&text, "test.ron", &Catalog::builtin()).unwrap_or_else(|problems| {
        panic!("{}", problems.render(false));
    });
    check(&layout)
}

fn triple([x, y, z]: [f64; 3]) -> String {
    format!("({x:?}, {y:?}, {z:?})")
}

fn find<'a>(found: &'a Interference, a: &str, b: &str) -> Option<&'a Meeting> {
    found.meetings.iter().find(|meeting| meeting.a == a && meeting.b == b)
}

#[test]
fn upright_boxes_meet_as_their_intervals_do() {
    let mut random = SmallRng::seed_from_u64(7);
    let (mut overlaps, mut tight, mut apart) = (0, 0, 0);
    for _ in 0..20 {
        let blocks: Vec<_> = (0..20).map(|_| Block::random(&mut random)).collect();
        let mut text = String::new();
        for (index, block) in blocks.iter().enumerate() {
            let (at, size) = (triple(block.at), triple(block.size));
            let _ = write!(text, "(name: \"b{index}\", solids: [(shape: box(size: {size}))], at: {at}),");
        }
        let found = machine(&text, "");
        for (index, a) in blocks.iter().enumerate() {
            for (other, b) in blocks.iter().enumerate().skip(index + 1) {
                let expected = a.signed_mm(b);
                let meeting = find(&found, &format!("b{index}"), &format!("b{other}"));
                if expected > 2.0 {
                    apart += 1;
                    assert_eq!(meeting, None, "{a:?} {b:?}");
                    continue;
                }
                let meeting = meeting.unwrap_or_else(|| panic!("missed {a:?} {b:?}"));
                let signed_mm = meeting.worst.separation.signed_mm;
                assert!((signed_mm - expected).abs() < ACCURACY_MM, "{signed_mm}, not {expected}: {a:?} {b:?}");
                if expected > TOUCHING_MM {
                    tight += 1;
                    assert_eq!((meeting.state(), &meeting.moves), (State::Clear, &None));
                    continue;
                }
                if expected > -TOUCHING_MM {
                    assert_eq!((meeting.state(), &meeting.moves), (State::Touching, &None));
                    continue;
                }
                overlaps += 1;
                let moves = meeting.moves.unwrap_or_else(|| panic!("no moves for {a:?} {b:?}"));
                for (move_, expected) in moves.iter().zip(a.moves(b).into_iter().flatten()) {
                    assert!((move_.mm - expected).abs() < ACCURACY_MM, "{move_:?}, not {expected}: {a:?} {b:?}");
                }
            }
        }
        let depths: Vec<_> = found.meetings.iter().map(|meeting| meeting.worst.separation.signed_mm).collect();
        assert!(depths.is_sorted(), "not worst first: {depths:?}");
        assert_eq!(found.fits(), found.overlaps().count() == 0);
    }
    assert!(overlaps > 100 && tight > 20 && apart > 1000, "{overlaps} {tight} {apart}");
}

#[test]
fn a_body_of_several_solids_is_as_near_as_its_nearest_and_freed_of_all() {
    // A bracket of two balls under a ball: 10 + 10 mm of radii, centres 15 and 18 mm apart.
    let bracket = "(name: \"bracket\", solids: [
        (shape: sphere(diameter: 20), at: (-30, 0, 0)), (shape: sphere(diameter: 20), at: (30, 0, 0))], at: (0, 0, 0)),
        (name: \"bar\", solids: [
        (shape: sphere(diameter: 20), at: (-30, 0, 15)), (shape: sphere(diameter: 20), at: (30, 0, 18))], at: (0, 0, 0))";
    let found = machine(bracket, "");
    let meeting = find(&found, "bracket", "bar").unwrap();
    assert!((meeting.worst.separation.signed_mm + 5.0).abs() < ACCURACY_MM);
    assert_eq!(meeting.overlapping.len(), 2);
    assert_eq!((meeting.overlapping[0].a, meeting.overlapping[0].b), (0, 0));
    // Down by 5 mm frees both; sideways the deeper pair needs the square root of 20² - 15².
    let down = meeting.moves.unwrap()[5];
    assert!((down.mm - 5.0).abs() < ACCURACY_MM, "{down:?}");
    let sideways = meeting.moves.unwrap()[2];
    assert!((sideways.mm - 175.0_f64.sqrt()).abs() < ACCURACY_MM, "{sideways:?}");
}

#[test]
fn states_are_told_apart() {
    let pair = |x: f64, diameter: f64| {
        let text = format!(
            "(name: \"a\", solids: [(shape: sphere(diameter: 20))], at: (0, 0, 0)),
             (name: \"b\", solids: [(shape: sphere(diameter: {diameter:?}))], at: ({x:?}, 0, 0))"
        );
        machine(&text, "").meetings.first().map(Meeting::state)
    };
    assert_eq!(pair(2.0, 10.0), Some(State::Inside));
    assert_eq!(pair(12.0, 10.0), Some(State::Overlapping));
    assert_eq!(pair(15.0, 10.0), Some(State::Touching));
    assert_eq!(pair(15.5, 10.0), Some(State::Clear));
    assert_eq!(pair(17.5, 10.0), None);
}

#[test]
fn covers_name_the_component_that_comes_nearest() {
    let panels = "(name: \"top\", at: (0, 0, 60), facing: \"+z\", size: (300, 300), thickness: 2, removable: true),
                  (name: \"floor\", at: (0, 0, 0), facing: \"-z\", size: (300, 300), thickness: 2)";
    let component = |name: &str, x: f64, height: f64| {
        let size = triple([20.0, 20.0, height]);
        format!(
            "(name: \"{name}\", solids: [(shape: box(size: {size}), at: (0, 0, {:?}))], at: ({x:?}, 0, 0)),",
            height / 2.0
        )
    };
    let low_and_high = component("low", -50.0, 30.0) + &component("high", 0.0, 55.2);
    let found = machine(&low_and_high, panels);
    let [cover] = &found.covers[..] else { panic!("{:?}", found.covers) };
    assert_eq!((cover.cover.as_str(), cover.component.as_str()), ("top", "high"));
    assert!((cover.separation.signed_mm - 4.8).abs() < ACCURACY_MM);
    assert_eq!(found.touching().count(), 2, "both stand on the floor");
    assert!(found.fits());

    let too_high = machine(&(low_and_high + &component("too high", 50.0, 61.5)), panels);
    assert_eq!(too_high.covers[0].component, "too high");
    assert!((too_high.covers[0].separation.signed_mm + 1.5).abs() < ACCURACY_MM);
    assert!(!too_high.fits());
}

#[test]
fn panels_are_not_held_against_panels() {
    let panels = "(name: \"top\", at: (0, 0, 60), facing: \"+z\", size: (300, 300), thickness: 2),
                  (name: \"side\", at: (100, 0, 60), facing: \"+x\", size: (300, 300), thickness: 2)";
    assert_eq!(machine("", panels).meetings, []);
}

#[test]
fn a_hole_lets_a_component_through() {
    let pipe = "(name: \"pipe\", solids: [(shape: cylinder(diameter: 18, length: 60))], at: (0, 0, 0))";
    let panel = |holes: &str| {
        format!("(name: \"wall\", at: (0, 0, 0), facing: \"+z\", size: (100, 100), thickness: 2, holes: [{holes}])")
    };
    assert!(!machine(pipe, &panel("")).fits());
    assert!(machine(pipe, &panel("(at: (0, 0), diameter: 24)")).fits());
}

#[test]
fn ports_with_little_room_are_noted() {
    let port = "(name: \"out\", at: (10, 0, 0), facing: \"+x\", thread: \"G 1/4\", thread_length_mm: 8, seat_mm: 18)";
    let far = "(name: \"in\", at: (-10, 0, 0), facing: \"-x\", thread: \"G 1/4\", thread_length_mm: 8, seat_mm: 18)";
    let found = |wall_at: [f64; 3]| {
        let text = format!(
            "#![enable(implicit_some)]\n(version: 1, name: \"Test\", components: [
             (name: \"pump\", solids: [(shape: box(size: (20, 20, 20)))], ports: [{port}], at: (0, 0, 0)),
             (name: \"wall\", solids: [(shape: box(size: (4, 10, 10)))], at: {}),
             (name: \"filter\", solids: [(shape: box(size: (20, 20, 20)))], ports: [{far}], at: (200, 0, 0))],
             gaps: [(from: \"pump.out\", to: \"filter.in\")])",
            triple(wall_at)
        );
        let layout = Layout::parse(&text, "test.ron", &Catalog::builtin()).unwrap();
        check(&layout).ports
    };
    // A wall 4 mm thick whose middle is 18 mm ahead leaves 16 - 10 mm.
    let [room] = &found([18.0, 0.0, 0.0])[..] else { panic!("one port is obstructed") };
    assert_eq!((room.port.as_str(), room.body.as_str()), ("pump.out", "wall"));
    assert!((room.free_mm - 6.0).abs() < 0.02, "{room:?}");
    // Far enough ahead; and beside a thread of 13.157 mm diameter: 5 + 6.6 mm.
    assert_eq!(found([23.0, 0.0, 0.0]), []);
    assert_eq!(found([18.0, 11.7, 0.0]), []);
    assert_eq!(found([18.0, 11.4, 0.0]).len(), 1);
    // A wall that touches the port leaves nothing.
    let [none] = &found([12.0, 0.0, 0.0])[..] else { panic!("one port is covered") };
    assert_eq!((none.body.as_str(), none.free_mm), ("wall", 0.0));
}

/// Moving what carries something frees it of nothing that it carries: there the move is that of what is carried.
#[test]
fn what_is_mounted_is_moved_off_what_carries_it() {
    let pair = |more: &str| {
        let components = format!(
            r#"(name: "radiator", solids: [(shape: box(size: (40, 10, 40)))], at: (0, 0, 0)),
               (name: "frame", solids: [(shape: box(size: (2, 2, 2)))], at: (0, 90, 0), mounted_on: "radiator"),
               (name: "fan", solids: [(shape: box(size: (40, 10, 40)))], at: (0, 8, 0), {more}),"#
        );
        let found = machine(&components, "");
        let [meeting] = &found.meetings[..] else { panic!("{found:?}") };
        let along_y = meeting.moves.as_ref().map(|moves| [moves[2].mm, moves[3].mm]);
        (meeting.a.clone(), along_y.expect("they overlap"))
    };
    let near =
        |found: [f64; 2], expected: [f64; 2]| found.iter().zip(expected).all(|(a, b)| (a - b).abs() < ACCURACY_MM);
    let (moved, along_y) = pair("");
    assert!(moved == "radiator" && near(along_y, [18.0, 2.0]), "{moved} {along_y:?}");
    for carrier in ["radiator", "frame"] {
        let (moved, along_y) = pair(&format!("mounted_on: \"{carrier}\""));
        assert!(moved == "fan" && near(along_y, [2.0, 18.0]), "{moved} {along_y:?}");
    }
}
