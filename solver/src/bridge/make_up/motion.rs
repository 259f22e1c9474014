//! An order of work in motion: where everything stands at any moment of it.

use super::{JointFacts, MakeUp, Step, Turning};
use crate::{
    bridge::answer::Chain,
    geometry::{Pose, along, turned},
};
use std::{f64::consts::TAU, ops::RangeInclusive};

/// Share of a step after which a part that was held out of its place is swung home.
const SWUNG_HOME_FROM: f64 = 0.8;

/// Where everything stands at one moment of the making up, in the layout's axes.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// The parts of the chain in order; `None` for those not taken up yet.
    pub parts: Vec<Option<StandingPart>>,
    /// Motions of the components of the first and the second port, and of what is mounted on them, from where the layout
    /// has them.
    pub components: [Pose; 2],
}

/// Where a part stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StandingPart {
    /// Pose of the fitting's frame. On the bench: where it would be at home, so that the parts of a group stand right
    /// to each other; how far away the bench is, is for the viewer to choose.
    pub pose: Pose,
    /// How far an adjustable part is drawn out.
    pub stretch_mm: f64,
    /// Whether it lies on the bench.
    pub on_bench: bool,
}

impl MakeUp {
    /// Where everything stands when step number `step`, counted from 0, is done to the share `progress`, from 0 to 1.
    ///
    /// Parts are screwed on from a little way before the mouth of the thread, turning right-handed as they advance;
    /// those held out of their place swing home in the last fifth of the step. A collar that turns alone moves nothing
    /// here; how far it has turned follows from [`JointFacts::turns`]. `None` if there is no such step or `chain` has
    /// another number of parts.
    #[must_use]
    pub fn standing(&self, chain: &Chain, step: usize, progress: f64) -> Option<Standing> {
        let now = self.steps.get(step)?;
        let done = self.steps.get(..=step)?;
        if self.joints.len() != chain.parts.len() + 1 {
            return None;
        }
        let progress = if progress.is_nan() { 0.0 } else { progress.clamp(0.0, 1.0) };
        let open = match now {
            Step::Open { .. } | Step::HoldBack { .. } => progress,
            Step::Close { .. } => 1.0 - progress,
            Step::Bench { .. } | Step::Attach { .. } => f64::from(u8::from(opening_mm(done).is_some())),
        };
        let mut standing = self.opened(open)?;
        for (part, entry) in standing.parts.iter_mut().enumerate() {
            let on_bench = done.iter().rev().find_map(|step| match step {
                Step::Bench { parts, .. } => parts.contains(&part).then_some(true),
                Step::Attach { parts, .. } => parts.contains(&part).then_some(false),
                Step::HoldBack { .. } | Step::Open { .. } | Step::Close { .. } => None,
            });
            match (on_bench, &mut *entry) {
                (None, _) => *entry = None,
                (Some(true), Some(there)) => {
                    let home = chain.parts.get(part)?;
                    *there = StandingPart { pose: home.pose, stretch_mm: home.stretch_mm, on_bench: true };
                }
                (Some(false), _) | (Some(true), None) => {}
            }
        }
        self.screw(&mut standing, chain, now, opening_mm(done).unwrap_or(0.0) * open, progress)?;
        Some(standing)
    }

    /// The posture at a share of the way from home to open.
    fn opened(&self, share: f64) -> Option<Standing> {
        let last = self.opening.len().checked_sub(1)?;
        #[expect(clippy::cast_precision_loss, reason = "a few dozen postures")]
        let at = share * last as f64;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 0 to a few dozen")]
        let before = (at.floor() as usize).min(last);
        let (from, to) = (self.opening.get(before)?, self.opening.get((before + 1).min(last))?);
        let share = at.fract();
        let part = |(from, to): (&Option<StandingPart>, &Option<StandingPart>)| {
            let (from, to) = ((*from)?, (*to)?);
            let stretch_mm = from.stretch_mm + (to.stretch_mm - from.stretch_mm) * share;
            Some(StandingPart { pose: between(&from.pose, &to.pose, share), stretch_mm, on_bench: false })
        };
        let parts = from.parts.iter().zip(&to.parts).map(part).collect();
        let components = [0, 1].map(|side: usize| between(&from.components[side], &to.components[side], share));
        Some(Standing { parts, components })
    }

    /// Adds the motion of a joint being made up.
    fn screw(&self, standing: &mut Standing, chain: &Chain, step: &Step, opening_mm: f64, progress: f64) -> Option<()> {
        let (joint, turning, moving, towards_first, swung) = match step {
            Step::HoldBack { .. } | Step::Open { .. } => return Some(()),
            Step::Bench { joint, parts, turning } => (*joint, turning, *joint..=*parts.end(), true, 0.0),
            Step::Attach { joint, parts, from_first, turning, swung_deg } => {
                (*joint, turning, parts.clone(), *from_first, swung_deg.to_radians())
            }
            Step::Close { joint, turning, .. } => return self.close(standing, chain, *joint, turning, opening_mm),
        };
        let facts = self.joints.get(joint)?;
        let share = if swung == 0.0 { progress } else { (progress / SWUNG_HOME_FROM).min(1.0) };
        let still_swung = swung * (1.0 - ((progress - SWUNG_HOME_FROM) / (1.0 - SWUNG_HOME_FROM)).max(0.0));
        let way = if towards_first { 1.0 } else { -1.0 };
        let away = (1.0 - share) * (facts.travel_mm + self.approach_mm);
        let twist = way * untwisted(facts, away);
        let frame = self.frame_now(standing, chain, joint, towards_first)?;
        for part in 0..chain.parts.len() {
            let turn = match (moving.contains(&part), turning.turns(part)) {
                (true, turns) => still_swung + if turns { twist } else { 0.0 },
                (false, true) => -twist,
                (false, false) => continue,
            };
            let shift = if moving.contains(&part) { way * away } else { 0.0 };
            standing.shift(part, &(frame * along(shift) * turned(turn) * frame.inverse()));
        }
        Some(())
    }

    /// Adds the turning of what closes the last joint, while `opening_mm` is left.
    fn close(
        &self,
        standing: &mut Standing,
        chain: &Chain,
        joint: usize,
        turning: &Turning,
        opening_mm: f64,
    ) -> Option<()> {
        let (Turning::Straights(parts) | Turning::All(parts)) = turning else { return Some(()) };
        let on_first_side = *parts.start() < joint;
        let twist = untwisted(self.joints.get(joint)?, opening_mm) * if on_first_side { -1.0 } else { 1.0 };
        let frame = self.frame_now(standing, chain, joint, on_first_side)?;
        let parts: RangeInclusive<usize> = parts.clone();
        parts.for_each(|part| standing.shift(part, &(frame * turned(twist) * frame.inverse())));
        Some(())
    }

    /// The frame of a joint as what stands on one side of it has it.
    fn frame_now(&self, standing: &Standing, chain: &Chain, joint: usize, before: bool) -> Option<Pose> {
        let home = self.joints.get(joint)?.frame;
        let part = if before { joint.checked_sub(1) } else { Some(joint) };
        let part = part.filter(|part| *part < chain.parts.len());
        let Some(part) = part else { return Some(standing.components[usize::from(!before)] * home) };
        let there = standing.parts.get(part).copied().flatten()?;
        Some(there.pose * chain.parts.get(part)?.pose.inverse() * home)
    }
}

impl Standing {
    fn shift(&mut self, part: usize, by: &Pose) {
        if let Some(Some(there)) = self.parts.get_mut(part) {
            there.pose = by * there.pose;
        }
    }
}

/// How far what is screwed on is still to turn when it is `away_mm` from home, in radians.
fn untwisted(facts: &JointFacts, away_mm: f64) -> f64 {
    away_mm.min(facts.travel_mm) / facts.pitch_mm * TAU
}

/// How far the last joint stands open after these steps, if it does.
fn opening_mm(done: &[Step]) -> Option<f64> {
    done.iter().find_map(|step| match step {
        Step::Open { opening_mm, .. } => Some(*opening_mm),
        Step::HoldBack { distance_mm, .. } => Some(*distance_mm),
        Step::Bench { .. } | Step::Attach { .. } | Step::Close { .. } => None,
    })
}

/// Part of the way from one pose to another near by.
fn between(from: &Pose, to: &Pose, share: f64) -> Pose {
    from.try_lerp_slerp(to, share, 1e-12).unwrap_or(*to)
}
