//! From the way a person writes down how something stands to its pose.

use super::file::{PanelDef, PlacedDef};
use crate::geometry::{Direction, Facing, Point, Pose, Vector};
use crate::source::{Checker, Place, brief};
use nalgebra::{Matrix3, Rotation3, Translation3, UnitQuaternion};

/// How far two directions may be from square: the cosine of the angle between them. Directions typed with seven digits
/// pass; a slip of a hundredth of a degree does not.
pub const SQUARE_ACCURACY: f64 = 1e-6;

/// The pose of a component: where its front looks and where its top looks decide the rest.
pub(super) fn component_pose(placed: &PlacedDef, place: &Place<'_>, checker: &mut Checker<'_>) -> Option<Pose> {
    let (front, top) = (placed.front.direction(), placed.top.direction());
    // A component's front is its own `-y`.
    let pose = frame(placed.at, -front, top);
    let sure = ["front", "top"].into_iter().all(|field| !checker.is_doubtful(&place.field(field)));
    if pose.is_none() && sure {
        let message = format!(
            "expected `front` and `top` at a right angle, found {} and {}",
            quoted(&placed.front),
            quoted(&placed.top)
        );
        let help = "`front` is where the component's own -y looks, `top` where its own +z looks; give both";
        checker.refuse(&place.field("front"), message, help);
    }
    pose
}

/// The pose of a panel: `z` out of the machine, `x` along the width.
pub(super) fn panel_pose(panel: &PanelDef, place: &Place<'_>, checker: &mut Checker<'_>) -> Option<Pose> {
    let out = panel.facing.direction();
    let pose = match &panel.across {
        Some(across) => frame_of_width(panel.at, across.direction(), out),
        None => {
            [Vector::x_axis(), Vector::y_axis()].into_iter().find_map(|across| frame_of_width(panel.at, across, out))
        }
    };
    let sure = ["facing", "across"].into_iter().all(|field| !checker.is_doubtful(&place.field(field)));
    if pose.is_none() && sure {
        match &panel.across {
            Some(across) => {
                let (facing, found) = (quoted(&panel.facing), quoted(across));
                let message = format!("expected `across` at a right angle to `facing` ({facing}), found {found}");
                checker.refuse(&place.field("across"), message, "give the direction in which the width runs");
            }
            None => {
                let message = format!("expected `across` for a panel that faces {}", quoted(&panel.facing));
                let help = "neither x nor y lies in the panel: give the direction in which the width runs";
                checker.refuse(&place.field("facing"), message, help);
            }
        }
    }
    pose
}

fn frame_of_width(at: [f64; 3], across: Direction, out: Direction) -> Option<Pose> {
    let up = Direction::try_new(out.cross(&across), 0.5)?;
    (across.dot(&out).abs() <= SQUARE_ACCURACY).then(|| frame(at, up, out)).flatten()
}

/// The frame with these two axes, if they are square; `z` is kept exactly and `y` made square to it.
fn frame(at: [f64; 3], y: Direction, z: Direction) -> Option<Pose> {
    let off = y.dot(&z);
    if off.abs() > SQUARE_ACCURACY {
        return None;
    }
    let y = (y.into_inner() - z.into_inner() * off).normalize();
    let rotation = Rotation3::from_matrix_unchecked(Matrix3::from_columns(&[y.cross(&z), y, z.into_inner()]));
    let rotation = UnitQuaternion::from_rotation_matrix(&rotation);
    Some(Pose::from_parts(Translation3::from(Point::from(at).coords), rotation))
}

fn quoted(facing: &Facing) -> String {
    format!("\"{}\"", brief(&facing.to_string()))
}
