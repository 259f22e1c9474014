//! The handles by which a component is moved: three arms along the layout's axes, and three squares between them.
//!
//! Plain geometry in world millimetres and on screen; `drag.rs` puts it under the pointer.

use crate::look::{
    eye::Eye,
    pick::{Ray, ray},
};
use bevy::math::{Vec2, Vec3};

/// One handle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Handle {
    /// Along an axis: 0 is x.
    Arm(usize),
    /// In the plane square to an axis.
    Square(usize),
}

/// The handles of a component in a view.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Handles {
    /// Where the arms meet.
    pub origin: Vec3,
    /// Length of an arm in millimetres: always the same on screen.
    pub arm_mm: f32,
}

/// Length of an arm, as a share of the view's height.
const ARM: f32 = 0.13;
/// Where a square begins and ends along both of its arms, as shares of an arm.
const SQUARE: [f32; 2] = [0.28, 0.52];
/// Half the height of an axis' letter, as a share of an arm.
const LETTER: f32 = 0.09;
/// How near the pointer must come to an arm, as a share of the view's height.
const NEAR: f32 = 0.014;
/// Arms that point at the viewer by more than this cosine, and planes seen from their edge by less, cannot be dragged:
/// a pixel would be many millimetres.
const END_ON: f32 = 0.98;
const EDGE_ON: f32 = 0.12;

impl Handles {
    /// Handles around `origin`, as large as they should be in this view.
    #[must_use]
    pub fn new(origin: Vec3, eye: &Eye) -> Self {
        let [_, _, out] = eye.axes();
        // In perspective what is nearer is larger.
        let scale = if eye.parallel { 1.0 } else { 1.0 - (origin - eye.target).dot(out) / eye.distance_mm() };
        Self { origin, arm_mm: ARM * eye.span_mm * scale.max(0.05) }
    }

    /// From the origin to the tip of an arm.
    #[must_use]
    pub fn arm(&self, axis: usize) -> [Vec3; 2] {
        [self.origin, self.origin + Vec3::AXES[axis % 3] * self.arm_mm]
    }

    /// The corners of the square that is square to an axis, in order.
    #[must_use]
    pub fn square(&self, normal: usize) -> [Vec3; 4] {
        let [u, v] = [1, 2].map(|step| Vec3::AXES[(normal + step) % 3] * self.arm_mm);
        let [low, high] = SQUARE;
        [[low, low], [high, low], [high, high], [low, high]].map(|[a, b]| self.origin + u * a + v * b)
    }

    /// The strokes of an axis' letter, beyond the tip of its arm and upright on screen.
    #[must_use]
    pub fn letter(&self, axis: usize, eye: &Eye) -> Vec<Vec<Vec3>> {
        const STROKES: [&[&[[f32; 2]]]; 3] = [
            &[&[[-1.0, -1.0], [1.0, 1.0]], &[[-1.0, 1.0], [1.0, -1.0]]],
            &[&[[-1.0, 1.0], [0.0, 0.0], [0.0, -1.0]], &[[1.0, 1.0], [0.0, 0.0]]],
            &[&[[-1.0, 1.0], [1.0, 1.0], [-1.0, -1.0], [1.0, -1.0]]],
        ];
        let [right, up, _] = eye.axes();
        let half = self.arm_mm * LETTER;
        let middle = self.origin + Vec3::AXES[axis % 3] * (self.arm_mm * (1.0 + 2.0 * LETTER));
        let place = |[x, y]: &[f32; 2]| middle + (right * *x * 0.75 + up * *y) * half;
        STROKES[axis % 3].iter().map(|stroke| stroke.iter().map(place).collect()).collect()
    }

    /// Whether a handle can be dragged in this view.
    #[must_use]
    pub fn is_usable(&self, handle: Handle, eye: &Eye) -> bool {
        let [_, _, out] = eye.axes();
        match handle {
            Handle::Arm(axis) => out.dot(Vec3::AXES[axis % 3]).abs() < END_ON,
            Handle::Square(normal) => out.dot(Vec3::AXES[normal % 3]).abs() > EDGE_ON,
        }
    }

    /// All of them that can be dragged in this view, squares first: they lie between the arms and are smaller.
    pub fn usable(&self, eye: &Eye) -> impl Iterator<Item = Handle> {
        let all = [0, 1, 2].map(Handle::Square).into_iter().chain([0, 1, 2].map(Handle::Arm));
        all.filter(|handle| self.is_usable(*handle, eye))
    }

    /// The handle under the pointer, which is given as [`Eye::on_screen`] gives places.
    #[must_use]
    pub fn under(&self, pointer: Vec2, eye: &Eye) -> Option<Handle> {
        self.usable(eye).find(|handle| match *handle {
            Handle::Square(normal) => {
                let corners = self.square(normal).map(|corner| eye.on_screen(corner));
                let [Some(a), Some(b), Some(c), Some(d)] = corners else { return false };
                is_within(pointer, &[a, b, c, d])
            }
            Handle::Arm(axis) => {
                let [Some(from), Some(to)] = self.arm(axis).map(|end| eye.on_screen(end)) else { return false };
                to_segment(pointer, from, to) < NEAR
            }
        })
    }

    /// How far a handle went from where the pointer took hold of it to where the pointer is now; `None` where that
    /// cannot be told.
    #[must_use]
    pub fn shift(&self, handle: Handle, from: Vec2, to: Vec2, eye: &Eye) -> Option<Vec3> {
        let reach = eye.span_mm * 10.0 + eye.target.distance(self.origin);
        let [from, to] = [from, to].map(|pointer| self.place(handle, &ray(eye, pointer, reach)));
        Some(to? - from?)
    }

    /// The place on a handle's line or plane that a ray points at.
    fn place(&self, handle: Handle, ray: &Ray) -> Option<Vec3> {
        /// Below this the ray runs along the line or the plane.
        const ALONG: f32 = 1e-6;
        let step = self.origin - ray.from;
        match handle {
            Handle::Arm(axis) => {
                // The nearest places of two lines.
                let line = Vec3::AXES[axis % 3];
                let across = line.dot(ray.along);
                let spread = 1.0 - across * across;
                (spread > ALONG)
                    .then(|| self.origin + line * ((across * step.dot(ray.along) - step.dot(line)) / spread))
            }
            Handle::Square(normal) => {
                let normal = Vec3::AXES[normal % 3];
                let facing = normal.dot(ray.along);
                (facing.abs() > ALONG).then(|| ray.from + ray.along * (normal.dot(step) / facing))
            }
        }
    }
}

/// Distance of a place on screen to a line between two others.
fn to_segment(at: Vec2, from: Vec2, to: Vec2) -> f32 {
    let line = to - from;
    let share = ((at - from).dot(line) / line.length_squared().max(1e-12)).clamp(0.0, 1.0);
    at.distance(from + line * share)
}

/// Whether a place lies within a convex polygon, whichever way round its corners go.
fn is_within(at: Vec2, corners: &[Vec2; 4]) -> bool {
    let sides = [0, 1, 2, 3].map(|side| (corners[(side + 1) % 4] - corners[side]).perp_dot(at - corners[side]));
    sides.iter().all(|side| *side >= 0.0) || sides.iter().all(|side| *side <= 0.0)
}

#[cfg(test)]
mod tests {
    use super::{Handle, Handles};
    use crate::look::eye::{Eye, View};
    use bevy::math::{Vec2, Vec3};

    fn eyes() -> impl Iterator<Item = Eye> {
        View::ALL.into_iter().flat_map(|view| {
            [true, false].map(|parallel| {
                let mut eye = Eye { parallel, target: Vec3::new(200.0, 90.0, 80.0), span_mm: 320.0, ..Eye::default() };
                eye.look_from(view);
                eye
            })
        })
    }

    const ORIGIN: Vec3 = Vec3::new(329.5, 4.5, 122.0);

    fn on(eye: &Eye, at: Vec3) -> Vec2 {
        eye.on_screen(at).unwrap_or_else(|| panic!("{at} is behind {eye:?}"))
    }

    #[test]
    fn the_pointer_finds_the_handle_that_it_is_on() {
        for eye in eyes() {
            let handles = Handles::new(ORIGIN, &eye);
            for handle in handles.usable(&eye) {
                let middle = match handle {
                    // Beyond the squares.
                    Handle::Arm(axis) => handles.arm(axis)[0].lerp(handles.arm(axis)[1], 0.9),
                    Handle::Square(normal) => handles.square(normal).iter().sum::<Vec3>() / 4.0,
                };
                assert_eq!(handles.under(on(&eye, middle), &eye), Some(handle), "{eye:?}");
            }
            assert_eq!(handles.under(on(&eye, ORIGIN) + Vec2::new(0.3, 0.3), &eye), None);
        }
    }

    #[test]
    fn a_handle_follows_the_pointer() {
        let moved = Vec3::new(3.0, -7.5, 12.0);
        let mut seen = 0;
        for eye in eyes() {
            let handles = Handles::new(ORIGIN, &eye);
            for handle in handles.usable(&eye) {
                let wanted = match handle {
                    Handle::Arm(axis) => Vec3::AXES[axis] * moved[axis],
                    Handle::Square(normal) => moved - Vec3::AXES[normal] * moved[normal],
                };
                let shift = handles.shift(handle, on(&eye, ORIGIN), on(&eye, ORIGIN + wanted), &eye).unwrap();
                assert!(shift.distance(wanted) < 0.02, "{handle:?} in {eye:?}: {shift} for {wanted}");
                seen += 1;
            }
        }
        assert!(seen > 40, "{seen}");
    }

    #[test]
    fn letters_stand_upright_beyond_the_tips() {
        for eye in eyes() {
            let handles = Handles::new(ORIGIN, &eye);
            for handle in handles.usable(&eye) {
                let Handle::Arm(axis) = handle else { continue };
                let strokes = handles.letter(axis, &eye);
                let places: Vec<Vec2> = strokes.iter().flatten().map(|at| on(&eye, *at)).collect();
                let heights = places.iter().map(|place| place.y);
                let height = heights.clone().fold(f32::MIN, f32::max) - heights.fold(f32::MAX, f32::min);
                assert!((0.6..1.6).contains(&(height / (2.0 * super::LETTER * super::ARM))), "{height} in {eye:?}");
                let [from, tip] = handles.arm(axis).map(|end| on(&eye, end));
                let out = places.iter().sum::<Vec2>() / places.len() as f32;
                assert!((out - from).dot(tip - from) > (tip - from).length_squared(), "{axis} in {eye:?}");
            }
        }
    }

    #[test]
    fn what_points_at_the_viewer_is_left_alone() {
        let mut eye = Eye::default();
        eye.look_from(View::Top);
        let handles = Handles::new(ORIGIN, &eye);
        let usable: Vec<Handle> = handles.usable(&eye).collect();
        assert_eq!(usable, [Handle::Square(2), Handle::Arm(0), Handle::Arm(1)]);
        assert_eq!(handles.shift(Handle::Arm(2), Vec2::ZERO, Vec2::new(0.1, 0.0), &eye), None);
    }

    #[test]
    fn handles_are_the_same_size_on_screen_wherever_they_are() {
        for span_mm in [20.0, 400.0] {
            for parallel in [true, false] {
                let eye = Eye { parallel, span_mm, heading: 0.0, elevation: 0.0, ..Eye::default() };
                for origin in [Vec3::ZERO, Vec3::new(0.0, span_mm * 0.3, 0.0)] {
                    let [from, to] = Handles::new(origin, &eye).arm(2).map(|end| on(&eye, end));
                    assert!((from.distance(to) - super::ARM).abs() < 1e-3, "{}", from.distance(to));
                }
            }
        }
    }
}
