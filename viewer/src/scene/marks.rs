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
        blocker.body.iter().for_each(|body| add(body.as_str(), Mark::InTheWay));
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
    use super::{Mark, hatch, marks};
    use crate::scene::{Near, Subject};
    use elbowroom::{
        bridge::{Chain, InTheWay, Wishes, bridge},
        catalog::Catalog,
        interference,
        layout::Layout,
    };
    use std::sync::Arc;

    /// Bodies in a row: two that touch, two that overlap, one within another, one that is apart from all, and a gap that
    /// one fitting bridges.
    const ROW: &str = r#"(version: 1, name: "Row", components: [
        (name: "one", solids: [(shape: box(size: (20, 20, 20)))], at: (0, 0, 0)),
        (name: "touches", solids: [(shape: box(size: (20, 20, 20)))], at: (20, 0, 0)),
        (name: "two", solids: [(shape: box(size: (20, 20, 20)))], at: (60, 0, 0)),
        (name: "overlaps", solids: [(shape: box(size: (20, 20, 20)))], at: (75, 5, 0)),
        (name: "holds", solids: [(shape: box(size: (20, 20, 20)))], at: (120, 0, 0)),
        (name: "within", solids: [(shape: box(size: (5, 5, 5)))], at: (120, 0, 0)),
        (name: "apart", solids: [(shape: box(size: (20, 20, 20)))], at: (180, 0, 0)),
        (name: "low", solids: [(shape: box(size: (24, 24, 10)), at: (0, 0, -5))], at: (240, 0, 0), ports: [(name: "p",
            at: (0, 0, 0), facing: "+z", thread: "G 1/4", thread_length_mm: 7, seat_mm: 20)]),
        (name: "high", solids: [(shape: box(size: (24, 24, 10)), at: (0, 0, 5))], at: (240, 0, 30), ports: [(name: "p",
            at: (0, 0, 0), facing: "-z", thread: "G 1/4", thread_length_mm: 7, seat_mm: 20)]),
    ], gaps: [(from: "low.p", to: "high.p")])"#;

    #[test]
    fn every_state_has_its_mark_and_a_body_takes_its_worst() {
        let catalog = Catalog::builtin();
        let layout = Layout::parse(ROW, "row.ron", &catalog).unwrap_or_else(|bad| panic!("{bad}"));
        let found =
            bridge(&catalog, &layout, &layout.gaps()[0], &Wishes { max_parts: 2, want: 1, ..Wishes::default() })
                .expect("sound wishes");
        let chain: Chain = found.chains.into_iter().next().expect("30 mm can be bridged");
        let in_the_way = |body: &str| InTheWay {
            body: Some(body.to_owned()),
            carries: None,
            is_seat: false,
            chains: 1,
            alone: 1,
            give_way_mm: [1.0, 1.0],
        };
        let blockers = vec![in_the_way("apart"), in_the_way("two")];
        let findings = Arc::new(interference::check(&layout));
        let mut subject = Subject {
            layout: Arc::new(layout),
            catalog: Arc::new(catalog),
            gap: None,
            chain: None,
            others: Vec::new(),
            clashes: Vec::new(),
            near: None,
            findings,
        };
        let expected = [
            ("one", Some(Mark::Touching)),
            ("touches", Some(Mark::Touching)),
            ("two", Some(Mark::Overlapping)),
            ("overlaps", Some(Mark::Overlapping)),
            ("holds", Some(Mark::Inside)),
            ("within", Some(Mark::Inside)),
            ("apart", None),
            ("low", None),
        ];
        for (body, mark) in expected {
            assert_eq!(marks(&subject).get(body).copied(), mark, "{body}");
        }
        subject.near = Some(Near { chain, by: None, carried: Vec::new(), blockers, lacks: None });
        assert_eq!(marks(&subject).get("apart"), Some(&Mark::InTheWay));
        assert_eq!(marks(&subject).get("two"), Some(&Mark::Overlapping), "the worse of two");
    }

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
