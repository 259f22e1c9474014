//! Moving a component: in the resolved machine, and in the text of its file.

use super::{AllowancesDef, Body, BodyId, BodyKind, Layout, PortId};
use crate::geometry::{GREATEST_SIZE_MM, Pose, Vector, turned};
use crate::source::index::Index;
use std::ops::Range;

/// A shift and a turn of one component, and of all that is mounted on it.
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
    /// The move is of a panel, of a body of another layout, not by finite numbers, or to a place that no file may state.
    #[error(
        "only a component of the layout can be moved, by finite numbers, and to within {GREATEST_SIZE_MM} mm of the origin"
    )]
    NoComponent,
}

/// Steps of a millionth of a millimetre, to which coordinates are written: sums of short decimal fractions stay short.
const WRITTEN_STEPS: f64 = 1e6;

/// Directions of length one that differ by less are the same: rounding, and less than the last digit written.
const SAME_WAY: f64 = 1e-9;

impl Layout {
    /// The machine with one component moved, and with it what is mounted on it; everything else stays, play and gaps
    /// included. `None` if the move is of a panel, of a body of another layout, or not by finite numbers, and if it takes a
    /// component to where no file may put one, farther than [`GREATEST_SIZE_MM`] from the origin along an axis.
    #[must_use]
    pub fn moved(&self, by: &Move) -> Option<Self> {
        let body = self.body(by.body).filter(|body| body.kind == BodyKind::Component)?;
        if !by.turn_deg.is_finite() || by.shift_mm.iter().any(|shift| !shift.is_finite()) {
            return None;
        }
        let change = moved_pose(&body.pose, by) * body.pose.inverse();
        let travelling = self.travelling_with(by.body);
        let mut layout = self.clone();
        for id in &travelling {
            let body = layout.bodies.get_mut(id.index())?;
            body.pose = change * body.pose;
            if !body.pose.translation.vector.iter().all(|along| along.abs() <= GREATEST_SIZE_MM) {
                return None;
            }
            body.solids = body.solids.iter().map(|solid| solid.moved(&change)).collect();
        }
        for port in layout.ports.iter_mut().filter(|port| travelling.contains(&port.body)) {
            port.pose = change * port.pose;
        }
        Some(layout)
    }

    /// The same machine, judged by other allowances.
    pub(crate) fn with_allowances(&self, allowances: AllowancesDef) -> Self {
        Self { allowances, ..self.clone() }
    }

    /// The same machine with more bodies, after those it has.
    pub(crate) fn with_bodies(&self, more: impl IntoIterator<Item = Body>) -> Self {
        let mut layout = self.clone();
        layout.bodies.extend(more);
        layout
    }

    /// The same machine with one port elsewhere, whatever carries it.
    pub(crate) fn with_port_at(&self, id: PortId, pose: Pose) -> Self {
        let mut layout = self.clone();
        if let Some(port) = layout.ports.get_mut(id.index()) {
            port.pose = pose;
        }
        layout
    }

    /// The same machine with some bodies made of nothing: their ports stay, and nothing runs into them.
    pub(crate) fn without_solids(&self, ids: &[BodyId]) -> Self {
        let mut layout = self.clone();
        for id in ids {
            if let Some(body) = layout.bodies.get_mut(id.index()) {
                body.solids.clear();
            }
        }
        layout
    }
}

/// The text of a layout file with one component moved, and with it what is mounted on it. Only the numbers that change
/// are replaced (and `front` and `top` replaced or added when they change): every other byte stays as it was.
///
/// `layout` is what `text`, RON or JSON, was read as.
///
/// # Errors
/// When the move is not of a component or not by finite numbers, or the text is not that of the layout.
pub fn move_in_text(text: &str, layout: &Layout, by: &Move) -> Result<String, BadEdit> {
    let moved = layout.moved(by).ok_or(BadEdit::NoComponent)?;
    let panels = layout.bodies.iter().filter(|body| body.kind != BodyKind::Component).count();
    let file = Text { text, index: Index::new(text) };
    let mut changes: Vec<(Range<usize>, String)> = Vec::new();
    for id in layout.travelling_with(by.body) {
        let (Some(before), Some(after)) = (layout.body(id), moved.body(id)) else { return Err(BadEdit::NoComponent) };
        let index = id.index().checked_sub(panels).ok_or(BadEdit::NoComponent)?;
        changes.extend(file.component_moved(&format!("components[{index}]"), before, after)?);
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

/// The text of a file, and where its values stand.
struct Text<'t> {
    text: &'t str,
    index: Index,
}

impl Text<'_> {
    fn find(&self, place: String) -> Result<Range<usize>, BadEdit> {
        match self.index.find(&place) {
            Some((item, true)) => Ok(self.index.value(item)),
            _ => Err(BadEdit::Missing { place }),
        }
    }

    /// What to replace, and by what, so that the component written at `place` stands elsewhere.
    fn component_moved(
        &self,
        place: &str,
        before: &Body,
        after: &Body,
    ) -> Result<Vec<(Range<usize>, String)>, BadEdit> {
        let name = self.find(format!("{place}.name"))?;
        if !self.text.get(name).is_some_and(|written| written.contains(&before.name)) {
            return Err(BadEdit::Missing { place: format!("{place}.name: \"{}\"", before.name) });
        }
        let mut changes = Vec::new();
        let [old, new] = [before, after].map(|body| body.pose.translation.vector);
        for axis in (0..3).filter(|axis| (new[*axis] - old[*axis]).abs() * WRITTEN_STEPS > 0.5) {
            changes.push((self.find(format!("{place}.at[{axis}]"))?, written(new[axis])));
        }
        let mut added = String::new();
        let at = self.find(format!("{place}.at"))?;
        let json = self.text.get(at.clone()).is_some_and(|written| written.starts_with('['));
        for (key, own) in [("front", -Vector::y()), ("top", Vector::z())] {
            let [old, new] = [before, after].map(|body| body.pose.rotation * own);
            if (new - old).norm() < SAME_WAY {
                continue;
            }
            let way = format!("\"{}\"", direction(new));
            if let Ok(written) = self.find(format!("{place}.{key}")) {
                changes.push((written, way));
            } else {
                // Behind `at`, as part of the same line; JSON quotes its keys.
                added += &if json { format!(", \"{key}\": {way}") } else { format!(", {key}: {way}") };
            }
        }
        if !added.is_empty() {
            changes.push((at.end..at.end, added));
        }
        Ok(changes)
    }
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
