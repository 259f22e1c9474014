//! A search keeps its budget to the last closure attempt, tells how far it is, and ends when it is told to.

use elbowroom::bridge::{Answer, Completeness, Counts, Progress, StopReason, Wishes, bridge};
use elbowroom::catalog::Catalog;
use elbowroom::layout::{Gap, Layout};
use std::sync::{
    Mutex,
    atomic::{AtomicBool, Ordering},
};

/// Chains that are gone through in full: more than are there, so that no search ends before its time.
const ALL: Wishes<'static> = Wishes {
    max_parts: 4,
    want: 1_000_000,
    clearance_mm: None,
    flow_l_min: None,
    closure_budget: None,
    cancel: None,
    progress: None,
};

fn demo() -> (Catalog, Layout) {
    let catalog = Catalog::builtin();
    let (name, text) = elbowroom_catalog::DEMO;
    let layout = Layout::parse(text, name, &catalog).expect("the demo is sound");
    (catalog, layout)
}

fn on_threads<T: Send>(threads: usize, work: impl FnOnce() -> T + Send) -> T {
    rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads").install(work)
}

#[test]
fn a_budget_is_kept_on_any_number_of_threads() {
    let (catalog, layout) = demo();
    let (mut struck, mut spared) = (0, 0);
    for gap in layout.gaps() {
        let whole = bridge(&catalog, &layout, gap, &ALL).unwrap();
        for budget in [0, 1, 100, 1_000, 10_000, 30_000, whole.counts.closures] {
            let asked = |threads| {
                let wishes = Wishes { closure_budget: Some(budget), ..ALL };
                on_threads(threads, || bridge(&catalog, &layout, gap, &wishes)).unwrap()
            };
            let alone = asked(1);
            assert_eq!(alone.counts.closures, whole.counts.closures.min(budget), "{gap:?}, budget {budget}");
            if whole.counts.closures > budget {
                let why = StopReason::Budget;
                assert!(matches!(alone.completeness, Completeness::Stopped { why: found, .. } if found == why));
                assert!(alone.chains.iter().all(|chain| whole.chains.contains(chain)), "{gap:?}, budget {budget}");
                struck += 1;
            } else {
                assert_eq!((&alone.chains, &alone.completeness), (&whole.chains, &whole.completeness));
                spared += 1;
            }
            for threads in [2, 3, 8] {
                assert_eq!(asked(threads), alone, "{gap:?}, budget {budget}, {threads} threads");
            }
        }
    }
    assert!(struck > 10 && spared >= layout.gaps().len(), "{struck} struck, {spared} spared");
}

/// What is found within a budget is listed, although it was found in its last moments.
#[test]
fn what_was_found_within_a_budget_is_listed() {
    let (catalog, layout) = demo();
    let mut listed = 0;
    for gap in layout.gaps() {
        let wishes = Wishes { closure_budget: Some(100), ..ALL };
        let answer = bridge(&catalog, &layout, gap, &wishes).unwrap();
        if answer.counts.closed > 0 {
            assert!(answer.counts.tested > 0, "{gap:?}: {:?}", answer.counts);
        }
        listed += answer.chains.len();
    }
    assert!(listed > 0);
}

fn told(catalog: &Catalog, layout: &Layout, gap: &Gap, wishes: &Wishes<'_>) -> (Answer, Vec<Progress>) {
    let told = Mutex::new(Vec::new());
    let tell = |progress: &Progress| told.lock().unwrap().push(*progress);
    let answer = bridge(catalog, layout, gap, &Wishes { progress: Some(&tell), ..*wishes }).unwrap();
    (answer, told.into_inner().unwrap())
}

/// The share that is done rises to the whole, and where one part count ends and the next begins it is the share of the
/// sequences up to there, which are counted in another way.
#[test]
fn progress_tells_the_share_that_is_done() {
    let (catalog, layout) = demo();
    let mut steps = 0;
    for gap in layout.gaps() {
        let (answer, told) = told(&catalog, &layout, gap, &ALL);
        let all = answer.counts.sequences;
        let up_to = |parts: usize| {
            let last = told.iter().rfind(|progress| progress.counts.parts <= parts);
            last.map_or(0.0, |progress| progress.counts.sequences)
        };
        for pair in told.windows(2) {
            assert!(pair[0].share <= pair[1].share, "{gap:?}: {} after {}", pair[1].share, pair[0].share);
            steps += usize::from(pair[0].share < pair[1].share);
        }
        for Progress { share, counts: Counts { parts, .. }, longer, stages, .. } in &told {
            let (least, most) = (up_to(parts - 1) / all, up_to(*parts) / all);
            assert!((least - 1e-9..=most + 1e-9).contains(share), "{gap:?}: {share} outside {least} to {most}");
            assert!((1.0 - longer - most).abs() < 1e-9, "{gap:?}: {longer} longer than {parts} parts");
            assert!(stages.iter().all(|stage| stage.done <= stage.of), "{gap:?}: {stages:?}");
        }
        let last = told.last().expect("it told");
        assert!((last.share - 1.0).abs() < 1e-9, "{gap:?} ends at {}", last.share);
    }
    assert!(steps > 100, "it told of {steps} steps");
}

/// Whenever a search is told to stop, it lists what it lists anyway, as far as it came.
#[test]
fn a_cancelled_search_keeps_what_it_found() {
    let (catalog, layout) = demo();
    let mut kept = 0;
    for gap in layout.gaps() {
        let (whole, all) = told(&catalog, &layout, gap, &ALL);
        for at_parts in 2..=ALL.max_parts {
            let cancel = AtomicBool::new(false);
            let tell = |progress: &Progress| {
                if progress.counts.parts >= at_parts {
                    cancel.store(true, Ordering::Relaxed);
                }
            };
            let wishes = Wishes { cancel: Some(&cancel), progress: Some(&tell), ..ALL };
            let answer = bridge(&catalog, &layout, gap, &wishes).unwrap();
            if !all.iter().any(|progress| progress.counts.parts >= at_parts) {
                assert_eq!(answer, whole);
                continue;
            }
            let Completeness::Stopped { why: StopReason::Cancelled, complete_parts, .. } = answer.completeness else {
                // It was told in its last moment.
                assert_eq!(answer.chains, whole.chains);
                continue;
            };
            let short = |answer: &Answer| {
                let short = answer.chains.iter().filter(|chain| chain.parts.len() <= complete_parts);
                short.cloned().collect::<Vec<_>>()
            };
            assert_eq!(short(&answer), short(&whole), "{gap:?}, stopped at {at_parts} parts");
            kept += short(&answer).len();
        }
    }
    assert!(kept > 0);
}

#[test]
fn a_search_that_is_cancelled_before_it_begins_attempts_nothing() {
    let (catalog, layout) = demo();
    let cancel = AtomicBool::new(true);
    for gap in layout.gaps() {
        let answer = bridge(&catalog, &layout, gap, &Wishes { cancel: Some(&cancel), ..ALL }).unwrap();
        let why = StopReason::Cancelled;
        assert_eq!(answer.completeness, Completeness::Stopped { why, complete_parts: 0, at_parts: 1 });
        assert_eq!((answer.counts.closures, answer.chains.len()), (0, 0));
    }
}
