//! How fast answers follow a component that is dragged: each component of the demo that has a gap is taken hold of and
//! moved to and fro, step by step, and each step waits for its answers.

use crate::desk::{Asked, BadOpen, Desk, placing};
use elbowroom::catalog::Catalog;
use elbowroom::layout::BodyId;
use std::fmt::Write as _;
use std::time::{Duration, Instant};

/// How fast one component is followed.
#[derive(Clone, Debug, PartialEq)]
pub struct Followed {
    /// Its name.
    pub component: String,
    /// Gaps that touch it.
    pub gaps: usize,
    /// How long the answers to all of its gaps took, for each step, shortest first.
    pub steps: Vec<Duration>,
    /// How many of those answers have a chain.
    pub bridged: usize,
}

/// Longest way from where the component stands, along each axis and both ways, in steps of the grid.
const REACH_STEPS: i32 = 6;

/// Longest that solving the demo may take.
const PATIENCE: Duration = Duration::from_secs(600);

/// Drags every component of the demo that has a gap.
///
/// # Errors
/// When there is no thread to solve on.
pub fn follow_all() -> Result<Vec<Followed>, BadOpen> {
    let (name, text) = elbowroom_catalog::DEMO;
    let mut desk = Desk::new(name, text, Catalog::builtin(), Asked::default())?;
    desk.solve();
    desk.wait(PATIENCE);
    let bodies: Vec<(BodyId, String)> =
        desk.layout().bodies_by_id().map(|(id, body)| (id, body.name.clone())).collect();
    let mut all = Vec::new();
    for (body, component) in bodies {
        let gaps = placing::gaps_at(desk.layout(), body);
        if gaps.is_empty() || !desk.begin_drag(body) {
            continue;
        }
        let (mut steps, mut bridged) = (Vec::new(), 0);
        for axis in 0..3 {
            for step in (1..=REACH_STEPS).chain((-REACH_STEPS..=-1).rev()) {
                let mut shift = [0.0; 3];
                shift[axis] = f64::from(step) * placing::GRID_MM;
                let start = Instant::now();
                desk.drag_to(shift);
                desk.wait(PATIENCE);
                steps.push(start.elapsed());
                bridged += gaps.iter().filter(|gap| desk.chain_of(**gap).is_some()).count();
            }
        }
        desk.abort_drag();
        desk.wait(PATIENCE);
        steps.sort();
        all.push(Followed { component, gaps: gaps.len(), steps, bridged });
    }
    Ok(all)
}

/// What [`follow_all`] found, as a table.
///
/// # Errors
/// As [`follow_all`].
pub fn report() -> Result<String, BadOpen> {
    let mut text = "component      gaps  steps  a second  mean ms  slowest ms  answers with a chain\n".to_owned();
    for Followed { component, gaps, steps, bridged } in follow_all()? {
        let total: Duration = steps.iter().sum();
        let mean = total.as_secs_f64() / steps.len().max(1) as f64;
        let slowest = steps.last().copied().unwrap_or_default().as_secs_f64();
        let answers = gaps * steps.len();
        // Writing to a string does not fail.
        let _ = writeln!(
            text,
            "{component:<13}  {gaps:>4}  {:>5}  {:>8.0}  {:>7.1}  {:>10.1}  {bridged} of {answers}",
            steps.len(),
            1.0 / mean,
            mean * 1e3,
            slowest * 1e3,
        );
    }
    Ok(text)
}
