//! Moving a component: in the resolved machine, and in the text of its file.

use super::{AllowancesDef, BodyId, BodyKind, Layout};
use crate::geometry::{Pose, Vector, turned};
use crate::source::index::Index;
use std::ops::Range;

/// A shift and a turn of one component.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Move {
    /// Which component.
    pub body: BodyId,
    /// By how much it is shifted along the layout's x, y and z, in millimetres.
    pub shift_mm: [f64; 3],
    /// By how much it is turned about its own top axis through its own origin, counter-clockwise seen from above its
    /// top, in degrees.
    pub turn_deg: f64,
}

/// Why a move could not be written into a text.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum BadEdit {
    /// The text is not the one that the layout was read from.
    #[error("the text has no `{place}`; give the file that the layout was read from")]
    Missing {
        /// What was looked for, such as `components[3].at`.
        place: String,
    },
    /// The move is of a panel, or of a body of another layout.
    #[error("only a component of the layout can be moved")]
    NoComponent,
}

/// Steps of a millionth of a millimetre, to which coordinates are written: sums of short decimal fractions stay short.
const WRITTEN_STEPS: f64 = 1e6;

impl Layout {
    /// The machine with one component moved; everything else stays, play and gaps included. `None` if the move is of
    /// a panel, of a body of another layout, or not by finite numbers.
    #[must_use]
    pub fn moved(&self, by: &Move) -> Option<Self> {
        let body = self.body(by.body).filter(|body| body.kind == BodyKind::Component)?;
        if !by.turn_deg.is_finite() || by.shift_mm.iter().any(|shift| !shift.is_finite()) {
            return None;
        }
        let change = moved_pose(&body.pose, by) * body.pose.inverse();
        let mut layout = self.clone();
        let body = layout.bodies.get_mut(by.body.index())?;
        body.pose = change * body.pose;
        body.solids = body.solids.iter().map(|solid| solid.moved(&change)).collect();
        for port in layout.ports.iter_mut().filter(|port| port.body == by.body) {
            port.pose = change * port.pose;
        }
        Some(layout)
    }

    /// The same machine, judged by other allowances.
    pub(crate) fn with_allowances(&self, allowances: AllowancesDef) -> Self {
        Self { allowances, ..self.clone() }
    }

    /// The same machine with one body made of nothing: its ports stay, and nothing runs into it.
    pub(crate) fn without_solids(&self, id: BodyId) -> Self {
        let mut layout = self.clone();
        if let Some(body) = layout.bodies.get_mut(id.index()) {
            body.solids.clear();
        }
        layout
    }
}

/// The text of a layout file with one component moved. Only the numbers that change are replaced (and `front` added or
/// replaced when the component is turned): every other byte stays as it was.
///
/// `layout` is what `text`, RON or JSON, was read as.
///
/// # Errors
/// When the move is not of a component, or the text is not that of the layout.
pub fn move_in_text(text: &str, layout: &Layout, by: &Move) -> Result<String, BadEdit> {
    let panels = layout.bodies.iter().filter(|body| body.kind != BodyKind::Component).count();
    let body = layout.body(by.body).filter(|body| body.kind == BodyKind::Component).ok_or(BadEdit::NoComponent)?;
    let component = format!("components[{}]", by.body.index().checked_sub(panels).ok_or(BadEdit::NoComponent)?);
    let index = Index::new(text);
    let find = |place: String| match index.find(&place) {
        Some((item, true)) => Ok(index.value(item)),
        _ => Err(BadEdit::Missing { place }),
    };
    let name = find(format!("{component}.name"))?;
    if !text.get(name).is_some_and(|written| written.contains(&body.name)) {
        return Err(BadEdit::Missing { place: format!("{component}.name: \"{}\"", body.name) });
    }
    let mut changes: Vec<(Range<usize>, String)> = Vec::new();
    let at: [f64; 3] = body.pose.translation.vector.into();
    for (axis, (old, shift)) in at.iter().zip(by.shift_mm).enumerate() {
        if shift != 0.0 {
            changes.push((find(format!("{component}.at[{axis}]"))?, written(old + shift)));
        }
    }
    if by.turn_deg != 0.0 {
        let front = format!("\"{}\"", direction(-(moved_pose(&body.pose, by).rotation * Vector::y())));
        if let Ok(old) = find(format!("{component}.front")) {
            changes.push((old, front));
        } else {
            // Behind `at`, as part of the same line; JSON quotes its keys.
            let at = find(format!("{component}.at"))?;
            let json = text.get(at.clone()).is_some_and(|written| written.starts_with('['));
            let key = if json { "\"front\"" } else { "front" };
            changes.push((at.end..at.end, format!(", {key}: {front}")));
        }
    }
    changes.sort_by_key(|(range, _)| range.start);
    let mut edited = String::with_capacity(text.len() + 32);
    let mut done = 0;
    for (range, new) in changes {
        edited.push_str(text.get(done..range.start).unwrap_or_default());
        edited.push_str(&new);
        done = range.end;
    }
    edited.push_str(text.get(done..).unwrap_or_default());
    Ok(edited)
}

/// Where a component stands after a move: turned about its own top axis, then shifted.
fn moved_pose(pose: &Pose, by: &Move) -> Pose {
    let [x, y, z] = by.shift_mm;
    Pose::translation(x, y, z) * pose * turned(by.turn_deg.to_radians())
}

fn written(value: f64) -> String {
    let rounded = (value * WRITTEN_STEPS).round() / WRITTEN_STEPS + 0.0;
    rounded.to_string()
}

/// A direction as files have it: an axis where it is one, else its components with enough digits to stay square.
fn direction(vector: Vector) -> String {
    /// Below the last digit that is written.
    const ALONG: f64 = 5e-10;
    for (axis, name) in ["x", "y", "z"].into_iter().enumerate() {
        if (0..3).all(|other| other == axis || vector[other].abs() < ALONG) {
            return format!("{}{name}", if vector[axis] < 0.0 { '-' } else { '+' });
        }
    }
    let digits = |component: f64| format!("{}", (component * 1e9).round() / 1e9 + 0.0);
    format!("{} {} {}", digits(vector.x), digits(vector.y), digits(vector.z))
}
