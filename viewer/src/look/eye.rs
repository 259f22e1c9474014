//! From where the scene is looked at. Plain numbers; `camera.rs` puts them into Bevy's camera.
//!
//! The eye turns like a turntable: the layout's `z` stays upright on screen, as a machine stands on a bench.

use bevy::math::{Mat3, Quat, Vec2, Vec3};
use std::f32::consts::{FRAC_PI_2, FRAC_PI_4, PI};

/// Height of the perspective's field of view, in radians: 30°, about that of a page held at reading distance.
pub const FIELD_OF_VIEW: f32 = PI / 6.0;

/// Room left around everything that is fitted into view, as a share of the view.
const MARGIN: f32 = 0.06;

/// Least and greatest height of what is in view, in millimetres.
const SPANS_MM: [f32; 2] = [0.5, 200_000.0];

/// From where, and how much of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Eye {
    /// The place in the middle of the view, in world millimetres.
    pub target: Vec3,
    /// Turn about the world's `z`, in radians: 0 looks from the front (`-y`), a quarter turn from the right (`+x`).
    pub heading: f32,
    /// Height of the eye over the horizon, in radians, from straight below to straight above.
    pub elevation: f32,
    /// Height of what is seen in the plane of the target, in millimetres.
    pub span_mm: f32,
    /// Parallel projection instead of perspective.
    pub parallel: bool,
}

/// The standard views.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum View {
    /// From `-y`.
    Front,
    /// From `+y`.
    Back,
    /// From `-x`.
    Left,
    /// From `+x`.
    Right,
    /// From `+z`, `+y` up.
    Top,
    /// From `-z`, `-y` up.
    Bottom,
    /// From the right, the front and above, all three axes equally long.
    Isometric,
}

impl View {
    /// All of them, in the order of their keys.
    pub const ALL: [Self; 7] =
        [Self::Front, Self::Back, Self::Left, Self::Right, Self::Top, Self::Bottom, Self::Isometric];

    /// The word for it on the command line and on screen.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Front => "front",
            Self::Back => "back",
            Self::Left => "left",
            Self::Right => "right",
            Self::Top => "top",
            Self::Bottom => "bottom",
            Self::Isometric => "isometric",
        }
    }

    /// Heading and elevation.
    #[must_use]
    pub fn angles(self) -> (f32, f32) {
        match self {
            Self::Front => (0.0, 0.0),
            Self::Back => (PI, 0.0),
            Self::Left => (-FRAC_PI_2, 0.0),
            Self::Right => (FRAC_PI_2, 0.0),
            Self::Top => (0.0, FRAC_PI_2),
            Self::Bottom => (0.0, -FRAC_PI_2),
            // The height at which the diagonal of a cube looks end on.
            Self::Isometric => (FRAC_PI_4, (1.0_f32 / 2.0_f32.sqrt()).atan()),
        }
    }
}

impl Default for Eye {
    fn default() -> Self {
        let (heading, elevation) = View::Isometric.angles();
        Self { target: Vec3::ZERO, heading, elevation, span_mm: 300.0, parallel: true }
    }
}

impl Eye {
    /// The way to the right on screen, up on screen, and out of the screen, each of length one.
    #[must_use]
    pub fn axes(&self) -> [Vec3; 3] {
        let ((sin_h, cos_h), (sin_e, cos_e)) = (self.heading.sin_cos(), self.elevation.sin_cos());
        [
            Vec3::new(cos_h, sin_h, 0.0),
            Vec3::new(-sin_h * sin_e, cos_h * sin_e, cos_e),
            Vec3::new(sin_h * cos_e, -cos_h * cos_e, sin_e),
        ]
    }

    /// The turn from Bevy's camera frame (`x` right, `y` up, `z` towards the viewer) to the world.
    #[must_use]
    pub fn rotation(&self) -> Quat {
        let [right, up, out] = self.axes();
        Quat::from_mat3(&Mat3::from_cols(right, up, out))
    }

    /// Where a place is on screen, in shares of the view's height, right and up from the middle; `None` behind the eye.
    #[must_use]
    pub fn on_screen(&self, at: Vec3) -> Option<Vec2> {
        let [right, up, out] = self.axes();
        let step = at - self.target;
        let scale = if self.parallel { 1.0 } else { 1.0 - step.dot(out) / self.distance_mm() };
        (scale > 0.0).then(|| Vec2::new(step.dot(right), step.dot(up)) / self.span_mm / scale)
    }

    /// How far the eye of the perspective is from the target, in millimetres.
    #[must_use]
    pub fn distance_mm(&self) -> f32 {
        self.span_mm / 2.0 / (FIELD_OF_VIEW / 2.0).tan()
    }

    /// Turns about the target by angles in radians: the first moves the eye to the right, the second up.
    pub fn orbit(&mut self, right: f32, up: f32) {
        self.heading = (self.heading + right + PI).rem_euclid(2.0 * PI) - PI;
        self.elevation = (self.elevation + up).clamp(-FRAC_PI_2, FRAC_PI_2);
    }

    /// Moves what is seen along with the pointer; `by` in shares of the view's height, right and up.
    pub fn pan(&mut self, by: Vec2) {
        let [right, up, _] = self.axes();
        self.target -= (right * by.x + up * by.y) * self.span_mm;
    }

    /// Shows more (`factor` over one) or less, keeping the place under the pointer, which is given in shares of the
    /// view's height, right and up from the middle.
    pub fn zoom(&mut self, factor: f32, pointer: Vec2) {
        let span_mm = (self.span_mm * factor).clamp(SPANS_MM[0], SPANS_MM[1]);
        let [right, up, _] = self.axes();
        self.target += (right * pointer.x + up * pointer.y) * (self.span_mm - span_mm);
        self.span_mm = span_mm;
    }

    /// Looks from a standard direction.
    pub fn look_from(&mut self, view: View) {
        (self.heading, self.elevation) = view.angles();
    }

    /// Brings a box into view; `aspect` is the view's width over its height.
    pub fn fit(&mut self, [low, high]: [Vec3; 2], aspect: f32) {
        let [right, up, out] = self.axes();
        self.target = low.midpoint(high);
        let corners = (0..8).map(|bits| {
            let pick = |axis: usize| if bits >> axis & 1 == 1 { high[axis] } else { low[axis] };
            Vec3::new(pick(0), pick(1), pick(2)) - self.target
        });
        let half = corners.fold(0.0_f32, |half, corner| {
            let across = (corner.dot(right).abs() / aspect).max(corner.dot(up).abs());
            // In perspective what is nearer than the target takes more room.
            let nearer = if self.parallel { 0.0 } else { corner.dot(out) * (FIELD_OF_VIEW / 2.0).tan() };
            half.max(across + nearer)
        });
        self.span_mm = (2.0 * half * (1.0 + 2.0 * MARGIN)).clamp(SPANS_MM[0], SPANS_MM[1]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(a: Vec3, b: Vec3) -> bool {
        a.distance(b) < 1e-3
    }

    #[test]
    fn standard_views_look_from_where_they_say() {
        let out = |view: View| {
            let mut eye = Eye::default();
            eye.look_from(view);
            eye.axes()
        };
        let cases = [
            (View::Front, Vec3::X, Vec3::Z, Vec3::NEG_Y),
            (View::Back, Vec3::NEG_X, Vec3::Z, Vec3::Y),
            (View::Left, Vec3::NEG_Y, Vec3::Z, Vec3::NEG_X),
            (View::Right, Vec3::Y, Vec3::Z, Vec3::X),
            (View::Top, Vec3::X, Vec3::Y, Vec3::Z),
            (View::Bottom, Vec3::X, Vec3::NEG_Y, Vec3::NEG_Z),
        ];
        for (view, right, up, toward) in cases {
            let found = out(view);
            assert!(near(found[0], right) && near(found[1], up) && near(found[2], toward), "{view:?}: {found:?}");
        }
        assert!(near(out(View::Isometric)[2], Vec3::new(1.0, -1.0, 1.0).normalize()));
    }

    fn on_screen(eye: &Eye, at: Vec3) -> Vec2 {
        eye.on_screen(at).unwrap_or_else(|| panic!("{at} is behind {eye:?}"))
    }

    #[test]
    fn zooming_keeps_what_is_under_the_pointer() {
        for parallel in [true, false] {
            let mut eye = Eye { heading: 0.7, elevation: 0.3, parallel, ..Eye::default() };
            let [right, up, _] = eye.axes();
            let at = eye.target + right * 40.0 - up * 25.0;
            let pointer = on_screen(&eye, at);
            for factor in [0.8, 0.5, 3.0] {
                eye.zoom(factor, pointer);
                assert!(on_screen(&eye, at).distance(pointer) < 1e-4);
            }
        }
    }

    #[test]
    fn panning_moves_the_scene_with_the_pointer() {
        let mut eye = Eye { heading: -1.0, elevation: 0.4, ..Eye::default() };
        let at = Vec3::new(10.0, 20.0, 30.0);
        let before = on_screen(&eye, at);
        eye.pan(Vec2::new(0.1, -0.2));
        assert!(on_screen(&eye, at).distance(before + Vec2::new(0.1, -0.2)) < 1e-4);
    }

    #[test]
    fn what_is_fitted_is_in_view() {
        let (low, high) = (Vec3::new(-10.0, 0.0, 5.0), Vec3::new(400.0, 180.0, 160.0));
        for parallel in [true, false] {
            for view in View::ALL {
                for aspect in [0.6, 1.0, 1.8] {
                    let mut eye = Eye { parallel, ..Eye::default() };
                    eye.look_from(view);
                    eye.fit([low, high], aspect);
                    for bits in 0..8 {
                        let pick = |axis: usize| if bits >> axis & 1 == 1 { high[axis] } else { low[axis] };
                        let at = on_screen(&eye, Vec3::new(pick(0), pick(1), pick(2)));
                        assert!(at.y.abs() <= 0.5 && at.x.abs() <= 0.5 * aspect, "{view:?} {aspect}: {at}");
                    }
                }
            }
        }
    }
}
