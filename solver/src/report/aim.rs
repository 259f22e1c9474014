//! Where a part must be aimed, in words that hold at the bench: which side of the machine its free end looks to, and the
//! turn against the part before it as on the face of a clock.

use super::{
    turn_plot::View,
    words::{direction, fixed},
};
use crate::{
    geometry::axis,
    layout::{BodyKind, Layout},
};

/// How a part is aimed.
#[derive(Clone, Debug, PartialEq)]
pub struct Aim {
    /// Where its free end points: `towards door, 29° up`.
    pub towards: String,
    /// Its turn against the bend before it or the mark of the port, seen from the free end with 12 where it would bend the
    /// same way: `2 o'clock from the bend before`.
    pub against: String,
    /// How to look at it so that both are seen.
    pub view: View,
}

/// What a turn is counted from.
pub(super) enum Zero<'p> {
    /// The mark of a port, with its direction in the layout's axes.
    Mark(&'p str, [f64; 3]),
    /// The bend before.
    Bend,
}

impl Aim {
    pub(super) fn new(sides: &Sides, heads: [f64; 3], turn_deg: f64, zero: &Zero<'_>, view: View) -> Self {
        let from = match zero {
            Zero::Mark(port, mark) => format!("the mark of {port} ({})", direction(*mark)),
            Zero::Bend => "the bend before".to_owned(),
        };
        Self { towards: sides.words(heads), against: against(turn_deg, &from), view }
    }
}

/// Turns that differ by less are the same on a clock face, in degrees.
const SAME_DEG: f64 = 2.0;

/// A turn counted counter-clockwise, on a clock.
fn against(turn_deg: f64, from: &str) -> String {
    let clockwise = (-turn_deg).rem_euclid(360.0);
    let is = |deg: f64| {
        let off = (clockwise - deg).rem_euclid(360.0);
        off.min(360.0 - off) <= SAME_DEG
    };
    if is(0.0) {
        return format!("in line with {from}, to the same side");
    }
    if is(180.0) {
        return format!("opposite to {from}");
    }
    if is(90.0) {
        return format!("a quarter to the right of {from}");
    }
    if is(270.0) {
        return format!("a quarter to the left of {from}");
    }
    // Half an hour is 15 degrees.
    let half_hours = (clockwise / 15.0).round().rem_euclid(24.0);
    let hour = match (half_hours / 2.0).floor() {
        0.0 => 12.0,
        hour => hour,
    };
    if half_hours % 2.0 == 0.0 {
        format!("{hour} o'clock from {from}")
    } else {
        format!("half past {hour} from {from}")
    }
}

/// The sides of a machine, named by the panels that look there.
pub(super) struct Sides {
    /// For +x, -x, +y and -y.
    names: [String; 4],
}

/// A panel names a side if it looks there to within so many degrees.
const SQUARE_DEG: f64 = 1.0;
/// An angle below this is none, and beyond this much a direction goes up or down rather than sideways, in degrees.
const NONE_DEG: f64 = 0.5;
const STEEP_DEG: f64 = 60.0;

impl Sides {
    /// The sides of a layout; of several panels that look the same way the outermost names the side, and where there is none
    /// the axis does.
    pub(super) fn of(layout: &Layout) -> Self {
        let named = |name: &str, axis_index: usize, sign: f64| {
            let panels = layout.bodies().iter().filter(|body| matches!(body.kind, BodyKind::Panel { .. }));
            let looking = panels.filter(|body| axis(&body.pose)[axis_index] * sign >= SQUARE_DEG.to_radians().cos());
            let outermost = looking.max_by(|one, other| {
                let at = |body: &&crate::layout::Body| body.pose.translation.vector[axis_index] * sign;
                at(one).total_cmp(&at(other))
            });
            outermost.map_or_else(|| name.to_owned(), |panel| panel.name.clone())
        };
        Self { names: [named("+x", 0, 1.0), named("-x", 0, -1.0), named("+y", 1, 1.0), named("-y", 1, -1.0)] }
    }

    /// A direction in the layout's axes, in words: `+z` is up.
    fn words(&self, [x, y, z]: [f64; 3]) -> String {
        let level = x.hypot(y);
        let up_deg = z.atan2(level).to_degrees();
        let (way, tilt) = (if z < 0.0 { "down" } else { "up" }, up_deg.abs());
        if tilt > 90.0 - NONE_DEG {
            return format!("straight {way}");
        }
        let sideways = self.sideways(x, y);
        if tilt > STEEP_DEG {
            return format!("{way}, tilted {}° towards {sideways}", whole(90.0 - tilt));
        }
        if tilt < NONE_DEG {
            format!("towards {sideways}")
        } else {
            format!("towards {sideways}, {}° {way}", whole(tilt))
        }
    }

    /// A level direction: a side, or how far it turns from one side to the next.
    fn sideways(&self, x: f64, y: f64) -> String {
        let along_x = &self.names[usize::from(x < 0.0)];
        let along_y = &self.names[2 + usize::from(y < 0.0)];
        let (main, side, off) = if x.abs() >= y.abs() {
            (along_x, along_y, y.abs().atan2(x.abs()))
        } else {
            (along_y, along_x, x.abs().atan2(y.abs()))
        };
        let off = off.to_degrees();
        if off < NONE_DEG { main.clone() } else { format!("{main}, {}° towards {side}", whole(off)) }
    }
}

fn whole(deg: f64) -> String {
    fixed(deg, 0)
}

#[cfg(test)]
mod tests {
    use super::{Sides, against};

    #[test]
    fn directions_are_named_by_the_sides_of_the_machine() {
        let names = ["starboard", "port", "stern", "bow"].map(str::to_owned);
        let sides = Sides { names };
        let (sin, cos) = 29.0_f64.to_radians().sin_cos();
        for (direction, words) in [
            ([1.0, 0.0, 0.0], "towards starboard"),
            ([-1.0, 0.0, 0.0], "towards port"),
            ([0.0, 1.0, 0.0], "towards stern"),
            ([0.0, 0.0, 1.0], "straight up"),
            ([0.0, 0.0, -1.0], "straight down"),
            ([cos, 0.0, sin], "towards starboard, 29° up"),
            ([0.0, -cos, -sin], "towards bow, 29° down"),
            ([cos, sin, 0.0], "towards starboard, 29° towards stern"),
            ([sin, 0.0, cos], "up, tilted 29° towards starboard"),
            ([0.0, sin, -cos], "down, tilted 29° towards stern"),
        ] {
            assert_eq!(sides.words(direction), words, "{direction:?}");
        }
    }

    #[test]
    fn turns_are_read_off_a_clock() {
        // Turns count counter-clockwise, a clock does not.
        for (turn_deg, words) in [
            (0.0, "in line with M, to the same side"),
            (359.0, "in line with M, to the same side"),
            (180.0, "opposite to M"),
            (90.0, "a quarter to the left of M"),
            (270.0, "a quarter to the right of M"),
            (300.0, "2 o'clock from M"),
            (29.0, "11 o'clock from M"),
            (345.0, "half past 12 from M"),
            (15.0, "half past 11 from M"),
            (5.0, "12 o'clock from M"),
            (210.0, "5 o'clock from M"),
        ] {
            assert_eq!(against(turn_deg, "M"), words, "{turn_deg}");
        }
    }
}
