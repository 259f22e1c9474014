//! One build: the ports out of place, the swivels set anew, and whether the chain closes and keeps its clearance.

use super::{error::PortError, rebuilt::Rebuilt};
use crate::{
    bridge::{
        closure::{Allowance, Line, Posture, Skeleton, polish},
        placed::{Built, Member, Site, line_of, overlaps_itself},
    },
    geometry::{Point, Pose, Scene, Solid, SolidId, origin},
    layout::{Layout, Port},
};

/// A chain in its drawn place, and what stands around it.
///
/// Everything is worked out in the frame in which the first port is where the drawing has it: only the relative error
/// of the two ports counts for closing, so the first port never moves there. What it is moved against is asked about in
/// that body's own drawn frame.
pub(super) struct Place<'a> {
    pub(super) skeleton: Skeleton<'a>,
    pub(super) from: Line,
    pub(super) to: Line,
    pub(super) allowance: Allowance,
    pub(super) posture: Posture,
    rebuilt: &'a Rebuilt,
    site: Site<'a>,
    /// The first port's component, the second's (empty if it is the same), and the rest.
    groups: [Group; 3],
    /// Both ports are on one component.
    same_body: bool,
    seats: [Point; 2],
    clearance_mm: f64,
}

/// Solids that move together, and their places in the whole scene.
struct Group {
    scene: Scene,
    ids: Vec<SolidId>,
}

/// How one build came out.
#[derive(Clone, Copy, Debug)]
pub(super) struct Verdict {
    pub(super) closes: bool,
    /// Keeps the clearance; only looked at where it closes.
    pub(super) clear: bool,
    /// The miss that remains, in millimetres.
    pub(super) mm: f64,
    /// The angle out of line that remains, in radians.
    pub(super) rad: f64,
}

impl<'a> Place<'a> {
    pub(super) fn new(
        rebuilt: &'a Rebuilt,
        layout: &'a Layout,
        ports: [&'a Port; 2],
        allowance: Allowance,
        clearance_mm: f64,
    ) -> Self {
        let site = Site::new(&rebuilt.fittings, layout, ports, clearance_mm);
        let bodies = ports.map(|port| port.body.index());
        let same_body = bodies[0] == bodies[1];
        let group = |number: usize| {
            let is_in = |owner: usize| match number {
                0 => owner == bodies[0],
                1 => owner == bodies[1] && !same_body,
                _ => !bodies.contains(&owner),
            };
            let members = (0..).map(SolidId).zip(site.owners.iter().zip(site.scene.solids()));
            let (ids, solids): (Vec<SolidId>, Vec<Solid>) =
                members.filter(|(_, (owner, _))| is_in(**owner)).map(|(id, (_, solid))| (id, solid.clone())).unzip();
            Group { scene: Scene::new(solids), ids }
        };
        Self {
            skeleton: rebuilt.skeleton(),
            from: line_of(ports[0]),
            to: line_of(ports[1]),
            allowance,
            posture: rebuilt.posture,
            groups: [0, 1, 2].map(group),
            seats: ports.map(|port| origin(&port.pose)),
            rebuilt,
            site,
            same_body,
            clearance_mm,
        }
    }

    /// The build with these errors of the two ports.
    pub(super) fn build(&self, errors: &[PortError; 2]) -> Verdict {
        let (relative, posture, verdict) = self.close(errors);
        if !verdict.closes {
            return verdict;
        }
        let built = self.site.build(&self.rebuilt.links, &self.rebuilt.closed, &posture);
        let frames = [Pose::identity(), relative.inverse(), errors[0].motion(&self.seats[0])];
        Verdict { clear: !overlaps_itself(&built) && self.is_clear(&built, &frames), ..verdict }
    }

    /// The build with these errors, without a look at what is in the way.
    pub(super) fn closing(&self, errors: &[PortError; 2]) -> Verdict {
        self.close(errors).2
    }

    /// Where the second port is, seen from where the first is drawn.
    pub(super) fn relative(&self, errors: &[PortError; 2]) -> Pose {
        if self.same_body {
            return Pose::identity();
        }
        errors[0].motion(&self.seats[0]).inverse() * errors[1].motion(&self.seats[1])
    }

    /// The line of the second port, moved.
    pub(super) fn moved(&self, relative: &Pose) -> Line {
        Line {
            at: relative * self.to.at,
            towards: relative.rotation * self.to.towards,
            mark: relative.rotation * self.to.mark,
        }
    }

    /// The greater of miss and angle, in allowances.
    pub(super) fn used(&self, verdict: &Verdict) -> f64 {
        (verdict.mm / self.allowance.mm).max(verdict.rad / self.allowance.rad)
    }

    fn close(&self, errors: &[PortError; 2]) -> (Pose, Posture, Verdict) {
        let relative = self.relative(errors);
        let mut posture = self.posture;
        let to = self.moved(&relative);
        let residual = polish(&self.skeleton, &self.from, &to, &self.allowance, &mut posture, None);
        let closes = residual.within(&self.allowance);
        (relative, posture, Verdict { closes, clear: false, mm: residual.mm, rad: residual.rad })
    }

    /// Whether every solid of the chain keeps clear of each group, seen in that group's drawn frame.
    fn is_clear(&self, built: &Built, frames: &[Pose; 3]) -> bool {
        let last_run = self.rebuilt.closed.turns.len();
        built.solids.iter().all(|member| {
            let excused = self.site.excused(member, last_run);
            self.groups.iter().zip(frames).all(|(group, frame)| self.keeps_clear(member, group, frame, excused))
        })
    }

    fn keeps_clear(&self, member: &Member, group: &Group, frame: &Pose, excused: [&[SolidId]; 2]) -> bool {
        let skip =
            |id: SolidId| group.ids.get(id.0 as usize).is_some_and(|id| excused.iter().any(|seats| seats.contains(id)));
        group.scene.blocker(&member.solid.moved(frame), self.clearance_mm, skip).is_none()
    }
}
