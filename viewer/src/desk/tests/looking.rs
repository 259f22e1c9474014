use super::{body, pump_corner};
use crate::desk::{
    Stage,
    playback::Show,
    view::{Background, Item},
};

#[test]
fn whatever_is_drawn_anew_makes_the_revision_grow() {
    let mut desk = pump_corner();
    let mut last = desk.revision();
    let mut grown = |desk: &crate::desk::Desk, what: &str| {
        assert!(desk.revision() > last, "{what}");
        last = desk.revision();
    };
    desk.choose_gap(1);
    grown(&desk, "another gap");
    desk.choose_chain(1);
    grown(&desk, "another chain");
    desk.look(|view| view.background = Background::Light);
    grown(&desk, "another ground");
    let pump = body(&desk, "pump");
    desk.select(Some(pump));
    grown(&desk, "selected");
    desk.hide(|hiding| hiding.toggle(Item::Body(pump.index())));
    grown(&desk, "hidden");
    assert!(desk.hidden(&Item::Body(pump.index())));
    desk.play(|playback| playback.scrub(1.0));
    grown(&desk, "another moment");
    let still = desk.revision();
    desk.look(|view| view.background = Background::Light);
    desk.choose_gap(1);
    desk.play(|playback| playback.scrub(1.0));
    desk.advance(1.0);
    desk.poll();
    assert_eq!(desk.revision(), still, "nothing changed");
}

#[test]
fn candidates_are_shown_one_after_the_other() {
    let mut desk = pump_corner();
    let count = desk.solved(0).map_or(0, |solved| solved.ranked().len());
    assert!(count >= 2);
    desk.show(Show::Candidates);
    let mut seen = Vec::new();
    desk.play(crate::desk::playback::Playback::toggle);
    loop {
        let shown = desk.shown_chain();
        if seen.last() != Some(&shown) {
            seen.push(shown);
            assert_eq!(desk.stage(), Stage::home(desk.chain()));
        }
        if !desk.advance(0.1) {
            break;
        }
    }
    assert_eq!(seen, (0..count).map(Some).collect::<Vec<_>>());
    assert_eq!(desk.chosen_chain(), Some(0), "looking chooses nothing");
    desk.show(Show::MakingUp);
    assert_eq!(desk.shown_chain(), Some(0));
}

#[test]
fn playing_the_making_up_begins_with_nothing_and_ends_with_the_chain() {
    let mut desk = pump_corner();
    assert_eq!(desk.stage(), Stage::home(desk.chain()), "at rest the chain is whole");
    desk.play(crate::desk::playback::Playback::toggle);
    let mut seconds = 0.0;
    let mut most_missing = 0;
    while desk.advance(0.05) {
        seconds += 0.05;
        most_missing = most_missing.max(desk.stage().parts.iter().filter(|part| !part.shown).count());
        assert!(seconds < 600.0, "it ends");
    }
    assert!(most_missing > 0);
    assert_eq!(desk.stage(), Stage::home(desk.chain()));
    desk.step(false);
    desk.step(false);
    assert!(desk.playback().seconds() < desk.playback().total());
}
