use super::{LONG, body, pump_corner};
use crate::desk::{Desk, placing::place};

#[test]
fn a_moved_component_keeps_the_rest_of_the_file() {
    let mut desk = pump_corner();
    let before = desk.text().to_owned();
    let pump = body(&desk, "pump");
    desk.place(pump, [332.5, 4.5, 122.0]).expect("there is room on paper");
    assert_eq!(place(desk.layout(), pump), Some([332.5, 4.5, 122.0]));
    assert_eq!(desk.text(), before.replace("at: (329.5, 4.5, 122)", "at: (332.5, 4.5, 122)"));
    assert!(desk.is_changed());
    assert_eq!(desk.undoes(), Some("moving pump"));
    assert!(!desk.is_fresh(0), "the answers are those of before");
    assert!(desk.wait(LONG));
    assert!(desk.is_fresh(0) && desk.is_fresh(1));
}

#[test]
fn chains_stand_where_both_of_their_ports_still_do() {
    let mut desk = pump_corner();
    let stands = |desk: &Desk| [0, 1].map(|gap| desk.standing_chain(gap).is_some());
    assert_eq!(stands(&desk), [true, true]);
    // The filter is at one end of the second gap alone.
    let filter = body(&desk, "filter");
    let [x, y, z] = place(desk.layout(), filter).expect("a component");
    desk.place(filter, [x - 0.5, y, z]).expect("there is room on paper");
    desk.cancel();
    assert_eq!(stands(&desk), [true, false], "the old answers, in the machine as it is now");
    desk.undo();
    assert_eq!(stands(&desk), [true, true]);
}

#[test]
fn undo_brings_everything_back_and_redo_does_it_again() {
    let mut desk = pump_corner();
    let (text, chains) = (desk.text().to_owned(), desk.solved(0).map(|solved| solved.report.clone()));
    let pump = body(&desk, "pump");
    desk.place(pump, [332.5, 4.5, 122.0]).expect("moved");
    desk.turn(pump, 90.0).expect("turned");
    let turned = desk.text().to_owned();
    assert!(turned.contains("front:"), "{turned}");
    desk.undo();
    desk.undo();
    assert_eq!(desk.text(), text);
    assert!(!desk.is_changed());
    assert_eq!(desk.solved(0).map(|solved| solved.report.clone()), chains);
    assert!(desk.is_fresh(0), "what was known of this layout is still known");
    assert_eq!((desk.undoes(), desk.redoes()), (None, Some("moving pump")));
    desk.redo();
    desk.redo();
    assert_eq!(desk.text(), turned);
}

#[test]
fn choosing_a_chain_is_undone_as_well() {
    let mut desk = pump_corner();
    assert_eq!(desk.chosen_chain(), Some(0));
    desk.choose_chain(1);
    assert_eq!((desk.chosen_chain(), desk.undoes()), (Some(1), Some("choosing chain 2")));
    let chosen = desk.chain().cloned();
    assert_eq!(desk.chain_of(0), chosen.as_ref());
    desk.undo();
    assert_eq!(desk.chosen_chain(), Some(0));
    desk.redo();
    assert_eq!(desk.chain(), chosen.as_ref());
    desk.choose_chain(99);
    assert_eq!(desk.chosen_chain(), Some(1), "there is no such chain");
}

#[test]
fn dragging_follows_the_grid_and_the_gaps_follow_the_component() {
    let mut desk = pump_corner();
    let pump = body(&desk, "pump");
    assert!(!desk.begin_drag(body(&desk, "floor")), "panels stay");
    assert!(desk.begin_drag(pump));
    desk.drag_to([0.1, 0.0, 0.0]);
    assert_eq!(desk.dragged_by(), Some([0.0; 3]), "less than half a step");
    desk.drag_to([2.9, 0.2, 0.0]);
    assert_eq!(desk.dragged_by(), Some([3.0, 0.0, 0.0]));
    assert_eq!(place(desk.layout(), pump), Some([332.5, 4.5, 122.0]));
    assert!(desk.wait(LONG));
    let solved = desk.solved(0).expect("the gap touches the pump");
    assert!(solved.quick && solved.ranked().len() <= 1);
    assert!(desk.is_fresh(0) && desk.is_fresh(1));
    assert!(!desk.is_changed(), "nothing is written before it is let go");
    desk.end_drag().expect("let go");
    assert!(desk.is_changed());
    assert!(desk.wait(LONG));
    let in_full = desk.solved(0).expect("solved");
    assert!(!in_full.quick);
    desk.undo();
    assert_eq!(place(desk.layout(), pump), Some([329.5, 4.5, 122.0]));
}

#[test]
fn the_quick_answer_is_the_best_of_the_full_one() {
    let mut desk = pump_corner();
    let before = [0, 1].map(|gap| desk.chain_of(gap).map_or(0, |chain| chain.parts.len()));
    let pump = body(&desk, "pump");
    desk.begin_drag(pump);
    desk.drag_to([1.0, 0.0, 0.0]);
    assert!(desk.wait(LONG));
    let quick = [0, 1].map(|gap| desk.chain_of(gap).cloned());
    desk.end_drag().expect("let go");
    assert!(desk.wait(LONG));
    let ids =
        |chain: &elbowroom::bridge::Chain| -> Vec<_> { chain.parts.iter().map(|part| part.fitting.clone()).collect() };
    let mut found = 0;
    for ((gap, quick), before) in quick.iter().enumerate().zip(before) {
        let full = desk.chain_of(gap);
        match quick {
            Some(quick) => {
                assert_eq!(Some(ids(quick)), full.map(ids), "gap {gap}");
                found += 1;
            }
            // The quick search goes no farther than the chain that was there; then neither may the full one find more.
            None => assert!(full.is_none_or(|full| full.parts.len() > before), "gap {gap}: {full:?}"),
        }
    }
    assert!(found > 0);
}

#[test]
fn a_drag_that_is_given_up_leaves_no_trace() {
    let mut desk = pump_corner();
    let (text, revision) = (desk.text().to_owned(), desk.revision());
    desk.begin_drag(body(&desk, "pump"));
    desk.drag_to([5.0, 0.0, 0.0]);
    desk.abort_drag();
    assert_eq!((desk.text(), desk.undoes()), (text.as_str(), None));
    assert!(desk.is_fresh(0) && desk.revision() > revision);
}

#[test]
fn a_place_that_makes_no_sense_is_refused_and_changes_nothing() {
    let mut desk = pump_corner();
    let text = desk.text().to_owned();
    let refused = desk.place(body(&desk, "pump"), [1e9, 0.0, 0.0]);
    assert!(refused.is_err());
    desk.tell(refused);
    assert!(desk.notice().is_some_and(|notice| notice.is_trouble));
    assert_eq!((desk.text(), desk.undoes()), (text.as_str(), None));
}
