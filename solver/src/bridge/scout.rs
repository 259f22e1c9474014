//! Chains that the halves do not cover: those with two or more offsets or with other rigid parts, and those of six
//! and more turning parts.

use super::{
    closure::{MAX_TURNS, general, is_exhaustive},
    half::Laid,
    meet::{Closed, Meeting, skeleton},
    run::Run,
    stock::{Socket, Stock, TurnId},
};

/// Most bends that the closed forms close.
pub(super) const CLOSED_FORMS: usize = 5;

/// A sequence of turning links and runs from the first port on.
#[derive(Clone, Debug, Default)]
pub(super) struct Trail {
    turns: Vec<TurnId>,
    runs: Vec<Laid>,
    loss: u64,
    reach: f64,
    offsets: usize,
    /// Parts that are neither bends nor offsets.
    others: usize,
}

impl Trail {
    /// Whether the halves do not cover it.
    fn is_ours(&self) -> bool {
        self.others > 0 || self.offsets > 1 || self.turns.len() > CLOSED_FORMS
    }

    /// Whether that can be said of it after `more` further parts.
    fn can_become_ours(&self, stock: &Stock, more: usize) -> bool {
        let offsets = self.offsets + if stock.has_offsets() { more } else { 0 };
        self.others > 0
            || offsets > 1
            || self.turns.len() + more > CLOSED_FORMS
            || more > 0 && stock.turns.iter().any(|class| !class.turn.is_bend() && class.turn.offset().is_none())
    }
}

/// The first steps of all trails of a part count, to be followed independently.
pub(super) fn beginnings(meeting: &Meeting<'_>, parts: usize) -> Vec<Trail> {
    if !Trail::default().can_become_ours(meeting.stock, parts) {
        return Vec::new();
    }
    let mut begun = Vec::new();
    for before in 0..parts {
        step(meeting, &Trail::default(), meeting.stock.from, false, before, &mut |trail| begun.push(trail));
    }
    begun
}

/// Follows one trail to the second port in every way that makes `parts` parts. Returns how many closures were tried
/// and whether any of them was only sampled.
pub(super) fn follow(meeting: &Meeting<'_>, trail: &Trail, parts: usize, closed: &mut Vec<Closed>) -> (u64, bool) {
    let mut outcome = (0, false);
    let used = trail.turns.len() + trail.runs.iter().map(|laid| laid.parts).sum::<usize>();
    let stock = meeting.stock;
    let last = &stock.turns[trail.turns[trail.turns.len() - 1]];
    let left = parts - used;
    // Straight on to the port.
    if trail.is_ours() {
        for run in &meeting.runs.between(last.exit, stock.to, left).runs {
            let loss = trail.loss + run.loss;
            if !meeting.portion.contains(&loss) || !(last.exit_swivel || run.swivel) {
                continue;
            }
            let distance = (meeting.to.at - meeting.from.at).norm();
            if trail.reach + run.span.longest + meeting.allowance.mm < distance {
                continue;
            }
            let mut runs = trail.runs.clone();
            runs.push(middle(run, left));
            let mut found = Closed { loss, turns: trail.turns.clone(), runs, postures: Vec::new() };
            outcome.0 += 1;
            outcome.1 |= close(meeting, &mut found);
            if !found.postures.is_empty() {
                closed.push(found);
            }
        }
    }
    if left > 0 && trail.turns.len() < MAX_TURNS {
        for before in 0..left {
            let (exit, swivel) = (last.exit, last.exit_swivel);
            let mut next = Vec::new();
            step(meeting, trail, exit, swivel, before, &mut |trail| next.push(trail));
            for trail in next {
                if trail.can_become_ours(stock, left - before - 1) {
                    let (tried, sampled) = follow(meeting, &trail, parts, closed);
                    outcome = (outcome.0 + tried, outcome.1 | sampled);
                }
            }
        }
    }
    outcome
}

/// Extends a trail by a run of `before` straight parts and one turning link.
fn step(
    meeting: &Meeting<'_>,
    trail: &Trail,
    exit: Socket,
    swivel: bool,
    before: usize,
    found: &mut impl FnMut(Trail),
) {
    for (id, class) in meeting.stock.turns.iter().enumerate() {
        for run in &meeting.runs.between(exit, class.entry, before).runs {
            let loss = trail.loss + run.loss + class.loss;
            if loss >= meeting.portion.end || !(swivel || run.swivel || class.entry_swivel) {
                continue;
            }
            let mut next = trail.clone();
            next.turns.push(id);
            next.runs.push(middle(run, before));
            next.loss = loss;
            next.reach += run.span.longest + class.turn.reach();
            if class.turn.offset().is_some() {
                next.offsets += 1;
            } else if !class.turn.is_bend() {
                next.others += 1;
            }
            found(next);
        }
    }
}

fn close(meeting: &Meeting<'_>, found: &mut Closed) -> bool {
    let skeleton = skeleton(meeting.stock, &found.turns, &found.runs);
    let (from, to) = (&meeting.from, &meeting.to);
    general(&skeleton, from, to, &meeting.allowance, |posture, residual| found.add(posture, residual));
    !is_exhaustive(skeleton.turns())
}

/// A run at the middle of its range: the general closure frees it from there.
fn middle(run: &Run, parts: usize) -> Laid {
    Laid { run: *run, parts, length: f64::midpoint(run.span.shortest, run.span.longest) }
}
