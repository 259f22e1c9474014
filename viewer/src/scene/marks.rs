//! What bodies are hatched and outlined for. Marks differ in their hatch and in their outline, so that nobody needs their
//! colour to tell them apart.

use super::cast::Subject;
use elbowroom::geometry::State;
use std::collections::HashMap;

/// What a body is marked for, the least first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Mark {
    /// It touches another without depth: thin stripes and a dashed outline.
    Touching,
    /// It is in the way of chains that would close: dots and a dotted outline.
    InTheWay,
    /// It is partly in the place of another: wide stripes and a solid outline.
    Overlapping,
    /// It or another lies wholly within the other: crossed stripes and a heavy outline.
    Inside,
}

impl Mark {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Touching, Self::InTheWay, Self::Overlapping, Self::Inside];
}

/// The marks of bodies by their names; a body takes the worst of its own.
#[must_use]
pub fn marks(subject: &Subject) -> HashMap<&str, Mark> {
    let mut marks: HashMap<&str, Mark> = HashMap::new();
    let mut add = |name, mark: Mark| {
        let known = marks.entry(name).or_insert(mark);
        *known = mark.max(*known);
    };
    for meeting in &subject.findings.meetings {
        let mark = match meeting.state() {
            State::Clear => continue,
            State::Touching => Mark::Touching,
            State::Overlapping => Mark::Overlapping,
            State::Inside => Mark::Inside,
        };
        add(meeting.a.as_str(), mark);
        add(meeting.b.as_str(), mark);
    }
    for blocker in subject.near.iter().flat_map(|near| &near.blockers) {
        add(blocker.body.as_str(), Mark::InTheWay);
    }
    marks
}

/// Side of a picture of a hatch, in texels.
pub const HATCH_TEXELS: usize = 32;

/// The hatch of a mark as a picture of brightness, row by row: 0 where its ink is, 1 elsewhere.
#[must_use]
pub fn hatch(mark: Mark) -> Vec<bool> {
    let inked = |x: usize, y: usize| match mark {
        Mark::Touching => x < 3,
        Mark::Overlapping => x < 9,
        Mark::Inside => x < 7 || y < 7,
        Mark::InTheWay => {
            let from_middle = |at: usize| at as f32 + 0.5 - HATCH_TEXELS as f32 / 2.0;
            from_middle(x).hypot(from_middle(y)) < HATCH_TEXELS as f32 * 0.22
        }
    };
    (0..HATCH_TEXELS).flat_map(|y| (0..HATCH_TEXELS).map(move |x| inked(x, y))).collect()
}

#[cfg(test)]
mod tests {
    use super::{Mark, hatch};

    #[test]
    fn hatches_are_told_apart_without_colour() {
        let all = Mark::ALL.map(hatch);
        for (index, one) in all.iter().enumerate() {
            let inked = one.iter().filter(|inked| **inked).count();
            assert!((80..600).contains(&inked), "{:?}: {inked}", Mark::ALL[index]);
            for other in &all[index + 1..] {
                let differ = one.iter().zip(other).filter(|(a, b)| a != b).count();
                assert!(differ > 100, "{:?} looks like another: {differ}", Mark::ALL[index]);
            }
        }
    }
}
