//! The first turning part at a port, in place after a straight run.

use super::site::Site;
use crate::{
    bridge::stock::LinkId,
    geometry::{Pose, Shape, Solid, SolidId, along as along_axis, face_to_face, turned},
};

impl Site<'_> {
    /// A link that turns at one of the ports after a run of `length_mm`.
    pub(in crate::bridge) fn first_part(&self, port: usize, link: LinkId, length_mm: f64) -> FirstPart {
        let fitting = self.fitting(link);
        let entry = (link & 1) as usize;
        let from_entry =
            if entry == 0 { Pose::identity() } else { face_to_face().inverse() * fitting.end_frames(0.0)[1].inverse() };
        let last_leg = fitting.legs.len() - 1;
        let mut reach_mm = 0.0_f64;
        let members = fitting.body(0.0).into_iter().filter_map(|body| {
            let solid = Solid::new(&body.shape, from_entry * body.pose).ok()?;
            let bounds = solid.bounds();
            let farthest = |axis: usize| bounds.min[axis].abs().max(bounds.max[axis].abs());
            let arm_mm = farthest(0).hypot(farthest(1));
            reach_mm = reach_mm.max(arm_mm.hypot(farthest(2)));
            // Should nothing but straight parts follow, the exit leg lies along the run that is seated at the other port.
            let (at_entry, at_exit) = if entry == 0 { (0, last_leg) } else { (last_leg, 0) };
            let excused = match body.leg {
                Some(leg) if leg == at_entry => self.seats[port].clone(),
                Some(leg) if leg == at_exit => self.seats[1 - port].clone(),
                _ => Vec::new(),
            };
            let cores = cores(&body.shape, &(from_entry * body.pose));
            let whole = Core { solid, arm_mm };
            Some(Member { whole, excused, cores })
        });
        FirstPart {
            members: members.collect(),
            entered: self.ports[port].pose * Pose::translation(0.0, 0.0, length_mm),
            reach_mm,
            stretches: fitting.stretch_mm.is_some(),
        }
    }
}

/// A part that turns at a port after a straight run.
pub(in crate::bridge) struct FirstPart {
    /// The end of the run.
    pub(in crate::bridge) entered: Pose,
    pub(in crate::bridge) members: Vec<Member>,
    /// How far it reaches beyond the run.
    pub(in crate::bridge) reach_mm: f64,
    /// Whether its length can be adjusted.
    pub(in crate::bridge) stretches: bool,
}

impl FirstPart {
    /// Where the part's own frame is when it is turned by so many radians.
    pub(in crate::bridge) fn turned(&self, turn: f64) -> Pose {
        self.entered * turned(turn)
    }

    /// The balls inside it, and what each may touch.
    pub(in crate::bridge) fn cores(&self) -> impl Iterator<Item = (&Core, &[SolidId])> {
        self.members.iter().flat_map(|member| member.cores.iter().map(|core| (core, &member.excused[..])))
    }
}

/// A solid of such a part.
pub(in crate::bridge) struct Member {
    pub(in crate::bridge) whole: Core,
    /// What it may touch.
    pub(in crate::bridge) excused: Vec<SolidId>,
    /// Balls inside it: how deep one of them is in a wall is a matter of closed forms, and the whole is as deep at least.
    pub(in crate::bridge) cores: Vec<Core>,
}

/// Something that turns with a part, against the end of the run and before any turn.
pub(in crate::bridge) struct Core {
    pub(in crate::bridge) solid: Solid,
    /// How far a point of it can be from the axis about which the part turns; of a ball, how far its centre is.
    pub(in crate::bridge) arm_mm: f64,
}

/// Balls inside a solid that stands in `pose`.
pub(in crate::bridge) fn cores(shape: &Shape, pose: &Pose) -> Vec<Core> {
    let (diameter, places) = match shape {
        Shape::Sphere { diameter } => (*diameter, vec![0.0]),
        Shape::Cylinder { diameter, length } => {
            let diameter = diameter.min(*length);
            let end = (length - diameter) / 2.0;
            (diameter, if end > diameter / 4.0 { vec![end, 0.0, -end] } else { vec![0.0] })
        }
        Shape::Capsule { diameter, length } => (*diameter, vec![length / 2.0, 0.0, -length / 2.0]),
        Shape::Box { size } => (size.iter().copied().fold(f64::INFINITY, f64::min), vec![0.0]),
        Shape::Hull { .. } => return Vec::new(),
    };
    let ball = |along: f64| {
        let pose = pose * along_axis(along);
        let centre = pose.translation.vector;
        let solid = Solid::new(&Shape::Sphere { diameter }, pose).ok()?;
        Some(Core { solid, arm_mm: centre.x.hypot(centre.y) })
    };
    places.into_iter().filter_map(ball).collect()
}
