//! Whether a chain that closes is in something in every posture in which it does: known from where its corners can be,
//! before it is fitted to the ports.
//!
//! Between two corners of a chain there is at least its core (see [`core_mm`](crate::bridge::stock::core_mm)): a bar. Wherever a bar
//! certainly comes nearer to a body than the clearance, the chain has no room. Only the runs between the first corner and the
//! last are looked at: those at the ports may touch what carries the seats.

use super::depths::{Depths, Place};
use crate::bridge::closure::{Four, Line, Posture, Reached, Skeleton, Three, Turn};

/// What can be said of a chain before it is fitted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Outlook {
    /// It may close with room around it.
    Open,
    /// Wherever it closes, it comes too near to something.
    Stuck,
    /// It does not close.
    Never,
}

impl From<&Reached> for Place {
    fn from(reached: &Reached) -> Self {
        Self { at: reached.at, off_mm: reached.off_mm }
    }
}

/// Looks through the ways in which corners may go together for one with room.
fn outlook(mut ways: impl Iterator<Item = bool>) -> Outlook {
    match ways.next() {
        None => Outlook::Never,
        Some(first) => {
            if first || ways.any(|open| open) {
                Outlook::Open
            } else {
                Outlook::Stuck
            }
        }
    }
}

/// Three bends; the cores are those of the runs after the first bend and after the second.
pub(in crate::bridge) fn three(depths: &Depths<'_>, chain: &Three, cores: [f64; 2]) -> Outlook {
    let first = Place::exactly(chain.corners[0]);
    let last = Place { at: chain.corners[1], off_mm: chain.last_off_mm };
    outlook(chain.second.iter().map(|second| {
        let second = second.into();
        !depths.blocks_bar(&first, &second, cores[0]) && !depths.blocks_bar(&second, &last, cores[1])
    }))
}

/// Four bends; the cores are those of the three runs between them.
pub(in crate::bridge) fn four(depths: &Depths<'_>, chain: &Four, cores: [f64; 3]) -> Outlook {
    let first = Place::exactly(chain.corners[0]);
    let last = Place { at: chain.corners[1], off_mm: chain.last_off_mm };
    let ways = chain.second.iter().flat_map(|second| chain.third.iter().map(move |third| (second, third)));
    outlook(ways.filter(|(second, third)| chain.go_together(second, third)).map(|(second, third)| {
        let (second, third) = (second.into(), third.into());
        !depths.blocks_bar(&first, &second, cores[0])
            && !depths.blocks_bar(&third, &last, cores[2])
            && !depths.blocks_bar(&second, &third, cores[1])
    }))
}

/// Whether a chain of bends is in something in this posture; the cores are those of the runs before each of its corners.
/// `false` is no claim.
pub(super) fn in_posture(
    depths: &Depths<'_>,
    skeleton: &Skeleton<'_>,
    from: &Line,
    posture: &Posture,
    cores: &[f64],
) -> bool {
    // Between two bends there may be an offset, and then no bar.
    if !skeleton.turns().all(Turn::is_bend) {
        return false;
    }
    let mut before = None;
    skeleton.corners(from, posture).zip(cores).any(|(corner, core_mm)| {
        let corner = Place::exactly(corner);
        before.replace(corner).is_some_and(|before| depths.blocks_bar(&before, &corner, *core_mm))
    })
}
