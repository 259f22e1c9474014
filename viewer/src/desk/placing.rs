//! Where a component is put: coordinates on the grid, and moves from here to there.

use elbowroom::layout::{BodyId, BodyKind, Layout, Move};

/// Components are dragged in steps of this, in millimetres.
pub const GRID_MM: f64 = 0.5;

/// The shift along one axis that lands on the grid, next to `shift`, from a component at `at`. A shift of less than
/// half a step is none, so that a component off the grid stays where it is until it is really moved.
#[must_use]
pub fn snapped(at: f64, shift: f64) -> f64 {
    if !shift.is_finite() || shift.abs() < GRID_MM / 2.0 {
        return 0.0;
    }
    rounded(((at + shift) / GRID_MM).round() * GRID_MM - at)
}

/// Where a component stands: the origin of its frame, in the layout's axes. `None` for panels.
#[must_use]
pub fn place(layout: &Layout, body: BodyId) -> Option<[f64; 3]> {
    let body = layout.body(body).filter(|body| body.kind == BodyKind::Component)?;
    Some(body.pose.translation.vector.map(rounded).into())
}

/// The move that takes a component to `at`; `None` for panels, and when it stands there already.
#[must_use]
pub fn move_to(layout: &Layout, body: BodyId, at: [f64; 3]) -> Option<Move> {
    let from = place(layout, body)?;
    let shift_mm = [0, 1, 2].map(|axis| rounded(at[axis] - from[axis]));
    (shift_mm != [0.0; 3] && shift_mm.iter().all(|shift| shift.is_finite())).then_some(Move {
        body,
        shift_mm,
        turn_deg: 0.0,
    })
}

/// How far a component stands from where it stood `before`, beyond what its play allows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Beyond {
    /// Along x, y and z, in millimetres: how far it was moved where that is more than its play, 0 where it is not.
    pub moved_mm: [f64; 3],
    /// How far it was turned, in degrees, where that is more than its play; 0 where it is not.
    pub turned_deg: f64,
}

/// Whether a component of `now` stands farther from where it stood `before` than its play allows, and how far; `None`
/// where it does not, for panels, and for what was not there before.
#[must_use]
pub fn beyond_play(now: &Layout, before: &Layout, body: BodyId) -> Option<Beyond> {
    const ROUNDING: f64 = 1e-6;
    let is = place(now, body)?;
    let moved = now.body(body)?;
    let (was_id, was) = before.bodies_by_id().find(|(_, known)| known.name == moved.name)?;
    let stood = place(before, was_id)?;
    let moved_mm = [0, 1, 2].map(|axis| {
        let by = rounded(is[axis] - stood[axis]);
        if by.abs() > was.play_mm[axis] + ROUNDING { by } else { 0.0 }
    });
    let turned = was.pose.rotation.angle_to(&moved.pose.rotation).to_degrees();
    let turned_deg = if turned > was.play_turn_deg + 1e-3 { turned } else { 0.0 };
    (moved_mm != [0.0; 3] || turned_deg > 0.0).then_some(Beyond { moved_mm, turned_deg })
}

/// The gaps that have a port on a body, by their place in the layout.
#[must_use]
pub fn gaps_at(layout: &Layout, body: BodyId) -> Vec<usize> {
    let on_body = |port| layout.port_by_id(port).is_some_and(|port| port.body == body);
    let gaps = layout.gaps().iter().enumerate();
    gaps.filter(|(_, gap)| on_body(gap.from) || on_body(gap.to)).map(|(index, _)| index).collect()
}

/// To a millionth of a millimetre, as files are written.
fn rounded(value: f64) -> f64 {
    (value * 1e6).round() / 1e6 + 0.0
}

#[cfg(test)]
mod tests {
    use super::{Beyond, beyond_play, gaps_at, move_to, place, snapped};
    use elbowroom::{catalog::Catalog, layout::Layout};

    #[test]
    fn shifts_land_on_the_grid() {
        assert_eq!(snapped(329.5, 3.1), 3.0);
        assert_eq!(snapped(329.5, 3.3), 3.5);
        assert_eq!(snapped(329.5, -0.24), 0.0);
        assert_eq!(snapped(4.3, 0.6), 0.7, "off the grid it lands on the grid");
        assert_eq!(snapped(4.3, 0.1), 0.0, "but stays until it is moved");
        assert_eq!(snapped(1.0, f64::NAN), 0.0);
    }

    #[test]
    fn what_goes_beyond_its_play_is_told_by_axis() {
        let text = r#"(version: 1, name: "one", components: [
            (name: "pump", at: AT, play: (2, 0, 1), solids: [(shape: box(size: (9, 9, 9)))]),
        ])"#;
        let read = |at: &str| {
            let layout = Layout::parse(&text.replace("AT", at), "one.ron", &Catalog::builtin());
            layout.unwrap_or_else(|bad| panic!("{bad}"))
        };
        let before = read("(10, 20, 30)");
        let beyond = |at: &str| {
            let now = read(at);
            beyond_play(&now, &before, now.bodies_by_id().next().expect("one").0)
        };
        assert_eq!(beyond("(12, 20, 29)"), None, "to the limit");
        let moved = |moved_mm| Some(Beyond { moved_mm, turned_deg: 0.0 });
        assert_eq!(beyond("(12.5, 20, 30)"), moved([2.5, 0.0, 0.0]));
        assert_eq!(beyond("(11, 20.5, 28)"), moved([0.0, 0.5, -2.0]));
        let turned = beyond("(10, 20, 30), front: \"-x\"").map(|beyond| beyond.turned_deg);
        assert_eq!(turned.map(|deg| deg.round()), Some(90.0));
    }

    #[test]
    fn a_component_is_moved_from_where_it_stands() {
        let (name, text) = elbowroom_catalog::DEMO;
        let layout = Layout::parse(text, name, &Catalog::builtin()).expect("the demo is sound");
        let (pump, _) = layout.bodies_by_id().find(|(_, body)| body.name == "pump").expect("it has a pump");
        assert_eq!(place(&layout, pump), Some([329.5, 4.5, 122.0]));
        assert_eq!(move_to(&layout, pump, [332.5, 4.5, 122.0]).map(|by| by.shift_mm), Some([3.0, 0.0, 0.0]));
        assert_eq!(move_to(&layout, pump, [329.5, 4.5, 122.0]), None);
        assert_eq!(move_to(&layout, pump, [f64::NAN, 4.5, 122.0]), None);
        assert_eq!(gaps_at(&layout, pump), [0, 1]);
        let (floor, _) = layout.bodies_by_id().next().expect("it has a floor");
        assert_eq!(place(&layout, floor), None);
    }
}
