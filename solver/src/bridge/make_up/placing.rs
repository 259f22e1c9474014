//! Where the parts stand while they are not all home, and whether a group of them may move.

use super::{
    Blocker, Moving, Standing, StandingPart,
    joint::Turning,
    site::{Member, MemberKind, Obstacle, Site},
    sweep::{Sweep, swept_hit, turning_radius},
};
use crate::bridge::answer::ChainPart;
use crate::geometry::{Bounds, Pose, Shape, Solid, Vector, along, axis, origin, separation_within};
use nalgebra::Translation3;
use std::f64::consts::{PI, TAU};

/// Where every part stands, as motions from home in world axes.
#[derive(Clone, Debug)]
pub(super) struct Posture {
    /// Motion of each part's entry and exit side; they differ by what a link is pushed in.
    pub(super) sides: Vec<[Pose; 2]>,
    /// How much farther than at home each part is drawn out.
    pub(super) draws: Vec<f64>,
    /// Motions of the components of the two ports.
    pub(super) components: [Pose; 2],
}

impl Posture {
    /// Everything in its place.
    pub(super) fn home(site: &Site<'_>) -> Self {
        let parts = site.parts();
        Self { sides: vec![[Pose::identity(); 2]; parts], draws: vec![0.0; parts], components: [Pose::identity(); 2] }
    }

    /// The frame of a joint as the part (or port) before it has it.
    pub(super) fn frame_before(&self, site: &Site<'_>, joint: usize) -> Pose {
        let motion =
            joint.checked_sub(1).and_then(|part| self.sides.get(part)).map_or(self.components[0], |side| side[1]);
        motion * site.frames[joint]
    }

    /// The frame of a joint as the part (or port) after it has it.
    pub(super) fn frame_after(&self, site: &Site<'_>, joint: usize) -> Pose {
        self.sides.get(joint).map_or(self.components[1], |side| side[0]) * site.frames[joint]
    }

    /// Every part and port component as a viewer needs them.
    pub(super) fn standing(&self, site: &Site<'_>) -> Standing {
        let part = |(part, placed): (usize, &ChainPart)| {
            let end_0 = self.sides[part][usize::from(placed.entry != 0)];
            let (pose, stretch_mm) = (end_0 * placed.pose, placed.stretch_mm + self.draws[part]);
            Some(StandingPart { pose, stretch_mm, on_bench: false })
        };
        Standing { parts: site.chain.parts.iter().enumerate().map(part).collect(), components: self.components }
    }

    /// A member in this posture.
    pub(super) fn member(&self, site: &Site<'_>, member: &Member) -> Solid {
        let [entry, exit] = &self.sides[member.part];
        match member.kind {
            MemberKind::Thread(joint) => member.solid.moved(if joint == member.part { entry } else { exit }),
            MemberKind::Body(index) => {
                let placed = &site.chain.parts[member.part];
                let end_0 = if placed.entry == 0 { entry } else { exit };
                if self.draws[member.part] == 0.0 {
                    return member.solid.moved(end_0);
                }
                match site.drawn_body(member.part, index, placed.stretch_mm + self.draws[member.part]) {
                    Some(solid) => solid.moved(&(end_0 * site.part_pose(member.part))),
                    None => member.solid.moved(end_0),
                }
            }
        }
    }

    /// An obstacle in this posture.
    pub(super) fn obstacle(&self, obstacle: &Obstacle) -> Solid {
        match obstacle.moves_with {
            Some(side) => obstacle.solid.moved(&self.components[side]),
            None => obstacle.solid.clone(),
        }
    }
}

/// Everything that stands still while something moves.
pub(super) struct Around<'s, 'a> {
    pub(super) site: &'s Site<'a>,
    pub(super) layout: Vec<(&'s Obstacle, Solid)>,
    pub(super) chain: Vec<(&'s Member, Solid)>,
}

/// What of a chain is there: a part, and whether a joint is made.
pub(super) struct Present<'f> {
    pub(super) part: &'f dyn Fn(usize) -> bool,
    pub(super) made: &'f dyn Fn(usize) -> bool,
}

impl Present<'_> {
    fn holds(&self, member: &Member) -> bool {
        let open = match member.kind {
            MemberKind::Body(_) => true,
            MemberKind::Thread(joint) => !(self.made)(joint),
        };
        open && (self.part)(member.part)
    }

    /// The members that are there, in a posture.
    pub(super) fn members<'s>(&self, site: &'s Site<'_>, posture: &Posture) -> Vec<(&'s Member, Solid)> {
        let there = site.members.iter().filter(|member| self.holds(member));
        there.map(|member| (member, posture.member(site, member))).collect()
    }
}

impl<'s, 'a> Around<'s, 'a> {
    /// The layout, and the present parts, in a posture.
    pub(super) fn new(site: &'s Site<'a>, posture: &Posture, present: &Present<'_>) -> Self {
        let layout = site.obstacles.iter().map(|obstacle| (obstacle, posture.obstacle(obstacle))).collect();
        Self { site, layout, chain: present.members(site, posture) }
    }

    /// Only the present parts, as on the bench.
    pub(super) fn bench(site: &'s Site<'a>, posture: &Posture, present: &Present<'_>) -> Self {
        Self { site, layout: Vec::new(), chain: present.members(site, posture) }
    }

    /// Moves a group along the axis of `frame` over `travel`; the parts that `turning` turns make full turns.
    pub(super) fn screw(
        &self,
        group: &[(&Member, Solid)],
        frame: &Pose,
        travel: [f64; 2],
        turning: &Turning,
    ) -> Result<(), Blocker> {
        group.iter().try_for_each(|(member, solid)| {
            let turns = turning.turns(member.part);
            let turn = if turns { [-PI, PI] } else { [0.0, 0.0] };
            self.sweep(member, solid, &Sweep { frame: *frame, turn, travel })
        })
    }

    /// Moves one member through a sweep.
    pub(super) fn sweep(&self, member: &Member, solid: &Solid, sweep: &Sweep) -> Result<(), Blocker> {
        // A solid that looks the same all round need not be turned.
        let turned = sweep.turn[1] > sweep.turn[0] && turning_radius(solid, &sweep.frame) > 0.0;
        let sweep = if turned { *sweep } else { Sweep { turn: [0.0; 2], ..*sweep } };
        let envelope = Envelope::new(&sweep, solid);
        let moving = || if turned { Moving::Turned(member.part) } else { Moving::Shifted(member.part) };
        for (obstacle, there) in &self.layout {
            if !envelope.near(there, self.site.clearance_mm) {
                continue;
            }
            let needed_mm = self.site.need_to_layout(member, obstacle);
            if let Some(hit) = swept_hit(&sweep, solid, there, needed_mm) {
                let body = self.site.body_name(obstacle.body);
                return Err(Blocker::InTheWay { moving: moving(), body, part: None, gap_mm: hit.signed_mm, needed_mm });
            }
        }
        for (other, there) in &self.chain {
            if !envelope.near(there, 0.0) {
                continue;
            }
            let needed_mm = self.site.need_to_member(member, other);
            if let Some(hit) = swept_hit(&sweep, solid, there, needed_mm) {
                let (body, part) = (self.site.fittings[other.part].id.clone(), Some(other.part));
                return Err(Blocker::InTheWay { moving: moving(), body, part, gap_mm: hit.signed_mm, needed_mm });
            }
        }
        Ok(())
    }

    /// Whether a group stands clear where it is, with each solid's spare room to the layout besides. At seats and
    /// among the parts of the chain, which may touch, no spare room is asked for.
    pub(super) fn stands(&self, group: &[(&Member, Solid, f64)]) -> Result<(), Blocker> {
        for (member, solid, spare_mm) in group {
            let blocked = |body, part, gap_mm, needed_mm| {
                Err(Blocker::InTheWay { moving: Moving::Shifted(member.part), body, part, gap_mm, needed_mm })
            };
            for (obstacle, there) in &self.layout {
                if solid.bounds().signed_mm(&there.bounds()) > self.site.clearance_mm + spare_mm {
                    continue;
                }
                let needed = self.site.need_to_layout(member, obstacle);
                let spare_mm = if needed > 0.0 { *spare_mm } else { 0.0 };
                if let Some(gap) = too_near(solid, there, needed, spare_mm) {
                    return blocked(self.site.body_name(obstacle.body), None, gap, needed);
                }
            }
            for (other, there) in self.chain.iter().filter(|(other, _)| other.part != member.part) {
                if solid.bounds().signed_mm(&there.bounds()) > 0.0 {
                    continue;
                }
                let needed = self.site.need_to_member(member, other);
                if let Some(gap) = too_near(solid, there, needed, 0.0) {
                    return blocked(self.site.fittings[other.part].id.clone(), Some(other.part), gap, needed);
                }
            }
        }
        Ok(())
    }
}

fn too_near(a: &Solid, b: &Solid, needed: f64, spare: f64) -> Option<f64> {
    let needed = needed - super::SWEEP_ACCURACY_MM + spare;
    separation_within(a, b, needed).map(|found| found.signed_mm).filter(|gap| *gap < needed)
}

/// What a sweep stays within: a cylinder around the axis, or a box around a shift.
enum Envelope {
    Round(Solid),
    Straight(Bounds),
}

impl Envelope {
    fn new(sweep: &Sweep, solid: &Solid) -> Self {
        let bounds = solid.bounds();
        let shift = |travel: f64| {
            let by: Vector = axis(&sweep.frame) * travel;
            Bounds { min: bounds.min + by, max: bounds.max + by }
        };
        let straight = || Self::Straight(shift(sweep.travel[0]).union(&shift(sweep.travel[1])));
        if sweep.turn[1] <= sweep.turn[0] {
            return straight();
        }
        let (at, about) = (origin(&sweep.frame).coords, axis(&sweep.frame));
        let (mut radius, mut low, mut high) = (0.0_f64, f64::INFINITY, f64::NEG_INFINITY);
        for index in 0..8 {
            let pick = |axis: usize| if index >> axis & 1 == 0 { bounds.min[axis] } else { bounds.max[axis] };
            let from = Vector::new(pick(0), pick(1), pick(2)) - at;
            let height = from.dot(&about);
            (low, high) = (low.min(height), high.max(height));
            radius = radius.max((from - about * height).norm());
        }
        let (low, high) = (low + sweep.travel[0], high + sweep.travel[1]);
        let shape = Shape::Cylinder { diameter: 2.0 * radius, length: high - low };
        Solid::new(&shape, sweep.frame * along(f64::midpoint(low, high))).map_or_else(|_| straight(), Self::Round)
    }

    fn near(&self, other: &Solid, clearance_mm: f64) -> bool {
        match self {
            Self::Round(solid) => {
                solid.bounds().signed_mm(&other.bounds()) <= clearance_mm
                    && separation_within(solid, other, clearance_mm).is_some()
            }
            Self::Straight(bounds) => bounds.signed_mm(&other.bounds()) <= clearance_mm,
        }
    }
}

/// The shift by `mm` along a world direction of length one.
pub(super) fn shift(direction: &Vector, mm: f64) -> Pose {
    Translation3::from(direction * mm).into()
}

/// Turns about a joint in which parts are held out of their place while they go on, in radians: the least first.
pub(super) fn swings() -> impl Iterator<Item = f64> {
    (0..=SWINGS / 2).flat_map(|step| {
        let angle = TAU * f64::from(step) / f64::from(SWINGS);
        [angle, -angle].into_iter().take(if step == 0 { 1 } else { 2 })
    })
}

/// How many turns in a circle are tried: 30° apart, as exact as a person would follow.
const SWINGS: u32 = 12;
