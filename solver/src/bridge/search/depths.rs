//! How near places around a gap are to the bodies there: measured once for each small cell, and asked millions of times.

use crate::{
    bridge::closure::Line,
    geometry::{Scene, SolidId, Vector},
};
use std::sync::{
    OnceLock,
    atomic::{AtomicU64, Ordering},
};

/// Edge of a cell, in millimetres. Within one the distance is known to half its diagonal without asking a solid: smaller
/// cells ask less and are more to measure.
const CELL_MM: f64 = 3.0;

/// Cells along the edge of a block. Blocks that no chain goes through take no memory.
const BLOCK: usize = 8;

/// How far around the ports cells are kept, in millimetres: as far as most chains of few parts swing out. Of what is
/// farther nothing is claimed.
const AROUND_MM: f64 = 100.0;

/// Most blocks along one axis. Ports farther apart than that are joined by chains too long to be many.
const MOST_BLOCKS: f64 = 40.0;

/// What a distance must be less by than the least that is allowed for a body to count as too near, in millimetres: more
/// than a measured distance can be off, and than the proof of a blocked motion asks for.
const MARGIN_MM: f64 = 0.02;

/// A place whose core is thinner than this, in millimetres, is not looked at: nothing is gained.
const LEAST_CORE_MM: f64 = 0.5;

/// Thickest core that counts, in millimetres.
const MOST_CORE_MM: f64 = 30.0;

/// Least step along a bar, in millimetres.
const LEAST_STEP_MM: f64 = 1.5;

/// A point of a chain, and how far from it at most it really is.
#[derive(Clone, Copy, Debug)]
pub(in crate::bridge) struct Place {
    pub(in crate::bridge) at: Vector,
    pub(in crate::bridge) off_mm: f64,
}

impl Place {
    /// A point that is known.
    pub(in crate::bridge) fn exactly(at: Vector) -> Self {
        Self { at, off_mm: 0.0 }
    }
}

/// Signed distances to the nearest of the bodies around a gap, cell by cell, as they are asked for.
pub(super) struct Depths<'a> {
    scene: &'a Scene,
    clearance_mm: f64,
    /// The least corner of the first cell.
    corner: Vector,
    /// Blocks along each axis.
    counts: [usize; 3],
    blocks: Vec<OnceLock<Box<[AtomicU64; BLOCK * BLOCK * BLOCK]>>>,
}

/// What is known of a cell that was measured: the signed distance of its middle, and from which solid; none is as near as
/// is looked for where there is no solid.
#[derive(Clone, Copy)]
struct Cell {
    signed_mm: f64,
    solid: Option<SolidId>,
}

impl Cell {
    /// As one word; never 0, which is a cell that was not measured.
    fn pack(self) -> u64 {
        #[expect(clippy::cast_possible_truncation, reason = "rounded by a micrometre at most, which the margin covers")]
        let signed = u64::from((self.signed_mm as f32).to_bits());
        let solid = self.solid.map_or(1, |id| u64::from(id.0) + 2);
        solid << 32 | signed
    }

    fn unpack(word: u64) -> Option<Self> {
        let solid = word >> 32;
        #[expect(
            clippy::cast_possible_truncation,
            reason = "the lower half of the word, and solids are numbered in 32 bits"
        )]
        let (signed, id) = (f64::from(f32::from_bits(word as u32)), solid.wrapping_sub(2) as u32);
        (solid > 0).then(|| Self { signed_mm: signed, solid: (solid > 1).then_some(SolidId(id)) })
    }
}

impl<'a> Depths<'a> {
    /// Of the bodies of `scene`, around two ports. A body comes too near to another that is nearer than `clearance_mm`.
    pub(in crate::bridge) fn new(scene: &'a Scene, [from, to]: [&Line; 2], clearance_mm: f64) -> Self {
        let around = Vector::repeat(AROUND_MM);
        let corner = from.at.coords.inf(&to.at.coords) - around;
        let size = from.at.coords.sup(&to.at.coords) + around - corner;
        #[expect(clippy::cast_precision_loss, reason = "a small number")]
        let blocks = (size / (CELL_MM * BLOCK as f64)).map(f64::ceil);
        // A chain that may overlap a body is deeper in it than a ball inside any of its parts.
        let is_asked = clearance_mm >= 0.0 && blocks.max() <= MOST_BLOCKS;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 1 to MOST_BLOCKS")]
        let counts = if is_asked { [0, 1, 2].map(|axis| blocks[axis] as usize) } else { [0; 3] };
        let blocks = (0..counts.iter().product()).map(|_| OnceLock::new()).collect();
        Self { scene, clearance_mm, corner, counts, blocks }
    }

    /// Whether a straight bar from one place to the other, with a core of this radius around it, certainly comes too near
    /// to something, wherever within their bounds the two places really are.
    pub(super) fn blocks_bar(&self, from: &Place, to: &Place, core_mm: f64) -> bool {
        if core_mm < LEAST_CORE_MM || self.blocks.is_empty() {
            return false;
        }
        let within = self.clearance_mm + core_mm.min(MOST_CORE_MM) - MARGIN_MM;
        let way = to.at - from.at;
        let length = way.norm();
        let mut along = 0.0;
        loop {
            let share = if length > 0.0 { along / length } else { 0.0 };
            let off_mm = from.off_mm + (to.off_mm - from.off_mm) * share;
            match self.room(&(from.at + way * share), within - off_mm) {
                None => return true,
                Some(room) if along < length => along = (along + room.max(LEAST_STEP_MM)).min(length),
                Some(_) => return false,
            }
        }
    }

    /// `None` if the signed distance of a point is certainly less than `within`; otherwise how much more than that it is at
    /// least, where that is known, or 0.
    fn room(&self, point: &Vector, within: f64) -> Option<f64> {
        let Some((cell, middle)) = self.cell(point) else { return Some(0.0) };
        let off = (point - middle).norm();
        if cell.signed_mm + off < within && cell.solid.is_some() {
            return None;
        }
        let room = cell.signed_mm - off - within;
        if room > 0.0 {
            return Some(room);
        }
        let signed = cell.solid.and_then(|id| self.scene.solid(id)).map(|solid| solid.signed_mm(point));
        if signed.is_some_and(|signed| signed < within) { None } else { Some(0.0) }
    }

    /// What is known of the cell that holds a point, and its middle; `None` outside of what is kept.
    fn cell(&self, point: &Vector) -> Option<(Cell, Vector)> {
        let place = (point - self.corner) / CELL_MM;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "what does not fit is outside")]
        let index = [0, 1, 2].map(|axis| place[axis] as usize);
        let is_kept = (0..3).all(|axis| place[axis] >= 0.0 && index[axis] < self.counts[axis] * BLOCK);
        if !is_kept {
            return None;
        }
        #[expect(clippy::cast_precision_loss, reason = "a few hundred")]
        let middle = self.corner + Vector::from(index.map(|along| (along as f64 + 0.5) * CELL_MM));
        let [x, y, z] = index.map(|along| along / BLOCK);
        let block = self.blocks.get((x * self.counts[1] + y) * self.counts[2] + z)?;
        let block = block.get_or_init(|| Box::new([const { AtomicU64::new(0) }; BLOCK * BLOCK * BLOCK]));
        let [x, y, z] = index.map(|along| along % BLOCK);
        let word = &block[(x * BLOCK + y) * BLOCK + z];
        // Whoever comes second measures the same.
        let cell = Cell::unpack(word.load(Ordering::Relaxed)).unwrap_or_else(|| {
            let cell = self.measure(&middle);
            word.store(cell.pack(), Ordering::Relaxed);
            cell
        });
        Some((cell, middle))
    }

    fn measure(&self, middle: &Vector) -> Cell {
        let horizon_mm = self.clearance_mm + MOST_CORE_MM + CELL_MM;
        match self.scene.nearest_to_point(middle, horizon_mm) {
            Some((solid, signed_mm)) => Cell { signed_mm, solid: Some(solid) },
            None => Cell { signed_mm: horizon_mm, solid: None },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Cell, Depths, Place};
    use crate::bridge::closure::Line;
    use crate::geometry::{Pose, Scene, Shape, Solid, SolidId, Vector};

    fn port(x: f64) -> Line {
        Line { at: [x, 0.0, 0.0].into(), towards: Vector::z(), mark: Vector::x() }
    }

    fn scene() -> Scene {
        let solid = |shape: &Shape, at: [f64; 3]| Solid::new(shape, Pose::translation(at[0], at[1], at[2]));
        let ball = solid(&Shape::Sphere { diameter: 20.0 }, [0.0, 0.0, 40.0]);
        let block = solid(&Shape::Box { size: [30.0, 30.0, 4.0] }, [50.0, 0.0, 40.0]);
        Scene::new([ball, block].into_iter().map(|solid| solid.expect("sound")).collect())
    }

    /// Bars whose distance is worked out by hand: the ball is 10 mm in radius, the block's lower face lies at 38 mm.
    #[test]
    fn bars_are_blocked_exactly_up_to_the_margin() {
        let scene = scene();
        let depths = Depths::new(&scene, [&port(0.0), &port(50.0)], 1.0);
        let bar = |x: f64, z: f64, off_mm: f64, core_mm: f64| {
            let [one, other] = [-9.7, 8.3].map(|y| Place { at: Vector::new(x, y, z), off_mm });
            depths.blocks_bar(&one, &other, core_mm)
        };
        // Beside the ball at a height of its middle: the bar is at a distance of x from the middle.
        for (x, core) in [(15.0, 4.1), (-17.0, 6.1), (13.0, 2.1)] {
            assert!(bar(x, 40.0, 0.0, core), "{x}");
            assert!(!bar(x, 40.0, 0.0, core - 0.11), "{x}");
            assert!(!bar(x, 40.0, 0.1, core), "{x}");
        }
        // Below the block.
        assert!(bar(50.0, 30.0, 0.0, 7.1) && !bar(50.0, 30.0, 0.0, 7.0) && !bar(50.0, 30.0, 0.11, 7.1));
        // Thin bars, and those outside of what is kept, are never blocked.
        assert!(!bar(50.0, 40.0, 0.0, 0.1) && !bar(500.0, 40.0, 0.0, 8.0));
    }

    #[test]
    fn bars_that_may_overlap_are_never_blocked() {
        let scene = scene();
        let depths = Depths::new(&scene, [&port(0.0), &port(50.0)], -0.001);
        let [one, other] = [-9.7, 8.3].map(|y| Place::exactly(Vector::new(0.0, y, 40.0)));
        assert!(!depths.blocks_bar(&one, &other, 8.0));
    }

    #[test]
    fn cells_are_kept_in_a_word() {
        for (signed_mm, solid) in [(0.0, Some(SolidId(0))), (-12.5, Some(SolidId(70_000))), (34.0, None)] {
            let cell = Cell { signed_mm, solid };
            assert_ne!(cell.pack(), 0);
            let read = Cell::unpack(cell.pack()).expect("measured");
            assert_eq!((read.signed_mm, read.solid), (signed_mm, solid));
        }
        assert!(Cell::unpack(0).is_none());
    }
}
