//! The making up of a chain as a line of time: what stands where at each second.
//!
//! The motions are those of the solver's order of work, in which every one was tested against the layout. A part that
//! goes on advances along the axis of its joint and, while its thread is engaged, turns by one turn for each pitch.

use super::motion::Motions;
use super::segment::Segment;
use super::stage::Stage;
use super::work::{Work, said};
use elbowroom::{
    bridge::{Chain, MakeUp},
    catalog::Catalog,
    layout::{Gap, Layout},
    report::{GapFacts, PartReport, order_of_work, verdict},
};
use nalgebra::Isometry3;

/// The making up of one chain.
#[derive(Clone, Debug, Default)]
pub struct Timeline {
    segments: Vec<Segment>,
    seconds: f64,
    /// Whether the motions are an order of work that the solver found.
    proven: bool,
}

/// A chain that is made up, with what the solver says of it.
#[derive(Clone, Copy, Debug)]
pub struct Made<'a> {
    /// The chain.
    pub chain: &'a Chain,
    /// Whether and how it can be made up.
    pub make_up: &'a MakeUp,
    /// Its ports.
    pub facts: &'a GapFacts,
    /// Its parts.
    pub parts: &'a [PartReport],
}

/// Rest at the end, on the finished chain.
const LAST_S: f64 = 1.0;

impl Timeline {
    /// The making up of a chain that bridges `gap` of `layout` with fittings of `catalog`, in the order of work that the
    /// solver found, with the captions that the command line prints for its steps.
    ///
    /// Without an order of work the parts are shown going on one after the other from the first port, and the captions
    /// say why there is none. A chain that does not belong to layout and catalog has no time line: it takes no time and
    /// shows the chain as it is.
    #[must_use]
    pub fn of(catalog: &Catalog, layout: &Layout, gap: &Gap, made: &Made<'_>) -> Self {
        let Some(frames) = frames(catalog, layout, gap, made.chain) else { return Self::default() };
        let captions = order_of_work(made.facts, made.parts, made.make_up);
        let proven = !captions.is_empty();
        let why = verdict(made.facts, made.parts, made.make_up);
        let mut work = Work::new(Motions::new(layout, gap, made.chain, made.make_up, frames));
        if proven {
            work.in_order(&captions);
        } else {
            work.one_by_one(&why);
        }
        let last = captions.last().map_or(why, said);
        let (segments, seconds) = work.done(LAST_S, last);
        Self { segments, seconds, proven }
    }

    /// How long it takes at normal speed.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        self.seconds
    }

    /// Whether the motions are an order of work that the solver found.
    #[must_use]
    pub fn is_proven(&self) -> bool {
        self.proven
    }

    /// What stands where after `seconds`; before the start nothing is there, after the end all is made up.
    #[must_use]
    pub fn at(&self, seconds: f64) -> Stage {
        let index = self.segments.partition_point(|segment| segment.start <= seconds).saturating_sub(1);
        self.segments.get(index).map_or_else(Stage::default, |segment| segment.at(seconds))
    }

    /// The seconds at which a step begins, and the end: where stepping forward and back stops.
    #[must_use]
    pub fn stops(&self) -> Vec<f64> {
        let mut stops: Vec<f64> = self.segments.iter().filter(|segment| segment.begins).map(|s| s.start).collect();
        stops.push(self.seconds);
        stops
    }
}

/// The world frame of each joint when all is done, `z` towards the second port.
fn frames(catalog: &Catalog, layout: &Layout, gap: &Gap, chain: &Chain) -> Option<Vec<Isometry3<f64>>> {
    let mut frames = vec![layout.port_by_id(gap.from)?.pose];
    layout.port_by_id(gap.to)?;
    for part in &chain.parts {
        let fitting = catalog.fitting(&part.fitting)?;
        let exit = 1_usize.checked_sub(part.entry)?;
        frames.push(part.pose * fitting.end_frames(part.stretch_mm).get(exit)?);
    }
    Some(frames)
}
