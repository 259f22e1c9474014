//! A fitting's geometry, worked out from its centreline: where its ends are and where its solids sit.

use super::part::{FittingDef, PartSolid};
use crate::geometry::{Pose, Shape, SolidDef, along, bent, face_to_face, facing, turned};
use nalgebra::Point3;

/// A solid of a fitting in the fitting's frame.
#[derive(Clone, Debug, PartialEq)]
pub struct BodySolid {
    /// The shape.
    pub shape: Shape,
    /// Where it sits in the fitting's frame.
    pub pose: Pose,
    /// The leg it turns around, if it is round about one: such a solid may touch its neighbour at the seat.
    pub leg: Option<usize>,
}

impl FittingDef {
    /// Whether the part can be a link of a chain: two ends, and not one that a panel must carry.
    #[must_use]
    pub fn is_link(&self) -> bool {
        use super::Family::{Bulkhead, Plug, Tee};
        self.ends.len() == 2 && !matches!(self.family, Bulkhead | Plug | Tee)
    }

    /// Whether the part is the same built in either way round: equal ends, and legs, bends and solids that read the
    /// same from both.
    #[must_use]
    pub fn is_symmetric(&self) -> bool {
        let [first, last] = &self.ends[..] else { return false };
        let mirrored = |numbers: &[f64]| numbers.iter().zip(numbers.iter().rev()).all(|(a, b)| (a - b).abs() < SAME_MM);
        let angles: Vec<f64> = self.bends.iter().map(|bend| bend.angle_deg).collect();
        let rolls: Vec<f64> = self.bends.iter().skip(1).map(|bend| bend.roll_deg).collect();
        // Which way round an adjustable part is drawn out matters unless it is straight.
        let stretch = self.stretch_mm.unwrap_or(0.0);
        first == last
            && mirrored(&self.legs)
            && mirrored(&angles)
            && mirrored(&rolls)
            && (stretch == 0.0 || self.bends.is_empty())
            && [0.0, stretch].into_iter().all(|stretch| self.body_is_symmetric(stretch))
    }

    /// Whether the body drawn out by `stretch` millimetres looks the same from either end.
    fn body_is_symmetric(&self, stretch: f64) -> bool {
        let Some(far) = self.end_frames(stretch).get(1).copied() else { return false };
        let turned_round = face_to_face().inverse() * far.inverse();
        let solids = self.body(stretch);
        let placed = |pose: &Pose| (pose.translation.vector, pose.rotation * nalgebra::Vector3::z());
        solids.iter().all(|solid| {
            let (at, axis) = placed(&(turned_round * solid.pose));
            // Turned bodies look the same whichever way their axis points; other shapes are not compared.
            matches!(solid.shape, Shape::Cylinder { .. } | Shape::Capsule { .. } | Shape::Sphere { .. })
                && solids.iter().any(|other| {
                    let (other_at, other_axis) = placed(&other.pose);
                    same_shape(&solid.shape, &other.shape)
                        && (at - other_at).norm() < SAME_MM
                        && (matches!(solid.shape, Shape::Sphere { .. }) || axis.cross(&other_axis).norm() < SAME_MM)
                })
        })
    }

    /// The length of leg `leg` when the adjustable part is drawn out by `stretch` millimetres; 0 of a leg that it has not.
    #[must_use]
    pub fn leg_length(&self, leg: usize, stretch: f64) -> f64 {
        self.legs.get(leg).map_or(0.0, |length| length + if leg == 0 { stretch } else { 0.0 })
    }

    /// The frame at the start of each leg, `z` along the leg, and last the frame at the far seat. Where no catalog has
    /// checked the fitting and it has fewer bends than it should, the last legs go straight on.
    #[must_use]
    pub fn leg_frames(&self, stretch: f64) -> Vec<Pose> {
        let mut frames = Vec::with_capacity(self.legs.len() + 1);
        let mut here = Pose::identity();
        for leg in 0..self.legs.len() {
            if let Some(bend) = leg.checked_sub(1).and_then(|before| self.bends.get(before)) {
                here *= turned(bend.roll_deg.to_radians()) * bent(bend.angle_deg.to_radians());
            }
            frames.push(here);
            here *= along(self.leg_length(leg, stretch));
        }
        frames.push(here);
        frames
    }

    /// The frames of the ends in the fitting's frame, in the order of `ends`: origin at the seat, `z` out of the
    /// fitting.
    #[must_use]
    pub fn end_frames(&self, stretch: f64) -> Vec<Pose> {
        let mut frames = vec![face_to_face()];
        if self.ends.len() > 1 {
            frames.extend(self.leg_frames(stretch).last());
        }
        if let Some(branch) = self.branch {
            frames.push(along(branch.at) * bent(branch.angle_deg.to_radians()) * along(branch.leg));
        }
        frames
    }

    /// The solids in the fitting's frame when drawn out by `stretch` millimetres. Where no catalog has checked the fitting,
    /// what lies along a leg or a bend that it has not is at its far seat.
    #[must_use]
    pub fn body(&self, stretch: f64) -> Vec<BodySolid> {
        let frames = self.leg_frames(stretch);
        let frame = |leg: usize| frames.get(leg).or(frames.last()).copied().unwrap_or_default();
        self.solids
            .iter()
            .map(|solid| match solid {
                PartSolid::Sleeve { leg, from, to, diameter } => {
                    let end = to.unwrap_or_else(|| self.leg_length(*leg, stretch));
                    BodySolid {
                        shape: Shape::Cylinder { diameter: *diameter, length: end - from },
                        pose: frame(*leg) * along(f64::midpoint(*from, end)),
                        leg: Some(*leg),
                    }
                }
                PartSolid::Knuckle { bend, diameter } => BodySolid {
                    shape: Shape::Sphere { diameter: *diameter },
                    pose: Pose::from(frame(bend.saturating_add(1)).translation),
                    leg: None,
                },
                PartSolid::Free(SolidDef { shape, at, facing: towards }) => {
                    BodySolid { shape: shape.clone(), pose: facing(Point3::from(*at), towards.direction()), leg: None }
                }
            })
            .collect()
    }
}

/// Lengths closer than this are the same, in millimetres.
const SAME_MM: f64 = 1e-6;

fn same_shape(a: &Shape, b: &Shape) -> bool {
    let close = |a: &f64, b: &f64| (a - b).abs() < SAME_MM;
    match (a, b) {
        (Shape::Cylinder { diameter: d, length: l }, Shape::Cylinder { diameter, length })
        | (Shape::Capsule { diameter: d, length: l }, Shape::Capsule { diameter, length }) => {
            close(d, diameter) && close(l, length)
        }
        (Shape::Sphere { diameter: d }, Shape::Sphere { diameter }) => close(d, diameter),
        _ => false,
    }
}
