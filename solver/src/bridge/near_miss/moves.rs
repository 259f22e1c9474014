//! Which small move of a component opens a gap.

use super::{
    super::{Chain, MakeUp},
    NearMissWishes, parts_of,
    verify::{Verifier, WhyRefused},
    widened::{Mover, Reach, aligning_turn, miss, widened},
};
use crate::{
    catalog::Catalog,
    geometry::{Point, Pose, Vector, turned},
    layout::{BodyKind, Gap, Layout, Move},
};

/// A move after which a chain closes.
#[derive(Clone, Debug, PartialEq)]
pub struct Suggestion {
    /// Name of the component that moves.
    pub component: String,
    /// By how much.
    pub by: Move,
    /// Whether the move stays within the play that the layout gives the component.
    pub in_play: bool,
    /// The best chain of those parts in the moved layout, from the gap's first port; one that can be made up, where there
    /// is one.
    pub chain: Chain,
    /// Whether and how it can be made up in the moved layout.
    pub make_up: MakeUp,
}

/// A move that would close a chain but may not be made.
#[derive(Clone, Debug, PartialEq)]
pub struct Refused {
    /// Name of the component that would move.
    pub component: String,
    /// By how much.
    pub by: Move,
    /// What speaks against it.
    pub why: WhyRefused,
}

/// Where to look first: chains of up to so many parts, and moves of up to this share of the reach. Where a short move
/// and a short chain do, the long ones are not worked out: a fourth part costs some thirty times as much as a third.
const RUNGS: [(usize, f64); 3] = [(3, 0.3), (3, 1.0), (usize::MAX, 1.0)];

/// Chains looked at for each component and rung.
const CHAINS: usize = 40;

/// Moves checked in full before giving up.
const MOST_CHECKS: usize = 60;

/// Refused moves that are reported.
const REFUSED: usize = 3;

/// Farthest turn that is looked for, in degrees: the closed forms take small angles for small.
const MOST_TURN_DEG: f64 = 10.0;

/// Rounds of going back and forth between where the play ends and where the chain would end.
const ROUNDS: usize = 3;

/// Share of the closure allowance that a move may leave open, to be a simpler one.
const SIMPLER: f64 = 0.5;

/// Play is written with rounding.
const ROUNDING: f64 = 1e-9;

/// A move to be checked.
struct Candidate {
    by: Move,
    in_play: bool,
    size_mm: f64,
    parts: usize,
    /// Which catalog of parts.
    catalog: usize,
}

/// The moves that open the gap, best first, and the nearest that may not be made.
pub(super) fn moves(
    catalog: &Catalog,
    layout: &Layout,
    gap: &Gap,
    wishes: &NearMissWishes,
) -> (Vec<Suggestion>, Vec<Refused>) {
    let verifier = Verifier::new(catalog, layout, gap, wishes);
    let movers = movers(layout, gap);
    let (mut found, mut refused) = (Vec::new(), Vec::new());
    let (mut catalogs, mut candidates) = (Vec::new(), Vec::new());
    for (parts, share) in RUNGS {
        let rung = NearMissWishes { max_parts: wishes.max_parts.min(parts), ..*wishes };
        (catalogs, candidates) = (Vec::new(), Vec::new());
        for mover in &movers {
            let search = Search { catalog, layout, mover, wishes: &rung, reach_mm: wishes.reach_mm * share };
            search.candidates(&mut catalogs, &mut candidates);
        }
        candidates.sort_by(|a: &Candidate, b: &Candidate| {
            (b.in_play.cmp(&a.in_play))
                .then_with(|| a.size_mm.total_cmp(&b.size_mm))
                .then_with(|| a.parts.cmp(&b.parts))
        });
        refused.clear();
        check(&verifier, layout, (wishes.want, 1), &candidates, &catalogs, (&mut found, &mut refused));
        // A chain that cannot be screwed together opens nothing, so it is worth a look at longer moves, but not at
        // longer chains.
        let far_enough = share >= 1.0 && (parts >= wishes.max_parts || !found.is_empty());
        if found.iter().any(|found| opens(&found.suggestion)) || far_enough {
            break;
        }
    }
    if !found.iter().any(|found| opens(&found.suggestion)) {
        // A person may know a way to screw them in that is not tried here.
        check(&verifier, layout, (wishes.want, wishes.want), &candidates, &catalogs, (&mut found, &mut refused));
    }
    (listed(found, wishes.want), refused)
}

/// The smallest move, then those whose chain can be made up, then the others, as many as are wanted; listed with those
/// in the play first.
fn listed(mut found: Vec<Found>, want: usize) -> Vec<Suggestion> {
    found.sort_by(|a, b| a.size_mm.total_cmp(&b.size_mm));
    if let Some(others) = found.get_mut(1..) {
        others.sort_by_key(|found| (!opens(&found.suggestion), !found.suggestion.in_play));
    }
    found.truncate(want);
    found.sort_by_key(|found| (!found.suggestion.in_play, !opens(&found.suggestion)));
    found.into_iter().map(|found| found.suggestion).collect()
}

/// A move that passed, and its size.
struct Found {
    suggestion: Suggestion,
    size_mm: f64,
}

/// Whether the chain of a move can be made up.
fn opens(suggestion: &Suggestion) -> bool {
    suggestion.make_up.verdict.can_be_made_up()
}

/// The two ends of the gap that can move: the one with play first, else the second port's.
fn movers(layout: &Layout, gap: &Gap) -> Vec<Mover> {
    let body = |port| layout.port_by_id(port).map(|port| port.body);
    let (Some(from), Some(to)) = (body(gap.from), body(gap.to)) else { return Vec::new() };
    if from == to {
        return Vec::new();
    }
    let mut movers = vec![Mover { body: to, gap: *gap }, Mover { body: from, gap: Gap { from: gap.to, to: gap.from } }];
    movers.retain(|mover| layout.body(mover.body).is_some_and(|body| body.kind == BodyKind::Component));
    let fixed = |mover: &Mover| {
        layout.body(mover.body).is_some_and(|body| body.play_mm == [0.0; 3] && body.play_turn_deg == 0.0)
    };
    movers.sort_by_key(fixed);
    movers
}

/// Checks candidates in order until `want` are found whose chain can be made up; of the others, which are hardly of use
/// and cost as much to check, no more than `stiff` are kept.
fn check(
    verifier: &Verifier<'_>,
    layout: &Layout,
    (want, stiff): (usize, usize),
    candidates: &[Candidate],
    catalogs: &[Catalog],
    (found, refused): (&mut Vec<Found>, &mut Vec<Refused>),
) {
    let same_mm = layout.allowances().closure_mm;
    let alike = |a: &Move, b: &Move| {
        a.body == b.body
            && (a.turn_deg - b.turn_deg).abs() < layout.allowances().closure_deg
            && (Vector::from(a.shift_mm) - Vector::from(b.shift_mm)).norm() < same_mm
    };
    for candidate in candidates.iter().take(MOST_CHECKS) {
        let opening = found.iter().filter(|found| opens(&found.suggestion)).count();
        if opening >= want {
            break;
        }
        let by = candidate.by;
        let (Some(parts), Some(body)) = (catalogs.get(candidate.catalog), layout.body(by.body)) else { continue };
        let known = |found: &Found| alike(&found.suggestion.by, &by);
        if found.iter().any(|found| known(found) && opens(&found.suggestion)) {
            continue;
        }
        let component = body.name.clone();
        let outcome = verifier.close(parts, &by).and_then(|(moved, chain, make_up)| {
            let can = make_up.verdict.can_be_made_up();
            // Enough of those that cannot be made up, or one by the same move: not worth holding against other gaps.
            if !can && (found.len() - opening >= stiff || found.iter().any(known)) {
                return Ok(None);
            }
            verifier.other_gaps(&moved)?;
            Ok(Some(Suggestion { component: component.clone(), by, in_play: candidate.in_play, chain, make_up }))
        });
        match outcome {
            Ok(Some(suggestion)) => {
                if opens(&suggestion) {
                    found.retain(|found| !alike(&found.suggestion.by, &by));
                }
                found.push(Found { suggestion, size_mm: candidate.size_mm });
            }
            Ok(None) => {}
            Err(why) if refused.len() < REFUSED && !refused.iter().any(|other| alike(&other.by, &by)) => {
                refused.push(Refused { component, by, why });
            }
            Err(_) => {}
        }
    }
    // What another chain made possible is no longer refused.
    refused.retain(|refused| !found.iter().any(|found| alike(&found.suggestion.by, &refused.by)));
}

/// The search for moves of one component.
struct Search<'a> {
    catalog: &'a Catalog,
    layout: &'a Layout,
    mover: &'a Mover,
    wishes: &'a NearMissWishes,
    reach_mm: f64,
}

impl Search<'_> {
    fn candidates(&self, catalogs: &mut Vec<Catalog>, candidates: &mut Vec<Candidate>) {
        let Some(body) = self.layout.body(self.mover.body) else { return };
        let allowed_deg = self.layout.allowances().closure_deg;
        for chain in self.near(self.catalog, self.layout, allowed_deg, CHAINS) {
            self.candidate(&chain, 0.0, catalogs, candidates);
        }
        if body.play_turn_deg > 0.0 {
            let reach_deg = body.play_turn_deg.min(MOST_TURN_DEG) + allowed_deg;
            for chain in self.near(self.catalog, self.layout, reach_deg, CHAINS) {
                let turn = aligning_turn(self.catalog, self.layout, self.mover, &chain);
                let Some((turn, left)) = turn else { continue };
                if chain.residual_deg > allowed_deg
                    && left <= allowed_deg
                    && turn.abs() <= body.play_turn_deg + ROUNDING
                {
                    // Tenths of a degree are as fine as anybody turns a component by hand.
                    let turn = (turn * 10.0).round() / 10.0;
                    self.candidate(&chain, turn.clamp(-body.play_turn_deg, body.play_turn_deg), catalogs, candidates);
                }
            }
        }
    }

    fn near(&self, catalog: &Catalog, layout: &Layout, deg: f64, want: usize) -> Vec<Chain> {
        widened(catalog, layout, self.mover, Reach { mm: self.reach_mm, deg }, self.wishes, want)
    }

    /// The moves that would close `chain`, after a turn that brings the port in line with its end.
    fn candidate(&self, chain: &Chain, turn_deg: f64, catalogs: &mut Vec<Catalog>, candidates: &mut Vec<Candidate>) {
        let Some(body) = self.layout.body(self.mover.body) else { return };
        let Some(parts) = parts_of(self.catalog, chain) else { return };
        let shift =
            if turn_deg == 0.0 { Some(miss(chain)) } else { self.shift_left(&parts, turn_deg, Vector::zeros()) };
        let Some(shift) = shift else { return };
        let allowed = self.layout.allowances().closure_mm;
        let mut shifts = Vec::new();
        if shift.norm() <= self.reach_mm {
            shifts.push(graspable(simpler(shift, allowed * SIMPLER), allowed));
            shifts.push(graspable(shift, allowed));
        }
        shifts.extend(self.within_play(&parts, turn_deg, shift));
        for shift in shifts {
            if shift == Vector::zeros() && turn_deg == 0.0 {
                continue;
            }
            let by = Move { body: self.mover.body, shift_mm: shift.into(), turn_deg };
            let in_play = shift.iter().zip(body.play_mm).all(|(shift, play)| shift.abs() <= play + ROUNDING);
            candidates.push(Candidate {
                by,
                in_play,
                size_mm: self.size_mm(&by),
                parts: chain.parts.len(),
                catalog: catalogs.len(),
            });
        }
        catalogs.push(parts);
    }

    /// A shift within the component's play that closes the chain: from where the chain would have the component, back
    /// to the nearest place that the play allows, to where the chain can follow, and so on.
    fn within_play(&self, parts: &Catalog, turn_deg: f64, shift: Vector) -> Option<Vector> {
        let play = self.layout.body(self.mover.body)?.play_mm;
        if play == [0.0; 3] {
            return None;
        }
        let allowed = self.layout.allowances().closure_mm;
        let clamped = |shift: Vector| Vector::from_fn(|axis, _| shift[axis].clamp(-play[axis], play[axis]));
        let mut wanted = shift;
        for _ in 0..ROUNDS {
            let possible = clamped(wanted);
            let left = (wanted - possible).norm();
            if left <= allowed * (1.0 - SIMPLER) {
                return Some(clamped(graspable(simpler(possible, allowed * SIMPLER - left), allowed)));
            }
            wanted = possible + self.shift_left(parts, turn_deg, possible)?;
        }
        None
    }

    /// The shift that is left to make after a turn and a shift.
    fn shift_left(&self, parts: &Catalog, turn_deg: f64, shift: Vector) -> Option<Vector> {
        let moved = self.layout.moved(&Move { body: self.mover.body, shift_mm: shift.into(), turn_deg })?;
        let chains = self.near(parts, &moved, self.layout.allowances().closure_deg, CHAINS);
        chains.iter().map(miss).min_by(|a, b| a.norm().total_cmp(&b.norm()))
    }

    /// How far the farthest corner of the box around the component travels, in millimetres.
    fn size_mm(&self, by: &Move) -> f64 {
        let Some(body) = self.layout.body(by.body) else { return 0.0 };
        let shift = Vector::from(by.shift_mm);
        if by.turn_deg == 0.0 {
            return shift.norm();
        }
        let turn: Pose = body.pose * turned(by.turn_deg.to_radians()) * body.pose.inverse();
        let Some(bounds) = body.solids.iter().map(crate::geometry::Solid::bounds).reduce(|all, next| all.union(&next))
        else {
            return shift.norm();
        };
        let corner = |index: usize| {
            Point::from(Vector::from_fn(
                |axis, _| {
                    if index >> axis & 1 == 0 { bounds.min[axis] } else { bounds.max[axis] }
                },
            ))
        };
        (0..8).map(corner).map(|corner| (turn * corner - corner + shift).norm()).fold(0.0, f64::max)
    }
}

/// The shift without the components that the allowance makes unnecessary, smallest first.
fn simpler(shift: Vector, spare_mm: f64) -> Vector {
    let mut axes = [0, 1, 2];
    axes.sort_by(|a, b| shift[*a].abs().total_cmp(&shift[*b].abs()));
    let (mut simple, mut left) = (shift, 0.0_f64);
    for axis in axes {
        if left.hypot(shift[axis]) > spare_mm {
            break;
        }
        left = left.hypot(shift[axis]);
        simple[axis] = 0.0;
    }
    simple
}

/// The shift in the coarsest decimal fractions that the allowance hides: a person measures tenths, not millionths.
fn graspable(shift: Vector, allowed_mm: f64) -> Vector {
    let mut steps = 10.0;
    while 2.0 / steps > allowed_mm && steps < 1e6 {
        steps *= 10.0;
    }
    shift.map(|shift| (shift * steps).round() / steps + 0.0)
}
