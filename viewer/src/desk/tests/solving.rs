use super::{BRIEF, LONG, demo, pump_corner};
use crate::desk::{GapState, Request, Worker, labels};
use elbowroom::{bridge::MOST_PARTS, catalog::Catalog, layout::Layout};
use std::{
    sync::{
        Arc,
        atomic::{AtomicUsize, Ordering},
    },
    time::{Duration, Instant},
};

#[test]
fn every_gap_gets_its_state() {
    let mut desk = demo();
    assert_eq!(desk.state(0), GapState::Unknown);
    desk.solve();
    assert!(desk.progress().is_some());
    assert!(desk.wait(LONG));
    assert!(desk.progress().is_none());
    let states: Vec<_> = (0..desk.layout().gaps().len()).map(|gap| desk.state(gap)).collect();
    let open: Vec<_> = states.iter().enumerate().filter(|(_, state)| **state != GapState::Bridged).collect();
    assert_eq!(open, [(7, &GapState::Nearly)], "the probe stands too close to one radiator");
    desk.choose_gap(7);
    let sections = labels::near_misses(&desk);
    assert_eq!(sections.iter().filter(|(title, _)| *title == labels::MOVES).count(), 1);
    desk.apply_suggestion(0).expect("what is suggested can be done");
    assert!(desk.wait(LONG));
    assert_eq!(desk.state(7), GapState::Bridged, "a move whose chain can be made up comes first");
    assert!(desk.solved(7).is_some_and(|solved| !solved.ranked().is_empty()));
}

#[test]
fn a_search_stops_when_told_and_the_newest_request_wins() {
    let catalog = Arc::new(Catalog::builtin());
    let (name, text) = elbowroom_catalog::DEMO;
    let layout = Arc::new(Layout::parse(text, name, &catalog).expect("sound"));
    let request = |gap: usize, max_parts| Request {
        catalog: Arc::clone(&catalog),
        layout: Arc::clone(&layout),
        gaps: vec![gap],
        // At a flow that is asked for, so that none has to be found first.
        asked: crate::desk::Asked { max_parts, want: 5, flow_l_min: Some(4.0), ..BRIEF },
        known: Vec::new(),
        quick: None,
    };
    let mut worker = Worker::start().expect("a thread");
    let woken = Arc::new(AtomicUsize::new(0));
    let counter = Arc::clone(&woken);
    worker.on_news(move || {
        counter.fetch_add(1, Ordering::Relaxed);
    });
    // A gap without chains, and chains far longer than anyone waits for.
    let endless = worker.submit(request(7, MOST_PARTS), false);
    // The thread starts when the system lets it; news would mean that the search has ended.
    let begun = Instant::now();
    while worker.progress().is_none() && woken.load(Ordering::Relaxed) == 0 && begun.elapsed() < LONG {
        std::thread::sleep(Duration::from_millis(1));
    }
    assert!(worker.progress().is_some_and(|progress| progress.gap == 7));
    let newest = worker.submit(request(1, 3), false);
    let mut solved = Vec::new();
    loop {
        match worker.wait(LONG).expect("news") {
            crate::desk::News::Solved { request, gap, .. } => solved.push((request, gap)),
            crate::desk::News::SideBySide { .. } => panic!("not all gaps are known"),
            crate::desk::News::Done { request } if request == newest => break,
            crate::desk::News::Done { request } => assert_eq!(request, endless),
        }
    }
    assert_eq!(solved, [(newest, 1)], "nothing comes of the search that was stopped");
    assert!(woken.load(Ordering::Relaxed) > 0);
    assert!(worker.progress().is_none());
}

#[test]
fn cancelling_leaves_what_is_known() {
    let mut desk = pump_corner();
    desk.cancel();
    assert!(desk.progress().is_none() && desk.is_fresh(0));
    let mut desk = demo();
    desk.solve();
    desk.cancel();
    assert!(desk.wait(LONG) && desk.progress().is_none());
    desk.solve();
    assert!(desk.progress().is_some(), "it can be started again");
}
