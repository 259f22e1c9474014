//! A chain that stands open at one joint, because links are pushed in, swivels turned, or a component is held back.

use nalgebra::{Isometry3, Translation3, Vector3};

/// Motions of all parts of a chain from where they stand when all is done, in world axes.
///
/// Joint `j` lies before part `j`; a chain of `n` parts has `n + 1` joints.
#[derive(Clone, Debug)]
pub(super) struct Posture {
    /// World frame of each joint when all is done, `z` towards the second port.
    frames: Vec<Isometry3<f64>>,
    /// The joint that stands open; every part before it hangs on the first port, every other on the second.
    open: usize,
    /// Turn of each joint from home, in radians.
    turns: Vec<f64>,
    /// How much farther than at home each part is drawn out.
    draws: Vec<f64>,
    /// World shift of the components of the two ports, with all that is joined to them.
    shifts: [Vector3<f64>; 2],
}

impl Posture {
    /// Everything in its place.
    pub(super) fn home(frames: &[Isometry3<f64>]) -> Self {
        let joints = frames.len();
        Self {
            frames: frames.to_vec(),
            open: joints,
            turns: vec![0.0; joints],
            draws: vec![0.0; joints.saturating_sub(1)],
            shifts: [Vector3::zeros(); 2],
        }
    }

    /// Open at `joint` with these swivels turned, in degrees, and these links drawn out farther than at home.
    pub(super) fn open(
        frames: &[Isometry3<f64>],
        joint: usize,
        swivels: &[(usize, f64)],
        draws: &[(usize, f64)],
    ) -> Self {
        let mut posture = Self { open: joint, ..Self::home(frames) };
        for (joint, degrees) in swivels {
            if let Some(turn) = posture.turns.get_mut(*joint) {
                *turn = degrees.to_radians();
            }
        }
        for (part, by) in draws {
            if let Some(draw) = posture.draws.get_mut(*part) {
                *draw = *by;
            }
        }
        posture
    }

    /// Open at `joint` with the component of the second port (or of the first) shifted.
    pub(super) fn held(frames: &[Isometry3<f64>], joint: usize, second: bool, shift: Vector3<f64>) -> Self {
        let mut posture = Self { open: joint, ..Self::home(frames) };
        posture.shifts[usize::from(second)] = shift;
        posture
    }

    /// The same with everything only a share of the way from home, 0 to 1.
    pub(super) fn scaled(&self, share: f64) -> Self {
        Self {
            frames: self.frames.clone(),
            open: self.open,
            turns: self.turns.iter().map(|turn| turn * share).collect(),
            draws: self.draws.iter().map(|draw| draw * share).collect(),
            shifts: self.shifts.map(|shift| shift * share),
        }
    }

    /// How much farther than at home a part is drawn out.
    pub(super) fn draw(&self, part: usize) -> f64 {
        self.draws.get(part).copied().unwrap_or(0.0)
    }

    /// Motion of the entry and the exit side of each part; they differ by what a link is pushed in.
    pub(super) fn sides(&self) -> Vec<[Isometry3<f64>; 2]> {
        let parts = self.draws.len();
        let mut sides = vec![[Isometry3::identity(); 2]; parts];
        let mut motion = Isometry3::from(Translation3::from(self.shifts[0]));
        for (part, side) in sides.iter_mut().enumerate().take(self.open) {
            let entry = motion * self.about(part);
            motion = entry * self.drawn(part, 1.0);
            *side = [entry, motion];
        }
        motion = Translation3::from(self.shifts[1]).into();
        for part in (self.open..parts).rev() {
            let exit = motion * self.about(part + 1);
            motion = exit * self.drawn(part, -1.0);
            sides[part] = [motion, exit];
        }
        sides
    }

    /// The frame of a joint as the part, or the port, before it has it.
    pub(super) fn frame_before(&self, joint: usize) -> Isometry3<f64> {
        let sides = self.sides();
        let before = joint.checked_sub(1).and_then(|part| sides.get(part));
        before.map_or(Translation3::from(self.shifts[0]).into(), |side| side[1]) * self.frame(joint)
    }

    /// The frame of a joint as the part, or the port, after it has it.
    pub(super) fn frame_after(&self, joint: usize) -> Isometry3<f64> {
        let sides = self.sides();
        sides.get(joint).map_or(Translation3::from(self.shifts[1]).into(), |side| side[0]) * self.frame(joint)
    }

    fn frame(&self, joint: usize) -> Isometry3<f64> {
        self.frames.get(joint).copied().unwrap_or_default()
    }

    fn about(&self, joint: usize) -> Isometry3<f64> {
        let frame = self.frame(joint);
        frame * elbowroom::geometry::turned(self.turns.get(joint).copied().unwrap_or(0.0)) * frame.inverse()
    }

    /// Straight links are drawn along the way they lead on.
    fn drawn(&self, part: usize, sign: f64) -> Isometry3<f64> {
        let along = elbowroom::geometry::axis(&self.frame(part + 1));
        Translation3::from(along * (self.draw(part) * sign)).into()
    }
}
