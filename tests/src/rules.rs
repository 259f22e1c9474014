//! Which parts may follow each other, and whether every bend of a chain can be aimed.

use crate::chain::{Port, Problem, Step, is_bent};
use elbowroom::catalog::{EndDef, FittingDef, Gender, Thread};

/// Rounding allowed where a male thread just fits the depth.
const THREAD_ROUNDING_MM: f64 = 1e-9;

/// Why a chain may not be built, or nothing.
#[must_use]
pub fn broken_rule(problem: &Problem, steps: &[Step]) -> Option<String> {
    let (Some(first), Some(last)) = (steps.first(), steps.last()) else { return Some("no parts".to_owned()) };
    for step in steps {
        let def = &problem.fittings[step.part];
        if !def.is_link() {
            return Some(format!("{} is not a link", def.id));
        }
        let most = def.stretch_mm.unwrap_or(0.0);
        if !(step.stretch >= -1e-9 && step.stretch <= most + 1e-9) {
            return Some(format!("{} drawn out by {} of {most}", def.id, step.stretch));
        }
    }
    if !seats(entry_end(problem, first), &problem.from) {
        return Some("first part does not fit the first port".to_owned());
    }
    if let Some(pair) = steps.windows(2).find(|pair| !joins(exit_end(problem, &pair[0]), entry_end(problem, &pair[1])))
    {
        return Some(format!("no joint between {} and {}", pair[0].part, pair[1].part));
    }
    if !seats(exit_end(problem, last), &problem.to) {
        return Some("last part does not fit the second port".to_owned());
    }
    (!can_be_aimed(&problem.fittings, steps)).then(|| "a run has no swivel".to_owned())
}

/// Whether two ends screw together and seal.
#[must_use]
pub fn joins(a: &EndDef, b: &EndDef) -> bool {
    mates((a.thread, a.gender, a.thread_length_mm), (b.thread, b.gender, b.thread_length_mm))
}

/// Whether an end screws into a port, seals, and finds room on the seat.
#[must_use]
pub fn seats(end: &EndDef, port: &Port) -> bool {
    mates((end.thread, end.gender, end.thread_length_mm), (port.thread, port.gender, port.thread_length_mm))
        && end.collar_mm <= port.seat_mm
}

/// Whether every run of the chain has an end that turns freely. A straight chain needs none.
#[must_use]
pub fn can_be_aimed(fittings: &[FittingDef], steps: &[Step]) -> bool {
    let mut swivels_in_run = vec![false];
    for step in steps {
        let def = &fittings[step.part];
        let (near, far) = (def.ends[step.entry].swivel, def.ends[1 - step.entry].swivel);
        let run = swivels_in_run.len() - 1;
        swivels_in_run[run] |= near;
        if is_bent(def) {
            swivels_in_run.push(far);
        } else {
            swivels_in_run[run] |= far;
        }
    }
    swivels_in_run.len() == 1 || swivels_in_run.iter().all(|&swivels| swivels)
}

/// The end of a part that faces the first port.
#[must_use]
pub fn entry_end<'a>(problem: &'a Problem, step: &Step) -> &'a EndDef {
    &problem.fittings[step.part].ends[step.entry]
}

/// The end of a part that faces the second port.
#[must_use]
pub fn exit_end<'a>(problem: &'a Problem, step: &Step) -> &'a EndDef {
    &problem.fittings[step.part].ends[1 - step.entry]
}

fn mates(a: (Thread, Gender, f64), b: (Thread, Gender, f64)) -> bool {
    let fits = match (a.1, b.1) {
        (Gender::Male, Gender::Female) => a.2 <= b.2 + THREAD_ROUNDING_MM,
        (Gender::Female, Gender::Male) => b.2 <= a.2 + THREAD_ROUNDING_MM,
        _ => false,
    };
    a.0 == b.0 && fits
}
