//! What the solver's thread does with a request: the flow of the circuit, gap after gap, the chains that can be built
//! side by side, and near misses, in the order that the command line goes through them.

use super::answers::{SideBySide, Solved};
use super::solving::{Doing, News, Progress, Request, Shared, lock};
use elbowroom::{
    bridge::{self, Answer, BadWish, Pace, Wishes, bridge},
    layout::Gap,
    report::{GapReport, side_by_side},
    survey::LossFlows,
};
use std::{
    sync::{
        Arc, Mutex,
        atomic::{AtomicBool, Ordering},
        mpsc,
    },
    time::{Duration, Instant},
};

/// Least time between two wake-ups for progress alone.
const WAKE_EVERY: Duration = Duration::from_millis(100);

/// Answers a request, and tells of each answer as soon as it is there.
pub(super) fn solve(shared: &Shared, news: &mpsc::Sender<News>, number: u64, request: &Request) {
    let round = Round { shared, news, number, request };
    match &request.quick {
        Some(flows) => round.quick(flows),
        None => round.full(),
    }
}

struct Round<'a> {
    shared: &'a Shared,
    news: &'a mpsc::Sender<News>,
    number: u64,
    request: &'a Request,
}

impl Round<'_> {
    /// The best chain of each gap.
    fn quick(&self, flows: &Arc<LossFlows>) {
        let Request { catalog, layout, asked, .. } = self.request;
        for (index, gap) in self.gaps() {
            let known = self.request.known.get(index).and_then(Option::as_ref);
            let known = known.map_or(&[][..], |known| known.ranked());
            let solved = Solved::quick(catalog, layout, gap, asked, flows, known);
            // What is asked was checked when the layout was opened, so nothing of it is refused.
            if !solved.ok().flatten().is_some_and(|solved| self.tell(index, solved)) {
                return;
            }
        }
    }

    fn full(&self) {
        let flows = self.flows();
        let of = self.request.gaps.len();
        let mut all: Vec<Option<Arc<Solved>>> = self.request.known.clone();
        all.resize(self.request.layout.gaps().len(), None);
        for (done, (index, gap)) in self.gaps().enumerate() {
            let at = Progress { gap: index, done, of, ..Progress::default() };
            let Some(solved) = self.search(gap, &flows, self.request.asked.want, at) else { continue };
            if let Some(known) = all.get_mut(index) {
                *known = Some(Arc::new(solved.clone()));
            }
            if !self.tell(index, solved) {
                return;
            }
        }
        if !self.is_wanted() {
            return;
        }
        self.choose(&mut all, &flows);
        // Near misses come last, since they take longest and chains are what people wait for.
        let open = |index: &usize| all.get(*index)?.as_ref().filter(|solved| solved.ranked().is_empty()).cloned();
        let open: Vec<_> = self.gaps().filter_map(|(index, gap)| Some((index, gap, open(&index)?))).collect();
        let of = open.len();
        for (done, (index, gap, solved)) in open.into_iter().enumerate() {
            if !self.is_wanted() {
                return;
            }
            self.shared.is_at(Progress { gap: index, done, of, doing: Doing::NearMisses, ..Progress::default() });
            self.shared.wake();
            let mut solved = Solved::clone(&solved);
            let asked = solved.add_near_misses(&self.request.catalog, gap, &self.request.asked);
            if asked.is_err() || !self.tell(index, solved) {
                return;
            }
        }
    }

    /// The flows at which losses are stated.
    fn flows(&self) -> Arc<LossFlows> {
        let Request { catalog, layout, asked, known, .. } = self.request;
        let fresh = known.iter().flatten().find(|known| Arc::ptr_eq(&known.of, layout) && !known.quick);
        if let Some(known) = fresh {
            return Arc::clone(&known.flows);
        }
        let settled = match asked.flow_l_min {
            Some(_) => None,
            None => self.watched(Progress { doing: Doing::Flow, ..Progress::default() }, |cancel, progress| {
                let wishes = Wishes { cancel: Some(cancel), progress: Some(progress), ..asked.wishes() };
                LossFlows::operating(catalog, layout, &wishes).ok().flatten()
            }),
        };
        Arc::new(settled.unwrap_or_else(|| asked.flows(layout)))
    }

    /// Searches one gap, telling how far it is and looking whether it is still wanted.
    fn search(&self, gap: &Gap, flows: &Arc<LossFlows>, want: usize, at: Progress) -> Option<Solved> {
        let Request { catalog, layout, asked, .. } = self.request;
        let search = |wishes: &Wishes<'_>| -> Result<Answer, BadWish> {
            self.watched(at, |cancel, progress| {
                let wishes = Wishes { cancel: Some(cancel), progress: Some(progress), ..*wishes };
                bridge(catalog, layout, gap, &wishes)
            })
        };
        Solved::chains(catalog, layout, gap, (asked, want), flows, search).ok().flatten()
    }

    /// Chooses chains that can be built side by side, once all gaps are answered; this may lengthen their lists.
    fn choose(&self, all: &mut [Option<Arc<Solved>>], flows: &Arc<LossFlows>) {
        let Request { catalog, layout, asked, .. } = self.request;
        let fresh = |known: &Option<Arc<Solved>>| {
            known
                .as_ref()
                .filter(|known| Arc::ptr_eq(&known.of, layout) && !known.quick && !known.was_cancelled())
                .cloned()
        };
        let Some(known) = all.iter().map(fresh).collect::<Option<Vec<_>>>() else { return };
        let mut reports: Vec<GapReport> = known.iter().map(|known| known.report.clone()).collect();
        let clearance_mm = asked.clearance_mm.unwrap_or(layout.allowances().clearance_mm);
        let again = |index: usize, want: usize| {
            let at = Progress { gap: index, doing: Doing::SideBySide, ..Progress::default() };
            let solved = layout.gaps().get(index).and_then(|gap| self.search(gap, flows, want, at));
            Ok(solved.filter(|_| self.is_wanted()).map(|solved| solved.report))
        };
        let Ok(chosen) = side_by_side(catalog, &mut reports, clearance_mm, asked.want, again) else { return };
        if !self.is_wanted() {
            return;
        }
        let lists = known.iter().zip(reports).zip(layout.gaps()).enumerate();
        for (index, ((known, report), gap)) in lists {
            if known.report.answer == report.answer {
                continue;
            }
            let mut solved = Solved { report, ..Solved::clone(known) };
            if solved.add_slack(catalog, gap, asked).is_err() {
                return;
            }
            if let Some(known) = all.get_mut(index) {
                *known = Some(Arc::new(solved.clone()));
            }
            if !self.tell(index, solved) {
                return;
            }
        }
        let found = SideBySide { of: Arc::clone(layout), chosen };
        // Nobody to tell means that the program ends.
        let _ = self.news.send(News::SideBySide { request: self.number, found });
        self.shared.wake();
    }

    /// Does something that can be stopped and tells how far it is.
    fn watched<T>(&self, at: Progress, work: impl FnOnce(&AtomicBool, &(dyn Fn(&bridge::Progress) + Sync)) -> T) -> T {
        let cancel = AtomicBool::new(!self.is_wanted());
        let (started, pace) = (Instant::now(), Mutex::<Pace>::default());
        let woken = Mutex::new(started);
        self.shared.is_at(at);
        let progress = |now: &bridge::Progress| {
            cancel.store(!self.is_wanted(), Ordering::Relaxed);
            let left = {
                let mut pace = lock(&pace);
                pace.note(now, started.elapsed());
                pace.left()
            };
            self.shared.is_at(Progress { search: *now, left, ..at });
            let mut woken = lock(&woken);
            if woken.elapsed() >= WAKE_EVERY {
                *woken = Instant::now();
                self.shared.wake();
            }
        };
        work(&cancel, &progress)
    }

    /// The gaps to solve, in order, with their places in the layout.
    fn gaps(&self) -> impl Iterator<Item = (usize, &Gap)> {
        let gaps = self.request.layout.gaps();
        self.request.gaps.iter().filter_map(move |index| Some((*index, gaps.get(*index)?)))
    }

    fn is_wanted(&self) -> bool {
        self.shared.is_wanted(self.number)
    }

    /// Tells of an answer; whether to go on.
    fn tell(&self, gap: usize, solved: Solved) -> bool {
        if !self.is_wanted() {
            return false;
        }
        let sent = self.news.send(News::Solved { request: self.number, gap, solved: Box::new(solved) });
        self.shared.wake();
        sent.is_ok()
    }
}
