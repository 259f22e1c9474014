//! Chains that the halves do not cover: those with two or more offsets or with other rigid parts, and those of six
//! and more turning parts.

use super::{attempts::Attempts, halves::WORTH_ASKING, kinds::CLOSED_FORMS, meeting::Meeting};
use crate::bridge::{
    closure::{MAX_TURNS, at_angle, general, is_exhaustive},
    placed::{Closed, Laid, skeleton},
    stock::{Run, Stock, TurnId},
};

/// A sequence of turning links and runs from the first port on.
#[derive(Clone, Debug, Default)]
pub(super) struct Trail {
    turns: Vec<TurnId>,
    runs: Vec<Laid>,
    parts: usize,
    loss: u64,
    /// How far it can reach and turn, in millimetres and radians.
    reach: f64,
    bent: f64,
    offsets: usize,
    /// Parts that are neither bends nor offsets.
    others: usize,
}

impl Trail {
    /// Whether the halves do not cover it.
    fn is_ours(&self) -> bool {
        self.others > 0 || self.offsets > 1 || self.turns.len() > CLOSED_FORMS
    }

    /// Whether that can be said of it after so many further bends and then `more` parts of any kind.
    fn can_become_ours(&self, stock: &Stock, bends: usize, more: usize) -> bool {
        let offsets = self.offsets + if stock.has_offsets { more } else { 0 };
        let turns = self.turns.len() + bends + more;
        self.others > 0 || offsets > 1 || turns > CLOSED_FORMS || more > 0 && stock.has_others
    }

    /// Whether its bends and those that can follow turn from the one port to the other.
    fn can_point(&self, meeting: &Meeting<'_>, more: usize) -> bool {
        let bends = self.turns.len() - self.offsets;
        // Two offsets have to be among its parts, unless it is one of these by how many turn.
        let offsets = if self.turns.len() + more > CLOSED_FORMS { 0 } else { 2_usize.saturating_sub(self.offsets) };
        let bends_left = more.saturating_sub(offsets);
        if self.others > 0 || meeting.stock.has_others || bends_left > 0 || bends >= 2 {
            return true;
        }
        // Up to one bend, the directions of both ports decide.
        at_angle(&meeting.from.towards, &-meeting.to.towards, self.bent.cos(), meeting.allowance.lean())
    }
}

/// Trails that are held at a time: some 3 MB of them.
const MOST_TRAILS: usize = 10_000;

/// Gives `each` the first steps of all trails of a part count, to be followed independently, some at a time.
///
/// # Errors
/// The first that `each` returns.
pub(super) fn each_beginning<E>(
    meeting: &Meeting<'_>,
    parts: usize,
    mut each: impl FnMut(&[Trail]) -> Result<(), E>,
) -> Result<(), E> {
    let mut begun = Vec::new();
    let mut outcome = Ok(());
    for before in 0..parts {
        steps(meeting, &mut Trail::default(), before, parts, &mut |trail| {
            if outcome.is_ok() {
                begun.push(trail.clone());
                if begun.len() >= MOST_TRAILS {
                    outcome = each(&begun);
                    begun.clear();
                }
            }
        });
    }
    outcome?;
    each(&begun)
}

/// Follows one trail to the second port in every way that makes `parts` parts, as long as `attempts` allow: that may take
/// minutes where chains are long. Returns whether any closure was only sampled.
pub(in crate::bridge) fn follow(
    meeting: &Meeting<'_>,
    trail: &mut Trail,
    parts: usize,
    attempts: &mut Attempts<'_>,
    closed: &mut Vec<Closed>,
) -> bool {
    let left = parts - trail.parts;
    let mut sampled = trail.is_ours() && finish(meeting, trail, left, attempts, closed);
    if trail.turns.len() < MAX_TURNS {
        for before in 0..left {
            steps(meeting, trail, before, parts, &mut |trail| {
                if attempts.goes_on() {
                    sampled |= follow(meeting, trail, parts, attempts, closed);
                }
            });
        }
    }
    sampled
}

/// Extends a trail by a run of `before` straight parts and one turning link, in every way from which a chain of
/// `parts` parts can become one of these.
fn steps(meeting: &Meeting<'_>, trail: &mut Trail, before: usize, parts: usize, found: &mut dyn FnMut(&mut Trail)) {
    let stock = meeting.stock;
    let last = trail.turns.last().map(|id| &stock.turns[*id]);
    let (exit, swivel) = last.map_or((stock.from, false), |class| (class.exit, class.exit_swivel));
    let more = parts - trail.parts - before - 1;
    let classes = if trail.can_become_ours(stock, 1, more) { &stock.all } else { &stock.odd };
    let lists = classes.iter().map(|(entry, ids)| (meeting.runs.between(exit, *entry, before), ids));
    let lists = lists.filter(|(list, _)| !list.runs.is_empty());
    for (list, id) in lists.flat_map(|(list, ids)| ids.iter().map(move |id| (list, *id))) {
        let class = &stock.turns[id];
        if more == 0 && !stock.mates[class.exit][stock.to] {
            continue;
        }
        let kept = (trail.loss, trail.reach, trail.bent, trail.offsets, trail.others, trail.parts);
        trail.turns.push(id);
        trail.parts += before + 1;
        trail.bent += class.angle;
        if class.offset.is_some() {
            trail.offsets += 1;
        } else if !class.turn.is_bend() {
            trail.others += 1;
        }
        if trail.can_become_ours(stock, 0, more) && trail.can_point(meeting, more) {
            for run in &list.runs {
                trail.loss = kept.0 + run.loss + class.loss;
                if !meeting.may_want(trail.loss, more) || !(swivel || run.swivel || class.entry_swivel) {
                    continue;
                }
                trail.reach = kept.1 + run.span.longest + class.turn.reach();
                if !meeting.reaches(trail.reach, more) {
                    continue;
                }
                let has_room =
                    || meeting.goes_ahead(0, list, run) && (more < WORTH_ASKING || meeting.has_room(0, run, id));
                if trail.runs.is_empty() && !has_room() {
                    continue;
                }
                trail.runs.push(middle(run, before));
                found(trail);
                trail.runs.pop();
            }
        }
        trail.turns.pop();
        (trail.loss, trail.reach, trail.bent, trail.offsets, trail.others, trail.parts) = kept;
    }
}

/// Ends a trail at the second port over a run of `left` straight parts. Returns whether any closure was only sampled.
fn finish(
    meeting: &Meeting<'_>,
    trail: &mut Trail,
    left: usize,
    attempts: &mut Attempts<'_>,
    closed: &mut Vec<Closed>,
) -> bool {
    let (stock, allowance) = (meeting.stock, &meeting.allowance);
    let Some(last_id) = trail.turns.last().copied() else { return false };
    let last = &stock.turns[last_id];
    let wanted = meeting.from.towards.dot(&-meeting.to.towards).clamp(-1.0, 1.0).acos();
    if trail.bent + allowance.rad < wanted {
        return false;
    }
    if !trail.can_point(meeting, 0) {
        return false;
    }
    let distance = (meeting.to.at - meeting.from.at).norm();
    let mut sampled = false;
    let list = meeting.runs.between(last.exit, stock.to, left);
    for run in &list.runs {
        let loss = trail.loss + run.loss;
        if !meeting.wants(loss) || !(last.exit_swivel || run.swivel) {
            continue;
        }
        if trail.reach + run.span.longest + allowance.mm < distance {
            continue;
        }
        if !meeting.goes_ahead(1, list, run) || trail.parts > WORTH_ASKING && !meeting.has_room(1, run, last_id) {
            continue;
        }
        if !attempts.another() {
            break;
        }
        trail.runs.push(middle(run, left));
        let mut found: Option<Closed> = None;
        let skeleton = skeleton(stock, &trail.turns, &trail.runs);
        general(&skeleton, &meeting.from, &meeting.to, allowance, |posture, residual| {
            let found = found.get_or_insert_with(|| Closed {
                loss,
                turns: trail.turns.clone(),
                runs: trail.runs.clone(),
                postures: Vec::new(),
            });
            found.add(posture, residual);
            found.has_room()
        });
        sampled |= !is_exhaustive(&skeleton);
        closed.extend(found);
        trail.runs.pop();
    }
    sampled
}

/// A run at the middle of its range: the general closure frees it from there.
fn middle(run: &Run, parts: usize) -> Laid {
    Laid { run: *run, parts, length: f64::midpoint(run.span.shortest, run.span.longest) }
}
