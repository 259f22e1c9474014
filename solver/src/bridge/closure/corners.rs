//! Where the corners of a chain of three or four bends can be in all postures in which it closes, from the lengths and
//! angles alone.
//!
//! The first corner lies on the axis of the first port, and the second on a circle about that axis. How far round it is
//! follows from the angle that the first run between them makes with the line to the last corner, because the lengths of
//! all three middle runs are known: two short arcs, mirror images of each other. The same holds from the second port.
//!
//! Chains are laid out exactly from the first port and miss the second within the allowance. So whatever is said from the
//! second port is said of the chain as it would be if it were moved to end exactly there, and then moved back. No angle is
//! taken for small, and bounds are bounds: every posture that closes has its corners where they are said to be.

use super::{Allowance, middle::Bow, skeleton::Line};
use crate::geometry::Vector;

/// Where a corner can be, and how the run to it from the corner nearer to the port can lie.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Reached {
    pub(crate) at: Vector,
    pub(crate) off_mm: f64,
    /// Away from the port, of length one, and how much it can lean, in radians.
    direction: Vector,
    lean: f64,
}

/// Longest piece of an arc that is bounded by one ball, in millimetres. Shorter pieces bound better and are more of them.
const PIECE_MM: f64 = 3.0;

/// Most pieces of one of the two arcs. A longer one is where bends hardly decide how a chain turns; it is left to be
/// found out by closing the chain.
const MOST_PIECES: usize = 6;

/// What rounding makes of a length in millimetres or an angle in radians, at most.
const ROUNDING: f64 = 1e-6;

/// Share of the radius of a circle about a port's axis that another point must be away from that axis to tell where on
/// the circle something is.
const TELLING: f64 = 1e-4;

/// Shortest length that directions are taken from, in millimetres.
const SHORT_MM: f64 = 0.01;

/// The pieces of the arcs on which a corner can be; `None` where nothing useful can be said.
pub(crate) struct Pieces {
    list: [Option<Reached>; 2 * MOST_PIECES],
    count: usize,
}

impl Pieces {
    pub(crate) fn iter(&self) -> impl Iterator<Item = &Reached> {
        self.list[..self.count].iter().flatten()
    }
}

/// A run of known length from a known corner: the corner at its other end lies on a circle.
struct Spoke {
    corner: Vector,
    length: f64,
    /// The port's axis, and cosine and sine of the run's angle to it.
    axis: Vector,
    bend: (f64, f64),
}

impl Spoke {
    /// The pieces on which the other end is when the run's direction has a cosine between `least` and `most` to
    /// `along`, which has length one.
    fn pieces(&self, along: &Vector, [least, most]: [f64; 2]) -> Option<Pieces> {
        let mut pieces = Pieces { list: [None; 2 * MOST_PIECES], count: 0 };
        let (cos, sin) = self.bend;
        let ahead = self.axis.dot(along);
        let across = along - self.axis * ahead;
        let aside = across.norm();
        let weight = sin * aside;
        if weight < TELLING {
            return None;
        }
        let cosine = |value: f64| (value - cos * ahead) / weight;
        let (low, high) = (cosine(least - ROUNDING * weight), cosine(most + ROUNDING * weight));
        if low > 1.0 || high < -1.0 {
            return Some(pieces);
        }
        let (begin, end) = (high.min(1.0).acos(), low.max(-1.0).acos());
        let radius = self.length * sin;
        let width = end - begin;
        let wanted = (width * radius / PIECE_MM).ceil().max(1.0);
        #[expect(clippy::cast_precision_loss, reason = "a small number")]
        if wanted > MOST_PIECES as f64 {
            return None;
        }
        let u = across / aside;
        let v = self.axis.cross(&u);
        let half = width / wanted / 2.0 + ROUNDING;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "at most MOST_PIECES")]
        for piece in 0..wanted as u32 {
            let turn = begin + width * (f64::from(piece) + 0.5) / wanted;
            let (turn_sin, turn_cos) = turn.sin_cos();
            for turn_sin in [turn_sin, -turn_sin] {
                let direction = self.axis * cos + (u * turn_cos + v * turn_sin) * sin;
                let at = self.corner + direction * self.length;
                let reached = Reached { at, off_mm: radius * half + ROUNDING, direction, lean: sin * half };
                pieces.list[pieces.count] = Some(reached);
                pieces.count += 1;
            }
        }
        Some(pieces)
    }
}

/// Least and greatest cosine of the angle to `w` of something whose cosine to a vector that is off `w` by at most `play` is
/// between two values; `None` where `w` is too short to have a direction.
fn cosines(w: &Vector, play: f64, [least, most]: [f64; 2]) -> Option<[f64; 2]> {
    let span = w.norm();
    let lean = (span > play).then(|| (play / span).asin())?;
    let angle = |cos: f64| cos.clamp(-1.0, 1.0).acos();
    Some([(angle(least) + lean).min(std::f64::consts::PI).cos(), (angle(most) - lean).max(0.0).cos()])
}

/// How far a corner next to the second port may be from where that port puts it.
fn corner_off(allowance: &Allowance, last_length: f64) -> f64 {
    allowance.mm + allowance.rad * last_length + ROUNDING
}

/// Three bends: where the second corner can be, so that the last bend can end in line with the second port. The last corner
/// is off by as much as is said.
pub(crate) struct Three {
    pub(crate) corners: [Vector; 2],
    pub(crate) last_off_mm: f64,
    pub(crate) second: Pieces,
}

impl Three {
    /// From the four lengths, port to corner to corner to corner to port, and cosine and sine of the bends. All lengths are
    /// as they are: none may be adjustable.
    pub(crate) fn new(
        [from, to]: [&Line; 2],
        allowance: &Allowance,
        lengths: [f64; 4],
        bends: [(f64, f64); 3],
    ) -> Option<Self> {
        let [before, l1, l2, after] = lengths;
        let corners = [from.at.coords + from.towards * before, to.at.coords + to.towards * after];
        let w = corners[1] - corners[0];
        let play = corner_off(allowance, after);
        let cos = bends[1].0;
        let span = (l1 * l1 + l2 * l2 + 2.0 * l1 * l2 * cos).max(0.0).sqrt();
        if span < SHORT_MM || l2 < SHORT_MM {
            return None;
        }
        let mut second = if (w.norm() - span).abs() > play {
            Pieces { list: [None; 2 * MOST_PIECES], count: 0 }
        } else {
            let to_last = (l1 + l2 * cos) / span;
            let spoke = Spoke { corner: corners[0], length: l1, axis: from.towards, bend: bends[0] };
            spoke.pieces(&w.normalize(), cosines(&w, play, [to_last, to_last])?)?
        };
        let exit = -to.towards;
        for reached in &mut second.list {
            let turns_out = |place: &Reached| {
                let (way, off) = (corners[1] - place.at, (play + place.off_mm) / l2);
                (way.dot(&exit) / l2 - bends[2].0).abs() <= off + allowance.rad + ROUNDING
            };
            *reached = reached.filter(turns_out);
        }
        Some(Self { corners, last_off_mm: play, second })
    }
}

/// Four bends: where the second and the third corner can be.
pub(crate) struct Four {
    /// The first corner and the last.
    pub(crate) corners: [Vector; 2],
    /// How far the last one may be off.
    pub(crate) last_off_mm: f64,
    pub(crate) second: Pieces,
    pub(crate) third: Pieces,
    bow: Bow,
}

impl Four {
    /// From the outer lengths and bends, and the bow between them. All lengths are as they are: none may be adjustable.
    pub(crate) fn new(
        [from, to]: [&Line; 2],
        allowance: &Allowance,
        [before, after]: [f64; 2],
        bow: Bow,
        bends: [(f64, f64); 2],
    ) -> Option<Self> {
        let [l1, l2, l3] = bow.lengths;
        if l1.min(l2).min(l3) < SHORT_MM {
            return None;
        }
        let corners = [from.at.coords + from.towards * before, to.at.coords + to.towards * after];
        let w = corners[1] - corners[0];
        let play = corner_off(allowance, after);
        // Moved to end exactly at the second port, the chain has its first corner off by as much as its end was, and leans.
        let far = (corners[0] - to.at.coords).norm() + allowance.mm;
        let first_play = corner_off(allowance, far);
        let ends = [
            (Spoke { corner: corners[0], length: l1, axis: from.towards, bend: bends[0] }, w, play),
            (Spoke { corner: corners[1], length: l3, axis: to.towards, bend: bends[1] }, -w, first_play),
        ];
        let [second, third] = [0, 1].map(|end| {
            let (spoke, w, play) = &ends[end];
            match bow.lean(end, [w.norm() - play, w.norm() + play])? {
                Some(range) => spoke.pieces(&w.normalize(), cosines(w, *play, range)?),
                None => Some(Pieces { list: [None; 2 * MOST_PIECES], count: 0 }),
            }
        });
        let (second, mut third) = (second?, third?);
        for reached in third.list.iter_mut().flatten() {
            reached.off_mm += corner_off(allowance, after + l3);
            reached.lean += allowance.rad;
        }
        Some(Self { corners, last_off_mm: play, second, third, bow })
    }

    /// Whether the second and the third corner can be at these places in the same posture.
    pub(crate) fn go_together(&self, second: &Reached, third: &Reached) -> bool {
        let ([_, length, _], [first_bend, last_bend]) = (self.bow.lengths, self.bow.bends);
        let way = third.at - second.at;
        let off = second.off_mm + third.off_mm + ROUNDING;
        let turns = |cos: f64, reached: &Reached| cos.abs() <= (reached.lean + off / length + ROUNDING);
        (way.norm() - length).abs() <= off
            && turns(way.dot(&second.direction) / length - first_bend.0, second)
            && turns(-way.dot(&third.direction) / length - last_bend.0, third)
    }
}

impl Bow {
    /// Least and greatest cosine of the angle between the line from one end of the bow to the other and the run at that end,
    /// the first or the last, where the ends are so far apart; `Some(None)` where they never are, `None` where they may be
    /// in one place.
    fn lean(&self, end: usize, [least, most]: [f64; 2]) -> Option<Option<[f64; 2]>> {
        let ([l1, l2, l3], [(c1, s1), (c2, s2)]) = (self.lengths, self.bends);
        let fixed = l1 * l1 + l2 * l2 + l3 * l3 + 2.0 * l2 * (l1 * c1 + l3 * c2);
        let apart = |cos: f64| (fixed + 2.0 * l1 * l3 * cos).max(0.0).sqrt();
        let (least, most) =
            (least.max(apart(c1 * c2 - s1 * s2) - ROUNDING), most.min(apart(c1 * c2 + s1 * s2) + ROUNDING));
        if least > most {
            return Some(None);
        }
        if least < SHORT_MM {
            return None;
        }
        let (own, next) = if end == 0 { (l1, l2 * c1) } else { (l3, l2 * c2) };
        // The run's share along the line: its own length, what the next run makes of it, and what the far one does.
        let constant = own + next - fixed / (2.0 * own);
        let at = |span: f64| constant / span + span / (2.0 * own);
        let [one, other] = [at(least), at(most)];
        let lowest = (2.0 * own * constant).max(0.0).sqrt();
        let inside = if (least..=most).contains(&lowest) { at(lowest) } else { one };
        Some(Some([one.min(other).min(inside) - ROUNDING, one.max(other) + ROUNDING]))
    }
}

#[cfg(test)]
mod tests;
